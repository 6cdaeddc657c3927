package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func handText(t testing.TB, file string) string {
	data, err := os.ReadFile(filepath.Join("testdata", "hand", file))
	require.NoError(t, err)
	return string(data)
}

func TestReadersReadWhatIsWritten(t *testing.T) {
	p, err := readInstance("crane", []byte(handText(t, "crane.sm")))
	require.NoError(t, err)
	assert.Equal(t, &instance{
		first:      1,
		activities: []activity{{0, []int{0, 0}}, {3, []int{2, 0}}, {2, []int{2, 0}}, {4, []int{1, 1}}, {2, []int{1, 1}}, {0, []int{0, 0}}},
		lags:       []lag{{0, 1, true, 0}, {0, 2, true, 0}, {0, 3, true, 0}, {1, 4, true, 0}, {2, 5, true, 0}, {3, 5, true, 0}, {4, 5, true, 0}},
		units:      []int{3, 1},
	}, p)
	p, err = readInstance("apart", []byte(handText(t, "apart.sch")))
	require.NoError(t, err)
	assert.Equal(t, &instance{
		activities: []activity{{0, []int{0}}, {3, []int{1}}, {3, []int{1}}, {0, []int{0}}},
		lags:       []lag{{0, 1, false, 0}, {0, 2, false, 0}, {1, 2, false, -2}, {1, 3, false, 3}, {2, 1, false, -2}, {2, 3, false, 3}},
		units:      []int{1},
	}, p)
}

func TestLineEndsAndBlanksSayNothing(t *testing.T) {
	for _, file := range []string{"crane.sm", "tight.sch"} {
		text := handText(t, file)
		want, err := readInstance(file, []byte(text))
		require.NoError(t, err)
		for name, other := range map[string]string{
			"CRLF":           strings.ReplaceAll(text, "\n", "\r\n"),
			"CR":             strings.ReplaceAll(text, "\n", "\r"),
			"no last end":    strings.TrimSuffix(text, "\n"),
			"end mark":       strings.ReplaceAll(text, "\n", "\r\n") + "\x1a",
			"byte order":     "\ufeff" + text,
			"blank lines":    "\n" + strings.ReplaceAll(text, "\n", "\n \n"),
			"spaces at ends": strings.ReplaceAll(text, "\n", "  \t\n"),
		} {
			got, err := readInstance(file, []byte(other))
			require.NoError(t, err, "%s, %s", file, name)
			assert.Equal(t, want, got, "%s, %s", file, name)
		}
	}
}

