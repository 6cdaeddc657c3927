package learn

import (
	"math/rand/v2"
	"slices"
)

// draw gives a number from 0 to n−1, from a seed or from the bytes of a fuzzer.
type draw func(n int) int

func numbers(seed uint64) draw { return rand.New(rand.NewPCG(seed, 11)).IntN }

func bytes(data []byte) draw {
	return func(n int) int {
		if len(data) == 0 {
			return 0
		}
		v := int(data[0])
		data = data[1:]
		return v % n
	}
}

func (d draw) from(lo, hi int) int { return lo + d(hi-lo+1) }

func (d draw) oneIn(n int) bool { return d(n) == n-1 }

// problem is a small question to the engine, kept beside it so that it can be answered
// by trying every assignment.
type problem struct {
	vars    []span
	arcs    []arcOf
	clauses [][]Atom
	sums    []sumOf
	tables  []tableOf
}

type span struct{ lo, hi int }

type arcOf struct {
	from, to Bound
	w        int
	step     Step // nil: w
	conds    []Atom
}

// sumOf is Σ weight · bound ≤ limit.
type sumOf struct {
	bounds  []Bound
	weights []int
	limit   int
}

// tableOf allows two variables these pairs of values.
type tableOf struct {
	x, y  Var
	pairs [][2]int
}

// stairs is a Step by table, over arguments of lo and up, that looks Need up from its
// definition.
type stairs struct {
	lo int32
	at []int32
}

func (s stairs) Push(v int32) int32 {
	switch i := v - s.lo; {
	case i < 0:
		return -Limit
	case int(i) >= len(s.at):
		return Limit
	default:
		return s.at[i]
	}
}

func (s stairs) Need(q int32) int32 {
	if q <= -Limit {
		return -Limit
	}
	for i, v := range s.at {
		if v >= q {
			return s.lo + int32(i)
		}
	}
	return s.lo + int32(len(s.at))
}

func (d draw) stairs(lo, n int) stairs {
	s := stairs{lo: int32(lo)}
	v := d.from(-8, 1)
	for range n {
		if d.oneIn(2) {
			v += d(4)
		}
		s.at = append(s.at, int32(v))
	}
	if d.oneIn(6) {
		for i := n - d(n); i < n; i++ {
			s.at[i] = Limit
		}
	}
	return s
}

// scale is the size of a problem, at most or, where it is tight, just that; three
// tight ones in four have a solution.
type scale struct {
	numbers, flags, values, arcs, clauses, others int
	tight                                         bool
}

var (
	tinyScale  = scale{numbers: 3, flags: 2, values: 5, arcs: 4, clauses: 4, others: 1}
	tightScale = scale{numbers: 4, flags: 6, values: 4, arcs: 8, clauses: 34, others: 3, tight: true}
)

func (d draw) problem(z scale) *problem {
	p := &problem{}
	count := func(n, least int) int {
		if z.tight {
			return n
		}
		return d.from(least, n)
	}
	for range count(z.numbers, 1) {
		lo := d.from(-3, 2)
		p.vars = append(p.vars, span{lo, lo + d(z.values)})
	}
	for range count(z.flags, 0) {
		p.vars = append(p.vars, span{0, 1})
	}
	var xs []int // the solution
	for _, v := range p.vars {
		xs = append(xs, d.from(v.lo, v.hi))
	}
	free := z.tight && !d.oneIn(4)
	for range count(z.arcs, 0) {
		if a := d.arc(p); !free || a.keeps(xs) {
			p.arcs = append(p.arcs, a)
		}
	}
	for range count(z.clauses, 0) {
		n := 3
		if !z.tight {
			n = d.from(1, 4)
		}
		var c []Atom
		for range n {
			c = append(c, d.atom(p))
		}
		if q := (problem{clauses: [][]Atom{c}}); !free || q.allows(xs) {
			p.clauses = append(p.clauses, c)
		}
	}
	for range count(z.others, 0) {
		q := problem{}
		if d.oneIn(2) {
			q.sums = append(q.sums, d.sum(p))
		} else {
			q.tables = append(q.tables, d.table(p))
		}
		if !free || q.allows(xs) {
			p.sums, p.tables = append(p.sums, q.sums...), append(p.tables, q.tables...)
		}
	}
	return p
}

func (d draw) arc(p *problem) arcOf {
	a := arcOf{from: d.bound(p), to: d.bound(p), w: d.from(-5, 2)}
	if d.oneIn(2) {
		s := p.span(a.from)
		a.step = d.stairs(s.lo, s.hi-s.lo+1)
	}
	for range d(3) {
		a.conds = append(a.conds, d.atom(p))
	}
	return a
}

