package cure

import "math"

// end is one end of a smooth piece of air.
type end struct {
	temp   float64 // °C
	pv     float64 // hPa
	f      float64 // F, °C/s
	rate   float64 // 1/s; of a front for one hPa
	need   float64 // hPa under which it is too dry
	sat    float64 // hPa, for a front only
	damp   int8    // 1: damp enough, -1: too dry, 0: too close to tell
	smooth bool    // as of the cell
	atEdge bool    // as of the cell
	zone   int32
}

// dampTol: two vapour pressures this close, relative, are not told apart by the cells.
const dampTol = 1e-6

// look reads the cells for one end of a piece: the temperature, the one humidity is
// judged at, and the vapour. Between the ends, temperature may stray from a straight
// line by bow, in °C.
func (q *cells) look(e *end, tempC, judgeC, pv, bow float64) {
	c, x := q.at(tempC)
	e.temp, e.pv, e.f, e.rate = tempC, pv, c.sum+c.integral(x), c.rate(x)
	e.damp, e.zone, e.smooth, e.atEdge = 1, c.zone, c.smooth, c.atEdge
	if q.driest == 0 && !q.front {
		return
	}
	e.sat = c.saturation(x)
	if q.driest == 0 {
		return
	}
	sat := e.sat
	if judgeC != tempC {
		k, y := q.at(judgeC)
		sat = k.saturation(y)
	}
	e.need = q.driest / 100 * sat
	// Saturation grows by less than a tenth for 1 °C above -40 °C.
	e.damp = dampness(pv, e.need, e.need*(dampTol+0.1*bow))
}

// dampness holds vapour against what is needed: 1 enough, -1 too little, 0 closer than
// tol. Vapour that is not asked for is enough.
func dampness(pv, need, tol float64) int8 {
	switch {
	case pv >= need+tol:
		return 1
	case pv < need-tol:
		return -1
	}
	return 0
}

// air says whether the cells can speak for the whole of a piece between two ends, and
// whether anything is earned in it (NotBefore: not in dry air).
//
// Both are settled at the ends. Vapour runs straight and saturation is convex in
// temperature, so what is spare of the vapour is concave: where it is spare at both
// ends it is so between them. Where both ends are too dry, so is the piece if even the
// most vapour of the two is less than the least that is needed.
func (q *cells) air(a, b *end) (earns, ok bool) {
	switch {
	case !a.smooth || !b.smooth || a.damp != b.damp || a.damp == 0:
		return false, false
	case a.damp < 0:
		return false, math.Max(a.pv, b.pv) < math.Min(a.need, b.need)
	}
	return true, true
}

// straight is the progress over a straight piece of w seconds between two ends; ok is
// false where the cells do not hold it.
func (q *cells) straight(a, b *end, w float64) (sum float64, ok bool) {
	earns, ok := q.air(a, b)
	if !earns || !ok {
		return 0, ok
	}
	dt := b.temp - a.temp
	mean := a.rate
	switch {
	case dt > 1e-3 || dt < -1e-3:
		mean = (b.f - a.f) / dt
	case dt == 0:
	case a.zone != b.zone:
		return 0, false
	default:
		c, x := q.at((a.temp + b.temp) / 2)
		mean = (a.rate + 4*c.rate(x) + b.rate) / 6
	}
	if !q.front {
		return mean * w, true
	}
	if a.zone != b.zone {
		return 0, false
	}
	switch q.ruled(a, b) {
	case plainly:
		// The mean of a product is that of its means and what the two do together.
		return w / q.scale * ((a.pv+b.pv)/2*mean + (b.pv-a.pv)*(b.rate-a.rate)/12), true
	case byRule:
		return w / (q.scale * q.rated), true
	}
	return 0, false
}

// ruling says what decides the rate of a front over a piece.
type ruling uint8

const (
	eitherWay ruling = iota // not the same all along, or too close to tell
	plainly                 // the curve
	byRule                  // the rated time
)

// ruled says which it is. Along a piece the product of vapour and rate strays from a
// straight line by an eighth of its bend, which is twice the product of what the two
// change by and what the rate itself bends; four times that is left as a margin.
func (q *cells) ruled(a, b *end) ruling {
	dt, dp := math.Abs(b.temp-a.temp), math.Abs(b.pv-a.pv)
	if dt > 0.5 || dp > 0.1*math.Min(a.pv, b.pv) {
		return eitherWay
	}
	// At saturation water lies on the sealant and drives nothing.
	if q.wettest > 0 && (a.pv > q.wettest*a.sat || b.pv > q.wettest*b.sat) {
		return eitherWay
	}
	if q.parched > 0 && (a.pv < q.parched*a.sat || b.pv < q.parched*b.sat) {
		return eitherWay
	}
	u, v := a.pv*a.rate*q.rated, b.pv*b.rate*q.rated
	dr := math.Abs(b.rate - a.rate)
	bend := 1e-6
	if dr > 0 {
		dr /= math.Min(a.rate, b.rate)
		bend += dr * (dp/math.Min(a.pv, b.pv) + dr)
	}
	slow, fast := u < 1-bend && v < 1-bend, u > 1+bend && v > 1+bend
	switch {
	case q.line == Likely, q.line == NotBefore && slow, q.line == NotAfter && fast:
		return plainly
	case slow || fast:
		return byRule
	}
	return eitherWay
}

// A part that follows the air late is read from the cells where it hardly bends within
// a piece: Simpson's rule is then exact to better than 1e-9 of the piece.
const (
	bowC      = 0.02 // °C that it may stray from a straight line
	partSteps = 32   // pieces in a time constant, at the least
)

// bent is straight for a part with a time constant; half is 1 − e^(−w/2τ).
func (q *cells) bent(s *stretch, a, b *end, w, half float64) (float64, bool) {
	rel := w / s.tau
	bow := math.Abs(s.lag()) * rel * rel / 8
	if rel > 1.0/partSteps || bow > bowC || math.Abs(b.temp-a.temp) > cellC/2 {
		return 0, false
	}
	earns, ok := q.air(a, b)
	if !earns || !ok {
		return 0, ok
	}
	if a.atEdge || b.atEdge {
		// A kink just outside the two ends may lie inside the bend.
		lo, _ := q.at(min(a.temp, b.temp) - bow)
		hi, _ := q.at(max(a.temp, b.temp) + bow)
		if lo.zone != hi.zone || !lo.smooth || !hi.smooth {
			return 0, false
		}
	}
	c, x := q.at(s.bent(w/2, half))
	mid := c.rate(x)
	if !q.front {
		return w / 6 * (a.rate + 4*mid + b.rate), true
	}
	switch q.ruled(a, b) {
	case plainly:
		return w / 6 / q.scale * (a.pv*a.rate + 2*(a.pv+b.pv)*mid + b.pv*b.rate), true
	case byRule:
		return w / (q.scale * q.rated), true
	}
	return 0, false
}

// bent is temp with gone = 1 − e^(−u/τ) at hand, and without a pot.
func (s *stretch) bent(u, gone float64) float64 {
	return s.x + (s.a-s.x)*gone + s.b*(u-s.tau*gone)
}

// gone is 1 − e^(−x), by its series where x is small, so that nothing cancels.
func gone(x float64) float64 {
	if x > 0.03 {
		return -math.Expm1(-x)
	}
	return x * (1 - x/2*(1-x/3*(1-x/4*(1-x/5*(1-x/6)))))
}
