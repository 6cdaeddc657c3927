package learn

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// audit runs a search step by step as descend does, and looks at everything the engine
// relies on between the steps: reasons, conflicts, learnt clauses, watches, what is
// undone. It decides by lot, forgets clauses by lot, and knows all solutions.
type audit struct {
	t      require.TestingT
	draw   draw
	p      *problem
	all    [][]int // solutions
	e      *Engine
	stands []stand // by level: as it stood when the next level was opened
	forgot int
}

// stand is what back has to restore.
type stand struct {
	val, last []int32
	trail     []entry
	expl      []Atom
	popped    int
}

func (e *Engine) stand() stand {
	return stand{slices.Clone(e.val), slices.Clone(e.last), append([]entry{}, e.trail...), append([]Atom{}, e.expl...), len(e.atoms.popped)}
}

// run searches to the end and reports whether it has come to a solution.
func (a *audit) run() bool {
	e := a.e
	if !e.Settle() {
		return false
	}
	a.settled()
	given := a.given()
	for step := 0; ; step++ {
		require.Less(a.t, step, 20000, "no end")
		if l := len(e.lim); l > 0 && a.draw.oneIn(8) {
			e.back(a.draw(l))
			a.stood()
		}
		if !e.Propagate() {
			e.Conflicts++
			if !a.conflict() {
				return false
			}
			continue
		}
		a.settled()
		if a.draw.oneIn(6) {
			a.forget(given)
		}
		popped := len(e.atoms.popped)
		x, ok := e.choose(&Search{Brancher: byLot{a.draw}}, a.draw.oneIn(2))
		if !ok {
			require.True(a.t, a.p.allows(e.found()), "%v is no solution", e.found())
			return true
		}
		require.False(a.t, e.True(x) || e.False(x))
		a.stands = append(a.stands[:len(e.lim)], e.stand())
		a.stands[len(e.lim)].popped = popped
		e.level(popped)
		require.True(a.t, e.push(x.B, x.V, why{kind: decided}))
	}
}

// stood checks that all is as it was when the next level was opened.
func (a *audit) stood() {
	e, l := a.e, len(a.e.lim)
	if l >= len(a.stands) {
		return
	}
	was := a.stands[l]
	require.Equal(a.t, was.val, e.val)
	require.Equal(a.t, was.last, e.last)
	require.Equal(a.t, len(was.trail), len(e.trail))
	require.Equal(a.t, was.expl, append([]Atom{}, e.expl...))
	for i, t := range was.trail {
		u := e.trail[i]
		if t.kind == byClause { // the number may have changed
			t.i, u.i = 0, 0
		}
		require.Equal(a.t, t, u)
	}
	for b := range e.val {
		require.LessOrEqual(a.t, e.shown[b], e.val[b])
	}
	require.Len(a.t, e.atoms.popped, was.popped)
	for k, at := range e.atoms.where {
		require.True(a.t, at >= 0 || slices.Contains(e.atoms.popped, int32(k)), "an atom is lost")
	}
	for _, q := range e.queue {
		require.Empty(a.t, q)
	}
}

// undone is stood, but for the one bound that has been asserted since.
func (a *audit) undone(b Bound) {
	e, was := a.e, a.stands[len(a.e.lim)]
	require.Equal(a.t, len(was.trail)+1, len(e.trail))
	require.Equal(a.t, b, e.trail[len(was.trail)].b)
	require.Equal(a.t, was.val[b], e.trail[len(was.trail)].old)
	require.Equal(a.t, was.expl, append([]Atom{}, e.expl...))
	for x, v := range was.val {
		require.True(a.t, v == e.val[x] || Bound(x) == b)
	}
}

// conflict checks a conflict and the clause that is learnt from it; false: there is no
// solution.
func (a *audit) conflict() bool {
	e := a.e
	for _, x := range e.conf {
		require.True(a.t, e.True(x), "%v of the conflict does not hold", x)
	}
	require.False(a.t, agreeing(a.all, e.conf), "the conflict %v is none", e.conf)
	e.back(e.clashLevel())
	if len(e.lim) == 0 {
		return false
	}
	level := len(e.lim)
	before := e.stand()
	back, lbd := e.analyse()
	require.Equal(a.t, before, e.stand(), "analysis changes nothing")
	a.clause(back, lbd, level)
	// learn analyses once more: the same comes of it but for activities.
	learnt := slices.Clone(e.learnt)
	ok := e.learn()
	require.Equal(a.t, learnt, e.learnt)
	require.Equal(a.t, ok, !e.bottom)
	require.Len(a.t, e.lim, back)
	if ok {
		a.undone(learnt[0].B)
		require.True(a.t, e.True(learnt[0]), "what is learnt asserts nothing")
		if len(learnt) == 1 {
			require.Empty(a.t, e.lim)
		}
	}
	return ok
}

