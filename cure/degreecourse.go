package cure

import (
	"fmt"
	"math"
	"sort"
	"time"
)

// DegreeCourse is the degree of cure along one site's history, from one start. It
// answers for every instant from there on.
type DegreeCourse struct {
	law   RateLaw
	d     *Degree
	air   *History
	from  float64 // degree of cure at the start
	knots []degreeKnot
	legs  []degreeLeg
	out   []outside
}

// degreeKnot is the state at the end of a step. Between it and the next the law is
// smooth, and one step of the integrator leads to any instant there.
type degreeKnot struct {
	u, y float64 // s since the history's beginning; −ln(1 − α)
	leg  int     // the leg that runs on from here; −1: nothing cures
	late bool
}

// degreeLeg is a stretch of temperature inside the range, or held at its ceiling.
type degreeLeg struct {
	u    float64 // s since the history's beginning
	s    stretch
	most float64 // °C
}

// outside is a time outside the range, in s since the history's beginning.
type outside struct {
	from, to float64
	hot      bool
}

// complete is the depth, −ln(1 − α), from which on nothing is left to cure that
// arithmetic can tell.
const complete = 36

// Degree follows the class's degree of cure along the site's likely air, from one at
// the start, with the temperature of the part and with what was done to warm it (heat
// counts up to the class's ceiling). α is exact to 1e-9 for laws that resins have (where
// a rate leaps up at a branch, to that much more; where next to nothing starts the
// cure and it then runs away, its instant to 1e-10 of the time). Where the part is colder
// than the range of the parameters nothing is counted, and where it is hotter, as
// much as at its upper end; Outside lists both. Errors: a class without a degree of
// cure, a degree outside 0..1, a part that cannot be, a start outside the history,
// warmth that cannot be.
func (s *Site) Degree(cl *Class, start time.Time, from float64, w Warmth) (*DegreeCourse, error) {
	d := cl.Degree
	if d == nil {
		return nil, fmt.Errorf("class %s gives no degree of cure", cl.ID)
	}
	if err := d.asked(d.Temp.Lo, from); err != nil {
		return nil, err
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	if w.Warmed && !breathable(w.WarmedC) || w.Heated && !breathable(w.HeatC) {
		return nil, fmt.Errorf("a structure is not warmed to %gC or heated to %gC", w.WarmedC, w.HeatC)
	}
	if cl.Heat != nil {
		w.HeatC = math.Min(w.HeatC, cl.Heat.MaxC)
	}
	u := s.Air.seconds(start)
	if !(u >= 0 && u <= s.Air.seconds(s.Air.Until())) {
		return nil, fmt.Errorf("%s lies outside the air history, %s to %s", start.Format(time.RFC3339),
			s.Air.From().Format(time.RFC3339), s.Air.Until().Format(time.RFC3339))
	}
	c := &DegreeCourse{law: d.Law, d: d, air: s.Air, from: from}
	tr := &track{air: s.Air, lane: s.Air.lanes[Likely], tau: s.Part.Tau.Seconds(), at: s.Part.AtC, pot: math.Inf(-1)}
	c.follow(tr, u, w)
	return c, nil
}

// follow walks the history from u on, as track.run does.
func (c *DegreeCourse) follow(tr *track, u float64, w Warmth) {
	l := tr.lane
	i := l.find(u)
	x, heatAt := tr.partAt(i, u), math.Inf(1)
	if w.Heated {
		heatAt = tr.air.seconds(w.HeatFrom)
		if tr.tau > 0 && heatAt < u {
			x = tr.heatedPart(math.Max(0, heatAt), u, w.HeatC)
		}
	}
	if w.Warmed {
		x = math.Max(x, w.WarmedC)
	}
	y, late := depth(c.from), c.from > c.law.branch()
	for u < l.t[len(l.t)-1] && y < complete {
		s, end := tr.next(i, u, x, heatAt, w.HeatC)
		y, late = c.along(&s, u, end-u, y, late)
		x, u = s.temp(end-u), end
		for i+2 < len(l.t) && l.t[i+1] <= u {
			i++
		}
	}
	c.knots = append(c.knots, degreeKnot{u, y, -1, late})
}

// along follows one stretch of w seconds, split where its temperature turns and where
// it enters and leaves the range.
func (c *DegreeCourse) along(s *stretch, u, w, y float64, late bool) (float64, bool) {
	r := c.d.Temp
	ends := append(make([]float64, 0, 7), 0)
	if v, ok := s.turn(w); ok {
		ends = append(ends, v)
	}
	ends = append(ends, w)
	for k := len(ends) - 1; k > 0; k-- {
		for _, limit := range []float64{r.Lo, r.Hi} {
			if v, ok := s.runsThrough(limit, ends[k-1], ends[k]); ok {
				ends = append(ends, v)
			}
		}
	}
	sort.Float64s(ends)
	for k := 0; k+1 < len(ends) && y < complete; k++ {
		a, b := ends[k], ends[k+1]
		if b <= a {
			continue
		}
		switch t := s.temp((a + b) / 2); {
		case t < r.Lo-slack:
			c.outside(u+a, u+b, false)
			c.knots = append(c.knots, degreeKnot{u + a, y, -1, late})
			continue
		case t > r.Hi+slack:
			c.outside(u+a, u+b, true)
		}
		c.legs = append(c.legs, degreeLeg{u, *s, r.Hi})
		m := c.march(len(c.legs) - 1)
		y, late = m.run(y, u+a, u+b, late, func(v, y float64, late bool) {
			c.knots = append(c.knots, degreeKnot{v, y, len(c.legs) - 1, late})
		})
	}
	return y, late
}

// runsThrough is where a temperature that rises or falls all the way from a to b
// passes c.
func (s *stretch) runsThrough(c, a, b float64) (float64, bool) {
	up := s.temp(a) < c
	if up == (s.temp(b) < c) {
		return 0, false
	}
	for range 60 {
		if m := (a + b) / 2; (s.temp(m) < c) == up {
			a = m
		} else {
			b = m
		}
	}
	return b, true
}

func (c *DegreeCourse) outside(from, to float64, hot bool) {
	if n := len(c.out); n > 0 && c.out[n-1].hot == hot && c.out[n-1].to == from {
		c.out[n-1].to = to
		return
	}
	c.out = append(c.out, outside{from, to, hot})
}

func (c *DegreeCourse) march(leg int) march {
	g := &c.legs[leg]
	return march{law: c.law, constants: func(u float64) [3]float64 {
		return c.law.constants(math.Min(g.s.temp(u-g.u), g.most))
	}}
}

// At is the degree of cure at an instant: that of the start before it, and the last
// one after the end of the history.
func (c *DegreeCourse) At(t time.Time) float64 {
	u := c.air.seconds(t)
	k := sort.Search(len(c.knots), func(i int) bool { return c.knots[i].u > u }) - 1
	if k < 0 {
		return c.from
	}
	return math.Max(c.from, -math.Expm1(-c.depthAt(k, u)))
}

// depthAt is −ln(1 − α) at u, behind knot k and not behind the next one.
func (c *DegreeCourse) depthAt(k int, u float64) float64 {
	n := c.knots[k]
	if n.leg < 0 || n.y >= complete || k+1 == len(c.knots) {
		return n.y
	}
	m := c.march(n.leg)
	y, _ := m.step(n.u, n.y, u-n.u, n.late)
	if math.IsNaN(y) {
		return c.knots[k+1].y // the very end of an order under one, which comes all at once
	}
	return math.Min(math.Max(y, n.y), c.knots[k+1].y)
}

// Reach is the first instant at which the degree of cure is at least alpha; ok is
// false where that is not within the history.
func (c *DegreeCourse) Reach(alpha float64) (at time.Time, ok bool) {
	if alpha <= c.from {
		return c.air.instant(c.knots[0].u), true
	}
	y := depth(alpha)
	k := sort.Search(len(c.knots), func(i int) bool { return c.knots[i].y >= y }) - 1
	if k < 0 || k+1 == len(c.knots) {
		return time.Time{}, false
	}
	lo, hi := c.knots[k].u, c.knots[k+1].u
	for hi-lo > 1e-7 {
		m := (lo + hi) / 2
		if m == lo || m == hi {
			break
		}
		if c.depthAt(k, m) >= y {
			hi = m
		} else {
			lo = m
		}
	}
	return c.air.instant(hi), true
}

// Outside lists the time from the start to an instant that the part was colder or
// hotter than the range of the parameters.
func (c *DegreeCourse) Outside(until time.Time) []Excursion {
	u, cold, hot := c.air.seconds(until), 0.0, 0.0
	for _, o := range c.out {
		d := math.Max(0, math.Min(o.to, u)-o.from)
		if o.hot {
			hot += d
		} else {
			cold += d
		}
	}
	var all []Excursion
	if cold >= 1 {
		all = append(all, Excursion{fmt.Sprintf("below the floor of %.4g C", c.d.Temp.Lo), time.Duration(math.Round(cold)) * time.Second})
	}
	if hot >= 1 {
		all = append(all, Excursion{fmt.Sprintf("above the ceiling of %.4g C", c.d.Temp.Hi), time.Duration(math.Round(hot)) * time.Second})
	}
	return all
}
