//go:build unix

package faults

import (
	"database/sql"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

func init() {
	roles["visit"] = visit
	roles["lock"] = lock
}

// visit reads a register and tries to write to it, as a user who may not do all of it.
func visit(c role) error {
	if c.UID != 0 {
		if err := syscall.Setgid(c.UID); err != nil {
			return err
		}
		if err := syscall.Setuid(c.UID); err != nil {
			return err
		}
	}
	r, err := open(c.Path, c.Name, c.Options)
	if err != nil {
		say("open", err.Error())
		return nil
	}
	defer r.Store.Close()
	s, err := r.Load(background, batches(1)[0])
	if err != nil {
		say("read", err.Error())
		return nil
	}
	f, err := r.Verify(background, register.Hash{})
	if err != nil || !f.Whole() {
		return fmt.Errorf("verify: %w, %+v", err, f)
	}
	say("events", len(s.Events))
	if _, err = (&act{ID: c.Name, Kind: register.KindReceived, Lines: batches(1), Amount: kit, Place: coldStore, By: "Tech 1"}).record(r); err != nil {
		say("write", err.Error())
		return nil
	}
	say("written")
	return nil
}

// nobody is the user that root becomes to be bound by permissions; 0 for who is bound.
func nobody() int {
	if os.Geteuid() == 0 {
		return 65534
	}
	return 0
}

// shown makes a folder that others can reach, with a register of some events in it.
func shown(t testing.TB) (path string, events int) {
	t.Helper()
	dir, err := os.MkdirTemp("", "register")
	require.NoError(t, err)
	t.Cleanup(func() {
		_ = os.Chmod(dir, 0o755) // #nosec: it goes
		_ = os.RemoveAll(dir)
	})
	require.NoError(t, os.Chmod(dir, 0o755))
	path = filepath.Join(dir, "register.db")
	return path, filled(t, path)
}

// filled makes a register with some events, and gives how many the first batch has.
func filled(t testing.TB, path string) int {
	t.Helper()
	r, err := open(path, "a", store.Options{Create: true})
	require.NoError(t, err)
	work(t, newLedger(), r, &hand{name: "a", rng: rand.New(rand.NewPCG(1, 1)), keys: batches(3)}, 20)
	s, err := r.Load(background, batches(1)[0])
	require.NoError(t, err)
	require.NoError(t, r.Store.Close())
	return len(s.Events)
}

func TestWhoMayNotWriteReadsAll(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name     string
		file     fs.FileMode
		folder   fs.FileMode
		left     string // by somebody with more rights, who has it open or was killed: files beside it
		readOnly bool   // is asked for
		reads    bool
		says     string
	}{
		{name: "the file is read-only", file: 0o444, folder: 0o777, reads: true, says: "can be read only"},
		{name: "the folder is read-only", file: 0o666, folder: 0o555, reads: true, says: "can be read only"},
		{name: "both are", file: 0o444, folder: 0o555, reads: true, says: "can be read only"},
		{name: "both are and it is opened so", file: 0o444, folder: 0o555, readOnly: true, reads: true, says: "can be read only"},
		{name: "nothing is but it is opened so", file: 0o666, folder: 0o777, readOnly: true, reads: true, says: "can be read only"},
		{name: "both are and somebody writes", file: 0o444, folder: 0o555, left: "-wal -shm open", reads: true, says: "can be read only"},
		{name: "both are and a writer was killed", file: 0o444, folder: 0o555, left: "-wal -shm", reads: true, says: "can be read only"},
		{name: "both are and a log was left", file: 0o444, folder: 0o555, left: "-wal", says: "part of it is in register.db-wal"},
		{name: "it may not be read", file: 0, folder: 0o755, says: "cannot be opened here"},
		{name: "the folder may not be entered", file: 0o666, folder: 0, says: "permission denied"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path, events := shown(t)
			if c.left != "" {
				events += leave(t, path, c.left)
			}
			require.NoError(t, os.Chmod(path, c.file))
			require.NoError(t, os.Chmod(filepath.Dir(path), c.folder))
			v := start(t, role{Do: "visit", Path: path, Name: "v", UID: nobody(), Options: store.Options{ReadOnly: c.readOnly, Patience: time.Second}}, newLedger())
			require.Zero(t, v.end(), "%v %s", v.lines, v.stderr.String())
			holds(t, v, path, events, c.reads, c.says)
		})
	}
}

