package cure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bulk is a class whose pot lasts 30 min as 200 g at 25 °C and half as long as 800 g.
func bulk() *Class {
	app := &Curve{Form: Doubling{RefC: 25, Time: hour / 2, StepC: 10}, Temp: wide, Mass: &MassFactor{RefG: 200, Power: 0.5, MinG: 50, MaxG: 800, From: "a test"}}
	return &Class{ID: "test epoxy", Curves: [NumMilestones]*Curve{Application: app, Cured: rule(24)}}
}

func pot(g float64) Steady { s := in(25, 50); s.PotG = g; return s }

// t ∝ (m_ref/m)^b by hand: four times the mass halves the time at b = 0.5, a quarter
// doubles it.
func TestALargerPotIsShorterAndASmallOneLengthensNoLine(t *testing.T) {
	for _, row := range []struct{ g, line, likely float64 }{
		{0, 30, 30}, {200, 30, 30}, {800, 15, 15}, {450, 20, 20}, {50, 30, 60}, {10, 30, 60},
	} {
		for _, m := range []Milestone{Application, Assembly} {
			a := steady(t, bulk(), m, NotAfter, pot(row.g))
			assert.InDelta(t, row.line, a.Time.Minutes(), 1e-9, "%g g", row.g)
			assert.InDelta(t, row.likely, a.Likely.Minutes(), 1e-9, "%g g", row.g)
		}
		assert.InDelta(t, math.Max(row.likely, 30), steady(t, bulk(), Application, NotBefore, pot(row.g)).Time.Minutes(), 1e-9)
		assert.Equal(t, steady(t, bulk(), Cured, NotBefore, pot(0)).Time, steady(t, bulk(), Cured, NotBefore, pot(row.g)).Time, "a pot is nothing to what is laid")
		s := &Site{Air: constant(25, 50, 100), PotG: row.g}
		assert.InDelta(t, row.line/60, reach(t, s, bulk(), Application, NotAfter, 0), 1e-9)
		assert.InDelta(t, row.likely/60, reach(t, s, bulk(), Application, Likely, 0), 1e-9)
	}
}

func TestAPotMassThatIsNotSaidIsReported(t *testing.T) {
	assert.Contains(t, steady(t, bulk(), Application, NotAfter, pot(0)).Why, "pot mass is not said: 200 g is taken; a larger pot is shorter")
	assert.Contains(t, steady(t, bulk(), Application, NotAfter, pot(100)).Why, "a smaller pot than 200 g does not lengthen the line")
	assert.Contains(t, steady(t, bulk(), Application, NotAfter, pot(20)).Why, "a pot under 50 g is taken as 50 g")
	assert.Empty(t, steady(t, bulk(), Application, NotAfter, pot(300)).Why)
	assert.Empty(t, steady(t, bulk(), Cured, NotBefore, pot(0)).Why)
	assert.Contains(t, steady(t, only(rule(1)), Application, NotAfter, pot(300)).Why, "not known: it is left out")
	assert.Empty(t, steady(t, only(rule(1)), Application, NotAfter, pot(0)).Why)
}

func TestAPotOverTheRangeIsRefusedAndNotExtrapolated(t *testing.T) {
	s := pot(801)
	s.Extrapolate = true
	for _, m := range []Milestone{Application, Assembly} {
		_, err := bulk().Steady(m, NotAfter, s)
		var outside *RangeError
		require.ErrorAs(t, err, &outside)
		assert.True(t, outside.Final)
		assert.Contains(t, err.Error(), "a pot of 801 g is over the 800 g that its time holds for")
		_, err = (&Site{Air: constant(25, 50, 10), PotG: 801}).Reach(bulk(), m, NotAfter, t0)
		assert.ErrorAs(t, err, &outside)
	}
	_, err := bulk().Steady(Cured, NotBefore, s)
	assert.NoError(t, err)
}

func TestAPotMassThatCannotBeIsRefused(t *testing.T) {
	for _, g := range []float64{-1, math.NaN(), math.Inf(1)} {
		_, err := bulk().Steady(Application, NotAfter, pot(g))
		assert.ErrorContains(t, err, "no such mass of a pot")
		_, err = (&Site{Air: constant(25, 50, 10), PotG: g}).Reach(bulk(), Cured, NotBefore, t0)
		assert.ErrorContains(t, err, "no such mass of a pot")
	}
}

func TestAMassFactorThatCannotBeIsRefused(t *testing.T) {
	for _, row := range []struct {
		f    MassFactor
		want string
	}{
		{MassFactor{RefG: 0, Power: 1, MaxG: 1}, "reference mass"},
		{MassFactor{RefG: 1, Power: -1, MaxG: 1}, "a power of -1"},
		{MassFactor{RefG: 1, Power: math.NaN(), MaxG: 1}, "a power of NaN"},
		{MassFactor{RefG: 100, Power: 1, MinG: 1, MaxG: 50}, "outside the range, 1 to 50 g"},
		{MassFactor{RefG: 100, Power: 0, MaxG: 150}, "would last as long as"},
	} {
		assert.ErrorContains(t, row.f.Check(), row.want)
	}
	assert.NoError(t, bulk().Curves[Application].Mass.Check())
	assert.NoError(t, (&MassFactor{RefG: 193, MaxG: 193}).Check())
}

func TestPotLineNeverGrowsWithMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cl := bulk()
		f := cl.Curves[Application].Mass
		f.Power = rapid.Float64Range(0, 3).Draw(t, "power")
		a := rapid.Float64Range(0.1, 800).Draw(t, "a")
		b := rapid.Float64Range(a, 800).Draw(t, "b")
		ta, err := cl.Steady(Application, NotAfter, pot(a))
		require.NoError(t, err)
		tb, err := cl.Steady(Application, NotAfter, pot(b))
		require.NoError(t, err)
		assert.LessOrEqual(t, tb.Time, ta.Time)
		assert.LessOrEqual(t, ta.Time, ta.Likely)
	})
}
