package faults

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// TestClocksThatGoBackKeepTheOrder: the clock of a station jumps between two acts, forward
// and back by up to a year. What is recorded stays in the order in which it was, and each
// event says by how much its clock was behind.
func TestClocksThatGoBackKeepTheOrder(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, name string) {
		rng := seeded(t)
		r, err := open(name, "a", store.Options{Create: true})
		require.NoError(t, err)
		defer r.Store.Close()
		now := began
		r.Clock = func() time.Time { return now }
		h, l := &hand{name: "a", rng: rng, keys: batches(2)}, newLedger()
		for range runs(60, 20) {
			now = began.Add(time.Duration(rng.Int64N(int64(365 * 24 * time.Hour)))).Truncate(time.Millisecond)
			a := h.next(false)
			l.try(a)
			last := lastOf(t, r, a.Lines)
			done, err := a.record(r)
			if refused(err) {
				done = nil
			} else {
				require.NoError(t, err)
				assert.Equal(t, max(0, last.Sub(now)).Round(time.Second), done.Behind)
			}
			l.answer(a, done)
		}
		l.check(t, r)
	})
}

// lastOf is when the last event of some lines was recorded.
func lastOf(t testing.TB, r *register.Register, keys []register.Key) (last time.Time) {
	t.Helper()
	for _, k := range keys {
		s, err := r.Load(background, k)
		require.NoError(t, err)
		if s.Last().After(last) {
			last = s.Last()
		}
	}
	return last
}

// TestProcessesWithOtherClocksWriteOneOrder: programs whose clocks are years apart write
// to one register at once.
func TestProcessesWithOtherClocksWriteOneOrder(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "register.db")
	l := newLedger()
	var all []*child
	for i, ahead := range []time.Duration{0, -time.Hour, 400 * 24 * time.Hour} {
		all = append(all, start(t, role{Do: "write", Path: path, Name: fmt.Sprintf("p%d", i), Seed: uint64(i), Batches: 2, Acts: runs(30, 10),
			Ahead: ahead, Options: store.Options{Create: true}}, l))
	}
	for _, c := range all {
		require.Zero(t, c.end(), "%v %s", c.lines, c.stderr.String())
	}
	r, err := open(path, "desk", store.Options{})
	require.NoError(t, err)
	defer r.Store.Close()
	l.check(t, r)
	require.NotEmpty(t, l.acked)
	behind := 0
	for _, k := range batches(2) {
		s, err := r.Load(background, k)
		require.NoError(t, err)
		for _, e := range s.Events {
			if e.Behind > 0 {
				behind++
			}
		}
	}
	assert.Positive(t, behind, "a clock that was behind is written down")
}
