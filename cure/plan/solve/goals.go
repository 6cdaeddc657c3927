package solve

import (
	"slices"
	"sort"

	"beadline/cure/plan/solve/learn"
)

// goalSteps is how many conflicts each further goal may take. They are small questions,
// and a proof that there is none better is worth no long wait.
const goalSteps = 1000

// goals looks, among the schedules that are ready earliest, for the one that serves the
// further goals, one after the other. It has a search of its own: the one that proved
// the ready time has forbidden it.
func (s *search) goals() {
	s.m.settle(s.a.Schedule)
	if s.m.aimless() {
		s.a.Proven = append(s.a.Proven, LeastCost, LeastSpare, Fresh, SameHands)
		return
	}
	n, ok := compileFor(s.m, s.a.Ready, s.o.Seed, s.o.Stop)
	if !ok || n.stopped {
		return
	}
	n.hint(s.a.Schedule)
	proven := true
	for _, g := range []struct {
		goal Goal
		seek func() (proven, stopped bool)
	}{
		{LeastCost, func() (bool, bool) { return s.improve(n, n.costs()) }},
		{LeastSpare, func() (bool, bool) { return s.improve(n, n.spare()) }},
		{LatestCost, func() (bool, bool) { return s.putOff(n) }},
		{Fresh, func() (bool, bool) { return s.freshen(n) }},
		{SameHands, func() (bool, bool) { return s.improve(n, n.handed()) }},
	} {
		if g.goal == LatestCost && !s.o.Late {
			continue
		}
		done, stopped := g.seek()
		if proven = proven && done; proven {
			s.a.Proven = append(s.a.Proven, g.goal)
		}
		if stopped {
			return
		}
	}
}

// putOff makes each task with a cost that had better be late as late as it can be, the
// last one first.
func (s *search) putOff(n *net) (proven, stopped bool) {
	var late []int
	for j, t := range s.m.Tasks {
		if t.Late && t.Cost > 0 && s.a.Schedule.Start[j] >= 0 {
			late = append(late, j)
		}
	}
	slices.SortStableFunc(late, func(a, b int) int { return s.a.Schedule.Start[b] - s.a.Schedule.Start[a] })
	proven = true
	for _, j := range late {
		if !n.e.Require(n.on[j]) {
			return false, false
		}
		keep := func() { s.a.Schedule = n.read() }
		at, sure := n.latest(s.a.Schedule.Start[j], n.last(j), s.o.Stop, func(t int) []learn.Atom {
			return []learn.Atom{n.start[j].AtLeast(t)}
		}, func() int { keep(); return n.e.Lo(n.start[j]) })
		if proven = proven && sure; s.o.Stop != nil && s.o.Stop() {
			return false, true
		}
		n.e.Require(n.start[j].AtLeast(at))
	}
	return proven, false
}

// freshen lets what each task with a cost makes stand as short as can be before it is
// used: all of it not at all, if that can be, else the first made first.
func (s *search) freshen(n *net) (proven, stopped bool) {
	uses := s.m.uses(s.a.Schedule)
	within := func(l *Lag, t int) learn.Atom {
		f := n.flag()
		n.e.Before(n.start[l.To], n.start[l.From], -s.m.Tasks[l.From].Duration-t, f.Yes())
		return f.Yes()
	}
	try := func(on ...learn.Atom) learn.Outcome {
		out := n.e.Run(learn.Search{Brancher: dive{n}, Assume: on, Limit: latestSteps, Stop: s.o.Stop, Guided: true})
		if out == learn.Solved {
			n.e.Save()
			s.a.Schedule = n.read()
			n.e.Back()
			for _, a := range on {
				n.e.Require(a)
			}
		}
		return out
	}
	var all []learn.Atom
	for _, l := range uses {
		all = append(all, within(l, 0))
	}
	if len(uses) == 0 || try(all...) == learn.Solved {
		return true, false
	}
	proven = true
	for i, l := range uses {
		gap := func() int { return s.a.Schedule.Start[l.To] - s.a.Schedule.End[l.From] }
		on, t := all[i], 0
		for lo := 0; lo < gap(); on, t = within(l, lo+(gap()-lo)/2), lo+(gap()-lo)/2 {
			switch try(on) {
			case learn.Solved:
			case learn.Stopped:
				if proven = false; s.o.Stop != nil && s.o.Stop() {
					return false, true
				}
				lo = gap()
			default:
				lo = t + 1
			}
		}
		n.e.Require(within(l, gap()))
	}
	return proven, false
}

// uses are, of each task with a cost that had better be late, the lag to what uses it
// first, in order of time.
func (m *Model) uses(x *Schedule) []*Lag {
	first := map[int]*Lag{}
	var out []*Lag
	for k := range m.Lags {
		l := &m.Lags[k]
		c, constant := l.Fn.(Plus)
		from := &m.Tasks[l.From]
		if !constant || c != 0 || l.Max || l.FromAt != AtEnd || l.ToAt != AtStart || from.Cost == 0 || !from.Late || from.pauses() ||
			m.Tasks[l.To].Crew == 0 || !x.done(m, l.From) || !x.done(m, l.To) {
			continue
		}
		if o := first[l.From]; o == nil || x.Start[l.To] < x.Start[o.To] {
			first[l.From] = l
		}
	}
	for j := range m.Tasks {
		if l := first[j]; l != nil {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b *Lag) int { return x.Start[a.From] - x.Start[b.From] })
	return out
}

