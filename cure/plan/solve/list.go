package solve

import (
	"math/rand/v2"
	"slices"
)

// project is a model of tasks on resources with nothing but minimum lags, laid out for
// making schedules fast: the serial generation scheme takes tasks in the order of a list
// and starts each as early as what stands lets it (R. Kolisch, S. Hartmann, "Heuristic
// algorithms for the resource-constrained project scheduling problem: classification and
// computational analysis", in: J. Węglarz (ed.), Project Scheduling, 1999).
type project struct {
	m        *Model
	use      [][]int32 // by task and resource
	cap      []int32
	in, out  [][]link // lags into a task and out of it, from start to start
	back     [][]link // lags out of a task, seen from the end of time
	head     []int    // earliest start by lags alone
	tail     []int    // longest way from the start to the end of the ready task; <0: none
	topo     []int
	constant bool // every lag is of constant length
	plain    bool // no task has windows
	work     profile
	mark     []bool
}

// again is the project for one more search.
func (p *project) again() *project {
	q := *p
	q.work, q.mark = profile{units: p.cap}, make([]bool, len(p.in))
	return &q
}

// link is a lag: the start of the task is w after that of the other, or fn of it.
type link struct {
	task int
	w    int
	lag  *Lag // nil: of constant length
}

// newProject lays a model out; it is nil where a model has more to it than that.
func newProject(m *Model, h heads) *project {
	n := len(m.Tasks)
	p := &project{m: m, in: make([][]link, n), out: make([][]link, n), back: make([][]link, n), use: make([][]int32, n), constant: true, plain: true, mark: make([]bool, n), head: h.start}
	for _, r := range m.Resources {
		p.cap = append(p.cap, int32(min(r.Units, 1<<30)))
	}
	all := make([]int32, n*len(p.cap))
	for j, t := range m.Tasks {
		if t.Crew > 0 {
			return nil
		}
		p.plain = p.plain && t.Within == nil
		p.use[j] = all[j*len(p.cap) : (j+1)*len(p.cap)]
		for _, u := range t.Uses {
			p.use[j][u.Resource] += int32(min(u.Units, 1<<29))
		}
		for r, u := range p.use[j] {
			if u > p.cap[r] && t.Duration > 0 {
				return nil
			}
		}
	}
	if !p.links() || !p.order() {
		return nil
	}
	p.tails()
	p.work.units = p.cap
	return p
}

func (p *project) links() bool {
	off := func(task int, e End) int {
		if e == AtEnd {
			return p.m.Tasks[task].Duration
		}
		return 0
	}
	for k := range p.m.Lags {
		l := &p.m.Lags[k]
		if l.Max {
			return false
		}
		c, ok := l.Fn.(Plus)
		if !ok {
			p.constant = false
			p.in[l.To] = append(p.in[l.To], link{l.From, 0, l})
			p.out[l.From] = append(p.out[l.From], link{l.To, 0, l})
			continue
		}
		w := off(l.From, l.FromAt) + int(c) - off(l.To, l.ToAt)
		p.in[l.To] = append(p.in[l.To], link{l.From, w, nil})
		p.out[l.From] = append(p.out[l.From], link{l.To, w, nil})
		p.back[l.From] = append(p.back[l.From], link{l.To, w + p.m.Tasks[l.To].Duration - p.m.Tasks[l.From].Duration, nil})
	}
	return true
}

// order sorts tasks by their lags; false: they go round in a circle.
func (p *project) order() bool {
	left := make([]int, len(p.in))
	for j := range p.in {
		if left[j] = len(p.in[j]); left[j] == 0 {
			p.topo = append(p.topo, j)
		}
	}
	for i := 0; i < len(p.topo); i++ {
		for _, l := range p.out[p.topo[i]] {
			if left[l.task]--; left[l.task] == 0 {
				p.topo = append(p.topo, l.task)
			}
		}
	}
	return len(p.topo) == len(p.in)
}

func (p *project) tails() {
	p.tail = make([]int, len(p.in))
	for i := len(p.topo) - 1; i >= 0; i-- {
		j := p.topo[i]
		d := p.m.Tasks[j].Duration
		t := -1
		if j == p.m.Ready {
			t = d
		}
		for _, l := range p.out[j] {
			if p.tail[l.task] < 0 {
				continue
			}
			w := l.w
			if l.lag != nil {
				at := p.head[j]
				if l.lag.FromAt == AtEnd {
					at += d
				}
				if w = l.lag.Fn.At(at) - p.head[j]; l.lag.ToAt == AtEnd {
					w -= p.m.Tasks[l.task].Duration
				}
				w = max(0, min(w, p.m.Horizon))
			}
			t = max(t, w+p.tail[l.task])
		}
		p.tail[j] = t
	}
}

