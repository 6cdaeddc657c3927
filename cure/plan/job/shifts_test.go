package job

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func hm(h, m int) clock.Clock { return clock.New(h, m, 0, 0) }

func zone(t require.TestingT, name string) *time.Location {
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

func everyDay() [7]bool { return [7]bool{true, true, true, true, true, true, true} }

// spans shows windows on the wall clock, with their true lengths.
func spans(ws []Window) []string {
	var out []string
	for _, w := range ws {
		out = append(out, w.From.Format("Mon 15:04")+"-"+w.To.Format("15:04 ")+w.To.Sub(w.From).String())
	}
	return out
}

// Summer time in the European Union runs from the last Sunday of March to the last
// Sunday of October, changing at 01:00 UTC (Directive 2000/84/EC, articles 1 to 4):
// 28 March and 31 October 2027.
func TestNightShiftFollowsTheClockOnTheWall(t *testing.T) {
	paris := zone(t, "Europe/Paris")
	night := Shift{Days: everyDay(), From: hm(22, 0), To: hm(6, 0)}
	for _, c := range []struct {
		name  string
		day   int
		month time.Month
		want  time.Duration
	}{
		{"plain night", 20, time.March, 8 * time.Hour},
		{"clocks go forward", 27, time.March, 7 * time.Hour},
		{"clocks go back", 30, time.October, 9 * time.Hour},
	} {
		t.Run(c.name, func(t *testing.T) {
			start := time.Date(2027, c.month, c.day, 12, 0, 0, 0, paris)
			j := &Job{Zone: paris, Start: start, Shifts: []Shift{night}}
			ws := j.WorkWindows(Person{}, start.Add(30*time.Hour))
			require.Len(t, ws, 1)
			assert.Equal(t, c.want, ws[0].To.Sub(ws[0].From))
		})
	}
}

func TestShiftEdgeInTheSkippedHourIsTheJump(t *testing.T) {
	paris := zone(t, "Europe/Paris")
	start := time.Date(2027, 3, 28, 0, 0, 0, 0, paris)
	j := &Job{Zone: paris, Start: start, Shifts: []Shift{
		{Days: everyDay(), From: hm(2, 30), To: hm(5, 0), Breaks: [][2]clock.Clock{{hm(2, 45), hm(3, 15)}}},
	}}
	assert.Equal(t, []string{"Sun 03:15-05:00 1h45m0s"}, spans(j.WorkWindows(Person{}, start.Add(12*time.Hour))))
	j.Shifts = []Shift{{Days: everyDay(), From: hm(1, 0), To: hm(2, 30)}}
	assert.Equal(t, []string{"Sun 01:00-03:00 1h0m0s"}, spans(j.WorkWindows(Person{}, start.Add(12*time.Hour))))
	j.Shifts = []Shift{{Days: everyDay(), From: hm(2, 0), To: hm(2, 45)}}
	assert.Empty(t, j.WorkWindows(Person{}, start.Add(12*time.Hour)))
}

func TestBreaksAndAbsenceAreCutOut(t *testing.T) {
	faroe := zone(t, "Atlantic/Faroe")
	start := time.Date(2027, 3, 8, 1, 0, 0, 0, faroe) // a Monday
	j := &Job{Zone: faroe, Start: start, Shifts: []Shift{
		{Days: [7]bool{1: true}, From: hm(7, 0), To: hm(15, 30), Breaks: [][2]clock.Clock{{hm(11, 30), hm(12, 0)}}},
		// Sunday's night shift still runs at the start; its break goes over midnight.
		{Days: [7]bool{0: true, 1: true}, From: hm(22, 0), To: hm(6, 0), Breaks: [][2]clock.Clock{{hm(22, 0), hm(22, 15)}, {hm(23, 45), hm(0, 15)}, {hm(3, 0), hm(3, 30)}}, Who: []string{"Tech 1"}},
		{Dates: []date.Date{date.New(2027, 3, 9)}, From: hm(6, 0), To: hm(8, 0)},
	}}
	until := time.Date(2027, 3, 9, 7, 0, 0, 0, faroe)
	away := Window{time.Date(2027, 3, 8, 9, 0, 0, 0, faroe), time.Date(2027, 3, 8, 11, 45, 0, 0, faroe)}
	assert.Equal(t, []string{
		"Mon 01:00-03:00 2h0m0s", "Mon 03:30-06:00 2h30m0s",
		"Mon 07:00-09:00 2h0m0s", "Mon 12:00-15:30 3h30m0s",
		"Mon 22:15-23:45 1h30m0s", "Tue 00:15-03:00 2h45m0s",
		"Tue 03:30-07:00 3h30m0s", // the night shift and the one of that date meet at 06:00
	}, spans(j.WorkWindows(Person{Who: "Tech 1", Away: []Window{away}}, until)))
	assert.Equal(t, []string{"Mon 07:00-11:30 4h30m0s", "Mon 12:00-15:30 3h30m0s", "Tue 06:00-07:00 1h0m0s"},
		spans(j.WorkWindows(Person{Who: "Tech 2"}, until)))
	assert.Empty(t, j.WorkWindows(Person{Who: "Tech 2"}, start), "nothing before the start")
}

func drawShift(t *rapid.T) Shift {
	quarter := func(name string, lo, hi int) int { return 15 * rapid.IntRange(lo, hi).Draw(t, name) }
	at := func(minutes int) clock.Clock { return hm(minutes/60%24, minutes%60) }
	from, length := quarter("from", 0, 95), quarter("length", 1, 95)
	s := Shift{From: at(from), To: at(from + length), Who: rapid.SampledFrom([][]string{nil, {"Tech 1"}, {"Tech 2"}}).Draw(t, "who")}
	for d := range s.Days {
		s.Days[d] = rapid.Bool().Draw(t, "day")
	}
	for end := 0; rapid.Bool().Draw(t, "a break"); {
		b0 := end + quarter("gap", 0, 8)
		end = b0 + quarter("break", 1, 4)
		if end > length {
			break
		}
		s.Breaks = append(s.Breaks, [2]clock.Clock{at(from + b0), at(from + end)})
	}
	return s
}

// atWork answers from the wall clock alone: the shifts of today and of yesterday,
// compared as clock readings.
func atWork(j *Job, p Person, t time.Time) bool {
	_, offset := t.In(j.Zone).Zone()
	now := t.UTC().Add(time.Duration(offset) * time.Second) // the wall clock, as if UTC
	in, pause := false, false
	for back := range 2 {
		day := now.Truncate(24*time.Hour).AddDate(0, 0, -back)
		for _, s := range j.Shifts {
			if !s.Days[day.Weekday()] || len(s.Who) > 0 && s.Who[0] != p.Who {
				continue
			}
			from := day.Add(s.From.DurationSinceMidnight())
			within := func(a, b clock.Clock) bool {
				since := func(c clock.Clock) time.Duration {
					return (c.DurationSinceMidnight() - s.From.DurationSinceMidnight() + 24*time.Hour) % (24 * time.Hour)
				}
				return !now.Before(from.Add(since(a))) && now.Before(from.Add(since(b)))
			}
			in = in || within(s.From, s.To)
			for _, b := range s.Breaks {
				pause = pause || within(b[0], b[1])
			}
		}
	}
	for _, a := range p.Away {
		pause = pause || !t.Before(a.From) && t.Before(a.To)
	}
	return in && !pause
}

// twice reports whether the wall clock shows this time twice.
func twice(t time.Time, loc *time.Location) bool {
	const form = "2006-01-02 15:04"
	for _, d := range []time.Duration{30 * time.Minute, time.Hour, 3 * time.Hour} { // the jumps there are in the zones drawn
		if t.Add(d).In(loc).Format(form) == t.In(loc).Format(form) || t.Add(-d).In(loc).Format(form) == t.In(loc).Format(form) {
			return true
		}
	}
	return false
}

func TestWorkWindowsAreTheShiftsAndNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, rapid.SampledFrom([]string{"UTC", "Europe/Paris", "Atlantic/Faroe", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Kathmandu"}).Draw(t, "zone"))
		// Days around the changes of clock in the EU and in Lord Howe (30 min), and the
		// day that Apia left out (30 December 2011).
		around := rapid.SampledFrom([]time.Time{
			time.Date(2027, 3, 28, 0, 0, 0, 0, time.UTC), time.Date(2027, 10, 31, 0, 0, 0, 0, time.UTC),
			time.Date(2027, 4, 4, 0, 0, 0, 0, time.UTC), time.Date(2011, 12, 30, 0, 0, 0, 0, time.UTC), time.Date(2027, 3, 14, 0, 0, 0, 0, time.UTC),
		}).Draw(t, "around")
		minutes := func(name string, lo, hi int) time.Duration {
			return time.Duration(rapid.IntRange(lo, hi).Draw(t, name)) * time.Minute
		}
		j := &Job{Zone: loc, Start: around.Add(minutes("start", -3000, 1000)).In(loc)}
		for range rapid.IntRange(1, 3).Draw(t, "shifts") {
			j.Shifts = append(j.Shifts, drawShift(t))
		}
		p := Person{Who: "Tech 1"}
		if rapid.Bool().Draw(t, "away") {
			from := j.Start.Add(minutes("leaves", 0, 2000))
			p.Away = []Window{{from, from.Add(minutes("gone", 1, 1000))}}
		}
		until := j.Start.Add(minutes("until", 1, 6000))
		ws := j.WorkWindows(p, until)
		last := j.Start.Add(-time.Nanosecond)
		for _, w := range ws {
			require.True(t, w.From.After(last), "windows in order, apart from each other")
			require.True(t, w.To.After(w.From), "no empty window")
			last = w.To
		}
		require.False(t, last.After(until))
		for at := j.Start; at.Before(until); at = at.Add(15 * time.Minute) {
			in := false
			for _, w := range ws {
				in = in || !at.Before(w.From) && at.Before(w.To)
			}
			if !twice(at, loc) {
				require.Equal(t, atWork(j, p, at), in, "at %s", at)
			}
		}
	})
}
