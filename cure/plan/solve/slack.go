package solve

import "beadline/cure/plan/solve/learn"

// latestSteps is how many conflicts each instant that Latest tries may take.
const latestSteps = 500

// Latest is the latest start found for each of some tasks at which the model is still
// ready by limit, with everything else planned again behind it. Each instant it gives is
// that of a whole schedule, so it is safe to work to; whether a later one may exist is
// known only where sure says that none does. s is a schedule that is ready by limit.
func Latest(m *Model, s *Schedule, tasks []int, limit int, stop func() bool) (at []int, sure []bool) {
	at, sure = make([]int, len(tasks)), make([]bool, len(tasks))
	for i, j := range tasks {
		at[i] = s.Start[j]
	}
	if m.large() {
		return at, sure
	}
	n, ok := compileFor(m, limit, 0, stop)
	if !ok || n.stopped {
		return at, sure
	}
	n.hint(s)
	for i, j := range tasks {
		if s.Start[j] >= 0 {
			at[i], sure[i] = n.latest(at[i], n.last(j), stop, func(t int) []learn.Atom {
				return []learn.Atom{n.on[j], n.start[j].AtLeast(t)}
			}, func() int { return n.e.Lo(n.start[j]) })
		}
	}
	return at, sure
}

// LatestStart is the latest tick before which nobody need do anything for the model to be
// ready by limit, found as by Latest.
func LatestStart(m *Model, s *Schedule, limit int, stop func() bool) (at int, sure bool) {
	limit = min(limit, m.Horizon)
	at = limit
	for j := range m.Tasks {
		if m.Tasks[j].Crew > 0 && s.done(m, j) {
			at = min(at, s.Start[j])
		}
	}
	if m.large() || at >= limit {
		return at, at >= limit
	}
	n, ok := compileFor(m, limit, 0, stop)
	if !ok || n.stopped {
		return at, false
	}
	n.hint(s)
	// Nobody begins before this, where the task is done at all.
	begin := n.e.NewVar(0, limit)
	for j := range m.Tasks {
		if m.Tasks[j].Crew > 0 {
			n.e.Before(begin, n.start[j], 0, n.on[j])
		}
	}
	return n.latest(at, limit, stop, func(t int) []learn.Atom {
		return []learn.Atom{begin.AtLeast(t)}
	}, func() int { return n.e.Hi(begin) })
}

// last is the latest start of a task that propagation leaves.
func (n *net) last(j int) int {
	return min(n.e.RootHi(n.start[j]), n.m.deadline(j)-n.m.Tasks[j].Duration)
}

// latest is the latest instant from lo to hi for which the search finds a schedule where
// asked for it; got reads from the schedule what has come of it.
func (n *net) latest(lo, hi int, stop func() bool, ask func(int) []learn.Atom, got func() int) (at int, sure bool) {
	sure = true
	try := func(t int) bool {
		out := n.e.Run(learn.Search{Brancher: dive{n}, Assume: ask(t), Limit: latestSteps, Stop: stop, Guided: true})
		if out == learn.Solved {
			lo = max(t, got())
			n.e.Save()
			n.e.Back()
			return true
		}
		sure = sure && out != learn.Stopped
		hi = t - 1
		return false
	}
	if lo < hi && try(hi) { // most have room to the very end, or next to none
		return lo, sure
	}
	for step := 8; lo < hi && try(min(hi, lo+step)); step *= 4 {
	}
	for lo < hi {
		try(lo + (hi-lo+1)/2)
	}
	return lo, sure
}

// Float is, for each task, how much later it may start in a schedule that is ready by
// limit with the same ways taken, the same people on each task and every person's and
// resource's tasks in the same order: the total float of the trade of planning. It is of
// the whole chain a task stands in: what one task uses of it those after it have not.
func Float(m *Model, s *Schedule, limit int) []int {
	out := make([]int, len(m.Tasks))
	n, ok := fixed(m, s, limit, true)
	if !ok {
		return out
	}
	for j := range m.Tasks {
		if s.Start[j] >= 0 {
			out[j] = max(0, n.e.RootHi(n.start[j])-s.Start[j])
		}
	}
	return out
}
