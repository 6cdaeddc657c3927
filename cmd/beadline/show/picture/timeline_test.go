package picture

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/plangen"
	"beadline/cmd/beadline/show"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"

	hhmm "github.com/rickb777/date/clock"
)

// doorPlan is a door sealed in the Faroes by two people, from seven in the morning to
// half past six the next day.
func doorPlan(t require.TestingT) *plan.Plan {
	z, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	at := func(day, h, m int) time.Time { return time.Date(2027, 3, day, h, m, 0, 0, z) }
	all := [7]bool{true, true, true, true, true, true, true}
	j := &job.Job{ID: "T-1", Title: "Door", Zone: z, Start: at(29, 7, 0), Ready: "fly", Crew: []job.Person{{Who: "Ann"}, {Who: "Bo"}}, Part: job.Part{Set: true, AtC: 5, Tau: 3 * time.Hour},
		Shifts: []job.Shift{{Days: all, From: hhmm.New(7, 0, 0, 0), To: hhmm.New(15, 0, 0, 0)}}, Joints: []job.Joint{{ID: "door"}}}
	task := func(id string, k verify.Kind, joint, mix string, from, to time.Time, who ...string) plan.Task {
		return plan.Task{ID: id, Kind: plan.TaskKind(k), Joint: joint, Mix: mix, Who: who, Start: from, End: to}
	}
	return &plan.Plan{Job: j, Found: true, Proven: true, Ready: at(30, 8, 20), Bound: at(30, 8, 20), Air: cure.Constant(cure.Air{TempC: 20, RH: 50}, j.Start, j.Start.Add(14*24*time.Hour)),
		Tasks: []plan.Task{
			task("strip old sealant, door", verify.Prepare, "door", "", at(29, 7, 0), at(29, 7, 50), "Ann"),
			task("mix polysulfide-b-2 (mix 1)", verify.Mix, "door", "mix 1", at(29, 8, 0), at(29, 9, 0), "Bo"),
			task("spread the faying film, door", verify.Lay, "door", "mix 1", at(29, 9, 0), at(29, 10, 0), "Ann"),
			task("inspect, door", verify.Inspect, "door", "", at(30, 7, 0), at(30, 7, 5), "Bo"),
			task("refit fairing", verify.Access, "", "", at(30, 8, 0), at(30, 8, 20), "Ann", "Bo"),
		},
		Mixes: []plan.Mix{{ID: "mix 1", DoneBy: at(29, 10, 10), Joints: []string{"door"}}},
		Joints: []plan.Joint{{ID: "door", FlyNeeds: cure.Cured, CloseFrom: at(29, 18, 0), FlyFrom: at(30, 6, 0),
			Sittings: []plan.Sitting{{From: at(29, 8, 0), To: at(29, 10, 0), TackFree: at(29, 18, 0)}}}},
		Gates: []plan.Gate{{ID: "close", From: at(29, 18, 0)}, {ID: "fly", From: at(30, 8, 20)}},
	}
}

func timelineOf(p *plan.Plan) *Picture { return Timeline(desk.TimelineOf(p), show.SI) }

// boxes are the filled boxes of a colour, in points of the page, y upward.
func boxes(t require.TestingT, all []element, color string) (out []vg.Rectangle) {
	for _, e := range all {
		if e.name != "path" || !strings.Contains(e.attr["style"], "fill:"+color) {
			continue
		}
		var b vg.Rectangle
		for i, xy := range strings.FieldsFunc(strings.TrimSuffix(e.attr["d"], "Z"), func(r rune) bool { return r == 'M' || r == 'L' }) {
			var x, y float64
			_, err := fmt.Sscanf(xy, "%g,%g", &x, &y)
			require.NoError(t, err)
			p := vg.Point{X: vg.Length(x), Y: vg.Length(y)}
			if i == 0 {
				b = vg.Rectangle{Min: p, Max: p}
			}
			b.Min = vg.Point{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y)}
			b.Max = vg.Point{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y)}
		}
		if b.Max.X-b.Min.X != sampleWidth { // the legend's
			out = append(out, b)
		}
	}
	return out
}

