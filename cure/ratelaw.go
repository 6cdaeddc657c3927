package cure

import (
	"errors"
	"fmt"
	"math"

	"beadline/cure/quantity"
)

// RateConstant is the Arrhenius constant of a rate, T in kelvin:
//
//	k = A · exp(−Ea/RT)
type RateConstant struct {
	A  float64 // 1/s; only the second constant of TwoBranch may be negative
	Ea float64 // J/mol
}

// At is the constant at tempC °C, in 1/s.
func (k RateConstant) At(tempC float64) float64 {
	if k.A == 0 || tempC <= -kelvin {
		return 0
	}
	return k.A * math.Exp(-k.Ea/(GasConstant*(tempC+kelvin)))
}

// RateLaw is how fast a thermoset cures at a degree of cure α, 0 (nothing) to 1
// (all), and a temperature. Its two or three constants have activation energies of
// their own, so that a warmer hour is not a number of colder ones whatever α is:
// equivalent age, the integral of 1/t(T), holds for no such law. Degree follows dα/dt
// instead.
type RateLaw interface {
	// Rate is dα/dt in 1/s at alpha, within 0..1, and tempC °C. It is never negative.
	Rate(alpha, tempC float64) float64
	// Check says what is wrong with the parameters over a range of temperature, °C.
	Check(r quantity.Range) error
	// Name is the law's name in a class file.
	Name() string

	// constants are the rate constants at a temperature.
	constants(tempC float64) [3]float64
	// speed is dα/dt over 1 − α, in 1/s; left is 1 − α, given apart since it is the
	// exact one near the end; late says that the law's branch is behind.
	speed(k *[3]float64, alpha, left float64, late bool) float64
	// branch is the α at which the law changes; 2: it does not.
	branch() float64
	// closed is the time in s from y0 to y1, y = −ln(1 − α), within one branch, where
	// there is a closed form.
	closed(k *[3]float64, y0, y1 float64, late bool) (s float64, ok bool)
	// later is y after t seconds from y0, where there is a closed form.
	later(k *[3]float64, y0, t float64) (y float64, ok bool)
}

// Autocatalytic is the rate law of epoxies cured by amines, whose own product
// quickens them (the form of M. R. Kamal and S. Sourour, 1973; from memory):
//
//	dα/dt = (k1 + k2·α^M) · (1 − α)^N
//
// Without K2 it is the n-th order law.
type Autocatalytic struct {
	K1, K2 RateConstant // K2.A 0: n-th order
	M, N   float64      // M is not read without K2
}

// Rate implements RateLaw.
func (l Autocatalytic) Rate(alpha, tempC float64) float64 {
	if alpha >= 1 {
		return 0 // with an order of zero too: nothing is left
	}
	k := l.constants(tempC)
	return math.Max(0, (k[0]+l.product(&k, alpha))*math.Pow(1-alpha, l.N))
}

func (l Autocatalytic) product(k *[3]float64, alpha float64) float64 {
	switch {
	case k[1] == 0:
		return 0
	case l.M == 1:
		return k[1] * alpha
	}
	return k[1] * math.Pow(alpha, l.M)
}

// The fastest rate constant that is believed, in 1/s, and the highest order.
const (
	fastest  = 1000
	maxOrder = 5
)

// Check implements RateLaw.
func (l Autocatalytic) Check(r quantity.Range) error {
	switch {
	case !(l.K1.A > 0):
		return errors.New("k1: a must be more than zero: nothing else starts the cure")
	case !(l.K2.A >= 0):
		return errors.New("k2: a must not be negative")
	case !(l.N >= 0 && l.N <= maxOrder):
		return fmt.Errorf("n: an order of %g is outside 0..%d", l.N, maxOrder)
	case l.K2.A > 0 && !(l.M > 0 && l.M <= maxOrder):
		return fmt.Errorf("m: an order of %g: it is more than 0 and at most %d", l.M, maxOrder)
	}
	return believed(r, l.K1, l.K2)
}

// believed refuses constants that no resin has: a slip of unit is caught so.
func believed(r quantity.Range, ks ...RateConstant) error {
	if !(sane(r.Lo) && sane(r.Hi) && r.Lo <= r.Hi) {
		return fmt.Errorf("no such range of temperature: %g to %g C", r.Lo, r.Hi)
	}
	for i, k := range ks {
		if !(k.Ea >= 0 && k.Ea <= 300e3) {
			return fmt.Errorf("k%d: an activation energy of %g kJ/mol is outside 0..300 kJ/mol", i+1, k.Ea/1000)
		}
		if v := math.Abs(k.At(r.Hi)); !(v <= fastest) {
			return fmt.Errorf("k%d: it is %.3g /s at %.4g C: no resin cures within a millisecond; check the units of a and ea", i+1, v, r.Hi)
		}
	}
	if k := ks[0].At(r.Lo); !(k > 1e-100) {
		return fmt.Errorf("k1: it is nothing at %.4g C: the cure never starts; check the units of a and ea", r.Lo)
	}
	return nil
}

// Name implements RateLaw.
func (l Autocatalytic) Name() string {
	if l.K2.A == 0 {
		return "nth-order"
	}
	return "autocatalytic"
}

func (l Autocatalytic) constants(tempC float64) [3]float64 {
	return [3]float64{l.K1.At(tempC), l.K2.At(tempC)}
}

func (l Autocatalytic) speed(k *[3]float64, alpha, left float64, _ bool) float64 {
	v := k[0] + l.product(k, alpha)
	if l.N != 1 {
		v *= math.Pow(left, l.N-1)
	}
	return v
}

