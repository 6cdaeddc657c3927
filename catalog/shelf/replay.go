package shelf

import (
	"fmt"
	"slices"

	"beadline/catalog/label"
)

// Replay folds events into an item: what its label says, and what happened since, as
// the inputs of its limits. The events are taken in the order of their times, however
// they are listed; those of one moment in the order of EventKind. Neither it nor the
// events are changed.
//
// What cannot be, such as a hold freed without authority or more life given without a
// test, comes back as a sentence each, and is taken on the safe side: it never helps
// the batch, and where it leaves a doubt the batch is held.
func Replay(it Item, events []Event) (Item, []string) {
	f := folding{it: it, held: it.Held != "", came: map[Name][]label.Date{}}
	if f.held {
		f.came[LimitHeld] = []label.Date{it.HeldOn}
	}
	if it.Condition != 0 {
		f.came[LimitCondition] = []label.Date{it.ConditionOn}
	}
	f.it.Thawed, f.it.Refrozen = slices.Clone(it.Thawed), slices.Clone(it.Refrozen)
	f.it.Tests, f.it.Storage, f.it.Freed = slices.Clone(it.Tests), slices.Clone(it.Storage), slices.Clone(it.Freed)
	ordered := inTime(events)
	f.coverOutings(ordered)
	for i := range ordered {
		f.fold(&ordered[i])
	}
	f.settle()
	return f.it, f.said
}

// folding is an item while events are folded into it.
type folding struct {
	it       Item
	said     []string
	held     bool          // a hold stands that nobody has freed
	extended []int         // tests that an event has given more life by
	undated  map[Name]bool // holds that came up nobody knows when
	// came is when each hold came up, every time; zero: not said.
	came map[Name][]label.Date
}

func (f *folding) say(format string, args ...any) {
	f.said = append(f.said, fmt.Sprintf(format, args...))
}

// fold takes one event in.
func (f *folding) fold(e *Event) {
	if f.it.Scrapped != "" && e.Kind != EventScrapped {
		f.say("%s, though it was scrapped.", e.title())
	}
	switch e.Kind {
	case EventReceived:
		f.received(e)
	case EventStored:
		f.stored(e)
	case EventThawed:
		f.thawed(e)
	case EventRefrozen:
		if e.When.IsZero() {
			f.say("Refrozen, but when is not recorded: it counts as still out.")
			return
		}
		f.it.Refrozen = append(f.it.Refrozen, e.When)
	case EventOpened:
		f.first(&f.it.Opened, e)
	case EventInstalled:
		f.first(&f.it.Installed, e)
	case EventTested:
		f.it.Tests = append(f.it.Tests, Test{On: e.When, Passed: e.Passed, By: e.By, Authority: e.Authority, Reference: e.Reference,
			Results: e.Results, To: e.To, Span: e.Span})
		if e.When.IsZero() && e.Passed {
			f.say("Test passed, but when is not recorded: it gives no more life.")
		}
	case EventExtended:
		f.extend(e)
	case EventCondition:
		f.condition(e)
	case EventHeld:
		f.hold(e.Note, e)
	case EventFreed:
		f.freed(e)
	case EventScrapped:
		f.it.Scrapped = joined(f.it.Scrapped, orUnsaid(e.Note))
	case EventDrawn, EventCounted:
	default:
		f.say("%s is no event that is known: the batch is held.", e.title())
		f.hold(fmt.Sprintf("something happened that the record does not explain: %q", e.Kind), e)
	}
}

// title names an event and its time: "Opened 3 March 2027".
func (e *Event) title() string {
	name := upper(string(e.Kind))
	if !slices.Contains(eventKinds, e.Kind) {
		name = fmt.Sprintf("%q", string(e.Kind))
	}
	if e.When.IsZero() {
		return name
	}
	return name + " " + e.When.String()
}

// orUnsaid is a person's note, or that there is none.
func orUnsaid(note string) string {
	if blank(note) {
		return "no reason on record"
	}
	return said(note)
}