// energy is an instant before which the work of some resource cannot be done.
func (p *project) energy() (bound int) {
	if !p.constant {
		return 0
	}
	for r, units := range p.cap {
		sum, head, tail := 0, Never, Never
		for j, t := range p.m.Tasks {
			if u := p.use[j][r]; u > 0 && t.Duration > 0 && p.tail[j] >= 0 {
				sum += int(u) * t.Duration
				head, tail = min(head, p.head[j]), min(tail, p.tail[j]-t.Duration)
			}
		}
		if sum > 0 {
			bound = max(bound, head+(sum+int(units)-1)/int(units)+tail)
		}
	}
	return bound
}

// profile is what is free of each resource over time, in stretches.
type profile struct {
	units []int32
	at    []int // starts of stretches; the last goes on for ever
	free  []int32
}

func (f *profile) reset() {
	f.at = append(f.at[:0], 0)
	f.free = append(f.free[:0], f.units...)
}

// seek is the stretch that holds t.
func (f *profile) seek(t int) int {
	lo, hi := 0, len(f.at)
	for lo+1 < hi {
		if m := (lo + hi) / 2; f.at[m] <= t {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// fit is the first start from t on at which there is enough for so long.
func (f *profile) fit(t, dur int, use []int32) (start, stretch int) {
	k, r := f.seek(t), len(f.units)
	first := k
	for i := k; i < len(f.at) && f.at[i] < t+dur; i++ {
		free := f.free[i*r : i*r+r]
		for q, u := range use {
			if free[q] < u {
				t, first = f.at[i+1], i+1 // the last stretch is free
				break
			}
		}
	}
	return t, first
}

// split makes a stretch begin at t, which stretch k holds.
func (f *profile) split(k, t int) int {
	if f.at[k] == t {
		return k
	}
	r := len(f.units)
	f.at = slices.Insert(f.at, k+1, t)
	n := len(f.free)
	f.free = append(f.free, f.units...)
	copy(f.free[(k+1)*r:], f.free[k*r:n])
	return k + 1
}

// take takes what a task uses from t, in stretch k, for so long.
func (f *profile) take(k, t, dur int, use []int32) {
	k = f.split(k, t)
	r := len(f.units)
	for t += dur; ; k++ {
		if k+1 == len(f.at) || f.at[k+1] > t {
			f.split(k, t)
		}
		free := f.free[k*r : k*r+r]
		for q, u := range use {
			free[q] -= u
		}
		if f.at[k+1] == t {
			return
		}
	}
}

// plan is a list and the schedule that comes of it.
type plan struct {
	list  []int
	start []int
	ready int // end of the ready task; Never: no schedule
	span  int // end of all
}

func (p *project) newPlan() *plan {
	return &plan{make([]int, 0, len(p.in)), make([]int, len(p.in)), Never, 0}
}

// forward makes the schedule of a list, which it puts into an order that lags allow.
func (p *project) forward(x *plan, list []int) {
	x.list = p.legal(x.list[:0], list, p.in)
	p.work.reset()
	x.span = 0
	for _, j := range x.list {
		t := &p.m.Tasks[j]
		est := p.head[j]
		for _, l := range p.in[j] {
			if l.lag == nil {
				est = max(est, x.start[l.task]+l.w)
				continue
			}
			v := x.start[l.task]
			if l.lag.FromAt == AtEnd {
				v += p.m.Tasks[l.task].Duration
			}
			if v = l.lag.Fn.At(v); l.lag.ToAt == AtEnd {
				v -= t.Duration
			}
			est = max(est, v)
		}
		for est < Never && t.Duration > 0 {
			s, k := p.work.fit(est, t.Duration, p.use[j])
			if est = fitWithin(t, s, t.Duration); est == s {
				p.work.take(k, s, t.Duration, p.use[j])
				break
			}
		}
		if t.Duration == 0 {
			est = fitWithin(t, est, 0)
		}
		if est >= Never || est+t.Duration > p.m.deadline(j) {
			x.ready = Never
			return
		}
		x.start[j] = est
		x.span = max(x.span, est+t.Duration)
	}
	x.ready = x.start[p.m.Ready] + p.m.Tasks[p.m.Ready].Duration
}

// backward moves everything in a schedule as late as it goes, last ends first, and
// leaves the starts in place of the old; releases and windows wait for the way forward.
func (p *project) backward(x *plan, from []int) {
	end := x.span
	order := slices.Clone(from)
	slices.SortStableFunc(order, func(a, b int) int {
		return x.start[b] + p.m.Tasks[b].Duration - x.start[a] - p.m.Tasks[a].Duration
	})
	x.list = p.legal(x.list[:0], order, p.back)
	p.work.reset()
	for _, j := range x.list {
		d, est := p.m.Tasks[j].Duration, 0
		for _, l := range p.back[j] {
			// Times run from the end here: the end of a task is its start.
			est = max(est, x.start[l.task]+l.w)
		}
		if d > 0 {
			s, k := p.work.fit(est, d, p.use[j])
			p.work.take(k, s, d, p.use[j])
			est = s
		}
		x.start[j] = est
	}
	for j := range x.start {
		x.start[j] = end - x.start[j] - p.m.Tasks[j].Duration
	}
}

// legal puts a list into an order in which what a task waits for stands before it.
func (p *project) legal(out, list []int, in [][]link) []int {
	clear(p.mark)
	var put func(j int)
	put = func(j int) {
		p.mark[j] = true
		for _, l := range in[j] {
			if !p.mark[l.task] {
				put(l.task)
			}
		}
		out = append(out, j)
	}
	for _, j := range list {
		if !p.mark[j] {
			put(j)
		}
	}
	return out
}

// justify makes the schedule of a list, moves it right and then left again (V. Valls, F.
// Ballestín, S. Quintanilla, "Justification and RCPSP: a technique that pays", European
// Journal of Operational Research 165, 2005, 375-386). The list becomes that of the
// schedule.
func (p *project) justify(x, tmp *plan, list []int) {
	p.forward(x, list)
	if x.ready == Never {
		return
	}
	if p.constant {
		copy(tmp.start, x.start)
		tmp.span = x.span
		p.backward(tmp, x.list)
		order := append(tmp.list[:0], p.topo...)
		slices.SortStableFunc(order, func(a, b int) int { return tmp.start[a] - tmp.start[b] })
		tmp.list = tmp.list[:0]
		again := slices.Clone(order)
		p.forward(tmp, again)
		if tmp.ready < x.ready || tmp.ready == x.ready && tmp.span <= x.span {
			x.list = append(x.list[:0], tmp.list...)
			copy(x.start, tmp.start)
			x.ready, x.span = tmp.ready, tmp.span
		}
	}
	slices.SortStableFunc(x.list, func(a, b int) int { return x.start[a] - x.start[b] })
	x.list = append(x.list[:0], p.legal(nil, x.list, p.in)...)
}

// sample draws a list: the longer the way to the end the earlier a task is likely to
// come, by how much is regretted if it does not (regret-biased random sampling: A. Drexl,
// "Scheduling of project networks by job assignment", Management Science 37, 1991,
// 1590-1602; R. Kolisch, A. Drexl, "Adaptive search for solving hard project scheduling
// problems", Naval Research Logistics 43, 1996, 23-40). Without rng it draws no lots.
func (p *project) sample(rng *rand.Rand, list []int) []int {
	n := len(p.in)
	left := make([]int, n)
	var open []int
	for _, j := range p.topo {
		if left[j] = len(p.in[j]); left[j] == 0 {
			open = append(open, j)
		}
	}
	list = list[:0]
	weight := make([]float64, 0, n)
	for len(open) > 0 {
		best, least := 0, p.tail[open[0]]
		for i, j := range open {
			if p.tail[j] > p.tail[open[best]] {
				best = i
			}
			least = min(least, p.tail[j])
		}
		if rng != nil && len(open) > 1 {
			weight = weight[:0]
			sum := 0.0
			for _, j := range open {
				w := float64(p.tail[j] - least + 1)
				w *= w
				sum += w
				weight = append(weight, sum)
			}
			x := rng.Float64() * sum
			best = 0
			for best < len(open)-1 && weight[best] <= x {
				best++
			}
		}
		j := open[best]
		open = slices.Delete(open, best, best+1)
		list = append(list, j)
		for _, l := range p.out[j] {
			if left[l.task]--; left[l.task] == 0 {
				open = append(open, l.task)
			}
		}
	}
	return list
}

// firstLists is how many schedules of lists are made before the learning search starts.
const firstLists = 15

// lists generates schedules of tasks on resources.
func (s *search) lists(m *Model, at []int, h heads) {
	p := newProject(m, h)
	if p == nil {
		return
	}
	s.breed, s.at = newBreed(p, s.o.Seed), at
	if len(s.m.Choices) == 0 {
		s.raise(p.energy())
	}
	s.bred(firstLists)
}

// bred makes so many schedules more, and takes one that is better than the best so far.
func (s *search) bred(count int) bool {
	if s.breed == nil || s.a.Ready <= s.a.Bound {
		return false
	}
	s.breed.run(count, s.a.Bound, s.o.Stop)
	if s.breed.best.ready >= s.a.Ready {
		return false
	}
	s.take(s.m.over(s.breed.schedule(), s.at, s.picks))
	return true
}
