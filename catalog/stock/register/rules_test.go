package register

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

func TestWhatComesInIsThere(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	s := b.state()
	require.Len(t, s.Parts, 1)
	p := s.Parts[0]
	assert.Equal(t, "5 kits", p.Amount.Words(p.Unit))
	assert.Equal(t, "S-2207", p.Item.Batch)
	assert.Equal(t, "2027-03-08T07:00", p.Item.Received.On.Canonical())
	assert.Equal(t, "2027-06-30", p.Item.Expiry.Canonical())
	assert.Empty(t, s.Problems)
}

func TestNoMoreIsDrawnThanThereIs(t *testing.T) {
	b := newBench(t)
	b.must(kits("2"))
	draw := func(n string) Event {
		return Event{Kind: KindDrawn, Place: "cold store", Amount: amount(n), Use: &Use{Job: "NF12", Mix: "1", Joints: []string{"door"}}}
	}
	assert.EqualError(t, b.record(draw("3")), "there are only 2 kits of it at cold store, not 3 kits")
	b.must(draw("2"))
	err := b.record(draw("1"))
	require.Error(t, err)
	assert.Contains(t, err.Error(), "none is left at cold store: the last was drawn 8 March 2027 07:02 by Tech 1")
	assert.False(t, b.state().Parts[0].Stocked())
}

func TestQuantitiesInOtherUnits(t *testing.T) {
	b := newBench(t)
	in := kits("2.5")
	in.Unit = "l"
	b.must(in)
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), Unit: "L"})
	assert.EqualError(t, b.record(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), Unit: "kg"}), "it counts in l, not in kg")
	assert.EqualError(t, b.record(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("0.5"), Unit: "ml"}),
		"0.5 ml is less than a thousandth of what it is counted in, l: round it")
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("250"), Unit: "ml"})
	assert.Equal(t, "1.25", b.state().Parts[0].Amount.String())
}

func TestEventsBeforeReceiptAreRefused(t *testing.T) {
	b := newBench(t)
	b.must(kits("2"))
	err := b.record(Event{Kind: KindDrawn, Place: "cold store", At: AtInstant(time.Date(2027, 3, 7, 9, 0, 0, 0, time.UTC)), Amount: amount("1")})
	assert.EqualError(t, err, "there was nothing of it at cold store yet: it was received 2027-03-08T07:00:00Z")
	err = b.record(Event{Kind: KindHeld, At: AtInstant(time.Date(2027, 3, 7, 9, 0, 0, 0, time.UTC)), Why: "dropped"})
	assert.EqualError(t, err, "nothing of the batch was there yet")
	b.must(Event{Kind: KindOpened, Place: "cold store", As: "1", Amount: amount("1"), At: OnDay(date.New(2027, 3, 8))})
}

func TestWhatHasNotComeYetIsRefused(t *testing.T) {
	b := newBench(t)
	e := kits("2")
	e.At = AtInstant(b.now.Add(time.Hour))
	assert.ErrorContains(t, b.record(e), "8 March 2027 08:00 has not come yet by this computer's clock, 8 March 2027 07:00")
	e.At = AtInstant(b.now.Add(2 * time.Minute)) // clocks differ
	b.must(e)
}

func TestOpenedPackIsAContainerOfItsOwn(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.must(Event{Kind: KindOpened, Place: "cold store", Amount: amount("1"), As: "1"})
	s := b.state()
	require.Len(t, s.Parts, 2)
	assert.Equal(t, "4 kits", s.Parts[0].Amount.Words("kit"))
	assert.True(t, s.Parts[0].Item.Opened.IsZero(), "the others stay closed")
	assert.Equal(t, "1", s.Parts[1].Item.Container)
	assert.Equal(t, "2027-03-08T07:01", s.Parts[1].Item.Opened.Canonical())
	assert.ErrorContains(t, b.record(Event{Kind: KindOpened, Place: "cold store", Amount: amount("1"), As: "1"}), "there is a container 1 already")
}

