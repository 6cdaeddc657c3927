package storeroom

import (
	"context"
	"fmt"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// Outcome is what was recorded of one batch, and how it stands now.
type Outcome struct {
	Register string // its name
	Batch    register.Batch
	Did      string // in a sentence
	Events   []*register.Event
	// Known is true where all of it was in the register already, by its id.
	Known    bool
	Holdings []Holding
	// Answer is the verdict that the command answers with; for most Use: it is done.
	Answer shelf.Verdict
	ToDo   []string // what the person has to do with their hands
	Notes  []string // what was assumed, what looks odd
}

// Act is one thing that somebody does with a batch.
type Act struct {
	Number, Maker string // of the batch
	Which         Which
	// Said is what goes into each event: By, Why, Authority, Reference, ID, Corrects.
	Said register.Event
}

// event is an event of a kind with what was said.
func (r *Room) event(a *Act, kind register.Kind) *register.Event {
	e := a.Said
	e.Kind, e.At = kind, r.At
	return &e
}

// act finds the batch, and records what decide makes of it. did says it in a sentence once
// it is recorded; the first event is the one that matters.
func (r *Room) act(ctx context.Context, a *Act, kind register.Kind, decide func(*register.State) ([]*register.Event, error), did func(*register.State, *register.Event) string) (*Outcome, error) {
	key, err := r.Find(ctx, a.Number, a.Maker)
	if err != nil {
		return nil, err
	}
	return r.actOn(ctx, key, a, kind, decide, did)
}

// actOn is act for a batch that is found.
func (r *Room) actOn(ctx context.Context, key register.Key, a *Act, kind register.Kind, decide func(*register.State) ([]*register.Event, error), did func(*register.State, *register.Event) string) (*Outcome, error) {
	if err := a.mayCorrect(); err != nil {
		return nil, err
	}
	done, err := r.Append(ctx, key, func(s *register.State) ([]*register.Event, error) {
		if old := s.Event(a.Said.ID); old != nil { // sent again: it is not decided again
			if err := a.matches(old, kind); err != nil {
				return nil, err
			}
			own := *old
			return []*register.Event{&own}, nil
		}
		return decide(s)
	})
	if err != nil {
		return nil, r.refusal(err)
	}
	return r.outcome(key, done, did), nil
}

// mayCorrect demands of a correction who stands for it.
func (a *Act) mayCorrect() error {
	e := &a.Said
	if e.Corrects == "" {
		return nil
	}
	for _, f := range []struct{ flag, text string }{{"by", e.By}, {"authority", e.Authority}, {"reference", e.Reference}, {"why", e.Why}} {
		if f.text == "" {
			return fmt.Errorf("a correction of the record needs --%s: it is printed with the batch ever after", f.flag)
		}
	}
	return nil
}

// matches reports whether an event that is recorded is the one that is sent again.
func (a *Act) matches(old *register.Event, kind register.Kind) error {
	e := &a.Said
	same := old.Kind == kind && (a.Which.Container == "" || old.Container == a.Which.Container || old.As == a.Which.Container) &&
		(e.Amount == nil || old.Amount != nil && *old.Amount == *e.Amount)
	if !same {
		return fmt.Errorf("--id %s is that of another event, %s %s: leave --id out, or give this one its own", old.ID, old.Title(), old.At)
	}
	return nil
}

// refusal names the register before what it refuses.
func (r *Room) refusal(err error) error {
	if x, ok := err.(*register.Refused); ok {
		return fmt.Errorf("not recorded: %w", x)
	}
	return err
}

// outcome is what was done, for people.
func (r *Room) outcome(key register.Key, done *register.Done, did func(*register.State, *register.Event) string) *Outcome {
	s := done.States[key]
	o := &Outcome{Register: r.Store.Name(), Batch: s.Batch, Events: done.Events, Known: done.Known == len(done.Events), Holdings: r.Holdings(s)}
	if len(done.Events) > 0 {
		o.Did = did(s, done.Events[0])
	}
	if o.Known {
		o.Notes = append(o.Notes, "It was in the register already, by its id: nothing was recorded twice.")
	}
	if done.Behind > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("This computer's clock is %s behind the last entry of the register: set it right. The entry says so.", done.Behind))
	}
	return o
}
