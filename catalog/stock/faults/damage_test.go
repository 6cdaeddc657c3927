package faults

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// answers are all that can be read of a register.
type answers struct {
	Lines       lines
	Loaded      lines
	Found       map[string]register.Record
	Heads       []register.Head
	Rows        string
	Served      map[string][]register.Served
	Reserved    map[string][]register.Key
	Places      []string
	Joints      []string
	Checkpoints []register.Checkpoint
	Covered     []register.Head
	Totals      register.Totals
}

// ask reads all that can be read, for the ids, joints and jobs of a register as it was.
func ask(ctx context.Context, s register.Store, was *answers) (a *answers, err error) {
	a = &answers{Lines: lines{}, Loaded: lines{}, Found: map[string]register.Record{}, Served: map[string][]register.Served{}, Reserved: map[string][]register.Key{}}
	var rows strings.Builder
	problems := []error{
		s.EachLine(ctx, func(h register.Head, records []register.Record) error {
			a.Lines[h.Key] = slices.Clone(records)
			return nil
		}),
		s.Lines(ctx, "", func(h register.Head) bool { a.Heads = append(a.Heads, h); return true }),
		s.Rows(ctx, register.RowFilter{Gone: true}, func(b []byte) error { rows.Write(b); return nil }),
		s.Rows(ctx, register.RowFilter{Class: "polysulfide-b-2", Place: coldStore}, func(b []byte) error { rows.Write(b); return nil }),
	}
	a.Rows = rows.String()
	keep := func(err error) { problems = append(problems, err) }
	a.Places, err = s.Places(ctx)
	keep(err)
	a.Joints, err = s.Joints(ctx)
	keep(err)
	a.Totals, err = s.Totals(ctx)
	keep(err)
	a.Checkpoints, err = s.Checkpoints(ctx)
	keep(err)
	for _, c := range a.Checkpoints {
		keep(s.CheckpointHeads(ctx, c.N, func(h register.Head) error { a.Covered = append(a.Covered, h); return nil }))
	}
	if was == nil {
		was = a
	}
	for k, records := range was.Lines {
		a.Loaded[k], err = s.Load(ctx, k)
		keep(err)
		for _, e := range records {
			_, r, ok, err := s.Find(ctx, e.ID)
			keep(err)
			if ok {
				a.Found[e.ID] = r
			}
		}
	}
	for _, j := range was.Joints {
		a.Served[j], err = s.Served(ctx, j, "")
		keep(err)
	}
	for _, job := range []string{"NF12", "NF13"} {
		a.Served["job "+job], err = s.Served(ctx, "", job)
		keep(err)
		a.Reserved[job], err = s.ReservedFor(ctx, job)
		keep(err)
	}
	return a, errors.Join(problems...)
}

// victim makes a register with something in every table, as files: all of it in the one
// file, or with the last of it in the log.
func victim(t testing.TB, rng *rand.Rand, log bool) (files, *answers, register.Hash) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "register.db")
	r, err := open(path, "a", store.Options{Create: true})
	require.NoError(t, err)
	h := &hand{name: "a", rng: rng, keys: batches(4)}
	work(t, newLedger(), r, h, 25)
	for i, k := range h.keys {
		for _, a := range []act{
			{Kind: register.KindReceived, Amount: 20 * kit},
			{Kind: register.KindReserved, Amount: 2 * kit, Job: "NF13"},
		} {
			a.ID, a.Lines, a.Place, a.By = fmt.Sprint(a.Kind, i), []register.Key{k}, coldStore, "Tech 1"
			_, err := a.record(r)
			require.NoError(t, err)
		}
	}
	_, err = r.Checkpoint(background, "Stores office")
	require.NoError(t, err)
	if log {
		require.NoError(t, r.Store.Close())
		r, err = open(path, "a", store.Options{})
		require.NoError(t, err)
	}
	work(t, newLedger(), r, h, 10)
	c, err := r.Checkpoint(background, "Stores office")
	require.NoError(t, err)
	was, err := ask(background, r.Store, nil)
	require.NoError(t, err)
	f := readShared(t, path)
	require.NoError(t, r.Store.Close())
	if !log {
		f = readFiles(t, path)
		require.Nil(t, f.wal)
	}
	return f, was, c.Hash
}

