package bigregister

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"
	"github.com/rickb777/date"
	"github.com/rickb777/date/period"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// The people, places and makers, all made up.
var (
	makers  = []string{"Brisling Chemicals", "Havn & Sons", "Kjolur Sealants", "Polar Resins", "Tindur"}
	another = "Vestan" // of a batch whose number another maker has used too
	sites   = []string{"east base", "home base", "line station", "north base", "paint hall"}
	stores  = []string{"cold store", "freezer", "cabinet 1", "cabinet 2"}
	benches = []string{"bench 1", "bench 2", "bench 3", "bay 4", "bay 5"}
	techs   = []string{"A. Nyholm", "B. Dam", "J. Poulsen", "M. Joensen", "R. Olsen", "S. Hansen", "T. Berg"}
)

// How many aircraft and joints on each there are to go to.
const (
	aircraft = 200
	joints   = 400
)

// sort is how the classes of a kind are kept and used.
type sort struct {
	unit   string
	packs  int    // at most in one delivery
	life   int    // in the pack, months
	open   string // what is done to a pack before it is used: opened, thawed or nothing
	frozen bool
}

var sorts = map[catalog.Kind]sort{
	catalog.TwoPart:         {"kit", 24, 9, "", false},
	catalog.PremixedFrozen:  {"cartridge", 40, 2, "thawed", true},
	catalog.OnePartMoisture: {"cartridge", 24, 12, "opened", false},
	catalog.Adhesive:        {"kit", 12, 12, "", false},
	catalog.FilmAdhesive:    {"roll", 3, 12, "thawed", true},
	catalog.Primer:          {"can", 6, 12, "opened", false},
	catalog.Promoter:        {"can", 6, 12, "opened", false},
	catalog.Topcoat:         {"can", 6, 24, "opened", false},
	catalog.Grease:          {"can", 6, 36, "opened", false},
	catalog.Anaerobic:       {"bottle", 12, 18, "opened", false},
	catalog.Elastomer:       {"ea", 200, 60, "", false},
}

var classes = catalog.Builtin().All()

// story tells what happened to the i-th batch.
func (p Plan) story(i int) (register.Key, []*register.Event) {
	t := &teller{rng: rand.New(rand.NewPCG(p.Seed, uint64(i))), full: p.Full, pace: 1}
	start, end := Now.AddDate(-p.years(), 0, 0), Now
	if p.Full {
		start, end, t.pace = Now.AddDate(0, -8, 0), Now.AddDate(0, -2, 0), 6
	}
	minutes := int(end.Sub(start) / time.Minute)
	t.now = start.Add(time.Duration(minutes*i/p.Batches) * time.Minute)
	batch := register.Batch{Number: fmt.Sprintf("B%07d", i), Maker: t.one(makers)}
	if i%1000 == 999 {
		batch = register.Batch{Number: fmt.Sprintf("B%07d", i-1), Maker: another}
	}
	t.tell()
	return batch.Key(), t.events
}

// teller tells the story of one batch. What would come after Now does not happen.
type teller struct {
	rng    *rand.Rand
	full   bool
	pace   int // how many times quicker than usual it all goes
	now    time.Time
	events []*register.Event

	class     catalog.Class
	sort      sort
	site      string
	container string // of the part that is used
	place     string
	left      int // thousandths of a pack, of that part
	life      time.Time
}

func (t *teller) one(of []string) string      { return of[t.rng.IntN(len(of))] }
func (t *teller) chance(percent int) bool     { return t.rng.IntN(100) < percent }
func (t *teller) between(low, high int) int   { return low + t.rng.IntN(high-low+1) }
func (t *teller) later(hours int) (come bool) { return t.wait(1, hours) }

// wait lets some hours pass; false: Now is over.
func (t *teller) wait(low, high int) bool {
	next := t.now.Add(time.Duration(t.between(low*60, high*60)/t.pace) * time.Minute)
	if next.After(Now) {
		return false
	}
	t.now = next
	return true
}