func TestMovedPacksKeepTheirPast(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	hot := &shelf.Event{Storage: shelf.Storage{HotFrom: label.DayOf(date.New(2027, 3, 8)), From: label.DayOf(date.New(2027, 3, 8))}}
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "ramp", Amount: amount("2")})
	b.must(Event{Kind: KindStored, Place: "ramp", Shelf: hot, Why: "left in the sun"})
	b.must(Event{Kind: KindMoved, Place: "ramp", To: "line store"})
	s := b.state()
	require.Len(t, s.Parts, 2)
	assert.Empty(t, s.Part("", "cold store").Item.Storage, "what stayed was not hot")
	assert.Len(t, s.Part("", "line store").Item.Storage, 1)
	assert.ErrorContains(t, b.record(Event{Kind: KindDrawn, Place: "ramp", Amount: amount("1")}), "there is nothing of it at ramp")
	b.must(Event{Kind: KindMoved, Place: "line store", To: "cold store"})
	s = b.state()
	require.Len(t, s.Parts, 1)
	assert.Equal(t, "5 kits", s.Parts[0].Amount.Words("kit"))
	assert.Len(t, s.Parts[0].Item.Storage, 1, "mixed with what was hot, all of it was")
}

func TestHoldOfABatchIsOfWhatComesInLaterToo(t *testing.T) {
	b := newBench(t)
	b.must(kits("2"))
	b.must(Event{Kind: KindHeld, Why: "the maker asks about it"})
	again := kits("3")
	again.Place = "line store"
	b.must(again)
	for _, p := range b.state().Parts {
		assert.Equal(t, "the maker asks about it", p.Item.Held)
	}
	b.must(Event{Kind: KindFreed, Authority: "quality office", Reference: "QN 12", Shelf: &shelf.Event{Limit: shelf.LimitHeld}})
	for _, p := range b.state().Parts {
		require.Len(t, p.Item.Freed, 1)
		assert.Equal(t, "QN 12", p.Item.Freed[0].Reference)
	}
}

func TestOneBatchHasOneLabel(t *testing.T) {
	b := newBench(t)
	b.must(kits("2"))
	other := kits("3")
	other.Receipt.Label.Expiry = label.DayOf(date.New(2027, 9, 30))
	assert.ErrorContains(t, b.record(other), "expiry 30 June 2027 there, 30 September 2027 here")
	b.must(kits("3"))
	assert.Equal(t, "5 kits", b.state().Parts[0].Amount.Words("kit"))
}

func TestReservedStockIsKept(t *testing.T) {
	b := newBench(t)
	b.must(kits("2"))
	b.must(Event{Kind: KindReserved, Place: "cold store", Amount: amount("2"), Use: &Use{Job: "NF12"}})
	other := Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), Use: &Use{Job: "NF13"}}
	assert.EqualError(t, b.record(other), "of 2 kits at cold store 2 are reserved for job NF12")
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), Use: &Use{Job: "NF12"}})
	assert.Equal(t, "1", b.state().Parts[0].Reserved[0].Amount.String())
	other.Although, other.Why = true, "the aircraft is on the ground"
	b.must(other)
	assert.Empty(t, b.state().Parts[0].Reserved)
}

func TestCorrectionStandsInForTheOld(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	wrong := kits("5")
	wrong.ID = "wrong"
	wrong.Place = "line store"
	b.must(wrong)
	right := kits("3")
	right.Place, right.Corrects, right.Why = "line store", "wrong", "miscounted"
	b.must(right)
	s := b.state()
	assert.Equal(t, "3 kits", s.Part("", "line store").Amount.Words("kit"))
	assert.Len(t, s.Events, 3, "the old one stays on record")
	assert.ErrorContains(t, b.record(Event{Kind: KindStruck, Corrects: "wrong"}), "is corrected twice")
	assert.ErrorContains(t, b.record(Event{Kind: KindStruck, Corrects: "nothing"}), "which is not before it on this line")
	b.must(Event{Kind: KindDrawn, Place: "line store", Amount: amount("2")})
	err := b.record(Event{Kind: KindStruck, Corrects: s.Events[2].ID})
	assert.ErrorContains(t, err, "there is nothing of it at line store", "what was drawn of it was there")
}

