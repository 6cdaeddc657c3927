package label

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFormsThatNeedNoOrder(t *testing.T) {
	for text, want := range map[string]string{
		"2026W535": "2027-01-01", "2026W53": "2026-12-28..2027-01-03", "2026-w53": "2026-12-28..2027-01-03",
		"05-2027": "2027-05-01..2027-05-31", "5/2027": "2027-05-01..2027-05-31", "2027/05": "2027-05-01..2027-05-31",
		"04JUN24": "2024-06-04", "4JUN2024": "2024-06-04", "04-JUN-24": "2024-06-04", "04.JUN.2024": "2024-06-04",
		"JUN 4, 2024": "2024-06-04", "2024-JUN-04": "2024-06-04", "2024 june 4": "2024-06-04",
		"JUN2024": "2024-06-01..2024-06-30", "JUN-2024": "2024-06-01..2024-06-30", "2024 JUN": "2024-06-01..2024-06-30",
		"SEPT 2027": "2027-09-01..2027-09-30", "JUN.2024": "2024-06-01..2024-06-30",
		"Q2 2026": "2026-04-01..2026-06-30", "2026-Q2": "2026-04-01..2026-06-30", "2026Q2": "2026-04-01..2026-06-30",
		"26Q2": "2026-04-01..2026-06-30", "2Q-26": "2026-04-01..2026-06-30", "2Q 2026": "2026-04-01..2026-06-30",
		"2 QTR 26": "2026-04-01..2026-06-30", "4q20": "2020-10-01..2020-12-31",
	} {
		for o := OrderUnknown; o <= YearDay; o++ {
			if text == "04JUN24" && o == YMD || text == "04-JUN-24" && o == YMD {
				continue // the order has the year first: another day, see below
			}
			d, err := Read(text, How{Today: today, Order: o})
			require.NoError(t, err, "%s, order %s", text, o)
			assert.Equal(t, want, whole(d), "%s, order %s", text, o)
		}
	}
}

func TestOrderTellsNumbersApart(t *testing.T) {
	for _, c := range []struct {
		text  string
		order Order
		want  string
	}{
		{"03/04/2027", DMY, "2027-04-03"},
		{"03/04/2027", MDY, "2027-03-04"},
		{"3.4.27", DMY, "2027-04-03"},
		{"31 12 27", DMY, "2027-12-31"},
		{"12-31-2027", MDY, "2027-12-31"},
		{"27-12-31", YMD, "2027-12-31"},
		{"2027/12/31", YMD, "2027-12-31"},
		{"2027.6.3", YMD, "2027-06-03"},
		{"270630", YMD, "2027-06-30"},
		{"270630", DMY, "2030-06-27"},
		{"063027", MDY, "2027-06-30"},
		{"20270630", YMD, "2027-06-30"},
		{"30062027", DMY, "2027-06-30"},
		{"06302027", MDY, "2027-06-30"},
		{"27181", YearDay, "2027-06-30"},
		{"27-181", YearDay, "2027-06-30"},
		{"27/181", YearDay, "2027-06-30"},
		{"2027181", YearDay, "2027-06-30"},
		{"7067", YearDay, "2027-03-08"}, // today itself
		{"7068", YearDay, "2017-03-09"}, // tomorrow would lie ahead
		{"6365", YearDay, "2026-12-31"},
		{"4366", YearDay, "2024-12-31"},
		{"6366", YearDay, "2016-12-31"}, // 2026 has 365 days
		{"MAY 27", DMY, "2027-05-01..2027-05-31"},
		{"27 MAY", YMD, "2027-05-01..2027-05-31"},
		{"04JUN24", DMY, "2024-06-04"},
		{"04JUN24", YMD, "2004-06-24"},
		{"MAY-31-27", MDY, "2027-05-31"},
	} {
		d, err := Read(c.text, How{Today: today, Order: c.order})
		require.NoError(t, err, "%s as %s", c.text, c.order)
		assert.Equal(t, c.want, whole(d), "%s as %s", c.text, c.order)
		assert.Equal(t, c.text, d.Printed())
	}
}

