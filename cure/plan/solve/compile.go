package solve

import (
	"fmt"
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

// fixed lays a model out with the ways, the people and the orders of a schedule.
func fixed(m *Model, s *Schedule, by int) (n *net, ok bool) {
	if n, ok = frame(m, by, 0, true); !ok {
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

// lag lays a lag out as arcs between bounds.
func (n *net) lag(l *Lag) {
	var both []learn.Atom
	for _, t := range []int{l.From, l.To} {
		if n.on[t] != learn.Always() {
			both = append(both, n.on[t])
		}
	}
	x, dx := n.point(l.From, l.FromAt)
	y, dy := n.point(l.To, l.ToAt)
	if c, ok := l.constant(); ok {
		if w := max(-learn.Limit, min(dx+c-dy, learn.Limit)); l.Max {
			n.rise(l.To, y, l.From, x, -w, nil)
			n.e.Arc(x.Most(), y.Most(), -w, both...)
		} else {
			n.rise(l.From, x, l.To, y, w, nil)
			n.e.Arc(y.Most(), x.Most(), w, both...)
		}
		return
	}
	f := n.step(l.Fn, dx, dy)
	if l.Max {
		n.e.StepArc(x.Most(), y.Most(), ceiling{f}, both...)
		n.rise(l.To, y, l.From, x, 0, ceilingBack{f})
	} else {
		n.rise(l.From, x, l.To, y, 0, floor{f})
		back := func() { n.e.StepArc(y.Most(), x.Most(), floorBack{f}, both...) }
		if f.grid > 1 && n.m.Horizon == n.by {
			n.later = append(n.later, back)
		} else {
			back()
		}
	}
}

// top is how far a moment of a task may be raised: where it may be left out, to never.
func (n *net) top(task int, x learn.Var) int {
	if n.on[task] == learn.Always() {
		return learn.Limit
	}
	lo := n.m.Tasks[task].Release
	if x == n.end[task] {
		lo += n.m.Tasks[task].Duration
	}
	return n.beyond(lo)
}

// rise raises the lower bound of one task by that of another, wherever the other is done
// if the one is, and otherwise where it is done. Where just one choice lies between, some
// way of it will be taken, and the least that any of them asks is certain: see either.
func (n *net) rise(from int, x learn.Var, to int, y learn.Var, w int, step learn.Step) {
	on := learn.Always()
	var open []Pick
	for _, p := range n.m.Tasks[from].If {
		if !slices.Contains(n.m.Tasks[to].If, p) {
			on, open = n.and(on, n.picks[p.Choice][p.Way].Yes()), append(open, p)
		}
	}
	n.e.TopArc(x.Least(), y.Least(), w, step, n.top(to, y), on)
	if len(open) == 1 {
		n.either(y, n.top(to, y), open[0], raised{x.Least(), int32(w), step})
	}
}

// backwards adds what was put off while nothing was known of when the model is ready.
func (n *net) backwards() {
	for _, f := range n.later {
		f()
	}
	n.later = nil
}

// point is the variable of one end of a task, and what is to be added to it.
func (n *net) point(task int, e End) (learn.Var, int) {
	if e == AtStart {
		return n.start[task], 0
	}
	if n.end[task] >= 0 {
		return n.end[task], 0
	}
	return n.start[task], n.m.Tasks[task].Duration
}

// crew lays out who may do a task, and when each of them can.
func (n *net) crew(j int) bool {
	t := &n.m.Tasks[j]
	n.able[j] = n.m.able(j)
	n.does[j] = make([]learn.Var, len(n.m.People))
	for p := range n.does[j] {
		n.does[j][p] = -1
	}
	var who []int
	var all []learn.Atom
	for _, p := range n.able[j] {
		ws := t.slots(n.m.People[p].Work)
		if len(ws) == 0 {
			continue
		}
		v := n.flag()
		n.does[j][p] = v
		if !n.inside(n.start[j], ws, v.Yes()) {
			n.e.Clause(v.No())
			continue
		}
		who, all = append(who, p), append(all, v.Yes())
	}
	n.able[j] = who
	if len(who) < t.Crew {
		return n.never(j)
	}
	n.exactly(all, t.Crew, n.on[j])
	if !n.anyone(j) {
		return n.never(j)
	}
	if t.pauses() {
		return n.pausing(j)
	}
	return true
}

// anyone holds the start to times at which enough people can; false: there are none.
func (n *net) anyone(j int) bool {
	t := &n.m.Tasks[j]
	var edges []int
	slots := make([][]Window, len(n.able[j]))
	for i, p := range n.able[j] {
		slots[i] = t.slots(n.m.People[p].Work)
		for _, w := range slots[i] {
			edges = append(edges, w.From, w.To)
		}
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	var open []Window
	for k := 0; k+1 < len(edges); k++ {
		free := 0
		for _, ws := range slots {
			if holding(ws, edges[k]) {
				free++
			}
		}
		if free >= t.Crew {
			open = append(open, Window{edges[k], edges[k+1]})
		}
	}
	return n.open(j, open)
}

// holding reports whether one of the windows, in order, holds a tick.
func holding(ws []Window, t int) bool {
	i, found := slices.BinarySearchFunc(ws, t, func(w Window, t int) int { return w.From - t })
	if found {
		return true
	}
	return i > 0 && t < ws[i-1].To
}

// join joins windows, in order, that touch.
func join(ws []Window) []Window {
	var out []Window
	for _, w := range ws {
		if k := len(out); k > 0 && out[k-1].To >= w.From {
			out[k-1].To = max(out[k-1].To, w.To)
		} else {
			out = append(out, w)
		}
	}
	return out
}

// inside holds a variable to windows of ticks while a condition holds: two arcs of it to
// itself, over the holes. It is false where no window is left.
func (n *net) inside(x learn.Var, ws []Window, cond learn.Atom) bool {
	ws = intersect(join(ws), []Window{{0, n.m.Horizon + 1}})
	if len(ws) == 0 {
		return false
	}
	var conds []learn.Atom
	if cond != learn.Always() {
		conds = []learn.Atom{cond}
	}
	h := &holes{ws}
	n.e.StepArc(x.Least(), x.Least(), up{h}, conds...)
	n.e.StepArc(x.Most(), x.Most(), down{h}, conds...)
	return true
}

// open is inside for a task's own windows, wherever it is done: see moment.
func (n *net) open(j int, ws []Window) bool {
	if ws = intersect(join(ws), []Window{{0, n.m.Horizon + 1}}); len(ws) == 0 {
		return false
	}
	h := &holes{ws}
	n.e.TopArc(n.start[j].Least(), n.start[j].Least(), 0, up{h}, n.top(j, n.start[j]))
	n.e.StepArc(n.start[j].Most(), n.start[j].Most(), down{h}, n.on[j])
	return true
}

// pausing ties the end of a task that may pause to its start, crew by crew.
func (n *net) pausing(j int) bool {
	t := &n.m.Tasks[j]
	tie := func(who []int, on learn.Atom) bool {
		work := common(n.m, who)
		ws := t.slots(work)
		if len(ws) == 0 || !n.inside(n.start[j], ws, on) {
			return false
		}
		f := n.step(&pauses{t, work, n.m.Horizon}, 0, 0)
		x, y := n.start[j], n.end[j]
		n.e.StepArc(x.Least(), y.Least(), floor{f}, on)
		n.e.StepArc(y.Most(), x.Most(), floorBack{f}, on)
		n.e.StepArc(x.Most(), y.Most(), ceiling{f}, on)
		n.e.StepArc(y.Least(), x.Least(), ceilingBack{f}, on)
		return true
	}
	if t.Crew == 1 {
		for _, p := range n.able[j] {
			if v := n.does[j][p]; !tie([]int{p}, v.Yes()) {
				n.e.Clause(v.No())
			}
		}
		return true
	}
	var some []learn.Atom
	crews(n.able[j], t.Crew, allCrews, func(who []int) {
		v := n.flag()
		if !tie(who, v.Yes()) {
			n.e.Clause(v.No())
			return
		}
		all := []learn.Atom{v.Yes()}
		for _, p := range who {
			n.e.Clause(v.No(), n.does[j][p].Yes())
			all = append(all, n.does[j][p].No())
		}
		n.e.Clause(all...)
		some = append(some, v.Yes())
		n.crews[j] = append(n.crews[j], crewVar{slices.Clone(who), v.Yes()})
	})
	if len(some) == 0 {
		return n.never(j)
	}
	if n.on[j] != learn.Always() {
		some = append(some, n.on[j].Not())
	}
	n.e.Clause(some...)
	return true
}

// pauses is when a task ends that these people start at t and pause in.
type pauses struct {
	t     *Task
	work  []Window
	never int
}

// At implements Func. Before and between the hours of work it gives the end of a start
// in the next ones.
func (p *pauses) At(t int) int {
	for i, w := range p.work {
		if t < w.To {
			return pauseEnd(p.work[i:], max(t, w.From), p.t.Duration)
		}
	}
	return Never
}

// slots are the starts at which a task can be done in the given hours of work, within
// its own windows: windows of ticks, To not included.
func (t *Task) slots(work []Window) []Window {
	return starts(work, t.Within, t.Duration, t.pauses())
}

func starts(work, within []Window, d int, pauses bool) []Window {
	var out []Window
	add := func(from, to int) {
		if from < to {
			out = append(out, Window{from, to})
		}
	}
	if within == nil {
		within = []Window{{0, Never}}
	}
	for i, w := range work {
		for _, v := range within {
			from, to := max(w.From, v.From), min(w.To, v.To)
			if from >= to {
				continue
			}
			if !pauses {
				add(from, min(to, min(w.To, v.To)-d+1))
				continue
			}
			// The later the start the later the end: the good ones stand first.
			good := from
			for lo, hi := from, to; lo < hi; {
				s := lo + (hi-lo)/2
				if e := pauseEnd(work[i:], s, d); e < Never && e <= v.To {
					lo, good = s+1, s+1
				} else {
					hi = s
				}
			}
			add(from, good)
		}
	}
	slices.SortFunc(out, func(a, b Window) int { return a.From - b.From })
	return out
}

// people forbids that one person does two tasks at once, or checks their own work.
func (n *net) people() {
	n.alike()
	for i := range n.m.Tasks {
		if n.late(i) {
			return
		}
		for _, k := range n.m.Tasks[i].NotBy {
			if k < i {
				continue
			}
			for _, p := range n.able[i] {
				if slices.Contains(n.able[k], p) {
					n.e.Clause(n.does[i][p].No(), n.does[k][p].No())
				}
			}
		}
		for k := i + 1; k < len(n.m.Tasks); k++ {
			n.apart(i, k)
		}
	}
	n.headcounts()
}

// apart keeps two tasks of the same person one after the other.
func (n *net) apart(i, k int) {
	var both []int
	for _, p := range n.able[i] {
		if slices.Contains(n.able[k], p) && !n.e.False(n.does[i][p].Yes()) && !n.e.False(n.does[k][p].Yes()) {
			both = append(both, p)
		}
	}
	if len(both) == 0 || n.exclusive(i, k) || n.ordered(i, k) || n.ordered(k, i) {
		return
	}
	ik, ki := n.order(i, k), n.order(k, i)
	for _, p := range both {
		n.e.Clause(n.does[i][p].No(), n.does[k][p].No(), ik, ki)
	}
}

// order is the atom that i ends before k starts.
func (n *net) order(i, k int) learn.Atom {
	v := n.flag()
	x, dx := n.point(i, AtEnd)
	n.e.Before(x, n.start[k], dx, v.Yes())
	return v.Yes()
}

// ordered reports whether i ends before k starts in any case.
func (n *net) ordered(i, k int) bool {
	x, dx := n.point(i, AtEnd)
	return n.e.RootHi(x)+dx <= n.e.RootLo(n.start[k]) || n.leads(i, k)
}

// exclusive reports whether two tasks are never both done.
func (n *net) exclusive(i, k int) bool {
	for _, a := range n.m.Tasks[i].If {
		for _, b := range n.m.Tasks[k].If {
			if a.Choice == b.Choice && a.Way != b.Way {
				return true
			}
		}
	}
	return false
}

// alike puts people who can stand in for each other in order: the next is called on only
// once the one before has been. Without that the search would prove the same thing for
// each of them.
func (n *net) alike() {
	key := func(p int) string {
		q := n.m.People[p]
		skills := slices.Clone(q.Skills)
		slices.Sort(skills)
		return fmt.Sprint(slices.Compact(skills), q.Work, q.Spare)
	}
	last := map[string]int{}
	for p := range n.m.People {
		k := key(p)
		if q, ok := last[k]; ok {
			for j := range n.m.Tasks {
				if !slices.Contains(n.able[j], p) {
					continue
				}
				lead := []learn.Atom{n.does[j][p].No()}
				if n.m.Tasks[j].Crew > 1 {
					lead = append(lead, n.does[j][q].Yes())
				}
				for i := range j {
					if slices.Contains(n.able[i], q) {
						lead = append(lead, n.does[i][q].Yes())
					}
				}
				n.e.Clause(lead...)
			}
		}
		last[k] = p
	}
}

// mostSets bounds the sets of people of which heads are counted.
const mostSets = 24

// headcounts adds, for each set of people that some task needs and for unions of them,
// that no more of them are at work than there are on shift. Tasks that pause hold their
// people from start to end, and what they work counts against the hours of the shifts.
func (n *net) headcounts() {
	var sets [][]int
	add := func(s []int) {
		if len(s) > 0 && !slices.ContainsFunc(sets, func(t []int) bool { return slices.Equal(s, t) }) {
			sets = append(sets, s)
		}
	}
	var all []int
	for j := range n.m.Tasks {
		add(n.able[j])
		for _, p := range n.able[j] {
			if !slices.Contains(all, p) {
				all = append(all, p)
			}
		}
	}
	slices.Sort(all)
	for i := 0; i < len(sets) && len(sets) < mostSets; i++ { // unions too: they may be short where none is
		for _, t := range sets[:i] {
			u := slices.Concat(sets[i], t)
			slices.Sort(u)
			add(slices.Compact(u))
		}
	}
	add(all)
	for _, s := range sets {
		c := newCumulative(n, len(s))
		pausing := false
		for j := range n.m.Tasks {
			if n.m.Tasks[j].Crew == 0 || !subset(n.able[j], s) {
				continue
			}
			c.add(j, n.m.Tasks[j].Crew)
			if k := len(c.parts) - 1; n.end[j] >= 0 && n.m.Tasks[j].Duration > 0 {
				pausing, c.parts[k].loose = true, true
			}
		}
		c.base = n.off(s)
		c.install()
		if !pausing {
			continue
		}
		c = newCumulative(n, len(s))
		for j := range n.m.Tasks {
			if n.m.Tasks[j].Crew > 0 && subset(n.able[j], s) {
				c.add(j, n.m.Tasks[j].Crew)
			}
		}
		c.install()
	}
}

func subset(a, b []int) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return true
}

// off is how many of a set of people are off shift, as steps over time.
func (n *net) off(s []int) []step {
	var edges []int
	for _, p := range s {
		for _, w := range n.m.People[p].Work {
			edges = append(edges, w.From, w.To)
		}
	}
	edges = append(edges, 0)
	edges = slices.DeleteFunc(edges, func(t int) bool { return t < 0 || t > n.m.Horizon })
	slices.Sort(edges)
	edges = slices.Compact(edges)
	var out []step
	for _, t := range edges {
		h := 0
		for _, p := range s {
			if !holding(n.m.People[p].Work, t) {
				h++
			}
		}
		if k := len(out); k == 0 || out[k-1].height != h {
			out = append(out, step{t, h})
		}
	}
	return out
}

// resources adds the resources, and an order of every two tasks that ask together for
// more than there is.
func (n *net) resources() bool {
	cs := make([]*cumulative, len(n.m.Resources))
	for r, res := range n.m.Resources {
		cs[r] = newCumulative(n, res.Units)
	}
	use := make([][]int, len(n.m.Tasks))
	for j, t := range n.m.Tasks {
		use[j] = make([]int, len(cs))
		for _, u := range t.Uses {
			use[j][u.Resource] += u.Units
		}
		for r, c := range cs {
			if use[j][r] > 0 && t.Duration > 0 {
				c.add(j, use[j][r])
			}
		}
	}
	for j, t := range n.m.Tasks {
		for r, c := range cs {
			if use[j][r] > c.cap && t.Duration > 0 && !n.never(j) {
				return false
			}
		}
	}
	for i := range n.m.Tasks {
		if n.late(i) || len(n.m.Tasks) > maxPairs {
			break
		}
		for k := i + 1; k < len(n.m.Tasks); k++ {
			for r := range cs {
				if use[i][r]+use[k][r] > n.m.Resources[r].Units && use[i][r] > 0 && use[k][r] > 0 {
					n.disjoint(i, k)
					break
				}
			}
		}
	}
	for _, c := range cs {
		c.install()
	}
	return true
}

// disjoint puts two tasks one after the other, either way.
func (n *net) disjoint(i, k int) {
	if n.m.Tasks[i].Duration == 0 || n.m.Tasks[k].Duration == 0 || n.exclusive(i, k) || n.ordered(i, k) || n.ordered(k, i) {
		return
	}
	x, dx := n.point(i, AtEnd)
	y, dy := n.point(k, AtEnd)
	if n.on[i] == learn.Always() && n.on[k] == learn.Always() {
		v := n.flag()
		n.e.Before(x, n.start[k], dx, v.Yes())
		n.e.Before(y, n.start[i], dy, v.No())
		return
	}
	some := []learn.Atom{n.order(i, k), n.order(k, i)}
	for _, j := range []int{i, k} {
		if n.on[j] != learn.Always() {
			some = append(some, n.on[j].Not())
		}
	}
	n.e.Clause(some...)
}
