package solve

import (
	"cmp"
	"slices"
	"sort"
)

// builder makes one schedule after another from priorities.
type builder struct {
	m        *Model
	able     [][]int
	before   [][]int // minimum lags into a task: indices of Lags
	within   [][]int // maximum lags into a task
	onward   [][]int // minimum lags out of a task
	limits   [][]int // maximum lags out of a task
	left     []int   // minimum lags into a task from others that are not placed
	eligible []int   // tasks that wait for none, in no order
	release  []int
	s        Schedule
	done     []bool
	busy     [][]Window // by person, ordered
	open     []bool     // task stands in a chain whose maximum lag is running
}

func newBuilder(m *Model, h heads) *builder {
	n := len(m.Tasks)
	b := &builder{m: m, able: make([][]int, n), before: make([][]int, n), within: make([][]int, n), onward: make([][]int, n), limits: make([][]int, n), left: make([]int, n)}
	for i := range m.Tasks {
		b.able[i] = m.able(i)
	}
	for k, l := range m.Lags {
		if l.Max {
			b.within[l.To] = append(b.within[l.To], k)
			b.limits[l.From] = append(b.limits[l.From], k)
		} else {
			b.before[l.To] = append(b.before[l.To], k)
			b.onward[l.From] = append(b.onward[l.From], k)
		}
	}
	b.release = slices.Clone(h.start)
	b.s = Schedule{make([]int, n), make([]int, n), make([][]int, n), nil}
	b.done, b.open = make([]bool, n), make([]bool, n)
	b.busy = make([][]Window, len(m.People))
	return b
}

// maxRepairs bounds how often one activity list is tried again with a task put off.
const maxRepairs = 400

// generate makes a schedule from priorities (higher first). Where a maximum lag
// breaks, the task it runs from is put off just enough, and the list is tried
// again. It reports whether a schedule came of it within limit, the latest useful
// ready time.
func (b *builder) generate(priority []float64, chooser func(task int, people []int) []int, limit int) bool {
	release := slices.Clone(b.release)
	for range maxRepairs {
		put, until := b.pass(priority, release, chooser, limit)
		switch {
		case put < 0:
			return until == 0
		case until >= b.m.Horizon:
			return false
		}
		release[put] = until
	}
	return false
}

// pass runs the list once. It returns (-1, 0) for a schedule, (-1, 1) for a dead
// end, or the task to put off and until when.
func (b *builder) pass(priority []float64, release []int, chooser func(int, []int) []int, limit int) (put, until int) {
	n := len(b.m.Tasks)
	clear(b.done)
	clear(b.open)
	b.begin()
	for p := range b.busy {
		b.busy[p] = b.busy[p][:0]
	}
	for range n {
		j := b.next(priority)
		est, notBefore := release[j], 0
		for _, k := range b.before[j] {
			l := b.m.Lags[k]
			if !b.done[l.From] {
				continue
			}
			t := l.Fn.At(b.s.Time(l.From, l.FromAt))
			if t >= Never {
				return -1, 1
			}
			switch {
			case l.ToAt == AtStart:
				est = max(est, t)
			case b.m.Tasks[j].pauses():
				notBefore = max(notBefore, t)
			default:
				est = max(est, t-b.m.Tasks[j].Duration)
			}
		}
		if !b.place(j, est, notBefore, chooser) {
			return -1, 1
		}
		b.placed(j)
		if j == b.m.Ready && b.s.End[j] > limit {
			return -1, 1
		}
		for _, k := range b.within[j] {
			l := b.m.Lags[k]
			if !b.done[l.From] {
				continue
			}
			if put, until := b.broken(l); put >= 0 {
				return put, until
			}
		}
		// A lag may also run from the task just placed to one placed before it.
		for _, k := range b.limits[j] {
			if l := b.m.Lags[k]; b.done[l.To] {
				if put, until := b.broken(l); put >= 0 {
					return put, until
				}
			}
		}
		// Minimum lags that go round in a circle have a task placed before what it waits for.
		for _, k := range b.onward[j] {
			if l := b.m.Lags[k]; b.done[l.To] {
				if put, until := b.early(l); put >= 0 {
					return put, until
				}
			}
		}
		b.openChains(j)
	}
	return -1, 0
}

// early checks a minimum lag between two placed tasks, and says what to put off.
func (b *builder) early(l Lag) (put, until int) {
	t, to := l.Fn.At(b.s.Time(l.From, l.FromAt)), b.s.Time(l.To, l.ToAt)
	if to >= t {
		return -1, 0
	}
	return l.To, b.s.Start[l.To] + t - to
}

