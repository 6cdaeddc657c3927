package pgtest

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// orphanVar makes a test process start a server, say so, and wait to be killed.
const orphanVar = "BEADLINE_TEST_PG_ORPHAN"

func TestServerEndsWithItsTestProcess(t *testing.T) {
	if os.Getenv(orphanVar) != "" {
		s := Start(t)
		fmt.Println("started", s.proc.cmd.Process.Pid, s.h.root)
		time.Sleep(patience)
		return
	}
	place := need(t).root
	cmd := exec.Command(os.Args[0], "-test.run", "^TestServerEndsWithItsTestProcess$")
	cmd.Env = append(os.Environ(), orphanVar+"=1")
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	var pid int
	var root string
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	_, err = fmt.Sscanf(line, "started %d %s", &pid, &root)
	require.NoError(t, err, line)
	require.False(t, gone(pid))
	family, err := children(pid)
	require.NoError(t, err)
	require.NotEmpty(t, family)

	require.NoError(t, cmd.Process.Kill())
	assert.Error(t, cmd.Wait())
	for _, pid := range append(family, pid) {
		require.Eventually(t, func() bool { return gone(pid) }, patience, time.Millisecond, "process %d", pid)
	}
	assert.DirExists(t, root)
	sweep(os.TempDir())
	assert.NoDirExists(t, root, "the next one sweeps it away")
	assert.DirExists(t, place, "and leaves those alone that are in use")
}

func TestKillLeavesNoProcess(t *testing.T) {
	s := Start(t)
	require.NoError(t, connect(t, s.URL("postgres")).Ping())
	rows, err := s.Query("postgres", "SELECT pid FROM pg_stat_activity")
	require.NoError(t, err)
	require.Greater(t, len(rows), 4)
	parent := s.proc.cmd.Process.Pid
	family, err := children(parent)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(family), len(rows)-1) // the asker has left since
	require.NoError(t, s.Kill())
	for _, row := range rows {
		pid, err := strconv.Atoi(row[0])
		require.NoError(t, err)
		assert.True(t, gone(pid), pid)
	}
	for _, pid := range append(family, parent) {
		assert.True(t, gone(pid), pid)
	}
}
