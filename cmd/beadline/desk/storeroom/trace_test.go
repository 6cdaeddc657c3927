package storeroom

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

func (b *bench) trace(r *Room, q TraceQuestion) *Trace {
	b.Helper()
	t, err := r.Trace(background, q)
	require.NoError(b, err)
	return t
}

// served draws from two batches for the fuel-bay door, from one of them for another joint
// of another job too.
func (b *bench) served() *Room {
	r := b.room()
	b.receive(r, "S-1", "5", "rack 1", day(2024, 6, 30), func(a *Arrival) { a.Receipt.Supplier, a.Receipt.Order = "Nordlys Supply", "PO-1" })
	b.receive(r, "S-2", "5", "rack 1", day(2024, 7, 31))
	b.draw(r, "S-1", forJob("J1"))
	b.draw(r, "S-2", forJob("J2"))
	b.draw(r, "S-2", func(d *Drawing) { d.Use = register.Use{Job: "J2", Joints: []string{"fuel-bay door", "cargo door"}} })
	b.draw(r, "S-2", func(d *Drawing) { d.Use = register.Use{Job: "J2"} })
	b.draw(r, "S-1", forTraining)
	return r
}

func TestBatchIsTracedToItsJoints(t *testing.T) {
	b := newBench(t)
	r := b.served()
	tr := b.trace(r, TraceQuestion{Text: "S-1"})
	require.Len(t, tr.Batches, 1)
	assert.Empty(t, tr.Joints)
	one := tr.Batches[0]
	require.Len(t, one.Draws, 2)
	assert.Equal(t, []string{"fuel-bay door"}, one.Draws[0].Use.Joints)
	assert.True(t, one.Draws[1].Use.Training)
	require.Len(t, one.Receipts, 1)
	assert.Equal(t, "C-118", one.Receipts[0].Receipt.Certificate)
	assert.Equal(t, "use: label-expiry 2024-06-30", one.Draws[0].Verdict)
}

func TestJointIsTracedToItsBatches(t *testing.T) {
	b := newBench(t)
	r := b.served()
	draws := func(q TraceQuestion) map[string]int {
		n := map[string]int{}
		for _, x := range b.trace(r, q).Joints {
			n[x.Batch.Number] = len(x.Draws)
		}
		return n
	}
	assert.Equal(t, map[string]int{"S-1": 1, "S-2": 2}, draws(TraceQuestion{Text: "fuel-bay door"}))
	assert.Equal(t, map[string]int{"S-2": 2}, draws(TraceQuestion{Text: "fuel-bay door", Job: "J2", AsJoint: true}))
	assert.Equal(t, map[string]int{"S-2": 1}, draws(TraceQuestion{Text: " cargo door "}))
	assert.Equal(t, map[string]int{"S-2": 3}, draws(TraceQuestion{Job: "J2"}), "the one without a joint too")
}

// What was good when it was drawn, and is held since, says both.
func TestTraceSaysWhatHasBecomeKnownSince(t *testing.T) {
	b := newBench(t)
	b.served()
	b.now = b.now.AddDate(1, 0, 0)
	r := b.room()
	a := said("S-1")
	a.Said.Why = "recalled by its maker"
	_, err := r.Hold(background, &a, 0)
	require.NoError(t, err)
	tr := b.trace(r, TraceQuestion{Text: "fuel-bay door"})
	for _, x := range tr.Joints {
		if x.Batch.Number != "S-1" {
			assert.Empty(t, x.Since)
			continue
		}
		require.Len(t, x.Since, 1)
		assert.Equal(t, register.KindHeld, x.Since[0].Kind)
		assert.Equal(t, "use: label-expiry 2024-06-30", x.Draws[0].Verdict)
		assert.Equal(t, shelf.Reject, x.Draws[0].Now.Checked.Judgement.Verdict, "expired meanwhile")
	}
}

func TestWhatIsBatchAndJointIsShownAsBoth(t *testing.T) {
	b := newBench(t)
	r := b.served()
	b.draw(r, "S-2", func(d *Drawing) { d.Use.Joints = []string{"S-1"} })
	tr := b.trace(r, TraceQuestion{Text: "S-1"})
	assert.Len(t, tr.Batches, 1)
	assert.Len(t, tr.Joints, 1)
	tr = b.trace(r, TraceQuestion{Text: "S-1", AsJoint: true})
	assert.Empty(t, tr.Batches)
	tr = b.trace(r, TraceQuestion{Text: "S-1", AsBatch: true})
	assert.Empty(t, tr.Joints)
}

