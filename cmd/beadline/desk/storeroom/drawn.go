package storeroom

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// drawn is what was drawn, in words, with what the person has to do and should know.
func (r *Room) drawn(ctx context.Context, key register.Key, d *Drawing, done *register.Done, from *pick, before *register.State) (*Drawn, error) {
	var e *register.Event
	for _, x := range done.Events {
		if x.Kind == register.KindDrawn {
			e = x
		}
	}
	s := done.States[key]
	if from.since != "" { // what is left of it stands as it does now
		r.askAt(register.AtInstant(r.Clock().In(r.Judge.Zone())), label.Date{})
	}
	o := &Drawn{Outcome: r.outcome(key, &d.Act, done, func(*register.State, *register.Event) string { return drawnWords(s.Batch, e) }), Then: e.Verdict}
	if o.Known {
		o.Taken = r.partNow(s, e)
		return o, nil
	}
	o.Taken = from.used
	r.toDo(o, e, from)
	if from.among > 1 {
		o.Notes = append(o.Notes, fmt.Sprintf("It is in %d parts; this was taken from %s.", from.among, PartWords(from.Part)))
	}
	if from.since != "" {
		o.Notes = append(o.Notes, "As its record stands now it may not be used: "+ended(from.since)+" Find what this went into, and tell who answers for it.")
	}
	if from.ended != "" {
		o.Notes = append(o.Notes, "It is too old now: "+ended(from.ended)+" What has not been used of it yet is not to be used.")
	}
	if r.late(e.At) {
		o.Notes = append(o.Notes, fmt.Sprintf("It was judged for when it was drawn, %s, not for now.", r.inZone(e.At)))
	}
	if !from.Counted {
		o.Notes = append(o.Notes, "How much there is of it is not recorded: count it.")
	}
	if e.Use.Training {
		return o, nil
	}
	o.Notes = append(o.Notes, kept(before, s, e)...)
	notes, err := r.otherKept(ctx, key, from.Item.Class, e.Use.Job)
	if err != nil {
		return nil, err
	}
	o.Notes = append(o.Notes, notes...)
	if e.Use.Job == "" && len(e.Use.Joints) == 0 {
		o.Notes = append(o.Notes, "No --job and no --joint are named: nobody will find by the joint where this batch went.")
	}
	first, err := r.firstOf(ctx, d, from, key)
	if err == nil && first != nil {
		o.Notes = append(o.Notes, fmt.Sprintf("Batch %s should go before this one: %s, %s.", first.Batch, PartWords(first.Part), EndWords(first.Checked.Judgement)))
	}
	return o, err
}

// late reports whether something happened so long ago that it was judged for another day,
// or hour, than now.
func (r *Room) late(at register.When) bool {
	now := r.Clock().In(r.Judge.Zone())
	if at.IsDay() {
		return at.Label(r.Judge.Zone()).First() != date.NewAt(now)
	}
	return now.Sub(at.Instant()) > time.Hour
}

// drawnWords is what was drawn in a sentence.
func drawnWords(b register.Batch, e *register.Event) string {
	say := fmt.Sprintf("Drawn %s of %s", e.Amount.Words(e.Unit), b)
	if e.Container != "" {
		say += ", container " + e.Container
	}
	return say + atPlace(e.Place) + UseWords(e.Use) + "."
}

// UseWords is what something was drawn for: ", for job NF12-0417, mix 2: fuel-bay door".
func UseWords(u *register.Use) string {
	var say string
	switch {
	case u == nil:
		return ""
	case u.Training:
		return ", for training"
	case u.Job != "":
		say = ", for job " + u.Job
	}
	if u.Mix != "" {
		say += ", mix " + u.Mix
	}
	if len(u.Joints) > 0 {
		say += ": " + strings.Join(u.Joints, "; ")
	}
	return say
}

// EndWords is until when something may be used, from its verdict: "usable through 30 June
// 2027".
func EndWords(j shelf.Judgement) string {
	g := j.Governing
	if !g.Dated {
		return "with no date that ends it"
	}
	say := "usable through " + g.Date.Format("2 Jan 2006")
	if g.Timed {
		say = fmt.Sprintf("usable until %s %02d:%02d", g.Date.Format("2 Jan 2006"), g.Minute/60, g.Minute%60)
	}
	return say
}

