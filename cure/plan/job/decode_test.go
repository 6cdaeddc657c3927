package job

import (
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones are the same on every machine

	"beadline/cure"

	"github.com/rickb777/date/clock"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// whole is a job with every common section. The tests of bad jobs count its lines.
const whole = `job: NF12-0417
title: Fuel-bay door and bulkhead feed-through refit
zone: Atlantic/Faroe
start: 2027-03-08T07:00
ready-by: 2027-03-10T12:00            # optional: also says the latest moment each mix may be made
air:
  - log: hangar-march.csv             # time,temp_c,rh_pct
  - swing: {low: 9C, high: 16C, warmest: "15:00", dew-point: 6C}
part: {at: -4C, warms-in: PT3H}
crew:
  - {who: Tech 1, can: [seal, torque, panel]}
  - {who: Tech 2, can: [torque, panel]}
  - {who: Inspector, can: [inspect]}
shifts: [{days: Mon-Fri, from: "07:00", to: "15:30", breaks: ["11:30-12:00"]}]
joints:
  - id: fuel-bay door
    class: polysulfide-b-2            # or classes: [a, b] to let the plan choose
    layers:                           # in order; each may name its own class and mix
      - {seal: faying, bead: {area: 600cm2, thickness: 0.25mm}, spread: 12min}
      - {seal: overcoat, after: tack-free, within: 24h, each: 40s}
    fasteners: {count: 24, each: 90s, torque: wet, passes: 2, value: "6.2 Nm", reference: "work order item"}   # values are recorded, never calculated
    prepare: [{strip: 30min}, {inspect: 10min, can: inspect}, {clean: 40min, seal-within: 4h}, {promoter: {dry: 30min, within: 8h}}]
    warm: {to: 20C, takes: 2h}        # warming the structure before sealing is a task of its own
    heat: {to: 40C, from: after-tack-free, gas-free: recorded}   # near fuel: refused without a recorded gas-free state
    batch: S-2207                     # optional: checked against the register for that day
access:                               # in the order it came OFF; goes back last-off first-on unless 'after:' says otherwise
  - {off: door fairing, takes: PT25M, crew: 2, hides: [fuel-bay door]}
covers: [intake blank, tank vent plug]     # protection fitted; each must be accounted for before closing
renew: [{item: self-locking nut M5, count: 24}]   # one-time-use hardware
checks: [{id: leak check, after: fuel-bay door cure, takes: PT45M, can: inspect}]
gates:                                 # each its own earliest time
  close: [fuel-bay door tack-free]
  refuel: [fuel-bay door cure]
  fly: [fuel-bay door cure, leak check]
ready: fly
`

func decodeOK(t *testing.T, text string) *Job {
	t.Helper()
	j, err := Decode([]byte(text), "job.yaml")
	require.NoError(t, err)
	return j
}

// change is whole with one piece replaced; the piece must be there.
func change(t *testing.T, old, new string) string {
	t.Helper()
	require.Contains(t, whole, old)
	return strings.Replace(whole, old, new, 1)
}

func TestWholeJobDecodesExactly(t *testing.T) {
	j := decodeOK(t, whole)
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)

	assert.True(t, math.IsNaN(j.Air[1].Swing.RH))
	j.Air[1].Swing.RH = 0 // NaN is not equal to itself
	assert.Equal(t, &Job{
		ID: "NF12-0417", Title: "Fuel-bay door and bulkhead feed-through refit", Zone: faroe, File: "job.yaml",
		Start:   time.Date(2027, 3, 8, 7, 0, 0, 0, faroe),
		ReadyBy: time.Date(2027, 3, 10, 12, 0, 0, 0, faroe),
		Air: []AirPiece{
			{Log: "hangar-march.csv", Line: 7},
			{Swing: &Swing{LowC: 9, HighC: 16, Warmest: clock.New(15, 0, 0, 0), DewC: 6}, Line: 8},
		},
		AirMargin: 2,
		Part:      Part{Set: true, AtC: -4, Tau: 3 * time.Hour},
		Mixing:    Mixing{RoomC: 23, Takes: 8 * time.Minute, Waste: 0.15, Can: "seal"},
		Crew: []Person{
			{Who: "Tech 1", Can: []string{"seal", "torque", "panel"}, Line: 11},
			{Who: "Tech 2", Can: []string{"torque", "panel"}, Line: 12},
			{Who: "Inspector", Can: []string{"inspect"}, Line: 13},
		},
		Shifts: []Shift{{
			Days: [7]bool{false, true, true, true, true, true, false},
			From: clock.New(7, 0, 0, 0), To: clock.New(15, 30, 0, 0),
			Breaks: [][2]clock.Clock{{clock.New(11, 30, 0, 0), clock.New(12, 0, 0, 0)}},
			Line:   14,
		}},
		Joints: []Joint{{
			ID: "fuel-bay door", Classes: []string{"polysulfide-b-2"}, Line: 16,
			Layers: []Layer{
				{Seal: cure.Faying, Bead: Bead{AreaMM2: 60000, ThicknessMM: 0.25}, Spread: 12 * time.Minute, Can: "seal", Line: 19},
				{Seal: cure.Overcoat, After: cure.TackFree, AfterSet: true, Within: 24 * time.Hour, Each: 40 * time.Second, Can: "seal", Line: 20},
			},
			Fasteners: &Fasteners{Count: 24, Each: 90 * time.Second, Passes: 2, People: 1, Torque: TorqueWet,
				Value: "6.2 Nm", Reference: "work order item", Can: "torque"},
			Prepare: []Prep{
				{Kind: Strip, Takes: 30 * time.Minute, Can: "seal", Line: 22},
				{Kind: Examine, Takes: 10 * time.Minute, Can: "inspect", Line: 22},
				{Kind: Clean, Takes: 40 * time.Minute, Within: 4 * time.Hour, Can: "seal", Line: 22},
				{Kind: Promoter, Takes: 5 * time.Minute, Dry: 30 * time.Minute, Within: 8 * time.Hour, Can: "seal", Line: 22},
			},
			Warm:     &Warm{ToC: 20, Takes: 2 * time.Hour, Line: 23},
			Heat:     &Heat{ToC: 40, From: HeatAfterTackFree, GasFree: true, SetUp: 15 * time.Minute, Can: "seal", Line: 24},
			Inspect:  Inspect{10 * time.Minute, "inspect"},
			HiddenBy: []string{"door fairing"}, Batch: "S-2207",
		}},
		Access: []Access{{Off: "door fairing", Takes: 25 * time.Minute, Crew: 2, Hides: []string{"fuel-bay door"}, Can: "panel", Line: 27}},
		Covers: []Cover{{"intake blank", 2 * time.Minute}, {"tank vent plug", 2 * time.Minute}},
		Renew:  []Item{{"self-locking nut M5", 24}},
		Checks: []Check{{ID: "leak check", Takes: 45 * time.Minute, Crew: 1, Can: "inspect", Line: 30,
			After: []Ref{{Kind: RefMilestone, ID: "fuel-bay door", Milestone: cure.Cured, Text: "fuel-bay door cure"}}}},
		Gates: []Gate{
			{ID: "close", Needs: []Ref{{Kind: RefMilestone, ID: "fuel-bay door", Milestone: cure.TackFree, Text: "fuel-bay door tack-free"}}, Line: 32},
			{ID: "refuel", Needs: []Ref{{Kind: RefMilestone, ID: "fuel-bay door", Milestone: cure.Cured, Text: "fuel-bay door cure"}}, Line: 33},
			{ID: "fly", Needs: []Ref{
				{Kind: RefMilestone, ID: "fuel-bay door", Milestone: cure.Cured, Text: "fuel-bay door cure"},
				{Kind: RefCheck, ID: "leak check", Text: "leak check"},
			}, Line: 34},
		},
		Ready: "fly",
		Assumed: []string{
			"The air that is expected is taken 2 °C colder for cure and 2 °C warmer for pot life (air-margin, not said).",
			"Mixing by hand is taken as 8 min a pot (not said; 5 to 10 min is usual).",
			"The room where pots are mixed and stand is taken at 23 °C (not said).",
			"Stirring is taken to add no heat to the pot (not said).",
			"15 % of each mix is taken to be lost in the pot and gun (not said).",
			"Putting on promoter is taken as 5 min (not said): fuel-bay door.",
			"Setting up heat is taken as 15 min (not said): fuel-bay door.",
			"Inspecting a sealed joint is taken as 10 min (not said): fuel-bay door.",
			"Taking off a cover and accounting for it is taken as 2 min (not said): intake blank, tank vent plug.",
		},
	}, j)
}

