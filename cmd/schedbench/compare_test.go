package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"beadline/cure/plan/solve"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPublishedAnswersAreReadAsWritten(t *testing.T) {
	got, err := parsePublished("x.csv", []byte("\ufeffproblem,by,optimum\r\nPSP1.SCH,someone,26\r\npsp2.sch,,unsat\r\nj301_1.sm,,\"83..98\"\r\n"))
	require.NoError(t, err)
	assert.Equal(t, map[string]known{"psp1.sch": {lo: 26, hi: 26}, "psp2.sch": {none: true}, "j301_1.sm": {lo: 83, hi: 98}}, got)
}

func TestSlipsInPublishedAnswersAreNamed(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "x.csv:1: the file is empty: want the columns problem,optimum"},
		{"\n\nname,best\n", "x.csv:3: the first line names no columns problem and optimum"},
		{"problem,optimum\na,1\nb\n", "x.csv:3: too few columns: want problem and optimum"},
		{"problem,optimum\na,1\nA,2\n", "x.csv:3: A stands here a second time: keep one"},
		{"problem,optimum\na,one\n", `x.csv:2: the optimum is "one": want a makespan like 43, a range like 83..98, or unsat`},
		{"problem,optimum\na,9..5\n", `x.csv:2: the optimum is "9..5": want a makespan like 43, a range like 83..98, or unsat`},
		{"problem,optimum\na,-5\n", `x.csv:2: the optimum is "-5": want a makespan like 43, a range like 83..98, or unsat`},
		{"problem,optimum\na,5..\n", `x.csv:2: the optimum is "5..": want a makespan like 43, a range like 83..98, or unsat`},
		{"problem,optimum\na,\n", `x.csv:2: the optimum is "": want a makespan like 43, a range like 83..98, or unsat`},
		{"problem,optimum\n\"a,5\n", `x.csv:2: not readable as CSV: extraneous or missing " in quoted-field`},
	} {
		_, err := parsePublished("x.csv", []byte(c.text))
		assert.EqualError(t, err, c.want, c.text)
	}
}

func TestAnswersThatCannotBothBeTrueAreContradictions(t *testing.T) {
	optimal, feasible, infeasible, unknown := solve.Optimal, solve.Feasible, solve.Infeasible, solve.Unknown
	for _, c := range []struct {
		k               known
		status          solve.Status
		makespan, bound int
		want            string
	}{
		{known{lo: 43, hi: 43}, optimal, 43, 43, ""},
		{known{lo: 43, hi: 43}, optimal, 42, 42, "a schedule of 42"},
		{known{lo: 43, hi: 43}, optimal, 44, 44, "44 called optimal"},
		{known{lo: 43, hi: 43}, feasible, 50, 40, ""},
		{known{lo: 43, hi: 43}, feasible, 42, 40, "a schedule of 42"},
		{known{lo: 43, hi: 43}, feasible, 50, 44, "a bound of 44"},
		{known{lo: 43, hi: 43}, unknown, 0, 43, ""},
		{known{lo: 43, hi: 43}, unknown, 0, 44, "a bound of 44"},
		{known{lo: 43, hi: 43}, infeasible, 0, 0, "called infeasible"},
		{known{lo: 83, hi: 98}, optimal, 83, 83, ""},
		{known{lo: 83, hi: 98}, optimal, 98, 98, ""},
		{known{lo: 83, hi: 98}, optimal, 99, 99, "99 called optimal"},
		{known{lo: 83, hi: 98}, optimal, 82, 82, "a schedule of 82"},
		{known{lo: 83, hi: 98}, feasible, 120, 98, ""},
		{known{lo: 83, hi: 98}, feasible, 120, 99, "a bound of 99"},
		{known{none: true}, infeasible, 0, 0, ""},
		{known{none: true}, unknown, 0, 500, ""},
		{known{none: true}, feasible, 50, 40, "a schedule of 50"},
		{known{none: true}, optimal, 50, 50, "a schedule of 50"},
	} {
		assert.Equal(t, c.want, c.k.denies(result{status: c.status, makespan: c.makespan, bound: c.bound}), "%v %+v", c.k, c)
	}
}

