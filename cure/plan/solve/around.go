package solve

import "beadline/cure/plan/solve/learn"

// A search around the best schedule leaves open what runs in a stretch of it, holds what
// ended before to starting no later than it did, and has all that follows start a tick
// sooner: a large neighbourhood (P. Shaw, "Using constraint programming and local search
// methods to solve vehicle routing problems", CP 1998) of a stretch of time (M. Palpant, C.
// Artigues, P. Michelon, "LSSPER: solving the resource-constrained project scheduling
// problem with large neighbourhood search", Annals of Operations Research 131, 2004,
// 237-257). All of it is assumed only, so that what is learnt holds ever after.
const (
	aroundLimit = 150 // conflicts
	aroundTries = 40  // stretches to a turn
)

// around looks for earlier schedules in so many conflicts; proven reports that there is
// none.
func (s *search) around(n *net, conflicts int64) (proven bool) {
	until := n.e.Conflicts + conflicts
	for try := 0; try < aroundTries && n.e.Conflicts < until && s.a.Ready > s.a.Bound; try++ {
		q := learn.Search{Brancher: dive{n}, Assume: n.but(s.a.Schedule), Limit: aroundLimit, Stop: s.o.Stop, Guided: true}
		before := n.e.Conflicts
		switch out := n.e.Run(q); {
		case out == learn.Refuted:
			return true
		case out == learn.Solved:
			n.e.Save()
			s.take(n.read())
			if !n.e.Require(n.readyBy(s.a.Ready - 1)) {
				return true
			}
		case out == learn.Stopped && n.e.Conflicts-before < q.Limit:
			return false
		}
	}
	return false
}

// but assumes all of a schedule but a stretch of it, drawn by lot.
func (n *net) but(s *Schedule) (all []learn.Atom) {
	span := s.End[n.m.Ready]
	width := span/5 + n.e.Random(span/3+1)
	from := n.e.Random(max(1, span-width/2)) - width/4
	for j := range n.m.Tasks {
		switch {
		case s.Start[j] < 0:
		case s.End[j] <= from:
			all = append(all, n.start[j].AtMost(s.Start[j]))
		case s.Start[j] >= from+width:
			all = append(all, n.start[j].AtMost(s.Start[j]-1))
		}
	}
	return all
}
