package show

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/plangen"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"

	hhmm "github.com/rickb777/date/clock"
)

func timelineText(t require.TestingT, p *plan.Plan) string {
	var out strings.Builder
	require.NoError(t, PlanTimeline(&out, p, SI))
	return out.String()
}

// shortPlan is a door sealed in the Faroes by two people, worked out by hand.
func shortPlan(t testing.TB) *plan.Plan {
	z, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	at := func(day, h, m int) time.Time { return time.Date(2027, 3, day, h, m, 0, 0, z) }
	all := [7]bool{true, true, true, true, true, true, true}
	j := &job.Job{ID: "T-1", Title: "Door", Zone: z, Start: at(29, 7, 0), ReadyBy: at(30, 9, 0), Ready: "fly", Crew: []job.Person{{Who: "Ann"}, {Who: "Bo"}},
		Shifts: []job.Shift{{Days: all, From: hhmm.New(7, 0, 0, 0), To: hhmm.New(15, 0, 0, 0), Breaks: [][2]hhmm.Clock{{hhmm.New(11, 30, 0, 0), hhmm.New(12, 0, 0, 0)}}}},
		Joints: []job.Joint{{ID: "door"}}}
	task := func(id string, k verify.Kind, joint, mix string, from, to time.Time, who ...string) plan.Task {
		return plan.Task{ID: id, Kind: plan.TaskKind(k), Joint: joint, Mix: mix, Who: who, Start: from, End: to}
	}
	return &plan.Plan{Job: j, Found: true, Proven: true, Ready: at(30, 8, 20), Bound: at(30, 8, 20),
		Tasks: []plan.Task{
			task("strip old sealant, door", verify.Prepare, "door", "", at(29, 7, 0), at(29, 7, 30), "Ann"),
			task("warm the structure, door", verify.Warm, "door", "", at(29, 7, 40), at(29, 8, 0)),
			task("mix polysulfide-b-2 (mix 1)", verify.Mix, "door", "mix 1", at(29, 8, 0), at(29, 8, 8), "Bo"),
			task("spread the faying film, door", verify.Lay, "door", "mix 1", at(29, 8, 8), at(29, 8, 20), "Ann"),
			task("torque 8 fasteners wet, door", verify.Torque, "door", "mix 1", at(29, 8, 20), at(29, 8, 22), "Ann"),
			task("sign for it, door", verify.Check, "", "", at(29, 8, 22), at(29, 8, 23), "Ann"),
			task("refit fairing", verify.Access, "", "", at(30, 8, 0), at(30, 8, 20), "Ann", "Bo"),
		},
		Mixes: []plan.Mix{{ID: "mix 1", DoneBy: at(29, 8, 30), Joints: []string{"door"}}},
		Joints: []plan.Joint{{ID: "door", FlyNeeds: cure.Cured, CloseFrom: at(29, 16, 0), FlyFrom: at(30, 6, 30),
			Sittings: []plan.Sitting{{From: at(29, 8, 0), To: at(29, 8, 22), TackFree: at(29, 16, 0)}}}},
		Gates: []plan.Gate{{ID: "close", From: at(29, 16, 0)}, {ID: "fly", From: at(30, 8, 20)}},
	}
}

