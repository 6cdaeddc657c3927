package storeroom

import (
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

var reserveNow = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)

// keptRoom is a room with a register of its own.
func keptRoom(t testing.TB) *Room {
	j := desk.NewJudge(catalog.Builtin(), date.NewAt(reserveNow))
	r, err := Open(t.Context(), filepath.Join(t.TempDir(), "register.db"), Options{Create: true}, j, register.AtInstant(reserveNow), func() time.Time { return reserveNow })
	require.NoError(t, err)
	t.Cleanup(func() { r.Close() })
	return r
}

// kits receives so many kits of a batch at a place.
func kits(t *testing.T, r *Room, b register.Batch, place string, n int) {
	a := register.Amount(n * 1000)
	_, err := r.Append(t.Context(), b.Key(), func(*register.State) ([]*register.Event, error) {
		return []*register.Event{{Kind: register.KindReceived, At: register.AtInstant(reserveNow.Add(-time.Hour)), By: "Tech 1", Place: place, Amount: &a, Unit: "kit",
			Receipt: &register.Receipt{Label: shelf.Item{Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 12, 1)), Expiry: label.DayOf(date.New(2027, 8, 31))}}}}, nil
	})
	require.NoError(t, err)
}

func part(batch, maker, place, mix string, n float64) desk.Part {
	return desk.Part{PartOf: desk.PartOf{Batch: batch, Maker: maker, Place: place}, Mix: mix, Amount: n, Unit: "kit"}
}

// However plans come and go, a job has reserved exactly what its last plan that was let
// draws, no part is promised beyond what there is, a refused plan changes nothing, and the
// same plan again writes nothing.
func TestWhatIsReservedIsWhatTheLastPlanDraws(t *testing.T) {
	r := keptRoom(t)
	places := []desk.PartOf{{Batch: "S-1", Place: "bench"}, {Batch: "S-1", Place: "cold store"}, {Batch: "S-2", Maker: "A", Place: "bench"}, {Batch: "S-2", Maker: "B", Place: "bench"}}
	for _, p := range places {
		kits(t, r, register.Batch{Number: p.Batch, Maker: p.Maker}, p.Place, 4)
	}
	model := map[string][]desk.Part{}
	rapid.Check(t, func(t *rapid.T) {
		job := rapid.SampledFrom([]string{"J-1", "J-2", "J-3"}).Draw(t, "job")
		var wanted []desk.Part
		for _, p := range places {
			for _, mix := range []string{"mix 1", "mix 2"} {
				if n := rapid.IntRange(-2, 3).Draw(t, "kits"); n > 0 {
					wanted = append(wanted, desk.Part{PartOf: p, Mix: mix, Amount: float64(n), Unit: "kit"})
				}
			}
		}
		room := true
		for _, p := range places {
			sum := 0.0
			for j, parts := range model {
				if j != job {
					sum += amountAt(parts, p)
				}
			}
			room = room && sum+amountAt(wanted, p) <= 4
		}
		before := eventsIn(t, r)
		done, err := r.Reserve(t.Context(), job, "Planner", wanted, nil)
		if !room {
			var refused *register.Refused
			require.True(t, errors.As(err, &refused), "%v", err)
			require.Equal(t, before, eventsIn(t, r))
		} else {
			require.NoError(t, err)
			model[job] = wanted
			require.Equal(t, done.Same, before == eventsIn(t, r))
			before = eventsIn(t, r)
			again, err := r.Reserve(t.Context(), job, "Planner", wanted, nil)
			require.NoError(t, err)
			require.True(t, again.Same)
			require.Equal(t, before, eventsIn(t, r))
		}
		all, err := r.Store.Reserved(t.Context())
		require.NoError(t, err)
		for j, parts := range model {
			for _, p := range places {
				have := register.Amount(0)
				for _, v := range all[register.Batch{Number: p.Batch, Maker: p.Maker}.Key()] {
					if v.Job == j && v.Place == p.Place {
						have += v.Amount
					}
				}
				require.Equal(t, amountAt(parts, p), have.Float(), "%s %v", j, p)
			}
		}
	})
}

func amountAt(parts []desk.Part, at desk.PartOf) (sum float64) {
	for _, p := range parts {
		if p.PartOf == at {
			sum += p.Amount
		}
	}
	return sum
}

