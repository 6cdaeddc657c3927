package show

import (
	"fmt"
	"io"
	"strings"
	"time"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// Recorded writes what was recorded of a batch, and how it stands now: what was done in
// one line, what the person has to do, then each part with its verdict, and what the
// record has to say of it.
func Recorded(w io.Writer, o *storeroom.Outcome, u Units) error {
	s := sheet{w: w, u: u}
	first := "RECORDED  "
	if o.Known {
		first = "KNOWN     "
	}
	s.block(first, o.Did)
	for _, t := range o.ToDo {
		s.block("          ", t)
	}
	s.line("")
	s.holdings(o.Holdings)
	s.line("")
	for _, e := range o.Events {
		s.block("Event     ", e.ID)
		s.block("          ", whenWords(e.At, o.Zone)+", by "+e.By)
	}
	s.block("Register  ", o.Register)
	s.bullets("MIND", o.Notes)
	var assumed []string
	for _, h := range o.Holdings {
		assumed = append(assumed, h.Checked.Judgement.Assumed...)
	}
	s.bullets("OF ITS RECORD", once(assumed))
	if len(o.Holdings) > 0 && o.Hands {
		s.bullets("CAUTIONS", o.Holdings[0].Checked.Cautions)
	}
	return s.err
}

// whenWords is when something happened, for people.
func whenWords(at register.When, zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	if at.IsDay() {
		return at.Instant().Format("Mon 2 Jan 2006") + ", hour not said"
	}
	return at.Instant().In(zone).Format("Mon 2 Jan 2006 15:04 MST")
}

// holdings writes the parts of a batch, each with its verdict, and who has freed it.
func (s *sheet) holdings(all []storeroom.Holding) {
	if len(all) == 0 {
		return
	}
	c := all[0].Checked
	s.block("", strings.ToUpper("batch")+" "+which(c)[len("batch "):]+", judged for "+judgedFor(c.Judgement, c.Zone))
	for _, h := range all {
		if !h.Stocked() {
			container := ""
			if h.Container != "" {
				container = " in container " + h.Container
			}
			s.block("  ", "nothing left"+container+atPlace(h.Place))
			continue
		}
		s.block("  ", storeroom.PartWords(h.Part)+reservedWords(h.Part))
		j := h.Checked.Judgement
		s.block(fmt.Sprintf("      %-10s  ", loud[j.Verdict]), inOneLine(j))
		if j.Verdict == 1 {
			s.block("                  ", toSettle(j.Governing))
		}
		for _, l := range j.Limits {
			if l.Freed {
				s.block("      freed       ", l.Reason)
			}
		}
	}
}

func atPlace(place string) string {
	if place == "" {
		return ""
	}
	return " at " + place
}

// reservedWords says for which jobs how much of a part is kept.
func reservedWords(p *register.Part) string {
	var all []string
	for _, r := range p.Reserved {
		all = append(all, fmt.Sprintf("%s for job %s", r.Amount, r.Job))
	}
	if all == nil {
		return ""
	}
	return ", reserved: " + strings.Join(all, ", ")
}

// recordedJSON is the shape of what was recorded of a batch.
type recordedJSON struct {
	Register string        `json:"register"`
	Batch    string        `json:"batch"`
	Maker    string        `json:"maker,omitempty"`
	Did      string        `json:"did"`
	Known    bool          `json:"known"` // it was in the register already
	Verdict  string        `json:"verdict"`
	Events   []eventJSON   `json:"events"`
	Holdings []holdingJSON `json:"holdings"`
	ToDo     []string      `json:"to-do"`
	Notes    []string      `json:"notes"`
}

// eventJSON is an event, without what is of its kind alone.
type eventJSON struct {
	ID        string   `json:"id"`
	Seq       int      `json:"seq"`
	Kind      string   `json:"kind"`
	At        string   `json:"at"`
	Recorded  string   `json:"recorded"`
	By        string   `json:"by"`
	Station   string   `json:"station,omitempty"`
	Why       string   `json:"why,omitempty"`
	Authority string   `json:"authority,omitempty"`
	Reference string   `json:"reference,omitempty"`
	Corrects  string   `json:"corrects,omitempty"`
	Container string   `json:"container,omitempty"`
	Place     string   `json:"place,omitempty"`
	To        string   `json:"to,omitempty"`
	As        string   `json:"as,omitempty"`
	Quantity  *float64 `json:"quantity,omitempty"`
	Unit      string   `json:"unit,omitempty"`
	Job       string   `json:"job,omitempty"`
	Mix       string   `json:"mix,omitempty"`
	Joints    []string `json:"joints,omitempty"`
	Training  bool     `json:"training,omitempty"`
	Verdict   string   `json:"verdict,omitempty"` // as answered then
	ClassesOf string   `json:"classes-of,omitempty"`
}

func eventShape(e *register.Event) eventJSON {
	o := eventJSON{ID: e.ID, Seq: e.Seq, Kind: string(e.Kind), At: e.At.String(), Recorded: e.Recorded.UTC().Format("2006-01-02T15:04:05.000Z07:00"),
		By: e.By, Station: e.Station, Why: e.Why, Authority: e.Authority, Reference: e.Reference, Corrects: e.Corrects,
		Container: e.Container, Place: e.Place, To: e.To, As: e.As, Unit: e.Unit, Verdict: e.Verdict, ClassesOf: e.ClassesOf}
	if e.Amount != nil {
		q := e.Amount.Float()
		o.Quantity = &q
	}
	if u := e.Use; u != nil {
		o.Job, o.Mix, o.Joints, o.Training = u.Job, u.Mix, u.Joints, u.Training
	}
	return o
}

// holdingJSON is a part of a batch: where, how much, and the verdict.
type holdingJSON struct {
	Container string         `json:"container,omitempty"`
	Place     string         `json:"place,omitempty"`
	Quantity  *float64       `json:"quantity"` // null: not recorded
	Unit      string         `json:"unit,omitempty"`
	Stocked   bool           `json:"stocked"`
	Reserved  []reservedJSON `json:"reserved"`
	checkJSON
}

type reservedJSON struct {
	Job      string  `json:"job"`
	Mix      string  `json:"mix,omitempty"`
	Quantity float64 `json:"quantity"`
	By       string  `json:"by"`
	At       string  `json:"at"`
}

func holdingShape(h storeroom.Holding) holdingJSON {
	o := holdingJSON{Container: h.Container, Place: h.Place, Unit: h.Unit, Stocked: h.Stocked(), Reserved: []reservedJSON{}, checkJSON: checkShape(h.Checked)}
	if h.Counted {
		q := h.Amount.Float()
		o.Quantity = &q
	}
	for _, r := range h.Part.Reserved {
		o.Reserved = append(o.Reserved, reservedJSON{r.Job, r.Mix, r.Amount.Float(), r.By, r.At.String()})
	}
	return o
}

// RecordedJSON writes what was recorded of a batch for programs.
func RecordedJSON(w io.Writer, o *storeroom.Outcome) error { return writeJSON(w, recordedShape(o)) }

func recordedShape(o *storeroom.Outcome) recordedJSON {
	shape := recordedJSON{Register: o.Register, Batch: o.Batch.Number, Maker: o.Batch.Maker, Did: o.Did, Known: o.Known, Verdict: o.Answer.String(),
		Events: []eventJSON{}, Holdings: []holdingJSON{}, ToDo: list(o.ToDo), Notes: list(o.Notes)}
	for _, e := range o.Events {
		shape.Events = append(shape.Events, eventShape(e))
	}
	for _, h := range o.Holdings {
		shape.Holdings = append(shape.Holdings, holdingShape(h))
	}
	return shape
}