// Every column was counted on paper: the whole job in columns of 30 min, the morning in
// columns of 5 min. Two short tasks share the column of 08:20 and are counted there.
func TestTimelineOfADayIsAsCountedOnPaper(t *testing.T) {
	gap := strings.Repeat
	assert.Contains(t, timelineText(t, shortPlan(t)), `
THE WHOLE JOB   29 Mar to 30 Mar 2027, times WEST; one column is 30 min
                  Mon 29 Mar                        |Tue 30 Mar
                    08  10  12  14  16  18  20  22  00  02  04  06  08
night             `+gap(" ", 26)+gap("n", 20)+`
Ann               x.x...... ......`+gap(" ", 32)+`..x...
Bo                ..x...... ......`+gap(" ", 32)+`..x...
door              pw#`+gap("=", 15)+gap("-", 29)+`|
gates             `+gap(" ", 18)+"C"+gap(" ", 31)+`F
earliest fly      `+gap(" ", 33)+`Tue 30 Mar 08:20 ^
wanted by         `+gap(" ", 35)+`Tue 30 Mar 09:00 ^

                  wet                       covers may    earliest
joint             from         to           go near       flight
door              Mon 29 08:00 Mon 29 08:22 Mon 29 16:00  Tue 30 06:30

  C  Mon 29 16:00  earliest close
  F  Tue 30 08:20  earliest fly: ready

MON 29 MARCH 2027   07:00 to 08:23; one column is 5 min
                  07:00 07:30 08:00 08:30
Ann               111111.......333+.......
Bo                ............22..........
door              pppppp::wwww#####=!=====
  1  07:00-07:30  Ann              strip old sealant, door
  w  07:40-08:00  (any on shift)   warm the structure, door
  2  08:00-08:08  Bo               mix polysulfide-b-2 (mix 1)
  3  08:08-08:20  Ann              spread the faying film, door
  4+ 08:20-08:22  Ann              torque 8 fasteners wet, door
  5+ 08:22-08:23  Ann              sign for it, door

TUE 30 MARCH 2027   08:00 to 08:20; one column is 5 min
                  08:00
Ann               1111..
Bo                1111..
gates                 F
earliest fly          ^ Tue 30 Mar 08:20
  1  08:00-08:20  Ann, Bo          refit fairing

HOW TO READ IT
`)
}

// What is not reached cannot be told from what is by colour: there is none.
func TestTimelineIsPlainASCII(t *testing.T) {
	for _, r := range timelineText(t, shortPlan(t)) {
		require.Less(t, r, rune(0x7f))
		require.True(t, r >= ' ' || r == '\n', "%q", r)
	}
}

func TestWitnessAndHeatHaveMarksOfTheirOwn(t *testing.T) {
	p := shortPlan(t)
	p.Joints[0].ByWitness = true
	p.Tasks[5].Kind, p.Tasks[5].Joint = plan.TaskKind(verify.Heat), "door"
	p.Tasks[5].Start, p.Tasks[5].End = p.Joints[0].CloseFrom, p.Joints[0].CloseFrom.Add(30*time.Minute)
	text := timelineText(t, p)
	assert.Contains(t, text, "door              pw#"+strings.Repeat("=", 15)+"-"+strings.Repeat("h", 28)+"?\n")
	assert.Contains(t, text, "  h  joint: the same with the heat on\n")
	assert.Contains(t, text, "Mon 29 16:00* Tue 30 06:30*\n")
}

// The clocks go forward in the Faroes on 28 March 2027 (IANA time zone database): a day
// of 23 columns of an hour, and the zone says so.
func TestDayOfTheClockChangeIsAnHourShort(t *testing.T) {
	p := shortPlan(t)
	shift := func(at *time.Time, d time.Duration) { *at = at.Add(d) }
	p.Job.Start = p.Job.Start.AddDate(0, 0, -2)
	shift(&p.Ready, -12*time.Hour)
	p.Job.ReadyBy = time.Time{}
	text := timelineText(t, p)
	assert.Contains(t, text, "times WET, later WEST: the clocks\n                change; one column is 2 h\n")
	assert.Contains(t, text, "|Sun 28    |Mon 29 Mar")
	assert.Contains(t, text, "   12    00   12    00    12    00\n")
}

var taskLine = regexp.MustCompile(`^  (.)([+ ]) \d\d:\d\d-`)