// clause checks that what is learnt follows from the problem, that all of it is false
// now, that one atom alone is of the level of the conflict, and that back and lbd are
// right.
func (a *audit) clause(back, lbd, level int) {
	e := a.e
	var nots []Atom
	levels, bounds := map[int]bool{}, map[Bound]bool{}
	for i, x := range e.learnt {
		require.True(a.t, e.False(x), "%v is not false", x)
		require.False(a.t, e.Rooted(x.Not()), "%v is always false", x)
		require.False(a.t, bounds[x.B], "two atoms of one bound in %v", e.learnt)
		bounds[x.B] = true
		nots = append(nots, x.Not())
		l := int(e.trail[e.at(x.Not())].level)
		levels[l] = true
		require.Equal(a.t, i == 0, l == level, "%v at level %d of %d", x, l, level)
		if i == 1 {
			require.Equal(a.t, back, l, "the second atom is not of the level that is gone back to")
		}
		require.True(a.t, i == 0 || l <= back)
	}
	require.Len(a.t, levels, lbd)
	if len(e.learnt) == 1 {
		require.Zero(a.t, back)
	}
	require.False(a.t, agreeing(a.all, nots), "%v does not follow", e.learnt)
	for b := range e.need {
		require.EqualValues(a.t, none, e.need[b])
	}
}

// settled checks what has to be so once nothing more follows.
func (a *audit) settled() {
	e := a.e
	require.Equal(a.t, len(e.trail), e.next)
	require.Equal(a.t, len(e.trail), e.look)
	for i := range e.trail {
		a.reason(int32(i))
	}
	a.arcsRest()
	a.clausesRest()
	for l := range e.lim {
		for _, t := range e.trail[e.lim[l].trail:] {
			require.Greater(a.t, int(t.level), l)
		}
	}
	for i := range e.atoms.heap { // a heap, and each knows its place
		require.EqualValues(a.t, i, e.atoms.where[e.atoms.heap[i]])
		require.GreaterOrEqual(a.t, e.atoms.act[e.atoms.heap[(i-1)/2]], e.atoms.act[e.atoms.heap[i]])
	}
}

// reason checks why an entry of the trail holds, for every value between its old and
// new: the reasons held before it, and no solution has them without it.
func (a *audit) reason(i int32) {
	e, t := a.e, a.e.trail[i]
	if t.kind == decided {
		require.EqualValues(a.t, e.lim[t.level-1].trail, i, "a decision opens its level")
		return
	}
	for q := t.old + 1; q <= t.new; q++ {
		why := e.explain(nil, t.b, q, t.why, i)
		for _, x := range why {
			require.True(a.t, e.Rooted(x) || e.True(x) && e.at(x) < i, "%v, a reason of %v, did not hold before it (kind %d)", x, Atom{t.b, q}, t.kind)
		}
		require.False(a.t, agreeing(a.all, append(why, Atom{t.b, q}.Not())), "%v is no reason of %v (kind %d)", why, Atom{t.b, q}, t.kind)
	}
}

// arcsRest checks that no arc has anything left to say.
func (a *audit) arcsRest() {
	e := a.e
	for k := range e.arcs {
		c := &e.arcs[k]
		open, closed := 0, false
		for _, x := range c.conds {
			closed = closed || e.False(x)
			if !e.True(x) && !e.False(x) {
				open++
			}
		}
		v := c.push(e.val[c.from])
		switch {
		case closed:
		case open == 0:
			require.LessOrEqual(a.t, v, e.val[c.to], "an arc is not followed")
		case open == 1 && a.paired(c):
			require.LessOrEqual(a.t, v, -e.val[c.to^1], "a condition is not refuted")
		}
	}
}

