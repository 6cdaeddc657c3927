package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"beadline/cure/plan/solve"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// hand are instances worked out on paper, and how.
var hand = []struct {
	file     string
	makespan int // -1: there is no schedule
	why      string
}{
	{"crane.sm", 6, "jobs 4 and 5 share the one unit of R 2, 4 + 2; with 4 first, 2 and then 3 fit beside on R 1"},
	{"greedy.sm", 6, "the short job first, 1, and what waits for it, 5; the other way round 8"},
	{"over.sm", -1, "job 2 asks for 3 of 2"},
	{"slack.sch", 9, "all on one unit, 2 + 3 + 4; 3 fits between 1 and 2, as 2 may start 6 after 1"},
	{"tight.sch", 12, "2 starts 5 after 1 and 3 does not fit between them: 4 before or after 5 + 3"},
	{"apart.sch", -1, "two of length 3 on one unit that start no more than 2 apart"},
	{"circle.sch", -1, "2 at least 4 after 1, and at most 3"},
	{"moment.sch", 3, "what takes no time holds nothing, ask for what it will"},
	{"anchored.sch", -1, "1 starts by 1 and runs to 5; 2 starts by 3: the source starts at 0 and no later"},
}

func TestHandMadeInstancesHaveTheirAnswers(t *testing.T) {
	for _, h := range hand {
		t.Run(h.file, func(t *testing.T) {
			p, err := readFile(filepath.Join("testdata", "hand", h.file))
			require.NoError(t, err)
			r := answered(t, p, time.Minute)
			if h.makespan < 0 {
				assert.Equal(t, solve.Infeasible, r.status, h.why)
				return
			}
			assert.Equal(t, solve.Optimal, r.status)
			assert.Equal(t, h.makespan, r.makespan, h.why)
			assert.Equal(t, h.makespan, r.bound)
		})
	}
}

func TestOracleAgreesWithWhatIsWorkedByHand(t *testing.T) {
	for _, h := range hand {
		p, err := readFile(filepath.Join("testdata", "hand", h.file))
		require.NoError(t, err)
		makespan, ok := earliest(p)
		assert.Equal(t, h.makespan >= 0, ok, h.file)
		if ok {
			assert.Equal(t, h.makespan, makespan, h.file)
		}
	}
}

func answered(t require.TestingT, p *instance, limit time.Duration) result {
	var out, errs bytes.Buffer
	a := &app{out: &out, err: &errs, clock: time.Now, limit: limit, workers: 1}
	r, err := a.answer(p, "drawn")
	require.NoError(t, err)
	return r
}

// drawn makes a small instance. With lags from start to start some of them go back,
// as maximum lags do; else all run forwards from end to start.
func drawn(t *rapid.T, fromEnd bool) *instance {
	n := rapid.IntRange(1, 5).Draw(t, "activities") + 2
	units := rapid.SliceOfN(rapid.IntRange(1, 3), 1, 2).Draw(t, "units")
	p := &instance{units: units}
	if fromEnd {
		p.first = 1
	}
	for i := range n {
		a := activity{requests: make([]int, len(units))}
		if i > 0 && i < n-1 {
			a.duration = rapid.IntRange(0, 4).Draw(t, "duration")
			for r := range a.requests {
				a.requests[r] = rapid.IntRange(0, units[r]).Draw(t, "request")
			}
			p.lags = append(p.lags, lag{from: 0, to: i, fromEnd: fromEnd})
		}
		p.activities = append(p.activities, a)
	}
	for i := 1; i < n-1; i++ {
		for j := i + 1; j < n-1; j++ {
			if !rapid.Bool().Draw(t, "tied") {
				continue
			}
			l := lag{from: i, to: j, fromEnd: fromEnd}
			if !fromEnd {
				l.length = rapid.IntRange(-2, 6).Draw(t, "lag")
				if rapid.IntRange(0, 2).Draw(t, "back") == 0 {
					p.lags = append(p.lags, lag{from: j, to: i, length: -rapid.IntRange(max(0, l.length), 7).Draw(t, "maximum")})
				}
			}
			p.lags = append(p.lags, l)
		}
		last := lag{from: i, to: n - 1, fromEnd: fromEnd}
		if !fromEnd {
			last.length = p.activities[i].duration
		}
		p.lags = append(p.lags, last)
	}
	return p
}

