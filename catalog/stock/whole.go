package stock

import (
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/shelf/inputs"
)

// Rows whose column limit-inputs gives the whole item. What stands in the other columns
// beside it must be empty or say the same, in whatever form: two records of one batch
// that differ are for a person to settle, and neither speaks for it.

// whole reads a row by its limit-inputs.
func (r *reading) whole(text string) Row {
	it, err := inputs.Decode(text)
	if err != nil {
		row := r.columns()
		r.fault(limitInputs, fmt.Errorf("cannot be read: %w", err), true)
		return row
	}
	full := Row{Item: it, whole: text}
	if n := len(it.Tests); n > 0 {
		full.authority, full.reference = it.Tests[n-1].Authority, it.Tests[n-1].Reference
	}
	given := r.fields
	r.fields = r.unlike(&full)
	row := r.columns()
	if r.wrong == nil {
		r.contradictions(&row, &full)
	}
	r.fields = given
	if r.wrong != nil {
		return row
	}
	row.Item, row.whole = it, text
	if len(it.Tests) > 0 {
		row.authority, row.reference = full.authority, full.reference
	}
	return row
}

// testColumns are of one test, and are read together.
var testColumns = []column{tested, result, testedBy, results, extendedTo}

// unlike is the fields without those that are written as we would write them, which need
// no reading: not all that an item may say can be read from its columns alone.
func (r *reading) unlike(full *Row) []string {
	fields := slices.Clone(r.fields)
	same := func(c column) bool { return r.field(c) == strings.TrimSpace(full.Cell(c.String())) }
	empty := func(c column) {
		if i := r.h.at[c]; i >= 0 {
			fields[i] = ""
		}
	}
	for c := range numColumns {
		switch {
		case r.field(c) == "" || c == batch || c == class || ofRow(c) || slices.Contains(testColumns, c):
		case same(c):
			empty(c)
		}
	}
	if !slices.ContainsFunc(testColumns, func(c column) bool { return r.field(c) != "" && !same(c) }) {
		for _, c := range testColumns {
			empty(c)
		}
	}
	return fields
}

// ofRow reports whether a column says nothing of the item.
func ofRow(c column) bool {
	switch c {
	case location, quantityColumn, unit, gtin, limitInputs:
		return true
	}
	return false
}

// contradictions notes each column that says something else than the item.
func (r *reading) contradictions(row, full *Row) {
	for c := range numColumns {
		if ofRow(c) || r.field(c) == "" || (c == authority || c == reference) && len(full.Item.Tests) == 0 {
			continue // an authority or a reference may be of anything
		}
		says, should := row.Cell(c.String()), full.Cell(c.String())
		if says == should {
			continue
		}
		other := "has none"
		if should != "" {
			other = "says " + quote(should)
		}
		r.fault(c, fmt.Errorf("says %s, but limit-inputs %s: correct the one that is wrong", quote(r.field(c)), other), true)
	}
}