// spoilers change some bytes of a file.
var spoilers = []struct {
	name  string
	spoil func(b []byte, rng *rand.Rand) []byte
}{
	{"a bit flipped", func(b []byte, rng *rand.Rand) []byte { b[rng.IntN(len(b))] ^= 1 << rng.IntN(8); return b }},
	{"a byte changed", func(b []byte, rng *rand.Rand) []byte { b[rng.IntN(len(b))] += byte(1 + rng.IntN(255)); return b }},
	{"a sector zeroed", func(b []byte, rng *rand.Rand) []byte {
		at := rng.IntN(len(b)) / 512 * 512
		clear(b[at:min(len(b), at+512)])
		return b
	}},
	{"a page taken for another", func(b []byte, rng *rand.Rand) []byte {
		pages := len(b) / 4096
		copy(b[4096*rng.IntN(pages):], slices.Clone(b[4096*rng.IntN(pages):][:4096]))
		return b
	}},
	{"cut short", func(b []byte, rng *rand.Rand) []byte { return b[:rng.IntN(len(b))] }},
}

// TestDamageIsNeverPassedOver changes a register's file, or its log, at random. Whoever
// opens and reads it gets what was there; or is told that it is damaged, at once or by
// Verify. The log is checked by SQLite frame by frame, and ends for it where a frame is
// wrong, as after a loss of power: then the last events are missing, which Verify sees by
// the hash of a checkpoint that was kept elsewhere.
func TestDamageIsNeverPassedOver(t *testing.T) {
	t.Parallel()
	rng := seeded(t)
	for _, c := range []struct {
		name     string
		log      bool // there is one
		spoilLog bool
	}{{"the file alone", false, false}, {"the file beside a log", true, false}, {"the log", true, true}} {
		chances := split(rng, 0)
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f, was, last := victim(t, chances, c.log)
			found := map[string]int{}
			dir := inMemory(t)
			for i := range runs(300, 45) {
				s := spoilers[i%len(spoilers)]
				g := files{db: f.db, wal: f.wal}
				if c.spoilLog {
					g.wal = s.spoil(slices.Clone(f.wal), chances)
				} else {
					g.db = s.spoil(slices.Clone(f.db), chances)
				}
				path := filepath.Join(dir, fmt.Sprintf("%d.db", i))
				g.write(t, path)
				by := finds(t, path, was, last, c.spoilLog)
				found[s.name+": "+by]++
				if strings.HasPrefix(by, "nobody") {
					t.Errorf("%s, at %s: found by %s", s.name, differing(f, g), by)
				}
				for _, suffix := range []string{"", "-wal", "-shm"} {
					_ = os.Remove(path + suffix)
				}
			}
			t.Logf("who found it:%s", counted(found))
		})
	}
}

// differing says where two registers differ.
func differing(f, g files) string {
	for _, x := range []struct {
		name string
		a, b []byte
	}{{"file", f.db, g.db}, {"log", f.wal, g.wal}} {
		for i := range x.a {
			if i >= len(x.b) || x.a[i] != x.b[i] {
				return fmt.Sprintf("byte %d of %d of the %s", i, len(x.a), x.name)
			}
		}
	}
	return "no byte"
}

// finds says who finds that a register is damaged.
func finds(t testing.TB, path string, was *answers, last register.Hash, log bool) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(background, 20*time.Second)
	defer cancel()
	// Nothing is begun over what is there.
	r, err := open(path, "a", store.Options{Create: true, Patience: 200 * time.Millisecond})
	if err != nil {
		return "opening it: " + kindOf(t, err, path)
	}
	defer r.Store.Close()
	now, err := ask(ctx, r.Store, was)
	if err != nil {
		return "reading it: " + kindOf(t, err, path)
	}
	f, err := r.Verify(ctx, register.Hash{})
	switch {
	case err != nil:
		return "verify, reading: " + kindOf(t, err, path)
	case !f.Whole():
		return "verify"
	case assert.ObjectsAreEqual(was, now):
		return "none: all that is read is as it was"
	}
	if log {
		now.Lines.beginningOf(t, was.Lines, newLedger())
		if f, err = r.Verify(ctx, last); err == nil && len(f.Gone) > 0 {
			return "verify, by the hash of the last checkpoint"
		}
	}
	return "nobody: " + assertDiff(was, now)
}

// kindOf holds an error to being one of those that a damaged file may get, on plain lines.
func kindOf(t testing.TB, err error, path string) string {
	t.Helper()
	text := strings.Split(err.Error(), "\n")[0]
	assert.Contains(t, text, path)
	for _, kind := range []error{register.ErrDamaged, register.ErrNewer} {
		if errors.Is(err, kind) {
			return kind.Error()
		}
	}
	if strings.Contains(text, "of another program") {
		return "of another program"
	}
	assert.Fail(t, "not said in plain words", "%v", err)
	return text
}

