package faults

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// cut is a register as it may be when the power comes back.
type cut struct {
	path string
	how  string
}

// files are the parts of a register on disk; what is not there is nil.
type files struct{ db, wal, shm, journal []byte }

func readFiles(t testing.TB, path string) (f files) {
	t.Helper()
	for suffix, to := range map[string]*[]byte{"": &f.db, "-wal": &f.wal, "-shm": &f.shm, "-journal": &f.journal} {
		b, err := os.ReadFile(path + suffix)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			require.NoError(t, err)
		}
		*to = b
	}
	return f
}

// readShared is readFiles for a register that this process has open: another process reads
// them, as one that closes a file loses its locks on it.
func readShared(t testing.TB, path string) files {
	t.Helper()
	dir := inMemory(t)
	defer os.RemoveAll(dir)
	to := filepath.Join(dir, "copy.db")
	c := start(t, role{Do: "copy", Path: path, How: to}, newLedger())
	require.Zero(t, c.end(), "%v %s", c.lines, c.stderr.String())
	return readFiles(t, to)
}

// copyOf copies a register's files as they are.
func copyOf(c role) error {
	for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
		b, err := os.ReadFile(c.Path + suffix)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil {
			err = os.WriteFile(c.How+suffix, b, 0o644)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// write writes a register without the memory that its programs share: that does not
// outlive them.
func (f files) write(t testing.TB, path string) {
	t.Helper()
	for suffix, b := range map[string][]byte{"": f.db, "-wal": f.wal, "-journal": f.journal} {
		if b != nil {
			require.NoError(t, os.WriteFile(path+suffix, b, 0o644))
		}
	}
}

// flushed is where what may be lost of a log begins: SQLite flushes the log before it
// copies pages from there to the file, and says beforehand in the shared memory up to which
// frame (WalCkptInfo.nBackfillAttempted, sqlite.org/walformat.html section 2.1: at byte
// 128).
func (f files) flushed() int {
	if len(f.shm) < 136 || len(f.wal) < 32 {
		return 0
	}
	page := int(binary.BigEndian.Uint32(f.wal[8:]))
	return min(len(f.wal), 32+int(binary.NativeEndian.Uint32(f.shm[128:]))*(24+page))
}

// cutPower makes copies of a register that nobody has in use, as they would be had the
// power gone: from some byte on, past what is certain to have been flushed, the log ends,
// or holds what it held before, or a sector of it is lost.
func cutPower(t testing.TB, f files, rng *rand.Rand) (cuts []cut) {
	if f.db == nil || len(f.wal) < 32 {
		return nil
	}
	from := f.flushed()
	at := from + rng.IntN(len(f.wal)-from+1)
	wal := append([]byte(nil), f.wal...)
	how := "the log is cut"
	switch rng.IntN(3) {
	case 0:
		wal = wal[:at]
	case 1:
		how = "the log ends in rubbish"
		for i := at; i < len(wal); i++ {
			wal[i] = byte(rng.Uint32())
		}
	case 2:
		how = "a sector of the log is lost"
		clear(wal[at:min(len(wal), at+512)])
	}
	c := cut{filepath.Join(inMemory(t), "copy.db"), how}
	files{db: f.db, wal: wal, journal: f.journal}.write(t, c.path)
	return []cut{c}
}

// check opens the copy: it is whole, and each batch is as it was at some moment. Beyond
// that there may be one act that nobody acknowledged: it had been written to the log, and
// the programs that went on had not been told.
func (c cut) check(t testing.TB, all lines, l *ledger) {
	t.Helper()
	defer os.RemoveAll(filepath.Dir(c.path))
	r, err := open(c.path, "desk", store.Options{Create: true})
	require.NoError(t, err, c.how)
	defer r.Store.Close()
	whole(t, r)
	have, err := read(r)
	require.NoError(t, err, c.how)
	have.beginningOf(t, all, l)
	done, err := (&act{ID: "after", Kind: register.KindReceived, Lines: batches(1), Amount: kit, Place: coldStore, By: "Tech 1"}).record(r)
	require.NoError(t, err, c.how)
	require.Zero(t, done.Known)
}

// beginningOf holds each line to being the beginning of what it is in full, but for one
// act at the ends that got no answer.
func (some lines) beginningOf(t testing.TB, all lines, l *ledger) {
	t.Helper()
	beyond := map[string]bool{}
	for k, records := range some {
		same := 0
		for same < min(len(records), len(all[k])) && assert.ObjectsAreEqual(records[same], all[k][same]) {
			same++
		}
		for _, e := range records[same:] {
			a := l.actOf(e.ID)
			require.NotNil(t, a, "%s: event %d (%s) is not in the register", k, e.Seq, e.ID)
			beyond[a.ID] = true
		}
	}
	require.LessOrEqual(t, len(beyond), 1)
}

// actOf is the act without an answer that an event is of; nil if there is none.
func (l *ledger) actOf(id string) *act {
	return l.open[strings.TrimSuffix(id, filepath.Ext(id))]
}

// TestAcknowledgedOutlivesLossOfPower plays the calls of a writer back on a disk that
// keeps only what it was told to: at each acknowledgement with nothing more than that, and
// at random moments with some of the rest, sector by sector and in no order.
func TestAcknowledgedOutlivesLossOfPower(t *testing.T) {
	t.Parallel()
	rng := seeded(t)
	path := filepath.Join(t.TempDir(), "register.db")
	calls := traced(t, role{Do: "write", Path: path, Name: "a", Seed: rng.Uint64(), Batches: 3, Acts: runs(160, 30), Options: store.Options{Create: true}})
	d, l := disk{}, newLedger()
	p := float64(runs(150, 30)) / float64(len(calls))
	acks, cuts, torn := 0, 0, 0
	for _, c := range calls {
		if c.what != "said" {
			d.do(c)
			if rng.Float64() < p {
				cuts++
				torn += min(1, d.pending())
				d.cut(t, l, rng, c)
			}
			continue
		}
		word, rest, _ := strings.Cut(strings.TrimSpace(string(c.data)), " ")
		switch word {
		case "try":
			a := &act{}
			require.NoError(t, json.Unmarshal([]byte(rest), a))
			l.try(a)
		case "ack", "no":
			l.hear(word, strings.Fields(rest))
			acks++
			d.cut(t, l, nil, c)
		}
	}
	require.NotEmpty(t, l.acked)
	t.Logf("%d calls; power lost at each of %d acknowledgements and at %d random moments, %d of them with writes not flushed; %s", len(calls), acks, cuts, torn, l)
}

// cut opens what may be left on the disk: it is whole, and all that was acknowledged is
// there.
func (d disk) cut(t testing.TB, l *ledger, rng *rand.Rand, after call) {
	t.Helper()
	dir, err := os.MkdirTemp(inMemory(t), "cut")
	require.NoError(t, err)
	defer os.RemoveAll(dir)
	d.lose(t, dir, rng)
	r, err := open(filepath.Join(dir, "register.db"), "desk", store.Options{Create: true})
	require.NoError(t, err, "after %s", after)
	l.check(t, r)
	require.NoError(t, r.Store.Close())
}