// bad are slips in a hand-made instance, each with the line it is answered by.
var bad = []struct{ name, file, old, new, want string }{
	{"number of the wrong job", "crane.sm", "   3        1          1          6", "   9        1          1          6", `x:20: the line begins with "9": the next activity is 3`},
	{"two modes", "crane.sm", "   3        1          1          6", "   3        2          1          6", `x:20: how many modes it has is 2: only 1 is read`},
	{"follower missing", "crane.sm", "   1        1          3          2   3   4", "   1        1          3          2   3", `x:18: job 1 is followed by 3: want as many numbers, and there are 2`},
	{"follower that is none", "crane.sm", "   2        1          1          5", "   2        1          1          7", `x:19: a job that follows is 7: want 1 to 6`},
	{"follower in words", "crane.sm", "   2        1          1          5", "   2        1          1          five", `x:19: a job that follows is "five": want a whole number`},
	{"job without a line", "crane.sm", "   5        1          1          6\n", "", `x:22: section PRECEDENCE RELATIONS ends here with 5 lines: want 6, below a line that names the columns`},
	{"job too many", "crane.sm", "   6        1          0\n", "   6        1          0\n   7        1          0\n", `x:24: section PRECEDENCE RELATIONS is to have 6 lines: nothing is to follow but a line of asterisks`},
	{"columns not named", "crane.sm", "jobnr.    #modes  #successors   successors\n", "", `x:22: section PRECEDENCE RELATIONS ends here with 5 lines: want 6, below a line that names the columns`},
	{"empty section", "crane.sm", "REQUESTS/DURATIONS:\n", "REQUESTS/DURATIONS:\n****\n****\n", `x:25: section REQUESTS/DURATIONS ends here with 0 lines: want 6, below a line that names the columns`},
	{"negative duration", "crane.sm", "  2      1     3 ", "  2      1    -3 ", `x:29: the duration is -3: want 0 to 1000000`},
	{"duration past all sense", "crane.sm", "  2      1     3 ", "  2      1    99999999999999999999 ", `x:29: the duration is 99999999999999999999: want 0 to 1000000`},
	{"part of a unit", "crane.sm", "  2      1     3        2 ", "  2      1     3      2.5 ", `x:29: the request of resource 1 is "2.5": want a whole number`},
	{"request missing", "crane.sm", "  2      1     3        2    0", "  2      1     3        2", `x:29: activity 2: 4 numbers, and want 5: number, mode, duration and a request of each of 2 resources`},
	{"second mode", "crane.sm", "  2      1     3 ", "  2      2     3 ", `x:29: the mode is 2: only 1 is read`},
	{"capacity missing", "crane.sm", "    3    1\n", "    3\n", `x:37: 1 capacities for 2 resources: want one of each`},
	{"capacity negative", "crane.sm", "    3    1\n", "    3    -1\n", `x:37: the capacity of resource 2 is -1: want 0 to 1000000`},
	{"no capacities", "crane.sm", "RESOURCEAVAILABILITIES:\n", "", `x:37: there is no section RESOURCEAVAILABILITIES:`},
	{"no requests", "crane.sm", "REQUESTS/DURATIONS:", "DURATIONS:", `x:38: there is no section REQUESTS/DURATIONS:`},
	{"jobs not counted", "crane.sm", "jobs (incl", "work (incl", `x:1: the head has no line that begins with "jobs": want one like jobs : 3`},
	{"jobs not said", "crane.sm", "supersource/sink ):  6", "supersource/sink ):", `x:5: no number behind a colon: want one like jobs : 3`},
	{"jobs in words", "crane.sm", "supersource/sink ):  6", "supersource/sink ):  six", `x:5: jobs is "six": want a whole number`},
	{"too many jobs", "crane.sm", "supersource/sink ):  6", "supersource/sink ):  10003", `x:5: jobs is 10003: want 3 to 10002`},
	{"too many resources", "crane.sm", ":  2   R", ":  101   R", `x:8: renewable is 101: want 0 to 100`},
	{"nonrenewable", "crane.sm", "nonrenewable              :  0", "nonrenewable              :  1", `x:9: nonrenewable is 1: only 0 is read`},
	{"two projects", "crane.sm", "projects                      :  1", "projects                      :  2", `x:4: projects is 2: only 1 is read`},
	{"a release date", "crane.sm", "    1      4      0 ", "    1      4      5 ", `x:14: the release date (rel.date) is 5: only 0 is read`},
	{"no project under its head", "crane.sm", "    1      4      0        0        0        0", "    1      4", `x:14: the release date (rel.date) is missing: it is the 3rd number of the line`},
	{"sink that works", "crane.sm", "  6      1     0 ", "  6      1     2 ", `x:38: activity 6, the last, is the sink: its duration is to be 0, not 2`},

	{"activities past all sense", "tight.sch", "3\t1\t0\t0\n", "3000000\t1\t0\t0\n", `x:1: how many activities there are is 3000000: want 1 to 10000`},
	{"resources past all sense", "tight.sch", "3\t1\t0\t0\n", "3\t1000\t0\t0\n", `x:1: how many resources there are is 1000: want 0 to 100`},
	{"nonrenewable in a .sch", "tight.sch", "3\t1\t0\t0\n", "3\t1\t2\t0\n", `x:1: how many nonrenewable resources there are is 2: only 0 is read`},
	{"doubly constrained", "tight.sch", "3\t1\t0\t0\n", "3\t1\t0\t1\n", `x:1: how many doubly constrained resources there are is 1: only 0 is read`},
	{"number of the wrong activity", "tight.sch", "\n3\t1\t1\t4", "\n5\t1\t1\t4", `x:5: the line begins with "5": the next activity is 3`},
	{"two modes in a .sch", "tight.sch", "\n3\t1\t1\t4", "\n3\t2\t1\t4", `x:5: how many modes it has is 2: only 1 is read`},
	{"lag missing", "tight.sch", "4\t[-5]\t[3]", "4\t[-5]", `x:4: activity 2 is followed by 2: want as many numbers and as many lags in brackets, like 4 [2], and there are 3 words`},
	{"lag without brackets", "tight.sch", "[-5]", "-5", `x:4: the lag to activity 1 is "-5": want it in brackets, like [2] or [-5]`},
	{"lag open", "tight.sch", "[-5]", "[-5", `x:4: the lag to activity 1 is "[-5": want it in brackets, like [2] or [-5]`},
	{"lag in words", "tight.sch", "[-5]", "[five]", `x:4: a lag is "five": want a whole number`},
	{"lag past all sense", "tight.sch", "[-5]", "[-5000000]", `x:4: a lag is -5000000: want -1000000 to 1000000`},
	{"follower past the last", "tight.sch", "\n3\t1\t1\t4", "\n3\t1\t1\t5", `x:5: an activity that follows is 5: want 0 to 4`},
	{"more that follow than can be", "tight.sch", "\n3\t1\t1\t4", "\n3\t1\t1000001\t4", `x:5: how many activities follow is 1000001: want 0 to 1000000`},
	{"ends in the lags", "tight.sch", handFrom("\n3\t1\t1\t4"), "\n", `x:4: the file ends here: the lags of activity 3 are missing`},
	{"ends in the requests", "tight.sch", handFrom("\n2\t1\t3\t1"), "\n", `x:8: the file ends here: the duration and requests of activity 2 are missing`},
	{"ends before the capacities", "tight.sch", "4\t1\t0\t0\n1\n", "4\t1\t0\t0\n", `x:11: the file ends here: the line of capacities is missing`},
	{"more than there is", "tight.sch", "4\t1\t0\t0\n1\n", "4\t1\t0\t0\n1\n1\n", `x:13: the instance ends above, with 5 activities: nothing is to follow`},
	{"sink of a .sch that works", "tight.sch", "4\t1\t0\t0\n1\n", "4\t1\t7\t0\n1\n", `x:12: activity 4, the last, is the sink: its duration is to be 0, not 7`},
	{"nothing", "tight.sch", handFrom(""), "", "x:1: no instance: a .sm file has a line PRECEDENCE RELATIONS:, and a .sch file begins with how many activities and resources there are, like 10 5 0 0"},
	{"prose", "tight.sch", handFrom(""), "\nTo whom it may concern\n", "x:2: no instance: a .sm file has a line PRECEDENCE RELATIONS:, and a .sch file begins with how many activities and resources there are, like 10 5 0 0"},
}

