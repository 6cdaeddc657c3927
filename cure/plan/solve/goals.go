package solve

import (
	"slices"

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
	if s.m.aimless() {
		s.a.Proven = append(s.a.Proven, LeastCost, LeastSpare, LatestCost, SameHands)
		return
	}
	n, ok := compileFor(s.m, s.o.Seed, s.o.Stop)
	if !ok || n.stopped || !n.e.Require(n.readyBy(s.a.Ready)) {
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
	if least < Never {
		newLinear(n.e, terms, least, learn.Always())
		n.e.Settle()
	}
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

// spare counts the work of tasks that do not lie wholly in hours that are not spare.
func (n *net) spare() (out []term) {
	for j := range n.m.Tasks {
		t := &n.m.Tasks[j]
		var f learn.Var
		made := false
		for _, p := range n.able[j] {
			q := &n.m.People[p]
			if len(q.Spare) == 0 || t.Duration == 0 {
				continue
			}
			if !made {
				f, made = n.flag(), true
				out = append(out, term{f.Least(), t.Duration * t.Crew})
			}
			does := n.does[j][p].Yes()
			if !n.inside(n.start[j], t.slots(without(q.Work, q.Spare)), n.and(does, f.No())) {
				n.e.Clause(does.Not(), f.Yes())
			}
		}
	}
	return out
}

// without takes windows out of windows.
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

// handed counts the tasks that are done by somebody else than what they go with.
func (n *net) handed() (out []term) {
	for j, t := range n.m.Tasks {
		with := t.With - 1
		if with < 0 || t.Crew != 1 || len(n.able[j]) < 2 || !slices.Equal(t.If, n.m.Tasks[with].If) {
			continue
		}
		f := n.flag()
		out = append(out, term{f.Least(), 1})
		for _, p := range n.able[j] {
			lead := []learn.Atom{f.Yes(), n.does[j][p].No()}
			if v := n.does[with]; v != nil && v[p] >= 0 {
				lead = append(lead, v[p].Yes())
			}
			n.e.Clause(lead...)
		}
	}
	return out
}
