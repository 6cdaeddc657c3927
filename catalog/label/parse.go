package label

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/rickb777/date"
)

// maxText is the longest text read as a date; the longest form, "30 September
// 2027", has 17.
const maxText = 24

// The years a four-digit year may name. Older stock is not aircraft stock, and a
// later year is a slip of the hand.
const (
	minYear = 1900
	maxYear = 2199
)

// Parse reads a date as printed on a batch, keeping its precision:
//
//	2027-06-30  2027-181  2026-W53-5  30 JUN 2027  30-JUN-27   day
//	2026-W53                                                   week
//	2027-06  06/2027  06/27  JUN 2027                          month
//	2Q26  2Q2026                                               quarter
//
// Month names are English, short (three letters) or whole, in any case, with
// spaces or dashes. Two-digit years are read against today by the sliding century
// of the GS1 General Specifications: the year nearest to today's, from 49 years
// back to 50 years ahead.
//
// All-number forms in which day, month and year cannot be told apart
// (03/04/2027, 270630, 24156, 4156) are refused, with a line that says how to
// write the date; so is a day that does not exist (2027-02-30). Years run from
// 1900 to 2199. The source of the ISO forms is ISO 8601.
func Parse(s string, today date.Date) (Date, error) {
	t := strings.TrimSpace(s)
	if t == "" {
		return Date{}, fmt.Errorf("no date given: write it like 2027-06-30")
	}
	if day, ok := dayAndHour(t); ok {
		return Date{}, fmt.Errorf("%s: write the day only, %s", quote(t), day)
	}
	if len(t) > maxText {
		return Date{}, fmt.Errorf("%s: too long for a date: write it like 2027-06-30", quote(t))
	}
	d, why := read(t, today)
	if why != "" {
		return Date{}, fmt.Errorf("%s: %s", quote(t), why)
	}
	d.printed = t
	return d, nil
}

// dayAndHour finds a moment where a day is wanted: 2027-03-05T08:00 and the like.
func dayAndHour(t string) (day string, ok bool) {
	const n = len("2027-03-05T08:00")
	if len(t) < n || len(t) > 2*maxText || t[10] != 'T' && t[10] != ' ' {
		return "", false
	}
	_, err := time.Parse("2006-01-02 15:04", t[:10]+" "+t[11:n])
	return t[:10], err == nil
}

// read takes the text apart by its shape: d for each digit, a for each letter,
// anything else as it is. It answers a date, or why there is none.
func read(t string, today date.Date) (Date, string) {
	var buf [maxText]byte
	letters := false
	for i := range len(t) {
		c := t[i]
		switch {
		case digit(c):
			c = 'd'
		case letter(c):
			c, letters = 'a', true
		}
		buf[i] = c
	}
	switch string(buf[:len(t)]) {
	case "dddd-dd-dd":
		return day(num(t[:4]), num(t[5:7]), num(t[8:]))
	case "dddd-ddd":
		return yearDay(num(t[:4]), num(t[5:]))
	case "dddd-add-d":
		return week(t[5], num(t[:4]), num(t[6:8]), num(t[9:]))
	case "dddd-add":
		return week(t[5], num(t[:4]), num(t[6:]), wholeWeek)
	case "dddd-dd":
		return month(num(t[:4]), num(t[5:]))
	case "dd/dddd":
		return month(num(t[3:]), num(t[:2]))
	case "dd/dd":
		d, why := month(century(num(t[3:]), today), num(t[:2]))
		d.century, d.monthYear = true, true
		return d, why
	case "dadd":
		d, why := quarter(t[1], century(num(t[2:]), today), num(t[:1]))
		d.century = true
		return d, why
	case "dadddd":
		return quarter(t[1], num(t[2:]), num(t[:1]))
	}
	if letters {
		return named(t, today)
	}
	return Date{}, numbersOnly(t)
}

// numbersOnly says why a date of bare numbers is refused.
func numbersOnly(t string) string {
	n := 0
	for i := range len(t) {
		if !digit(t[i]) {
			if strings.IndexByte("/-. ", t[i]) < 0 {
				return "not a date: write it like 2027-06-30"
			}
			continue
		}
		n++
	}
	switch {
	case n == len(t) && n == 4:
		return "four digits may be month and year or year and day of the year: write it like 2027-06 or 2027-181"
	case n == len(t) && n == 5:
		return "five digits may be year and day of the year, or something else: write it like 2027-181"
	case n == len(t) && n < 9:
		return "the order of day, month and year is not known: write it like 2027-06-30"
	case n == len(t):
		return "too many digits for a date: write it like 2027-06-30"
	case n >= 4:
		return "the order of day, month and year is not known: write it like 2027-06-30 or 30 Jun 2027"
	}
	return "not a date: write it like 2027-06-30"
}

