package register

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// How a line of events becomes a State. Events are taken in the order in which they
// happened, those of one instant in the order in which they were recorded; an event that
// a later one corrects is left out. Of a day whose hour is not known a receipt is taken
// at its start and all else at its end, or at the moment it was recorded if that was the
// same day, by the clocks of the place. A correction of the same time as what it stands in
// for takes its place.

// Fold works out a batch from its events, on the clocks of a zone; nil is UTC.
func Fold(key Key, events []*Event, zone *time.Location) *State {
	f := newFold(key, events, zone)
	for _, e := range f.inOrder() {
		f.take(e)
	}
	f.finish()
	return f.State
}

func newFold(key Key, events []*Event, zone *time.Location) *fold {
	if zone == nil {
		zone = time.UTC
	}
	b, _ := key.Batch()
	return &fold{State: &State{Batch: b, Key: key, Events: events, Corrected: map[string]*Event{}, zone: zone}, order: map[*Event]int{}}
}

// foldBefore is Fold up to an event of the list: what comes before it in time, without
// what it corrects.
func foldBefore(key Key, events []*Event, at *Event, zone *time.Location) *State {
	f := newFold(key, events, zone)
	order := f.inOrder()
	f.Problems = slices.DeleteFunc(f.Problems, func(x Problem) bool { return x.Event == at })
	for _, e := range order {
		if e == at {
			break
		}
		f.take(e)
	}
	f.finish()
	return f.State
}

type fold struct {
	*State
	common []*Event // of all of the batch, what comes in later too
	order  map[*Event]int
}

func (f *fold) problem(e *Event, format string, args ...any) {
	f.Problems = append(f.Problems, Problem{e, fmt.Sprintf(format, args...)})
}

// inOrder is the events that stand, in the order in which they happened.
func (f *fold) inOrder() []*Event {
	for _, e := range f.Events {
		if e.Corrects != "" {
			old := f.Event(e.Corrects)
			switch {
			case old == nil || old.Seq >= e.Seq:
				f.problem(e, "it corrects the event %s, which is not before it on this line", e.Corrects)
			case old.Kind == KindStruck:
				f.problem(e, "the event %s strikes another, and that stands: record what happened anew", e.Corrects)
			case f.Corrected[e.Corrects] != nil:
				f.problem(e, "the event %s is corrected twice: correct the correction %s", e.Corrects, f.Corrected[e.Corrects].ID)
			default:
				f.Corrected[e.Corrects] = e
			}
		}
	}
	var stand []*Event
	for _, e := range f.Events {
		if f.Corrected[e.ID] == nil && e.Kind != KindStruck {
			stand = append(stand, e)
		}
	}
	slices.SortStableFunc(stand, func(a, b *Event) int {
		a, b = f.placeOf(a), f.placeOf(b)
		return cmp.Or(happened(a).Compare(happened(b)), a.Seq-b.Seq)
	})
	return stand
}

// placeOf is the event whose place in time one has: what it stands in for, if both are of
// one time.
func (f *fold) placeOf(e *Event) *Event {
	for e.Corrects != "" {
		old := f.Event(e.Corrects)
		if old == nil || old.Seq >= e.Seq || old.At.String() != e.At.String() || (old.Kind == KindReceived) != (e.Kind == KindReceived) {
			break
		}
		e = old
	}
	return e
}

// happened is the instant by which an event is put in order.
func happened(e *Event) time.Time {
	if !e.At.IsDay() {
		return e.At.Instant()
	}
	y, m, d := e.At.Instant().Date()
	zone := zoneNamed(e.Zone)
	start, end := time.Date(y, m, d, 0, 0, 0, 0, zone), time.Date(y, m, d+1, 0, 0, 0, 0, zone)
	switch {
	case e.Kind == KindReceived:
		return start
	case !e.Recorded.Before(start) && e.Recorded.Before(end):
		return e.Recorded
	}
	return end.Add(-time.Second)
}

// take takes one event in.
func (f *fold) take(e *Event) {
	f.order[e] = len(f.order)
	if e.Kind == KindReceived {
		f.received(e)
		return
	}
	if _, isBatch := f.Key.Batch(); !isBatch || e.Kind == KindClasses {
		if isBatch || e.Kind != KindClasses {
			f.problem(e, "%s is no event of the %s", e.Kind, f.Key)
		}
		return
	}
	if e.Container == "" && e.Place == "" && slices.Contains(ofAll, e.Kind) {
		f.common = append(f.common, e)
		if len(f.Parts) == 0 {
			f.problem(e, "nothing of the batch was there yet")
		}
		return
	}
	p := f.Part(e.Container, e.Place)
	if p == nil {
		f.problem(e, "%s", f.notThere(e))
		return
	}
	switch e.Kind {
	case KindMoved:
		f.moved(e, p)
	case KindOpened, KindThawed, KindRefrozen:
		f.handled(e, p)
	case KindDrawn:
		f.drawn(e, p)
	case KindReserved:
		f.reserved(e, p)
	case KindReleased:
		p.release(e.Use.jobOf(), MaxAmount)
	case KindCounted:
		f.counted(e, p)
	case KindScrapped:
		f.scrapped(e, p)
	default:
		p.own = append(p.own, e)
	}
}

// ofAll are the kinds that may be of all of the batch.
var ofAll = []Kind{KindTested, KindExtended, KindHeld, KindFreed, KindStored, KindCondition}

// notThere says why a part is not found.
func (f *fold) notThere(e *Event) string {
	what := partWords(e.Container, e.Place)
	for _, o := range f.Events {
		if o.Kind == KindReceived && f.Corrected[o.ID] == nil && happened(o).After(happened(e)) && (o.Place == e.Place || o.Container == e.Container) {
			return fmt.Sprintf("there was nothing of it %s yet: it was received %s", what, o.At)
		}
	}
	for _, p := range f.Parts {
		if p.Container == e.Container && p.Place == e.Place && p.wentInto != nil {
			return fmt.Sprintf("there is nothing of it %s any more: it is now %s", what, partWords(p.wentInto.Container, p.wentInto.Place))
		}
	}
	return fmt.Sprintf("there is nothing of it %s", what)
}

// partWords is where a part is, for people: `at cold store`, `in container 2 at cold store`.
func partWords(container, place string) string {
	switch {
	case container == "" && place == "":
		return "at a place that is not recorded"
	case container == "":
		return "at " + place
	case place == "":
		return "in container " + container
	}
	return "in container " + container + " at " + place
}
