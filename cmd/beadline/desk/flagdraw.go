package desk

import (
	"cmp"
	"maps"
	"slices"

	"github.com/rickb777/date"

	"beadline/catalog/stock"
)

// What to draw first: of each class the good batches that end first, those already
// opened before all others; but none of which the list says that nothing is left (first
// expired, first out: NAVSUP P-485 as taught; opened first: common practice, no source).

// Draw is what to draw first of a class.
type Draw struct {
	Class string
	Good  int // rows of the class that may be used, but for those with a quantity of 0
	Rows  []Flagged
}

// drawable is a good row; of two the one with the smaller key is drawable first.
type drawable struct {
	key uint64
	at  stock.At
}

// drawKey puts opened batches first, then the dated, then the earlier.
func drawKey(opened bool, last date.Date, dated bool) uint64 {
	key := keyOf(0, last, dated) >> lineBits
	if !dated {
		key = 1 << (dayBits + 1)
	}
	if !opened {
		key |= 1 << (dayBits + 2)
	}
	return key
}

// DrawKey puts what is drawn first in order: opened first, then the dated by their last
// day, then those without a day.
func DrawKey(opened bool, last date.Date, dated bool) uint64 { return drawKey(opened, last, dated) }

func (d drawable) compare(o drawable) int {
	return cmp.Or(cmp.Compare(d.key, o.key), cmp.Compare(d.at.Line, o.at.Line))
}

// top is the rows of a class to be drawable first, in order.
type top struct {
	good int
	rows []drawable
}

// add counts a row and keeps it if it is among the first n.
func (t *top) add(d drawable, n int) {
	t.good++
	t.keep(d, n)
}

func (t *top) keep(d drawable, n int) {
	if len(t.rows) == n {
		if d.compare(t.rows[n-1]) >= 0 {
			return
		}
		t.rows = t.rows[:n-1]
	}
	i, _ := slices.BinarySearchFunc(t.rows, d, drawable.compare)
	t.rows = slices.Insert(t.rows, i, d)
}

// merge adds the rows of a stretch that has so many lines before it.
func (t *top) merge(o *top, before, n int) {
	t.good += o.good
	for _, d := range o.rows {
		d.at.Line += before
		t.keep(d, n)
	}
}

func (f *Flags) top(class string) *top {
	t := f.tops[class]
	if t == nil {
		t = &top{}
		f.tops[class] = t
	}
	return t
}

// Draw is what to draw first of each class that has good batches, by class; as many
// of each as were asked for. Errors: the list cannot be read again, or was changed.
func (f *Flags) Draw() ([]Draw, error) {
	var all []Draw
	r := f.reader()
	picker := f.file.Picker()
	var raw []byte
	for _, class := range slices.Sorted(maps.Keys(f.tops)) {
		t := f.tops[class]
		d := Draw{Class: class, Good: t.good}
		for _, row := range t.rows {
			var err error
			if raw, err = picker.Append(raw[:0], row.at.Offset); err != nil {
				return nil, f.lost(err)
			}
			var fl Flagged
			if err := r.good(&fl, raw, row); err != nil {
				return nil, err
			}
			fl.Also = f.also[hashOf(fl.Item.Batch)]
			d.Rows = append(d.Rows, fl)
		}
		all = append(all, d)
	}
	return all, f.list.same()
}
