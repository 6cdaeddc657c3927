package stock

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cure/nearest"
	"beadline/cure/quantity"
)

// What single fields mean. Each reader notes what is wrong and goes on, so that one
// look at a row says everything that is to be corrected.

// dateReader reads dates as the options say: days, and moments known to the minute.
type dateReader struct{ day, moment label.How }

func newDateReader(o Options) dateReader {
	return dateReader{
		day:    label.How{Today: o.Today, Order: o.Order},
		moment: label.How{Today: o.Today, Order: o.Order, Clock: true},
	}
}

// read reads a date; one that leaves its decade or century open is refused, since what
// rests on it would.
//
// A spreadsheet may write a day with the hour 00:00:00 behind it: that is the day. Any
// other hour is one, and so is 00:00 where hours are read.
func (d dateReader) read(s string, how label.How) (label.Date, error) {
	for _, midnight := range midnights {
		if strings.IndexByte(s, ':') < 0 {
			break // each has one
		}
		if day, ok := strings.CutSuffix(s, midnight); ok && (!how.Clock || strings.Count(midnight, ":") > 1) {
			s = day
			break
		}
	}
	read, err := label.Read(s, how)
	if err != nil {
		return read, err
	}
	if why := read.Unsure(how.Today); why != "" {
		return read, errors.New(why)
	}
	return read, nil
}

// midnights are the ways in which lists write a day's hour that is none (common
// practice, no source).
var midnights = []string{" 00:00:00", "T00:00:00", " 0:00:00", " 12:00:00 AM", " 00:00:00.000", "T00:00:00.000", " 00:00", "T00:00", " 0:00"}

// saysNone reports whether a cell says that there is nothing to say.
func saysNone(s string) bool {
	switch len(s) {
	case 1:
		return s == "-"
	case 3:
		return strings.EqualFold(s, "n/a")
	case 4:
		return strings.EqualFold(s, "none")
	}
	return false
}

// dated is the field of a column of dates; one that says that there is no date is noted
// and is empty.
func (r *reading) dated(c column) string {
	s := r.field(c)
	if saysNone(s) {
		r.none |= 1 << c
		return ""
	}
	return s
}

func (r *reading) day(c column) label.Date    { return r.date(c, r.h.dates.day) }
func (r *reading) moment(c column) label.Date { return r.date(c, r.h.dates.moment) }

// arrival reads the day that a batch came in, or the moment, as a register has it.
func (r *reading) arrival() label.Date {
	s := r.dated(received)
	if s == "" {
		return label.Date{}
	}
	d, err := r.h.dates.arrival(s)
	if err != nil {
		r.fault(received, err, true)
	}
	return d
}

func (d dateReader) arrival(s string) (label.Date, error) {
	day, err := d.read(s, d.day)
	if err != nil && strings.Contains(s, ":") {
		if moment, err := d.read(s, d.moment); err == nil {
			return moment, nil
		}
	}
	return day, err
}

func (r *reading) date(c column, how label.How) label.Date {
	s := r.dated(c)
	if s == "" {
		return label.Date{}
	}
	d, err := r.h.dates.read(s, how)
	if err != nil {
		r.fault(c, err, true)
	}
	return d
}

// moments reads the dates of a field, in the order they happened.
func (r *reading) moments(c column) []label.Date {
	s := r.dated(c)
	if s == "" {
		return nil
	}
	// One date may itself hold a space, as in "3 Mar 2027".
	if d, err := r.h.dates.read(s, r.h.dates.moment); err == nil {
		return []label.Date{d}
	}
	var dates []label.Date
	for _, one := range parts(s) {
		d, err := r.h.dates.read(one, r.h.dates.moment)
		if err != nil {
			r.fault(c, fmt.Errorf("%w; several dates stand with a space or | between them", err), true)
			return nil
		}
		if dates = append(dates, d); len(dates) > maxThaws {
			r.fault(c, fmt.Errorf("more than %d times: is this one batch?", maxThaws), true)
			return nil
		}
	}
	if dates == nil {
		r.fault(c, fmt.Errorf("%s: no date in it: write it like 2027-03-08", quote(s)), true)
	}
	slices.SortStableFunc(dates, earlier)
	return dates
}

