package desk

import (
	"errors"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cure"
)

func fahrenheit(f float64) float64 { return (f - 32) * 5 / 9 }

func charted(t testing.TB, q ChartQuestion) *Chart {
	t.Helper()
	c, err := AskChart(q)
	require.NoError(t, err)
	return c
}

func chartLine(t testing.TB, c *Chart, m cure.Milestone) ChartMilestone {
	t.Helper()
	i := slices.IndexFunc(c.Milestones, func(x ChartMilestone) bool { return x.Milestone == m })
	require.GreaterOrEqual(t, i, 0, "no %s", m)
	return c.Milestones[i]
}

// The rule of thumb of the trade, ×2 for each 18 °F (common practice, no source): 2 h
// at 77 °F are 4 h at 59 °F, 1 h at 95 °F, 0.5 h at 113 °F and 8.314 h at 40 °F (worked
// by hand from the rule). The line to work to is never longer than the rated 2 h.
func TestAChartFollowsTheRuleOf18F(t *testing.T) {
	cl := class(t, "", "polysulfide-b-2")
	want := []float64{8.314, 4, 2, 1, 0.5} // h, from 40 to 113 °F
	c := charted(t, ChartQuestion{Class: cl, TempsC: []float64{fahrenheit(40), 15, 25, 35, 45}, RHs: []float64{50}, PotC: math.NaN()})
	pot := chartLine(t, c, cure.Application)
	assert.False(t, pot.Humid)
	for i, h := range want {
		m := pot.Cells[i][0]
		assert.InDelta(t, h, m.Likely.Hours(), 0.0005, "%g C", c.TempsC[i])
		assert.InDelta(t, min(h, 2), m.Span.Hours(), 0.0005, "%g C", c.TempsC[i])
	}
}

// A front of one-part acetoxy silicone goes 2 mm deep in 24 h at 25 °C and 50 % RH (a
// generic data sheet); by the square of the depth 3 mm take 54 h and 6 mm 216 h, and by
// the vapour pressure alone 2 mm take 48 h at 25 % and 15 h at 80 % (worked by hand from
// z = √(2VPpt), Comyn 1998).
func TestAChartOfAFrontFollowsDepthAndVapour(t *testing.T) {
	cl := class(t, "", "silicone-acetoxy")
	for _, x := range []struct{ mm, rh, hours float64 }{{2, 50, 24}, {2, 25, 48}, {2, 80, 15}, {3, 50, 54}, {6, 50, 216}} {
		c := charted(t, ChartQuestion{Class: cl, TempsC: []float64{25}, RHs: []float64{x.rh}, PotC: math.NaN(), Bead: cure.Bead{DepthMM: x.mm}})
		m := chartLine(t, c, cure.Cured)
		assert.True(t, m.Humid)
		assert.InDelta(t, x.hours, m.Cells[0][0].Likely.Hours(), 1e-3, "%g mm at %g %%", x.mm, x.rh)
	}
}

// timed are the built-in classes that have times.
var timed = sync.OnceValue(func() []catalog.Class {
	return slices.DeleteFunc(catalog.Builtin().All(), func(cl catalog.Class) bool {
		return !slices.ContainsFunc(cl.Curves[:], func(c *cure.Curve) bool { return c != nil })
	})
})

// gridOf draws a chart of any class that has times.
func gridOf(t *rapid.T) ChartQuestion {
	cl := rapid.SampledFrom(timed()).Draw(t, "class")
	q := ChartQuestion{Class: &cl, PotC: math.NaN(), Bead: cure.Bead{
		DepthMM: rapid.SampledFrom([]float64{0.2, 1, 3, 7}).Draw(t, "depth"), Faces: rapid.IntRange(0, 2).Draw(t, "faces"),
	}}
	if cl.Takes(cure.Faying) && rapid.Bool().Draw(t, "faying") {
		q.Seal, q.Bead = cure.Faying, cure.Bead{DepthMM: 0.2, Closed: true}
	}
	some := func(lo, hi int, name string) []float64 {
		v := rapid.SliceOfNDistinct(rapid.IntRange(lo, hi), 1, 4, rapid.ID[int]).Draw(t, name)
		slices.Sort(v)
		var f []float64
		for _, x := range v {
			f = append(f, float64(x)/2)
		}
		return f
	}
	q.TempsC, q.RHs = some(-20, 110, "temps"), some(0, 200, "humidities")
	return q
}

func TestACellOfAChartIsTheAnswerOfTimes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		q := gridOf(rt)
		c, err := AskChart(q)
		var all *Refusal
		if errors.As(err, &all) {
			for _, temp := range q.TempsC {
				one := steady(q.Class, temp, q.RHs[0])
				one.Bead, one.Seal = q.Bead, q.Seal
				_, err := AskTimes(one)
				require.ErrorAs(rt, err, &all)
			}
			return
		}
		require.NoError(rt, err)
		for i, temp := range q.TempsC {
			for j, rh := range q.RHs {
				one := steady(q.Class, temp, rh)
				one.Bead, one.Seal = q.Bead, q.Seal
				a, err := AskTimes(one)
				if err != nil {
					require.ErrorAs(rt, err, &all)
				} else {
					require.Subset(rt, c.Stops[i][j], a.Stops)
				}
				for k, m := range c.Milestones {
					if err != nil {
						require.NotEmpty(rt, m.Cells[i][j].Refused)
						continue
					}
					require.Equal(rt, a.Moments[k], m.Cells[i][j])
				}
			}
		}
	})
}

