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
	"beadline/cure/air"
)

// wide is a class with a spread; its numbers are invented.
const wide = `
- id: wide
  name: Test class with a spread
  kind: two-part
  seals: [fillet]
  cautions: []
  curves:
    application: {doubling: {ref: 25C, time: 2h, step: 18F}, range: 0..50C, spread: -20..30%, from: test}
    tack-free: {doubling: {ref: 25C, time: 10h, step: 18F}, range: 0..50C, states: maximum, spread: -50..40%, from: test}
    cure: {doubling: {ref: 25C, time: 72h, step: 18F}, range: 0..50C, spread: -25..50%, from: test}
`

func sensitive(t testing.TB, q TimesQuestion) *Sensitivity {
	t.Helper()
	s, err := AskSensitivity(q)
	require.NoError(t, err)
	return s
}

func lineOf(t testing.TB, s *Sensitivity, m cure.Milestone) SensitiveLine {
	t.Helper()
	for _, l := range s.Lines {
		if l.Base.Milestone == m {
			return l
		}
	}
	t.Fatalf("no %s", m)
	return SensitiveLine{}
}

func effect(t testing.TB, l SensitiveLine, what string) Effect {
	t.Helper()
	for _, e := range l.Effects {
		if strings.HasPrefix(e.What, what) {
			return e
		}
	}
	t.Fatalf("%s: no %q", l.Base.Milestone, what)
	return Effect{}
}

// By the 18 °F rule (common practice, no source) 2 °C are a fifth of a doubling, so a
// factor of 2^0.2. A rated time bounds either line.
func TestTwoDegreesAreAFifthOfADoubling(t *testing.T) {
	s := sensitive(t, steady(class(t, plain, "plain"), 25, 50))
	cured, pot := lineOf(t, s, cure.Cured), lineOf(t, s, cure.Application)

	d, ok := cured.Delta(effect(t, cured, "2 C colder"))
	require.True(t, ok)
	assert.InDelta(t, 72*math.Pow(2, 0.2)-72, d.Hours(), 0.001)
	assert.False(t, cured.Moves(effect(t, cured, "2 C warmer")), "warmth earns no credit that the class does not give")
	e, ok := cured.Most()
	require.True(t, ok)
	assert.Equal(t, "2 C colder", e.What)
	assert.True(t, cured.Worse(e))
	assert.Equal(t, "2 C colder", cured.Effects[0].What, "the worst comes first")

	d, ok = pot.Delta(effect(t, pot, "2 C warmer"))
	require.True(t, ok)
	assert.InDelta(t, 2*math.Pow(2, -0.2)-2, d.Hours(), 0.001)
	assert.False(t, pot.Moves(effect(t, pot, "2 C colder")), "cold does not lengthen a pot life")
	e, ok = pot.Most()
	require.True(t, ok)
	assert.Equal(t, "2 C warmer", e.What)
}

// The front runs on the vapour pressure (Comyn 1998), which at one temperature is the
// relative humidity: 50 % to 40 % is a factor of 1.25.
func TestDrierAirSlowsAFrontInProportion(t *testing.T) {
	q := steady(class(t, "", "silicone-acetoxy"), 25, 50)
	q.Bead.DepthMM = 2
	l := lineOf(t, sensitive(t, q), cure.Cured)
	e := effect(t, l, "10 % RH drier")
	assert.InDelta(t, 1.25, e.Moment.Likely.Seconds()/l.Base.Likely.Seconds(), 1e-4)
	assert.InDelta(t, 1.25, e.Moment.Span.Seconds()/l.Base.Span.Seconds(), 1e-4)
}

