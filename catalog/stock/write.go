package stock

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
)

// Cell is what the row has in a column of ours, in the one form for files: dates as
// label.Date.Canonical writes them. Read again it says the same. Of a column that is
// not ours, and where the row has nothing, it is "".
func (r *Row) Cell(name string) string {
	c, ok := columnNamed(name)
	if !ok {
		return ""
	}
	it := &r.Item
	switch c {
	case batch:
		return it.Batch
	case class:
		return it.Class
	case dom:
		return it.DOM.Canonical()
	case expiry:
		return it.Expiry.Canonical()
	case inspect:
		return it.Inspect.Canonical()
	case opened:
		return it.Opened.Canonical()
	case thawed:
		return momentsCell(it.Thawed)
	case location:
		return r.Location
	case quantityColumn:
		if r.Counted {
			return strconv.FormatFloat(r.Quantity, 'f', -1, 64)
		}
		return ""
	case unit:
		return r.Unit
	case held:
		return it.Held
	}
	return r.rareCell(c)
}

// rareCell is Cell for the columns that few lists have.
func (r *Row) rareCell(c column) string {
	it := &r.Item
	var t shelf.Test
	if n := len(it.Tests); n > 0 {
		t = it.Tests[n-1]
	}
	switch c {
	case code:
		return it.Code
	case standard:
		return string(it.Standard)
	case polymer:
		return it.Polymer
	case bestBefore:
		return it.BestBefore.Canonical()
	case received:
		return it.Received.On.Canonical()
	case refrozen:
		return momentsCell(it.Refrozen)
	case outUsed:
		return spanCell(it.OutUsed)
	case hot:
		return hotCell(it.Storage)
	case condition:
		return conditionCell(it.Condition)
	case tested:
		return t.On.Canonical()
	case result:
		return resultCell(t)
	case testedBy:
		return t.By
	case authority:
		return r.authority
	case reference:
		return r.reference
	case results:
		return t.Results
	case extendedTo:
		return t.To.Canonical()
	case gtin:
		return r.GTIN
	case container:
		return it.Container
	case limitInputs:
		return r.wholeCell()
	}
	return ""
}

// wholeCell is limit-inputs, where the row has it.
func (r *Row) wholeCell() string {
	if r.whole == "" {
		return ""
	}
	text, err := inputs.Encode(r.Item)
	if err != nil {
		return r.whole // the item was changed since, to what cannot be written
	}
	return string(text)
}

// hotCell is the first moment that was too warm of all spells.
func hotCell(all []shelf.Storage) string {
	var first label.Date
	for i := range all {
		if d := all[i].HotFrom; !d.IsZero() && (first.IsZero() || earlier(d, first) < 0) {
			first = d
		}
	}
	return first.Canonical()
}

// momentsCell writes several dates in the order they happened; none of their forms has a
// space in it. More than a column can hold are left to limit-inputs.
func momentsCell(all []label.Date) string {
	if len(all) > maxThaws {
		return ""
	}
	var said []string
	for _, d := range slices.SortedStableFunc(slices.Values(all), earlier) {
		said = append(said, d.Canonical())
	}
	return strings.Join(said, " ")
}

// spanCell writes a span in whole seconds, minutes or hours, or in decimals of a
// second.
func spanCell(d time.Duration) string {
	switch {
	case d == 0:
		return ""
	case d%time.Hour == 0:
		return strconv.FormatInt(int64(d/time.Hour), 10) + "h"
	case d%time.Minute == 0:
		return strconv.FormatInt(int64(d/time.Minute), 10) + "min"
	}
	return strconv.FormatFloat(d.Seconds(), 'f', -1, 64) + "s"
}

func conditionCell(is shelf.Condition) string {
	var said []string
	for _, c := range conditions {
		if is&c.is != 0 {
			said = append(said, c.word)
		}
	}
	return strings.Join(said, " ")
}

func resultCell(t shelf.Test) string {
	switch {
	case t.On.IsZero():
		return ""
	case t.Passed:
		return "pass"
	}
	return "fail"
}
