package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"beadline/cure/air"
)

// line is the design of a straight line in x − at.
func line(x []float64, at float64) *mat.Dense {
	m := mat.NewDense(len(x), 2, nil)
	for i, v := range x {
		m.SetRow(i, []float64{1, v - at})
	}
	return m
}

// drawPoints draws conditions in which temperature, humidity and depth vary freely.
func drawPoints(t *rapid.T, least int) []Point {
	temps := rapid.SliceOfNDistinct(rapid.IntRange(-5, 60), least, 12, rapid.ID).Draw(t, "temps")
	var points []Point
	for i, c := range temps {
		p := Point{TempC: float64(c), RH: []float64{30, 70, 50, 85}[i%4], DepthMM: rapid.Float64Range(1, 10).Draw(t, "depth")}
		p.PV = air.Vapour(p.TempC, p.RH)
		points = append(points, p)
	}
	return points
}

// TestExactPointsGiveTheirParametersBack makes points by each form, without noise, and
// wants the parameters again to 1e-6.
func TestExactPointsGiveTheirParametersBack(t *testing.T) {
	for form := Front; form < Table; form++ {
		t.Run(form.String(), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				points := drawPoints(t, 6)
				ref := Reference{TempC: points[0].TempC, PV: air.Vapour(points[0].TempC, 50), DepthMM: 3}
				truth := Fit{Form: form}
				for _, name := range form.params() {
					p := Param{Name: name}
					switch name {
					case Time:
						p.Value = rapid.Float64Range(60, 30*86400).Draw(t, name)
					case Step:
						p.Value = rapid.Float64Range(5, 40).Draw(t, name)
					case Ea:
						p.Value = rapid.Float64Range(5e3, 120e3).Draw(t, name)
					case Power:
						p.Value = rapid.Float64Range(0.1, 3).Draw(t, name)
					}
					truth.Params = append(truth.Params, p)
				}
				for i := range points {
					points[i].Seconds = truth.At(points[i], ref)
				}
				got, err := Try(form, points, ref)
				require.NoError(t, err)
				require.Empty(t, got.Reason)
				for _, p := range truth.Params {
					assert.InEpsilon(t, p.Value, got.Param(p.Name).Value, 1e-6, p.Name)
					assert.Less(t, got.Param(p.Name).StdErr/p.Value, 1e-6, p.Name)
				}
				e, n := got.Error()
				assert.Equal(t, len(points), n)
				assert.Less(t, e, 1e-6)
			})
		})
	}
}

// TestFormThatMadeThePointsIsChosen holds for exact points of a doubling and of an
// Arrhenius law, with and without humidity.
func TestFormThatMadeThePointsIsChosen(t *testing.T) {
	ref := Reference{TempC: 20, PV: air.Vapour(20, 50), DepthMM: 3}
	for form, params := range map[Form][]Param{
		Doubling:       {{Name: Time, Value: 3600}, {Name: Step, Value: 9}},
		Arrhenius:      {{Name: Time, Value: 3600}, {Name: Ea, Value: 60e3}},
		DoublingHumid:  {{Name: Time, Value: 3600}, {Name: Step, Value: 15}, {Name: Power, Value: 0.8}},
		ArrheniusHumid: {{Name: Time, Value: 3600}, {Name: Ea, Value: 40e3}, {Name: Power, Value: 0.8}},
	} {
		truth := Fit{Form: form, Params: params}
		var points []Point
		for _, c := range []float64{0, 10, 20, 35, 50} {
			for _, rh := range []float64{30, 50, 80} {
				p := Point{TempC: c, RH: rh, PV: air.Vapour(c, rh)}
				p.Seconds = truth.At(p, ref)
				points = append(points, p)
			}
		}
		var fits []Fit
		for _, f := range Forms(points, false) {
			one, err := Try(f, points, ref)
			require.NoError(t, err)
			fits = append(fits, one)
		}
		best, why := Choose(fits)
		require.GreaterOrEqual(t, best, 0)
		assert.Equal(t, form, fits[best].Form, why)
	}
}

