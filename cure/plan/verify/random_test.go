package verify

import (
	"math"
	"slices"
	"testing"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"

	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// spoilAtRandom changes one thing of a plan, sensible or not.
func spoilAtRandom(t *rapid.T, p *Plan) {
	if len(p.Tasks) == 0 {
		return
	}
	k := &p.Tasks[rapid.IntRange(0, len(p.Tasks)-1).Draw(t, "task")]
	other := p.Tasks[rapid.IntRange(0, len(p.Tasks)-1).Draw(t, "other")]
	minutes := time.Duration(rapid.IntRange(-5000, 5000).Draw(t, "minutes")) * time.Minute
	switch rapid.IntRange(0, 16).Draw(t, "change") {
	case 0, 1:
		k.Start, k.End = k.Start.Add(minutes), k.End.Add(minutes)
	case 2:
		k.End = k.End.Add(minutes)
	case 3, 4:
		k.Who = other.Who
	case 5:
		k.Mix = other.Mix
	case 6:
		k.Joint, k.Layer, k.Index = other.Joint, rapid.IntRange(-1, 3).Draw(t, "layer"), rapid.IntRange(-1, 4).Draw(t, "index")
	case 7:
		k.Kind, k.Ref = other.Kind, other.Ref
	case 8:
		k.Units = rapid.SampledFrom([]float64{0, -1, 0.5, 3, 1e300, math.NaN(), math.Inf(1)}).Draw(t, "units")
	case 9:
		p.Tasks = append(p.Tasks, other)
	case 10:
		p.Tasks = slices.Delete(p.Tasks, 0, 1)
	case 11:
		k.Start = rapid.SampledFrom([]time.Time{{}, time.Unix(0, 0), time.Date(9000, 1, 1, 0, 0, 0, 0, time.UTC)}).Draw(t, "start")
	case 12:
		k.End = rapid.SampledFrom([]time.Time{{}, time.Unix(0, 0), time.Date(9000, 1, 1, 0, 0, 0, 0, time.UTC)}).Draw(t, "end")
	case 13:
		l := &p.Lines[rapid.IntRange(0, len(p.Lines)-1).Draw(t, "line")]
		l.Milestone, l.At, l.Heated = cure.Milestone(rapid.IntRange(0, 9).Draw(t, "milestone")), l.At.Add(minutes), !l.Heated
	case 14, 15:
		if len(p.Rows) > 0 {
			r := &p.Rows[rapid.IntRange(0, len(p.Rows)-1).Draw(t, "row")]
			at := rapid.SampledFrom([]time.Time{{}, k.End, time.Unix(0, 0), time.Date(9000, 1, 1, 0, 0, 0, 0, time.UTC)}).Draw(t, "at")
			r.TorqueTo, r.FlyFrom, r.Joint, r.Pots[0].DoneBy = at, at, rapid.SampledFrom([]string{r.Joint, k.Joint}).Draw(t, "joint"), at
			r.FlyNeeds = cure.Milestone(rapid.IntRange(0, 9).Draw(t, "needs"))
		}
	case 16:
		g := p.Job.Gate("close")
		g.Needs = append(g.Needs, job.Ref{Kind: job.RefKind(rapid.IntRange(0, 6).Draw(t, "kind")), ID: rapid.SampledFrom([]string{"fly", "plate", "leak check", "side panel", "x"}).Draw(t, "id"),
			Milestone: cure.Milestone(rapid.IntRange(0, 9).Draw(t, "milestone"))})
	}
}

func TestNoPlanMakesTheCheckerPanic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := good()
		if rapid.Bool().Draw(t, "rows") {
			p.Rows = goodRows()
		}
		if rapid.Bool().Draw(t, "late part") {
			p.Job.Part = job.Part{Set: true, AtC: 20, Tau: time.Hour}
		}
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			spoilAtRandom(t, &p.Plan)
		}
		for _, f := range p.Check() {
			assert.NotEmpty(t, f.Rule)
			assert.NotContains(t, f.Text, "%!")
		}
	})
}

