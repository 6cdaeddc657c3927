package desk

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cure"
)

var monday = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)

// inPieces asks a class in pieces of air from Monday morning on.
func inPieces(cl *catalog.Class, pieces ...cure.Piece) TimesQuestion {
	return TimesQuestion{Class: cl, Pieces: pieces, PotC: math.NaN(), PartC: math.NaN(), From: monday}
}

func night(lo, hi, dewC, margin float64) cure.Piece {
	return cure.Piece{Name: "the swing", Forecast: true, Margin: margin,
		Swing: &cure.Swing{LowC: lo, HighC: hi, Warmest: 15 * time.Hour, DewC: dewC, Zone: time.UTC}}
}

func still(tempC, rh, margin float64) cure.Piece {
	return cure.Piece{Name: "constant air", Constant: &cure.Air{TempC: tempC, RH: rh}, Forecast: true, Margin: margin}
}

// hourly is a log of one temperature, a reading each hour for so many hours.
func hourly(name string, tempC float64, hours int) cure.Piece {
	p := cure.Piece{Name: name, Margin: cure.DefaultMargin}
	for i := range hours + 1 {
		p.Samples = append(p.Samples, cure.Sample{At: monday.Add(time.Duration(i) * time.Hour), Air: cure.Air{TempC: tempC, RH: 50}})
	}
	return p
}

func TestALongCureIsFoundBehindTheFirstStretchOfAir(t *testing.T) {
	cl := class(t, "", "polysulfide-c-24-80")
	a, err := AskTimes(inPieces(cl, still(8, 50, 0)))
	require.NoError(t, err)
	b, err := AskTimes(steady(cl, 8, 50))
	require.NoError(t, err)
	long := false
	for i, mo := range a.Moments {
		long = long || mo.Span > spans[0]
		assert.Equal(t, b.Moments[i].Known, mo.Known, mo.Milestone)
		assert.InDelta(t, b.Moments[i].Span.Seconds(), mo.Span.Seconds(), 1, mo.Milestone)
		assert.InDelta(t, b.Moments[i].Likely.Seconds(), mo.Likely.Seconds(), 1, mo.Milestone)
	}
	assert.True(t, long, "the test asks for a cure beyond the first stretch")
}

func TestALineOnAirThatWasNotMeasuredIsMarked(t *testing.T) {
	cl := class(t, plain, "plain")
	rapid.Check(t, func(t *rapid.T) {
		hours := rapid.IntRange(1, 200).Draw(t, "hours of log")
		a, err := AskTimes(inPieces(cl, hourly("log", 25, hours)))
		require.NoError(t, err)
		require.Equal(t, monday.Add(time.Duration(hours)*time.Hour), a.Measured)
		for _, mo := range a.Moments {
			require.Equal(t, mo.At.After(a.Measured), mo.OnForecast, "%s at %s", mo.Milestone, mo.At)
		}
	})
	a, err := AskTimes(inPieces(cl, night(20, 25, 6, 2)))
	require.NoError(t, err)
	for _, mo := range a.Moments {
		assert.True(t, mo.OnForecast, "a swing is all forecast")
	}
	b, err := AskTimes(steady(cl, 25, 50))
	require.NoError(t, err)
	for _, mo := range b.Moments {
		assert.False(t, mo.OnForecast, "constant air is as it is said")
	}
}

// The doubt makes a line to wait for later and one not to work past earlier, never the
// other way round.
func TestMoreDoubtMovesALineToTheSafeSide(t *testing.T) {
	cl := class(t, plain, "plain")
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(8, 30).Draw(t, "low")
		hi := lo + rapid.Float64Range(0.1, 8).Draw(t, "span")
		less := rapid.Float64Range(0, 3).Draw(t, "margin")
		more := less + rapid.Float64Range(0, 3).Draw(t, "more")
		a, err := AskTimes(inPieces(cl, night(lo, hi, lo-5, less)))
		require.NoError(t, err)
		b, err := AskTimes(inPieces(cl, night(lo, hi, lo-5, more)))
		require.NoError(t, err)
		for i, x := range a.Moments {
			y := b.Moments[i]
			switch {
			case x.Line == cure.NotAfter:
				require.LessOrEqual(t, y.Span, x.Span, x.Milestone)
			case y.Known:
				require.True(t, x.Known)
				require.GreaterOrEqual(t, y.Span, x.Span, x.Milestone)
			}
			require.Equal(t, x.Likely, y.Likely, "doubt is no matter to what is likely")
		}
	})
}

