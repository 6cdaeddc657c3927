package solve

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/plan/solve/learn"
)

// These tests look into the engine while it searches and hold every reason that a
// propagator of this package gives, every conflict and every learnt clause, against all
// assignments that the propagator allows. The engine tests its own arcs and clauses.

// scene is a few variables and what binds them.
type scene struct {
	e     *learn.Engine
	lo    []int
	hi    []int
	keeps func(xs []int) bool
	all   [][]int // what is allowed
	given int     // reasons of propagators seen
	draw  draw
	t     require.TestingT
}

func (c *scene) newVar(lo, hi int) learn.Var {
	c.lo, c.hi = append(c.lo, lo), append(c.hi, hi)
	return c.e.NewVar(lo, hi)
}

// try lists what is allowed.
func (c *scene) try(xs []int) {
	if len(xs) == len(c.lo) {
		if c.keeps(xs) {
			c.all = append(c.all, slices.Clone(xs))
		}
		return
	}
	for v := c.lo[len(xs)]; v <= c.hi[len(xs)]; v++ {
		c.try(append(xs, v))
	}
}

func isSo(xs []int, a learn.Atom) bool {
	switch v := xs[max(0, a.B/2)]; {
	case a.B < 0:
		return true
	case a.B%2 == 0:
		return v >= int(a.V)
	default:
		return -v >= int(a.V)
	}
}

// some is an assignment with all of these atoms, or nil.
func (c *scene) some(atoms ...learn.Atom) []int {
	for _, xs := range c.all {
		if !slices.ContainsFunc(atoms, func(a learn.Atom) bool { return !isSo(xs, a) }) {
			return xs
		}
	}
	return nil
}

func (c *scene) field(name string) reflect.Value {
	return reflect.ValueOf(c.e).Elem().FieldByName(name)
}

func atomsOf(v reflect.Value, from, n int) (out []learn.Atom) {
	for i := range n {
		a := v.Index(from + i)
		out = append(out, learn.Atom{B: learn.Bound(a.Field(0).Int()), V: int32(a.Field(1).Int())})
	}
	return out
}

// look checks the reasons of the latest level, and the latest conflict.
func (c *scene) look() {
	conf := c.field("conf")
	if why := atomsOf(conf, 0, conf.Len()); len(why) > 0 {
		require.Nil(c.t, c.some(why...), "the conflict %v is none", why)
	}
	trail, expl, root := c.field("trail"), c.field("expl"), c.field("root")
	get := func(i int, name string) int { return int(trail.Index(i).FieldByName(name).Int()) }
	for i := trail.Len() - 1; i >= 0 && get(i, "level") == c.e.Level(); i-- {
		if trail.Index(i).FieldByName("kind").Uint() != 3 { // byAtoms
			continue
		}
		c.given++
		then := learn.Atom{B: learn.Bound(get(i, "b")), V: int32(get(i, "new"))}
		why := atomsOf(expl, get(i, "i"), get(i, "n"))
		for _, a := range why {
			k := i
			for k--; k >= 0 && (get(k, "b") != int(a.B) || get(k, "new") < int(a.V)); k-- {
			}
			held := a.B < 0 || k >= 0 || int(root.Index(int(a.B)).Int()) >= int(a.V)
			require.True(c.t, held, "%v, a reason of %v, did not hold before", a, then)
		}
		require.Nil(c.t, c.some(append(why, then.Not())...), "%v is no reason of %v", why, then)
	}
}

// learnt checks all clauses that have been learnt.
func (c *scene) learnt() {
	head, pool := c.field("clauses").FieldByName("head"), c.field("clauses").FieldByName("pool")
	for k := range head.Len() {
		h := head.Index(k)
		var nots []learn.Atom
		for _, a := range atomsOf(pool, int(h.FieldByName("at").Int()), int(h.FieldByName("n").Int())) {
			nots = append(nots, a.Not())
		}
		require.Nil(c.t, c.some(nots...), "what was learnt forbids what is allowed")
	}
}

