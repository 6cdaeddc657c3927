package register

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"time"

	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
	"beadline/catalog/stock"
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

func (f *fold) received(e *Event) {
	r := e.Receipt
	if r == nil {
		f.problem(e, "what was received is not recorded")
		return
	}
	base := r.Label
	base.Batch, base.Container, base.Received.On = f.Batch.Number, e.Container, e.At.Label(f.zone)
	for _, p := range f.Parts {
		if (p.Container == e.Container) && !sameLabel(&p.base, &base) {
			f.problem(e, "its label is not that of the same batch received %s: %s", p.fromStart, differs(&p.base, &base))
		}
	}
	p := f.Part(e.Container, e.Place)
	if p == nil {
		p = &Part{Container: e.Container, Place: e.Place, Unit: e.Unit, base: base, Receipt: r, fromStart: e.At, came: e, arrivals: []*Event{e}, Stays: []Stay{{Place: e.Place, From: e.At}}}
		f.Parts = append(f.Parts, p)
		if e.Amount != nil {
			p.Amount, p.Counted = *e.Amount, true
		}
		return
	}
	f.together(p, &Part{base: base, arrivals: []*Event{e}}, e)
	p.arrived(base.Received, e)
	a, ok := f.amount(e, p)
	switch {
	case !ok:
	case p.Scrapped:
		f.problem(e, "it was scrapped before %s: give what came in a container number", partWords(p.Container, p.Place))
	case p.Counted:
		p.Amount += a
	default:
		f.problem(e, "how much there was before is not recorded: count it first")
	}
}

// arrived adds what came in later to what was there. The last arrival counts, as it has the
// least life left and is not freed by what freed an earlier one; without papers for some
// of it, all is.
func (p *Part) arrived(r shelf.Receipt, e *Event) {
	p.base.Received.NoPapers = p.base.Received.NoPapers || r.NoPapers
	if !e.At.Instant().Before(p.came.At.Instant()) {
		p.came, p.base.Received.On = e, r.On
	}
}

// sameLabel reports whether two receipts say the same of the batch, but for when it came.
func sameLabel(a, b *shelf.Item) bool {
	x, y := *a, *b
	x.Received, y.Received = shelf.Receipt{}, shelf.Receipt{}
	p, err1 := inputs.Encode(x)
	q, err2 := inputs.Encode(y)
	return err1 == nil && err2 == nil && bytes.Equal(p, q)
}

// differs names the first thing in which two labels differ.
func differs(a, b *shelf.Item) string {
	for _, d := range printed(a, b) {
		if d.a != d.b {
			return d.words()
		}
	}
	return "they differ in their parts or in what was known of them; give what came in a container number of its own"
}

// pair is one thing on two labels.
type pair struct{ name, a, b string }

func (d *pair) words() string {
	return fmt.Sprintf("%s %s there, %s here", d.name, orNone(d.a), orNone(d.b))
}

