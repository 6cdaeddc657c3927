package label

import (
	"fmt"

	"github.com/rickb777/date"
)

// Layout is the layout of a date that is digits alone, as bar codes carry it: what
// the digits mean is known beforehand and not from the text.
type Layout uint8

// The layouts, named as the standards write them. Years of two digits slide as in
// Read.
const (
	YYMMDD     Layout = iota
	GS1Date           // YYMMDD; day 00 means the whole month (GS1 General Specifications)
	GS1Minute         // YYMMDDHHMM; there is no day 00
	YYYYMMDD          //
	DDMMYY            //
	DDMMYYYY          //
	MMDDYY            //
	MMDDYYYY          //
	YYDDD             // year and day of the year
	YDDD              // the same with the last digit of the year: see ReadDigits
	YYYYDDD           //
	MMYY              // a month
	YYWW              // a week, taken for one of ISO 8601
	numLayouts = iota
)

var layoutNames = [numLayouts]string{"YYMMDD", "YYMMDD", "YYMMDDHHMM", "YYYYMMDD", "DDMMYY", "DDMMYYYY",
	"MMDDYY", "MMDDYYYY", "YYDDD", "YDDD", "YYYYDDD", "MMYY", "YYWW"}

// String is the layout as the standards write it: "YYMMDD".
func (l Layout) String() string {
	if l < numLayouts {
		return layoutNames[l]
	}
	return fmt.Sprintf("layout %d", uint8(l))
}

// ReadDigits reads a date of digits in a known layout. Two-digit years are read
// against today, as in Read. Text that is not as many digits, and a day that does not
// exist, are refused in one line.
//
// A year of one digit (YDDD) does not say its decade. It is read as the latest year
// in which that day exists and is not after today: for a date of manufacture, as it
// cannot lie ahead; for any other, because an earlier date is the safe one. The
// rule is this program's own; Assumed says it.
func ReadDigits(s string, l Layout, today date.Date) (Date, error) {
	d, why := l.read(s, today)
	if why != "" {
		return Date{}, fmt.Errorf("%s: %s", quote(s), why)
	}
	return d, nil
}

// read is ReadDigits with the reason alone.
func (l Layout) read(s string, today date.Date) (d Date, why string) {
	if l >= numLayouts || len(s) != len(layoutNames[l]) || !isNumber(s) {
		return Date{}, fmt.Sprintf("not %d digits, %s", len(l.String()), l)
	}
	switch l {
	case YYMMDD:
		d, why = day(inCentury(num(s[:2]), today), num(s[2:4]), num(s[4:]))
	case GS1Date:
		if s[4:] == "00" {
			d, why = month(inCentury(num(s[:2]), today), num(s[2:4]))
		} else {
			d, why = day(inCentury(num(s[:2]), today), num(s[2:4]), num(s[4:]))
		}
	case GS1Minute:
		d, why = gs1Minute(s, today)
	case YYYYMMDD:
		d, why = day(num(s[:4]), num(s[4:6]), num(s[6:]))
	case DDMMYYYY:
		d, why = day(num(s[4:]), num(s[2:4]), num(s[:2]))
	case MMDDYYYY:
		d, why = day(num(s[4:]), num(s[:2]), num(s[2:4]))
	case DDMMYY:
		d, why = day(inCentury(num(s[4:]), today), num(s[2:4]), num(s[:2]))
	case MMDDYY:
		d, why = day(inCentury(num(s[4:]), today), num(s[:2]), num(s[2:4]))
	case YYDDD:
		d, why = yearDay(inCentury(num(s[:2]), today), num(s[2:]))
	case YDDD:
		d, why = inDecade(num(s[:1]), num(s[1:]), today)
	case YYYYDDD:
		d, why = yearDay(num(s[:4]), num(s[4:]))
	case MMYY:
		d, why = month(inCentury(num(s[2:]), today), num(s[:2]))
	case YYWW:
		d, why = week('W', inCentury(num(s[:2]), today), num(s[2:]), wholeWeek)
		d.guess = isoWeek
	}
	if why != "" {
		return Date{}, why
	}
	switch l {
	case YYYYMMDD, DDMMYYYY, MMDDYYYY, YYYYDDD:
	default:
		d.guess |= century
	}
	d.printed = s
	return d, ""
}

func gs1Minute(s string, today date.Date) (Date, string) {
	d, why := day(inCentury(num(s[:2]), today), num(s[2:4]), num(s[4:6]))
	h, m := num(s[6:8]), num(s[8:])
	switch {
	case why != "":
		return Date{}, why
	case h > 23:
		return Date{}, fmt.Sprintf("no hour %d: a day runs from 00:00 to 23:59", h)
	case m > 59:
		return Date{}, fmt.Sprintf("no minute %d: an hour has minutes 00 to 59", m)
	}
	d.precision, d.minute = Minute, int16(60*h+m)
	return d, ""
}

// inDecade finds the latest year that ends in y and has a day n not after today.
// Day 366 may lie four decades back: of the years that end in one odd digit none has
// it.
func inDecade(y, n int, today date.Date) (Date, string) {
	now := today.Year()
	for year := now - (now%10-y+10)%10; year > now-60; year -= 10 {
		d, why := yearDay(year, n)
		if why == "" && !d.first.After(today) {
			d.guess = decade
			return d, ""
		}
	}
	if n < 1 || n > 366 {
		return Date{}, fmt.Sprintf("no day %d in a year: days run from 1 to 366", n)
	}
	return Date{}, fmt.Sprintf("no day %d in a year that ends in %d", n, y)
}