func TestAnswersAreThoseOfTryingEveryOrder(t *testing.T) {
	const instances = 1500
	draw := rapid.Custom(func(t *rapid.T) *instance { return drawn(t, rapid.IntRange(0, 3).Draw(t, "from ends") == 0) })
	count := map[string]int{}
	for seed := range instances {
		p := draw.Example(seed)
		makespan, ok := earliest(p)
		r := answered(t, p, time.Second)
		count[statuses[r.status]]++
		switch r.status {
		case solve.Optimal:
			require.True(t, ok, written(p))
			require.Equal(t, makespan, r.makespan, written(p))
		case solve.Feasible:
			require.True(t, ok, written(p))
			require.GreaterOrEqual(t, r.makespan, makespan, written(p))
			require.LessOrEqual(t, r.bound, makespan, written(p))
		case solve.Infeasible:
			require.False(t, ok, "there is one of %d\n%s", makespan, written(p))
		case solve.Unknown:
			require.True(t, !ok || r.bound <= makespan, written(p))
		}
	}
	t.Log(count)
	assert.Greater(t, count["optimal"], instances/10)
	assert.Greater(t, count["infeasible"], instances/50)
}

func TestCheckFindsWhatIsBroken(t *testing.T) {
	for _, c := range []struct {
		file  string
		start []int
		want  string
	}{
		{"crane.sm", []int{0, 0, 3, 0, 4, 6}, ""},
		{"crane.sm", []int{0, 0, 3, 0, 4, 5}, "activity 6 starts at 5, and may at 6, as activity 5 starts at 4"},
		{"crane.sm", []int{0, 0, 2, 0, 4, 6}, "at 2 resource 1 is asked for 5 and there are 3"},
		{"crane.sm", []int{0, 0, 3, 0, 3, 6}, "at 3 resource 1 is asked for 4 and there are 3"},
		{"crane.sm", []int{0, 0, 5, 0, 3, 7}, "at 3 resource 2 is asked for 2 and there are 1"},
		{"crane.sm", []int{0, -1, 3, 0, 4, 6}, "activity 2 starts at -1"},
		{"crane.sm", []int{0, 0, 3, 0, 4}, "it has 5 starts for 6 activities"},
		{"slack.sch", []int{0, 0, 6, 2, 9}, ""},
		{"slack.sch", []int{0, 0, 7, 2, 10}, "activity 1 starts at 0, and may at 1, as activity 2 starts at 7"},
		{"slack.sch", []int{0, 0, 5, 1, 9}, "at 1 resource 1 is asked for 2 and there are 1"},
		{"moment.sch", []int{0, 0, 1, 3}, ""},
	} {
		p, err := readFile(filepath.Join("testdata", "hand", c.file))
		require.NoError(t, err)
		got := ""
		if err := p.check(c.start); err != nil {
			got = err.Error()
		}
		assert.Equal(t, c.want, got, "%s %v", c.file, c.start)
	}
}

func TestModelSaysWhatTheInstanceSays(t *testing.T) {
	p, err := readFile(filepath.Join("testdata", "hand", "anchored.sch"))
	require.NoError(t, err)
	m := p.model()
	require.NoError(t, m.Check())
	assert.Equal(t, 0+5+2+0, m.Horizon, "each activity's duration is its longest lag")
	assert.Equal(t, 3, m.Ready)
	assert.Equal(t, []solve.Resource{{Name: "resource 1", Units: 1}}, m.Resources)
	assert.Equal(t, []solve.Use{{Resource: 0, Units: 1}}, m.Tasks[1].Uses)
	assert.Empty(t, m.Tasks[0].Uses)
	var got []string
	for _, l := range m.Lags {
		kind := "least"
		if l.Max {
			kind = "most"
		}
		assert.Equal(t, [2]solve.End{solve.AtStart, solve.AtStart}, [2]solve.End{l.FromAt, l.ToAt})
		got = append(got, fmt.Sprintf("%d to %d at %s %d", l.From, l.To, kind, l.Fn.At(0)))
	}
	assert.Equal(t, []string{"0 to 1 at least 0", "0 to 2 at least 0", "0 to 1 at most 1", "1 to 3 at least 5", "0 to 2 at most 3", "2 to 3 at least 2"}, got)
}
