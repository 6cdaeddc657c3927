package register

import (
	"cmp"
	"fmt"
	"slices"

	"beadline/catalog/shelf"
)

// What is put together has the past of both, to the safe side: what was found against one
// counts against all of it, and what helped one alone, a test or a hold that was lifted,
// helps no longer where the other needs it too. Else a move could make a tin good.

// together is the own events of a part that comes to another, other, which is empty where
// nothing is left of it. What no longer helps is said with the part.
func (f *fold) together(p *Part, others *Part, at *Event) {
	empty := p.Counted && p.Amount == 0
	mine, theirs := p.own, others.own
	var all []*Event
	for _, e := range mine {
		if slices.Contains(theirs, e) || f.helps(e, others) {
			all = append(all, e)
			continue
		}
		p.lost = append(p.lost, f.lostWords(e, at))
	}
	for _, e := range theirs {
		switch {
		case slices.Contains(mine, e):
		case empty || f.helps(e, p):
			all = append(all, e)
		default:
			p.lost = append(p.lost, f.lostWords(e, at))
		}
	}
	for _, said := range others.lost {
		if !slices.Contains(p.lost, said) {
			p.lost = append(p.lost, said)
		}
	}
	slices.SortStableFunc(all, func(a, b *Event) int { return cmp.Compare(f.order[a], f.order[b]) })
	p.own = all
	for _, e := range others.arrivals {
		if !slices.Contains(p.arrivals, e) {
			p.arrivals = append(p.arrivals, e)
		}
	}
}

// helps reports whether an event of a part may count for another, too, that it is put
// together with: all that is against it may; what is for it, where the other has no need.
func (f *fold) helps(e *Event, other *Part) bool {
	switch {
	case e.Kind == KindExtended, e.Kind == KindTested && e.Shelf != nil && e.Shelf.Passed:
		return false
	case e.Kind == KindFreed && e.Shelf != nil:
		return !f.stands(e.Shelf.Limit, other)
	}
	return true
}

// stands reports whether a hold may stand against a part: it came up, and was not freed
// after that. A date far off is on the label, so it stands until it is freed.
func (f *fold) stands(limit shelf.Name, p *Part) bool {
	up := map[shelf.Name]bool{shelf.LimitHeld: p.base.Held != "", shelf.LimitCondition: p.base.Condition != 0,
		shelf.LimitStorageBounds: len(p.base.Storage) > 0, shelf.LimitReceipt: true, shelf.LimitFarDate: true}[limit]
	all := slices.Concat(f.common, p.own)
	slices.SortStableFunc(all, func(a, b *Event) int { return cmp.Compare(f.order[a], f.order[b]) })
	for _, e := range all {
		switch {
		case e.Kind == upKinds[limit]:
			up = true
		case e.Kind == KindFreed && e.Shelf != nil && e.Shelf.Limit == limit:
			up = false
		}
	}
	return up
}

// upKinds are the events by which a hold comes up.
var upKinds = map[shelf.Name]Kind{shelf.LimitHeld: KindHeld, shelf.LimitCondition: KindCondition, shelf.LimitStorageBounds: KindStored, shelf.LimitReceipt: KindReceived}

// lostWords says what no longer helps a part, and since when.
func (f *fold) lostWords(e, at *Event) string {
	what := "Tested"
	switch e.Kind {
	case KindExtended:
		what = "Extended"
	case KindFreed:
		return fmt.Sprintf("Freed %s (%s), but what came to it %s was not: the hold stands.", e.At.words(f.zone), e.Shelf.Limit, at.At.words(f.zone))
	}
	return fmt.Sprintf("%s %s, but what came to it %s was not: it gives no more life.", what, e.At.words(f.zone), at.At.words(f.zone))
}
