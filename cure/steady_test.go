package cure

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

func TestConstantAirOutsideTheRangeIsRefusedWithTheRange(t *testing.T) {
	c := rule(10)
	c.Temp, c.RH, c.MaxDepth = quantity.Range{Lo: 5, Hi: 40}, quantity.Range{Lo: 20, Hi: 90}, 6
	deep := in(25, 50)
	deep.Bead.DepthMM = 7
	for _, row := range []struct {
		s    Steady
		want string
	}{
		{in(4.9, 50), "test class cure: 4.9 C is outside the curve's range, 5 to 40 C"},
		{in(40.1, 50), "test class cure: 40.1 C is outside the curve's range, 5 to 40 C"},
		{in(25, 19), "test class cure: 19 % RH is outside the curve's range, 20 to 90 %"},
		{in(25, 91), "test class cure: 91 % RH is outside the curve's range, 20 to 90 %"},
		{deep, "test class cure: a bead 7 mm deep is outside the curve's range, at most 6 mm"},
	} {
		_, err := only(c).Steady(Cured, NotBefore, row.s)
		var out *RangeError
		require.True(t, errors.As(err, &out), row.want)
		assert.EqualError(t, err, row.want)
		row.s.Extrapolate = true
		a := steady(t, only(c), Cured, NotBefore, row.s)
		assert.True(t, a.Extrapolated, row.want)
		assert.False(t, a.Never, row.want)
	}
	for _, edge := range []Steady{in(5, 50), in(40, 50), in(25, 20), in(25, 90)} {
		a := steady(t, only(c), Cured, NotBefore, edge)
		assert.False(t, a.Extrapolated || a.Never)
	}
}

// An anaerobic does not cure over a gap of about 0.76 mm (0.030 in: adhesives
// handbooks): no extrapolation makes it.
func TestAGapLargerThanTheClassCuresInIsRefused(t *testing.T) {
	cl := only(rule(10))
	cl.MaxGapMM = 0.76
	s := in(25, 50)
	s.Bead.DepthMM = 0.8
	const want = "test class cure: a gap of 0.8 mm is over the 0.76 mm it cures in"
	for _, s.Extrapolate = range []bool{false, true} {
		_, err := cl.Steady(Cured, NotBefore, s)
		var out *RangeError
		require.True(t, errors.As(err, &out))
		assert.True(t, out.Final)
		assert.EqualError(t, err, want)
	}
	start := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	h, err := NewHistory([]Piece{{Samples: []Sample{{At: start, Air: Air{25, 50}}}}}, start, start.Add(100*time.Hour))
	require.NoError(t, err)
	site := Site{Air: h, Bead: Bead{DepthMM: 0.8}}
	_, err = site.Reach(cl, Cured, NotBefore, start)
	assert.EqualError(t, err, want)
	s.Bead.DepthMM = 0.76
	assert.Equal(t, 10*time.Hour, steady(t, cl, Cured, NotBefore, s).Time)
	s.Bead.DepthMM = 0
	assert.Contains(t, steady(t, cl, Cured, NotBefore, s).Why, "at most 0.76 mm")
}

func TestHumidityRangeOfAPotCurveIsKeptToo(t *testing.T) {
	c := rule(2)
	c.RH = quantity.Range{Lo: 20, Hi: 90}
	_, err := only(c).Steady(Application, NotAfter, in(25, 95))
	assert.ErrorContains(t, err, "outside the curve's range")
}

func TestExtrapolatedNumbersStayOnTheSafeSide(t *testing.T) {
	c := rule(10)
	c.Temp = quantity.Range{Lo: 10, Hi: 30}
	cl := only(c)
	cold, hot := in(5, 50), in(45, 50)
	cold.Extrapolate, hot.Extrapolate = true, true
	assert.Equal(t, 40*time.Hour, steady(t, cl, Cured, NotBefore, cold).Time)
	assert.Equal(t, 10*time.Hour, steady(t, cl, Cured, NotBefore, hot).Time)
	assert.Equal(t, 10*time.Hour, steady(t, cl, Application, NotAfter, cold).Time)
	assert.Equal(t, 150*time.Minute, steady(t, cl, Application, NotAfter, hot).Time)
	assert.Equal(t, 150*time.Minute, steady(t, cl, Cured, NotBefore, hot).Likely)
}

