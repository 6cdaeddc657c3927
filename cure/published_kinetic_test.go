package cure

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/quantity"
)

// kineticAir is the row's air: ramps from one temperature to another, or spells of
// readings that stand for as long as their weight says. They meet in steps a
// nanosecond wide.
func (r *publishedRow) kineticAir() *History {
	list, isRamp := r.inputs["ramp"]
	if !isRamp {
		list = r.text("spells")
	}
	var s []Sample
	u := t0
	for _, p := range strings.Split(list, ";") {
		f := strings.Split(p, ":")
		end := u.Add(must(time.ParseDuration(strings.ReplaceAll(f[0], "min", "m"))))
		first := must(quantity.Temp(f[1]))
		last := first
		if isRamp {
			last = must(quantity.Temp(f[2]))
		}
		s = append(s, Sample{u, Air{first, 50}}, Sample{end.Add(-time.Nanosecond), Air{last, 50}})
		u = end
	}
	return must(NewHistory([]Piece{{Name: "store", Samples: s, Forecast: true}}, t0, s[len(s)-1].At))
}

// Tolerances: half of the last printed digit, 0.005 °C of the printed example; 1e-9 °C
// of computed rows, which is what MeanKinetic promises. The nanosecond between spells
// is 1e-12 of the mean.
func TestPublishedMeanKineticTemperature(t *testing.T) {
	holdTo(t, "kinetic.csv", map[string]check{
		"mean kinetic temperature": func(r *publishedRow) float64 {
			h, ea := r.kineticAir(), 0.0
			if r.inputs["dh_over_r"] != "" {
				ea = r.num("dh_over_r") * GasConstant
			} else {
				ea = r.activation()
			}
			got := must(h.MeanKinetic(h.From(), h.Until(), ea))
			// Progress of an Arrhenius curve is the same integral on another road, good to
			// 1e-7: the one temperature that gives the progress of the air is the mean.
			form := Arrhenius{got, h.Until().Sub(h.From()).Seconds(), ea}
			site := Site{Air: h}
			p := must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(h.From(), h.Until())
			if math.Abs(p-1) > 1e-7 {
				return math.NaN()
			}
			return got
		},
	})
}

// drawStore draws air as a store has it, in 1 to 8 straight pieces, a few of them
// constant and a few a minute long.
func drawStore(t *rapid.T) *History {
	temp := rapid.Float64Range(-60, 70)
	u, c := 0.0, temp.Draw(t, "first")
	s := []Sample{{t0, Air{c, 50}}}
	for range rapid.IntRange(1, 8).Draw(t, "pieces") {
		u += rapid.SampledFrom([]float64{1. / 60, 0.5, 1, 7, 100}).Draw(t, "h")
		if rapid.Bool().Draw(t, "moves") {
			c = temp.Draw(t, "C")
		}
		s = append(s, Sample{at(u), Air{c, 50}})
	}
	return history(t, u, Piece{Name: "store", Samples: s, Forecast: true, Margin: 2})
}

func drawEa(t *rapid.T) float64 { return rapid.Float64Range(1e3, 300e3).Draw(t, "ea") }

func TestMeanKineticLiesBetweenColdestAndWarmest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawStore(t)
		l := h.lanes[Likely]
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, c := range l.c {
			lo, hi = min(lo, c), max(hi, c)
		}
		got, err := h.MeanKinetic(h.From(), h.Until(), drawEa(t))
		require.NoError(t, err)
		require.GreaterOrEqual(t, got, lo-1e-9)
		require.LessOrEqual(t, got, hi+1e-9)
	})
}

// What ages faster the steeper it is weighs the warm hours more.
func TestMeanKineticRisesWithTheActivationEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawStore(t)
		ea := rapid.Float64Range(1e3, 290e3).Draw(t, "less")
		less, err := h.MeanKinetic(h.From(), h.Until(), ea)
		require.NoError(t, err)
		more, err := h.MeanKinetic(h.From(), h.Until(), rapid.Float64Range(ea, 300e3).Draw(t, "more"))
		require.NoError(t, err)
		require.GreaterOrEqual(t, more, less-1e-9)
	})
}

