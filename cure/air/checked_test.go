package air

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asked asks every checked function with the same values and gives what each said.
func asked(t, rh, surface, pv float64) (values []float64, errs []error) {
	say := func(v float64, err error) { values, errs = append(values, v), append(errs, err) }
	say(CheckedSaturation(t))
	say(CheckedVapour(t, rh))
	say(CheckedHumidity(t, pv))
	say(CheckedDewPoint(pv))
	say(CheckedAbsoluteHumidity(t, rh))
	say(CheckedSurfaceHumidity(t, rh, surface))
	say(CheckedDewSpread(t, rh, surface))
	return values, errs
}

func TestCheckedFunctionsAnswerAsThePlainOnes(t *testing.T) {
	for _, row := range []struct{ t, rh, surface float64 }{{20, 50, 8}, {MinC, 0.1, MaxC}, {MaxC, 100, MinC}, {0, 100, 0}} {
		pv := math.Min(Vapour(row.t, 100), Saturation(MaxC))
		got, errs := asked(row.t, row.rh, row.surface, pv)
		for _, err := range errs {
			require.NoError(t, err, "%+v", row)
		}
		assert.Equal(t, []float64{Saturation(row.t), Vapour(row.t, row.rh), Humidity(row.t, pv), DewPoint(pv),
			AbsoluteHumidity(row.t, Vapour(row.t, row.rh)), SurfaceHumidity(row.t, row.rh, row.surface), DewSpread(row.t, row.rh, row.surface)}, got)
	}
}

func TestOutsideTheRangeIsRefusedInOneLine(t *testing.T) {
	text := func(_ float64, err error) string {
		if err == nil {
			return "no error"
		}
		return err.Error()
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, row := range []struct{ got, want string }{
		{text(CheckedSaturation(75)), "temperature 75 C is outside -45 to 60 C"},
		{text(CheckedSaturation(60.001)), "temperature 60.001 C is outside -45 to 60 C"},
		{text(CheckedSaturation(-45.001)), "temperature -45.001 C is outside -45 to 60 C"},
		{text(CheckedSaturation(inf)), "temperature +Inf C is outside -45 to 60 C"},
		{text(CheckedSaturation(nan)), "temperature is not a number: it lies between -45 and 60 C"},
		{text(CheckedVapour(20, 100.1)), "humidity 100.1% is outside 0 to 100%"},
		{text(CheckedVapour(20, -0.1)), "humidity -0.1% is outside 0 to 100%"},
		{text(CheckedVapour(20, nan)), "humidity is not a number: it lies between 0 and 100%"},
		{text(CheckedVapour(77, 101)), "temperature 77 C is outside -45 to 60 C"},
		{text(CheckedHumidity(20, -1)), "vapour pressure -1 hPa is outside 0 to 199.933 hPa"},
		{text(CheckedDewPoint(0)), "vapour pressure 0 hPa is outside 0.111708 to 199.933 hPa"},
		{text(CheckedAbsoluteHumidity(20, inf)), "humidity +Inf% is outside 0 to 100%"},
		{text(CheckedSurfaceHumidity(20, 50, 61)), "surface temperature 61 C is outside -45 to 60 C"},
		{text(CheckedDewSpread(20, 50, nan)), "surface temperature is not a number: it lies between -45 and 60 C"},
		{text(SaturationIF97(-1)), "temperature -1 C is outside 0 to 373.946 C"},
		{text(SaturationTemperatureIF97(1e6)), "vapour pressure 1e+06 hPa is outside 6.11213 to 220640 hPa"},
	} {
		assert.Equal(t, row.want, row.got)
	}
}

func TestRangeEndsAreInside(t *testing.T) {
	for _, c := range []float64{MinC, MaxC} {
		require.NoError(t, CheckTemperature(c))
		require.Error(t, CheckTemperature(math.Nextafter(c, c*2)))
	}
	for _, rh := range []float64{0, 100} {
		require.NoError(t, CheckHumidity(rh))
	}
	require.Error(t, CheckHumidity(math.Nextafter(100, 101)))
	require.Error(t, CheckHumidity(-math.SmallestNonzeroFloat64))
}

// An answer that is not refused is a number that can be; a refusal is one line.
func FuzzChecked(f *testing.F) {
	for _, s := range [][4]float64{{20, 50, 8, 11}, {-45, 0, 60, 0}, {60, 100, -45, 199}, {math.NaN(), math.Inf(1), -300, -1}, {1e308, math.Copysign(0, -1), 373.946, 220640}} {
		f.Add(s[0], s[1], s[2], s[3])
	}
	f.Fuzz(func(t *testing.T, c, rh, surface, pv float64) {
		values, errs := asked(c, rh, surface, pv)
		say := func(v float64, err error) { values, errs = append(values, v), append(errs, err) }
		say(SaturationIF97(c))
		say(SaturationTemperatureIF97(pv))
		for i, err := range errs {
			switch {
			case err != nil:
				assert.False(t, strings.ContainsAny(err.Error(), "\n\r"))
				assert.Zero(t, values[i], "a refusal has no value")
			case i == 6 && Vapour(c, rh) == 0: // dry air has no dew point
				assert.True(t, math.IsInf(values[i], 1))
			default:
				assert.False(t, math.IsNaN(values[i]) || math.IsInf(values[i], 0), "function %d gave %g", i, values[i])
			}
		}
		if v := values[5]; errs[5] == nil {
			assert.True(t, v >= 0 && v <= 100, "a surface of %g %%", v)
		}
	})
}