// add records an event a few minutes after it happened.
func (t *teller) add(e register.Event) {
	e.At = register.AtInstant(t.now)
	e.Recorded = t.now.Add(time.Duration(t.rng.IntN(240_000)) * time.Millisecond)
	if n := len(t.events); n > 0 && e.Recorded.Before(t.events[n-1].Recorded) {
		e.Recorded = t.events[n-1].Recorded
	}
	e.By, e.Station, e.Zone, e.ID = t.one(techs), "stores-"+t.site[:1], Zone, t.id(e.Recorded)
	t.events = append(t.events, &e)
}

// id is a UUID of version 7 (RFC 9562), as the register itself makes them.
func (t *teller) id(at time.Time) string {
	var u uuid.UUID
	binary.BigEndian.PutUint64(u[:8], uint64(at.UnixMilli())<<16|0x7000|t.rng.Uint64()&0x0fff)
	binary.BigEndian.PutUint64(u[8:], 1<<63|t.rng.Uint64()>>2)
	return u.String()
}

func amount(thousandths int) *register.Amount { a := register.Amount(thousandths); return &a }

func (t *teller) tell() {
	t.class = classes[t.rng.IntN(len(classes))]
	t.sort = sorts[t.class.Kind]
	if t.full && t.sort.life < 9 && t.chance(80) { // which would have ended nearly all
		t.class = classes[0]
		t.sort = sorts[t.class.Kind]
	}
	t.site = t.one(sites)
	t.received()
	if t.chance(8) && t.later(200) {
		t.held()
	}
	if t.chance(30) && t.later(400) {
		t.moved()
	}
	hours := 900 // from one draw to the next
	if t.sort.open != "" && t.left > 1000 && t.later(1500) {
		t.opened()
		hours = 8 * t.pace // an open pack does not keep
	}
	draws := t.between(1, 4)
	if t.full && t.chance(60) {
		draws++ // for what is not scrapped there
	}
	for d := range draws {
		if !t.later(hours) {
			return
		}
		if t.chance(13) {
			t.counted()
		}
		t.drawn(d == draws-1)
		if t.left == 0 {
			break
		}
	}
	t.end()
}

func (t *teller) received() {
	s := t.sort
	t.place = t.site + " / " + stores[t.rng.IntN(len(stores))]
	if s.frozen {
		t.place = t.site + " / freezer"
	}
	made := date.NewAt(t.now).Add(date.PeriodOfDays(-t.between(5, 60/t.pace)))
	expiry := made.AddDate(0, s.life, 0)
	t.life = expiry.UTC()
	t.left = 1000 * t.between(2, s.packs)
	it := shelf.Item{Class: t.class.ID, DOM: label.DayOf(made), Expiry: label.DayOf(expiry)}
	if t.chance(20) {
		it.DOM, it.Expiry = label.MonthOf(made), label.MonthOf(expiry)
	}
	if s.unit == "kit" && t.chance(30) {
		it.Parts = []shelf.Part{{Name: "base", Lot: fmt.Sprintf("R%05d", t.rng.IntN(1e5)), DOM: label.DayOf(made)},
			{Name: "accelerator", Lot: fmt.Sprintf("C%05d", t.rng.IntN(1e5)), DOM: label.DayOf(made.Add(date.PeriodOfDays(-t.between(1, 40))))}}
	}
	it.Received.NoPapers = t.chance(2)
	r := &register.Receipt{Label: it, Supplier: "supplier " + string(rune('A'+t.rng.IntN(9))), Order: fmt.Sprintf("PO-%06d", t.rng.IntN(1e6)),
		Certificate: fmt.Sprintf("CoC-%06d", t.rng.IntN(1e6))}
	if it.Received.NoPapers {
		r.Certificate = ""
	}
	t.add(register.Event{Kind: register.KindReceived, Place: t.place, Amount: amount(t.left), Unit: s.unit, Receipt: r, Verdict: "use: label-expiry " + expiry.String()})
}

