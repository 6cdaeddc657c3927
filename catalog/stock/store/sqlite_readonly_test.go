//go:build unix

package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

func init() { tasks["look"] = lookTask }

// lookTask reads a register and tries to write to it, as somebody who may not.
func lookTask(args []string) error {
	for _, o := range []Options{{}, {ReadOnly: true}} {
		s, err := OpenSQLite(background, args[0], o)
		if err != nil {
			return err
		}
		defer s.Close()
		records, err := s.Load(background, "0001\tm")
		if err != nil {
			return err
		}
		if len(records) != 3 {
			return fmt.Errorf("%d events", len(records))
		}
		err = s.Commit(background, []register.Write{begin("new\tm", 1)})
		if !errors.Is(err, register.ErrReadOnly) || !strings.HasPrefix(err.Error(), args[0]+": ") {
			return fmt.Errorf("written to: %v", err)
		}
	}
	fmt.Println("fine")
	return nil
}

// TestReadOnlyFileIsRead in a folder that may and one that may not be written to. Root may
// always: so another process looks, as nobody.
func TestReadOnlyFileIsRead(t *testing.T) {
	for _, c := range []struct {
		name         string
		folder, file os.FileMode
		open         bool // somebody who may write has it open
	}{
		{"folder writable", 0o777, 0o444, false},
		{"neither writable", 0o555, 0o444, false},
		{"others may write", 0o755, 0o644, false},
		{"others have it open", 0o755, 0o644, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder, err := os.MkdirTemp("", "beadline-readonly")
			require.NoError(t, err)
			t.Cleanup(func() { _ = os.Chmod(folder, 0o700); _ = os.RemoveAll(folder) })
			path := filepath.Join(folder, "register.db")
			whole, err := os.ReadFile(filled(t, 3))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, whole, 0o600))
			if c.open {
				s := openAt(t, path, Options{})
				commit(t, s, begin("more\tm", 1))
			}
			require.NoError(t, os.Chmod(path, c.file))
			if c.open {
				for _, beside := range []string{"-wal", "-shm"} {
					require.NoError(t, os.Chmod(path+beside, c.file))
				}
			}
			require.NoError(t, os.Chmod(folder, c.folder))
			nobody := asNobody(t)
			p := startAs(t, nobody, "look", path)
			p.hear(t, "fine")
			require.NoError(t, p.cmd.Wait())
		})
	}
}

// asNobody lets root's process run as somebody without rights.
func asNobody(t *testing.T) *syscall.SysProcAttr {
	if os.Getuid() != 0 {
		return nil
	}
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
}

// startAs copies the test binary to where everyone may run it.
func startAs(t *testing.T, attr *syscall.SysProcAttr, task string, args ...string) *process {
	exe, err := os.Executable()
	require.NoError(t, err)
	program, err := os.ReadFile(exe)
	require.NoError(t, err)
	folder, err := os.MkdirTemp("", "beadline-program")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(folder) })
	require.NoError(t, os.Chmod(folder, 0o755))
	copied := filepath.Join(folder, "look")
	require.NoError(t, os.WriteFile(copied, program, 0o755))
	return startProgram(t, copied, attr, task, args...)
}

func TestChangeUnderAFixedFileIsSeen(t *testing.T) {
	path := filled(t, 3)
	s := &sqliteStore{path: path, writing: make(chan struct{}, 1)}
	_, err := s.openFixed(background)
	require.NoError(t, err)
	defer s.Close()
	assert.Equal(t, 3, headOf(t, s, "0001\tm").Seq)
	other, err := OpenSQLite(background, path, Options{})
	require.NoError(t, err)
	commit(t, other, begin("more\tm", 1))
	require.NoError(t, other.Close())
	_, err = s.Load(background, "0001\tm")
	assert.ErrorContains(t, err, "somebody wrote to it while it was read")
}