func joined(old, more string) string {
	if old == "" {
		return more
	}
	return said(old) + "; " + more
}

// received: of more than one arrival the last counts, with the least life left.
func (f *folding) received(e *Event) {
	f.it.Received.NoPapers = f.it.Received.NoPapers || e.NoPapers
	switch old := f.it.Received.On; {
	case e.When.IsZero():
		f.say("Received, but when is not recorded.")
		return
	case !old.IsZero() && compareDates(old, e.When) != 0:
		f.say("Received more than once: the last counts.")
		if compareDates(old, e.When) > 0 {
			return
		}
	}
	f.it.Received.On = e.When
}

func (f *folding) stored(e *Event) {
	st := e.Storage
	st.Notes = slices.Clone(st.Notes)
	if st.From.IsZero() && st.To.IsZero() {
		st.From = e.When
	}
	if blank(st.Where) {
		st.Where = e.Note
	}
	if st.From.IsZero() && st.To.IsZero() {
		f.say("Stored, but when is not recorded.")
		f.lost(LimitStorageBounds)
	}
	f.it.Storage = append(f.it.Storage, st)
}

func (f *folding) thawed(e *Event) {
	if f.it.ThawCount > len(f.it.Thawed) || e.When.IsZero() {
		f.it.ThawCount = f.it.thawed() + 1
	}
	if e.When.IsZero() {
		f.say("Thawed, but when is not recorded: it counts as one thaw more, of unknown length.")
		if f.it.outUsed() > 0 { // which would pass for the time of that thaw too
			f.hold("thawed, but when and for how long is not recorded", e)
		}
		return
	}
	f.it.Thawed = append(f.it.Thawed, e.When)
}

// coverOutings says which thaws a sum on the container covers: those before the events
// of this record.
func (f *folding) coverOutings(events []Event) {
	if f.it.outUsed() == 0 || !f.it.OutAsOf.IsZero() {
		return
	}
	if n := len(f.it.Thawed); n > 0 {
		f.it.OutAsOf = slices.MaxFunc(f.it.Thawed, compareDates)
		return
	}
	for _, e := range events {
		if e.Kind == EventThawed && !e.When.IsZero() {
			f.it.OutAsOf = e.When
			return
		}
	}
}

// first is for what counts from its first time: opened, fitted.
func (f *folding) first(at *label.Date, e *Event) {
	switch {
	case e.When.IsZero():
		f.say("%s, but when is not recorded: the batch is held.", e.title())
		f.hold(string(e.Kind)+", but when is not recorded", e)
	case at.IsZero() || compareDates(e.When, *at) < 0:
		*at = e.When
	}
}

// extend gives the passed test that an extension rests on what the authority has said.
func (f *folding) extend(e *Event) {
	if e.When.IsZero() {
		f.say("Extended, but when is not recorded: it gives no more life.")
		return
	}
	best := -1
	for i := range f.it.Tests {
		x := &f.it.Tests[i]
		if x.Passed && !x.On.IsZero() && follows(e.When, x.On) && (best < 0 || compareTests(x, &f.it.Tests[best]) > 0) {
			best = i
		}
	}
	switch {
	case best < 0:
		f.say("%s, but no test passed before it is on record: it gives no more life.", e.title())
		return
	case slices.Contains(f.extended, best):
		f.say("%s, but the last test had given its extension already: it gives no more life.", e.title())
		return
	}
	f.extended = append(f.extended, best)
	x := &f.it.Tests[best]
	x.Given = e.When
	if !e.To.IsZero() || !e.Span.IsZero() {
		x.To, x.Span = e.To, e.Span
	}
	if !blank(e.Authority) {
		x.Authority = e.Authority
	}
	if !blank(e.Reference) {
		x.Reference = e.Reference
	}
	if !x.complete() {
		f.say("%s, but it gives no more life: not on record: %s.", e.title(), list(x.lacks()))
	}
}

