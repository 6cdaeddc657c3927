package solve

import (
	"math/bits"
	"slices"
)

// option is one way to run one task.
type option struct {
	start, end int
	who        uint // a bit for each person
}

// oracle answers a tiny model by trying everything. It shares no code with the
// search: it counts ticks one by one and knows nothing of slots, heads or repair.
type oracle struct {
	m      *Model
	ways   [][]option
	chosen []option
	placed []bool
	absent []bool // under the ways taken
	picks  []int  // the ways taken
}

func newOracle(m *Model) *oracle {
	o := &oracle{m: m, ways: make([][]option, len(m.Tasks)), chosen: make([]option, len(m.Tasks)), placed: make([]bool, len(m.Tasks)), absent: make([]bool, len(m.Tasks))}
	for j := range m.Tasks {
		o.ways[j] = o.options(j)
	}
	return o
}

// earliest is the earliest instant the model can be ready; ok is false where no
// schedule exists.
func (o *oracle) earliest() (ready int, ok bool) {
	ready = Never
	o.eachWay(func() {
		if t, found := o.earliestWay(); found {
			ready, ok = min(ready, t), true
		}
	})
	return ready, ok
}

// eachWay takes every way through the choices.
func (o *oracle) eachWay(f func()) {
	picks := make([]int, len(o.m.Choices))
	for {
		if !o.barred(picks) {
			o.take(picks)
			f()
		}
		c := 0
		for ; c < len(picks); c++ {
			if picks[c]++; picks[c] < o.m.Choices[c].Ways {
				break
			}
			picks[c] = 0
		}
		if c == len(picks) {
			break
		}
	}
	clear(o.absent)
}

func (o *oracle) barred(picks []int) bool {
	return slices.ContainsFunc(o.m.Bars, func(bar []Pick) bool {
		return !slices.ContainsFunc(bar, func(p Pick) bool { return picks[p.Choice] != p.Way })
	})
}

func (o *oracle) take(picks []int) {
	o.picks = picks
	for j, t := range o.m.Tasks {
		o.absent[j] = slices.ContainsFunc(t.If, func(p Pick) bool { return picks[p.Choice] != p.Way })
	}
}

func (o *oracle) earliestWay() (ready int, ok bool) {
	r := o.m.Ready
	ways := slices.Clone(o.ways[r])
	slices.SortStableFunc(ways, func(a, b option) int { return a.end - b.end })
	for _, w := range ways {
		if o.with(r, w, func() bool { return o.rest(0) }) {
			return w.end, true
		}
	}
	return 0, false
}

// latest is the latest start of a task in any schedule that is ready by limit, or -1.
func (o *oracle) latest(task, limit int) int {
	best := -1
	o.eachWay(func() {
		if !o.absent[task] {
			best = max(best, o.latestWay(task, limit))
		}
	})
	return best
}

func (o *oracle) latestWay(task, limit int) int {
	ways := slices.Clone(o.ways[task])
	slices.SortStableFunc(ways, func(a, b option) int { return b.start - a.start })
	all := o.ways[o.m.Ready]
	defer func() { o.ways[o.m.Ready] = all }()
	late := func(w option) bool { return w.end > limit }
	o.ways[o.m.Ready] = slices.DeleteFunc(slices.Clone(all), late)
	for _, w := range ways {
		if task == o.m.Ready && late(w) {
			continue
		}
		if o.with(task, w, func() bool { return o.rest(0) }) {
			return w.start
		}
	}
	return -1
}

func (o *oracle) rest(j int) bool {
	for j < len(o.placed) && (o.placed[j] || o.absent[j]) {
		j++
	}
	if j == len(o.placed) {
		return true
	}
	for _, w := range o.ways[j] {
		if o.with(j, w, func() bool { return o.rest(j + 1) }) {
			return true
		}
	}
	return false
}

func (o *oracle) with(j int, w option, then func() bool) bool {
	o.chosen[j], o.placed[j] = w, true
	defer func() { o.placed[j] = false }()
	return o.holds(j) && then()
}

