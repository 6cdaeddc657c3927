package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// Solve finds the earliest schedule, or proves that there is none, as far as its options
// let it; among the earliest it looks for the one that serves the further goals best. It
// is deterministic: the same model and options give the same answer, unless Stop ends the
// search or several Workers race.
func Solve(m *Model, o Options) (Answer, error) {
	if err := m.Check(); err != nil {
		return Answer{}, err
	}
	if o.Workers > 1 {
		m = m.shared()
	}
	s := &search{m: m, o: o, a: Answer{Ready: Never}}
	if o.Below > 0 {
		s.a.Ready = o.Below
	}
	s.run()
	if s.a.Schedule == nil {
		s.a.Ready = 0
	}
	return s.a, nil
}

// Bound is a tick before which no schedule is ready, by propagation alone; ok is false
// where that shows that there is no schedule at all.
func Bound(m *Model) (ready int, ok bool) {
	if m.Check() != nil {
		return 0, false
	}
	if _, found := m.circle(); found {
		return 0, false
	}
	n, ok := compile(m, 0)
	if !ok {
		return 0, false
	}
	return n.ready(), true
}

// search is one question on its way to an answer.
type search struct {
	m *Model
	o Options
	a Answer

	breed *breed // nil: not a model for lists
	at    []int  // place of its tasks in the model

	board  *board // of several searches; nil: alone
	worker int
}

func (s *search) run() {
	if k, found := s.m.circle(); found {
		s.a.Status, s.a.Clash = Infeasible, &Clash{k, s.m.Lags[k].From}
		return
	}
	if clash := s.first(); clash != nil {
		s.a.Status, s.a.Clash = Infeasible, clash
		return
	}
	if s.m.large() {
		s.plainly()
		s.close(false)
		return
	}
	if s.a.Schedule != nil && (s.a.Ready <= s.a.Bound || s.o.Exists) {
		s.finish(false)
		return
	}
	n, ok := compileFor(s.m, s.o.Seed, s.o.Stop)
	if n.stopped {
		s.finish(false)
		return
	}
	if ok {
		s.raise(n.ready())
	}
	if s.a.Schedule != nil {
		n.hint(s.a.Schedule)
	}
	if ok && s.a.Ready < Never {
		ok = n.e.Require(n.readyBy(s.a.Ready - 1))
	}
	if ok && s.o.Workers > 1 {
		s.finish(s.race(n))
		return
	}
	s.finish(!ok || s.descend(n))
}

// plainly goes on making schedules of lists while there is time.
func (s *search) plainly() {
	left := manyTries
	if s.o.Steps > 0 {
		left = s.o.Steps
	}
	for left > 0 && s.breed != nil && s.a.Ready > s.a.Bound {
		s.bred(min(left, generation))
		if s.o.Stop == nil {
			left -= generation
		} else if s.o.Stop() {
			return
		}
	}
}

// finish settles what is known, and looks for the further goals of a schedule that is
// ready as early as can be.
func (s *search) finish(refuted bool) {
	s.close(refuted)
	if s.a.Status == Optimal && !s.o.Rough && !s.o.Exists {
		s.goals()
	}
	if s.a.Schedule != nil {
		s.m.settle(s.a.Schedule)
	}
}

// The learning search takes turns with other means of finding schedules, in conflicts:
// the first turn has so many, and each has half more than the one before. Of each turn a
// share, but no fewer than some, goes to any one question of whether there is a schedule
// ready much earlier.
const (
	firstTurn  = 400
	leapShare  = 40
	leastLeaps = 25
)

