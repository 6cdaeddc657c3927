package cure

import (
	"math"

	"beadline/cure/air"
)

// A year of minutes is half a million straight pieces of air. What the pace does on
// one of them depends, but for humidity, on temperature alone, and temperature runs
// straight; so the pace is cut into cells of an eighth of a degree, in each of which
// a cubic stands for it, and progress over a piece is the difference of the cells'
// integral at its two ends:
//
//	∫ rate(T(t)) dt = (F(T₁) − F(T₀)) / (T₁ − T₀) · (t₁ − t₀),  F = ∫ rate dT
//
// Floors, ceilings and every other kink at whole eighths are exact that way: they are
// ends of cells. A cell that is not smooth, humidity close to a limit, and whatever
// else the cells do not hold goes to the integrator of track.go.
const (
	cellC    = 0.125 // °C
	cellTol  = 1e-9  // of the rate: more is not smooth
	maxCells = 4096  // 512 °C
	minKnots = 1000  // for fewer pieces the cells cost more than they save
)

// cells is a pace over temperature.
type cells struct {
	lo     float64 // °C, where the first cell begins: a whole number
	of     []rateCell
	driest float64 // % RH that earns nothing below it; 0: no such rule

	// A front is driven by vapour, and what goes as the vapour does is like it: the
	// cells hold the rate for one hPa, and the line's rule is applied behind them.
	front            bool
	line             Line
	rated            float64 // s
	scale            float64 // spread
	wettest, parched float64 // parts of saturation outside which the rule of the range counts
}

// rateCell is one cell: with x = T − its beginning, F = sum + x(a + x(b + x(c + x·d))).
type rateCell struct {
	sum        float64 // F where the cell begins
	a, b, c, d float64
	s0, s1, s2 float64 // saturation pressure in hPa: s0 + x(s1 + x(s2 + x·s3))
	s3         float64
	zone       int32 // numbers the stretches between kinks
	smooth     bool  // the cubic stands for the rate
	atEdge     bool  // a kink is near: it is at an end of the cell, or in it or the next
}

// newCells tabulates a pace over the temperatures lo to hi; nil where the pace is not
// one of temperature and vapour in a simple way.
func newCells(p *pace, lo, hi float64) *cells {
	if !(lo > -90) || !(hi-lo < cellC*(maxCells-64)) {
		return nil
	}
	q := &cells{lo: math.Floor(lo) - 1, line: p.line, rated: p.rated, scale: p.scale, wettest: 0.99}
	if p.line == NotBefore {
		q.driest = p.driest()
	}
	rate := func(tempC float64) float64 { return p.thermal(tempC).rate }
	if p.moist {
		perVapour := p.perVapour()
		if perVapour == nil {
			return nil
		}
		q.front = true
		rate = func(tempC float64) float64 {
			switch {
			case p.line == NotBefore && tempC < p.c.Temp.Lo-slack:
				return 0
			case p.line == NotBefore:
				tempC = math.Min(tempC, p.c.Temp.Hi)
			case p.line == NotAfter:
				tempC = math.Max(tempC, p.c.Temp.Lo)
			}
			return perVapour(tempC)
		}
		if !p.rh.IsZero() && p.line != Likely {
			q.wettest, q.parched = math.Min(q.wettest, 0.999*p.rh.Hi/100), 1.001*p.rh.Lo/100
		}
	}
	q.of = make([]rateCell, int((hi-q.lo)/cellC)+2)
	kinks := p.temps
	sum := 0.0
	for i := range q.of {
		from := q.lo + float64(i)*cellC
		c := &q.of[i]
		c.zone = int32(place(kinks, from+cellC/2))
		c.sum = sum
		c.fit(from, rate)
		c.smooth = c.smooth && place(kinks, from+2*slack) == place(kinks, from+cellC-2*slack)
		c.fitSaturation(from)
		sum += c.whole(from, rate, kinks)
	}
	for i := range q.of {
		c := &q.of[i]
		for _, n := range []*rateCell{&q.of[max(i-1, 0)], &q.of[min(i+1, len(q.of)-1)]} {
			c.atEdge = c.atEdge || n.zone != c.zone || !n.smooth
		}
	}
	return q
}

// perVapour is the plain curve's rate for one hPa of vapour, where the rate grows with
// the vapour as a front's does; else nil.
func (p *pace) perVapour() func(tempC float64) float64 {
	c := p.c
	_, front := c.Form.(Front)
	h := c.Humidity
	switch {
	case c.Credit != nil || c.ColdExtends != "" || p.bead.Closed:
	case front && h == nil, !moist(c.Form) && h != nil && h.Power == 1:
		return func(tempC float64) float64 { return 1 / c.Plain(tempC, 0, 1, p.bead) }
	}
	return nil
}