// holds says whether nothing that is placed contradicts task j.
func (o *oracle) holds(j int) bool {
	a := o.chosen[j]
	for _, l := range o.m.Lags {
		if (l.From != j && l.To != j) || !o.placed[l.From] || !o.placed[l.To] {
			continue
		}
		at := func(k int, e End) int {
			if e == AtStart {
				return o.chosen[k].start
			}
			return o.chosen[k].end
		}
		v, to := l.Fn.At(at(l.From, l.FromAt)), at(l.To, l.ToAt)
		if l.Max && to > v || !l.Max && to < v {
			return false
		}
	}
	if !o.enough(a) {
		return false
	}
	for k, b := range o.chosen {
		if k == j || !o.placed[k] || a.who&b.who == 0 {
			continue
		}
		if a.start < b.end && b.start < a.end || slices.Contains(o.m.Tasks[j].NotBy, k) || slices.Contains(o.m.Tasks[k].NotBy, j) {
			return false
		}
	}
	return true
}

// enough says whether no resource is overdrawn at any tick of an option.
func (o *oracle) enough(w option) bool {
	for r, res := range o.m.Resources {
		for t := w.start; t < w.end; t++ {
			sum := 0
			for k, b := range o.chosen {
				if o.placed[k] && b.start <= t && t < b.end {
					for _, u := range o.m.Tasks[k].Uses {
						if u.Resource == r {
							sum += u.Units
						}
					}
				}
			}
			if sum > res.Units {
				return false
			}
		}
	}
	return true
}

// options lists every start and crew that a task on its own could have.
func (o *oracle) options(j int) []option {
	tk := o.m.Tasks[j]
	last := o.m.Horizon
	if tk.Deadline > 0 {
		last = min(last, tk.Deadline)
	}
	var out []option
	for who := uint(0); who < 1<<len(o.m.People); who++ {
		if bits.OnesCount(who) != tk.Crew || !o.skilled(who, tk.Skill) {
			continue
		}
		for t := tk.Release; t <= last; t++ {
			if end, ok := o.run(tk, who, t, last); ok {
				out = append(out, option{t, end, who})
			}
		}
	}
	return out
}

func (o *oracle) skilled(who uint, skill string) bool {
	for p, person := range o.m.People {
		if who>>p&1 == 1 && !slices.Contains(person.Skills, skill) {
			return false
		}
	}
	return true
}

// run walks tick by tick from t until the work is done.
func (o *oracle) run(tk Task, who uint, t, last int) (end int, ok bool) {
	if tk.Duration == 0 {
		return t, t <= last && o.atWork(who, t) && (tk.Within == nil || o.inside(tk.Within, t) >= 0)
	}
	if !o.atWork(who, t) {
		return 0, false
	}
	done := 0
	for end = t; done < tk.Duration; end++ {
		if end >= last {
			return 0, false
		}
		if tk.Within != nil && (o.inside(tk.Within, end) < 0 || o.inside(tk.Within, end) != o.inside(tk.Within, t)) {
			return 0, false
		}
		if o.atWork(who, end) && (tk.Split || o.sameShifts(who, t, end)) {
			done++
		} else if !tk.Split || who == 0 {
			return 0, false
		}
	}
	return end, true
}

func (o *oracle) atWork(who uint, t int) bool {
	for p, person := range o.m.People {
		if who>>p&1 == 1 && o.inside(person.Work, t) < 0 {
			return false
		}
	}
	return true
}

func (o *oracle) sameShifts(who uint, t, u int) bool {
	for p, person := range o.m.People {
		if who>>p&1 == 1 && o.inside(person.Work, t) != o.inside(person.Work, u) {
			return false
		}
	}
	return true
}

// inside is the index of the window that holds tick t, or -1.
func (o *oracle) inside(ws []Window, t int) int {
	return slices.IndexFunc(ws, func(w Window) bool { return w.From <= t && t < w.To })
}

// allows says whether a schedule is one that the oracle could have come upon.
func (o *oracle) allows(s *Schedule) bool {
	defer clear(o.placed)
	defer clear(o.absent)
	if o.barred(s.Picks) {
		return false
	}
	o.take(s.Picks)
	for j := range o.m.Tasks {
		if o.absent[j] {
			continue
		}
		w := option{start: s.Start[j], end: s.End[j]}
		for _, p := range s.Who[j] {
			w.who |= 1 << p
		}
		if bits.OnesCount(w.who) != len(s.Who[j]) || !slices.Contains(o.ways[j], w) {
			return false
		}
		o.chosen[j], o.placed[j] = w, true
		if !o.holds(j) {
			return false
		}
	}
	return true
}
