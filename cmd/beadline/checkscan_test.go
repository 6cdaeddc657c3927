package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slowHands give one line at a time, and let time pass before each.
type slowHands struct {
	lines []string
	wait  func()
}

func (s *slowHands) Read(p []byte) (int, error) {
	if len(s.lines) == 0 {
		return 0, io.EOF
	}
	s.wait()
	n := copy(p, s.lines[0])
	s.lines = s.lines[1:]
	return n, nil
}

// A scanner that was started in the morning judges by the clock of each scan: the same
// tin, thawed at 08:00 and good for 2 h, at 09:00 and at 11:00, and the day after.
func TestEachScanIsJudgedForItsOwnMoment(t *testing.T) {
	list := filepath.Join(t.TempDir(), "stock.csv")
	require.NoError(t, os.WriteFile(list, []byte("batch,class,dom,expiry,thawed\n"+
		"P-1,polysulfide-b-2-premixed,2027-03-04,,2027-03-05T08:00\n"+
		"S-1,polysulfide-b-2,,2027-03-05,\n"), 0o600))
	run := func(args ...string) (string, int) {
		now := time.Date(2027, 3, 5, 7, 0, 0, 0, time.UTC)
		hands := &slowHands{lines: []string{"P-1\n", "P-1\n", "S-1\n", "S-1\n"}}
		hands.wait = func() {
			now = map[int]time.Time{
				4: time.Date(2027, 3, 5, 9, 0, 0, 0, time.UTC), 3: time.Date(2027, 3, 5, 11, 0, 0, 0, time.UTC),
				2: time.Date(2027, 3, 5, 23, 59, 0, 0, time.UTC), 1: time.Date(2027, 3, 6, 0, 1, 0, 0, time.UTC),
			}[len(hands.lines)]
		}
		var out, errs bytes.Buffer
		a := &app{in: hands, out: &out, err: &errs, clock: func() time.Time { return now }}
		code := a.run(append([]string{"check", "-", "--stock", list, "--zone", "UTC"}, args...))
		return out.String() + errs.String(), code
	}
	said, code := run()
	lines := strings.Split(strings.TrimSpace(said), "\n")
	require.Len(t, lines, 4, said)
	assert.Equal(t, exitReject, code)
	assert.Regexp(t, "^USE .*P-1", lines[0])
	assert.Regexp(t, "^DO NOT USE .*P-1", lines[1])
	assert.Regexp(t, "^USE .*S-1", lines[2])
	assert.Regexp(t, "^DO NOT USE .*S-1", lines[3])

	said, code = run("--at", "2027-03-05T09:00") // a moment that is said stays
	assert.Zero(t, code, said)
	assert.NotContains(t, said, "DO NOT USE")
}

// A pot's label is scanned in the morning, and again after its 09:30: by itself and on a
// list that has its batch for months, at the clock of each scan.
func TestLabelOfAPotEndsWhileTheScannerLies(t *testing.T) {
	list := filepath.Join(t.TempDir(), "stock.csv")
	require.NoError(t, os.WriteFile(list, []byte("batch,class,dom,expiry\nS-2207,polysulfide-b-2,2027-03-01,2027-08-31\n"), 0o600))
	const gs1 = "]d2010952012345678810S-2207\x1d70032703050930\x1d21MIXED/2\n" // GTIN of the GS1 Digital Link examples
	for _, from := range [][]string{{"--class", "polysulfide-b-2"}, {"--stock", list}} {
		var now time.Time
		hands := &slowHands{lines: []string{gs1, gs1, "S-2207/MIXED\n", "]C0S-2207/MIXED\n"}}
		hands.wait = func() {
			now = map[int]time.Time{4: time.Date(2027, 3, 5, 9, 30, 0, 0, time.UTC)}[len(hands.lines)]
			if now.IsZero() {
				now = time.Date(2027, 3, 5, 9, 31, 0, 0, time.UTC)
			}
		}
		var out, errs bytes.Buffer
		a := &app{in: hands, out: &out, err: &errs, clock: func() time.Time { return now }}
		code := a.run(append([]string{"check", "-", "--zone", "UTC"}, from...))
		lines := strings.Split(strings.TrimSpace(out.String()), "\n")
		require.Len(t, lines, 4, out.String()+errs.String())
		assert.Equal(t, exitReject, code)
		assert.Regexp(t, "^USE .*usable until 5 Mar 2027 09:30", lines[0])
		assert.Regexp(t, "^DO NOT USE .*container 2, mixed from batch S-2207. Its use-by, 5 March 2027 09:30, is past", lines[1])
		assert.Regexp(t, "^HOLD .*Its code carries no hour: read the use-by on the label", lines[2])
		assert.Regexp(t, "^HOLD .*Its code carries no hour: read the use-by on the label", lines[3])
	}
}
