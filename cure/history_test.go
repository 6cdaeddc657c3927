package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/air"
)

func temp(h *History, atHours float64, l Line) float64 {
	c, _ := h.At(at(atHours), l)
	return c
}

func TestTemperatureAndVapourRunStraightBetweenReadings(t *testing.T) {
	a, b := Air{10, 80}, Air{20, 40}
	h := history(t, 1, Piece{Name: "log", Samples: readings(1, a, b)})
	for _, l := range []Line{NotAfter, NotBefore, Likely} {
		c, pv := h.At(at(0.25), l)
		assert.InDelta(t, 12.5, c, 1e-9)
		assert.InDelta(t, 0.75*a.Vapour()+0.25*b.Vapour(), pv, 1e-9)
	}
	assert.Empty(t, h.Notes())
}

func TestGapOverTwoHoursCountsAtItsSlowerAndFasterEnd(t *testing.T) {
	airs := readings(1, Air{20, 40}, Air{20, 40})
	airs = append(airs, Sample{at(4.5), Air{10, 60}}, Sample{at(5.5), Air{10, 60}})
	h := history(t, 5.5, Piece{Name: "log h.csv", Samples: airs})
	dry, wet := Air{10, 60}.Vapour(), Air{20, 40}.Vapour()
	require.Less(t, dry, wet)
	for _, u := range []float64{1.01, 2.75, 4.49} {
		c, pv := h.At(at(u), NotBefore)
		assert.InDelta(t, 10, c, 1e-9)
		assert.InDelta(t, dry, pv, 1e-9)
		c, pv = h.At(at(u), NotAfter)
		assert.InDelta(t, 20, c, 1e-9)
		assert.InDelta(t, wet, pv, 1e-9)
	}
	assert.InDelta(t, 15, temp(h, 2.75, Likely), 1e-9)
	for _, l := range []Line{NotAfter, NotBefore, Likely} {
		assert.InDelta(t, 20, temp(h, 0.5, l), 1e-9)
		assert.InDelta(t, 10, temp(h, 5, l), 1e-9)
	}
	assert.Equal(t, []string{"log h.csv: no reading from Mon 8 Mar 07:00 to Mon 8 Mar 10:30 UTC: cure is counted at the slower end of the gap, the pot at the faster."}, h.Notes())
}

func TestTwoHoursExactlyAreNoGap(t *testing.T) {
	h := history(t, 2, Piece{Name: "log", Samples: readings(2, Air{20, 40}, Air{10, 60})})
	assert.InDelta(t, 15, temp(h, 1, NotBefore), 1e-9)
	assert.Empty(t, h.Notes())
	// Nor are they when the history begins at an odd fraction of a second.
	for ns := time.Duration(0); ns < 100; ns++ {
		h, err := NewHistory([]Piece{{Name: "log", Samples: readings(2, Air{20, 40}, Air{10, 60}, Air{10, 60})}}, t0.Add(ns*12345678901), at(4))
		require.NoError(t, err)
		assert.Empty(t, h.Notes())
	}
}

func TestDryEndOfAGapMakesItAllTooDry(t *testing.T) {
	cl := only(rule(5))
	cl.Moisture = &Moisture{MinRH: 40}
	// The warm end is at 30 % RH though its vapour pressure is the higher one.
	airs := []Sample{{t0, Air{10, 49}}, {at(4), Air{20, 30}}, {at(5), Air{20, 30}}}
	require.Less(t, airs[0].Vapour(), airs[1].Vapour())
	s := &Site{Air: history(t, 5, Piece{Name: "log", Samples: airs})}
	assert.Zero(t, must(s.Reach(cl, Cured, NotBefore, t0)).Progress)
}

func TestDampEndOfAGapRunsThePotDown(t *testing.T) {
	c := rule(2)
	c.Humidity = &HumidityFactor{Points: []HumidityPoint{{50, 1}, {90, 0.25}}}
	airs := []Sample{{t0, Air{25, 90}}, {at(4), Air{25, 50}}}
	s := &Site{Air: history(t, 4, Piece{Name: "log", Samples: airs})}
	assert.InDelta(t, 0.5, reach(t, s, only(c), Application, NotAfter, 0), wantErr)
	// A cold damp end and a warm drier one: both count.
	airs = []Sample{{t0, Air{25, 50}}, {at(4), Air{15, 90}}}
	s = &Site{Air: history(t, 4, Piece{Name: "log", Samples: airs})}
	assert.InDelta(t, 0.5, reach(t, s, only(c), Application, NotAfter, 0), wantErr)
}

