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
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

var march = time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC)

func hours(h float64) time.Time { return march.Add(time.Duration(h * float64(time.Hour))) }

func air(c float64) cure.Air { return cure.Air{TempC: c, RH: 50} }

// readings are one an hour from the start of March, at temperatures that at gives.
func readings(n int, at func(hour int) float64) (all []cure.Sample) {
	for i := range n {
		all = append(all, cure.Sample{At: hours(float64(i)), Air: air(at(i))})
	}
	return all
}

func TestClippedAirRunsStraightToItsEnds(t *testing.T) {
	log := readings(4, func(h int) float64 { return 10 + 2*float64(h) })
	cut, real := clip(log, hours(0.5), hours(2.25))
	require.Len(t, cut, 4)
	assert.Equal(t, 2, real)
	assert.InDelta(t, 11, cut[0].TempC, 1e-9)
	assert.Equal(t, log[1:3], cut[1:3])
	assert.InDelta(t, 14.5, cut[3].TempC, 1e-9)
	assert.Equal(t, hours(2.25), cut[3].At)

	whole, real := clip(log, log[0].At, log[3].At)
	assert.Equal(t, log, whole)
	assert.Equal(t, 4, real)
}

func TestClippedWithinAGapIsTheWarmerEnd(t *testing.T) {
	log := []cure.Sample{{At: hours(0), Air: air(10)}, {At: hours(5), Air: air(30)}, {At: hours(6), Air: air(10)}}
	cut, real := clip(log, hours(1), hours(2))
	assert.Zero(t, real)
	assert.Equal(t, []float64{30, 30}, []float64{cut[0].TempC, cut[1].TempC})
}

// Clipping never cools: no stretch is colder at its warmest than what lies within it, and
// none leaves what the log around it says.
func TestAClippedLogHoldsAllThatLiesWithin(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var log []cure.Sample
		at := march
		for range rapid.IntRange(2, 30).Draw(r, "readings") {
			log = append(log, cure.Sample{At: at, Air: air(rapid.Float64Range(-30, 50).Draw(r, "t"))})
			at = at.Add(time.Duration(rapid.IntRange(1, 400).Draw(r, "minutes")) * time.Minute)
		}
		span := int(log[len(log)-1].At.Sub(march) / time.Minute)
		from := march.Add(time.Duration(rapid.IntRange(0, span-1).Draw(r, "from")) * time.Minute)
		to := from.Add(time.Duration(rapid.IntRange(1, span).Draw(r, "long")) * time.Minute)
		if last := log[len(log)-1].At; to.After(last) {
			to = last
		}
		cut, _ := clip(log, from, to)
		require.Equal(r, from, cut[0].At)
		require.Equal(r, to, cut[len(cut)-1].At)
		inside := 0
		for i, s := range cut {
			require.True(r, i == 0 || s.At.After(cut[i-1].At))
		}
		for _, s := range log {
			if s.At.After(from) && s.At.Before(to) {
				require.Contains(r, cut, s)
				inside++
			}
		}
		require.Equal(r, inside+2, len(cut))
	})
}

// without is held against a row of minutes, each in or out.
func TestWithoutTakesExactlyThatTimeAway(t *testing.T) {
	minute := func(n int) time.Time { return march.Add(time.Duration(n) * time.Minute) }
	rapid.Check(t, func(r *rapid.T) {
		var in [60]bool
		all := []stretch{{minute(10), minute(50)}}
		for i := 10; i < 50; i++ {
			in[i] = true
		}
		for range rapid.IntRange(0, 6).Draw(r, "taken") {
			from := rapid.IntRange(0, 58).Draw(r, "from")
			to := rapid.IntRange(from+1, 59).Draw(r, "to")
			all = without(all, stretch{minute(from), minute(to)})
			for i := from; i < to; i++ {
				in[i] = false
			}
		}
		for i := range in {
			covered := false
			for _, x := range all {
				covered = covered || !minute(i).Before(x.from) && minute(i).Before(x.to)
			}
			require.Equal(r, in[i], covered, "minute %d", i)
		}
	})
}

// roomAt is a room on a new register, for a moment.
func roomAt(t testing.TB, name string, now time.Time) *Room {
	j := desk.NewJudge(catalog.Builtin(), date.NewAt(now))
	j.Ask(shelf.Question{On: date.NewAt(now), Zone: time.UTC})
	r, err := Open(context.Background(), name, Options{Create: true}, j, register.AtInstant(now), func() time.Time { return now })
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, r.Close()) })
	return r
}

// put records an event on batch S-1, which it makes if need be.
func put(t testing.TB, r *Room, e register.Event) {
	t.Helper()
	e.By = "Tech 1"
	_, err := r.Append(context.Background(), register.Batch{Number: "S-1"}.Key(), func(*register.State) ([]*register.Event, error) { return []*register.Event{&e}, nil })
	require.NoError(t, err)
}

