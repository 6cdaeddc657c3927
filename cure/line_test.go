package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

const wantErr = 1e-6 // h

// line asks for the hours of a line in constant air, through a history.
func line(t *testing.T, c *Curve, m Milestone, l Line, a Air) float64 {
	t.Helper()
	return reach(t, &Site{Air: constant(a.TempC, a.RH, 5000)}, only(c), m, l, 0)
}

func TestColdNeverLengthensANotAfterLine(t *testing.T) {
	for _, c := range []float64{24.9, 20, 5, -20} {
		assert.InDelta(t, 2, line(t, rule(2), Application, NotAfter, Air{c, 50}), wantErr, "%g C", c)
		assert.Greater(t, line(t, rule(2), Application, Likely, Air{c, 50}), 2.0)
	}
	assert.InDelta(t, 1, line(t, rule(2), Application, NotAfter, Air{35, 50}), wantErr, "warmth shortens it")
}

func TestColdLengthensANotAfterLineOnlyWithASource(t *testing.T) {
	c := rule(2)
	c.ColdExtends = "a data sheet"
	c.Temp = quantity.Range{Lo: 5, Hi: 40}
	assert.InDelta(t, 4, line(t, c, Application, NotAfter, Air{15, 50}), wantErr)
	assert.InDelta(t, 8, line(t, c, Application, NotAfter, Air{-10, 50}), wantErr, "below the floor it is spent at the floor's rate")
}

func TestDryAirNeverLengthensANotAfterLine(t *testing.T) {
	c := rule(2)
	c.Humidity = &HumidityFactor{Points: []HumidityPoint{{20, 3}, {50, 1}, {80, 0.5}}}
	assert.InDelta(t, 2, line(t, c, Application, NotAfter, Air{25, 20}), wantErr)
	assert.InDelta(t, 1, line(t, c, Application, NotAfter, Air{25, 80}), wantErr)
	c.ColdExtends = "a data sheet, of cold alone"
	assert.InDelta(t, 2, line(t, c, Application, NotAfter, Air{25, 20}), wantErr)
	assert.InDelta(t, 4, line(t, c, Application, NotAfter, Air{15, 20}), wantErr)
}

func TestWarmthDoesNotShortenANotBeforeLineWithoutCredit(t *testing.T) {
	for _, c := range []float64{25, 30, 45, 60} {
		assert.InDelta(t, 72, line(t, rule(72), Cured, NotBefore, Air{c, 50}), wantErr, "%g C", c)
		assert.LessOrEqual(t, line(t, rule(72), Cured, Likely, Air{c, 50}), 72+wantErr)
	}
	assert.InDelta(t, 144, line(t, rule(72), Cured, NotBefore, Air{15, 50}), wantErr, "cold lengthens it")
}

func TestCreditFollowsItsOwnSlopeUpToTheLowestCeiling(t *testing.T) {
	credit := &Credit{Form: Doubling{RefC: 25, Time: 72 * hour, StepC: 20}, MaxC: 60, From: "a data sheet"}
	c := rule(72)
	c.Credit = credit
	assert.InDelta(t, 72*math.Exp2(-0.5), line(t, c, Cured, NotBefore, Air{35, 50}), wantErr, "20 C step, not 10")
	assert.InDelta(t, 144, line(t, c, Cured, NotBefore, Air{15, 50}), wantErr, "cold takes the curve")

	cl := only(c)
	hot := &Site{Air: constant(55, 50, 500)}
	for _, row := range []struct {
		why    string
		change func()
		capC   float64
	}{
		{"none of them is reached", func() {}, 55},
		{"the credit's own", func() { credit.MaxC = 45 }, 45},
		{"the class's accelerated cure", func() { cl.Heat = &Heat{MaxC: 43} }, 43},
		{"the curve's", func() { c.Temp.Hi = 40 }, 40},
	} {
		row.change()
		assert.InDelta(t, 72*math.Exp2((25-row.capC)/20), reach(t, hot, cl, Cured, NotBefore, 0), wantErr, row.why)
	}
}

func TestCreditSteeperThanTheCurveEarnsNoMoreThanTheCurveAtTheCeiling(t *testing.T) {
	c := rule(72)
	c.Credit = &Credit{Form: Doubling{RefC: 25, Time: 72 * hour, StepC: 5}, MaxC: 35}
	assert.InDelta(t, 72*math.Exp2(-0.5), line(t, c, Cured, NotBefore, Air{30, 50}), wantErr)
	assert.InDelta(t, 36, line(t, c, Cured, NotBefore, Air{45, 50}), wantErr)
}