// A draw that was written anew is shown, and by which event; it went to the joint no more.
func TestStruckDrawIsShownWithTheBatchAlone(t *testing.T) {
	b := newBench(t)
	r := b.served()
	s := b.trace(r, TraceQuestion{Text: "cargo door"})
	a := said("S-2")
	a.Said.Authority, a.Said.Reference, a.Said.Why = "quality office", "QR-9", "it was another kit"
	_, err := r.Strike(background, &a, s.Joints[0].Draws[0].ID)
	require.NoError(t, err)
	tr := b.trace(r, TraceQuestion{Text: "S-2"})
	require.NotNil(t, tr.Batches[0].Draws[1].Struck)
	assert.Equal(t, register.KindStruck, tr.Batches[0].Draws[1].Struck.Kind)
	_, err = r.Trace(background, TraceQuestion{Text: "cargo door"})
	assert.ErrorContains(t, err, `no joint "cargo door"`)
}

func TestUnknownNamesTheNearest(t *testing.T) {
	b := newBench(t)
	r := b.served()
	for _, c := range []struct {
		q    TraceQuestion
		says []string
	}{
		{TraceQuestion{Text: "fuel door"}, []string{"no batch", "fuel-bay door"}},
		{TraceQuestion{Text: "S-3"}, []string{"S-1", "no joint"}},
		{TraceQuestion{Text: "S-3", AsBatch: true}, []string{"S-1"}},
		{TraceQuestion{Text: "cargo door", Job: "J1", AsJoint: true}, []string{"another job"}},
		{TraceQuestion{Job: "J7"}, []string{"J7"}},
		{TraceQuestion{Text: "S-1\x00"}, []string{"cannot be seen"}},
	} {
		_, err := r.Trace(background, c.q)
		for _, s := range c.says {
			assert.ErrorContains(t, err, s)
		}
	}
}

// A batch of which everything was struck is traced and checked all the same.
func TestBatchThatWasAllStruck(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-2207", "5", "cold store", day(2024, 6, 30), func(a *Arrival) { a.Said.ID = "in-1" })
	b.draw(r, "S-2207", forJob("NF12"), func(d *Drawing) { d.Said.ID = "draw-1" })
	for _, id := range []string{"draw-1", "in-1"} {
		a := said("S-2207")
		a.Said.Authority, a.Said.Reference, a.Said.Why = "quality office", "QR 9", "another batch"
		_, err := r.Strike(background, &a, id)
		require.NoError(t, err)
	}
	found, err := r.Trace(background, TraceQuestion{Text: "S-2207"})
	require.NoError(t, err)
	require.Len(t, found.Batches[0].Draws, 1)
	assert.NotNil(t, found.Batches[0].Draws[0].Struck)
	assert.Equal(t, shelf.Hold, found.Batches[0].Draws[0].Now.Checked.Judgement.Verdict)
	all, err := r.Check(background, Asked{Number: "S-2207"})
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, shelf.Hold, all[0].Judgement.Verdict)

	_, err = b.tryDraw(r, "S-2207", forJob("NF12"), func(d *Drawing) { d.Said.ID = "draw-1" })
	assert.ErrorContains(t, err, "--id draw-1 is that of an event that was taken back, drawn 1 kit, by the event ")
}

// What is entered late does not hide what came up after it.
func TestTraceSaysWhatCameUpAfterADrawingEnteredLate(t *testing.T) {
	b := newBench(t)
	b.receive(b.room(), "S-2207", "5", "cold store", day(2024, 6, 30))
	b.now = b.now.Add(2 * time.Hour)
	hold := said("S-2207")
	hold.Said.Why = "dented"
	_, err := b.room().Hold(background, &hold, 0)
	require.NoError(t, err)
	back := b.room()
	back.At = register.AtInstant(b.now.Add(-time.Hour))
	back.askAt(back.At, label.Date{})
	b.draw(back, "S-2207", forJob("NF12"), func(d *Drawing) {
		d.TimeSaid, d.Said.Authority, d.Said.Reference, d.Said.Why = true, "quality office", "QR 9", "entered late"
	})
	found, err := b.room().Trace(background, TraceQuestion{Text: "S-2207"})
	require.NoError(t, err)
	require.Len(t, found.Batches[0].Since, 1)
	assert.Equal(t, register.KindHeld, found.Batches[0].Since[0].Kind)
}