// handFrom stands for all of a text from the first place where these words are.
func handFrom(words string) string { return "…" + words }

func TestSlipsAreAnsweredByOneLine(t *testing.T) {
	for _, b := range bad {
		t.Run(b.name, func(t *testing.T) {
			text := handText(t, b.file)
			old := b.old
			if words, all := strings.CutPrefix(old, "…"); all {
				old = text[strings.Index(text, words):]
			}
			require.Contains(t, text, old)
			p, err := readInstance("x", []byte(strings.Replace(text, old, b.new, 1)))
			assert.Nil(t, p)
			assert.EqualError(t, err, b.want)
		})
	}
}

func TestLongHorizonsAreRefused(t *testing.T) {
	p := &instance{units: []int{}, activities: []activity{{}, {}}}
	for range 11 {
		p.activities = append(p.activities, activity{duration: maxNumber})
	}
	p.activities = append(p.activities, activity{})
	_, err := readInstance("x", []byte(written(p)))
	assert.EqualError(t, err, "x:29: durations and lags add up to 11000000: at most 10000000 is scheduled; take a coarser unit of time")
}

func TestFilesThatCannotBeReadAreNamed(t *testing.T) {
	dir := t.TempDir()
	_, err := readFile(filepath.Join(dir, "none.sm"))
	assert.EqualError(t, err, filepath.Join(dir, "none.sm")+": cannot be read: no such file or directory")
	_, err = readFile(dir)
	assert.EqualError(t, err, dir+": cannot be read: is a directory")
	big := filepath.Join(dir, "big.sch")
	require.NoError(t, os.WriteFile(big, make([]byte, maxBytes+1), 0o644))
	_, err = readFile(big)
	assert.EqualError(t, err, big+": larger than 16 MB, the most that is read")
}

