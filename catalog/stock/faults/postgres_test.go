package faults

import (
	"fmt"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// crew are people who write to one register, until they are told to stop.
type crew struct {
	ledger *ledger
	stop   chan struct{}
	work   sync.WaitGroup

	mu     sync.Mutex
	failed []error
}

// pgPatience is longer than anything here lasts.
const pgPatience = 30 * time.Second

// begin sets 8 writers to work, from two stations.
func begin(t testing.TB, name string) *crew {
	t.Helper()
	rng := seeded(t)
	c := &crew{ledger: newLedger(), stop: make(chan struct{})}
	for station := range 2 {
		r, err := open(name, fmt.Sprint("station ", station), store.Options{Create: true, Patience: pgPatience})
		require.NoError(t, err)
		t.Cleanup(func() { _ = r.Store.Close() })
		for w := range 4 {
			h := &hand{name: fmt.Sprintf("%d%c", station, 'a'+w), rng: split(rng, w), keys: batches(4)}
			c.work.Go(func() { c.write(r, h) })
		}
	}
	return c
}

func (c *crew) write(r *register.Register, h *hand) {
	for no := false; ; {
		select {
		case <-c.stop:
			return
		default:
		}
		a := h.next(no)
		c.ledger.try(a)
		done, err := a.record(r)
		if no = refused(err); err != nil && !no {
			c.mu.Lock()
			c.failed = append(c.failed, err)
			c.mu.Unlock()
			continue // without an answer
		}
		c.ledger.answer(a, done)
	}
}

// acked is how many events have been acknowledged so far.
func (c *crew) acked() int {
	c.ledger.mu.Lock()
	defer c.ledger.mu.Unlock()
	return len(c.ledger.acked)
}

// goesOn waits until some more events have been acknowledged.
func (c *crew) goesOn(t testing.TB) {
	t.Helper()
	for was, end := c.acked(), time.Now().Add(pgPatience); c.acked() < was+10; time.Sleep(time.Millisecond) {
		require.True(t, time.Now().Before(end), "nobody could write any more: %v", c.failed)
	}
}

// end stops the crew, and holds the register to what it was told.
func (c *crew) end(t testing.TB, name string) {
	t.Helper()
	close(c.stop)
	c.work.Wait()
	assert.Empty(t, c.failed, "what passes within the patience, nobody is told of")
	r, err := open(name, "desk", store.Options{Patience: pgPatience})
	require.NoError(t, err)
	defer r.Store.Close()
	c.ledger.check(t, r)
	c.ledger.settle(t, r)
	c.ledger.check(t, r)
	t.Log(c.ledger)
}

// TestServerCrashesUnderWriters: the server crashes in the midst of what 8 writers do,
// and comes back.
func TestServerCrashesUnderWriters(t *testing.T) {
	t.Parallel()
	s := pgtest.Start(t)
	name := s.NewDatabase(t)
	rng := seeded(t)
	c := begin(t, name)
	for i := range runs(6, 2) {
		c.goesOn(t)
		time.Sleep(time.Duration(rng.IntN(100)) * time.Millisecond)
		if i%2 == 0 {
			require.NoError(t, s.Restart(pgtest.Immediate))
			continue
		}
		require.NoError(t, s.Kill())
		require.NoError(t, s.StartAgain())
	}
	c.goesOn(t)
	c.end(t, name)
}

// TestConnectionsCutUnderWriters: connections break at random moments, at random bytes,
// and stand still for a while.
func TestConnectionsCutUnderWriters(t *testing.T) {
	t.Parallel()
	name := pgtest.NewDatabase(t)
	u, err := url.Parse(name)
	require.NoError(t, err)
	db := strings.TrimPrefix(u.Path, "/")
	s := pgtest.Shared(t)
	p := pgtest.NewProxy(t, s.Addr())
	rng := seeded(t)
	c := begin(t, p.URL(db))
	cuts := runs(120, 25)
	for range cuts {
		time.Sleep(time.Duration(rng.IntN(20)) * time.Millisecond)
		switch rng.IntN(4) {
		case 0:
			p.Cut()
		case 1:
			p.Stall()
			time.Sleep(time.Duration(rng.IntN(40)) * time.Millisecond)
			p.Resume()
		default:
			p.CutAfter(rng.IntN(6000))
		}
		if rng.IntN(5) == 0 {
			c.goesOn(t)
		}
	}
	p.CutAfter(1 << 40)
	c.goesOn(t)
	c.end(t, p.URL(db))
	t.Logf("%d cuts and stalls", cuts)
}

// TestSilentServerIsGivenUp: a network that lets nothing through is waited for as long as
// was said, and then it is said.
func TestSilentServerIsGivenUp(t *testing.T) {
	t.Parallel()
	name := pgtest.NewDatabase(t)
	u, err := url.Parse(name)
	require.NoError(t, err)
	p := pgtest.NewProxy(t, pgtest.Shared(t).Addr())
	const patience = time.Second
	r, err := open(p.URL(strings.TrimPrefix(u.Path, "/")), "a", store.Options{Create: true, Patience: patience})
	require.NoError(t, err)
	defer r.Store.Close()
	l := newLedger()
	h := &hand{name: "a", rng: seeded(t), keys: batches(1)}
	work(t, l, r, h, 3)
	p.Stall()
	a := h.next(true)
	l.try(a)
	at := time.Now()
	ended := make(chan error, 1)
	go func() {
		_, err := a.record(r)
		ended <- err
	}()
	select {
	case err := <-ended:
		require.Error(t, err)
		assert.Empty(t, plain(err, p.Addr()))
		t.Logf("after %v: %v", time.Since(at).Round(time.Millisecond), err)
	case <-time.After(15 * time.Second):
		t.Errorf("after %v it still waits, with %v of patience", time.Since(at), patience)
	}
	p.Resume()
	p.Cut()
	l.check(t, r)
	l.settle(t, r)
	l.check(t, r)
}

// TestStandbyTakesOver: the server is killed, its synchronous standby promoted; the URL
// names both.
func TestStandbyTakesOver(t *testing.T) {
	t.Parallel()
	first := pgtest.Start(t)
	u, err := url.Parse(first.NewDatabase(t))
	require.NoError(t, err)
	second := first.SyncStandby(t)
	u.Host = first.Addr() + "," + second.Addr()
	u.RawQuery += "&target_session_attrs=read-write"
	c := begin(t, u.String())
	c.goesOn(t)
	require.NoError(t, first.Kill())
	before := c.acked()
	at := time.Now()
	require.NoError(t, second.Promote())
	c.goesOn(t)
	t.Logf("%d events acknowledged before; writers went on after %v", before, time.Since(at).Round(time.Millisecond))
	c.end(t, u.String())
}