// descend looks for ever earlier schedules, and reports whether it has proven that there
// is no earlier one.
func (s *search) descend(n *net) bool {
	turn, leap, barren := int64(firstTurn), 0, 0 // turns in which lists found nothing
	for s.a.Ready > s.a.Bound && !(s.o.Exists && s.a.Schedule != nil) {
		if !s.exchange(n) {
			return true
		}
		if s.a.Ready <= s.a.Bound || s.o.Exists && s.a.Schedule != nil {
			break
		}
		limit := turn
		if s.o.Steps > 0 {
			if limit = min(turn, int64(s.o.Steps)-n.e.Conflicts); limit <= 0 {
				return false
			}
		}
		q := learn.Search{Brancher: dive{n}, Limit: limit, Stop: s.o.Stop, Guided: s.a.Schedule != nil}
		// Half way to the bound first, which either ends much sooner or raises the bound
		// (the destructive improvement of R. Klein, A. Scholl, "Computing lower bounds by
		// destructive improvement", European Journal of Operational Research 112, 1999,
		// 322-346); where that is hard to tell, less far.
		leap = max(leap, s.a.Bound)
		aim, share := leap+(s.a.Ready-1-leap)/2, max(leastLeaps, turn/leapShare)
		if s.manner(&q) {
			aim, share = leap, turn
		}
		leaps := s.a.Schedule != nil && aim < s.a.Ready-1
		if leaps {
			q.Assume, q.Limit = []learn.Atom{n.readyBy(aim)}, min(limit, share)
		}
		before := n.e.Conflicts
		out := n.e.Run(q)
		s.a.Tries = int(n.e.Conflicts)
		switch {
		case out == learn.Refuted:
			return true
		case out == learn.Unwelcome:
			if !n.e.Require(n.readyBy(aim).Not()) {
				return true
			}
			s.raise(n.ready())
			continue
		case out == learn.Solved:
			n.e.Save()
			s.take(n.read())
		case n.e.Conflicts-before < q.Limit:
			return false
		case leaps:
			if leap = aim + 1; share == turn {
				turn, leap = turn+turn/2, 0
			}
			continue
		default:
			n.e.Back()
			s.raise(n.ready())
			turn, leap = turn+turn/2, 0
			count := int(limit)
			if barren > 1 {
				count /= 8
			}
			if barren++; s.bred(count) {
				n.hint(s.a.Schedule)
				barren = 0
			}
			if s.a.Schedule == nil {
				continue
			}
			if !n.e.Require(n.readyBy(s.a.Ready-1)) || s.around(n, limit/8) {
				return true
			}
			s.a.Tries = int(n.e.Conflicts)
		}
		if !n.e.Require(n.readyBy(s.a.Ready - 1)) {
			return true
		}
		s.raise(n.ready())
	}
	return s.a.Ready <= s.a.Bound
}

// close settles what is known at the end of the search for the earliest.
func (s *search) close(refuted bool) {
	switch {
	case s.a.Schedule == nil && refuted:
		s.a.Status = Infeasible
	case s.a.Schedule == nil:
	case refuted || s.a.Ready <= s.a.Bound:
		s.a.Status, s.a.Bound = Optimal, s.a.Ready
		s.a.Proven = append(s.a.Proven, ReadyEarly)
	default:
		s.a.Status = Feasible
	}
}

// take keeps a better schedule.
func (s *search) take(x *Schedule) {
	s.a.Schedule, s.a.Ready = x, x.End[s.m.Ready]
	s.tell()
}

// raise keeps a better bound. One past the best schedule only says that it is the best.
func (s *search) raise(bound int) {
	if s.a.Schedule != nil {
		bound = min(bound, s.a.Ready)
	}
	if bound > s.a.Bound {
		s.a.Bound = bound
		s.tell()
	}
}

func (s *search) tell() {
	if s.o.Tell != nil {
		s.o.Tell(Progress{s.a.Schedule != nil, s.a.Ready, s.a.Bound, s.a.Tries})
	}
}

// ready is the earliest end of the ready task that propagation leaves.
func (n *net) ready() int {
	x, add := n.point(n.m.Ready, AtEnd)
	return n.e.RootLo(x) + add
}

// readyBy is the atom that the ready task ends by t.
func (n *net) readyBy(t int) learn.Atom {
	x, add := n.point(n.m.Ready, AtEnd)
	return x.AtMost(t - add)
}

// hint has the search try first what a schedule does.
func (n *net) hint(s *Schedule) {
	for c, vs := range n.picks {
		for w, v := range vs {
			n.e.Hint(v, bit(s.Picks[c] == w))
		}
	}
	for j := range n.m.Tasks {
		if s.Start[j] < 0 {
			continue
		}
		n.e.Hint(n.start[j], s.Start[j])
		if n.end[j] >= 0 {
			n.e.Hint(n.end[j], s.End[j])
		}
		for _, p := range n.able[j] {
			n.e.Hint(n.does[j][p], bit(slices.Contains(s.Who[j], p)))
		}
	}
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// CheckSchedule says which demand of the model a schedule breaks, or nil. It is what the
// search believes; the independent checker believes nothing of it.
func (m *Model) CheckSchedule(s *Schedule) error {
	return m.check(s)
}
