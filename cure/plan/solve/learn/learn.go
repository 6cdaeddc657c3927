// Package learn searches among integers that have bounds, and learns from its
// failures: lazy clause generation. It knows nothing of tasks, people or time; package
// solve lays a schedule out as variables, arcs and propagators and asks here for values.
//
// A variable is an integer between two bounds. Everything is said in atoms, each "this
// bound is at least so much": [x ≥ v], or of the negative [−x ≥ v], which is [x ≤ −v].
// No atom is made before it is needed; a bound is its own array cell, and a clause
// watches a bound from a threshold on. Every change of a bound is on the trail with its
// reason. A conflict is resolved along the reasons back to the first unique implication
// point, and the clause that comes of it is kept. Reasons are asked for the bound that
// the conflict needs, not the one that was reached, so that what is learnt is as general
// as it can be.
//
// Papers: O. Ohrimenko, P.J. Stuckey, M. Codish, "Propagation via lazy clause
// generation", Constraints 14 (2009), for the method; A. Schutt, T. Feydt, P.J. Stuckey,
// M.G. Wallace, "Explaining the cumulative propagator", Constraints 16 (2011), for its use
// in scheduling; J.P. Marques-Silva, K.A. Sakallah, "GRASP", IEEE Trans. Computers 48
// (1999), and N. Eén, N. Sörensson, "An extensible SAT-solver", SAT 2003, for conflict
// analysis, watches and activities; M. Luby, A. Sinclair, D. Zuckerman, "Optimal speedup of
// Las Vegas algorithms", IPL 47 (1993), for restarts; G. Audemard, L. Simon, "Predicting
// learnt clauses quality in modern SAT solvers", IJCAI 2009, for which clauses are kept.
//
// The search is deterministic: it reads no clock and draws from its own seed.
package learn

import "math"

// Var is a variable. Its lower bound is the Bound 2·Var, the lower bound of its negative
// 2·Var + 1.
type Var int32

// Least and Most are the Bounds of a variable.
func (x Var) Least() Bound { return Bound(2 * x) }

// Most is the Bound of −x.
func (x Var) Most() Bound { return Bound(2*x + 1) }

// AtLeast is the atom x ≥ v.
func (x Var) AtLeast(v int) Atom { return Atom{x.Least(), int32(v)} }

// AtMost is the atom x ≤ v.
func (x Var) AtMost(v int) Atom { return Atom{x.Most(), int32(-v)} }

// Yes is the atom that a variable of 0 and 1 is 1; No that it is 0.
func (x Var) Yes() Atom { return Atom{x.Least(), 1} }

// No is the atom that a variable of 0 and 1 is 0.
func (x Var) No() Atom { return Atom{x.Most(), 0} }

// Bound is one bound of a variable; it only rises on the way down the search.
type Bound int32

// Opp is the other bound of the same variable.
func (b Bound) Opp() Bound { return b ^ 1 }

// Atom says that a bound is at least V.
type Atom struct {
	B Bound
	V int32
}

// Not is the contrary: x ≥ v against x ≤ v − 1.
func (a Atom) Not() Atom { return Atom{a.B ^ 1, 1 - a.V} }

// always is the atom of no bound that is true at all times.
var always = Atom{-1, 0}

// Always is an atom that is true at all times, for an arc without a condition.
func Always() Atom { return always }

// Limit is the largest value of a variable, and its negative the smallest.
const Limit = math.MaxInt32 / 4

// kind says where a change of a bound came from.
type kind uint8

const (
	decided  kind = iota // by the search
	byClause             // i: clause
	byArc                // i: arc
	byAtoms              // expl[i : i+n]
)

type why struct {
	i, n int32
	kind kind
}

// entry is one change of one bound.
type entry struct {
	b        Bound
	old, new int32
	prev     int32 // entry before of the same bound; −1: none
	level    int32
	why
}

type mark struct{ trail, expl, popped int }

