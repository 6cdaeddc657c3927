package store

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
)

// must is what testing and rapid have in common.
type must interface {
	require.TestingT
	Helper()
}

func over(s register.Store) *register.Register {
	at := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	return &register.Register{Store: s, Clock: func() time.Time { at = at.Add(time.Minute); return at }, Station: "bench"}
}

func backedUp(t must, r *register.Register) []byte {
	t.Helper()
	var to bytes.Buffer
	_, err := r.Backup(background, &to)
	require.NoError(t, err)
	return to.Bytes()
}

func restore(t must, text []byte, into *register.Register) {
	t.Helper()
	b, err := register.OpenBackup("b", func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil })
	require.NoError(t, err)
	require.NoError(t, into.Restore(background, b))
}

// sound holds a register against itself.
func sound(t must, r *register.Register) {
	t.Helper()
	f, err := r.Verify(background, register.Hash{})
	require.NoError(t, err)
	require.True(t, f.Whole(), "%+v", f)
}

// live records receipts, draws and checkpoints at random: texts of every kind, and batches
// whose keys sort in unusual ways.
func live(t *rapid.T, r *register.Register) {
	text := rapid.StringOf(rapid.RuneFrom([]rune("aZ09 ,;\"'\\<>&%Øß中🙂'-/"))).Filter(func(s string) bool { return len(s) < 60 })
	var keys []register.Key
	for i := range rapid.IntRange(0, 8).Draw(t, "batches") {
		b, err := register.MakeBatch(fmt.Sprintf("%s%d", text.Draw(t, "number"), i), text.Draw(t, "maker"))
		require.NoError(t, err)
		keys = append(keys, b.Key())
	}
	for _, k := range keys {
		for i := range rapid.IntRange(1, 4).Draw(t, "events") {
			e := &register.Event{Kind: register.KindReceived, By: "x" + text.Draw(t, "by"), Why: text.Draw(t, "why"), At: register.AtInstant(r.Clock()), Place: "store", Unit: "kit",
				Receipt: &register.Receipt{Label: shelf.Item{Class: "polysulfide-b-2"}, Order: text.Draw(t, "order")}}
			n := register.Amount(1000)
			e.Amount = &n
			if i%2 == 1 {
				e.Kind, e.Receipt, e.Use = register.KindDrawn, nil, &register.Use{Job: text.Draw(t, "job"), Joints: []string{"j" + text.Draw(t, "joint")}}
			}
			_, err := r.Append(background, k, func(*register.State) ([]*register.Event, error) { return []*register.Event{e}, nil })
			require.NoError(t, err)
			if rapid.IntRange(0, 5).Draw(t, "checkpoint") == 0 {
				_, err := r.Checkpoint(background, "x"+text.Draw(t, "by"))
				require.NoError(t, err)
			}
		}
	}
}

// TestABackupComesBackTheSameFromEitherStore: SQLite, PostgreSQL and SQLite again, byte
// for byte, of registers made at random; each restored one verifies, and goes on.
func TestABackupComesBackTheSameFromEitherStore(t *testing.T) {
	url := pgtest.NewDatabase(t)
	pg := openURL(t, url, Options{Create: true})
	var n atomic.Int64
	file := func(r *rapid.T) *register.Register {
		s, err := OpenSQLite(background, filepath.Join(t.TempDir(), fmt.Sprintf("%d.db", n.Add(1))), Options{Create: true})
		require.NoError(r, err)
		r.Cleanup(func() { require.NoError(t, s.Close()) })
		return over(s)
	}
	const most = 30 // registers: each is two files and all tables of a database
	rapid.Check(t, func(r *rapid.T) {
		if n.Load() >= 2*most && !t.Failed() {
			return
		}
		first := file(r)
		live(r, first)
		text := backedUp(r, first)
		for _, table := range []string{"line", "event", "lot", "served", "reserved", "checkpoint", "checkpoint_head", "place"} {
			require.NoError(r, pg.(*pgStore).raw("TRUNCATE "+table))
		}
		restore(r, text, over(pg))
		sound(r, over(pg))
		require.Equal(r, string(text), string(backedUp(r, over(pg))))
		last := file(r)
		restore(r, text, last)
		sound(r, last)
		require.Equal(r, string(text), string(backedUp(r, last)))
		_, err := last.Checkpoint(background, "Tech 1")
		require.NoError(r, err)
		sound(r, last)
	})
}

// A backup is of one moment, whoever writes meanwhile: it restores, and verifies.
func TestABackupAmongWritersIsOfOneMoment(t *testing.T) {
	for name, open := range map[string]opener{
		"SQLite": func() opener {
			p := filepath.Join(t.TempDir(), "r.db")
			return func(t testing.TB, o Options) register.Store { return openAt(t, p, o) }
		}(),
		"PostgreSQL": func() opener {
			u := pgtest.NewDatabase(t)
			return func(t testing.TB, o Options) register.Store { return openURL(t, u, o) }
		}(),
	} {
		t.Run(name, func(t *testing.T) {
			r := over(open(t, Options{Create: true}))
			r.Clock = time.Now
			ctx, stop := context.WithCancel(background)
			written := make(chan int)
			go func() {
				n := 0
				for ; ctx.Err() == nil; n++ {
					_, err := r.Append(background, register.Batch{Number: fmt.Sprintf("S-%d", n%7)}.Key(), func(*register.State) ([]*register.Event, error) {
						one := register.Amount(1000)
						return []*register.Event{{Kind: register.KindReceived, By: "w", At: register.AtInstant(time.Now()), Place: "store", Unit: "kit", Amount: &one,
							Receipt: &register.Receipt{Label: shelf.Item{Class: "polysulfide-b-2"}}}}, nil
					})
					assert.NoError(t, err)
					if n%20 == 0 {
						_, err := r.Checkpoint(background, "w")
						assert.NoError(t, err)
					}
				}
				written <- n
			}()
			for range 10 {
				text := backedUp(t, r)
				other := over(openAt(t, filepath.Join(t.TempDir(), "copy.db"), Options{Create: true}))
				restore(t, text, other)
				sound(t, other)
			}
			stop()
			assert.Positive(t, <-written)
		})
	}
}
