package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

func TestApplicationRunsOnTheWarmerOfPotAndAir(t *testing.T) {
	cl := only(rule(2))
	s := &Site{Air: constant(15, 50, 10), PotC: 35, PotSet: true, Part: Part{Tau: time.Hour, AtC: 60}}
	assert.InDelta(t, 1, reach(t, s, cl, Application, NotAfter, 0), wantErr, "the pot")
	s.Air = constant(45, 50, 10)
	assert.InDelta(t, 0.5, reach(t, s, cl, Application, NotAfter, 0), wantErr, "the air")
	s.PotC = math.NaN()
	assert.InDelta(t, 0.5, reach(t, s, cl, Application, NotAfter, 0), wantErr, "no pot temperature: the air")
}

func TestPotInAirThatWarmsPastItFollowsTheAir(t *testing.T) {
	cl := only(rule(2))
	h := history(t, 10, Piece{Name: "log", Samples: readings(2, Air{15, 50}, Air{55, 50}, Air{55, 50})})
	s := &Site{Air: h, PotC: 25, PotSet: true}
	// 25 °C until half an hour, then 20 °C an hour: p = 0.25 + ∫ 2^(2x)/2 dx.
	want := 0.5 + math.Log2(1+0.75*2*2*math.Ln2)/2
	assert.InDelta(t, want, reach(t, s, cl, Application, NotAfter, 0), wantErr)
}

func TestAssemblyRunsOnWhicheverOfPotAndPartIsShorter(t *testing.T) {
	cl := only(rule(2))
	for _, row := range []struct {
		why            string
		pot, air, part float64
		want           float64
	}{
		{"hot part", 25, 15, 35, 1},
		{"hot pot", 35, 15, -5, 1},
		{"hot air, as the pot stands in it", 25, 35, -5, 1},
		{"all cold: the rated time", 15, 10, -5, 2},
	} {
		s := &Site{Air: constant(row.air, 50, 50), PotC: row.pot, PotSet: true, Part: Part{Tau: 2e6 * time.Hour, AtC: row.part}}
		assert.InDelta(t, row.want, reach(t, s, cl, Assembly, NotAfter, 0), 1e-4, row.why)
	}
}

// The pot is at air temperature when nobody measured it: a cold part must not hide
// the warm air that the pot stands in.
func TestAssemblyWithoutAPotTemperatureCountsTheAir(t *testing.T) {
	s := &Site{Air: constant(35, 50, 50), Part: Part{Tau: 2e6 * time.Hour, AtC: -5}}
	assert.InDelta(t, 1, reach(t, s, only(rule(2)), Assembly, NotAfter, 0), wantErr)
}

func TestAssemblyNotBeforeIsTheLongerOfPotAndPart(t *testing.T) {
	s := &Site{Air: constant(15, 50, 500), PotC: 25, PotSet: true, Part: Part{Tau: 2e6 * time.Hour, AtC: 5}}
	assert.InDelta(t, 8, reach(t, s, only(rule(2)), Assembly, NotBefore, 0), 1e-3)
	s.Air = constant(15, 50, 4)
	assert.Equal(t, math.Inf(1), reach(t, s, only(rule(2)), Assembly, NotBefore, 0), "one of the two is not there yet")
}

func TestAssemblyFallsBackToApplicationAndIsNoLater(t *testing.T) {
	cl := &Class{ID: "b-2"}
	cl.Curves[Application] = rule(2)
	c, note, err := cl.Curve(Assembly)
	require.NoError(t, err)
	assert.Equal(t, cl.Curves[Application], c)
	assert.Equal(t, "no assembly time is published for b-2: the application time stands for it", note)
	assert.Contains(t, steady(t, cl, Assembly, NotAfter, in(25, 50)).Why, note)
	s := &Site{Air: constant(33, 50, 10), PotC: 23, PotSet: true, Part: Part{Tau: 3 * time.Hour, AtC: -10}}
	assert.InDelta(t, reach(t, s, cl, Application, NotAfter, 0), reach(t, s, cl, Assembly, NotAfter, 0), wantErr)
}