func (d draw) sum(p *problem) (s sumOf) {
	for range d.from(1, 4) {
		s.bounds, s.weights = append(s.bounds, d.bound(p)), append(s.weights, d.from(1, 3))
	}
	s.limit = d.from(-4, 8)
	return s
}

func (d draw) table(p *problem) tableOf {
	t := tableOf{x: Var(d(len(p.vars))), y: Var(d(len(p.vars)))}
	for x := p.vars[t.x].lo; x <= p.vars[t.x].hi; x++ {
		for y := p.vars[t.y].lo; y <= p.vars[t.y].hi; y++ {
			if !d.oneIn(3) && (t.x != t.y || x == y) {
				t.pairs = append(t.pairs, [2]int{x, y})
			}
		}
	}
	return t
}

func (d draw) bound(p *problem) Bound { return Bound(d(2 * len(p.vars))) }

// atom draws one that is neither always true nor always false, mostly.
func (d draw) atom(p *problem) Atom {
	b := d.bound(p)
	s := p.span(b)
	if s.lo == s.hi || d.oneIn(12) {
		return Atom{b, int32(s.lo + d(2)*(s.hi-s.lo+1))}
	}
	return Atom{b, int32(s.lo + d.from(1, s.hi-s.lo))}
}

// span is between what and what a bound lies.
func (p *problem) span(b Bound) span {
	if v := p.vars[b/2]; b%2 == 0 {
		return v
	} else {
		return span{-v.hi, -v.lo}
	}
}

// engine lays the problem out.
func (p *problem) engine(seed int64) *Engine {
	e := New(seed)
	for _, v := range p.vars {
		e.NewVar(v.lo, v.hi)
	}
	for _, a := range p.arcs {
		if a.step == nil {
			e.Arc(a.from, a.to, a.w, a.conds...)
			if a.w%2 == 0 { // the other way round says the same
				e.Arc(a.to.Opp(), a.from.Opp(), a.w, a.conds...)
			}
		} else {
			e.StepArc(a.from, a.to, a.step, a.conds...)
		}
	}
	for _, c := range p.clauses {
		e.Clause(c...)
	}
	for i := range p.sums {
		e.Add(&p.sums[i], 1, p.sums[i].bounds...)
	}
	for i := range p.tables {
		t := &p.tables[i]
		e.Add(t, 2, t.x.Least(), t.x.Most(), t.y.Least(), t.y.Most())
	}
	return e
}

// value is a bound under an assignment.
func value(xs []int, b Bound) int {
	if b%2 == 0 {
		return xs[b/2]
	}
	return -xs[b/2]
}

func holds(xs []int, a Atom) bool { return value(xs, a.B) >= int(a.V) }

func (a *arcOf) keeps(xs []int) bool {
	for _, c := range a.conds {
		if !holds(xs, c) {
			return true
		}
	}
	v := value(xs, a.from)
	if a.step == nil {
		return value(xs, a.to) >= v+a.w
	}
	return value(xs, a.to) >= int(a.step.Push(int32(v)))
}

// rule is one constraint: the last variable it needs, and whether an assignment keeps it.
type rule struct {
	last  Var
	keeps func(xs []int) bool
}

func (p *problem) rules() (out []rule) {
	add := func(keeps func([]int) bool, bounds ...Bound) {
		last := Var(0)
		for _, b := range bounds {
			last = max(last, Var(b/2))
		}
		out = append(out, rule{last, keeps})
	}
	for i := range p.arcs {
		a := &p.arcs[i]
		bounds := []Bound{a.from, a.to}
		for _, c := range a.conds {
			bounds = append(bounds, c.B)
		}
		add(a.keeps, bounds...)
	}
	for _, c := range p.clauses {
		var bounds []Bound
		for _, a := range c {
			bounds = append(bounds, a.B)
		}
		add(func(xs []int) bool {
			return slices.ContainsFunc(c, func(a Atom) bool { return holds(xs, a) })
		}, bounds...)
	}
	for _, s := range p.sums {
		limit := s.limit
		add(func(xs []int) bool {
			sum := 0
			for i, b := range s.bounds {
				sum += s.weights[i] * value(xs, b)
			}
			return sum <= limit
		}, s.bounds...)
	}
	for _, t := range p.tables {
		add(func(xs []int) bool { return slices.Contains(t.pairs, [2]int{xs[t.x], xs[t.y]}) }, t.x.Least(), t.y.Least())
	}
	return out
}

// allows reports whether an assignment is a solution.
func (p *problem) allows(xs []int) bool {
	return !slices.ContainsFunc(p.rules(), func(r rule) bool { return !r.keeps(xs) })
}

