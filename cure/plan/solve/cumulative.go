package solve

import (
	"slices"

	"beadline/cure/plan/solve/learn"
)

// cumulative holds tasks that run together to what there is of a resource: units, or
// heads on shift. It is the time-table of A. Schutt, T. Feydt, P.J. Stuckey and M.G.
// Wallace, "Explaining the cumulative propagator", Constraints 16 (2011), 250-282, with
// their pointwise explanations: a task is moved past one tick at a time at which the
// others, that must run then, leave it no room, and they and the tick are the reason.
type cumulative struct {
	e     *learn.Engine
	n     *net
	cap   int
	parts []part
	base  []step // what is taken in any case, over time

	byFrom, byTo []int // parts by start and by end of what must run
	profile      []stretchOf
	drawn        bool   // the profile is that of the parts as they were last seen
	round        int    // of the profile
	seen         []look // by part
	why          []learn.Atom
	cover        []int
}

// part is a task as the resource sees it: it runs from start at least until end + add.
type part struct {
	start, end learn.Var
	add        int
	dur, need  int
	on         learn.Atom
	loose      bool // it works for dur somewhere from start to end + add, with pauses: energy alone
	from, to   int  // what must run as bounds stand; from ≥ to: nothing
}

// look is what a part was like when it was last found to have room.
type look struct{ lo, hi, round int }

// step is a height from a tick on.
type step struct{ at, height int }

// stretchOf is a stretch of the profile.
type stretchOf struct{ from, to, height int }

func newCumulative(n *net, units int) *cumulative { return &cumulative{e: n.e, n: n, cap: units} }

// add adds a task that holds so many units.
func (c *cumulative) add(j, need int) {
	if need == 0 || c.n.m.Tasks[j].Duration == 0 {
		return
	}
	end, add := c.n.point(j, AtEnd)
	c.parts = append(c.parts, part{start: c.n.start[j], end: end, add: add, dur: c.n.m.Tasks[j].Duration, need: need, on: c.n.on[j]})
}

// install adds the propagator to the engine, unless nothing can ever be short.
func (c *cumulative) install() {
	sum := 0
	for _, s := range c.base {
		sum = max(sum, s.height)
	}
	for _, p := range c.parts {
		sum += p.need
	}
	if sum <= c.cap || len(c.parts) == 0 {
		return
	}
	var bounds []learn.Bound
	for k, p := range c.parts {
		c.byFrom, c.byTo = append(c.byFrom, k), append(c.byTo, k)
		bounds = append(bounds, p.start.Least(), p.start.Most())
		if p.end != p.start {
			bounds = append(bounds, p.end.Least(), p.end.Most())
		}
		if p.on != learn.Always() {
			bounds = append(bounds, p.on.B)
		}
	}
	c.seen = make([]look, len(c.parts))
	c.e.Add(c, 1, bounds...)
	c.e.Add(&energy{cumulative: c}, 2, bounds...)
}

// Propagate implements learn.Propagator.
func (c *cumulative) Propagate(e *learn.Engine) bool {
	if c.changed(e) || !c.drawn {
		c.round++
		if c.drawn = c.draw(e); !c.drawn {
			return false
		}
	}
	top := 0
	for i := range c.profile {
		top = max(top, c.profile[i].height)
	}
	for k := range c.parts {
		p := &c.parts[k]
		if top+p.need <= c.cap || p.loose || !e.True(p.on) {
			continue
		}
		lo, hi := e.Lo(p.start), e.Hi(p.start)
		if s := (look{lo, hi, c.round}); lo == hi || s == c.seen[k] {
			continue
		}
		if !c.later(e, p) || !c.earlier(e, p) {
			return false
		}
		if e.Lo(p.start) == lo && e.Hi(p.start) == hi {
			c.seen[k] = look{lo, hi, c.round}
		}
	}
	return true
}

// changed looks at what must run as bounds stand, and reports whether that is something
// else than before.
func (c *cumulative) changed(e *learn.Engine) bool {
	some := false
	for k := range c.parts {
		p := &c.parts[k]
		from, to := 0, 0
		if e.True(p.on) && !p.loose {
			from, to = e.Hi(p.start), e.Lo(p.end)+p.add
		}
		if from != p.from || to != p.to {
			some = some || from < to || p.from < p.to
			p.from, p.to = from, to
		}
	}
	return some
}