func TestTheSpreadOfTheClassIsOneOfTheChanges(t *testing.T) {
	s := sensitive(t, steady(class(t, wide, "wide"), 25, 50))
	pot := lineOf(t, s, cure.Application)
	assert.Equal(t, 96*time.Minute, pot.Base.Span, "the line allows for 20 % shorter: 2 h · 0.8")
	assert.False(t, pot.Moves(effect(t, pot, "fast mix, 20 % shorter")))
	slow := effect(t, pot, "slow mix, 30 % longer")
	assert.Equal(t, 156*time.Minute, slow.Moment.Span, "2 h · 1.3")
	assert.False(t, pot.Worse(slow))

	cured := lineOf(t, s, cure.Cured)
	assert.Equal(t, 108*time.Hour, cured.Base.Span, "72 h · 1.5")
	assert.False(t, cured.Moves(effect(t, cured, "slow mix, 50 % longer")))
	assert.Equal(t, 54*time.Hour, effect(t, cured, "fast mix, 25 % shorter").Moment.Span, "72 h · 0.75")

	tack := lineOf(t, s, cure.TackFree)
	assert.Equal(t, 10*time.Hour, tack.Base.Span, "a rated maximum allows for the spread already")
	for _, e := range tack.Effects {
		assert.NotContains(t, e.What, "slow mix", "no mix is slower than the maximum")
	}
	assert.Equal(t, 5*time.Hour, effect(t, tack, "fast mix").Moment.Span)
}

func TestAClassWithoutSpreadSaysSo(t *testing.T) {
	s := sensitive(t, steady(class(t, plain, "plain"), 25, 50))
	assert.Contains(t, strings.Join(s.Notes, "\n"), "The class gives no spread for application, assembly, tack-free, cure.")
	for _, l := range s.Lines {
		assert.Len(t, l.Effects, 4)
	}
}

func TestTooDryIsWorseThanAnyDelay(t *testing.T) {
	l := lineOf(t, sensitive(t, steady(class(t, "", "polysulfide-b-2"), 18, 45)), cure.Cured)
	assert.Equal(t, "10 % RH drier", l.Effects[0].What)
	assert.True(t, l.Effects[0].Moment.ByWitness)
	_, ok := l.Delta(l.Effects[0])
	assert.False(t, ok, "no line, no difference")
	assert.True(t, l.Worse(l.Effects[0]))
}

func TestAChangeOutOfTheRangeIsWordsNotANumber(t *testing.T) {
	l := lineOf(t, sensitive(t, steady(class(t, plain, "plain"), 39, 50)), cure.Cured) // to 40 °C
	e := effect(t, l, "2 C warmer")
	assert.Contains(t, e.Moment.Refused, "41 C is outside the curve's range, 5 to 40 C")
	assert.Equal(t, e.What, l.Effects[0].What, "to know nothing is the worst")
}

func TestEveryLineOutOfRangeUnderAChangeIsNoError(t *testing.T) {
	s := sensitive(t, steady(class(t, "", "polysulfide-b-2"), 48, 50)) // every range ends at 49 °C
	for _, l := range s.Lines {
		assert.NotEmpty(t, effect(t, l, "2 C warmer").Moment.Refused)
	}
}

func TestHumidityStopsAtItsEnds(t *testing.T) {
	cl := class(t, plain, "plain")
	l := lineOf(t, sensitive(t, steady(cl, 20, 95)), cure.Cured)
	assert.InDelta(t, 5, effect(t, l, "5 % RH damper").StepRH, 1e-9)
	s := sensitive(t, steady(cl, 20, 100))
	assert.Contains(t, strings.Join(s.Notes, "\n"), "100 % RH: it cannot be damper")
	assert.Len(t, s.Lines[0].Effects, 3)
	s = sensitive(t, steady(cl, 20, 0))
	assert.Contains(t, strings.Join(s.Notes, "\n"), "0 % RH: it cannot be drier")
}

func TestHumidityNotSaidIsNotChanged(t *testing.T) {
	q := steady(class(t, plain, "plain"), 20, 0)
	q.RHSaid = false
	s := sensitive(t, q)
	assert.Contains(t, strings.Join(s.Notes, "\n"), "not said and not changed")
	assert.Len(t, s.Lines[0].Effects, 2)
}

func TestWhatWasMeasuredApartStaysAsItIs(t *testing.T) {
	q := steady(class(t, plain, "plain"), 20, 50)
	q.PotC, q.PartC = 30, 15
	s := sensitive(t, q)
	assert.Contains(t, strings.Join(s.Notes, "\n"), "the pot at 30 C; the part at 15 C")
	for _, l := range s.Lines {
		for _, e := range l.Effects {
			if e.StepC != 0 {
				assert.False(t, l.Moves(e), "%s under %s: neither pot nor part is the air's", l.Base.Milestone, e.What)
			}
		}
	}
}