func TestSameIDIsTheSameEvent(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	draw := Event{ID: "draw-1", Kind: KindDrawn, Place: "cold store", Amount: amount("1")}
	for range 3 {
		b.must(draw)
	}
	assert.Equal(t, "4", b.state().Parts[0].Amount.String())
	draw.Amount = amount("2")
	assert.ErrorContains(t, b.record(draw), "the id draw-1 is that of another event, drawn 1")
}

func TestLostCommitIsNotDoubled(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	lost := 0
	b.store.after = func() error {
		if lost++; lost == 1 {
			return ErrUnknown
		}
		return nil
	}
	b.must(Event{ID: "draw-1", Kind: KindDrawn, Place: "cold store", Amount: amount("1")})
	assert.Equal(t, "4", b.state().Parts[0].Amount.String())
}

func TestCommitThatFailsAgainAndAgainIsGivenUp(t *testing.T) {
	b := newBench(t)
	tries := 0
	b.store.after = func() error {
		tries++
		return fmt.Errorf("memory: the disk failed: %w", ErrUnknown)
	}
	err := b.record(kits("5"))
	assert.EqualError(t, err, "memory: the disk failed: whether it was recorded is not known: look what is recorded before it is sent again")
	assert.ErrorIs(t, err, ErrUnknown)
	assert.Equal(t, mostUnknown, tries)
}

func TestClockThatGoesBackIsSaid(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.now = b.now.Add(-48 * time.Hour)
	err := b.record(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1")})
	require.ErrorContains(t, err, "there was nothing of it at cold store yet")
	assert.ErrorContains(t, err, "this computer's clock is 47h59m0s behind the register: set it right")
	done, err := b.Append(context.Background(), s2207, func(s *State) ([]*Event, error) {
		return []*Event{{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), By: "Tech 1", At: AtInstant(s.Last())}}, nil
	})
	require.NoError(t, err)
	assert.Positive(t, done.Behind)
	s := b.state()
	assert.Equal(t, s.Events[0].Recorded, s.Events[1].Recorded, "the order of the record stands")
	assert.Positive(t, s.Events[1].Behind)
}

func TestTextThatCannotBeSeenIsRefused(t *testing.T) {
	b := newBench(t)
	for _, bad := range []string{"a\x00b", "a\nb", "a\x1b[31m", "a\u202eb", "a\u200bb", "a\xff", strings.Repeat("x", 10<<20)} {
		e := kits("1")
		e.Place = bad
		require.ErrorContains(t, b.record(e), "place: ")
		e = kits("1")
		e.Receipt.Supplier = bad
		require.ErrorContains(t, b.record(e), "supplier: ")
		_, err := MakeBatch(bad, "")
		require.ErrorContains(t, err, "batch: ")
	}
	e := kits("1")
	e.Place = `'; DROP TABLE event; -- "x" 🙂`
	b.must(e)
	assert.Equal(t, e.Place, b.state().Parts[0].Place)
}

func TestChangedEventIsFound(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1")})
	rec := &b.store.lines[s2207][0]
	rec.Body = []byte(strings.Replace(string(rec.Body), "2027-06-30", "2028-06-30", 1))
	_, err := b.Load(context.Background(), s2207)
	require.ErrorIs(t, err, ErrDamaged)
	assert.ErrorContains(t, err, "batch S-2207: event 1")
}