// written writes an instance in the format that its lags need.
func written(p *instance) string {
	var b strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	n, k := len(p.activities), len(p.units)
	follow := make([][]lag, n)
	for _, l := range p.lags {
		follow[l.from] = append(follow[l.from], l)
	}
	if p.first == 1 {
		put("jobs (incl. supersource/sink ): %d\n  - renewable : %d R\n****\nPRECEDENCE RELATIONS:\njobnr.\n", n, k)
	} else {
		put("%d %d 0 0\n", n-2, k)
	}
	for i, ls := range follow {
		put("%d 1 %d", p.first+i, len(ls))
		for _, l := range ls {
			put(" %d", p.first+l.to)
		}
		for _, l := range ls {
			if p.first == 0 {
				put(" [%d]", l.length)
			}
		}
		put("\n")
	}
	if p.first == 1 {
		put("****\nREQUESTS/DURATIONS:\njobnr.\n-----\n")
	}
	for i, a := range p.activities {
		put("%d 1 %d", p.first+i, a.duration)
		for _, r := range a.requests {
			put(" %d", r)
		}
		put("\n")
	}
	if p.first == 1 {
		put("****\nRESOURCEAVAILABILITIES:\nR\n")
	}
	for _, u := range p.units {
		put("%d ", u)
	}
	put("\n")
	return b.String()
}

// byFrom is the order in which both formats write lags.
func byFrom(p *instance) []lag {
	var out []lag
	for i := range p.activities {
		for _, l := range p.lags {
			if l.from == i {
				out = append(out, l)
			}
		}
	}
	return out
}

func TestWhatIsWrittenIsReadAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t, rapid.Bool().Draw(t, "from ends"))
		got, err := readInstance("x", []byte(written(p)))
		require.NoError(t, err)
		p.lags = byFrom(p)
		assert.Equal(t, p, got)
	})
}

// sound is what holds for every instance that a reader lets through.
func sound(t testing.TB, p *instance) {
	require.NoError(t, p.model().Check())
	for _, l := range append(p.fromSource(), p.lags...) {
		require.True(t, 0 <= l.from && l.from < len(p.activities) && 0 <= l.to && l.to < len(p.activities))
	}
	for _, a := range p.activities {
		require.Len(t, a.requests, len(p.units))
	}
	again, err := readInstance("again", []byte(written(p)))
	require.NoError(t, err)
	p.lags = byFrom(p)
	if len(p.lags) == 0 {
		again.lags, p.lags = nil, nil
	}
	require.Equal(t, p, again)
}

func fuzz(f *testing.F, files ...string) {
	for _, file := range files {
		f.Add([]byte(handText(f, file)))
	}
	for _, b := range bad {
		if text := handText(f, b.file); strings.Contains(text, b.old) {
			f.Add([]byte(strings.Replace(text, b.old, b.new, 1)))
		}
	}
}

func FuzzReadSM(f *testing.F) {
	fuzz(f, "crane.sm", "greedy.sm", "over.sm")
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := readSM(newText("x.sm", data))
		tell(t, p, err, "x.sm:")
	})
}

func FuzzReadSCH(f *testing.F) {
	fuzz(f, "slack.sch", "moment.sch", "circle.sch")
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := readInstance("x.sch", data)
		tell(t, p, err, "x.sch:")
	})
}

// tell holds what a reader says to its rules: a sound instance, or one line that
// begins with the file and a line number.
func tell(t *testing.T, p *instance, err error, begins string) {
	if err == nil {
		if p.sink() > 0 && p.activities[p.sink()].duration == 0 && p.horizon() <= maxHorizon {
			sound(t, p)
		}
		return
	}
	if !strings.HasPrefix(err.Error(), begins) || strings.ContainsAny(err.Error(), "\n\r") || len(err.Error()) > 300 {
		t.Fatalf("not one line: %q", err)
	}
}
