package desk

import (
	"cmp"
	"slices"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// May a row be used for a pot, and which comes first.

// pairing is a row and what it may be drawn for.
type pairing struct {
	lot  *lot
	need *need
}

// fit is whether a row may be used: judged at the moment of the mix, as it will be then,
// and for as long as the work takes.
type fit struct {
	judged shelf.Judgement
	good   bool
}

func (d *drawer) fit(l *lot, n *need) *fit {
	k := pairing{l, n}
	if f := d.seen[k]; f != nil {
		return f
	}
	f := &fit{}
	d.judge.Ask(d.question(n))
	it, _ := d.asUsed(l, n)
	f.judged = d.judge.Full(it)
	f.good = f.judged.Verdict == shelf.Use && l.doubt == ""
	d.seen[k] = f
	return f
}

// question asks for the minute at which something is drawn, and for the minute, rounded
// up, at which the work is done, on the clocks of the job.
func (d *drawer) question(n *need) shelf.Question {
	at := n.at.In(d.p.Job.Zone)
	until := n.until.Add(time.Minute - time.Nanosecond).In(d.p.Job.Zone)
	return shelf.Question{On: date.NewAt(at), At: minuteOf(at), Timed: true, Until: label.At(date.NewAt(until), minuteOf(until)), Zone: d.p.Job.Zone}
}

func minuteOf(t time.Time) int { return t.Hour()*60 + t.Minute() }

// asUsed is an item as it will be when it is used, and whether that differs from how it
// stands on the shelf now: a frozen pack has left the freezer for the pot, and what is
// measured out of one container, or is a promoter, was opened when the first of it was
// used.
func (d *drawer) asUsed(l *lot, n *need) (it shelf.Item, changed bool) {
	it = l.row.Item
	cl, err := d.c.Find(it.Class)
	if err != nil {
		return it, false
	}
	if cl.Kind == catalog.PremixedFrozen && len(it.Refrozen) >= len(it.Thawed) {
		out := n.at.In(d.p.Job.Zone)
		if cl.Shelf != nil && cl.Shelf.Thaw.Known {
			out = out.Add(-cl.Shelf.Thaw.Value.Takes)
		}
		it.Thawed = append(slices.Clone(it.Thawed), label.At(date.NewAt(out), minuteOf(out)))
		changed = true
	}
	bulk := l.by == stock.ByML || l.by == stock.ByGram || cl.Kind == catalog.Promoter
	if first := date.NewAt(n.first.In(d.p.Job.Zone)); bulk && it.Opened.IsZero() && !n.first.IsZero() && first.Before(date.NewAt(n.at.In(d.p.Job.Zone))) {
		it.Opened = label.DayOf(first)
		changed = true
	}
	return it, changed
}

// turn is where a row comes in the order of drawing.
type turn struct {
	out    bool // not to be drawn at all
	key    uint64
	minute int
	last   shelf.Limit // by which it ends, as it stands on the shelf
	whole  bool        // last is worked out
}

// order is the turn of a row without the words of its limit. A glance is enough for the
// many plain rows; where an hour may count, a closer look is taken.
func (d *drawer) order(l *lot, n *need) *turn {
	k := pairing{l, n}
	if r := d.turns[k]; r != nil {
		return r
	}
	r := &turn{minute: minutesOfDay}
	d.turns[k] = r
	d.judge.Ask(d.question(n))
	v, last, dated := d.judge.Glance(&l.row.Item)
	if v == shelf.Use && l.row.Plain {
		r.key = drawKey(!l.row.Item.Opened.IsZero(), last, dated)
		return r
	}
	if r.out = v == shelf.Reject || !d.fit(l, n).good; !r.out {
		d.measure(r, l, n)
		r.key = drawKey(!l.row.Item.Opened.IsZero(), r.last.Date, r.last.Dated)
		if r.last.Timed {
			r.minute = r.last.Minute
		}
	}
	return r
}

const minutesOfDay = 24 * 60

// measure works out the limit by which a row ends.
func (d *drawer) measure(r *turn, l *lot, n *need) {
	if r.whole {
		return
	}
	r.whole = true
	if _, changed := d.asUsed(l, n); !changed {
		r.last = d.fit(l, n).judged.Governing
		return
	}
	q := d.question(n)
	q.Until = label.Date{}
	d.judge.Ask(q)
	r.last = d.judge.Full(l.row.Item).Governing
}

func (d *drawer) turn(l *lot, n *need) *turn {
	r := d.order(l, n)
	d.measure(r, l, n)
	return r
}

// ranked are the rows that may be drawn for a need, the first to draw first; some of
// them may still turn out not to be good.
func (d *drawer) ranked(lots []*lot, n *need) []*lot {
	var out []*lot
	for _, l := range lots {
		if l.doubt == "" && l.by != stock.ByNothing && !d.order(l, n).out {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b *lot) int {
		x, y := d.order(a, n), d.order(b, n)
		return cmp.Or(cmp.Compare(x.key, y.key), cmp.Compare(x.minute, y.minute), cmp.Compare(a.row.Line, b.row.Line))
	})
	return out
}
