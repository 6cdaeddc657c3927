package cure

import (
	"math"
	"sort"
)

// track is one temperature over time with the pace that runs on it.
type track struct {
	air  *History
	lane *lane
	pace *pace

	pot float64 // °C floor under the air temperature: a pot in a warm room

	tau, at float64   // part: time constant in s, °C at the beginning; tau 0: air
	knots   []float64 // °C of the part at the lane's knots, filled on first use
	sum     []float64 // progress at the knots, filled on first use

	cells *cells // the pace over temperature; nil: not tabulated

	head  float64 // progress at the start: below zero for sealant slower than its curve
	quick bool    // run goes by the cells
}

// partKnots is the part's temperature at the lane's knots.
func (tr *track) partKnots() []float64 {
	if tr.knots == nil && tr.air.parts != nil {
		tr.knots = tr.air.parts[partKey{tr.tau, tr.at}]
	}
	if tr.knots == nil {
		l := tr.lane
		tr.knots = make([]float64, len(l.t))
		if tr.air.parts != nil {
			tr.air.parts[partKey{tr.tau, tr.at}] = tr.knots
		}
		tr.knots[0] = tr.at
		width, g := math.NaN(), 0. // kept: a log's readings are evenly spaced
		for i := range len(l.t) - 1 {
			w := l.t[i+1] - l.t[i]
			if w != width {
				width, g = w, gone(w/tr.tau)
			}
			s := stretch{a: l.c[i], b: l.slope(i), x: tr.knots[i], tau: tr.tau}
			tr.knots[i+1] = s.bent(w, g)
		}
	}
	return tr.knots
}

// along is lane segment i as a stretch.
func (tr *track) along(i int) stretch {
	l := tr.lane
	s := stretch{a: l.c[i], tau: tr.tau, pot: tr.pot}
	if tr.tau > 0 {
		s.x = tr.partKnots()[i]
	}
	w := l.t[i+1] - l.t[i]
	if w > 0 {
		s.b = (l.c[i+1] - s.a) / w
	}
	if !tr.pace.humid {
		return s
	}
	if s.pv = l.pv[i]; w > 0 {
		s.dpv = (l.pv[i+1] - s.pv) / w
	}
	if l.judge != nil {
		if s.la = l.judge[i] - s.a; w > 0 {
			s.lb = (l.judge[i+1]-l.judge[i])/w - s.b
		}
	}
	return s
}

// partAt is the part's temperature at u, in lane segment i, without warmth.
func (tr *track) partAt(i int, u float64) float64 {
	if tr.tau == 0 {
		return 0
	}
	l := tr.lane
	s := stretch{a: l.c[i], b: l.slope(i), x: tr.partKnots()[i], tau: tr.tau, pot: math.Inf(-1)}
	return s.temp(u - l.t[i])
}

// stretch is the sealant's temperature over one smooth segment, u seconds in:
// straight air a + b·u, and a part that started it at x and follows late.
type stretch struct {
	a, b, x, tau float64 // tau 0: the air itself
	pot          float64
	pv, dpv      float64 // vapour pressure and its slope
	la, lb       float64 // the temperature humidity is judged at, less the guarded one: offset and slope
}

// temp is exact: T = x + (a − x)·g + b(u − τ·g), g = 1 − e^(−u/τ).
func (s *stretch) temp(u float64) float64 {
	t := s.a + s.b*u
	if s.tau > 0 { // written so that readings close together cancel nothing
		t = s.bent(u, gone(u/s.tau))
	}
	return math.Max(t, s.pot)
}

// lag is how far, in °C, the part stands at the start from the straight line that
// it settles on.
func (s *stretch) lag() float64 { return s.x - s.a + s.b*s.tau }

func (s *stretch) vapour(u float64) float64 { return s.pv + s.dpv*u }

// turn is where the temperature has its one extremum inside (0, w), if it has one.
func (s *stretch) turn(w float64) (float64, bool) {
	if s.tau <= 0 || s.b == 0 {
		return 0, false
	}
	d := s.lag() / (s.b * s.tau)
	if d <= 1 {
		return 0, false
	}
	u := s.tau * math.Log(d)
	return u, u < w
}

// segment describes lane segment i from time u0 on, with the part at x there.
func (tr *track) segment(i int, u0, x float64) stretch {
	l := tr.lane
	s := stretch{a: l.temp(i, u0), b: l.slope(i), x: x, tau: tr.tau, pot: tr.pot}
	s.pv = l.vapour(i, u0)
	if w := l.t[i+1] - l.t[i]; w > 0 {
		s.dpv = (l.pv[i+1] - l.pv[i]) / w
	}
	if l.judge != nil {
		s.la = l.between(l.judge, i, u0) - s.a
		if w := l.t[i+1] - l.t[i]; w > 0 {
			s.lb = (l.judge[i+1]-l.judge[i])/w - s.b
		}
	}
	return s
}