func TestAPartNotSaidFollowedTheAirUntilTheStart(t *testing.T) {
	cl := class(t, plain, "plain")
	q := inPieces(cl, hourly("log", 25, 100))
	q.From = monday.Add(40 * time.Hour)
	q.Part = cure.Part{Tau: 2 * time.Hour, AtC: math.NaN()}
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, q.From.Add(-settled*2*time.Hour), a.Site.Air.From())
	assert.InDelta(t, 25, a.Site.PartAt(q.From, cure.Likely), 1e-9)
	assert.Contains(t, strings.Join(a.Assumed, "\n"), "Measure it and give --part")
	q.From = monday.Add(5 * time.Hour)
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, monday, a.Site.Air.From(), "no further back than the log")
	q.Part.AtC = -4
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, q.From, a.Site.Air.From())
	assert.Equal(t, -4., a.Site.PartAt(q.From, cure.Likely))
	assert.NotContains(t, strings.Join(a.Assumed, "\n"), "--part")
}

func TestAStartInNoWindowIsAStopThatNamesTheNext(t *testing.T) {
	cl := class(t, strings.ReplaceAll(strings.ReplaceAll(plain, "{part: 10..30C,", "{part: 16..32C, rh: 40..85%,"), "time: 72h", "time: 20h"), "plain")
	require.Equal(t, 40., cl.Apply.RH.Lo)
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(5, 20).Draw(t, "low")
		q := inPieces(cl, night(lo, lo+rapid.Float64Range(1, 14).Draw(t, "span"), lo-rapid.Float64Range(0, 12).Draw(t, "dry"), 2))
		q.From = monday.Add(time.Duration(rapid.IntRange(0, 24*3600).Draw(t, "from")) * time.Second)
		if rapid.Bool().Draw(t, "lags") {
			q.Part = cure.Part{Tau: 3 * time.Hour, AtC: rapid.Float64Range(-5, 25).Draw(t, "part")}
		}
		a, err := AskTimes(q)
		require.NoError(t, err)
		require.Equal(t, q.From, a.Windows[0].From)
		require.Equal(t, q.From.Add(SealAhead), a.Windows[len(a.Windows)-1].To)
		require.Equal(t, a.Windows[0].Open(), len(a.Stops) == 0, "%v %v", a.Windows[0], a.Stops)
		open := a.MaySeal()
		for _, s := range open {
			within(t, a.Windows, s)
			require.True(t, s.To.Truncate(time.Minute).Equal(s.To))
			require.True(t, s.From.Equal(q.From) || s.From.Truncate(time.Minute).Equal(s.From))
		}
		if len(a.Stops) > 0 && len(open) > 0 {
			require.Contains(t, a.Stops[0], "You may from "+sayInstant(open[0].From)+".")
		}
		if len(open) == 0 {
			require.NotContains(t, strings.Join(a.Stops, " "), "You may")
		}
	})
}

func within(t require.TestingT, windows []cure.Window, s Sealing) {
	for _, w := range windows {
		if w.Open() && !s.From.Before(w.From) && !s.To.After(w.To) {
			return
		}
	}
	require.Fail(t, "outside every window", "%v in %v", s, windows)
}

func TestSealantLaidBehindTheWindowOrThePotIsStopped(t *testing.T) {
	q := inPieces(class(t, plain, "plain"), night(4, 24, 0, 0))
	q.From, q.Laid = monday.Add(7*time.Hour), monday.Add(20*time.Hour)
	a, err := AskTimes(q)
	require.NoError(t, err)
	require.Len(t, a.Stops, 2)
	assert.Contains(t, a.Stops[0], "the seal does not count")
	assert.Contains(t, a.Stops[1], "Lay none after that")
	q.Laid = q.From.Add(time.Hour)
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Empty(t, a.Warnings)
}

func TestWarmthHoldsUntilTheLastFastenerAndHeatComesAfter(t *testing.T) {
	heatFrom := monday.Add(5 * time.Hour)
	a := Times{TimesQuestion: TimesQuestion{From: monday,
		Warmth: cure.Warmth{Warmed: true, WarmedC: 20, Heated: true, HeatFrom: heatFrom, HeatC: 40}}}
	assert.Equal(t, cure.Warmth{}, a.WarmthOf(cure.Application), "the pot stands apart")
	assert.Equal(t, cure.Warmth{Warmed: true, WarmedC: 20, Heated: true, HeatFrom: monday, HeatC: 20}, a.WarmthOf(cure.Assembly))
	assert.Equal(t, a.Warmth, a.WarmthOf(cure.Cured))
}

