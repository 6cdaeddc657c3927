package solve

import (
	"slices"
)

// builder makes one schedule after another from priorities.
type builder struct {
	m       *Model
	able    [][]int
	before  [][]int // minimum lags into a task: indices of Lags
	within  [][]int // maximum lags into a task
	onward  [][]int // minimum lags out of a task
	release []int
	s       Schedule
	done    []bool
	busy    [][]Window // by person, ordered
	open    []bool     // task stands in a chain whose maximum lag is running
	stuck   Clash
}

func newBuilder(m *Model, h heads) *builder {
	n := len(m.Tasks)
	b := &builder{m: m, able: make([][]int, n), before: make([][]int, n), within: make([][]int, n), onward: make([][]int, n)}
	for i := range m.Tasks {
		b.able[i] = m.able(i)
	}
	for k, l := range m.Lags {
		if l.Max {
			b.within[l.To] = append(b.within[l.To], k)
		} else {
			b.before[l.To] = append(b.before[l.To], k)
			b.onward[l.From] = append(b.onward[l.From], k)
		}
	}
	b.release = slices.Clone(h.start)
	b.s = Schedule{make([]int, n), make([]int, n), make([][]int, n)}
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
				b.stuck = Clash{Lag: k, Task: j}
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
			b.stuck = Clash{Lag: -1, Task: j}
			return -1, 1
		}
		b.done[j] = true
		if j == b.m.Ready && b.s.End[j] > limit {
			return -1, 1
		}
		for _, k := range b.within[j] {
			l := b.m.Lags[k]
			if !b.done[l.From] {
				continue
			}
			if put, until := b.broken(k, l); put >= 0 {
				return put, until
			}
		}
		// A lag may also run from the task just placed to one placed before it.
		for k, l := range b.m.Lags {
			if l.Max && l.From == j && b.done[l.To] {
				if put, until := b.broken(k, l); put >= 0 {
					return put, until
				}
			}
		}
		// Minimum lags that go round in a circle have a task placed before what it waits for.
		for _, k := range b.onward[j] {
			if l := b.m.Lags[k]; b.done[l.To] {
				if put, until := b.early(k, l); put >= 0 {
					return put, until
				}
			}
		}
		b.openChains(j)
	}
	return -1, 0
}

// early checks a minimum lag between two placed tasks, and says what to put off.
func (b *builder) early(k int, l Lag) (put, until int) {
	t, to := l.Fn.At(b.s.Time(l.From, l.FromAt)), b.s.Time(l.To, l.ToAt)
	if to >= t {
		return -1, 0
	}
	b.stuck = Clash{Lag: k, Task: l.To}
	return l.To, b.s.Start[l.To] + t - to
}

// broken checks a maximum lag between two placed tasks, and says what to put off.
func (b *builder) broken(k int, l Lag) (put, until int) {
	to := b.s.Time(l.To, l.ToAt)
	if to <= l.Fn.At(b.s.Time(l.From, l.FromAt)) {
		return -1, 0
	}
	b.stuck = Clash{Lag: k, Task: l.From}
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
	for _, l := range b.m.Lags {
		if l.Max && l.From == j && !b.done[l.To] {
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

// next is the eligible task of highest priority, open chains first. Where minimum
// lags go round in a circle none may be eligible, and any is taken.
func (b *builder) next(priority []float64) int {
	best, ready := -1, false
	for j := range b.m.Tasks {
		if b.done[j] {
			continue
		}
		r := b.ready(j)
		if ready && !r {
			continue
		}
		if best < 0 || r && !ready || b.open[j] && !b.open[best] || b.open[j] == b.open[best] && priority[j] > priority[best] {
			best, ready = j, r
		}
	}
	return best
}

func (b *builder) ready(j int) bool {
	for _, k := range b.before[j] {
		if f := b.m.Lags[k].From; f != j && !b.done[f] {
			return false
		}
	}
	return true
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
		b.s.Start[j], b.s.End[j], b.s.Who[j] = s, s+tk.Duration, nil
		return true
	}
	people := b.allowed(j)
	for t := est; t <= b.m.Horizon; {
		free, next := []int(nil), Never
		for _, p := range people {
			s := b.freeSlot(j, p, t)
			if s == t {
				free = append(free, p)
				s = b.freeSlot(j, p, t+1)
			}
			next = min(next, s)
		}
		if len(free) >= tk.Crew {
			if who, end := b.crew(j, t, notBefore, chooser(j, free)); who != nil {
				b.s.Start[j], b.s.End[j], b.s.Who[j] = t, end, who
				for _, p := range who {
					b.occupy(p, Window{t, end})
				}
				return true
			}
		}
		if next == Never {
			return false
		}
		t = next
	}
	return false
}

// crew picks, of people each of whom could start the task at t, the first of the
// given order who can do it together, and says when they end.
func (b *builder) crew(j, t, notBefore int, free []int) (who []int, end int) {
	tk := &b.m.Tasks[j]
	pick := make([]int, tk.Crew)
	for i := range pick {
		pick[i] = i
	}
	for {
		who = who[:0]
		for _, i := range pick {
			who = append(who, free[i])
		}
		slices.Sort(who)
		if !tk.Split {
			return who, t + tk.Duration
		}
		if s, e := slot(tk, common(b.m, who), t); s == t && e >= notBefore && e <= b.m.deadline(j) && b.allFree(who, t, e) {
			return who, e
		}
		i := tk.Crew - 1
		for i >= 0 && pick[i] == len(free)-tk.Crew+i {
			i--
		}
		if i < 0 {
			return nil, 0
		}
		pick[i]++
		for i++; i < tk.Crew; i++ {
			pick[i] = pick[i-1] + 1
		}
	}
}

// allFree reports whether none of these people has other work between t and end.
func (b *builder) allFree(who []int, t, end int) bool {
	for _, p := range who {
		if b.clash(p, t, end) != nil {
			return false
		}
	}
	return true
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

// freeSlot is when a person who has other work already could start a task alone.
func (b *builder) freeSlot(j, p, t int) int {
	for {
		s, e := b.m.slot(j, p, t)
		if s == Never {
			return Never
		}
		w := b.clash(p, s, e)
		if w == nil {
			return s
		}
		t = w.To
	}
}

// clash is work of a person's that runs between s and e, or nil.
func (b *builder) clash(p, s, e int) *Window {
	for i, w := range b.busy[p] {
		if w.From < e && s < w.To {
			return &b.busy[p][i]
		}
	}
	return nil
}

func (b *builder) occupy(p int, w Window) {
	i, _ := slices.BinarySearchFunc(b.busy[p], w, func(x, y Window) int { return x.From - y.From })
	b.busy[p] = slices.Insert(b.busy[p], i, w)
}
