package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// energy holds tasks to what there is of a resource over whole intervals: those that lie
// in an interval, with what others must run in it, take no more than it has to give.
// P. Vilím, "Timetable edge finding filtering algorithm for discrete cumulative
// resources", CPAIOR 2011; the explanations after A. Schutt, T. Feydt, P.J. Stuckey,
// "Explaining time-table-edge-finding propagation for the cumulative resource
// constraint", CPAIOR 2013.
type energy struct {
	*cumulative
	by     []int // parts with energy to place, earliest start first
	due    []int // the same, latest end first
	sums   []int // energy of the profile before each stretch
	stakes []stake
	dirty  []learn.Atom

	calls, idle int // since it last found anything
}

// patience is how often in a row the energy is looked at in vain before it is looked at
// more seldom: most searches never need it, and some need nothing else.
const (
	patience = 200
	seldom   = 16
)

// stake is what one part puts into an interval.
type stake struct{ part, energy int }

// Propagate implements learn.Propagator.
func (c *energy) Propagate(e *learn.Engine) bool {
	c.calls++
	if c.idle > patience && c.calls%seldom != 0 && e.Level() > 0 {
		return true
	}
	c.idle++
	for k := range c.parts {
		p := &c.parts[k]
		p.from, p.to = e.Hi(p.start), e.Lo(p.end)+p.add
		if p.from >= p.to || !e.True(p.on) {
			p.from, p.to = 0, 0
		}
	}
	if !c.draw(e) {
		return false
	}
	c.sums = append(c.sums[:0], 0)
	for i, s := range c.profile {
		c.sums = append(c.sums, c.sums[i]+(s.to-s.from)*s.height)
	}
	c.by, c.due = c.by[:0], c.due[:0]
	for k := range c.parts {
		if p := &c.parts[k]; e.True(p.on) && c.free(p) > 0 {
			c.by = append(c.by, k)
		}
	}
	if len(c.by) < 2 {
		return true
	}
	c.due = append(c.due, c.by...)
	slices.SortFunc(c.by, func(a, b int) int { return c.est(e, b) - c.est(e, a) })
	slices.SortFunc(c.due, func(a, b int) int { return c.lct(e, a) - c.lct(e, b) })
	for i, d := range c.due {
		to := c.lct(e, d)
		if i+1 < len(c.due) && c.lct(e, c.due[i+1]) == to {
			continue
		}
		in, upto := 0, c.before(to)
		for j, k := range c.by {
			p := &c.parts[k]
			if c.lct(e, k) <= to {
				in += c.free(p) * p.need
			}
			from := c.est(e, k)
			if in == 0 || j+1 < len(c.by) && c.est(e, c.by[j+1]) == from || from >= to {
				continue
			}
			if over := in + upto - c.before(from) - c.cap*(to-from); over > 0 {
				c.idle = 0
				return c.overload(e, from, to, over)
			}
		}
	}
	return true
}

func (c *energy) est(e *learn.Engine, k int) int { return e.Lo(c.parts[k].start) }

func (c *energy) lct(e *learn.Engine, k int) int {
	return e.Hi(c.parts[k].start) + c.parts[k].dur
}

// free is how long a part runs beyond what it must.
func (c *energy) free(p *part) int { return p.dur - min(p.dur, p.to-p.from) }

// before is the energy of the profile before a tick.
func (c *energy) before(t int) int {
	i := c.seek(t)
	if i == len(c.profile) {
		return c.sums[i]
	}
	return c.sums[i] + max(0, t-c.profile[i].from)*c.profile[i].height
}

// overload explains why an interval holds more than it can.
func (c *energy) overload(e *learn.Engine, from, to, over int) bool {
	if e.Level() == 0 {
		return e.Fail(nil)
	}
	c.stakes = c.stakes[:0]
	for k := range c.parts {
		p := &c.parts[k]
		if !e.True(p.on) {
			continue
		}
		must := max(0, min(to, p.to)-max(from, p.from))
		if c.est(e, k) >= from && c.lct(e, k) <= to {
			must += c.free(p)
		}
		if must > 0 {
			c.stakes = append(c.stakes, stake{k, must * p.need})
		}
	}
	slices.SortFunc(c.stakes, func(a, b stake) int { return a.energy - b.energy })
	c.why = c.why[:0]
	over-- // one unit too many is enough
	for _, s := range c.stakes {
		p := &c.parts[s.part]
		c.dirty = c.dirty[:0]
		if c.est(e, s.part) >= from && c.lct(e, s.part) <= to {
			c.dirty = append(c.dirty, p.start.AtLeast(from), p.start.AtMost(to-p.dur))
			if must := p.to - p.from; must > p.dur { // it pauses, and all of it counts
				c.dirty = append(c.dirty, p.start.AtMost(p.from), p.end.AtLeast(p.to-p.add))
			}
		} else {
			c.dirty = append(c.dirty, p.start.AtMost(max(from, p.from)), p.end.AtLeast(min(to, p.to)-p.add))
		}
		if p.on != learn.Always() {
			c.dirty = append(c.dirty, p.on)
		}
		if s.energy <= over && slices.ContainsFunc(c.dirty, func(a learn.Atom) bool { return !e.Rooted(a) }) {
			over -= s.energy
			continue
		}
		c.why = append(c.why, c.dirty...)
	}
	return e.Fail(c.why)
}
