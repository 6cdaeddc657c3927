package desk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/plan"
)

// What a plan draws from the shelf, pot by pot, and what is missing. It is a pick list:
// nothing is written here. Of the stock of a register what is reserved for other jobs is
// not there to draw; storeroom reserves what is drawn.
//
// Each batch is judged at the instant that its pot is mixed, and must outlast the work
// that the pot serves. Of the good ones the batch that the job names comes first; then
// those already opened, then those that end first (see flagdraw.go). One pot is made of
// one batch. A kit is for one pot: what is left of it is scrapped. What is promised to
// one pot is not promised to another.
//
// Read on in drawneed.go (what the plan asks for), drawlist.go (the rows that may matter),
// drawlot.go (what they hold),
// drawgood.go (may it be used then, and in which order), drawpick.go (which pot gets
// which), drawshort.go (what is missing and why the rest does not count) and drawnamed.go
// (the batches that the job names).

// Supply is what a plan draws from the shelf.
type Supply struct {
	List string // name of the stock list or the register; "": none was given, and Draws and Shorts are empty
	// Register is true where List is a register; its rows have no lines.
	Register bool
	Reserved *Reserved // what was reserved of it; nil: nothing, and nobody asked for it

	Packs   map[string]Packs // by class: what the plan asks for in all
	Draws   []Drawn          // in order of time
	Shorts  []Short          // what is missing, in the order in which it is missed
	Named   []Named          // the batches that the job names, in its order
	Missing []string         // hardware to renew that no stock list can hold

	// Refused is true where a batch that the job names is the only reason why the plan is
	// not feasible as asked.
	Refused bool

	Warnings []string // of the list
}

// Reserved is what became of the wish to reserve what a plan draws.
type Reserved struct {
	Job, By string
	Same    bool   // an earlier plan of the job has reserved the same: nothing was written
	Parts   []Part // what is reserved for the job now
	// Freed is what of an earlier plan of the job was given back.
	Freed []Part
	// Not is why nothing is reserved; "": it is.
	Not string
	// Taken is true where that is because others were quicker, twice.
	Taken bool
}

// IsReserved reports whether what is drawn is reserved for the job now.
func (s *Supply) IsReserved(x *Drawn) bool {
	if s.Reserved == nil || s.Reserved.Not != "" {
		return false
	}
	part := partOf(&x.Row)
	return slices.ContainsFunc(s.Reserved.Parts, func(p Part) bool { return p.PartOf == part && p.Mix == x.Mix })
}

// ToReserve is what a plan draws of a register, added up by part and mix, in their order.
// What is drawn as it is needed, without an amount, is not in it.
func (s *Supply) ToReserve() (all []Part) {
	for i := range s.Draws {
		x := &s.Draws[i]
		if x.Take <= 0 {
			continue
		}
		p := Part{PartOf: partOf(&x.Row), Mix: x.Mix, Amount: x.Take, Unit: x.Unit}
		if x.Packs == 0 {
			_, in, _ := stock.ReadUnit(x.Unit)
			p.Amount /= float64(in)
		}
		at := slices.IndexFunc(all, func(o Part) bool { return o.PartOf == p.PartOf && o.Mix == p.Mix })
		if at >= 0 {
			all[at].Amount += p.Amount
			continue
		}
		all = append(all, p)
	}
	slices.SortFunc(all, func(a, b Part) int {
		return cmp.Or(cmp.Compare(a.Batch, b.Batch), cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Mix, b.Mix))
	})
	return all
}

// Part is an amount of a part of a batch in a register, in what that counts in.
type Part struct {
	PartOf
	Mix    string // what it is for, or ""
	Amount float64
	Unit   string
}

// Short reports whether something is missing.
func (s *Supply) Short() bool { return len(s.Shorts) > 0 }

// Packs is how many packs the pots of one class take. A pack is a kit, or a cartridge
// that comes ready.
type Packs struct {
	Count   int
	SizeML  float64 // of one; 0: not known, then it is one for each pot
	ScrapML float64 // what is left in them when the pots are made; 0: nothing, or not known
	Keeps   bool    // the rest is not scrapped: one part, which lives on in its pack
}

// Drawn is what is taken of one row of the stock list.
type Drawn struct {
	Mix string // the pot it is for, or ""
	For string // what else it is for: "promoter, bulkhead feed-through", or an item to renew; "" for a pot

	At, Until time.Time // when it is used, and what it outlasts
	stock.Row
	List string // the list's name

	Take   float64 // how much of what the row counts in
	Packs  int     // the same in packs; 0: measured out in ml or g
	Opened bool    // opened before the plan begins
	Named  bool    // the job names this batch

	Last shelf.Limit // by which it ends, as it stands on the shelf

	ML, Grams  float64 // what the pot takes of it, waste included; 0: not known
	OfML       float64 // what is in those packs; 0: not known
	ScrapML    float64 // what is left and scrapped; meaningful if ScrapKnown
	ScrapKnown bool
}