// TestLeftOutErrorIsThatOfTheHatMatrix: for a linear fit the left-out residual is
// e/(1 − h), h being the diagonal of the hat matrix (the PRESS statistic; textbook, from
// memory). The code refits instead.
func TestLeftOutErrorIsThatOfTheHatMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawPoints(t, 5)
		for i := range points {
			points[i].Seconds = 3600 * math.Exp(-0.05*points[i].TempC+rapid.Float64Range(-0.2, 0.2).Draw(t, "noise"))
		}
		ref := Reference{TempC: 20, PV: air.Vapour(20, 50)}
		f, err := Try(Arrhenius, points, ref)
		require.NoError(t, err)
		x, y := Arrhenius.design(points, ref)
		var normal, inverse, hat mat.Dense
		normal.Mul(x.T(), x)
		if inverse.Inverse(&normal) != nil {
			t.Skip("poorly conditioned for the plain formula")
		}
		hat.Product(x, &inverse, x.T())
		for i, p := range points {
			e := y[i] - math.Log(f.Fitted[i])
			assert.InDelta(t, e/(1-hat.At(i, i)), f.LeftOut[i], 1e-6, "%v", p)
		}
	})
}

func TestTwoRowsGiveASlopeWithoutAnError(t *testing.T) {
	points := []Point{{TempC: 25, Seconds: 14 * 86400}, {TempC: 40, Seconds: 7 * 86400}}
	var fits []Fit
	for _, form := range Forms(points, false) {
		f, err := Try(form, points, Reference{TempC: 25})
		require.NoError(t, err)
		require.Empty(t, f.Reason)
		_, n := f.Error()
		assert.Zero(t, n)
		fits = append(fits, f)
	}
	assert.InDelta(t, 15, fits[0].Param(Step).Value, 1e-9)
	assert.True(t, math.IsNaN(fits[0].Param(Step).StdErr))
	best, why := Choose(fits)
	assert.Equal(t, Table, fits[best].Form)
	assert.Contains(t, why, "too few rows")
}

// TestTableCannotLeaveOutItsEnds: only the inner points count, and a form is compared
// with a table over those alone.
func TestTableCannotLeaveOutItsEnds(t *testing.T) {
	points := []Point{{TempC: 0, Seconds: 1000}, {TempC: 10, Seconds: 900}, {TempC: 20, Seconds: 300}, {TempC: 30, Seconds: 280}, {TempC: 40, Seconds: 20}}
	f, err := Try(Table, points, Reference{TempC: 20})
	require.NoError(t, err)
	_, n := f.Error()
	assert.Equal(t, 3, n)
	assert.True(t, math.IsNaN(f.LeftOut[0]) && math.IsNaN(f.LeftOut[4]))
	x := func(c float64) float64 { return 1 / (c + kelvin) }
	between := math.Log(1000) + (math.Log(300)-math.Log(1000))*(x(10)-x(0))/(x(20)-x(0))
	assert.InDelta(t, math.Log(900)-between, f.LeftOut[1], 1e-12)
}

// TestBentPointsMakeATable: a sheet with a real bend is better read between its rows
// than along any straight slope.
func TestBentPointsMakeATable(t *testing.T) {
	var points []Point
	for _, c := range []float64{0, 5, 10, 15, 20, 25, 30, 35, 40} {
		points = append(points, Point{TempC: c, Seconds: 3600 * math.Exp(-0.002*c*c-0.01*c)})
	}
	var fits []Fit
	for _, form := range Forms(points, false) {
		f, err := Try(form, points, Reference{TempC: 25})
		require.NoError(t, err)
		fits = append(fits, f)
	}
	best, why := Choose(fits)
	assert.Equal(t, Table, fits[best].Form, why)
	assert.Contains(t, why, "on the 7 rows that both can leave out")
}

