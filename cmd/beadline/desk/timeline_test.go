package desk_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/plangen"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"
)

// Every task of everyone lies in a stretch, no stretch is longer than asked, none
// overlaps another, and each starts on a step of the wall's clock, but where one that is
// too long goes on.
func TestStretchesHoldEveryTask(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := desk.TimelineOf(plangen.Plan(t))
		most := rapid.SampledFrom([]time.Duration{time.Hour, 5 * time.Hour, 11*time.Hour + 15*time.Minute}).Draw(t, "most")
		step := rapid.SampledFrom([]time.Duration{15 * time.Minute, 30 * time.Minute}).Draw(t, "step")
		all := l.Stretches(most, step)
		held := map[int]time.Duration{}
		for i, s := range all {
			require.LessOrEqual(t, s.To.Sub(s.From), most)
			require.False(t, s.To.Before(s.From))
			require.False(t, s.Shown.Before(s.To))
			require.LessOrEqual(t, s.Shown.Sub(s.From), most)
			if i+1 < len(all) {
				require.False(t, s.Shown.After(all[i+1].From), "the time of the next stretch is shown without its tasks")
			}
			if i > 0 {
				require.False(t, s.From.Before(all[i-1].To), "stretch %d", i)
			}
			if m := s.From.Minute() % int(step/time.Minute); m != 0 {
				require.True(t, i > 0 && s.From.Equal(all[i-1].To), "starts at %s", s.From)
			}
			require.NotEmpty(t, s.Tasks)
			require.True(t, slices.IsSorted(s.Tasks))
			for _, k := range s.Tasks {
				from, to := l.Tasks[k].Start, l.Tasks[k].End
				if from.Before(s.From) {
					from = s.From
				}
				if to.After(s.To) {
					to = s.To
				}
				require.False(t, to.Before(from), "task %d is not in stretch %d", k, i)
				held[k] += to.Sub(from)
			}
		}
		for k, x := range l.Tasks {
			h, ok := held[k]
			require.True(t, ok, "task %d lies in no stretch", k)
			require.Equal(t, x.End.Sub(x.Start), h, "task %d", k)
		}
	})
}

// Bands stand in order, wet where the sittings say, and end where flight may.
func TestBandsTellTheStateOfAJoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := desk.TimelineOf(plangen.Plan(t))
		keys := map[string]bool{}
		for _, s := range l.Seals {
			require.False(t, keys[s.Key])
			keys[s.Key] = true
			for i, b := range s.Bands {
				require.True(t, b.From.Before(b.To))
				if i > 0 {
					require.False(t, b.From.Before(s.Bands[i-1].To))
				}
			}
			stage := func(at time.Time) (desk.Stage, bool) {
				for _, b := range s.Bands {
					if !at.Before(b.From) && at.Before(b.To) {
						return b.Stage, true
					}
				}
				return 0, false
			}
			for _, w := range s.Sittings {
				got, ok := stage(w.From)
				require.True(t, ok && got == desk.Wet, "%s at %s", s.ID, w.From)
				got, _ = stage(w.To.Add(-time.Second))
				require.Equal(t, desk.Wet, got)
			}
			last := s.Bands[len(s.Bands)-1]
			require.True(t, last.To.Equal(s.FlyFrom), "%s: %s, not %s", s.ID, last.To, s.FlyFrom)
			got, _ := stage(s.Sittings[len(s.Sittings)-1].To)
			require.Equal(t, desk.Setting, got)
		}
		require.False(t, l.From.After(l.Job.Start))
		require.True(t, l.Until.After(l.Ready))
	})
}

// dayPlan is a door worked by hand: prepared, warmed, sealed wet, overcoated, cured.
func dayPlan(t testing.TB) *plan.Plan {
	z, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	at := func(day, h, m int) time.Time { return time.Date(2027, 3, day, h, m, 0, 0, z) }
	j := &job.Job{ID: "T-1", Zone: z, Start: at(29, 7, 10), Ready: "fly", Crew: []job.Person{{Who: "Ann"}, {Who: "Bo"}}, Joints: []job.Joint{{ID: "door"}}}
	task := func(id string, k verify.Kind, layer int, mix string, from, to time.Time, who ...string) plan.Task {
		return plan.Task{ID: id, Kind: plan.TaskKind(k), Joint: "door", Layer: layer, Mix: mix, Who: who, Start: from, End: to}
	}
	return &plan.Plan{Job: j, Found: true, Proven: true, Ready: at(30, 12, 0), Bound: at(30, 12, 0),
		Tasks: []plan.Task{
			task("strip", verify.Prepare, 0, "", at(29, 7, 10), at(29, 7, 30), "Ann"),
			task("warm", verify.Warm, 0, "", at(29, 8, 0), at(29, 9, 30)),
			task("mix", verify.Mix, 0, "mix 1", at(29, 9, 20), at(29, 9, 28), "Ann"),
			task("lay", verify.Lay, 0, "mix 1", at(29, 9, 30), at(29, 9, 40), "Ann"),
			task("overcoat", verify.Lay, 1, "mix 2", at(29, 20, 0), at(29, 20, 10), "Bo"),
			task("heat", verify.Heat, 0, "", at(30, 2, 0), at(30, 2, 15), "Bo"),
		},
		Mixes: []plan.Mix{{ID: "mix 1", DoneBy: at(29, 10, 0), Joints: []string{"door"}}},
		Joints: []plan.Joint{{ID: "door", FlyNeeds: cure.Cured, CloseFrom: at(30, 1, 0), FlyFrom: at(30, 10, 0), Sittings: []plan.Sitting{
			{From: at(29, 9, 20), To: at(29, 9, 40), TackFree: at(29, 18, 0)},
			{First: 1, Last: 1, From: at(29, 19, 50), To: at(29, 20, 10), TackFree: at(30, 1, 0)}}}},
		Gates: []plan.Gate{{ID: "fuel", From: at(30, 11, 0)}, {ID: "fly", From: at(30, 12, 0)}, {ID: "move", From: at(30, 9, 0)}},
	}
}

