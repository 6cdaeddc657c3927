package storeroom

import (
	"database/sql"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite"

	"beadline/catalog/stock/register"
)

// tampered makes a register with two checkpoints, changes its file as somebody would who
// has the file and SQLite, and says what Verify finds.
func tampered(t *testing.T, expect func(first, last register.Hash) register.Hash, statements ...string) *register.Findings {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "5", "rack 1", day(2024, 6, 30))
	b.receive(r, "S-2", "5", "rack 1", day(2024, 6, 30))
	b.draw(r, "S-1", forJob("J1"))
	b.reserve(r, "S-2", "rack 1", "1", "J2")
	first, err := r.Checkpoint(background, "Q. Office")
	require.NoError(t, err)
	b.draw(r, "S-1", forJob("J1"))
	middle, err := r.Checkpoint(background, "Q. Office")
	require.NoError(t, err)
	require.NotNil(t, middle)
	b.draw(r, "S-2", forJob("J2"))
	last, err := r.Checkpoint(background, "Q. Office")
	require.NoError(t, err)
	require.NoError(t, r.Store.Close())

	db, err := sql.Open("sqlite", b.path)
	require.NoError(t, err)
	for _, s := range statements {
		res, err := db.Exec(s)
		require.NoError(t, err, s)
		n, err := res.RowsAffected()
		require.NoError(t, err)
		require.NotZero(t, n, "changes nothing: %s", s)
	}
	require.NoError(t, db.Close())
	hash := register.Hash{}
	if expect != nil {
		hash = expect(first.Hash, last.Hash)
	}
	f, err := b.room().Verify(background, hash)
	require.NoError(t, err)
	return f
}

func TestVerifyNamesWhatWasTamperedWith(t *testing.T) {
	lastHash := func(_, last register.Hash) register.Hash { return last }
	for _, c := range []struct {
		name       string
		expect     func(first, last register.Hash) register.Hash
		statements []string
		finds      string // in the findings, one of its kind first
	}{
		{"a body is changed", nil, []string{`UPDATE event SET body = replace(body, 'J1', 'J7') WHERE line LIKE 'S-1%' AND seq = 2`}, "broken: batch S-1 event 2"},
		{"a hash is changed", nil, []string{`UPDATE event SET hash = zeroblob(32) WHERE line LIKE 'S-1%' AND seq = 2`}, "broken: batch S-1 event 2"},
		{"an event is taken out", nil, []string{`DELETE FROM event WHERE line LIKE 'S-1%' AND seq = 2`}, "broken: batch S-1 event 2"},
		{"the last event is taken out", nil, []string{`DELETE FROM event WHERE line LIKE 'S-1%' AND seq = 3`}, "broken: batch S-1 event 3"},
		{"the last event and its head are taken out", nil, []string{`DELETE FROM event WHERE line LIKE 'S-1%' AND seq = 3`,
			`UPDATE line SET seq = 2, hash = (SELECT hash FROM event WHERE line = key AND seq = 2) WHERE key LIKE 'S-1%'`}, "gone: batch S-1 has lost events"},
		{"a batch is taken out with all that is kept of it", nil, []string{`DELETE FROM event WHERE line LIKE 'S-2%'`, `DELETE FROM line WHERE key LIKE 'S-2%'`,
			`DELETE FROM lot WHERE line LIKE 'S-2%'`, `DELETE FROM served WHERE line LIKE 'S-2%'`}, "gone: batch S-2 is gone"},
		{"a batch is taken out, and what is kept of it stays", nil, []string{`DELETE FROM event WHERE line LIKE 'S-2%'`, `DELETE FROM line WHERE key LIKE 'S-2%'`}, "stale: batch S-2"},
		{"a checkpoint is taken out", nil, []string{`DELETE FROM checkpoint WHERE n = 2`, `DELETE FROM checkpoint_head WHERE n = 2`}, "gone: checkpoint 2 is gone"},
		{"a checkpoint is changed", nil, []string{`UPDATE checkpoint SET by = 'nobody' WHERE n = 2`}, "gone: checkpoint 2 is not as it was written"},
		{"a head of a checkpoint is changed", nil, []string{`UPDATE checkpoint_head SET hash = zeroblob(32) WHERE n = 2`}, "gone: batch S-1 was written anew"},
		{"the last checkpoint is taken out", lastHash, []string{`DELETE FROM checkpoint WHERE n = 3`, `DELETE FROM checkpoint_head WHERE n = 3`}, "gone: there is no checkpoint"},
		{"all checkpoints are taken out, what they list stays", nil, []string{`DELETE FROM checkpoint`}, "gone: checkpoint 1 is gone"},
		{"a row of the stock is changed", nil, []string{`UPDATE lot SET row = replace(row, '2024-06-30', '2034-06-30') WHERE line LIKE 'S-1%'`}, "stale: batch S-1"},
		{"a joint served is changed", nil, []string{`UPDATE served SET joint = 'cargo door' WHERE line LIKE 'S-1%' AND n = 1`}, "stale: batch S-1"},
		{"a joint served is taken out", nil, []string{`DELETE FROM served WHERE line LIKE 'S-2%'`}, "stale: batch S-2"},
		{"a reservation is put in", nil, []string{`INSERT INTO reserved (line, n, job, container, place, amount) SELECT key, 0, 'J9', '', 'rack 1', 1000 FROM line WHERE key LIKE 'S-2%'`}, "stale: batch S-2"},
		{"nothing", lastHash, nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := tampered(t, c.expect, c.statements...)
			var found []string
			for _, x := range f.Broken {
				found = append(found, fmt.Sprintf("broken: %s %s", x.Key, &x))
			}
			for _, x := range f.Gone {
				found = append(found, "gone: "+x)
			}
			for _, k := range f.Stale {
				found = append(found, "stale: "+k.String())
			}
			for _, x := range f.Problems {
				found = append(found, "problem: "+x)
			}
			assert.Equal(t, c.finds == "", f.Whole(), found)
			if c.finds != "" {
				assert.Contains(t, strings.Join(found, "\n"), c.finds)
			}
		})
	}
}

