package storeroom

import (
	"context"
	"fmt"

	"beadline/catalog/stock/register"
)

// Strike takes an event back that did not happen. It stays on record, and who struck it,
// under whose authority and why is printed with the batch ever after.
func (r *Room) Strike(ctx context.Context, a *Act, id string) (*Outcome, error) {
	a.Said.Corrects = id
	if err := a.standsFor("what is struck from the record", "why"); err != nil {
		return nil, err
	}
	key, _, ok, err := r.Store.Find(ctx, id)
	if err != nil {
		return nil, err
	}
	b, isBatch := key.Batch()
	switch {
	case !ok:
		return nil, fmt.Errorf("%s: there is no event %s: copy its id from beadline stock log", r.Store.Name(), id)
	case !isBatch:
		return nil, fmt.Errorf("%s is an event of the %s, not of a batch", id, key)
	case a.Number != "" && a.Number != b.Number:
		return nil, fmt.Errorf("%s is an event of batch %s, not of %s", id, b, a.Number)
	}
	var what string
	o, err := r.actOn(ctx, key, a, register.KindStruck, func(s *register.State) ([]*register.Event, error) {
		old := s.Event(id)
		if old == nil {
			return nil, fmt.Errorf("%s: there is no event %s on the line of %s", r.Store.Name(), id, b)
		}
		if by := s.Corrected[id]; by != nil && by.ID != a.Said.ID {
			return nil, fmt.Errorf("%s, %s, was taken back already, by the event %s", old.Title(), r.inZone(old.At), by.ID)
		}
		what = fmt.Sprintf("%s, %s, by %s", old.Title(), r.inZone(old.At), old.By)
		e := r.event(a, register.KindStruck)
		e.Container, e.Place = old.Container, old.Place
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Struck from the record of %s: %s. %s", s.Batch, what, ended(e.Why))
	})
	return o, err
}
