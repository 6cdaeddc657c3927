package plan

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cure/plan/solve"
)

// clashSteps bounds each question asked of the search for a set, in conflicts met.
const clashSteps = 3000

// handsEnough is how many more people count as enough of a skill.
const handsEnough = 4

// clash is a set of demands that cannot all be kept. It is what the search itself says of
// models with demands taken off, not a reading of where the search got stuck.
type clash struct {
	set     []demand
	proven  bool   // no plan keeps them all
	minimal bool   // any one of them dropped, a plan keeps the others
	enough  []bool // of each: dropped, a plan keeps all else that the job asks
	here    bool   // said of the classes, the heat and the mixes of one way only
}

// clashOf finds a minimal set of demands that no plan keeps together: a preferred
// explanation by divide and conquer (QuickXplain; U. Junker, Preferred explanations and
// relaxations for over-constrained problems, AAAI 2004). Each question is one search for
// any schedule at all; an answer counts only if it is proven. wish is the tick by which
// the job is wanted ready; 0: the question is whether there is any plan. nil: that there
// is no plan is not proven.
func (b *built) clashOf(wish int, stop func() bool) *clash {
	q := &quarrel{b: b, ds: b.demands(wish), wish: wish, stop: stop, known: map[string]solve.Status{}}
	all := make([]int, len(q.ds))
	for i := range all {
		all[i] = i
	}
	if q.ask(all) != solve.Infeasible {
		return nil
	}
	c := &clash{proven: true, minimal: true, here: !b.sole}
	set := q.explain(nil, false, all)
	slices.Sort(set)
	c.proven = q.ask(set) == solve.Infeasible
	for i := range set {
		c.set = append(c.set, q.ds[set[i]])
		c.minimal = c.minimal && q.can(slices.Delete(slices.Clone(set), i, i+1))
		c.enough = append(c.enough, q.can(slices.DeleteFunc(slices.Clone(all), func(d int) bool { return d == set[i] })))
	}
	return c
}

// quarrel asks which demands can be kept together, and remembers the answers.
type quarrel struct {
	b     *built
	ds    []demand
	wish  int
	stop  func() bool
	known map[string]solve.Status
}

// ask says whether a plan keeps these demands, all others taken off.
func (q *quarrel) ask(kept []int) solve.Status {
	keep := make([]bool, len(q.ds))
	for _, i := range kept {
		keep[i] = true
	}
	key := fmt.Sprint(keep)
	if s, ok := q.known[key]; ok {
		return s
	}
	a, err := solve.Solve(q.b.without(q.ds, keep, q.wish), solve.Options{Steps: clashSteps, Exists: true, Rough: true, Stop: q.stop})
	if err != nil { // such as a crew that nobody can form: no schedule keeps it
		a.Status = solve.Unknown
	}
	q.known[key] = a.Status
	return a.Status
}

// can reports whether a plan is known that keeps these demands.
func (q *quarrel) can(kept []int) bool {
	s := q.ask(kept)
	return s == solve.Feasible || s == solve.Optimal
}

// explain is a least set among c that cannot be kept together with base; of several
// such sets it prefers those that stand first. added says that base has grown since it was last asked about.
func (q *quarrel) explain(base []int, added bool, c []int) []int {
	if added && q.ask(base) == solve.Infeasible {
		return nil
	}
	if len(c) == 1 {
		return c
	}
	first, second := c[:len(c)/2], c[len(c)/2:]
	set := q.explain(slices.Concat(base, first), true, second)
	return slices.Concat(q.explain(slices.Concat(base, set), len(set) > 0, first), set)
}

// addHands adds people who can do one thing, n for each who can now, at the same hours.
func addHands(m *solve.Model, skill string, n int) {
	for _, p := range m.People {
		if !slices.Contains(p.Skills, skill) {
			continue
		}
		for range n {
			m.People = append(m.People, solve.Person{Name: p.Name + " too", Skills: []string{skill}, Work: p.Work, Spare: p.Spare})
		}
	}
}

// words writes the set as one sentence or two.
func (c *clash) words() string {
	var what []string
	for i, d := range c.set {
		text := d.What
		if len(c.set) > 1 {
			text = fmt.Sprintf("(%d) %s", i+1, text)
		}
		what = append(what, text)
	}
	switch {
	case len(c.set) == 0:
		return "The work itself does not fit: even with no demand on it but its length and its order there is no plan."
	case len(c.set) == 1:
		return fmt.Sprintf("This cannot be kept%s: %s. %s", c.where(), what[0], c.known())
	}
	return fmt.Sprintf("These cannot all be kept%s: %s. %s", c.where(), strings.Join(what, "; "), c.known())
}

// where limits a set to the way that it was found for.
func (c *clash) where() string {
	if c.here {
		return " in the classes and mixes planned here"
	}
	return ""
}

// known says what dropping one of the set does, as far as it is proven.
func (c *clash) known() string {
	var alone []string
	for i, yes := range c.enough {
		if yes {
			alone = append(alone, fmt.Sprintf("(%d)", i+1))
		}
	}
	switch {
	case !c.minimal:
		return "That each of them matters is not proven."
	case len(alone) == len(c.set) && len(alone) == 1:
		return "Without it there is a plan."
	case len(alone) == len(c.set):
		return "With any one of them dropped there is a plan."
	case len(alone) > 0:
		return fmt.Sprintf("Any one of them dropped, the others can be kept; but only without %s is there a plan for the whole job.", strings.Join(alone, " or "))
	case len(c.set) == 1:
		return "Behind it there is another clash."
	}
	return "Any one of them dropped, the others can be kept, but then something else of the job clashes."
}

func (c *clash) demands() []Demand {
	var out []Demand
	for _, d := range c.set {
		out = append(out, d.Demand)
	}
	return out
}

// explain says why there is no plan, or none by the wish: the obstacles that rule it out
// each by itself, else a least set of demands that clash.
func (p *Plan) explain(in Input) {
	x := p.Infeasible
	if p.Found {
		if b := p.made; b != nil {
			c := b.clashOf(int(in.Job.ReadyBy.Sub(in.Job.Start)/tick), in.Stop)
			if c != nil && c.proven && !c.here && !x.Proven {
				*x = *tooLateFor(p, true)
			}
			x.take(c)
		}
		return
	}
	for _, b := range p.failed {
		if b.ruledOut() {
			continue
		}
		c := b.clashOf(0, in.Stop)
		if x.take(c); c == nil {
			x.because(fmt.Sprintf("The work, the shifts and the limits of the job do not fit together within %d days, as far as was searched.", b.m.Horizon/(24*60)))
		}
		b.sayObstacles(x) // each rules out a way by itself
		return            // one list of ways is explained in full; the others are as impossible
	}
}

// take adds a set to the reasons.
func (x *Infeasible) take(c *clash) {
	if c == nil || !c.proven {
		return
	}
	x.because(c.words())
	x.Set, x.Minimal, x.clash = c.demands(), c.minimal, c
}

func (x *Infeasible) because(text string) {
	if !slices.Contains(x.Because, text) {
		x.Because = append(x.Because, text)
	}
}
