package label

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var today = date.New(2027, time.March, 8)

// calendar reads a plain ISO day with the standard library, so that the tests do
// not lean on what they test.
func calendar(t *testing.T, s string) date.Date {
	t.Helper()
	at, err := time.Parse(time.DateOnly, s)
	require.NoError(t, err)
	return date.NewAt(at)
}

func TestEveryFormKeepsItsPrecision(t *testing.T) {
	for _, c := range []struct {
		text, first, last, people, canonical string
		precision                            Precision
	}{
		{"2027-06-30", "2027-06-30", "2027-06-30", "30 June 2027", "2027-06-30", Day},
		{" 2027-06-30\t", "2027-06-30", "2027-06-30", "30 June 2027", "2027-06-30", Day},
		{"2027-181", "2027-06-30", "2027-06-30", "30 June 2027", "2027-06-30", Day},
		{"2026-W53-5", "2027-01-01", "2027-01-01", "1 January 2027", "2027-01-01", Day},
		{"2026-W53", "2026-12-28", "2027-01-03", "week 53 of 2026", "2026-W53", Week},
		{"2027-05", "2027-05-01", "2027-05-31", "May 2027", "2027-05", Month},
		{"05/2027", "2027-05-01", "2027-05-31", "May 2027", "2027-05", Month},
		{"05/27", "2027-05-01", "2027-05-31", "May 2027", "2027-05", Month},
		{"MAY 2027", "2027-05-01", "2027-05-31", "May 2027", "2027-05", Month},
		{"may-2027", "2027-05-01", "2027-05-31", "May 2027", "2027-05", Month},
		{"31-MAY-27", "2027-05-31", "2027-05-31", "31 May 2027", "2027-05-31", Day},
		{"31 May 2027", "2027-05-31", "2027-05-31", "31 May 2027", "2027-05-31", Day},
		{"3 september 2027", "2027-09-03", "2027-09-03", "3 September 2027", "2027-09-03", Day},
		{"2Q26", "2026-04-01", "2026-06-30", "2nd quarter 2026", "2Q2026", Quarter},
		{"4q2026", "2026-10-01", "2026-12-31", "4th quarter 2026", "4Q2026", Quarter},
	} {
		d, err := Parse(c.text, today)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.first, iso(d.First()), c.text)
		assert.Equal(t, c.last, iso(d.Last()), c.text)
		assert.Equal(t, c.people, d.String())
		assert.Equal(t, c.canonical, d.Canonical())
		assert.Equal(t, c.precision, d.Precision())
		assert.Equal(t, strings.TrimSpace(c.text), d.Printed())
	}
}

func TestRefusalsSayWhatWouldBeRight(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "no date given: write it like 2027-06-30",
		"03/04/2027":                     "order of day, month and year is not known",
		"31/12/2027":                     "is this day/month/year? say --date-order dmy or write 2027-12-31",
		"12/31/2027":                     "is this month/day/year? say --date-order mdy or write 2027-12-31",
		"2027/06/30":                     "is this year/month/day? say --date-order ymd or write 2027-06-30",
		"31.12.27":                       "order of day, month and year is not known",
		"24156":                          "five digits may be year and day of the year",
		"4156":                           "four digits may be month and year or year and day of the year",
		"270630":                         "order of day, month and year is not known",
		"20270630":                       "is this year/month/day? say --date-order ymd or write 2027-06-30",
		"20270630120000":                 "too many digits",
		"2027-02-30":                     "no day 30 in February 2027: it has 28 days",
		"2027-04-31":                     "no day 31 in April 2027: it has 30 days",
		"2027-06-00":                     "no day 0 in June 2027",
		"2027-13-01":                     "no month 13",
		"2027-00":                        "no month 0",
		"13/27":                          "no month 13",
		"2027-366":                       "no day 366 in 2027: it has 365 days",
		"2027-000":                       "no day 0 in 2027",
		"2027-W53":                       "no week 53 in 2027",
		"2027-W00-1":                     "no week 0",
		"2026-W53-0":                     "no day 0 in a week",
		"2026-W53-8":                     "no day 8 in a week",
		"5Q26":                           "no quarter 5",
		"0Q26":                           "no quarter 0",
		"2X26":                           "a quarter like 2Q26",
		"2027-X53":                       "a week like 2026-W53",
		"1823-01-01":                     "the year 1823 lies outside 1900 to 2199",
		"0027-06-30":                     "the year 27 lies outside",
		"MAY 27":                         "27 may be a day or a year",
		"31 MAY":                         "the year is missing",
		"31 MAI 2027":                    `"MAI" is not a month`,
		"X MAY 2027":                     `"X" is not a day`,
		"1 MAY 027":                      `"027" is not a year`,
		"30 FEB 2028":                    "no day 30 in February 2028: it has 29 days",
		"next week":                      "is not a month",
		"n/a":                            "not a date",
		"soon":                           "not a date",
		"2027-06-30T12":                  "not a",
		"２０２７-06":                        "not a date",
		"--":                             "not a date",
		strings.Repeat("2027-06-30 ", 9): "too long for a date",
	} {
		_, err := Parse(text, today)
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want, text)
			assert.NotContains(t, err.Error(), "\n")
		}
	}
}