func TestAnyOtherMissingCurveIsRefusedByName(t *testing.T) {
	cl := &Class{ID: "b-2"}
	cl.Curves[Application] = rule(2)
	s := &Site{Air: constant(25, 50, 10)}
	for _, m := range []Milestone{TackFree, Handling, Cured, FullCure} {
		assert.False(t, cl.Has(m))
		_, err := s.Reach(cl, m, NotBefore, t0)
		assert.EqualError(t, err, "class b-2 has no "+m.String()+" curve")
		_, err = s.Progress(cl, m, NotBefore)
		assert.Error(t, err)
		_, err = cl.Steady(m, NotBefore, in(25, 50))
		assert.Error(t, err)
	}
	assert.True(t, cl.Has(Assembly))
}

func TestTackFreeAndLaterRunOnThePart(t *testing.T) {
	s := &Site{Air: constant(25, 50, 500), PotC: 40, PotSet: true, Part: Part{Tau: 2e6 * time.Hour, AtC: 15}}
	for m := TackFree; m < NumMilestones; m++ {
		assert.InDelta(t, 20, reach(t, s, only(rule(10)), m, NotBefore, 0), 0.01, m)
	}
}

func TestPartFollowsTheAirExactly(t *testing.T) {
	tau := 3 * time.Hour
	s := &Site{Air: history(t, 10, Piece{Name: "log", Samples: []Sample{{t0, Air{10, 50}}, {at(10), Air{30, 50}}}, Forecast: true}),
		Part: Part{Tau: tau, AtC: -4}}
	for _, u := range []float64{0, 0.5, 3, 10} {
		// T = a + b(u − τ) + (x − a + bτ) e^(−u/τ), a = 10, b = 2 °C/h, x = −4.
		want := 10 + 2*(u-3) + (-4-10+6)*math.Exp(-u/3)
		assert.InDelta(t, want, s.PartAt(at(u), Likely), 1e-9)
	}
	assert.InDelta(t, s.PartAt(at(10), Likely), s.PartAt(at(99), Likely), 0, "the nearest end stands")
	s.Part = Part{}
	assert.InDelta(t, 20, s.PartAt(at(5), Likely), 1e-9)
}

// A part of 0.15 °C off the air, with a time constant of 3 h, in a stretch of 5 days
// without a knot: the warming is over long before the first node of one step.
func TestShortTimeConstantInALongStepIsNotSteppedOver(t *testing.T) {
	for _, tau := range []time.Duration{time.Second, time.Minute, 3 * time.Hour} {
		for _, off := range []float64{-0.15, -0.05, -4, 12} {
			s := &Site{Air: constant(15, 50, 240), Part: Part{Tau: tau, AtC: 15 + off}}
			p := must(s.Progress(only(&Curve{Form: Doubling{25, hour, 10}, Temp: wide}), Cured, Likely))
			// Progress is 2^-1 ∫ exp(k·off·e^(−u/τ)) du, by its power series.
			k, want, term := math.Ln2/10, 240.0, 1.0
			for n := 1; n < 60; n++ {
				term *= k * off / float64(n)
				want += term * tau.Hours() / float64(n) * -math.Expm1(-float64(n)*240/tau.Hours())
			}
			assert.InDelta(t, want/2, p.Between(t0, at(240)), 0.05/hour, "tau %s, %g C off", tau, off)
		}
	}
}

func TestOnAPlateauTheFirstInstantCounts(t *testing.T) {
	c := rule(10)
	c.Temp = quantity.Range{Lo: 5, Hi: 40}
	ns := time.Nanosecond
	s := &Site{Air: history(t, 60, Piece{Name: "log", Forecast: true, Samples: []Sample{
		{t0, Air{25, 50}}, {at(3), Air{25, 50}}, {at(7), Air{25, 50}}, {at(10), Air{25, 50}},
		{at(10).Add(ns), Air{0, 50}}, {at(30), Air{0, 50}}, {at(30).Add(ns), Air{25, 50}},
	}})}
	assert.InDelta(t, 10, reach(t, s, only(c), Cured, NotBefore, 0), wantErr, "not the next morning")
	assert.InDelta(t, 30+2, reach(t, s, only(c), Cured, NotBefore, 2), wantErr)
	// Started on the plateau it waits for the whole time.
	assert.InDelta(t, 40, reach(t, s, only(c), Cured, NotBefore, 15), wantErr)
}

