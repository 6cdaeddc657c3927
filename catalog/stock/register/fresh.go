package register

import (
	"context"
	"errors"
	"fmt"
)

// Fresh makes what is written of a line that is not there yet: events that begin it, by
// the rules of Append. What cannot have happened is *Refused.
func (r *Register) Fresh(key Key, events []*Event) (*Write, error) {
	s := &State{Key: key, Corrected: map[string]*Event{}}
	s.Batch, _ = key.Batch()
	return r.admit(s, events, &Done{States: map[Key]*State{}})
}

// AddFresh records lines that are not there yet, each made by Fresh, as many as next
// gives until it gives nil: all or nothing, in one transaction. An error of next comes
// back as it is, and nothing is recorded. Into a register that is empty they go one by
// one, and need no memory; into any other they are gathered first. ErrConflict: one of
// them is there after all; ErrUnknown: whether they were written is not known.
func (r *Register) AddFresh(ctx context.Context, next func() (*Write, error)) error {
	var gathered []Write
	first := true
	err := r.Store.Restore(ctx, func() (*Write, error) {
		first = false
		return next()
	}, func() ([]Checkpoint, error) { return nil, nil })
	if !first || !errors.Is(err, ErrNotEmpty) {
		return err
	}
	for {
		w, err := next()
		if err != nil {
			return err
		}
		if w == nil {
			break
		}
		gathered = append(gathered, *w)
	}
	if len(gathered) == 0 {
		return nil
	}
	if err := r.Store.Commit(ctx, gathered); err != nil {
		return fmt.Errorf("nothing was recorded: %w", err)
	}
	return nil
}

// SameReceipt reports whether two receipts put the same on record: what came in, how much
// and where. When, by whom and from which list they were written down is not looked at.
func SameReceipt(a, b *Event) bool {
	if a.Receipt == nil || b.Receipt == nil || a.Kind != b.Kind || a.Container != b.Container || a.Place != b.Place || a.Unit != b.Unit {
		return false
	}
	x, y := *a.Receipt, *b.Receipt
	counted := a.Amount == nil && b.Amount == nil || a.Amount != nil && b.Amount != nil && *a.Amount == *b.Amount
	papers := x.GTIN == y.GTIN && x.MakerBatch == y.MakerBatch && x.Supplier == y.Supplier && x.Order == y.Order &&
		x.Certificate == y.Certificate && x.Pack == y.Pack && x.Label.Received.NoPapers == y.Label.Received.NoPapers
	x.Label.Batch, x.Label.Container, y.Label.Batch, y.Label.Container = "", "", "", ""
	return counted && papers && sameLabel(&x.Label, &y.Label)
}
