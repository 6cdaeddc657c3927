package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func solved(t *testing.T, m *Model, o Options) Answer {
	t.Helper()
	a, err := Solve(m, o)
	require.NoError(t, err)
	require.NotNil(t, a.Schedule, "%+v", a.Clash)
	require.NoError(t, m.CheckSchedule(a.Schedule))
	return a
}

func TestLateTaskRunsJustBeforeWhatNeedsIt(t *testing.T) {
	late := func(t *Task) { t.Late = true }
	ana, ben := person("Ana", []Window{{0, 40}}, "seal"), person("Ben", []Window{{0, 40}}, "seal")
	for _, r := range []rule{
		{"it waits for what it waits with", []Person{ana}, []Task{wait(10), work(2).with(late), work(3)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{0, 8, 10}, 13},
		{"no later than its gap allows", []Person{ana}, []Task{wait(10), work(2).with(late), work(3)}, []Lag{after(0, 2, 0), after(1, 2, 4)}, []int{0, 4, 10}, 13},
		{"and its deadline", []Person{ana}, []Task{wait(10), work(2).with(func(t *Task) { t.Late, t.Deadline = true, 7 }), work(3)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{0, 5, 10}, 13},
		{"and its windows", []Person{ana}, []Task{wait(10), work(2).with(func(t *Task) { t.Late, t.Within = true, []Window{{0, 3}, {6, 9}} }), work(3)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{0, 7, 10}, 13},
		{"and its person's shift", []Person{person("Ana", []Window{{0, 6}, {9, 40}}, "seal")}, []Task{wait(10), work(2).with(late), work(3)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{0, 4, 10}, 13},
		{"and its person's other work", []Person{ana}, []Task{wait(10), work(2).with(late), work(3).with(func(t *Task) { t.Release, t.Deadline = 7, 10 }), work(3)}, []Lag{after(0, 3, 0), after(1, 3, 0)}, []int{0, 5, 7, 10}, 13},
		{"two of them follow one another", []Person{ana}, []Task{wait(10), work(2).with(late), work(1).with(late), work(3)}, []Lag{after(0, 3, 0), after(1, 2, 0), after(2, 3, 0)}, []int{0, 7, 9, 10}, 13},
		{"what it is ready by is not put off", []Person{ana}, []Task{work(2).with(late)}, nil, []int{0}, 2},
		{"nor past a maximum from before it", []Person{ana, ben}, []Task{wait(10), work(1), work(2).with(late), work(3)},
			[]Lag{after(0, 3, 0), after(1, 2, 0), after(2, 3, 0), notLater(1, 2, 3).ends(AtEnd, AtEnd)}, []int{0, 0, 2, 10}, 13},
	} {
		t.Run(r.name, r.run)
	}
}

func TestWithKeepsThePersonOnTheWork(t *testing.T) {
	people := []Person{person("Ana", []Window{{0, 40}}, "seal"), person("Ben", []Window{{0, 40}}, "seal"), person("Cem", []Window{{0, 40}}, "mix", "seal")}
	m := rule{people: people, tasks: []Task{{Name: "mix", Duration: 2, Crew: 1, Skill: "mix"}, work(3).with(func(t *Task) { t.With = 1 })}, lags: []Lag{after(0, 1, 0)}}.model()
	a := solved(t, m, Options{})
	assert.Equal(t, [][]int{{2}, {2}}, a.Schedule.Who, "the one who mixed seals, though others with fewer skills are free")
	m.Tasks[1].Split = true
	a = solved(t, m, Options{})
	assert.Equal(t, [][]int{{2}, {2}}, a.Schedule.Who, "also where the sealing may pause")
}

func TestTheSameQuestionHasTheSameAnswer(t *testing.T) {
	for seed := range uint64(200) {
		ask := func(s int64) Answer {
			a, err := Solve(numbers(seed).model(size{people: 3, tasks: 7, horizon: 40, lags: 8}), Options{Seed: s})
			require.NoError(t, err)
			return a
		}
		first := ask(1)
		require.Equal(t, first, ask(1), "seed %d", seed)
		other := ask(2)
		assert.Equal(t, first.Bound, other.Bound, "the bound owes nothing to the seed")
		if first.Status == Infeasible || first.Status == Optimal && other.Status == Optimal {
			assert.Equal(t, first.Status, other.Status)
			assert.Equal(t, first.Ready, other.Ready, "what is proven is so for every seed")
		}
	}
}

func TestSolveLeavesTheModelAsItWas(t *testing.T) {
	for seed := range uint64(100) {
		m, same := numbers(seed).model(tiny), numbers(seed).model(tiny)
		a, err := Solve(m, Options{})
		require.NoError(t, err)
		if a.Schedule != nil {
			Latest(m, a.Schedule, []int{0}, m.Horizon, nil)
		}
		require.Equal(t, same, m)
	}
}

func TestMoreStepsAreNeverWorse(t *testing.T) {
	m := threeDays()
	last := Never
	for _, steps := range []int{1, 100, 1000} {
		a := solved(t, m, Options{Steps: steps, Rough: true})
		assert.LessOrEqual(t, a.Ready, last)
		assert.LessOrEqual(t, a.Tries, steps)
		last = a.Ready
	}
}

func TestStopEndsTheSearchWithTheBestSoFar(t *testing.T) {
	m := threeDays()
	a := solved(t, m, Options{Stop: func() bool { return true }})
	assert.Equal(t, Feasible, a.Status, "one is always tried")
	assert.Less(t, a.Bound, a.Ready)
}

func TestTellHearsOfEveryBetterAnswer(t *testing.T) {
	m := threeDays()
	var heard []Progress
	a := solved(t, m, Options{Steps: 2000, Rough: true, Tell: func(p Progress) { heard = append(heard, p) }})
	require.NotEmpty(t, heard)
	for i := 1; i < len(heard); i++ {
		assert.GreaterOrEqual(t, heard[i].Bound, heard[i-1].Bound)
		if heard[i-1].Found {
			assert.LessOrEqual(t, heard[i].Ready, heard[i-1].Ready)
		}
	}
	last := heard[len(heard)-1]
	assert.Equal(t, a.Ready, last.Ready)
}

func TestLatestIsTheLastStartThatIsStillInTime(t *testing.T) {
	ana := []Person{person("Ana", []Window{{0, 8}, {10, 40}}, "seal")}
	for _, r := range []struct {
		name        string
		rule        rule
		task, limit int
		want        int
	}{
		{"alone, up to the limit", rule{people: ana, tasks: []Task{work(2)}}, 0, 20, 18},
		{"the limit just met", rule{people: ana, tasks: []Task{work(2)}}, 0, 2, 0},
		{"before the break that the rest cannot straddle", rule{people: ana, tasks: []Task{work(3), work(4)}, lags: []Lag{after(0, 1, 0)}}, 0, 9, 1},
		{"by its deadline", rule{people: ana, tasks: []Task{work(3).with(func(t *Task) { t.Deadline = 7 }), work(4)}, lags: []Lag{after(0, 1, 0)}}, 0, 30, 4},
		{"behind a cure that takes longer the later it starts", rule{people: ana, tasks: []Task{work(1), work(1)}, lags: []Lag{after(0, 1, 0).by(ladder{5, 5, 5, 5, 5, 15, 20, 30, 35})}}, 0, 21, 5},
	} {
		t.Run(r.name, func(t *testing.T) {
			m := r.rule.model()
			a := solved(t, m, Options{})
			at, sure := Latest(m, a.Schedule, []int{r.task}, r.limit, nil)
			assert.Equal(t, []int{r.want}, at)
			assert.Equal(t, []bool{true}, sure)
			assert.Equal(t, r.want, newOracle(m).latest(r.task, r.limit))
		})
	}
}

func TestLatestIsWhatTryingEverythingFinds(t *testing.T) {
	n := 0
	for seed := range uint64(1500) {
		m := numbers(seed).model(tiny)
		a, err := Solve(m, Options{})
		require.NoError(t, err)
		if a.Schedule == nil {
			continue
		}
		limit := min(m.Horizon, a.Ready+int(seed%4))
		var all []int
		for j := range m.Tasks {
			if a.Schedule.Start[j] >= 0 {
				all = append(all, j)
			}
		}
		at, sure := Latest(m, a.Schedule, all, limit, nil)
		for i, j := range all {
			require.True(t, sure[i])
			require.Equal(t, newOracle(m).latest(j, limit), at[i], "seed %d, task %d", seed, j)
			n++
		}
	}
	assert.Greater(t, n, 1000)
}

func TestOpensIsByShiftsAndWindowsAndOnShiftByShiftsAlone(t *testing.T) {
	people := []Person{person("Ana", []Window{{0, 6}, {8, 40}}, "seal"), person("Ben", []Window{{3, 9}, {12, 40}}, "seal")}
	within := []Window{{0, 5}, {15, 40}}
	m := rule{people: people, tasks: []Task{work(3), work(3).with(func(t *Task) { t.Within, t.Crew = within, 2 }), wait(3).with(func(t *Task) { t.Within = within })}}.model()
	for _, r := range []struct {
		task, t         int
		who             []int
		opens, onShifts int
	}{
		{0, 0, []int{0}, 0, 0},
		{0, 4, []int{0}, 8, 8},
		{0, 38, []int{0}, Never, Never},
		{1, 0, []int{0, 1}, 15, 3},
		{1, 4, []int{0, 1}, 15, 12},
		{2, 1, nil, 1, 1},
		{2, 3, nil, 15, 3},
	} {
		assert.Equal(t, r.opens, m.Opens(r.task, r.t, r.who), "%+v", r)
		assert.Equal(t, r.onShifts, m.OnShift(r.task, r.t, r.who), "%+v", r)
	}
	assert.Equal(t, within, m.Tasks[1].Within)
}
