package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// doorJob is a door with a fillet at the temperature that rated times are of, 77 °F, with
// no doubt about the air: the lines are the rated times of class B-2, 2 h, 40 h and 72 h
// (specification values, from memory; the same as in trade_test.go).
const doorJob = `job: T-1
title: demands that clash
zone: UTC
start: 2027-03-08T07:00
air: [{constant: {temp: 77F, rh: 50%}}]
air-margin: 0C
mixing: {room: 77F, adds: 0C, takes: 8min, waste: 15%}
crew:
  - {who: Ann, can: [seal, torque, panel]}
  - {who: Bo, can: [torque, panel]}
  - {who: Cy, can: [inspect]}
shifts: [{days: daily, from: "07:00", to: "19:00"}]
joints:
  - id: door
    class: polysulfide-b-2
    layers: [{seal: fillet, spread: 12min}]
access:
  - {off: fairing, takes: 20min, hides: [door]}
gates: {close: [door tack-free], fly: [door cure]}
ready: fly
`

func asked(t testing.TB, text string) Input {
	t.Helper()
	j, err := job.Decode([]byte(text), "job.yaml")
	require.NoError(t, err, text)
	in := Input{Job: j, Classes: map[string]*cure.Class{}}
	for _, c := range catalog.Builtin().All() {
		in.Classes[c.ID] = &c.Class
	}
	return in
}