// Choose implements learn.Brancher: it looks, and decides by lot.
func (c *scene) Choose(e *learn.Engine) (learn.Atom, bool) {
	c.look()
	var open []learn.Var
	for x := range c.lo {
		if !e.Fixed(learn.Var(x)) {
			open = append(open, learn.Var(x))
		}
	}
	if len(open) == 0 {
		return learn.Atom{}, false
	}
	x := open[c.draw(len(open))]
	a := x.AtLeast(c.draw.from(e.Lo(x)+1, e.Hi(x)))
	if c.draw.oneIn(2) {
		a = a.Not()
	}
	return a, true
}

// run searches a few times under assumptions by lot, and checks all that comes of it.
func (c *scene) run() {
	c.try(nil)
	for range 3 {
		var assume []learn.Atom
		for range c.draw(3) {
			x := c.draw(len(c.lo))
			assume = append(assume, learn.Var(x).AtLeast(c.draw.from(c.lo[x], c.hi[x])))
		}
		o := c.e.Run(learn.Search{Brancher: c, Plain: true, Assume: assume, Ease: int64(c.draw(3))})
		switch xs := c.some(assume...); o {
		case learn.Solved:
			got := make([]int, len(c.lo))
			for x := range got {
				got[x] = c.e.Lo(learn.Var(x))
			}
			require.True(c.t, c.keeps(got), "%v is not allowed", got)
		case learn.Refuted:
			require.Empty(c.t, c.all)
		default:
			require.Nil(c.t, xs)
		}
		c.learnt()
	}
}

// scenes draws many and runs them.
func scenes(t *testing.T, n, reasons int, draw func(c *scene, d draw)) {
	given, conflicts := 0, 0
	for seed := range uint64(n) {
		d := numbers(seed)
		c := &scene{e: learn.New(1), draw: d, t: seeded{t, seed}}
		draw(c, d)
		c.run()
		given += c.given
		conflicts += int(c.e.Conflicts)
	}
	t.Logf("%d reasons, %d conflicts", given, conflicts)
	assert.Greater(t, given, reasons)
	assert.Greater(t, conflicts, n/20)
}

// seeded says of a failure which seed it is of.
type seeded struct {
	t    *testing.T
	seed uint64
}

func (s seeded) Errorf(format string, args ...any) {
	s.t.Helper()
	s.t.Errorf("seed %d: "+format, append([]any{s.seed}, args...)...)
}

func (s seeded) FailNow() { s.t.FailNow() }

func TestCumulativeAndEnergyGiveValidReasons(t *testing.T) {
	scenes(t, 1500, 1500, func(c *scene, d draw) {
		h := d.from(5, 7)
		r := newCumulative(&net{m: &Model{Horizon: h}, e: c.e}, d.from(1, 4))
		for range d.from(2, 3) {
			c.part(d, r, d(2), h-d(2), d.from(1, 3))
		}
		c.base(d, r)
		r.install()
	})
}

// Work that fits nowhere, though no tick shows it.
func TestEnergyAloneGivesValidReasons(t *testing.T) {
	scenes(t, 300, -1, func(c *scene, d draw) {
		h := d.from(6, 8)
		r := newCumulative(&net{m: &Model{Horizon: h}, e: c.e}, d.from(1, 3))
		for range d.from(3, 4) {
			lo := d(3)
			c.part(d, r, lo, max(lo+4, h-d(3)), d.from(1, r.cap))
		}
		c.base(d, r)
		var bounds []learn.Bound
		for k, p := range r.parts {
			r.byFrom, r.byTo = append(r.byFrom, k), append(r.byTo, k)
			bounds = append(bounds, p.start.Least(), p.start.Most(), p.end.Least())
			if p.on != learn.Always() {
				bounds = append(bounds, p.on.B)
			}
		}
		c.e.Add(drawing{r}, 1, bounds...)
		c.e.Add(&energy{cumulative: r}, 2, bounds...)
	})
}

// drawing is the time-table without its moves: it draws the profile that energy looks at,
// and fails where that is too high.
type drawing struct{ *cumulative }