// Whatever the plan: 80 columns, and in every stretch of work each person's every task
// is seen in their row, or stands under a “+” and is marked in the list.
func TestTimelineShowsOrCountsEveryTask(t *testing.T) {
	crowded := 0
	rapid.Check(t, func(t *rapid.T) {
		p := plangen.Plan(t)
		text := timelineText(t, p)
		listed := 0
		for line := range strings.Lines(text) {
			require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, line)
			if taskLine.MatchString(line) {
				listed++
			}
		}
		l := desk.TimelineOf(p)
		w := timeline{sheet: &sheet{z: p.Job.Zone}, Timeline: l}
		stretches := l.Stretches(strideMost, strideMark)
		want := 0
		for _, x := range stretches {
			want += len(x.Tasks)
			g, keys, hidden := newGrid(x.From, x.Shown, strideStep), w.keys(x), map[int]bool{}
			for _, c := range l.Crew {
				crowded += rowIsTrue(t, w.person(g, c, keys, hidden), g, l, c, x, keys, hidden)
			}
		}
		require.Equal(t, want, listed, "tasks in the lists")
	})
	assert.Greater(t, crowded, 0, "no row was ever crowded: the generator is too kind")
}

// rowIsTrue holds a person's row against the plan, column by column, and says how many
// columns are crowded.
func rowIsTrue(t *rapid.T, row []byte, g grid, l *desk.Timeline, c desk.CrewLine, x desk.Stretch, keys map[int]byte, hidden map[int]bool) (crowded int) {
	require.LessOrEqual(t, len(row), gridWidth)
	in := func(k, col int) bool {
		from, to := l.Tasks[k].Start, l.Tasks[k].End
		lo := g.from.Add(time.Duration(col) * g.step)
		if from.Equal(to) {
			to = to.Add(time.Minute) // shown as a minute
		}
		return slices.Contains(l.Tasks[k].Who, c.Who) && from.Before(lo.Add(g.step)) && to.After(lo)
	}
	for col, char := range row {
		lo := g.from.Add(time.Duration(col) * g.step)
		onShift := slices.ContainsFunc(l.Job.WorkWindows(job.Person{Who: c.Who}, l.Until), func(w job.Window) bool { return w.From.Before(lo.Add(g.step)) && w.To.After(lo) })
		busy := slices.ContainsFunc(x.Tasks, func(k int) bool { return in(k, col) })
		switch char {
		case ' ':
			require.False(t, onShift || busy)
		case '.':
			require.True(t, onShift && !busy)
		case several:
			crowded++
			require.True(t, busy)
		default:
			require.True(t, slices.ContainsFunc(x.Tasks, func(k int) bool { return keys[k] == char && in(k, col) }), "%q in column %d", char, col)
		}
	}
	for _, k := range x.Tasks {
		if !slices.Contains(l.Tasks[k].Who, c.Who) {
			continue
		}
		seen, under := false, false
		for col, char := range row {
			seen = seen || char == keys[k] && keys[k] != several && in(k, col)
			under = under || char == several && in(k, col)
		}
		require.True(t, seen || under && (hidden[k] || keys[k] == several), "task %d of %s is nowhere", k, c.Who)
	}
	return crowded
}

// A joint's row is wet in every column that its wet work touches and in no other, and
// says so before all else but the end of a pot and the earliest for flight.
func TestWetColumnsAreThoseOfTheWetWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := desk.TimelineOf(plangen.Plan(t))
		w := timeline{sheet: &sheet{z: l.Job.Zone}, Timeline: l}
		grids := w.strips()
		// The first column may begin up to its length, here 4 h, before the job does.
		require.LessOrEqual(t, len(grids), 1+int((l.Until.Sub(l.From)+4*time.Hour)/(gridWidth*4*time.Hour)))
		require.False(t, grids[0].from.After(l.From))
		require.False(t, grids[len(grids)-1].until().Before(l.Until))
		for _, g := range grids {
			require.LessOrEqual(t, g.n, gridWidth)
			for i := range l.Seals {
				s := &l.Seals[i]
				for col, char := range w.joint(g, s) {
					lo := g.from.Add(time.Duration(col) * g.step)
					wet := slices.ContainsFunc(s.Sittings, func(x plan.Sitting) bool { return x.From.Before(lo.Add(g.step)) && x.To.After(lo) })
					if !s.FlyFrom.Before(lo) && s.FlyFrom.Before(lo.Add(g.step)) {
						require.Contains(t, "|?", string(char))
						continue
					}
					require.Equal(t, wet, char == '#', "%s, column %d is %q", s.ID, col, char)
				}
			}
		}
	})
}