func TestOrderDoesNotBendADate(t *testing.T) {
	for _, c := range []struct {
		text  string
		order Order
		want  string
	}{
		{"31/12/2027", MDY, "no month 31"},
		{"2027/12/31", DMY, "not written as day/month/year (--date-order dmy)"},
		{"31/12/2027", YMD, "not written as year/month/day"},
		{"31/12/2027", YearDay, "not written as year and day of the year"},
		{"270630", YearDay, "not written as year and day of the year"},
		{"27366", YearDay, "no day 366 in 2027: it has 365 days"},
		{"27181", DMY, "say --date-order yearday"},
		{"7366", YearDay, "no day 366 in a year that ends in 7"},
		{"7000", YearDay, "no day 0 in a year"},
		{"7181", YMD, "say --date-order yearday"},
		{"2027181", OrderUnknown, "say --date-order yearday"},
		{"27-181", OrderUnknown, "say --date-order yearday"},
		{"MAY 27", OrderUnknown, "say --date-order dmy if it is the year"},
		{"MAY 27", MDY, "27 may be a day or a year"},
		{"MAY-31-27", OrderUnknown, "say --date-order mdy if it is"},
		{"27 MAY", DMY, "the year is missing"},
		{"27/05", YMD, "may be month/year or"},
		{"05-27", OrderUnknown, "may be month and day or month and year"},
		{"5/27", OrderUnknown, "may be month and day or month and year"},
		{"03/04/2027", OrderUnknown, "the order of day, month and year is not known: say --date-order dmy (3 April 2027) or mdy (4 March 2027), or write it like 2027-04-03"},
		{"31.12.27", OrderUnknown, "say --date-order dmy (31 December 2027) or ymd (27 December 2031), or write it like 2027-12-31"},
		{"99/99/9999", OrderUnknown, "no order of day, month and year makes a date of it"},
		{"31/12-2027", DMY, "not a date"},
		{"1/2/3", DMY, "not written as"},
		{"1/2/3/4", DMY, "not a date"},
		{"/1/2027", DMY, "not a date"},
		{"1//2027", DMY, "not a date"},
		{"2Q2", OrderUnknown, "a quarter like 2Q26"},
		{"Q2", OrderUnknown, "a quarter like 2Q26"},
		{"22Q26", OrderUnknown, "a quarter like 2Q26"},
		{"MAY JUN 2027", OrderUnknown, `"JUN" is not a day`},
		{"31 2027 MAY", OrderUnknown, "not a date"},
		{"310 MAY 2027", OrderUnknown, `"310" is not a day`},
	} {
		d, err := Read(c.text, How{Today: today, Order: c.order})
		assert.ErrorContains(t, err, c.want, "%s as %s", c.text, c.order)
		assert.True(t, d.IsZero())
	}
}

func TestOrderNames(t *testing.T) {
	for o := OrderUnknown; o <= YearDay; o++ {
		back, err := ParseOrder(" " + strings.ToUpper(o.String()))
		require.NoError(t, err)
		assert.Equal(t, o, back)
	}
	_, err := ParseOrder("dym")
	assert.EqualError(t, err, `date order "dym": write dmy, mdy, ymd or yearday`)
	assert.Equal(t, "order 9", Order(9).String())
}

