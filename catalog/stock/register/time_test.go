package register

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
)

// What happened when: corrections and what comes in or up again.

func TestCorrectionTakesThePlaceInTimeOfTheOld(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	day := OnDay(date.New(2027, 3, 8)) // of unknown hour, recorded before the draw
	b.must(Event{ID: "move", Kind: KindMoved, Place: "cold store", To: "line", Amount: amount("3"), At: day})
	b.must(Event{Kind: KindDrawn, Place: "line", Amount: amount("1")})
	b.now = b.now.Add(72 * time.Hour)
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "line", Amount: amount("2"), At: day, Corrects: "move"})
	s := b.state()
	assert.Equal(t, "1", s.Part("", "line").Amount.String())
	assert.Equal(t, "3", s.Part("", "cold store").Amount.String())
	err := b.record(Event{Kind: KindMoved, Place: "cold store", To: "line", Amount: amount("2"), At: OnDay(date.New(2027, 3, 9)), Corrects: s.Events[3].ID})
	assert.ErrorContains(t, err, "it does not go with what is recorded after it, drawn 1")
	assert.ErrorContains(t, err, "there is nothing of it at line", "moved the day after, it was not there to draw")
}

func TestBatchBeforeAnEvent(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	noon := b.now
	b.now = b.now.Add(time.Hour)
	b.must(Event{ID: "move", Kind: KindMoved, Place: "cold store", To: "line", Amount: amount("3")})
	s := b.state()
	then := b.Before(s, &Event{Kind: KindOpened, At: AtInstant(noon)})
	require.Len(t, then.Parts, 1)
	assert.Equal(t, "5", then.Parts[0].Amount.String())
	assert.Len(t, then.Events, 2, "all that is recorded")
	then = b.Before(s, &Event{Kind: KindMoved, At: AtInstant(b.now), Corrects: "move"})
	assert.Len(t, then.Parts, 1, "without what it corrects")
	assert.Empty(t, b.Before(s, &Event{Kind: KindOpened, At: AtInstant(noon.Add(-24 * time.Hour))}).Parts)
	with := b.With(s, &Event{Kind: KindScrapped, Place: "line", At: AtInstant(b.now)})
	assert.False(t, with.Part("", "line").Stocked())
	assert.True(t, b.state().Part("", "line").Stocked(), "it is not recorded")
}

// paperless is a receipt without papers.
func paperless(n string) Event {
	e := kits(n)
	e.Receipt.Label.Received.NoPapers = true
	return e
}

var freedReceipt = Event{Kind: KindFreed, Authority: "quality office", Reference: "QN 12", Shelf: &shelf.Event{Limit: shelf.LimitReceipt}}

func TestStockWithoutPapersTaintsWhatItIsMixedWith(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	e := paperless("1")
	e.Place = "ramp"
	b.must(e)
	assert.False(t, b.state().Part("", "cold store").Item.Received.NoPapers)
	b.must(Event{Kind: KindMoved, Place: "ramp", To: "cold store"})
	assert.True(t, b.state().Part("", "cold store").Item.Received.NoPapers)
}

func TestLaterArrivalIsNotFreedByAnEarlierFreeing(t *testing.T) {
	b := newBench(t)
	b.must(paperless("1"))
	b.must(freedReceipt)
	b.must(paperless("1"))
	p := b.state().Parts[0]
	j := shelf.JudgeFor(&p.Item, &shelf.Rules{}, shelf.Question{On: date.New(2027, 3, 9)})
	assert.Equal(t, shelf.LimitReceipt, j.Governing.Name)
	assert.Equal(t, shelf.Hold, j.Verdict)
}

// sameMinute has an event recorded in the minute of the one before it.
func (b *bench) sameMinute(e Event) {
	b.Helper()
	b.now = b.now.Add(-time.Minute)
	e.At = AtInstant(b.now.Add(10 * time.Second))
	b.must(e)
}

func TestHoldInTheMinuteOfItsFreeingStands(t *testing.T) {
	for name, again := range map[shelf.Name]Event{
		shelf.LimitHeld:      {Kind: KindHeld, Why: "dropped"},
		shelf.LimitCondition: {Kind: KindCondition, Shelf: &shelf.Event{Condition: shelf.Damaged}},
		shelf.LimitReceipt:   paperless("1"),
	} {
		b := newBench(t)
		b.must(kits("1"))
		b.must(again)
		free := freedReceipt
		free.Shelf = &shelf.Event{Limit: name}
		b.must(free)
		require.Len(t, b.state().Parts[0].Item.Freed, 1, name)
		b.sameMinute(again)
		p := b.state().Parts[0]
		assert.Empty(t, p.Item.Freed, name)
		require.NotEmpty(t, p.Said, name)
		assert.Contains(t, p.Said[0], "came after it in the same minute: the hold stands", name)
		b.must(free)
		assert.Len(t, b.state().Parts[0].Item.Freed, 1, "a minute later it can be freed")
	}
}

func TestCountCutsWhatIsReserved(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.must(Event{Kind: KindReserved, Place: "cold store", Amount: amount("3"), Use: &Use{Job: "NF12"}})
	b.must(Event{Kind: KindReserved, Place: "cold store", Amount: amount("1"), Use: &Use{Job: "NF13"}})
	b.must(Event{Kind: KindCounted, Place: "cold store", Amount: amount("2")})
	p := b.state().Parts[0]
	require.Len(t, p.Reserved, 1)
	assert.Equal(t, "NF12", p.Reserved[0].Job)
	assert.Equal(t, "2", p.Reserved[0].Amount.String())
	b.must(Event{Kind: KindScrapped, Place: "cold store", Why: "over"})
	assert.ErrorContains(t, b.record(Event{Kind: KindCounted, Place: "cold store", Amount: amount("2")}), "it was scrapped before")
}

func TestStrikeStands(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.must(Event{ID: "hold", Kind: KindHeld, Why: "a doubt"})
	b.must(Event{ID: "strike", Kind: KindStruck, Corrects: "hold"})
	assert.Empty(t, b.state().Parts[0].Item.Held)
	assert.ErrorContains(t, b.record(Event{Kind: KindStruck, Corrects: "strike"}), "strikes another, and that stands")
}

func TestOpenedOfWhatIsNotCountedSaysHowMany(t *testing.T) {
	b := newBench(t)
	in := kits("1")
	in.Amount, in.Unit = nil, ""
	b.must(in)
	assert.ErrorContains(t, b.record(Event{Kind: KindOpened, Place: "cold store", As: "1"}), "how many there are at cold store is not recorded")
	b.must(Event{Kind: KindOpened, Place: "cold store", As: "1", Amount: amount("1")})
	s := b.state()
	require.Len(t, s.Parts, 2)
	assert.False(t, s.Part("", "cold store").Counted)
	assert.Zero(t, s.Part("", "cold store").Amount)
	assert.Equal(t, "1", s.Part("1", "cold store").Amount.String())
	b.must(Event{Kind: KindCounted, Place: "cold store", Amount: amount("4"), Unit: "kit"})
	assert.Equal(t, "4 kits", b.state().Part("", "cold store").Amount.Words(b.state().Part("", "cold store").Unit))
}

func TestOpenedIsNoMoreThanThereIs(t *testing.T) {
	b := newBench(t)
	in := kits("1")
	in.Unit = "l"
	b.must(in)
	assert.ErrorContains(t, b.record(Event{Kind: KindOpened, Place: "cold store", Amount: amount("1001"), Unit: "ml"}), "there is only 1 l of it at cold store, not 1.001 l")
}
