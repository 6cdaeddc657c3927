package cure

import "math"

// smooth reports whether one step may span [u0, u1], from the readings at its ends
// and middle.
func (tr *track) smooth(s *stretch, u0, u1 float64, a, m, b reading) bool {
	dt, w := math.Abs(b.temp-a.temp), u1-u0
	switch {
	case a.zone != m.zone || a.zone != b.zone:
		return false
	case a.rate > maxRise*b.rate || b.rate > maxRise*a.rate:
		return false // a table may be steeper than any activation energy
	case dt > maxStepC || math.Abs(m.temp-(a.temp+b.temp)/2) > maxBendC:
		return false
	case s.tau > 0 && w > s.tau/2 && math.Abs(s.lag())*math.Exp(-u0/s.tau) > minLagC:
		return false // a short τ in a long step: its warming must not fall between the nodes
	}
	return !tr.pace.humid || tr.damp(s, w, dt, a, m, b) && (w <= 1 || unruled(a, m, b))
}

// unruled reports that the rule of the line does not change between three readings over
// one step that all have the same. What is compared may rise to the limit and fall back
// between two of them: by a quarter of what the middle one lies off the line through the
// others, where it is a parabola; four times that is left as a margin.
func unruled(a, m, b reading) bool {
	bend := math.Abs(a.ratio - 2*m.ratio + b.ratio)
	for _, r := range [...]reading{a, m, b} {
		if math.Abs(r.ratio-1) < bend {
			return false
		}
	}
	return true
}

// Humidity may swing over a limit and back within a step: between two readings it
// is neither straight nor always rising. So near a limit a step is halved until
// humidity cannot reach it, or the step is a minute.
func (tr *track) damp(s *stretch, w, dt float64, a, m, b reading) bool {
	dp := 0.0
	if a.pv != b.pv {
		dp = math.Abs(a.pv-b.pv) / math.Max(a.pv, b.pv)
	}
	if dp > 0.2 && w > 1 {
		return false
	}
	if w <= 60 {
		return true
	}
	reach := math.Max(a.rh, b.rh) * (0.1*(dt+math.Abs(s.lb)*w) + dp)
	if reach == 0 {
		return true
	}
	for _, r := range [...]reading{a, m, b} {
		if math.Abs(r.rh-100) < reach {
			return false
		}
		for _, l := range tr.pace.rhs {
			if math.Abs(r.rh-l) < reach {
				return false
			}
		}
	}
	return true
}