func TestClockIsReadToTheMinute(t *testing.T) {
	for text, want := range map[string]string{
		"2027-03-05T08:00": "2027-03-05T08:00", "2027-03-05 23:59": "2027-03-05T23:59",
		"5 MAR 2027 08:05": "2027-03-05T08:05", "5MAR27 00:00": "2027-03-05T00:00", "2027-064T08:00": "2027-03-05T08:00",
	} {
		d, err := Read(text, How{Today: today, Clock: true})
		require.NoError(t, err, text)
		assert.Equal(t, Minute, d.Precision())
		assert.Equal(t, want, d.Canonical())
		_, err = Read(text, How{Today: today})
		assert.ErrorContains(t, err, "write the day only", text)
	}
	for text, want := range map[string]string{
		"2027-03-05T24:00":                   "no hour 24",
		"2027-03-05T08:60":                   "no minute 60",
		"2027-03-05T08:00:00":                "write hours and minutes only",
		"2027-03-05T08:00Z":                  "write hours and minutes only",
		"2027-03-05T08:00+01:00":             "write hours and minutes only",
		"2027-03 08:00":                      "a time of day needs a day",
		"2027-02-30T08:00":                   "no day 30 in February 2027",
		"03/04/2027 08:00":                   "say --date-order",
		"08:00":                              "not a date",
		"the fifth of March, in 2027, 08:00": "too long",
	} {
		_, err := Read(text, How{Today: today, Clock: true})
		assert.ErrorContains(t, err, want, text)
	}
	plain, err := Read("2027-03-05", How{Today: today, Clock: true})
	require.NoError(t, err)
	assert.Equal(t, Day, plain.Precision(), "no hour is made up")
}

func TestYearDigitsAreThosePrinted(t *testing.T) {
	for text, want := range map[string]int{"7068": 1, "27181": 2, "05/27": 2, "2Q26": 2, "30JUN27": 2, "05/2027": 4, "2027-06-30": 4, "2026-W53": 4} {
		d, err := Read(text, How{Today: today, Order: YearDay})
		require.NoError(t, err, text)
		assert.Equal(t, want, d.YearDigits(), text)
	}
	d, err := ReadDigits("2726", YYWW, today)
	require.NoError(t, err)
	assert.Equal(t, 2, d.YearDigits(), "a week")
	assert.Zero(t, Date{}.YearDigits())
	assert.Equal(t, 4, DayOf(today).YearDigits())
}

func TestWhatIsAssumedIsSaid(t *testing.T) {
	for _, c := range []struct {
		text  string
		order Order
		want  string
	}{
		{"7068", YearDay, `"7068" is read as year and day of the year: 9 March 2017, the latest such day that is not after today: a year of one digit does not say its decade.`},
		{"27181", YearDay, `"27181" is read as 30 June 2027: its year has two digits.`},
		{"31/12/27", DMY, `"31/12/27" is read as 31 December 2027: its year has two digits.`},
		{"04JUN24", OrderUnknown, `"04JUN24" is read as 4 June 2024: its year has two digits.`},
		{"31/12/2027", DMY, ""},
		{"2027181", YearDay, ""},
		{"2Q2026", OrderUnknown, ""},
	} {
		d, err := Read(c.text, How{Today: today, Order: c.order})
		require.NoError(t, err)
		assert.Equal(t, c.want, d.Assumed())
	}
	d, err := ReadDigits("2614", YYWW, today)
	require.NoError(t, err)
	assert.Equal(t, `"2614" is read as year and week: week 14 of 2026 by ISO 8601, Monday to Sunday.`, d.Assumed())
}

func TestOneDigitYearNeverLiesAhead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := anyDay(t, "now").Add(36525) // 2000 or later: the years before it are read too
		now = date.New(min(now.Year(), maxYear), now.Month(), 1)
		text := fmt.Sprintf("%d%03d", rapid.IntRange(0, 9).Draw(t, "y"), rapid.IntRange(1, 365).Draw(t, "n"))
		d, err := ReadDigits(text, YDDD, now)
		require.NoError(t, err)
		require.False(t, d.First().After(now))
		require.Less(t, int(now.Sub(d.First())), 3653, "within the last ten years")
		require.Equal(t, num(text[:1]), d.First().Year()%10)
		require.Equal(t, num(text[1:]), d.First().YearDay())
	})
}

