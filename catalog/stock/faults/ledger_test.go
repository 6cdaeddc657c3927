package faults

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// ledger is what the writers say they did, held against what the register says.
type ledger struct {
	mu    sync.Mutex
	acts  map[string]*act     // tried, by act id
	acked map[string]position // acknowledged, by event id
	open  map[string]*act     // tried, and no answer came
	no    int                 // refused
}

// position is where an acknowledged event stands. The hash is zero where it was not said.
type position struct {
	key  register.Key
	seq  int
	hash register.Hash
}

func newLedger() *ledger {
	return &ledger{acts: map[string]*act{}, acked: map[string]position{}, open: map[string]*act{}}
}

func (l *ledger) try(a *act) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.acts[a.ID], l.open[a.ID] = a, a
}

// answer closes a try.
func (l *ledger) answer(a *act, done *register.Done) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.open, a.ID)
	if done == nil {
		l.no++
		return
	}
	for id, p := range positions(a, done) {
		l.acked[id] = p
	}
}

// positions is where the events of an act stand, as Append says.
func positions(a *act, done *register.Done) map[string]position {
	at := map[string]position{}
	for i, k := range a.Lines {
		for _, e := range done.Events {
			if e.ID != a.eventID(i) {
				continue
			}
			p := position{key: k, seq: e.Seq}
			if head := done.States[k].Head; head.Seq == e.Seq {
				p.hash = head.Hash
			}
			at[e.ID] = p
		}
	}
	return at
}

// lines are all records of a register.
type lines map[register.Key][]register.Record

func read(r *register.Register) (lines, error) {
	all := lines{}
	err := r.Store.EachLine(background, func(h register.Head, records []register.Record) error {
		all[h.Key] = append([]register.Record(nil), records...)
		return nil
	})
	return all, err
}

// check holds a register to what was acknowledged: each such event is there, once and as
// it was; nothing else is, but what was tried and got no answer, all of it or nothing;
// and the register is whole.
func (l *ledger) check(t testing.TB, r *register.Register) lines {
	t.Helper()
	all, err := read(r)
	require.NoError(t, err)
	l.mu.Lock()
	defer l.mu.Unlock()
	there := map[string]position{}
	for k, records := range all {
		for _, e := range records {
			old, twice := there[e.ID]
			require.False(t, twice, "%s is there twice: %v and %s %d", e.ID, old, k, e.Seq)
			there[e.ID] = position{k, e.Seq, e.Hash}
		}
	}
	for id, want := range l.acked {
		have, ok := there[id]
		require.True(t, ok, "%s was acknowledged as event %d of %s, and is lost", id, want.seq, want.key)
		if want.hash.IsZero() {
			have.hash = want.hash
		}
		require.Equal(t, want, have, "%s is not as it was acknowledged", id)
	}
	unasked := len(there) - len(l.acked)
	for _, a := range l.open {
		n := 0
		for i := range a.Lines {
			if _, ok := there[a.eventID(i)]; ok {
				n++
			}
		}
		require.True(t, n == 0 || n == len(a.Lines), "%s is there in part", a.ID)
		unasked -= n
	}
	require.Zero(t, unasked, "events are there that nobody wrote")
	whole(t, r)
	return all
}

// settle sends again what got no answer, as a person does: then it is there once.
func (l *ledger) settle(t testing.TB, r *register.Register) (known int) {
	t.Helper()
	for _, a := range l.open {
		done, err := a.record(r)
		if err != nil {
			require.True(t, refused(err), "%s: %v", a.ID, err)
			done = nil
		} else {
			require.True(t, done.Known == 0 || done.Known == len(a.Lines), "%s was there in part", a.ID)
			known += min(done.Known, 1)
		}
		l.answer(a, done)
	}
	return known
}

// whole holds a register to having nothing wrong with it.
func whole(t testing.TB, r *register.Register) {
	t.Helper()
	f, err := r.Verify(background, register.Hash{})
	require.NoError(t, err)
	require.True(t, f.Whole(), "broken %v, stale %v, problems %v, gone %v", f.Broken, f.Stale, f.Problems, f.Gone)
}

// seeded is where a test's chances come from. Its seed is logged, and can be set.
func seeded(t testing.TB) *rand.Rand {
	t.Helper()
	seed := rand.Uint64() % 1e9
	if s := os.Getenv("BEADLINE_FAULTS_SEED"); s != "" {
		n, err := strconv.ParseUint(s, 10, 64)
		require.NoError(t, err, "BEADLINE_FAULTS_SEED")
		seed = n
	}
	t.Logf("BEADLINE_FAULTS_SEED=%d", seed)
	return rand.New(rand.NewPCG(seed, 0))
}

// split makes chances of their own for the nth of several that run at once.
func split(rng *rand.Rand, n int) *rand.Rand { return rand.New(rand.NewPCG(rng.Uint64(), uint64(n))) }

// runs is how often something is done: fewer in short tests.
func runs(normal, short int) int {
	if testing.Short() {
		return short
	}
	return normal
}

// ids are those of all acknowledged events, in order.
func (l *ledger) ids() string {
	return strings.Join(slices.Sorted(maps.Keys(l.acked)), " ")
}

func (l *ledger) String() string {
	return fmt.Sprintf("%d acts tried, %d events acknowledged, %d acts refused", len(l.acts), len(l.acked), l.no)
}

// inMemory makes a folder where an fsync costs nothing, if there is such a place, for
// tests of what is read back.
func inMemory(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "register")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}