func TestALogOfConstantAirIsAsSensitiveAsConstantAir(t *testing.T) {
	cl := class(t, plain, "plain")
	temps := make([]float64, 24*20)
	for i := range temps {
		temps[i] = 22
	}
	a, b := sensitive(t, steady(cl, 22, 50)), sensitive(t, logged24(t, cl, temps...))
	for i, l := range a.Lines {
		for _, e := range l.Effects {
			require.InDelta(t, e.Moment.Span.Seconds(), effect(t, b.Lines[i], e.What).Moment.Span.Seconds(), 1, "%s under %s", l.Base.Milestone, e.What)
		}
	}
}

func TestTheQuestionIsNotChangedByAsking(t *testing.T) {
	q := logged24(t, class(t, wide, "wide"), 20, 21, 22, 23)
	before := append([]cure.Sample(nil), q.Pieces[0].Samples...)
	shorter := q.Class.Curves[cure.Application].Shorter
	sensitive(t, q)
	assert.Equal(t, before, q.Pieces[0].Samples)
	assert.Equal(t, shorter, q.Class.Curves[cure.Application].Shorter)
}

func TestEffectsComeWorstFirst(t *testing.T) {
	all := catalog.Builtin().All()
	rapid.Check(t, func(rt *rapid.T) {
		cl := rapid.SampledFrom(all).Draw(rt, "class")
		q := steady(&cl, float64(rapid.IntRange(-5, 55).Draw(rt, "temp")), float64(rapid.IntRange(0, 100).Draw(rt, "rh")))
		q.Bead.DepthMM = 0.5
		s, err := AskSensitivity(q)
		if err != nil {
			return
		}
		for _, l := range s.Lines {
			better := false
			for i, e := range l.Effects {
				if i > 0 {
					a, okA := l.Delta(l.Effects[i-1])
					b, okB := l.Delta(e)
					if okA && okB && l.Base.Line == cure.NotBefore {
						require.GreaterOrEqual(rt, a, b)
					} else if okA && okB {
						require.LessOrEqual(rt, a, b)
					}
				}
				require.False(rt, better && l.Worse(e), "worse after better")
				better = better || l.Moves(e) && !l.Worse(e)
			}
		}
	})
}

func TestAMovedSwingKeepsItsHumidity(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lo := rapid.Float64Range(-10, 25).Draw(rt, "low")
		w := cure.Swing{LowC: lo, HighC: lo + rapid.Float64Range(0, 10).Draw(rt, "swing"), Zone: time.UTC}
		w.DewC = lo - rapid.Float64Range(0, 10).Draw(rt, "depression")
		mid := (w.LowC + w.HighC) / 2
		rhAt := func(w cure.Swing, c float64) float64 { return air.Humidity(c, air.Saturation(w.DewC)) }
		rh := rhAt(w, mid)
		for _, d := range []float64{-2, 2} {
			m := movedSwing(w, d, 0)
			require.Equal(rt, w.LowC+d, m.LowC)
			require.InDelta(rt, rh, rhAt(m, mid+d), 2, "%% RH")
		}
		m := movedSwing(w, 0, 10)
		require.InDelta(rt, math.Min(100, rh+10), rhAt(m, mid), 1e-6)
		m = movedSwing(w, 0, -10)
		if rh > 10 {
			require.InDelta(rt, rh-10, rhAt(m, mid), 1e-6)
		} else {
			require.True(rt, math.IsNaN(m.DewC) && m.RH == 0)
		}
		w.DewC, w.RH = math.NaN(), 95
		require.Equal(rt, 100., movedSwing(w, 0, 10).RH)
		require.True(rt, math.IsNaN(movedSwing(w, 2, 0).DewC))
	})
}

func TestConstantAirOfAPieceIsMovedOnItsOwn(t *testing.T) {
	p := cure.Piece{Constant: &cure.Air{TempC: 20, RH: 95}}
	m := movedPiece(p, 2, 10)
	assert.Equal(t, cure.Air{TempC: 22, RH: 100}, *m.Constant)
	assert.Equal(t, cure.Air{TempC: 20, RH: 95}, *p.Constant)
}
