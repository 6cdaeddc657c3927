package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
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
	ToDo   []string       // what the person has to do with their hands
	Notes  []string       // what was assumed, what looks odd
	Zone   *time.Location // where the clocks of the answer hang
	// Hands is true where the pack is handled so that its cautions have to be said.
	Hands bool
}

// Act is one thing that somebody does with a batch.
type Act struct {
	Number, Maker string // of the batch; or the text of a label printed for a container
	Which         Which
	Scan          *scan.Scan    // its label as scanned; nil: it was typed
	Label         *desk.Sticker // that of a label printed for one container; nil: it is none
	// Said is what goes into each event: By, Why, Authority, Reference, ID, Corrects.
	Said register.Event
	// ByFrom says where By was taken from where nobody said it: "the log-in name of this
	// computer"; "": it was said.
	ByFrom string
	// BySaid is true where By was said for this act, not for all that is done at this
	// computer: so it has to be where a name stands for something ever after.
	BySaid bool
	// TimeSaid is true where Room.At was said; else a correction keeps the time of what it
	// stands in for. At, unless zero, is when it happened in its place.
	TimeSaid bool
	At       register.When

	when  register.When   // when it happened, as worked out
	old   *register.Event // what it stands in for; nil: nothing
	notes []string        // what was assumed in finding the part
}

// event is an event of a kind with what was said.
func (r *Room) event(a *Act, kind register.Kind) *register.Event {
	e := a.Said
	e.Kind, e.At = kind, a.when
	if e.At.IsZero() {
		e.At = r.At
	}
	if kind == register.KindReceived || kind == register.KindDrawn {
		e.ClassesOf = r.ClassesOf
	}
	return &e
}

// act finds the batch, and records what decide makes of it. did says it in a sentence once
// it is recorded; the first event is the one that matters.
func (r *Room) act(ctx context.Context, a *Act, kind register.Kind, decide func(*register.State) ([]*register.Event, error), did func(*register.State, *register.Event) string) (*Outcome, error) {
	key, err := r.findLabelled(ctx, a)
	if err != nil {
		return nil, err
	}
	return r.actOn(ctx, key, a, kind, decide, did)
}

// actOn is act for a batch that is found. decide is given the batch as it was when the act
// happened, without what it corrects.
func (r *Room) actOn(ctx context.Context, key register.Key, a *Act, kind register.Kind, decide func(*register.State) ([]*register.Event, error), did func(*register.State, *register.Event) string) (*Outcome, error) {
	if err := a.mayCorrect(); err != nil {
		return nil, err
	}
	done, err := r.Append(ctx, key, func(s *register.State) ([]*register.Event, error) {
		then, err := r.then(s, a, kind)
		if err != nil {
			return nil, err
		}
		return decide(then)
	})
	if err != nil {
		return nil, r.refusal(err)
	}
	return r.outcome(key, a, done, did), nil
}

// then is the batch as it was when an act happened: now, or when the person says; for a
// correction when that happened which it stands in for; and for what is sent again what
// it was then, so that the same is made of it.
func (r *Room) then(s *register.State, a *Act, kind register.Kind) (*register.State, error) {
	a.when, a.old, a.notes = r.At, nil, nil
	said := a.TimeSaid || !a.At.IsZero()
	if !a.At.IsZero() {
		a.when = a.At
	}
	if old := s.Event(a.Said.ID); a.Said.ID != "" && old != nil {
		if err := takenBack(s, old); err != nil {
			return nil, err
		}
		if !said {
			a.when = old.At
		}
		s = register.Fold(s.Key, s.Events[:old.Seq-1], r.Zone)
		said = true
	}
	if c := a.Said.Corrects; c != "" {
		if a.old = s.Event(c); a.old == nil {
			return nil, fmt.Errorf("%s has no event %s to correct: beadline stock log %s lists them; what was recorded of another batch is taken back by beadline stock strike", s.Batch, c, s.Batch.Number)
		}
		if !said && kind != register.KindStruck {
			a.when = a.old.At
		}
	}
	e := a.Said
	e.Kind, e.At = kind, a.when
	then := r.Before(s, &e)
	if kind != register.KindReceived && kind != register.KindStruck && len(then.Parts) == 0 && len(s.Parts) > 0 {
		return nil, fmt.Errorf("not recorded: nothing of %s was there yet %s", s.Batch, r.inZone(a.when))
	}
	return then, r.sameTin(then, a, kind)
}

// takenBack refuses to call done what was sent again, but has been corrected since.
func takenBack(s *register.State, old *register.Event) error {
	by := s.Corrected[old.ID]
	if by == nil {
		return nil
	}
	return fmt.Errorf("not recorded: --id %s is that of an event that was taken back, %s, by the event %s: if it did happen, send it without --id, or with another", old.ID, old.Title(), by.ID)
}

// sameTin refuses what is done to a pack whose scanned label is not what the register has
// of its batch: it may be another tin. It can be set aside and scrapped all the same; a
// drawing holds it by its verdict.
func (r *Room) sameTin(s *register.State, a *Act, kind register.Kind) error {
	if a.Scan == nil || slices.Contains([]register.Kind{register.KindReceived, register.KindDrawn, register.KindHeld, register.KindCondition, register.KindScrapped}, kind) {
		return nil
	}
	why := ""
	for _, p := range s.Parts {
		limits := r.Judge.Against(r.Holding(s, p).Checked, a.Scan).Judgement.Limits
		i := slices.IndexFunc(limits, func(l shelf.Limit) bool { return l.Name == desk.LimitList })
		if i < 0 {
			return nil
		}
		why = limits[i].Reason
	}
	if why == "" {
		return nil
	}
	return fmt.Errorf("not recorded: %s Is it another tin? Set it aside, or if the register is right, type the batch number", why)
}