// A credit written for the reference depth must not be taken as it stands for a
// deeper bead, nor its slope be forgotten.
func TestCreditOfAFrontIsASlopeOnTheBeadsOwnTime(t *testing.T) {
	f := acetoxy
	f.Ea = 40e3
	c := &Curve{Form: f, Temp: wide, Credit: &Credit{Form: Doubling{RefC: 25, Time: 24 * hour, StepC: 30}, MaxC: 60}}
	s := &Site{Air: constant(35, 50, 500), Bead: Bead{DepthMM: 4}}
	assert.InDelta(t, 96*math.Exp2(-10.0/30), reach(t, s, only(c), Cured, NotBefore, 0), wantErr)
}

func TestDryAirLengthensTheCreditedTimeToo(t *testing.T) {
	c := rule(72)
	c.Humidity = &HumidityFactor{Points: []HumidityPoint{{30, 1.2}, {50, 1}}}
	c.Credit = &Credit{Form: Doubling{RefC: 25, Time: 72 * hour, StepC: 20}, MaxC: 60}
	assert.InDelta(t, 1.2*72*math.Exp2(-1), line(t, c, Cured, NotBefore, Air{45, 30}), wantErr)
	assert.InDelta(t, 72*math.Exp2(-1), line(t, c, Cured, NotBefore, Air{45, 90}), wantErr)
}

func TestSpreadWorksOnlyOnTheSideNotGuaranteed(t *testing.T) {
	for _, row := range []struct {
		states                      States
		notAfter, notBefore, likely float64
	}{
		{Typical, 8, 13, 10},
		{Minimum, 10, 13, 10},
		{Maximum, 8, 10, 10},
	} {
		c := rule(10)
		c.States, c.Shorter, c.Longer = row.states, 0.2, 0.3
		a := Air{25, 50}
		assert.InDelta(t, row.notAfter, line(t, c, TackFree, NotAfter, a), wantErr, row.states)
		assert.InDelta(t, row.notBefore, line(t, c, TackFree, NotBefore, a), wantErr, row.states)
		assert.InDelta(t, row.likely, line(t, c, TackFree, Likely, a), wantErr, row.states)
	}
}

func TestNotBeforeEarnsNothingBelowTheFloor(t *testing.T) {
	c := rule(10)
	c.Temp = quantity.Range{Lo: 5, Hi: 40}
	h := history(t, 400, Piece{Name: "log", Samples: readings(1, Air{25, 50}, Air{25, 50}, Air{25, 50}, Air{25, 50}, Air{25, 50}, Air{-35, 50})})
	s := &Site{Air: h}
	got := must(s.Reach(only(c), Cured, NotBefore, t0))
	assert.True(t, got.Never)
	assert.Greater(t, got.Progress, 0.4)
	assert.Less(t, got.Progress, 0.5)
	assert.Equal(t, "below the floor of 5 C", got.Excursions[0].What)
	// From 25 to -35 C in an hour: 5 C is passed after 20 minutes; 394 h follow.
	assert.InDelta(t, 395+2.0/3, got.Excursions[0].For.Hours(), 0.02)
	assert.InDelta(t, 40, line(t, c, Cured, NotBefore, Air{5, 50}), wantErr, "exactly at the floor the curve holds")
}

func TestNotBeforeEarnsAtMostTheCeilingsRate(t *testing.T) {
	c := rule(72)
	c.Temp = quantity.Range{Lo: 5, Hi: 30}
	c.Credit = &Credit{Form: Doubling{RefC: 25, Time: 72 * hour, StepC: 10}, MaxC: 90}
	assert.InDelta(t, 72*math.Exp2(-0.5), line(t, c, Cured, NotBefore, Air{50, 50}), wantErr)
	cold := rule(72)
	cold.Temp = quantity.Range{Lo: -20, Hi: 15}
	assert.InDelta(t, 144, line(t, cold, Cured, NotBefore, Air{24, 50}), wantErr, "a ceiling below the reference")
}

