package cure

import (
	"fmt"
	"math"
	"time"

	"beadline/cure/quantity"
)

// Degree is a class's degree of cure: the share of its reaction that is done, by a
// rate law with a published set of parameters. It is information and never a line:
// milestones stay with their curves.
//
// It is not additive in 1/t(T), as the milestones are. The constants of a law have
// activation energies of their own, so the way through the temperatures counts, not
// only the time at each: two hours at 130 °C and one at 177 °C give another α than
// the same in the other order. After 20 min at 130 °C equivalent age has a TGDDM epoxy
// at 90 % in air of 177 °C 2.9 % of the time too soon, and the other way round 6.9 %
// too late; Site.Degree follows dα/dt itself.
type Degree struct {
	Law  RateLaw
	Temp quantity.Range // °C that the parameters hold in
	From string         // provenance
}

// DegreeRangeError refuses a temperature outside the range of the parameters.
type DegreeRangeError struct {
	TempC float64        // °C asked for
	Temp  quantity.Range // °C
}

// Error implements error.
func (e *DegreeRangeError) Error() string {
	return fmt.Sprintf("%.4g C is outside the range of the degree of cure, %.4g to %.4g C", e.TempC, e.Temp.Lo, e.Temp.Hi)
}

// Check says what is wrong with the law over its range, if anything.
func (d *Degree) Check() error { return d.Law.Check(d.Temp) }

// Rate is dα/dt in 1/s at a degree of cure and a temperature in °C. Errors: alpha
// outside 0..1; a *DegreeRangeError.
func (d *Degree) Rate(alpha, tempC float64) (float64, error) {
	if err := d.asked(tempC, alpha); err != nil {
		return 0, err
	}
	return d.Law.Rate(alpha, tempC), nil
}

// Seconds is the time from one degree of cure to another at a constant tempC °C:
// +Inf when that takes more than a hundred years, and 0 where it is reached already.
// By closed form where there is one, else by quadrature to 1e-12 of itself. Errors: a
// degree outside 0..1; a *DegreeRangeError.
func (d *Degree) Seconds(from, to, tempC float64) (float64, error) {
	if err := d.asked(tempC, from, to); err != nil {
		return 0, err
	}
	if to <= from {
		return 0, nil
	}
	k, s := d.Law.constants(tempC), 0.0
	br := d.Law.branch()
	if from < br {
		s += d.within(&k, depth(from), depth(math.Min(to, br)), false)
	}
	if to > br {
		s += d.within(&k, depth(math.Max(from, br)), depth(to), true)
	}
	if _, never := span(s); never {
		return math.Inf(1), nil
	}
	return s, nil
}

// depth is −ln(1 − α), the measure that cure is followed in: first-order cure grows
// straight in it, and what is left to cure is exact to the end.
func depth(alpha float64) float64 { return -math.Log1p(-alpha) }

// asked refuses what cannot be asked.
func (d *Degree) asked(tempC float64, alphas ...float64) error {
	for _, a := range alphas {
		if !(a >= 0 && a <= 1) {
			return fmt.Errorf("no such degree of cure: %g: it lies between 0 and 1", a)
		}
	}
	if !(tempC >= d.Temp.Lo-slack && tempC <= d.Temp.Hi+slack) {
		return &DegreeRangeError{tempC, d.Temp}
	}
	return nil
}

// within is the time from y0 to y1 inside one branch.
func (d *Degree) within(k *[3]float64, y0, y1 float64, late bool) float64 {
	if s, ok := d.Law.closed(k, y0, y1, late); ok {
		return s
	}
	if near := math.Max(y0, 1); math.IsInf(y1, 1) {
		s := d.toTheEnd(k, near)
		if near > y0 && !math.IsInf(s, 1) {
			s += d.within(k, y0, near, late)
		}
		return s
	}
	return quadrature(func(y float64) float64 {
		return 1 / d.Law.speed(k, -math.Expm1(-y), math.Exp(-y), late)
	}, y0, y1)
}