// draw draws the profile of what must run, and fails where that is too much.
func (c *cumulative) draw(e *learn.Engine) bool {
	c.sort()
	c.profile = c.profile[:0]
	height, base, b, i, j, at := 0, 0, 0, 0, 0, 0
	for {
		for i < len(c.byFrom) && c.parts[c.byFrom[i]].idle() {
			i++
		}
		for j < len(c.byTo) && c.parts[c.byTo[j]].idle() {
			j++
		}
		next := Never
		if i < len(c.byFrom) {
			next = c.parts[c.byFrom[i]].from
		}
		if j < len(c.byTo) {
			next = min(next, c.parts[c.byTo[j]].to)
		}
		if b < len(c.base) {
			next = min(next, c.base[b].at)
		}
		if next > at {
			if h := height + base; h > 0 {
				to := min(next, c.n.m.Horizon)
				c.profile = append(c.profile, stretchOf{at, to, h})
				if h > c.cap && height > 0 {
					return c.clash(e, at+(to-at)/2)
				}
			}
			at = next
		}
		switch {
		case next == Never:
			return true
		case j < len(c.byTo) && c.parts[c.byTo[j]].to == at:
			height -= c.parts[c.byTo[j]].need
			j++
		case i < len(c.byFrom) && c.parts[c.byFrom[i]].from == at:
			height += c.parts[c.byFrom[i]].need
			i++
		default:
			base = c.base[b].height
			b++
		}
	}
}

// idle reports whether nothing of a part must run.
func (p *part) idle() bool { return p.from >= p.to }

// sort puts the parts in order, which they nearly are.
func (c *cumulative) sort() {
	for i := 1; i < len(c.byFrom); i++ {
		k, j := c.byFrom[i], i
		for v := c.parts[k].from; j > 0 && c.parts[c.byFrom[j-1]].from > v; j-- {
			c.byFrom[j] = c.byFrom[j-1]
		}
		c.byFrom[j] = k
	}
	for i := 1; i < len(c.byTo); i++ {
		k, j := c.byTo[i], i
		for v := c.parts[k].to; j > 0 && c.parts[c.byTo[j-1]].to > v; j-- {
			c.byTo[j] = c.byTo[j-1]
		}
		c.byTo[j] = k
	}
}

// clash explains that more must run at a tick than there is.
func (c *cumulative) clash(e *learn.Engine, t int) bool {
	c.why = c.why[:0]
	c.because(e, t, nil, c.cap)
	return e.Fail(c.why)
}

// because appends the reasons why tasks other than p take more than limit at tick t.
func (c *cumulative) because(e *learn.Engine, t int, p *part, limit int) {
	if e.Level() == 0 {
		return
	}
	sum := c.taken(t)
	c.cover = c.cover[:0]
	for k := range c.parts {
		if q := &c.parts[k]; q != p && q.from <= t && t < q.to {
			sum += q.need
			c.cover = append(c.cover, k)
		}
	}
	// What is not needed is left out, dear reasons first.
	slices.SortStableFunc(c.cover, func(a, b int) int {
		return c.rank(e, t, a) - c.rank(e, t, b)
	})
	for _, k := range c.cover {
		q := &c.parts[k]
		if sum-q.need > limit {
			sum -= q.need
			continue
		}
		c.why = append(c.why, q.start.AtMost(t), q.end.AtLeast(t+1-q.add))
		if q.on != learn.Always() {
			c.why = append(c.why, q.on)
		}
	}
}

// rank is higher for parts whose reasons cost less: those that hold in any case, then
// the larger.
func (c *cumulative) rank(e *learn.Engine, t, k int) int {
	q := &c.parts[k]
	if e.Rooted(q.start.AtMost(t)) && e.Rooted(q.end.AtLeast(t+1-q.add)) && e.Rooted(q.on) {
		return 1 << 20
	}
	return q.need
}

// taken is the base height at a tick.
func (c *cumulative) taken(t int) int {
	h := 0
	for _, s := range c.base {
		if s.at > t {
			break
		}
		h = s.height
	}
	return h
}