// toDo is what the person has to do with their hands.
func (r *Room) toDo(o *Drawn, e *register.Event, from *pick) {
	if e.Use.Training {
		o.ToDo = append(o.ToDo, "Not for an aircraft: mark the pack so before it leaves the store.")
		return
	}
	by, _, word := stock.ReadUnit(from.Unit)
	if by == stock.ByPack && word != "" {
		o.ToDo = append(o.ToDo, fmt.Sprintf("What the work leaves of the %s is scrapped: it does not go back into stock.", word))
	}
	if from.opens {
		o.ToDo = append(o.ToDo, fmt.Sprintf("This opened it, which is recorded too: write %s on the container.", e.At.Label(r.Judge.Zone())))
	}
	if cl, err := r.Judge.Class(from.Item.Class); err == nil && cl.Kind == catalog.PremixedFrozen && e.At.IsDay() && len(from.Item.Thawed) <= len(from.Item.Refrozen) {
		o.Notes = append(o.Notes, "Since which hour it is out of the freezer is not said, so the verdict is that of the pack in the freezer: out of it, it is good for much less. Say the hour with --at.")
	}
	if len(from.used.Checked.Item.Thawed) > len(from.Item.Thawed) {
		o.Notes = append(o.Notes, "It counts as out of the freezer from now on: "+EndWords(from.used.Checked.Judgement)+".")
	}
}

// kept says what became of the job's own reservation.
func kept(before, now *register.State, e *register.Event) []string {
	of := func(s *register.State) (n register.Amount, unit string) {
		for _, p := range s.Parts {
			for _, v := range p.Reserved {
				if v.Job == e.Use.Job {
					n, unit = n+v.Amount, p.Unit
				}
			}
		}
		return n, unit
	}
	was, unit := of(before)
	left, _ := of(now)
	var notes []string
	switch {
	case e.Use.Job == "" || was == 0:
	case left == 0:
		notes = append(notes, fmt.Sprintf("This uses up what was reserved of it for job %s (%s).", e.Use.Job, was.Words(unit)))
	default:
		notes = append(notes, fmt.Sprintf("Of it %s still reserved for job %s.", isAre(left, unit), e.Use.Job))
	}
	if e.Although {
		notes = append(notes, "It was reserved for another job, which is now short of it: tell whoever plans that job.")
	}
	return notes
}

// otherKept says where other batches of the class are kept for the job.
func (r *Room) otherKept(ctx context.Context, key register.Key, class, job string) (notes []string, err error) {
	if job == "" {
		return nil, nil
	}
	keys, err := r.Store.ReservedFor(ctx, job)
	if err != nil {
		return nil, err
	}
	for _, k := range keys {
		if k == key {
			continue
		}
		s, err := r.Load(ctx, k)
		if err != nil {
			return nil, err
		}
		for _, p := range s.Parts {
			for _, v := range p.Reserved {
				if v.Job == job && p.Item.Class == class {
					notes = append(notes, fmt.Sprintf("Job %s has %s of batch %s reserved%s: this is another batch.", job, v.Amount.Words(p.Unit), s.Batch, atPlace(p.Place)))
				}
			}
		}
	}
	return notes, nil
}

// partNow is the part of a batch that an event was of, as it is now; where that is gone,
// what is there.
func (r *Room) partNow(s *register.State, e *register.Event) Holding {
	if p := s.Part(e.Container, e.Place); p != nil {
		return r.Holding(s, p)
	}
	for _, p := range s.Parts {
		if p.Container == e.Container {
			return r.Holding(s, p)
		}
	}
	if all := r.Holdings(s); len(all) > 0 {
		return all[0]
	}
	return r.none(s, &register.Part{Container: e.Container, Place: e.Place, Unit: e.Unit, Counted: true})
}

// none is a part of a batch of which nothing is on record any more, as all that came in was
// struck: it is held.
func (r *Room) none(s *register.State, p *register.Part) Holding {
	h := r.holdingAs(s, p, shelf.Item{Batch: s.Batch.Number, Container: p.Container})
	h.Checked.Judgement = desk.HoldFirst(h.Checked.Judgement, r.noneLeft(s, p))
	return h
}
