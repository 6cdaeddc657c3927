package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A morning and an afternoon with a break between them, twice.
var twoDays = []Window{{0, 4}, {5, 9}, {20, 24}, {25, 29}}

func person(name string, work []Window, skills ...string) Person {
	return Person{Name: name, Skills: skills, Work: work}
}

func work(duration int) Task {
	return Task{Name: "work", Duration: duration, Crew: 1, Skill: "seal"}
}

func (t Task) with(change func(*Task)) Task {
	change(&t)
	return t
}

// wait is a task nobody does.
func wait(duration int) Task { return Task{Name: "wait", Duration: duration} }

func after(from, to, gap int) Lag {
	return Lag{From: from, To: to, Fn: Plus(gap), ToAt: AtStart, What: "after"}
}

func notLater(from, to int, gap int) Lag {
	return Lag{From: from, To: to, Fn: Plus(gap), ToAt: AtStart, Max: true, What: "not later"}
}

func (l Lag) by(f Func) Lag         { l.Fn = f; return l }
func (l Lag) ends(from, to End) Lag { l.FromAt, l.ToAt = from, to; return l }

// The answers in these tables are worked out by hand, on paper, from the rule that
// names the row.
type rule struct {
	name   string
	people []Person
	tasks  []Task
	lags   []Lag
	starts []int // nil: not asked; -1: anywhere
	ready  int   // of the last task
}

func (r rule) model() *Model {
	return &Model{Horizon: 40, People: r.people, Tasks: r.tasks, Lags: r.lags, Ready: len(r.tasks) - 1}
}

func (r rule) run(t *testing.T) {
	m := r.model()
	a, err := Solve(m, Options{})
	require.NoError(t, err)
	require.NotNil(t, a.Schedule, "%+v", a.Clash)
	require.NoError(t, m.CheckSchedule(a.Schedule))
	assert.Equal(t, r.ready, a.Ready)
	assert.Equal(t, a.Bound == a.Ready, a.Status == Optimal)
	for j, want := range r.starts {
		if want >= 0 {
			assert.Equal(t, want, a.Schedule.Start[j], "start of task %d", j)
		}
	}
	best, ok := newOracle(m).earliest()
	assert.True(t, ok)
	assert.Equal(t, r.ready, best, "the oracle does not agree with the row")
}