func TestNotAfterIsSpentAtTheExtrapolatedRateAboveTheCeiling(t *testing.T) {
	c := rule(2)
	c.Temp = quantity.Range{Lo: 5, Hi: 35}
	got := must((&Site{Air: constant(45, 50, 5)}).Reach(only(c), Application, NotAfter, t0))
	assert.InDelta(t, 0.5, hours(got.At), wantErr)
	require.Len(t, got.Excursions, 1)
	assert.Equal(t, Excursion{"above the ceiling of 35 C", 30 * time.Minute}, got.Excursions[0])
}

func TestHumidityRangeHasAFloorAndACeilingToo(t *testing.T) {
	table := must(NewTable([]TablePoint{
		{15, 30, 40 * hour}, {15, 60, 20 * hour}, {25, 30, 20 * hour}, {25, 60, 10 * hour},
	}, Air{25, 60}))
	c := &Curve{Form: table, Temp: quantity.Range{Lo: 15, Hi: 25}}
	// The range of humidity is that of the points, without anyone saying so.
	assert.Equal(t, math.Inf(1), line(t, c, Cured, NotBefore, Air{25, 29}))
	assert.InDelta(t, 20, line(t, c, Cured, NotBefore, Air{25, 30}), wantErr)
	assert.InDelta(t, 20, line(t, c, Cured, NotBefore, Air{15, 90}), wantErr, "damper than the points earns no more")
	assert.InDelta(t, 10, line(t, c, Application, NotAfter, Air{25, 20}), wantErr, "drier is spent at the floor's rate, at most rated")
	assert.InDelta(t, 5, line(t, c, Application, NotAfter, Air{25, 90}), wantErr, "damper is spent at the extrapolated rate")
	got := must((&Site{Air: constant(25, 20, 10)}).Reach(only(c), Cured, NotBefore, t0))
	assert.Equal(t, []Excursion{{"under 30 % RH at the part", 10 * time.Hour}}, got.Excursions)
	got = must((&Site{Air: constant(25, 80, 40)}).Reach(only(c), Cured, NotBefore, t0))
	assert.Equal(t, []Excursion{{"over 60 % RH at the part", 10 * time.Hour}}, got.Excursions)
}

func TestTooDryEarnsNoCureButDoesNotStopThePot(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	dry := &Site{Air: constant(25, 39, 100)}
	assert.Equal(t, math.Inf(1), reach(t, dry, cl, Cured, NotBefore, 0))
	assert.Equal(t, math.Inf(1), reach(t, dry, cl, TackFree, NotBefore, 0))
	assert.InDelta(t, 10, reach(t, dry, cl, Cured, Likely, 0), wantErr, "the likely time is still information")
	assert.InDelta(t, 10, reach(t, dry, cl, Application, NotAfter, 0), wantErr)
	assert.InDelta(t, 10, reach(t, dry, cl, TackFree, NotAfter, 0), wantErr, "how early might it be: no help from dry air")
	got := must(dry.Reach(cl, Cured, NotBefore, t0))
	assert.Equal(t, []Excursion{{"under 40 % RH at the part", 100 * time.Hour}}, got.Excursions)
}

func TestAirExactlyAtTheDrynessLimitIsNotTooDry(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	for _, c := range []float64{7.3, 11.1, 18, 23.7, 25} {
		s := &Site{Air: constant(c, 40, 100)}
		assert.Less(t, reach(t, s, cl, Cured, NotBefore, 0), 50.0, "%g C", c)
		assert.False(t, steady(t, cl, Cured, NotBefore, in(c, 40)).Never, "%g C", c)
	}
}

// 20 °C and 60 % outside is dry air on a structure of 30 °C, damp on one of 12 °C.
func TestHumidityIsJudgedAtThePart(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	s := &Site{Air: constant(20, 60, 1000), Part: Part{Tau: 10000 * time.Hour, AtC: 30}}
	assert.Equal(t, math.Inf(1), reach(t, s, cl, Cured, NotBefore, 0))
	s.Part.AtC = 12
	assert.Less(t, reach(t, s, cl, Cured, NotBefore, 0), 30.0)
}

func TestFrontIsCappedAtSaturationOnAColdPart(t *testing.T) {
	cl := only(&Curve{Form: acetoxy, Temp: wide})
	// 25 °C and 50 % is 15.8 hPa; a part at 5 °C carries 8.7 hPa and water.
	s := &Site{Air: constant(25, 50, 1000), Part: Part{Tau: 2e6 * time.Hour, AtC: 5}, Bead: Bead{DepthMM: 2}}
	want := 24 * acetoxy.Ref.Vapour() / Air{5, 100}.Vapour()
	assert.InDelta(t, want, reach(t, s, cl, Cured, Likely, 0), 0.01)
	assert.InDelta(t, want, reach(t, s, cl, Cured, NotBefore, 0), 0.01)
}

