package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

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