func TestTooDryIsByWitnessWithTheLikelyTimeAsInformation(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40, ClosedWitness: true}
	a := steady(t, cl, Cured, NotBefore, in(25, 30))
	assert.True(t, a.ByWitness && a.Never)
	assert.Zero(t, a.Time)
	assert.Equal(t, 10*time.Hour, a.Likely)
	assert.Contains(t, a.Why, "30 % RH at the part is under 40 %")

	s := in(25, 60)
	s.Bead.Closed = true
	a = steady(t, cl, Cured, NotBefore, s)
	assert.True(t, a.ByWitness && a.Never, "a closed film sees no moisture: there is no calculated line")
	assert.Zero(t, a.Time)
	assert.Equal(t, 10*time.Hour, a.Likely)

	a = steady(t, cl, Application, NotAfter, in(25, 30))
	assert.False(t, a.ByWitness || a.Never)
	assert.Equal(t, 10*time.Hour, a.Time)
}

func TestTooDryIsJudgedAtThePartInConstantAir(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	s := in(20, 50)
	s.PartC = 25 // 37 %
	assert.True(t, steady(t, cl, Cured, NotBefore, s).ByWitness)
	s.Air.RH, s.PartC = 30, 12 // 50 %
	assert.False(t, steady(t, cl, Cured, NotBefore, s).ByWitness)
}

func TestMoistureCureAtNoHumidityNeverComes(t *testing.T) {
	c := &Curve{Form: acetoxy, Temp: wide}
	a := steady(t, only(c), Cured, NotBefore, in(40, 0))
	assert.True(t, a.Never && a.LikelyNever)
	assert.Contains(t, a.Why, "no cure without moisture")
	c.RH = quantity.Range{Lo: 5, Hi: 95}
	_, err := only(c).Steady(Cured, NotBefore, in(40, 0))
	assert.ErrorContains(t, err, "0 % RH is outside the curve's range, 5 to 95 %")
}

func TestAFrontWithoutADepthSaysWhatItTook(t *testing.T) {
	a := steady(t, only(&Curve{Form: acetoxy, Temp: wide}), Cured, NotBefore, in(25, 50))
	assert.Equal(t, "no depth is given: 2 mm is taken", a.Why)
	assert.InDelta(t, 24, a.Time.Hours(), 1e-9)
}

func TestEachMilestoneTakesItsOwnTemperature(t *testing.T) {
	cl := only(rule(10))
	s := Steady{Air: Air{15, 50}, PotC: 35, PartC: 5}
	assert.Equal(t, 5*time.Hour, steady(t, cl, Application, NotAfter, s).Time)
	assert.Equal(t, 5*time.Hour, steady(t, cl, Assembly, NotAfter, s).Time)
	assert.Equal(t, 40*time.Hour, steady(t, cl, TackFree, NotBefore, s).Time)
	assert.Equal(t, 40*time.Hour, steady(t, cl, Assembly, NotBefore, s).Time)
	s = Steady{Air: Air{15, 50}, PotC: 25, PartC: 35}
	assert.Equal(t, 10*time.Hour, steady(t, cl, Application, NotAfter, s).Time)
	assert.Equal(t, 5*time.Hour, steady(t, cl, Assembly, NotAfter, s).Time)
	s = Steady{Air: Air{35, 50}, PotC: 23, PartC: 15}
	assert.Equal(t, 5*time.Hour, steady(t, cl, Application, NotAfter, s).Time)
	assert.Equal(t, 5*time.Hour, steady(t, cl, Assembly, NotAfter, s).Time, "no later than application")
}

func TestConstantAirAgreesWithAConstantHistory(t *testing.T) {
	c := rule(10)
	c.Shorter, c.Longer = 0.1, 0.2
	cl := only(c)
	for m := Application; m < NumMilestones; m++ {
		for _, l := range []Line{NotAfter, NotBefore, Likely} {
			for _, temp := range []float64{0, 15, 25, 40} {
				got := reach(t, &Site{Air: constant(temp, 50, 500)}, cl, m, l, 0)
				assert.InDelta(t, got, steady(t, cl, m, l, in(temp, 50)).Time.Hours(), wantErr)
			}
		}
	}
}

func TestConditionsThatCannotBeAreRefused(t *testing.T) {
	bad := in(25, 50)
	bad.Bead.DepthMM = math.NaN()
	for _, s := range []Steady{in(math.NaN(), 50), in(25, 120), in(25, -1), in(-273, 50), in(2000, 50), bad,
		{Air: Air{25, 50}, PotC: math.Inf(1), PartC: 25}, {Air: Air{25, 50}, PotC: 25, PartC: math.NaN()}} {
		s.Extrapolate = true
		_, err := only(rule(1)).Steady(Cured, NotBefore, s)
		assert.ErrorContains(t, err, "no such")
	}
}
