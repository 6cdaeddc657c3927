package solve

import (
	"math/rand/v2"
	"slices"
)

// The genetic search keeps a generation of lists, crosses them in pairs and keeps the
// better half (S. Hartmann, "A competitive genetic algorithm for resource-constrained
// project scheduling", Naval Research Logistics 45, 1998, 733-750), each made into a
// schedule by forward and backward moves (V. Valls, F. Ballestín, S. Quintanilla, "A hybrid
// genetic algorithm for the RCPSP", European Journal of Operational Research 185, 2008,
// 495-508). It starts anew when a generation has become all alike.
type breed struct {
	p     *project
	rng   *rand.Rand
	all   []*plan
	spare []*plan
	tmp   *plan
	best  *plan
	made  int // schedules
	stale int // generations without a better best
	child []int
	from  []bool
}

const (
	generation = 40
	mutations  = 0.05
	patient    = 25 // generations
)

func newBreed(p *project, seed int64) *breed {
	return &breed{p: p, rng: rand.New(rand.NewPCG(uint64(seed), 0x6c697374)), tmp: p.newPlan(), best: p.newPlan(), from: make([]bool, len(p.in))}
}

// run makes so many schedules more, or until one is ready by enough; it reports whether
// the best became better.
func (b *breed) run(count, enough int, stop func() bool) bool {
	was := b.best.ready
	for end := b.made + count; b.made < end && b.best.ready > enough; {
		if stop != nil && b.made > 0 && stop() {
			break
		}
		if len(b.all) < generation {
			b.found()
			continue
		}
		b.cross()
	}
	return b.best.ready < was
}

func (b *breed) plan() *plan {
	if k := len(b.spare); k > 0 {
		x := b.spare[k-1]
		b.spare = b.spare[:k-1]
		return x
	}
	return b.p.newPlan()
}

// found adds a member that is drawn.
func (b *breed) found() {
	rng := b.rng
	if b.made == 0 {
		rng = nil
	}
	b.child = b.p.sample(rng, b.child)
	b.add(b.child)
}

// cross makes one child of two of the better, and drops the worst.
func (b *breed) cross() {
	pick := func() *plan {
		x, y := b.all[b.rng.IntN(len(b.all))], b.all[b.rng.IntN(len(b.all))]
		if y.ready < x.ready {
			return y
		}
		return x
	}
	x, y := pick(), pick()
	n := len(x.list)
	lo, hi := b.rng.IntN(n), b.rng.IntN(n)
	if lo > hi {
		lo, hi = hi, lo
	}
	// Up to lo and from hi on the order of x, between them that of y.
	clear(b.from)
	c := append(b.child[:0], x.list[:lo]...)
	for _, j := range c {
		b.from[j] = true
	}
	for _, j := range y.list {
		if len(c) == hi {
			break
		}
		if !b.from[j] {
			b.from[j] = true
			c = append(c, j)
		}
	}
	for _, j := range x.list {
		if !b.from[j] {
			c = append(c, j)
		}
	}
	for i := 1; i < n; i++ {
		if b.rng.Float64() < mutations {
			c[i-1], c[i] = c[i], c[i-1]
		}
	}
	b.child = c
	b.add(c)
	if len(b.all) > generation {
		b.cull()
	}
}

// add makes a schedule of a list and lets it into the generation.
func (b *breed) add(list []int) {
	x := b.plan()
	b.p.justify(x, b.tmp, list)
	b.made++
	b.stale++
	if x.ready < b.best.ready {
		b.stale = 0
		copy(b.best.start, x.start)
		b.best.ready, b.best.list = x.ready, append(b.best.list[:0], x.list...)
	}
	b.all = append(b.all, x)
}

// cull drops the worst, one of two that are the same, or all that stand for nothing new.
func (b *breed) cull() {
	last := b.all[len(b.all)-1]
	worst := len(b.all) - 1
	for i, x := range b.all[:worst] {
		if x.ready == last.ready && slices.Equal(x.start, last.start) {
			worst = len(b.all) - 1
			break
		}
		if x.ready > b.all[worst].ready {
			worst = i
		}
	}
	b.spare = append(b.spare, b.all[worst])
	b.all[worst] = last
	b.all = b.all[:len(b.all)-1]
	if b.stale > patient*generation {
		b.spare = append(b.spare, b.all...)
		b.all, b.stale = b.all[:0], 0
	}
}

// schedule is the best schedule found.
func (b *breed) schedule() *Schedule {
	n := len(b.p.in)
	s := &Schedule{slices.Clone(b.best.start), make([]int, n), make([][]int, n), nil}
	for j, t := range b.p.m.Tasks {
		s.End[j] = s.Start[j] + t.Duration
	}
	return s
}