func TestForecastReadingsMayLieFarApart(t *testing.T) {
	log := readings(1, Air{10, 60}, Air{10, 60})
	six := []Sample{{at(-2), Air{10, 60}}, {at(4), Air{16, 60}}, {at(10), Air{22, 60}}}
	h := history(t, 10, Piece{Name: "log", Samples: log}, Piece{Name: "forecast", Samples: six, Forecast: true, Margin: 2})
	assert.Len(t, h.Notes(), 1, "%q", h.Notes())
	assert.InDelta(t, 14, temp(h, 2, Likely), 1e-9)
	assert.InDelta(t, 12, temp(h, 2, NotBefore), 1e-9)
	assert.InDelta(t, 16, temp(h, 2, NotAfter), 1e-9)
	assert.InDelta(t, 10, temp(h, 0.9, NotAfter), 1e-9, "the log bears no margin")
}

func TestGapBetweenALogAndAForecastIsAGapAndBothEndsBearTheMargin(t *testing.T) {
	log := readings(1, Air{10, 60}, Air{10, 60})
	later := []Sample{{at(5), Air{9, 60}}, {at(6), Air{9, 60}}}
	h := history(t, 6, Piece{Name: "log", Samples: log}, Piece{Name: "forecast", Samples: later, Forecast: true, Margin: 2})
	assert.InDelta(t, 7, temp(h, 3, NotBefore), 1e-9)
	assert.InDelta(t, 12, temp(h, 3, NotAfter), 1e-9, "nobody measured the gap: the log's end bears the margin too")
	assert.Len(t, h.Notes(), 2)
}

func TestHistoryMayBeginInsideAGap(t *testing.T) {
	airs := []Sample{{at(-2), Air{20, 40}}, {at(1), Air{10, 60}}, {at(2), Air{10, 60}}}
	h := history(t, 2, Piece{Name: "log", Samples: airs})
	assert.InDelta(t, 10, temp(h, 0, NotBefore), 1e-9)
	assert.InDelta(t, 20, temp(h, 0.5, NotAfter), 1e-9)
	assert.InDelta(t, 10+10/3.0, temp(h, 0, Likely), 1e-9)
	assert.Len(t, h.Notes(), 1)
}

// The age of the last reading counts from the reading, not from where the history
// begins.
func TestGapBeforeAForecastCountsFromTheLastReading(t *testing.T) {
	log := []Sample{{at(-2), Air{20, 40}}, {at(-1), Air{20, 40}}}
	h := history(t, 3, Piece{Name: "log", Samples: log}, Piece{Name: "forecast", Forecast: true, Samples: []Sample{{at(1.5), Air{10, 40}}, {at(3), Air{10, 40}}}})
	assert.InDelta(t, 10, temp(h, 0.1, NotBefore), 1e-9)
	assert.InDelta(t, 20, temp(h, 1.4, NotAfter), 1e-9)
}

func TestLastReadingIsHeldAsAForecastAndReported(t *testing.T) {
	p := Piece{Name: "log h.csv", Samples: readings(1, Air{15, 50}, Air{16, 50}), Margin: 2}
	h := history(t, 30, p)
	assert.InDelta(t, 16, temp(h, 20, Likely), 1e-9)
	assert.InDelta(t, 14, temp(h, 20, NotBefore), 1e-9)
	assert.InDelta(t, 18, temp(h, 20, NotAfter), 1e-9)
	assert.InDelta(t, 15.5, temp(h, 0.5, NotAfter), 1e-9, "what was measured bears no margin")
	require.Len(t, h.Notes(), 1)
	assert.Contains(t, h.Notes()[0], "log h.csv ends at Mon 8 Mar 07:00 UTC: its last reading, 16.0 C and 50 % RH, is held")
	assert.Equal(t, at(30), h.Until())
}

func TestLogThatEndsBeforeTheStartIsHeld(t *testing.T) {
	h := history(t, 3, Piece{Name: "log", Samples: []Sample{{at(-9), Air{15, 50}}, {at(-8), Air{16, 50}}}})
	assert.InDelta(t, 16, temp(h, 0, NotBefore), 1e-9)
	assert.Equal(t, t0, h.From())
	assert.Len(t, h.Notes(), 1)
}

