package storeroom

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

var background = context.Background()

// bench is a register on a file of its own, and the time there.
type bench struct {
	*testing.T
	path string
	now  time.Time
}

func newBench(t *testing.T) *bench {
	return &bench{T: t, path: filepath.Join(t.TempDir(), "register.db"), now: time.Date(2024, 3, 8, 10, 0, 0, 0, time.UTC)}
}

// room opens the register, as another station would.
func (b *bench) room(until ...label.Date) *Room {
	b.Helper()
	r, err := b.open(until...)
	require.NoError(b, err)
	b.Cleanup(func() { r.Store.Close() })
	return r
}

func (b *bench) open(until ...label.Date) (*Room, error) {
	j := desk.NewJudge(catalog.Builtin(), date.NewAt(b.now))
	q := shelf.Question{On: date.NewAt(b.now), At: b.now.Hour()*60 + b.now.Minute(), Timed: true, Zone: time.UTC}
	if len(until) > 0 {
		q.Until = until[0]
	}
	j.Ask(q)
	now := b.now
	return Open(background, b.path, Options{Create: true}, j, register.AtInstant(now), func() time.Time { return now })
}

// said is what every act of a test says.
func said(batch string) Act {
	return Act{Number: batch, BySaid: true, Said: register.Event{By: "Tech 1"}}
}

func amount(s string) *register.Amount {
	a, err := register.ParseAmount(s)
	if err != nil {
		panic(err)
	}
	return &a
}

func day(y, m, d int) label.Date { return label.DayOf(date.New(y, time.Month(m), d)) }

// receive takes in a batch of 2-hour polysulfide kits made in autumn 2023.
func (b *bench) receive(r *Room, batch, quantity, place string, expiry label.Date, more ...func(*Arrival)) {
	b.Helper()
	a := &Arrival{Act: said(batch), Item: shelf.Item{Class: "polysulfide-b-2", DOM: day(2023, 9, 1), Expiry: expiry}}
	a.Said.Amount, a.Said.Unit, a.Which.Place, a.Receipt.Certificate = amount(quantity), "kit", place, "C-118"
	for _, m := range more {
		m(a)
	}
	a.Item.Batch = batch
	_, err := r.Receive(background, a)
	require.NoError(b, err)
}

func (b *bench) draw(r *Room, batch string, more ...func(*Drawing)) *Drawn {
	b.Helper()
	o, err := b.tryDraw(r, batch, more...)
	require.NoError(b, err)
	return o
}

func (b *bench) tryDraw(r *Room, batch string, more ...func(*Drawing)) (*Drawn, error) {
	d := &Drawing{Act: said(batch)}
	d.Until = r.Judge.Until()
	for _, m := range more {
		m(d)
	}
	return r.Draw(background, d)
}

func forJob(job string) func(*Drawing) {
	return func(d *Drawing) { d.Use.Job, d.Use.Mix, d.Use.Joints = job, "2", []string{"fuel-bay door"} }
}

func forTraining(d *Drawing) { d.Use.Training = true }

// reserve keeps some of a part for a job.
func (b *bench) reserve(r *Room, batch, place, quantity, job string) {
	b.Helper()
	_, err := r.Append(background, register.Batch{Number: batch}.Key(), func(*register.State) ([]*register.Event, error) {
		return []*register.Event{{Kind: register.KindReserved, By: "Planner", At: r.At, Place: place, Amount: amount(quantity), Unit: "kit", Use: &register.Use{Job: job}}}, nil
	})
	require.NoError(b, err)
}

func (b *bench) events(r *Room, batch string) []*register.Event {
	b.Helper()
	s, err := r.Load(background, register.Batch{Number: batch}.Key())
	require.NoError(b, err)
	return s.Events
}

