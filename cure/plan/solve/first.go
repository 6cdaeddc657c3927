package solve

import (
	"math"
	"math/rand/v2"
	"slices"
)

// firstTries is how many schedules are generated before the learning search starts, and
// manyTries how many where the model is too large for it.
const (
	firstTries = 12
	manyTries  = 200
)

// first generates schedules with the first ways of all choices, so that there is an answer
// at once and the search knows what to beat. A clash says that there is no schedule at
// all.
func (s *search) first() *Clash {
	picks := s.m.picks()
	if picks == nil {
		return nil
	}
	m, at := s.m.under(picks)
	h, clash := m.propagate()
	if clash != nil {
		if len(s.m.Choices) > 0 {
			return nil // another way may do
		}
		return clash
	}
	if len(s.m.Choices) == 0 {
		s.raise(h.end[m.Ready])
	}
	if len(m.Resources) > 0 {
		if len(m.People) == 0 {
			s.picks = picks
			s.lists(m, at, h)
		}
		return nil
	}
	b := newBuilder(m, h)
	rng := rand.New(rand.NewPCG(uint64(s.o.Seed), 0x62656164))
	tails := m.tails()
	tries := firstTries
	if s.m.large() {
		tries = manyTries
	}
	var top []float64
	for try := 0; try < tries && s.a.Ready > s.a.Bound; try++ {
		if try > 0 && s.o.Stop != nil && s.o.Stop() {
			break
		}
		pr, ch := b.sample(rng, try, tails, h, top)
		if b.generate(pr, ch, min(s.a.Ready, m.Horizon)) && b.s.End[m.Ready] < s.a.Ready {
			top = pr
			s.take(s.m.over(b.s.clone(), at, picks))
		}
	}
	return nil
}

// picks is the first way of every choice, but for what is barred; nil where that does
// not make it plain.
func (m *Model) picks() []int {
	out := make([]int, len(m.Choices))
	for range 8 * (len(m.Bars) + 1) {
		bar := slices.IndexFunc(m.Bars, func(bar []Pick) bool { return (&Schedule{Picks: out}).takes(bar) })
		if bar < 0 {
			return out
		}
		if len(m.Bars[bar]) == 0 {
			return nil
		}
		last := m.Bars[bar][len(m.Bars[bar])-1]
		out[last.Choice] = (last.Way + 1) % m.Choices[last.Choice].Ways
	}
	return nil
}

// under is the model with one way of each choice taken; at gives the place of each of
// its tasks in the whole.
func (m *Model) under(picks []int) (sub *Model, at []int) {
	to := make([]int, len(m.Tasks))
	s := &Schedule{Picks: picks}
	sub = &Model{Horizon: m.Horizon, People: m.People, Resources: m.Resources}
	for j := range m.Tasks {
		to[j] = -1
		if s.done(m, j) {
			to[j] = len(at)
			at = append(at, j)
		}
	}
	if len(at) == len(m.Tasks) {
		return m, at
	}
	for _, j := range at {
		t := m.Tasks[j]
		t.If, t.NotBy = nil, nil
		for _, k := range m.Tasks[j].NotBy {
			if to[k] >= 0 {
				t.NotBy = append(t.NotBy, to[k])
			}
		}
		if t.With > 0 {
			t.With = 1 + to[t.With-1]
		}
		sub.Tasks = append(sub.Tasks, t)
	}
	for _, l := range m.Lags {
		if to[l.From] >= 0 && to[l.To] >= 0 {
			l.From, l.To = to[l.From], to[l.To]
			sub.Lags = append(sub.Lags, l)
		}
	}
	sub.Ready = to[m.Ready]
	return sub, at
}

// over is a schedule of a model under some ways as one of the whole.
func (m *Model) over(s *Schedule, at, picks []int) *Schedule {
	n := len(m.Tasks)
	out := &Schedule{make([]int, n), make([]int, n), make([][]int, n), picks}
	for j := range n {
		out.Start[j], out.End[j] = -1, -1
	}
	for i, j := range at {
		out.Start[j], out.End[j], out.Who[j] = s.Start[i], s.End[i], s.Who[i]
	}
	return out
}

func (s *Schedule) clone() *Schedule {
	c := &Schedule{slices.Clone(s.Start), slices.Clone(s.End), make([][]int, len(s.Who)), slices.Clone(s.Picks)}
	for i, w := range s.Who {
		c.Who[i] = slices.Clone(w)
	}
	return c
}

// tails estimate how long after a task's end the ready task can follow, along
// minimum lags, with each lag taken as long as it is near its own head.
func (m *Model) tails() []float64 {
	n := len(m.Tasks)
	tail := make([]float64, n)
	for range n {
		moved := false
		for _, l := range m.Lags {
			if l.Max {
				continue
			}
			at := m.Tasks[l.From].Release + m.Tasks[l.From].Duration
			d := float64(min(l.Fn.At(at), m.Horizon) - at)
			if v := tail[l.To] + float64(m.Tasks[l.To].Duration) + d; v > tail[l.From] {
				tail[l.From], moved = v, true
			}
		}
		if !moved {
			break
		}
	}
	return tail
}

// sample draws the priorities and the choice of people for one try: first the
// longest tail, then earliest head, then both with growing noise, half of the time
// around the best list so far.
func (b *builder) sample(rng *rand.Rand, try int, tails []float64, h heads, top []float64) ([]float64, func(int, []int) []int) {
	n := len(b.m.Tasks)
	pr := make([]float64, n)
	scale := 1.0
	for _, t := range tails {
		scale = math.Max(scale, t)
	}
	noise := 0.0
	if try >= 2 {
		noise = []float64{0.02, 0.1, 0.3, 1}[try%4]
	}
	for j := range pr {
		switch {
		case top != nil && try%2 == 1:
			pr[j] = top[j]
		case try%4 == 1:
			pr[j] = -float64(h.start[j]) / scale
		default:
			pr[j] = tails[j] / scale
		}
		pr[j] += noise * rng.NormFloat64()
	}
	shuffle := try >= 2 && try%3 == 0
	return pr, func(j int, free []int) []int { return b.choose(rng, shuffle, j, free) }
}

// choose orders people who are free: those who are on the work already, then the
// ones with the fewest skills, so that the versatile stay free.
func (b *builder) choose(rng *rand.Rand, shuffle bool, j int, free []int) []int {
	if shuffle && len(free) > 1 {
		rng.Shuffle(len(free), func(i, k int) { free[i], free[k] = free[k], free[i] })
	}
	with := b.m.Tasks[j].With - 1
	key := func(p int) int {
		k := len(b.m.People[p].Skills)
		if with >= 0 && b.done[with] && slices.Contains(b.s.Who[with], p) {
			k -= 1000
		}
		return k
	}
	if !shuffle || with >= 0 {
		slices.SortStableFunc(free, func(p, q int) int { return key(p) - key(q) })
	}
	return free
}