// Short is a class, or an item, that there is too little of. Needed is Good and Missing.
type Short struct {
	Class, Item string // one of them

	Needed, Good, Missing int
	Unit                  string     // what they count: "kit", "cartridge", "container", "piece"
	Gaps                  []Unserved // what goes without, in order of time
	By, Until             time.Time  // when it must be here, and through when it must be good
	Freeable              int        // of what is on hold, so many would be good by then if freed
	Why                   []string   // why the rest does not count
}

// Unserved is one pot, or one use, that too little can be drawn for.
type Unserved struct {
	What    string // "mix 6"
	At      time.Time
	Missing int
}

// Named is what becomes of a batch that the job names for a joint.
type Named struct {
	Joint, Batch string
	Verdict      shelf.Verdict
	Reason       string
	On           time.Time // the moment that decides: the last pot, if it is good
}

// Supplies says what the plan draws from a stock list, read by the options, and adds to the
// plan what it takes for granted. A batch that the job names and that cannot be used is a
// reason why the plan is not feasible as asked; what is drawn instead would help. A
// shortage is neither. Without a list, nil, it counts the packs and notes that the
// batches were not checked. The error is of the list as such: it cannot be read.
func Supplies(p *plan.Plan, l *List, o stock.Options, c *catalog.Catalog) (*Supply, error) {
	if l == nil {
		d := newDrawer(p, c)
		d.unlisted()
		return d.done(), nil
	}
	for _, most := range looks {
		d := newDrawer(p, c)
		d.out.List, d.out.Register = l.Name, l.Register
		if err := d.read(l, o, most); err != nil {
			return nil, err
		}
		if p.Found {
			d.all()
		}
		if !d.cut || !d.out.Short() && !d.bent {
			return d.done(), nil
		}
	}
	return nil, nil // not reached: in the end nothing is cut
}

func newDrawer(p *plan.Plan, c *catalog.Catalog) *drawer {
	d := &drawer{p: p, c: c, out: &Supply{Packs: map[string]Packs{}}, seen: map[pairing]*fit{}, turns: map[pairing]*turn{}}
	d.judge = NewJudge(c, date.NewAt(p.Job.Start.In(p.Job.Zone)))
	d.pots()
	return d
}

// all draws for everything that the plan asks for.
func (d *drawer) all() {
	for _, class := range d.p.Classes {
		d.pour(class)
	}
	d.promoters()
	d.hardware()
	d.named()
	slices.SortStableFunc(d.out.Draws, func(a, b Drawn) int { return a.At.Compare(b.At) })
	slices.SortStableFunc(d.out.Shorts, func(a, b Short) int { return a.By.Compare(b.By) })
	d.strangers()
}

// done adds to the plan what was found.
func (d *drawer) done() *Supply {
	d.p.Assumptions = append(d.p.Assumptions, d.assumed...)
	if d.refused != nil {
		if d.p.Infeasible == nil {
			d.out.Refused = true
			d.p.Infeasible = &plan.Infeasible{Proven: true, Earliest: d.p.Ready}
		}
		d.p.Infeasible.Because = append(d.p.Infeasible.Because, d.refused...)
		d.p.Infeasible.Fixes = append(d.p.Infeasible.Fixes, d.instead...)
	}
	return d.out
}

// drawer works out one plan's pick list.
type drawer struct {
	p     *plan.Plan
	c     *catalog.Catalog
	judge *Judge
	out   *Supply

	needs  []*need // pots, in order of time
	lots   []*lot  // rows of the list that matter, in its order
	bad    []stock.Bad
	hidden map[string]int // by class, rows that do not count and were not kept
	alien  map[string]int // classes of the other rows, each with its first line
	cut    bool           // the list has more rows that may matter
	bent   bool           // something is not drawn strictly first expired first out

	seen  map[pairing]*fit
	turns map[pairing]*turn

	assumed, refused []string // for the plan
	instead          []plan.Fix
}

func (d *drawer) assume(format string, args ...any) {
	if s := fmt.Sprintf(format, args...); !slices.Contains(d.assumed, s) {
		d.assumed = append(d.assumed, s)
	}
}

// unlisted is the answer without a stock list.
func (d *drawer) unlisted() {
	for _, j := range d.p.Job.Joints {
		if j.Batch != "" {
			d.assume("The batches that the job names are taken to be good and enough: give --stock FILE, or keep a register, to check them.")
		}
	}
}

// pour promises packs to the pots of one class, and says what is missing.
func (d *drawer) pour(class string) {
	var pots []*need
	for _, n := range d.needs {
		if n.class == class {
			pots = append(pots, n)
		}
	}
	k := d.picker(pots)
	if !k.pick() {
		d.short(class, pots, k)
	}
	if k.bent {
		d.bent = true
		d.assume("%s is not drawn strictly first expired first out: that would leave a mix without.", class)
	}
	for i, n := range k.needs {
		d.drawn(n, k.taken[i])
	}
}

