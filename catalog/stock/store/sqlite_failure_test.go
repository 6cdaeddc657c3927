package store

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// filled is a register with n lines in it, closed.
func filled(t *testing.T, n int) (path string) {
	path = filepath.Join(t.TempDir(), "register.db")
	s, err := OpenSQLite(background, path, Options{Create: true})
	require.NoError(t, err)
	for i := range n {
		w := begin(fmt.Sprintf("%04d\tm", i), 3)
		w.Lots = []register.Lot{{Place: "p", Class: "c", Stocked: true, Row: strings.Repeat("x", 200) + "\n"}}
		commit(t, s, w)
	}
	require.NoError(t, s.Close())
	assert.NoFileExists(t, path+"-wal", "all of it is in the file")
	return path
}

// readAll opens a register and reads everything in it.
func readAll(path string) error {
	s, err := OpenSQLite(background, path, Options{Patience: time.Second})
	if err != nil {
		return err
	}
	defer s.Close()
	var h register.Hash
	err = s.EachLine(background, func(_ register.Head, records []register.Record) error {
		for _, r := range records {
			h = h.Next(r.Body)
		}
		return nil
	})
	if err == nil {
		err = s.Rows(background, register.RowFilter{Gone: true}, func([]byte) error { return nil })
	}
	return err
}

func TestDamagedFileIsNamed(t *testing.T) {
	path := filled(t, 100)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	bad := filepath.Join(t.TempDir(), "bad.db")
	spoilt := func(at int, with byte) []byte {
		b := append([]byte{}, whole...)
		for i := at; i < at+4096; i++ {
			b[i] = with
		}
		return b
	}
	cases := map[string][]byte{
		"a list":         []byte("batch,class,expiry\n1,2,3\n"),
		"a few bytes":    []byte("SQL"),
		"header only":    whole[:100],
		"cut in a page":  whole[:len(whole)/2+77],
		"cut at a page":  whole[:len(whole)/2/4096*4096],
		"one page short": whole[:len(whole)-4096],
	}
	for page := 1; page < len(whole)/4096-1; page += 3 {
		cases[fmt.Sprintf("page %d overwritten", page)] = spoilt(page*4096, 0xa5)
	}
	found := 0
	for name, content := range cases {
		require.NoError(t, os.WriteFile(bad, content, 0o600))
		err := readAll(bad)
		if strings.HasPrefix(name, "page") && err == nil {
			continue // a page of an index that nothing here reads by
		}
		found++
		assert.ErrorIs(t, err, register.ErrDamaged, name)
		assert.ErrorContains(t, err, bad, name)
		assert.NotContains(t, err.Error(), "\n", name)
		after, rerr := os.ReadFile(bad)
		require.NoError(t, rerr)
		assert.Equal(t, content, after, "%s: left as it was", name)
	}
	assert.Greater(t, found, len(cases)/2)
}

func TestFileOfAnotherProgramIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "other.db")
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TABLE line (a); INSERT INTO line VALUES (1)`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.ErrorContains(t, opens(path, Options{Create: true}), "of another program")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.ErrorContains(t, opens(filepath.Dir(path), Options{Create: true}), "a register is a file")
	assert.ErrorContains(t, opens(filepath.Join(path+".d", "r.db"), Options{Create: true}), "there is no folder")
}

func TestEmptyFileBecomesARegisterOnlyIfAsked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.db")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	assert.ErrorIs(t, opens(path, Options{}), register.ErrMissing)
	require.NoError(t, opens(path, Options{Create: true}))
	require.NoError(t, opens(path, Options{}))
}

// TestReadersDoNotWaitAndWritersSaySo: another program holds the file to write.
func TestReadersDoNotWaitAndWritersSaySo(t *testing.T) {
	path := filled(t, 2)
	p := start(t, "hold", path)
	p.hear(t, "holding")
	s := openAt(t, path, Options{Patience: 300 * time.Millisecond})
	begun := time.Now()
	assert.Equal(t, 3, headOf(t, s, "0001\tm").Seq)
	assert.Less(t, time.Since(begun), 200*time.Millisecond)
	w := begin("new\tm", 1)
	err := s.Commit(background, []register.Write{w})
	assert.ErrorContains(t, err, path+": another program holds it")
	p.say(t, "enough")
	require.NoError(t, p.cmd.Wait())
	commit(t, s, w)
}

func TestFileHeldForItselfByAnotherProgram(t *testing.T) {
	path := filled(t, 2)
	db, err := sql.Open("sqlite", path+"?_pragma=locking_mode(EXCLUSIVE)")
	require.NoError(t, err)
	_, err = db.Exec(`UPDATE place SET name = name`)
	require.NoError(t, err)
	err = opens(path, Options{Patience: 100 * time.Millisecond})
	assert.ErrorContains(t, err, path+": another program holds it")
	require.NoError(t, db.Close())
	assert.NoError(t, readAll(path))
}

func TestFullDiskLeavesNothingHalfWritten(t *testing.T) {
	path := filled(t, 5)
	s := openAt(t, path, Options{})
	commit(t, s, begin("room\tm", 1))
	w := s.(*sqliteStore).writer
	var pages int
	require.NoError(t, w.conn.QueryRowContext(background, `PRAGMA page_count`).Scan(&pages))
	_, err := w.conn.ExecContext(background, fmt.Sprintf(`PRAGMA max_page_count = %d`, pages+2))
	require.NoError(t, err)
	before, err := s.Totals(background)
	require.NoError(t, err)
	big := begin("big\tm", 200)
	err = s.Commit(background, []register.Write{begin("aaa\tm", 1), big})
	assert.ErrorContains(t, err, path+": the disk is full; nothing was recorded")
	after, err := s.Totals(background)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	_, err = w.conn.ExecContext(background, `PRAGMA max_page_count = 1000000`)
	require.NoError(t, err)
	commit(t, s, big)
	assert.Equal(t, head(&big), headOf(t, s, big.Key))
}

// TestKilledWriterLosesNothing: what a process was told is durable is there when it has
// been killed, and the others go on.
func TestKilledWriterLosesNothing(t *testing.T) {
	path := filled(t, 0)
	for i := range 3 {
		p := start(t, "endless", path, fmt.Sprintf("P%d", i))
		said := map[register.Key]int{}
		for range 40 {
			require.True(t, p.out.Scan())
			var seq int
			key, number, _ := strings.Cut(p.out.Text(), " ")
			_, err := fmt.Sscan(number, &seq)
			require.NoError(t, err)
			said[register.Key(key+"\tmaker")] = seq
		}
		require.NoError(t, p.cmd.Process.Kill())
		_ = p.cmd.Wait()
		s := openAt(t, path, Options{})
		for key, seq := range said {
			records, err := s.Load(background, key)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, len(records), seq)
			chained(t, records)
		}
		commit(t, s, begin(fmt.Sprintf("after %d\tm", i), 1))
	}
}

func TestManyProcessesMakeAndWriteAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "register.db")
	var all []*process
	for i := range 5 {
		all = append(all, start(t, "write", path, fmt.Sprintf("P%d", i), "30"))
	}
	for _, p := range all {
		p.hear(t, "ready")
		p.say(t, "go")
	}
	for _, p := range all {
		p.hear(t, "done")
		p.say(t, "end")
		require.NoError(t, p.cmd.Wait())
	}
	s := openAt(t, path, Options{})
	totals, err := s.Totals(background)
	require.NoError(t, err)
	assert.Equal(t, register.Totals{Lines: 50, Events: 150}, totals)
}
