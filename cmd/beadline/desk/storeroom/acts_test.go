package storeroom

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// stand is a room on a register of its own, whose clock a test sets.
type stand struct {
	*Room
	*testing.T
	now    time.Time
	number string // of the batch
}

func newStand(t *testing.T) *stand {
	b := &stand{T: t, now: time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC), number: "S-2207"}
	r, err := Open(context.Background(), filepath.Join(t.TempDir(), "register.db"), Options{Create: true}, desk.NewJudge(catalog.Builtin(), date.NewAt(b.now)),
		register.AtInstant(b.now), func() time.Time { return b.now })
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, r.Close()) })
	b.Room = r
	b.turn(0)
	return b
}

// turn lets time pass; what is done then is done now, and judged for now.
func (b *stand) turn(d time.Duration) {
	b.now = b.now.Add(d)
	b.At = register.AtInstant(b.now)
	b.Judge.Ask(shelf.Question{On: date.NewAt(b.now), At: b.now.Hour()*60 + b.now.Minute(), Timed: true, Zone: time.UTC})
}

// act is something that a person does with the batch S-2207.
func act() *Act {
	return &Act{Number: "S-2207", Said: register.Event{By: "Tech 1"}}
}

func (a *Act) at(container, place string) *Act { a.Which = Which{container, place}; return a }

func (a *Act) much(n, unit string) *Act {
	v, err := register.ParseAmount(n)
	if err != nil {
		panic(err)
	}
	a.Said.Amount, a.Said.Unit = &v, unit
	return a
}

// stands names who stands for an act.
func (a *Act) stands() *Act {
	a.Said.By, a.BySaid, a.Said.Authority, a.Said.Reference, a.Said.Why = "A. Inspector", true, "quality office", "QN 12", "it was found sound"
	return a
}

func (b *stand) receive(n, place string) *Outcome {
	b.Helper()
	a := Arrival{Act: *act().at("", place).much(n, "kit"), Item: shelf.Item{Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2027, 6, 30))},
		Receipt: register.Receipt{Certificate: "C-118"}}
	a.Number = b.number
	o, err := b.Receive(context.Background(), &a)
	require.NoError(b.T, err)
	return o
}

func (b *stand) state() *register.State {
	b.Helper()
	s, err := b.Load(context.Background(), register.Batch{Number: b.number}.Key())
	require.NoError(b.T, err)
	return s
}

var ctx = context.Background()

func TestNameOfTheComputerDoesNotLiftAHold(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	held := act()
	held.Said.Why = "a doubt"
	_, err := b.Hold(ctx, held, 0)
	require.NoError(t, err)
	a := act().stands()
	a.BySaid = false // it was taken from the log-in name
	_, err = b.Free(ctx, a, "")
	assert.EqualError(t, err, "a hold that is lifted needs --by: who stands for it is printed with the batch ever after")
	assert.Len(t, b.state().Events, 2)
	o, err := b.Free(ctx, act().stands(), "")
	require.NoError(t, err)
	assert.Equal(t, shelf.Use, o.Answer)
}

func TestHoldForDifferentReasonsIsFreedPartByPart(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	_, err := b.Move(ctx, act().much("2", ""), "line")
	require.NoError(t, err)
	for _, place := range []string{"cold store", "line"} {
		a := act().at("", place)
		a.Said.Why = "a doubt at " + place
		_, err := b.Hold(ctx, a, 0)
		require.NoError(t, err)
	}
	_, err = b.Free(ctx, act().stands(), "")
	assert.EqualError(t, err, "S-2207 is held in several parts: say which with --container and --place: 3 kits at cold store; 2 kits at line")
	_, err = b.Free(ctx, act().stands().at("", "LINE"), "")
	require.NoError(t, err)
	assert.Empty(t, b.state().Part("", "cold store").Item.Freed, "the other stays held")
	o, err := b.Free(ctx, act().stands(), "")
	require.NoError(t, err, "one hold is left")
	assert.Contains(t, o.Did, "Freed S-2207 at cold store")
}

func TestHoldOfTheWholeBatchIsFreedAsOne(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	_, err := b.Move(ctx, act().much("2", ""), "line")
	require.NoError(t, err)
	a := act()
	a.Said.Why = "the maker asks"
	_, err = b.Hold(ctx, a, 0)
	require.NoError(t, err)
	o, err := b.Free(ctx, act().stands(), "")
	require.NoError(t, err)
	assert.Equal(t, shelf.Use, o.Answer)
	for _, p := range b.state().Parts {
		assert.Len(t, p.Item.Freed, 1)
	}
}

