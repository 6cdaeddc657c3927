package desk

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cure"
)

// plain is a class with one curve for each sort of question; its numbers are
// invented, its slope is the trade's rule.
const plain = `
- id: plain
  name: Plain test class
  kind: two-part
  seals: [fillet, faying]
  apply: {part: 10..30C, from: test}
  cautions: []
  curves:
    application: {doubling: {ref: 25C, time: 2h, step: 18F}, range: 0..50C, from: test}
    tack-free: {doubling: {ref: 25C, time: 10h, step: 18F}, range: 0..50C, from: test}
    cure: {doubling: {ref: 25C, time: 72h, step: 18F}, range: 5..40C, from: test}
`

func class(t testing.TB, text, id string) *catalog.Class {
	t.Helper()
	c := catalog.Builtin()
	if text != "" {
		_, err := c.Add([]byte(text), "test.yaml")
		require.NoError(t, err)
	}
	cl, err := c.Find(id)
	require.NoError(t, err)
	return &cl
}

func steady(cl *catalog.Class, tempC, rh float64) TimesQuestion {
	return TimesQuestion{Class: cl, Air: cure.Air{TempC: tempC, RH: rh}, RHSaid: true, PotC: math.NaN(), PartC: math.NaN()}
}

func moment(t testing.TB, a *Times, m cure.Milestone) Moment {
	t.Helper()
	for _, mo := range a.Moments {
		if mo.Milestone == m {
			return mo
		}
	}
	t.Fatalf("no %s", m)
	return Moment{}
}

// The rule of thumb of the trade: each 18 °F (10 °C) warmer halves the time, each
// 18 °F colder doubles it (common practice, no source).
func TestTheRuleOf18FMovesTheLineOnTheUnsafeSideOnly(t *testing.T) {
	cl := class(t, plain, "plain")
	for _, c := range []struct {
		tempC              float64
		pot, likelyPot     time.Duration
		cured, likelyCured time.Duration
	}{
		{tempC: 15, pot: 2 * time.Hour, likelyPot: 4 * time.Hour, cured: 144 * time.Hour, likelyCured: 144 * time.Hour},
		{tempC: 25, pot: 2 * time.Hour, likelyPot: 2 * time.Hour, cured: 72 * time.Hour, likelyCured: 72 * time.Hour},
		{tempC: 35, pot: time.Hour, likelyPot: time.Hour, cured: 72 * time.Hour, likelyCured: 36 * time.Hour},
	} {
		a, err := AskTimes(steady(cl, c.tempC, 50))
		require.NoError(t, err)
		pot, cured := moment(t, a, cure.Application), moment(t, a, cure.Cured)
		assert.Equal(t, c.pot, pot.Span, "%g", c.tempC)
		assert.Equal(t, c.likelyPot, pot.Likely, "%g", c.tempC)
		assert.Equal(t, c.cured, cured.Span, "%g", c.tempC)
		assert.Equal(t, c.likelyCured, cured.Likely, "%g", c.tempC)
	}
}

func TestAMilestoneOutsideItsRangeIsRefusedAlone(t *testing.T) {
	a, err := AskTimes(steady(class(t, plain, "plain"), 45, 50))
	require.NoError(t, err)
	assert.True(t, moment(t, a, cure.Application).Known)
	c := moment(t, a, cure.Cured)
	assert.False(t, c.Known)
	assert.Contains(t, c.Refused, "5 to 40 C")
	assert.NotEmpty(t, c.RestsOn)
}

func TestEveryMilestoneOutsideItsRangeIsAnError(t *testing.T) {
	q := steady(class(t, plain, "plain"), 60, 50)
	_, err := AskTimes(q)
	require.Error(t, err)
	assert.IsType(t, &Refusal{}, err)
	assert.Contains(t, err.Error(), "0 to 50 C")
	q.Extrapolate = true
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.True(t, moment(t, a, cure.Cured).Extrapolated)
}

func TestInstantsStartWithMixingOrWithTheLastSealantLaid(t *testing.T) {
	q := steady(class(t, plain, "plain"), 25, 50)
	q.From = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	q.Laid = q.From.Add(90 * time.Minute)
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, q.From.Add(2*time.Hour), moment(t, a, cure.Application).At)
	assert.Equal(t, q.Laid.Add(10*time.Hour), moment(t, a, cure.TackFree).At)
}

func TestHumidityNotSaidIsAssumedAndReported(t *testing.T) {
	q := steady(class(t, plain, "plain"), 25, 0)
	q.RHSaid = false
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.Contains(t, strings.Join(a.Assumed, " "), "Humidity is not said")
	assert.Empty(t, a.Warnings, "no dew point is judged without a humidity")
}