// broken checks a maximum lag between two placed tasks, and says what to put off.
func (b *builder) broken(l Lag) (put, until int) {
	to := b.s.Time(l.To, l.ToAt)
	if to <= l.Fn.At(b.s.Time(l.From, l.FromAt)) {
		return -1, 0
	}
	t := Least(l.Fn, to, b.s.Time(l.From, l.FromAt)+1, b.m.Horizon)
	if t == Never {
		return l.From, b.m.Horizon
	}
	// Putting off by the shortfall moves the start by as much.
	return l.From, b.s.Start[l.From] + max(1, t-b.s.Time(l.From, l.FromAt))
}

// openChains marks tasks that a running maximum lag is waiting for, so that they
// are placed before others take their people.
func (b *builder) openChains(j int) {
	for _, k := range b.limits[j] {
		if l := b.m.Lags[k]; !b.done[l.To] {
			b.mark(l.To, j)
		}
	}
}

// mark marks the tasks between a lag's two ends.
func (b *builder) mark(to, from int) {
	if b.open[to] || b.done[to] {
		return
	}
	b.open[to] = true
	for _, k := range b.before[to] {
		if f := b.m.Lags[k].From; f != from {
			b.mark(f, from)
		}
	}
}

// begin notes what every task waits for.
func (b *builder) begin() {
	b.eligible = b.eligible[:0]
	for j := range b.m.Tasks {
		b.left[j] = 0
		for _, k := range b.before[j] {
			if b.m.Lags[k].From != j {
				b.left[j]++
			}
		}
		if b.left[j] == 0 {
			b.eligible = append(b.eligible, j)
		}
	}
}

// placed notes that a task waits no longer, and no other for it.
func (b *builder) placed(j int) {
	b.done[j] = true
	if i := slices.Index(b.eligible, j); i >= 0 {
		last := len(b.eligible) - 1
		b.eligible[i] = b.eligible[last]
		b.eligible = b.eligible[:last]
	}
	for _, k := range b.onward[j] {
		to := b.m.Lags[k].To
		if to == j {
			continue
		}
		if b.left[to]--; b.left[to] == 0 && !b.done[to] {
			b.eligible = append(b.eligible, to)
		}
	}
}

// next is the eligible task of highest priority, open chains first. Where minimum
// lags go round in a circle none may be eligible, and any is taken.
func (b *builder) next(priority []float64) int {
	best := -1
	weigh := func(j int) {
		if best < 0 || b.open[j] && !b.open[best] || b.open[j] == b.open[best] && (priority[j] > priority[best] || priority[j] == priority[best] && j < best) {
			best = j
		}
	}
	for _, j := range b.eligible {
		weigh(j)
	}
	if best >= 0 {
		return best
	}
	for j := range b.m.Tasks {
		if !b.done[j] {
			weigh(j)
		}
	}
	return best
}

// place puts a task at its earliest instant from est on that ends no sooner than
// notBefore.
func (b *builder) place(j, est, notBefore int, chooser func(int, []int) []int) bool {
	tk := &b.m.Tasks[j]
	if tk.Crew == 0 {
		s := fitWithin(tk, est, tk.Duration)
		if s == Never || s+tk.Duration > b.m.deadline(j) {
			return false
		}
		b.put(j, s, s+tk.Duration, nil)
		return true
	}
	people := b.allowed(j)
	if tk.Split {
		return b.placeSplit(j, est, notBefore, chooser(j, people))
	}
	starts := make([]int, len(people))
	for t := est; len(people) >= tk.Crew; {
		free := make([]int, 0, len(people))
		for i, p := range people {
			starts[i], _ = b.freeSlot(j, people[i:i+1], b.m.People[p].Work, t)
			if starts[i] == t {
				free = append(free, p)
			}
		}
		if len(free) >= tk.Crew {
			who := chooser(j, free)[:tk.Crew]
			slices.Sort(who)
			b.put(j, t, t+tk.Duration, who)
			return true
		}
		// No crew is complete before as many as it takes could start.
		slices.Sort(starts)
		if t = starts[tk.Crew-1]; t == Never {
			return false
		}
	}
	return false
}