// The wet work, 08:00 to 10:00, and the night, 20:00 to 06:00, are read back from the
// SVG against the hours of its own axis.
func TestBandsStandWhereTheHoursSay(t *testing.T) {
	all := elements(t, written(t, timelineOf(doorPlan(t)), SVG))
	at := tickPlaces(t, all)
	perHour := (at["22"].X - at["12"].X) / 10
	place := func(hour vg.Length) vg.Length { return at["12"].X + (hour-12)*perHour }
	wet := boxes(t, all, "#D55E00")
	require.GreaterOrEqual(t, len(wet), 2, "in the whole job and in its stretch")
	assert.InDelta(t, float64(place(8)), float64(wet[0].Min.X), 0.6)
	assert.InDelta(t, float64(place(10)), float64(wet[0].Max.X), 0.6)
	night := boxes(t, all, "#DCDEE6")
	require.NotEmpty(t, night)
	assert.InDelta(t, float64(place(20)), float64(night[0].Min.X), 0.6)
	assert.InDelta(t, float64(place(30)), float64(night[0].Max.X), 0.6)
	perHour = at["09:00"].X - at["08:00"].X
	assert.InDelta(t, float64(2*perHour), float64(wet[1].Max.X-wet[1].Min.X), 0.6, "two hours in the stretch of work too")
	assert.Greater(t, perHour, 2*(at["22"].X-at["12"].X)/10, "which is larger")
}

func TestTimelineNamesEverything(t *testing.T) {
	p := timelineOf(doorPlan(t))
	tidy(t, p, "door")
	svg := string(written(t, p, SVG))
	for _, want := range []string{"T-1: Door", "Earliest fly: Tuesday 30", ">close<", ">fly<", ">Tue 30 08:20<", ">Mon 29 10:00<", ">Mon 29 18:00<", ">Tue 30 06:00<",
		">strip old sealant<", ">mix polysulfide-b-2 (mix 1)<", ">spread the faying film (Ann)<", ">refit fairing (Ann, Bo)<", "10:10<", ">structure<", ">night, 20:00 to 06:00<",
		"This is an earliest time, not a release.", "Earliest times are not a release.", ">07:00–07:50<"} {
		want = strings.Replace(want, "Tuesday 30", "Tue 30 March 2027 08:20 WEST", 1)
		says(t, svg, want, "the picture")
	}
	w, h := p.size()
	assert.Equal(t, []vg.Length{pageW, pageH}, []vg.Length{w, h}, "a small plan fits A4")
}

func TestMissedWishIsALine(t *testing.T) {
	x := doorPlan(t)
	x.Job.ReadyBy = x.Ready.Add(-10 * time.Hour)
	x.Infeasible = &plan.Infeasible{Because: []string{"Wanted fly by Mon 29 Mar 22:20 WEST: the earliest there can be is later."}, Earliest: x.Ready}
	p := timelineOf(x)
	tidy(t, p, "wish")
	svg := string(written(t, p, SVG))
	says(t, svg, ">Wanted fly by Mon 29 Mar 22:20 WEST", "the picture")
	says(t, svg, "Not feasible as asked. Drawn is the earliest plan found, for information.", "the picture")
	says(t, svg, ">wanted by<", "the picture")
	says(t, svg, ">Mon 29 22:20<", "the picture")
}

func TestWitnessIsHollowAndSaysSo(t *testing.T) {
	x := doorPlan(t)
	x.Joints[0].ByWitness = true
	p := timelineOf(x)
	tidy(t, p, "witness")
	svg := string(written(t, p, SVG))
	says(t, svg, ">Tue 30 06:00*<", "the picture")
	says(t, svg, "likely only: go by the witness cup", "the picture")
	says(t, svg, "* Only once the witness cup reads it", "the picture")
}

// Whatever the plan: no text on another, none off the sheet, every task with its number
// over its box and in the list, every gate named; and the same bytes again.
func TestAnyPlanIsDrawnTidily(t *testing.T) {
	sizes := map[vg.Length]int{}
	rapid.Check(t, func(t *rapid.T) {
		x := plangen.Plan(t)
		p := timelineOf(x)
		g := tidy(t, p, "plan")
		count := map[string]int{}
		for _, text := range g.texts {
			count[text.text]++
		}
		for i, k := range x.Tasks {
			want := 1 + len(k.Who) // more where it goes on in another stretch
			require.GreaterOrEqual(t, count[fmt.Sprint(i+1)], want, "task %d", i+1)
		}
		var all strings.Builder
		for _, e := range elements(t, written(t, p, SVG)) {
			all.WriteString(e.text + "\n")
		}
		for _, m := range desk.TimelineOf(x).Marks {
			says(t, all.String(), m.At.Format("Mon 2 15:04"), "the picture")
		}
		w, _ := p.size()
		sizes[w]++
	})
	assert.Greater(t, len(sizes), 1, "every plan had the same sheet")
	x := doorPlan(t)
	for _, f := range []Format{SVG, PNG, PDF} {
		assert.True(t, bytes.Equal(written(t, timelineOf(x), f), written(t, timelineOf(x), f)), "format %d", f)
	}
}

func BenchmarkTimeline(b *testing.B) {
	p := timelineOf(doorPlan(b))
	for b.Loop() {
		written(b, p, SVG)
	}
}