// solutions are all of them.
func (p *problem) solutions() (out [][]int) {
	by := make([][]rule, len(p.vars))
	for _, r := range p.rules() {
		by[r.last] = append(by[r.last], r)
	}
	xs := make([]int, len(p.vars))
	var try func(i int)
	try = func(i int) {
		if i == len(xs) {
			out = append(out, slices.Clone(xs))
			return
		}
		for xs[i] = p.vars[i].lo; xs[i] <= p.vars[i].hi; xs[i]++ {
			if !slices.ContainsFunc(by[i], func(r rule) bool { return !r.keeps(xs) }) {
				try(i + 1)
			}
		}
	}
	try(0)
	return out
}

// queue draws a problem of the kind that schedules make: pieces of work one after the
// other, in an order that flags decide, each between a release and a due time, with
// waits between some that depend on when they begin.
func (d draw) queue(n, horizon int) *problem {
	p := &problem{}
	length := make([]int, n)
	for i := range n {
		length[i] = d.from(1, 3)
		lo := d(3)
		p.vars = append(p.vars, span{lo, max(lo, horizon-length[i]-d(3))})
	}
	flag := func() Var {
		p.vars = append(p.vars, span{0, 1})
		return Var(len(p.vars) - 1)
	}
	before := func(i, k int, cond Atom) {
		x, y := Var(i), Var(k)
		p.arcs = append(p.arcs, arcOf{from: x.Least(), to: y.Least(), w: length[i], conds: []Atom{cond}},
			arcOf{from: y.Most(), to: x.Most(), w: length[i], conds: []Atom{cond}})
	}
	for i := range n {
		for k := range i {
			f := flag()
			before(i, k, f.Yes())
			before(k, i, f.No())
		}
	}
	for range d(3) {
		s := d.stairs(0, horizon)
		for i, v := range s.at {
			s.at[i] = v + 3
		}
		p.arcs = append(p.arcs, arcOf{from: Var(d(n)).Least(), to: Var(d(n)).Least(), step: s})
	}
	for range d(4) {
		p.clauses = append(p.clauses, []Atom{d.atom(p), d.atom(p), d.atom(p)})
	}
	return p
}

// Propagate implements Propagator: each bound against the others at their least.
func (s *sumOf) Propagate(e *Engine) bool {
	sum := 0
	for i, b := range s.bounds {
		sum += s.weights[i] * e.Value(b)
	}
	why := func(but int) (out []Atom) {
		for i, b := range s.bounds {
			if i != but {
				out = append(out, Atom{b, int32(e.Value(b))})
			}
		}
		return out
	}
	if sum > s.limit {
		return e.Fail(why(-1))
	}
	for i, b := range s.bounds {
		most := e.Value(b) + (s.limit-sum)/s.weights[i]
		if !e.Set(Atom{b, int32(most + 1)}.Not(), why(i)) {
			return false
		}
	}
	return true
}

// Propagate implements Propagator: the bounds of either variable that some pair allows,
// for all four bounds as they were.
func (t *tableOf) Propagate(e *Engine) bool {
	all := []Bound{t.x.Least(), t.x.Most(), t.y.Least(), t.y.Most()}
	var why []Atom
	for _, b := range all {
		why = append(why, Atom{b, int32(e.Value(b))})
	}
	least := []int{Limit, Limit, Limit, Limit}
	for _, q := range t.pairs {
		if q[0] < e.Lo(t.x) || q[0] > e.Hi(t.x) || q[1] < e.Lo(t.y) || q[1] > e.Hi(t.y) {
			continue
		}
		for i, v := range []int{q[0], -q[0], q[1], -q[1]} {
			least[i] = min(least[i], v)
		}
	}
	if least[0] == Limit {
		return e.Fail(why)
	}
	for i, b := range all {
		if !e.Set(Atom{b, int32(least[i])}, why) {
			return false
		}
	}
	return true
}

// byLot tries open variables in an order and to values drawn by lot, or plainly.
type byLot struct {
	draw draw // nil: first open variable, least value
}

// Choose implements Brancher.
func (c byLot) Choose(e *Engine) (Atom, bool) {
	var open []Var
	for x := range e.saved {
		if !e.Fixed(Var(x)) {
			open = append(open, Var(x))
		}
	}
	if len(open) == 0 {
		return Atom{}, false
	}
	if c.draw == nil {
		return open[0].AtMost(e.Lo(open[0])), true
	}
	x := open[c.draw(len(open))]
	a := x.AtLeast(c.draw.from(e.Lo(x)+1, e.Hi(x)))
	if c.draw.oneIn(2) {
		a = a.Not()
	}
	return a, true
}