func TestFreeingFromBeforeTheHoldIsRefused(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	b.turn(2 * time.Hour)
	a := act()
	a.Said.Why = "dropped"
	_, err := b.Hold(ctx, a, 0)
	require.NoError(t, err)
	early := act().stands()
	early.At = register.AtInstant(b.now.Add(-time.Hour))
	_, err = b.Free(ctx, early, shelf.LimitHeld)
	assert.ErrorContains(t, err, "S-2207 is not on hold")
	assert.Len(t, b.state().Events, 2)
}

func TestCountOfWhatIsReservedSaysWhichJobLoses(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	_, err := b.Append(ctx, register.Batch{Number: "S-2207"}.Key(), func(*register.State) ([]*register.Event, error) {
		n := register.Amount(4000)
		return []*register.Event{{Kind: register.KindReserved, By: "Planner", At: b.At, Place: "cold store", Amount: &n, Use: &register.Use{Job: "NF12-0417"}}}, nil
	})
	require.NoError(t, err)
	o, err := b.Count(ctx, act().much("3", ""))
	require.NoError(t, err)
	assert.Contains(t, o.Notes, "The register had 5 kits: 2 kits are missing. The count stands; find out where the difference went.")
	assert.Contains(t, o.Notes, "Job NF12-0417 had 4 kits reserved and now has 3 kits: tell whoever plans it, and reserve another.")
	scrap := act().much("1", "")
	scrap.Said.Why = "leaks"
	o, err = b.Scrap(ctx, scrap)
	require.NoError(t, err)
	assert.Contains(t, o.Notes, "Job NF12-0417 had 3 kits reserved and now has 2 kits: tell whoever plans it, and reserve another.")
	_, err = b.Move(ctx, act().much("1", ""), "line")
	assert.ErrorContains(t, err, "2 kits of it are reserved")
}

// What is counted in another unit is compared in the one of the register.
func TestCountInAnotherUnit(t *testing.T) {
	b := newStand(t)
	a := Arrival{Act: *act().much("2.5", "l"), Item: shelf.Item{Class: "topcoat-polyurethane", Expiry: label.DayOf(date.New(2027, 6, 30))}, Receipt: register.Receipt{Certificate: "C-1"}}
	_, err := b.Receive(ctx, &a)
	require.NoError(t, err)
	o, err := b.Count(ctx, act().much("2500", "ml"))
	require.NoError(t, err)
	assert.Contains(t, o.Notes, "It is what the register had.")
	o, err = b.Count(ctx, act().much("25", "ml"))
	require.NoError(t, err)
	assert.Contains(t, o.Notes[0], "The register had 2.5 l: 2.475 l are missing", "25 ml is not 25 l")
	_, err = b.Count(ctx, act().much("2.5", "ml"))
	assert.ErrorContains(t, err, "less than a thousandth")
	_, err = b.Count(ctx, act().much("2", "kit"))
	assert.ErrorContains(t, err, "it counts in l, not in kits")
}

func TestCountDoesNotChooseBetweenParts(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	_, err := b.Move(ctx, act().much("2", ""), "line")
	require.NoError(t, err)
	_, err = b.Count(ctx, act().much("5", ""))
	assert.ErrorContains(t, err, "S-2207 is in several parts: say which")
	for _, place := range []string{"line", "cold store"} {
		_, err = b.Count(ctx, act().at("", place).much("0", ""))
		require.NoError(t, err)
	}
	_, err = b.Count(ctx, act().much("5", ""))
	assert.ErrorContains(t, err, "was in several parts, and nothing is left of them: say which")
}

