package label

import (
	"fmt"
	"strings"
	"time"

	"github.com/rickb777/date"
)

// Order is the order in which the numbers of a date stand where nothing else tells
// them apart. The zero value, OrderUnknown, guesses nothing.
type Order uint8

// The orders.
const (
	OrderUnknown Order = iota
	DMY                // day, month, year: 31/12/2027, 31.12.27, 311227
	MDY                // month, day, year: 12/31/2027, 123127
	YMD                // year, month, day: 2027/12/31, 271231, 20271231
	YearDay            // year and day of the year: 27365, 7365, 2027365
)

var (
	orderNames = [...]string{"", "dmy", "mdy", "ymd", "yearday"}
	orderWords = [...]string{"", "day/month/year", "month/day/year", "year/month/day", "year and day of the year"}
)

// String is the name that ParseOrder reads; "" for OrderUnknown.
func (o Order) String() string {
	if int(o) < len(orderNames) {
		return orderNames[o]
	}
	return fmt.Sprintf("order %d", uint8(o))
}

// ParseOrder reads the name of an order: dmy, mdy, ymd or yearday, in any case. The
// empty text is OrderUnknown.
func ParseOrder(s string) (Order, error) {
	for o, name := range orderNames {
		if strings.EqualFold(strings.TrimSpace(s), name) {
			return Order(o), nil
		}
	}
	return OrderUnknown, fmt.Errorf("date order %s: write dmy, mdy, ymd or yearday", quote(s))
}

// groups are the numbers of a date of digits alone: one to three, with the same sign
// between them.
type groups struct {
	n   int
	g   [3]string
	sep byte
}

// split cuts a text of digits at its signs; ok is false if it is no such text.
func split(t string) (gs groups, ok bool) {
	from := 0
	for i := 0; i <= len(t); i++ {
		if i < len(t) && digit(t[i]) {
			continue
		}
		if i == from || gs.n == 3 {
			return gs, false
		}
		gs.g[gs.n] = t[from:i]
		gs.n, from = gs.n+1, i+1
		if i == len(t) {
			break
		}
		if strings.IndexByte("/-. ", t[i]) < 0 || gs.n > 1 && t[i] != gs.sep {
			return gs, false
		}
		gs.sep = t[i]
	}
	return gs, true
}

const notADate = "not a date: write it like 2027-06-30"

// numbers reads a date without letters that is in none of the forms of ISO 8601.
func numbers(t string, how How) (Date, string) {
	gs, ok := split(t)
	switch {
	case !ok:
		return Date{}, notADate
	case gs.n == 2:
		return twoNumbers(gs, how)
	case gs.n == 1 && len(t) < 4:
		return Date{}, notADate
	case gs.n == 1 && len(t) > 8:
		return Date{}, "too many digits for a date: write it like 2027-06-30"
	}
	if gs.n == 1 && len(t) != 6 && len(t) != 8 {
		return yearAndDay(t, how)
	}
	if how.Order == OrderUnknown {
		return Date{}, askOrder(gs, how.Today)
	}
	d, why := gs.in(how.Order, how.Today)
	if why == "" && d.IsZero() {
		why = fmt.Sprintf("not written as %s (--date-order %s): write it like 2027-06-30", orderWords[how.Order], how.Order)
	}
	return d, why
}

// twoNumbers reads month and year, which the trade writes with a slash, and, if told
// so, a year of two digits with the day of the year.
func twoNumbers(gs groups, how How) (Date, string) {
	a, b := gs.g[0], gs.g[1]
	switch {
	case len(a) <= 2 && len(b) == 4:
		return month(num(b), num(a))
	case len(a) == 4 && len(b) <= 2:
		return month(num(a), num(b))
	case len(a) == 2 && len(b) == 2 && gs.sep == '/' && how.Order == YMD:
		return Date{}, "may be month/year or, as --date-order ymd says, year/month: write it like 2027-05"
	case len(a) == 2 && len(b) == 2 && gs.sep == '/':
		d, why := month(inCentury(num(b), how.Today), num(a))
		d.guess = century | monthYear
		return d, why
	case len(a) <= 2 && len(b) <= 2:
		return Date{}, "may be month and day or month and year: write it like 2027-05 or 05/27"
	case len(a) == 2 && len(b) == 3 && how.Order == YearDay:
		d, why := yearDay(inCentury(num(a), how.Today), num(b))
		d.guess = century
		return d, why
	case len(a) == 2 && len(b) == 3:
		return Date{}, "may be year and day of the year: say --date-order yearday, or write it like 2027-181"
	}
	return Date{}, notADate
}