// mayCorrect demands of a correction who stands for it.
func (a *Act) mayCorrect() error {
	if a.Said.Corrects == "" {
		return nil
	}
	return a.standsFor("a correction of the record")
}

// standsFor demands who stands for an act whose names are printed ever after.
func (a *Act) standsFor(what string, more ...string) error {
	var missing []string
	for _, f := range []struct {
		flag string
		said bool
	}{{"by", a.BySaid}, {"authority", a.Said.Authority != ""}, {"reference", a.Said.Reference != ""}, {"why", a.Said.Why != "" || a.Said.Corrects == "" && !slices.Contains(more, "why")}} {
		if !f.said {
			missing = append(missing, "--"+f.flag)
		}
	}
	if missing == nil {
		return nil
	}
	return &NotSaid{fmt.Errorf("%s needs %s: who stands for it is printed with the batch ever after", what, joinAnd(missing))}
}

// NotSaid is an act of which something has to be said first.
type NotSaid struct{ error }

// Unwrap is what has to be said.
func (n *NotSaid) Unwrap() error { return n.error }

func notSaid(format string, args ...any) error { return &NotSaid{fmt.Errorf(format, args...)} }

// refusal says before what the register refuses that nothing was recorded.
func (r *Room) refusal(err error) error {
	if x, ok := err.(*register.Refused); ok {
		return fmt.Errorf("not recorded: %w", x)
	}
	return err
}

// outcome is what was done, for people.
func (r *Room) outcome(key register.Key, a *Act, done *register.Done, did func(*register.State, *register.Event) string) *Outcome {
	s := done.States[key]
	o := &Outcome{Register: r.Store.Name(), Batch: s.Batch, Events: done.Events, Known: done.Known == len(done.Events), Holdings: r.Holdings(s), Notes: a.notes, Zone: r.Judge.Zone()}
	if len(done.Events) > 0 {
		o.Did = did(s, done.Events[0])
	}
	if a.Scan != nil {
		for i := range o.Holdings {
			if h := &o.Holdings[i]; o.touches(h) {
				h.Checked = r.Judge.Against(h.Checked, a.Scan)
			}
		}
	}
	if o.Known {
		o.Notes = append(o.Notes, "It was in the register already, by its id: nothing was recorded twice.")
	}
	if a.ByFrom != "" {
		o.Notes = append(o.Notes, whoWords(a.Said.By, a.ByFrom))
	}
	if a.Said.Corrects != "" && !a.TimeSaid && a.At.IsZero() && done.Events[0].Kind != register.KindStruck {
		o.Notes = append(o.Notes, "It stands at the time of what it corrects, as no --at is given.")
	}
	if done.Behind > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("This computer's clock is %s behind the last entry of the register: set it right. The entry says so.", done.Behind))
	}
	return o
}

// touches reports whether an event of the outcome was of a part, as far as that is still
// where the event left it.
func (o *Outcome) touches(h *Holding) bool {
	for _, e := range o.Events {
		container, place := e.Container, e.Place
		switch {
		case e.As != "":
			container = e.As
		case e.To != "":
			place = e.To
		case container == "" && place == "" && slices.Contains(ofAll, e.Kind):
			return true
		}
		if h.Container == container && h.Place == place {
			return true
		}
	}
	return false
}

// ofAll are the kinds that may be of all of a batch.
var ofAll = []register.Kind{register.KindTested, register.KindExtended, register.KindHeld, register.KindFreed, register.KindCondition}

// answer makes the verdict on the parts that were handled the answer: the severest.
func (o *Outcome) answer() {
	for i := range o.Holdings {
		if h := &o.Holdings[i]; o.touches(h) {
			o.Answer = max(o.Answer, h.Checked.Judgement.Verdict)
		}
	}
}

// findLabelled is Find for what a person typed or scanned: a text like S-2207/OPENED that
// is no batch number is the label of a container of the batch S-2207.
func (r *Room) findLabelled(ctx context.Context, a *Act) (register.Key, error) {
	key, err := r.Find(ctx, a.Number, a.Maker)
	p, own := desk.StickerTyped(a.Number)
	if err == nil || a.Scan != nil || !own {
		return key, err
	}
	if found, other := r.makers(ctx, a.Number); other != nil || len(found) > 0 {
		return key, err
	}
	a.Label = &p
	return r.Find(ctx, p.Batch, a.Maker)
}

// inZone is a time for people, on the clocks of the room.
func (r *Room) inZone(w register.When) string { return w.Label(r.Judge.Zone()).String() }

// ended is what a person wrote, with one full stop behind it.
func ended(s string) string { return strings.TrimRight(s, ". ") + "." }

// whoWords say where a name was taken from that nobody said.
func whoWords(by, from string) string {
	return fmt.Sprintf("Who did it is taken from %s: %s. Say another with --by or BEADLINE_BY.", from, by)
}
