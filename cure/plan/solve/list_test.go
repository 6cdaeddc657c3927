package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// listModel draws a model for lists: tasks on resources with minimum lags only.
func listModel(d draw) *Model {
	m := d.model(size{people: 1, tasks: 5, horizon: 20, lags: 6})
	m.People, m.Choices = nil, nil
	m.Resources = []Resource{{"crane", d.from(1, 3)}, {"bay", d.from(1, 4)}}
	for j := range m.Tasks {
		t := &m.Tasks[j]
		t.Crew, t.NotBy, t.With, t.If, t.Split, t.Uses = 0, nil, 0, nil, false, nil
		for r, x := range m.Resources {
			if !d.oneIn(3) {
				t.Uses = append(t.Uses, Use{r, d.from(1, x.Units)})
			}
		}
	}
	for k := range m.Lags {
		l := &m.Lags[k]
		if l.Max = false; l.From > l.To { // no circle
			l.From, l.To = l.To, l.From
		}
	}
	return m
}

func TestListsClaimNothingThatTryingEverythingDenies(t *testing.T) {
	best, some, none := 0, 0, 0
	for seed := range uint64(3000) {
		m := listModel(numbers(seed))
		h, clash := m.propagate()
		if m.Check() != nil || clash != nil {
			continue
		}
		p := newProject(m, h)
		if p == nil {
			continue
		}
		optimum, exists := newOracle(m).earliest()
		if exists {
			require.LessOrEqual(t, p.energy(), optimum, "seed %d", seed)
		}
		b := newBreed(p, int64(seed))
		b.run(100, 0, nil)
		if b.best.ready == Never {
			none++
			continue
		}
		require.True(t, exists, "seed %d", seed)
		s := b.schedule()
		require.NoError(t, m.CheckSchedule(s), "seed %d", seed)
		require.Equal(t, b.best.ready, s.End[m.Ready])
		require.GreaterOrEqual(t, b.best.ready, optimum)
		if some++; b.best.ready == optimum {
			best++
		}
	}
	t.Logf("%d schedules, %d of them earliest; none of %d", some, best, none)
	assert.Greater(t, some, 1000)
	assert.Greater(t, 100*best, 95*some, "without windows and deadlines some list makes an earliest schedule")
}

func TestTheSameListsEveryTime(t *testing.T) {
	m := network{tasks: 40, resources: 4, complexity: 1.8, factor: .75, strength: .3}.project(3)
	h, _ := m.propagate()
	run := func() *plan {
		b := newBreed(newProject(m, h), 7)
		b.run(300, 0, nil)
		return b.best
	}
	assert.Equal(t, run().start, run().start)
}

func TestJustifyingIsNeverWorse(t *testing.T) {
	for seed := range uint64(20) {
		m := network{tasks: 40, resources: 4, complexity: 1.8, factor: .75, strength: .3}.project(seed)
		h, _ := m.propagate()
		p := newProject(m, h)
		x, y, tmp := p.newPlan(), p.newPlan(), p.newPlan()
		list := p.sample(nil, nil)
		p.forward(x, list)
		p.justify(y, tmp, list)
		assert.LessOrEqual(t, y.ready, x.ready)
	}
}

// A search that is stopped at any instant gives a bound that holds and a schedule that
// does.
func TestStoppedAnywhereTheBoundHolds(t *testing.T) {
	for seed := range uint64(4) {
		for _, windows := range []float64{0, .1} {
			m := network{tasks: 20, resources: 4, complexity: 1.5, factor: 1, strength: .2, windows: windows, slack: 3}.project(seed)
			whole, err := Solve(m, Options{Rough: true})
			require.NoError(t, err)
			for after := 0; after < 400; after += 1 + after/4 {
				asked := 0
				a, err := Solve(m, Options{Rough: true, Stop: func() bool { asked++; return asked > after }})
				require.NoError(t, err)
				if whole.Status == Optimal {
					require.NotEqual(t, Infeasible, a.Status)
					require.LessOrEqual(t, a.Bound, whole.Ready)
				}
				if a.Schedule != nil {
					require.NoError(t, m.CheckSchedule(a.Schedule))
					require.GreaterOrEqual(t, a.Ready, whole.Ready)
					require.LessOrEqual(t, a.Bound, a.Ready)
				}
			}
		}
	}
}
