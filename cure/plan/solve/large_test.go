package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// largeModels is how many models the test draws.
const largeModels = 1000

// rich draws a model of some size with overtime and costs besides all else.
func (d draw) rich(z size) *Model {
	m := d.model(z)
	for p := range m.People {
		if q := &m.People[p]; d.oneIn(2) {
			for _, w := range q.Work {
				if from := w.From + d(w.To-w.From); d.oneIn(2) {
					q.Spare = append(q.Spare, Window{from, d.from(from+1, w.To)})
				}
			}
		}
	}
	for j := range m.Tasks {
		if t := &m.Tasks[j]; d.oneIn(2) {
			t.Cost = d(3)
		}
	}
	return m
}

// crowded draws a model with much to do for few, and few rules that none can keep: the
// ready time is a matter of who does what when.
func (d draw) crowded(z size) *Model {
	m := d.rich(z)
	m.Horizon = z.horizon + 10
	for p := range m.People {
		m.People[p].Skills = [][]string{{"seal", "inspect"}, {"seal", "inspect"}, {"seal"}, {"inspect"}}[d(4)]
		m.People[p].Work = d.windows(m.Horizon)
		m.People[p].Spare = nil
	}
	m.People[0].Skills = []string{"inspect", "seal"}
	m.People[0].Work = append(m.People[0].Work, Window{max(m.Horizon-12, last(m.People[0].Work)), m.Horizon + 3})
	for j := range m.Tasks {
		t := &m.Tasks[j]
		t.Deadline, t.Within = 0, nil
		if t.Crew == 0 || d.oneIn(3) {
			t.Crew = 1
		}
		t.Crew = min(t.Crew, len(m.able(j)))
		if j != m.Ready && !d.oneIn(6) {
			m.Lags = append(m.Lags, after(j, m.Ready, 0))
		}
	}
	return m
}

func last(ws []Window) int {
	if len(ws) == 0 {
		return 0
	}
	return ws[len(ws)-1].To
}

func TestLargerModelsAreAnsweredAsByPlacingAndStriking(t *testing.T) {
	count := map[string]int{}
	for seed := range uint64(largeModels) {
		d := numbers(seed)
		z := size{people: d.from(2, 4), tasks: d.from(6, 9), horizon: d.from(15, 25), lags: d.from(4, 12)}
		m := d.rich(z)
		if d.oneIn(2) {
			m = d.crowded(z)
		}
		best, exists, sure := newExact(m).earliest()
		if !sure {
			count["too large"]++
			continue
		}
		a, err := Solve(m, Options{Seed: int64(seed % 3), Rough: d.oneIn(2)})
		require.NoError(t, err)
		if !exists {
			count["infeasible"]++
			require.Equal(t, Infeasible, a.Status, "seed %d: %+v", seed, *m)
			continue
		}
		require.Equal(t, Optimal, a.Status, "seed %d", seed)
		require.NoError(t, m.CheckSchedule(a.Schedule), "seed %d", seed)
		require.True(t, newOracle(m).allows(a.Schedule), "seed %d", seed)
		require.Equal(t, best, a.Ready, "seed %d: %+v", seed, *m)
		bound, ok := Bound(m)
		require.True(t, ok)
		require.LessOrEqual(t, bound, best)
		if a.Tries > 3 {
			count["not at once"]++
		}
		count["optimal"]++
	}
	t.Log(count)
	assert.Greater(t, count["optimal"], largeModels/3)
	assert.Greater(t, count["infeasible"], largeModels/20)
}
