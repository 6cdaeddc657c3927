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
	by     []int // parts by earliest start, the latest first
	due    []int // parts by latest end
	est    []int // by part
	lct    []int // by part
	spare  []int // by part: energy to place
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
	// The time-table has run: the profile is drawn.
	c.sums = append(c.sums[:0], 0)
	for i, s := range c.profile {
		c.sums = append(c.sums, c.sums[i]+(s.to-s.from)*s.height)
	}
	if c.look(e) < 2 {
		return true
	}
	for i, d := range c.due {
		to := c.lct[d]
		if c.spare[d] == 0 || i+1 < len(c.due) && c.lct[c.due[i+1]] == to && c.spare[c.due[i+1]] > 0 {
			continue
		}
		in, upto := 0, c.before(to)-c.cap*to
		for _, k := range c.by {
			if c.spare[k] == 0 || c.lct[k] > to {
				continue
			}
			in += c.spare[k]
			from := c.est[k]
			if from >= to {
				continue
			}
			if over := in + upto + c.cap*from - c.before(from); over > 0 {
				c.idle = 0
				return c.overload(e, from, to, over)
			}
		}
	}
	return true
}

// look notes where the energy of each part may go, and counts those that have some.
func (c *energy) look(e *learn.Engine) int {
	if c.by == nil {
		n := len(c.parts)
		c.est, c.lct, c.spare = make([]int, n), make([]int, n), make([]int, n)
		for k := range c.parts {
			c.by, c.due = append(c.by, k), append(c.due, k)
		}
	}
	some := 0
	for k := range c.parts {
		p := &c.parts[k]
		c.est[k], c.lct[k], c.spare[k] = e.Lo(p.start), e.Hi(p.start)+p.dur, 0
		if p.loose {
			c.lct[k] = e.Hi(p.end) + p.add
		}
		if e.True(p.on) {
			if c.spare[k] = c.free(p) * p.need; c.spare[k] > 0 {
				some++
			}
		}
	}
	for i := 1; i < len(c.by); i++ {
		k, j := c.by[i], i
		for v := c.est[k]; j > 0 && c.est[c.by[j-1]] < v; j-- {
			c.by[j] = c.by[j-1]
		}
		c.by[j] = k
	}
	for i := 1; i < len(c.due); i++ {
		k, j := c.due[i], i
		for v := c.lct[k]; j > 0 && c.lct[c.due[j-1]] > v; j-- {
			c.due[j] = c.due[j-1]
		}
		c.due[j] = k
	}
	return some
}

// free is how long a part runs beyond what it must.
func (c *energy) free(p *part) int { return p.dur - max(0, min(p.dur, p.to-p.from)) }

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
		if c.est[k] >= from && c.lct[k] <= to {
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
		if c.est[s.part] >= from && c.lct[s.part] <= to {
			c.dirty = append(c.dirty, p.start.AtLeast(from), p.start.AtMost(to-p.dur))
			if p.loose {
				c.dirty[1] = p.end.AtMost(to - p.add)
			}
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
