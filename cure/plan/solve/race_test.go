package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Searches side by side prove what one proves; with functions that remember their
// answers, which are not safe for several at once.
func TestWorkersProveWhatOneProves(t *testing.T) {
	for seed := range uint64(300) {
		m := numbers(seed).model(metaSize)
		for k := range m.Lags {
			if f := m.Lags[k].Fn; k%2 == 0 {
				m.Lags[k].Fn = NewCalls(f.At)
			}
		}
		one, err := Solve(m, Options{Rough: true})
		require.NoError(t, err)
		many, err := Solve(m, Options{Rough: true, Workers: 4})
		require.NoError(t, err)
		require.Equal(t, one.Status, many.Status, "seed %d", seed)
		require.Equal(t, one.Ready, many.Ready, "seed %d", seed)
		if many.Schedule != nil {
			require.NoError(t, m.CheckSchedule(many.Schedule))
		}
	}
}

func TestWorkersProveProjects(t *testing.T) {
	for seed := range uint64(6) {
		for _, windows := range []float64{0, .1} {
			m := network{tasks: 20, resources: 4, complexity: 1.5, factor: 1, strength: .2, windows: windows, slack: 2}.project(seed)
			one, err := Solve(m, Options{Rough: true})
			require.NoError(t, err)
			last, told := Progress{Ready: Never}, 0
			many, err := Solve(m, Options{Rough: true, Workers: 3, Tell: func(p Progress) {
				told++
				assert.LessOrEqual(t, p.Ready, last.Ready)
				assert.GreaterOrEqual(t, p.Bound, last.Bound)
				last = p
			}})
			require.NoError(t, err)
			assert.Equal(t, one.Status, many.Status)
			assert.Equal(t, one.Ready, many.Ready)
			assert.Positive(t, told)
		}
	}
}

func TestStopEndsAllWorkers(t *testing.T) {
	m := network{tasks: 60, resources: 4, complexity: 1.5, factor: 1, strength: .2}.project(1)
	asked := 0
	a, err := Solve(m, Options{Rough: true, Workers: 3, Stop: func() bool { asked++; return asked > 200 }})
	require.NoError(t, err)
	assert.Equal(t, Feasible, a.Status)
	assert.NoError(t, m.CheckSchedule(a.Schedule))
	assert.Less(t, a.Bound, a.Ready)
}
