package register

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
)

// Kind is what happened.
type Kind string

// The kinds of event. Those from Received to Condition are what package shelf calls by
// the same names, where it has them.
const (
	KindReceived  Kind = "received"  // it came into the store
	KindMoved     Kind = "moved"     // from a place to another
	KindOpened    Kind = "opened"    // a pack was opened
	KindThawed    Kind = "thawed"    // it left the freezer
	KindRefrozen  Kind = "refrozen"  // it went back
	KindTested    Kind = "tested"    // of its condition
	KindExtended  Kind = "extended"  // the authority gives more life
	KindHeld      Kind = "held"      // set aside
	KindFreed     Kind = "freed"     // a hold is lifted
	KindStored    Kind = "stored"    // how it was kept for a while
	KindCondition Kind = "condition" // something is wrong with it
	KindDrawn     Kind = "drawn"     // taken out, for a mix or for training
	KindReserved  Kind = "reserved"  // kept for a job
	KindReleased  Kind = "released"  // no longer kept for a job
	KindCounted   Kind = "counted"   // seen in the store; the count stands
	KindScrapped  Kind = "scrapped"  // out of stock for good
	KindStruck    Kind = "struck"    // an earlier event did not happen; Corrects says which
	KindClasses   Kind = "classes"   // a catalog of classes; of a catalog's line
)

var kinds = []Kind{KindReceived, KindMoved, KindOpened, KindThawed, KindRefrozen, KindTested, KindExtended, KindHeld, KindFreed, KindStored, KindCondition, KindDrawn, KindReserved,
	KindReleased, KindCounted, KindScrapped, KindStruck, KindClasses}

// Event is one thing that happened, as it is recorded: once, and never changed. Which
// fields below the first block mean something depends on its kind.
type Event struct {
	ID       string    `json:"id"`       // of its own; the same id is the same event, however often it is sent
	Key      Key       `json:"line"`     // the line it stands on
	Seq      int       `json:"seq"`      // its place on the line, from 1
	Kind     Kind      `json:"kind"`     // what happened
	At       When      `json:"at"`       // when it happened
	Recorded time.Time `json:"recorded"` // when it was written down; never before the event in front of it
	// Behind is how far the clock that wrote it was behind the event in front, whose
	// time then stands in Recorded; whole seconds.
	Behind  int    `json:"clock-behind-s,omitempty"`
	By      string `json:"by"`                // who did it
	Station string `json:"station,omitempty"` // the computer that wrote it
	Zone    string `json:"zone,omitempty"`    // of the clocks there, such as Atlantic/Faroe

	Why       string `json:"why,omitempty"`
	Authority string `json:"authority,omitempty"` // under whose authority
	Reference string `json:"reference,omitempty"` // the report or order
	// Corrects is the id of the event that this one stands in for, or strikes.
	Corrects string `json:"corrects,omitempty"`

	// Container and Place say which part of the batch. For tested, extended, held,
	// freed and condition both may be "": then it is all of the batch, what comes in later
	// too. For the others they name the part exactly.
	Container string `json:"container,omitempty"`
	Place     string `json:"place,omitempty"`
	To        string `json:"to,omitempty"` // moved: the place it went to
	As        string `json:"as,omitempty"` // opened, thawed: the container number that one of several gets

	// Amount is how much; nil: all of that part, or for received: not counted.
	Amount *Amount `json:"amount,omitempty"`
	Unit   string  `json:"unit,omitempty"`

	Receipt *Receipt     `json:"receipt,omitempty"` // received
	Shelf   *shelf.Event `json:"-"`                 // tested, extended, freed, stored, condition: what they say beyond the above
	Use     *Use         `json:"use,omitempty"`     // drawn, reserved, released
	// Although: drawn, although it is reserved for another job; Why says why.
	Although bool   `json:"although-reserved,omitempty"`
	Verdict  string `json:"verdict,omitempty"` // received, drawn: what was answered then

	Log *Log `json:"log,omitempty"` // stored: the log of the place that it comes from

	// ClassesOf: received, drawn: the class files on the command line that it was judged by, each
	// with the beginning of its SHA-256; "": none but the built-in classes and the register's.
	ClassesOf string `json:"classes-of,omitempty"`

	Catalog string `json:"catalog,omitempty"` // classes: the file's text; "": taken away
}

// Receipt is what came in, and with which papers.
type Receipt struct {
	// Label is what the label says and what is known of the batch when it comes in. Its
	// batch, container and the day it came in are those of the event.
	Label shelf.Item `json:"-"`

	GTIN        string `json:"gtin,omitempty"`
	MakerBatch  string `json:"maker-batch,omitempty"` // the maker's own, where the number is the supplier's
	Supplier    string `json:"supplier,omitempty"`
	Order       string `json:"order,omitempty"`
	Certificate string `json:"certificate,omitempty"`
	Pack        string `json:"pack,omitempty"`   // of one pack: "130 ml cartridge"
	Source      string `json:"source,omitempty"` // the list and line it was imported from
}

