package label

import (
	"fmt"
	"strings"
	"time"
)

// words are the runs of digits and of letters in a text, with spaces, dashes,
// slashes, points, commas or nothing between them.
type words struct {
	n int
	w [4]string
}

// cut parts a text into words; ok is false if there are more than four, or other
// signs.
func cut(t string) (ws words, ok bool) {
	for i := 0; i < len(t); {
		from, same := i, digit
		switch {
		case letter(t[i]):
			same = letter
		case !digit(t[i]):
			if strings.IndexByte(" -/.,", t[i]) < 0 {
				return ws, false
			}
			i++
			continue
		}
		for i < len(t) && same(t[i]) {
			i++
		}
		if ws.n == len(ws.w) {
			return ws, false
		}
		ws.w[ws.n] = t[from:i]
		ws.n++
	}
	return ws, true
}

const (
	likeNamed   = "write it like 30 Jun 2027, Jun 2027 or 2027-06-30"
	notAQuarter = "not a date: write it like 2027-06-30, or a quarter like 2Q26"
)

// named reads a date with letters in it: the month as a word, or a quarter.
func named(t string, how How) (Date, string) {
	ws, ok := cut(t)
	if !ok || ws.n < 2 || ws.n > 3 {
		return Date{}, "not a date: " + likeNamed
	}
	for i := range ws.n {
		if strings.EqualFold(ws.w[i], "Q") || strings.EqualFold(ws.w[i], "QTR") {
			return quarterAt(ws, i, how)
		}
	}
	at, month := -1, 0
	for i := range ws.n {
		if m, ok := monthNamed(ws.w[i]); ok && at < 0 {
			at, month = i, m
		}
	}
	for i := range ws.n {
		w := ws.w[i]
		switch {
		case i == at || digit(w[0]):
		case at >= 0:
			return Date{}, fmt.Sprintf("%s is not a day: %s", quote(w), likeNamed)
		case ws.n == 3 && len(w) == 1:
			return Date{}, notAQuarter
		case ws.n == 3 || len(w) > 1:
			return Date{}, fmt.Sprintf("not a date: %s is not a month: %s", quote(w), likeNamed)
		default:
			return Date{}, "not a date: " + likeNamed
		}
	}
	return namedMonth(ws, at, month, how)
}

// namedMonth reads the numbers around the name of a month. The name says which
// number is not the month; four digits say which is the year. What is left open is
// taken from the order, but for 30-JUN-27, which is read so everywhere unless the
// order has the year first.
func namedMonth(ws words, at, m int, how How) (Date, string) {
	if ws.n == 2 {
		return namedPair(ws.w[1-at], at == 1, m, how)
	}
	var d, y string
	switch {
	case at == 1 && (len(ws.w[0]) == 4 || how.Order == YMD && len(ws.w[2]) <= 2):
		y, d = ws.w[0], ws.w[2]
	case at == 1:
		d, y = ws.w[0], ws.w[2]
	case at == 0 && len(ws.w[2]) == 2 && len(ws.w[1]) <= 2 && how.Order != MDY:
		return Date{}, "may be month, day and year, or not: say --date-order mdy if it is, or write it like 2027-06-30"
	case at == 0:
		d, y = ws.w[1], ws.w[2]
	default:
		return Date{}, "not a date: " + likeNamed
	}
	switch {
	case len(y) != 4 && len(y) != 2:
		return Date{}, fmt.Sprintf("%s is not a year: %s", quote(y), likeNamed)
	case len(d) > 2:
		return Date{}, fmt.Sprintf("%s is not a day: %s", quote(d), likeNamed)
	}
	return inYear(y, how.Today, func(year int) (Date, string) { return day(year, m, num(d)) })
}

// namedPair reads the name of a month and one number, which stands first or not.
func namedPair(n string, first bool, m int, how How) (Date, string) {
	switch {
	case len(n) == 4,
		len(n) == 2 && first && how.Order == YMD,
		len(n) == 2 && !first && how.Order == DMY:
		return inYear(n, how.Today, func(year int) (Date, string) { return month(year, m) })
	case first:
		return Date{}, "the year is missing: " + likeNamed
	case len(n) == 2:
		return Date{}, n + " may be a day or a year: write the year with four digits, like Jun 2027, or say --date-order dmy if it is the year"
	}
	return Date{}, fmt.Sprintf("%s is not a year: %s", quote(n), likeNamed)
}

// monthNamed is the number of the month that a word names.
func monthNamed(s string) (int, bool) {
	for m := time.January; m <= time.December; m++ {
		if name := m.String(); strings.EqualFold(s, name) || strings.EqualFold(s, name[:3]) {
			return int(m), true
		}
	}
	return 9, strings.EqualFold(s, "Sept")
}

// quarterAt reads a quarter, of which word at is the Q: 2Q26, Q2 2026, 2026-Q2. The
// number of the quarter has one digit, the year two or four.
func quarterAt(ws words, at int, how How) (Date, string) {
	a, b := ws.w[0], ws.w[2]
	switch {
	case ws.n != 3:
		a, b = "", ""
	case at == 0:
		a = ws.w[1]
	case at == 2:
		a, b = "", ""
	case len(a) != 1:
		a, b = b, a
	}
	if len(a) != 1 || len(b) != 2 && len(b) != 4 || !isNumber(a) || !isNumber(b) {
		return Date{}, notAQuarter
	}
	return inYear(b, how.Today, func(year int) (Date, string) { return quarter(year, num(a)) })
}
