package register

import (
	"slices"
	"time"

	"beadline/catalog/shelf"
)

// State is a batch as its line of events leaves it. It is worked out anew from the events
// each time, on the clocks of one zone.
type State struct {
	Batch  Batch
	Key    Key
	Head   Head
	Events []*Event // all, as recorded
	Parts  []*Part  // in order of container and place; those that are used up too
	// Problems are what cannot be: none but in a register that was tampered with, or
	// written to by other means. A batch with one is held.
	Problems []Problem
	// Corrected are the events that a later one stands in for, or strikes, by id.
	Corrected map[string]*Event

	zone *time.Location // whose clocks it was worked out on
}

// Exists reports whether anything is recorded of the batch.
func (s *State) Exists() bool { return len(s.Events) > 0 }

// Part is what of a batch has had one fate: the packs at one place, or one container.
type Part struct {
	Container, Place string

	Amount  Amount // meaningful if Counted
	Counted bool
	Unit    string
	// Item is what its limits are worked out from.
	Item shelf.Item
	// Said is what the record of it does not explain, a sentence each.
	Said     []string
	Receipt  *Receipt
	Reserved []Reservation
	Stays    []Stay // where it was, in order; what was put together was at all of them
	Scrapped bool
	Taken    *Event // the last event that took something of it; nil: none did

	base      shelf.Item
	own       []*Event // those that move its limits
	wentInto  *Part    // the part that it was moved to, or became
	fromStart When
	came      *Event   // the last arrival of something of it
	arrivals  []*Event // all of them
	lost      []string // what no longer helps it since something was put to it
}

// Stocked reports whether something of it is left.
func (p *Part) Stocked() bool {
	return !p.Scrapped && (!p.Counted || p.Amount > 0)
}

// Free is how much of it is not kept for a job other than the one named.
func (p *Part) Free(job string) Amount {
	left := p.Amount
	for _, r := range p.Reserved {
		if r.Job != job {
			left -= r.Amount
		}
	}
	return max(left, 0)
}

// Own are the events that moved its limits, of it alone or of what it came from, in the
// order in which they happened; those of all of the batch are not among them.
func (p *Part) Own() []*Event { return slices.Clone(p.own) }

// Reservation is what of a part is kept for a job.
type Reservation struct {
	Job, Mix string
	Amount   Amount
	By       string
	At       When
}

// Stay is how long a part was at a place. To is zero where it still is.
type Stay struct {
	Place    string
	From, To When
}

// Problem is what cannot be, and the event that says so.
type Problem struct {
	Event *Event
	Text  string
}

// Part finds a part by its container and place.
func (s *State) Part(container, place string) *Part {
	for _, p := range s.Parts {
		if p.Container == container && p.Place == place && p.wentInto == nil {
			return p
		}
	}
	return nil
}

// Event finds an event by its id.
func (s *State) Event(id string) *Event {
	for _, e := range s.Events {
		if e.ID == id {
			return e
		}
	}
	return nil
}

// OtherLabel says in what the label of what was received differs from that of more of the
// batch, which came in under another container number; "": in nothing that is printed.
func (s *State) OtherLabel(received *Event) string {
	for _, e := range s.Events {
		if e.Kind != KindReceived || e.ID == received.ID || s.Corrected[e.ID] != nil || e.Receipt == nil {
			continue
		}
		for _, d := range printed(&e.Receipt.Label, &received.Receipt.Label) {
			if d.a != d.b {
				return d.words()
			}
		}
	}
	return ""
}

// Last is when the last event was recorded; zero if there is none.
func (s *State) Last() time.Time {
	if len(s.Events) == 0 {
		return time.Time{}
	}
	return s.Events[len(s.Events)-1].Recorded
}
