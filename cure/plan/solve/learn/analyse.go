package learn

import "math"

const none = math.MinInt32

// analyse resolves the conflict back to the first unique implication point. The clause
// is left in e.learnt, the atom it asserts first; back is the level it asserts it at.
func (e *Engine) analyse() (back, lbd int) {
	start := int32(e.lim[len(e.lim)-1].trail)
	e.touched = e.touched[:0]
	e.stamp++
	open := 0
	add := func(a Atom) {
		if e.root[a.B] >= a.V {
			return
		}
		n := e.need[a.B]
		if a.V <= n {
			return
		}
		if e.met[a.B] != e.stamp {
			e.met[a.B] = e.stamp
			e.touched = append(e.touched, a.B)
		}
		// Raising what is needed of a bound may bring it up to this level.
		if e.at(a) >= start && (n == none || e.at(Atom{a.B, n}) < start) {
			open++
		}
		e.need[a.B] = a.V
	}
	for _, a := range e.conf {
		add(a)
	}
	var uip Atom
	for i := len(e.trail) - 1; ; i-- {
		t := &e.trail[i]
		q := e.need[t.b]
		if q == none || q <= t.old || q > t.new {
			continue
		}
		if open == 1 {
			uip = Atom{t.b, q}
			break
		}
		open--
		e.need[t.b] = none
		if t.kind == byClause {
			e.bumpClause(t.i)
		}
		e.atoms.bump(Atom{t.b, q})
		e.scratch = e.explain(e.scratch[:0], t.b, q, t.why, int32(i))
		for _, a := range e.scratch {
			add(a)
		}
	}
	e.learnt = append(e.learnt[:0], uip.Not())
	back = 0
	for _, b := range e.touched {
		q := e.need[b]
		if q == none || b == uip.B && q == uip.V {
			continue
		}
		a := Atom{b, q}
		if e.implied(a) {
			continue
		}
		e.learnt = append(e.learnt, a.Not())
	}
	lbd = 1
	for i, a := range e.learnt {
		n := a.Not()
		e.atoms.bump(n)
		if i == 0 {
			continue
		}
		l := int(e.trail[e.at(n)].level)
		for len(e.seen) <= l {
			e.seen = append(e.seen, 0)
		}
		if e.seen[l] != e.stamp {
			e.seen[l] = e.stamp
			lbd++
		}
		if l > back {
			back = l
			e.learnt[1], e.learnt[i] = e.learnt[i], e.learnt[1]
		}
	}
	for _, b := range e.touched {
		e.need[b] = none
	}
	e.atoms.decay()
	e.clauses.inc *= 1 / 0.999
	return back, lbd
}

// clashLevel is the last level that an atom of the conflict rests on. A propagator that
// looks at more than what changed may find a conflict later than it could have.
func (e *Engine) clashLevel() int {
	level := int32(0)
	for _, a := range e.conf {
		if e.root[a.B] < a.V {
			level = max(level, e.trail[e.at(a)].level)
		}
	}
	return int(level)
}

// at is the entry of the trail that made an atom hold, which it does by a decision.
func (e *Engine) at(a Atom) int32 {
	i := e.last[a.B]
	for e.trail[i].old >= a.V {
		i = e.trail[i].prev
	}
	return i
}

// deep is how far implied follows reasons.
const deep = 6

// implied reports whether an atom of the learnt clause follows from the others.
func (e *Engine) implied(a Atom) bool {
	i := e.at(a)
	if e.trail[i].kind == decided {
		return false
	}
	return e.follows(a, i, i, deep)
}

// follows reports whether an atom that entry i made hold follows from those of the
// clause that held before entry top.
func (e *Engine) follows(a Atom, i, top int32, left int) bool {
	t := &e.trail[i]
	if t.kind == decided || left == 0 {
		return false
	}
	from := len(e.scratch)
	e.scratch = e.explain(e.scratch, t.b, a.V, t.why, i)
	to := len(e.scratch)
	ok := true
	for k := from; k < to && ok; k++ {
		x := e.scratch[k]
		if e.root[x.B] >= x.V {
			continue
		}
		if n := e.need[x.B]; n >= x.V && n != none && e.at(Atom{x.B, n}) < top {
			continue
		}
		ok = e.follows(x, e.at(x), top, left-1)
	}
	e.scratch = e.scratch[:from]
	return ok
}
