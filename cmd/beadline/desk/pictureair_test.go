package desk

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cure"
)

var pictureStart = time.Date(2027, time.March, 22, 8, 0, 0, 0, time.UTC)

// inAirOf is the question of a class in air of readings an hour apart.
func inAirOf(t require.TestingT, id string, airs []cure.Air) TimesQuestion {
	cl, err := catalog.Builtin().Find(id)
	require.NoError(t, err)
	log := cure.Piece{Name: "log"}
	for i, a := range airs {
		log.Samples = append(log.Samples, cure.Sample{At: pictureStart.Add(time.Duration(i) * time.Hour), Air: a})
	}
	return TimesQuestion{Class: &cl, Pieces: []cure.Piece{log}, PotC: math.NaN(), PartC: math.NaN(), From: pictureStart}
}

// courseOf is a question, answered and drawn.
func courseOf(t require.TestingT, q TimesQuestion) *AirCourse {
	a, err := AskTimes(q)
	require.NoError(t, err)
	d, err := CourseOf(a)
	require.NoError(t, err)
	return d
}

// partGone reads a way at an instant.
func partGone(way []Gain, at time.Time) float64 {
	for i := 1; i < len(way); i++ {
		if a, b := way[i-1], way[i]; !at.After(b.At) {
			return a.Part + (b.Part-a.Part)*float64(at.Sub(a.At))/float64(b.At.Sub(a.At))
		}
	}
	return way[len(way)-1].Part
}

func TestWayIsStraightInConstantAir(t *testing.T) {
	d := courseOf(t, inAirOf(t, "polysulfide-b-2", []cure.Air{{TempC: 25, RH: 50}, {TempC: 25, RH: 50}}))
	for _, c := range d.Climbs {
		if c.Milestone == cure.Application { // 2 h at 25 °C
			assert.InDelta(t, 0.25, partGone(c.WorkTo, pictureStart.Add(30*time.Minute)), 1e-6)
			last := c.WorkTo[len(c.WorkTo)-1]
			assert.WithinDuration(t, pictureStart.Add(2*time.Hour), last.At, time.Millisecond)
			assert.Equal(t, 1.0, last.Part)
		}
	}
}

// The way is found by asking when a shorter milestone is reached; cure.Progress adds
// progress up along the history. The two know nothing of each other.
func TestWayIsTheProgressAddedUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var airs []cure.Air
		for range rapid.IntRange(2, 30).Draw(t, "hours") {
			airs = append(airs, cure.Air{TempC: rapid.Float64Range(-5, 35).Draw(t, "°C"), RH: rapid.Float64Range(20, 100).Draw(t, "% RH")})
		}
		id := rapid.SampledFrom([]string{"polysulfide-b-2", "silicone-acetoxy", "epoxy-paste", "polythioether-rapid-half", "anaerobic-threadlocker"}).Draw(t, "class")
		q := inAirOf(t, id, airs)
		a, err := AskTimes(q)
		require.NoError(t, err)
		mo := rapid.SampledFrom(a.Moments).Draw(t, "milestone")
		line := rapid.SampledFrom([]cure.Line{mo.Line, cure.Likely}).Draw(t, "line")
		d := &AirCourse{Times: a}
		require.NoError(t, d.bound())
		way, err := d.way(mo.Milestone, line, q.From)
		require.NoError(t, err)
		p, err := a.Site.Progress(&q.Class.Class, mo.Milestone, line)
		require.NoError(t, err)
		last := way[len(way)-1].At
		require.False(t, last.After(d.Until))
		for k := range 40 {
			// As far off as no eye sees: a hundredth of the height, or a 250th of the width.
			at := q.From.Add(time.Duration(k) * last.Sub(q.From) / 40)
			off, f := d.Until.Sub(d.From)/250, partGone(way, at)
			require.LessOrEqual(t, p.Between(q.From, at.Add(-off))-0.01, f)
			require.GreaterOrEqual(t, p.Between(q.From, at.Add(off))+0.01, f)
		}
	})
}

func TestWayEndsWithTheAnswer(t *testing.T) {
	on := pictureStart.Add(5 * time.Hour)
	for name, w := range map[string]cure.Warmth{
		"cold": {}, "warmed": {Warmed: true, WarmedC: 22}, "heated": {Heated: true, HeatFrom: on, HeatC: 35},
		"both": {Warmed: true, WarmedC: 22, Heated: true, HeatFrom: on, HeatC: 35},
	} {
		q := inAirOf(t, "polysulfide-c-8-48", []cure.Air{{TempC: 12, RH: 95}, {TempC: 18, RH: 90}, {TempC: 9, RH: 95}})
		q.Warmth, q.Part, q.Laid = w, cure.Part{Tau: 3 * time.Hour, AtC: 2}, pictureStart.Add(time.Hour)
		d := courseOf(t, q)
		for _, c := range d.Climbs {
			if c.Known && !c.At.After(d.Until) {
				assert.WithinDuration(t, c.At, c.WorkTo[len(c.WorkTo)-1].At, time.Second, "%s %s", name, c.Milestone)
				assert.Equal(t, 1.0, c.End)
			} else {
				assert.Less(t, c.End, 1.0)
			}
			if c.LikelyKnown && !c.LikelyAt.After(d.Until) {
				assert.WithinDuration(t, c.LikelyAt, c.LikelyWay[len(c.LikelyWay)-1].At, time.Second, "%s %s", name, c.Milestone)
			}
		}
	}
}