func TestDigitsOfEveryLayoutReadBack(t *testing.T) {
	formats := map[Layout]string{YYMMDD: "060102", GS1Date: "060102", GS1Minute: "0601021504", YYYYMMDD: "20060102", DDMMYY: "020106",
		DDMMYYYY: "02012006", MMDDYY: "010206", MMDDYYYY: "01022006", YYDDD: "06002", YYYYDDD: "2006002", MMYY: "0106"}
	rapid.Check(t, func(t *rapid.T) {
		at := time.Date(rapid.IntRange(1980, 2070).Draw(t, "y"), 1, rapid.IntRange(1, 365).Draw(t, "d"), rapid.IntRange(0, 23).Draw(t, "h"), rapid.IntRange(0, 59).Draw(t, "m"), 0, 0, time.UTC)
		for l, f := range formats {
			d, err := ReadDigits(at.Format(f), l, today)
			require.NoError(t, err, "%s as %s", at.Format(f), l)
			require.False(t, date.NewAt(at).Before(d.First()) || date.NewAt(at).After(d.Last()), "%s as %s", at.Format(f), l)
			if m, ok := d.Clock(); ok {
				require.Equal(t, 60*at.Hour()+at.Minute(), m)
			}
		}
	})
	for l := Layout(0); l <= numLayouts; l++ {
		_, err := ReadDigits("12345678x", l, today)
		assert.ErrorContains(t, err, l.String())
	}
}

func TestMarksSayWhichDateItIs(t *testing.T) {
	for text, want := range map[string]string{
		"ASSEMBLED 10/13":            "made, October 2013",
		"EXP 05/27":                  "expiry, May 2027",
		"EXP05/27":                   "expiry, May 2027",
		"Exp. date: 31 May 2027":     "expiry, 31 May 2027",
		"EXPIRES MAY 2027":           "expiry, May 2027",
		"USE BY 2027-05-31":          "expiry, 31 May 2027",
		"use-by 04JUN27":             "expiry, 4 June 2027",
		"INSP/TEST 10/16":            "inspect/test, October 2016",
		"INSPECT/TEST DATE 10/16":    "inspect/test, October 2016",
		"CURE DATE 2Q26":             "made, 2nd quarter 2026",
		"CURED 2Q26":                 "made, 2nd quarter 2026",
		"MFD 2026-09-01":             "made, 1 September 2026",
		"MFG. DATE: SEP 2026":        "made, September 2026",
		"DOM 2026-W36":               "made, week 36 of 2026",
		"DATE OF MANUFACTURE=5/2026": "made, May 2026",
		"PACKED 2026-245":            "packed, 2 September 2026",
		"BEST BEFORE END 09/27":      "best before, September 2027",
		"Sell by 1 Sep 2027":         "sell by, 1 September 2027",
		"OPENED 2027-03-05":          "opened, 5 March 2027",
		"THAWED 5 Mar 2027":          "thawed, 5 March 2027",
		"REC'D 2027-01-11":           "received, 11 January 2027",
	} {
		m, err := ReadMark(text, How{Today: today})
		require.NoError(t, err, text)
		assert.Equal(t, want, m.Kind.String()+", "+m.Date.String(), text)
		assert.NotEmpty(t, m.Word)
		assert.True(t, m.Code.IsZero())
	}
	for text, want := range map[string]string{"SHELF LIFE CODE 4": "4", "Shelf-life code: H": "H", "SLC 0": "0"} {
		m, err := ReadMark(text, How{})
		require.NoError(t, err, text)
		assert.Equal(t, KindCode, m.Kind)
		assert.Equal(t, want, m.Code.String())
		assert.True(t, m.Date.IsZero())
	}
}

func TestMarksThatAreNotReadAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "no mark given",
		"LOT 05/27":                "no mark that is read: write one of DOM, CURE DATE, PACKED, EXP, INSP/TEST, BEST BEFORE, SELL BY, RECEIVED, OPENED, THAWED, SHELF LIFE CODE and its date",
		"05/27":                    "no mark that is read",
		"TEST 05/27":               "no mark that is read", // done then, or due then?
		"EXPO 05/27":               "no mark that is read",
		"USEBY 05/27":              "no mark that is read",
		"EXP":                      "EXP: no date given",
		"EXP 05/27 HURRY":          "EXP: ",
		"EXP MAY 27":               "27 may be a day or a year",
		"EXP 03/04/2027":           "say --date-order dmy",
		"SHELF LIFE CODE T":        "no such code",
		"SHELF LIFE CODE":          "code is empty",
		"SHELF LIFE 9":             "no mark that is read",
		strings.Repeat("EXP ", 20): "too long for a mark",
	} {
		m, err := ReadMark(text, How{Today: today})
		assert.ErrorContains(t, err, want, text)
		assert.Zero(t, m)
	}
}