// heated is the stretch with the part following warm air or a lamp at c instead,
// which is steady: no doubt about the forecast enters.
func (s stretch) heated(c, w float64) stretch {
	if s.a+s.b*w/2 >= c {
		return s
	}
	s.a, s.b, s.la, s.lb = c, 0, 0, 0
	return s
}

// crossing is where the air runs through c, strictly inside (0, w); else w.
func (s *stretch) crossing(c, w float64) float64 {
	if u := (c - s.a) / s.b; u > 1e-6 && u < w {
		return u
	}
	return w
}

func (tr *track) read(s *stretch, u float64) reading {
	t := s.temp(u)
	r := tr.pace.at(t, t+s.la+s.lb*u, s.vapour(u))
	if t <= s.pot {
		r.zone |= 1 << 58
	}
	return r
}

// Steps of integration: within one, temperature moves by less than maxStepC and bends by
// less than maxBendC, the pace rises by less than maxRise and has no kink; then three-
// point Gauss quadrature is exact to better than 1e-7 of the step for the steepest curve
// that a class may have (300 kJ/mol), and 1e-12 for the common ones: its error is the
// sixth power of the change in ln rate over two million. Simpson's rule, from values at
// hand, is exact to 1e-10 below fineStepC for the common ones.
const (
	maxStepC  = 1.5
	maxBendC  = 0.1
	maxRise   = 2 // times the pace at the other end
	fineStepC = 0.2
	minStep   = 1e-5 // s: a kink is found to this
	minLagC   = 1e-8 // °C: a part this close to its line has settled on it
)

// integrate adds up progress over [u0, u1] of one stretch.
func (tr *track) integrate(s *stretch, u0, u1 float64) float64 {
	if u1 <= u0 {
		return 0
	}
	return tr.whole(s, u0, u1, tr.read(s, u0), tr.read(s, u1))
}

// whole is integrate with the pace at both ends at hand.
func (tr *track) whole(s *stretch, u0, u1 float64, a, b reading) float64 {
	if a.temp == b.temp && (a.pv == b.pv || !tr.pace.humid) && s.tau == 0 && s.lb == 0 {
		return a.rate * (u1 - u0)
	}
	if v, ok := s.turn(u1); ok && v > u0 {
		c := tr.read(s, v)
		return tr.steps(s, u0, v, a, c, 0) + tr.steps(s, v, u1, c, b, 0)
	}
	return tr.steps(s, u0, u1, a, b, 0)
}

func (tr *track) steps(s *stretch, u0, u1 float64, a, b reading, deep int) float64 {
	m, h := (u0+u1)/2, (u1-u0)/2
	c := tr.read(s, m)
	if 2*h > minStep && deep < 60 && !tr.smooth(s, u0, u1, a, c, b) {
		return tr.steps(s, u0, m, a, c, deep+1) + tr.steps(s, m, u1, c, b, deep+1)
	}
	fine := s.tau == 0 || 64*h < s.tau
	if fine && math.Abs(b.temp-a.temp) < fineStepC && math.Abs(b.rate-a.rate) <= 0.02*c.rate {
		return h / 3 * (a.rate + 4*c.rate + b.rate)
	}
	const g = 0.7745966692414834 // √(3/5)
	return h / 9 * (5*tr.read(s, m-g*h).rate + 8*c.rate + 5*tr.read(s, m+g*h).rate)
}

// done is the progress that counts as reached at a knot. Sums of floating-point
// numbers that should come to 1 come to a little less; without this a milestone that
// is reached as the air falls below the floor would wait for the next morning.
const done = 1 - 1e-10

// solve finds where, in [0, w] of a stretch, progress p0 has grown to 1, to a tenth
// of a microsecond. The caller knows that it does by w, all but for rounding. Newton
// steps, kept within a bracket that shrinks; on a plateau the bracket is halved.
func (tr *track) solve(s *stretch, w, p0 float64) float64 {
	target := math.Min(1, p0+tr.integrate(s, 0, w)) - 1e-13
	lo, hi, plo := 0.0, w, p0
	x, p := lo, p0
	for k := 0; hi-lo > 1e-7; k++ {
		n := (lo + hi) / 2
		if r := tr.read(s, x).rate; r > 0 && k < 50 {
			v := x + (target-p)/r
			if math.Abs(v-x) < 1e-7 {
				return math.Min(math.Max(v, 0), w)
			}
			if v > lo && v < hi {
				n = v
			}
		}
		x, p = n, plo+tr.integrate(s, lo, n)
		if p >= target {
			hi = x
		} else {
			lo, plo = x, p
		}
	}
	return hi
}