// Two stretches on end weigh by their lengths: wherever the air is cut, the mean of
// the rates stays.
func TestMeanKineticOfAWholeFollowsFromItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, ea := drawStore(t), drawEa(t)
		span := h.Until().Sub(h.From())
		f := rapid.Float64Range(0.001, 0.999).Draw(t, "cut at")
		cut := h.From().Add(time.Duration(f * float64(span)))
		mean := func(a, b time.Time) float64 {
			c, err := h.MeanKinetic(a, b, ea)
			require.NoError(t, err)
			return c
		}
		whole := mean(h.From(), h.Until())
		// In parts of the whole's rate, so that nothing underflows.
		rate := func(c float64) float64 { return math.Exp(ea / GasConstant * (1/(whole+kelvin) - 1/(c+kelvin))) }
		w := float64(cut.Sub(h.From())) / float64(span)
		require.InDelta(t, 1, w*rate(mean(h.From(), cut))+(1-w)*rate(mean(cut, h.Until())), 1e-9)
	})
}

func TestMeanKineticIsOfTheLikelyAir(t *testing.T) {
	plain := history(t, 10, Piece{Name: "log", Samples: readings(5, Air{5, 50}, Air{25, 50}, Air{5, 50})})
	doubtful := history(t, 10, Piece{Name: "forecast", Samples: readings(5, Air{5, 50}, Air{25, 50}, Air{5, 50}), Forecast: true, Margin: 5})
	want, err := plain.MeanKinetic(at(0), at(10), KineticEa)
	require.NoError(t, err)
	got, err := doubtful.MeanKinetic(at(0), at(10), KineticEa)
	require.NoError(t, err)
	assert.InDelta(t, want, got, 1e-12, "a margin is for lines, not for information")
}

func TestMeanKineticOfSteadyAirIsItsTemperature(t *testing.T) {
	for _, c := range []float64{-100, -40, 0, 25, 400} {
		for _, ea := range []float64{1e3, KineticEa, 300e3} {
			got, err := constant(c, 50, 24).MeanKinetic(at(0), at(24), ea)
			require.NoError(t, err)
			assert.InDelta(t, c, got, 1e-12)
		}
	}
	h := history(t, 10, Piece{Name: "log", Samples: readings(10, Air{0, 50}, Air{10, 50})})
	got, err := h.MeanKinetic(at(5), at(5).Add(time.Nanosecond), KineticEa)
	require.NoError(t, err)
	assert.InDelta(t, 5, got, 1e-6, "a nanosecond has the temperature of its instant")
}

func TestMeanKineticOfAJumpCountsBothSides(t *testing.T) {
	// A constant forecast behind a log begins with a jump at one instant.
	h := history(t, 2, Piece{Name: "log", Samples: readings(1, Air{2, 50}, Air{2, 50})},
		Piece{Name: "to come", Constant: &Air{8, 50}, Forecast: true})
	got, err := h.MeanKinetic(at(0), at(2), 10000*GasConstant)
	require.NoError(t, err)
	// Python: 1e4/-log((exp(-1e4/275.15)+exp(-1e4/281.15))/2) - 273.15
	assert.InDelta(t, 5.536424509, got, 1e-9)
}

func TestMeanKineticRefusesWhatItCannotAnswer(t *testing.T) {
	h := constant(5, 50, 24)
	for _, row := range []struct {
		from, to time.Time
		ea       float64
		want     string
	}{
		{at(0), at(24), math.NaN(), "an activation energy of NaN kJ/mol: it is to be from 1 to 300 kJ/mol"},
		{at(0), at(24), math.Inf(1), "an activation energy of +Inf kJ/mol"},
		{at(0), at(24), 0, "an activation energy of 0 kJ/mol"},
		{at(0), at(24), -83e3, "an activation energy of -83 kJ/mol"},
		{at(0), at(24), 83, "an activation energy of 0.083 kJ/mol"}, // kJ given for J
		{at(0), at(24), 300.1e3, "an activation energy of 300.1 kJ/mol"},
		{at(5), at(5), KineticEa, "it is to end after it starts"},
		{at(5), at(4), KineticEa, "it is to end after it starts"},
		{at(0).Add(-1), at(4), KineticEa, "is known from 2027-03-08T06:00:00Z to 2027-03-09T06:00:00Z"},
		{at(0), at(24).Add(1), KineticEa, "is known from 2027-03-08T06:00:00Z to 2027-03-09T06:00:00Z"},
	} {
		_, err := h.MeanKinetic(row.from, row.to, row.ea)
		require.ErrorContains(t, err, row.want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

func BenchmarkMeanKineticYear(b *testing.B) {
	s := make([]Sample, 525600)
	for i := range s {
		s[i] = Sample{t0.Add(time.Duration(i) * time.Minute), Air{math.Round(10*(10+8*math.Sin(float64(i)/230))) / 10, 50}}
	}
	h := history(b, 365*24-1, Piece{Name: "year", Samples: s})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.MeanKinetic(h.From(), h.Until(), KineticEa); err != nil {
			b.Fatal(err)
		}
	}
}