func TestAStartOutsideTheHistoryIsRefused(t *testing.T) {
	s := &Site{Air: constant(25, 50, 10)}
	for _, u := range []float64{-0.1, 10.1} {
		_, err := s.Reach(only(rule(1)), Cured, NotBefore, at(u))
		assert.ErrorContains(t, err, "outside the air history")
		_, ok := must(s.Progress(only(rule(1)), Cured, NotBefore)).Reach(at(u))
		assert.False(t, ok)
	}
	assert.Equal(t, math.Inf(1), reach(t, s, only(rule(1)), Cured, NotBefore, 10), "its last instant is inside")
}

func TestASiteThatCannotBeIsRefused(t *testing.T) {
	for want, s := range map[string]*Site{
		"pot":           {PotC: 900, PotSet: true},
		"time constant": {Part: Part{Tau: -time.Hour}},
		"part":          {Part: Part{Tau: time.Hour, AtC: math.NaN()}},
		"bead depth":    {Bead: Bead{DepthMM: -3}},
		"open on":       {Bead: Bead{Faces: 3}},
	} {
		s.Air = constant(25, 50, 10)
		_, err := s.Reach(only(rule(1)), Cured, NotBefore, t0)
		assert.ErrorContains(t, err, want)
	}
	_, err := (&Site{Air: constant(25, 50, 10)}).ReachWarmed(only(rule(1)), Cured, NotBefore, t0, Warmth{Heated: true, HeatC: math.NaN()})
	assert.ErrorContains(t, err, "heated")
}

func warmed(t *testing.T, s *Site, cl *Class, m Milestone, l Line, start float64, w Warmth) float64 {
	t.Helper()
	r, err := s.ReachWarmed(cl, m, l, at(start), w)
	require.NoError(t, err)
	if r.Never {
		return math.Inf(1)
	}
	return hours(r.At)
}

func TestHeatCountsUpToTheClassesCeiling(t *testing.T) {
	cl := only(rule(10))
	cl.Curves[Cured].Credit = &Credit{Form: Doubling{25, 10 * hour, 10}, MaxC: 90}
	cl.Heat = &Heat{MaxC: 45}
	s := &Site{Air: constant(5, 50, 100)}
	w := Warmth{Heated: true, HeatFrom: t0, HeatC: 55}
	assert.InDelta(t, 2.5, warmed(t, s, cl, Cured, NotBefore, 0, w), wantErr, "45 C, not 55")
	assert.InDelta(t, 2.5, warmed(t, s, cl, Cured, Likely, 0, w), wantErr)
	assert.InDelta(t, 1.25, warmed(t, s, cl, Cured, NotAfter, 0, w), wantErr, "but in full where it harms")
	w.HeatFrom = at(4)
	assert.InDelta(t, 4+2.5*(1-0.1), warmed(t, s, cl, Cured, NotBefore, 0, w), wantErr, "4 h at 5 C come first")
}

func TestHeatDoesNotCoolAPartInWarmerAir(t *testing.T) {
	h := history(t, 12, Piece{Name: "log", Forecast: true, Samples: []Sample{{t0, Air{15, 50}}, {at(2), Air{35, 50}}, {at(12), Air{35, 50}}}})
	w := Warmth{Heated: true, HeatFrom: t0, HeatC: 25}
	// An hour at 25 °C, one from 25 to 35 °C, the rest at 35 °C.
	want := 2 + (10-1-1/math.Ln2)/2
	assert.InDelta(t, want, warmed(t, &Site{Air: h}, only(rule(10)), Cured, Likely, 0, w), wantErr)
}

