package learn

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLubyIsTheSeriesOfThePaper(t *testing.T) {
	// M. Luby, A. Sinclair, D. Zuckerman, IPL 47 (1993), 173-180: the first terms as printed there.
	var got []int64
	for i := 1; i <= 15; i++ {
		got = append(got, luby(i))
	}
	assert.Equal(t, []int64{1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8}, got)
	assert.EqualValues(t, 1<<19, luby(1<<20-1))
}

func TestAtomAndItsContraryShareNoValue(t *testing.T) {
	x := New(0).NewVar(-5, 5)
	for v := -4; v <= 4; v++ {
		assert.Equal(t, x.AtMost(v-1), x.AtLeast(v).Not())
		assert.Equal(t, x.AtLeast(v+1), x.AtMost(v).Not())
		assert.Equal(t, x.AtLeast(v), x.AtLeast(v).Not().Not())
		assert.Equal(t, x.AtLeast(v), lower(x.AtLeast(v)))
		assert.Equal(t, x.AtLeast(v), lower(x.AtMost(v-1)))
	}
	assert.Equal(t, x.Most(), x.Least().Opp())
	assert.Equal(t, x.No(), x.Yes().Not())
}

func TestBoundsAreReadAsTheyStand(t *testing.T) {
	e := New(0)
	x, y := e.NewVar(-2, 7), e.NewVar(3, 3)
	assert.Equal(t, []int{-2, 7}, []int{e.Lo(x), e.Hi(x)})
	assert.False(t, e.Fixed(x))
	assert.True(t, e.Fixed(y))
	for _, r := range []struct {
		a           Atom
		yes, no     bool
		description string
	}{
		{x.AtLeast(-2), true, false, "at its least"},
		{x.AtLeast(-1), false, false, "between"},
		{x.AtLeast(8), false, true, "past its most"},
		{x.AtMost(7), true, false, "at its most"},
		{x.AtMost(-3), false, true, "before its least"},
		{Always(), true, false, "always"},
	} {
		assert.Equal(t, r.yes, e.True(r.a), r.description)
		assert.Equal(t, r.no, e.False(r.a), r.description)
		assert.Equal(t, r.yes, e.Rooted(r.a), r.description)
	}
	require.True(t, e.Require(x.AtLeast(4)))
	assert.Equal(t, []int{4, 7, 4, 7}, []int{e.Lo(x), e.Hi(x), e.RootLo(x), e.RootHi(x)})
	assert.False(t, e.Require(x.AtMost(3)))
	assert.False(t, e.Settle(), "there is no way back from a contradiction")
	assert.Equal(t, Refuted, e.Run(Search{Brancher: byLot{}}))
}

func TestArcPushesBothEndsAndRefutesItsLastCondition(t *testing.T) {
	// y ≥ x + 3 while f and g, by both arcs.
	for _, r := range []struct {
		name           string
		x, y           span
		f, g           span
		xhi, ylo, gmax int
	}{
		{"both hold", span{2, 9}, span{0, 9}, span{1, 1}, span{1, 1}, 6, 5, 1},
		{"one is open, and nothing is wrong", span{2, 9}, span{0, 9}, span{1, 1}, span{0, 1}, 9, 0, 1},
		{"one is open and cannot hold", span{7, 9}, span{0, 9}, span{1, 1}, span{0, 1}, 9, 0, 0},
		{"both are open", span{7, 9}, span{0, 9}, span{0, 1}, span{0, 1}, 9, 0, 1},
		{"one does not hold", span{7, 9}, span{0, 9}, span{0, 0}, span{1, 1}, 9, 0, 1},
	} {
		t.Run(r.name, func(t *testing.T) {
			e := New(0)
			x, y, f, g := e.NewVar(r.x.lo, r.x.hi), e.NewVar(r.y.lo, r.y.hi), e.NewVar(r.f.lo, r.f.hi), e.NewVar(r.g.lo, r.g.hi)
			e.Before(x, y, 3, f.Yes(), g.Yes())
			require.True(t, e.Settle())
			assert.Equal(t, []int{r.xhi, r.ylo, r.gmax}, []int{e.Hi(x), e.Lo(y), e.Hi(g)})
		})
	}
}

func TestArcIsExplainedForWhatIsAsked(t *testing.T) {
	e := New(0)
	x, y, f := e.NewVar(0, 9), e.NewVar(0, 20), e.NewVar(0, 1)
	e.StepArc(x.Least(), y.Least(), stairs{0, []int32{0, 0, 4, 4, 4, 8, 8, 8, 8, 15}}, f.Yes())
	require.True(t, e.Settle())
	e.level(0)
	e.push(f.Least(), 1, why{kind: decided})
	require.True(t, e.Propagate())
	e.level(0)
	e.push(x.Least(), 6, why{kind: decided})
	require.True(t, e.Propagate())
	require.Equal(t, 8, e.Lo(y))
	w := e.trail[e.last[y.Least()]].why
	for q, from := range map[int32]int{1: 2, 4: 2, 5: 5, 8: 5} {
		assert.Equal(t, []Atom{x.AtLeast(from), f.Yes()}, e.explain(nil, y.Least(), q, w, e.last[y.Least()]), "y ≥ %d", q)
	}
}

