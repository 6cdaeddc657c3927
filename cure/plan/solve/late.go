package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// pull moves every task as early as it can be with the same people, in the same order:
// what is done early leaves time for what goes wrong. Nothing moves into spare hours, and
// what is made at a cost stands no longer than before.
func (m *Model) pull(s *Schedule) {
	n, ok := fixed(m, s, s.End[m.Ready], false)
	if !ok {
		return
	}
	for _, l := range m.uses(s) {
		n.e.Before(n.start[l.To], n.start[l.From], s.Start[l.From]-s.Start[l.To])
	}
	for j := range m.Tasks {
		t := &m.Tasks[j]
		if t.Duration == 0 || len(s.Who[j]) == 0 {
			continue
		}
		if ws := n.normal(t, s.Who[j]); holding(join(ws), s.Start[j]) {
			n.inside(n.start[j], ws, learn.Always())
		}
	}
	if !n.e.Settle() {
		return
	}
	for j := range m.Tasks {
		if s.Start[j] >= 0 {
			s.Start[j] = n.e.RootLo(n.start[j])
			x, add := n.point(j, AtEnd)
			s.End[j] = n.e.RootLo(x) + add
		}
	}
}

// settle moves each Late task, the last first, as late as its followers, its windows
// and its people's other work let it, and into no spare hours; nothing else moves.
func (m *Model) settle(s *Schedule) {
	var late []int
	for j := range m.Tasks {
		if m.Tasks[j].Late && !m.Tasks[j].Split && j != m.Ready && s.done(m, j) {
			late = append(late, j)
		}
	}
	slices.SortFunc(late, func(a, b int) int { return s.Start[b] - s.Start[a] })
	for _, j := range late {
		d, was, spare := m.Tasks[j].Duration, s.Start[j], m.inSpare(s, j)
		for t := m.latestFor(s, j); t > was; t-- {
			s.Start[j], s.End[j] = t, t+d
			if m.fits(s, j) && (spare || !m.inSpare(s, j)) {
				break
			}
			s.Start[j], s.End[j] = was, was+d
		}
	}
}

// inSpare reports whether somebody is on a task, one that does not pause, in spare hours.
func (m *Model) inSpare(s *Schedule, j int) bool {
	return m.Tasks[j].Duration > 0 && slices.ContainsFunc(s.Who[j], func(p int) bool {
		return slices.ContainsFunc(m.People[p].Spare, func(w Window) bool { return s.Start[j] < w.To && w.From < s.End[j] })
	})
}

// latestFor is a bound on a task's start that its followers set.
func (m *Model) latestFor(s *Schedule, j int) int {
	t := m.deadline(j) - m.Tasks[j].Duration
	for _, l := range m.Lags {
		if l.From == j && !l.Max && l.To != j && s.done(m, l.To) {
			v := s.Time(l.To, l.ToAt)
			if l.FromAt == AtEnd {
				v -= m.Tasks[j].Duration
			}
			t = min(t, v)
		}
	}
	return t
}

// fits checks one task of a schedule against everything that touches it.
func (m *Model) fits(s *Schedule, j int) bool {
	if m.checkTask(s, j) != nil || len(m.Tasks[j].Uses) > 0 && m.checkResources(s) != nil {
		return false
	}
	for k := range m.Lags {
		if l := &m.Lags[k]; (l.From == j || l.To == j) && m.brokenLag(s, l) {
			return false
		}
	}
	for k := range m.Tasks {
		if k != j && s.done(m, k) && s.Start[k] < s.End[j] && s.Start[j] < s.End[k] && share(s.Who[k], s.Who[j]) {
			return false
		}
	}
	return true
}

func share(a, b []int) bool {
	return slices.ContainsFunc(a, func(p int) bool { return slices.Contains(b, p) })
}