// A container is found by the label printed for it, whatever it carries.
func TestContainerIsFoundByItsPrintedLabel(t *testing.T) {
	b := newStand(t)
	b.receive("5", "cold store")
	o, err := b.Open(ctx, act(), "7")
	require.NoError(t, err)
	require.Equal(t, "7", o.Events[0].As)
	code, err := scan.Parse("(01)09520123456788(10)S-2207(17)270608(21)OPENED/7", b.Judge.On)
	require.NoError(t, err)
	p, own := desk.StickerOf(&code)
	require.True(t, own)
	a := act()
	a.Scan, a.Label = &code, &p
	o, err = b.Move(ctx, a, "line")
	require.NoError(t, err)
	assert.Equal(t, "7", o.Events[0].Container)
	a = act()
	a.Number = "S-2207/OPENED" // its plain code
	o, err = b.Move(ctx, a, "cold store")
	require.NoError(t, err)
	assert.Equal(t, "7", o.Events[0].Container)
	other := act().at("8", "")
	other.Scan, other.Label = &code, &p
	_, err = b.Move(ctx, other, "line")
	assert.EqualError(t, err, "--container 8: the label says container 7: leave one out")
}

// Sent again by its id, a command is decided on what there was then.
func TestCommandSentAgainIsKnown(t *testing.T) {
	b := newStand(t)
	b.receive("2", "cold store")
	open := func() *Act {
		a := act()
		a.Said.ID = "open-1"
		return a
	}
	o, err := b.Open(ctx, open(), "")
	require.NoError(t, err)
	require.Equal(t, "1", o.Events[0].As)
	b.turn(time.Hour)
	_, err = b.Open(ctx, act(), "")
	require.NoError(t, err)
	_, err = b.Open(ctx, act(), "")
	assert.ErrorContains(t, err, "S-2207 is in several parts", "both are open")
	o, err = b.Open(ctx, open(), "")
	require.NoError(t, err)
	assert.True(t, o.Known)
	assert.Len(t, b.state().Events, 3)
	changed := open()
	changed.Said.Why = "for the other job"
	_, err = b.Open(ctx, changed, "")
	assert.ErrorContains(t, err, "the id open-1 is that of another event")
}

// Whatever is done in whatever order: what is refused records nothing, the record always
// adds up, what is said again is known, and no kit appears or vanishes but by a receipt, a
// count or a scrapping.
func TestWhateverIsDoneAddsUp(t *testing.T) {
	n := 0
	b := newStand(t)
	rapid.Check(t, func(rt *rapid.T) {
		n++
		b.number = fmt.Sprintf("S-%d", n) // each time a batch of its own
		b.receive("5", "cold store")
		have := register.Amount(5000)
		for i := range rapid.IntRange(1, 12).Draw(rt, "acts") {
			b.turn(time.Duration(rapid.IntRange(0, 90).Draw(rt, "minutes")) * time.Minute)
			a := act().at(rapid.SampledFrom([]string{"", "none", "1", "2"}).Draw(rt, "container"), rapid.SampledFrom([]string{"", "cold store", "line"}).Draw(rt, "place"))
			a.Number = b.number
			a.Said.ID = fmt.Sprintf("act-%d-%d", n, i)
			a.Said.Why = "a reason"
			if q := rapid.IntRange(-1, 3).Draw(rt, "quantity"); q >= 0 {
				a.much(fmt.Sprint(q), "")
			}
			if rapid.IntRange(0, 5).Draw(rt, "earlier") == 0 {
				a.At = register.AtInstant(b.now.Add(-time.Duration(rapid.IntRange(0, 300).Draw(rt, "before")) * time.Minute))
			}
			kind := rapid.SampledFrom([]string{"move", "open", "thaw", "back", "hold", "free", "count", "scrap", "strike", "receive"}).Draw(rt, "kind")
			do := b.doing(kind, a, rapid.SampledFrom([]string{"cold store", "line"}).Draw(rt, "to"))
			before := b.state()
			o, err := do()
			after := b.state()
			if err != nil {
				require.Equal(rt, len(before.Events), len(after.Events), "%s: %v", kind, err)
				continue
			}
			require.Empty(rt, after.Problems)
			again, err := do()
			require.NoError(rt, err, "%s, sent again", kind)
			require.True(rt, again.Known, kind)
			require.Equal(rt, o.Events[0].As, again.Events[0].As)
			total := register.Amount(0)
			for _, p := range after.Parts {
				require.GreaterOrEqual(rt, p.Amount, register.Amount(0))
				total += p.Amount
			}
			// What is put in front of a count was not counted by it.
			if a.At.IsZero() && kind != "count" && kind != "scrap" && kind != "strike" && kind != "receive" {
				require.Equal(rt, have, total, kind)
			}
			have = total
		}
	})
}

