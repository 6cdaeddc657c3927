package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// turned is a course in drawn air, made ready as for many draws.
func turned(t require.TestingT, s *Site, cl *Class, m Milestone, step time.Duration, z func(k int) float64, slower float64) *Course {
	c, err := s.Course(cl, m, Likely)
	require.NoError(t, err)
	c.Tabulate(-30, 70)
	d := s.Air.Doubt(s.Air.Until(), step)
	errs := make([]float64, d.Steps())
	for k := range errs {
		errs[k] = z(k)
	}
	w := d.Draws()
	w.Air(make([]float64, d.Steps())) // what was drawn before is forgotten
	c.Turn(w.Air(errs), slower)
	return c
}

func asLikely(int) float64 { return 0 }

// Air that is drawn without an error is the likely air: what is reached in it, by the
// tabulated pace, is within a second of the independent quadrature.
func TestAirDrawnWithoutAnErrorIsTheLikelyAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, b := drawWorld(t), rapid.SampledFrom(books()).Draw(t, "class")
		warmth := Warmth{}
		if rapid.Bool().Draw(t, "warmed") {
			w.tau, w.warmC = rapid.SampledFrom([]float64{300, 3600, 10800}).Draw(t, "warmed tau"), rapid.Float64Range(10, 40).Draw(t, "warmed to")
			warmth = Warmth{Warmed: true, WarmedC: w.warmC}
		}
		step := time.Duration(rapid.IntRange(1, 600).Draw(t, "step")) * time.Minute
		c := turned(t, w.site(t), b.class(), Cured, step, asLikely, 1)
		for range 2 {
			start := rapid.Float64Range(0, 12).Draw(t, "start")
			want := w.reference(Likely, start, b.rate(Likely))
			got, ok := c.At(at(start), warmth)
			assert.Equal(t, !math.IsInf(want, 1), ok, "%s\n%s", b.name, w)
			if ok {
				assert.InDelta(t, want, hours(got), 1.0/3600, "%s\n%s", b.name, w)
			}
		}
	})
}

// At an error of one margin the drawn air is the warmer reading, at minus one the colder.
func TestAnErrorOfAMarginIsTheReadingOfALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		h := w.site(t).Air
		d := h.Doubt(h.Until(), time.Hour)
		for _, side := range []struct {
			z    float64
			line Line
		}{{1, NotAfter}, {-1, NotBefore}} {
			errs := make([]float64, d.Steps())
			for k := range errs {
				errs[k] = side.z
			}
			air := d.Draws().Air(errs)
			for range 10 {
				// A jump has two sides, and rounding may choose either.
				u := at(math.Floor(rapid.Float64Range(0, hours(h.Until())).Draw(t, "when")*60)/60 + 0.0123)
				want, _ := h.At(u, side.line)
				got, _ := air.At(u, Likely)
				assert.InDelta(t, want, got, 1e-6, "%s\n%s", side.line, w)
			}
		}
	})
}

// A forecast that is off by e is the forecast of e degrees more: its humidity stands
// where that is given, its vapour where its dew point is. NewHistory lays both out.
func TestAWrongForecastIsAnotherForecast(t *testing.T) {
	const margin, e = 4.0, 0.6
	by := margin * e
	day := func(lo, hi, dew, rh float64) *Swing {
		return &Swing{LowC: lo, HighC: hi, Warmest: 14 * time.Hour, DewC: dew, RH: rh, Zone: time.UTC}
	}
	none := math.NaN()
	walk := readings(1.5, Air{12, 60}, Air{15, 55}, Air{19, 70}, Air{11, 80}, Air{9, 62})
	warm := make([]Sample, len(walk))
	for i, s := range walk {
		warm[i] = Sample{s.At, Air{s.TempC + by, s.RH}}
	}
	for name, c := range map[string][2]Piece{
		"constant":            {{Constant: &Air{14, 60}}, {Constant: &Air{14 + by, 60}}},
		"swing, humidity":     {{Swing: day(8, 16, none, 60)}, {Swing: day(8+by, 16+by, none, 60)}},
		"swing, dew point":    {{Swing: day(8, 16, 5, none)}, {Swing: day(8+by, 16+by, 5, none)}},
		"forecast of samples": {{Samples: walk}, {Samples: warm}},
	} {
		t.Run(name, func(t *testing.T) {
			c[0].Forecast, c[0].Margin = true, margin
			h, want := history(t, 40, c[0]), history(t, 40, c[1])
			d := h.Doubt(at(30), time.Hour)
			assert.True(t, d.Any())
			assert.Equal(t, at(30), d.Until())
			errs := make([]float64, d.Steps())
			for k := range errs {
				errs[k] = e
			}
			air := d.Draws().Air(errs)
			for u := 0.0; u < 29; u += 0.37 {
				wc, wp := want.At(at(u), Likely)
				for _, l := range allLines {
					gc, gp := air.At(at(u), l)
					assert.InDelta(t, wc, gc, 1e-9)
					// Between knots the vapour runs straight, and the knots differ.
					assert.InEpsilon(t, wp, gp, 1e-3)
				}
			}
		})
	}
}

