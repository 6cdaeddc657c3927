package catalog

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"beadline/cure"
)

// order checks application ≤ assembly, application < tack-free ≤ handling ≤ cure ≤
// full-cure wherever two curves both hold: different slopes can cross in the cold.
func (l linter) order() {
	cs := &l.c.Curves
	if cs[cure.Application] != nil && cs[cure.Assembly] != nil {
		l.pair(cure.Application, cure.Assembly, false)
	}
	last := cure.Application
	for m := cure.TackFree; m < cure.NumMilestones; m++ {
		if cs[m] == nil {
			continue
		}
		if cs[last] != nil {
			l.pair(last, m, last == cure.Application)
		}
		last = m
	}
}

// pair checks that milestone a does not take longer than b (strict: takes less).
// Of the airs where it does, the one nearest to a's reference is reported.
func (l linter) pair(a, b cure.Milestone, strict bool) {
	ca, cb := l.c.Curves[a], l.c.Curves[b]
	ts, rhs, beads := grid(ca, cb)
	if len(ts) == 0 || len(rhs) == 0 {
		l.warn(fmt.Sprintf("%s and %s have no air in common, so their order cannot be checked", a, b), "let their ranges overlap")
		return
	}
	for _, t := range ts {
		for _, rh := range rhs {
			pv := cure.Air{TempC: t, RH: rh}.Vapour()
			for _, bead := range beads {
				sa, sb := ca.Plain(t, rh, pv, bead), cb.Plain(t, rh, pv, bead)
				if math.IsInf(sa, 1) && math.IsInf(sb, 1) || sa < sb || !strict && sa <= sb*(1+1e-9) {
					continue
				}
				l.fail(fmt.Sprintf("at %s%s %s takes %s and %s only %s", celsius(t), airNote(rhs, rh), a, spanText(sa), b, spanText(sb)),
					fmt.Sprintf("%s comes before %s: give them slopes that do not cross, or a narrower range", a, b))
				return
			}
		}
	}
}

func airNote(rhs []float64, rh float64) string {
	if len(rhs) == 1 {
		return ""
	}
	return fmt.Sprintf(" and %.0f%% RH", rh)
}

// grid lists where two curves are compared: every half degree and 5 % RH of what
// they share, with the ends, kinks and references. Temperatures come nearest to the
// first curve's reference first. A front is compared at its reference depth and at
// the deepest bead allowed: thinner beads cure faster than any skin forms.
func grid(a, b *cure.Curve) (ts, rhs []float64, beads []cure.Bead) {
	lo, hi := math.Max(a.Temp.Lo, b.Temp.Lo), math.Min(a.Temp.Hi, b.Temp.Hi)
	ts = steps(lo, hi, 0.5)
	rhLo, rhHi := 5., 100.
	wet := false
	beads = []cure.Bead{{}}
	for _, cv := range []*cure.Curve{a, b} {
		if !cv.RH.IsZero() {
			rhLo, rhHi = math.Max(rhLo, cv.RH.Lo), math.Min(rhHi, cv.RH.Hi)
		}
		kinksT, kinksRH := cv.Form.Breaks()
		ts = append(ts, append(slices.Clone(kinksT), cv.Form.Reference().TempC)...)
		rhs = append(rhs, append(slices.Clone(kinksRH), cv.Form.Reference().RH)...)
		front, isFront := cv.Form.(cure.Front)
		wet = wet || isFront || cv.Humidity != nil || len(kinksRH) > 0
		if isFront {
			beads[0] = cure.Bead{DepthMM: math.Max(beads[0].DepthMM, front.DepthMM)}
		}
		if cv.Humidity != nil {
			for _, p := range cv.Humidity.Points {
				rhs = append(rhs, p.RH)
			}
		}
		if cv.MaxDepth > 0 {
			beads = append(beads, cure.Bead{DepthMM: cv.MaxDepth})
		}
	}
	if wet {
		rhs = within(append(rhs, steps(rhLo, rhHi, 5)...), rhLo, rhHi)
	} else {
		rhs = []float64{50}
	}
	ref := a.Form.Reference().TempC
	ts = within(ts, lo, hi)
	slices.SortFunc(ts, func(x, y float64) int {
		return cmp.Compare(math.Abs(x-ref), math.Abs(y-ref))
	})
	return ts, rhs, beads
}

// steps lists lo, the multiples of step between, and hi.
func steps(lo, hi, step float64) []float64 {
	if lo > hi {
		return nil
	}
	xs := []float64{lo}
	for k := math.Floor(lo/step) + 1; k*step < hi; k++ {
		xs = append(xs, k*step)
	}
	return append(xs, hi)
}

func within(xs []float64, lo, hi float64) []float64 {
	xs = slices.DeleteFunc(xs, func(x float64) bool { return x < lo || x > hi })
	slices.Sort(xs)
	return slices.Compact(xs)
}