// yearAndDay reads YDDD, YYDDD and YYYYDDD if the order says that they are that.
func yearAndDay(t string, how How) (Date, string) {
	sheet, maybeSheet := sheetDay(t, how.Today)
	if how.Order == YearDay {
		layout := map[int]Layout{4: YDDD, 5: YYDDD, 7: YYYYDDD}[len(t)]
		d, why := layout.read(t, how.Today)
		if why == "" && layout == YYDDD {
			d.guess |= bareDays
		}
		if why == "" || !maybeSheet {
			return d, why
		}
	}
	if maybeSheet {
		return Date{}, fmt.Sprintf("may be a spreadsheet's day number, %s: format its column as a date, or write it like %s", FormatDay(sheet), iso(sheet))
	}
	switch len(t) {
	case 4:
		return Date{}, "four digits may be month and year or year and day of the year: say --date-order yearday, or write it like 2027-06 or 2027-181"
	case 5:
		return Date{}, "five digits may be year and day of the year, or something else: say --date-order yearday, or write it like 2027-181"
	}
	return Date{}, "seven digits may be year and day of the year, or something else: say --date-order yearday, or write it like 2027-181"
}

// A spreadsheet keeps a date as a number of days, and writes that where the column is
// not formatted as one. Day 1 is 1 January 1900 and there is a day 60, 29 February 1900,
// which never was: so from day 61 on the date is 30 December 1899 and so many days (from
// memory, common knowledge of spreadsheets).
const (
	sheetDigits           = 5
	sheetBack, sheetAhead = 10, 20 // years from today in which such a day is looked for; own decision
)

// sheetDay is the day of a spreadsheet's day number of five digits; ok is false for any
// other text, and for a day too far from today to be on a label.
func sheetDay(t string, today date.Date) (d date.Date, ok bool) {
	if len(t) != sheetDigits || !isNumber(t) {
		return date.Date{}, false
	}
	d = date.New(1899, time.December, 30).Add(date.PeriodOfDays(num(t)))
	y, m, day := today.Date()
	from, to := date.New(y-sheetBack, m, day), date.New(y+sheetAhead, m, day)
	return d, !d.Before(from) && !d.After(to)
}

// layouts are the layouts of six and of eight digits, by order.
var layouts = map[Order][2]Layout{DMY: {DDMMYY, DDMMYYYY}, MDY: {MMDDYY, MMDDYYYY}, YMD: {YYMMDD, YYYYMMDD}}

// in reads the numbers in an order. Where they cannot stand in it, there is neither
// a date nor a reason.
func (gs groups) in(o Order, today date.Date) (Date, string) {
	if gs.n == 1 {
		if l, ok := layouts[o]; ok {
			return l[len(gs.g[0])/8].read(gs.g[0], today)
		}
		return Date{}, ""
	}
	var y, m, d string
	switch o {
	case DMY:
		d, m, y = gs.g[0], gs.g[1], gs.g[2]
	case MDY:
		m, d, y = gs.g[0], gs.g[1], gs.g[2]
	case YMD:
		y, m, d = gs.g[0], gs.g[1], gs.g[2]
	}
	if len(y) != 2 && len(y) != 4 || len(m) > 2 || len(d) > 2 {
		return Date{}, ""
	}
	return inYear(y, today, func(year int) (Date, string) { return day(year, num(m), num(d)) })
}

// inYear reads a year of two or four digits, and marks a date whose century is not
// printed.
func inYear(y string, today date.Date, read func(year int) (Date, string)) (Date, string) {
	if len(y) == 4 {
		return read(num(y))
	}
	d, why := read(inCentury(num(y), today))
	d.guess |= century
	return d, why
}

// askOrder says which orders would make a day of the numbers, and which day. None is
// taken, not even the only one: the next label of the same maker may read in two.
func askOrder(gs groups, today date.Date) string {
	var days [3]Date
	var orders [3]Order
	n := 0
	for o := DMY; o <= YMD; o++ {
		if d, why := gs.in(o, today); why == "" && !d.IsZero() {
			days[n], orders[n] = d, o
			n++
		}
	}
	switch n {
	case 0:
		return "no order of day, month and year makes a date of it: write it like 2027-06-30"
	case 1:
		return fmt.Sprintf("is this %s? say --date-order %s or write %s", orderWords[orders[0]], orders[0], days[0].Canonical())
	}
	var says []string
	for i := range n {
		says = append(says, fmt.Sprintf("%s (%s)", orders[i], days[i]))
	}
	return "the order of day, month and year is not known: say --date-order " + strings.Join(says, " or ") +
		", or write it like " + days[0].Canonical()
}
