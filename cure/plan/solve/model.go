// Package solve is the scheduling core: tasks on integer time, people with skills,
// shifts, and lags between tasks that may depend on when they start. It knows
// nothing of sealant, does no I/O, reads no clock and gives the same answer to the
// same question.
//
// The problem is the resource-constrained project scheduling problem with minimum
// and maximum time lags (RCPSP/max; K. Neumann, C. Schwindt, J. Zimmermann, Project
// Scheduling with Time Windows and Scarce Resources, 2003), with people assigned by
// name, shift calendars, and lags that are non-decreasing functions of time: a cure
// that takes as long as the weather makes it, a pot that runs out.
//
// Solve makes a few schedules by rule (first.go, list.go, breed.go), then searches with
// conflicts to learn from (package learn) for ever earlier ones, in turns with lists and
// with searches around the best (around.go), until none earlier is left: that proves it.
package solve

import (
	"fmt"
	"math"
	"slices"

	"beadline/cure/plan/solve/learn"
)

// Never is an instant that does not come: a function gives it where there is no
// answer within the horizon.
const Never = math.MaxInt32

// maxHorizon is what the search can count to, with room for sums.
const maxHorizon = learn.Limit - 1

// Model is one scheduling question. Ticks count from 0.
type Model struct {
	Horizon   int // no task ends after it
	People    []Person
	Resources []Resource
	Tasks     []Task
	Lags      []Lag
	Choices   []Choice
	Bars      [][]Pick // ways that are not taken together
	Ready     int      // index of the task whose end is to be as early as can be
}

// Person does one task at a time, within windows.
type Person struct {
	Name   string
	Skills []string
	Work   []Window // disjoint, in order; none: never at work
	Spare  []Window // stretches of Work that are used only if need be, such as overtime
}

// Resource is something renewable of which Units are there at any time.
type Resource struct {
	Name  string
	Units int
}

// Use is what a task holds of a resource while it runs.
type Use struct{ Resource, Units int }

// Choice is something to be decided one way out of several: a class, with heat or
// without, in two pots or three.
type Choice struct {
	Name string
	Ways int // 1 or more
}

// Pick is one way of a choice.
type Pick struct{ Choice, Way int }

// Window is a stretch of ticks, From included, To not.
type Window struct{ From, To int }

// Task is one activity. A task of no duration and no crew is a milestone.
type Task struct {
	Name     string
	Duration int      // ticks of work
	Crew     int      // people needed together
	Skill    string   // that each of them has
	Split    bool     // may pause where its people are off shift
	Within   []Window // it lies inside one of these; nil: anywhere
	Release  int
	Deadline int   // end; 0: the horizon
	NotBy    []int // tasks that share nobody with this one; symmetric
	With     int   // 1 + the task whose people it had better keep; 0: none
	Late     bool  // it had better run as late as the rest of the schedule lets it
	Uses     []Use
	If       []Pick // it is done only if all of these are taken; nil: always
	Cost     int    // what it costs to have it at all, such as 1 for a pot
}

// End says which end of a task a lag holds on to.
type End uint8

// The ends.
const (
	AtEnd End = iota
	AtStart
)

// Lag ties the time of one task to that of another: To ≥ Fn(From), or To ≤ Fn(From)
// when Max. It holds where both are done. What says in words what the lag is, for explanations.
type Lag struct {
	From, To     int
	FromAt, ToAt End
	Max          bool
	Shift        bool // the lag is the end of a shift, for the caller to tell
	Fn           Func
	What         string
}

// Func gives an instant for an instant. It is non-decreasing; Never stands for an
// instant that does not come.
type Func interface{ At(t int) int }

// Plus is a lag of constant length.
type Plus int

// At implements Func.
func (p Plus) At(t int) int { return t + int(p) }

// constant is how long a lag is where that is constant; Never and its negative stand for
// whatever is further than any task can be.
func (l *Lag) constant() (length int, ok bool) {
	p, ok := l.Fn.(Plus)
	return max(-Never, min(int(p), Never)), ok
}

// Calls makes a Func of a function and remembers its answers. It is not for several
// goroutines.
type Calls struct {
	f    func(int) int
	memo map[int]int
	grid int
}

// NewCalls wraps a non-decreasing function.
func NewCalls(f func(int) int) *Calls { return &Calls{f, map[int]int{}, 1} }

// Dear has a function asked on every so-many-th tick only where a rougher answer will
// do: it is dear to ask.
func (c *Calls) Dear(grid int) *Calls {
	c.grid = grid
	return c
}

