package desk

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/cure"
)

func resin(t testing.TB) *catalog.Class {
	t.Helper()
	c, err := catalog.Builtin().Find("epoxy-tgddm-amine-heat-cured")
	require.NoError(t, err)
	return &c
}

func hotAir(t testing.TB, tempC float64) *Times {
	return &Times{TimesQuestion: TimesQuestion{Class: resin(t), Air: cure.Air{TempC: tempC, RH: 5}, PotC: math.NaN(), PartC: math.NaN()}}
}

// 8.7515, 39.120 and 52.199 min at 177 °C (testdata/published/degree.csv), computed
// with R = 8.314; the exact R makes them 0.1 % shorter.
func TestDegreeOfCureTellsTheTimesTo50And90And95Percent(t *testing.T) {
	d, err := AskDegree(hotAir(t, 177))
	require.NoError(t, err)
	require.Len(t, d.Rows, 3)
	for i, minutes := range []float64{8.7515, 39.120, 52.199} {
		assert.InEpsilon(t, minutes, d.Rows[i].Span.Minutes(), 0.002)
		assert.True(t, d.Rows[i].Known)
		assert.True(t, d.Rows[i].At.IsZero(), "no start, no instant")
	}
	assert.Contains(t, d.RestsOn.From, "read: parameters")
}

func TestDegreeOfCureIsRefusedAtRoomTemperature(t *testing.T) {
	q := hotAir(t, 23)
	d, err := AskDegree(q)
	require.NoError(t, err)
	assert.Empty(t, d.Rows)
	assert.Equal(t, "23 C is outside the range of the degree of cure, 130 to 177 C", d.Refused)
	q.PartC = 150 // the part is heated, the air is not
	d, err = AskDegree(q)
	require.NoError(t, err)
	assert.Empty(t, d.Refused)
}

func TestAClassWithoutARateLawHasNoDegreeOfCure(t *testing.T) {
	q := hotAir(t, 177)
	c, err := catalog.Builtin().Find("epoxy-paste")
	require.NoError(t, err)
	q.Class = &c
	d, err := AskDegree(q)
	assert.NoError(t, err)
	assert.Nil(t, d)
}

func TestDegreeOfCureStandsAtTheLineOfEachMilestoneOfWhatIsLaid(t *testing.T) {
	q := hotAir(t, 177)
	q.From = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	q.Laid = q.From.Add(time.Hour)
	q.Moments = []Moment{
		{Milestone: cure.Application, Line: cure.NotAfter, Known: true, Span: time.Hour},
		{Milestone: cure.Handling, Line: cure.NotBefore, ByWitness: true},
		{Milestone: cure.Cured, Line: cure.NotBefore, Known: true, Span: 39*time.Minute + 7*time.Second},
	}
	d, err := AskDegree(q)
	require.NoError(t, err)
	require.Len(t, d.Rows, 4, "a pot line and one without a time have no degree")
	assert.Equal(t, "cure", d.Rows[3].Milestone)
	assert.InDelta(t, 0.9, d.Rows[3].Degree, 0.001)
	assert.Equal(t, q.Laid.Add(q.Moments[2].Span), d.Rows[3].At)
}

func TestDegreeOfCureAlongAHistory(t *testing.T) {
	q := hotAir(t, 0)
	q.From = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	q.Laid = q.From
	oven := func(at time.Duration, c float64) cure.Sample {
		return cure.Sample{At: q.From.Add(at), Air: cure.Air{TempC: c, RH: 5}}
	}
	h, err := cure.NewHistory([]cure.Piece{{Name: "oven", Samples: []cure.Sample{oven(0, 20), oven(time.Hour, 177), oven(3*time.Hour, 177)}}}, q.From, q.From.Add(3*time.Hour))
	require.NoError(t, err)
	q.Site = &cure.Site{Air: h}
	d, err := AskDegree(q)
	require.NoError(t, err)
	require.Len(t, d.Rows, 3)
	assert.True(t, d.Rows[2].Known)
	assert.Equal(t, q.From.Add(d.Rows[2].Span), d.Rows[2].At)
	// The range begins at 130 °C, (130 − 20)/157 of the hour; from there on the part is
	// colder than in air of 177 °C all along.
	in := time.Hour * 110 / 157
	steady, err := AskDegree(hotAir(t, 177))
	require.NoError(t, err)
	assert.Greater(t, d.Rows[0].Span, in+steady.Rows[0].Span)
	assert.Less(t, d.Rows[0].Span, time.Hour+steady.Rows[0].Span)
	require.Len(t, d.Outside, 1)
	assert.InDelta(t, in.Seconds(), d.Outside[0].For.Seconds(), 1)

	cold, err := cure.NewHistory([]cure.Piece{{Name: "hangar", Constant: &cure.Air{TempC: 15, RH: 50}}}, q.From, q.From.Add(time.Hour))
	require.NoError(t, err)
	q.Site = &cure.Site{Air: cold}
	d, err = AskDegree(q)
	require.NoError(t, err)
	assert.Empty(t, d.Rows)
	assert.Contains(t, d.Refused, "never within 130 to 177 C")
}
