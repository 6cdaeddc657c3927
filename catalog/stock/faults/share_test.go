//go:build unix

package faults

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/store"
)

func init() { roles["probe"] = probe }

// probe says whether another process has SQLite's shared lock on a register: who has it
// open keeps it (sqlite.org/lockingv3.html; the bytes are those of the lock-byte page,
// sqlite.org/fileformat.html 1.4, the shared ones 510 from the third on).
func probe(c role) error {
	f, err := os.OpenFile(c.Path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	lock := syscall.Flock_t{Type: syscall.F_WRLCK, Start: 1<<30 + 2, Len: 510}
	if err := syscall.FcntlFlock(f.Fd(), syscall.F_GETLK, &lock); err != nil {
		return err
	}
	if lock.Type == syscall.F_UNLCK {
		return fmt.Errorf("nobody has a lock on it")
	}
	return nil
}

// TestOpenedTwiceKeepsItsLocks: a program has the register open twice, as one does that
// answers several people, and another program comes, writes, and goes. A process that
// closes a file loses all its locks on it: were that to happen here, the other would take
// itself for the last and take the log away, with what is written after.
func TestOpenedTwiceKeepsItsLocks(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "register.db")
	l := newLedger()
	first, err := open(path, "a", store.Options{Create: true})
	require.NoError(t, err)
	defer first.Store.Close()
	h := &hand{name: "a", rng: seeded(t), keys: batches(2)}
	for i := range 3 {
		work(t, l, first, h, 3)
		second, err := open(path, "b", store.Options{})
		require.NoError(t, err)
		l.check(t, second)
		if i > 0 {
			require.NoError(t, second.Store.Close())
		}
		c := start(t, role{Do: "probe", Path: path}, newLedger())
		require.Zero(t, c.end(), "%v %s", c.lines, c.stderr.String())
		c = start(t, role{Do: "write", Path: path, Name: "c" + string(rune('0'+i)), Batches: 2, Acts: 3}, l)
		require.Zero(t, c.end(), "%v %s", c.lines, c.stderr.String())
		l.check(t, first)
		work(t, l, first, h, 3)
		if i == 0 {
			require.NoError(t, second.Store.Close())
		}
		c = start(t, role{Do: "verify", Path: path, How: l.ids()}, newLedger())
		require.Zero(t, c.end(), "another program: %v %s", c.lines, c.stderr.String())
	}
}