// named reads a date with the month as a word.
func named(t string, today date.Date) (Date, string) {
	const like = "write it like 30 Jun 2027, Jun 2027 or 2027-06-30"
	parts := strings.FieldsFunc(t, func(r rune) bool { return r == ' ' || r == '-' })
	if len(parts) < 2 || len(parts) > 3 {
		return Date{}, "not a date: " + like
	}
	year := parts[len(parts)-1]
	m, ok := monthNamed(parts[len(parts)-2])
	if !ok {
		if len(parts) == 2 && isNumber(parts[0]) {
			return Date{}, "the year is missing: " + like
		}
		return Date{}, fmt.Sprintf("%s is not a month: %s", quote(parts[len(parts)-2]), like)
	}
	if !isNumber(year) || len(year) != 4 && len(year) != 2 {
		return Date{}, fmt.Sprintf("%s is not a year: %s", quote(year), like)
	}
	if len(parts) == 2 {
		if len(year) == 2 {
			return Date{}, year + " may be a day or a year: write the year with four digits, like Jun 2027"
		}
		return month(num(year), m)
	}
	if !isNumber(parts[0]) || len(parts[0]) > 2 {
		return Date{}, fmt.Sprintf("%s is not a day: %s", quote(parts[0]), like)
	}
	if len(year) == 4 {
		return day(num(year), m, num(parts[0]))
	}
	d, why := day(century(num(year), today), m, num(parts[0]))
	d.century = true
	return d, why
}

func monthNamed(s string) (int, bool) {
	for m := time.January; m <= time.December; m++ {
		if name := m.String(); strings.EqualFold(s, name) || strings.EqualFold(s, name[:3]) {
			return int(m), true
		}
	}
	return 0, false
}

// day checks by round trip, because the date package takes 30 February for 2
// March.
func day(y, m, d int) (Date, string) {
	if why := badMonth(y, m); why != "" {
		return Date{}, why
	}
	first := date.New(y, time.Month(m), d)
	if yy, mm, dd := first.Date(); yy != y || int(mm) != m || dd != d {
		n := date.DaysIn(y, time.Month(m))
		return Date{}, fmt.Sprintf("no day %d in %s %d: it has %d days", d, time.Month(m), y, n)
	}
	return Date{first: first, precision: Day}, ""
}

func yearDay(y, n int) (Date, string) {
	if why := badYear(y); why != "" {
		return Date{}, why
	}
	first := date.New(y, time.January, n)
	if first.Year() != y || first.YearDay() != n {
		days := date.New(y, time.December, 31).YearDay()
		return Date{}, fmt.Sprintf("no day %d in %d: it has %d days", n, y, days)
	}
	return Date{first: first, precision: Day}, ""
}

// wholeWeek stands for the weekday of a date that names none.
const wholeWeek = -1

// week makes an ISO 8601 week date. Week 1 is the one with 4 January in it, and
// weeks start on Monday.
func week(w byte, y, n, d int) (Date, string) {
	if w != 'W' && w != 'w' {
		return Date{}, "not a date: write it like 2027-06-30, or a week like 2026-W53"
	}
	if why := badYear(y); why != "" {
		return Date{}, why
	}
	jan4 := date.New(y, time.January, 4)
	sinceMonday := (int(jan4.Weekday()) + 6) % 7
	monday := jan4.Add(date.PeriodOfDays(7*(n-1) - sinceMonday))
	if yy, nn := monday.ISOWeek(); yy != y || nn != n {
		return Date{}, fmt.Sprintf("no week %d in %d: write an ISO week like 2026-W53", n, y)
	}
	if d == wholeWeek {
		return Date{first: monday, precision: Week}, ""
	}
	if d < 1 || d > 7 {
		return Date{}, fmt.Sprintf("no day %d in a week: 1 is Monday, 7 is Sunday", d)
	}
	return Date{first: monday.Add(date.PeriodOfDays(d - 1)), precision: Day}, ""
}

func month(y, m int) (Date, string) {
	if why := badMonth(y, m); why != "" {
		return Date{}, why
	}
	return Date{first: date.New(y, time.Month(m), 1), precision: Month}, ""
}

func quarter(q byte, y, n int) (Date, string) {
	if q != 'Q' && q != 'q' {
		return Date{}, "not a date: write it like 2027-06-30, or a quarter like 2Q26"
	}
	if n < 1 || n > 4 {
		return Date{}, fmt.Sprintf("no quarter %d: a year has quarters 1 to 4", n)
	}
	if why := badYear(y); why != "" {
		return Date{}, why
	}
	return Date{first: date.New(y, time.Month(3*n-2), 1), precision: Quarter}, ""
}

func badMonth(y, m int) string {
	if m < 1 || m > 12 {
		return fmt.Sprintf("no month %d: a year has months 1 to 12", m)
	}
	return badYear(y)
}

func badYear(y int) string {
	if y < minYear || y > maxYear {
		return fmt.Sprintf("the year %d lies outside %d to %d", y, minYear, maxYear)
	}
	return ""
}

// century gives a two-digit year its century: the one that brings it nearest to
// today's year, 50 years ahead still counting as near (GS1 General
// Specifications, determination of century in dates).
func century(yy int, today date.Date) int {
	now := today.Year()
	y := now - now%100 + yy
	switch d := yy - now%100; {
	case d > 50:
		return y - 100
	case d < -49:
		return y + 100
	}
	return y
}

func digit(c byte) bool  { return c >= '0' && c <= '9' }
func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

func isNumber(s string) bool {
	for i := range len(s) {
		if !digit(s[i]) {
			return false
		}
	}
	return s != ""
}

// num reads digits that the caller has counted.
func num(s string) int {
	n := 0
	for i := range len(s) {
		n = 10*n + int(s[i]-'0')
	}
	return n
}

// quote shows what the user wrote: shortened, control characters made visible.
func quote(s string) string {
	if len(s) > maxText {
		s = strings.ToValidUTF8(s[:maxText], "") + "…"
	}
	return strconv.Quote(s)
}