// paired reports whether the other way round of an arc is there too: only then is it
// looked at when its far end moves.
func (a *audit) paired(c *arc) bool {
	return slices.ContainsFunc(a.e.arcs, func(d arc) bool {
		return d.from == c.to^1 && d.to == c.from^1 && d.step == nil && c.step == nil && d.w == c.w && d.conds == c.conds
	})
}

// clausesRest checks that no clause has anything left to say, and that each is watched
// by two of its atoms.
func (a *audit) clausesRest() {
	e := a.e
	watched := map[int32]int{}
	for b, buckets := range e.watches {
		require.True(a.t, slices.IsSorted(buckets.v), "watches out of order")
		for i, v := range buckets.v {
			for _, w := range buckets.ws[i] {
				x := Atom{Bound(b) ^ 1, 1 - v}
				require.Contains(a.t, e.clauses.atoms(w.clause)[:2], x)
				require.Contains(a.t, e.clauses.atoms(w.clause), w.block)
				watched[w.clause]++
			}
		}
	}
	for k := range e.clauses.head {
		require.Equal(a.t, 2, watched[int32(k)])
		yes, open := 0, 0
		for _, x := range e.clauses.atoms(int32(k)) {
			if e.True(x) {
				yes++
			} else if !e.False(x) {
				open++
			}
		}
		require.True(a.t, yes > 0 || open > 1, "a clause is not followed")
	}
}

// given are the clauses of the problem.
func (a *audit) given() (out [][]Atom) {
	c := &a.e.clauses
	for k := range c.head {
		if c.head[k].lbd == 0 {
			x := slices.Clone(c.atoms(int32(k)))
			slices.SortFunc(x, func(p, q Atom) int { return cmp.Or(int(p.B-q.B), int(p.V-q.V)) })
			out = append(out, x)
		}
	}
	return out
}

// forget has the engine forget, and checks that it keeps what it must.
func (a *audit) forget(given [][]Atom) {
	e := a.e
	reasons := func() (out [][]Atom) {
		for _, t := range e.trail {
			if t.kind == byClause {
				out = append(out, slices.Clone(e.clauses.atoms(t.i)))
			}
		}
		return out
	}
	kept := func() (n int) {
		for _, h := range e.clauses.head {
			if h.lbd == 1 || h.lbd == 2 {
				n++
			}
		}
		return n
	}
	was, before, learnt, short := reasons(), e.stand(), e.clauses.learnt, kept()
	e.forget()
	require.Equal(a.t, was, reasons())
	require.Equal(a.t, given, a.given())
	require.Equal(a.t, short, kept(), "clauses of two levels stay")
	require.Equal(a.t, before.val, e.val)
	n, atoms := 0, int32(0)
	for _, h := range e.clauses.head {
		if h.lbd > 0 {
			n++
		}
		require.False(a.t, h.dropped)
		require.Equal(a.t, atoms, h.at)
		atoms += h.n
	}
	require.Equal(a.t, n, e.clauses.learnt)
	require.Len(a.t, e.clauses.pool, int(atoms))
	if n < learnt {
		a.forgot++
	}
	a.settled()
}

func TestEveryReasonAndEveryLearntClauseFollowsFromTheProblem(t *testing.T) {
	conflicts, forgot, solved := 0, 0, 0
	try := func(seed uint64, problem func(d draw) *problem) {
		d := numbers(seed)
		p := problem(d)
		a := &audit{t: seeded{t, seed}, draw: d, p: p, all: p.solutions(), e: p.engine(3)}
		ok := a.run()
		require.Equal(t, len(a.all) > 0, ok, "seed %d", seed)
		if ok {
			solved++
			if len(a.e.lim) > 0 {
				a.e.back(0)
				a.stood()
			}
		}
		conflicts += int(a.e.Conflicts)
		forgot += a.forgot
	}
	for seed := range uint64(4000) {
		try(seed, func(d draw) *problem { return d.problem(tinyScale) })
	}
	for seed := range uint64(300) {
		try(seed, func(d draw) *problem { return d.problem(tightScale) })
	}
	for seed := range uint64(100) {
		try(seed, func(d draw) *problem { return d.queue(5, 10) })
	}
	for seed := range uint64(40) {
		try(seed, func(d draw) *problem { return d.queue(6, 10) })
	}
	t.Logf("%d conflicts, %d times forgotten, %d solved", conflicts, forgot, solved)
	assert.Greater(t, conflicts, 1000)
	assert.Greater(t, forgot, 50)
}
