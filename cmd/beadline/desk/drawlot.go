package desk

import (
	"fmt"
	"math"

	"beadline/catalog/stock"
)

// lot is one row of the list, with what is left of it to promise.
type lot struct {
	row   stock.Row
	by    stock.Measure
	whole float64 // what there is of it, in packs, ml or g
	left  float64 // of that, what is not promised yet
	doubt string  // why nothing is drawn of it, whatever its dates; "": nothing is against it
	note  string  // what is taken for granted where it is drawn
}

// newLot says what there is of a row.
func newLot(r stock.Row, list string) *lot {
	l := &lot{row: r}
	by, in, _ := stock.ReadUnit(r.Unit)
	measured := by == stock.ByML || by == stock.ByGram
	at := fmt.Sprintf("%s:%d: %s", list, r.Line, r.Item.Batch)
	switch {
	case measured && !r.Counted:
		l.doubt = "how much of it there is is not on the list"
	case measured:
		l.by, l.left = by, r.Quantity*float64(in)
	case by == stock.ByNothing:
		l.doubt = fmt.Sprintf("what %q of it is cannot be told: count kits, cartridges, cans, tins, tubes or pieces, or measure in ml, l, g or kg", r.Unit)
	case !r.Counted:
		l.by, l.left = stock.ByPack, 1
		l.note = at + ": no quantity is on the list; it is taken as one."
	default:
		l.by, l.left = stock.ByPack, math.Floor(r.Quantity)
		if l.left != r.Quantity {
			l.note = fmt.Sprintf("%s: of %g the %g whole ones count.", at, r.Quantity, l.left)
		}
	}
	l.whole = l.left
	return l
}

// repeated puts in doubt the rows of one batch that cannot be told apart: one of them may
// be wrong, or be the other. With a container number each row stands for itself.
func (d *drawer) repeated() {
	type name struct{ batch, container string }
	lines := map[name][]int{}
	bare := map[string]bool{} // batches with a row that has no container
	for _, l := range d.lots {
		it := l.row.Item
		lines[name{it.Batch, it.Container}] = append(lines[name{it.Batch, it.Container}], l.row.Line)
		bare[it.Batch] = bare[it.Batch] || it.Container == ""
	}
	rows := map[string]int{}
	for n, at := range lines {
		rows[n.batch] += len(at)
	}
	for _, b := range d.bad {
		if b.Batch != "" {
			n := name{b.Batch, b.Row.Item.Container}
			lines[n] = append(lines[n], b.Line)
			rows[b.Batch]++
			bare[b.Batch] = bare[b.Batch] || n.container == ""
		}
	}
	for _, l := range d.lots {
		it := l.row.Item
		if rows[it.Batch] > 1 && (bare[it.Batch] || len(lines[name{it.Batch, it.Container}]) > 1) {
			l.doubt = fmt.Sprintf("%s lists it on %d rows: give each container its number in the column container", d.out.List, rows[it.Batch])
		}
	}
}

// ofClass are the rows of a class.
func (d *drawer) ofClass(class string) []*lot {
	var out []*lot
	for _, l := range d.lots {
		if l.row.Item.Class == class {
			out = append(out, l)
		}
	}
	return out
}

// ofBatch are the rows of a batch.
func (d *drawer) ofBatch(batch string) []*lot {
	var out []*lot
	for _, l := range d.lots {
		if l.row.Item.Batch == batch {
			out = append(out, l)
		}
	}
	return out
}