// placeSplit puts a task that may pause where it ends earliest: who starts first may
// end last. Among crews that end together the first in the order of people is taken.
func (b *builder) placeSplit(j, est, notBefore int, people []int) bool {
	start, end := Never, Never
	var who []int
	crews(people, b.m.Tasks[j].Crew, maxCrews, func(crew []int) {
		work := common(b.m, crew)
		s, e := b.freeSlot(j, crew, work, est)
		for e < notBefore {
			s, e = b.freeSlot(j, crew, work, s+1)
		}
		if e < end {
			start, end, who = s, e, slices.Clone(crew)
		}
	})
	if end == Never {
		return false
	}
	slices.Sort(who)
	b.put(j, start, end, who)
	return true
}

func (b *builder) put(j, start, end int, who []int) {
	b.s.Start[j], b.s.End[j], b.s.Who[j] = start, end, who
	for _, p := range who {
		b.occupy(p, Window{start, end})
	}
}

// maxCrews bounds how many crews are weighed against each other for one task.
const maxCrews = 500

// crews calls f with every choice of k people, in the order in which they stand, up to
// most of them.
func crews(people []int, k, most int, f func([]int)) {
	crew := make([]int, 0, k)
	var pick func(from int)
	pick = func(from int) {
		if len(crew) == k {
			f(crew)
			most--
			return
		}
		for i := from; i < len(people) && most > 0; i++ {
			crew = append(crew, people[i])
			pick(i + 1)
			crew = crew[:len(crew)-1]
		}
	}
	pick(0)
}

// jointEnd is when a split task ends that several people do together: they pause
// whenever one of them is off. It is Never if they cannot start at t.
func jointEnd(m *Model, who []int, t, left int) int {
	both := common(m, who)
	for i, w := range both {
		if w.To > t {
			if w.From > t {
				return Never
			}
			return pauseEnd(both[i:], t, left)
		}
	}
	return Never
}

// common is when all of these people are at work.
func common(m *Model, who []int) []Window {
	both := m.People[who[0]].Work
	for _, p := range who[1:] {
		both = intersect(both, m.People[p].Work)
	}
	return both
}

func intersect(a, b []Window) []Window {
	var out []Window
	for i, j := 0, 0; i < len(a) && j < len(b); {
		lo, hi := max(a[i].From, b[j].From), min(a[i].To, b[j].To)
		if lo < hi {
			out = append(out, Window{lo, hi})
		}
		if a[i].To < b[j].To {
			i++
		} else {
			j++
		}
	}
	return out
}

// allowed are the people who may do a task: able, not barred by what they did on a
// task that must be independent of this one, and not the last who could do such a
// task later.
func (b *builder) allowed(j int) []int {
	var out []int
	for _, p := range b.able[j] {
		if b.barred(j, p) {
			continue
		}
		out = append(out, p)
	}
	return out
}

func (b *builder) barred(j, p int) bool {
	for _, k := range b.m.Tasks[j].NotBy {
		if b.done[k] {
			if slices.Contains(b.s.Who[k], p) {
				return true
			}
			continue
		}
		left := 0
		for _, q := range b.able[k] {
			if q != p && !b.touched(k, q) {
				left++
			}
		}
		if left < b.m.Tasks[k].Crew {
			return true
		}
	}
	return false
}

// touched reports whether q has done a task that k must be independent of.
func (b *builder) touched(k, q int) bool {
	for _, i := range b.m.Tasks[k].NotBy {
		if b.done[i] && slices.Contains(b.s.Who[i], q) {
			return true
		}
	}
	return false
}

// freeSlot is the earliest start at or after t, and its end, at which people who
// have other work already can do a task by its deadline in the hours they share.
func (b *builder) freeSlot(j int, who []int, work []Window, t int) (start, end int) {
	for {
		s, e := slot(&b.m.Tasks[j], work, t)
		if e > b.m.deadline(j) {
			return Never, Never
		}
		if t = b.clash(who, s, e); t < 0 {
			return s, e
		}
	}
}

// clash is the end of work that one of these people does between s and e, or -1.
func (b *builder) clash(who []int, s, e int) int {
	for _, p := range who {
		ws := b.busy[p]
		i := sort.Search(len(ws), func(i int) bool { return ws[i].To > s })
		if i < len(ws) && ws[i].From < e {
			return ws[i].To
		}
	}
	return -1
}

func (b *builder) occupy(p int, w Window) {
	i, _ := slices.BinarySearchFunc(b.busy[p], w, func(x, y Window) int { return cmp.Or(x.From-y.From, x.To-y.To) })
	b.busy[p] = slices.Insert(b.busy[p], i, w)
}
