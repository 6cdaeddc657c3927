package solve

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Solve finds an early schedule. It is deterministic: the same model, steps and
// seed give the same answer, unless Stop ends it sooner.
func Solve(m *Model, o Options) (Answer, error) {
	if err := m.Check(); err != nil {
		return Answer{}, err
	}
	if k, found := m.circle(); found {
		return Answer{Status: Infeasible, Clash: &Clash{Lag: k, Task: m.Lags[k].From, Proven: true}}, nil
	}
	h, clash := m.propagate()
	if clash != nil {
		return Answer{Status: Infeasible, Clash: clash}, nil
	}
	a := Answer{Bound: h.end[m.Ready]}
	steps := o.Steps
	if steps == 0 {
		steps = DefaultSteps
	}
	b := newBuilder(m, h)
	rng := rand.New(rand.NewPCG(uint64(o.Seed), 0x62656164))
	tails := m.tails()
	best, idle := Never, 0
	var top []float64
	polishing := polishTries
	if o.Rough {
		polishing = 1
	}
	for polish := 0; a.Tries < steps && polish < polishing; {
		if a.Tries > 0 && o.Stop != nil && o.Stop() {
			break
		}
		pr, ch := b.sample(rng, a.Tries, tails, h, top)
		a.Tries++
		if !b.generate(pr, ch, min(best, m.Horizon)) {
			continue
		}
		m.settle(&b.s)
		w := m.idle(&b.s)
		if r := b.s.End[m.Ready]; r < best || r == best && w < idle {
			best, idle, top = r, w, pr
			a.Schedule = b.s.clone()
		}
		if best <= a.Bound {
			polish++
		}
	}
	if a.Schedule == nil {
		c := b.stuck
		a.Clash = &c
		return a, nil
	}
	a.Ready, a.Status = best, Feasible
	if best <= a.Bound {
		a.Status = Optimal
	}
	return a, nil
}

// Bound is a tick before which no schedule is ready; ok is false where propagation
// shows that there is no schedule at all.
func Bound(m *Model) (ready int, ok bool) {
	if _, found := m.circle(); found {
		return 0, false
	}
	h, clash := m.propagate()
	if clash != nil {
		return 0, false
	}
	return h.end[m.Ready], true
}

func (s *Schedule) clone() *Schedule {
	c := &Schedule{slices.Clone(s.Start), slices.Clone(s.End), make([][]int, len(s.Who))}
	for i, w := range s.Who {
		c.Who[i] = slices.Clone(w)
	}
	return c
}

// polishTries is how many more schedules are generated once the ready time is proven,
// to find one in which less stands waiting.
const polishTries = 40

// idle adds up how long what Late tasks made stands waiting for what follows.
func (m *Model) idle(s *Schedule) int {
	sum := 0
	for k := range m.Lags {
		l := &m.Lags[k]
		if c, constant := l.Fn.(Plus); constant && !l.Max && m.Tasks[l.From].Late && m.Tasks[l.To].Duration > 0 {
			sum += s.Time(l.To, l.ToAt) - s.Time(l.From, l.FromAt) - int(c)
		}
	}
	return sum
}

// settle moves each Late task, the last first, as late as its followers, its windows
// and its people's other work let it; nothing else moves.
func (m *Model) settle(s *Schedule) {
	var late []int
	for j := range m.Tasks {
		if m.Tasks[j].Late && !m.Tasks[j].Split && j != m.Ready {
			late = append(late, j)
		}
	}
	slices.SortFunc(late, func(a, b int) int { return s.Start[b] - s.Start[a] })
	for _, j := range late {
		d, was := m.Tasks[j].Duration, s.Start[j]
		for t := m.latestFor(s, j); t > was; t-- {
			s.Start[j], s.End[j] = t, t+d
			if m.fits(s, j) {
				break
			}
			s.Start[j], s.End[j] = was, was+d
		}
	}
}

// latestFor is a bound on a task's start that its followers set.
func (m *Model) latestFor(s *Schedule, j int) int {
	t := m.deadline(j) - m.Tasks[j].Duration
	for _, l := range m.Lags {
		if l.From == j && !l.Max && l.To != j {
			v := s.Time(l.To, l.ToAt)
			if l.FromAt == AtEnd {
				v -= m.Tasks[j].Duration
			}
			t = min(t, v)
		}
	}
	return t
}

// fits checks one task of a schedule against everything that touches it.
func (m *Model) fits(s *Schedule, j int) bool {
	if m.checkTask(s, j) != nil {
		return false
	}
	for k := range m.Lags {
		if l := &m.Lags[k]; (l.From == j || l.To == j) && m.brokenLag(s, l) {
			return false
		}
	}
	for k := range m.Tasks {
		if k != j && s.Start[k] < s.End[j] && s.Start[j] < s.End[k] && share(s.Who[k], s.Who[j]) {
			return false
		}
	}
	return true
}

func share(a, b []int) bool {
	return slices.ContainsFunc(a, func(p int) bool { return slices.Contains(b, p) })
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

// CheckSchedule says which demand of the model a schedule breaks, or nil. It is what the
// search believes; the independent checker believes nothing of it.
func (m *Model) CheckSchedule(s *Schedule) error {
	return m.check(s)
}

// latestTries is how many schedules are generated for each instant Latest tries.
const latestTries = 3

// Latest is the latest start found for one task at which the model is still ready by
// limit, with everything else planned again behind it. Each instant it gives is that
// of a whole schedule, so it is safe to work to; a later one may exist.
func Latest(m *Model, s *Schedule, task, limit int) int {
	lo, hi := s.Start[task], min(limit, m.Horizon)
	c := *m
	c.Tasks = slices.Clone(m.Tasks)
	try := func(t int) bool {
		c.Tasks[task].Release = t
		at, ok := c.readyBy(task, limit)
		if ok {
			lo = max(t, at)
		} else {
			hi = t - 1
		}
		return ok
	}
	for step := latestStep; lo < hi && try(min(hi, lo+step)); step *= 2 {
	}
	for lo < hi {
		try(lo + (hi-lo+1)/2)
	}
	return lo
}

// latestStep is how far Latest looks first, in ticks: most tasks have little slack,
// and functions are dear to ask far out.
const latestStep = 60

// readyBy looks for a schedule that is ready by limit, and gives the task's start.
func (m *Model) readyBy(task, limit int) (start int, ok bool) {
	h, clash := m.propagate()
	if clash != nil || h.end[m.Ready] > limit {
		return 0, false
	}
	b := newBuilder(m, h)
	rng := rand.New(rand.NewPCG(1, uint64(task)))
	tails := m.tails()
	for try := range latestTries {
		pr, ch := b.sample(rng, try, tails, h, nil)
		if b.generate(pr, ch, limit) && b.s.End[m.Ready] <= limit {
			return b.s.Start[task], true
		}
	}
	return 0, false
}
