package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// worst gives the greatest difference of Saturation from SaturationIF97 over a range
// in °C, in % of the latter, and where it is.
func worst(t *testing.T, lo, hi float64) (percent, at float64) {
	t.Helper()
	const step = 0.01
	for i := range int(math.Round((hi-lo)/step)) + 1 {
		c := lo + float64(i)*step
		ref, err := SaturationIF97(math.Min(c, hi))
		require.NoError(t, err)
		if d := 100 * (Saturation(c)/ref - 1); math.Abs(d) > math.Abs(percent) {
			percent, at = d, c
		}
	}
	return percent, at
}

// The figures that the package comment and its readers rely on, measured: what is said
// there of the two formulas is not to be believed but looked up here.
func TestWMOAndIF97DifferByUpToThreeTenthsOfAPercent(t *testing.T) {
	percent, at := worst(t, 0, 60)
	assert.InDelta(t, -0.3085, percent, 0.0005, "0 to 60 C")
	assert.InDelta(t, 27.4, at, 0.2)
	for _, row := range []struct{ c, percent, within float64 }{
		{0, 0, 0.005}, {60, 0.24, 0.005}, {100, 2.4, 0.05}, {200, 12, 0.5},
	} {
		ref, err := SaturationIF97(row.c)
		require.NoError(t, err)
		assert.InDelta(t, row.percent, 100*(Saturation(row.c)/ref-1), row.within, "%g C", row.c)
	}
}

func TestFormulasAgreeOnADewPointToFiveHundredthsOfADegree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pv := rapid.Float64Range(6.1122, Saturation(MaxC)).Draw(t, "pv")
		c, err := SaturationTemperatureIF97(pv)
		require.NoError(t, err)
		require.InDelta(t, c, DewPoint(pv), 0.0535) // worst: 0.0531 near 28 C
	})
}

func TestIF97TemperatureUndoesPressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(MinIF97C, MaxIF97C).Draw(t, "t")
		pv, err := SaturationIF97(c)
		require.NoError(t, err)
		back, err := SaturationTemperatureIF97(pv)
		require.NoError(t, err)
		// Equation 31 takes differences of numbers near 1e6: its last digits are lost.
		require.InDelta(t, c, back, 1e-9)
	})
}

func TestIF97SaturationRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(MinIF97C, MaxIF97C).Draw(t, "a")
		b := rapid.Float64Range(MinIF97C, MaxIF97C).Draw(t, "b")
		if b < a+1e-6 {
			t.Skip("not warmer")
		}
		pa, err := SaturationIF97(a)
		require.NoError(t, err)
		pb, err := SaturationIF97(b)
		require.NoError(t, err)
		require.Less(t, pa, pb)
	})
}

func TestIF97HoldsAtBothEndsAndNotBeyond(t *testing.T) {
	for _, c := range []float64{MinIF97C, MaxIF97C} {
		pv, err := SaturationIF97(c)
		require.NoError(t, err)
		back, err := SaturationTemperatureIF97(pv)
		require.NoError(t, err, "its own end is inside")
		assert.InDelta(t, c, back, 1e-9)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []float64{-1e-9, MaxIF97C + 1e-9, 1000, nan, inf, -inf} {
		_, err := SaturationIF97(c)
		var out *RangeError
		require.ErrorAs(t, err, &out, "%g", c)
	}
	for _, pv := range []float64{0, -1, 6.112, 220641, nan, inf, -inf} {
		_, err := SaturationTemperatureIF97(pv)
		var out *RangeError
		require.ErrorAs(t, err, &out, "%g", pv)
	}
}