// doing is a command with all that it needs, made anew each time it is called.
func (b *stand) doing(kind string, a *Act, to string) func() (*Outcome, error) {
	fresh := func() *Act { own := *a; return &own }
	switch kind {
	case "move":
		return func() (*Outcome, error) { return b.Move(ctx, fresh(), to) }
	case "open":
		return func() (*Outcome, error) { return b.Open(ctx, fresh(), "") }
	case "thaw":
		return func() (*Outcome, error) { return b.Thaw(ctx, fresh(), "") }
	case "back":
		return func() (*Outcome, error) { return b.Refreeze(ctx, fresh(), "") }
	case "count":
		if a.Said.Amount == nil {
			a.much("4", "")
		}
		return func() (*Outcome, error) { return b.Count(ctx, fresh()) }
	case "scrap":
		return func() (*Outcome, error) { return b.Scrap(ctx, fresh()) }
	}
	a.Said.Amount = nil
	switch kind {
	case "hold":
		return func() (*Outcome, error) { return b.Hold(ctx, fresh(), 0) }
	case "free":
		return func() (*Outcome, error) { return b.Free(ctx, fresh().stands(), "") }
	case "strike":
		events := b.state().Events
		id := events[len(events)-1].ID
		return func() (*Outcome, error) { return b.Strike(ctx, fresh().stands(), id) }
	}
	item := shelf.Item{Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2027, 6, 30))}
	return func() (*Outcome, error) {
		in := Arrival{Act: *fresh().at("", to).much("2", "kit"), Item: item}
		return b.Receive(ctx, &in)
	}
}

// What failed does not come in again as good under another spelling, or none, of its maker.
func TestMakerIsOneHoweverSpelled(t *testing.T) {
	b := newBench(t)
	r := b.room()
	of := func(maker string) func(*Arrival) { return func(a *Arrival) { a.Maker = maker } }
	b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30), of("Nordlys"))
	failed := said("S-1")
	_, err := r.Test(background, &failed, Tested{Results: "skinned"})
	require.NoError(t, err)
	in := &Arrival{Act: said("S-1"), Item: shelf.Item{Class: "polysulfide-b-2", DOM: day(2023, 9, 1), Expiry: day(2024, 6, 30)}}
	in.Said.Amount, in.Said.Unit, in.Which.Place, in.Receipt.Certificate = amount("1"), "kit", "cold store", "C-118"
	_, err = r.Receive(background, in)
	assert.EqualError(t, err, "there is a batch S-1 of Nordlys: say with --maker whose this one is")
	in.Maker = "NORDLYS"
	o, err := r.Receive(background, in)
	require.NoError(t, err)
	assert.Equal(t, register.Batch{Number: "S-1", Maker: "Nordlys"}, o.Batch)
	assert.Equal(t, shelf.Reject, o.Answer)
	in.Maker = "Sudlys"
	o, err = r.Receive(background, in)
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(o.Notes), "There is a batch S-1 of Nordlys too: this is taken for another one. That one stands at reject: It failed its test")
}

// One batch with two labels is not passed over in silence.
func TestOtherLabelOfABatchIsSaid(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30))
	in := &Arrival{Act: said("S-1"), Item: shelf.Item{Class: "polysulfide-b-2", DOM: day(2023, 9, 1), Expiry: day(2024, 8, 31)}}
	in.Said.Amount, in.Said.Unit, in.Which, in.Receipt.Certificate = amount("1"), "kit", Which{"9", "cold store"}, "C-118"
	o, err := r.Receive(background, in)
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(o.Notes), "Its label is not that of the rest of this batch: expiry 30 June 2024 there, 31 August 2024 here.")
}

// A test that is corrected says which way it went before.
func TestCorrectionOfATestSaysHowItHadEnded(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "2", "cold store", day(2024, 6, 30))
	failed := said("S-1")
	failed.Said.ID = "t-1"
	_, err := r.Test(background, &failed, Tested{Results: "skinned"})
	require.NoError(t, err)
	again := said("S-1")
	again.Said.Corrects, again.Said.Authority, again.Said.Reference, again.Said.Why = "t-1", "quality office", "QR 9", "another tin"
	o, err := r.Test(background, &again, Tested{Passed: true, Results: "Shore A 48"})
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(o.Holdings[0].Checked.Judgement.Assumed), "tested and failed, 8 March 2024 10:00, was replaced by: tested and passed: another tin.")
}