// Log is the record of a store's logger, of which a stretch is in the event's Storage. The
// readings are not kept: its name and hash say which file to look for.
type Log struct {
	Name     string    `json:"name"`
	SHA256   string    `json:"sha256"`
	Place    string    `json:"place"`
	First    time.Time `json:"first"` // reading of the log
	Last     time.Time `json:"last"`
	Readings int       `json:"readings"` // in all of it
	// From and To are the stretch: when what the event is of lay there, within the log.
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// Use is what something was drawn or reserved for.
type Use struct {
	Job      string   `json:"job,omitempty"`
	Mix      string   `json:"mix,omitempty"`
	Joints   []string `json:"joints,omitempty"`
	Training bool     `json:"training,omitempty"` // never for an aircraft
	Until    When     `json:"until,omitzero"`     // what it had to outlast
}

// maxBody is how many bytes a body may have; a catalog of classes is the longest.
const maxBody = 8 << 20

// wire is an event as JSON.
type wire struct {
	*Event
	Recorded string          `json:"recorded"`
	Label    json.RawMessage `json:"label,omitempty"`
	Shelf    json.RawMessage `json:"shelf,omitempty"`
}

// encode makes the body of an event: the same event makes the same bytes.
func (e *Event) encode() ([]byte, error) {
	w := wire{Event: e, Recorded: e.Recorded.UTC().Format(instantLayout)}
	var err error
	if e.Receipt != nil {
		it := e.Receipt.Label
		it.Batch, it.Container, it.Received.On = "", "", label.Date{} // they are the event's
		if w.Label, err = inputs.Encode(it); err != nil {
			return nil, err
		}
	}
	if e.Shelf != nil {
		se := *e.Shelf
		se.Kind = shelf.EventKind(e.Kind)
		if w.Shelf, err = inputs.EncodeEvent(se); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(w); err != nil {
		return nil, err
	}
	body := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	if len(body) > maxBody {
		return nil, fmt.Errorf("the event is %d bytes long: at most %d can be recorded", len(body), maxBody)
	}
	return body, nil
}

// decode reads a body. Unknown keys are an error: they are not to be passed over in
// silence by a Beadline that is too old for them.
func decode(body []byte) (*Event, error) {
	if e, ok := decodeQuick(body); ok {
		return e, nil
	}
	return decodeAny(body)
}

// decodeAny is decode for any form of JSON, and says what is wrong with it.
func decodeAny(body []byte) (*Event, error) {
	e := &Event{}
	w := wire{Event: e}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(&w); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("something follows the event")
	}
	var err error
	if e.Recorded, err = time.Parse(instantLayout, w.Recorded); err != nil {
		return nil, fmt.Errorf("recorded: %q is not an instant", w.Recorded)
	}
	if w.Label != nil && e.Receipt != nil {
		if e.Receipt.Label, err = inputs.Decode(w.Label); err != nil {
			return nil, fmt.Errorf("label: %w", err)
		}
	}
	if w.Shelf != nil {
		se, err := inputs.DecodeEvent(w.Shelf)
		if err != nil {
			return nil, fmt.Errorf("shelf: %w", err)
		}
		e.Shelf = &se
	}
	if !slices.Contains(kinds, e.Kind) {
		return nil, fmt.Errorf("%q is no event that this Beadline knows: use the one that wrote it, or a newer one", e.Kind)
	}
	return e, nil
}

// shelfEvent is the event as limits are worked out from it, on the clocks of a zone; ok
// is false for one that moves no limit.
func (e *Event) shelfEvent(zone *time.Location) (se shelf.Event, ok bool) {
	if e.Shelf != nil {
		se = *e.Shelf
	}
	se.Kind, se.When, se.By, se.Authority, se.Reference, se.Note = shelf.EventKind(e.Kind), e.At.Label(zone), e.By, e.Authority, e.Reference, e.Why
	switch e.Kind {
	case KindOpened, KindThawed, KindRefrozen, KindTested, KindExtended, KindHeld, KindFreed, KindStored, KindCondition, KindScrapped:
		return se, true
	}
	return se, false
}

// Title is the event in a few words: "drawn 3 kits".
func (e *Event) Title() string {
	if e.Amount == nil {
		return string(e.Kind)
	}
	return string(e.Kind) + " " + e.Amount.Words(e.Unit)
}