// A task that leaves its place by more than all its slack is never overlooked.
func TestTaskMovedByDaysIsAFault(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := good()
		i := rapid.IntRange(0, len(p.Tasks)-1).Draw(t, "task")
		d := time.Duration(rapid.SampledFrom([]int{-3, 3}).Draw(t, "days")) * 24 * time.Hour
		p.Tasks[i].Start, p.Tasks[i].End = p.Tasks[i].Start.Add(d), p.Tasks[i].End.Add(d)
		require.NotEmpty(t, p.Check(), "%s", p.names[i])
	})
}

func TestPlanWithoutAnythingIsAFault(t *testing.T) {
	require.NotEmpty(t, Plan{}.Check())
	require.NotEmpty(t, Plan{Job: goodJob()}.Check())
	p := good()
	require.NotEmpty(t, Plan{Job: p.Job, Air: p.Plan.Air}.Check())
}

// The nights of the clock changes of 2027 in the Faroes: 28 March, 01:00 WET to
// 02:00 WEST, and 31 October, 02:00 WEST to 01:00 WET (IANA time zone database).
func TestShiftsFollowTheClockOnTheWall(t *testing.T) {
	utc := func(s string) time.Time {
		at, err := time.Parse("2006-01-02 15:04", s)
		require.NoError(t, err)
		return at
	}
	for _, k := range []struct{ wall, at string }{
		{"2027-03-08 07:00", "2027-03-08 07:00"},
		{"2027-07-08 07:00", "2027-07-08 06:00"},
		{"2027-03-28 00:59", "2027-03-28 00:59"},
		{"2027-03-28 01:30", "2027-03-28 01:00"}, // skipped: the jump
		{"2027-03-28 02:00", "2027-03-28 01:00"},
		{"2027-10-31 00:59", "2027-10-30 23:59"},
		{"2027-10-31 01:30", "2027-10-31 00:30"}, // twice: the earlier
		{"2027-10-31 02:00", "2027-10-31 02:00"},
	} {
		assert.True(t, utc(k.at).Equal(wall(utc(k.wall), faroe)), "%s is %s", k.wall, wall(utc(k.wall), faroe).UTC())
	}

	night := job.Shift{Dates: []date.Date{date.New(2027, 3, 27)}, From: clock.New(22, 0, 0, 0), To: clock.New(6, 0, 0, 0),
		Breaks: [][2]clock.Clock{{clock.New(23, 45, 0, 0), clock.New(0, 15, 0, 0)}, {clock.New(5, 30, 0, 0), clock.New(6, 0, 0, 0)}}}
	j := &job.Job{Zone: faroe, Start: utc("2027-03-27 12:00"), Crew: []job.Person{{Who: "A"}, {Who: "B"}}, Shifts: []job.Shift{night}}
	j.Shifts[0].Who = []string{"A"}
	c := newCalendar(j, utc("2027-03-28 03:00"))
	var got []string
	for _, s := range c.people["A"] {
		got = append(got, s.from.UTC().Format("02 15:04")+" to "+s.to.UTC().Format("02 15:04"))
	}
	assert.Equal(t, []string{"27 22:00 to 27 23:45", "28 00:15 to 28 04:30"}, got, "an hour is lost that night")
	assert.Empty(t, c.people["B"])
	assert.True(t, c.oneShift(utc("2027-03-27 22:30"), utc("2027-03-28 05:00")), "breaks do not end a shift")
	assert.False(t, c.oneShift(utc("2027-03-27 22:30"), utc("2027-03-28 05:01")))
}

// The plan of three joints and two days in air that swings with night and day, on a
// structure that follows late.
func BenchmarkCheck(b *testing.B) {
	swing := cure.Swing{LowC: 22, HighC: 28, Warmest: 15 * time.Hour, DewC: math.NaN(), RH: 50, Zone: faroe}
	p := good()
	var err error
	p.Plan.Air, err = cure.NewHistory([]cure.Piece{{Name: "swing", Swing: &swing, Forecast: true, Margin: 2}}, mon("07:00"), mon("07:00").AddDate(0, 0, 60))
	require.NoError(b, err)
	p.Rows, p.Job.Part = goodRows(), job.Part{Set: true, AtC: 20, Tau: 3 * time.Hour}
	for _, c := range p.Classes { // four days of cure
		c.Moisture = &cure.Moisture{MinRH: 30}
		for m, k := range c.Curves {
			if k != nil && m >= int(cure.Handling) {
				k.Form = cure.Doubling{RefC: 25, Time: 96 * 3600, StepC: 10}
			}
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		p.Check()
	}
}
