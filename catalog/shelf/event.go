package shelf

import (
	"cmp"
	"slices"

	"github.com/rickb777/date/period"

	"beadline/catalog/label"
)

// EventKind is what happened to a batch.
type EventKind string

// The kinds of event, in the order in which those of one moment are taken.
const (
	EventReceived  EventKind = "received"  // it came into the store; NoPapers
	EventStored    EventKind = "stored"    // how it was kept for a while; Storage
	EventThawed    EventKind = "thawed"    // it left the freezer
	EventRefrozen  EventKind = "refrozen"  // it went back
	EventOpened    EventKind = "opened"    // its pack was opened
	EventInstalled EventKind = "installed" // it was fitted to the aircraft
	EventTested    EventKind = "tested"    // Passed, Results; To or Span where more life is given at once
	EventExtended  EventKind = "extended"  // the authority gives more life after a passed test; To or Span
	EventCondition EventKind = "condition" // something is wrong with it; Condition
	EventHeld      EventKind = "held"      // set aside; Note says why
	EventFreed     EventKind = "freed"     // a hold is lifted; Limit says which
	EventDrawn     EventKind = "drawn"     // some of it was taken out; moves no limit
	EventCounted   EventKind = "counted"   // it was seen in the store; moves no limit
	EventScrapped  EventKind = "scrapped"  // out of stock for good; Note says why
)

var eventKinds = []EventKind{
	EventReceived, EventStored, EventThawed, EventRefrozen, EventOpened, EventInstalled, EventTested, EventExtended,
	EventCondition, EventHeld, EventFreed, EventDrawn, EventCounted, EventScrapped,
}

// ParseEventKind finds a kind of event by its word.
func ParseEventKind(word string) (EventKind, error) {
	if slices.Contains(eventKinds, EventKind(word)) {
		return EventKind(word), nil
	}
	var known []string
	for _, k := range eventKinds {
		known = append(known, string(k))
	}
	return "", unknownWord(word, "an event", known)
}

// Event is one thing that happened to a batch. Which fields mean something depends on
// its kind; the others are not read.
type Event struct {
	Kind      EventKind
	When      label.Date // zero: not recorded, which is always taken against the batch
	By        string     // who did it
	Authority string     // under whose authority: tested, extended, freed
	Reference string     // the report or order: tested, extended, freed
	Note      string

	NoPapers  bool          // received: without a certificate
	Storage   Storage       // stored
	Passed    bool          // tested
	Results   string        // tested: what was measured
	To        label.Date    // tested, extended: the last day that the authority gives
	Span      period.Period // tested, extended: or for how long
	Limit     Name          // freed: the hold that is lifted
	Condition Condition     // condition: what is wrong
}

// inTime is the events in the order of their times, however they were listed; those
// without a time come last.
func inTime(events []Event) []Event {
	own := slices.Clone(events)
	slices.SortStableFunc(own, func(a, b Event) int { return compareEvents(&a, &b) })
	return own
}

func compareEvents(a, b *Event) int {
	return cmp.Or(truth(a.When.IsZero())-truth(b.When.IsZero()), compareDates(a.When, b.When),
		slices.Index(eventKinds, a.Kind)-slices.Index(eventKinds, b.Kind), cmp.Compare(a.Kind, b.Kind),
		cmp.Compare(a.By, b.By), cmp.Compare(a.Authority, b.Authority), cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.Note, b.Note),
		truth(a.NoPapers)-truth(b.NoPapers), compareStorage(&a.Storage, &b.Storage),
		truth(a.Passed)-truth(b.Passed), cmp.Compare(a.Results, b.Results), compareDates(a.To, b.To), comparePeriods(a.Span, b.Span),
		cmp.Compare(a.Limit, b.Limit), cmp.Compare(a.Condition, b.Condition))
}
