package learn

import "math"

// Step is a non-decreasing function from one bound to another. Push gives what a value
// of the first makes of the second, or something less where that is cheaper; Need gives the
// smallest value of the first that makes q or more of the second. Results beyond ±Limit are cut there.
type Step interface {
	Push(v int32) int32
	Need(q int32) int32
}

// arc says: while its conditions hold, bound to is at least Push of bound from.
type arc struct {
	from, to Bound
	w        int32 // added, where there is no step
	top      int32 // it never raises further
	step     Step
	conds    [2]Atom
}

func (a *arc) push(v int32) int32 {
	if a.step == nil {
		return min(v+a.w, a.top)
	}
	return min(a.step.Push(v), a.top)
}

func (a *arc) need(q int32) int32 {
	if a.step == nil {
		return q - a.w
	}
	return a.step.Need(q)
}

// gate is an arc that a condition opens once its bound has reached v.
type gate struct {
	v   int32
	arc int32
}

// Arc makes to ≥ from + w hold while the conditions do; Always is no condition. It looks
// at a rise of from alone: the arc the other way round, as Before adds it, sees to the
// other end.
func (e *Engine) Arc(from, to Bound, w int, conds ...Atom) {
	e.addArc(arc{from: from, to: to, w: int32(w), top: math.MaxInt32}, conds)
}

// StepArc makes to ≥ step(from) hold while the conditions do.
func (e *Engine) StepArc(from, to Bound, step Step, conds ...Atom) {
	e.addArc(arc{from: from, to: to, step: step, top: math.MaxInt32}, conds)
}

// TopArc is Arc, or StepArc where step is not nil, that raises no further than top: for a
// bound whose last values stand for whatever is further.
func (e *Engine) TopArc(from, to Bound, w int, step Step, top int, conds ...Atom) {
	e.addArc(arc{from: from, to: to, w: int32(w), step: step, top: int32(top)}, conds)
}

func (e *Engine) addArc(a arc, conds []Atom) {
	a.conds = [2]Atom{always, always}
	n := 0
	for _, c := range conds {
		switch {
		case e.Rooted(c) || n > 0 && a.conds[0] == c:
		case e.root[c.B^1] >= 1-c.V:
			return // never holds
		default:
			a.conds[n] = c
			n++
		}
	}
	k := int32(len(e.arcs))
	e.arcs = append(e.arcs, a)
	e.out[a.from] = append(e.out[a.from], k)
	for _, c := range a.conds[:n] {
		e.gates[c.B] = append(e.gates[c.B], gate{c.V, k})
	}
	if len(e.lim) == 0 && !e.bottom && !e.fire(k) {
		e.bottom = true
	}
}

// Before makes y ≥ x + w, for variables, while the conditions hold: both its arcs.
func (e *Engine) Before(x, y Var, w int, conds ...Atom) {
	e.Arc(x.Least(), y.Least(), w, conds...)
	e.Arc(y.Most(), x.Most(), w, conds...)
}

// flow follows a change of a bound along arcs, and tells propagators; but for the
// conditions that it opens, the latest change of a bound speaks for those before it.
func (e *Engine) flow(b Bound, old, new int32, latest bool) bool {
	for _, g := range e.gates[b] {
		if g.v > old && g.v <= new && !e.fire(g.arc) {
			return false
		}
	}
	if !latest {
		return true
	}
	for _, k := range e.out[b] {
		a := &e.arcs[k]
		if a.step == nil { // the common cases, in place
			v := min(e.val[b]+a.w, a.top)
			if v <= e.val[a.to] {
				continue
			}
			if c := a.conds[0]; c.B < 0 {
				if !e.push(a.to, v, why{k, 0, byArc}) {
					return false
				}
				continue
			} else if e.val[c.B] < c.V && v <= -e.val[a.to^1] {
				continue
			}
		}
		if !e.fire(k) {
			return false
		}
	}
	for _, p := range e.subs[b] {
		e.enqueue(p)
	}
	return true
}

// fire follows one arc: it pushes if its conditions hold, and refutes the last open
// condition if the push would be a conflict.
func (e *Engine) fire(k int32) bool {
	a := &e.arcs[k]
	open := always
	for _, c := range a.conds {
		if c.B < 0 || e.val[c.B] >= c.V {
			continue
		}
		if open.B >= 0 || e.val[c.B^1] >= 1-c.V {
			return true
		}
		open = c
	}
	v := a.push(e.val[a.from])
	if open.B < 0 {
		if v <= e.val[a.to] {
			return true
		}
		return e.push(a.to, v, why{k, 0, byArc})
	}
	hi := -e.val[a.to^1]
	if v <= hi {
		return true
	}
	from := min(a.need(hi+1), e.val[a.from])
	// A step may push less far than its Need allows, where it answers on a grid.
	far := max(hi+1, a.push(from))
	e.scratch = append(e.scratch[:0], Atom{a.from, from}, Atom{a.to ^ 1, 1 - far})
	for _, c := range a.conds {
		if c.B >= 0 && c != open {
			e.scratch = append(e.scratch, c)
		}
	}
	return e.Set(open.Not(), e.scratch)
}

// levels of priority at which propagators run: cheap ones first.
const levels = 3

type prop struct {
	p        Propagator
	priority int
	queued   bool
}

// Propagator draws conclusions that arcs and clauses do not.
type Propagator interface {
	// Propagate looks at the bounds as they stand and calls Set or Fail with reasons;
	// it is false on a conflict.
	Propagate(e *Engine) bool
}

// Add adds a propagator that runs when one of the bounds changes, and once at first;
// priority 0 runs first, 2 last.
func (e *Engine) Add(p Propagator, priority int, bounds ...Bound) {
	k := int32(len(e.props))
	e.props = append(e.props, prop{p: p, priority: priority})
	for _, b := range bounds {
		e.subs[b] = append(e.subs[b], k)
	}
	e.enqueue(k)
}

// Wake has all propagators run again.
func (e *Engine) Wake() {
	for k := range e.props {
		e.enqueue(int32(k))
	}
}

func (e *Engine) enqueue(k int32) {
	if p := &e.props[k]; !p.queued {
		p.queued = true
		e.queue[p.priority] = append(e.queue[p.priority], k)
	}
}

func (e *Engine) pop() int32 {
	for l := range e.queue {
		if n := len(e.queue[l]); n > 0 {
			k := e.queue[l][0]
			copy(e.queue[l], e.queue[l][1:])
			e.queue[l] = e.queue[l][:n-1]
			e.props[k].queued = false
			return k
		}
	}
	return -1
}

func (e *Engine) clearQueue() {
	for l := range e.queue {
		for _, k := range e.queue[l] {
			e.props[k].queued = false
		}
		e.queue[l] = e.queue[l][:0]
	}
}
