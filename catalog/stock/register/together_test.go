package register

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// atTwoPlaces is a batch of which two kits stand at the cold store and two at the line.
func atTwoPlaces(t *testing.T) *bench {
	b := newBench(t)
	b.must(kits("2"))
	line := kits("2")
	line.Place = "line store"
	b.must(line)
	return b
}

func free(limit shelf.Name, place string) Event {
	return Event{Kind: KindFreed, Place: place, Authority: "quality office", Reference: "QN 12", Why: "looked at", Shelf: &shelf.Event{Limit: limit}}
}

func passed(place string) Event {
	return Event{Kind: KindTested, Place: place, Authority: "quality office", Reference: "LR 77",
		Shelf: &shelf.Event{Passed: true, Results: "Shore A 48", To: label.DayOf(date.New(2027, 9, 30))}}
}

func TestHoldIsNotLostByPuttingItToWhatWasFreed(t *testing.T) {
	for _, into := range []string{"cold store", "line store"} {
		b := atTwoPlaces(t)
		b.must(Event{Kind: KindHeld, Place: "cold store", Why: "dented"})
		b.must(Event{Kind: KindHeld, Place: "line store", Why: "label torn"})
		b.must(free(shelf.LimitHeld, "line store"))
		from := map[string]string{"cold store": "line store", "line store": "cold store"}[into]
		b.must(Event{Kind: KindMoved, Place: from, To: into})
		p := b.state().Parts[0]
		assert.Empty(t, p.Item.Freed, "nobody freed what was dented")
		assert.Equal(t, []string{"Freed 8 March 2027 07:04 (held), but what came to it 8 March 2027 07:05 was not: the hold stands."}, p.Said)
		b.must(free(shelf.LimitHeld, into))
		assert.Len(t, b.state().Parts[0].Item.Freed, 1, "it can be freed anew")
	}
}

func TestSplitAndPutBackDoesNotFree(t *testing.T) {
	b := newBench(t)
	b.must(kits("4"))
	b.must(Event{Kind: KindHeld, Why: "the maker asks about it"})
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "line store", Amount: amount("1")})
	b.must(free(shelf.LimitHeld, "line store"))
	require.Len(t, b.state().Part("", "line store").Item.Freed, 1)
	b.must(Event{Kind: KindMoved, Place: "line store", To: "cold store"})
	assert.Empty(t, b.state().Parts[0].Item.Freed)
}

func TestFreedHoldStaysFreedBesideWhatHadNone(t *testing.T) {
	b := atTwoPlaces(t)
	b.must(Event{Kind: KindHeld, Place: "line store", Why: "label torn"})
	b.must(free(shelf.LimitHeld, "line store"))
	b.must(Event{Kind: KindMoved, Place: "line store", To: "cold store"})
	p := b.state().Parts[0]
	assert.Len(t, p.Item.Freed, 1)
	assert.Empty(t, p.Said)
}

func TestEachFreedStaysFreedTogether(t *testing.T) {
	b := atTwoPlaces(t)
	for _, place := range []string{"cold store", "line store"} {
		b.must(Event{Kind: KindHeld, Place: place, Why: "dented"})
		b.must(free(shelf.LimitHeld, place))
	}
	b.must(Event{Kind: KindMoved, Place: "line store", To: "cold store"})
	assert.Len(t, b.state().Parts[0].Item.Freed, 2)
}

func TestLifeIsNotGainedByPuttingItToWhatWasTested(t *testing.T) {
	b := atTwoPlaces(t)
	b.must(passed("line store"))
	require.Len(t, b.state().Part("", "line store").Item.Tests, 1)
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "line store", Amount: amount("1")})
	p := b.state().Part("", "line store")
	assert.Empty(t, p.Item.Tests)
	assert.Equal(t, []string{"Tested 8 March 2027 07:02, but what came to it 8 March 2027 07:03 was not: it gives no more life."}, p.Said)
	b.must(passed(""))
	assert.Len(t, b.state().Part("", "line store").Item.Tests, 1, "a test of all of the batch is of both")

	b = newBench(t)
	b.must(kits("2"))
	b.must(passed("cold store"))
	b.must(kits("2"))
	assert.Empty(t, b.state().Parts[0].Item.Tests, "nor by coming in there")
}

func TestTestedKitsKeepTheirTestWhereNothingIsLeft(t *testing.T) {
	b := atTwoPlaces(t)
	b.must(passed("line store"))
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("2")})
	b.must(Event{Kind: KindMoved, Place: "line store", To: "cold store"})
	assert.Len(t, b.state().Part("", "cold store").Item.Tests, 1)
}

func TestFailedTestIsOfAllThatIsPutTogether(t *testing.T) {
	b := atTwoPlaces(t)
	b.must(Event{Kind: KindTested, Place: "cold store", Shelf: &shelf.Event{Results: "skinned over"}})
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "line store"})
	require.Len(t, b.state().Parts[0].Item.Tests, 1)
	assert.False(t, b.state().Parts[0].Item.Tests[0].Passed)
}

// Whoever frees a hold frees what is on record then; what is entered later, of an earlier
// time, was not known.
func TestFreeingDoesNotLiftWhatIsRecordedAfterIt(t *testing.T) {
	earlier := AtInstant(time.Date(2027, 3, 8, 7, 1, 0, 0, time.UTC))
	for name, late := range map[string]Event{
		"a hold":    {Kind: KindHeld, Why: "the freezer failed", At: earlier},
		"a finding": {Kind: KindCondition, Shelf: &shelf.Event{Condition: shelf.Damaged}, At: earlier},
		"an arrival": func() Event {
			e := kits("1")
			e.At, e.Receipt.Label.Received.NoPapers = earlier, true
			return e
		}(),
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			first := kits("2")
			first.Receipt.Label.Received.NoPapers = true
			b.must(first)
			b.now = b.now.Add(time.Minute)
			b.must(Event{Kind: KindHeld, Why: "dented"})
			b.must(Event{Kind: KindCondition, Shelf: &shelf.Event{Condition: shelf.Damaged}})
			limit := map[Kind]shelf.Name{KindHeld: shelf.LimitHeld, KindCondition: shelf.LimitCondition, KindReceived: shelf.LimitReceipt}[late.Kind]
			b.must(free(limit, ""))
			require.Len(t, b.state().Parts[0].Item.Freed, 1)
			b.must(late)
			p := b.state().Parts[0]
			assert.Empty(t, p.Item.Freed)
			assert.Contains(t, p.Said[len(p.Said)-1], "8 March 2027 07:01 was recorded after it: the hold stands.")
		})
	}
}
