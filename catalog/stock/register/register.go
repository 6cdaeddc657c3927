package register

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/google/uuid"
)

// Register is a store with the rules of a register: what is recorded must be able to
// have happened, and each event stands once. It is safe for several goroutines.
type Register struct {
	Store Store
	// Clock tells the time of what is recorded; it need not be right, see Event.Behind.
	Clock func() time.Time
	// Zone is where the clocks of answers hang; nil: UTC. Station is the name of this
	// computer.
	Zone    *time.Location
	Station string
}

// Refused is why an event cannot be recorded: a sentence for the person who sent it.
type Refused struct {
	Event *Event
	Text  string
}

func (r *Refused) Error() string { return r.Text }

// Done is what Append recorded.
type Done struct {
	Events []*Event
	// Known is how many of them were in the register already, by their ids.
	Known int
	// States are the lines as they are now.
	States map[Key]*State
	// Behind is how far this computer's clock is behind the register; zero: it is not.
	Behind time.Duration
}

// Load works out a batch from its events, with its chain of hashes checked: one that is
// broken is ErrDamaged. A batch that is not there has no events.
func (r *Register) Load(ctx context.Context, key Key) (*State, error) {
	return r.loadFrom(ctx, r.Store, key)
}

func (r *Register) loadFrom(ctx context.Context, from Reader, key Key) (*State, error) {
	records, err := from.Load(ctx, key)
	if err != nil {
		return nil, err
	}
	events, head, broken := open(key, records)
	if broken != nil {
		return nil, fmt.Errorf("%s: %w: %s: %s", r.Store.Name(), ErrDamaged, key, broken)
	}
	s := Fold(key, events, r.Zone)
	s.Head = head
	return s, nil
}

// Before is a batch as it was at the time of an event that is yet to be recorded: with
// all that comes before it, and without what it corrects. Its Events are all that are
// recorded, its Head is zero.
func (r *Register) Before(s *State, e *Event) *State {
	events, own := r.provisional(s, e)
	then := foldBefore(s.Key, events, own, r.Zone)
	then.Events, then.Head = s.Events, Head{}
	return then
}

// With is a batch as it would be with an event more, which is not recorded.
func (r *Register) With(s *State, e *Event) *State {
	events, _ := r.provisional(s, e)
	return Fold(s.Key, events, r.Zone)
}

// provisional is the events of a batch and one more, as if it were recorded now.
func (r *Register) provisional(s *State, e *Event) ([]*Event, *Event) {
	own := *e
	own.Key, own.Seq, own.Recorded = s.Key, len(s.Events)+1, r.Clock().UTC()
	if last := s.Last(); own.Recorded.Before(last) {
		own.Recorded = last
	}
	return append(slices.Clip(s.Events), &own), &own
}

// Broken is where a line is not as it was written.
type Broken struct {
	Key  Key
	Seq  int    // the first event that is wrong, by its place
	ID   string // its id, as far as it can be told
	What string
}

func (b *Broken) String() string {
	if b.ID == "" {
		return fmt.Sprintf("event %d: %s", b.Seq, b.What)
	}
	return fmt.Sprintf("event %d (%s): %s", b.Seq, b.ID, b.What)
}

// open decodes the records of a line and checks its chain; broken names the first that is
// not as it was written.
func open(key Key, records []Record) (events []*Event, head Head, broken *Broken) {
	head.Key = key
	var before time.Time
	for i, rec := range records {
		bad := func(what string) *Broken { return &Broken{key, i + 1, rec.ID, what} }
		if rec.Seq != i+1 {
			return events, head, bad(fmt.Sprintf("it is missing: the next there is, is event %d", rec.Seq))
		}
		next := head.Hash.Next(rec.Body)
		if next != rec.Hash {
			return events, head, bad("its hash does not follow from its text: it was changed, or one before it was")
		}
		e, err := decode(rec.Body)
		switch {
		case err != nil:
			return events, head, bad(err.Error())
		case e.Key != key || e.Seq != rec.Seq || e.ID != rec.ID:
			return events, head, bad(fmt.Sprintf("it says that it is event %d of %s, id %s", e.Seq, e.Key, e.ID))
		case e.Recorded.Before(before):
			return events, head, bad("it was recorded before the one in front of it")
		}
		before = e.Recorded
		events = append(events, e)
		head.Seq, head.Hash = rec.Seq, rec.Hash
	}
	return events, head, nil
}

