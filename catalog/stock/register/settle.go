package register

import (
	"cmp"
	"fmt"
	"slices"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// finish works out what the limits of each part are worked out from.
func (f *fold) finish() {
	for _, p := range f.Parts {
		var all []shelf.Event
		var said []string
		own := slices.Concat(f.common, p.own)
		for _, e := range own {
			se, ok := e.shelfEvent(f.zone)
			if x, why := f.again(e, own, p); ok && x != nil {
				said = append(said, fmt.Sprintf("Freed %s (%s), but %s %s: the hold stands.", se.When, se.Limit, x.Kind, why))
				continue
			}
			if ok {
				all = append(all, se)
			}
		}
		for _, x := range f.Problems {
			all = append(all, shelf.Event{Kind: shelf.EventHeld, When: x.Event.At.Label(f.zone), Note: "its record does not add up: " + x.Text})
		}
		p.Item, p.Said = shelf.Replay(p.base, all)
		p.Said = append(append(p.Said, said...), p.lost...)
	}
	f.Parts = slices.DeleteFunc(f.Parts, func(p *Part) bool { return p.wentInto != nil })
	slices.SortFunc(f.Parts, func(a, b *Part) int {
		return cmp.Or(cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
	})
	if n := len(f.Events); n > 0 {
		f.Head.Key, f.Head.Seq = f.Key, f.Events[n-1].Seq
	}
}

// again is what a freeing does not lift, and why. It came up anew in the minute in which
// the hold was freed: limits are worked out from minutes, and there the two could not be
// told apart. Or it happened before, but was recorded after, so that whoever freed the
// hold did not know of it. nil: nothing.
func (f *fold) again(freed *Event, own []*Event, p *Part) (x *Event, why string) {
	if freed.Kind != KindFreed || freed.Shelf == nil {
		return nil, ""
	}
	up := own
	if freed.Shelf.Limit == shelf.LimitReceipt {
		up = p.arrivals
	}
	for _, x := range up {
		after := f.order[x] > f.order[freed]
		switch {
		case x.Kind != upKinds[freed.Shelf.Limit]:
		case after && x.At.Label(f.zone).Canonical() == freed.At.Label(f.zone).Canonical():
			return x, "came after it in the same minute"
		case !after && x.Seq > freed.Seq:
			return x, x.At.words(f.zone) + " was recorded after it"
		}
	}
	return nil, ""
}

// Row is a part as a row of a stock list.
func (p *Part) Row() stock.Row {
	r := stock.Row{Item: p.Item, Location: p.Place, Quantity: p.Amount.Float(), Counted: p.Counted, Unit: p.Unit}
	if p.Receipt != nil {
		r.GTIN = p.Receipt.GTIN
	}
	return r
}
