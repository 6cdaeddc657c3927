package faults

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// TestKilledWritersLoseNothing: programs that write to one register at once are killed at
// random moments, from their start on: while the register is made, in a commit, in a
// checkpoint of the log, all together or one after the other while the rest go on. What
// they acknowledged is there once; what they did not may be sent again; and the files as
// they were at that moment survive a loss of power (see power_test.go).
func TestKilledWritersLoseNothing(t *testing.T) {
	t.Parallel()
	rng := seeded(t)
	n := runs(500, 60)
	if s := os.Getenv("BEADLINE_FAULTS_RUNS"); s != "" {
		var err error
		n, err = strconv.Atoi(s)
		require.NoError(t, err, "BEADLINE_FAULTS_RUNS")
	}
	var sum tally
	t.Run("lanes", func(t *testing.T) {
		for lane := range 2 {
			k := &killing{rng: split(rng, lane), sum: &sum}
			t.Run(strconv.Itoa(lane), func(t *testing.T) {
				t.Parallel()
				for left := (n + lane) / 2; left > 0; {
					some := min(left, 1+k.rng.IntN(20))
					k.register(t, some)
					left -= some
				}
			})
		}
	})
	t.Logf("%d runs, %d programs killed, %d events acknowledged, %d acts without an answer (%d of them recorded), %d powers cut",
		sum.runs.Load(), sum.killed.Load(), sum.acked.Load(), sum.open.Load(), sum.known.Load(), sum.cuts.Load())
	assert.Equal(t, int64(n), sum.runs.Load())
	assert.Greater(t, sum.acked.Load(), int64(n), "the writers were killed before they wrote anything to speak of")
}

type tally struct{ runs, killed, acked, open, known, cuts atomic.Int64 }

type killing struct {
	rng *rand.Rand
	sum *tally
	r   *register.Register // open over several runs, so that the log stays; or nil
}

// register takes one register through some runs.
func (k *killing) register(t *testing.T, runs int) {
	path := filepath.Join(t.TempDir(), "register.db")
	l := newLedger()
	keep := k.rng.IntN(2) == 0
	for run := range runs {
		k.run(t, path, run, l)
		if !keep || run == runs-1 {
			require.NoError(t, k.r.Store.Close())
			k.r = nil
		}
	}
	k.sum.acked.Add(int64(len(l.acked)))
}

// run starts some writers, kills them, and looks at what they left.
func (k *killing) run(t *testing.T, path string, run int, l *ledger) {
	var writers []*child
	for w := range 2 + k.rng.IntN(3) {
		writers = append(writers, start(t, role{Do: "write", Path: path, Name: fmt.Sprintf("%d%c", run, 'a'+w), Seed: k.rng.Uint64(), Batches: 3,
			Ahead: time.Duration(k.rng.IntN(3)) * time.Second, Options: store.Options{Create: true}}, l))
	}
	if k.rng.IntN(8) > 0 {
		<-writers[k.rng.IntN(len(writers))].ready
	}
	time.Sleep(time.Duration(k.rng.IntN(40_000)) * time.Microsecond)
	together := k.rng.IntN(2) == 0
	for _, w := range writers {
		require.NoError(t, w.Process.Kill())
		if !together {
			time.Sleep(time.Duration(k.rng.IntN(5_000)) * time.Microsecond)
		}
	}
	for _, w := range writers {
		code := w.end()
		require.Equal(t, -1, code, "a writer ended by itself: %v\n%s", w.lines, w.stderr.String())
	}
	k.sum.runs.Add(1)
	k.sum.killed.Add(int64(len(writers)))
	k.sum.open.Add(int64(len(l.open)))
	look := readFiles
	if k.r != nil {
		look = readShared
	}
	cuts := cutPower(t, look(t, path), k.rng)
	if k.r == nil {
		var err error
		k.r, err = open(path, "desk", store.Options{Patience: 2 * time.Second})
		if errors.Is(err, register.ErrMissing) && len(l.acked) == 0 {
			k.r, err = open(path, "desk", store.Options{Create: true})
		}
		require.NoError(t, err)
	}
	all := l.check(t, k.r)
	for _, c := range cuts {
		c.check(t, all, l)
	}
	k.sum.cuts.Add(int64(len(cuts)))
	k.sum.known.Add(int64(l.settle(t, k.r)))
	a := (&hand{name: fmt.Sprintf("%d desk", run), rng: k.rng, keys: batches(3)}).next(true)
	l.try(a)
	done, err := a.record(k.r)
	require.NoError(t, err, "the register is to be written to at once")
	l.answer(a, done)
	if run%5 == 4 {
		_, err := k.r.Checkpoint(background, "Stores office")
		require.NoError(t, err)
	}
	l.check(t, k.r)
}
