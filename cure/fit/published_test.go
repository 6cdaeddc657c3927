package fit

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/air"
	"beadline/cure/quantity"
)

// TestPublishedFits holds the fits to what others derived from the same points, and to
// SciPy's curve_fit. (The linear set Norris of the NIST/ITL StRD is not checked: its data
// are not at hand. The straight line below and the nonlinear sets stand in for it.)
func TestPublishedFits(t *testing.T) {
	for i, r := range readSourced(t, "../../testdata/published/fit.csv") {
		t.Run(fmt.Sprintf("line %d %s", i+2, r["quantity"]), func(t *testing.T) {
			var form Form
			var points []Point
			ref := Reference{TempC: 25, PV: air.Vapour(25, 50), DepthMM: 2}
			for _, in := range strings.Fields(r["inputs"]) {
				name, value, _ := strings.Cut(in, "=")
				switch name {
				case "form":
					form = formNamed(t, strings.ReplaceAll(value, "_", " "))
				case "points":
					points = readPoints(t, value)
				default:
					require.Equal(t, "ref=25C", in)
				}
			}
			f, err := Try(form, points, ref)
			require.NoError(t, err)
			require.Empty(t, f.Reason)
			assert.InDelta(t, number(t, r["value"]), published(t, &f, r["quantity"]), number(t, r["tolerance"]), r["source"])
		})
	}
}

func published(t *testing.T, f *Fit, quantity string) float64 {
	name, wantError := strings.CutSuffix(quantity, " error")
	switch name {
	case "q10":
		return f.Q10
	case "rms":
		return 100 * f.RMS
	case Time, Step, Ea, Power:
		p := f.Param(name)
		v := p.Value
		if wantError {
			v = p.StdErr
		}
		if name == Ea {
			v /= 1000
		}
		return v
	}
	require.Fail(t, "nothing computes "+quantity)
	return 0
}

func formNamed(t *testing.T, name string) Form {
	for f := range numForms {
		if f.String() == name {
			return f
		}
	}
	require.Fail(t, "no form "+name)
	return 0
}

// readPoints reads 25C/50%/2mm:24h;… with humidity and depth where they are given.
func readPoints(t *testing.T, list string) []Point {
	var points []Point
	for _, one := range strings.Split(list, ";") {
		at, time, _ := strings.Cut(one, ":")
		parts := strings.Split(at, "/")
		var p Point
		var err error
		p.TempC, err = quantity.Temp(parts[0])
		require.NoError(t, err)
		if len(parts) > 1 {
			p.RH, err = quantity.Humidity(parts[1])
			require.NoError(t, err)
			p.PV = air.Vapour(p.TempC, p.RH)
		}
		if len(parts) > 2 {
			p.DepthMM, err = quantity.Length(parts[2])
			require.NoError(t, err)
		}
		d, err := quantity.Span(time)
		require.NoError(t, err)
		p.Seconds = d.Seconds()
		points = append(points, p)
	}
	return points
}

// TestStraightLineOfTheGUM is the calibration of a thermometer in JCGM 100:2008, Annex
// H.3 (tables H.6, H.3.3, H.3.4): b(t) = y1 + y2 (t − 20 °C); last printed digit.
func TestStraightLineOfTheGUM(t *testing.T) {
	temps := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	s, err := Linear(line(temps, 20), b)
	require.NoError(t, err)
	assert.InDelta(t, -0.1712, s.Params[0], 0.00005)
	assert.InDelta(t, 0.0029, s.StdErr[0], 0.00005)
	assert.InDelta(t, 0.00218, s.Params[1], 0.000005)
	assert.InDelta(t, 0.00067, s.StdErr[1], 0.000005)
	assert.InDelta(t, -0.930, s.Cov.At(0, 1)/s.StdErr[0]/s.StdErr[1], 0.0005)
	assert.InDelta(t, 0.0035, s.S, 0.00005)
	assert.InDelta(t, -0.1494, s.Params[0]+10*s.Params[1], 0.00005)
	u := s.Cov.At(0, 0) + 100*s.Cov.At(1, 1) + 20*s.Cov.At(0, 1)
	assert.InDelta(t, 0.0041, math.Sqrt(u), 0.00005)
}