func TestDrawRecordsWhatForAndTheVerdict(t *testing.T) {
	b := newBench(t)
	r := b.room(label.At(date.New(2024, 3, 8), 14*60))
	b.receive(r, "S-2207", "5", "cold store", day(2024, 6, 30))
	o := b.draw(r, "S-2207", forJob("NF12-0417"))
	assert.Equal(t, "Drawn 1 kit of S-2207 at cold store, for job NF12-0417, mix 2: fuel-bay door.", o.Did)
	assert.Empty(t, o.Withheld)
	e := b.events(r, "S-2207")[1]
	assert.Equal(t, register.KindDrawn, e.Kind)
	assert.Equal(t, register.Use{Job: "NF12-0417", Mix: "2", Joints: []string{"fuel-bay door"}, Until: e.Use.Until}, *e.Use)
	assert.Equal(t, "2024-03-08T14:00:00Z", e.Use.Until.String())
	assert.Equal(t, "use: label-expiry 2024-06-30", e.Verdict)
	assert.Equal(t, "4 kits at cold store", PartWords(o.Holdings[0].Part))
	assert.Contains(t, fmt.Sprint(o.ToDo), "scrapped")
}

func TestHoldAndRejectAreNotDrawn(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30), func(a *Arrival) { a.Receipt.Certificate = "" })
	b.receive(r, "S-2", "2", "cold store", day(2024, 2, 29))

	o := b.draw(r, "S-1")
	assert.Equal(t, shelf.Hold, o.Answer)
	assert.Contains(t, o.Withheld, "without papers")
	assert.Contains(t, o.Lift, "beadline stock free S-1 --limit receipt")
	assert.Contains(t, fmt.Sprint(o.ToDo), "certificate")
	assert.Len(t, b.events(r, "S-1"), 1, "nothing is recorded")

	o = b.draw(r, "S-2")
	assert.Equal(t, shelf.Reject, o.Answer)
	assert.Contains(t, o.Withheld, "Expired")
	assert.Empty(t, o.Lift, "nobody lifts a reject")
	assert.Len(t, b.events(r, "S-2"), 1)
}

func TestTrainingMayDrawAnythingAndIsMarked(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-2", "2", "cold store", day(2024, 2, 29))
	o := b.draw(r, "S-2", forTraining)
	assert.Empty(t, o.Withheld)
	assert.Contains(t, fmt.Sprint(o.ToDo), "Not for an aircraft")
	e := b.events(r, "S-2")[1]
	assert.True(t, e.Use.Training)
	assert.Equal(t, "reject: label-expiry 2024-02-29", e.Verdict)
	_, err := b.tryDraw(r, "S-2", forTraining, forJob("NF12-0417"))
	assert.ErrorContains(t, err, "no job, mix or joint")
}

func TestHeldBatchIsDrawnOnceFreed(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30), func(a *Arrival) { a.Receipt.Certificate = "" })
	a := said("S-1")
	a.Said.Authority, a.Said.Reference, a.Said.Why = "quality office", "QR-7", "certificate came by post"
	_, err := r.Free(background, &a, shelf.LimitReceipt)
	require.NoError(t, err)
	o := b.draw(r, "S-1")
	assert.Empty(t, o.Withheld)
}