func TestWarmthNeverLengthensAnyLineOfAChart(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, err := AskChart(gridOf(rt))
		if err != nil {
			return
		}
		for _, m := range c.Milestones {
			for j := range c.RHs {
				last := time.Duration(math.MaxInt64)
				for i := range c.TempsC {
					if x := m.Cells[i][j]; x.Known {
						require.LessOrEqual(rt, x.Span, last, "%s %s at %g C, %g %%", c.Class.ID, m.Milestone, c.TempsC[i], c.RHs[j])
						last = x.Span
					}
				}
			}
		}
	})
}

func TestHumidityThatDoesNotEnterMakesNoDifference(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, err := AskChart(gridOf(rt))
		if err != nil {
			return
		}
		for _, m := range c.Milestones {
			for _, row := range m.Cells {
				for _, x := range row {
					if !m.Humid {
						require.Equal(rt, row[0].Span, x.Span, "%s %s", c.Class.ID, m.Milestone)
						require.Equal(rt, row[0].Refused, x.Refused)
					}
				}
			}
		}
	})
}

func TestNothingIsToBeLaidOutsideTheLayingRange(t *testing.T) {
	// 16 to 32 °C at the part (60 to 90 °F rounded inward; a light-aircraft maintenance
	// manual ch. 20-10 and USAF T.O. 1-1-700 §12.5.1.2-3), 40 to 85 % RH (assumed), and
	// 3 °C above the dew point (practice of ISO 8502-4).
	c := charted(t, ChartQuestion{Class: class(t, "", "polysulfide-b-2"), TempsC: []float64{10, 20, 35}, RHs: []float64{30, 50, 84}, PotC: math.NaN()})
	barred := [][]bool{{true, true, true}, {true, false, true}, {true, true, true}}
	for i, row := range barred {
		for j, want := range row {
			assert.Equal(t, want, c.Stops[i][j] != nil, "%g C, %g %%: %v", c.TempsC[i], c.RHs[j], c.Stops[i][j])
		}
	}
	assert.Contains(t, c.Stops[1][0][0], "the air has 30 % RH: this class is laid at 40 to 85 %")
	assert.Contains(t, c.Stops[1][2][0], "dew point")
	assert.Equal(t, "the part at 16 to 32 C, the air at 40 to 85 % RH and the part at least 3 degrees C above the dew point", c.Limits)
}

func TestDryAirGivesNoCureLineInAChart(t *testing.T) {
	c := charted(t, ChartQuestion{Class: class(t, "", "polysulfide-b-2"), TempsC: []float64{20}, RHs: []float64{30, 50}, PotC: math.NaN()})
	m := chartLine(t, c, cure.Cured)
	assert.True(t, m.Humid)
	assert.True(t, m.Cells[0][0].ByWitness)
	assert.True(t, m.Cells[0][1].Known)
}

func TestAPotOfItsOwnTemperatureMovesThePotAlone(t *testing.T) {
	cl := class(t, plain, "plain")
	q := ChartQuestion{Class: cl, TempsC: []float64{15, 40}, PotC: 35}
	c := charted(t, q)
	pot, cured := chartLine(t, c, cure.Application), chartLine(t, c, cure.Cured)
	assert.Equal(t, time.Hour, pot.Cells[0][0].Span, "2 h at 25 °C, one step of 10 °C warmer")
	assert.Less(t, pot.Cells[1][0].Span, time.Hour, "air warmer than the pot warms it")
	q.PotC = math.NaN()
	assert.Equal(t, chartLine(t, charted(t, q), cure.Cured).Cells, cured.Cells)
}

func TestAChartOutsideEveryRangeIsRefusedOnce(t *testing.T) {
	_, err := AskChart(ChartQuestion{Class: class(t, "", "polysulfide-b-2"), TempsC: []float64{60, 70}, RHs: []float64{50}, PotC: math.NaN()})
	var no *Refusal
	require.ErrorAs(t, err, &no)
	assert.Contains(t, err.Error(), "60 C is outside the curve's range, -1 to 49 C")
}

func TestAChartRises(t *testing.T) {
	cl := class(t, plain, "plain")
	for _, q := range []ChartQuestion{
		{Class: cl, PotC: math.NaN()},
		{Class: cl, PotC: math.NaN(), TempsC: []float64{20, 20}},
		{Class: cl, PotC: math.NaN(), TempsC: []float64{20, math.NaN()}},
		{Class: cl, PotC: math.NaN(), TempsC: []float64{20}, RHs: []float64{50, 30}},
	} {
		_, err := AskChart(q)
		assert.Error(t, err)
	}
}

func TestAClassWithoutTimesHasNoChart(t *testing.T) {
	_, err := AskChart(ChartQuestion{Class: class(t, "", "grease-general"), TempsC: []float64{20}, PotC: math.NaN()})
	assert.ErrorContains(t, err, "grease-general has no times")
}