// parts cuts a field of several words at | or, without any, at spaces. An hour stays
// with the day before it.
func parts(s string) []string {
	if strings.Contains(s, "|") {
		return strings.FieldsFunc(s, func(r rune) bool { return r == '|' })
	}
	var all []string
	for _, f := range strings.Fields(s) {
		if at := strings.IndexByte(f, ':'); at >= 0 && at <= 2 && len(all) > 0 && !strings.Contains(all[len(all)-1], ":") {
			n := len(all)
			all[n-1] += " " + f
			continue
		}
		all = append(all, f)
	}
	return all
}

// earlier orders dates by their first moment.
func earlier(a, b label.Date) int {
	if d := int(a.First().Sub(b.First())); d != 0 {
		return d
	}
	am, _ := a.Clock()
	bm, _ := b.Clock()
	return am - bm
}

// amount reads the quantity: a plain decimal number of zero or more. A comma is
// refused, as 1,500 is a thousand to one person and one and a half to another.
func (r *reading) amount() (v float64, given bool) {
	s := r.field(quantityColumn)
	if s == "" {
		return 0, false
	}
	v, err := readAmount(s)
	if err != nil {
		r.fault(quantityColumn, err, false)
	}
	return v, err == nil
}

func readAmount(s string) (float64, error) {
	for i := range len(s) {
		c := s[i]
		if c >= '0' && c <= '9' || c == '.' || i == 0 && (c == '-' || c == '+') {
			continue
		}
		if c == ',' {
			return 0, fmt.Errorf("%s: is the comma a decimal point? write it like 2.5", quote(s))
		}
		return 0, fmt.Errorf("%s: not a number: write it like 2.5, and its unit in the column unit", quote(s))
	}
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err != nil && !math.IsInf(v, 0):
		return 0, fmt.Errorf("%s: not a number: write it like 2.5", quote(s))
	case v < 0:
		return 0, fmt.Errorf("%s: it cannot be negative", quote(s))
	case v > maxQuantity:
		return 0, fmt.Errorf("%s: more than any store holds", quote(s))
	}
	return math.Abs(v), nil // no -0
}

// heldFor is why a batch was set aside, or "". A bare yes gives no reason, and the
// batch is held all the same.
func heldFor(s string) string {
	switch strings.ToLower(s) {
	case "", "no", "n", "false", "0", "-":
		return ""
	case "yes", "y", "true", "1", "x":
		return "no reason is recorded"
	}
	return strings.Join(strings.Fields(s), " ")
}

// gtin reads a trade item number, 8 to 14 digits with a check digit, and writes it
// with 14: what spreadsheets take off in front are zeros, which the check digit does
// not see. Source: GS1 General Specifications, check digit of weights 3 and 1.
func (r *reading) gtin() string {
	s := r.field(gtin)
	if s == "" {
		return ""
	}
	sum := 0
	for i := range len(s) {
		c := s[len(s)-1-i]
		if c < '0' || c > '9' {
			r.fault(gtin, fmt.Errorf("%s: write its digits alone, 8 to 14 of them", quote(s)), false)
			return ""
		}
		sum += int(c-'0') * (1 + 2*(i%2))
	}
	switch {
	case len(s) < 8 || len(s) > 14:
		r.fault(gtin, fmt.Errorf("%s: it has %d digits, and a trade item number 8 to 14", quote(s), len(s)), false)
		return ""
	case sum%10 != 0:
		r.fault(gtin, fmt.Errorf("%s: the check digit is wrong: copy it from the label again", quote(s)), false)
		return ""
	}
	return strings.Repeat("0", 14-len(s)) + s
}

