package solve

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slackModels is how many models each of these tests draws.
const slackModels = 1500

// ready draws a model and solves it; limit is a time by which it is ready.
func readyModel(t *testing.T, seed uint64) (m *Model, s *Schedule, limit int) {
	d := numbers(seed)
	m = d.rich(size{people: 3, tasks: d.from(3, 4), horizon: d.from(8, 10), lags: 5})
	a, err := Solve(m, Options{Rough: d.oneIn(2)})
	require.NoError(t, err)
	return m, a.Schedule, min(m.Horizon, a.Ready+d(4))
}

// busy is the first start of a task that somebody does, or limit.
func (s *Schedule) busy(m *Model, limit int) int {
	for j, t := range m.Tasks {
		if t.Crew > 0 && s.done(m, j) {
			limit = min(limit, s.Start[j])
		}
	}
	return limit
}

func TestLatestStartIsTheLastBeforeWhichNobodyNeedBegin(t *testing.T) {
	n, later := 0, 0
	for seed := range uint64(slackModels) {
		m, s, limit := readyModel(t, seed)
		if s == nil || s.busy(m, Never) == Never {
			continue
		}
		want := -1
		x := newExact(m)
		if !x.each(limit, func(s *Schedule) { want = max(want, s.busy(m, limit)) }) {
			continue
		}
		at, sure := LatestStart(m, s, limit, nil)
		require.True(t, sure)
		require.Equal(t, want, at, "seed %d, limit %d: %v\n%+v", seed, limit, *s, *m)
		if n++; at > s.busy(m, limit) {
			later++
		}
	}
	t.Logf("%d models, %d later than planned", n, later)
	assert.Greater(t, later, slackModels/20)
}

// inOrder reports whether a schedule has the ways and the people of another, and work of
// one person or resource in the same order.
func (s *Schedule) inOrder(m *Model, was *Schedule) bool {
	if !slices.Equal(s.Picks, was.Picks) {
		return false
	}
	for i := range m.Tasks {
		if !slices.Equal(s.Who[i], was.Who[i]) {
			return false
		}
		for k := range m.Tasks {
			if i == k || !s.done(m, i) || !s.done(m, k) || !share(s.Who[i], s.Who[k]) && !m.compete(i, k) {
				continue
			}
			together := was.Start[i] == was.End[i] && was.Start[k] == was.End[k] && was.Start[i] == was.Start[k]
			if was.End[i] <= was.Start[k] && s.End[i] > s.Start[k] && !together {
				return false
			}
		}
	}
	return true
}

func TestFloatIsHowMuchLaterEachMayStart(t *testing.T) {
	n, some := 0, 0
	for seed := range uint64(slackModels) {
		m, s, limit := readyModel(t, seed)
		if s == nil {
			continue
		}
		want := make([]int, len(m.Tasks))
		if !newExact(m).each(limit, func(r *Schedule) {
			if r.inOrder(m, s) {
				for j := range want {
					want[j] = max(want[j], r.Start[j]-s.Start[j])
				}
			}
		}) {
			continue
		}
		require.Equal(t, want, Float(m, s, limit), "seed %d, limit %d: %v\n%+v", seed, limit, *s, *m)
		n++
		some += want[0]
	}
	t.Logf("%d models, %d ticks of float", n, some)
	assert.Greater(t, n, slackModels/4)
	assert.Greater(t, some, n/2)
}

// A function that is dear to ask is asked less often, and every answer is the same.
func TestDearFunctionsChangeNoAnswer(t *testing.T) {
	dear, compared := 0, 0
	for seed := range uint64(1500) {
		m := numbers(seed).model(small)
		c := *m
		c.Lags = slices.Clone(m.Lags)
		for k, l := range c.Lags {
			if f, ok := l.Fn.(ladder); ok {
				c.Lags[k].Fn = NewCalls(f.At).Dear(2 + int(seed%7))
				dear++
			}
		}
		a, err := Solve(m, Options{})
		require.NoError(t, err)
		b, err := Solve(&c, Options{})
		require.NoError(t, err)
		require.Equal(t, a.Status, b.Status, "seed %d", seed)
		require.Equal(t, a.Ready, b.Ready, "seed %d", seed)
		if a.Schedule == nil {
			continue
		}
		compared++
		limit := min(m.Horizon, a.Ready+3)
		require.Equal(t, Float(m, a.Schedule, limit), Float(&c, a.Schedule, limit), "seed %d", seed)
		at, sure := Latest(m, a.Schedule, []int{m.Ready, 0}, limit, nil)
		again, sureToo := Latest(&c, a.Schedule, []int{m.Ready, 0}, limit, nil)
		require.Equal(t, at, again, "seed %d", seed)
		require.Equal(t, sure, sureToo, "seed %d", seed)
	}
	assert.Greater(t, dear, 1000)
	assert.Greater(t, compared, 500)
}
