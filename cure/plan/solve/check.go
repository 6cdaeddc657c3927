package solve

import (
	"cmp"
	"fmt"
	"slices"
)

func (m *Model) check(s *Schedule) error {
	for _, bar := range m.Bars {
		if s.takes(bar) {
			return fmt.Errorf("ways that are not taken together: %v", bar)
		}
	}
	for j := range m.Tasks {
		if err := m.checkTask(s, j); err != nil {
			return err
		}
	}
	for k := range m.Lags {
		if l := &m.Lags[k]; m.brokenLag(s, l) {
			from, to := s.Time(l.From, l.FromAt), s.Time(l.To, l.ToAt)
			return fmt.Errorf("%s → %s (%s): %d against %d", m.Tasks[l.From].Name, m.Tasks[l.To].Name, l.What, to, l.Fn.At(from))
		}
	}
	if err := m.checkPeople(s); err != nil {
		return err
	}
	return m.checkResources(s)
}

// checkResources looks at each start, for only there does what is taken rise.
func (m *Model) checkResources(s *Schedule) error {
	for r, res := range m.Resources {
		for j := range m.Tasks {
			if !s.done(m, j) {
				continue
			}
			sum := 0
			for k := range m.Tasks {
				if s.done(m, k) && s.Start[k] <= s.Start[j] && s.Start[j] < s.End[k] {
					for _, u := range m.Tasks[k].Uses {
						if u.Resource == r {
							sum += u.Units
						}
					}
				}
			}
			if sum > res.Units {
				return fmt.Errorf("%s: %d of %d are taken at %d", res.Name, sum, res.Units, s.Start[j])
			}
		}
	}
	return nil
}

// done reports whether the ways taken have a task done.
func (s *Schedule) done(m *Model, j int) bool { return s.takes(m.Tasks[j].If) }

// takes reports whether all of some ways are taken.
func (s *Schedule) takes(picks []Pick) bool {
	for _, p := range picks {
		if s.Picks[p.Choice] != p.Way {
			return false
		}
	}
	return true
}

func (m *Model) brokenLag(s *Schedule, l *Lag) bool {
	if !s.done(m, l.From) || !s.done(m, l.To) {
		return false
	}
	to, v := s.Time(l.To, l.ToAt), l.Fn.At(s.Time(l.From, l.FromAt))
	return l.Max && to > v || !l.Max && to < v
}

func (m *Model) checkTask(s *Schedule, j int) error {
	tk := &m.Tasks[j]
	if !s.done(m, j) {
		return nil
	}
	a, e := s.Start[j], s.End[j]
	bad := func(what string) error { return fmt.Errorf("%s (%d to %d): %s", tk.Name, a, e, what) }
	if a < tk.Release || e > m.deadline(j) {
		return bad("outside its release and deadline")
	}
	if len(s.Who[j]) != tk.Crew {
		return bad("wrong crew")
	}
	if !tk.pauses() {
		if e != a+tk.Duration {
			return bad("wrong length")
		}
	} else if jointEnd(m, s.Who[j], a, tk.Duration) != e {
		return bad("wrong length with its pauses")
	}
	if fitWithin(tk, a, e-a) != a {
		return bad("outside its windows")
	}
	for i, p := range s.Who[j] {
		if slices.Contains(s.Who[j][:i], p) {
			return bad(m.People[p].Name + " counted twice")
		}
		if !slices.Contains(m.People[p].Skills, tk.Skill) {
			return bad(m.People[p].Name + " cannot " + tk.Skill)
		}
		if !tk.Split && fit(m.People[p].Work, a, tk.Duration) != a {
			return bad(m.People[p].Name + " is off shift")
		}
		for _, k := range tk.NotBy {
			if s.done(m, k) && slices.Contains(s.Who[k], p) {
				return bad(m.People[p].Name + " also did " + m.Tasks[k].Name)
			}
		}
	}
	return nil
}

func (m *Model) checkPeople(s *Schedule) error {
	for p := range m.People {
		var mine []int
		for j := range m.Tasks {
			if s.done(m, j) && slices.Contains(s.Who[j], p) {
				mine = append(mine, j)
			}
		}
		slices.SortFunc(mine, func(a, b int) int {
			return cmp.Or(s.Start[a]-s.Start[b], s.End[a]-s.End[b])
		})
		for i := 1; i < len(mine); i++ {
			if s.End[mine[i-1]] > s.Start[mine[i]] {
				return fmt.Errorf("%s is in two places: %s and %s", m.People[p].Name, m.Tasks[mine[i-1]].Name, m.Tasks[mine[i]].Name)
			}
		}
	}
	return nil
}