// run follows progress from u on to 1 or to the end of the history. Excursions are
// added up in ex, unless it is nil.
func (tr *track) run(u float64, w Warmth, ex *excursions) Reached {
	if w.Warmed && tr.tau == 0 && tr.pace.line == NotAfter {
		warm := *tr // how fast this structure cools is not known: it stays warm
		warm.pot = math.Max(tr.pot, w.WarmedC)
		tr = &warm
	}
	l := tr.lane
	i := l.find(u)
	x := tr.partAt(i, u)
	heatAt := math.Inf(1)
	if w.Heated {
		heatAt = tr.air.seconds(w.HeatFrom)
		if tr.tau > 0 && heatAt < u {
			x = tr.heatedPart(math.Max(0, heatAt), u, w.HeatC)
		}
	}
	if w.Warmed {
		x = math.Max(x, w.WarmedC)
	}
	p := tr.head
	if ex != nil {
		ex.tr = tr
	}
	for {
		if w.Warmed && !w.Heated && !tr.quick && tr.tau > 0 && u == l.t[i] && tr.spent(x, tr.partKnots()[i]) {
			return tr.faded(i, p, ex)
		}
		s, end := tr.next(i, u, x, heatAt, w.HeatC)
		dp := tr.hop(&s, end-u)
		if p+dp >= done {
			at := tr.land(&s, end-u, p, dp)
			ex.add(&s, at)
			return Reached{At: tr.air.instant(u + at), Progress: 1, Excursions: ex.list()}
		}
		ex.add(&s, end-u)
		p, x, u = p+dp, s.temp(end-u), end
		if u >= l.t[len(l.t)-1] {
			return Reached{Never: true, Progress: p, Excursions: ex.list()}
		}
		for l.t[i+1] <= u {
			i++
		}
	}
}

// fadedC is when warmth is spent: a part this close to where it would have been
// without it goes on as if it had never been warmed. Over three days the steepest
// common curve is out by half a second.
const fadedC = 2e-5 // °C

// spent reports that warmth has faded. Where the one part still lies above a limit of
// the curve and the other below it, the difference matters however small it is: air
// that stands at the floor earns in full above it and nothing below.
func (tr *track) spent(x, cold float64) bool {
	return math.Abs(x-cold) < fadedC && tr.pace.thermal(x).zone == tr.pace.thermal(cold).zone
}

// faded goes on from knot i by the sums of the part that was never warmed.
func (tr *track) faded(i int, p float64, ex *excursions) Reached {
	if tr.sum == nil {
		if len(tr.lane.t) >= minKnots {
			tr.tabulate()
		}
		tr.sum = tr.sums()
	}
	sums, l := tr.sum, tr.lane
	last := len(sums) - 1
	from := sums[i] - p
	j := i + sort.Search(last-i+1, func(k int) bool { return sums[i+k]-from >= done })
	first := i
	if ex == nil {
		first = max(i, min(j, last)-1) // nothing to look at on the way
	}
	for k := first; k < min(j, last); k++ {
		s, w := tr.along(k), l.t[k+1]-l.t[k]
		if k == j-1 {
			at := tr.solve(&s, w, sums[k]-from)
			ex.add(&s, at)
			return Reached{At: tr.air.instant(l.t[k] + at), Progress: 1, Excursions: ex.list()}
		}
		ex.add(&s, w)
	}
	return Reached{Never: true, Progress: sums[last] - from, Excursions: ex.list()}
}

// next is the stretch from u on, in lane segment i, and where it ends: at the next
// knot, where heat comes on, or where the air runs through the heat's temperature.
func (tr *track) next(i int, u, x, heatAt, heatC float64) (stretch, float64) {
	end := tr.lane.t[i+1]
	if tr.quick && u == tr.lane.t[i] && end <= heatAt {
		s := tr.along(i)
		s.x = x
		return s, end
	}
	s := tr.segment(i, u, x)
	if u < heatAt {
		return s, math.Min(end, heatAt)
	}
	end = math.Min(end, u+s.crossing(heatC, end-u))
	return s.heated(heatC, end-u), end
}

// heatedPart is the temperature at u of a part on which heat came on at from.
func (tr *track) heatedPart(from, u, heatC float64) float64 {
	l := tr.lane
	i := l.find(from)
	x := tr.partAt(i, from)
	for from < u {
		s, end := tr.next(i, from, x, from, heatC)
		end = math.Min(end, u)
		x, from = s.temp(end-from), end
		for i+2 < len(l.t) && l.t[i+1] <= from {
			i++
		}
	}
	return x
}