func TestPointsThatNoFormFitsAreRefusedInWords(t *testing.T) {
	ref := Reference{TempC: 25, PV: air.Vapour(25, 50), DepthMM: 2}
	warm := []Point{{TempC: 10, Seconds: 100}, {TempC: 20, Seconds: 200}, {TempC: 30, Seconds: 300}}
	one := []Point{{TempC: 10, Seconds: 100}, {TempC: 10, Seconds: 110}, {TempC: 10, Seconds: 90}}
	deep := []Point{{TempC: 10, RH: 50, PV: 6, DepthMM: 2, Seconds: 100}, {TempC: 20, RH: 50, PV: 12, DepthMM: 4, Seconds: 90}}
	for _, c := range []struct {
		form   Form
		points []Point
		want   string
	}{
		{Doubling, warm, "does not fall with temperature"},
		{Arrhenius, warm, "does not fall with temperature"},
		{Doubling, one, "one temperature"},
		{Table, one, "one temperature"},
		{Doubling, warm[:1], "needs 3 rows"},
		{DoublingHumid, warm, "not every row gives a humidity"},
		{Front, warm, "not every row gives a humidity"},
		{Front, []Point{{TempC: 10, RH: 50, PV: 6, Seconds: 1}}, "not every row gives a bead"},
		{FrontEa, deep, "needs 3 rows"},
		{Table, deep, "no depth of bead"},
	} {
		f, err := Try(c.form, c.points, ref)
		require.NoError(t, err)
		assert.Contains(t, f.Reason, c.want, c.form)
	}
	for _, p := range []Point{{TempC: 20}, {TempC: math.NaN(), Seconds: 1}, {TempC: -300, Seconds: 1}, {Seconds: math.Inf(1)}, {RH: -1, Seconds: 1}} {
		_, err := Try(Doubling, []Point{p}, ref)
		assert.Error(t, err, "%v", p)
	}
	best, _ := Choose(nil)
	assert.Equal(t, -1, best)
}

func TestHumidityAlongTemperatureIsConfounded(t *testing.T) {
	at := func(pairs ...float64) (points []Point) {
		for i := 0; i < len(pairs); i += 2 {
			points = append(points, Point{TempC: pairs[i], RH: pairs[i+1], Seconds: 1})
		}
		return points
	}
	assert.True(t, Confounded(at(10, 80, 20, 50, 30, 30)))
	assert.True(t, Confounded(at(10, 80, 30, 30)))
	assert.False(t, Confounded(at(10, 50, 30, 50)))
	assert.False(t, Confounded(at(10, 30, 10, 80, 30, 30, 30, 80)))
	assert.False(t, Confounded(at(10, 0, 20, 0)))
}

func TestNonlinearRefusesWhatHasNoAnswer(t *testing.T) {
	constant := Model{Points: 3, Residuals: func(dst, _ []float64) { dst[0], dst[1], dst[2] = 1, 2, 3 }}
	_, err := Nonlinear(constant, []float64{1})
	assert.ErrorIs(t, err, ErrTogether)
	_, err = Nonlinear(Model{Points: 1}, []float64{1, 2})
	assert.ErrorContains(t, err, "fewer points")
	bad := Model{Points: 2, Residuals: func(dst, p []float64) { dst[0], dst[1] = math.NaN(), p[0] }}
	_, err = Nonlinear(bad, []float64{1})
	assert.ErrorContains(t, err, "at the start")
	_, err = Linear(mat.NewDense(3, 2, []float64{1, 1, 1, 1, 1, 1}), []float64{1, 2, 3})
	assert.ErrorIs(t, err, ErrTogether)
}

// FuzzTry: whatever the numbers, an answer or an error, and no parameters of a usable
// form that are no numbers.
func FuzzTry(f *testing.F) {
	f.Add(5., 20., 15., 15., 25., 10., 50.)
	f.Add(5., 20., 5., 15., 25., 10., 0.)
	f.Add(-300., 1e308, 1e-308, 1., 25., 10., 100.)
	f.Fuzz(func(t *testing.T, t1, s1, t2, s2, t3, s3, rh float64) {
		points := []Point{{TempC: t1, Seconds: s1, RH: rh, PV: 10, DepthMM: 2}, {TempC: t2, Seconds: s2, RH: rh / 2, PV: 5, DepthMM: 3}, {TempC: t3, Seconds: s3, RH: rh, PV: 10, DepthMM: 4}, {TempC: t3, Seconds: s1, RH: rh, PV: 20, DepthMM: 4}}
		var fits []Fit
		for form := range numForms {
			one, err := Try(form, points, Reference{TempC: 25, PV: 15, DepthMM: 2})
			if err != nil {
				return
			}
			if one.Reason == "" {
				for _, p := range one.Params {
					assert.False(t, math.IsNaN(p.Value), "%s %s", form, p.Name)
				}
			}
			fits = append(fits, one)
		}
		Choose(fits)
	})
}
