package chance

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Score intervals without continuity correction of R. G. Newcombe, Statistics in
// Medicine 17 (1998) 857, table I, method 3: four decimals are printed there, so that half
// of the last is the tolerance. The table comes from memory; each row agrees with solving
// |p − π| = z √(π(1−π)/n) for π, which is what the interval is.
func TestRangeIsNewcombesScoreInterval(t *testing.T) {
	for _, c := range []struct {
		c         Count
		low, high float64
	}{
		{Count{81, 263}, 0.2553, 0.3662},
		{Count{15, 148}, 0.0624, 0.1605},
		{Count{0, 20}, 0.0000, 0.1611},
		{Count{1, 29}, 0.0061, 0.1718},
	} {
		low, high := c.c.Range()
		assert.InDelta(t, c.low, low, 0.00005+1e-9, "%v", c.c)
		assert.InDelta(t, c.high, high, 0.00005+1e-9, "%v", c.c)
		n, p := float64(c.c.Of), c.c.Share()
		for _, v := range []float64{low, high} {
			if v > 0 {
				assert.InDelta(t, z95, math.Abs(p-v)/math.Sqrt(v*(1-v)/n), 1e-9, "%v: the interval's own equation", c.c)
			}
		}
	}
}

// The Ishigami function sin x₁ + a sin² x₂ + b x₃⁴ sin x₁ with a = 7, b = 0.1 and x
// uniform over (−π, π) has indices in closed form (T. Ishigami, T. Homma, Proc. ISUMA
// 1990; worked out here from their integrals):
//
//	V₁ = ½(1 + bπ⁴/5)²  V₂ = a²/8  V₁₃ = b²π⁸(1/18 − 1/50)
func TestSharesOfTheIshigamiFunction(t *testing.T) {
	const a, b, plays = 7, 0.1, 100000
	p4 := math.Pow(math.Pi, 4)
	v1, v2, v13 := math.Pow(1+b*p4/5, 2)/2, a*a/8.0, b*b*p4*p4*(1.0/18-1.0/50)
	v := v1 + v2 + v13
	r := Run(Options{Plays: plays, Seed: 1, Workers: 2, Sources: 3, Swaps: plays}, func() func([]*Stream) float64 {
		return func(src []*Stream) float64 {
			x := func(k int) float64 { return math.Pi * (2*src[k].Uniform() - 1) }
			x1, x2, x3 := x(0), x(1), x(2)
			return math.Sin(x1) + a*math.Pow(math.Sin(x2), 2) + b*math.Pow(x3, 4)*math.Sin(x1)
		}
	})
	got, ok := Shares(r, 3, func(f float64) float64 { return f })
	require.True(t, ok)
	for k, want := range []struct{ first, total float64 }{{v1 / v, (v1 + v13) / v}, {v2 / v, v2 / v}, {0, v13 / v}} {
		tol := 4 * got[k].Error
		assert.Less(t, tol, 0.06, "so few plays that the check says nothing")
		assert.InDelta(t, want.first, got[k].First, tol, "first order, x%d", k+1)
		assert.InDelta(t, want.total, got[k].Total, tol, "total, x%d", k+1)
	}
}

// A sum of independent parts splits its variance as they are: 1, 4 and 16 of 21.
func TestSharesOfASumAreItsVariances(t *testing.T) {
	r := Run(Options{Plays: 20000, Seed: 7, Workers: 2, Sources: 3, Swaps: 10000}, func() func([]*Stream) float64 {
		return func(src []*Stream) float64 { return src[0].Normal() + 2*src[1].Normal() + 4*src[2].Normal() }
	})
	got, ok := Shares(r, 3, func(f float64) float64 { return f })
	require.True(t, ok)
	for k, want := range []float64{1.0 / 21, 4.0 / 21, 16.0 / 21} {
		assert.InDelta(t, want, got[k].First, 4*got[k].Error)
		assert.InDelta(t, want, got[k].Total, 4*got[k].Error)
	}
}
