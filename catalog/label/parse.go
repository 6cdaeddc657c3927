package label

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/rickb777/date"
)

// maxText is the longest text read as a date, without a time of day; the longest
// form, "30 September 2027", has 17.
const maxText = 24

// The years a four-digit year may name. Older stock is not aircraft stock, and a
// later year is a slip of the hand.
const (
	minYear = 1900
	maxYear = 2199
)

// How is how a date is read where its text alone leaves it open.
type How struct {
	// Today is the day that years of two digits, and of one, are read against.
	Today date.Date
	// Order is the order of numbers that stand alone; OrderUnknown refuses them.
	Order Order
	// Clock also reads a time of day, to the minute.
	Clock bool
}

// Parse is Read for dates without a time of day, whose numbers stand in no known
// order: what could mean two days is refused.
func Parse(s string, today date.Date) (Date, error) { return Read(s, How{Today: today}) }

// Read reads a date as printed on a batch, keeping its precision:
//
//	2027-06-30  2027-181  2026-W53-5  2026W535  30 JUN 2027    day
//	30-JUN-27  30JUN27  JUN 30, 2027  2027-JUN-30              day
//	2026-W53  2026W53                                          week
//	2027-06  06/2027  06/27  JUN 2027  JUN2027                 month
//	2Q26  2Q2026  Q2 2026  2026-Q2                             quarter
//	2027-03-05T08:00  2027-03-05 8:00  5 Mar 2027 08:00        minute, with Clock
//
// Month names are English, short (three letters) or whole, in any case, with
// spaces, dashes, slashes, points or nothing between. Two-digit years are read
// against today by the sliding century of the GS1 General Specifications: the year
// nearest to today's, from 49 years back to 50 years ahead.
//
// Numbers alone in which day, month and year cannot be told apart (03/04/2027,
// 31.12.2027, 270630, 20270630), years with a day of the year (YYDDD, YDDD) and
// "MAY 27" are read by the Order, and refused without one even where a single order
// makes a day of them; the line says which it would be, and how to write the date. Five
// digits that may be a spreadsheet's day number are refused as that; with YearDay they
// are read, and are Unsure.
// A day that does not exist (2027-02-30) is refused always. Years run from 1900 to
// 2199. The source of the ISO forms is ISO 8601.
func Read(s string, how How) (Date, error) {
	if d, ok := readISO(s, how); ok {
		return d, nil
	}
	return readAny(s, how)
}

// readAny is Read for every form.
func readAny(s string, how How) (Date, error) {
	t := strings.TrimSpace(s)
	if t == "" {
		return Date{}, errors.New("no date given: write it like 2027-06-30" + how.orHour())
	}
	var d Date
	var why string
	if day, clock, ok := splitClock(t); ok {
		d, why = readClocked(day, clock, how)
	} else {
		d, why = read(t, how)
		if strings.HasPrefix(why, "not a date") {
			why += how.orHour()
		}
	}
	if why != "" {
		return Date{}, fmt.Errorf("%s: %s", quote(t), why)
	}
	d.printed = t
	return d, nil
}

// readISO reads the forms that files have most, 2027-06-30 and 2027-03-05T08:00, the quick
// way. What it does not know is not refused but left to Read.
func readISO(s string, how How) (d Date, ok bool) {
	switch {
	case len(s) == len("2027-06-30"):
	case len(s) == len("2027-03-05T08:00") && how.Clock && s[10] == 'T' && s[13] == ':':
	default:
		return d, false
	}
	if s[4] != '-' || s[7] != '-' || !isNumber(s[:4]) || !isNumber(s[5:7]) || !isNumber(s[8:10]) {
		return d, false
	}
	y, m, n := num(s[:4]), num(s[5:7]), num(s[8:10])
	if y < minYear || y > maxYear || m < 1 || m > 12 || n < 1 || n > 28 && n > date.DaysIn(y, time.Month(m)) {
		return d, false
	}
	d = Date{first: date.New(y, time.Month(m), n), precision: Day, printed: s}
	if len(s) == len("2027-06-30") {
		return d, true
	}
	if !isNumber(s[11:13]) || !isNumber(s[14:]) || num(s[11:13]) > 23 || num(s[14:]) > 59 {
		return Date{}, false
	}
	d.precision, d.minute = Minute, int16(60*num(s[11:13])+num(s[14:]))
	return d, true
}

