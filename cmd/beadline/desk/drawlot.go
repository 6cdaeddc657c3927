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
	kept  string  // what of it is reserved for other jobs, and so not there; "": nothing
}

// batch names the batch of a lot: two makers may use one number.
func (l *lot) batch() batchOf { return batchOf{l.row.Item.Batch, l.row.Maker()} }

type batchOf struct{ number, maker string }

// newLot says what there is of a row of a list, without what is reserved for others.
func newLot(r stock.Row, list *List) *lot {
	l := &lot{row: r}
	by, in, _ := stock.ReadUnit(r.Unit)
	measured := by == stock.ByML || by == stock.ByGram
	at, where := fmt.Sprintf("%s:%d: %s", list.Name, r.Line, r.Item.Batch), "on the list"
	have := r.Quantity
	if list.Register {
		at, where = r.Item.Batch+" in the register "+list.Name, "recorded"
		if k, some := list.Kept[partOf(&r)]; some {
			have = max(0, have-k.Amount)
			l.kept = fmt.Sprintf("%s of it reserved for job %s", stock.Amount(k.Amount, r.Unit), listed(k.Jobs))
		}
	}
	switch {
	case measured && !r.Counted:
		l.doubt = "how much of it there is is not " + where
	case measured:
		l.by, l.left = by, have*float64(in)
	case by == stock.ByNothing:
		l.doubt = fmt.Sprintf("what %q of it is cannot be told: count kits, cartridges, cans, tins, tubes or pieces, or measure in ml, l, g or kg", r.Unit)
	case !r.Counted:
		l.by, l.left = stock.ByPack, 1
		l.note = at + ": no quantity is " + where + "; it is taken as one."
		if l.kept != "" {
			l.left = 0
		}
	default:
		l.by, l.left = stock.ByPack, math.Floor(have)
		if l.left != have {
			l.note = fmt.Sprintf("%s: of %g the %g whole ones count.", at, have, l.left)
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
