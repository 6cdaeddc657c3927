package storeroom

import (
	"context"
	"fmt"
	"slices"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Arrival is what comes into the store.
type Arrival struct {
	Act
	// Item is what its label says, and what was done with it before. Received.On, if not
	// zero, is when it came.
	Item    shelf.Item
	Scan    *scan.Scan // its label as scanned; nil: it was typed
	Receipt register.Receipt
}

// Receive records what comes in, and proposes the verdict on it: papers that are missing,
// and how much of its life must be left when it comes in, count. What comes without a
// certificate is held.
func (r *Room) Receive(ctx context.Context, a *Arrival) (*Outcome, error) {
	b, err := register.MakeBatch(a.Number, a.Maker)
	if err != nil {
		return nil, err
	}
	if err := r.Judge.Known(a.Item.Class); err != nil {
		return nil, err
	}
	e := r.event(&a.Act, register.KindReceived)
	e.Container, e.Place = a.Which.Container, a.Which.Place
	if at := a.Item.Received.On; !at.IsZero() {
		if e.At, err = whenOf(at, r); err != nil {
			return nil, fmt.Errorf("--received %w", err)
		}
	}
	var notes []string
	if a.Receipt.Certificate == "" && !a.Item.Received.NoPapers {
		a.Item.Received.NoPapers = true
		notes = append(notes, "No certificate is named, so it counts as come without papers: give --certificate, or free it once the papers are here.")
	}
	if e.Unit == "" {
		e.Unit = r.packWord(a.Item.Class)
		notes = append(notes, fmt.Sprintf("The quantity counts in %ss, as no --unit is given.", e.Unit))
	}
	if e.Place == "" {
		notes = append(notes, "No --place is given: where it stands is not recorded.")
	}
	receipt := a.Receipt
	receipt.Label = a.Item
	e.Receipt = &receipt
	judged := r.arriving(a, e)
	e.Verdict = verdictWords(judged.Judgement)
	others, err := r.makers(ctx, b.Number)
	if err != nil {
		return nil, err
	}
	for _, o := range others {
		if o != b {
			notes = append(notes, fmt.Sprintf("There is a batch %s of %s too: this is taken for another one.", o.Number, orUnnamed(o.Maker)))
		}
	}
	o, err := r.actOn(ctx, b.Key(), &a.Act, register.KindReceived, func(*register.State) ([]*register.Event, error) {
		own := *e
		return []*register.Event{&own}, nil
	}, func(_ *register.State, e *register.Event) string {
		return fmt.Sprintf("Received %s of %s%s.", e.Amount.Words(e.Unit), b, atPlace(e.Place))
	})
	if err != nil {
		return nil, err
	}
	o.Notes = append(notes, o.Notes...)
	if a.Scan != nil {
		for i := range o.Holdings {
			o.Holdings[i].Checked = r.Judge.Against(o.Holdings[i].Checked, a.Scan)
		}
	}
	for _, h := range o.Holdings {
		o.Answer = max(o.Answer, h.Checked.Judgement.Verdict)
	}
	switch o.Answer {
	case shelf.Hold:
		o.ToDo = append(o.ToDo, "Put it where held stock stands, and tag it.")
	case shelf.Reject:
		o.ToDo = append(o.ToDo, "Do not put it into stock: set it aside and tag it.")
	}
	return o, nil
}

// arriving judges what comes in before it is recorded.
func (r *Room) arriving(a *Arrival, e *register.Event) desk.Checked {
	it := a.Item
	it.Received.On = e.At.Label(r.Judge.Zone())
	if a.Scan != nil {
		return r.Judge.Scanned(it, a.Scan)
	}
	return r.Judge.Item(it)
}

// whenOf is a date on a label, or typed, as the time of an event.
func whenOf(d label.Date, r *Room) (register.When, error) {
	switch d.Precision() {
	case label.Minute:
		at, err := desk.Instant(d.Canonical(), r.Judge.Zone())
		return register.AtInstant(at), err
	case label.Day:
		return register.OnDay(d.First()), nil
	}
	return register.When{}, fmt.Errorf("%s: say the day", d)
}

// verdictWords is a verdict with the limit that governs it: "use: label-expiry 2027-06-30".
func verdictWords(j shelf.Judgement) string {
	say := j.Verdict.String() + ": " + string(j.Governing.Name)
	if j.Governing.Dated {
		say += " " + j.Governing.Date.String()
	}
	return say
}

// packWord is what the packs of a class are counted in, where nobody says (common
// practice, no source).
func (r *Room) packWord(class string) string {
	cl, err := r.Judge.Class(class)
	switch {
	case err != nil:
	case cl.Kind == catalog.TwoPart:
		return "kit"
	case slices.Contains([]catalog.Kind{catalog.PremixedFrozen, catalog.OnePartMoisture}, cl.Kind):
		return "cartridge"
	}
	return "container"
}

func atPlace(place string) string {
	if place == "" {
		return ""
	}
	return " at " + place
}