func TestHumidityIsNeededOnlyWhereTheClassLooksAtIt(t *testing.T) {
	assert.Empty(t, NeedsHumidity(class(t, plain, "plain")))
	assert.Contains(t, NeedsHumidity(class(t, "", "polysulfide-b-2")), "witness cup")
	assert.Contains(t, NeedsHumidity(class(t, "", "silicone-neutral")), "depends on it")
}

func TestACoolDampPartIsWarnedOf(t *testing.T) {
	q := steady(class(t, plain, "plain"), 25, 60) // dew point 16.7 °C
	q.PartC = 9
	a, err := AskTimes(q)
	require.NoError(t, err)
	said := strings.Join(a.Warnings, " ")
	assert.Contains(t, said, "Warm the part first")
	assert.Contains(t, said, "Do not seal")
	assert.Contains(t, said, "16.7 C")
}

func TestPartAndAirOutsideTheClassStopTheMixing(t *testing.T) {
	q := steady(class(t, "", "polysulfide-b-2"), 18, 45)
	a, err := AskTimes(q)
	require.NoError(t, err)
	assert.Empty(t, a.Stops)
	q.Air.RH = 30
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, []string{"Do not seal: the air has 30 % RH: this class is laid at 40 to 85 %."}, a.Stops, "as in a plan")
	q.PartC = 10
	a, err = AskTimes(q)
	require.NoError(t, err)
	require.Len(t, a.Stops, 2)
	assert.Subset(t, a.Warnings, a.Stops)
}

// What starts the clocks: common practice, no source; of what comes frozen, see the
// provenance of its thaw life.
func TestEveryKindCountsFromItsOwnStart(t *testing.T) {
	const mixed = "the first touch of base and accelerator"
	for id, want := range map[string]string{
		"polysulfide-b-2":          "Application and assembly count from " + mixed + ", the others from the last sealant laid or fastener torqued.",
		"polysulfide-b-2-premixed": "Application and assembly count from leaving the freezer, ",
		"silicone-neutral":         "from the first sealant laid open to the air",
		"anaerobic-threadlocker":   "Handling and cure count from the parts put together",
		"adhesion-promoter":        "Tack-free counts from the last wipe.",
		"epoxy-primer":             "from " + mixed + ", the others from the last coat laid.",
	} {
		said := Clocks(class(t, "", id))
		assert.Contains(t, said, want, id)
		assert.Equal(t, class(t, "", id).MixByHand, strings.Contains(said, mixed), id)
	}
}

func TestACureFromTheFaceInwardNeedsTheDepth(t *testing.T) {
	assert.Contains(t, NeedsBead(class(t, "", "silicone-neutral")), "face inward")
	assert.Empty(t, NeedsBead(class(t, "", "polysulfide-b-2")))
}

func TestAClassWithoutTimesSaysSo(t *testing.T) {
	_, err := AskTimes(steady(class(t, "", "grease-general"), 25, 50))
	assert.ErrorContains(t, err, "grease-general has no times")
}

// writeLog writes a log of one reading an hour from 8 March 2027, 00:00 UTC.
func writeLog(t testing.TB, temps ...float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("time,temp_c,rh_pct\n")
	at := time.Date(2027, 3, 8, 0, 0, 0, 0, time.UTC)
	for i, c := range temps {
		if !math.IsNaN(c) {
			b.WriteString(at.Add(time.Duration(i)*time.Hour).Format(time.RFC3339) + "," + decimal(c) + ",50\n")
		}
	}
	name := filepath.Join(t.TempDir(), "log.csv")
	require.NoError(t, os.WriteFile(name, []byte(b.String()), 0o600))
	return name
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) }

func logged24(t testing.TB, cl *catalog.Class, temps ...float64) TimesQuestion {
	t.Helper()
	air, err := ReadAir(writeLog(t, temps...), nil)
	require.NoError(t, err)
	return TimesQuestion{Class: cl, Files: []*Air{air}, Pieces: []cure.Piece{air.Piece()}, PotC: math.NaN(), PartC: math.NaN(), From: air.First()}
}

func TestConstantAirAndALogOfItAgree(t *testing.T) {
	cl := class(t, plain, "plain")
	rapid.Check(t, func(rt *rapid.T) {
		c := float64(rapid.IntRange(6, 39).Draw(rt, "temp"))
		a, err := AskTimes(steady(cl, c, 50))
		require.NoError(rt, err)
		temps := make([]float64, 24*20)
		for i := range temps {
			temps[i] = c
		}
		b, err := AskTimes(logged24(t, cl, temps...))
		require.NoError(rt, err)
		for i := range a.Moments {
			if a.Moments[i].Span > 19*24*time.Hour {
				continue // beyond the log, its last reading is held with its doubt
			}
			require.InDelta(rt, a.Moments[i].Span.Seconds(), b.Moments[i].Span.Seconds(), 1, "%s", a.Moments[i].Milestone)
			require.InDelta(rt, a.Moments[i].Likely.Seconds(), b.Moments[i].Likely.Seconds(), 1, "%s", a.Moments[i].Milestone)
		}
	})
}