// orHour goes behind an example of a day where an hour is read too.
func (how How) orHour() string {
	if how.Clock {
		return "; with its hour, like 2027-03-05T08:00"
	}
	return ""
}

// splitClock parts the time of day from the day before it: the text from two digits
// and a colon on, or one digit, after a space or a T. The hour it gives has two.
func splitClock(t string) (day, clock string, ok bool) {
	i := strings.IndexByte(t, ':')
	if i < 4 || len(t) < i+3 || !isNumber(t[i+1:i+3]) {
		return "", "", false
	}
	for hour := 1; hour <= 2; hour++ {
		if at := i - hour - 1; (t[at] == 'T' || t[at] == ' ') && isNumber(t[at+1:i]) {
			return t[:at], "0"[hour-1:] + t[at+1:], true
		}
	}
	return "", "", false
}

// readClocked reads a day with a time of day. Times are those of the clock on the
// wall where the batch is, so that seconds and zones have no place in them.
func readClocked(day, clock string, how How) (Date, string) {
	d, why := read(day, how)
	switch {
	case why != "":
		return Date{}, why
	case !how.Clock:
		return Date{}, "write the day only, " + day
	case d.precision != Day:
		return Date{}, "a time of day needs a day before it: write it like 2027-03-05T08:00"
	case len(clock) != len("08:00"):
		return Date{}, "write hours and minutes only, on the clock of the place, like 2027-03-05T08:00"
	}
	h, m := num(clock[:2]), num(clock[3:])
	switch {
	case h > 23:
		return Date{}, fmt.Sprintf("no hour %d: a day runs from 00:00 to 23:59", h)
	case m > 59:
		return Date{}, fmt.Sprintf("no minute %d: an hour has minutes 00 to 59", m)
	}
	d.precision, d.minute = Minute, int16(60*h+m)
	return d, ""
}

// read takes the text apart by its shape: d for each digit, a for each letter,
// anything else as it is. It answers a date, or why there is none.
func read(t string, how How) (Date, string) {
	if len(t) > maxText {
		return Date{}, "too long for a date: write it like 2027-06-30"
	}
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
	case "ddddaddd":
		return week(t[4], num(t[:4]), num(t[5:7]), num(t[7:]))
	case "dddd-add":
		return week(t[5], num(t[:4]), num(t[6:]), wholeWeek)
	case "ddddadd":
		return week(t[4], num(t[:4]), num(t[5:]), wholeWeek)
	case "dddd-dd":
		return month(num(t[:4]), num(t[5:]))
	case "dd/dddd":
		return month(num(t[3:]), num(t[:2]))
	}
	if letters {
		return named(t, how)
	}
	return numbers(t, how)
}

// day checks the day first, because the date package takes 30 February for 2
// March.
func day(y, m, d int) (Date, string) {
	if why := badMonth(y, m); why != "" {
		return Date{}, why
	}
	if n := date.DaysIn(y, time.Month(m)); d < 1 || d > n {
		return Date{}, fmt.Sprintf("no day %d in %s %d: it has %d days", d, time.Month(m), y, n)
	}
	return Date{first: date.New(y, time.Month(m), d), precision: Day}, ""
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

func quarter(y, n int) (Date, string) {
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

// inCentury gives a two-digit year its century: the one that brings it nearest to
// today's year, 50 years ahead still counting as near (GS1 General
// Specifications, determination of century in dates).
func inCentury(yy int, today date.Date) int {
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