// Propagate implements learn.Propagator.
func (d drawing) Propagate(e *learn.Engine) bool {
	d.changed(e)
	d.drawn = d.draw(e)
	return d.drawn
}

// part draws a part that lies between two ticks.
func (c *scene) part(d draw, r *cumulative, from, to, need int) {
	h := r.n.m.Horizon
	p := part{dur: d.from(1, 3), need: need, on: learn.Always()}
	p.start = c.newVar(from, max(from, to-p.dur))
	p.end, p.add = p.start, p.dur
	if d.oneIn(4) { // it may pause
		p.end, p.add = c.newVar(0, h), 0
		c.e.Before(p.start, p.end, p.dur)
	}
	if d.oneIn(4) {
		p.on = c.newVar(0, 1).Yes()
	}
	r.parts = append(r.parts, p)
}

// base draws what is taken in any case, and says what is allowed.
func (c *scene) base(d draw, r *cumulative) {
	h := r.n.m.Horizon
	taken := make([]int, h+1)
	for at := 0; at < h && d.oneIn(2); at += d.from(1, 3) {
		if k := len(r.base); k == 0 || r.base[k-1].at < at {
			r.base = append(r.base, step{at, d(r.cap + 1)})
			for u := at; u <= h; u++ {
				taken[u] = r.base[k].height
			}
		}
	}
	c.keeps = func(xs []int) bool {
		runs := make([]int, h+9)
		for _, p := range r.parts {
			if xs[p.end]+p.add < xs[p.start]+p.dur {
				return false
			}
			for at := xs[p.start]; at < xs[p.end]+p.add && isSo(xs, p.on); at++ {
				if runs[at] += p.need; runs[at]+taken[min(at, h)] > r.cap {
					return false
				}
			}
		}
		return true
	}
}

func TestCountGivesValidReasons(t *testing.T) {
	scenes(t, 1500, 600, func(c *scene, d draw) {
		n := d.from(2, 6)
		k, on := d.from(2, n), learn.Always()
		var all []learn.Atom
		for range n {
			all = append(all, c.newVar(0, 1).Yes())
		}
		if d.oneIn(2) {
			on = c.newVar(0, 1).Yes()
		}
		// A second count of some of them makes conflicts.
		some, m := all[:d.from(2, n)], 2
		nn := net{e: c.e}
		nn.exactly(all, k, on)
		nn.exactly(some, m, learn.Always())
		c.keeps = func(xs []int) bool {
			count := func(as []learn.Atom) (yes int) {
				for _, a := range as {
					if isSo(xs, a) {
						yes++
					}
				}
				return yes
			}
			want := 0
			if isSo(xs, on) {
				want = k
			}
			return count(all) == want && count(some) == m
		}
	})
}

func TestLinearGivesValidReasons(t *testing.T) {
	scenes(t, 1500, 600, func(c *scene, d draw) {
		var xs []learn.Var
		for range d.from(2, 4) {
			lo := d.from(-3, 2)
			xs = append(xs, c.newVar(lo, lo+d.from(0, 4)))
		}
		type sum struct {
			terms []term
			limit int
			on    learn.Atom
		}
		var sums []sum
		for range d.from(1, 3) {
			s := sum{limit: d.from(-6, 8), on: learn.Always()}
			for range d.from(1, 4) {
				x := xs[d(len(xs))]
				s.terms = append(s.terms, term{[]learn.Bound{x.Least(), x.Most()}[d(2)], d.from(1, 3)})
			}
			if d.oneIn(3) {
				s.on = c.newVar(0, 1).Yes()
			}
			newLinear(c.e, s.terms, s.limit, s.on)
			sums = append(sums, s)
		}
		c.keeps = func(xs []int) bool {
			for _, s := range sums {
				total := 0
				for _, t := range s.terms {
					v := xs[t.b/2]
					if t.b%2 == 1 {
						v = -v
					}
					total += t.weight * v
				}
				if isSo(xs, s.on) && total > s.limit {
					return false
				}
			}
			return true
		}
	})
}