func TestAMarginDoesNotGiveAFrontMoreVapourThanTheColderAirHolds(t *testing.T) {
	cl := only(&Curve{Form: acetoxy, Temp: wide})
	wet := Air{10, 100}
	h := history(t, 1000, Piece{Name: "wet", Constant: &wet, Forecast: true, Margin: 2})
	want := 24 * acetoxy.Ref.Vapour() / Air{8, 100}.Vapour()
	assert.InDelta(t, want, reach(t, &Site{Air: h}, cl, Cured, NotBefore, 0), wantErr)
	assert.InDelta(t, 24*acetoxy.Ref.Vapour()/wet.Vapour(), reach(t, &Site{Air: h}, cl, Cured, Likely, 0), wantErr)
}

func TestAMarginDoesNotMakeDampAirOfDryAir(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	dry := Air{20, 38} // 43 % at 18 °C
	h := history(t, 1000, Piece{Name: "dry", Constant: &dry, Forecast: true, Margin: 2})
	assert.Equal(t, math.Inf(1), reach(t, &Site{Air: h}, cl, Cured, NotBefore, 0))
}

func TestClosedFilmOfAFrontNeverCures(t *testing.T) {
	cl := only(&Curve{Form: acetoxy, Temp: wide})
	s := &Site{Air: constant(25, 50, 1000), Bead: Bead{DepthMM: 0.2, Closed: true}}
	assert.Equal(t, math.Inf(1), reach(t, s, cl, Cured, NotBefore, 0))
	assert.Equal(t, math.Inf(1), reach(t, s, cl, Cured, Likely, 0))
	assert.InDelta(t, 0.24, reach(t, s, cl, Cured, NotAfter, 0), wantErr, "but nobody may count on it staying soft")
}

func TestBothFacesOpenHalveTheDepth(t *testing.T) {
	cl := only(&Curve{Form: acetoxy, Temp: wide, MaxDepth: 6})
	s := &Site{Air: constant(25, 50, 1000), Bead: Bead{DepthMM: 4, Faces: 2}}
	assert.InDelta(t, 24, reach(t, s, cl, Cured, NotBefore, 0), wantErr)
	s.Bead = Bead{DepthMM: 12, Faces: 2}
	reach(t, s, cl, Cured, NotBefore, 0)
	s.Bead.DepthMM = 12.1
	_, err := s.Reach(cl, Cured, NotBefore, t0)
	assert.EqualError(t, err, "test class cure: a bead 6.05 mm deep is outside the curve's range, at most 6 mm")
	_, err = s.Progress(cl, Cured, NotBefore)
	assert.Error(t, err)
}

func TestAQueryWithoutALinePanics(t *testing.T) {
	s := &Site{Air: constant(20, 50, 10)}
	var none Line
	assert.Panics(t, func() { s.Reach(only(rule(1)), Cured, none, t0) })
	assert.Panics(t, func() { s.Progress(only(rule(1)), Cured, none) })
	assert.Panics(t, func() { only(rule(1)).Steady(Cured, none, in(20, 50)) })
	assert.Panics(t, func() { s.Air.At(t0, none) })
	assert.Panics(t, func() { s.PartAt(t0, none) })
	assert.Equal(t, "no line", none.String())
}

func TestMilestonesDrawTheirLineAndReadTheirNames(t *testing.T) {
	for m, want := range []struct {
		name string
		line Line
	}{
		{"application", NotAfter}, {"assembly", NotAfter}, {"tack-free", NotBefore},
		{"handling", NotBefore}, {"cure", NotBefore}, {"full-cure", NotBefore},
	} {
		assert.Equal(t, want.name, Milestone(m).String())
		assert.Equal(t, want.line, Milestone(m).Line())
		got, ok := ParseMilestone(want.name)
		assert.True(t, ok)
		assert.Equal(t, Milestone(m), got)
	}
	_, ok := ParseMilestone("cured")
	assert.False(t, ok)
	assert.Equal(t, []string{"not-after", "not-before", "likely"}, []string{NotAfter.String(), NotBefore.String(), Likely.String()})
}