func arrivedAt(place string, at time.Time) register.Event {
	n := register.Amount(5000)
	return register.Event{Kind: register.KindReceived, At: register.AtInstant(at), Place: place, Amount: &n, Unit: "kit",
		Receipt: &register.Receipt{Label: shelf.Item{Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2024, 2, 1)), Expiry: label.DayOf(date.New(2024, 10, 31))}}}
}

func attach(t testing.TB, r *Room, place string, samples []cure.Sample, sum byte) *Logged {
	t.Helper()
	d, err := r.LogAir(context.Background(), &AirLog{Place: place, By: "Tech 1", SHA256: register.Hash{sum},
		Air: &desk.Air{Name: fmt.Sprintf("log %d.csv", sum), Samples: samples}})
	require.NoError(t, err)
	return d
}

// Kits that came from another place bring what happened there with them, also where they
// were put to what stood here already.
func TestWhatIsPutTogetherWasAtBothPlaces(t *testing.T) {
	now := march.AddDate(0, 0, 10)
	r := roomAt(t, filepath.Join(t.TempDir(), "r.db"), now)
	put(t, r, arrivedAt("cold store", march))
	put(t, r, arrivedAt("ramp", march))
	two := register.Amount(2000)
	put(t, r, register.Event{Kind: register.KindMoved, At: register.AtInstant(hours(48)), Place: "ramp", To: "cold store", Amount: &two})
	d := attach(t, r, "ramp", readings(24, func(h int) float64 { return 15 + float64(h) }), 1)
	assert.Equal(t, 2, d.Parts, "what stayed at the ramp, and what the two went to")
	assert.Equal(t, 1, d.LastHere)
	s, err := r.Load(context.Background(), register.Batch{Number: "S-1"}.Key())
	require.NoError(t, err)
	for _, p := range s.Parts {
		require.Len(t, p.Item.Storage, 1, p.Place)
		assert.InDelta(t, 38, p.Item.Storage[0].MaxC, 1e-9)
	}
}

// What was freed before the log was known was not what the log shows.
func TestALogThatComesAfterAHoldWasFreedHoldsAnew(t *testing.T) {
	now := march.AddDate(0, 0, 10)
	r := roomAt(t, filepath.Join(t.TempDir(), "r.db"), now)
	put(t, r, arrivedAt("cold store", march))
	warm := shelf.Storage{Where: "ramp", From: label.DayOf(date.New(2024, 3, 2)), MinC: 60, MaxC: 60, Measured: true}
	put(t, r, register.Event{Kind: register.KindStored, At: register.AtInstant(hours(50)), Shelf: &shelf.Event{Storage: warm}})
	put(t, r, register.Event{Kind: register.KindFreed, At: register.AtInstant(hours(100)), Shelf: &shelf.Event{Limit: shelf.LimitStorageBounds}, Why: "asked", Authority: "quality", Reference: "Q-1"})
	d := attach(t, r, "cold store", readings(24, func(int) float64 { return 70 }), 1)
	require.Equal(t, 1, d.Parts)
	s, err := r.Load(context.Background(), register.Batch{Number: "S-1"}.Key())
	require.NoError(t, err)
	assert.Equal(t, "the log log 1.csv of cold store came after its storage had been freed, and shows 70.0 to 70.0 °C: decide on it anew", s.Parts[0].Item.Held)
	assert.Zero(t, attach(t, r, "cold store", readings(24, func(int) float64 { return 70 }), 1).Parts, "the same log again")
}

// However a log is cut into pieces, and in whatever order they are attached, all of the
// time is covered, the warmest and coldest are known, and no part of a stretch is twice.
func TestPiecesOfALogComeToTheWhole(t *testing.T) {
	now := march.AddDate(0, 0, 10)
	samples := readings(100, func(h int) float64 { return 10 + float64((h*7)%13) })
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		if n++; n > 15 {
			return // each makes a file
		}
		room := roomAt(t, filepath.Join(t.TempDir(), "r.db"), now)
		put(t, room, arrivedAt("cold store", hours(5)))
		for i := range rapid.IntRange(1, 6).Draw(r, "pieces") {
			from := rapid.IntRange(0, 98).Draw(r, "from")
			to := rapid.IntRange(from+2, 100).Draw(r, "to")
			attach(t, room, "cold store", samples[from:to], byte(i+1))
		}
		attach(t, room, "cold store", samples, 100)
		s, err := room.Load(context.Background(), register.Batch{Number: "S-1"}.Key())
		require.NoError(r, err)
		long, warmest := time.Duration(0), 0.0
		for _, e := range s.Parts[0].Own() {
			require.False(r, e.Log.From.Before(hours(5)))
			long, warmest = long+e.Log.To.Sub(e.Log.From), max(warmest, e.Shelf.Storage.MaxC)
		}
		require.Equal(r, 94*time.Hour, long)
		require.InDelta(r, 22, warmest, 1e-9)
	})
}
