package register

import (
	"bytes"
	"fmt"
	"slices"

	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
)

// What comes in, and what is moved or handled: the parts that a batch comes to be in.

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
