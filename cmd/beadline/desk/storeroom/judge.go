package storeroom

import (
	"fmt"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Holding is a part of a batch and the verdict on it.
type Holding struct {
	*register.Part
	Checked desk.Checked
}

// LimitNone is the limit of a batch of which nothing is left.
const LimitNone shelf.Name = "none-left"

// Holding judges a part for the moment that the judge was asked about. What the record
// does not explain, and every correction of it, is said with the verdict.
func (r *Room) Holding(s *register.State, p *register.Part) Holding {
	return r.holdingAs(s, p, p.Item)
}

// holdingAs is Holding for a part as it will be: its item once it is in use.
func (r *Room) holdingAs(s *register.State, p *register.Part, it shelf.Item) Holding {
	c := r.Judge.Item(it)
	row := p.Row()
	c.Row, c.Place = &row, r.Store.Name()
	c.Judgement.Assumed = append(c.Judgement.Assumed, p.Said...)
	for _, e := range s.Events {
		if e.Corrects != "" {
			c.Judgement.Assumed = append(c.Judgement.Assumed, r.correction(s, e))
		}
	}
	return Holding{p, c}
}

// correction says who corrected what.
func (r *Room) correction(s *register.State, e *register.Event) string {
	what, did := e.Corrects, "was written anew"
	if old := s.Event(e.Corrects); old != nil {
		what = fmt.Sprintf("%s, %s,", titled(old), r.inZone(old.At))
		if old.Kind != e.Kind || e.Kind == register.KindTested && titled(old) != titled(e) {
			did = "was replaced by: " + titled(e)
		}
	}
	if e.Kind == register.KindStruck {
		did = "did not happen"
	}
	return fmt.Sprintf("The record was corrected on %s by %s (%s, reference %s): %s %s: %s", r.inZone(register.AtInstant(e.Recorded)), e.By, e.Authority, e.Reference, what, did, ended(e.Why))
}

// titled is an event in a few words, and how a test ended.
func titled(e *register.Event) string {
	switch {
	case e.Kind != register.KindTested || e.Shelf == nil:
		return e.Title()
	case e.Shelf.Passed:
		return "tested and passed"
	}
	return "tested and failed"
}

// Holdings are all parts of a batch with something left, judged; with none left all of
// them.
func (r *Room) Holdings(s *register.State) []Holding {
	var all []Holding
	for _, p := range s.Parts {
		if p.Stocked() {
			all = append(all, r.Holding(s, p))
		}
	}
	if all == nil {
		for _, p := range s.Parts {
			all = append(all, r.Holding(s, p))
		}
	}
	return all
}
