// Package label reads what is printed on a batch: dates at the precision they
// are printed in, the marks beside them, and the shelf-life codes of the US supply
// system.
//
// "05/2027" on a tin is not a day. What it means depends on whether it is an
// expiry (good to the last day of May) or a date of manufacture (made no earlier
// than the first), so a Date keeps its precision and offers both ends; the rules
// of package shelf choose. Nothing here knows a clock: the day that two-digit
// years are read against comes in as an argument.
//
// Read on in parse.go (every form that is read, and why others are refused),
// order.go (numbers alone, whose order must be told), named.go (months as words,
// quarters), digits.go (digits of a known layout, as in bar codes), mark.go (EXP,
// INSP/TEST and the rest), life.go (adding a shelf life to a day) and code.go
// (shelf-life codes). Package scan, below this one, reads bar codes.
package label

import (
	"fmt"
	"strconv"
	"time"

	"github.com/rickb777/date"
)

// Precision is how closely a printed date is known.
type Precision uint8

// The precisions, from close to coarse. The zero value means that there is no
// date.
const (
	None Precision = iota
	Minute
	Day
	Week
	Month
	Quarter
)

var precisionNames = [...]string{"none", "minute", "day", "week", "month", "quarter"}

// String is the word for the precision: "day", "month".
func (p Precision) String() string {
	if int(p) < len(precisionNames) {
		return precisionNames[p]
	}
	return "precision " + strconv.Itoa(int(p))
}

// Date is a date as printed on a batch, at its printed precision. The zero value
// is no date at all: ask IsZero before First or Last.
type Date struct {
	first     date.Date
	minute    int16 // of the day, with precision Minute
	precision Precision
	guess     guess
	printed   string
}

// guess is what a date was read with beyond its text, a bit each.
type guess uint8

const (
	century   guess = 1 << iota // the century was not printed
	monthYear                   // two bare numbers were read as month and year
	decade                      // the decade was not printed either
	isoWeek                     // a week was taken for one of ISO 8601
	bareDays                    // five bare digits were read as year and day of the year
)

// DayOf is a date known to the day.
func DayOf(d date.Date) Date { return Date{first: d, precision: Day, printed: iso(d)} }

// MonthOf is a date known to the month: the month that d lies in.
func MonthOf(d date.Date) Date {
	y, m, _ := d.Date()
	of := Date{first: date.New(y, m, 1), precision: Month}
	of.printed = of.Canonical()
	return of
}

// At is a moment known to the minute: minutes from 00:00 on a day, 0 to 1439, on the
// clock of wherever the batch is. A minute outside that is taken for the day alone.
func At(d date.Date, minute int) Date {
	if minute < 0 || minute >= 24*60 {
		return DayOf(d)
	}
	m := Date{first: d, precision: Minute, minute: int16(minute)}
	m.printed = m.Canonical()
	return m
}

// Clock is the minute of the day, 0 to 1439, of a moment known to the minute; ok is
// false for a date that is not.
func (d Date) Clock() (minute int, ok bool) { return int(d.minute), d.precision == Minute }

// IsZero reports whether there is no date.
func (d Date) IsZero() bool { return d.precision == None }

// Precision is how closely the date is known.
func (d Date) Precision() Precision { return d.precision }

// Printed is the text the date was read from, without the spaces around it.
func (d Date) Printed() string { return d.printed }

// First is the first day the date may mean. Of no date it is the zero date.Date,
// which is a real day (1 January 1970): ask IsZero first.
func (d Date) First() date.Date { return d.first }

// Last is the last day the date may mean: the end of the month for "05/2027",
// Sunday for an ISO week, the end of June for "2Q27".
func (d Date) Last() date.Date {
	y, m, _ := d.first.Date()
	switch d.precision {
	case Week:
		return d.first.Add(6)
	case Month:
		return EndOfMonth(y, m)
	case Quarter:
		return EndOfMonth(y, m+2)
	}
	return d.first
}

// String is the date for people, no closer than it is known: "31 May 2027 14:15",
// "31 May 2027", "May 2027", "2nd quarter 2026", "week 53 of 2026"; "no date" for
// the zero Date.
func (d Date) String() string {
	y, m, _ := d.first.Date()
	switch d.precision {
	case Minute:
		return FormatDay(d.first) + " " + hourMinute(d.minute)
	case Day:
		return FormatDay(d.first)
	case Week:
		y, w := d.first.ISOWeek()
		return fmt.Sprintf("week %d of %d", w, y)
	case Month:
		return m.String() + " " + strconv.Itoa(y)
	case Quarter:
		return [...]string{"1st", "2nd", "3rd", "4th"}[(m-1)/3] + " quarter " + strconv.Itoa(y)
	}
	return "no date"
}

