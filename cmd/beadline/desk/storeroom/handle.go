package storeroom

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Move records that a batch, or some of it, went to another place.
func (r *Room) Move(ctx context.Context, a *Act, to string) (*Outcome, error) {
	var moved string
	return r.act(ctx, a, register.KindMoved, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.of(s, a, register.KindMoved)
		if err != nil {
			return nil, err
		}
		e.To = a.spelled(s, to)
		moved = howMuch(e, p)
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Moved %s from %s to %s.", muchOf(s, e, moved), orPlace(e.Place), e.To)
	})
}

// spelled is a place as the batch knows it already, whatever its capitals.
func (a *Act) spelled(s *register.State, place string) string {
	for _, e := range s.Events {
		for _, known := range []string{e.Place, e.To} {
			if known != place && strings.EqualFold(known, place) {
				a.notes = append(a.notes, fmt.Sprintf("%q is taken for the place %q of this batch.", place, known))
				return known
			}
		}
	}
	return place
}

// Open records that a pack was opened. One of several becomes a container of its own, by
// the number as, or the next that is free, to be written on the pack.
func (r *Room) Open(ctx context.Context, a *Act, as string) (*Outcome, error) {
	return r.handled(ctx, a, handling{register.KindOpened, "Opened", as,
		func(p *register.Part) bool { return p.Item.Opened.IsZero() },
		func(what string, p *register.Part) error {
			return fmt.Errorf("%s was opened already, %s: nothing is recorded", what, p.Item.Opened)
		}})
}

// Thaw records that it left the freezer; several packs at once are one container.
func (r *Room) Thaw(ctx context.Context, a *Act, as string) (*Outcome, error) {
	return r.handled(ctx, a, handling{register.KindThawed, "Out of the freezer:", as,
		func(p *register.Part) bool { return len(p.Item.Thawed) <= len(p.Item.Refrozen) },
		func(what string, p *register.Part) error {
			return fmt.Errorf("%s is out of the freezer already, since %s: if it went back, record that first, with --refreeze and --at", what, p.Item.Thawed[len(p.Item.Thawed)-1])
		}})
}

// Refreeze records that it went back into the freezer.
func (r *Room) Refreeze(ctx context.Context, a *Act, as string) (*Outcome, error) {
	o, err := r.handled(ctx, a, handling{register.KindRefrozen, "Back in the freezer:", as,
		func(p *register.Part) bool { return max(len(p.Item.Thawed), p.Item.ThawCount) > len(p.Item.Refrozen) },
		func(what string, _ *register.Part) error {
			return fmt.Errorf("%s is not out of the freezer by its record: record first when it left, without --refreeze and with --at", what)
		}})
	if err == nil {
		o.Notes = append(o.Notes, r.refrozen(o)...)
	}
	return o, err
}

// refrozen says of what went back into the freezer that it may not be thawed again.
func (r *Room) refrozen(o *Outcome) []string {
	e := o.Events[0]
	for _, h := range o.Holdings {
		it := &h.Checked.Item
		if h.Container != cmp.Or(e.As, e.Container) || h.Place != e.Place {
			continue
		}
		c, err := r.Judge.Class(it.Class)
		if err != nil {
			return nil
		}
		rules := desk.Rules(&c)
		allowed := cmp.Or(rules.Thaws.Max, 1) // where the class does not say, one: as it is judged
		if allowed != shelf.AnyThaws && max(len(it.Thawed), it.ThawCount) >= allowed {
			return []string{"It has been thawed as often as its class may be: thawed once more, it is not to be used. The time that it has left goes on in the freezer too."}
		}
	}
	return nil
}

// handling is something that is done to a pack.
type handling struct {
	kind register.Kind
	did  string // the start of the sentence that says so
	as   string // the container number that it gets; "": the next that is free
	can  func(*register.Part) bool
	not  func(what string, p *register.Part) error // why it cannot
}

