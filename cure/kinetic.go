package cure

import (
	"fmt"
	"math"
	"time"
)

// KineticEa is the activation energy, in J/mol, that USP <1160> takes for mean kinetic
// temperature where nothing better is known: ΔH = 83.144 kJ/mol, so that ΔH/R is
// 10 000 K. Read: in a worked example that prints the same constants.
const KineticEa = 83144.0

// MeanKinetic is the mean kinetic temperature, in °C, of the likely air from one
// instant to another: the one constant temperature at which a process of activation
// energy ea, in J/mol, would have gone as far in the same time. It is the form of USP
// <1160>, with the sum over readings drawn out to the integral over straight air:
//
//	T_K = (Ea/R) / −ln[ 1/(b−a) · ∫ exp(−Ea/(R·T)) dt ], T in kelvin
//
// so that readings count for as long as they stand, and not each alike. The answer is
// exact to 1e-9 °C on the air as the history has it: gaps are straight, and no margin
// enters.
//
// It is information, never a permission: it does not lengthen a shelf life, and it
// does not excuse a stretch outside the limits of storage, however short.
//
// Range: ea 1 to 300 kJ/mol. Errors, of one line: ea outside it or not a number; to
// not after from; either outside the history.
//
// Sources: USP <1160>, by a published worked example, as the chapter itself was not
// seen; the integral is the definition that Tong and Lock (2015) sum by trapezoids,
// known by way of check values.
func (h *History) MeanKinetic(from, to time.Time, ea float64) (tempC float64, err error) {
	switch {
	case !(ea >= 1e3 && ea <= 300e3):
		return 0, fmt.Errorf("an activation energy of %g kJ/mol: it is to be from 1 to 300 kJ/mol", ea/1000)
	case !to.After(from):
		return 0, fmt.Errorf("a stretch of air from %s to %s: it is to end after it starts", from.Format(time.RFC3339), to.Format(time.RFC3339))
	case from.Before(h.From()) || to.After(h.Until()):
		return 0, fmt.Errorf("the air from %s to %s is asked for, and is known from %s to %s", from.Format(time.RFC3339), to.Format(time.RFC3339),
			h.From().In(from.Location()).Format(time.RFC3339), h.Until().In(from.Location()).Format(time.RFC3339))
	}
	k := kinetic{l: h.lanes[Likely], q: ea / GasConstant}
	return k.mean(h.seconds(from), h.seconds(to)), nil
}

// kinetic integrates one lane at one activation temperature.
type kinetic struct {
	l   *lane
	q   float64 // K: Ea/R
	hot float64 // 1/K: 1/T of the hottest instant, from where rates are counted
}

// mean is the answer over [a, b], in seconds since the history's zero.
func (k *kinetic) mean(a, b float64) float64 {
	hot, cold := math.Inf(-1), math.Inf(1)
	k.pieces(a, b, func(_, c0, c1 float64) {
		hot, cold = max(hot, c0, c1), min(cold, c0, c1)
	})
	if hot == cold || b <= a { // b <= a: an instant, as far as seconds can tell
		return k.l.temp(k.l.find(a), a)
	}
	k.hot = 1 / (hot + kelvin) // counted from there, no rate overflows
	var sum, lost float64      // Knuth's two-sum: a year of minutes loses nothing
	k.pieces(a, b, func(w, c0, c1 float64) {
		d := k.piece(w, c0+kelvin, c1+kelvin)
		t := sum + d
		v := t - sum
		lost += (sum - (t - v)) + (d - v)
		sum = t
	})
	return 1/(k.hot-math.Log((sum+lost)/(b-a))/k.q) - kelvin
}

// pieces visits the straight stretches of [a, b]: width in s, °C at both ends.
func (k *kinetic) pieces(a, b float64, visit func(w, c0, c1 float64)) {
	l := k.l
	for i := l.find(a); i+1 < len(l.t) && l.t[i] < b; i++ {
		u0, u1 := max(a, l.t[i]), min(b, l.t[i+1])
		if u1 > u0 {
			visit(u1-u0, l.temp(i, u0), l.temp(i, u1))
		}
	}
}

// piece is the integral of the rate over w seconds of straight air from t0 to t1
// kelvin: three-point Gauss quadrature on steps over which ln rate changes by about a
// tenth at most, which is exact to (1/10)^6 over two million, and temperature by no more
// than 2 K, within which 1/T hardly bends.
func (k *kinetic) piece(w, t0, t1 float64) float64 {
	if t0 == t1 {
		return w * k.at(t0)
	}
	n := math.Ceil(max(10*k.q*math.Abs(1/t0-1/t1), math.Abs(t1-t0)/2))
	const g = 0.7745966692414834 // √(3/5)
	step, sum := (t1-t0)/n, 0.0
	for i := range int(n) {
		m := t0 + (float64(i)+0.5)*step
		sum += 5*k.at(m-g*step/2) + 8*k.at(m) + 5*k.at(m+g*step/2)
	}
	return w / n * sum / 18
}

// at is the rate at t kelvin, in parts of the hottest instant's.
func (k *kinetic) at(t float64) float64 { return math.Exp(k.q * (k.hot - 1/t)) }
