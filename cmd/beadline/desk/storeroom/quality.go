package storeroom

import (
	"context"
	"fmt"
	"slices"

	"github.com/rickb777/date/period"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// Tested is a test of a batch, past or near its date.
type Tested struct {
	Passed  bool
	Results string        // what was measured
	To      label.Date    // the last day that the authority gives, or zero
	Span    period.Period // or for how long
}

// Test records a test. A passed one gives more life only with who, authority, reference
// and results; a failed one is final.
func (r *Room) Test(ctx context.Context, a *Act, t Tested) (*Outcome, error) {
	return r.judged(ctx, a, register.KindTested, &shelf.Event{Passed: t.Passed, Results: t.Results, To: t.To, Span: t.Span}, func(s *register.State, e *register.Event) string {
		if t.Passed {
			return fmt.Sprintf("Test of %s: passed.", s.Batch)
		}
		return fmt.Sprintf("Test of %s: failed. It is not to be used, and no later test changes that.", s.Batch)
	})
}

// Extend records that the authority gives more life after a passed test.
func (r *Room) Extend(ctx context.Context, a *Act, to label.Date, span period.Period) (*Outcome, error) {
	return r.judged(ctx, a, register.KindExtended, &shelf.Event{To: to, Span: span}, func(s *register.State, _ *register.Event) string {
		return fmt.Sprintf("Extension of %s recorded.", s.Batch)
	})
}

// Hold sets a batch, or a part of it, aside; Why says why. With a condition it is that
// which is wrong with it.
func (r *Room) Hold(ctx context.Context, a *Act, c shelf.Condition) (*Outcome, error) {
	if c != 0 {
		return r.judged(ctx, a, register.KindCondition, &shelf.Event{Condition: c}, func(s *register.State, _ *register.Event) string {
			return fmt.Sprintf("Recorded what is wrong with %s.", s.Batch)
		})
	}
	return r.judged(ctx, a, register.KindHeld, nil, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Held %s%s: %s.", s.Batch, atPlace(e.Place), e.Why)
	})
}

// Free lifts a hold: a person with authority and a reference stands for it, and it is
// printed with the batch ever after. A reject is not lifted, nor a date that has passed.
func (r *Room) Free(ctx context.Context, a *Act, limit shelf.Name) (*Outcome, error) {
	o, err := r.act(ctx, a, register.KindFreed, func(s *register.State) ([]*register.Event, error) {
		if err := r.mayFree(s, a, limit); err != nil {
			return nil, err
		}
		e := r.event(a, register.KindFreed)
		e.Container, e.Place = a.Which.Container, a.Which.Place
		e.Shelf = &shelf.Event{Limit: limit}
		return r.exactly(s, a, e)
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Freed %s: the hold %q is lifted by %s for %s, %s.", s.Batch, limit, e.By, e.Authority, e.Reference)
	})
	return o, err
}

// mayFree refuses to lift what does not stand, and what nobody lifts.
func (r *Room) mayFree(s *register.State, a *Act, limit shelf.Name) error {
	var standing []string
	for _, h := range r.Holdings(s) {
		if a.Which.Container != "" && h.Container != a.Which.Container || a.Which.Place != "" && h.Place != a.Which.Place {
			continue
		}
		for _, l := range h.Checked.Judgement.Limits {
			if !l.Past || !l.Counts || l.Freed {
				continue
			}
			if l.Name == limit && l.Verdict == shelf.Hold {
				return nil
			}
			if name := l.Verdict.String() + " by " + string(l.Name); !slices.Contains(standing, name) {
				standing = append(standing, name)
			}
		}
	}
	if standing == nil {
		return fmt.Errorf("%s is not on hold: there is nothing to free", s.Batch)
	}
	return fmt.Errorf("%s has no hold %q to lift: it stands at %s", s.Batch, limit, joinAnd(standing))
}

// judged records an event that moves limits, of all of the batch unless a part is named.
func (r *Room) judged(ctx context.Context, a *Act, kind register.Kind, se *shelf.Event, did func(*register.State, *register.Event) string) (*Outcome, error) {
	return r.act(ctx, a, kind, func(s *register.State) ([]*register.Event, error) {
		e := r.event(a, kind)
		e.Shelf = se
		e.Container, e.Place = a.Which.Container, a.Which.Place
		return r.exactly(s, a, e)
	}, did)
}

// exactly names the part that an event is of in full, if one is meant at all.
func (r *Room) exactly(s *register.State, a *Act, e *register.Event) ([]*register.Event, error) {
	if a.Which == (Which{}) {
		return []*register.Event{e}, nil
	}
	p, err := Choose(s, a.Which)
	if err != nil {
		return nil, err
	}
	e.Container, e.Place = p.Container, p.Place
	return []*register.Event{e}, nil
}

// joinAnd writes a list as a person would.
func joinAnd(items []string) string {
	say := ""
	for i, x := range items {
		switch {
		case i == 0:
		case i == len(items)-1:
			say += " and "
		default:
			say += ", "
		}
		say += x
	}
	return say
}