// toTheEnd is the time from y0, well on the way, to α = 1, which is finite where the
// order of what is left is under one: then x = (1 − α)^(1 − n) carries the integral
// without its singular end.
func (d *Degree) toTheEnd(k *[3]float64, y0 float64) float64 {
	l, ok := d.Law.(Autocatalytic)
	if !ok || l.N >= 1 {
		return math.Inf(1)
	}
	p := 1 - l.N
	return quadrature(func(x float64) float64 {
		return 1 / (p * (k[0] + l.product(k, 1-math.Pow(x, 1/p))))
	}, 0, math.Exp(-p*y0))
}

// After is the degree of cure after a time t at a constant tempC °C, from one at the
// beginning: by closed form where there is one, else to 1e-9. Errors: those of Seconds, and a negative time.
func (d *Degree) After(from float64, t time.Duration, tempC float64) (float64, error) {
	if err := d.asked(tempC, from); err != nil {
		return 0, err
	}
	if t < 0 {
		return 0, fmt.Errorf("no such time: %s: cure does not run backwards", t)
	}
	k := d.Law.constants(tempC)
	if y, ok := d.Law.later(&k, depth(from), t.Seconds()); ok {
		return -math.Expm1(-y), nil
	}
	m := march{law: d.Law, constants: func(float64) [3]float64 { return k }}
	y, _ := m.run(depth(from), 0, t.Seconds(), from > d.Law.branch(), nil)
	return -math.Expm1(-y), nil
}

// quadrature integrates a function that is positive over [a, b] by Gauss-Kronrod
// nodes (7 and 15), halving until each part is known to 1e-12 of itself; +Inf where
// the function is not finite. Where rounding keeps it from that, it stops at
// mostParts, which the laws at hand come nowhere near.
func quadrature(f func(float64) float64, a, b float64) float64 {
	if a == b {
		return 0
	}
	parts := mostParts
	return halved(f, a, b, 400, &parts)
}

const mostParts = 20000

func halved(f func(float64) float64, a, b float64, deep int, parts *int) float64 {
	*parts--
	c, h := (a+b)/2, (b-a)/2
	mid := f(c)
	fine, coarse := kronrodWeights[7]*mid, gaussWeights[3]*mid
	for i, x := range kronrodNodes {
		v := f(c-h*x) + f(c+h*x)
		fine += kronrodWeights[i] * v
		if i%2 == 1 {
			coarse += gaussWeights[i/2] * v
		}
	}
	switch {
	case math.IsNaN(fine) || math.IsInf(fine, 1):
		return math.Inf(1)
	case math.Abs(fine-coarse) <= 1e-12*fine || deep == 0 || *parts <= 0:
		return h * fine
	}
	return halved(f, a, c, deep-1, parts) + halved(f, c, b, deep-1, parts)
}

// The nodes and weights of the Gauss-Kronrod pair of 7 and 15 points on [-1, 1], as
// R. Piessens et al. print them (QUADPACK, Springer 1983; from memory, and held
// against integrals known in closed form). The odd nodes are Gauss's.
var (
	kronrodNodes = [7]float64{0.991455371120812639206854697526329, 0.949107912342758524526189684047851, 0.864864423359769072789712788640926,
		0.741531185599394439863864773280788, 0.586087235467691130294144838258730, 0.405845151377397166906606412076961, 0.207784955007898467600689403773245}
	kronrodWeights = [8]float64{0.022935322010529224963732008058970, 0.063092092629978553290700663189204, 0.104790010322250183839876322541518,
		0.140653259715525918745189590510238, 0.169004726639267902826583426598550, 0.190350578064785409913256402421014, 0.204432940075298892414161999234649, 0.209482141084727828012999174891714}
	gaussWeights = [4]float64{0.129484966168869693270611432679082, 0.279705391489276667901467771423780, 0.381830050505118944950369775488975, 0.417959183673469387755102040816327}
)
