package solve

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// These tests ask a question twice, changed so that the two answers are tied to each
// other, and compare what is proven. They need no other search to compare with, and so
// reach models that trying everything cannot.

// metaModels is how many models each test draws.
const metaModels = 1500

// leastProven is the share of models, in percent, whose two answers are both to be
// proven optimal: with fewer a test would say little.
const leastProven = 30

var metaSize = size{people: 3, tasks: 7, horizon: 40, lags: 8}

// tie is what ties the second answer to the first: every schedule of the first model,
// with times so many times as long, is one of the second; and the other way round too,
// when both have the same.
type tie struct {
	times int
	both  bool
}

// related draws models, changes each, and holds the two answers to their tie. It counts
// the pairs that are both proven.
func related(t *testing.T, tied tie, draw func(d draw) *Model, change func(d draw, m *Model) *Model) {
	proven, differ := 0, 0
	for seed := range uint64(metaModels) {
		d := numbers(seed)
		m := draw(d)
		other := change(d, m)
		a, b := asked(t, m), asked(t, other)
		if a.Status == Optimal && b.Status == Optimal {
			proven++
			if a.Ready != b.Ready {
				differ++
			}
		}
		if a.Schedule != nil {
			require.NotEqual(t, Infeasible, b.Status, "seed %d: ready at %d before, and no schedule after\n%+v\n%+v", seed, a.Ready, *m, *other)
			require.LessOrEqual(t, b.Bound, tied.times*a.Ready, "seed %d: ready before, and not by then after\n%+v\n%+v", seed, *m, *other)
		}
		if b.Schedule != nil && tied.both {
			require.NotEqual(t, Infeasible, a.Status, "seed %d: no schedule before, and ready at %d after\n%+v\n%+v", seed, b.Ready, *m, *other)
			require.LessOrEqual(t, tied.times*a.Bound, b.Ready, "seed %d: ready after, and not by then before\n%+v\n%+v", seed, *m, *other)
		}
	}
	t.Logf("%d of %d pairs proven, %d of them differ", proven, metaModels, differ)
	assert.GreaterOrEqual(t, 100*proven, leastProven*metaModels, "too few proven pairs to say anything")
}

func asked(t *testing.T, m *Model) Answer {
	a, err := Solve(m, Options{Rough: true})
	require.NoError(t, err)
	if a.Schedule != nil {
		require.NoError(t, m.CheckSchedule(a.Schedule))
		require.Equal(t, a.Status == Optimal, a.Bound == a.Ready)
	}
	return a
}

// metaModel draws a model with everything a model can say.
func metaModel(d draw) *Model { return d.model(metaSize) }

// copied is a model that can be changed without changing the first.
func copied(m *Model) *Model {
	c := *m
	c.People, c.Resources, c.Tasks, c.Lags = slices.Clone(m.People), slices.Clone(m.Resources), slices.Clone(m.Tasks), slices.Clone(m.Lags)
	for j := range c.Tasks {
		t := &c.Tasks[j]
		t.NotBy, t.Uses, t.Within = slices.Clone(t.NotBy), slices.Clone(t.Uses), slices.Clone(t.Within)
	}
	for p := range c.People {
		c.People[p].Work = slices.Clone(c.People[p].Work)
	}
	return &c
}

func TestNobodyMoreMakesReadyLater(t *testing.T) {
	related(t, tie{times: 1}, metaModel, func(d draw, m *Model) *Model {
		c := copied(m)
		c.People = append(c.People, d.person(len(c.People), c.Horizon))
		return c
	})
}

func TestNoUnitMoreMakesReadyLater(t *testing.T) {
	related(t, tie{times: 1}, metaModel, func(_ draw, m *Model) *Model {
		c := copied(m)
		for r := range c.Resources {
			c.Resources[r].Units++
		}
		return c
	})
}

func TestNoLagLessMakesReadyLater(t *testing.T) {
	related(t, tie{times: 1}, metaModel, func(d draw, m *Model) *Model {
		c := copied(m)
		if n := len(c.Lags); n > 0 {
			k := d(n)
			c.Lags = slices.Delete(c.Lags, k, k+1)
		}
		return c
	})
}

func TestReadyOwesNothingToTheOrderOfThings(t *testing.T) {
	related(t, tie{times: 1, both: true}, metaModel, relabelled)
}

// relabelled is the model with its tasks, people, resources and lags in another order.
func relabelled(d draw, m *Model) *Model {
	rng := rand.New(rand.NewPCG(uint64(d(1<<30)), 11))
	c := copied(m)
	task, resource := rng.Perm(len(m.Tasks)), rng.Perm(len(m.Resources))
	for j, t := range copied(m).Tasks {
		for i, k := range t.NotBy {
			t.NotBy[i] = task[k]
		}
		for i, u := range t.Uses {
			t.Uses[i].Resource = resource[u.Resource]
		}
		if t.With > 0 {
			t.With = 1 + task[t.With-1]
		}
		rng.Shuffle(len(t.Uses), func(i, k int) { t.Uses[i], t.Uses[k] = t.Uses[k], t.Uses[i] })
		c.Tasks[task[j]] = t
	}
	for r, x := range m.Resources {
		c.Resources[resource[r]] = x
	}
	for k := range c.Lags {
		c.Lags[k].From, c.Lags[k].To = task[c.Lags[k].From], task[c.Lags[k].To]
	}
	c.Ready = task[m.Ready]
	rng.Shuffle(len(c.People), func(i, k int) { c.People[i], c.People[k] = c.People[k], c.People[i] })
	rng.Shuffle(len(c.Lags), func(i, k int) { c.Lags[i], c.Lags[k] = c.Lags[k], c.Lags[i] })
	return c
}

// Without a calendar and with constant lags an earliest schedule is a longest path, so
// all times scale together.
func TestReadyScalesWithAllTimes(t *testing.T) {
	for _, k := range []int{2, 7} {
		related(t, tie{times: k, both: true}, plainModel, func(_ draw, m *Model) *Model { return scaled(m, k) })
	}
}

// plainModel draws a model whose people are always there, whose tasks have no windows
// and whose lags are constant.
func plainModel(d draw) *Model {
	m := metaModel(d)
	for p := range m.People {
		m.People[p].Work = []Window{{0, m.Horizon}}
	}
	for j := range m.Tasks {
		m.Tasks[j].Within = nil
	}
	for k := range m.Lags {
		l := &m.Lags[k]
		if _, constant := l.Fn.(Plus); !constant {
			l.Fn = Plus(d.from(-2, 6))
			if l.Max {
				l.Fn = Plus(d.from(0, 8))
			}
		}
	}
	return m
}

// scaled is a plain model with every time k times as long.
func scaled(m *Model, k int) *Model {
	c := copied(m)
	c.Horizon *= k
	for p := range c.People {
		for i := range c.People[p].Work {
			w := &c.People[p].Work[i]
			w.From, w.To = k*w.From, k*w.To
		}
	}
	for j := range c.Tasks {
		t := &c.Tasks[j]
		t.Duration, t.Release, t.Deadline = k*t.Duration, k*t.Release, k*t.Deadline
	}
	for i := range c.Lags {
		c.Lags[i].Fn = c.Lags[i].Fn.(Plus) * Plus(k)
	}
	return c
}