func TestSaidValuesReplaceEveryDefault(t *testing.T) {
	text := change(t, "part: {at", `air-margin: 5F
mixing: {room: 68F, adds: 2C, takes: 6min, max: 250ml, waste: 20%, can: torque}
part: {at`)
	text = strings.Replace(text, "covers: [intake blank, tank vent plug]", "covers: [{what: intake blank, takes: 4min}]", 1)
	text = strings.Replace(text, "batch: S-2207", "inspect: {takes: 20min, can: panel}\n    near-fuel: true\n    part: {at: 5C, warms-in: 1h}", 1)
	text = strings.Replace(text, "gas-free: recorded}", "gas-free: recorded, set-up: 25min, can: torque}", 1)
	text = strings.Replace(text, "within: 8h}}", "within: 8h, takes: 9min}, can: torque, splittable: true}", 1)
	j := decodeOK(t, text)
	assert.Empty(t, j.Assumed)
	assert.InDelta(t, 5*5/9.0, j.AirMargin, 1e-12, "a step of 5 °F is no reading of a thermometer")
	assert.Equal(t, Mixing{RoomC: 20, AddsC: 2, Takes: 6 * time.Minute, MaxML: 250, Waste: 0.2, Can: "torque"}, j.Mixing)
	assert.Equal(t, Cover{"intake blank", 4 * time.Minute}, j.Covers[0])
	jt := j.JointByID("fuel-bay door")
	assert.Equal(t, Inspect{20 * time.Minute, "panel"}, jt.Inspect)
	assert.True(t, *jt.NearFuel)
	assert.Equal(t, &Part{true, 5, time.Hour}, jt.Part)
	assert.Equal(t, 25*time.Minute, jt.Heat.SetUp)
	assert.Equal(t, Prep{Kind: Promoter, Takes: 9 * time.Minute, Dry: 30 * time.Minute, Within: 8 * time.Hour, Can: "torque", Splittable: true, Line: jt.Prepare[3].Line}, jt.Prepare[3])
}

