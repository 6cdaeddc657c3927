package desk

import (
	"bytes"
	"hash/maphash"
	"slices"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// The first time through a list: a glance at each row, a key and an offset for those
// that ask for something.

// flagWorker goes through stretches of a list, one at a time.
type flagWorker struct {
	judge  *Judge
	q      FlagQuestion
	places *locations

	classes map[string]*classSeen
	recent  [256]*classSeen // by slot
	glances []glance
	scratch []entry
	hashes  []uint64
	serial  int

	register bool
	location []byte // q.Location
	found    bool   // whether a row is there
	nearby   placeCache
}

// flagPart is what was found in a stretch.
type flagPart struct {
	*flagWorker
	counts  Counts
	ahead   [len(aheadDays)]int
	entries []entry
	numbers numberRun
	tops    map[string]*top
	serial  int
}

// classSeen is a class that rows were of.
type classSeen struct {
	name   string
	number uint16 // from 1
	top    *top   // of the part with the serial number
	serial int
}

// maxClasses bounds the classes remembered: a list may have a class of its own, not
// known, on every row.
const maxClasses = 4096

func newFlagWorker(j *Judge, q FlagQuestion, p *locations, register bool) *flagWorker {
	return &flagWorker{judge: j.forDay(), q: q, places: p, register: register, location: []byte(q.Location),
		classes: map[string]*classSeen{}, glances: make([]glance, 1<<glanceBits), nearby: placeCache{}}
}

// forDay is a judge of its own for a goroutine, which answers for the whole day, as a
// list of dates is asked about.
func (j *Judge) forDay() *Judge {
	own := *j
	own.known = map[string]*ruled{}
	own.Ask(shelf.Question{On: j.On, Zone: j.question.Zone})
	return &own
}

// begin starts a stretch.
func (w *flagWorker) begin() stock.Visitor {
	w.serial++
	w.scratch, w.hashes = w.scratch[:0], w.hashes[:0]
	return &flagPart{flagWorker: w, tops: map[string]*top{}, serial: w.serial}
}

// End sorts what was found and keeps no more than that.
func (p *flagPart) End() {
	slices.SortFunc(p.scratch, byKey)
	p.entries = slices.Clone(p.scratch)
	p.numbers = newNumberRun(p.hashes)
}

// Plain takes a plain row.
func (p *flagPart) Plain(at stock.At, r *stock.Plain) {
	if !p.register {
		p.hashes = append(p.hashes, maphash.Bytes(numberSeed, r.Batch))
	}
	if !p.here(r.Location) {
		return
	}
	v, last, dated := p.glance(&r.Item)
	p.good(at, v, last, dated, &r.Item, r.Location, r.Counted && r.Quantity == 0)
}

// Row takes any other row that was understood.
func (p *flagPart) Row(at stock.At, r *stock.Row) {
	if !p.register {
		p.hashes = append(p.hashes, hashOf(r.Item.Batch))
	}
	place := []byte(r.Location)
	if !p.here(place) {
		return
	}
	p.bound()
	v, last, dated := p.judge.Glance(&r.Item)
	p.good(at, v, last, dated, &r.Item, place, r.Counted && r.Quantity == 0)
}

// good counts a row that was understood, and keeps its place if it asks for something.
// gone says that nothing is left of it, so that it cannot be drawn.
func (p *flagPart) good(at stock.At, v shelf.Verdict, last date.Date, dated bool, it *shelf.Item, place []byte, gone bool) {
	p.counts.Rows++
	switch v {
	case shelf.Reject:
		p.counts.Reject++
		p.keep(at, SetAside, last, dated, place)
		return
	case shelf.Hold:
		p.counts.Hold++
		p.keep(at, OnHold, last, dated, place)
		return
	}
	p.counts.Use++
	if p.q.Draw > 0 && !gone {
		p.topOf(it.Class).add(drawable{drawKey(!it.Opened.IsZero(), last, dated), at}, p.q.Draw)
	}
	if !dated {
		return
	}
	left := int(last.Sub(p.judge.On))
	for i, days := range aheadDays {
		if left <= days {
			p.ahead[i]++
		}
	}
	if !last.After(p.q.Until) {
		p.counts.Expiring++
		p.keep(at, EndsSoon, last, dated, place)
	}
}

// Bad counts a row in trouble. One that nothing could speak for any more is set aside
// if its dates say so, whatever else is wrong with it; the others are to be corrected
// first.
func (p *flagPart) Bad(at stock.At, b *stock.Bad) {
	p.counts.Rows++
	if b.Batch != "" && !p.register {
		p.hashes = append(p.hashes, hashOf(b.Batch))
	}
	place := b.Row.Location
	here := p.q.Location == "" || place == "" || inLocation(place, p.q.Location, p.register)
	if here && b.Dated && b.Row.Item.Class != "" {
		p.bound()
		if v, last, dated := p.judge.Glance(&b.Row.Item); v == shelf.Reject {
			p.counts.Reject++
			p.keep(at, SetAside, last, dated, []byte(place))
			return
		}
	}
	p.counts.Unreadable++
	p.keep(at, NotReadable, date.Date{}, false, []byte(place))
}

func (p *flagPart) keep(at stock.At, s Section, last date.Date, dated bool, place []byte) {
	e := entry{keyOf(s, last, dated) | uint64(at.Line), uint64(at.Offset)}
	if p.q.ByLocation {
		e.at |= uint64(p.nearby.find(p.places, place)) << offsetBits
	}
	p.scratch = append(p.scratch, e)
}

// here says whether a row is, or may be, at the location asked for. Nothing is left
// out for what is not known.
func (w *flagWorker) here(place []byte) bool {
	switch {
	case len(w.location) == 0:
		return true
	case bytes.EqualFold(place, w.location), w.register && inSite(place, w.location):
		w.found = true
		return true
	case len(place) == 0:
		return true
	}
	w.nearby.find(w.places, place)
	return false
}

// bound keeps what the judge remembers within bounds.
func (w *flagWorker) bound() {
	if len(w.judge.known) > maxClasses {
		clear(w.judge.known)
	}
}

// class is what is remembered of a class.
func (w *flagWorker) class(name string) *classSeen {
	var slot **classSeen
	if n := len(name); n > 0 { // a look at its length and ends finds most
		slot = &w.recent[byte(n)*31^name[n-1]*7^name[n/2]]
		if *slot != nil && (*slot).name == name {
			return *slot
		}
	}
	c := w.classes[name]
	if c == nil {
		if len(w.classes) >= maxClasses {
			clear(w.classes)
			clear(w.glances)
			clear(w.recent[:])
		}
		c = &classSeen{name: name, number: uint16(len(w.classes)) + 1}
		w.classes[name] = c
	}
	if slot != nil {
		*slot = c
	}
	return c
}

// topOf is what is to be drawable first of a class, of this stretch.
func (p *flagPart) topOf(class string) *top {
	c := p.class(class)
	if c.serial != p.serial {
		c.top, c.serial = p.tops[class], p.serial
		if c.top == nil {
			c.top = &top{}
			p.tops[class] = c.top
		}
	}
	return c.top
}

// glance remembers what was said of a plain batch: many of one class and the same
// dates stand on a shelf.
type glance struct {
	days      [5]int32 // 0 where there is none
	precision uint64   // a byte for each of the days
	class     uint16   // 0: nothing is remembered
	verdict   shelf.Verdict
	dated     bool
	last      date.Date
}

const glanceBits = 14

// glance is Judge.Glance for an item with a class and five dates alone. Of the minute at
// which it came in nothing depends that is asked of a whole day.
func (w *flagWorker) glance(it *shelf.Item) (shelf.Verdict, date.Date, bool) {
	g := glance{class: w.class(it.Class).number}
	hash := uint64(g.class)
	for i, d := range [...]*label.Date{&it.DOM, &it.Expiry, &it.Inspect, &it.Opened, &it.Received.On} {
		if p := d.Precision(); p != label.None {
			g.days[i] = int32(d.First().DaysSinceEpoch())
			g.precision |= uint64(p) << (8 * i)
		}
		hash = (hash ^ uint64(uint32(g.days[i]))) * 0x9e3779b97f4a7c15
	}
	have := &w.glances[hash>>(64-glanceBits)]
	if have.class != g.class || have.days != g.days || have.precision != g.precision {
		w.bound()
		g.verdict, g.last, g.dated = w.judge.Glance(it)
		*have = g
	}
	return have.verdict, have.last, have.dated
}