func TestSummaryCountsWhatIsDecidedAndRight(t *testing.T) {
	p := &published{name: "set.csv", answers: map[string]known{"a.sm": {lo: 40, hi: 40}, "b.sm": {none: true}, "c.sm": {lo: 80, hi: 100}, "d.sm": {lo: 50, hi: 50}}}
	var out bytes.Buffer
	for _, c := range []struct {
		name            string
		status          solve.Status
		makespan, bound int
		took            time.Duration
		agrees          bool
	}{
		{"A.SM", solve.Optimal, 40, 40, 2 * time.Millisecond, true},
		{"b.sm", solve.Infeasible, 0, 0, 4 * time.Millisecond, true},
		{"c.sm", solve.Feasible, 106, 80, 1500 * time.Millisecond, true},
		{"d.sm", solve.Optimal, 51, 51, time.Millisecond, false},
		{"e.sm", solve.Unknown, 0, 7, 6 * time.Millisecond, true},
		{"f.sm", solve.Optimal, 7, 7, 500 * time.Microsecond, true},
	} {
		assert.Equal(t, c.agrees, p.judge(&out, result{c.name, c.status, c.makespan, c.bound, c.took}), c.name)
	}
	p.summary(&out)
	assert.Equal(t, `contradiction: d.sm: 51 called optimal; published: 50
against set.csv: 6 instances, 4 decided: 2 right, 1 wrong, 2 not in the list (first: e.sm)
above the best known: mean 2.67 %, worst 6.00 %, of 3 schedules
time: median 3.000 ms, worst 1500.000 ms, sum 1513.500 ms
`, out.String())
}

func FuzzParsePublished(f *testing.F) {
	f.Add([]byte("problem,optimum\nj301_1.sm,43\npsp4.sch,83..98\npsp2.sch,unsat\n"))
	f.Add([]byte("\ufeffproblem,optimum\r\n\"a\"\"b\",0\r\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		answers, err := parsePublished("x.csv", data)
		if err != nil && (!strings.HasPrefix(err.Error(), "x.csv:") || strings.Contains(err.Error(), "\n")) {
			t.Fatalf("not one line: %q", err)
		}
		for name, k := range answers {
			if again, ok := parseKnown(k.String()); !ok || again != k {
				t.Fatalf("%q: %v is read as %v", name, k, again)
			}
		}
	})
}

// publishedSets are where the published instances and their answers stand beside the
// project (R. Kolisch, A. Sprecher, PSPLIB, European Journal of Operational Research
// 96, 1997, 205-216; R. Kolisch, C. Schwindt, A. Sprecher 1999; B. Franck, K. Neumann,
// C. Schwindt, OR Spektrum 23, 2001, 297-324). They are not part of it.
const publishedSets = "../../../shared/psplib"

// publishedLimit is many times what the hardest instance takes, so that it holds on a
// slow machine with others at work on it.
const publishedLimit = "2m"

// sets are the published sets, and how many instances each has. All of them are decided.
var sets = []struct {
	name      string
	instances int
}{{"j30", 240}, {"max-j10", 90}, {"ubo10", 90}, {"ubo20", 90}}

func TestAnswersDoNotContradictThePublishedOnes(t *testing.T) {
	for _, set := range sets {
		t.Run(set.name, func(t *testing.T) {
			files, err := filepath.Glob(filepath.Join(publishedSets, set.name, "*"))
			require.NoError(t, err)
			if len(files) == 0 {
				t.Skipf("%s has no %s: its %d published instances are not run", publishedSets, set.name, set.instances)
			}
			require.Len(t, files, set.instances)
			if testing.Short() && set.name == "j30" {
				t.Skip("its hardest proofs take seconds: run without -short")
			}
			for _, f := range files {
				_, err := readFile(f)
				assert.NoError(t, err)
			}
			var out, errs bytes.Buffer
			a := &app{out: &out, err: &errs, clock: time.Now}
			assert.Equal(t, exitDone, a.run(append([]string{"--limit", publishedLimit, "--compare", filepath.Join(publishedSets, set.name+".csv")}, files...)), errs.String())
			rows := out.String()
			assert.Equal(t, 1+set.instances, strings.Count(rows, "\n"))
			assert.NotContains(t, errs.String(), "not in the list")
			assert.Equal(t, set.instances, strings.Count(rows, ",optimal,")+strings.Count(rows, ",infeasible,"))
			t.Log(errs.String())
		})
	}
}

func TestTwoFilesOfOneNameAreNotCompared(t *testing.T) {
	list := filepath.Join(t.TempDir(), "set.csv")
	require.NoError(t, os.WriteFile(list, []byte("problem,optimum\npsp1.sch,5\n"), 0o644))
	_, err := readPublished(list, []string{"a/psp1.sch", "b/PSP1.SCH"})
	assert.EqualError(t, err, "--compare: a/psp1.sch and b/PSP1.SCH have one name: compare one set at a time")
}
