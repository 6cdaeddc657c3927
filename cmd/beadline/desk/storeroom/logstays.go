package storeroom

import (
	"slices"
	"time"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// stretch is a time that something lay at the place of a log, within the log.
type stretch struct{ from, to time.Time }

// stays are the times that a part stood at the place of the log, each within the log, in
// order and apart. Of a day whose hour is not known all of it counts, as that is the most
// that it may have stood there.
func (at *attaching) stays(p *register.Part) (all []stretch) {
	first, last := at.did.First, at.did.Last
	for _, s := range p.Stays {
		if s.Place != at.did.Place {
			continue
		}
		x := stretch{at.instant(s.From, false), last}
		switch {
		case !s.To.IsZero():
			x.to = at.instant(s.To, true)
		case !p.Stocked() && p.Taken != nil: // it lay there until the last of it was taken
			x.to = at.instant(p.Taken.At, true)
		}
		x.from, x.to = later(x.from, first), earlier(x.to, last)
		if x.to.Before(x.from) || x.to.Equal(x.from) && !first.Equal(last) {
			continue
		}
		all = append(all, x)
	}
	slices.SortFunc(all, func(a, b stretch) int { return a.from.Compare(b.from) })
	for i := 1; i < len(all); i++ { // two stays of what was put together may overlap
		if all[i].from.Before(all[i-1].to) {
			all[i-1].to = later(all[i-1].to, all[i].to)
			all = slices.Delete(all, i, i+1)
			i--
		}
	}
	return all
}

// instant is when something happened; of a day its start, or its end.
func (at *attaching) instant(w register.When, end bool) time.Time {
	t := w.Instant()
	if !w.IsDay() {
		return t
	}
	y, m, d := t.Date()
	if end {
		d++
	}
	return time.Date(y, m, d, 0, 0, 0, 0, at.Judge.Zone())
}

// toRecord is what of a stretch is recorded: what no earlier log of the place covers, and
// what one does that says less against the batch than this one.
func (at *attaching) toRecord(p *register.Part, x stretch, tally *Logged) (all []stretch) {
	all = []stretch{x}
	var worse []stretch
	for _, e := range p.Own() {
		if e.Kind != register.KindStored || e.Log == nil || e.Log.Place != at.did.Place {
			continue
		}
		both := stretch{later(x.from, e.Log.From), earlier(x.to, e.Log.To)}
		if both.to.Before(both.from) {
			continue
		}
		all = without(all, both)
		if e.Log.SHA256 == at.did.SHA256.String() || !both.from.Before(both.to) {
			continue
		}
		tally.overlap(both)
		if at.worse(p.Item.Class, both, &e.Shelf.Storage) {
			worse, tally.Disagrees = append(worse, both), true
		}
	}
	return append(all, worse...)
}

// overlap takes note of time that an earlier log covers too.
func (d *Logged) overlap(x stretch) {
	if d.OverlapFrom.IsZero() || x.from.Before(d.OverlapFrom) {
		d.OverlapFrom = x.from
	}
	d.OverlapTo = later(d.OverlapTo, x.to)
}

// worse reports whether the log says more against a batch than what is recorded of a longer
// stretch.
func (at *attaching) worse(class string, x stretch, have *shelf.Storage) bool {
	const alike = 0.05 // °C, the rounding of a logger
	now, err := at.sum(class, x)
	return err != nil || now.MaxC > have.MaxC+alike || now.MinC < have.MinC-alike || now.Spent > have.Spent+time.Minute ||
		!now.HotFrom.IsZero() && have.HotFrom.IsZero()
}

// without takes a stretch out of others.
func without(all []stretch, x stretch) (left []stretch) {
	for _, a := range all {
		if !a.from.Before(x.to) || !x.from.Before(a.to) {
			if a != x {
				left = append(left, a)
			}
			continue
		}
		if a.from.Before(x.from) {
			left = append(left, stretch{a.from, x.from})
		}
		if x.to.Before(a.to) {
			left = append(left, stretch{x.to, a.to})
		}
	}
	return left
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
