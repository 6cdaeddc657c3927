package quantity

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSpanIsReadAsPeopleAndISOWriteIt(t *testing.T) {
	day := 24 * time.Hour
	for in, want := range map[string]time.Duration{
		"90s":           90 * time.Second,
		"30m":           30 * time.Minute,
		"30min":         30 * time.Minute,
		"30 min":        30 * time.Minute,
		"30\u00a0min":   30 * time.Minute,
		"1h30m":         90 * time.Minute,
		"1 h 30 min":    90 * time.Minute,
		"2 h 05 min":    125 * time.Minute,
		"1.5h":          90 * time.Minute,
		"72h":           72 * time.Hour,
		"4000h":         4000 * time.Hour, // a 16-bit count of tenths turns negative here
		"30 days":       30 * day,
		"1 day 6 hours": 30 * time.Hour,
		"2 weeks":       14 * day,
		"0s":            0,
		"0.1h":          6 * time.Minute,
		"0.000001s":     time.Microsecond,
		// ISO 8601-1:2019, 5.5.2: durations with designators, comma or point.
		"PT30M":   30 * time.Minute,
		"PT0.25H": 15 * time.Minute,
		"PT0,25H": 15 * time.Minute,
		"PT2H":    2 * time.Hour,
		"P1DT6H":  30 * time.Hour,
		"P30D":    30 * day,
		"P2W":     14 * day,
		"PT90S":   90 * time.Second,
		"PT4000H": 4000 * time.Hour,
		"P3650D":  3650 * day,
		"P36500D": 36500 * day, // the longest
	} {
		got, err := Span(in)
		if assert.NoError(t, err, in) {
			assert.Equal(t, want, got, in)
		}
	}
}

func TestBadSpanIsRefusedInOneLineWithARemedy(t *testing.T) {
	const unit, months, like = "needs its unit", "no fixed length", "write it like 90s, 30min, 72h or PT30M"
	for in, say := range map[string]string{
		"18":                          unit,
		"1.5":                         unit,
		"":                            like,
		"Inf":                         like,
		"NaN":                         like,
		"h":                           like,
		"-5min":                       like,
		"-0h":                         like,
		"+5min":                       like,
		"−5min":                       like,
		"1h30":                        like,
		"30m1h":                       like,
		"1h1h":                        like,
		"1e3s":                        like,
		"1.2.3h":                      like,
		"3 dys":                       like, // not a complaint about years
		"1 day 2 day":                 like,
		"5 fortnights":                like,
		"9 months":                    months,
		"1 year":                      months,
		"2y":                          months,
		"P1M":                         months,
		"P1Y":                         months,
		"P1YT1H":                      months,
		"P":                           like,
		"PT":                          like,
		"P1DT":                        like,
		"P1H":                         like,
		"PT1D":                        like,
		"PT1M1H":                      like,
		"PT1H1H":                      like,
		"PTT1H":                       like,
		"PT-1H":                       like,
		"PT+1H":                       like,
		"PT1":                         like,
		"PT1X":                        like,
		"pt30m":                       like,
		"-PT5M":                       like,
		"101 weeks 40000 days":        "longer than 100 years",
		"876001h":                     "longer than 100 years",
		strings.Repeat("9", 60) + "h": "longer than 100 years",
		strings.Repeat("9", 99):       "too long",
	} {
		got, err := Span(in)
		if assert.Error(t, err, "%q gave %v", in, got) {
			assert.Contains(t, err.Error(), say, "%q", in)
			assertOneLine(t, err)
		}
	}
}

func TestLifeIsReadInWholeCalendarUnits(t *testing.T) {
	for in, want := range map[string]period.Period{
		"9 months":  period.NewYMD(0, 9, 0),
		"1 month":   period.NewYMD(0, 1, 0),
		"30 days":   period.NewYMD(0, 0, 30),
		"30d":       period.NewYMD(0, 0, 30),
		"2 weeks":   period.NewYMD(0, 0, 14),
		"2 years":   period.NewYMD(2, 0, 0),
		"P9M":       period.NewYMD(0, 9, 0),
		"P18M":      period.NewYMD(0, 18, 0), // months stay months
		"P1Y6M":     period.NewYMD(1, 6, 0),
		"P2W3D":     period.NewYMD(0, 0, 17),
		"3276 days": period.NewYMD(0, 0, 3276),
		"0 days":    {},
	} {
		got, err := Life(in)
		if assert.NoError(t, err, in) {
			assert.Equal(t, want, got, in)
		}
	}
}

func TestBadLifeIsRefusedInOneLineWithARemedy(t *testing.T) {
	const like = "write it like 9 months, 30 days or P9M"
	for in, say := range map[string]string{
		"18":          "needs its unit",
		"":            like,
		"9 moons":     like,
		"1.5 years":   like,
		"-9 months":   like,
		"+9 months":   like,
		"9 h":         like,
		"PT720H":      like,
		"P":           like,
		"PM":          like,
		"P9":          like,
		"P6M1Y":       like,
		"P1Y1Y":       like,
		"P-9M":        like,
		"P0.5Y":       like,
		"P99999D":     like,
		"101 years":   "longer than 100 years",
		"1201 months": "longer than 100 years",
		"3277 days":   "more than 3276 days: write it in months or years", // 16 bits of tenths end there
		"500 weeks":   "more than 3276 days: write it in months or years",
		"P3650D":      "more than 3276 days: write it in months or years",
		"P400W800D":   "more than 3276 days: write it in months or years",
	} {
		got, err := Life(in)
		if assert.Error(t, err, "%q gave %v", in, got) {
			assert.Contains(t, err.Error(), say, "%q", in)
			assertOneLine(t, err)
		}
	}
}

func TestLifeReadsBackWhatItWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"Y", "M", "D"}).Draw(t, "unit")
		hi := map[string]int{"Y": 100, "M": 1200, "D": 3276}[unit]
		in := fmt.Sprintf("P%d%s", rapid.IntRange(0, hi).Draw(t, "n"), unit)
		p, err := Life(in)
		require.NoError(t, err)
		q, err := Life(FormatLife(p))
		require.NoError(t, err)
		require.Equal(t, p, q, "%s, written %q", in, FormatLife(p))
	})
}

func TestFormatLifeNamesEachUnit(t *testing.T) {
	assert.Equal(t, "1 year 6 months", FormatLife(period.NewYMD(1, 6, 0)))
	assert.Equal(t, "9 months", FormatLife(period.NewYMD(0, 9, 0)))
	assert.Equal(t, "1 day", FormatLife(period.NewYMD(0, 0, 1)))
	assert.Equal(t, "0 days", FormatLife(period.Period{}))
}

func TestFormatSpanCutsOffAndFormatSpanUpRoundsUp(t *testing.T) {
	for _, tc := range []struct {
		d        time.Duration
		down, up string
	}{
		{0, "0 s", "0 s"},
		{45 * time.Second, "45 s", "45 s"},
		{45*time.Second + 1, "45 s", "46 s"},
		{8 * time.Minute, "8 min", "8 min"},
		{8*time.Minute + 5*time.Second, "8 min 05 s", "8 min 05 s"},
		{time.Hour - time.Millisecond, "59 min 59 s", "1 h"},
		{time.Hour, "1 h", "1 h"},
		{time.Hour + time.Second, "1 h", "1 h 01 min"},
		{125 * time.Minute, "2 h 05 min", "2 h 05 min"},
		{190 * time.Minute, "3 h 10 min", "3 h 10 min"},
		{48*time.Hour - time.Second, "47 h 59 min", "2 d"},
		{48 * time.Hour, "2 d", "2 d"},
		{76*time.Hour + time.Minute, "3 d 4 h", "3 d 5 h"},
		{-90 * time.Minute, "-1 h 30 min", "-1 h 30 min"},
		{-time.Nanosecond, "0 s", "0 s"},
	} {
		assert.Equal(t, tc.down, FormatSpan(tc.d), "%d", tc.d)
		assert.Equal(t, tc.up, FormatSpanUp(tc.d), "%d", tc.d)
	}
	for _, d := range []time.Duration{math.MinInt64, math.MaxInt64} {
		assert.NotEmpty(t, FormatSpan(d))
		assert.NotEmpty(t, FormatSpanUp(d))
	}
}

func TestWrittenSpanNeverPassesTheTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(90*365*24*time.Hour)).Draw(t, "d"))
		// What FormatSpan can drop: less than a second, a minute, an hour.
		unit := time.Second
		switch {
		case d >= 48*time.Hour:
			unit = time.Hour
		case d >= time.Hour:
			unit = time.Minute
		}
		down, err := Span(FormatSpan(d))
		require.NoError(t, err)
		require.Equal(t, d.Truncate(unit), down)
		up, err := Span(FormatSpanUp(d))
		require.NoError(t, err)
		require.GreaterOrEqual(t, up, d)
		require.LessOrEqual(t, up-down, time.Hour)
	})
}

func TestISOAndPlainFormsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.IntRange(0, 3000).Draw(t, "days")
		h := rapid.IntRange(0, 5000).Draw(t, "hours")
		m := rapid.IntRange(0, 100).Draw(t, "minutes")
		s := rapid.IntRange(0, 100).Draw(t, "seconds")
		want := time.Duration(((d*24+h)*60+m)*60+s) * time.Second
		iso, err := Span(fmt.Sprintf("P%dDT%dH%dM%dS", d, h, m, s))
		require.NoError(t, err)
		plain, err := Span(fmt.Sprintf("%d days %dh %d min%ds", d, h, m, s))
		require.NoError(t, err)
		require.Equal(t, want, iso)
		require.Equal(t, want, plain)
	})
}

func FuzzSpan(f *testing.F) {
	for _, s := range []string{"90s", "30min", "1h30m", "72h", "30 days", "PT30M", "P1DT6H", "PT0.25H", "PT0,5H", "4000h", "18", "P1M", "9 months", "P", "-5h", "\xff", "1h 30"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Span(s)
		if err != nil {
			assertOneLine(t, err)
			return
		}
		if d < 0 || d > maxSpan {
			t.Errorf("%q gave %v", s, d)
		}
		if back, err := Span(FormatSpan(d)); err != nil || back > d {
			t.Errorf("%q: %q reads back as %v, %v", s, FormatSpan(d), back, err)
		}
	})
}

func FuzzLife(f *testing.F) {
	for _, s := range []string{"9 months", "30 days", "2 years", "P9M", "P1Y6M", "500 weeks", "P3650D", "18", "P", "-1 day"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := Life(s)
		if err != nil {
			assertOneLine(t, err)
			return
		}
		if p.IsNegative() || p.Years() > maxLifeYears || p.Months() > maxLifeMonths || p.Days() > maxLifeDays {
			t.Errorf("%q gave %v", s, p)
		}
	})
}
