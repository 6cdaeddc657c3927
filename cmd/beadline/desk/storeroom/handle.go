package storeroom

import (
	"context"
	"fmt"
	"strconv"

	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
)

// Move records that a batch, or some of it, went to another place.
func (r *Room) Move(ctx context.Context, a *Act, to string) (*Outcome, error) {
	return r.act(ctx, a, register.KindMoved, func(s *register.State) ([]*register.Event, error) {
		e, _, err := r.of(s, a, register.KindMoved)
		if err != nil {
			return nil, err
		}
		e.To = to
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Moved %s of %s from %s to %s.", amountWords(e, "all"), s.Batch, orPlace(e.Place), e.To)
	})
}

// Open records that a pack was opened. One of several becomes a container of its own, by
// the number As, or the next that is free, to be written on the pack.
func (r *Room) Open(ctx context.Context, a *Act, as string) (*Outcome, error) {
	return r.handled(ctx, a, register.KindOpened, as, "Opened")
}

// Thaw records that it left the freezer; several packs at once are one container.
func (r *Room) Thaw(ctx context.Context, a *Act, as string) (*Outcome, error) {
	return r.handled(ctx, a, register.KindThawed, as, "Out of the freezer:")
}

// Refreeze records that it went back into the freezer.
func (r *Room) Refreeze(ctx context.Context, a *Act) (*Outcome, error) {
	return r.handled(ctx, a, register.KindRefrozen, "", "Back in the freezer:")
}

// handled records what is done to a pack: one of several becomes a container of its own.
func (r *Room) handled(ctx context.Context, a *Act, kind register.Kind, as, did string) (*Outcome, error) {
	o, err := r.act(ctx, a, kind, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.of(s, a, kind)
		if err != nil {
			return nil, err
		}
		by, _, _ := stock.ReadUnit(p.Unit)
		one := register.Amount(1000)
		if e.Amount != nil {
			one = *e.Amount
		}
		switch {
		case as != "":
			e.As, e.Amount, e.Unit = as, &one, ""
		case kind != register.KindRefrozen && by == stock.ByPack && p.Counted && p.Amount > one && p.Container == "":
			e.As, e.Amount, e.Unit = freeNumber(s), &one, ""
		}
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		what := amountWords(e, "")
		if e.As != "" {
			what = "container " + e.As
		} else if e.Container != "" {
			what = "container " + e.Container
		}
		if what == "" {
			return fmt.Sprintf("%s %s%s.", did, s.Batch, atPlace(e.Place))
		}
		return fmt.Sprintf("%s %s of %s%s.", did, what, s.Batch, atPlace(e.Place))
	})
	if err == nil && len(o.Events) > 0 && o.Events[0].As != "" {
		o.ToDo = append(o.ToDo, fmt.Sprintf("Write %s on the pack: it is container %s of %s from now on.", o.Events[0].As, o.Events[0].As, o.Batch.Number))
	}
	return o, err
}

// freeNumber is the next container number of a batch that nobody has used.
func freeNumber(s *register.State) string {
	used := map[string]bool{}
	for _, e := range s.Events {
		used[e.Container], used[e.As] = true, true
	}
	for n := 1; ; n++ {
		if w := strconv.Itoa(n); !used[w] {
			return w
		}
	}
}

// Count records how much was seen in the store; from then on that is what there is. What
// it differs by from what should be there is said.
func (r *Room) Count(ctx context.Context, a *Act) (*Outcome, error) {
	var should *register.Amount
	var unit string
	o, err := r.act(ctx, a, register.KindCounted, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.ofAny(s, a, register.KindCounted)
		if err != nil {
			return nil, err
		}
		if should, unit = nil, p.Unit; p.Counted {
			was := p.Amount
			should = &was
		}
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Counted %s of %s%s.", amountWords(e, "all"), s.Batch, atPlace(e.Place))
	})
	if err != nil || o.Known {
		return o, err
	}
	switch now := o.Events[0].Amount; {
	case should == nil:
		o.Notes = append(o.Notes, "How much there was before was not recorded.")
	case now != nil && *now != *should && o.Events[0].Unit == "":
		less := *should - *now
		say := fmt.Sprintf("The register had %s: %s missing.", should.Words(unit), less.Words(unit))
		if less < 0 {
			say = fmt.Sprintf("The register had %s: %s too many.", should.Words(unit), (-less).Words(unit))
		}
		o.Notes = append(o.Notes, say+" The count stands; find out where the difference went.")
	case now != nil && *now == *should:
		o.Notes = append(o.Notes, "It is what the register had.")
	}
	return o, nil
}

// Scrap records that a batch, or some of it, is out of stock for good. Why is needed.
func (r *Room) Scrap(ctx context.Context, a *Act) (*Outcome, error) {
	return r.act(ctx, a, register.KindScrapped, func(s *register.State) ([]*register.Event, error) {
		e, _, err := r.of(s, a, register.KindScrapped)
		return []*register.Event{e}, err
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Scrapped %s of %s%s: %s.", amountWords(e, "all"), s.Batch, atPlace(e.Place), e.Why)
	})
}

// of makes an event on the part of a batch that is meant.
func (r *Room) of(s *register.State, a *Act, kind register.Kind) (*register.Event, *register.Part, error) {
	p, err := Choose(s, a.Which)
	if err != nil {
		return nil, nil, err
	}
	e := r.event(a, kind)
	e.Container, e.Place = p.Container, p.Place
	return e, p, nil
}

// ofAny is of, where nothing may be left of the part.
func (r *Room) ofAny(s *register.State, a *Act, kind register.Kind) (*register.Event, *register.Part, error) {
	e, p, err := r.of(s, a, kind)
	if err == nil {
		return e, p, nil
	}
	for _, p := range s.Parts {
		if !p.Scrapped && (a.Which.Container == "" || p.Container == a.Which.Container) && (a.Which.Place == "" || p.Place == a.Which.Place) {
			e := r.event(a, kind)
			e.Container, e.Place = p.Container, p.Place
			return e, p, nil
		}
	}
	return nil, nil, err
}

// amountWords is how much an event is about; all is the word for all of it.
func amountWords(e *register.Event, all string) string {
	if e.Amount == nil {
		return all
	}
	return e.Amount.Words(e.Unit)
}

func orPlace(place string) string {
	if place == "" {
		return "a place that is not recorded"
	}
	return place
}
