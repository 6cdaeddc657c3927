package desk

import (
	"math"
	"runtime"
	"slices"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// The rows that a plan may draw from, found in a list however long: of each class and day
// the first to draw, some of those on hold, and a few of the rest for the reasons that a
// shortage gives. Pots take at most one batch each, so where a class has that many good
// rows on a day, more make no difference.

// looks are how many rows of a class, good on one day, are kept: more only where what was
// kept leaves a pot without.
var looks = []int{64, 4096, math.MaxInt}

// gatherer says what is looked for; nothing of it changes while a list is read.
type gatherer struct {
	days    map[string][]date.Date // by class, the days on which something of it is wanted
	batches map[string]bool        // that the job names
	most    int                    // good rows kept of a class and day, and rows on hold of a class
}

func (d *drawer) gatherer(most int) *gatherer {
	g := &gatherer{days: map[string][]date.Date{}, batches: map[string]bool{}, most: most}
	want := func(class string, at time.Time) {
		if day := date.NewAt(at.In(d.p.Job.Zone)); !slices.Contains(g.days[class], day) {
			g.days[class] = append(g.days[class], day)
		}
	}
	for _, j := range d.p.Job.Joints {
		if j.Batch != "" {
			g.batches[j.Batch] = true
		}
	}
	for _, n := range d.needs {
		want(n.class, n.at)
		g.most = max(g.most, n.packs*len(d.needs))
	}
	for _, n := range d.promoterNeeds() {
		for _, cl := range d.c.ByKind(catalog.Promoter) {
			want(cl.ID, n.at)
		}
	}
	for _, it := range d.p.Renew {
		want(it.Item, d.p.Job.Start)
		g.most = max(g.most, it.Count)
	}
	return g
}

// gathered is what was found in a stretch of the list, or in all of it.
type gathered struct {
	g      *gatherer
	judge  *Judge
	good   map[classDay]*top
	held   map[string]*top // by class, in the order of the list
	rest   map[string]*top // those that are rejected or used up
	named  []stock.At
	bad    []stock.Bad
	badly  map[string]int // bad rows, by class
	aliens map[string]int // classes that are not wanted, each with its first line
}

type classDay struct {
	class string
	day   date.Date
}

func (g *gatherer) begin(j *Judge) *gathered {
	return &gathered{g: g, judge: j, good: map[classDay]*top{}, held: map[string]*top{}, rest: map[string]*top{}, badly: map[string]int{}, aliens: map[string]int{}}
}

// Plain takes a plain row.
func (f *gathered) Plain(at stock.At, p *stock.Plain) {
	f.take(at, f.g.batches[string(p.Batch)], &p.Item, p.Counted && p.Quantity == 0)
}

// Row takes any other row that was understood.
func (f *gathered) Row(at stock.At, r *stock.Row) {
	f.take(at, f.g.batches[r.Item.Batch], &r.Item, r.Counted && r.Quantity == 0)
}

// take keeps the place of a row that may matter. gone says that nothing is left of it.
func (f *gathered) take(at stock.At, named bool, it *shelf.Item, gone bool) {
	if named {
		f.named = append(f.named, at)
	}
	days := f.g.days[it.Class]
	if days == nil {
		f.alien(it.Class, at.Line)
		return
	}
	worst := shelf.Reject
	for _, day := range days {
		if gone {
			break
		}
		f.judge.On = day
		v, last, dated := f.judge.Glance(it)
		if worst = min(worst, v); v == shelf.Use {
			topOf(f.good, classDay{it.Class, day}).add(drawable{drawKey(!it.Opened.IsZero(), last, dated), at}, f.g.most)
		}
	}
	switch worst {
	case shelf.Hold:
		topOf(f.held, it.Class).add(drawable{0, at}, f.g.most)
	case shelf.Reject:
		topOf(f.rest, it.Class).add(drawable{0, at}, mostWhys)
	}
}

func topOf[K comparable](tops map[K]*top, k K) *top {
	t := tops[k]
	if t == nil {
		t = &top{}
		tops[k] = t
	}
	return t
}

// Bad takes a row that was not understood, if it may be of a class that is wanted.
func (f *gathered) Bad(_ stock.At, b *stock.Bad) {
	class := b.Row.Item.Class
	if class != "" && f.g.days[class] == nil && !f.g.batches[b.Batch] {
		return
	}
	if f.badly[class]++; f.badly[class] <= mostWhys || f.g.batches[b.Batch] {
		f.bad = append(f.bad, *b)
	}
}

// End is the end of the stretch.
func (f *gathered) End() {}

func (f *gathered) alien(class string, line int) {
	if first, ok := f.aliens[class]; !ok && len(f.aliens) < maxClasses || line < first {
		f.aliens[class] = line
	}
}

// add adds what was found in a stretch with so many lines before it.
func (f *gathered) add(o *gathered, before int) {
	for k, t := range o.good {
		topOf(f.good, k).merge(t, before, f.g.most)
	}
	for k, t := range o.held {
		topOf(f.held, k).merge(t, before, f.g.most)
	}
	for k, t := range o.rest {
		topOf(f.rest, k).merge(t, before, mostWhys)
	}
	for _, at := range o.named {
		f.named = append(f.named, stock.At{Offset: at.Offset, Line: at.Line + before})
	}
	for _, b := range o.bad {
		b.Line, b.Row.Line = b.Line+before, b.Line+before
		f.bad = append(f.bad, b)
	}
	for class, n := range o.badly {
		f.badly[class] += n
	}
	for class, line := range o.aliens {
		f.alien(class, line+before)
	}
}

// places are the rows to read again, each once, in the order of the list; cut says that
// there are more of them that were not kept.
func (f *gathered) places() (at []stock.At, cut bool) {
	at = f.named
	keep := func(t *top) {
		for _, r := range t.rows {
			at = append(at, r.at)
		}
	}
	for _, t := range f.good {
		keep(t)
		cut = cut || t.good > len(t.rows)
	}
	for _, t := range f.held {
		keep(t)
		cut = cut || t.good > len(t.rows)
	}
	for _, t := range f.rest {
		keep(t)
	}
	slices.SortFunc(at, func(a, b stock.At) int { return a.Line - b.Line })
	return slices.Compact(at), cut
}

// read takes from the list the rows that may matter, and all rows of their batches, so
// that one which stands twice is seen.
func (d *drawer) read(l *List, o stock.Options, most int) error {
	g := d.gatherer(most)
	o.Today = date.NewAt(d.p.Job.Start.In(d.p.Job.Zone))
	file, err := stock.Open(l.src, l.size, l.Name, o)
	if err != nil {
		return err
	}
	judges := make([]*Judge, runtime.GOMAXPROCS(0))
	for i := range judges {
		judges[i] = NewJudge(d.c, o.Today).forDay()
	}
	all := g.begin(nil)
	d.out.Warnings, err = file.Scan(len(judges), func(w int) stock.Visitor { return g.begin(judges[w]) }, func(v stock.Visitor, before int) error {
		all.add(v.(*gathered), before)
		return nil
	})
	if err != nil {
		return err
	}
	at, cut := all.places()
	d.cut, d.alien, d.bad = cut, all.aliens, all.bad
	first := finding{plain: at}
	if err := first.plainRows(file); err != nil {
		return err
	}
	batches := map[string]bool{}
	for _, r := range first.rows {
		batches[r.Item.Batch] = true
	}
	again := &first
	if len(batches) > 0 && !l.Register { // there each part of a batch has one row, and is known by it
		if again, _, _, err = findOn(l, o, func(b []byte) bool { return batches[string(b)] }); err != nil {
			return err
		}
	}
	for _, b := range again.bad {
		if !slices.ContainsFunc(d.bad, func(o stock.Bad) bool { return o.Line == b.Line }) {
			d.bad = append(d.bad, b)
		}
	}
	slices.SortFunc(d.bad, func(a, b stock.Bad) int { return a.Line - b.Line })
	for _, r := range again.rows {
		d.lots = append(d.lots, newLot(r, l))
	}
	d.hidden = map[string]int{}
	for class, t := range all.rest {
		d.hidden[class] += t.good - len(t.rows)
	}
	for class, n := range all.badly {
		d.hidden[class] += max(0, n-mostWhys)
	}
	if !l.Register {
		d.repeated()
	}
	return l.same()
}