func TestWayLiesFlatInAirTooDry(t *testing.T) {
	airs := make([]cure.Air, 100)
	for i := range airs {
		airs[i] = cure.Air{TempC: 25, RH: 60}
		if i%24 >= 12 {
			airs[i].RH = 20
		}
	}
	d := courseOf(t, inAirOf(t, "polysulfide-b-2", airs))
	for _, c := range d.Climbs {
		if c.Milestone == cure.Cured {
			rise := partGone(c.WorkTo, pictureStart.Add(23*time.Hour)) - partGone(c.WorkTo, pictureStart.Add(13*time.Hour))
			assert.InDelta(t, 0, rise, 0.002)
			assert.Greater(t, partGone(c.LikelyWay, pictureStart.Add(23*time.Hour))-partGone(c.LikelyWay, pictureStart.Add(13*time.Hour)), 0.1)
		}
	}
}

func TestClosedFilmHasNoLine(t *testing.T) {
	q := inAirOf(t, "polysulfide-b-2", []cure.Air{{TempC: 25, RH: 50}, {TempC: 25, RH: 50}})
	q.Bead.Closed = true
	d := courseOf(t, q)
	for _, c := range d.Climbs {
		assert.Equal(t, c.Milestone.Line() == cure.NotAfter, c.WorkTo != nil, c.Milestone)
		assert.NotEmpty(t, c.LikelyWay)
	}
}

// A part of time constant τ goes to the air's temperature as e^(−t/τ): Newton's law of
// cooling, a textbook formula.
func TestWarmedPartFollowsTheAir(t *testing.T) {
	q := inAirOf(t, "polysulfide-b-2", []cure.Air{{TempC: 10, RH: 60}, {TempC: 10, RH: 60}})
	q.Part = cure.Part{Tau: 2 * time.Hour, AtC: 5}
	q.Warmth = cure.Warmth{Warmed: true, WarmedC: 30}
	d := courseOf(t, q)
	assert.True(t, d.PartLags)
	for _, r := range d.Readings[:200] {
		hours := r.At.Sub(pictureStart).Hours()
		assert.InDelta(t, 10+20*math.Exp(-hours/2), r.PartC, 0.05)
	}
}

func TestStructureIsKeptWarmUntilTheLastSealantIsLaid(t *testing.T) {
	q := inAirOf(t, "polysulfide-b-2", []cure.Air{{TempC: 10, RH: 60}, {TempC: 10, RH: 60}})
	q.Laid = pictureStart.Add(4 * time.Hour)
	q.Part = cure.Part{Tau: 2 * time.Hour, AtC: 5}
	q.Warmth = cure.Warmth{Warmed: true, WarmedC: 30}
	for _, r := range courseOf(t, q).Readings[:100] {
		cooling := math.Max(0, r.At.Sub(q.Laid).Hours())
		assert.InDelta(t, 10+20*math.Exp(-cooling/2), r.PartC, 0.3, r.At)
	}
}

func TestHeatIsCappedByTheClass(t *testing.T) {
	q := inAirOf(t, "polysulfide-b-2", []cure.Air{{TempC: 10, RH: 60}, {TempC: 10, RH: 60}})
	q.Part = cure.Part{Tau: time.Hour, AtC: 10}
	on := pictureStart.Add(3 * time.Hour)
	q.Warmth = cure.Warmth{Heated: true, HeatFrom: on, HeatC: 60}
	d := courseOf(t, q)
	for _, r := range d.Readings {
		want := 10.0
		if h := r.At.Sub(on).Hours(); h > 0 { // the class takes 43 °C at most
			want = 43 - 33*math.Exp(-h)
		}
		require.InDelta(t, want, r.PartC, 0.3, r.At)
	}
}

func TestFullCureFarAwayDoesNotSqueezeTheRest(t *testing.T) {
	d := courseOf(t, inAirOf(t, "polythioether-rapid-half", []cure.Air{{TempC: 25, RH: 50}, {TempC: 25, RH: 50}}))
	assert.Less(t, d.Until.Sub(d.From), 10*time.Hour, "cure is 6 h, full cure 7 days or more")
}

func TestForecastBeginsAfterTheLastMeasuredReading(t *testing.T) {
	log := cure.Piece{Samples: []cure.Sample{{At: pictureStart}, {At: pictureStart.Add(time.Hour)}}}
	to := cure.Piece{Samples: []cure.Sample{{At: pictureStart.Add(9 * time.Hour)}}, Forecast: true}
	assert.Equal(t, pictureStart.Add(time.Hour), LastMeasured([]cure.Piece{log, to}))
	assert.True(t, LastMeasured([]cure.Piece{to, {Constant: &cure.Air{}}}).IsZero())
}