func TestOnlyTheGapsThatMatterAreReported(t *testing.T) {
	temps := make([]float64, 240)
	for i := range temps {
		temps[i] = 25
		if i > 150 && i < 160 {
			temps[i] = math.NaN()
		}
	}
	cl := class(t, plain, "plain")
	a, err := AskTimes(logged24(t, cl, temps...)) // cured after 72 h
	require.NoError(t, err)
	assert.NotContains(t, strings.Join(a.Assumed, "\n"), "no reading")
	q := logged24(t, cl, temps...)
	q.From = q.From.Add(100 * time.Hour)
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Equal(t, 1, strings.Count(strings.Join(a.Assumed, "\n"), "no reading"))
}

func TestALogHeldPastItsEndIsReported(t *testing.T) {
	a, err := AskTimes(logged24(t, class(t, plain, "plain"), 25, 25, 25, 25))
	require.NoError(t, err)
	assert.Contains(t, strings.Join(a.Assumed, "\n"), "is held from there on")
}

func TestAStartOutsideTheLogIsRefused(t *testing.T) {
	q := logged24(t, class(t, plain, "plain"), 25, 25, 25)
	first, last := q.Files[0].First(), q.Files[0].Last()
	for from, says := range map[time.Time]string{
		first.Add(-time.Minute): "before the first reading",
		last.Add(3 * time.Hour): "2 h after the last reading",
	} {
		q.From = from
		_, err := AskTimes(q)
		assert.ErrorContains(t, err, says)
	}
	q.From = last.Add(time.Hour)
	_, err := AskTimes(q)
	assert.NoError(t, err, "a log that ends an hour ago still stands for the air of now")
}

func TestColdNightsAreListedAsExcursions(t *testing.T) {
	temps := make([]float64, 400)
	for i := range temps {
		temps[i] = 20
		if i >= 10 && i < 20 {
			temps[i] = 2 // under the floor of cure, 5 °C
		}
	}
	a, err := AskTimes(logged24(t, class(t, plain, "plain"), temps...))
	require.NoError(t, err)
	c := moment(t, a, cure.Cured)
	require.Len(t, c.Excursions, 1)
	assert.Contains(t, c.Excursions[0].What, "below the floor of 5 C")
	// Nine whole hours, and 3 of the 18 °C of the slope at each end.
	assert.InDelta(t, 9+2*3./18, c.Excursions[0].For.Hours(), 0.02)
}

func TestSpansRoundToTheSafeSide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "d"))
		after, before := whole(d, cure.NotAfter), whole(d, cure.NotBefore)
		require.LessOrEqual(t, after, d+time.Microsecond)
		require.GreaterOrEqual(t, before, d-time.Microsecond)
		require.LessOrEqual(t, before-after, time.Second)
		require.Zero(t, after%time.Second+before%time.Second)
	})
}

// BenchmarkTimesFromAYearOfMinutes reads a log of a year and answers from it.
func BenchmarkTimesFromAYearOfMinutes(b *testing.B) {
	var t strings.Builder
	t.WriteString("time,temp_c,rh_pct\n")
	at := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 525600 {
		t.WriteString(at.Add(time.Duration(i)*time.Minute).Format("2006-01-02T15:04:05Z") + "," +
			decimal(15+5*math.Sin(float64(i)/229)) + ",60\n")
	}
	name := filepath.Join(b.TempDir(), "year.csv")
	require.NoError(b, os.WriteFile(name, []byte(t.String()), 0o600))
	cl := class(b, "", "polysulfide-b-2")
	for b.Loop() {
		air, err := ReadAir(name, nil)
		require.NoError(b, err)
		_, err = AskTimes(TimesQuestion{Class: cl, Files: []*Air{air}, Pieces: []cure.Piece{air.Piece()}, PotC: math.NaN(), PartC: math.NaN(), From: at})
		require.NoError(b, err)
	}
}

// One-part silicone cures 6 mm deep at most (a generic data sheet): a deeper bead is
// not to be begun, though its pot life is known.
func TestBeadTooDeepToCureStopsTheMixing(t *testing.T) {
	q := steady(class(t, "", "silicone-acetoxy"), 25, 50)
	q.Bead = cure.Bead{DepthMM: 7}
	a, err := AskTimes(q)
	require.NoError(t, err)
	require.Len(t, a.Stops, 1)
	assert.Contains(t, a.Stops[0], "6 mm")
	q.Bead.Faces = 2
	a, err = AskTimes(q)
	require.NoError(t, err)
	assert.Empty(t, a.Stops)
}