func TestOneDigitYearIsNoExpiry(t *testing.T) {
	how := How{Today: today, Order: YearDay}
	_, err := ReadMark("EXP 8032", how)
	assert.EqualError(t, err, `EXP: "8032": a year of one digit does not say its decade: write the date like 2027-181`)
	m, err := ReadMark("MFD 6032", how)
	require.NoError(t, err)
	assert.Equal(t, "1 February 2026", m.Date.String())
}

func TestCodeSaysItsTypeAndMark(t *testing.T) {
	for code, want := range map[string]string{"H": "I expiry", "4": "II inspect/test", "X": "II inspect/test", "0": " no mark"} {
		c, err := ReadCode(code)
		require.NoError(t, err)
		assert.Equal(t, want, c.Type()+" "+c.End().String())
		assert.Equal(t, code, c.String())
	}
	_, err := Code{}.Life()
	assert.ErrorContains(t, err, "code is empty")
	assert.Empty(t, Code{}.Type()+Code{}.String())
}

func TestMonthOfIsTheWholeMonth(t *testing.T) {
	d := MonthOf(date.New(2028, time.February, 17))
	assert.Equal(t, "2028-02-01..2028-02-29", whole(d))
	assert.Equal(t, "2028-02", d.Printed())
}

// anyDate is a date of any precision.
func anyDate(t *rapid.T) Date {
	d := anyDay(t, "day")
	if d.Year() > maxYear {
		d = date.New(maxYear, time.December, 31)
	}
	y, m, _ := d.Date()
	switch rapid.SampledFrom([]Precision{Minute, Day, Week, Month, Quarter}).Draw(t, "precision") {
	case Minute:
		return At(d, rapid.IntRange(0, 24*60-1).Draw(t, "minute"))
	case Week:
		of := DayOf(d.Add(-date.PeriodOfDays((int(d.Weekday()) + 6) % 7)))
		of.precision = Week
		return of
	case Month:
		return MonthOf(d)
	case Quarter:
		of := DayOf(date.New(y, m-(m-1)%3, 1))
		of.precision = Quarter
		return of
	}
	return DayOf(d)
}

func TestEveryPrintedDateReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDate(t)
		how := How{Today: anyDay(t, "today"), Order: Order(rapid.IntRange(0, 4).Draw(t, "order")), Clock: true}
		texts := []string{d.Canonical(), strings.ToLower(d.Canonical()), " " + d.Canonical() + "\t"}
		if d.precision == Minute {
			texts = append(texts[:1], strings.ReplaceAll(d.Canonical(), "T", " "))
		}
		if d.precision != Week && d.precision != Quarter {
			texts = append(texts, d.String())
		}
		for _, text := range texts {
			if y, _ := d.first.ISOWeek(); d.precision == Week && y < minYear {
				return // the week of 1 January 1900 is the next year's last but one
			}
			back, err := Read(text, how)
			require.NoError(t, err, text)
			d.printed, back.printed = "", ""
			require.Equal(t, d, back, text)
		}
	})
}

// soundError holds an error to one printable line of a length to read.
func soundError(t *testing.T, s string, err error) {
	line := err.Error()
	if len(line) > 400 {
		t.Fatalf("%q: a long error: %s", s, line)
	}
	for _, r := range line {
		if !unicode.IsPrint(r) {
			t.Fatalf("%q: an error that does not print: %q", s, line)
		}
	}
}

