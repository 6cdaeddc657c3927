package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// python is a Python 3 that has the modules, or skips the test.
func python(t *testing.T, modules string) string {
	t.Helper()
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import "+modules).Run() == nil {
			return name
		}
	}
	t.Skip("no python3 with " + modules + " here: the peers are not asked")
	return ""
}

// pandas and SQLite flag the same rows of a list in the same order: other hands on
// the months, the verdicts and the sorting.
func TestFlaggedRowsAreThoseOfPandasAndSQLite(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	for _, peer := range []struct{ script, modules string }{{"flag_sqlite.py", "sqlite3"}, {"flag_pandas.py", "pandas"}} {
		t.Run(peer.script, func(t *testing.T) {
			t.Setenv("BEADLINE_STOCK", "")
			py := python(t, peer.modules)
			for _, k := range []kind{likely, allApart} {
				name := stockFile(t, 20_000, k)
				f, lines := flaggedLines(t, name)
				out := filepath.Join(t.TempDir(), "flagged.csv")
				said, err := exec.Command(py, filepath.Join("..", "..", "testdata", "peers", peer.script), name, "2027-03-29", out, "0").CombinedOutput()
				require.NoError(t, err, "%s", said)
				c := f.Counts
				assert.Equal(t, fmt.Sprintf("rows %d reject %d hold %d unreadable %d use %d expiring %d\n", c.Rows, c.Reject, c.Hold, c.Unreadable, c.Use, c.Expiring), string(said))
				for n, what := range map[string]int{"set aside": c.Reject, "on hold": c.Hold, "not readable": c.Unreadable, "ending soon": c.Expiring} {
					assert.Positive(t, what, "no row is %s: the list says nothing", n)
				}
				assert.Equal(t, peerLines(t, out), lines)
			}
		})
	}
}

// flaggedLines are the lines of the flagged rows, by section, in their order.
func flaggedLines(t *testing.T, name string) (*desk.Flags, [4][]int) {
	t.Helper()
	l, err := desk.OpenList(nil, name, stock.Auto)
	require.NoError(t, err)
	t.Cleanup(l.Close)
	j := desk.NewJudge(catalog.Builtin(), millionToday)
	f, err := j.Flag(l, desk.FlagQuestion{Until: millionToday.Add(30)})
	require.NoError(t, err)
	var lines [4][]int
	for _, s := range desk.Sections() {
		require.NoError(t, f.Each(f.Groups[0], s, func(r *desk.Flagged) error {
			lines[s] = append(lines[s], r.Line)
			return nil
		}))
	}
	return f, lines
}

// peerLines are the same of what a peer wrote.
func peerLines(t *testing.T, name string) (lines [4][]int) {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	require.NoError(t, err)
	section, line := slices.Index(rows[0], "section"), slices.Index(rows[0], "line")
	for _, r := range rows[1:] {
		s, err := strconv.Atoi(r[section])
		require.NoError(t, err)
		n, err := strconv.Atoi(r[line])
		require.NoError(t, err)
		lines[s] = append(lines[s], n)
	}
	return lines
}

// An interrupted run leaves no copy of standard input behind.
func TestAnInterruptLeavesNoFileBehind(t *testing.T) {
	dir := t.TempDir()
	exe, err := os.Executable()
	require.NoError(t, err)
	r, w, err := os.Pipe()
	require.NoError(t, err)
	cmd := exec.Command(exe, "-test.run=TestFlagStandardInputForInterrupt")
	cmd.Env = append(os.Environ(), "TMPDIR="+dir, "BEADLINE_INTERRUPTED=1")
	cmd.Stdin = r
	require.NoError(t, cmd.Start())
	require.NoError(t, r.Close())
	// A pipe holds 64 kB: once more than twice that is taken, the copying has begun.
	row := []byte("S-1,polysulfide-b-2," + label.DayOf(millionToday).Canonical() + "\n")
	_, err = w.Write(append([]byte("batch,class,expiry\n"), bytes.Repeat(row, 20_000)...))
	require.NoError(t, err)
	require.NoError(t, cmd.Process.Signal(os.Interrupt))
	assert.Error(t, cmd.Wait(), "it was waiting for more")
	require.NoError(t, w.Close())
	left, err := filepath.Glob(filepath.Join(dir, "beadline-*"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

// TestFlagStandardInputForInterrupt is the other half of the test above, in a process
// of its own.
func TestFlagStandardInputForInterrupt(t *testing.T) {
	if os.Getenv("BEADLINE_INTERRUPTED") == "" {
		t.Skip("part of another test")
	}
	a := &app{in: os.Stdin, out: os.Stdout, err: os.Stderr, clock: time.Now}
	os.Exit(a.run([]string{"flag", "-", "--at", "2027-03-29"}))
}