// Grid is how far apart the ticks are on which it is asked where a rougher answer will do.
func (c *Calls) Grid() int { return c.grid }

// At implements Func.
func (c *Calls) At(t int) int {
	v, ok := c.memo[t]
	if !ok {
		v = c.f(t)
		c.memo[t] = v
	}
	return v
}

// Least is the smallest t in [lo, hi] with f(t) ≥ v, or Never.
func Least(f Func, v, lo, hi int) int {
	if p, ok := f.(Plus); ok {
		t := max(lo, v-int(p))
		if t > hi {
			return Never
		}
		return t
	}
	// Galloping: a function of cure is dear to ask, and dearer the later.
	for step := 1; ; step *= 2 {
		if lo > hi {
			return Never
		}
		if m := min(hi, lo+step-1); f.At(m) >= v {
			hi = m
			break
		} else {
			lo = m + 1
		}
	}
	for lo < hi {
		m := lo + (hi-lo)/2
		if f.At(m) >= v {
			hi = m
		} else {
			lo = m + 1
		}
	}
	return lo
}

// Check says what is wrong with a model before anyone searches in it: indices,
// windows out of order, a crew nobody can form. That a Func never decreases is for
// whoever wrote it to see to.
func (m *Model) Check() error {
	if m.Horizon < 0 || m.Horizon > maxHorizon {
		return fmt.Errorf("a horizon of %d: want 0 to %d", m.Horizon, maxHorizon)
	}
	for _, p := range m.People {
		if !ordered(p.Work) {
			return fmt.Errorf("%s: the working windows are not in order", p.Name)
		}
	}
	for i := range m.Tasks {
		if err := m.checkModelTask(i); err != nil {
			return err
		}
	}
	for _, l := range m.Lags {
		if l.From < 0 || l.To < 0 || l.From >= len(m.Tasks) || l.To >= len(m.Tasks) || l.Fn == nil {
			return fmt.Errorf("a lag (%s) points outside the model", l.What)
		}
	}
	if m.Ready < 0 || m.Ready >= len(m.Tasks) {
		return fmt.Errorf("there is no task %d to be ready", m.Ready)
	}
	if len(m.Tasks[m.Ready].If) > 0 {
		return fmt.Errorf("%s: what is to be ready may not be left out", m.Tasks[m.Ready].Name)
	}
	return m.checkRest()
}

func (m *Model) checkRest() error {
	for _, p := range m.People {
		if !ordered(p.Spare) {
			return fmt.Errorf("%s: the spare windows are not in order", p.Name)
		}
	}
	for _, c := range m.Choices {
		if c.Ways < 1 {
			return fmt.Errorf("%s: a choice among %d ways", c.Name, c.Ways)
		}
	}
	for _, r := range m.Resources {
		if r.Units < 0 {
			return fmt.Errorf("%s: %d units of it", r.Name, r.Units)
		}
	}
	for _, bar := range m.Bars {
		if err := m.checkPicks("a bar", bar); err != nil {
			return err
		}
	}
	for _, t := range m.Tasks {
		if err := m.checkPicks(t.Name, t.If); err != nil {
			return err
		}
		for _, u := range t.Uses {
			if u.Resource < 0 || u.Resource >= len(m.Resources) || u.Units < 0 {
				return fmt.Errorf("%s: it uses %d of a resource %d", t.Name, u.Units, u.Resource)
			}
		}
		if t.Cost < 0 {
			return fmt.Errorf("%s: a cost of %d", t.Name, t.Cost)
		}
	}
	return nil
}

func (m *Model) checkPicks(who string, picks []Pick) error {
	for _, p := range picks {
		if p.Choice < 0 || p.Choice >= len(m.Choices) || p.Way < 0 || p.Way >= m.Choices[p.Choice].Ways {
			return fmt.Errorf("%s: there is no way %d of a choice %d", who, p.Way, p.Choice)
		}
	}
	return nil
}