func TestMarginIsColderForNotBeforeAndWarmerForNotAfterAndSaysSo(t *testing.T) {
	a := Air{15, 50}
	h := history(t, 3, Piece{Name: "constant 15 C", Constant: &a, Forecast: true, Margin: DefaultMargin})
	assert.Equal(t, []float64{13, 15, 17}, []float64{temp(h, 1, NotBefore), temp(h, 1, Likely), temp(h, 1, NotAfter)})
	assert.Equal(t, []string{"constant 15 C is a forecast: taken 2 C colder where cure must be waited for and 2 C warmer where the pot runs out."}, h.Notes())
	c := rule(10)
	c.ColdExtends = "x"
	s := &Site{Air: history(t, 100, Piece{Name: "constant 15 C", Constant: &a, Forecast: true, Margin: 2})}
	assert.InDelta(t, 10*math.Exp2(1.2), reach(t, s, only(c), Cured, NotBefore, 0), wantErr)
	assert.InDelta(t, 10*math.Exp2(0.8), reach(t, s, only(c), Cured, NotAfter, 0), wantErr)
}

func TestConstantAirEndsWhereTheReadingsBehindItBegin(t *testing.T) {
	a := Air{15, 50}
	h := history(t, 4, Piece{Name: "room", Constant: &a}, Piece{Name: "forecast", Forecast: true, Samples: []Sample{{at(2), Air{25, 50}}, {at(4), Air{35, 50}}}})
	assert.InDelta(t, 15, temp(h, 1.999, Likely), 1e-9)
	assert.InDelta(t, 25, temp(h, 2, Likely), 1e-9, "the first reading counts, with a jump")
	assert.InDelta(t, 30, temp(h, 3, Likely), 1e-9)
}

func TestLaterLogTakesOverWhereTheEarlierEnds(t *testing.T) {
	one := readings(1, Air{10, 50}, Air{10, 50}, Air{10, 50})
	two := []Sample{{at(0), Air{30, 50}}, {at(1.5), Air{30, 50}}, {at(2.5), Air{40, 50}}, {at(3.5), Air{40, 50}}}
	h := history(t, 3.5, Piece{Name: "one", Samples: one}, Piece{Name: "two", Samples: two})
	assert.InDelta(t, 10, temp(h, 1.9, Likely), 1e-9)
	assert.InDelta(t, 35, temp(h, 2, Likely), 1e-9)
	assert.InDelta(t, 40, temp(h, 3, Likely), 1e-9)
	h = history(t, 3, Piece{Name: "two", Samples: two}, Piece{Name: "one", Samples: one})
	assert.InDelta(t, 40, temp(h, 3, Likely), 1e-9, "a log that is over adds nothing")
}

func TestSwingIsACosineOnKnotsFiveMinutesApart(t *testing.T) {
	w := Swing{LowC: 6, HighC: 16, Warmest: 15 * time.Hour, DewC: math.NaN(), RH: 60, Zone: time.UTC}
	h := history(t, 48, Piece{Name: "swing", Swing: &w})
	assert.InDelta(t, 16, temp(h, 9, Likely), 1e-9, "15:00")
	assert.InDelta(t, 6, temp(h, 21, Likely), 1e-9, "03:00")
	assert.InDelta(t, 11, temp(h, 3, Likely), 1e-9, "09:00")
	a, b := temp(h, 3, Likely), temp(h, 3+5/60.0, Likely)
	assert.InDelta(t, (a+b)/2, temp(h, 3+2.5/60, Likely), 1e-12, "straight between knots")
	c, pv := h.At(at(9), Likely)
	assert.InDelta(t, 60, air.Humidity(c, pv), 1e-6)
	assert.InDelta(t, temp(h, 10, Likely), temp(h, 34, Likely), 1e-9, "a day later")
}

func TestSwingIsTheSameCurveWhateverInstantItBeginsAt(t *testing.T) {
	w := Swing{LowC: 6, HighC: 16, Warmest: 15 * time.Hour, DewC: 4, Zone: time.UTC}
	p := Piece{Name: "swing", Swing: &w}
	whole := history(t, 24, p)
	late, err := NewHistory([]Piece{p}, at(1.2345).Add(777*time.Millisecond), at(20.1))
	require.NoError(t, err)
	for u := 1.24; u < 20.1; u += 0.0371 {
		for _, l := range []Line{Likely, NotAfter} {
			c0, p0 := whole.At(at(u), l)
			c1, p1 := late.At(at(u), l)
			assert.InDelta(t, c0, c1, 1e-9, "%g h", u)
			assert.InDelta(t, p0, p1, 1e-9, "%g h", u)
		}
	}
}

