package learn

import "slices"

// clauses keeps them all in one array, so that the garbage collector has one thing to
// look at.
type clauses struct {
	pool   []Atom
	head   []clause
	learnt int
	inc    float32
}

type clause struct {
	at, n   int32
	lbd     int32 // levels it spans; 0: given, never forgotten
	act     float32
	dropped bool
}

// watch is a clause that wants to know when a bound reaches some value: one of its atoms
// is false then. If block holds the clause does.
type watch struct {
	clause int32
	block  Atom
}

// buckets hold the watches of a bound by value, in order of value, so that a change meets
// only what it passes.
type buckets struct {
	v  []int32
	ws [][]watch
}

func (c *clauses) atoms(k int32) []Atom {
	h := &c.head[k]
	return c.pool[h.at : h.at+h.n]
}

func (c *clauses) add(atoms []Atom, lbd int32) int32 {
	k := int32(len(c.head))
	c.head = append(c.head, clause{at: int32(len(c.pool)), n: int32(len(atoms)), lbd: lbd, act: c.inc})
	c.pool = append(c.pool, atoms...)
	if lbd > 0 {
		c.learnt++
	}
	return k
}

// Clause makes one of the atoms hold in every solution. It is to be called before any
// decision; atoms that are settled already are left out.
func (e *Engine) Clause(atoms ...Atom) {
	e.back(0)
	if e.bottom {
		return
	}
	kept := make([]Atom, 0, len(atoms))
	for _, a := range atoms {
		if e.True(a) {
			return
		}
		if e.False(a) || slices.Contains(kept, a) {
			continue
		}
		kept = append(kept, a)
	}
	switch len(kept) {
	case 0:
		e.bottom = true
	case 1:
		if !e.push(kept[0].B, kept[0].V, why{kind: decided}) {
			e.bottom = true
		}
	default:
		e.watch(e.clauses.add(kept, 0))
	}
}

// watch hangs a clause on its first two atoms.
func (e *Engine) watch(k int32) {
	c := e.clauses.atoms(k)
	e.watchAtom(c[0], k, c[1])
	e.watchAtom(c[1], k, c[0])
}

func (e *Engine) watchAtom(a Atom, k int32, block Atom) {
	b, v := a.B^1, 1-a.V
	bs := &e.watches[b]
	i := bs.seek(v)
	if i == len(bs.v) || bs.v[i] != v {
		bs.v, bs.ws = slices.Insert(bs.v, i, v), slices.Insert(bs.ws, i, nil)
	}
	bs.ws[i] = append(bs.ws[i], watch{k, block})
}

// seek is the place of the first bucket for v or more.
func (bs *buckets) seek(v int32) int {
	lo, hi := 0, len(bs.v)
	for lo < hi {
		if m := int(uint(lo+hi) / 2); bs.v[m] < v {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}

// watched looks at the clauses in which a change of a bound makes an atom false.
func (e *Engine) watched(b Bound, old, new int32) bool {
	bs := &e.watches[b]
	for i := bs.seek(old + 1); i < len(bs.v) && bs.v[i] <= new; i++ {
		if !e.reached(b, i) {
			return false
		}
	}
	return true
}

// reached looks at the clauses of one bucket. Those that find another atom to watch go
// elsewhere: to a bucket of this bound only if it stands for more than is reached.
func (e *Engine) reached(b Bound, i int) bool {
	bs := &e.watches[b]
	ws, gone := bs.ws[i], Atom{b ^ 1, 1 - bs.v[i]}
	kept := 0
next:
	for at := range ws {
		w := ws[at]
		if e.val[w.block.B] >= w.block.V {
			ws[kept] = w
			kept++
			continue
		}
		c := e.clauses.atoms(w.clause)
		if c[0] == gone {
			c[0], c[1] = c[1], c[0]
		}
		first := c[0]
		if first != w.block && e.val[first.B] >= first.V {
			ws[kept] = watch{w.clause, first}
			kept++
			continue
		}
		for j := 2; j < len(c); j++ {
			if a := c[j]; e.val[a.B^1] < 1-a.V {
				c[1], c[j] = a, gone
				e.watchAtom(a, w.clause, first)
				continue next
			}
		}
		ws[kept] = w
		kept++
		if e.val[first.B^1] >= 1-first.V {
			e.conf = e.conf[:0]
			for _, a := range c {
				e.conf = append(e.conf, a.Not())
			}
			kept += copy(ws[kept:], ws[at+1:])
			bs.ws[i] = ws[:kept]
			return false
		}
		e.push(first.B, first.V, why{w.clause, 0, byClause})
	}
	bs.ws[i] = ws[:kept]
	return true
}

// forget drops the half of the learnt clauses that span most levels and were of least
// use; those of two levels stay, and so do those that are reasons.
func (e *Engine) forget() {
	c := &e.clauses
	locked := map[int32]bool{}
	for i := range e.trail {
		if e.trail[i].kind == byClause {
			locked[e.trail[i].i] = true
		}
	}
	var order []int32
	for k := range c.head {
		if h := &c.head[k]; h.lbd > 2 && !h.dropped && !locked[int32(k)] {
			order = append(order, int32(k))
		}
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		x, y := &c.head[a], &c.head[b]
		if x.lbd != y.lbd {
			return int(y.lbd - x.lbd)
		}
		switch {
		case x.act < y.act:
			return -1
		case x.act > y.act:
			return 1
		}
		return 0
	})
	for _, k := range order[:len(order)/2] {
		c.head[k].dropped = true
	}
	e.compact()
}

// compact takes dropped clauses out of the pool and renumbers the rest.
func (e *Engine) compact() {
	c := &e.clauses
	to := make([]int32, len(c.head))
	pool, n := c.pool[:0], int32(0)
	c.learnt = 0
	for k := range c.head {
		h := c.head[k]
		if h.dropped {
			to[k] = -1
			continue
		}
		at := int32(len(pool))
		pool = append(pool, c.pool[h.at:h.at+h.n]...) // only ever moves down
		h.at = at
		c.head[n] = h
		to[k] = n
		n++
		if h.lbd > 0 {
			c.learnt++
		}
	}
	c.pool, c.head = pool, c.head[:n]
	for b := range e.watches {
		bs, n := &e.watches[b], 0
		for i, ws := range bs.ws {
			kept := ws[:0]
			for _, w := range ws {
				if w.clause = to[w.clause]; w.clause >= 0 {
					kept = append(kept, w)
				}
			}
			if len(kept) > 0 {
				bs.v[n], bs.ws[n] = bs.v[i], kept
				n++
			}
		}
		clear(bs.ws[n:])
		bs.v, bs.ws = bs.v[:n], bs.ws[:n]
	}
	for i := range e.trail {
		if e.trail[i].kind == byClause {
			e.trail[i].i = to[e.trail[i].i]
		}
	}
}

func (e *Engine) bumpClause(k int32) {
	h := &e.clauses.head[k]
	if h.lbd == 0 {
		return
	}
	if h.act += e.clauses.inc; h.act > 1e20 {
		for i := range e.clauses.head {
			e.clauses.head[i].act *= 1e-20
		}
		e.clauses.inc *= 1e-20
	}
}
