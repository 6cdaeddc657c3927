package cure

import (
	"math"
	"time"

	"beadline/cure/air"
)

// Doubt is what a history leaves open, ready for drawing air as it may turn out: a
// forecast, a gap and a reading held past the end of its log may be warmer or colder
// than the likely air by their margin; what was measured is as it is. It is read only
// and may be shared.
type Doubt struct {
	zero time.Time
	step float64   // s between the instants that errors are given for
	t    []float64 // knots, s since zero: those of the history and the steps
	c    []float64 // °C likely
	pv   []float64 // hPa likely
	up   []float64 // °C that the warmer reading lies over the likely one
	down []float64 // °C that the colder one lies under it
	rh   []float64 // the vapour's part of saturation, where that is kept; NaN: the vapour is
	any  bool
}

// Doubt lays out the doubt in a history up to until, or to its end; step is how far
// apart the instants are that errors are given for.
func (h *History) Doubt(until time.Time, step time.Duration) *Doubt {
	d := &Doubt{zero: h.zero, step: step.Seconds()}
	t := h.lanes[Likely].t
	end := min(t[len(t)-1], max(h.seconds(until), 1))
	for i := 0; i < len(t)-1 && t[i] < end; i++ {
		w := t[i+1] - t[i]
		d.knot(h, i, 0)
		if h.doubted(i) {
			for k := math.Floor(t[i]/d.step) + 1; k*d.step < min(t[i+1], end); k++ {
				d.knot(h, i, (k*d.step-t[i])/w)
			}
		}
		if t[i+1] >= end {
			d.knot(h, i, (end-t[i])/w)
		}
	}
	return d
}

// doubted reports whether the readings of the air differ over segment i.
func (h *History) doubted(i int) bool {
	cold, warm := h.lanes[NotBefore], h.lanes[NotAfter]
	return warm.c[i] != cold.c[i] || warm.c[i+1] != cold.c[i+1]
}

// knot adds the knot at a part f of segment i.
func (d *Doubt) knot(h *History, i int, f float64) {
	likely, cold, warm := h.lanes[Likely], h.lanes[NotBefore], h.lanes[NotAfter]
	at := func(y []float64) float64 { return y[i] + f*(y[i+1]-y[i]) }
	c, pv := at(likely.c), at(likely.pv)
	up, down, rh := at(warm.c)-c, c-at(cold.c), math.NaN()
	if math.Abs(at(warm.pv)-pv) > 1e-9*pv || math.Abs(at(cold.pv)-pv) > 1e-9*pv {
		rh = pv / air.Saturation(c)
	}
	d.any = d.any || up != 0 || down != 0
	d.t, d.c, d.pv = append(d.t, at(likely.t)), append(d.c, c), append(d.pv, pv)
	d.up, d.down, d.rh = append(d.up, up), append(d.down, down), append(d.rh, rh)
}

// Any reports whether anything is left open.
func (d *Doubt) Any() bool { return d.any }

// Steps is how many errors Draws.Air takes: one for each step from the beginning to
// past the end.
func (d *Doubt) Steps() int { return int(d.t[len(d.t)-1]/d.step) + 2 }

// Until is the end of what is drawn.
func (d *Doubt) Until() time.Time {
	return d.zero.Add(time.Duration(math.Round(d.t[len(d.t)-1] * 1e9)))
}

// Draws makes one air after the other from a doubt, in the same memory. It is not safe
// for several goroutines: each takes its own.
type Draws struct {
	d *Doubt
	l lane
	h History
}

// Draws makes a Draws.
func (d *Doubt) Draws() *Draws {
	w := &Draws{d: d}
	w.l = lane{t: d.t, c: make([]float64, len(d.t)), pv: make([]float64, len(d.t))}
	w.h = History{zero: d.zero, lanes: [...]*lane{Likely: &w.l, NotAfter: &w.l, NotBefore: &w.l}, parts: map[partKey][]float64{}}
	return w
}

