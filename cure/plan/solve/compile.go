package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// net is a model laid out for the learning search: a variable for the start of each
// task (and for the end of one that may pause), one of 0 and 1 for each choice, for each
// person on each task, and for each order of two tasks that one person may both do.
type net struct {
	m     *Model
	e     *learn.Engine
	start []learn.Var
	end   []learn.Var   // of tasks that pause; −1: start and duration
	on    []learn.Atom  // the task is done
	picks [][]learn.Var // by choice and way
	does  [][]learn.Var // by task and person; −1: cannot
	able  [][]int
	crews [][]crewVar // of tasks that pause, done by several
	ands  map[[2]learn.Atom]learn.Atom
	steps map[stepKey]*table
	by    int      // it is to be ready by then
	exact bool     // dear functions are asked on every tick
	later []func() // arcs back along dear functions, which would be asked far out
	some  map[eitherKey]*either
	seen  []eitherKey // in the order in which they were first asked for
	far   [][]int32   // longest way along constant lags from start to start; nil: not known

	stop    func() bool
	stopped bool
}

// crewVar is the decision that just these people do a task.
type crewVar struct {
	who []int
	on  learn.Atom
}

// The learning search takes on models up to a size: it has a variable for the order of
// every two tasks that share a person, and where there are few tasks also for those that
// ask together for more of a resource than there is.
const (
	maxLearn  = 1500
	maxOrders = 1_200_000 // of two tasks and a person who may do both
	maxPairs  = 300       // tasks
)

// large reports whether a model is past what the learning search takes on.
func (m *Model) large() bool {
	orders := 0
	for p := range m.People {
		k := 0
		for j := range m.Tasks {
			if m.Tasks[j].Crew > 0 && slices.Contains(m.People[p].Skills, m.Tasks[j].Skill) {
				k++
			}
		}
		orders += k * (k - 1) / 2
	}
	return len(m.Tasks) > maxLearn || orders > maxOrders
}

// compile lays a model out, to be ready by a tick. ok is false where it is seen at once
// that there is no schedule.
func compile(m *Model, by int, seed int64) (n *net, ok bool) { return compileFor(m, by, seed, nil) }

// compileFor is compile that gives up when stop says so; n.stopped is set then, and ok
// says nothing.
func compileFor(m *Model, by int, seed int64, stop func() bool) (n *net, ok bool) {
	if n, ok = frame(m, by, seed, false); !ok {
		return n, false
	}
	n.stop = stop
	n.distances()
	n.people()
	return n, n.resources() && !n.stopped && n.e.Settle()
}

// late asks now and then whether to give up.
func (n *net) late(i int) bool {
	if n.stop != nil && i%8 == 7 && !n.stopped {
		n.stopped = n.stop()
	}
	return n.stopped
}

// frame lays out all of a model but that people and resources are shared. With exact, upper
// bounds are what they are, and not what is cheap to know of them.
func frame(m *Model, by int, seed int64, exact bool) (n *net, ok bool) {
	n = &net{m: m, by: by, exact: exact, e: learn.New(seed), ands: map[[2]learn.Atom]learn.Atom{}, steps: map[stepKey]*table{}, some: map[eitherKey]*either{}}
	n.choices()
	for j := range m.Tasks {
		if !n.task(j) {
			return n, false
		}
	}
	// Lags of constant length first: functions of cure are dear to ask, and the dearer the
	// later, so it is to be known when the model is ready before they are.
	constant := func(l *Lag) bool { _, ok := l.Fn.(Plus); return ok }
	for k := range m.Lags {
		if constant(&m.Lags[k]) {
			n.lag(&m.Lags[k])
		}
	}
	if !n.e.Require(n.readyBy(by)) {
		return n, false
	}
	for k := range m.Lags {
		if !constant(&m.Lags[k]) {
			n.lag(&m.Lags[k])
		}
	}
	n.eithers()
	return n, n.e.Settle()
}

// fixed lays a model out with the ways, the people and the orders of a schedule; with exact
// its latest moments are what they are, and not what is cheap to know of them.
func fixed(m *Model, s *Schedule, by int, exact bool) (n *net, ok bool) {
	if n, ok = frame(m, by, 0, exact); !ok {
		return n, false
	}
	for c, vs := range n.picks {
		n.e.Require(vs[s.Picks[c]].Yes())
	}
	for j := range m.Tasks {
		for _, p := range n.able[j] {
			if v := n.does[j][p]; slices.Contains(s.Who[j], p) {
				n.e.Require(v.Yes())
			} else {
				n.e.Require(v.No())
			}
		}
	}
	for i := range m.Tasks {
		for k := range m.Tasks {
			if i != k && s.before(i, k) && !s.before(k, i) && (share(s.Who[i], s.Who[k]) || m.compete(i, k)) {
				x, dx := n.point(i, AtEnd)
				n.e.Before(x, n.start[k], dx)
			}
		}
	}
	return n, n.e.Settle()
}