func (l Autocatalytic) branch() float64 { return 2 }

// closed has a closed form for the n-th order law, and for m = n = 1 by partial
// fractions.
func (l Autocatalytic) closed(k *[3]float64, y0, y1 float64, _ bool) (float64, bool) {
	switch q := l.N - 1; {
	case k[1] == 0 && q == 0:
		return (y1 - y0) / k[0], true
	case k[1] == 0:
		return math.Exp(q*y0) * math.Expm1(q*(y1-y0)) / (q * k[0]), true
	case q == 0 && l.M == 1:
		grown := func(y float64) float64 { return k[0] - k[1]*math.Expm1(-y) }
		return (math.Log(grown(y1)/grown(y0)) + (y1 - y0)) / (k[0] + k[1]), true
	}
	return 0, false
}

// later is closed turned round.
func (l Autocatalytic) later(k *[3]float64, y0, t float64) (float64, bool) {
	switch q := l.N - 1; {
	case k[1] == 0 && q == 0:
		return y0 + k[0]*t, true
	case k[1] == 0:
		grown := q * k[0] * t * math.Exp(-q*y0)
		if grown <= -1 {
			return math.Inf(1), true // an order under one comes to its end
		}
		return y0 + math.Log1p(grown)/q, true
	case q == 0 && l.M == 1:
		// What is left, 1 − α, falls as (k1 + k2)/(k2 + c·e^((k1+k2)t)).
		sum := k[0] + k[1]
		c := (k[0] - k[1]*math.Expm1(-y0)) * math.Exp(y0)
		return sum*t + math.Log((c+k[1]*math.Exp(-sum*t))/sum), true
	}
	return 0, false
}

// TwoBranch is the rate law of W. I. Lee, A. C. Loos and G. S. Springer (J. Composite
// Materials 16 (1982) 510), measured on a TGDDM epoxy with an aromatic amine. Up to
// Branch several reactions run side by side, above it the first-order one is left:
//
//	dα/dt = (k1 + k2·α)(1 − α)(B − α)   for α ≤ Branch
//	dα/dt = k3·(1 − α)                  above
//
// The rate jumps at Branch.
type TwoBranch struct {
	K1, K2, K3 RateConstant // K2.A may be negative
	B          float64      // above Branch, at most 1
	Branch     float64      // α, 0.3 in the source
}

// Rate implements RateLaw.
func (l TwoBranch) Rate(alpha, tempC float64) float64 {
	k := l.constants(tempC)
	return (1 - alpha) * l.speed(&k, alpha, 1-alpha, alpha > l.Branch)
}

// Check implements RateLaw.
func (l TwoBranch) Check(r quantity.Range) error {
	switch {
	case !(l.K1.A > 0):
		return errors.New("k1: a must be more than zero: nothing else starts the cure")
	case !(l.K3.A > 0):
		return errors.New("k3: a must be more than zero: the cure would stop at the branch")
	case !(l.Branch > 0 && l.Branch < 1):
		return fmt.Errorf("branch: %g is no degree of cure between 0 and 1", l.Branch)
	case !(l.B >= l.Branch+0.01 && l.B <= 1):
		return fmt.Errorf("b: %g does not lie above the branch at %g and at most at 1: the cure would never come to the branch", l.B, l.Branch)
	}
	if err := believed(r, l.K1, l.K2, l.K3); err != nil {
		return err
	}
	// k1 + k2·α is straight in α, and as a function of temperature it changes its sign
	// once at most: the ends tell.
	for _, c := range []float64{r.Lo, r.Hi} {
		if k := l.constants(c); !(k[0]+k[1]*l.Branch >= 0.01*k[0]) {
			return fmt.Errorf("at %.4g C the rate falls to nothing, or next to it, before the branch at %g: check k1, k2 and the range", c, l.Branch)
		}
		if k3 := l.K3.At(c); !(k3 > 1e-100) {
			return fmt.Errorf("k3: it is nothing at %.4g C: check the units of a and ea", c)
		}
	}
	return nil
}

// Name implements RateLaw.
func (TwoBranch) Name() string { return "two-branch" }

func (l TwoBranch) constants(tempC float64) [3]float64 {
	return [3]float64{l.K1.At(tempC), l.K2.At(tempC), l.K3.At(tempC)}
}

func (l TwoBranch) speed(k *[3]float64, alpha, _ float64, late bool) float64 {
	if late {
		return k[2]
	}
	return math.Max(0, (k[0]+k[1]*alpha)*(l.B-alpha))
}

func (l TwoBranch) branch() float64 { return l.Branch }

// closed: first order above the branch; below it by partial fractions, as long as no
// two roots fall together.
func (l TwoBranch) closed(k *[3]float64, y0, y1 float64, late bool) (float64, bool) {
	if late {
		return (y1 - y0) / k[2], true
	}
	atB, at1 := k[0]+k[1]*l.B, k[0]+k[1]
	if l.B > 0.999 || math.Abs(atB) < 1e-3*k[0] || math.Abs(at1) < 1e-3*k[0] {
		return 0, false
	}
	part := func(y float64) float64 {
		a := -math.Expm1(-y)
		v := k[0] + k[1]*a
		return math.Log(v/(l.B-a))/atB - (math.Log(v)+y)/at1
	}
	return (part(y1) - part(y0)) / (1 - l.B), true
}

// later has no closed form below the branch.
func (l TwoBranch) later(k *[3]float64, y0, t float64) (float64, bool) {
	if y0 > depth(l.Branch) {
		return y0 + k[2]*t, true
	}
	return 0, false
}