// chebyshev are the Chebyshev nodes of four on (0, 1), and the inverse of their Vandermonde matrix:
// a cubic through the rates at them misses a smooth rate by least, and no node lies on
// the cell's ends, where a kink may be.
var (
	chebyshev = func() (x [4]float64) {
		for k := range x {
			x[k] = (1 - math.Cos((2*float64(k)+1)*math.Pi/8)) / 2
		}
		return x
	}()
	probes = [3]float64{0.02, 0.5, 0.98} // where the cubic is held against the rate
)

// cubic gives the coefficients, in powers of x from 0 to 1, of the cubic through the
// values y at the nodes (Newton's divided differences).
func cubic(y [4]float64) (k [4]float64) {
	d := y
	for j := 1; j < 4; j++ {
		for i := 3; i >= j; i-- {
			d[i] = (d[i] - d[i-1]) / (chebyshev[i] - chebyshev[i-j])
		}
	}
	k[0] = d[3]
	for i := 2; i >= 0; i-- {
		for j := 3; j > 0; j-- {
			k[j] = k[j-1] - chebyshev[i]*k[j]
		}
		k[0] = d[i] - chebyshev[i]*k[0]
	}
	return k
}

// fit lays the cubic through the rate of a cell that begins at from.
func (c *rateCell) fit(from float64, rate func(float64) float64) {
	var y [4]float64
	for i, x := range chebyshev {
		y[i] = rate(from + x*cellC)
	}
	k := cubic(y)
	c.smooth = true
	for _, x := range probes {
		got := k[0] + x*(k[1]+x*(k[2]+x*k[3]))
		want := rate(from + x*cellC)
		c.smooth = c.smooth && math.Abs(got-want) <= cellTol*want
	}
	c.a, c.b, c.c, c.d = k[0], k[1]/(2*cellC), k[2]/(3*cellC*cellC), k[3]/(4*cellC*cellC*cellC)
}

func (c *rateCell) fitSaturation(from float64) {
	var y [4]float64
	for i, x := range chebyshev {
		y[i] = air.Saturation(from + x*cellC)
	}
	k := cubic(y)
	c.s0, c.s1, c.s2, c.s3 = k[0], k[1]/cellC, k[2]/(cellC*cellC), k[3]/(cellC*cellC*cellC)
}

// whole is the integral of the rate over the cell, kinks inside it minded.
func (c *rateCell) whole(from float64, rate func(float64) float64, kinks []float64) float64 {
	if c.smooth {
		return c.integral(cellC)
	}
	ends := []float64{from}
	for _, k := range kinks {
		if k > from && k < from+cellC {
			ends = append(ends, k)
		}
	}
	ends = append(ends, from+cellC)
	const g = 0.7745966692414834 // √(3/5)
	sum := 0.0
	for i := range len(ends) - 1 {
		const parts = 8
		h := (ends[i+1] - ends[i]) / parts / 2
		for k := range parts {
			m := ends[i] + h*float64(2*k+1)
			sum += h / 9 * (5*rate(m-g*h) + 8*rate(m) + 5*rate(m+g*h))
		}
	}
	return sum
}

func (c *rateCell) integral(x float64) float64 { return x * (c.a + x*(c.b+x*(c.c+x*c.d))) }

func (c *rateCell) rate(x float64) float64 { return c.a + x*(2*c.b+x*(3*c.c+x*4*c.d)) }

func (c *rateCell) saturation(x float64) float64 { return c.s0 + x*(c.s1+x*(c.s2+x*c.s3)) }

// at is the cell that holds a temperature, and how far into it that lies. A
// temperature that arithmetic puts a hair under a limit belongs above it.
func (q *cells) at(tempC float64) (*rateCell, float64) {
	i := int((tempC - q.lo + slack) * (1 / cellC))
	return &q.of[i], tempC - (q.lo + float64(i)*cellC)
}

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

// bent is straight for a part with a time constant; half is e^(-w/2τ).
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

// bent is temp with e^(-u/τ) at hand, and without a pot.
func (s *stretch) bent(u, fade float64) float64 { return s.a + s.b*(u-s.tau) + s.lag()*fade }

// fade is e^(-x), by its series where x is small.
func fade(x float64) float64 {
	if x > 0.03 {
		return math.Exp(-x)
	}
	return 1 - x*(1-x/2*(1-x/3*(1-x/4*(1-x/5*(1-x/6)))))
}
