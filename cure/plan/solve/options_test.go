package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// optionModels is how many models each test draws.
const optionModels = 1500

func optionModel(seed uint64) *Model {
	d := numbers(seed)
	m := d.rich(size{people: 3, tasks: d.from(4, 7), horizon: d.from(12, 20), lags: 7})
	if d.oneIn(2) {
		m = d.crowded(size{people: 3, tasks: d.from(4, 7), horizon: d.from(12, 20), lags: 7})
	}
	return m
}

func TestBelowAsksForSomethingBetter(t *testing.T) {
	better, none := 0, 0
	for seed := range uint64(optionModels) {
		m := optionModel(seed)
		best, exists, sure := newExact(m).earliest()
		if !sure {
			continue
		}
		for _, below := range []int{best - 1, best, best + 1, m.Horizon + 1, 1, Never, 1 << 40} {
			if below <= 0 {
				continue
			}
			a, err := Solve(m, Options{Below: below})
			require.NoError(t, err)
			if !exists || best >= below {
				none++
				require.Equal(t, Infeasible, a.Status, "seed %d, below %d of %d", seed, below, best)
				require.Nil(t, a.Schedule)
				require.Zero(t, a.Ready)
				continue
			}
			better++
			require.Equal(t, Optimal, a.Status, "seed %d", seed)
			require.Equal(t, []int{best, best}, []int{a.Ready, a.Bound}, "seed %d", seed)
			require.NoError(t, m.CheckSchedule(a.Schedule))
		}
	}
	t.Logf("%d better, %d none", better, none)
	assert.Greater(t, better, optionModels/2)
	assert.Greater(t, none, optionModels/2)
}

func TestExistsStopsAtTheFirstSchedule(t *testing.T) {
	early, rough := 0, 0
	for seed := range uint64(optionModels) {
		m := optionModel(seed)
		best, exists, sure := newExact(m).earliest()
		if !sure {
			continue
		}
		for _, o := range []Options{{Exists: true}, {Rough: true}} {
			a, err := Solve(m, o)
			require.NoError(t, err)
			if !exists {
				require.Equal(t, Infeasible, a.Status, "seed %d", seed)
				continue
			}
			require.NotNil(t, a.Schedule, "seed %d", seed)
			require.NoError(t, m.CheckSchedule(a.Schedule), "seed %d", seed)
			require.LessOrEqual(t, a.Bound, best)
			require.GreaterOrEqual(t, a.Ready, best)
			require.Equal(t, a.Status == Optimal, a.Ready == a.Bound, "seed %d", seed)
			if o.Rough {
				require.Equal(t, best, a.Ready)
				require.Equal(t, []Goal{ReadyEarly}, a.Proven)
				rough++
			} else if a.Ready > best {
				early++
			}
		}
	}
	t.Logf("%d ended before the best, %d rough", early, rough)
	assert.Positive(t, early)
	assert.Greater(t, rough, optionModels/4)
}

func TestFewStepsClaimNothingThatIsNotSo(t *testing.T) {
	count := map[Status]int{}
	for seed := range uint64(optionModels) {
		m := optionModel(seed)
		best, exists, sure := newExact(m).earliest()
		if !sure {
			continue
		}
		for _, steps := range []int{1, 2, 5} {
			a, err := Solve(m, Options{Steps: steps, Rough: true, Below: int(seed%3) * m.Horizon})
			require.NoError(t, err)
			count[a.Status]++
			require.LessOrEqual(t, a.Tries, steps, "seed %d", seed)
			switch a.Status {
			case Infeasible:
				require.True(t, !exists || seed%3 == 1 && best >= m.Horizon, "seed %d", seed)
			case Optimal:
				require.Equal(t, best, a.Ready, "seed %d", seed)
			case Feasible:
				require.LessOrEqual(t, a.Bound, best, "seed %d", seed)
				require.NoError(t, m.CheckSchedule(a.Schedule))
			case Unknown:
				require.Nil(t, a.Schedule)
			}
		}
	}
	t.Log(count)
	for s := range Infeasible + 1 {
		assert.Positive(t, count[s], "status %d", s)
	}
}

// Twenty people may form more crews than are worth trying at first. What is claimed must
// hold for all of them.
func TestManyCrewsAreNotForgotten(t *testing.T) {
	m := &Model{Horizon: 200, Tasks: []Task{{Name: "seal", Duration: 8, Crew: 3, Skill: "seal", Split: true}}, Resources: []Resource{{"bay", 1}}}
	for p := range 20 { // only the last three are ever there together
		from := 9 * min(p, 17)
		m.People = append(m.People, person("one", []Window{{from, from + 5}, {from + 5, from + 9}}, "seal"))
	}
	best, ok := newOracle(m).earliest()
	require.True(t, ok)
	a, err := Solve(m, Options{})
	require.NoError(t, err)
	require.Equal(t, Optimal, a.Status)
	require.Equal(t, best, a.Ready)
	m.Tasks[0].Crew = 9
	_, err = Solve(m, Options{})
	require.ErrorContains(t, err, "seal: it may pause, and 9 of 20 people make more crews than the 10000 that can be told apart")
}

// The models that the search does not take on are answered by lists alone.
func TestLateTasksRunLateInLargeModelsToo(t *testing.T) {
	m := rule{people: []Person{person("Ana", []Window{{0, 40}}, "seal")}, tasks: []Task{wait(10), work(2).with(func(t *Task) { t.Late = true })}, lags: nil}.model()
	for range maxLearn {
		m.Tasks = append(m.Tasks, wait(0))
	}
	m.Tasks = append(m.Tasks, work(3))
	m.Ready = len(m.Tasks) - 1
	m.Lags = []Lag{after(0, m.Ready, 0), after(1, m.Ready, 0)}
	a := solved(t, m, Options{})
	assert.Equal(t, 13, a.Ready)
	assert.Equal(t, 8, a.Schedule.Start[1])
}