func TestWhatWasMeasuredIsNotDrawn(t *testing.T) {
	h := history(t, 30, Piece{Name: "log", Samples: readings(1, Air{10, 50}, Air{14, 60}, Air{12, 55}, Air{11, 70})},
		Piece{Name: "to come", Constant: &Air{13, 60}, Forecast: true, Margin: 2})
	d := h.Doubt(at(20), time.Hour)
	errs := make([]float64, d.Steps())
	for k := range errs {
		errs[k] = math.Sin(float64(k)) * 3
	}
	air := d.Draws().Air(errs)
	for u := 0.0; u < 3; u += 0.21 {
		want, wantPV := h.At(at(u), Likely)
		got, gotPV := air.At(at(u), Likely)
		assert.InDelta(t, want, got, 1e-12)
		assert.InDelta(t, wantPV, gotPV, 1e-9)
	}
	for k := 4.0; k < 19; k++ { // at the steps the error is the one given, straight between
		got, _ := air.At(at(k), Likely)
		assert.InDelta(t, 13+2*errs[int(k)], got, 1e-9)
		got, _ = air.At(at(k+0.5), Likely)
		assert.InDelta(t, 13+errs[int(k)]+errs[int(k)+1], got, 1e-9)
	}
	assert.False(t, constant(13, 60, 30).Doubt(at(20), time.Hour).Any())
}

// Sealant that is slower by a factor takes so many times as long in constant air.
func TestASlowerBatchTakesSoManyTimesAsLong(t *testing.T) {
	for _, slower := range []float64{0.5, 0.9, 1, 1.34, 2} {
		s := &Site{Air: constant(15, 60, 200), Part: Part{Tau: 3 * time.Hour, AtC: 15}}
		c := turned(t, s, only(rule(10)), Cured, time.Hour, asLikely, slower)
		got, ok := c.At(at(2), Warmth{})
		require.True(t, ok)
		assert.InDelta(t, 2+20*slower, hours(got), 1e-6, "10 h at 25 C are 20 h at 15 C")
	}
}

// The tabulated pace agrees with marching in the same air, errors and all, to a
// hundred-thousandth of the time and 10 ms.
func TestATabulatedCourseAgreesWithMarching(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, b := drawWorld(t), rapid.SampledFrom(books()).Draw(t, "class")
		amp, speed := rapid.Float64Range(0, 2).Draw(t, "amplitude"), rapid.Float64Range(0.05, 1).Draw(t, "speed")
		wave := func(k int) float64 { return amp * math.Sin(speed*float64(k)) }
		slower := rapid.Float64Range(0.5, 2).Draw(t, "slower")
		s := w.site(t)
		quick := turned(t, s, b.class(), Cured, time.Hour, wave, slower)
		plain := must(s.Course(b.class(), Cured, Likely))
		plain.Turn(quick.air, slower)
		warmth := Warmth{}
		switch rapid.IntRange(0, 2).Draw(t, "warmth") {
		case 1:
			warmth = Warmth{Warmed: true, WarmedC: rapid.Float64Range(10, 35).Draw(t, "warmed to")}
		case 2:
			warmth = Warmth{Heated: true, HeatFrom: at(rapid.Float64Range(0, 20).Draw(t, "heat from")), HeatC: rapid.Float64Range(20, 45).Draw(t, "heated to")}
		}
		start := rapid.Float64Range(0, 12).Draw(t, "start")
		want, ok := plain.At(at(start), warmth)
		got, quickOK := quick.At(at(start), warmth)
		require.Equal(t, ok, quickOK)
		if ok {
			assert.InDelta(t, hours(want)*3600, hours(got)*3600, 0.01+1e-5*(hours(want)-start)*3600, "%s\n%s", b.name, w)
		}
	})
}

func BenchmarkTurnedCourse(b *testing.B) {
	h := history(b, 240, Piece{Name: "swing", Swing: &Swing{LowC: 8, HighC: 14, Warmest: 14 * time.Hour, DewC: 6, RH: math.NaN(), Zone: time.UTC}, Forecast: true, Margin: 2})
	s := &Site{Air: h, Part: Part{Tau: 3 * time.Hour, AtC: 5}}
	d := h.Doubt(at(200), time.Hour)
	w, errs := d.Draws(), make([]float64, d.Steps())
	c := must(s.Course(only(rule(4)), Cured, Likely))
	c.Tabulate(-30, 70)
	b.ReportAllocs()
	for b.Loop() {
		errs[3]++
		c.Turn(w.Air(errs), 1)
		c.At(at(3), Warmth{Warmed: true, WarmedC: 20})
	}
}
