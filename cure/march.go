package cure

import "math"

// march follows a rate law through time by the pair of fifth and fourth order of
// J. R. Dormand and P. J. Prince (J. Comp. Appl. Math. 6 (1980) 19; coefficients from
// memory, and held against closed forms), with steps as short as the error asks. It
// works on y = −ln(1 − α), in which no law is stiff however long the history.
type march struct {
	law       RateLaw
	constants func(u float64) [3]float64
}

// stepError is the error in α allowed in one step, as a share of α: what is small
// grows by autocatalysis, and its error with it.
const stepError = 1e-12

// shortest is the shortest step, in s: a law that Degree.Check lets pass does nothing
// of note within it.
const shortest = 1e-7

// run goes from u0 to u1, or to the end of the cure if that comes first. seen, unless
// nil, is told the state at the beginning of every step, and at the end of the cure.
func (m *march) run(y, u0, u1 float64, late bool, seen func(u, y float64, late bool)) (float64, bool) {
	u, h := u0, u1-u0
	if v := m.slope(u0, y, late); v > 0 {
		h = math.Min(h, math.Max(0.01/v, shortest))
	}
	for u < u1 && y < complete {
		h = math.Min(math.Max(h, shortest), u1-u)
		if u1-u-h < shortest {
			h = u1 - u
		}
		next, e := m.step(u, y, h, late)
		if !(e <= 1) && h > shortest {
			h *= math.Max(0.1, 0.9*math.Pow(e, -0.2)) // NaN counts as 0.1
			if math.IsNaN(h) {
				h = shortest
			}
			continue
		}
		if seen != nil {
			seen(u, y, late)
		}
		if br := m.law.branch(); !late && br < 1 && next >= depth(br) {
			w := m.cross(u, y, h, depth(br))
			u, y, late = u+w, depth(br), true
			h = math.Max(h-w, shortest)
			continue
		}
		if u+h >= u1-shortest/2 {
			u = u1
		} else {
			u += h
		}
		y = math.Max(y, next)
		if math.IsNaN(next) {
			y = complete // faster than the shortest step
		}
		h *= math.Min(5, 0.9*math.Pow(math.Max(e, 1e-10), -0.2))
	}
	y = math.Min(y, complete)
	if seen != nil && y == complete {
		seen(u, y, late)
	}
	return y, late
}

// cross is how far into a step of h from (u, y) the law's branch at yb is.
func (m *march) cross(u, y, h, yb float64) float64 {
	lo, hi := 0.0, h
	for range 60 {
		w := (lo + hi) / 2
		if next, _ := m.step(u, y, w, false); next >= yb {
			hi = w
		} else {
			lo = w
		}
	}
	return hi
}

func (m *march) slope(u, y float64, late bool) float64 {
	k := m.constants(u)
	y = math.Max(0, y)
	return m.law.speed(&k, -math.Expm1(-y), math.Exp(-y), late)
}

// step is one step of h from (u, y), and its error in parts of what is allowed.
func (m *march) step(u, y, h float64, late bool) (next, e float64) {
	f := func(c, dy float64) float64 { return m.slope(u+c*h, y+h*dy, late) }
	k1 := f(0, 0)
	k2 := f(1./5, k1/5)
	k3 := f(3./10, k1*3/40+k2*9/40)
	k4 := f(4./5, k1*44/45-k2*56/15+k3*32/9)
	k5 := f(8./9, k1*19372/6561-k2*25360/2187+k3*64448/6561-k4*212/729)
	k6 := f(1, k1*9017/3168-k2*355/33+k3*46732/5247+k4*49/176-k5*5103/18656)
	next = y + h*(k1*35/384+k3*500/1113+k4*125/192-k5*2187/6784+k6*11/84)
	k7 := m.slope(u+h, next, late)
	d := h * (k1*71/57600 - k3*71/16695 + k4*71/1920 - k5*17253/339200 + k6*22/525 - k7/40)
	// An error d in y is d(1 − α) in α.
	left := math.Exp(-math.Max(y, 0))
	alpha := -math.Expm1(-math.Max(next, 0))
	return next, math.Abs(d) * left / (stepError * math.Max(alpha, 1e-300))
}
