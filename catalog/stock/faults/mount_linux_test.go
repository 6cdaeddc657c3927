package faults

import (
	"fmt"
	"os"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// mountSmall puts a disk in memory of so many bytes at a folder, until the end of the
// test; where that is not allowed the test is skipped.
func mountSmall(t testing.TB, dir string, bytes int) {
	t.Helper()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%d,mode=0777", bytes)); err != nil {
		t.Skipf("skipped, a small disk: %v mounts none here (%v)", os.Getuid(), err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) })
}

// mountReadOnly makes what is mounted at a folder read-only, as a system does with a disk
// that failed.
func mountReadOnly(t testing.TB, dir string) {
	t.Helper()
	require.NoError(t, syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
}
