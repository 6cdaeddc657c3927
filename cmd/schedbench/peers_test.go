package main

import (
	"bytes"
	"encoding/csv"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A general-purpose solver, with a reader of its own for both formats, finds the answers
// that are worked by hand: other eyes on what the formats mean.
func TestMiniZincFindsWhatIsWorkedByHand(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	for _, program := range []string{"minizinc", "python3"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("no %s here: the peer is not asked", program)
		}
	}
	args := []string{filepath.Join("..", "..", "testdata", "peers", "schedbench_minizinc.py"), "--limit", "60"}
	for _, h := range hand {
		args = append(args, filepath.Join("testdata", "hand", h.file))
	}
	var errs bytes.Buffer
	cmd := exec.Command("python3", args...)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	require.NoError(t, err, errs.String())
	rows, err := csv.NewReader(bytes.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+len(hand))
	assert.Equal(t, columns, rows[0])
	for i, h := range hand {
		want := []string{h.file, "infeasible", "", ""}
		if h.makespan >= 0 {
			want = []string{h.file, "optimal", strconv.Itoa(h.makespan), strconv.Itoa(h.makespan)}
		}
		assert.Equal(t, want, rows[1+i][:4])
	}
}