// before reports whether i is over when k starts; two moments at the same tick are each
// before the other.
func (s *Schedule) before(i, k int) bool {
	return s.Start[i] >= 0 && s.Start[k] >= 0 && s.End[i] <= s.Start[k]
}

// compete reports whether two tasks use the same resource.
func (m *Model) compete(i, k int) bool {
	for _, u := range m.Tasks[i].Uses {
		for _, v := range m.Tasks[k].Uses {
			if u.Resource == v.Resource {
				return true
			}
		}
	}
	return false
}

func (n *net) flag() learn.Var { return n.e.NewVar(0, 1) }

func (n *net) choices() {
	for _, c := range n.m.Choices {
		vs, some := make([]learn.Var, c.Ways), make([]learn.Atom, c.Ways)
		for w := range vs {
			vs[w] = n.flag()
			some[w] = vs[w].Yes()
			for _, o := range vs[:w] {
				n.e.Clause(vs[w].No(), o.No())
			}
		}
		n.e.Clause(some...)
		n.picks = append(n.picks, vs)
	}
	for _, bar := range n.m.Bars {
		var none []learn.Atom
		for _, p := range bar {
			none = append(none, n.picks[p.Choice][p.Way].No())
		}
		n.e.Clause(none...)
	}
}

// taken is the atom that a task is done.
func (n *net) taken(t *Task) learn.Atom {
	all := learn.Always()
	for _, p := range t.If {
		all = n.and(all, n.picks[p.Choice][p.Way].Yes())
	}
	return all
}

// and is an atom that holds just where two others do.
func (n *net) and(a, b learn.Atom) learn.Atom {
	if a == learn.Always() || a == b {
		return b
	}
	if b == learn.Always() {
		return a
	}
	if b.B < a.B {
		a, b = b, a
	}
	if v, ok := n.ands[[2]learn.Atom{a, b}]; ok {
		return v
	}
	v := n.flag()
	n.e.Clause(v.No(), a)
	n.e.Clause(v.No(), b)
	n.e.Clause(v.Yes(), a.Not(), b.Not())
	n.ands[[2]learn.Atom{a, b}] = v.Yes()
	return v.Yes()
}

// task makes the variables of a task and holds it to its windows.
func (n *net) task(j int) bool {
	t := &n.m.Tasks[j]
	n.on = append(n.on, n.taken(t))
	lo, hi := t.Release, n.m.deadline(j)-t.Duration
	n.able = append(n.able, nil)
	n.does = append(n.does, nil)
	n.crews = append(n.crews, nil)
	n.end = append(n.end, -1)
	if lo > hi {
		n.start = append(n.start, n.e.NewVar(lo, lo))
		return n.never(j)
	}
	n.start = append(n.start, n.moment(lo, hi, n.on[j]))
	if t.pauses() {
		n.end[j] = n.moment(lo+t.Duration, n.m.deadline(j), n.on[j])
		n.e.Before(n.start[j], n.end[j], t.Duration, n.on[j])
	}
	if t.Crew == 0 {
		if t.Within == nil {
			return true
		}
		ws := starts(t.Within, nil, t.Duration, false)
		return n.open(j, ws) || n.never(j)
	}
	return n.crew(j)
}

// moment is a variable of a task. That of one which may be left out is held by its upper
// bound only where it is done: its lower bound may then rise with what is known to come
// before it, to the one tick that no task reaches; where it rises too far the task is
// left out.
func (n *net) moment(lo, hi int, on learn.Atom) learn.Var {
	if on == learn.Always() {
		return n.e.NewVar(lo, hi)
	}
	v := n.e.NewVar(lo, n.beyond(lo))
	n.e.Clause(on.Not(), v.AtMost(hi))
	return v
}

// beyond is the tick that stands for never, for a moment that is lo at the least.
func (n *net) beyond(lo int) int { return max(n.m.Horizon+1, lo) }

// never rules a task out; false where it has to be done.
func (n *net) never(j int) bool {
	if n.on[j] == learn.Always() {
		return false
	}
	n.e.Clause(n.on[j].Not())
	return true
}
