package solve

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var small = size{people: 3, tasks: 7, horizon: 30, lags: 9}

func rapidly(t *rapid.T) draw {
	return func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "draw") }
}

func TestEveryScheduleKeepsEveryRule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapidly(t).model(small)
		a, err := Solve(m, Options{Seed: int64(rapid.IntRange(0, 9).Draw(t, "seed"))})
		require.NoError(t, err)
		switch a.Status {
		case Optimal, Feasible:
			require.NoError(t, m.CheckSchedule(a.Schedule))
			assert.True(t, newOracle(m).allows(a.Schedule), "the oracle does not allow %v", *a.Schedule)
			assert.GreaterOrEqual(t, a.Ready, a.Bound)
			assert.Equal(t, a.Schedule.End[m.Ready], a.Ready)
			assert.Equal(t, a.Ready == a.Bound, a.Status == Optimal)
			assert.Nil(t, a.Clash)
		default:
			assert.Nil(t, a.Schedule)
		}
	})
}

func TestNobodyMoreMakesTheBoundLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapidly(t)
		m := d.model(small)
		before, ok := Bound(m)
		m.People = append(m.People, d.person(len(m.People), m.Horizon))
		after, still := Bound(m)
		if ok {
			assert.True(t, still, "one more person made it infeasible")
			assert.LessOrEqual(t, after, before)
		}
	})
}

func TestNoLagLessMakesTheBoundLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapidly(t)
		m := d.model(small)
		before, ok := Bound(m)
		if len(m.Lags) == 0 || !ok {
			return
		}
		k := d(len(m.Lags))
		m.Lags = slices.Delete(m.Lags, k, k+1)
		after, still := Bound(m)
		assert.True(t, still)
		assert.LessOrEqual(t, after, before)
	})
}

func TestHeadsOwNothingToTheOrderOfTheLags(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapidly(t).model(small)
		h, clash := m.propagate()
		m.Lags = rapid.Permutation(m.Lags).Draw(t, "lags")
		g, other := m.propagate()
		require.Equal(t, clash == nil, other == nil)
		if clash == nil {
			assert.Equal(t, h, g)
		}
	})
}

// TestCheckScheduleAgreesWithCountingTicks holds CheckSchedule against the oracle on
// schedules that are mostly nearly right.
func TestCheckScheduleAgreesWithCountingTicks(t *testing.T) {
	right, wrong := 0, 0
	for seed := range uint64(4000) {
		d := numbers(seed)
		m := d.model(tiny)
		s := d.schedule(m)
		want := newOracle(m).allows(s)
		got := m.CheckSchedule(s)
		require.Equal(t, want, got == nil, "seed %d: %v\n%+v\n%+v", seed, got, *m, *s)
		if want {
			right++
		} else {
			wrong++
		}
	}
	t.Logf("%d right, %d wrong", right, wrong)
	assert.Greater(t, right, 200)
	assert.Greater(t, wrong, 200)
}

// schedule draws a schedule: the oracle's own way to run each task, or one of the
// search's, with now and then a start, an end or a person that is somewhat different.
func (d draw) schedule(m *Model) *Schedule {
	n := len(m.Tasks)
	s := &Schedule{make([]int, n), make([]int, n), make([][]int, n), make([]int, len(m.Choices))}
	if a, err := Solve(m, Options{Exists: true}); err == nil && a.Schedule != nil {
		s = a.Schedule
	}
	for j, ways := range newOracle(m).ways {
		if len(ways) > 0 && (len(s.Who[j]) != m.Tasks[j].Crew || d.oneIn(6)) {
			w := ways[d(len(ways))]
			s.Start[j], s.End[j], s.Who[j] = w.start, w.end, nil
			for p := range m.People {
				if w.who>>p&1 == 1 {
					s.Who[j] = append(s.Who[j], p)
				}
			}
		}
		switch d(30) {
		case 1:
			by := 2*d(2) - 1
			s.Start[j] += by
			s.End[j] += by
		case 2:
			s.End[j] += d(3) - 1
		case 3:
			if len(s.Who[j]) > 0 {
				s.Who[j][0] = d(len(m.People))
			}
		case 4:
			s.Who[j] = append(s.Who[j], d(len(m.People)))
		}
	}
	return s
}