// By an earlier time what is held now is not to be had, but by somebody who stands for it.
func TestDrawingEnteredLateOfWhatIsHeldNeedsNames(t *testing.T) {
	for name, late := range map[string]func(b *bench, r *Room) error{
		"held": func(b *bench, r *Room) error {
			a := said("S-2207")
			a.Said.Why = "dented"
			_, err := r.Hold(background, &a, 0)
			return err
		},
		"failed its test": func(b *bench, r *Room) error {
			a := said("S-2207")
			_, err := r.Test(background, &a, Tested{Results: "skinned"})
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			r := b.room()
			b.receive(r, "S-2207", "5", "cold store", day(2024, 6, 30))
			b.now = b.now.Add(48 * time.Hour)
			require.NoError(t, late(b, b.room()))
			back := b.room()
			before := b.now.Add(-24 * time.Hour)
			back.At, back.Now = register.AtInstant(before), before
			back.askAt(back.At, label.Date{})
			entered := func(d *Drawing) { d.TimeSaid = true; d.Use.Job = "NF12" }
			_, err := b.tryDraw(back, "S-2207", entered)
			assert.ErrorContains(t, err, "a drawing entered late, of what may not be used as its record stands now (")
			assert.ErrorContains(t, err, "needs --authority, --reference and --why")
			o := b.draw(back, "S-2207", entered, func(d *Drawing) {
				d.Said.Authority, d.Said.Reference, d.Said.Why = "quality office", "QR 9", "drawn then, entered late"
			})
			assert.Equal(t, "use: label-expiry 2024-06-30", o.Then)
			assert.Contains(t, fmt.Sprint(o.Notes), "As its record stands now it may not be used: ")
		})
	}
}

// What befell it since without harm is no obstacle.
func TestDrawingEnteredLate(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-2207", "5", "cold store", day(2024, 3, 9))
	b.now = b.now.Add(48 * time.Hour) // it has ended meanwhile
	open := said("S-2207")
	_, err := b.room().Open(background, &open, "")
	require.NoError(t, err)
	back := b.room()
	back.At = register.OnDay(date.New(2024, 3, 9))
	back.askAt(back.At, label.Date{})
	o := b.draw(back, "S-2207", func(d *Drawing) { d.TimeSaid = true; d.Use.Job = "NF12" })
	assert.Contains(t, fmt.Sprint(o.Notes), "It was judged for when it was drawn, 9 March 2024, not for now.")
	assert.Contains(t, fmt.Sprint(o.Notes), "It is too old now: Expired: the expiry on the label ended 9 March 2024.")
}

func TestWhatDoesNotOutlastTheWorkIsNotDrawn(t *testing.T) {
	b := newBench(t)
	r := b.room(day(2024, 4, 10))
	b.receive(r, "S-1", "2", "cold store", day(2024, 3, 31))
	o := b.draw(r, "S-1")
	assert.Equal(t, shelf.Hold, o.Answer)
	assert.Contains(t, o.Withheld, "before the work is done")
	assert.Empty(t, o.Lift, "there is no hold to lift")
	assert.Len(t, b.events(r, "S-1"), 1)
}

// A pack from the freezer counts as out from the moment it is drawn: two hours (class
// polysulfide-b-2-premixed of the built-in catalog), so that noon is within it, 14:00 not.
func TestFrozenPackCountsAsOutOnceDrawn(t *testing.T) {
	b := newBench(t)
	frozen := func(a *Arrival) {
		a.Item = shelf.Item{Class: "polysulfide-b-2-premixed", DOM: day(2024, 3, 1), Expiry: day(2024, 3, 31)}
		a.Said.Unit = "cartridge"
	}
	r := b.room(label.At(date.New(2024, 3, 8), 14*60))
	b.receive(r, "F-1", "2", "freezer", label.Date{}, frozen)
	assert.Contains(t, b.draw(r, "F-1").Withheld, "12:00")
	r = b.room(label.At(date.New(2024, 3, 8), 11*60+30))
	assert.Empty(t, b.draw(r, "F-1").Withheld)
}

// By a day alone nobody knows since which hour it is out: it does not pass for one that
// lasts as long as in the freezer.
func TestFrozenPackDrawnOnADayDoesNotOutlastIt(t *testing.T) {
	b := newBench(t)
	b.receive(b.room(), "F-1", "2", "freezer", label.Date{}, func(a *Arrival) {
		a.Item = shelf.Item{Class: "polysulfide-b-2-premixed", DOM: day(2024, 3, 1), Expiry: day(2024, 3, 31)}
		a.Said.Unit = "cartridge"
	})
	r := b.room()
	r.At = register.OnDay(date.New(2024, 3, 8))
	r.askAt(r.At, day(2024, 3, 12))
	o := b.draw(r, "F-1")
	assert.Contains(t, o.Withheld, "by the hour, not by the day")
	assert.Empty(t, o.Lift, "no person can free that")
	r.askAt(r.At, label.Date{})
	assert.Contains(t, fmt.Sprint(b.draw(r, "F-1").Notes), "Since which hour it is out of the freezer is not said")
}