func (m *Model) checkModelTask(i int) error {
	t := &m.Tasks[i]
	switch {
	case t.Duration < 0 || t.Duration >= Never || t.Crew < 0:
		return fmt.Errorf("%s: a duration of %d with a crew of %d", t.Name, t.Duration, t.Crew)
	case t.Release < 0 || t.Release >= Never || t.Deadline < 0:
		return fmt.Errorf("%s: released at %d, due at %d: want 0 or later", t.Name, t.Release, t.Deadline)
	case t.Crew > 0 && len(m.able(i)) < t.Crew:
		return fmt.Errorf("%s: it takes %d who can %s and there are %d", t.Name, t.Crew, t.Skill, len(m.able(i)))
	case !ordered(t.Within):
		return fmt.Errorf("%s: the windows are not in order", t.Name)
	case t.With < 0 || t.With > len(m.Tasks):
		return fmt.Errorf("%s: there is no task %d whose people to keep", t.Name, t.With-1)
	}
	if n := len(m.able(i)); t.pauses() && manyCrews(n, t.Crew) {
		return fmt.Errorf("%s: it may pause, and %d of %d people make more crews than the %d that can be told apart", t.Name, t.Crew, n, allCrews)
	}
	for _, k := range t.NotBy {
		if k < 0 || k >= len(m.Tasks) || k == i || !slices.Contains(m.Tasks[k].NotBy, i) {
			return fmt.Errorf("%s: independence from task %d, which does not say the same", t.Name, k)
		}
	}
	return nil
}

// allCrews bounds the crews that a task which pauses may have: each pauses in its own way.
const allCrews = 10000

// manyCrews reports whether there are more choices of k out of n than that.
func manyCrews(n, k int) bool {
	choices := 1
	for i := range min(k, n-k) {
		if choices = choices * (n - i) / (i + 1); choices > allCrews {
			return true
		}
	}
	return false
}

func ordered(ws []Window) bool {
	for i, w := range ws {
		if w.From >= w.To || i > 0 && w.From < ws[i-1].To {
			return false
		}
	}
	return true
}

// pauses reports whether the task's end may be further from its start than its
// duration: a task of nobody's has no shift to pause for.
func (t *Task) pauses() bool { return t.Split && t.Crew > 0 }

func (m *Model) able(task int) []int {
	var out []int
	for p, person := range m.People {
		for _, s := range person.Skills {
			if s == m.Tasks[task].Skill {
				out = append(out, p)
				break
			}
		}
	}
	return out
}

func (m *Model) deadline(task int) int {
	if d := m.Tasks[task].Deadline; d > 0 {
		return min(d, m.Horizon)
	}
	return m.Horizon
}

// Schedule is when each task runs and who does it.
type Schedule struct {
	Start, End []int
	Who        [][]int // indices of people, ascending
	Picks      []int   // the way taken of each choice
}

// Time is one end of a task.
func (s *Schedule) Time(task int, e End) int {
	if e == AtStart {
		return s.Start[task]
	}
	return s.End[task]
}

// Status says what is known of a question.
type Status uint8

// The statuses.
const (
	Unknown    Status = iota // nothing found, nothing proven
	Feasible                 // a schedule
	Optimal                  // a schedule that is proven earliest
	Infeasible               // proven that there is none
)

// Goal is what a schedule is to be good at once it is ready as early as can be, the
// first first.
type Goal uint8

// The goals.
const (
	ReadyEarly Goal = iota // ready as early as can be
	LeastCost              // the least sum of Cost: the fewest pots
	LeastSpare             // the least work of tasks that lie in Spare hours, wholly or in part
	Fresh                  // what tasks with a Cost make stands waiting the shortest, in sum
	LatestCost             // with Options.Late: each task with a Cost as late as can be, the last one first
	SameHands              // the fewest tasks done by others than those of With
)

// Answer is what Solve found.
type Answer struct {
	Status   Status
	Schedule *Schedule // nil unless Feasible or Optimal
	Ready    int
	Bound    int    // no schedule is ready before this
	Proven   []Goal // reached as far as can be, with those before them held
	Tries    int    // conflicts met until the ready time was proven, or the search ended
	Clash    *Clash // where propagation alone shows that there is none; else nil
}

// Clash is the demand at which propagation showed that there is no schedule.
type Clash struct {
	Lag  int // index into Lags; -1: a task that fits nowhere
	Task int
}

// Options bound the search. The answer depends on Steps, Seed and Below only, unless
// Stop or Workers come into play.
type Options struct {
	Steps   int            // conflicts at most until the ready time is proven; 0: no limit
	Seed    int64          // of everything drawn by lot
	Below   int            // only schedules ready before this are of interest; 0: any
	Rough   bool           // any schedule of the best ready time will do
	Late    bool           // what has a Cost is to be done as late as can be, and not with the rest early
	Exists  bool           // any schedule at all will do
	Stop    func() bool    // asked now and then; true ends the search with the best so far
	Tell    func(Progress) // told of every better schedule and bound
	Workers int            // searches side by side; 0 or 1: one. More: what is not proven may differ between runs
}

// Progress is how far a search has come.
type Progress struct {
	Found bool
	Ready int // of the best schedule so far
	Bound int // no schedule is ready before this
	Tries int
}