func TestOnlyAnIncompleteYearIsAssumed(t *testing.T) {
	for text, want := range map[string]string{
		"05/27":      `"05/27" is read as month/year: May 2027.`,
		"2Q26":       `"2Q26" is read as 2nd quarter 2026: its year has two digits.`,
		"31-MAY-27":  `"31-MAY-27" is read as 31 May 2027: its year has two digits.`,
		"05/2027":    "",
		"2027-05-31": "",
	} {
		d, err := Parse(text, today)
		require.NoError(t, err)
		assert.Equal(t, want, d.Assumed())
	}
}

func TestNoDateIsNotTheFirstOfJanuary1970(t *testing.T) {
	assert.True(t, Date{}.IsZero())
	assert.Equal(t, "no date", Date{}.String())
	assert.Empty(t, Date{}.Canonical())
	epoch, err := Parse("1970-01-01", today)
	require.NoError(t, err)
	assert.False(t, epoch.IsZero())
	assert.Equal(t, "1 January 1970", epoch.String())
	assert.False(t, DayOf(date.New(1970, time.January, 1)).IsZero())
}

func TestLifeFromAMonthEndEndsWithAMonth(t *testing.T) {
	for _, c := range []struct {
		start string
		life  period.Period
		want  string
	}{
		{"2027-02-28", period.NewYMD(0, 3, 0), "2027-05-31"},
		{"2013-10-31", period.NewYMD(0, 36, 0), "2016-10-31"},
		{"2027-06-30", period.NewYMD(0, 6, 0), "2027-12-31"},
		{"2027-01-31", period.NewYMD(0, 1, 10), "2027-03-10"},
	} {
		assert.Equal(t, c.want, iso(AddLifeToMonthEnd(calendar(t, c.start), c.life)), c.start)
	}
}

func TestCodesThatCouldBeMisreadAreRefused(t *testing.T) {
	for code, want := range map[string]string{
		"":     "empty",
		"I":    "is it the digit 1?",
		"O":    "is it the digit 0?",
		"T":    "no such code",
		"Z":    "no such code",
		"10":   "no such code",
		"A1":   "no such code",
		"a":    "is it A?",
		"é":    "no such code",
		"\x00": "no such code",
	} {
		_, _, err := CodeLife(code)
		if assert.Error(t, err, code) {
			assert.Contains(t, err.Error(), want, code)
		}
	}
	_, _, err := CodeLife("X")
	assert.ErrorIs(t, err, ErrNeedsNumber)
	_, _, err = CodeLife("0")
	assert.ErrorIs(t, err, ErrUnlimited)
}

func anyDay(t *rapid.T, name string) date.Date {
	return date.New(1900, time.January, 1).Add(date.PeriodOfDays(rapid.IntRange(0, 109000).Draw(t, name)))
}

func anyLife(t *rapid.T) period.Period {
	return period.NewYMD(rapid.IntRange(0, 60).Draw(t, "years"), rapid.IntRange(0, 120).Draw(t, "months"), rapid.IntRange(0, 3000).Draw(t, "days"))
}