func TestClauseDropsWhatIsSettledAndWhatIsThereTwice(t *testing.T) {
	e := New(0)
	x, y, z := e.NewVar(0, 9), e.NewVar(0, 9), e.NewVar(0, 9)
	e.Clause(x.AtLeast(0), y.AtLeast(3))
	assert.Empty(t, e.clauses.head, "it holds already")
	e.Clause(x.AtLeast(4), x.AtLeast(4), y.AtLeast(10), z.AtMost(2))
	require.Len(t, e.clauses.head, 1)
	assert.Equal(t, []Atom{x.AtLeast(4), z.AtMost(2)}, e.clauses.atoms(0))
	e.Clause(y.AtLeast(5), z.AtLeast(10))
	assert.Equal(t, 5, e.Lo(y), "one atom is left")
	e.Clause(y.AtMost(4), x.AtMost(-1))
	assert.False(t, e.Settle(), "none is left")
}

func TestClauseOverOneBoundIsWatchedAlike(t *testing.T) {
	// x is 2 or less or 7 or more, and 6 or less or 8 or more.
	e := New(0)
	x := e.NewVar(0, 9)
	e.Clause(x.AtMost(2), x.AtLeast(7))
	e.Clause(x.AtMost(6), x.AtLeast(8))
	require.True(t, e.Settle())
	require.True(t, e.Require(x.AtLeast(3)))
	assert.Equal(t, 8, e.Lo(x))
}

func TestRequireHoldsAndIsNotUndone(t *testing.T) {
	e := New(0)
	x, y := e.NewVar(0, 9), e.NewVar(0, 9)
	e.Before(x, y, 2)
	require.Equal(t, Solved, e.Run(Search{Brancher: byLot{}}))
	require.Positive(t, e.Level())
	require.True(t, e.Require(x.AtLeast(3)))
	assert.Zero(t, e.Level(), "decisions are undone first")
	assert.Equal(t, []int{3, 7, 5, 9}, []int{e.Lo(x), e.Hi(x), e.Lo(y), e.Hi(y)})
	e.Back()
	assert.Equal(t, 5, e.RootLo(y))
	assert.True(t, e.Require(Always()))
}

// pigeons is more pigeons than holes, or as many: a problem that only learning and much
// of it refutes.
func pigeons(n, holes int) *Engine {
	e := New(0)
	at := make([][]Var, n)
	for i := range at {
		var some []Atom
		for range holes {
			v := e.NewVar(0, 1)
			at[i], some = append(at[i], v), append(some, v.Yes())
		}
		e.Clause(some...)
		for k := range i {
			for h := range holes {
				e.Clause(at[i][h].No(), at[k][h].No())
			}
		}
	}
	return e
}

func TestPigeonsAreRefutedThoughClausesAreForgotten(t *testing.T) {
	e := pigeons(8, 7)
	given := len(e.clauses.head)
	o := Stopped
	for o == Stopped { // in many pieces
		o = e.Run(Search{Brancher: byLot{}, Limit: 150, Ease: 20})
		e.forget()
	}
	assert.Equal(t, Refuted, o)
	assert.Less(t, len(e.clauses.head)-given, int(e.Conflicts)/2, "half of them at least are forgotten")
	n := 0
	for _, h := range e.clauses.head {
		if h.lbd == 0 {
			n++
		}
	}
	assert.Equal(t, given, n, "the given ones never")
	assert.Equal(t, Solved, pigeons(7, 7).Run(Search{Brancher: byLot{}}))
}

func TestLimitIsOfConflicts(t *testing.T) {
	for _, limit := range []int64{1, 2, 7, 100, 350} {
		e := pigeons(9, 8)
		require.Equal(t, Stopped, e.Run(Search{Brancher: byLot{}, Limit: limit}))
		assert.Equal(t, limit, e.Conflicts)
		require.Equal(t, Stopped, e.Run(Search{Brancher: byLot{}, Limit: limit}))
		assert.Equal(t, 2*limit, e.Conflicts, "each run has its own")
	}
}

func TestStopIsAskedWhileItSearches(t *testing.T) {
	e, asked := pigeons(9, 8), 0
	require.Equal(t, Stopped, e.Run(Search{Brancher: byLot{}, Stop: func() bool { asked++; return asked == 3 }}))
	assert.Equal(t, 3, asked)
	assert.LessOrEqual(t, e.Conflicts, int64(96))
}