func TestWorkKeepsToShifts(t *testing.T) {
	one := []Person{person("Ana", twoDays, "seal")}
	for _, r := range []rule{
		{"work starts when the shift does", []Person{person("Ana", twoDays[1:], "seal")}, []Task{work(2)}, nil, []int{5}, 7},
		{"work that fits before the break is done before it", one, []Task{work(4)}, nil, []int{0}, 4},
		{"work does not straddle a break", one, []Task{work(2), work(3)}, []Lag{after(0, 1, 0)}, []int{0, 5}, 8},
		{"windows that touch are still two", []Person{person("Ana", []Window{{0, 3}, {3, 9}}, "seal")}, []Task{work(4)}, nil, []int{3}, 7},
		{"work too long for the rest of the day waits for the next", one, []Task{work(4), work(2), work(3)}, []Lag{after(0, 1, 0), after(1, 2, 0)}, []int{0, 5, 20}, 23},
		{"a wait runs on through breaks and nights", one, []Task{work(4), wait(17), work(1)}, []Lag{after(0, 1, 0), after(1, 2, 0)}, []int{0, 4, 21}, 22},
		{"a milestone of nobody's may come off shift", one, []Task{work(4), wait(0)}, []Lag{after(0, 1, 0)}, []int{0, 4}, 4},
		{"a milestone that someone sees to comes in their shift", one, []Task{work(4), work(0)}, []Lag{after(0, 1, 0)}, []int{0, 5}, 5},
		{"a milestone fits between two tasks of the same person", one, []Task{work(2), work(0), work(2)}, []Lag{after(0, 1, 0), after(1, 2, 0)}, []int{0, 2, 2}, 4},
		{"one person is in one place", one, []Task{work(2), work(2), wait(0)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, nil, 4},
	} {
		t.Run(r.name, r.run)
	}
}

func TestSplittableWorkPauses(t *testing.T) {
	one := []Person{person("Ana", twoDays, "seal")}
	split := func(t *Task) { t.Split = true }
	two := func(t *Task) { t.Split, t.Crew = true, 2 }
	for _, r := range []rule{
		{"over a break", one, []Task{work(6).with(split)}, nil, []int{0}, 7},
		{"over a night", one, []Task{work(2), work(7).with(split)}, []Lag{after(0, 1, 0)}, []int{0, 2}, 21},
		{"and is done by whoever ends first, not by whoever starts first", []Person{person("Ana", []Window{{0, 1}, {20, 30}}, "seal"), person("Ben", []Window{{3, 10}}, "seal")},
			[]Task{work(3).with(split)}, nil, nil, 6},
		{"and takes no other work of the person's while it pauses", one, []Task{work(6).with(split), work(1), wait(0)},
			[]Lag{after(0, 2, 0), after(1, 2, 0)}, nil, 8},
		{"two together pause when either is off", []Person{person("Ana", twoDays, "seal"), person("Ben", []Window{{0, 2}, {6, 12}}, "seal")},
			[]Task{work(4).with(two)}, nil, []int{0}, 8},
		{"two of three end when two of them can", []Person{person("Ana", []Window{{0, 30}}, "seal"), person("Ben", []Window{{0, 30}}, "seal"), person("Cem", []Window{{0, 1}, {30, 40}}, "seal")},
			[]Task{work(3).with(two)}, nil, []int{0}, 3},
		{"pauses count against the task's own windows", one, []Task{work(3).with(func(t *Task) { t.Split, t.Within = true, []Window{{2, 5}, {7, 12}, {19, 40}} })}, nil, []int{20}, 23},
		{"with nobody to pause for, it does not", nil, []Task{wait(6).with(split)}, nil, []int{0}, 6},
		{"an end that must come late lets the start come early", one, []Task{wait(7), work(4).with(split)}, []Lag{after(0, 1, 0).ends(AtEnd, AtEnd)}, nil, 7},
	} {
		t.Run(r.name, r.run)
	}
}

func TestCrewNeedsCommonTimeAndSkill(t *testing.T) {
	two := func(t *Task) { t.Crew = 2 }
	inspect := func(t *Task) { t.Skill = "inspect" }
	for _, r := range []rule{
		{"two start when both are at work", []Person{person("Ana", []Window{{0, 10}}, "seal"), person("Ben", []Window{{6, 20}}, "seal")}, []Task{work(3).with(two)}, nil, []int{6}, 9},
		{"and end before either leaves", []Person{person("Ana", []Window{{0, 8}, {12, 20}}, "seal"), person("Ben", []Window{{6, 20}}, "seal")}, []Task{work(3).with(two)}, nil, []int{12}, 15},
		{"two of three: the two who are there", []Person{person("Ana", []Window{{0, 2}}, "seal"), person("Ben", []Window{{1, 9}}, "seal"), person("Cem", []Window{{4, 9}}, "seal")},
			[]Task{work(2).with(two)}, nil, []int{4}, 6},
		{"who lacks the skill does not count", []Person{person("Ana", []Window{{0, 9}}, "inspect"), person("Ben", []Window{{5, 9}}, "seal")}, []Task{work(2)}, nil, []int{5}, 7},
		{"the versatile stay free for what only they can do", []Person{person("Ana", []Window{{0, 9}}, "seal", "inspect"), person("Ben", []Window{{0, 9}}, "seal")},
			[]Task{work(4), work(4).with(inspect), wait(0)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{0, 0}, 4},
		{"who is never at work does nothing", []Person{person("Ana", nil, "seal"), person("Ben", []Window{{3, 9}}, "seal")}, []Task{work(2)}, nil, []int{3}, 5},
		{"and nothing that may pause", []Person{person("Ana", nil, "seal"), person("Ben", []Window{{3, 9}}, "seal")}, []Task{work(2).with(func(t *Task) { t.Split = true })}, nil, []int{3}, 5},
	} {
		t.Run(r.name, r.run)
	}
}

func TestIndependentWorkIsDoneByOthers(t *testing.T) {
	apart := func(k ...int) func(*Task) { return func(t *Task) { t.NotBy = k } }
	inspect := func(k ...int) func(*Task) {
		return func(t *Task) { t.NotBy, t.Skill = k, "inspect" }
	}
	all := []Window{{0, 20}}
	for _, r := range []rule{
		{"who sealed does not inspect", []Person{person("Ana", all, "seal", "inspect"), person("Ben", []Window{{7, 20}}, "seal", "inspect")},
			[]Task{work(2).with(apart(1)), work(1).with(inspect(0))}, []Lag{after(0, 1, 0)}, []int{0, 7}, 8},
		{"the only inspector is not used up on sealing", []Person{person("Ana", all, "inspect", "seal"), person("Ben", []Window{{3, 20}}, "seal")},
			[]Task{work(2).with(apart(1)), work(1).with(inspect(0))}, []Lag{after(0, 1, 0)}, []int{3, 5}, 6},
		{"of two inspectors the second does not seal when the first has", []Person{person("Ana", all, "inspect", "seal"), person("Ben", all, "inspect", "seal")},
			[]Task{work(2).with(apart(2)), work(2).with(apart(2)), work(1).with(inspect(0, 1))}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{-1, -1, 4}, 5},
		{"nor on one of several tasks", []Person{person("Ana", all, "inspect", "seal"), person("Ben", all, "seal")},
			[]Task{work(2).with(apart(2)), work(2).with(apart(2)), work(1).with(inspect(0, 1))}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{-1, -1, 4}, 5},
	} {
		t.Run(r.name, r.run)
	}
}

func TestLagsHoldOnToTheEndTheyName(t *testing.T) {
	both := []Person{person("Ana", []Window{{0, 40}}, "seal"), person("Ben", []Window{{0, 40}}, "seal")}
	lag := after(0, 1, 5)
	for _, r := range []rule{
		{"end to start", both, []Task{work(3), work(4)}, []Lag{lag.ends(AtEnd, AtStart)}, []int{0, 8}, 12},
		{"start to start", both, []Task{work(3), work(4)}, []Lag{lag.ends(AtStart, AtStart)}, []int{0, 5}, 9},
		{"end to end", both, []Task{work(3), work(4)}, []Lag{lag.ends(AtEnd, AtEnd)}, []int{0, 4}, 8},
		{"start to end", both, []Task{work(3), work(4)}, []Lag{lag.ends(AtStart, AtEnd)}, []int{0, 1}, 5},
		{"a negative one lets them overlap", both, []Task{work(3), work(4)}, []Lag{after(0, 1, -2)}, []int{0, 1}, 5},
		{"two that go round in a circle hold both", both, []Task{work(3), work(4)}, []Lag{after(0, 1, 2).ends(AtStart, AtStart), after(1, 0, -2).ends(AtStart, AtStart)}, nil, 6},
		{"of a task to itself", both, []Task{work(2)}, []Lag{{FromAt: AtStart, Fn: ladder{9}}}, []int{7}, 9},
	} {
		t.Run(r.name, r.run)
	}
}

func TestMaximumLagPutsItsSourceOff(t *testing.T) {
	ana := person("Ana", []Window{{0, 4}, {10, 40}}, "seal")
	all := person("Ana", []Window{{0, 40}}, "seal")
	for _, r := range []rule{
		{"for a shift that follows too late", []Person{ana}, []Task{work(3), work(2)}, []Lag{after(0, 1, 0), notLater(0, 1, 4)}, []int{10, 13}, 15},
		{"for a slow partner", []Person{all}, []Task{wait(9), work(1), work(2)}, []Lag{after(0, 2, 0), after(1, 2, 0), notLater(1, 2, 3)}, []int{0, -1, 9}, 11},
		{"counted to the end of what follows", []Person{all}, []Task{wait(9), work(1), work(2)}, []Lag{after(0, 2, 0), after(1, 2, 0), notLater(1, 2, 3).ends(AtEnd, AtEnd)}, []int{0, -1, 9}, 11},
		{"counted from its own start", []Person{all}, []Task{wait(9), work(2), work(2)}, []Lag{after(0, 2, 0), after(1, 2, 0), notLater(1, 2, 3).ends(AtStart, AtStart)}, []int{0, -1, 9}, 11},
		{"where the source comes after what it limits", []Person{all}, []Task{work(2), work(2)}, []Lag{after(0, 1, 0), notLater(1, 0, -6).ends(AtStart, AtStart)}, []int{0, 6}, 8},
		{"through a chain of two", []Person{ana}, []Task{work(1), work(1), work(3)},
			[]Lag{after(0, 1, 0), after(1, 2, 0), notLater(0, 1, 2), notLater(1, 2, 2)}, []int{10, 11, 12}, 15},
	} {
		t.Run(r.name, r.run)
	}
}

func TestFunctionLagIsAskedAtTheTimeItRunsFrom(t *testing.T) {
	all := person("Ana", []Window{{0, 40}}, "seal")
	// Cures in 10 when laid before 5, and all that is laid later is ready at 16 or 3 after.
	cure := ladder{10, 11, 12, 13, 14, 16, 16, 16, 16, 16, 16, 16, 16, 16, 17, 18, 19, 20, 21, 22, 23}
	pot := ladder{4, 4, 4, 9, 9, 9, 9, 9, 9, 20, 20, 20}
	for _, r := range []rule{
		{"early", []Person{all}, []Task{work(2), work(1)}, []Lag{after(0, 1, 0).by(cure)}, []int{0, 12}, 13},
		{"later, where it takes longer", []Person{all}, []Task{work(2).with(func(t *Task) { t.Release = 3 }), work(1)}, []Lag{after(0, 1, 0).by(cure)}, []int{3, 16}, 17},
		{"a maximum waits for the step that allows it", []Person{all}, []Task{work(0), wait(8), work(1)}, []Lag{after(1, 2, 0), notLater(0, 2, 0).by(pot)}, []int{3, 0, 8}, 9},
		{"and for the step after that", []Person{all}, []Task{work(0), wait(10), work(1)}, []Lag{after(1, 2, 0), notLater(0, 2, 0).by(pot)}, []int{9, 0, 10}, 11},
		{"a maximum that never comes is no limit", []Person{all}, []Task{work(0), wait(30), work(1)}, []Lag{after(1, 2, 0), notLater(0, 2, 0).by(ladder{Never})}, []int{0, 0, 30}, 31},
	} {
		t.Run(r.name, r.run)
	}
}

func TestTaskKeepsToItsOwnTimes(t *testing.T) {
	all := person("Ana", []Window{{0, 40}}, "seal")
	set := func(f func(*Task)) []Task { return []Task{work(3).with(f)} }
	for _, r := range []rule{
		{"within windows", []Person{all}, set(func(t *Task) { t.Within = []Window{{0, 2}, {4, 6}, {8, 20}} }), nil, []int{8}, 11},
		{"within windows and a shift", []Person{person("Ana", []Window{{0, 10}, {13, 40}}, "seal")}, set(func(t *Task) { t.Within = []Window{{0, 2}, {8, 20}} }), nil, []int{13}, 16},
		{"within windows with nobody", nil, []Task{wait(3).with(func(t *Task) { t.Within = []Window{{0, 2}, {8, 20}} })}, nil, []int{8}, 11},
		{"a milestone within windows", nil, []Task{wait(4), wait(0).with(func(t *Task) { t.Within = []Window{{0, 4}, {8, 20}} })}, []Lag{after(0, 1, 0)}, []int{0, 8}, 8},
		{"from its release", []Person{all}, set(func(t *Task) { t.Release = 6 }), nil, []int{6}, 9},
		{"a deadline is the end that is just in time", []Person{all}, set(func(t *Task) { t.Deadline = 3 }), nil, []int{0}, 3},
		{"what is due first goes first", []Person{all}, []Task{work(3), work(4).with(func(t *Task) { t.Deadline = 4 }), wait(0)}, []Lag{after(0, 2, 0), after(1, 2, 0)}, []int{4, 0}, 7},
	} {
		t.Run(r.name, r.run)
	}
}

func TestInfeasibleNamesWhatCannotBeMet(t *testing.T) {
	all := []Person{person("Ana", []Window{{0, 40}}, "seal")}
	for _, r := range []struct {
		name string
		rule
		clash Clash
	}{
		{"a task too long for any shift", rule{people: []Person{person("Ana", twoDays, "seal")}, tasks: []Task{wait(1), work(5)}}, Clash{Lag: -1, Task: 1}},
		{"a task of someone who is never at work", rule{people: []Person{person("Ana", nil, "seal")}, tasks: []Task{wait(1), work(1)}}, Clash{Lag: -1, Task: 1}},
		{"two who are never at work together", rule{people: []Person{person("Ana", []Window{{0, 5}}, "seal"), person("Ben", []Window{{4, 9}}, "seal")}, tasks: []Task{work(2).with(func(t *Task) { t.Crew = 2 })}}, Clash{Lag: -1, Task: 0}},
		{"no window that holds the task", rule{tasks: []Task{wait(3).with(func(t *Task) { t.Within = []Window{{0, 2}, {2, 4}} })}}, Clash{Lag: -1, Task: 0}},
		{"a deadline before the release lets it end", rule{people: all, tasks: []Task{work(3).with(func(t *Task) { t.Release, t.Deadline = 2, 4 })}}, Clash{Lag: -1, Task: 0}},
		{"a lag past the deadline", rule{people: all, tasks: []Task{work(3), work(1).with(func(t *Task) { t.Deadline = 6 })}, lags: []Lag{after(0, 1, 0), after(0, 1, 3)}}, Clash{Lag: 1, Task: 1}},
		{"a lag past the horizon", rule{people: all, tasks: []Task{work(3), work(1)}, lags: []Lag{after(0, 1, 37)}}, Clash{Lag: 0, Task: 1}},
		{"a cure that never comes", rule{people: all, tasks: []Task{work(3), work(1)}, lags: []Lag{after(0, 1, 0), after(0, 1, 0).by(ladder{Never})}}, Clash{Lag: 1, Task: 1}},
		{"a maximum shorter than the minimum", rule{people: all, tasks: []Task{work(3), work(1)}, lags: []Lag{after(0, 1, 5), notLater(0, 1, 4)}}, Clash{}},
		{"a maximum too short for a shift that never comes", rule{people: all, tasks: []Task{work(3).with(func(t *Task) { t.Deadline = 6 }), wait(20), work(1)}, lags: []Lag{after(1, 2, 0), notLater(0, 2, 13)}}, Clash{Lag: 1, Task: 0}},
	} {
		t.Run(r.name, func(t *testing.T) {
			m := r.model()
			_, exists := newOracle(m).earliest()
			require.False(t, exists, "the oracle finds a schedule")
			a, err := Solve(m, Options{})
			require.NoError(t, err)
			assert.Equal(t, Infeasible, a.Status)
			assert.Nil(t, a.Schedule)
			require.NotNil(t, a.Clash)
			if r.clash != (Clash{}) {
				assert.Equal(t, r.clash, *a.Clash)
			}
			_, ok := Bound(m)
			assert.False(t, ok)
		})
	}
}

func TestTooMuchWorkForTheShiftIsProven(t *testing.T) {
	// Four hours of work in one shift of three: no single lag or window shows it.
	m := rule{people: []Person{person("Ana", []Window{{0, 3}}, "seal")}, tasks: []Task{work(2), work(2)}}.model()
	a, err := Solve(m, Options{})
	require.NoError(t, err)
	assert.Equal(t, Infeasible, a.Status)
	assert.Nil(t, a.Schedule)
	assert.Nil(t, a.Clash)
}

func TestModelThatMakesNoSenseIsRefused(t *testing.T) {
	for _, r := range []struct {
		name, says string
		spoil      func(*Model)
	}{
		{"a horizon past Never", "horizon", func(m *Model) { m.Horizon = Never }},
		{"a negative horizon", "horizon", func(m *Model) { m.Horizon = -1 }},
		{"overlapping shifts", "Ana: the working windows are not in order", func(m *Model) { m.People[0].Work = []Window{{0, 5}, {4, 9}} }},
		{"an empty shift", "Ana: the working windows are not in order", func(m *Model) { m.People[0].Work = []Window{{5, 5}} }},
		{"a task's windows out of order", "work: the windows are not in order", func(m *Model) { m.Tasks[0].Within = []Window{{5, 9}, {0, 3}} }},
		{"a negative duration", "work: a duration of -1", func(m *Model) { m.Tasks[0].Duration = -1 }},
		{"a negative crew", "crew of -1", func(m *Model) { m.Tasks[0].Crew = -1 }},
		{"a crew nobody can form", "work: it takes 2 who can seal and there are 1", func(m *Model) { m.Tasks[0].Crew = 2 }},
		{"a negative release", "work: released at -1", func(m *Model) { m.Tasks[0].Release = -1 }},
		{"a negative deadline", "due at -1", func(m *Model) { m.Tasks[0].Deadline = -1 }},
		{"a lag from nowhere", "a lag (after) points outside", func(m *Model) { m.Lags[0].From = 2 }},
		{"a lag to nowhere", "a lag (after) points outside", func(m *Model) { m.Lags[0].To = -1 }},
		{"a lag without a function", "a lag (after) points outside", func(m *Model) { m.Lags[0].Fn = nil }},
		{"people kept from no task", "work: there is no task 6", func(m *Model) { m.Tasks[0].With = 7 }},
		{"independence from no task", "work: independence from task 9", func(m *Model) { m.Tasks[0].NotBy = []int{9} }},
		{"independence from itself", "work: independence from task 0", func(m *Model) { m.Tasks[0].NotBy = []int{0} }},
		{"independence one way", "work: independence from task 1", func(m *Model) { m.Tasks[0].NotBy = []int{1} }},
		{"no task to be ready", "there is no task 2 to be ready", func(m *Model) { m.Ready = 2 }},
	} {
		t.Run(r.name, func(t *testing.T) {
			m := rule{people: []Person{person("Ana", twoDays, "seal")}, tasks: []Task{work(2), wait(1)}, lags: []Lag{after(0, 1, 0)}}.model()
			require.NoError(t, m.Check())
			r.spoil(m)
			_, err := Solve(m, Options{})
			assert.ErrorContains(t, err, r.says)
		})
	}
}

func TestLeastIsTheFirstThatIsEnough(t *testing.T) {
	f := ladder{0, 0, 3, 3, 3, 7, 9, Never}
	for lo := 0; lo < 8; lo++ {
		for hi := lo; hi < 8; hi++ {
			for v := -1; v < 12; v++ {
				want := Never
				for x := hi; x >= lo; x-- {
					if f.At(x) >= v {
						want = x
					}
				}
				assert.Equal(t, want, Least(f, v, lo, hi), "%d in [%d, %d]", v, lo, hi)
				assert.Equal(t, want, Least(NewCalls(f.At), v, lo, hi), "%d in [%d, %d], remembered", v, lo, hi)
			}
		}
	}
	assert.Equal(t, 4, Least(Plus(3), 7, 0, 9))
	assert.Equal(t, 5, Least(Plus(3), 7, 5, 9))
	assert.Equal(t, Never, Least(Plus(3), 7, 0, 3))
	assert.Equal(t, Never, Least(f, 3, 5, 4))
}

func TestCallsAsksOnce(t *testing.T) {
	asked := 0
	c := NewCalls(func(t int) int { asked++; return 2 * t })
	assert.Equal(t, []int{6, 6, 8}, []int{c.At(3), c.At(3), c.At(4)})
	assert.Equal(t, 2, asked)
}

// A window that is over before the work between its ends is done is seen at once, and
// not by pushing its tasks on to a far horizon.
func TestWindowShorterThanTheWorkInItIsACircle(t *testing.T) {
	m := &Model{Horizon: 1 << 20, Tasks: []Task{{Name: "clean", Duration: 15}, {Name: "warm", Duration: 55}, {Name: "seal", Duration: 6}},
		Lags: []Lag{
			{From: 0, To: 1, ToAt: AtStart, Fn: Plus(0)},
			{From: 1, To: 2, ToAt: AtStart, Fn: Plus(0)},
			{From: 0, To: 2, Max: true, Fn: Plus(60), What: "sealed within 60 of cleaning"},
		}, Ready: 2}
	a, err := Solve(m, Options{})
	require.NoError(t, err)
	assert.Equal(t, Infeasible, a.Status)
	assert.Equal(t, &Clash{Lag: 2, Task: 0}, a.Clash)
	m.Lags[2].Fn = Plus(61)
	a, err = Solve(m, Options{})
	require.NoError(t, err)
	assert.Equal(t, Optimal, a.Status)
}