// Between being kept warm to the end, which is later, and being at the heat from the
// start, which is sooner; never before the heat comes on, if it lasts until then.
func TestAssemblyThatLastsUntilTheHeatEndsOnTheSafeSide(t *testing.T) {
	cl := class(t, "", "polysulfide-c-8-48")
	rapid.Check(t, func(rt *rapid.T) {
		ask := func(w cure.Warmth) time.Duration {
			q := inPieces(cl, still(12, 50, 0))
			q.Part = cure.Part{Tau: 3 * time.Hour, AtC: 12}
			q.Warmth = w
			a, err := AskTimes(q)
			require.NoError(rt, err)
			return moment(t, a, cure.Assembly).Span
		}
		warm := rapid.Float64Range(14, 30).Draw(rt, "warm")
		heat := rapid.Float64Range(warm, 43).Draw(rt, "heat")
		on := time.Duration(rapid.IntRange(1, 60*60).Draw(rt, "minutes")) * time.Minute
		both := ask(cure.Warmth{Warmed: true, WarmedC: warm, Heated: true, HeatFrom: monday.Add(on), HeatC: heat})
		kept := ask(cure.Warmth{Warmed: true, WarmedC: warm})
		hot := ask(cure.Warmth{Warmed: true, WarmedC: heat})
		require.LessOrEqual(rt, both, kept)
		require.GreaterOrEqual(rt, both, hot)
		if kept <= on {
			require.Equal(rt, kept, both, "the heat comes too late to matter")
		} else {
			require.GreaterOrEqual(rt, both, on)
		}
	})
}

func TestHeatWithoutCreditIsSaidToShortenNothing(t *testing.T) {
	cl := *class(t, plain, "plain")
	cl.Heat = &cure.Heat{MaxC: 40, After: time.Hour, Needs: "every fastener in", From: "test"}
	q := inPieces(&cl, still(20, 50, 0))
	q.Warmth = cure.Warmth{Heated: true, HeatFrom: monday.Add(time.Hour), HeatC: 35}
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.Contains(t, strings.Join(a.Warnings, " "), "40 C at most, and not before 1 h")
	assert.Contains(t, strings.Join(a.Warnings, " "), "every fastener in")
	credit := false
	for _, c := range cl.Curves {
		credit = credit || c != nil && c.Credit != nil
	}
	assert.Equal(t, !credit, strings.Contains(strings.Join(a.Assumed, " "), "shortens no line"))
}

func TestTooColdForEverSaysWhatTenDegreesWouldTake(t *testing.T) {
	cl := class(t, plain, "plain")
	floor := cl.Curves[cure.Cured].Temp.Lo
	at10, err := cl.Steady(cure.Cured, cure.NotBefore, cure.Steady{Air: cure.Air{TempC: 10, RH: 50}, PotC: 10, PartC: 10})
	require.NoError(t, err)
	a, err := AskTimes(inPieces(cl, still(floor-1, 50, 0)))
	require.NoError(t, err)
	mo := moment(t, a, cure.Cured)
	assert.False(t, mo.Known)
	assert.Contains(t, mo.Why, "never, in this air: below the floor of")
	assert.Contains(t, mo.Why, "it would take")
	assert.Contains(t, mo.Why, "at 10 C")
	assert.Greater(t, at10.Time, time.Duration(0))
	q := steady(cl, floor-1, 50)
	q.PotC = 20
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(moment(t, a, cure.Cured).Refused, neverAt))
}

func TestWaterlessAirIsRefusedForAClassThatCuresWithWater(t *testing.T) {
	q := steady(class(t, "", "silicone-acetoxy"), 20, 0)
	q.Bead.DepthMM = 2
	_, err := AskTimes(q)
	var no *Refusal
	require.ErrorAs(t, err, &no)
	assert.Contains(t, err.Error(), "0 % RH")
	q = steady(class(t, "", "epoxy-paste"), 22, 0)
	_, err = AskTimes(q)
	assert.NoError(t, err, "this one does not")
}
