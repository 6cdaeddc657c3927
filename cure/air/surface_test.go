package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestWetSurfaceIsJustAHundredPercent(t *testing.T) {
	// Air of 20 C and 50 % against a part at 5 C: Humidity says 133.8, the surface 100.
	assert.Equal(t, 100.0, SurfaceHumidity(20, 50, 5))
	assert.Equal(t, 100.0, SurfaceHumidity(20, 100, 20))
	assert.InDelta(t, 50, SurfaceHumidity(20, 50, 20), 1e-12)
}

func TestDryAirLeavesEverySurfaceDry(t *testing.T) {
	for _, surface := range []float64{-273.15, -243.12, -40, 0, 20, 60} {
		assert.Zero(t, SurfaceHumidity(20, 0, surface))
		assert.True(t, math.IsInf(DewSpread(20, 0, surface), 1))
	}
}

func TestSurfaceIsWetExactlyWhereItIsNoWarmerThanTheDewPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, rh := temps().Draw(t, "air"), rapid.Float64Range(0.01, 100).Draw(t, "rh")
		surface := temps().Draw(t, "surface")
		spread, wet := DewSpread(c, rh, surface), SurfaceHumidity(c, rh, surface)
		switch {
		case spread > 1e-9:
			require.Less(t, wet, 100.0)
		case spread < -1e-9:
			require.Equal(t, 100.0, wet)
		}
	})
}

func TestWarmerSurfaceIsDrier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, rh := temps().Draw(t, "air"), rapid.Float64Range(0.01, 100).Draw(t, "rh")
		a := temps().Draw(t, "surface")
		b := a + rapid.Float64Range(1e-3, 60).Draw(t, "warmer by")
		require.GreaterOrEqual(t, SurfaceHumidity(c, rh, a), SurfaceHumidity(c, rh, b))
		require.InDelta(t, b-a, DewSpread(c, rh, b)-DewSpread(c, rh, a), 1e-9)
	})
}

func TestDamperAirWeighsMoreWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := temps().Draw(t, "t")
		rh := rapid.Float64Range(0, 99).Draw(t, "rh")
		require.Less(t, AbsoluteHumidity(c, Vapour(c, rh)), AbsoluteHumidity(c, Vapour(c, rh+1)))
		// Half the vapour is half the water: the gas is ideal.
		require.InEpsilon(t, AbsoluteHumidity(c, Vapour(c, 100))/2, AbsoluteHumidity(c, Vapour(c, 50)), 1e-12)
	})
	assert.Zero(t, AbsoluteHumidity(20, 0))
	assert.True(t, math.IsNaN(AbsoluteHumidity(-273.15, 1)), "no gas at absolute zero")
}

func TestNoNumberInGivesNoNumberOut(t *testing.T) {
	nan := math.NaN()
	for i, got := range []float64{
		Saturation(nan), Vapour(nan, 50), Vapour(20, nan), Humidity(nan, 10), Humidity(20, nan), DewPoint(nan),
		AbsoluteHumidity(nan, 10), AbsoluteHumidity(20, nan),
		SurfaceHumidity(nan, 50, 20), SurfaceHumidity(20, nan, 20), SurfaceHumidity(20, 50, nan),
		DewSpread(nan, 50, 20), DewSpread(20, nan, 20), DewSpread(20, 50, nan),
	} {
		assert.True(t, math.IsNaN(got), "case %d gave %g", i, got)
	}
}