// rest reads the columns that few rows fill.
func (r *reading) rest(row *Row) {
	it := &row.Item
	row.GTIN, row.authority, row.reference = r.gtin(), r.field(authority), r.field(reference)
	it.Container, it.Held = r.field(container), heldFor(r.field(held))
	it.Thawed, it.Refrozen = r.moments(thawed), r.moments(refrozen)
	if s := r.field(code); s != "" {
		c, err := label.ReadCode(s)
		if err != nil {
			r.wrong, r.lost = append(r.wrong, err.Error()), true
		}
		it.Code = c.String()
	}
	it.Standard, it.Polymer = r.standard(), r.field(polymer)
	it.BestBefore = r.day(bestBefore)
	if s := r.field(outUsed); s != "" {
		d, err := quantity.Span(s)
		if err != nil {
			r.fault(outUsed, err, true)
		}
		it.OutUsed = d
	}
	if d := r.moment(hot); !d.IsZero() {
		it.Storage = []shelf.Storage{{HotFrom: d}}
	}
	it.Condition = r.condition()
	r.test(it)
}

var standards = map[string]shelf.Standard{
	"iso2230": shelf.StandardISO2230, "saearp5316": shelf.StandardSAE5316, "arp5316": shelf.StandardSAE5316,
	"saeas5316": shelf.StandardSAE5316, "as5316": shelf.StandardSAE5316, "sae5316": shelf.StandardSAE5316,
}

// standard reads the standard of a seal's storage life, however its parts are parted.
func (r *reading) standard() shelf.Standard {
	s := r.field(standard)
	if s == "" {
		return ""
	}
	name := strings.ToLower(strings.NewReplacer(" ", "", "-", "", "/", "", "_", "").Replace(s))
	known, ok := standards[name]
	if !ok {
		r.fault(standard, fmt.Errorf("%s: not a standard for the storage of seals: write %s or %s", quote(s), shelf.StandardISO2230, shelf.StandardSAE5316), true)
	}
	return known
}

var conditions = []struct {
	word string
	is   shelf.Condition
}{
	{"damaged", shelf.Damaged}, {"cloudy", shelf.Cloudy}, {"skinned", shelf.Skinned}, {"separated", shelf.Separated}, {"label-gone", shelf.LabelGone},
}

// condition reads what a person saw wrong with a pack; nothing, ok, good and none
// say that nothing is.
func (r *reading) condition() shelf.Condition {
	var all shelf.Condition
	cut := func(c rune) bool { return c == ' ' || c == '|' || c == ',' || c == ';' }
	for _, w := range strings.FieldsFunc(r.field(condition), cut) {
		found := false
		for _, c := range conditions {
			if strings.EqualFold(w, c.word) {
				all, found = all|c.is, true
			}
		}
		if !found && !slices.Contains([]string{"ok", "good", "none", "-"}, strings.ToLower(w)) {
			r.fault(condition, unknownCondition(w), false)
		}
	}
	return all
}

func unknownCondition(w string) error {
	var words []string
	for _, c := range conditions {
		words = append(words, c.word)
	}
	if near := nearest.Names(w, words, 1); near != nil {
		return fmt.Errorf("%s: not known: is it %s?", quote(w), near[0])
	}
	return fmt.Errorf("%s: not known: write %s, or put it in a note", quote(w), strings.Join(words, ", "))
}

// test reads the last test of a batch: a date and a result, and what an extension
// needs beside.
func (r *reading) test(it *shelf.Item) {
	t := shelf.Test{On: r.day(tested), By: r.field(testedBy), Authority: r.field(authority),
		Reference: r.field(reference), Results: r.field(results), To: r.day(extendedTo)}
	said := r.field(result)
	if s := r.field(tested); s == "" || saysNone(s) {
		for _, c := range []column{result, testedBy, results, extendedTo} {
			if s := r.field(c); s != "" && !saysNone(s) {
				r.fault(tested, fmt.Errorf("has no date, but %s is %s: write the day of the test", c, quote(r.field(c))), true)
				return
			}
		}
		return // an authority or a reference may be of anything
	}
	switch strings.ToLower(said) {
	case "pass", "passed":
		t.Passed = true
	case "fail", "failed":
	case "":
		r.fault(result, fmt.Errorf("is missing for the test of %s: write pass or fail", quote(r.field(tested))), true)
	default:
		r.fault(result, fmt.Errorf("%s: write pass or fail", quote(said)), true)
	}
	it.Tests = []shelf.Test{t}
}

// quote shows what the file has: shortened, control characters made visible.
func quote(s string) string {
	const most = 40
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "…"
	}
	return strconv.Quote(s)
}