func TestEventOfEveryKindReadsBack(t *testing.T) {
	for _, k := range kinds {
		e := kits("2")
		e.Kind, e.By, e.ID, e.Key, e.Seq, e.At, e.Recorded = k, "Tech 1", "x", s2207, 1, OnDay(date.New(2027, 3, 8)), time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
		if k != KindReceived {
			e.Receipt = nil
			e.Use = &Use{Job: "NF12", Joints: []string{"door", "panel"}, Until: AtInstant(time.Date(2027, 3, 8, 9, 0, 0, 0, time.FixedZone("", 3600)))}
		}
		if k == KindTested || k == KindStored || k == KindFreed {
			e.Shelf = &shelf.Event{Passed: true, Results: "Shore A 48", Limit: shelf.LimitHeld}
		}
		body, err := e.encode()
		require.NoError(t, err, k)
		back, err := decode(body)
		require.NoError(t, err, "%s: %s", k, body)
		again, err := back.encode()
		require.NoError(t, err)
		assert.Equal(t, string(body), string(again), k)
	}
	_, err := decode([]byte(`{"id":"x","kind":"drawn","surprise":1}`))
	assert.ErrorContains(t, err, "surprise")
}

// A commit whose answer was lost may have come through: then it is found by its id, and
// what was decided is not decided, and recorded, once more.
func TestCommitOfWhichNobodyKnowsIsNotRecordedTwice(t *testing.T) {
	b := newBench(t)
	b.must(kits("1"))
	lost := lostAnswers{memory: b.store}
	b.Register.Store = &lost
	asked := 0
	done, err := b.Append(context.Background(), s2207, func(s *State) ([]*Event, error) {
		if asked++; !s.Parts[0].Stocked() {
			return nil, errors.New("nothing is left")
		}
		return []*Event{{Kind: KindDrawn, By: "Tech 1", At: AtInstant(b.now), Place: "cold store", Amount: amount("1"), Use: &Use{Job: "J1"}}}, nil
	})
	require.NoError(t, err)
	assert.Equal(t, 1, asked)
	assert.Zero(t, done.Known, "it is this one that was recorded")
	assert.Len(t, b.state().Events, 2)
	assert.False(t, done.States[s2207].Parts[0].Stocked())
}

// lostAnswers commits, and then says that it does not know.
type lostAnswers struct{ *memory }

func (l *lostAnswers) Commit(ctx context.Context, w []Write) error {
	if err := l.memory.Commit(ctx, w); err != nil {
		return err
	}
	return ErrUnknown
}

// Of several tries with one id it is the one that came through that is answered with: the
// first is lost, another writer is quicker, and the answer to the second is lost.
func TestAnswerIsTheTryThatCameThrough(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	other := &Register{Store: b.store, Clock: b.Clock, Station: "other"}
	draw := func(id string) func(*State) ([]*Event, error) {
		return func(*State) ([]*Event, error) {
			return []*Event{{ID: id, Kind: KindDrawn, By: "Tech 1", At: AtInstant(b.now), Place: "cold store", Amount: amount("1")}}, nil
		}
	}
	b.Register.Store = &lostTries{memory: b.store, meanwhile: func() {
		_, err := other.Append(context.Background(), s2207, draw("other"))
		require.NoError(t, err)
	}}
	done, err := b.Append(context.Background(), s2207, draw("ours"))
	require.NoError(t, err)
	assert.Equal(t, 3, done.Events[0].Seq)
	assert.Equal(t, b.state().Event("ours").Seq, done.Events[0].Seq)
	assert.Len(t, b.state().Events, 3)
}

// lostTries loses the first commit, lets another writer in, and loses the answers to the
// others.
type lostTries struct {
	*memory
	meanwhile func()
}

func (l *lostTries) Commit(ctx context.Context, w []Write) error {
	if l.meanwhile != nil {
		l.meanwhile()
		l.meanwhile = nil
		return ErrUnknown
	}
	if err := l.memory.Commit(ctx, w); err != nil {
		return err
	}
	return ErrUnknown
}
