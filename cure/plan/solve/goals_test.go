package solve

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// score is what a schedule is worth by the further goals, the first first and the less
// the better, counted tick by tick.
func (o *oracle) score(s *Schedule) (out [4]int) {
	m := o.m
	for j, t := range m.Tasks {
		if !s.done(m, j) {
			continue
		}
		var who uint
		for _, p := range s.Who[j] {
			who |= 1 << p
		}
		out[0] += t.Cost
		spare := false
		for at := s.Start[j]; at < s.End[j]; at++ {
			for _, p := range s.Who[j] {
				spare = spare || o.atWork(who, at) && o.inside(m.People[p].Spare, at) >= 0
			}
		}
		if spare {
			out[1] += t.Duration * t.Crew
		}
		if k := t.With - 1; k >= 0 && t.Crew == 1 && s.done(m, k) && !slices.Contains(s.Who[k], s.Who[j][0]) {
			out[3]++
		}
	}
	for _, l := range m.uses(s) { // of this, all or nothing is compared
		if s.Start[l.To] > s.End[l.From] {
			out[2] = 1
		}
	}
	return out
}

// schedule is what is placed.
func (x *exact) schedule() *Schedule {
	n := len(x.o.m.Tasks)
	s := &Schedule{make([]int, n), make([]int, n), make([][]int, n), slices.Clone(x.o.picks)}
	for j, w := range x.o.chosen {
		if x.o.absent[j] {
			s.Start[j], s.End[j] = -1, -1
			continue
		}
		s.Start[j], s.End[j] = w.start, w.end
		for p := range x.o.m.People {
			if w.who>>p&1 == 1 {
				s.Who[j] = append(s.Who[j], p)
			}
		}
	}
	return s
}

// each goes through all schedules that are ready by limit, as f sees them.
func (x *exact) each(limit int, f func(s *Schedule)) (sure bool) {
	x.see = func() bool { f(x.schedule()); return false }
	return x.try(func(j int, w option) bool { return j != x.o.m.Ready || w.end <= limit })
}

var goalNames = []Goal{ReadyEarly, LeastCost, LeastSpare, Fresh, SameHands}

func TestProvenGoalsAreReachedAsFarAsTryingEverythingGets(t *testing.T) {
	n, all := 0, 0
	for seed := range uint64(goalModels) {
		d := numbers(seed)
		m := d.rich(size{people: 3, tasks: d.from(3, 4), horizon: d.from(8, 10), lags: 5})
		a, err := Solve(m, Options{})
		require.NoError(t, err)
		if a.Status != Optimal {
			continue
		}
		require.NoError(t, m.CheckSchedule(a.Schedule), "seed %d", seed)
		x := newExact(m)
		best := [4]int{Never}
		if !x.each(a.Ready, func(s *Schedule) {
			if v := x.o.score(s); slices.Compare(v[:], best[:]) < 0 {
				best = v
			}
		}) {
			continue
		}
		n++
		require.Equal(t, goalNames[:len(a.Proven)], a.Proven)
		got := x.o.score(a.Schedule)
		k := len(a.Proven) - 1
		if k == 4 {
			all++
		}
		if !assert.Equal(t, best[:k], got[:k], "seed %d: %v\n%+v", seed, *a.Schedule, *m) {
			return
		}
	}
	t.Logf("%d models, %d with all goals proven", n, all)
	assert.Greater(t, n, goalModels/3)
	assert.Greater(t, all, n*9/10)
}

const goalModels = 4000