// withText is doorJob with texts replaced, pair by pair.
func withText(t testing.TB, pairs ...string) string {
	t.Helper()
	text := doorJob
	for i := 0; i < len(pairs); i += 2 {
		require.Equal(t, 1, strings.Count(text, pairs[i]), "%q", pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return text
}

const (
	itsShift  = `{days: daily, from: "07:00", to: "19:00"}`
	itsLayer  = `    layers: [{seal: fillet, spread: 12min}]` + "\n"
	itsReady  = "ready: fly\n"
	itsCrew   = "  - {who: Ann, can: [seal, torque, panel]}\n  - {who: Bo, can: [torque, panel]}\n  - {who: Cy, can: [inspect]}\n"
	itsClass  = "class: polysulfide-b-2\n"
	itsFlying = "fly: [door cure]"
)

// clashes are jobs that cannot be done, with the set that clashes worked out by hand.
var clashes = []struct {
	name  string
	pairs []string
	set   []DemandKind
	says  []string
}{
	// 72 h of cure from Mon 07:20 end on Thu 07:20; wanted a day before. Nothing but the
	// wish and the cure matters: with all hours worked it is no different.
	{"wish and cure", []string{itsReady, "ready: fly\nready-by: 2027-03-10T08:00\n"}, []DemandKind{ReadyByDemand, CureDemand},
		[]string{"fly is wanted by Wed 10 Mar 08:00 UTC", "door: fillet curing takes 72 h in this air"}},
	// Laid by 10:20 in the shift, it is cured on Thu 10:20; the job starts at 07:00, and with
	// anybody there then it were Thu 07:20.
	{"wish, cure and shifts", []string{itsReady, "ready: fly\nready-by: 2027-03-11T08:00\n", itsShift, `{days: daily, from: "10:00", to: "19:00"}`},
		[]DemandKind{ReadyByDemand, CureDemand, HoursDemand}, []string{"everyone works daily 10:00-19:00 only"}},
	// Tack-free 40 h after Mon 07:20 is Tue 23:20; the overcoat has to be laid by 01:20,
	// and everybody is at home. With any of the three gone it can be.
	{"cure, within and shifts", []string{itsLayer, "    layers: [{seal: fillet, spread: 12min}, {seal: overcoat, after: tack-free, within: 2h, spread: 12min}]\n", itsShift, `{days: daily, from: "07:00", to: "12:00"}`},
		[]DemandKind{CureDemand, WithinDemand, HoursDemand}, []string{"door: laid within 2 h of tack-free", "everyone works daily 07:00-12:00 only"}},
	// Nobody has ten minutes on end with a shift of ten: 12 min of laying.
	{"shifts too short", []string{itsShift, `{days: daily, from: "07:00", to: "07:10"}`}, []DemandKind{HoursDemand}, []string{"07:00-07:10"}},
	// Two quarters of an hour with a break between: the 20 min of the fairing fit neither.
	{"shifts and break", []string{itsShift, `{days: daily, from: "07:00", to: "08:00", breaks: ["07:15-07:45"]}`}, []DemandKind{HoursDemand, BreaksDemand}, []string{"works through a break (07:15-07:45)"}},
	// The only one who can seal is away until Tue noon: laid by 12:20, it is cured on Fri.
	{"wish, cure and absence", []string{itsReady, "ready: fly\nready-by: 2027-03-11T08:00\n", "  - {who: Ann, can: [seal, torque, panel]}\n", "  - {who: Ann, can: [seal, torque, panel], away: [{from: 2027-03-08T07:00, to: 2027-03-09T12:00}]}\n"},
		[]DemandKind{ReadyByDemand, CureDemand, AwayDemand}, []string{"Ann is away from Mon 8 Mar 07:00 UTC to Tue 9 Mar 12:00 UTC"}},
	// Ann does all there is and may not inspect it.
	{"own work", []string{itsCrew, "  - {who: Ann, can: [seal, torque, panel, inspect]}\n"}, []DemandKind{HandsDemand, HandsDemand, IndependenceDemand}, []string{"door: nobody inspects their own work"}},
	// 12 min of spreading and 80 of torque are 92 with 8 of mixing before: longer than any
	// shift of 90 min, and a pot of B-4 does not last to the next day.
	{"pot and shifts", []string{itsClass, "class: polysulfide-b-4\n", itsShift, `{days: daily, from: "07:00", to: "08:30"}`,
		itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 80, each: 60s, torque: wet}\n"}, []DemandKind{PotLifeDemand, HoursDemand},
		[]string{"the pot of polysulfide-b-4 for door, faying lasts 4 h, and the work with it takes 1 h 40 min"}},
	// Class B-2 may be laid from 16 °C (specification, from memory). The hangar is as warm as
	// that from 11:00 at the earliest: half way between 10 and 22 °C comes six hours before
	// the warmest, 17:00, and everybody is at home by 09:00.
	{"windows and shifts", []string{"air: [{constant: {temp: 77F, rh: 50%}}]", `air: [{swing: {low: 10C, high: 22C, warmest: "17:00", dew-point: 9C}}]`, itsShift, `{days: daily, from: "07:00", to: "09:00"}`},
		[]DemandKind{WindowDemand, HoursDemand}, []string{"the fillet of polysulfide-b-2 is laid only within its temperatures"}},
	// Class C-24 may be closed 80 h after mixing (the dash numbers are application and
	// assembly time in hours, NAVEDTRA 14315), so tomorrow would do for the pot; but what is
	// mixed for a shift is used up by its end, and 100 min of work are more than one of 90: it
	// takes somebody there before it begins.
	{"used up within the shift", []string{itsClass, "class: polysulfide-c-24-80\n", itsShift, `{days: daily, from: "07:00", to: "08:30"}`,
		itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 80, each: 60s, torque: wet}\n"}, []DemandKind{ShiftEndDemand, HoursDemand},
		[]string{"is used up within the shift it is mixed in (the work with it takes 1 h 40 min)"}},
	// From cleaning to the start of laying there are 5 min of promoter and 20 of drying: with
	// both they and the laying fit no shift, and the next is more than 40 min off. Without
	// the drying they fit the shift of 25 min.
	{"cleaning, drying and hours", []string{itsLayer, "    prepare: [{clean: 5min, seal-within: 40min}, {promoter: {dry: 20min, within: 8h, takes: 5min}}]\n" + itsLayer,
		itsShift, `{days: daily, from: "07:00", to: "07:20"}, {days: daily, from: "08:00", to: "08:25"}`}, []DemandKind{WaitDemand, WithinDemand, HoursDemand}, []string{"sealed within 40 min of cleaning"}},
}

// TestClashingDemandsAreNamed holds the sets against those worked out by hand.
func TestClashingDemandsAreNamed(t *testing.T) {
	for _, c := range clashes {
		t.Run(c.name, func(t *testing.T) {
			in := asked(t, withText(t, c.pairs...))
			in.Brief = true
			p, err := Make(in)
			require.NoError(t, err)
			require.NotNil(t, p.Infeasible)
			x := p.Infeasible
			var kinds []DemandKind
			for _, d := range x.Set {
				kinds = append(kinds, d.Kind)
			}
			assert.Equal(t, c.set, kinds, "%s", strings.Join(x.Because, "\n"))
			assert.True(t, x.Proven || p.Found, "%v", x.Because)
			assert.True(t, x.Minimal, "%v", x.Because)
			text := strings.Join(x.Because, "\n")
			for _, s := range c.says {
				assert.Contains(t, text, s)
			}
		})
	}
}

// TestObstaclesStandAlone: what no search is needed for is said as it is, and the number
// that would do is worked out of it.
func TestObstaclesStandAlone(t *testing.T) {
	// 8 min of mixing, 12 of spreading, 40 of torque: 60, and a pot of B-1/2 has 30 (the dash
	// number is the application time in hours, NAVEDTRA 14315 fig. 5-44).
	in := asked(t, withText(t, itsClass, "class: polysulfide-b-half\n", itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 40, each: 60s, torque: wet}\n"))
	p, err := Make(in)
	require.NoError(t, err)
	require.False(t, p.Found)
	require.Len(t, p.Infeasible.Because, 1)
	assert.Contains(t, p.Infeasible.Because[0], "1 h together, but a pot of polysulfide-b-half lasts 30 min at most")
	require.Len(t, p.Infeasible.Changes, 1)
	assert.Equal(t, 30, p.Infeasible.Changes[0].Size, "60 min are 30 more than 30")
	assert.True(t, p.Infeasible.Changes[0].Smallest)
	assert.Contains(t, p.Infeasible.Changes[0].What, "a class whose pot lasts 1 h or more")

	// At 14 °C air class B-2 may not be laid under 16 °C: 2 °C more will do.
	in = asked(t, withText(t, "temp: 77F", "temp: 14C"))
	p, err = Make(in)
	require.NoError(t, err)
	require.Len(t, p.Infeasible.Changes, 1)
	assert.Equal(t, "keep the hangar 2 C warmer", p.Infeasible.Changes[0].What)
	assert.True(t, p.Infeasible.Changes[0].Smallest)
}

// TestSmallestChangesByHand holds the numbers against those worked out by hand.
func TestSmallestChangesByHand(t *testing.T) {
	for _, c := range []struct {
		name  string
		pairs []string
		kind  DemandKind
		what  string
	}{
		// The wish is moved to the proven earliest: 72 h after 07:20.
		{"wish", []string{itsReady, "ready: fly\nready-by: 2027-03-10T08:00\n"}, ReadyByDemand, "fly by Thu 11 Mar 07:20 UTC instead of Wed 10 Mar 08:00 UTC"},
		// Laid at the end of the shift, 12:00, it is tack-free at 04:00 two days later; the next
		// shift is 3 h off, and 8 min of mixing and 12 of laying come after. In two pots the second
		// were later still.
		{"within", []string{itsLayer, "    layers: [{seal: fillet, spread: 12min}, {seal: overcoat, after: tack-free, within: 2h, spread: 12min}]\n", itsShift, `{days: daily, from: "07:00", to: "12:00"}`},
			WithinDemand, "door: the overcoat within 3 h 20 min of tack-free instead of 2 h, if the approved data allow it"},
		// The longest piece of work is the fairing's 20 min, and 8 min of mixing with 12 of
		// laying are one pot's.
		{"hours", []string{itsShift, `{days: daily, from: "07:00", to: "07:10"}`}, HoursDemand, "everyone until 07:20 instead of 07:10"},
		{"hands", []string{itsCrew, "  - {who: Ann, can: [seal, torque, panel, inspect]}\n"}, HandsDemand, "1 more who can inspect, at the hours of Ann"},
		// 100 min from 07:00.
		{"pot and hours", []string{itsClass, "class: polysulfide-b-4\n", itsShift, `{days: daily, from: "07:00", to: "08:30"}`,
			itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 80, each: 60s, torque: wet}\n"}, HoursDemand, "everyone until 08:40 instead of 08:30"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Make(asked(t, withText(t, c.pairs...)))
			require.NoError(t, err)
			require.NotNil(t, p.Infeasible)
			i := slices.IndexFunc(p.Infeasible.Changes, func(x Change) bool { return x.Kind == c.kind && x.What == c.what })
			require.GreaterOrEqual(t, i, 0, "%+v", p.Infeasible.Changes)
			if c.kind != ReadyByDemand { // the bound that is printed may stand lower
				assert.True(t, p.Infeasible.Changes[i].Smallest)
			}
			assert.False(t, p.Infeasible.Changes[i].Ready.IsZero())
		})
	}
}

// TestBracketFindsTheSmallest tries every span, answer and guess up to twenty.
func TestBracketFindsTheSmallest(t *testing.T) {
	for span := 1; span <= 20; span++ {
		for least := 1; least <= span+1; least++ {
			for guess := 0; guess <= span+2; guess++ {
				n, proven, ok := bracket(span, guess, func(n int) (bool, bool) {
					require.True(t, n >= 1 && n <= span, "%d of %d is asked for", n, span)
					return n >= least, true
				})
				if least > span {
					assert.False(t, ok)
					continue
				}
				assert.True(t, ok && proven)
				require.Equal(t, least, n, "span %d, guess %d", span, guess)
			}
		}
	}
}

// TestAllDemandsKeptIsTheWholeModel: with all kept the model is the one that was built, and
// with none only the work is left.
func TestAllDemandsKeptIsTheWholeModel(t *testing.T) {
	in := demo(t, "job.yaml")
	in.Brief = true
	p, err := Make(in)
	require.NoError(t, err)
	b := p.made
	ds := b.demands(0)
	keep := make([]bool, len(ds))
	for i := range keep {
		keep[i] = true
	}
	m := b.without(ds, keep, 0)
	assert.Equal(t, fmt.Sprint(b.m.People), fmt.Sprint(m.People))
	assert.Equal(t, len(b.m.Lags), len(m.Lags))
	for k := range b.m.Tasks {
		assert.Equal(t, b.m.Tasks[k], m.Tasks[k])
	}
	// With none kept, only the work is left: nothing is waited for that is not work.
	m = b.without(ds, make([]bool, len(ds)), 0)
	for _, l := range m.Lags {
		d, fixed := l.Fn.(solve.Plus)
		assert.True(t, fixed && d == 0 && !l.Max, "%s is still there", l.What)
	}
	for _, task := range m.Tasks {
		assert.Nil(t, task.Within, "%s", task.Name)
	}
	assert.Equal(t, []solve.Window{{From: 0, To: m.Horizon}}, m.People[0].Work)
	assert.Less(t, time.Duration(0), p.Labour())
}

// TestDeadlinesAreDemands: a task that is due clashes like anything else. Tack-free comes 40 h
// after the laying, and the inspection is wanted after 10.
func TestDeadlinesAreDemands(t *testing.T) {
	in := asked(t, doorJob)
	in.Brief = true
	p, err := Make(in)
	require.NoError(t, err)
	b := p.made
	b.m.Tasks[b.only("door").inspect].Deadline = 10 * 60
	c := b.clashOf(0, nil)
	require.NotNil(t, c)
	require.Len(t, c.set, 2)
	assert.Equal(t, []DemandKind{CureDemand, DeadlineDemand}, []DemandKind{c.set[0].Kind, c.set[1].Kind})
	assert.True(t, c.proven && c.minimal)
	assert.Contains(t, c.words(), "inspect, door is done by Mon 8 Mar 17:00 UTC")
}

// TestWhoIsAwayComesBack: the smallest change where the only one who can seal is away.
func TestWhoIsAwayComesBack(t *testing.T) {
	p, err := Make(asked(t, withText(t, itsReady, "ready: fly\nready-by: 2027-03-11T08:00\n",
		"  - {who: Ann, can: [seal, torque, panel]}\n", "  - {who: Ann, can: [seal, torque, panel], away: [{from: 2027-03-08T07:00, to: 2027-03-09T12:00}]}\n")))
	require.NoError(t, err)
	require.NotNil(t, p.Infeasible)
	assert.True(t, slices.ContainsFunc(p.Infeasible.Changes, func(c Change) bool { return c.What == "Ann is there and not away" && c.Smallest }), "%+v", p.Infeasible.Changes)
}

// TestAWishThatIsProvenImpossibleSaysSo: a faying film has one pot and the joint one class, so
// that there is one way and the set speaks of all.
func TestAWishThatIsProvenImpossibleSaysSo(t *testing.T) {
	in := asked(t, withText(t, itsReady, "ready: fly\nready-by: 2027-03-10T08:00\n", itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 10, each: 60s, torque: wet}\n",
		itsClass, "class: corrosion-inhibiting-faying-12\n"))
	in.Brief = true
	p, err := Make(in)
	require.NoError(t, err)
	require.NotNil(t, p.Infeasible)
	assert.True(t, p.Infeasible.Proven)
	assert.NotContains(t, strings.Join(p.Infeasible.Because, " "), "planned here")
}
