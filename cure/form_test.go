package cure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTableIsStraightInLogTimeOverInverseKelvinAndOverHumidity(t *testing.T) {
	tab := must(NewTable([]TablePoint{{10, 40, 8 * hour}, {10, 60, 4 * hour}, {30, 40, 2 * hour}, {30, 60, hour}}, Air{30, 60}))
	x0, x1 := 1/283.15, 1/303.15
	mid := 2/(x0+x1) - kelvin // half way in 1/T
	assert.InDelta(t, 4*hour, tab.Seconds(mid, 40, 0, Bead{}), 1e-6)
	assert.InDelta(t, hour*math.Sqrt2, tab.Seconds(30, 50, 0, Bead{}), 1e-6)
	assert.InDelta(t, 4*hour/math.Sqrt2, tab.Seconds(mid, 50, 0, Bead{}), 1e-6)
	assert.Equal(t, Air{30, 60}, tab.Reference())
	temps, rhs := tab.Breaks()
	assert.Equal(t, []float64{10, 30}, temps)
	assert.Equal(t, []float64{40, 60}, rhs)
	a, b, c, d := tab.Span()
	assert.Equal(t, []float64{10, 30, 40, 60}, []float64{a, b, c, d})
}

func TestTableGoesOnAtItsOutermostSlope(t *testing.T) {
	tab := must(NewTable([]TablePoint{{10, 0, 8 * hour}, {20, 0, 4 * hour}, {30, 0, 2 * hour}}, Air{20, 0}))
	slope := math.Log(2) / (1/293.15 - 1/303.15)
	assert.InDelta(t, 2*hour*math.Exp(slope*(1/313.15-1/303.15)), tab.Seconds(40, 0, 0, Bead{}), 1e-6)
	assert.Equal(t, math.Inf(1), tab.Seconds(-300, 0, 0, Bead{}))
}

// A sheet that is silent on humidity is read at the humidity that stands for it, so
// that a humidity factor of its own has a reference.
func TestTableWithoutHumidityHasAUsualReference(t *testing.T) {
	tab := must(NewTable([]TablePoint{{10, 0, 8 * hour}, {30, 0, 2 * hour}}, Air{TempC: 30}))
	c := &Curve{Form: tab, Temp: wide, Humidity: &HumidityFactor{Power: 1, RefPV: Air{30, 50}.Vapour()}}
	assert.InDelta(t, 2*hour, c.Rated(Bead{}), 1e-6)
	assert.InDelta(t, 2, line(t, c, Application, NotAfter, Air{10, 20}), wantErr)
}

func TestTableOfASecondKeepsIt(t *testing.T) {
	tab := must(NewTable([]TablePoint{{10, 0, 2}, {30, 0, 1}}, Air{TempC: 30}))
	assert.InDelta(t, 1, tab.Seconds(30, 0, 0, Bead{}), 1e-12)
	_, err := NewTable([]TablePoint{{10, 0, 2}, {30, 0, 1}, {30, 0, 1}}, Air{TempC: 30})
	assert.ErrorContains(t, err, "two points")
}

func TestTableRefusesPointsThatMakeNoCurve(t *testing.T) {
	nan := math.NaN()
	for _, row := range []struct {
		want   string
		points []TablePoint
		ref    Air
	}{
		{"two temperatures", []TablePoint{{10, 0, 2}}, Air{10, 0}},
		{"two temperatures", nil, Air{}},
		{"must be more than zero", []TablePoint{{10, 0, 2}, {20, 0, 0}}, Air{10, 0}},
		{"must be more than zero", []TablePoint{{10, 0, 2}, {20, 0, nan}}, Air{10, 0}},
		{"must be more than zero", []TablePoint{{10, 0, math.Inf(1)}, {20, 0, 1}}, Air{10, 0}},
		{"no such temperature", []TablePoint{{nan, 0, 2}, {20, 0, 1}}, Air{20, 0}},
		{"no such temperature", []TablePoint{{-300, 0, 2}, {20, 0, 1}}, Air{20, 0}},
		{"no such humidity", []TablePoint{{10, nan, 2}, {20, 0, 1}}, Air{20, 0}},
		{"no such humidity", []TablePoint{{10, 101, 2}, {20, 0, 1}}, Air{20, 0}},
		{"does not fall", []TablePoint{{10, 0, 2}, {20, 0, 2}}, Air{20, 0}},
		{"fill the grid", []TablePoint{{10, 40, 2}, {20, 50, 1}}, Air{20, 50}},
		{"not one of the table's points", []TablePoint{{10, 0, 2}, {20, 0, 1}}, Air{15, 0}},
		{"not one of the table's points", []TablePoint{{10, 0, 2}, {20, 0, 1}}, Air{nan, 0}},
		{"too close", []TablePoint{{20, 0, 2}, {math.Nextafter(20, 30), 0, 1}}, Air{20, 0}},
		{"too close", []TablePoint{{10, 40, 2}, {20, 40, 1}, {10, 40.001, 2}, {20, 40.001, 1}}, Air{20, 40}},
	} {
		_, err := NewTable(row.points, row.ref)
		assert.ErrorContains(t, err, row.want, "%v", row.points)
	}
}