// leave leaves a log beside a register with one more event in it, as somebody does who
// has it open or was killed.
func leave(t testing.TB, path, what string) (more int) {
	t.Helper()
	r, err := open(path, "b", store.Options{})
	require.NoError(t, err)
	_, err = (&act{ID: "b", Kind: register.KindReceived, Lines: batches(1), Amount: kit, Place: coldStore, By: "Tech 1"}).record(r)
	require.NoError(t, err)
	if strings.Contains(what, "open") {
		t.Cleanup(func() { require.NoError(t, r.Store.Close()) })
		return 1
	}
	f := readShared(t, path)
	require.NoError(t, r.Store.Close())
	f.write(t, path)
	if strings.Contains(what, "-shm") {
		require.NoError(t, os.WriteFile(path+"-shm", f.shm, 0o644))
	}
	return 1
}

// holds checks what a visitor said: how many events it read, or why it could not; and why
// it could not write.
func holds(t testing.TB, v *child, path string, events int, reads bool, says string) {
	t.Helper()
	if reads {
		require.Equal(t, fmt.Sprint("events ", events), v.lines[0])
		v.lines = v.lines[1:]
	}
	require.Len(t, v.lines, 1)
	assert.Contains(t, v.lines[0], says)
	assert.Contains(t, v.lines[0], path)
	assert.Equal(t, !reads, strings.HasPrefix(v.lines[0], "open "), v.lines[0])
}

// TestReadOnlyDiskIsRead: the disk itself is read-only, which binds root too.
func TestReadOnlyDiskIsRead(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	mountSmall(t, dir, 4<<20)
	path := filepath.Join(dir, "register.db")
	events := filled(t, path)
	mountReadOnly(t, dir)
	v := start(t, role{Do: "visit", Path: path, Name: "v"}, newLedger())
	require.Zero(t, v.end(), "%v %s", v.lines, v.stderr.String())
	holds(t, v, path, events, true, "can be read only")
	_, err := open(filepath.Join(dir, "new.db"), "v", store.Options{Create: true})
	require.Error(t, err)
	assert.Empty(t, plain(err, "new.db"))
}

// lock holds a register with a lock of SQLite's for a while, as another program may.
func lock(c role) error {
	db, err := sql.Open("sqlite", "file:"+c.Path)
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, s := range strings.Split(c.How, ";") {
		if _, err := db.Exec(s); err != nil {
			return err
		}
	}
	say("locked")
	time.Sleep(c.For)
	say("leaving")
	return nil
}

// locks are ways to hold a register.
var locks = []struct {
	name, how string
	readers   bool // they may pass
}{
	{"a writer in the midst of it", "BEGIN IMMEDIATE", true},
	{"an exclusive transaction", "BEGIN EXCLUSIVE", true},
	{"exclusive locking", "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; UPDATE place SET name = name; COMMIT", false},
}

func TestLockIsWaitedForAndSaid(t *testing.T) {
	t.Parallel()
	for _, c := range locks {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "register.db")
			filled(t, path)
			holder := start(t, role{Do: "lock", Path: path, How: c.how, For: 20 * time.Second}, newLedger())
			holder.said("locked")
			const patience = 300 * time.Millisecond
			took, err := visitFor(path, patience, c.readers, t)
			require.Error(t, err)
			assert.Empty(t, plain(err, path))
			assert.Contains(t, err.Error(), "another program holds it, and has for 300ms")
			assert.GreaterOrEqual(t, took, patience)
			assert.Less(t, took, patience+2*time.Second, "(the machine may be busy)")
			require.NoError(t, holder.Process.Kill())
			holder.end()

			short := start(t, role{Do: "lock", Path: path, How: c.how, For: 300 * time.Millisecond}, newLedger())
			short.said("locked")
			took, err = visitFor(path, 20*time.Second, c.readers, t)
			require.NoError(t, err)
			assert.Less(t, took, 10*time.Second)
			assert.Zero(t, short.end(), short.stderr.String())
		})
	}
}

// visitFor opens a register that is locked, reads it where readers may pass, and writes
// to it; it says how long what was kept off took.
func visitFor(path string, patience time.Duration, readers bool, t testing.TB) (took time.Duration, err error) {
	t.Helper()
	at := time.Now()
	r, err := open(path, "b", store.Options{Patience: patience})
	if err != nil {
		require.False(t, readers, "%v", err)
		return time.Since(at), err
	}
	defer r.Store.Close()
	if readers {
		whole(t, r)
		at = time.Now()
	}
	_, err = (&act{ID: fmt.Sprint(patience), Kind: register.KindReceived, Lines: batches(1), Amount: kit, Place: coldStore, By: "Tech 1"}).record(r)
	return time.Since(at), err
}
