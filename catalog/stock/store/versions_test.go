package store

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
)

// kinds are both stores, for the rules of their versions: how to make a register of an
// older form at a place, and how to open one.
func kinds(t *testing.T, test func(t *testing.T, name string, make func(t *testing.T, version int64))) {
	t.Run("SQLite", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "register.db")
		test(t, path, func(t *testing.T, version int64) {
			s := &sqliteStore{path: path, writing: make(chan struct{}, 1)}
			require.NoError(t, s.migrate(background, version))
			require.NoError(t, s.openReaders(s.dsn("mode=rw")))
			have, err := s.version(background)
			require.NoError(t, err)
			require.EqualValues(t, version, have)
			fill(t, s, version)
			require.NoError(t, s.Close())
		})
	})
	t.Run("Postgres", func(t *testing.T) {
		url := pgtest.NewDatabase(t)
		test(t, url, func(t *testing.T, version int64) {
			s, err := newPostgres(background, url, Options{})
			require.NoError(t, err)
			require.NoError(t, s.migrate(background, version))
			fill(t, s, version)
			require.NoError(t, s.Close())
		})
	})
}

// old is what fill writes, in the words of the form of that day.
var old = begin("OLD-1\tmaker", 3)

func fill(t *testing.T, s register.Store, version int64) {
	blob := func(h register.Hash) string { return "X'" + h.String() + "'" }
	if _, ok := s.(*pgStore); ok {
		blob = func(h register.Hash) string { return `'\x` + h.String() + `'` }
	}
	text := func(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
	raw(t, s, fmt.Sprintf(`INSERT INTO line (key, seq, hash) VALUES (%s, 3, %s)`, text(string(old.Key)), blob(old.Add[2].Hash)))
	for _, r := range old.Add {
		raw(t, s, fmt.Sprintf(`INSERT INTO event (line, seq, id, hash, body) VALUES (%s, %d, %s, %s, %s)`,
			text(string(old.Key)), r.Seq, text(r.ID), blob(r.Hash), text(string(r.Body))))
	}
	raw(t, s, fmt.Sprintf(`INSERT INTO lot (stocked, line, container, place, class, row) VALUES (1, %s, '', 'cold store', 'c', 'row')`, text(string(old.Key))),
		fmt.Sprintf(`INSERT INTO served (line, n, seq, joint, job, mix, at) VALUES (%s, 0, 2, 'door', 'J1', 'M1', '2027-03-05T08:00:00.000Z')`, text(string(old.Key))),
		fmt.Sprintf(`INSERT INTO reserved (line, n, job, container, place, amount) VALUES (%s, 0, 'J2', '', 'cold store', 1500)`, text(string(old.Key))),
		`INSERT INTO place (name) VALUES ('cold store')`)
	if version >= 2 {
		c := register.Checkpoint{N: 1, By: "A. Nyholm", Lines: 1, Events: 3, Heads: []register.Head{head(&old)}}
		c.Seal()
		raw(t, s, fmt.Sprintf(`INSERT INTO checkpoint (n, at, by, lines, events, previous, hash) VALUES (1, '0001-01-01T00:00:00.000Z', 'A. Nyholm', 1, 3, %s, %s)`, blob(register.Hash{}), blob(c.Hash)),
			fmt.Sprintf(`INSERT INTO checkpoint_head (n, line, seq, hash) VALUES (1, %s, 3, %s)`, text(string(old.Key)), blob(old.Add[2].Hash)))
	}
}

// TestEveryEarlierVersionOpens opens a register of each form there has been, with data in
// it, and finds everything.
func TestEveryEarlierVersionOpens(t *testing.T) {
	for version := range int64(schemaVersion) {
		kinds(t, func(t *testing.T, name string, make func(*testing.T, int64)) {
			make(t, version+1)
			s := openNamed(t, name, Options{})
			records, err := s.Load(background, old.Key)
			require.NoError(t, err)
			assert.Equal(t, old.Add, records)
			assert.Equal(t, "row", rowsOf(t, s, register.RowFilter{Place: "Cold Store", Class: "c"}))
			served, err := s.Served(background, "door", "")
			require.NoError(t, err)
			assert.Len(t, served, 1)
			keys, err := s.ReservedFor(background, "J2")
			require.NoError(t, err)
			assert.Equal(t, []register.Key{old.Key}, keys)
			commit(t, s, change(head(&old), 1))
			_, err = s.Checkpoint(background, makeCheckpoint)
			require.NoError(t, err)
			coversAll(t, s)
		})
	}
}

func TestOlderVersionIsNotChangedReadOnly(t *testing.T) {
	kinds(t, func(t *testing.T, name string, make func(*testing.T, int64)) {
		make(t, 1)
		err := opens(name, Options{ReadOnly: true})
		assert.ErrorIs(t, err, register.ErrReadOnly)
		assert.ErrorContains(t, err, "open it once for writing")
	})
}

func TestNewerVersionIsRefused(t *testing.T) {
	kinds(t, func(t *testing.T, name string, make func(*testing.T, int64)) {
		s := openNamed(t, name, Options{Create: true})
		raw(t, s, fmt.Sprintf(`INSERT INTO schema_version (version_id, is_applied) VALUES (%d, true)`, schemaVersion+1))
		for _, o := range []Options{{}, {Create: true}, {ReadOnly: true}} {
			err := opens(name, o)
			assert.ErrorIs(t, err, register.ErrNewer)
			assert.ErrorContains(t, err, s.Name())
		}
	})
}

func TestMissingRegisterIsNamed(t *testing.T) {
	kinds(t, func(t *testing.T, name string, _ func(*testing.T, int64)) {
		for _, o := range []Options{{}, {ReadOnly: true}, {ReadOnly: true, Create: true}} {
			err := opens(name, o)
			assert.ErrorIs(t, err, register.ErrMissing)
			base, _, _ := strings.Cut(filepath.Base(name), "?")
			assert.ErrorContains(t, err, base)
		}
	})
}

// TestTwoMayMakeItAtOnce: the steps of the schema are taken once, whoever comes first.
func TestTwoMayMakeItAtOnce(t *testing.T) {
	kinds(t, func(t *testing.T, name string, make func(*testing.T, int64)) {
		var wg sync.WaitGroup
		for i := range 6 {
			wg.Go(func() {
				s := openNamed(t, name, Options{Create: true})
				assert.NoError(t, s.Commit(background, []register.Write{begin(fmt.Sprintf("%d\tm", i), 1)}))
			})
		}
		wg.Wait()
		totals, err := openNamed(t, name, Options{}).Totals(background)
		require.NoError(t, err)
		assert.Equal(t, register.Totals{Lines: 6, Events: 6}, totals)
	})
}

// TestVersionIsThatOfTheFolders holds the number in the code to the steps there are.
func TestVersionIsThatOfTheFolders(t *testing.T) {
	for _, folder := range []string{"migrations/sqlite", "migrations/postgres"} {
		steps, err := fs.Glob(migrations, folder+"/*.sql")
		require.NoError(t, err)
		require.Len(t, steps, schemaVersion)
		assert.Contains(t, steps[schemaVersion-1], fmt.Sprintf("%05d_", schemaVersion))
	}
}

// opens is how opening a register ends.
func opens(name string, o Options) error {
	s, err := Open(background, name, o)
	if err == nil {
		err = s.Close()
	}
	return err
}

func openNamed(t testing.TB, name string, o Options) register.Store {
	t.Helper()
	if isURL(name) {
		return openURL(t, name, o)
	}
	return openAt(t, name, o)
}
