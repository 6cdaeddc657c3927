package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Arrival is what comes into the store.
type Arrival struct {
	Act
	// Item is what its label says, and what was done with it before.
	Item    shelf.Item
	Receipt register.Receipt
}

// Receive records what comes in, and proposes the verdict on it: papers that are missing,
// and how much of its life must be left when it comes in, count. What comes without a
// certificate is held. A scan that may not say all that the label does is refused: on what
// is recorded now rests all that is answered later.
func (r *Room) Receive(ctx context.Context, a *Arrival) (*Outcome, error) {
	b, err := register.MakeBatch(a.Number, a.Maker)
	if err != nil {
		return nil, err
	}
	if err := r.Judge.Known(a.Item.Class); err != nil {
		return nil, err
	}
	if err := a.Readable(r.Judge); err != nil {
		return nil, err
	}
	notes := r.taken(a)
	others, err := r.makers(ctx, b.Number)
	if err != nil {
		return nil, err
	}
	for _, o := range others {
		if o != b {
			notes = append(notes, fmt.Sprintf("There is a batch %s of %s too: this is taken for another one.", o.Number, orUnnamed(o.Maker)))
		}
	}
	o, err := r.actOn(ctx, b.Key(), &a.Act, register.KindReceived, func(s *register.State) ([]*register.Event, error) {
		e := r.event(&a.Act, register.KindReceived)
		e.Container, e.Place = a.Which.Container, a.spelled(s, a.Which.Place)
		receipt := a.Receipt
		receipt.Label = a.Item
		e.Receipt = &receipt
		e.Verdict = verdictWords(r.arriving(a, e).Judgement)
		if hold := r.tooOld(a, e); hold != nil {
			return []*register.Event{e, hold}, nil
		}
		return []*register.Event{e}, nil
	}, func(_ *register.State, e *register.Event) string {
		return fmt.Sprintf("Received %s of %s%s.", e.Amount.Words(e.Unit), b, atPlace(e.Place))
	})
	if err != nil {
		return nil, err
	}
	o.Notes = append(notes, o.Notes...)
	if len(o.Events) > 1 {
		o.Notes = append(o.Notes, "What --receipt asks for is no rule of the class, so a hold of its own is recorded: it stands for whoever asks later.")
	}
	o.answer()
	switch o.Answer {
	case shelf.Hold:
		o.ToDo = append(o.ToDo, "Put it where held stock stands, and tag it.")
	case shelf.Reject:
		o.ToDo = append(o.ToDo, "Do not put it into stock: set it aside and tag it.")
	}
	return o, nil
}

// tooOld is the hold of what has less of its life left than was asked for at its receipt;
// nil: it has enough, or nobody asked. The rule of the class needs none: it is asked again
// each time.
func (r *Room) tooOld(a *Arrival, received *register.Event) *register.Event {
	if r.Judge.Receipt == (shelf.ReceiptRule{}) {
		return nil
	}
	it := a.Item
	it.Received = shelf.Receipt{On: received.At.Label(r.Judge.Zone())}
	for _, l := range r.Judge.Full(it).Limits {
		if l.Name != shelf.LimitReceipt || !l.Past || !l.Counts {
			continue
		}
		hold := *received
		hold.Kind, hold.Why, hold.Amount, hold.Unit, hold.Receipt, hold.Verdict, hold.Corrects = register.KindHeld, strings.TrimSuffix(l.Reason, "."), nil, "", nil, "", ""
		if hold.ID != "" {
			hold.ID += "-hold"
		}
		return &hold
	}
	return nil
}

// taken fills in what nobody said, and says so.
func (r *Room) taken(a *Arrival) (notes []string) {
	if a.Receipt.Certificate == "" && !a.Item.Received.NoPapers {
		a.Item.Received.NoPapers = true
		notes = append(notes, "No certificate is named, so it counts as come without papers: free it once they are here (beadline stock free), or correct this with --corrects and --certificate.")
	}
	if a.Said.Unit == "" {
		a.Said.Unit = r.packWord(a.Item.Class)
		notes = append(notes, fmt.Sprintf("The quantity counts in %ss, as no --unit is given.", a.Said.Unit))
	}
	if a.Which.Place == "" {
		notes = append(notes, "No --place is given: where it stands is not recorded.")
	}
	return notes
}

// Readable refuses a scan that leaves a doubt of what the label says. It can be asked
// before the register is opened, so that what is refused makes none.
func (a *Arrival) Readable(j *desk.Judge) error {
	if a.Scan == nil {
		return nil
	}
	if p, own := desk.StickerOf(a.Scan); own {
		return notSaid("this is the label of a container that was %s, not the maker's: scan the maker's, or type it: --batch, --dom, --expiry, --class", p.State)
	}
	for _, l := range j.Scanned(a.Item, a.Scan).Judgement.Limits {
		if l.Name == desk.LimitScan {
			return notSaid("the scan is in doubt, so nothing is recorded: %s Type the label: --batch, --dom, --expiry, --class", l.Reason)
		}
	}
	return nil
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