// Months added never land in a later month than counted, and never move the day
// of the month up.
func TestAddedMonthsNeverPassTheMonthEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := anyDay(t, "d"), rapid.IntRange(0, 1200).Draw(t, "n")
		end := AddLife(d, period.NewYMD(0, n, 0))
		y, m, day := d.Date()
		yy, mm, dd := end.Date()
		require.Equal(t, 12*y+int(m)+n, 12*yy+int(mm))
		require.LessOrEqual(t, dd, day)
		if dd < day {
			require.Equal(t, EndOfMonth(yy, mm), end)
		}
		require.Equal(t, end, AddLife(d, period.NewYMD(n/12, n%12, 0)), "years are twelve months")
	})
}

func TestALaterStartNeverEndsEarlier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, life := anyDay(t, "a"), anyDay(t, "b"), anyLife(t)
		if b.Before(a) {
			a, b = b, a
		}
		require.False(t, AddLife(b, life).Before(AddLife(a, life)))
		require.False(t, AddLifeToMonthEnd(a, life).Before(AddLife(a, life)), "the month's end is never before the day")
	})
}

func TestCanonicalFormReadsBackAsTheSameDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, m, day := anyDay(t, "d").Date()
		y = min(y, maxYear)
		text := rapid.SampledFrom([]string{
			fmt.Sprintf("%04d-%02d-%02d", y, m, day), fmt.Sprintf("%04d-%02d", y, m),
			fmt.Sprintf("%02d/%02d", int(m), y%100), fmt.Sprintf("%dQ%04d", (int(m)-1)/3+1, y),
			fmt.Sprintf("%04d-W%02d", y, 1+day), fmt.Sprintf("%d %s %d", min(day, 28), m, y),
		}).Draw(t, "text")
		d, err := Parse(text, today)
		if text == fmt.Sprintf("%04d-%02d-%02d", y, m, day) && day > date.DaysIn(y, m) {
			return
		}
		require.NoError(t, err, text)
		back, err := Parse(d.Canonical(), today)
		require.NoError(t, err, d.Canonical())
		require.Equal(t, d.First(), back.First(), text)
		require.Equal(t, d.Last(), back.Last(), text)
		require.Equal(t, d.Precision(), back.Precision(), text)
		require.Equal(t, d.Canonical(), back.Canonical())
		require.Empty(t, back.Assumed(), "the canonical form leaves nothing to assume")
	})
}

// The standard library is an independent reader of the calendar form.
func TestCalendarFormAgreesWithTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := fmt.Sprintf("%04d-%02d-%02d", rapid.IntRange(minYear, maxYear).Draw(t, "y"),
			rapid.IntRange(0, 13).Draw(t, "m"), rapid.IntRange(0, 32).Draw(t, "d"))
		at, want := time.Parse(time.DateOnly, text)
		d, got := Parse(text, today)
		require.Equal(t, want == nil, got == nil, text)
		if got == nil {
			require.Equal(t, date.NewAt(at), d.First())
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"2027-06-30", "2027-181", "2026-W53-5", "2026-W53", "2027-05", "05/2027", "05/27",
		"MAY 2027", "31-MAY-27", "31 May 2027", "2Q26", "03/04/2027", "24156", "270630", "", "\x00", "２０２７", "2027-W60-1"} {
		f.Add(s, 2027)
	}
	f.Fuzz(func(t *testing.T, s string, year int) {
		now := date.New(2000+year%100, time.June, 1)
		d, err := Parse(s, now)
		if err != nil {
			if !d.IsZero() || strings.ContainsAny(err.Error(), "\n\x00") || len(err.Error()) > 250 {
				t.Fatalf("%q: refused badly: %v", s, err)
			}
			return
		}
		if d.IsZero() || d.Last().Before(d.First()) || d.Last().Sub(d.First()) > 91 {
			t.Fatalf("%q: impossible date %v", s, d)
		}
		back, err := Parse(d.Canonical(), now)
		if err != nil || back.First() != d.First() || back.Precision() != d.Precision() {
			t.Fatalf("%q: %q does not read back: %v", s, d.Canonical(), err)
		}
	})
}

func FuzzCodeLife(f *testing.F) {
	for _, s := range []string{"A", "9", "0", "X", "I", "10", "a", "", "é"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		life, _, err := CodeLife(s)
		if (err == nil) != (life.Months() > 0) {
			t.Fatalf("%q: %v with error %v", s, life, err)
		}
	})
}

func BenchmarkParseMonth(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("05/2027", today); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseDay(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("2027-05-31", today); err != nil {
			b.Fatal(err)
		}
	}
}