func TestSwingKeepsLocalTimeOfDayOverTheSummerTimeChange(t *testing.T) {
	paris, err := time.LoadLocation("Europe/Paris")
	if err != nil {
		t.Skip("no time zone data")
	}
	w := Swing{LowC: 6, HighC: 16, Warmest: 15 * time.Hour, DewC: 4, Zone: paris}
	for _, day := range []int{27, 28, 29} { // the change is on 28 March 2027
		c, _ := w.At(time.Date(2027, 3, day, 15, 0, 0, 0, paris))
		assert.InDelta(t, 16, c, 1e-9)
	}
}

func TestSwingsDewPointNeverExceedsItsTemperature(t *testing.T) {
	w := Swing{LowC: 2, HighC: 12, Warmest: 15 * time.Hour, DewC: 6, Zone: time.UTC}
	c, pv := w.At(time.Date(2027, 3, 8, 3, 0, 0, 0, time.UTC))
	assert.InDelta(t, 100, air.Humidity(c, pv), 1e-9)
}

func TestHistoryRefusesWhatCannotBe(t *testing.T) {
	good := Air{15, 50}
	swing := func(change func(*Swing)) Piece {
		w := Swing{LowC: 6, HighC: 16, Warmest: 15 * time.Hour, DewC: math.NaN(), RH: 60, Zone: time.UTC}
		change(&w)
		return Piece{Name: "swing", Swing: &w}
	}
	log := func(s ...Sample) Piece { return Piece{Name: "log", Samples: s} }
	for _, row := range []struct {
		name   string
		pieces []Piece
		want   string
	}{
		{"nothing", nil, "no air is given"},
		{"no reading", []Piece{{Name: "log"}}, "log: it has no reading"},
		{"two things at once", []Piece{{Name: "x", Constant: &good, Samples: readings(1, good)}}, "is 2 of them"},
		{"order", []Piece{log(Sample{at(1), good}, Sample{at(0), good})}, "does not come after"},
		{"duplicate", []Piece{log(Sample{at(0), good}, Sample{at(0), good})}, "does not come after"},
		{"order, past the end", []Piece{log(Sample{at(0), good}, Sample{at(20), good}, Sample{at(19), good})}, "does not come after"},
		{"late", []Piece{log(Sample{at(1), good}, Sample{at(2), good})}, "log: its first reading is at 2027-03-08 07:00, later than 2027-03-08 06:00"},
		{"not a number", []Piece{log(Sample{at(0), Air{math.NaN(), 50}})}, "no such temperature"},
		{"absurd", []Piece{log(Sample{at(0), Air{1500, 50}})}, "no such temperature"},
		{"humidity", []Piece{log(Sample{at(0), Air{15, 101}})}, "no such humidity"},
		{"humidity not a number", []Piece{{Name: "x", Constant: &Air{15, math.NaN()}}}, "no such humidity"},
		{"margin", []Piece{{Name: "x", Constant: &good, Forecast: true, Margin: -1}}, "margin"},
		{"margin not a number", []Piece{{Name: "x", Constant: &good, Forecast: true, Margin: math.NaN()}}, "margin"},
		{"backwards", []Piece{swing(func(s *Swing) { s.LowC = 20 })}, "backwards"},
		{"zone", []Piece{swing(func(s *Swing) { s.Zone = nil })}, "time zone"},
		{"no moisture", []Piece{swing(func(s *Swing) { s.RH = math.NaN() })}, "dew point"},
		{"dew point", []Piece{swing(func(s *Swing) { s.DewC = math.Inf(1) })}, "no such dew point"},
		{"time of day", []Piece{swing(func(s *Swing) { s.Warmest = 25 * time.Hour })}, "no such time of day"},
		{"swing", []Piece{swing(func(s *Swing) { s.HighC = math.NaN() })}, "no such swing"},
		{"never in play", []Piece{{Name: "room", Constant: &good}, swing(func(*Swing) {})}, "swing never comes into play: room in front of it has no end"},
	} {
		_, err := NewHistory(row.pieces, t0, at(10))
		assert.ErrorContains(t, err, row.want, row.name)
	}
	_, err := NewHistory([]Piece{{Name: "x", Constant: &good}}, t0, t0)
	assert.ErrorContains(t, err, "ends")
	_, err = NewHistory([]Piece{{Name: "x", Constant: &good}}, t0, t0.AddDate(60, 0, 0))
	assert.ErrorContains(t, err, "50 years")
	assert.Panics(t, func() { Constant(Air{15, 150}, t0, at(1)) })
}
