package solve

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The instances of the public Project Scheduling Problem Library (R. Kolisch, A.
// Sprecher, European Journal of Operational Research 96, 1997, 205-216) and of its
// sets with minimum and maximum time lags (R. Kolisch, C. Schwindt, A. Sprecher 1999),
// with their published optima. The data are not part of the project: the tests read
// them where they are and are skipped where they are not.
const published = "../../../../shared/psplib"

// activity is a line of an instance: everything starts at the earliest at its own
// start, and lags run from start to start.
type activity struct {
	duration int
	requests []int
	after    map[int]int // successor → lag; a negative one back is a maximum
}

// asModel turns activities on resources of k units into tasks of k people who can do
// nothing else. An activity on several resources is as many tasks that start together.
func asModel(acts []activity, units []int) *Model {
	m := &Model{}
	for r, n := range units {
		for range n {
			m.People = append(m.People, Person{Skills: []string{fmt.Sprint(r)}})
		}
	}
	for i, a := range acts {
		m.Tasks = append(m.Tasks, Task{Name: fmt.Sprint("activity ", i), Duration: a.duration})
		longest := a.duration
		for _, lag := range a.after {
			longest = max(longest, lag)
		}
		m.Horizon += longest
	}
	for p := range m.People {
		m.People[p].Work = []Window{{0, m.Horizon}}
	}
	for i, a := range acts {
		first := true
		for r, n := range a.requests {
			switch {
			case n == 0 || a.duration == 0:
				continue
			case first:
				m.Tasks[i].Crew, m.Tasks[i].Skill, first = n, fmt.Sprint(r), false
				continue
			}
			m.Tasks = append(m.Tasks, Task{Name: fmt.Sprint("activity ", i, " on ", r), Duration: a.duration, Crew: n, Skill: fmt.Sprint(r)})
			both := after(i, len(m.Tasks)-1, 0).ends(AtStart, AtStart)
			m.Lags = append(m.Lags, both)
			both.Max = true
			m.Lags = append(m.Lags, both)
		}
		for to, lag := range a.after {
			l := after(i, to, lag).ends(AtStart, AtStart)
			if lag < 0 {
				l = notLater(to, i, -lag).ends(AtStart, AtStart)
			}
			m.Lags = append(m.Lags, l)
		}
	}
	slices.SortStableFunc(m.Lags, func(a, b Lag) int { return 1000*(a.From-b.From) + a.To - b.To })
	m.Ready = len(acts) - 1
	return m
}

func TestPublishedOptimaAreNotContradicted(t *testing.T) {
	for _, set := range []struct {
		name  string
		read  func(*testing.T, [][]string) *Model
		every int
	}{
		{"j30", readSM, 4}, {"max-j10", readSCH, 1}, {"ubo10", readSCH, 1}, {"ubo20", readSCH, 5},
	} {
		t.Run(set.name, func(t *testing.T) {
			f, err := os.Open(filepath.Join(published, set.name+".csv"))
			if err != nil {
				t.Skip("the published instances are not here")
			}
			defer f.Close()
			count, off, total := map[string]int{}, 0, 0
			lines := bufio.NewScanner(f)
			lines.Scan()
			for i := 0; lines.Scan(); i++ {
				if i%set.every != 0 {
					continue
				}
				file, answer, _ := strings.Cut(strings.TrimSpace(lines.Text()), ",")
				m := set.read(t, fields(t, filepath.Join(published, set.name, file)))
				kind, excess, best := confront(t, file, m, answer)
				count[kind]++
				off += excess
				total += best
			}
			t.Logf("%v; found schedules are %.2f %% above the optimum", count, 100*float64(off)/float64(max(1, total)))
			assert.Positive(t, count["optimal, proven"]+count["feasible"])
		})
	}
}

// confront holds the answer to one instance against the published one: an optimum, a
// range that is known to hold it, or unsat.
func confront(t *testing.T, file string, m *Model, answer string) (kind string, excess, best int) {
	a, err := Solve(m, Options{Steps: 30})
	if err != nil { // an activity that asks for more than there is
		assert.Equal(t, "unsat", answer, "%s: %v", file, err)
		return "refused, rightly", 0, 0
	}
	if answer == "unsat" {
		assert.Nil(t, a.Schedule, "%s: a schedule where there is none", file)
		return fmt.Sprint("unsat, proven ", a.Status == Infeasible), 0, 0
	}
	lo, hi, ranged := strings.Cut(answer, "..")
	if !ranged {
		hi = lo
	}
	least, err := strconv.Atoi(lo)
	require.NoError(t, err)
	most, err := strconv.Atoi(hi)
	require.NoError(t, err)
	assert.NotEqual(t, Infeasible, a.Status, file)
	assert.LessOrEqual(t, a.Bound, most, "%s: bound", file)
	if a.Schedule == nil {
		return "missed", 0, 0
	}
	require.NoError(t, m.CheckSchedule(a.Schedule), file)
	assert.GreaterOrEqual(t, a.Ready, least, file)
	if a.Status == Optimal {
		assert.LessOrEqual(t, a.Ready, most, "%s: claimed optimal", file)
		return "optimal, proven", a.Ready - least, least
	}
	return "feasible", a.Ready - least, least
}

func fields(t *testing.T, file string) (out [][]string) {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) > 0 {
			out = append(out, f)
		}
	}
	return out
}

func number(t *testing.T, s string) int {
	n, err := strconv.Atoi(strings.Trim(s, "[]"))
	require.NoError(t, err)
	return n
}

// readSCH reads an instance with maximum lags.
func readSCH(t *testing.T, lines [][]string) *Model {
	n := number(t, lines[0][0]) + 2
	acts := make([]activity, n)
	for i := range acts {
		f, g := lines[1+i], lines[1+n+i]
		acts[i].after = map[int]int{}
		k := number(t, f[2])
		for j := range k {
			acts[i].after[number(t, f[3+j])] = number(t, f[3+k+j])
		}
		acts[i].duration = number(t, g[2])
		for _, r := range g[3:] {
			acts[i].requests = append(acts[i].requests, number(t, r))
		}
	}
	var units []int
	for _, u := range lines[1+2*n] {
		units = append(units, number(t, u))
	}
	return asModel(acts, units)
}

// readSM reads an instance with precedence alone.
func readSM(t *testing.T, lines [][]string) *Model {
	section := func(title string, skip int) [][]string {
		i := slices.IndexFunc(lines, func(f []string) bool { return strings.HasPrefix(strings.Join(f, " "), title) }) + skip
		j := i
		for j < len(lines) && !strings.HasPrefix(lines[j][0], "*") {
			j++
		}
		return lines[i:j]
	}
	after, requests := section("PRECEDENCE RELATIONS", 2), section("REQUESTS/DURATIONS", 3)
	acts := make([]activity, len(after))
	for i := range acts {
		acts[i].duration = number(t, requests[i][2])
		for _, r := range requests[i][3:] {
			acts[i].requests = append(acts[i].requests, number(t, r))
		}
		acts[i].after = map[int]int{}
		for _, s := range after[i][3:] {
			acts[i].after[number(t, s)-1] = acts[i].duration
		}
	}
	var units []int
	for _, u := range section("RESOURCEAVAILABILITIES", 2)[0] {
		units = append(units, number(t, u))
	}
	return asModel(acts, units)
}
