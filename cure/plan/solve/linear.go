package solve

import "beadline/cure/plan/solve/learn"

// linear holds a weighted sum of bounds to a limit that may be lowered between searches.
type linear struct {
	terms []term
	limit int        // Σ weight · bound ≤ limit
	on    learn.Atom // where this holds
	why   []learn.Atom
}

// term is a weight, above 0, and the bound it counts.
type term struct {
	b      learn.Bound
	weight int
}

func newLinear(e *learn.Engine, terms []term, limit int, on learn.Atom) *linear {
	l := &linear{terms: terms, limit: limit, on: on}
	var bounds []learn.Bound
	if on != learn.Always() {
		bounds = append(bounds, on.B)
	}
	for _, t := range terms {
		bounds = append(bounds, t.b)
	}
	e.Add(l, 1, bounds...)
	return l
}

// value is the sum as the lower bounds stand.
func (l *linear) value(e *learn.Engine) int {
	sum := 0
	for _, t := range l.terms {
		sum += t.weight * e.Value(t.b)
	}
	return sum
}

// Propagate implements learn.Propagator.
func (l *linear) Propagate(e *learn.Engine) bool {
	if !e.True(l.on) {
		return true
	}
	sum := l.value(e)
	if sum > l.limit {
		return e.Fail(l.reasons(e, -1))
	}
	for i, t := range l.terms {
		v := e.Value(t.b)
		most := v + (l.limit-sum)/t.weight
		if a := (learn.Atom{B: t.b, V: int32(min(most+1, learn.Limit))}).Not(); !e.True(a) {
			if !e.Set(a, l.reasons(e, i)) {
				return false
			}
		}
	}
	return true
}

// reasons are the lower bounds of all terms but one.
func (l *linear) reasons(e *learn.Engine, but int) []learn.Atom {
	l.why = l.why[:0]
	for i, t := range l.terms {
		if i != but {
			l.why = append(l.why, learn.Atom{B: t.b, V: int32(e.Value(t.b))})
		}
	}
	if l.on != learn.Always() {
		l.why = append(l.why, l.on)
	}
	return l.why
}