func (f *folding) condition(e *Event) {
	if e.Condition == 0 {
		f.say("%s, but what is wrong is not recorded: the batch is held.", e.title())
		f.hold("something was wrong with it; what is not recorded", e)
		return
	}
	f.it.Condition |= e.Condition
	f.came[LimitCondition] = append(f.came[LimitCondition], e.When)
	if e.When.IsZero() {
		f.lost(LimitCondition)
		return
	}
	if f.it.ConditionOn.IsZero() || compareDates(e.When, f.it.ConditionOn) > 0 {
		f.it.ConditionOn = e.When
	}
}

// hold sets the batch aside. A reason that was freed makes way for the new one.
func (f *folding) hold(note string, e *Event) {
	if f.held {
		f.it.Held = joined(f.it.Held, orUnsaid(note))
	} else {
		f.it.Held = orUnsaid(note)
	}
	f.held = true
	f.came[LimitHeld] = append(f.came[LimitHeld], e.When)
	if e.When.IsZero() {
		f.lost(LimitHeld)
		return
	}
	if f.it.HeldOn.IsZero() || compareDates(e.When, f.it.HeldOn) > 0 {
		f.it.HeldOn = e.When
	}
}

// lost notes a hold that nobody knows when it came up: no freeing can be said to have
// come after it.
func (f *folding) lost(l Name) {
	if f.undated == nil {
		f.undated = map[Name]bool{}
	}
	f.undated[l] = true
}

func (f *folding) freed(e *Event) {
	one := Freed{Limit: e.Limit, On: e.When, By: e.By, Authority: e.Authority, Reference: e.Reference, Why: e.Note}
	switch why := one.lifts(&mark{rule: heldRule{}}, &Item{}, &asked{on: lastDay(e.When)}); {
	case !slices.Contains(Freeable(), e.Limit):
		f.say("%s, but %s is not lifted so: that takes a test or a corrected record, or nothing.", e.title(), orNothing(e.Limit))
	case why != lifted:
		f.say("%s (%s), which does not count: %s.", e.title(), e.Limit, why.text(&one, label.Date{}))
	default:
		f.it.Freed = append(f.it.Freed, one)
		f.held = f.held && e.Limit != LimitHeld
	}
}

func orNothing(l Name) string {
	if l == "" {
		return "a hold that is not named"
	}
	return string(l)
}

// settle looks at the whole once every event is in.
func (f *folding) settle() {
	all := slices.Clone(f.it.Freed)
	f.it.Freed = slices.DeleteFunc(f.it.Freed, func(one Freed) bool {
		switch {
		case f.undated[one.Limit]:
			f.say("Freed%s (%s), but when it was last held is not recorded: the hold stands.", on(one.On), one.Limit)
		case f.againThatDay(&one, all):
			f.say("Freed%s (%s), but it was held again that day, and which came first is not recorded: the hold stands.", on(one.On), one.Limit)
		default:
			return false
		}
		return true
	})
	if len(f.it.Refrozen) > 0 && outingsOf(&f.it, &asked{}).unpaired {
		f.say("What left the freezer and what went back do not pair: the batch is held.")
	}
}

// againThatDay reports whether a hold that had stood since an earlier day came up again
// on the day it was freed, and the hours do not say which came first.
func (f *folding) againThatDay(one *Freed, all []Freed) bool {
	_, exact := one.On.Clock()
	same := false
	for _, h := range f.came[one.Limit] {
		_, hour := h.Clock()
		same = same || !h.IsZero() && !h.First().After(lastDay(one.On)) && !lastDay(h).Before(one.On.First()) && !(hour && exact)
	}
	if !same {
		return false
	}
	var since label.Date // freed last before that day
	for i := range all {
		if o := &all[i]; o.Limit == one.Limit && lastDay(o.On).Before(one.On.First()) && compareDates(o.On, since) > 0 {
			since = o.On
		}
	}
	for _, h := range f.came[one.Limit] {
		if h.IsZero() || lastDay(h).Before(one.On.First()) && (since.IsZero() || !follows(since, h)) {
			return true
		}
	}
	return false
}
