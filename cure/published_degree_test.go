package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

// Constants that do not change with temperature: the closed forms of the table are of
// such, with time in any unit; here it is the second.
func (r *publishedRow) law() *Degree {
	l := Autocatalytic{N: r.num("n")}
	if r.inputs["k"] != "" {
		l.K1.A = r.num("k")
	} else {
		l.K1.A, l.K2.A, l.M = r.num("k1"), r.num("k2"), r.num("m")
	}
	return &Degree{Law: l, Temp: quantity.Range{Lo: 0, Hi: 100}}
}

// The rows were computed with R = 8.314 J/(mol K), and this package has the exact one:
// Ea is scaled, so that Ea/R is theirs. Unscaled, as a class file gives them, times are
// 0.09 to 0.14 % shorter. Their minute is 60 s.
func (r *publishedRow) twoBranch() TwoBranch {
	k := func(a, e string) RateConstant {
		return RateConstant{A: r.num(a) / 60, Ea: r.num(e) * GasConstant / r.num("r")}
	}
	return TwoBranch{K1: k("a1", "e1"), K2: k("a2", "e2"), K3: k("a3", "e3"), B: r.num("b"), Branch: r.num("branch")}
}

func TestPublishedDegreeOfCure(t *testing.T) {
	degreeAfter := func(r *publishedRow) float64 {
		return must(r.law().After(0, time.Duration(r.num("t")*float64(time.Second)), 25))
	}
	holdTo(t, "degree.csv", map[string]check{
		"nth-order degree":     degreeAfter,
		"autocatalytic degree": degreeAfter,
		// The greatest rate is looked for, not calculated: a bend is flat on top, so its
		// place is found to half the digits, and so the rate is asked on either side.
		"autocatalytic peak degree": func(r *publishedRow) float64 { return flatTop(r.law(), r.value) },
		"autocatalytic peak time": func(r *publishedRow) float64 {
			d := r.law()
			return must(d.Seconds(0, flatTop(d, (r.num("k2")-r.num("k1"))/(2*r.num("k2"))), 25))
		},
		"autocatalytic peak rate": func(r *publishedRow) float64 {
			best := 0.0
			for i := range 1001 { // 0.475 is one of them
				best = math.Max(best, must(r.law().Rate(float64(i)/1000, 25)))
			}
			return best
		},
		"two-branch rate constant": func(r *publishedRow) float64 {
			return 60 * r.twoBranch().constants(r.temp("temp"))[int(r.num("i"))-1]
		},
		"two-branch initial rate": func(r *publishedRow) float64 {
			return 60 * r.twoBranch().Rate(0, r.temp("temp"))
		},
		"two-branch time": func(r *publishedRow) float64 {
			d := &Degree{Law: r.twoBranch(), Temp: quantity.Range{Lo: 130, Hi: 177}}
			return must(d.Seconds(0, r.num("degree"), r.temp("temp"))) / 60
		},
	})
}

// flatTop gives back a degree of cure if the rate is the same a little below and a
// little above it, as on the top of a parabola, and less than on it.
func flatTop(d *Degree, a float64) float64 {
	const off = 0.05
	lo, top, hi := must(d.Rate(a-off, 25)), must(d.Rate(a, 25)), must(d.Rate(a+off, 25))
	if !(lo < top && hi < top) {
		return math.NaN()
	}
	return a + off/2*(hi-lo)/(2*top-hi-lo) // the vertex of the parabola through the three
}

// The same closed forms by way of the integrator, which a history uses.
func TestTheIntegratorFindsTheClosedForms(t *testing.T) {
	for _, n := range []float64{0, 0.5, 1, 1.5, 2, 3} {
		for _, k2 := range []float64{0, 0.02, 5} {
			d := &Degree{Law: Autocatalytic{K1: RateConstant{A: 1e-4}, K2: RateConstant{A: k2 / 1000}, M: 1, N: n}, Temp: wide}
			c := degreeAlong(t, d, constant(25, 50, 60))
			for _, h := range []float64{0.01, 1, 3, 10, 50} {
				want, err := d.After(0, at(h).Sub(t0), 25)
				require.NoError(t, err)
				assert.InDelta(t, want, c.At(at(h)), 1e-9, "n %g k2 %g %g h", n, k2, h)
			}
		}
	}
}

func degreeAlong(t require.TestingT, d *Degree, h *History) *DegreeCourse {
	c, err := (&Site{Air: h}).Degree(&Class{ID: "test class", Degree: d}, h.From(), 0, Warmth{})
	require.NoError(t, err)
	return c
}