func TestOpenedPartGoesFirstThenWhatEndsFirst(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "rack 1", day(2024, 6, 30))
	b.receive(r, "S-1", "2", "rack 2", day(2024, 6, 30))
	a := said("S-1")
	a.Which.Place = "rack 2"
	_, err := r.Open(background, &a, "7")
	require.NoError(t, err)
	o := b.draw(r, "S-1")
	assert.Equal(t, "7", o.Events[0].Container)
	assert.Contains(t, fmt.Sprint(o.Notes), "container 7")
	o = b.draw(r, "S-1", func(d *Drawing) { d.Which.Place = "RACK 2" })
	assert.Equal(t, "rack 2", o.Events[0].Place)
	_, err = b.tryDraw(r, "S-1", func(d *Drawing) { d.Which.Place = "rack 2" })
	assert.ErrorContains(t, err, "nothing of S-1 at rack 2")
}

func TestMeasuredDrawOpensTheContainer(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "P-1", "500", "rack 2", day(2024, 6, 30), func(a *Arrival) { a.Item.Class, a.Said.Unit = "adhesion-promoter", "ml" })
	_, err := b.tryDraw(r, "P-1")
	assert.ErrorContains(t, err, "--quantity")
	_, err = b.tryDraw(r, "P-1", func(d *Drawing) { d.Said.Amount, d.Said.Unit = amount("1"), "kit" })
	assert.ErrorContains(t, err, "ml")
	ofLitre := func(d *Drawing) { d.Said.Amount, d.Said.Unit, d.Said.ID = amount("0.02"), "l", "draw-1" }
	o := b.draw(r, "P-1", ofLitre)
	require.Len(t, o.Events, 2)
	assert.Equal(t, register.KindOpened, o.Events[0].Kind)
	assert.Equal(t, "480 ml at rack 2", PartWords(o.Holdings[0].Part))
	assert.False(t, o.Holdings[0].Item.Opened.IsZero())

	again := b.draw(r, "P-1", ofLitre)
	assert.True(t, again.Known)
	assert.Len(t, b.events(r, "P-1"), 3, "neither doubled")
	_, err = b.tryDraw(r, "P-1", ofLitre, forJob("J"))
	assert.ErrorContains(t, err, "another event")

	o = b.draw(r, "P-1", func(d *Drawing) { d.Said.Amount = amount("30") })
	assert.Len(t, o.Events, 1, "it is open already")
}

func TestPacksAreDrawnWhole(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "3", "rack 1", day(2024, 6, 30))
	for q, say := range map[string]string{"0.5": "whole", "0": "nothing", "4": "no part of it has 4 kits"} {
		_, err := b.tryDraw(r, "S-1", func(d *Drawing) { d.Said.Amount = amount(q) })
		assert.ErrorContains(t, err, say)
	}
	assert.Len(t, b.events(r, "S-1"), 1)
}

func TestReservationIsForItsJob(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "3", "rack 1", day(2024, 6, 30))
	b.reserve(r, "S-1", "rack 1", "2", "J1")

	assert.Empty(t, b.draw(r, "S-1", forJob("J2")).Withheld, "one is free")
	o := b.draw(r, "S-1", forJob("J2"))
	assert.Equal(t, shelf.Hold, o.Answer)
	assert.Contains(t, o.Withheld, "of 2 kits at rack 1, 2 kits are reserved for job J1, by Planner")
	assert.Contains(t, o.Lift, "--although-reserved")

	o = b.draw(r, "S-1", forJob("J1"))
	assert.Contains(t, fmt.Sprint(o.Notes), "still reserved for job J1")
	assert.Equal(t, register.Amount(1000), o.Holdings[0].Reserved[0].Amount)

	_, err := b.tryDraw(r, "S-1", forJob("J2"), func(d *Drawing) { d.Although = true })
	assert.ErrorContains(t, err, "--why")
	o = b.draw(r, "S-1", forJob("J2"), func(d *Drawing) { d.Although, d.Said.Why = true, "aircraft on ground" })
	assert.True(t, o.Events[0].Although)
	keys, err := r.Store.ReservedFor(background, "J1")
	require.NoError(t, err)
	assert.Empty(t, keys)
}