func TestFormsRefuseParametersOutsideTheirRange(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	front := func(change func(*Front)) Front {
		f := acetoxy
		change(&f)
		return f
	}
	for want, forms := range map[string][]Form{
		"time must be more than zero": {Doubling{25, 0, 10}, Doubling{25, nan, 10}, Doubling{25, inf, 10}, Arrhenius{25, -1, 5e4}, front(func(f *Front) { f.Time = nan })},
		"reference temperature":       {Doubling{nan, 1, 10}, Arrhenius{-300, 1, 5e4}, front(func(f *Front) { f.Ref.TempC = inf })},
		"step":                        {Doubling{25, 1, 0}, Doubling{25, 1, nan}, Doubling{25, 1, 2}, Doubling{25, 1, 61}},
		"activation energy":           {Arrhenius{25, 1, 0}, Arrhenius{25, 1, nan}, Arrhenius{25, 1, 4e5}, front(func(f *Front) { f.Ea = -1 }), front(func(f *Front) { f.Ea = nan })},
		"reference depth":             {front(func(f *Front) { f.DepthMM = 0 }), front(func(f *Front) { f.DepthMM = nan })},
		"reference humidity":          {front(func(f *Front) { f.Ref.RH = 0 }), front(func(f *Front) { f.Ref.RH = 101 }), front(func(f *Front) { f.Ref.RH = nan })},
	} {
		for _, f := range forms {
			assert.ErrorContains(t, f.Check(), want, "%#v", f)
		}
	}
	tab := must(NewTable([]TablePoint{{10, 0, 2}, {20, 0, 1}}, Air{20, 0}))
	for name, f := range map[string]Form{"doubling": Doubling{25, 1, 10}, "arrhenius": Arrhenius{25, 1, 5e4}, "front": acetoxy, "table": tab} {
		require.NoError(t, f.Check())
		assert.Equal(t, name, f.Name())
		r := f.Reference()
		assert.InDelta(t, (&Curve{Form: f}).Rated(Bead{}), f.Seconds(r.TempC, r.RH, r.Vapour(), Bead{}), 0)
	}
	assert.Equal(t, math.Inf(1), Arrhenius{25, 1, 5e4}.Seconds(-273.15, 0, 0, Bead{}))
}

func TestFrontsActivationEnergyComesOnTopOfVapour(t *testing.T) {
	f := acetoxy
	f.Ea = 40e3
	want := 24 * hour * acetoxy.Ref.Vapour() / 10 * math.Exp(40e3/GasConstant*(1/288.15-1/298.15))
	assert.InDelta(t, want, f.Seconds(15, 0, 10, Bead{DepthMM: 2}), 1e-6)
}

func TestHumidityFactorIsStraightInLogAndFlatOutside(t *testing.T) {
	h := &HumidityFactor{Points: []HumidityPoint{{30, 4}, {50, 1}, {70, 0.25}}}
	for rh, want := range map[float64]float64{0: 4, 30: 4, 40: 2, 50: 1, 60: 0.5, 70: 0.25, 100: 0.25} {
		assert.InDelta(t, want, h.at(rh, 0), 1e-12, "%g %%", rh)
	}
	p := &HumidityFactor{Power: 2, RefPV: 16}
	assert.InDelta(t, 4, p.at(0, 8), 1e-12)
	assert.Equal(t, math.Inf(1), p.at(0, 0))
}

func TestClassTakesItsSeals(t *testing.T) {
	cl := &Class{Seals: []Seal{Faying}}
	assert.True(t, cl.Takes(Faying))
	assert.False(t, cl.Takes(Fillet))
	assert.Len(t, SealTypes, 6)
	assert.Equal(t, []string{"typical", "minimum", "maximum"}, []string{Typical.String(), Minimum.String(), Maximum.String()})
}
