package verify

import "math"

// Steps of the quadrature.
const (
	step     = 30.0 // s; half of it is the grid on which the air is kept
	half     = step / 2
	stepMiss = 1e-4 // s by which the midpoint rule may miss in one step; else it is halved
	stepMin  = 5e-3 // s: a jump is closed in to this
	lineMiss = 1e-3 // s to which the instant is found
)

// reach says when progress at a rate (parts per second, of an instant in seconds)
// that starts at from comes to 1; ok is false if that is not by limit.
//
// It is the midpoint rule on steps of half a minute, halved wherever the ends and
// the middle of a step do not lie on a line: at a floor, a ceiling, a jump. What
// comes and goes between two looks, a quarter of a minute apart, is not seen.
func reach(rate func(float64) float64, from, limit float64) (at float64, ok bool) {
	if !(from < limit) {
		return 0, false
	}
	p, u, r := 0.0, from, rate(from)
	for u < limit {
		v := math.Min(limit, (math.Floor(u/step)+1)*step)
		next := rate(v)
		dp := area(rate, u, v, r, next)
		if p+dp >= 1 {
			return cross(rate, u, v, 1-p), true
		}
		p, u, r = p+dp, v, next
	}
	return 0, false
}

// area is the integral of a rate from u to v, where it is a and b.
func area(rate func(float64) float64, u, v, a, b float64) float64 {
	w := v - u
	mid := rate((u + v) / 2)
	// The midpoint rule misses by w³/24 of the second derivative, and this is w/6
	// of what the middle lies off the line between the ends.
	if most := math.Max(mid, math.Max(a, b)); w > stepMin && math.Abs(a+b-2*mid)*w/6 > stepMiss*most {
		m := (u + v) / 2
		return area(rate, u, m, a, mid) + area(rate, m, v, mid, b)
	}
	return w * mid
}

// cross is where within u to v the integral of a rate has grown to need, which the
// caller knows that it does.
func cross(rate func(float64) float64, u, v, need float64) float64 {
	for v-u > lineMiss {
		m := (u + v) / 2
		if dp := area(rate, u, m, rate(u), rate(m)); dp < need {
			u, need = m, need-dp
		} else {
			v = m
		}
	}
	return v
}