func TestDrawingForAJobUsesUpItsReservation(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "1", "rack 1", day(2024, 6, 30))
	b.receive(r, "S-2", "3", "rack 1", day(2024, 7, 31))
	b.reserve(r, "S-1", "rack 1", "1", "J1")
	b.reserve(r, "S-2", "rack 1", "1", "J1")
	o := b.draw(r, "S-1", forJob("J1"))
	assert.Contains(t, fmt.Sprint(o.Notes), "uses up what was reserved")
	assert.Contains(t, fmt.Sprint(o.Notes), "Job J1 has 1 kit of batch S-2 reserved")
}

func TestWhatShouldGoFirstIsNamed(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "rack 1", day(2024, 6, 30))
	b.receive(r, "S-2", "1", "rack 2", day(2024, 4, 30))
	b.receive(r, "S-3", "1", "rack 2", day(2024, 2, 29))
	o := b.draw(r, "S-1")
	assert.Contains(t, o.Notes, "Batch S-2 should go before this one: 1 kit at rack 2, usable through 30 Apr 2024.")
	b.reserve(r, "S-2", "rack 2", "1", "J9")
	assert.NotContains(t, fmt.Sprint(b.draw(r, "S-1").Notes), "should go before")
}

func TestProposalsLastAndAreFree(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "rack 1", day(2024, 6, 30))
	b.receive(r, "S-2", "1", "rack 2", day(2024, 4, 30))
	b.receive(r, "S-3", "1", "rack 2", day(2024, 3, 20))
	b.receive(r, "S-4", "1", "rack 2", day(2024, 2, 29))
	b.receive(r, "S-5", "1", "rack 2", day(2024, 5, 31), func(a *Arrival) { a.Item.Opened = day(2024, 3, 1) })
	b.receive(r, "S-6", "1", "rack 2", day(2024, 5, 15))
	b.reserve(r, "S-6", "rack 2", "1", "J9")
	order := func(r *Room, d *Drawing, n int) (names []string) {
		p, err := r.Propose(background, "polysulfide-b-2", d, n)
		require.NoError(t, err)
		for _, x := range p.First {
			names = append(names, x.Batch.Number)
		}
		return names
	}
	assert.Equal(t, []string{"S-5", "S-3", "S-2", "S-1"}, order(r, &Drawing{}, 9))
	assert.Equal(t, []string{"S-5", "S-3"}, order(r, &Drawing{}, 2))
	assert.Equal(t, []string{"S-5", "S-3", "S-2", "S-6", "S-1"}, order(r, &Drawing{Use: register.Use{Job: "J9"}}, 9))
	late := b.room(day(2024, 4, 1))
	assert.Equal(t, []string{"S-5", "S-2", "S-1"}, order(late, &Drawing{Until: late.Judge.Until()}, 9))
	two := &Drawing{}
	two.Said.Amount = amount("2")
	assert.Equal(t, []string{"S-1"}, order(r, two, 9))
	at := &Drawing{}
	at.Which.Place = "Rack 1"
	assert.Equal(t, []string{"S-1"}, order(r, at, 9))
	p, err := r.Propose(background, "polysulfide-b-4", &Drawing{}, 3)
	require.NoError(t, err)
	assert.Zero(t, p.Parts)
	_, err = r.Propose(background, "polysulfid-b-2", &Drawing{}, 3)
	assert.ErrorContains(t, err, "polysulfide-b-2")
}

