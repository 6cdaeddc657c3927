package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/quantity"
)

// drawCurve draws a curve of temperature alone, its limits on and off the ends of cells.
func drawCurve(t *rapid.T) *Curve {
	c := &Curve{Temp: quantity.Range{Lo: rapid.Float64Range(-5, 10).Draw(t, "floor"), Hi: rapid.Float64Range(30, 50).Draw(t, "ceiling")}}
	if rapid.Bool().Draw(t, "whole") {
		c.Temp = quantity.Range{Lo: math.Round(c.Temp.Lo), Hi: math.Round(c.Temp.Hi)}
	}
	ref := rapid.SampledFrom([]float64{20, 23.3, 25}).Draw(t, "ref")
	if rapid.Bool().Draw(t, "doubling") {
		c.Form = Doubling{RefC: ref, Time: 3 * hour, StepC: rapid.Float64Range(3, 60).Draw(t, "step")}
	} else {
		c.Form = Arrhenius{RefC: ref, Time: 3 * hour, Ea: rapid.Float64Range(1e3, 300e3).Draw(t, "Ea")}
	}
	return c
}

// The reference is Gauss-Legendre quadrature with gonum's nodes (reference_test.go),
// cut at the limits of the curve. 1e-8 is ten times what a cell may miss.
func TestCellsIntegrateThePaceAsQuadratureDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, l := drawCurve(t), drawLine(t)
		p := newPace(only(c), Cured, c, l, Bead{})
		q := newCells(p, -10, 60)
		a, b := rapid.Float64Range(-10, 60).Draw(t, "from"), rapid.Float64Range(-10, 60).Draw(t, "to")
		if b-a < 1e-2 && a-b < 1e-2 {
			return
		}
		rate := func(tempC float64) float64 { return p.thermal(tempC).rate }
		want, whole := 0.0, 0.0
		ends := append([]float64{math.Min(a, b)}, p.temps...)
		for i, lo := range ends {
			hi := math.Max(a, b)
			if i+1 < len(ends) {
				hi = ends[i+1]
			}
			lo, hi = math.Max(lo, math.Min(a, b)), math.Min(hi, math.Max(a, b))
			if lo < hi {
				// Not onto the limit itself, where the pace may jump.
				lo, hi = lo+1e-9, hi-1e-9
				want += adaptive(rate, lo, hi, gauss(rate, lo, hi))
			}
			whole = math.Max(whole, rate(hi))
		}
		var e, f end
		q.look(&e, a, a, 0, 0)
		q.look(&f, b, b, 0, 0)
		got, ok := q.straight(&e, &f, 60)
		if !ok {
			assert.False(t, e.smooth && f.smooth)
			return
		}
		cut := 2e-9 * float64(len(ends)) * whole / math.Abs(b-a) * 60     // what was left out at the limits
		assert.InDelta(t, want/math.Abs(b-a)*60, got, 1e-8*got+cut+1e-20) // 1e-20 of the way is nothing
	})
}

func TestLinesAreTheProgressOfEachMilestone(t *testing.T) {
	var s []Sample
	for i := range 3000 {
		h := float64(i) / 60
		s = append(s, Sample{at(h), Air{12 + 6*math.Sin(h/4), 50 + 15*math.Cos(h/5)}})
	}
	h := history(t, 48, Piece{Name: "log", Samples: s})
	moist := only(&Curve{Form: Arrhenius{25, 2 * hour, 36e3}, Temp: wide, Longer: 0.2, Shorter: 0.1})
	moist.Moisture = &Moisture{MinRH: 40}
	moist.Curves[Assembly], moist.Curves[Handling] = nil, nil
	for _, site := range []*Site{
		{Air: h},
		{Air: h, Part: Part{Tau: 2 * time.Hour, AtC: -3}},
		{Air: h, PotSet: true, PotC: 15},
	} {
		lines, err := site.Lines(moist)
		require.NoError(t, err)
		assert.Nil(t, lines[Handling])
		for _, m := range []Milestone{Application, Assembly, TackFree, Cured, FullCure} {
			one := must(site.Progress(moist, m, m.Line()))
			for u := 0.0; u < 40*hour; u += 5000 {
				want, ok := one.ReachSeconds(u)
				got, same := lines[m].ReachSeconds(u)
				assert.Equal(t, ok, same, m)
				assert.Equal(t, want, got, m)
			}
		}
	}
	site := &Site{Air: h, Bead: Bead{DepthMM: -1}}
	_, err := site.Lines(moist)
	assert.ErrorContains(t, err, "no such bead depth")
}

func TestQuestionsAllocateNothing(t *testing.T) {
	s := year()[:20000]
	h := must(NewHistory([]Piece{{Name: "log", Samples: s}}, t0, s[len(s)-1].At))
	for name, cl := range benchClasses() {
		for _, tau := range []time.Duration{0, 3 * time.Hour} {
			p := must((&Site{Air: h, Part: Part{Tau: tau, AtC: 5}}).Progress(cl, Cured, NotBefore))
			u := 0.0
			assert.Zero(t, testing.AllocsPerRun(100, func() {
				u += 777
				p.ReachSeconds(u)
			}), "%s %s", name, tau)
		}
	}
}
