package main

import (
	"cmp"
	"fmt"
	"slices"

	"beadline/cure/plan/solve"
)

// instance is a project to schedule: activities that hold units of renewable
// resources while they run, and lags between their starts. The first activity is the
// source, which starts at 0 and before all others; the last is the sink, whose start
// is the makespan.
type instance struct {
	first      int // what the file calls the first activity: 0 or 1
	activities []activity
	lags       []lag
	units      []int // of each resource
}

// activity is one piece of work; it is not interrupted.
type activity struct {
	duration int
	requests []int // of each resource
}

// lag is a minimum time between two activities: the later starts no sooner than
// length after the start of the earlier, or after its end. A negative length is a
// maximum: the one it runs to may start before the other, by so much and no more.
type lag struct {
	from, to int
	fromEnd  bool
	length   int
}

// model is the instance as the core has it. Its horizon is long enough for an
// earliest schedule: such a schedule has no instant at which neither an activity
// runs nor a lag counts, or all after that instant could move forward.
func (p *instance) model() *solve.Model {
	m := &solve.Model{Horizon: p.horizon(), Ready: p.sink()}
	for r, n := range p.units {
		m.Resources = append(m.Resources, solve.Resource{Name: fmt.Sprint("resource ", r+1), Units: n})
	}
	for i, a := range p.activities {
		t := solve.Task{Name: p.name(i), Duration: a.duration}
		for r, n := range a.requests {
			if n > 0 && a.duration > 0 {
				t.Uses = append(t.Uses, solve.Use{Resource: r, Units: n})
			}
		}
		m.Tasks = append(m.Tasks, t)
	}
	for _, l := range append(p.fromSource(), p.lags...) {
		m.Lags = append(m.Lags, p.asLag(l))
	}
	return m
}

func (p *instance) asLag(l lag) solve.Lag {
	out := solve.Lag{From: l.from, To: l.to, FromAt: solve.AtStart, ToAt: solve.AtStart, Fn: solve.Plus(l.length)}
	switch {
	case l.fromEnd:
		out.FromAt = solve.AtEnd
	case l.length < 0: // S_to ≥ S_from − w is S_from ≤ S_to + w
		out.From, out.To, out.Max, out.Fn = l.to, l.from, true, solve.Plus(-l.length)
	}
	out.What = fmt.Sprintf("%s to %s", p.name(l.from), p.name(l.to))
	return out
}

// fromSource are lags that keep every activity behind the source, for those that the
// file ties to it in no way. Nothing starts before 0, where the source does, so they
// say nothing new; but without them a source that a maximum lag hangs on could start
// later than 0.
func (p *instance) fromSource() []lag {
	behind := make([]bool, len(p.activities))
	next := make([][]int, len(p.activities))
	for _, l := range p.lags {
		if l.fromEnd || l.length >= 0 {
			next[l.from] = append(next[l.from], l.to)
		}
	}
	reach := func(i int) {
		for todo := []int{i}; len(todo) > 0; {
			i, todo = todo[len(todo)-1], todo[:len(todo)-1]
			if !behind[i] {
				behind[i] = true
				todo = append(todo, next[i]...)
			}
		}
	}
	reach(0)
	var out []lag
	for i := range p.activities {
		if !behind[i] {
			out = append(out, lag{from: 0, to: i})
			reach(i)
		}
	}
	return out
}

// horizon is the sum over activities of duration or longest lag from its start.
func (p *instance) horizon() int {
	longest := make([]int, len(p.activities))
	for i, a := range p.activities {
		longest[i] = a.duration
	}
	for _, l := range p.lags {
		longest[l.from] = max(longest[l.from], l.length)
	}
	sum := 0
	for _, n := range longest {
		sum += n
	}
	return sum
}

func (p *instance) sink() int { return len(p.activities) - 1 }

func (p *instance) name(i int) string { return fmt.Sprint("activity ", p.first+i) }

// impossible reports whether an activity asks for more of a resource than there is:
// there is no schedule then, and nothing to search for.
func (p *instance) impossible() bool {
	for _, a := range p.activities {
		for r, n := range a.requests {
			if a.duration > 0 && n > p.units[r] {
				return true
			}
		}
	}
	return false
}

// check counts a schedule over again from the instance alone, by its starts: every
// lag, and what is used of every resource.
func (p *instance) check(start []int) error {
	if len(start) != len(p.activities) {
		return fmt.Errorf("it has %d starts for %d activities", len(start), len(p.activities))
	}
	for i, t := range start {
		if t < 0 {
			return fmt.Errorf("%s starts at %d", p.name(i), t)
		}
	}
	for _, l := range p.lags {
		least := start[l.from] + l.length
		if l.fromEnd {
			least += p.activities[l.from].duration
		}
		if start[l.to] < least {
			return fmt.Errorf("%s starts at %d, and may at %d, as %s starts at %d", p.name(l.to), start[l.to], least, p.name(l.from), start[l.from])
		}
	}
	return p.checkUnits(start)
}

// checkUnits goes through the starts and ends in order of time, ends first, and adds
// up what is used.
func (p *instance) checkUnits(start []int) error {
	type event struct{ at, sign, activity int }
	var events []event
	for i, a := range p.activities {
		if a.duration > 0 {
			events = append(events, event{start[i], 1, i}, event{start[i] + a.duration, -1, i})
		}
	}
	slices.SortFunc(events, func(a, b event) int { return cmp.Or(a.at-b.at, a.sign-b.sign, a.activity-b.activity) })
	used := make([]int, len(p.units))
	for _, e := range events {
		for r, n := range p.activities[e.activity].requests {
			if used[r] += e.sign * n; used[r] > p.units[r] {
				return fmt.Errorf("at %d resource %d is asked for %d and there are %d", e.at, r+1, used[r], p.units[r])
			}
		}
	}
	return nil
}