// The quick way knows every day and minute that there is, and none else.
func TestTheQuickWayReadsDatesAsTheFullOne(t *testing.T) {
	for y := 1895; y < 2205; y += 7 {
		for m := range 15 {
			for d := range 34 {
				for _, clock := range []string{"", "T00:00", "T23:59", "T24:00", "T12:60", " 08:00", "T8:00", "T08:0x"} {
					s := fmt.Sprintf("%04d-%02d-%02d%s", y, m, d, clock)
					for _, how := range []How{{}, {Clock: true}, {Order: DMY, Clock: true}} {
						quick, ok := readISO(s, how)
						full, err := readAny(s, how)
						if ok && (err != nil || quick != full) || !ok && err == nil && clock != " 08:00" && clock != "T8:00" {
							t.Fatalf("%s: the quick way reads %v, %v, the full one %v, %v", s, quick, ok, full, err)
						}
					}
				}
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"2027-06-30", "2027-181", "2026W535", "05/27", "03/04/2027", "31.12.27", "270630", "20270630", "24156", "4156",
		"2027181", "04JUN24", "MAY 27", "JUN 4, 2024", "2026-Q2", "Q2 26", "2027-03-05T08:00", "5 Mar 2027 08:00", "27-181", "２０２７", "\x00:00"} {
		for o := range uint8(5) {
			f.Add(s, o, o%2 == 0, 2027)
		}
	}
	f.Fuzz(func(t *testing.T, s string, order uint8, clock bool, year int) {
		how := How{Today: date.New(2000+year%100, time.June, 1), Order: Order(order % 5), Clock: clock}
		d, err := Read(s, how)
		if quick, ok := readISO(s, how); ok {
			if full, err := readAny(s, how); err != nil || full != quick {
				t.Fatalf("%q: the quick way reads %v, the full one %v, %v", s, quick, full, err)
			}
		}
		if err != nil {
			if !d.IsZero() {
				t.Fatalf("%q: a date with an error", s)
			}
			soundError(t, s, err)
			return
		}
		if d.IsZero() || d.Last().Before(d.First()) || d.Last().Sub(d.First()) > 91 {
			t.Fatalf("%q: impossible date %v", s, d)
		}
		if again, err := Read(d.Printed(), how); err != nil || again != d {
			t.Fatalf("%q: read again it is %v, %v", s, again, err)
		}
		back, err := Read(d.Canonical(), How{Today: how.Today, Order: Order((order + 1) % 5), Clock: true})
		if err != nil || back.First() != d.First() || back.Precision() != d.Precision() || back.minute != d.minute {
			t.Fatalf("%q: %q does not read back: %v", s, d.Canonical(), err)
		}
		if how.Order == OrderUnknown && !strings.ContainsAny(d.Printed(), "-/. ") && isNumber(d.Printed()) {
			t.Fatalf("%q: digits alone were read without an order", s)
		}
	})
}

func FuzzReadMark(f *testing.F) {
	for _, s := range []string{"ASSEMBLED 10/13", "EXP 05/27", "INSP/TEST 10/16", "CURE DATE 2Q26", "MFD 2026-09-01", "SHELF LIFE CODE 4",
		"USE BY", "REC'D 2027-01-11", "DATE OF MANUFACTURE=5/2026", "EXP 8032", "LOT 1", "EXP\x00", "exp date date 05/27"} {
		f.Add(s, uint8(0))
		f.Add(s, uint8(4))
	}
	f.Fuzz(func(t *testing.T, s string, order uint8) {
		how := How{Today: today, Order: Order(order % 5), Clock: true}
		m, err := ReadMark(s, how)
		if err != nil {
			if m != (Mark{}) {
				t.Fatalf("%q: a mark with an error", s)
			}
			soundError(t, s, err)
			return
		}
		if m.Kind == KindNone || m.Date.IsZero() != (m.Kind == KindCode) || m.Code.IsZero() != (m.Kind != KindCode) {
			t.Fatalf("%q: half a mark: %+v", s, m)
		}
		again, err := ReadMark(m.Word+" "+m.Date.Printed()+m.Code.String(), how)
		if err != nil || again != m {
			t.Fatalf("%q: read again it is %+v, %v", s, again, err)
		}
	})
}

func BenchmarkRead(b *testing.B) {
	for _, text := range []string{"2027-05-31", "05/27", "04JUN24", "2Q26", "270531", "2027-03-05T08:00"} {
		b.Run(text, func(b *testing.B) {
			how := How{Today: today, Order: DMY, Clock: true}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(text, how); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