func TestWholeJobFitsFewStrips(t *testing.T) {
	for _, c := range []struct {
		span   time.Duration
		column time.Duration
		strips int
	}{
		{9 * time.Hour, 10 * time.Minute, 1},
		{14 * time.Hour, 15 * time.Minute, 1},
		{29 * time.Hour, 30 * time.Minute, 1},
		{50 * time.Hour, time.Hour, 1},
		{5 * 24 * time.Hour, 3 * time.Hour, 1},
		{9 * 24 * time.Hour, 4 * time.Hour, 1},
		{21 * 24 * time.Hour, 4 * time.Hour, 3},
		{50 * 24 * time.Hour, 8 * time.Hour, 3},
		{119 * 24 * time.Hour, 24 * time.Hour, 2},
	} {
		from := time.Date(2027, 3, 29, 7, 0, 0, 0, time.UTC)
		w := timeline{Timeline: &desk.Timeline{From: from, Until: from.Add(c.span)}}
		got := w.strips()
		assert.Equal(t, c.column, got[0].step, c.span)
		assert.Len(t, got, c.strips, c.span)
	}
}

func TestCrowdedColumnIsCounted(t *testing.T) {
	from := time.Date(2027, 3, 29, 7, 0, 0, 0, time.UTC)
	g := newGrid(from, from.Add(20*time.Minute), 5*time.Minute)
	at := func(m int) time.Time { return from.Add(time.Duration(m) * time.Minute) }
	for _, c := range []struct {
		name  string
		spans []span
		row   string
		under []int
	}{
		{"side by side", []span{{at(0), at(10), 'a', 1}, {at(10), at(20), 'b', 1}}, "aabb", nil},
		{"the larger part has the column", []span{{at(0), at(8), 'a', 1}, {at(8), at(20), 'b', 1}}, "aabb", nil},
		{"a short one takes a column of a long one", []span{{at(0), at(8), 'a', 1}, {at(8), at(9), 'b', 1}}, "ab  ", nil},
		{"two in one column", []span{{at(1), at(3), 'a', 1}, {at(3), at(4), 'b', 1}}, "+   ", []int{0, 1}},
		{"no length at all", []span{{at(5), at(5), 'a', 1}}, " a  ", nil},
		{"shift below all", []span{{at(0), at(20), '.', 0}, {at(7), at(8), 'a', 1}}, ".a..", nil},
		{"outside", []span{{at(-9), at(-3), 'a', 1}, {at(30), at(40), 'b', 1}}, "    ", nil},
	} {
		row, under := g.rowOfAll(c.spans)
		assert.Equal(t, c.row, string(row), c.name)
		assert.Equal(t, c.under, under, c.name)
	}
}

func TestDatesAreSaidOnceAndWithTheirYears(t *testing.T) {
	at := func(y, m, d, h int) time.Time { return time.Date(y, time.Month(m), d, h, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		from, until time.Time
		want        string
	}{
		{at(2027, 3, 29, 7), at(2027, 3, 29, 14), "29 Mar 2027"},
		{at(2027, 3, 29, 7), at(2027, 3, 30, 0), "29 Mar 2027"}, // an end at midnight is of the day before
		{at(2027, 3, 29, 7), at(2027, 4, 7, 9), "29 Mar to 7 Apr 2027"},
		{at(2027, 12, 30, 7), at(2028, 1, 6, 11), "30 Dec 2027 to 6 Jan 2028"},
	} {
		assert.Equal(t, c.want, dates(c.from, c.until))
	}
}
