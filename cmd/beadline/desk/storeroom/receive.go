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
	b, others, err := r.whose(ctx, b)
	if err != nil {
		return nil, err
	}
	notes = append(notes, others...)
	other := ""
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
	}, func(s *register.State, e *register.Event) string {
		other = s.OtherLabel(e)
		return fmt.Sprintf("Received %s of %s%s.", e.Amount.Words(e.Unit), b, atPlace(e.Place))
	})
	if err != nil {
		return nil, err
	}
	o.Notes = append(notes, o.Notes...)
	if other != "" {
		o.Notes = append(o.Notes, fmt.Sprintf("Its label is not that of the rest of this batch: %s. Read both again: one may be wrong, or it is another batch.", other))
	}
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

// whose is the batch that comes in, with its maker spelled as on record; notes name others
// of its number, and what stands against them. Where a number is on record of a maker and
// none is said now, it may be that batch, of which all that is known counts: so it has to
// be said.
func (r *Room) whose(ctx context.Context, b register.Batch) (own register.Batch, notes []string, err error) {
	there, err := r.makers(ctx, b.Number)
	if err != nil || slices.Contains(there, b) {
		return b, nil, err
	}
	if err := r.otherCapitals(ctx, b.Number, len(there) > 0); err != nil {
		return b, nil, err
	}
	for _, o := range there {
		switch {
		case strings.EqualFold(o.Maker, b.Maker):
			return o, []string{fmt.Sprintf("The maker %q is taken for %q, of whom there is a batch %s.", b.Maker, o.Maker, o.Number)}, nil
		case b.Maker == "":
			return b, nil, notSaid("there is a batch %s of %s: say with --maker whose this one is", o.Number, o.Maker)
		}
		say := fmt.Sprintf("There is a batch %s of %s too: this is taken for another one.", o.Number, orUnnamed(o.Maker))
		s, err := r.Load(ctx, o.Key())
		if err != nil {
			return b, nil, err
		}
		for _, h := range r.Holdings(s) {
			if j := h.Checked.Judgement; j.Verdict != shelf.Use {
				say += fmt.Sprintf(" That one stands at %s: %s If they are one batch, strike this and receive it as that one.", j.Verdict, ended(j.Governing.Reason))
				break
			}
		}
		notes = append(notes, say)
	}
	return b, notes, nil
}

// otherCapitals refuses a number that is new, where the same in capitals or in small letters
// is on record: it is more likely that batch, typed otherwise, than another one.
func (r *Room) otherCapitals(ctx context.Context, number string, known bool) error {
	for _, other := range []string{strings.ToUpper(number), strings.ToLower(number)} {
		if known || other == number {
			continue
		}
		there, err := r.makers(ctx, other)
		if err != nil {
			return err
		}
		if len(there) > 0 {
			return notSaid("there is a batch %s: capitals count, so type the number as it is on record there; if it is another batch, name it so that it cannot be taken for that one", other)
		}
	}
	return nil
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
