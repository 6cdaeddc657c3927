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
		q.driest = math.Max(0, p.driest()-drySlack)
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