// Air is the air as it turns out with errors z at the steps, straight between them, in
// units of the margin: 0 is the likely air, 1 its warmer reading and −1 its colder one.
// Air whose humidity is given keeps it, as in those readings; air whose dew point is
// given keeps its vapour. All three lines read the same air, for it is what came. It
// holds until the next call.
func (w *Draws) Air(z []float64) *History {
	d, l := w.d, &w.l
	clear(w.h.parts)
	copy(l.pv, d.pv)
	l.coldest, l.warmest = math.Inf(1), math.Inf(-1)
	for i, u := range d.t {
		x := u / d.step
		k := int(x)
		e := z[k] + (x-float64(k))*(z[k+1]-z[k])
		by := d.up[i]
		if e < 0 {
			by = d.down[i]
		}
		c := d.c[i] + e*by
		l.c[i] = c
		if e*by != 0 && d.rh[i] == d.rh[i] {
			l.pv[i] = d.rh[i] * air.Saturation(c)
		}
		l.coldest, l.warmest = min(l.coldest, c), max(l.warmest, c)
	}
	return &w.h
}

// partKey tells structures apart that follow the same air.
type partKey struct{ tau, at float64 }

// Turn points the course at other air over the same place, and at sealant that takes
// slower times as long as the curve says: a batch of a class is not its curve.
func (c *Course) Turn(air *History, slower float64) {
	c.air = air
	for _, tr := range c.tracks {
		tr.air, tr.lane, tr.knots, tr.sum = air, air.lanes[c.line], nil, nil
		tr.head = 1 - slower
	}
}

// Tabulate makes the pace of a likely course ready for many airs that stay within lo to
// hi °C: what it tells agrees to a millionth of the time with what it told before, and
// takes a fifth of the time to tell. A course along a line, or one that humidity drives,
// stays as it is.
func (c *Course) Tabulate(lo, hi float64) {
	for _, tr := range c.tracks {
		if c.line == Likely && !tr.pace.moist {
			tr.cells = newCells(tr.pace, lo, hi)
			tr.quick = tr.cells != nil
		}
	}
}

// A hop is Simpson's rule over one piece, from the cells. Within these bounds it is
// exact to 3e-7 of the piece for the steepest curve that a class may have (300 kJ/mol,
// a tenth of that power of four over 2880), and 1e-10 for the common ones.
const (
	hopC     = 0.4  // °C between its ends, at the most
	hopBendC = 0.05 // °C that its middle lies off the straight line, at the most
)

// hop is integrate over the first w seconds of a stretch.
func (tr *track) hop(s *stretch, w float64) float64 {
	if !tr.quick || s.tau > 0 && w > s.tau/2 && math.Abs(s.lag()) > minLagC {
		return tr.integrate(s, 0, w) // a part that settles within the piece bends where three readings do not show it
	}
	a, m, b := s.a, s.a+s.b*w/2, s.a+s.b*w
	if s.tau > 0 {
		half := gone(w / 2 / s.tau)
		a, m, b = s.x, s.bent(w/2, half), s.bent(w, half*(2-half))
	}
	a, m, b = max(a, s.pot), max(m, s.pot), max(b, s.pot)
	q := tr.cells
	last := q.lo + cellC*float64(len(q.of))
	if lo, hi := min(a, m, b), max(a, m, b); lo < q.lo || hi >= last-slack || hi-lo > hopC || math.Abs(m-(a+b)/2) > hopBendC {
		return tr.integrate(s, 0, w)
	}
	ca, xa := q.at(a)
	cb, xb := q.at(b)
	cm, xm := q.at(m)
	if !ca.smooth || ca.atEdge || !cb.smooth || cb.atEdge || !cm.smooth || cm.atEdge || ca.zone != cb.zone || ca.zone != cm.zone ||
		(a <= s.pot) != (b <= s.pot) || (a <= s.pot) != (m <= s.pot) {
		return tr.integrate(s, 0, w)
	}
	return w / 6 * (ca.rate(xa) + 4*cm.rate(xm) + cb.rate(xb))
}

// land is solve for a hop of w seconds over which progress grows from p by dp.
func (tr *track) land(s *stretch, w, p, dp float64) float64 {
	if !tr.quick || !(dp > 0) {
		return tr.solve(s, w, p)
	}
	x := w * min(1, max(0, (1-p)/dp))
	for range 4 {
		q := p + tr.hop(s, x)
		v := min(w, max(0, x+(1-q)*w/dp))
		if math.Abs(v-x) < 1e-4 {
			return v
		}
		x = v
	}
	return tr.solve(s, w, p) // the pace changes too much within the hop
}