// Append records events of one batch: decide is given the batch as it is and says which;
// ids that are there already are not recorded again. Should somebody else write to the
// batch at the same moment, decide is asked again about what it is then, so it must have
// no effects of its own. What cannot have happened is refused, as *Refused; an error of
// decide comes back as it is.
func (r *Register) Append(ctx context.Context, key Key, decide func(*State) ([]*Event, error)) (*Done, error) {
	return r.AppendAll(ctx, func(context.Context) ([]Key, error) { return []Key{key}, nil }, func(lines map[Key]*State) (map[Key][]*Event, error) {
		events, err := decide(lines[key])
		return map[Key][]*Event{key: events}, err
	})
}

// AppendAll is Append for several batches at once, all or nothing: keys says which, anew
// each time.
func (r *Register) AppendAll(ctx context.Context, keys func(context.Context) ([]Key, error), decide func(map[Key]*State) (map[Key][]*Event, error)) (*Done, error) {
	var unsure []*Done // commits of which it is not known whether they came through
	for try := 0; ; try++ {
		if done, err := r.cameThrough(ctx, unsure); done != nil || err != nil {
			return done, err
		}
		done, err := r.attempt(ctx, keys, decide)
		if errors.Is(err, ErrUnknown) {
			unsure = append(unsure, done)
		}
		switch {
		case err == nil:
			return done, nil
		case !errors.Is(err, ErrConflict) && !errors.Is(err, ErrUnknown) && !errors.Is(err, ErrDuplicate):
			return nil, err
		case errors.Is(err, ErrDuplicate) && try > 0:
			// Not on these lines, as then it would have been found.
			return nil, fmt.Errorf("%w, of another batch: send it with an id of its own", err)
		case try >= mostTries:
			return nil, fmt.Errorf("%w, %d times in a row: try again", err, try)
		case len(unsure) >= mostUnknown:
			return nil, fmt.Errorf("%w: look what is recorded before it is sent again", err)
		}
		wait := time.Duration(rand.Int64N(int64(time.Millisecond) << min(try, 6)))
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(wait):
		}
	}
}

// mostTries is how often an append is tried where others write to the same batch;
// mostUnknown, how often it may end without anyone knowing how: a disk that fails once
// fails again.
const (
	mostTries   = 200
	mostUnknown = 10
)

// cameThrough finds the commit that came through after all among those that may have, so
// that what is recorded already is not decided, and recorded, once more.
func (r *Register) cameThrough(ctx context.Context, unsure []*Done) (*Done, error) {
	for _, d := range unsure {
		there := true
		states := map[Key]*State{}
		for k := range d.States {
			s, err := r.Load(ctx, k)
			if err != nil {
				return nil, err
			}
			states[k] = s
		}
		// The same ids may have been sent by several of them: which came through is what the
		// line says.
		recorded := make([]*Event, len(d.Events))
		for i, e := range d.Events {
			recorded[i] = states[e.Key].Event(e.ID)
			there = there && recorded[i] != nil
		}
		if there {
			return &Done{Events: recorded, Known: d.Known, States: states, Behind: d.Behind}, nil
		}
	}
	return nil, nil
}

// attempt is one try of AppendAll. Where the commit failed it says what was to be done.
func (r *Register) attempt(ctx context.Context, keys func(context.Context) ([]Key, error), decide func(map[Key]*State) (map[Key][]*Event, error)) (*Done, error) {
	all, err := keys(ctx)
	if err != nil {
		return nil, err
	}
	lines := map[Key]*State{}
	for _, k := range all {
		if lines[k], err = r.Load(ctx, k); err != nil {
			return nil, err
		}
	}
	wanted, err := decide(lines)
	if err != nil {
		return nil, err
	}
	done := &Done{States: lines}
	var writes []Write
	for _, k := range all {
		w, err := r.admit(lines[k], wanted[k], done)
		if err != nil {
			return nil, err
		}
		if w != nil {
			writes = append(writes, *w)
		}
	}
	if len(writes) == 0 {
		return done, nil
	}
	return done, r.Store.Commit(ctx, writes)
}