// Engine holds variables, what binds them, and the state of the search.
type Engine struct {
	val   []int32 // by Bound
	root  []int32 // by Bound: without any decision
	last  []int32 // by Bound: latest entry of the trail, or −1
	trail []entry
	next  int     // first entry not followed along arcs yet
	look  int     // first entry not shown to clauses yet
	shown []int32 // by Bound: value that clauses have been shown
	lim   []mark
	expl  []Atom

	arcs   []arc
	out    [][]int32 // by Bound: arcs that run from it
	gates  [][]gate  // by Bound: arcs that wait for it as a condition
	subs   [][]int32 // by Bound: propagators that want to know
	props  []prop
	queue  [levels][]int32
	bottom bool // contradiction without any decision

	clauses clauses
	keep    int       // learnt clauses kept before any are forgotten
	watches []buckets // by Bound that makes the watched atom false

	need    []int32 // by Bound: analysis
	met     []int32 // by Bound: stamp of the analysis that touched it
	touched []Bound
	conf    []Atom
	learnt  []Atom
	scratch []Atom
	seen    []int32 // by level, for counting levels of a clause
	stamp   int32

	atoms atoms
	saved []int32 // by Var: value of the best solution; Limit: none
	rng   uint64

	Conflicts, Decisions int64
}

// New makes an engine with nothing in it.
func New(seed int64) *Engine {
	e := &Engine{rng: uint64(seed)*0x9e3779b97f4a7c15 + 0x2545f4914f6cdd1d}
	e.atoms.init()
	e.clauses.inc, e.keep = 1, fewest
	return e
}

// NewVar makes a variable with bounds lo and hi, lo ≤ hi, both within ±Limit.
func (e *Engine) NewVar(lo, hi int) Var {
	x := Var(len(e.val) / 2)
	e.val = append(e.val, int32(lo), int32(-hi))
	e.root = append(e.root, int32(lo), int32(-hi))
	e.last = append(e.last, -1, -1)
	e.shown = append(e.shown, -Limit-1, -Limit-1)
	e.out = append(e.out, nil, nil)
	e.gates = append(e.gates, nil, nil)
	e.subs = append(e.subs, nil, nil)
	e.watches = append(e.watches, buckets{}, buckets{})
	e.need, e.met = append(e.need, none, none), append(e.met, 0, 0)
	e.saved = append(e.saved, Limit)
	return x
}

// Lo is the lower bound of a variable as it stands.
func (e *Engine) Lo(x Var) int { return int(e.val[2*x]) }

// Hi is the upper bound of a variable as it stands.
func (e *Engine) Hi(x Var) int { return -int(e.val[2*x+1]) }

// RootLo is the lower bound that holds in every solution.
func (e *Engine) RootLo(x Var) int { return int(e.root[2*x]) }

// RootHi is the upper bound that holds in every solution.
func (e *Engine) RootHi(x Var) int { return -int(e.root[2*x+1]) }

// Fixed reports whether the two bounds of a variable meet.
func (e *Engine) Fixed(x Var) bool { return e.val[2*x] == -e.val[2*x+1] }

// True reports whether an atom holds as things stand.
func (e *Engine) True(a Atom) bool { return a.B < 0 || e.val[a.B] >= a.V }

// False reports whether an atom cannot hold any more.
func (e *Engine) False(a Atom) bool { return a.B >= 0 && e.val[a.B^1] >= 1-a.V }

// Rooted reports whether an atom holds in every solution.
func (e *Engine) Rooted(a Atom) bool { return a.B < 0 || e.root[a.B] >= a.V }

// Level is the number of decisions that stand.
func (e *Engine) Level() int { return len(e.lim) }

// Save remembers the values of all fixed variables as what to try first.
func (e *Engine) Save() {
	for x := range e.saved {
		if e.Fixed(Var(x)) {
			e.saved[x] = e.val[2*x]
		}
	}
}

// Hint says which value of a variable to try first.
func (e *Engine) Hint(x Var, v int) { e.saved[x] = int32(v) }

// Require makes an atom hold in every solution. It goes back to no decisions first, and
// is false if there is no solution.
func (e *Engine) Require(a Atom) bool {
	e.back(0)
	if e.bottom {
		return false
	}
	if e.True(a) {
		return true
	}
	if e.False(a) || !e.push(a.B, a.V, why{kind: decided}) || !e.Propagate() {
		e.bottom = true
	}
	return !e.bottom
}

// Settle propagates what follows without any decision; false: there is no solution.
func (e *Engine) Settle() bool {
	e.back(0)
	if !e.bottom && !e.Propagate() {
		e.bottom = true
	}
	return !e.bottom
}

// Set makes an atom hold because of others, which all hold; false is a conflict. The
// reasons are copied.
func (e *Engine) Set(a Atom, because []Atom) bool {
	if a.B < 0 || e.val[a.B] >= a.V {
		return true
	}
	if e.False(a) {
		e.conf = append(append(e.conf[:0], because...), a.Not())
		return false
	}
	if len(e.lim) == 0 {
		return e.push(a.B, a.V, why{kind: decided})
	}
	i := len(e.expl)
	e.expl = append(e.expl, because...)
	return e.push(a.B, a.V, why{int32(i), int32(len(because)), byAtoms})
}

