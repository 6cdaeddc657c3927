package learn

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// found is what the engine has settled on.
func (e *Engine) found() (xs []int) {
	for x := range e.saved {
		xs = append(xs, e.Lo(Var(x)))
	}
	return xs
}

// agreeing reports whether some solution has all of these atoms.
func agreeing(solutions [][]int, atoms []Atom) bool {
	return slices.ContainsFunc(solutions, func(xs []int) bool {
		return !slices.ContainsFunc(atoms, func(a Atom) bool { return a.B >= 0 && !holds(xs, a) })
	})
}

func (d draw) search() Search {
	s := Search{Guided: d.oneIn(2), Plain: d.oneIn(3), Ease: int64(d(3)), Brancher: byLot{}}
	if d.oneIn(2) {
		s.Brancher = byLot{d}
	}
	return s
}

// judge asks one engine several questions in a row, each with assumptions of its own,
// and holds every answer against all solutions; between them the problem grows by
// clauses and bounds, as it does in use.
func judge(t require.TestingT, d draw, p *problem, count map[Outcome]int) {
	all := p.solutions()
	e := p.engine(1)
	for range d.from(1, 4) {
		s := d.search()
		for range d(4) {
			s.Assume = append(s.Assume, d.atom(p))
		}
		if d.oneIn(5) {
			s.Assume = append(s.Assume, Always())
		}
		if d.oneIn(6) {
			s.Limit = int64(d.from(1, 3))
		}
		o := e.Run(s)
		count[o]++
		switch o {
		case Solved:
			xs := e.found()
			require.True(t, p.allows(xs), "%v is no solution of %+v", xs, *p)
			for _, a := range s.Assume {
				require.True(t, e.True(a), "%v does not hold", a)
			}
			if d.oneIn(2) {
				e.Save()
			}
		case Refuted:
			require.Empty(t, all, "there is a solution of %+v", *p)
		case Unwelcome:
			require.False(t, agreeing(all, s.Assume), "there is a solution with %v of %+v", s.Assume, *p)
		case Stopped:
			require.Positive(t, s.Limit)
		}
		e.rootsHold(t, all)
		switch d(4) {
		case 0:
			c := []Atom{d.atom(p), d.atom(p), d.atom(p)}
			p.clauses = append(p.clauses, c)
			e.Clause(c...)
			all = p.solutions()
		case 1:
			a := d.atom(p)
			p.clauses = append(p.clauses, []Atom{a})
			all = p.solutions()
			if !e.Require(a) {
				require.Empty(t, all)
			}
		case 2:
			if len(p.sums) > 0 {
				p.sums[0].limit--
				e.Back()
				e.Wake()
				all = p.solutions()
			}
		}
	}
}

// rootsHold checks that what is settled without decisions is so in every solution.
func (e *Engine) rootsHold(t require.TestingT, all [][]int) {
	for _, xs := range all {
		for x, v := range xs {
			require.LessOrEqual(t, e.RootLo(Var(x)), v)
			require.GreaterOrEqual(t, e.RootHi(Var(x)), v)
		}
	}
}

func TestRunClaimsNothingThatTryingEverythingDenies(t *testing.T) {
	count := map[Outcome]int{}
	for seed := range uint64(12000) {
		d := numbers(seed)
		judge(seeded{t, seed}, d, d.problem(tinyScale), count)
	}
	for seed := range uint64(1000) {
		d := numbers(seed)
		judge(seeded{t, seed}, d, d.problem(tightScale), count)
	}
	for seed := range uint64(150) {
		d := numbers(seed)
		judge(seeded{t, seed}, d, d.queue(5, 10), count)
	}
	t.Log(count)
	for _, o := range []Outcome{Stopped, Solved, Refuted, Unwelcome} {
		assert.Greater(t, count[o], 40, "outcome %d", o)
	}
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

func TestRunDoesTheSameForTheSameSeed(t *testing.T) {
	for seed := range uint64(20) {
		var first []any
		for range 2 {
			d := numbers(seed)
			p := d.queue(6, 11)
			e := p.engine(7)
			o := e.Run(Search{Brancher: byLot{}, Ease: 2})
			got := []any{o, e.Conflicts, e.Decisions, e.found(), slices.Clone(e.clauses.pool)}
			if first == nil {
				first = got
			}
			require.Equal(t, first, got, "seed %d", seed)
		}
	}
}
