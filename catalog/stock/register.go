package stock

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
)

// RegisterHeader is the header of the lists that AppendRow writes rows for; a line feed
// goes behind it. They are read with the zero Options, but for Today.
const RegisterHeader = "batch,class,dom,expiry,inspect,opened,received,location,quantity,unit,container,limit-inputs,maker"

// AppendRow appends a row as a record of CSV (RFC 4180) that ends in a line feed, under
// RegisterHeader. Read again it gives the same item, location, quantity and unit, but
// for the text that dates were printed in and spaces around location and unit.
//
// Class, date of manufacture, expiry, inspect date, when it was opened and came in, and
// container stand in their columns where the item is nothing else: without a container and
// an hour of opening such a row is a plain one, which is read the quick way. Any other
// item stands in limit-inputs.
//
// The maker of the batch is the one column of another name that a row may have in Extra,
// see Row.Maker; it stands last.
//
// What could not be read back is an error that names the column, and dst is as it was:
// no batch or class, text with control characters or line breaks in it, that is no UTF-8
// or longer than 4096 bytes, a quantity that is none, inputs longer than 64 KB. So is a
// GTIN or a column of another name, which have no place here.
func AppendRow(dst []byte, r *Row) ([]byte, error) {
	it := &r.Item
	if err := r.fitRegister(); err != nil {
		return dst, err
	}
	to := appendCell(dst, it.Batch)
	to = appendCell(append(to, ','), it.Class)
	columns := inColumns(it)
	for _, d := range []*label.Date{&it.DOM, &it.Expiry, &it.Inspect, &it.Opened, &it.Received.On} {
		if to = append(to, ','); columns {
			to = append(to, d.Canonical()...)
		}
	}
	to = appendCell(append(to, ','), strings.TrimSpace(r.Location))
	if to = append(to, ','); r.Counted {
		to = strconv.AppendFloat(to, math.Abs(r.Quantity), 'f', -1, 64)
	}
	to = appendCell(append(to, ','), strings.TrimSpace(r.Unit))
	to = appendCell(append(to, ','), it.Container)
	if to = append(to, ','); !columns {
		start := len(to)
		var err error
		if to, err = inputs.Append(to, it); err != nil {
			return dst, fmt.Errorf("limit-inputs cannot be written: %w", err)
		}
		if len(to)-start > maxInputs {
			return dst, fmt.Errorf("limit-inputs longer than %d bytes: the record of this batch is too long for a list", maxInputs)
		}
		to = quoteFrom(to, start)
	}
	to = appendCell(append(to, ','), r.Maker())
	return append(to, '\n'), nil
}

// makerColumn is the column of RegisterHeader that has no meaning for a limit.
const makerColumn = "maker"

// Maker is who made the batch, as a list with a column maker says it; "" where none does.
// Two makers may use one number.
func (r *Row) Maker() string {
	for _, f := range r.Extra {
		if strings.EqualFold(f.Column, makerColumn) {
			return strings.TrimSpace(f.Value)
		}
	}
	return ""
}

// ByMaker is the maker of a batch as a row has it.
func ByMaker(maker string) []Field {
	if maker == "" {
		return nil
	}
	return []Field{{makerColumn, maker}}
}

// fitRegister finds what could not be read back.
func (r *Row) fitRegister() error {
	for _, f := range [...]struct {
		column fmt.Stringer
		text   string
		loose  bool // spaces around it mean nothing
	}{{batch, r.Item.Batch, false}, {class, r.Item.Class, false}, {container, r.Item.Container, false}, {location, r.Location, true}, {unit, r.Unit, true}, {named(makerColumn), r.Maker(), false}} {
		switch s := f.text; {
		case s == "" && (f.column == batch || f.column == class):
			return fmt.Errorf("no %s: it is needed", f.column)
		case len(s) > maxField:
			return fmt.Errorf("%s is longer than %d bytes", f.column, maxField)
		case !utf8.ValidString(s):
			return fmt.Errorf("%s %s is not UTF-8 text", f.column, quote(s))
		case strings.ContainsFunc(s, unicode.IsControl):
			return fmt.Errorf("%s %s has a control character in it: take it out", f.column, quote(s))
		case !f.loose && strings.TrimSpace(s) != s:
			return fmt.Errorf("%s %s has a space around it: take it out", f.column, quote(s))
		}
	}
	switch {
	case r.Counted && !(r.Quantity >= 0 && r.Quantity <= maxQuantity):
		return fmt.Errorf("quantity %g: write 0 to %g", r.Quantity, float64(maxQuantity))
	case r.GTIN != "" || len(r.Extra) > 1 || len(r.Extra) == 1 && r.Extra[0].Column != makerColumn:
		return errors.New("a GTIN or a column of another name has no place in this list")
	}
	return nil
}

// named is a column that is not one of ours.
type named string

func (n named) String() string { return string(n) }

// inColumns reports whether an item is nothing but what has a column of its own in
// RegisterHeader, in a form that is read there.
func inColumns(it *shelf.Item) bool {
	for _, d := range []*label.Date{&it.DOM, &it.Expiry, &it.Inspect, &it.Opened, &it.Received.On} {
		if d.Precision() == label.Minute && d != &it.Opened && d != &it.Received.On || d.YearDigits() == 1 || !readable(*d) {
			return false
		}
	}
	if minute, timed := it.Received.On.Clock(); timed && minute == 0 {
		return false // which a list has for the day
	}
	return it.Code == "" && it.Standard == "" && it.Polymer == "" && it.BestBefore.IsZero() && len(it.Parts) == 0 && !it.Received.NoPapers &&
		it.Installed.IsZero() && len(it.Thawed) == 0 && len(it.Refrozen) == 0 && it.ThawCount == 0 && it.OutUsed == 0 && it.OutAsOf.IsZero() &&
		len(it.Tests) == 0 && len(it.Storage) == 0 && it.Condition == 0 && it.ConditionOn.IsZero() && it.Held == "" && it.HeldOn.IsZero() &&
		len(it.Freed) == 0 && it.Scrapped == ""
}

// readable reports whether a date lies in years that are read. On the safe side: a week
// may lie in the year before or after.
func readable(d label.Date) bool {
	y := d.First().Year()
	return d.IsZero() || y > 1900 && y < 2199
}

// appendCell appends a field, in quotes where it needs them.
func appendCell(to []byte, s string) []byte {
	start := len(to)
	if to = append(to, s...); !strings.ContainsAny(s, `",`) {
		return to
	}
	return quoteFrom(to, start)
}

// quoteFrom puts quotes around what stands from start on, and writes each in it twice.
func quoteFrom(b []byte, start int) []byte {
	n := 2
	for _, c := range b[start:] {
		if c == '"' {
			n++
		}
	}
	from := len(b) - 1
	b = append(b, make([]byte, n)...)
	at := len(b) - 1
	put := func(c byte) { b[at] = c; at-- }
	for put('"'); from >= start; from-- {
		if put(b[from]); b[from] == '"' {
			put('"')
		}
	}
	b[start] = '"'
	return b
}
