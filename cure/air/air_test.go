package air

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// publishedFile holds values printed outside this project, one per row.
const publishedFile = "../../testdata/published/air.csv"

type publishedRow struct {
	line             int
	quantity         string
	inputs           map[string]float64
	value, tolerance float64
	source           string
}

// readPublished reads rows of quantity,inputs,value,tolerance,unit,source,how. A
// row that does not say its source and how it is known is an error, as is a
// tolerance of zero or less.
func readPublished(r io.Reader) ([]publishedRow, error) {
	c := csv.NewReader(r)
	records, err := c.ReadAll()
	if err != nil {
		return nil, err
	}
	if got := strings.Join(records[0], ","); got != "quantity,inputs,value,tolerance,unit,source,how" {
		return nil, fmt.Errorf("header is %q", got)
	}
	var rows []publishedRow
	for i, f := range records[1:] {
		row := publishedRow{line: i + 2, quantity: f[0], inputs: map[string]float64{}, source: f[5]}
		for _, in := range strings.Fields(f[1]) {
			name, value, _ := strings.Cut(in, "=")
			if row.inputs[name], err = strconv.ParseFloat(value, 64); err != nil {
				return nil, fmt.Errorf("line %d: %w", row.line, err)
			}
		}
		if row.value, err = strconv.ParseFloat(f[2], 64); err != nil {
			return nil, fmt.Errorf("line %d: %w", row.line, err)
		}
		if row.tolerance, err = strconv.ParseFloat(f[3], 64); err != nil || row.tolerance <= 0 {
			return nil, fmt.Errorf("line %d: tolerance %q", row.line, f[3])
		}
		if strings.TrimSpace(f[5]) == "" || strings.TrimSpace(f[6]) == "" {
			return nil, fmt.Errorf("line %d: no source, or not said how it is known", row.line)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// published computes a row's quantity, and the comments say why its rows have the
// tolerances that they have.
func published(q string, in func(name string) float64) (float64, error) {
	switch q {
	case "saturation":
		// WMO: half of the last printed digit; 25 °C: 0.05 %, as the collection says.
		// Rows of another formula: 0.3 %, by which the two formulas differ.
		return CheckedSaturation(in("t"))
	case "dew-point":
		// The table prints tenths; a tenth is allowed for its own formula.
		return CheckedDewPoint(Vapour(in("t"), in("rh")))
	case "humidity":
		// The peer prints every digit: 1e-12 of the value.
		return CheckedHumidity(in("t"), Saturation(in("td")))
	case "if97-saturation":
		// Half of the last printed digit; another formula (Hyland-Wexler): 0.03 %; the
		// critical pressure is a defined value that equation 30 gives to 1e-10. Rows with
		// all digits: 1e-12 of the value, so that no coefficient can lose one.
		hPa, err := SaturationIF97(in("k") - kelvin)
		return hPa / hPaPerMPa, err
	case "if97-saturation-temperature":
		// Half of the last digit, of the printed pressure over the slope dp/dT there.
		t, err := SaturationTemperatureIF97(in("mpa") * hPaPerMPa)
		return t + kelvin, err
	case "absolute-humidity":
		// 0.3 %: the glossary does not say its formula; WMO and IF97 differ by as much. The
		// computed row holds the constants to their digits.
		return CheckedAbsoluteHumidity(in("t"), in("rh"))
	case "surface-humidity":
		return CheckedSurfaceHumidity(in("t"), in("rh"), in("surface")) // as humidity
	case "dew-spread":
		return CheckedDewSpread(in("t"), in("rh"), in("surface")) // as dew-point
	}
	return 0, fmt.Errorf("no such quantity as %q", q)
}

func TestPublishedValuesOfHumidAir(t *testing.T) {
	f, err := os.Open(publishedFile)
	require.NoError(t, err)
	defer f.Close()
	rows, err := readPublished(f)
	require.NoError(t, err)
	seen := map[string]int{}
	for _, r := range rows {
		in := func(name string) float64 {
			v, ok := r.inputs[name]
			require.True(t, ok, "line %d: no input %s", r.line, name)
			return v
		}
		got, err := published(r.quantity, in)
		require.NoError(t, err, "line %d", r.line)
		seen[r.quantity]++
		assert.InDelta(t, r.value, got, r.tolerance, "line %d: %s %v, %s", r.line, r.quantity, r.inputs, r.source)
	}
	// Fewer rows than when this was written means that a check was lost.
	for quantity, rows := range map[string]int{
		"saturation": 7, "dew-point": 4, "humidity": 5, "if97-saturation": 7, "if97-saturation-temperature": 6,
		"absolute-humidity": 2, "surface-humidity": 5, "dew-spread": 4,
	} {
		assert.GreaterOrEqual(t, seen[quantity], rows, quantity)
	}
}

func TestPublishedRowWithoutSourceIsRefused(t *testing.T) {
	const head = "quantity,inputs,value,tolerance,unit,source,how\n"
	_, err := readPublished(strings.NewReader(head + "saturation,t=0,6.112,0.1,hPa,a handbook,read\n"))
	require.NoError(t, err)
	for _, bad := range []string{
		"saturation,t=0,6.112,0.1,hPa,,read\n",
		"saturation,t=0,6.112,0.1,hPa, ,read\n",
		"saturation,t=0,6.112,0.1,hPa,a handbook,\n",
		"saturation,t=0,6.112,0,hPa,a handbook,read\n",
		"saturation,t=0,6.112,0.1,hPa\n",
	} {
		_, err := readPublished(strings.NewReader(head + bad))
		assert.Error(t, err, bad)
	}
}

// temps draws a temperature over the range WMO-No. 8 states.
func temps() *rapid.Generator[float64] { return rapid.Float64Range(MinC, MaxC) }

func TestDewPointUndoesSaturation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := temps().Draw(t, "t")
		require.InDelta(t, c, DewPoint(Saturation(c)), 1e-9)
	})
}

func TestSaturationUndoesDewPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pv := rapid.Float64Range(Saturation(MinC), Saturation(MaxC)).Draw(t, "pv")
		require.InEpsilon(t, pv, Saturation(DewPoint(pv)), 1e-12)
	})
}

func TestHumidityUndoesVapour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := temps().Draw(t, "t")
		rh := rapid.Float64Range(0, 100).Draw(t, "rh")
		require.InDelta(t, rh, Humidity(c, Vapour(c, rh)), 1e-10)
	})
}

func TestWarmerAirHoldsMoreVapour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-200, 200).Draw(t, "a")
		b := a + rapid.Float64Range(1e-3, 100).Draw(t, "warmer by")
		require.Less(t, Saturation(a), Saturation(b))
		pv := rapid.Float64Range(1e-6, 100).Draw(t, "pv")
		// The same vapour is less of the warmer air: RH falls as a part warms.
		require.Greater(t, Humidity(a, pv), Humidity(b, pv))
	})
}

func TestMoreVapourRaisesTheDewPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pv := rapid.Float64Range(1e-6, 150).Draw(t, "pv")
		more := pv * (1 + rapid.Float64Range(1e-6, 1).Draw(t, "more"))
		require.Less(t, DewPoint(pv), DewPoint(more))
	})
}

func TestDewPointIsNeverAboveTheAirThatIsNotSaturated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := temps().Draw(t, "t")
		rh := rapid.Float64Range(0.01, 100).Draw(t, "rh")
		require.LessOrEqual(t, DewPoint(Vapour(c, rh)), c+1e-9)
	})
	assert.InDelta(t, 23, DewPoint(Vapour(23, 100)), 1e-9)
}

func TestDryAirHasNoDewPoint(t *testing.T) {
	assert.True(t, math.IsInf(DewPoint(0), -1))
	assert.True(t, math.IsInf(DewPoint(-1), -1))
	assert.True(t, math.IsInf(DewPoint(Vapour(20, 0)), -1))
}

func TestHumidityAboveTheCapIsNotHidden(t *testing.T) {
	// Air of 20 C and 50 % against a part at 5 C: wet. The WMO formula in Python:
	// 100 * 11.662980 hPa / 8.717427 hPa.
	assert.InDelta(t, 133.78924, Humidity(5, Vapour(20, 50)), 1e-5)
}

func TestSaturationIsZeroAtAndBelowThePole(t *testing.T) {
	assert.Zero(t, Saturation(-243.12))
	assert.Zero(t, Saturation(-273.15))
	assert.GreaterOrEqual(t, Saturation(-243.11), 0.0)
}

func BenchmarkDewPoint(b *testing.B) {
	var sink float64
	for i := range b.N {
		sink += DewPoint(Vapour(float64(i%40), 55))
	}
	if math.IsNaN(sink) {
		b.Fatal("not a number")
	}
}