// handled records it, of a part where it can be: one of several packs becomes a container
// of its own.
func (r *Room) handled(ctx context.Context, a *Act, h handling) (*Outcome, error) {
	var much string
	o, err := r.act(ctx, a, h.kind, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.ofAble(s, a, h.kind, h.can)
		if err != nil {
			return nil, err
		}
		if !h.can(p) {
			return nil, h.not(partOf(s, p), p)
		}
		if err := a.apart(s, p, e, h.kind, h.as); err != nil {
			return nil, err
		}
		much = howMuch(e, p)
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		what := ofContainer(s, e)
		if e.As != "" {
			what = "container " + e.As + " of " + s.Batch.String()
		}
		return fmt.Sprintf("%s %s, %s%s.", h.did, what, much, atPlace(e.Place))
	})
	if err != nil {
		return nil, err
	}
	o.Hands = true
	if n := o.Events[0].As; n != "" {
		o.ToDo = append(o.ToDo, fmt.Sprintf("Write %s on the pack: it is container %s of %s from now on.", n, n, o.Batch.Number))
	}
	o.answer()
	if o.Answer > 0 {
		o.ToDo = append(o.ToDo, setAside[o.Answer])
	}
	return o, nil
}

// apart gives what is handled a container number of its own, where the rest of the part is
// not handled. Of several packs one is, of a container all, unless it is said how many.
func (a *Act) apart(s *register.State, p *register.Part, e *register.Event, kind register.Kind, as string) error {
	by, _, _ := stock.ReadUnit(p.Unit)
	several := p.Counted && by == stock.ByPack && p.Amount > 1000
	switch one := register.Amount(1000); {
	case e.Amount != nil:
	case kind != register.KindRefrozen && several && (p.Container == "" || kind == register.KindOpened):
		e.Amount, e.Unit = &one, p.Unit
	case as != "" && !p.Counted:
		e.Amount, e.Unit = &one, p.Unit
	case as == "" && !p.Counted && by == stock.ByPack:
		a.notes = append(a.notes, "How many there are is not recorded, so all of it counts: give --as a number for the pack in your hand, or count it first.")
	}
	if e.Amount != nil && *e.Amount == 0 {
		return notSaid("--quantity 0: say how many, or leave it out")
	}
	again := a.old != nil && a.old.As != "" // a correction: what came of it keeps its number
	if again && as == "" {
		as = a.old.As
	}
	switch {
	case as != "" && as == p.Container:
	case again && as == a.old.As:
		e.As = as
	case as != "" && hasContainer(s, as):
		return fmt.Errorf("--as %s: %s has had a container of that number: the next that is free is %s", as, s.Batch, freeNumber(s))
	case as != "":
		e.As = as
	case e.Amount != nil && p.Counted && !isAll(e, p):
		e.As = freeNumber(s)
	}
	return nil
}

// isAll reports whether an event takes a whole part.
func isAll(e *register.Event, p *register.Part) bool {
	a, err := register.InUnit(*e.Amount, e.Unit, p.Unit)
	return err == nil && a == p.Amount
}

// freeNumber is the next container number of a batch that nobody has used.
func freeNumber(s *register.State) string {
	for n := 1; ; n++ {
		if w := strconv.Itoa(n); !hasContainer(s, w) {
			return w
		}
	}
}

// howMuch is the amount that an event is about, for people; all of the part if it does not
// say.
func howMuch(e *register.Event, p *register.Part) string {
	switch {
	case e.Amount != nil:
		return e.Amount.Words(e.Unit)
	case p.Counted:
		return p.Amount.Words(p.Unit)
	}
	return "an amount that is not recorded"
}

// muchOf is how much of what: "2 kits of S-2207", "container 1 of S-2207 (1 kit)".
func muchOf(s *register.State, e *register.Event, much string) string {
	if e.Container == "" || e.Amount != nil {
		return much + " of " + ofContainer(s, e)
	}
	return ofContainer(s, e) + " (" + much + ")"
}

// ofContainer is the batch, and the container if an event is of one.
func ofContainer(s *register.State, e *register.Event) string {
	if e.Container == "" {
		return s.Batch.String()
	}
	return "container " + e.Container + " of " + s.Batch.String()
}

// partOf is a part at the start of a sentence.
func partOf(s *register.State, p *register.Part) string {
	say := s.Batch.String()
	if p.Container != "" {
		say = "container " + p.Container + " of " + say
	}
	return say + atPlace(p.Place)
}

func orPlace(place string) string {
	if place == "" {
		return "a place that is not recorded"
	}
	return place
}