func eventsIn(t *rapid.T, r *Room) int {
	n, err := r.Store.Totals(t.Context())
	require.NoError(t, err)
	return n.Events
}

// Of two jobs that want the last kit at once one gets it, and the other is told.
func TestTheLastKitIsReservedOnce(t *testing.T) {
	r := keptRoom(t)
	for round := range 20 {
		batch := fmt.Sprintf("S-%d", round)
		kits(t, r, register.Batch{Number: batch}, "bench", 1)
		errs := make([]error, 4)
		var all sync.WaitGroup
		for i := range errs {
			all.Go(func() {
				_, errs[i] = r.Reserve(t.Context(), fmt.Sprintf("J-%d", i), "Planner", []desk.Part{part(batch, "", "bench", "mix 1", 1)}, nil)
			})
		}
		all.Wait()
		won := 0
		for _, err := range errs {
			var refused *register.Refused
			switch {
			case err == nil:
				won++
			case !errors.As(err, &refused):
				t.Error(err)
			default:
				assert.Contains(t, refused.Text, "reserved for job")
			}
		}
		assert.Equal(t, 1, won)
	}
}

// The rows to draw from for a job have what is reserved for others taken off, not what is
// its own.
func TestStockForAJobKnowsWhatOthersHaveReserved(t *testing.T) {
	r := keptRoom(t)
	kits(t, r, register.Batch{Number: "S-1"}, "bench", 4)
	_, err := r.Reserve(t.Context(), "J-1", "Planner", []desk.Part{part("S-1", "", "bench", "mix 1", 1), part("S-1", "", "bench", "mix 2", 2)}, nil)
	require.NoError(t, err)
	for job, want := range map[string]map[desk.PartOf]desk.Kept{"J-1": {}, "J-2": {{Batch: "S-1", Place: "bench"}: {Amount: 3, Jobs: []string{"J-1"}}}} {
		l, err := r.Stock(t.Context(), job)
		require.NoError(t, err)
		assert.True(t, l.Register)
		assert.Equal(t, want, l.Kept, job)
		l.Close()
	}
	freed, err := r.Release(t.Context(), "J-1", "Planner", "")
	require.NoError(t, err)
	assert.Equal(t, []desk.Part{{PartOf: desk.PartOf{Batch: "S-1", Place: "bench"}, Amount: 3, Unit: "kit"}}, freed.Freed)
	_, err = r.Release(t.Context(), "J-1", "Planner", "")
	assert.ErrorContains(t, err, `nothing is reserved for job "J-1", nor for any other`)
}

// What is used up is held, and who took the last of it is said; of a batch with something
// left a container that is used up is meant only where it is named.
func TestABatchThatIsUsedUpIsHeldAndSaysWhoTookTheLast(t *testing.T) {
	r := keptRoom(t)
	kits(t, r, register.Batch{Number: "S-1"}, "bench", 2)
	take := func(n int) {
		a := register.Amount(n * 1000)
		_, err := r.Append(t.Context(), register.Batch{Number: "S-1"}.Key(), func(*register.State) ([]*register.Event, error) {
			return []*register.Event{{Kind: register.KindDrawn, At: register.AtInstant(reserveNow), By: "Tech 2", Place: "bench", Amount: &a, Use: &register.Use{Job: "NF12", Joints: []string{"door"}}}}, nil
		})
		require.NoError(t, err)
	}
	take(1)
	all, err := r.Check(t.Context(), Asked{Number: "S-1"})
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, shelf.Use, all[0].Judgement.Verdict)
	assert.Equal(t, "1 kit at bench", all[0].Stock.Words)
	take(1)
	all, err = r.Check(t.Context(), Asked{Number: "S-1"})
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, shelf.Hold, all[0].Judgement.Verdict)
	assert.Equal(t, LimitNone, all[0].Judgement.Governing.Name)
	assert.Equal(t, "By the register none is left: the last was drawn 8 March 2027 07:00 by Tech 2, for job NF12.", all[0].Judgement.Governing.Reason)
	assert.Equal(t, "nothing left at bench", all[0].Stock.Words)
	_, err = r.Check(t.Context(), Asked{Number: "S-11"})
	var none NoBatch
	require.True(t, errors.As(err, &none))
	assert.ErrorContains(t, err, "the nearest are S-1")
}