func TestAmbiguousAutumnTimeIsTheEarlier(t *testing.T) {
	// EU summer time ends on 31 October 2027 at 01:00 UTC (last Sunday of
	// October, Directive 2000/84/EC): 01:30 in the Faroes comes twice.
	text := change(t, "start: 2027-03-08T07:00\nready-by: 2027-03-10T12:00 ", "start: 2027-10-31T01:30 ")
	j := decodeOK(t, text)
	assert.Equal(t, "2027-10-31T00:30:00Z", j.Start.UTC().Format(time.RFC3339))
	assert.Contains(t, j.Assumed[0], "2027-10-31T01:30 comes twice in Atlantic/Faroe; the earlier is taken")
	assert.True(t, j.ReadyBy.IsZero())
}

// Every local time of the file that comes twice is noted, not the start's alone.
func TestAmbiguousAutumnTimesAreAllNoted(t *testing.T) {
	text := change(t, "start: 2027-03-08T07:00\nready-by: 2027-03-10T12:00 ", "start: 2027-10-29T07:00\nready-by: 2027-10-31T01:30 ")
	j := decodeOK(t, text)
	assert.Equal(t, "2027-10-31T00:30:00Z", j.ReadyBy.UTC().Format(time.RFC3339), "the earlier, which is the safe side of a wish")
	assert.Contains(t, strings.Join(j.Assumed, "\n"), "ready-by: 2027-10-31T01:30 comes twice in Atlantic/Faroe; the earlier is taken (01:30 WEST).")

	text = change(t, "can: [inspect]}", "can: [inspect], away: [{from: 2027-10-31T01:15, to: 2027-10-31T01:45}]}")
	j = decodeOK(t, text)
	said := strings.Join(j.Assumed, "\n")
	assert.Contains(t, said, "from of away of person 3 of the crew: 2027-10-31T01:15 comes twice in Atlantic/Faroe; the earlier is taken (01:15 WEST).")
	assert.Contains(t, said, "to of away of person 3 of the crew: 2027-10-31T01:45 comes twice in Atlantic/Faroe; the later is taken (01:45 WET).")
	away := j.Crew[2].Away[0]
	assert.Equal(t, 90*time.Minute, away.To.Sub(away.From), "away through both of them: the safe side")
}

// Self-locking nuts taken off are replaced one for one: 10 studs and 9 bolts make
// 19 new nuts (common practice, no source).
func TestSelfLockingNutsAreRenewedOneForOne(t *testing.T) {
	nuts := strings.Replace(whole, "count: 24, each: 90s", "studs: 10, bolts: 9, nut: self-locking nut M5, each: 90s", 1)
	for _, c := range []struct {
		name, renew string
		want        []Item
	}{
		{"nothing said", "", []Item{{"self-locking nut M5", 19}}},
		{"more said is kept", "renew: [{item: self-locking nut M5, count: 24}]", []Item{{"self-locking nut M5", 24}}},
		{"as many said is kept", "renew: [{item: self-locking nut M5, count: 19}]", []Item{{"self-locking nut M5", 19}}},
		{"another item stays first", "renew: [{item: O-ring, count: 2}]", []Item{{"O-ring", 2}, {"self-locking nut M5", 19}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := decodeOK(t, strings.Replace(nuts, "renew: [{item: self-locking nut M5, count: 24}]", c.renew, 1))
			assert.Equal(t, c.want, j.Renew)
			assert.Equal(t, 19, j.Joints[0].Fasteners.Count)
		})
	}
	_, err := Decode([]byte(strings.Replace(nuts, "nut M5, count: 24}]", "nut M5, count: 18}]", 1)), "job.yaml")
	assert.EqualError(t, err, "job.yaml:29:37: renew: 19 of self-locking nut M5 come off with the joints and only 18 are renewed; each is replaced by a new one: write count: 19 or more")
}