func TestJointGoesThroughItsStages(t *testing.T) {
	l := desk.TimelineOf(dayPlan(t))
	type row struct {
		stage  desk.Stage
		hot    bool
		toHHMM string
	}
	want := []row{{desk.Preparing, false, "29 07:30"}, {desk.Open, false, "29 08:00"}, {desk.Warming, false, "29 09:20"}, {desk.Wet, false, "29 09:40"},
		{desk.Setting, false, "29 18:00"}, {desk.Curing, false, "29 19:50"}, {desk.Wet, false, "29 20:10"}, {desk.Setting, false, "30 01:00"},
		{desk.Curing, false, "30 02:15"}, {desk.Curing, true, "30 10:00"}}
	var got []row
	for _, b := range l.Seals[0].Bands {
		got = append(got, row{b.Stage, b.Heated, b.To.Format("2 15:04")})
	}
	assert.Equal(t, want, got)
	assert.Equal(t, "A", l.Letter("door"))
	assert.Equal(t, "29 07:00", l.From.Format("2 15:04"))
	assert.Equal(t, "30 13:00", l.Until.Format("2 15:04"))
}

func TestGatesHaveLettersOfTheirOwn(t *testing.T) {
	l := desk.TimelineOf(dayPlan(t))
	keys := ""
	for _, m := range l.Marks {
		keys += m.Key
	}
	assert.Equal(t, "MFL", keys, "in order of time; F is taken when fly comes")
}

func TestWishIsAMarkWhereItIsNear(t *testing.T) {
	p := dayPlan(t)
	p.Job.ReadyBy = p.Ready.Add(3 * time.Hour)
	l := desk.TimelineOf(p)
	last := l.Marks[len(l.Marks)-1]
	assert.True(t, last.Wish)
	assert.True(t, l.Until.After(last.At))
	p.Job.ReadyBy = p.Ready.Add(300 * time.Hour)
	l = desk.TimelineOf(p)
	assert.False(t, slices.ContainsFunc(l.Marks, func(m desk.Mark) bool { return m.Wish }), "weeks of nothing are not drawn for it")
}

// The clocks go forward in the night to 28 March 2027 in the Faroes (IANA time zone
// database): that night is an hour shorter.
func TestNightIsByTheWallsClock(t *testing.T) {
	l := desk.TimelineOf(dayPlan(t))
	z := l.Job.Zone
	ns := l.Nights(time.Date(2027, 3, 27, 12, 0, 0, 0, z), time.Date(2027, 3, 29, 3, 0, 0, 0, z))
	require.Len(t, ns, 2)
	assert.Equal(t, 9*time.Hour, ns[0].To.Sub(ns[0].From))
	assert.Equal(t, 7*time.Hour, ns[1].To.Sub(ns[1].From), "cut off at 03:00")
}

func TestNoPlanHasNoTimeline(t *testing.T) {
	assert.Nil(t, desk.TimelineOf(&plan.Plan{}))
}

// A person is counted on shift and at work, and the counts hold up to the next step.
func TestStaffIsWhoIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := desk.TimelineOf(plangen.Plan(t))
		steps := l.Staff()
		require.True(t, slices.IsSortedFunc(steps, func(a, b desk.Staffing) int { return a.At.Compare(b.At) }))
		at := l.From.Add(time.Duration(rapid.Int64Range(0, int64(l.Until.Sub(l.From))).Draw(t, "at")))
		want := desk.Staffing{}
		for _, c := range l.Job.Crew {
			for _, w := range l.Job.WorkWindows(c, l.Until) {
				if !at.Before(w.From) && at.Before(w.To) {
					want.OnShift++
				}
			}
			if slices.ContainsFunc(l.Tasks, func(k plan.Task) bool {
				takes := max(k.End.Sub(k.Start), time.Minute) // what takes no time is shown as a minute
				return slices.Contains(k.Who, c.Who) && !at.Before(k.Start) && at.Before(k.Start.Add(takes))
			}) {
				want.AtWork++
			}
		}
		var got desk.Staffing
		for _, s := range steps {
			if !s.At.After(at) {
				got = s
			}
		}
		require.Equal(t, want.OnShift, got.OnShift)
		require.Equal(t, want.AtWork, got.AtWork)
	})
}
