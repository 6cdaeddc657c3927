package solve

import "beadline/cure/plan/solve/learn"

// either raises the lower bound of what waits for tasks of several ways of a choice: one
// way is taken, so it comes no sooner than the way that asks least. (Constructive
// disjunction: P. Van Hentenryck, V. Saraswat, Y. Deville, "Design, implementation, and
// evaluation of the constraint language cc(FD)", J. Logic Programming 37, 1998.)
type either struct {
	to   learn.Var
	top  int // it raises no further
	ways []eitherWay
	why  []learn.Atom
}

// eitherWay is a way and what it asks.
type eitherWay struct {
	on  learn.Atom
	all []raised
}

// raised is a lower bound that a lag raises another by.
type raised struct {
	from learn.Bound
	w    int32
	step learn.Step
}

func (r *raised) push(v int32) int32 {
	if r.step == nil {
		return v + r.w
	}
	return r.step.Push(v)
}

func (r *raised) need(q int32) int32 {
	if r.step == nil {
		return q - r.w
	}
	return r.step.Need(q)
}

type eitherKey struct {
	to     learn.Var
	choice int
}

// either notes what a way of a choice asks of a variable.
func (n *net) either(to learn.Var, top int, p Pick, r raised) {
	k := eitherKey{to, p.Choice}
	x := n.some[k]
	if x == nil {
		x = &either{to: to, top: top}
		for _, v := range n.picks[p.Choice] {
			x.ways = append(x.ways, eitherWay{on: v.Yes()})
		}
		n.some[k] = x
		n.seen = append(n.seen, k)
	}
	x.ways[p.Way].all = append(x.ways[p.Way].all, r)
}

// eithers adds those in which every way asks for something.
func (n *net) eithers() {
	for _, k := range n.seen {
		x := n.some[k]
		var bounds []learn.Bound
		whole := true
		for i := range x.ways {
			w := &x.ways[i]
			whole = whole && (len(w.all) > 0 || n.e.False(w.on))
			bounds = append(bounds, w.on.B.Opp())
			for _, r := range w.all {
				bounds = append(bounds, r.from)
			}
		}
		if whole {
			n.e.Add(x, 0, bounds...)
		}
	}
}

// Propagate implements learn.Propagator.
func (x *either) Propagate(e *learn.Engine) bool {
	least := int32(x.top)
	for i := range x.ways {
		w := &x.ways[i]
		if e.False(w.on) {
			continue
		}
		most := int32(-learn.Limit)
		for k := range w.all {
			most = max(most, w.all[k].push(int32(e.Value(w.all[k].from))))
		}
		least = min(least, most)
	}
	if int(least) <= e.Lo(x.to) {
		return true
	}
	x.why = x.why[:0]
	for i := range x.ways {
		w := &x.ways[i]
		if e.False(w.on) {
			x.why = append(x.why, w.on.Not())
			continue
		}
		for k := range w.all {
			r := &w.all[k]
			if v := int32(e.Value(r.from)); r.push(v) >= least {
				x.why = append(x.why, learn.Atom{B: r.from, V: min(v, r.need(least))})
				break
			}
		}
	}
	return e.Set(x.to.AtLeast(int(least)), x.why)
}