func TestDaysReadAsWeekdaysOrDates(t *testing.T) {
	all := [7]bool{true, true, true, true, true, true, true}
	for _, c := range []struct {
		days string
		want [7]bool // Sunday first
	}{
		{"Mon-Fri", [7]bool{false, true, true, true, true, true, false}},
		{"'Mon,Wed,Sat'", [7]bool{false, true, false, true, false, false, true}},
		{"[Monday, wed]", [7]bool{false, true, false, true, false, false, false}},
		{"Fri-Mon", [7]bool{true, true, false, false, false, true, true}},
		{"Sun", [7]bool{true}},
		{"daily", all},
		{"Mon-Sun", all},
	} {
		j := decodeOK(t, change(t, "days: Mon-Fri", "days: "+c.days))
		assert.Equal(t, c.want, j.Shifts[0].Days, c.days)
	}
	j := decodeOK(t, change(t, "days: Mon-Fri", "days: '2027-03-13, 2027-03-14'"))
	require.Len(t, j.Shifts[0].Dates, 2)
	assert.Equal(t, "2027-03-14", j.Shifts[0].Dates[1].String())
	assert.Equal(t, [7]bool{}, j.Shifts[0].Days)
}

func TestExactNameGoesBeforeJointAndMilestone(t *testing.T) {
	text := change(t, "  close: [fuel-bay door tack-free]", "  close: [door fairing, covers]")
	j := decodeOK(t, strings.Replace(text, "fly: [fuel-bay door cure, leak check]", "fly: [close, refuel, leak check]", 1))
	assert.Equal(t, []Ref{{Kind: RefAccess, ID: "door fairing", Text: "door fairing"}, {Kind: RefCovers, Text: "covers"}}, j.Gate("close").Needs)
	assert.Equal(t, RefGate, j.Gate("fly").Needs[0].Kind)
}

func TestHiddenByAndHidesAreOneThing(t *testing.T) {
	text := change(t, ", hides: [fuel-bay door]", "")
	j := decodeOK(t, strings.Replace(text, "batch: S-2207", "hidden-by: door fairing", 1))
	assert.Equal(t, []string{"door fairing"}, j.Joints[0].HiddenBy)
	assert.Equal(t, []string{"fuel-bay door"}, j.Access[0].Hides)
}

func TestPersonOutsideEveryShiftIsNotCountedOn(t *testing.T) {
	text := change(t, "crew:\n", "crew:\n  - {who: Tech 3, can: seal}\n")
	j := decodeOK(t, text)
	assert.Equal(t, []string{"Tech 3", "Tech 1"}, j.SkillHolders("seal"))
	j = decodeOK(t, strings.Replace(text, "days: Mon-Fri", "who: [Tech 1, Tech 2, Inspector], days: Mon-Fri", 1))
	assert.Equal(t, []string{"Tech 1"}, j.SkillHolders("seal"))
	assert.Contains(t, j.Assumed, "Tech 3 is in no shift and is not counted on.")
}

func TestWordsOfAnIntegerAreKeptAsWritten(t *testing.T) {
	j := decodeOK(t, change(t, "job: NF12-0417", "job: 0417"))
	assert.Equal(t, "0417", j.ID)
}

func TestLineEndsAndByteOrderMarkDoNotMatter(t *testing.T) {
	other := decodeOK(t, "\xef\xbb\xbf"+strings.ReplaceAll(whole, "\n", "\r\n"))
	plain := decodeOK(t, whole)
	other.Air[1].Swing.RH, plain.Air[1].Swing.RH = 0, 0
	assert.Equal(t, plain, other)
}

func BenchmarkDecode(b *testing.B) {
	data := []byte(whole)
	for b.Loop() {
		if _, err := Decode(data, "job.yaml"); err != nil {
			b.Fatal(err)
		}
	}
}