func (t *teller) held() {
	t.add(register.Event{Kind: register.KindHeld, Why: "packing was wet when it came: look at it again"})
	if t.chance(85) && t.later(100) {
		t.add(register.Event{Kind: register.KindFreed, Why: "looked at: dry inside", Authority: "quality office", Reference: fmt.Sprintf("QN-%05d", t.rng.IntN(1e5)),
			Shelf: &shelf.Event{Limit: shelf.LimitHeld}})
	}
}

// moved takes some of it, or all, to a bench; that is used from then on.
func (t *teller) moved() {
	to := t.site + " / " + t.one(benches)
	n := 1000 * t.between(1, t.left/1000)
	t.add(register.Event{Kind: register.KindMoved, Place: t.place, To: to, Amount: amount(n), Unit: t.sort.unit})
	t.place, t.left = to, n
}

func (t *teller) opened() {
	t.add(register.Event{Kind: register.Kind(t.sort.open), Place: t.place, As: "1", Amount: amount(1000), Unit: t.sort.unit})
	t.container, t.left = "1", 1000
}

func (t *teller) counted() {
	t.add(register.Event{Kind: register.KindCounted, Container: t.container, Place: t.place, Amount: amount(t.left), Unit: t.sort.unit})
}

// drawn takes one pack, or a fifth of an open one, or with the last draw, at times, all
// there is.
func (t *teller) drawn(last bool) {
	n := 1000
	switch {
	case t.container != "":
		n = 200
	case t.full && t.left == 1000:
		t.counted() // the last pack stays: looked at instead
		return
	case last && !t.full && t.chance(75):
		n = t.left
	}
	ship := t.rng.IntN(aircraft)
	u := &register.Use{Job: fmt.Sprintf("WO-%03d-%04d", ship, t.rng.IntN(5000)), Mix: fmt.Sprint(t.between(1, 6))}
	for range t.between(1, 2) {
		u.Joints = append(u.Joints, Joint(ship, t.rng.IntN(joints)))
	}
	t.add(register.Event{Kind: register.KindDrawn, Container: t.container, Place: t.place, Amount: amount(n), Unit: t.sort.unit, Use: u, Verdict: "use: label-expiry"})
	t.left -= n
}

// Joint is the name of a joint on an aircraft, both from 0.
func Joint(aircraft, joint int) string { return fmt.Sprintf("AC%03d joint %03d", aircraft, joint) }

// end is when its date comes: tested and extended, or scrapped. What is left of an open
// pack goes before.
func (t *teller) end() {
	if t.container != "" && t.left > 0 && t.chance(95) && t.later(24) {
		t.add(register.Event{Kind: register.KindScrapped, Container: t.container, Place: t.place, Why: "open for too long"})
	}
	if t.life.After(Now) {
		return
	}
	if t.life.After(t.now) {
		t.now = t.life
	}
	if t.chance(15) && t.later(100) {
		t.tested()
		if t.now = t.now.AddDate(0, 3, 0); t.now.After(Now) {
			return
		}
	}
	if t.full || !t.later(2000) {
		return
	}
	t.scrapped()
}

func (t *teller) tested() {
	ref := fmt.Sprintf("LAB-%05d", t.rng.IntN(1e5))
	t.add(register.Event{Kind: register.KindTested, Authority: "quality office", Reference: ref, Shelf: &shelf.Event{Passed: true, Results: "application time 2 h 10 min, Shore A 48 at 72 h"}})
	if t.later(50) {
		t.add(register.Event{Kind: register.KindExtended, Authority: "quality office", Reference: ref, Shelf: &shelf.Event{Span: period.NewYMD(0, 3, 0)}})
	}
}

// scrapped takes all that is left out of stock, part by part.
func (t *teller) scrapped() {
	for _, p := range register.Fold("B\t", t.numbered(), time.UTC).Parts {
		if p.Stocked() {
			t.add(register.Event{Kind: register.KindScrapped, Container: p.Container, Place: p.Place, Why: "past its date"})
		}
	}
}

// numbered is the events with their places on the line.
func (t *teller) numbered() []*register.Event {
	for i, e := range t.events {
		e.Seq = i + 1
	}
	return t.events
}