func TestSavedValuesAreTriedFirst(t *testing.T) {
	e := New(0)
	x, y := e.NewVar(0, 9), e.NewVar(0, 9)
	e.atoms.bump(x.AtLeast(5))
	e.atoms.bump(y.AtLeast(5))
	assert.Equal(t, Limit, e.Hinted(x))
	e.Hint(x, 7)
	e.Hint(y, 2)
	require.Equal(t, Solved, e.Run(Search{Brancher: byLot{}, Guided: true}))
	assert.Equal(t, []int{5, 0}, []int{e.Lo(x), e.Lo(y)}, "the half in which it lies, then the Brancher's")
	e.Save()
	assert.Equal(t, []int{5, 0}, []int{e.Hinted(x), e.Hinted(y)})
}

func TestMostActiveAtomIsTakenFirstAndComesBack(t *testing.T) {
	for seed := range uint64(200) {
		d := numbers(seed)
		var h atoms
		h.init()
		act := map[Atom]float64{}
		inc := 1.0
		for range 60 {
			a := Atom{Bound(2 * d(10)), int32(d(3))}
			if d.oneIn(2) {
				h.bump(a.Not()) // the same
			} else {
				h.bump(a)
			}
			act[a] += inc
			if d.oneIn(3) {
				h.decay()
				inc *= forgetting
			}
		}
		for range 2 {
			var got []float64
			seen := map[Atom]bool{}
			for {
				a, ok := h.take()
				if !ok {
					break
				}
				require.False(t, seen[a])
				seen[a] = true
				got = append(got, act[a])
			}
			require.Len(t, got, len(act))
			require.True(t, slices.IsSortedFunc(got, func(a, b float64) int {
				if a > b*(1+1e-9) {
					return -1
				} else if b > a*(1+1e-9) {
					return 1
				}
				return 0
			}), "%v", got)
			h.back(0)
			require.Len(t, h.heap, len(act))
		}
	}
}

func TestActivitiesAreScaledBeforeTheyOverflow(t *testing.T) {
	var h atoms
	h.init()
	a, b := Atom{0, 1}, Atom{2, 1}
	h.bump(a)
	for range 20000 {
		h.decay()
		h.bump(b)
	}
	h.bump(a)
	h.bump(a)
	require.Less(t, h.inc, 2*overflow)
	first, _ := h.take()
	second, _ := h.take()
	assert.Equal(t, []Atom{b, a}, []Atom{first, second})
}

func TestTooManyAtomsAreTrimmedToTheActive(t *testing.T) {
	var h atoms
	h.init()
	for i := range mostAtoms {
		h.bump(Atom{Bound(2 * i), 1})
		if i%8 == 0 {
			h.bump(Atom{Bound(2 * i), 1})
		}
	}
	h.trim()
	require.Len(t, h.atom, mostAtoms/8)
	for k, a := range h.atom {
		require.Zero(t, a.B%16)
		require.EqualValues(t, k, h.id[a])
		require.EqualValues(t, k, h.heap[h.where[k]])
	}
}

// counted counts how often it runs and in what order.
type counted struct {
	name string
	ran  *[]string
}

func (c counted) Propagate(*Engine) bool { *c.ran = append(*c.ran, c.name); return true }

func TestPropagatorsRunOnceForManyChangesCheapOnesFirst(t *testing.T) {
	e := New(0)
	x, y := e.NewVar(0, 9), e.NewVar(0, 9)
	var ran []string
	e.Add(counted{"dear", &ran}, 2, x.Least(), y.Least())
	e.Add(counted{"cheap", &ran}, 0, x.Least(), y.Least())
	e.Before(x, y, 1)
	require.True(t, e.Settle())
	assert.Equal(t, []string{"cheap", "dear"}, ran)
	require.True(t, e.Require(x.AtLeast(3)))
	assert.Equal(t, []string{"cheap", "dear", "cheap", "dear"}, ran)
	require.True(t, e.Require(x.AtMost(5)))
	assert.Len(t, ran, 4, "nothing they asked for has changed")
	e.Wake()
	require.True(t, e.Settle())
	assert.Len(t, ran, 6)
}

func TestRunForgetsByItself(t *testing.T) {
	e := pigeons(9, 8)
	e.keep = 500
	require.Equal(t, Refuted, e.Run(Search{Brancher: byLot{}}))
	t.Log(e.Conflicts, e.clauses.learnt)
	assert.Greater(t, e.Conflicts, int64(2*e.keep))
	assert.Less(t, e.clauses.learnt, int(e.Conflicts)*3/4)
}