// Fail is a conflict: atoms that all hold and cannot hold together. It returns false.
func (e *Engine) Fail(because []Atom) bool {
	e.conf = append(e.conf[:0], because...)
	return false
}

// push raises a bound. It is false, with the conflict noted, where that passes the
// other bound.
func (e *Engine) push(b Bound, v int32, w why) bool {
	if v <= e.val[b] {
		return true
	}
	if hi := -e.val[b^1]; v > hi {
		// One past the other bound is enough for the conflict.
		e.conf = append(e.conf[:0], Atom{b ^ 1, -hi})
		e.conf = e.explain(e.conf, b, hi+1, w, int32(len(e.trail)))
		return false
	}
	e.trail = append(e.trail, entry{b, e.val[b], v, e.last[b], int32(len(e.lim)), w})
	e.last[b] = int32(len(e.trail) - 1)
	e.val[b] = v
	return true
}

// explain appends the reasons for [b ≥ q], where w is why a bound of q or more was set
// by the entry at, or would be.
func (e *Engine) explain(out []Atom, b Bound, q int32, w why, at int32) []Atom {
	switch w.kind {
	case byClause:
		for _, l := range e.clauses.atoms(w.i)[1:] {
			out = append(out, l.Not())
		}
	case byArc:
		a := &e.arcs[w.i]
		v := a.need(q)
		if a.step != nil {
			// A step that falls somewhere, against its word, is explained by what it was
			// pushed from: that held.
			v = min(v, e.before(a.from, at))
		}
		out = append(out, Atom{a.from, v})
		for _, c := range a.conds {
			if c.B >= 0 {
				out = append(out, c)
			}
		}
	case byAtoms:
		out = append(out, e.expl[w.i:w.i+w.n]...)
	}
	return out
}

// before is the value of a bound before an entry of the trail.
func (e *Engine) before(b Bound, at int32) int32 {
	i := e.last[b]
	for i >= at {
		i = e.trail[i].prev
	}
	if i < 0 {
		return e.root[b]
	}
	return e.trail[i].new
}

// level opens a new level of decisions.
func (e *Engine) level(popped int) {
	e.lim = append(e.lim, mark{len(e.trail), len(e.expl), popped})
}

// back undoes all decisions past a level.
func (e *Engine) back(to int) {
	if len(e.lim) <= to {
		return
	}
	m := e.lim[to]
	for i := len(e.trail) - 1; i >= m.trail; i-- {
		t := &e.trail[i]
		e.val[t.b], e.last[t.b] = t.old, t.prev
		e.shown[t.b] = min(e.shown[t.b], t.old)
	}
	e.trail, e.expl, e.lim = e.trail[:m.trail], e.expl[:m.expl], e.lim[:to]
	e.next, e.look = m.trail, m.trail
	e.clearQueue()
	e.atoms.back(m.popped)
}

// Propagate follows everything that the changes so far imply. It is false on a
// conflict, which is noted.
func (e *Engine) Propagate() bool {
	for {
		// Arcs first: a bound that they raise in several steps is shown to clauses once.
		if e.next < len(e.trail) {
			t := &e.trail[e.next]
			e.next++
			if !e.flow(t.b, t.old, t.new, e.last[t.b] == int32(e.next-1)) {
				e.clearQueue()
				return false
			}
			continue
		}
		if e.look < len(e.trail) {
			b := e.trail[e.look].b
			e.look++
			if old := e.shown[b]; e.val[b] > old {
				e.shown[b] = e.val[b]
				if len(e.watches[b].v) > 0 && !e.watched(b, old, e.val[b]) {
					e.clearQueue()
					return false
				}
			}
			continue
		}
		p := e.pop()
		if p < 0 {
			break
		}
		if !e.props[p].p.Propagate(e) {
			e.clearQueue()
			return false
		}
	}
	if len(e.lim) == 0 { // nothing of the root is ever explained or undone
		for i := range e.trail {
			b := e.trail[i].b
			e.root[b], e.last[b] = e.val[b], -1
		}
		e.trail, e.expl, e.next, e.look = e.trail[:0], e.expl[:0], 0, 0
	}
	return true
}

// Value is a bound as it stands.
func (e *Engine) Value(b Bound) int { return int(e.val[b]) }
