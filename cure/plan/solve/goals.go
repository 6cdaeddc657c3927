package solve

import (
	"slices"
	"sort"

	"beadline/cure/plan/solve/learn"
)

// goalSteps is how many conflicts each further goal may take. They are small questions,
// and a proof that there is none better is worth no long wait.
const goalSteps = 3000

// goals looks, among the schedules that are ready earliest, for the one that serves the
// further goals, one after the other. It has a search of its own: the one that proved
// the ready time has forbidden it.
func (s *search) goals() {
	s.m.settle(s.a.Schedule)
	n, ok := compile(s.m, s.o.Seed)
	if !ok || !n.e.Require(n.readyBy(s.a.Ready)) {
		return
	}
	n.hint(s.a.Schedule)
	proven := true
	for _, g := range []struct {
		goal  Goal
		terms []term
	}{{LeastCost, n.costs()}, {LeastSpare, n.spare()}, {LatestCost, n.lateness()}, {SameHands, n.handed()}} {
		done, stopped := s.improve(n, g.terms)
		if proven = proven && done; proven {
			s.a.Proven = append(s.a.Proven, g.goal)
		}
		if stopped {
			return
		}
	}
}

// improve lowers a sum as far as it can and holds it there. Where it is stopped, or finds
// nothing to hold on to, there is no use in further goals.
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

// lateness counts how early tasks with a cost are that had better be late.
func (n *net) lateness() (out []term) {
	for j, t := range n.m.Tasks {
		if t.Late && t.Cost > 0 {
			out = append(out, term{n.start[j].Most(), 1})
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
