package pgtest

import (
	"context"
	"database/sql"
	"io"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nowhere is where nobody listens. A driver that lost its connection asks on a new one to
// cancel what was running there (CancelRequest, 16 bytes); sent to nowhere, that moves
// neither the count of bytes nor the outcome.
const nowhere = "127.0.0.1:1"

// two puts two rows into the table in one transaction.
func two(conn *sql.Conn) error {
	tx, err := conn.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	for _, n := range []int{1, 2} {
		if _, err := tx.Exec("INSERT INTO log VALUES ($1)", n); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// TestCutAtAnyByteLeavesAllOrNothing cuts a transaction after each number of bytes. Both
// rows are there or neither; and both, though the client had no answer, where all bytes
// of the commit had passed.
func TestCutAtAnyByteLeavesAllOrNothing(t *testing.T) {
	s := Shared(t)
	url := s.NewDatabase(t)
	name := url[len(s.URL(""))-len("?sslmode=disable") : len(url)-len("?sslmode=disable")]
	direct := connect(t, url)
	run(t, direct, "CREATE TABLE log (n int)")
	require.NoError(t, direct.Close()) // so that the database settles

	once := func(cut int) (passed int, err error) {
		p := NewProxy(t, s.Addr())
		conn := pin(t, p.URL(name))
		p.Point(nowhere)
		before := p.Passed()
		if cut >= 0 {
			p.CutAfter(cut)
		}
		err = two(conn)
		passed = p.Passed() - before
		p.Cut() // nothing more comes through, should it be alive
		require.NoError(t, s.Settle(name))
		return passed, err
	}
	count := func() string {
		rows, err := s.Query(name, "WITH gone AS (DELETE FROM log RETURNING n) SELECT count(*) FROM gone")
		require.NoError(t, err)
		return rows[0][0]
	}
	all, err := once(-1)
	require.NoError(t, err)
	require.Equal(t, "2", count())
	require.Greater(t, all, 100)

	step := 5
	if testing.Short() {
		step = 31
	}
	for n := 0; n < all; n += step {
		passed, err := once(n)
		require.Error(t, err, n)
		require.Equal(t, n, passed)
		require.Equal(t, "0", count(), n)
	}
	passed, err := once(all - 1)
	require.Error(t, err)
	assert.Equal(t, all-1, passed)
	assert.Equal(t, "0", count())

	_, err = once(all)
	require.Error(t, err, "no answer came back")
	assert.Equal(t, "2", count(), "the server had all of the commit")
}

func TestCutBreaksOpenConnectionsAndTakesNewOnes(t *testing.T) {
	p := NewProxy(t, Shared(t).Addr())
	conn := pin(t, p.URL("postgres"))
	p.Cut()
	assert.Error(t, conn.PingContext(context.Background()))
	assert.Equal(t, 1, one(t, connect(t, p.URL("postgres")), "SELECT 1"))
}

func TestCutEndsARunningQuery(t *testing.T) {
	s := Shared(t)
	p := NewProxy(t, s.Addr())
	conn := pin(t, p.URL("postgres"))
	done := make(chan error)
	go func() {
		_, err := conn.ExecContext(context.Background(), "SELECT pg_sleep(60)")
		done <- err
	}()
	require.NoError(t, wait("the query to run", func() (bool, error) {
		rows, err := s.Query("postgres", "SELECT count(*) FROM pg_stat_activity WHERE query = 'SELECT pg_sleep(60)' AND wait_event = 'PgSleep'")
		return err == nil && rows[0][0] == "1", err
	}))
	p.Cut()
	assert.Error(t, <-done)
}

func TestStallHoldsBytesUntilResume(t *testing.T) {
	p := NewProxy(t, Shared(t).Addr())
	db := connect(t, p.URL("postgres"))
	require.NoError(t, db.Ping())
	before := p.Passed()
	p.Stall()
	p.Stall() // twice is once
	done := make(chan error, 1)
	go func() { done <- db.Ping() }()
	select {
	case err := <-done:
		t.Fatalf("an answer through a stalled line: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	assert.Equal(t, before, p.Passed())
	p.Resume()
	p.Resume()
	assert.NoError(t, <-done)
}

func TestStalledConnectionsCanBeCut(t *testing.T) {
	p := NewProxy(t, Shared(t).Addr())
	conn := pin(t, p.URL("postgres"))
	p.Stall()
	done := make(chan error)
	go func() { done <- conn.PingContext(context.Background()) }()
	p.Cut()
	assert.Error(t, <-done)
}

func TestPointMovesNewConnections(t *testing.T) {
	s := Start(t)
	b := s.SyncStandby(t)
	p := NewProxy(t, s.Addr())
	db := connect(t, p.URL("postgres"))
	run(t, db, "CREATE TABLE log AS SELECT 7 AS n")
	require.NoError(t, s.Kill())
	assert.Error(t, db.Ping(), "nobody listens behind the proxy")
	require.NoError(t, b.Promote())
	p.Point(b.Addr())
	assert.Equal(t, 7, one(t, db, "SELECT n FROM log"))
}

// TestProxyPassesWhatItIsGiven needs no PostgreSQL: an echo is behind it.
func TestProxyPassesWhatItIsGiven(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	got := make(chan []byte, 1)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			all, _ := io.ReadAll(io.TeeReader(c, c)) // a reset ends it like any end
			got <- all
			_ = c.Close()
		}
	}()
	p := NewProxy(t, l.Addr().String())
	c, err := net.Dial("tcp", p.Addr())
	require.NoError(t, err)
	defer c.Close()
	back := make([]byte, 5)
	_, err = c.Write([]byte("first"))
	require.NoError(t, err)
	_, err = io.ReadFull(c, back)
	require.NoError(t, err)
	assert.Equal(t, "first", string(back))

	p.CutAfter(3)
	_, err = c.Write([]byte("later"))
	require.NoError(t, err)
	_, err = io.ReadFull(c, back)
	assert.Error(t, err)
	assert.Equal(t, "firstlat", string(<-got))
	assert.Equal(t, 8, p.Passed())
}
