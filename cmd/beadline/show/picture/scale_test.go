package picture

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

func names(ticks []tick) (all []string) {
	for _, t := range ticks {
		all = append(all, t.text)
	}
	return all
}

func TestTimesThatPeopleSayAreOnTheAxis(t *testing.T) {
	s := scale{lo: 5 * minute, hi: 40 * day, from: 0, to: 400, log: true}
	got := names(spanTicksOn(s, func(tick) vg.Length { return 13 }))
	for _, want := range []string{"10 min", "30 min", "1 h", "2 h", "4 h", "8 h", "1 d", "2 d", "7 d", "30 d"} {
		assert.Contains(t, got, want)
	}
}

func TestTicksOfTimeAreApartAndTwoAtLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(1, 1e6).Draw(t, "s")
		s := spanScale([]float64{lo, lo * rapid.Float64Range(1, 1e5).Draw(t, "times")}, 0, 400)
		ticks := spanTicksOn(s, func(tick) vg.Length { return 13 })
		require.GreaterOrEqual(t, len(ticks), 2)
		for i := 1; i < len(ticks); i++ {
			require.GreaterOrEqual(t, s.at(ticks[i].v)-s.at(ticks[i-1].v), vg.Length(13))
		}
	})
}

// 0 °C is 32 °F and 100 °C is 212 °F, by definition of the scale.
func TestFahrenheitStandsWhereCelsiusDoes(t *testing.T) {
	c := scale{lo: -10, hi: 110, from: 7, to: 300}
	assert.InDelta(t, float64(c.at(0)), float64(c.fahrenheit().at(32)), 1e-9)
	assert.InDelta(t, float64(c.at(100)), float64(c.fahrenheit().at(212)), 1e-9)
}

func clockOver(t *testing.T, zone, from string, length time.Duration, width vg.Length) clockScale {
	t.Helper()
	z, err := time.LoadLocation(zone)
	require.NoError(t, err)
	at, err := time.ParseInLocation("2006-01-02T15:04", from, z)
	require.NoError(t, err)
	c := newClock(at, at.Add(length))
	c.scale.from, c.to = 0, width
	return c
}

// In the Faroes the clock goes from 00:59 to 02:00 on 28 March 2027 (zone data: IANA).
func TestHoursThatTheClockSkipsAreNotNamed(t *testing.T) {
	c := clockOver(t, "Atlantic/Faroe", "2027-03-27T22:00", 8*time.Hour, 600)
	ticks, step := c.hourTicks(50)
	require.Equal(t, 60, step)
	assert.Equal(t, []string{"22", "23", "00", "02", "03", "04", "05", "06", "07"}, names(ticks))
	for i := 1; i < len(ticks); i++ {
		assert.Equal(t, hour, ticks[i].v-ticks[i-1].v, ticks[i].text)
	}
}

func TestMidnightsAreLocal(t *testing.T) {
	c := clockOver(t, "Atlantic/Faroe", "2027-03-26T08:00", 96*time.Hour, 600)
	var got []float64
	for _, m := range c.midnights()[1:] {
		got = append(got, c.seconds(m)/hour)
	}
	assert.Equal(t, []float64{16, 40, 63, 87}, got, "28 March has 23 hours")
	assert.Equal(t, "WET, then WEST", zoneName(c.from, c.until))
}

func TestLongPicturesNameDaysAlone(t *testing.T) {
	c := clockOver(t, "UTC", "2027-01-01T00:00", 200*24*time.Hour, 600)
	ticks, _ := c.hourTicks(17)
	assert.Empty(t, ticks)
}