// What the file has that the register did not make could change what is written later.
func TestVerifyFindsATrigger(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "5", "rack 1", day(2024, 6, 30))
	db, err := sql.Open("sqlite", b.path)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TRIGGER quiet AFTER INSERT ON served BEGIN DELETE FROM served; END`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	f, err := b.room().Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.False(t, f.Whole())
	assert.Equal(t, []string{`the file has a trigger "quiet", which is none of the register's: somebody put it there`}, f.Damage)
}

// A whole file of an earlier day put back is whole by itself; the hash kept on paper tells.
func TestVerifyFindsAnOlderCopyByTheHashOnPaper(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "5", "rack 1", day(2024, 6, 30))
	require.NoError(t, r.Close())
	copied := b.path + ".old"
	db, err := sql.Open("sqlite", b.path)
	require.NoError(t, err)
	_, err = db.Exec(`VACUUM INTO ?`, copied)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	r = b.room()
	b.draw(r, "S-1", forJob("J1"))
	paper, err := r.Checkpoint(background, "Q. Office")
	require.NoError(t, err)
	require.NoError(t, r.Store.Close())
	for _, more := range []string{"-wal", "-shm"} {
		os.Remove(b.path + more)
	}
	require.NoError(t, os.Rename(copied, b.path))

	r = b.room()
	f, err := r.Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.True(t, f.Whole())
	f, err = r.Verify(background, paper.Hash)
	require.NoError(t, err)
	assert.False(t, f.Whole())
	assert.Contains(t, f.Gone[0], "put back to an earlier state")
}

func TestRebuildMendsWhatIsStaleAndNothingElse(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "5", "rack 1", day(2024, 6, 30))
	b.draw(r, "S-1", forJob("J1"))
	db, err := sql.Open("sqlite", b.path)
	require.NoError(t, err)
	defer db.Close()
	for _, table := range []string{"lot", "served"} {
		_, err = db.Exec(`DELETE FROM ` + table)
		require.NoError(t, err)
	}
	f, err := r.Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.Len(t, f.Stale, 1)
	require.NoError(t, r.Rebuild(background))
	f, err = r.Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.True(t, f.Whole())
	_, err = db.Exec(`UPDATE event SET body = replace(body, 'J1', 'J7')  WHERE seq = 2`)
	require.NoError(t, err)
	assert.ErrorIs(t, r.Rebuild(background), register.ErrDamaged)
}

// The first to close after something was written makes a checkpoint, and then one a day;
// of many stations at once one does.
func TestCheckpointsAreMadeOnceADay(t *testing.T) {
	b := newBench(t)
	count := func() int {
		all, err := b.room().Store.Checkpoints(background)
		require.NoError(t, err)
		return len(all)
	}
	write := func(stations int) {
		var all sync.WaitGroup
		for i := range stations {
			r, err := b.open()
			require.NoError(t, err)
			r.Note = func(s string) { t.Error(s) }
			all.Go(func() {
				b.receive(r, fmt.Sprintf("S-%d-%d", b.now.Unix(), i), "1", "rack 1", day(2034, 6, 30))
				assert.NoError(t, r.Close())
			})
		}
		all.Wait()
	}
	r := b.room()
	require.NoError(t, r.Close())
	assert.Zero(t, count(), "nothing was written")
	write(6)
	assert.Equal(t, 1, count())
	b.now = b.now.Add(23 * time.Hour)
	write(1)
	assert.Equal(t, 1, count())
	b.now = b.now.Add(2 * time.Hour)
	write(6)
	assert.Equal(t, 2, count())
	b.now = b.now.AddDate(-1, 0, 0) // the clock was wrong before: a time to come is no excuse
	write(1)
	assert.Equal(t, 3, count())
	write(1)
	assert.Equal(t, 3, count())
}

// A checkpoint that cannot be made is noted; what was recorded stands.
func TestCheckpointThatFailsIsOnlyNoted(t *testing.T) {
	b := newBench(t)
	r := b.room()
	b.receive(r, "S-1", "1", "rack 1", day(2024, 6, 30))
	db, err := sql.Open("sqlite", b.path)
	require.NoError(t, err)
	_, err = db.Exec(`DROP TABLE checkpoint_head`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	var notes []string
	r.Note = func(s string) { notes = append(notes, s) }
	assert.NoError(t, r.Close())
	require.Len(t, notes, 1)
	assert.Contains(t, notes[0], "what was recorded stands")
}

func TestOverviewCountsBatchesAndEvents(t *testing.T) {
	b := newBench(t)
	r := b.stocked()
	_, err := r.Append(background, register.CatalogKey("ours"), func(*register.State) ([]*register.Event, error) {
		return []*register.Event{{Kind: register.KindClasses, By: "Tech 1", At: r.At, Catalog: "- id: x"}}, nil
	})
	require.NoError(t, err)
	o, err := r.Overview(background)
	require.NoError(t, err)
	assert.Equal(t, []int{8, 1, 11}, []int{o.Batches, o.Catalogs, o.Events})
	assert.Nil(t, o.Last)
}
