package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

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