// seek is the first stretch of the profile that ends after t.
func (c *cumulative) seek(t int) int {
	lo, hi := 0, len(c.profile)
	for lo < hi {
		if m := (lo + hi) / 2; c.profile[m].to <= t {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}

func (p *part) own(s stretchOf) int {
	if p.from <= s.from && s.to <= p.to && p.from < p.to {
		return p.need
	}
	return 0
}

// later moves a task past what leaves it no room.
func (c *cumulative) later(e *learn.Engine, p *part) bool {
	cur := e.Lo(p.start)
	for i := c.seek(cur); i < len(c.profile); i++ {
		s := c.profile[i]
		if s.from >= cur+p.dur {
			return true
		}
		for s.height-p.own(s)+p.need > c.cap && s.to > cur {
			t := min(s.to, cur+p.dur) - 1
			c.why = c.why[:0]
			c.because(e, t, p, c.cap-p.need)
			c.why = append(c.why, p.start.AtLeast(t+1-p.dur))
			if p.on != learn.Always() {
				c.why = append(c.why, p.on)
			}
			if !e.Set(p.start.AtLeast(t+1), c.why) {
				return false
			}
			cur = t + 1
		}
	}
	return true
}

// earlier moves the end of what a task may take up before what leaves it no room.
func (c *cumulative) earlier(e *learn.Engine, p *part) bool {
	cur := e.Hi(p.start)
	for i := min(c.seek(cur+p.dur-1), len(c.profile)-1); i >= 0; i-- {
		s := c.profile[i]
		if s.to <= cur {
			return true
		}
		for s.height-p.own(s)+p.need > c.cap && s.from < cur+p.dur {
			t := max(s.from, cur)
			c.why = c.why[:0]
			c.because(e, t, p, c.cap-p.need)
			c.why = append(c.why, p.start.AtMost(t))
			if p.on != learn.Always() {
				c.why = append(c.why, p.on)
			}
			if !e.Set(p.start.AtMost(t-p.dur), c.why) {
				return false
			}
			cur = t - p.dur
		}
	}
	return true
}

// exactly makes just k of the atoms hold where on does, and none where it does not.
func (n *net) exactly(all []learn.Atom, k int, on learn.Atom) {
	for _, a := range all {
		n.e.Clause(a.Not(), on)
	}
	if k == 1 {
		some := slices.Clone(all)
		if on != learn.Always() {
			some = append(some, on.Not())
		}
		n.e.Clause(some...)
		for i, a := range all {
			for _, b := range all[:i] {
				n.e.Clause(a.Not(), b.Not())
			}
		}
		return
	}
	c := &count{all: all, k: k, on: on}
	var bounds []learn.Bound
	for _, a := range all {
		bounds = append(bounds, a.B, a.B.Opp())
	}
	if on != learn.Always() {
		bounds = append(bounds, on.B)
	}
	n.e.Add(c, 0, bounds...)
}

// count is exactly for more than one.
type count struct {
	all []learn.Atom
	k   int
	on  learn.Atom
	why []learn.Atom
}

// Propagate implements learn.Propagator.
func (c *count) Propagate(e *learn.Engine) bool {
	yes, no := 0, 0
	for _, a := range c.all {
		switch {
		case e.True(a):
			yes++
		case e.False(a):
			no++
		}
	}
	switch {
	case yes >= c.k:
		c.why = c.why[:0]
		for _, a := range c.all {
			if e.True(a) && len(c.why) < c.k {
				c.why = append(c.why, a)
			}
		}
		for _, a := range c.all {
			if !slices.Contains(c.why, a) && !e.Set(a.Not(), c.why) {
				return false
			}
		}
	case len(c.all)-no <= c.k:
		c.why = c.why[:0]
		for _, a := range c.all {
			if e.False(a) && len(c.why) < len(c.all)-c.k+1 {
				c.why = append(c.why, a.Not())
			}
		}
		if len(c.all)-no < c.k {
			if c.on == learn.Always() {
				return e.Fail(c.why)
			}
			return e.Set(c.on.Not(), c.why)
		}
		if !e.True(c.on) {
			return true
		}
		if c.on != learn.Always() {
			c.why = append(c.why, c.on)
		}
		for _, a := range c.all {
			if !e.False(a) && !e.Set(a, c.why) {
				return false
			}
		}
	}
	return true
}
