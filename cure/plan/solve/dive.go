package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// dive settles what conflicts have no opinion on: choices first, then task by task as it
// could start earliest, who does it and that it starts then.
type dive struct{ n *net }

// Choose implements learn.Brancher.
func (d dive) Choose(e *learn.Engine) (learn.Atom, bool) {
	n := d.n
	for _, vs := range n.picks {
		if !slices.ContainsFunc(vs, func(v learn.Var) bool { return e.True(v.Yes()) }) {
			return n.prefer(vs), true
		}
	}
	best := -1
	for j := range n.start {
		if !e.True(n.on[j]) || n.settled(j) {
			continue
		}
		if best < 0 || n.sooner(j, best) {
			best = j
		}
	}
	if best < 0 {
		return learn.Atom{}, false
	}
	if p := n.person(best); p >= 0 {
		return n.does[best][p].Yes(), true
	}
	if !e.Fixed(n.start[best]) {
		return n.start[best].AtMost(e.Lo(n.start[best])), true
	}
	return n.end[best].AtMost(e.Lo(n.end[best])), true
}

// prefer is the way of a choice that the best schedule takes, or the first open one.
func (n *net) prefer(vs []learn.Var) learn.Atom {
	first := -1
	for w, v := range vs {
		if n.e.False(v.Yes()) {
			continue
		}
		if first < 0 || n.e.Hinted(v) == 1 {
			first = w
		}
	}
	return vs[first].Yes()
}

// settled reports whether nothing of a task is open.
func (n *net) settled(j int) bool {
	if !n.e.Fixed(n.start[j]) || n.end[j] >= 0 && !n.e.Fixed(n.end[j]) {
		return false
	}
	return n.manned(j)
}

// manned reports whether it is settled who does a task.
func (n *net) manned(j int) bool {
	for _, p := range n.able[j] {
		if v := n.does[j][p]; !n.e.Fixed(v) {
			return false
		}
	}
	return true
}

func (n *net) sooner(a, b int) bool {
	x, y := n.e.Lo(n.start[a]), n.e.Lo(n.start[b])
	if x != y {
		return x < y
	}
	return n.e.Hi(n.start[a]) < n.e.Hi(n.start[b])
}

// person is the one to try next on a task, or −1: whoever did it in the best schedule,
// is on the work already, is free, and is called on for little else.
func (n *net) person(j int) int {
	best, least := -1, 0
	t := n.e.Lo(n.start[j])
	with := n.m.Tasks[j].With - 1
	for _, p := range n.able[j] {
		v := n.does[j][p]
		if n.e.Fixed(v) {
			continue
		}
		cost := len(n.m.People[p].Skills)
		if n.e.Hinted(v) == 1 {
			cost -= 1000
		}
		if with >= 0 && n.does[with] != nil && n.does[with][p] >= 0 && n.e.True(n.does[with][p].Yes()) {
			cost -= 500
		}
		cost += n.busy(p, t, t+max(1, n.m.Tasks[j].Duration))
		if best < 0 || cost < least {
			best, least = p, cost
		}
	}
	return best
}

// busy is what it costs to call on a person for a stretch of time.
func (n *net) busy(p, from, to int) int {
	if !holding(n.m.People[p].Work, from) {
		return 4000
	}
	for k := range n.start {
		if n.does[k] == nil || n.does[k][p] < 0 || !n.e.True(n.does[k][p].Yes()) {
			continue
		}
		s := n.e.Lo(n.start[k])
		x, dx := n.point(k, AtEnd)
		if s < to && from < n.e.Lo(x)+dx {
			return 2000
		}
	}
	return 0
}

// read is the schedule that the engine has settled on.
func (n *net) read() *Schedule {
	k := len(n.m.Tasks)
	s := &Schedule{make([]int, k), make([]int, k), make([][]int, k), nil}
	for _, vs := range n.picks {
		s.Picks = append(s.Picks, slices.IndexFunc(vs, func(v learn.Var) bool { return n.e.True(v.Yes()) }))
	}
	for j := range n.m.Tasks {
		if !n.e.True(n.on[j]) {
			s.Start[j], s.End[j] = -1, -1
			continue
		}
		s.Start[j] = n.e.Lo(n.start[j])
		x, dx := n.point(j, AtEnd)
		s.End[j] = n.e.Lo(x) + dx
		for _, p := range n.able[j] {
			if n.e.True(n.does[j][p].Yes()) {
				s.Who[j] = append(s.Who[j], p)
			}
		}
	}
	return s
}