// Canonical is the one form for files: ISO 8601 (2027-05-31T14:15, 2027-05-31,
// 2026-W53, 2027-05), and for a quarter, which ISO 8601-1 has no form for, the
// trade's 2Q2026. Read, with Clock, reads each back as the same date, whatever the
// Order. Of no date it is "".
func (d Date) Canonical() string {
	y, m, _ := d.first.Date()
	switch d.precision {
	case Minute:
		return string(appendHourMinute(append(appendISO(make([]byte, 0, 16), d.first), 'T'), d.minute))
	case Day:
		return iso(d.first)
	case Week:
		y, w := d.first.ISOWeek()
		return fmt.Sprintf("%04d-W%02d", y, w)
	case Month:
		return fmt.Sprintf("%04d-%02d", y, int(m))
	case Quarter:
		return fmt.Sprintf("%dQ%04d", (m-1)/3+1, y)
	}
	return ""
}

// YearDigits is how many digits of its year were printed: 4; 2 where the nearest century
// was taken; 1 where the latest decade was; 0 for no date.
func (d Date) YearDigits() int {
	switch {
	case d.IsZero():
		return 0
	case d.guess&decade != 0:
		return 1
	case d.guess&century != 0:
		return 2
	}
	return 4
}

// CenturyAhead is how many years ahead a date whose century is not printed may lie
// before it is asked for in full: longer than any sealant or seal keeps (own decision;
// the longest life that ends in SAE ARP5316 is 15 years).
const CenturyAhead = 25

// Unsure says why a date has to be written in full before anything rests on it, or "":
// five bare digits, read as year and day of the year, may as well be a spreadsheet's day
// number; its year has one digit, which leaves the decade open, or two, and the century
// taken puts it more than CenturyAhead years ahead of today, so that the one before is
// as likely.
func (d Date) Unsure(today date.Date) string {
	if d.guess&bareDays != 0 {
		if sheet, ok := sheetDay(d.printed[:sheetDigits], today); ok {
			return fmt.Sprintf("%q: day %d of %d, or a spreadsheet's day number, %s? write it like %s or %s",
				d.printed, d.first.YearDay(), d.first.Year(), FormatDay(sheet), iso(d.first), iso(sheet))
		}
	}
	switch y := d.first.Year(); {
	case d.YearDigits() == 1:
		return fmt.Sprintf("%q: a year of one digit does not say its decade: write it like %s, if it is that year", d.printed, d.Canonical())
	case d.YearDigits() == 2 && y > today.Year()+CenturyAhead:
		return fmt.Sprintf("%q: is the year %d or %d? write it with four digits", d.printed, y-100, y)
	}
	return ""
}

// Assumed says in a sentence what was taken for granted in reading the date, or
// "" when the text leaves no doubt.
func (d Date) Assumed() string {
	switch {
	case d.guess&decade != 0:
		return fmt.Sprintf("%q is read as year and day of the year: %s, the latest such day that is not after today: a year of one digit does not say its decade.", d.printed, d)
	case d.guess&isoWeek != 0:
		return fmt.Sprintf("%q is read as year and week: %s by ISO 8601, Monday to Sunday.", d.printed, d)
	case d.guess&monthYear != 0:
		return fmt.Sprintf("%q is read as month/year: %s.", d.printed, d)
	case d.guess&century != 0:
		return fmt.Sprintf("%q is read as %s: its year has two digits.", d.printed, d)
	}
	return ""
}

// FormatDay writes a day for people: "31 May 2027".
func FormatDay(d date.Date) string {
	y, m, day := d.Date()
	return strconv.Itoa(day) + " " + m.String() + " " + strconv.Itoa(y)
}

// EndOfMonth is the last day of a month, 1 to 12.
func EndOfMonth(year int, month time.Month) date.Date {
	return date.New(year, month, date.DaysIn(year, month))
}

func hourMinute(m int16) string { return string(appendHourMinute(nil, m)) }

func appendHourMinute(to []byte, m int16) []byte {
	return append(to, byte('0'+m/600), byte('0'+m/60%10), ':', byte('0'+m%60/10), byte('0'+m%10))
}

func iso(d date.Date) string {
	return string(appendISO(make([]byte, 0, 16), d))
}

// appendISO makes no detour by fmt: lists have millions of days.
func appendISO(to []byte, d date.Date) []byte {
	y, m, day := d.Date()
	if y < 0 || y > 9999 {
		return fmt.Appendf(to, "%04d-%02d-%02d", y, int(m), day)
	}
	return append(to, byte('0'+y/1000), byte('0'+y/100%10), byte('0'+y/10%10), byte('0'+y%10), '-', byte('0'+m/10), byte('0'+m%10), '-', byte('0'+day/10), byte('0'+day%10))
}