// drawn notes what is taken for one pot, and what is left of it.
func (d *drawer) drawn(n *need, took []taking) {
	packs := d.out.Packs[n.class]
	rest := n.ml
	for _, t := range took {
		x := d.line(n, t)
		x.Mix = n.mix
		switch {
		case t.lot.by != stock.ByPack:
			x.ML, x.Grams, x.ScrapKnown = n.ml, n.grams, true
		case packs.SizeML == 0:
			x.ML, x.Grams = n.ml, n.grams
		default:
			x.OfML = float64(x.Packs) * packs.SizeML
			x.ML = min(rest, x.OfML)
			rest -= x.ML
			if n.ml > 0 {
				x.Grams = n.grams * x.ML / n.ml
			}
			if n.ml > 0 && !packs.Keeps {
				x.ScrapML, x.ScrapKnown = x.OfML-x.ML, true
			}
		}
		d.out.Draws = append(d.out.Draws, x)
	}
}

// line is a row of the pick list.
func (d *drawer) line(n *need, t taking) Drawn {
	if t.lot.note != "" {
		d.assume("%s", t.lot.note)
	}
	x := Drawn{At: n.at, Until: n.until, Row: t.lot.row, List: d.out.List, Take: t.amount, Opened: !t.lot.row.Item.Opened.IsZero(),
		Named: n.named != "" && n.named == t.lot.row.Item.Batch, Last: d.turn(t.lot, n).last}
	if t.lot.by == stock.ByPack {
		x.Packs = int(t.amount)
	}
	return x
}

// promoters finds a good container of promoter for each time that one is put on. What
// is opened for one serves the next as long as it is good.
func (d *drawer) promoters() {
	needs := d.promoterNeeds()
	if len(needs) == 0 {
		return
	}
	var all []*lot
	for _, l := range d.lots {
		if cl, err := d.c.Find(l.row.Item.Class); err == nil && cl.Kind == catalog.Promoter {
			all = append(all, l)
		}
	}
	var without []*need
	var open *lot
	count := 0
	for _, n := range needs {
		if open != nil && d.fit(open, n).good {
			last := &d.out.Draws[len(d.out.Draws)-1]
			last.For, last.Until = last.For+", "+n.joints[0], n.until
			continue
		}
		open = nil
		for _, l := range d.ranked(all, n) {
			if (l.by != stock.ByNothing && l.left > 0) && d.fit(l, n).good {
				open = l
				break
			}
		}
		if count++; open == nil {
			without = append(without, n)
			continue
		}
		take := 1.0
		if open.by != stock.ByPack {
			take = 0 // as much as it needs
		}
		open.left -= take
		x := d.line(n, taking{open, take})
		x.For = n.what
		d.out.Draws = append(d.out.Draws, x)
	}
	d.assume("The job does not name the promoter: any class of promoter on %s counts.", d.out.List)
	if without != nil {
		s := Short{Class: d.onlyPromoter(), Needed: count, Missing: len(without), Unit: "container"}
		d.missing(&s, without, all)
	}
}

// hardware looks for the items to renew: those that are a class, such as seals, on the
// list; the rest no list can hold, as it lists what has a class.
func (d *drawer) hardware() {
	for _, it := range d.p.Renew {
		if _, err := d.c.Find(it.Item); err != nil {
			d.out.Missing = append(d.out.Missing, it.Item)
			continue
		}
		n := &need{what: it.Item, class: it.Item, at: d.p.Job.Start, until: d.p.Ready, packs: it.Count}
		all := d.ofClass(it.Item)
		left := float64(it.Count)
		for _, l := range d.ranked(all, n) {
			take := min(left, l.left)
			if l.by != stock.ByPack || take <= 0 || !d.fit(l, n).good {
				continue
			}
			l.left, left = l.left-take, left-take
			x := d.line(n, taking{l, take})
			x.For = it.Item
			d.out.Draws = append(d.out.Draws, x)
		}
		if left > 0 {
			n.short = int(left)
			s := Short{Item: it.Item, Needed: it.Count, Missing: int(left), Unit: "piece"}
			d.missing(&s, []*need{n}, all)
		}
	}
}

// strangers says which rows are of classes that nobody knows.
func (d *drawer) strangers() {
	const most = 3
	type stranger struct {
		line int
		say  string
	}
	var all []stranger
	for class, line := range d.alien {
		if _, err := d.c.Find(class); err != nil {
			all = append(all, stranger{line, err.Error()})
		}
	}
	slices.SortFunc(all, func(a, b stranger) int { return cmp.Or(a.line-b.line, strings.Compare(a.say, b.say)) })
	for _, s := range all[:min(most, len(all))] {
		d.assume("%s: nothing is drawn of it: %s.", d.at(s.line), s.say)
	}
	if more := len(all) - most; more > 0 {
		d.assume("%s: nor of %d more classes that are not known.", d.out.List, more)
	}
}

// at is a place in the list: a register has no lines.
func (d *drawer) at(line int) string {
	if d.out.Register {
		return d.out.List
	}
	return fmt.Sprintf("%s:%d", d.out.List, line)
}

// packsFor is how many packs of a size a pot takes: one where either is not known.
func packsFor(ml, size float64) int {
	if size <= 0 {
		return 1
	}
	return max(1, int(math.Ceil(ml/size-1e-9)))
}