// aimless reports whether one schedule serves the further goals as well as another.
func (m *Model) aimless() bool {
	return !slices.ContainsFunc(m.Tasks, func(t Task) bool { return t.Cost > 0 || t.With > 0 }) &&
		!slices.ContainsFunc(m.People, func(p Person) bool { return len(p.Spare) > 0 })
}

// improve lowers a sum as far as it can and holds it there.
func (s *search) improve(n *net, terms []term) (proven, stopped bool) {
	if len(terms) == 0 {
		return true, false
	}
	better := n.flag()
	sum := newLinear(n.e, terms, Never, better.Yes())
	assume := []learn.Atom{better.Yes()}
	least, until := Never, n.e.Conflicts+goalSteps
	for {
		left := until - n.e.Conflicts
		if left <= 0 {
			break
		}
		out := n.e.Run(learn.Search{Brancher: dive{n}, Assume: assume, Limit: left, Stop: s.o.Stop, Guided: true})
		if out == learn.Stopped {
			stopped = s.o.Stop != nil && s.o.Stop()
			break
		}
		if out != learn.Solved {
			proven = true
			break
		}
		n.e.Save()
		s.a.Schedule, least = n.read(), sum.value(n.e)
		n.e.Back()
		sum.limit = least - 1
		n.e.Wake()
	}
	n.e.Require(better.No())
	if least == Never {
		return false, true
	}
	newLinear(n.e, terms, least, learn.Always())
	n.e.Settle()
	return proven, stopped
}

// costs counts what it costs to have tasks that may be left out.
func (n *net) costs() (out []term) {
	for j, t := range n.m.Tasks {
		if t.Cost > 0 && n.on[j] != learn.Always() {
			out = append(out, term{n.on[j].B, t.Cost})
		}
	}
	return out
}

// spare counts the work of tasks that are not wholly done in hours that are not spare.
func (n *net) spare() (out []term) {
	for j := range n.m.Tasks {
		t := &n.m.Tasks[j]
		tempted := func(p int) bool { return len(n.m.People[p].Spare) > 0 }
		if t.Duration == 0 || !slices.ContainsFunc(n.able[j], tempted) {
			continue
		}
		f := n.flag()
		out = append(out, term{f.Least(), t.Duration * t.Crew})
		hold := func(who []int, does learn.Atom) {
			if slices.ContainsFunc(who, tempted) && !n.inside(n.start[j], n.normal(t, who), n.and(does, f.No())) {
				n.e.Clause(does.Not(), f.Yes())
			}
		}
		if t.pauses() && t.Crew > 1 {
			for _, c := range n.crews[j] {
				hold(c.who, c.on)
			}
			continue
		}
		for _, p := range n.able[j] {
			hold([]int{p}, n.does[j][p].Yes())
		}
	}
	return out
}

// normal are the starts from which people do a task in no spare hours of theirs.
func (n *net) normal(t *Task, who []int) []Window {
	work := common(n.m, who)
	end := pauses{t: t, work: work}
	var gone []Window
	for _, p := range who {
		for _, g := range intersect(n.m.People[p].Spare, work) {
			from := g.From - t.Duration + 1
			if t.pauses() { // the first that is not over by then
				from = sort.Search(g.To, func(s int) bool { return end.At(s) > g.From })
			}
			gone = append(gone, Window{from, g.To})
		}
	}
	slices.SortFunc(gone, func(a, b Window) int { return a.From - b.From })
	return without(t.slots(work), gone)
}

// without takes windows, by their starts in order, out of windows.
func without(ws, gone []Window) []Window {
	var out []Window
	for _, w := range ws {
		for _, g := range gone {
			if g.To <= w.From || g.From >= w.To {
				continue
			}
			if g.From > w.From {
				out = append(out, Window{w.From, g.From})
			}
			w.From = g.To
		}
		if w.From < w.To {
			out = append(out, w)
		}
	}
	return out
}

// handed counts the tasks of one person that are done by somebody else than what they go
// with, where that is done.
func (n *net) handed() (out []term) {
	for j, t := range n.m.Tasks {
		with := t.With - 1
		if with < 0 || t.Crew != 1 {
			continue
		}
		f := n.flag()
		out = append(out, term{f.Least(), 1})
		for _, p := range n.able[j] {
			lead := []learn.Atom{f.Yes(), n.does[j][p].No()}
			if n.on[with] != learn.Always() {
				lead = append(lead, n.on[with].Not())
			}
			if v := n.does[with]; v != nil && v[p] >= 0 {
				lead = append(lead, v[p].Yes())
			}
			n.e.Clause(lead...)
		}
	}
	return out
}