func TestHeatThatCameOnBeforeTheStartHasWarmedThePart(t *testing.T) {
	s := &Site{Air: constant(5, 50, 100), Part: Part{Tau: time.Hour, AtC: 5}}
	cold := warmed(t, s, only(rule(10)), Cured, Likely, 3, Warmth{Heated: true, HeatFrom: at(3), HeatC: 25})
	warm := warmed(t, s, only(rule(10)), Cured, Likely, 3, Warmth{Heated: true, HeatFrom: at(1), HeatC: 25})
	same := warmed(t, s, only(rule(10)), Cured, Likely, 3, Warmth{Heated: true, HeatFrom: at(3), HeatC: 25, Warmed: true, WarmedC: 25 - 20*math.Exp(-2)})
	assert.Less(t, warm, cold-0.3)
	assert.InDelta(t, same, warm, wantErr)
}

func TestWarmedStructureFollowsTheAirFromThere(t *testing.T) {
	s := &Site{Air: constant(15, 50, 100), Part: Part{Tau: 2 * time.Hour, AtC: 15}}
	got := warmed(t, s, only(rule(10)), Cured, Likely, 1, Warmth{Warmed: true, WarmedC: 25})
	fresh := &Site{Air: constant(15, 50, 100), Part: Part{Tau: 2 * time.Hour, AtC: 25}}
	assert.InDelta(t, reach(t, fresh, only(rule(10)), Cured, Likely, 0)+1, got, wantErr)
	assert.InDelta(t, reach(t, s, only(rule(10)), Cured, Likely, 1), warmed(t, s, only(rule(10)), Cured, Likely, 1, Warmth{Warmed: true, WarmedC: 5}), wantErr, "warming does not cool")
}

func TestWarmedStructureOfUnknownLagStaysWarmForThePot(t *testing.T) {
	s := &Site{Air: constant(5, 50, 100)}
	w := Warmth{Warmed: true, WarmedC: 35}
	assert.InDelta(t, 5, warmed(t, s, only(rule(10)), Assembly, NotAfter, 0, w), wantErr)
	assert.InDelta(t, 40, warmed(t, s, only(rule(10)), Cured, NotBefore, 0, w), wantErr, "no gift for the cure")
}

func TestByWitnessIsForClosedFilmsOfClassesThatNeedMoisture(t *testing.T) {
	cl := only(rule(10))
	s := &Site{Bead: Bead{Closed: true}}
	assert.False(t, s.ByWitness(cl, Cured))
	cl.Moisture = &Moisture{MinRH: 40}
	assert.False(t, s.ByWitness(cl, Cured))
	cl.Moisture.ClosedWitness = true
	assert.True(t, s.ByWitness(cl, Cured))
	assert.False(t, s.ByWitness(cl, Application))
	s.Bead.Closed = false
	assert.False(t, s.ByWitness(cl, Cured))
}

func TestClosedFilmThatCuresAllTheSameDoesNotFeelTheHangarsHumidity(t *testing.T) {
	cl := only(rule(10))
	cl.Moisture = &Moisture{MinRH: 40}
	s := &Site{Air: constant(25, 20, 100), Bead: Bead{Closed: true}}
	assert.InDelta(t, 10, reach(t, s, cl, Cured, NotBefore, 0), wantErr)
}

// A warmed part that cools to the floor from above goes on to earn there; one that was
// never warmed comes to it from below and earns nothing for long. However close the
// two are, the one is not the other.
func TestWarmthCountsAtTheFloorHoweverSmall(t *testing.T) {
	from := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	a := Air{TempC: 5, RH: 50}
	cl := &Class{ID: "floor"}
	cl.Curves[Cured] = &Curve{Form: Doubling{RefC: 5, Time: 30 * 3600, StepC: 10}, Temp: quantity.Range{Lo: 5, Hi: 40}, States: Maximum}
	s := &Site{Air: Constant(a, from, from.Add(80*time.Hour)), Part: Part{Tau: time.Hour, AtC: 0}}
	r, err := s.ReachWarmed(cl, Cured, NotBefore, from.Add(time.Hour), Warmth{Warmed: true, WarmedC: 30})
	require.NoError(t, err)
	require.False(t, r.Never)
	// Without credit warmth does not shorten the time, so it is the rated 30 h.
	assert.WithinDuration(t, from.Add(31*time.Hour), r.At, time.Second)
}