// printed is what two labels say.
func printed(a, b *shelf.Item) []pair {
	return []pair{
		{"class", a.Class, b.Class}, {"date of manufacture", a.DOM.String(), b.DOM.String()}, {"expiry", a.Expiry.String(), b.Expiry.String()},
		{"inspect date", a.Inspect.String(), b.Inspect.String()}, {"best before", a.BestBefore.String(), b.BestBefore.String()}, {"code", a.Code, b.Code},
	}
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// amount is how much an event is about, in the unit of the part; all of it, or one where
// it was not counted, if it does not say.
func (f *fold) amount(e *Event, p *Part) (a Amount, ok bool) {
	if e.Amount == nil {
		if !p.Counted {
			return 0, true
		}
		return p.Amount, true
	}
	if *e.Amount < 0 || *e.Amount > MaxAmount {
		f.problem(e, "%s is no amount", *e.Amount)
		return 0, false
	}
	if e.Unit == "" {
		return *e.Amount, true
	}
	a, err := inUnit(*e.Amount, e.Unit, p.Unit)
	if err != nil {
		f.problem(e, "%s", err)
		return 0, false
	}
	return a, true
}

// enough reports whether a part has so much.
func (f *fold) enough(e *Event, p *Part, a Amount) bool {
	switch {
	case p.Scrapped:
		f.problem(e, "it was scrapped before")
	case p.Counted && p.Amount == 0 && p.Taken != nil:
		f.problem(e, "none is left %s: the last was %s %s by %s", partWords(p.Container, p.Place), p.Taken.Kind, p.Taken.At.words(f.zone), p.Taken.By)
	case p.Counted && a > p.Amount:
		f.problem(e, "there %s only %s of it %s, not %s", isAre(p.Amount), p.Amount.Words(p.Unit), partWords(p.Container, p.Place), a.Words(p.Unit))
	default:
		return true
	}
	return false
}

func isAre(a Amount) string {
	if a == 1000 {
		return "is"
	}
	return "are"
}

// split takes an amount of a part out of it as a part of its own, with all that has
// befallen it so far.
func (f *fold) split(e *Event, p *Part, a Amount, container, place string) *Part {
	n := &Part{Container: container, Place: place, Amount: a, Counted: p.Counted, Unit: p.Unit, base: p.base, own: slices.Clone(p.own),
		lost: slices.Clone(p.lost), Receipt: p.Receipt, fromStart: p.fromStart, came: p.came, arrivals: slices.Clone(p.arrivals), Stays: slices.Clone(p.Stays)}
	n.base.Container = container
	if p.Counted {
		p.Amount -= a
	}
	p.Taken = e
	if old := f.Part(container, place); old != nil {
		switch {
		case old.Unit != n.Unit:
			f.problem(e, "%s it is counted in %s", partWords(container, place), orUnits(old.Unit))
			return old
		case old.Scrapped:
			f.problem(e, "it was scrapped before %s: give what comes there a container number", partWords(container, place))
			return old
		}
		f.together(old, n, e)
		old.Amount, old.Counted = old.Amount+a, old.Counted && n.Counted
		old.arrived(n.base.Received, n.came)
		old.stayed(n.Stays, e.At)
		return old
	}
	f.Parts = append(f.Parts, n)
	return n
}

// stayed adds where what was put to a part had been until then.
func (p *Part) stayed(stays []Stay, until When) {
	for _, s := range stays {
		if s.To.IsZero() {
			s.To = until
		}
		if !slices.Contains(p.Stays, s) {
			p.Stays = append(p.Stays, s)
		}
	}
	slices.SortStableFunc(p.Stays, func(a, b Stay) int { return a.From.Instant().Compare(b.From.Instant()) })
}

func (f *fold) moved(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	if e.To == e.Place {
		f.problem(e, "it is %s already", partWords("", e.To))
		return
	}
	all := !p.Counted || a == p.Amount
	if !all && a > p.Free("") {
		f.problem(e, "%s of it %s reserved: move all of it, or release the rest first", (p.Amount - p.Free("")).Words(p.Unit), isAre(p.Amount-p.Free("")))
		return
	}
	joined := f.Part(e.Container, e.To) != nil
	n := f.split(e, p, a, e.Container, e.To)
	if !joined {
		if last := len(n.Stays) - 1; last >= 0 && n.Stays[last].To.IsZero() {
			n.Stays[last].To = e.At
		}
		n.Stays = append(n.Stays, Stay{Place: e.To, From: e.At})
	}
	if all {
		n.Reserved = append(n.Reserved, p.Reserved...)
		p.Reserved, p.wentInto = nil, n
		p.Stays = nil
	}
}

// handled is for a pack that was opened, thawed or put back.
func (f *fold) handled(e *Event, p *Part) {
	if e.As == "" || e.As == p.Container {
		least := Amount(0)
		if e.Amount != nil {
			var ok bool
			if least, ok = f.amount(e, p); !ok {
				return
			}
		}
		if f.enough(e, p, least) {
			p.own = append(p.own, e)
		}
		return
	}
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	if f.Part(e.As, p.Place) != nil {
		f.problem(e, "there is a container %s already", e.As)
		return
	}
	if !p.Counted && e.Amount == nil {
		f.problem(e, "how many there are %s is not recorded: say how many became container %s", partWords(p.Container, p.Place), e.As)
		return
	}
	n := f.split(e, p, a, e.As, p.Place)
	n.Counted = true
	n.own = append(n.own, e)
	if p.Counted && p.Amount == 0 {
		n.Reserved = append(n.Reserved, p.Reserved...)
		p.Reserved, p.wentInto, p.Stays = nil, n, nil
	}
}

func (f *fold) drawn(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	job := e.Use.jobOf()
	if p.Counted && a > p.Free(job) && !e.Although {
		f.problem(e, "%s", p.keptFor(job))
		return
	}
	p.Amount -= a
	p.Taken = e
	if !p.Counted {
		p.Amount = 0
	}
	p.release(job, a)
	p.trim()
}

// keptFor says for which other jobs the rest of a part is reserved.
func (p *Part) keptFor(job string) string {
	say := fmt.Sprintf("of %s %s", p.Amount.Words(p.Unit), partWords(p.Container, p.Place))
	for i, r := range p.Reserved {
		if r.Job == job {
			continue
		}
		if i > 0 {
			say += " and"
		}
		say += fmt.Sprintf(" %s %s reserved for job %s", r.Amount, isAre(r.Amount), r.Job)
	}
	return say
}

func (f *fold) reserved(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	if free := p.Free(""); p.Counted && a > free {
		f.problem(e, "%s", p.keptFor(""))
		return
	}
	r := Reservation{Job: e.Use.jobOf(), Amount: a, By: e.By, At: e.At}
	if e.Use != nil {
		r.Mix = e.Use.Mix
	}
	p.Reserved = append(p.Reserved, r)
}

func (f *fold) scrapped(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	p.Taken = e
	if !p.Counted || a == p.Amount {
		p.Amount, p.Scrapped, p.Reserved = 0, true, nil
		p.own = append(p.own, e)
		return
	}
	p.Amount -= a
	p.trim()
}

// counted takes what was seen for what there is. What is kept for jobs is cut down to it.
func (f *fold) counted(e *Event, p *Part) {
	if p.Scrapped {
		f.problem(e, "it was scrapped before: if it is there all the same, strike that event")
		return
	}
	if !p.Counted && p.Unit == "" {
		p.Unit = e.Unit
	}
	if a, ok := f.amount(e, p); ok {
		p.Amount, p.Counted = a, true
		p.trim()
	}
}

// release gives back up to an amount of what is reserved for a job.
func (p *Part) release(job string, a Amount) {
	for i := range p.Reserved {
		if r := &p.Reserved[i]; r.Job == job {
			less := min(a, r.Amount)
			r.Amount, a = r.Amount-less, a-less
		}
	}
	p.Reserved = slices.DeleteFunc(p.Reserved, func(r Reservation) bool { return r.Amount == 0 })
}

// trim keeps no more reserved than there is; what was reserved last goes first.
func (p *Part) trim() {
	left := p.Amount
	for i := range p.Reserved {
		p.Reserved[i].Amount = min(p.Reserved[i].Amount, left)
		left -= p.Reserved[i].Amount
	}
	p.Reserved = slices.DeleteFunc(p.Reserved, func(r Reservation) bool { return r.Amount == 0 })
}

func (u *Use) jobOf() string {
	if u == nil {
		return ""
	}
	return u.Job
}

// finish works out what the limits of each part are worked out from.
func (f *fold) finish() {
	for _, p := range f.Parts {
		var all []shelf.Event
		var said []string
		own := slices.Concat(f.common, p.own)
		for _, e := range own {
			se, ok := e.shelfEvent(f.zone)
			if x, why := f.again(e, own, p); ok && x != nil {
				said = append(said, fmt.Sprintf("Freed %s (%s), but %s %s: the hold stands.", se.When, se.Limit, x.Kind, why))
				continue
			}
			if ok {
				all = append(all, se)
			}
		}
		for _, x := range f.Problems {
			all = append(all, shelf.Event{Kind: shelf.EventHeld, When: x.Event.At.Label(f.zone), Note: "its record does not add up: " + x.Text})
		}
		p.Item, p.Said = shelf.Replay(p.base, all)
		p.Said = append(append(p.Said, said...), p.lost...)
	}
	f.Parts = slices.DeleteFunc(f.Parts, func(p *Part) bool { return p.wentInto != nil })
	slices.SortFunc(f.Parts, func(a, b *Part) int {
		return cmp.Or(cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
	})
	if n := len(f.Events); n > 0 {
		f.Head.Key, f.Head.Seq = f.Key, f.Events[n-1].Seq
	}
}

// again is what a freeing does not lift, and why. It came up anew in the minute in which
// the hold was freed: limits are worked out from minutes, and there the two could not be
// told apart. Or it happened before, but was recorded after, so that whoever freed the
// hold did not know of it. nil: nothing.
func (f *fold) again(freed *Event, own []*Event, p *Part) (x *Event, why string) {
	if freed.Kind != KindFreed || freed.Shelf == nil {
		return nil, ""
	}
	up := own
	if freed.Shelf.Limit == shelf.LimitReceipt {
		up = p.arrivals
	}
	for _, x := range up {
		after := f.order[x] > f.order[freed]
		switch {
		case x.Kind != upKinds[freed.Shelf.Limit]:
		case after && x.At.Label(f.zone).Canonical() == freed.At.Label(f.zone).Canonical():
			return x, "came after it in the same minute"
		case !after && x.Seq > freed.Seq:
			return x, x.At.words(f.zone) + " was recorded after it"
		}
	}
	return nil, ""
}

// Row is a part as a row of a stock list.
func (p *Part) Row() stock.Row {
	r := stock.Row{Item: p.Item, Location: p.Place, Quantity: p.Amount.Float(), Counted: p.Counted, Unit: p.Unit}
	if p.Receipt != nil {
		r.GTIN = p.Receipt.GTIN
	}
	return r
}