func assertDiff(was, now *answers) string {
	for _, d := range []struct {
		name string
		a, b any
	}{{"lines", was.Lines, now.Lines}, {"load", was.Loaded, now.Loaded}, {"find", was.Found, now.Found}, {"heads", was.Heads, now.Heads}, {"rows", was.Rows, now.Rows},
		{"served", was.Served, now.Served}, {"reserved", was.Reserved, now.Reserved}, {"places", was.Places, now.Places}, {"joints", was.Joints, now.Joints},
		{"checkpoints", was.Checkpoints, now.Checkpoints}, {"covered", was.Covered, now.Covered}, {"totals", was.Totals, now.Totals}} {
		if !assert.ObjectsAreEqual(d.a, d.b) {
			return d.name
		}
	}
	return "?"
}

func TestWhatIsNoRegisterIsSaid(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, b, 0o644))
		return path
	}
	foreign := filepath.Join(dir, "foreign.db")
	db, err := sql.Open("sqlite", foreign)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TABLE line (key TEXT)`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	folder := filepath.Join(dir, "folder.db")
	require.NoError(t, os.Mkdir(folder, 0o755))
	for path, says := range map[string]string{
		at("zeros.db", make([]byte, 8192)):                                                 "is damaged",
		at("text.db", []byte("batch,class\nS-2207,polysulfide-b-2\n")):                     "is damaged",
		at("magic.db", []byte("SQLite format 3\x00")):                                      "is damaged",
		at("magic-zeros.db", append([]byte("SQLite format 3\x00"), make([]byte, 8176)...)): "is damaged",
		at("one-byte.db", []byte{'S'}):                                                     "is damaged",
		at("empty.db", nil):                                                                "there is no register",
		filepath.Join(dir, "none.db"):                                                      "there is no register",
		filepath.Join(dir, "none", "none.db"):                                              "there is no register",
		foreign:                                                                            "another program",
		folder:                                                                             "is a folder",
	} {
		before, _ := os.ReadFile(path)
		_, err := open(path, "a", store.Options{})
		require.Error(t, err, path)
		assert.Empty(t, plain(err, path))
		assert.ErrorContains(t, err, says)
		if !strings.Contains(says, "no register") {
			_, err := open(path, "a", store.Options{Create: true})
			assert.ErrorContains(t, err, says, "nothing is begun over it")
			after, _ := os.ReadFile(path)
			assert.Equal(t, before, after, "%s is left alone", path)
		}
	}
}

// counted lists what was said, and how often.
func counted(said map[string]int) string {
	s := ""
	for text, n := range said {
		s += fmt.Sprintf("\n%4d x %s", n, text)
	}
	return s
}

// TestWhatWasChangedByHandIsFound: somebody with a tool of SQLite's changes one thing that
// answers are given from.
func TestWhatWasChangedByHandIsFound(t *testing.T) {
	t.Parallel()
	f, _, _ := victim(t, seeded(t), false)
	for _, change := range []string{
		`UPDATE event SET body = replace(body, 'Tech', 'tech') WHERE seq = 2`,
		`DELETE FROM event WHERE seq = 2`,
		`UPDATE line SET seq = seq - 1`,
		`UPDATE lot SET row = replace(row, '2027', '2028')`,
		`DELETE FROM lot WHERE line = (SELECT min(line) FROM lot)`,
		`UPDATE served SET joint = 'frame 13' WHERE joint = 'frame 12'`,
		`DELETE FROM served WHERE n = 0`,
		`INSERT INTO served SELECT 'X' || line, n, seq, joint, job, mix, at FROM served LIMIT 1`,
		`UPDATE reserved SET amount = amount - 1000`,
		`UPDATE reserved SET job = 'NF14'`,
		`UPDATE place SET name = 'Gold store' WHERE name = 'Cold store'`,
		`DELETE FROM checkpoint WHERE n = 1`,
		`UPDATE checkpoint SET by = 'Somebody' WHERE n = 2`,
		`DELETE FROM checkpoint_head WHERE line = (SELECT min(key) FROM line)`,
	} {
		path := filepath.Join(t.TempDir(), "register.db")
		f.write(t, path)
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		result, err := db.Exec(change)
		require.NoError(t, err, change)
		n, err := result.RowsAffected()
		require.NoError(t, err)
		require.Positive(t, n, change)
		require.NoError(t, db.Close())
		r, err := open(path, "a", store.Options{})
		require.NoError(t, err)
		found, err := r.Verify(background, register.Hash{})
		require.NoError(t, err)
		assert.False(t, found.Whole(), change)
		require.NoError(t, r.Store.Close())
	}
}