// Where more than the first look keeps are all reserved, the look goes on.
func TestProposalNamesEachPartOnce(t *testing.T) {
	b := newBench(t)
	r := b.room()
	for _, maker := range []string{"Nordlys", "Sudlys"} {
		b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30), func(a *Arrival) { a.Maker = maker })
	}
	p, err := r.Propose(background, "polysulfide-b-2", &Drawing{}, 5)
	require.NoError(t, err)
	require.Len(t, p.First, 2)
	assert.Equal(t, []string{"Nordlys", "Sudlys"}, []string{p.First[0].Batch.Maker, p.First[1].Batch.Maker})
}

func TestProposalLooksBehindWhatIsReserved(t *testing.T) {
	b := newBench(t)
	r := b.room()
	for i := range 80 {
		name := fmt.Sprintf("S-%03d", i)
		b.receive(r, name, "1", "rack 1", day(2024, 5, 1))
		b.reserve(r, name, "rack 1", "1", "J9")
	}
	b.receive(r, "S-900", "1", "rack 1", day(2024, 6, 1))
	p, err := r.Propose(background, "polysulfide-b-2", &Drawing{}, 3)
	require.NoError(t, err)
	require.Len(t, p.First, 1)
	assert.Equal(t, "S-900", p.First[0].Batch.Number)
	assert.Equal(t, 81, p.Good)
}

// The record of the last kit, drawn for the wrong joint, is written anew: what it corrects
// does not stand in its way, and it stands at the time when that happened.
func TestDrawOfTheLastKitIsCorrected(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "1", "rack 1", day(2024, 6, 30))
	first := b.draw(r, "S-1", forJob("J1"))
	b.now = b.now.AddDate(0, 6, 0) // it has expired since
	r = b.room()
	fix := func(d *Drawing) {
		d.Said.Corrects, d.Said.Authority, d.Said.Reference, d.Said.Why = first.Events[0].ID, "quality office", "QR-8", "it was the other door"
		d.Use = register.Use{Job: "J1", Joints: []string{"cargo door"}}
	}
	o := b.draw(r, "S-1", fix)
	assert.Empty(t, o.Withheld)
	assert.Equal(t, first.Events[0].At.String(), o.Events[0].At.String())
	assert.Equal(t, "use: label-expiry 2024-06-30", o.Events[0].Verdict)
	served, err := r.Store.Served(background, "fuel-bay door", "")
	require.NoError(t, err)
	assert.Empty(t, served)
}

// Two stations draw the last kit at once: one has it, the other is told who.
func TestTwoStationsDrawTheLastKit(t *testing.T) {
	for round := range 10 {
		b := newBench(t)
		b.receive(b.room(), "S-1", "1", "rack 1", day(2024, 6, 30))
		rooms := []*Room{b.room(), b.room()}
		var all sync.WaitGroup
		drawn, errs := make([]*Drawn, 2), make([]error, 2)
		for i, r := range rooms {
			all.Go(func() {
				drawn[i], errs[i] = b.tryDraw(r, "S-1", func(d *Drawing) { d.Said.By = fmt.Sprintf("Tech %d", i+1) })
			})
		}
		all.Wait()
		winner := 0
		if errs[0] != nil {
			winner = 1
		}
		require.NoError(t, errs[winner], "round %d", round)
		require.Empty(t, drawn[winner].Withheld)
		require.Error(t, errs[1-winner])
		assert.Contains(t, errs[1-winner].Error(), "nothing is left of S-1")
		assert.Contains(t, errs[1-winner].Error(), fmt.Sprintf("by Tech %d", winner+1))
		assert.Contains(t, errs[1-winner].Error(), "2024")
		assert.Len(t, b.events(rooms[0], "S-1"), 2)
	}
}