// admit makes the write that adds events to a line, if they can have happened. Those that
// are there already by their ids are left out; nil if that is all of them.
func (r *Register) admit(s *State, wanted []*Event, done *Done) (*Write, error) {
	now := r.Clock().UTC().Truncate(time.Millisecond)
	w := &Write{Key: s.Key, After: s.Head}
	w.After.Key = s.Key
	events, head, last := slices.Clone(s.Events), s.Head, s.Last()
	for _, e := range wanted {
		own := *e
		e = &own
		if err := r.complete(e, s.Key, head.Seq+1, now, last); err != nil {
			return nil, &Refused{e, err.Error()}
		}
		if old := s.Event(e.ID); old != nil {
			if !old.same(e) {
				return nil, &Refused{e, fmt.Sprintf("the id %s is that of another event, %s, %s: send this one with an id of its own", e.ID, old.Title(), old.At.words(r.zone()))}
			}
			done.Events, done.Known = append(done.Events, old), done.Known+1
			continue
		}
		done.Behind = max(done.Behind, time.Duration(e.Behind)*time.Second)
		body, err := e.encode()
		if err != nil {
			return nil, &Refused{e, err.Error()}
		}
		head.Seq, head.Hash, last = head.Seq+1, head.Hash.Next(body), e.Recorded
		w.Add = append(w.Add, Record{e.Seq, e.ID, body, head.Hash})
		events = append(events, e)
		done.Events = append(done.Events, e)
	}
	if len(w.Add) == 0 {
		return nil, nil
	}
	after := r.fold(s.Key, events)
	if x := newProblem(s, after); x != nil {
		text := x.Text
		if !slices.ContainsFunc(w.Add, func(a Record) bool { return a.ID == x.Event.ID }) {
			text = fmt.Sprintf("it does not go with what is recorded after it, %s, %s (event %s): %s", x.Event.Title(), x.Event.At.words(r.zone()), x.Event.ID, text)
		}
		if done.Behind > 0 {
			text += fmt.Sprintf(" (this computer's clock is %s behind the register: set it right)", done.Behind)
		}
		return nil, &Refused{x.Event, text}
	}
	after.Head = head
	done.States[s.Key] = after
	projected := after
	if zone := zoneNamed(events[len(events)-1].Zone); after.zone != zone {
		projected = Fold(s.Key, events, zone)
	}
	var err error
	w.Projection, err = projectState(projected)
	w.ServedAsBefore = unchanged(s.served(), w.Served)
	return w, err
}

// fold is Fold on the clocks here. Those are taken by their name, if it is that of the
// last event, so that one fold does for the projection too.
func (r *Register) fold(key Key, events []*Event) *State {
	zone := r.zone()
	if named := zoneNamed(events[len(events)-1].Zone); named.String() == zone.String() {
		zone = named
	}
	return Fold(key, events, zone)
}

func (r *Register) zone() *time.Location {
	if r.Zone == nil {
		return time.UTC
	}
	return r.Zone
}

// slack is how far a time may lie ahead of this computer's clock, as those of two
// computers differ.
const slack = 5 * time.Minute

// complete fills in what the register itself says of an event.
func (r *Register) complete(e *Event, key Key, seq int, now, last time.Time) error {
	if err := e.clean(); err != nil {
		return err
	}
	e.Key, e.Seq, e.Recorded, e.Behind = key, seq, now, 0
	if e.ID == "" {
		id, err := uuid.NewV7()
		if err != nil {
			return err
		}
		e.ID = id.String()
	}
	if e.Station == "" {
		e.Station = r.Station
	}
	if e.Zone == "" {
		e.Zone = r.zone().String()
	}
	if now.Before(last) {
		e.Behind, e.Recorded = int(last.Sub(now).Round(time.Second)/time.Second), last
	}
	switch {
	case e.By == "":
		return errors.New("nobody is named who did it: say who with --by")
	case e.At.IsZero():
		return errors.New("when it happened is not said")
	case e.At.Earliest().After(e.Recorded.Add(slack)):
		return fmt.Errorf("%s has not come yet by this computer's clock, %s", e.At.words(r.zone()), AtInstant(now).words(r.zone()))
	}
	return nil
}

// same reports whether two events of one id say the same, whenever and wherever they were
// recorded.
func (e *Event) same(o *Event) bool {
	a, b := *e, *o
	for _, x := range []*Event{&a, &b} {
		x.Seq, x.Recorded, x.Behind, x.Station, x.Zone, x.Verdict, x.ClassesOf, x.At = 0, time.Time{}, 0, "", "", "", "", When{}
	}
	p, err1 := a.encode()
	q, err2 := b.encode()
	return err1 == nil && err2 == nil && string(p) == string(q)
}

// newProblem is the first problem of a line that it did not have before.
func newProblem(before, after *State) *Problem {
	had := map[string]bool{}
	for _, x := range before.Problems {
		had[x.Event.ID+"\t"+x.Text] = true
	}
	for i, x := range after.Problems {
		if !had[x.Event.ID+"\t"+x.Text] {
			return &after.Problems[i]
		}
	}
	return nil
}
