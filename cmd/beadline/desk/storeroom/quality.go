package storeroom

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/rickb777/date"
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
// and results, and where the class or the authority gives any; a failed one is final.
func (r *Room) Test(ctx context.Context, a *Act, t Tested) (*Outcome, error) {
	se := &shelf.Event{Passed: t.Passed, Results: t.Results, To: t.To, Span: t.Span}
	asked := !t.To.IsZero() || !t.Span.IsZero()
	o, err := r.lengthen(ctx, a, register.KindTested, se, t.Passed && asked, func(s *register.State, e *register.Event) string {
		if t.Passed {
			return fmt.Sprintf("Test of %s: passed.", ofPart(s, e))
		}
		return fmt.Sprintf("Test of %s: failed. It is not to be used, and no later test changes that.", ofPart(s, e))
	})
	if err == nil && !t.Passed {
		o.ToDo = append(o.ToDo, setAside[shelf.Reject])
	}
	return o, err
}

// Extend records that the authority gives more life after a passed test.
func (r *Room) Extend(ctx context.Context, a *Act, to label.Date, span period.Period) (*Outcome, error) {
	return r.lengthen(ctx, a, register.KindExtended, &shelf.Event{To: to, Span: span}, true, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Extension of %s recorded.", ofPart(s, e))
	})
}

// lengthen records what may give a batch more life, and says whether it did. Where more
// was asked for and none was given, the answer is hold at least.
func (r *Room) lengthen(ctx context.Context, a *Act, kind register.Kind, se *shelf.Event, asked bool, did func(*register.State, *register.Event) string) (*Outcome, error) {
	before := map[string]ends{}
	o, err := r.judged(ctx, a, kind, se, func(s *register.State) error {
		for _, h := range r.Holdings(register.Fold(s.Key, s.Events, r.Zone)) {
			before[h.Container+"\t"+h.Place] = endsOf(h.Checked.Judgement)
		}
		return nil
	}, did)
	if err != nil {
		return nil, err
	}
	o.answer()
	if o.Known || kind == register.KindTested && !se.Passed {
		return o, nil
	}
	gained, moved := false, ""
	for _, h := range o.Holdings {
		was, there := before[h.Container+"\t"+h.Place]
		if !o.touches(&h) || !there {
			continue
		}
		now := endsOf(h.Checked.Judgement)
		if x, y, ok := first(was, now); ok && y.After(x) {
			gained = true
		}
		for _, name := range slices.Sorted(maps.Keys(now)) {
			if x, ok := was[name]; ok && now[name].After(x) && moved == "" {
				moved = fmt.Sprintf("It moves the limit %s to %s, but that gives no more life: %s ends it first.", name, label.FormatDay(now[name]), h.Checked.Judgement.Governing.Name)
			}
		}
	}
	switch {
	case gained:
		o.Notes = append(o.Notes, "It gives more life: the verdict counts it.")
		return o, nil
	case moved != "":
		o.Notes = append(o.Notes, moved)
	default:
		o.Notes = append(o.Notes, "It gives no more life. "+whyNot(o))
	}
	if asked {
		o.Answer = max(o.Answer, shelf.Hold)
	}
	return o, nil
}

// ends are the days on which the limits of a part end, as far as they count.
type ends map[shelf.Name]date.Date

func endsOf(j shelf.Judgement) ends {
	found := ends{}
	for _, l := range j.Limits {
		if old, ok := found[l.Name]; l.Dated && l.Counts && (!ok || l.Date.Before(old)) {
			found[l.Name] = l.Date
		}
	}
	return found
}

// first is the earliest end of each of two.
func first(a, b ends) (x, y date.Date, ok bool) {
	if len(a) == 0 || len(b) == 0 {
		return x, y, false
	}
	earliest := func(e ends) date.Date {
		return slices.MinFunc(slices.Collect(maps.Values(e)), func(p, q date.Date) int { return int(p.Sub(q)) })
	}
	return earliest(a), earliest(b), true
}

// whyNot is what the judge says of a test or an extension that gave nothing: the last that
// it says, as that is of the last test.
func whyNot(o *Outcome) string {
	say := "The limits that decide say what counts."
	for _, h := range o.Holdings {
		all := slices.Clone(h.Checked.Judgement.Assumed)
		for _, l := range h.Checked.Judgement.Limits {
			all = append(all, strings.SplitAfter(l.Reason, ". ")...)
		}
		for _, said := range all {
			if strings.Contains(said, "no more life") {
				say = strings.TrimSpace(said)
			}
		}
	}
	return say
}

// Hold sets a batch, or a part of it, aside; Why says why. With a condition it is that
// which is wrong with it.
func (r *Room) Hold(ctx context.Context, a *Act, c shelf.Condition) (*Outcome, error) {
	kind, se := register.KindHeld, (*shelf.Event)(nil)
	switch {
	case c != 0:
		kind, se = register.KindCondition, &shelf.Event{Condition: c}
	case strings.TrimSpace(a.Said.Why) == "":
		return nil, notSaid("hold needs --why it is set aside, or --condition for what is wrong with it")
	}
	o, err := r.judged(ctx, a, kind, se, nil, func(s *register.State, e *register.Event) string {
		if c != 0 {
			return fmt.Sprintf("Noted of %s: %s.", ofPart(s, e), c)
		}
		return fmt.Sprintf("Held %s: %s", ofPart(s, e), ended(e.Why))
	})
	if err != nil {
		return nil, err
	}
	if e := o.Events[0]; e.Container == "" && e.Place == "" {
		o.Notes = append(o.Notes, "It is of all of the batch, what comes in of it later too: name a part with --container or --place.")
	}
	worst := shelf.Hold
	for i := range o.Holdings {
		if h := &o.Holdings[i]; h.Stocked() && o.touches(h) {
			worst = max(worst, h.Checked.Judgement.Verdict)
		}
	}
	o.ToDo = append(o.ToDo, setAside[worst])
	return o, nil
}

// setAside is what the person has to do with what may not be used.
var setAside = map[shelf.Verdict]string{
	shelf.Hold:   "Do not use it yet: put it where held stock stands, and tag it.",
	shelf.Reject: "Do not use it: set it aside and tag it.",
}

// judged records an event that moves limits, of all of the batch unless a part is named.
// may, unless nil, looks at the batch first.
func (r *Room) judged(ctx context.Context, a *Act, kind register.Kind, se *shelf.Event, may func(*register.State) error, did func(*register.State, *register.Event) string) (*Outcome, error) {
	return r.act(ctx, a, kind, func(s *register.State) ([]*register.Event, error) {
		e := r.event(a, kind)
		e.Shelf = se
		if err := r.exactly(s, a, e); err != nil {
			return nil, err
		}
		if may != nil {
			if err := may(s); err != nil {
				return nil, err
			}
		}
		return []*register.Event{e}, nil
	}, did)
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
