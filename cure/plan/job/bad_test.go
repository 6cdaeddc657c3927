package job

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bad are slips in the whole job, with the one line each is answered by.
var bad = []struct {
	name, old, new string
	want           string // begins the message
}{
	// Keys.
	{"misspelt top key", "zone: Atlantic/Faroe", "zonne: Atlantic/Faroe", `3:1: the job: there is no key "zonne" here; the nearest is "zone"`},
	{"misspelt key in a layer", "thickness: 0.25mm", "thicknes: 0.25mm", `19:45: bead of layer 1 of fuel-bay door: there is no key "thicknes" here; the nearest is "thickness"`},
	{"key like none", "batch: S-2207", "xyzzy: S-2207", `25:5: fuel-bay door: there is no key "xyzzy" here; the keys are id, class, classes, layers`},
	{"missing top key", "zone: Atlantic/Faroe\n", "", `1:1: the job: "zone" is missing; add it here, like zone: Atlantic/Faroe`},
	{"missing key in a layer", "seal: overcoat, ", "", `20:9: layer 2 of fuel-bay door: "seal" is missing; add it here, like seal: fillet`},
	{"missing ready", "ready: fly", "", `1:1: the job: "ready" is missing`},
	{"missing shifts", "shifts: [{days: Mon-Fri, from: \"07:00\", to: \"15:30\", breaks: [\"11:30-12:00\"]}]", "", `1:1: the job: "shifts" is missing; add it here, like shifts: [{days: Mon-Fri`},
	{"key given twice", "title: Fuel", "job: two\ntitle: Fuel", `2:1: the job: "job" is given twice, first in line 1; keep one`},
	{"gate given twice", "  refuel: [", "  close: [", `33:3: gates: "close" is given twice, first in line 32`},
	{"key without a value", "batch: S-2207", "batch:", `25:5: fuel-bay door: batch has no value; write one, or take the key out`},
	{"list for a value", "batch: S-2207", "batch: [S-2207]", `25:12: fuel-bay door: batch is a single value`},
	{"value for a list", "covers: [intake blank, tank vent plug]", "covers: intake blank", `28:9: the job: covers is a list; write it like [intake blank`},
	{"value for a section", "part: {at: -4C, warms-in: PT3H}", "part: -4C", `9:7: part: keys and values are wanted here; write it like {at: …}`},

	// YAML itself.
	{"anchor", "id: fuel-bay door", "id: &d fuel-bay door", `16:9: anchors (&), aliases (*) and merges (<<) are not read in a job; write the value out`},
	{"alias", "batch: S-2207", "batch: *d", `25:12: anchors (&), aliases`},
	{"tag", "batch: S-2207", "batch: !!str 5", `25:12: YAML tags (!) are not read in a job`},
	{"tab", "    batch: S-2207", "\tbatch: S-2207", `25:1: a tab is used to indent; use spaces`},
	{"open bracket", "refuel: [fuel-bay door cure]", "refuel: [fuel-bay door cure", `34:3: not readable as YAML: ',' or ']' must be specified; check`},
	{"second document", "title: Fuel", "---\ntitle: Fuel", `2:1: a second document begins here; keep one job in a file`},
	{"not UTF-8", "S-2207", "S-\xff2207", `25:14: the file is not UTF-8 text here; save it as UTF-8`},

	// Quantities.
	{"temperature without unit", "low: 9C", "low: 9", `8:18: swing: low: "9": a temperature needs its unit: write it like 18C or 65F`},
	{"span without unit", "spread: 12min", "spread: 12", `19:73: layer 1 of fuel-bay door: spread: "12": a span of time needs its unit`},
	{"negative span", "spread: 12min", "spread: -12min", `19:73: layer 1 of fuel-bay door: spread: "-12min": a span of time cannot be negative`},
	{"no span at all", "each: 90s", "each: 0s", `21:34: fasteners of fuel-bay door: each: "0s": shorter than 1 s`},
	{"area without unit", "area: 600cm2", "area: 600", `19:37: bead of layer 1 of fuel-bay door: area: "600": an area needs its unit`},
	{"no thickness", "thickness: 0.25mm", "thickness: 0mm", `19:56: bead of layer 1 of fuel-bay door: thickness: "0mm": must be more than zero`},
	{"torque without unit", `value: "6.2 Nm"`, `value: 6.2`, `21:70: fasteners of fuel-bay door: value: "6.2": a torque needs its unit`},
	{"task over 30 days", "takes: PT25M", "takes: 31 days", `27:32: door fairing: takes: "31 days": longer than 30 days`},
	{"temperature beyond sense", "to: 20C", "to: 200C", `23:16: warm of fuel-bay door: to: "200C": outside -60C to 120C`},
	{"too many fasteners", "count: 24, each", "count: 10001, each", `21:24: fasteners of fuel-bay door: count: "10001": outside 1 to 10000`},
	{"far too many fasteners", "count: 24, each", "count: 99999999999999999999, each", `21:24: fasteners of fuel-bay door: count: "99999999999999999999": outside 1 to 10000`},
	{"part of a fastener", "count: 24, each", "count: 2.5, each", `21:24: fasteners of fuel-bay door: count: "2.5": not a whole number`},
	{"nobody at a panel", "crew: 2, hides", "crew: 0, hides", `27:45: door fairing: crew: "0": outside 1 to 20`},
	{"margin below zero", "part: {at", "air-margin: -2C\npart: {at", `9:13: the job: air-margin: "-2C": outside 0C to 60C`},
	{"humidity above all", "dew-point: 6C", "rh: 140%", `8:55: swing: rh: "140%": a relative humidity lies between 0% and 100%`},
	{"waste above all", "part: {at", "mixing: {waste: 100%}\npart: {at", `9:17: mixing: waste: "100%": waste lies between 0% and 90% of a mix`},

	// Time.
	{"no such zone", "zone: Atlantic/Faroe", "zone: Atlantic/Farroe", `3:7: the job: zone: "Atlantic/Farroe": no such time zone; write an IANA name such as Atlantic/Faroe`},
	{"this computer's zone", "zone: Atlantic/Faroe", "zone: Local", `3:7: the job: zone: "Local": a job needs a zone that is the same on every computer`},
	{"time that does not exist that night", "start: 2027-03-08T07:00\nready-by: 2027-03-10T12:00 ", "start: 2027-03-28T01:30 ",
		`4:8: the job: start: "2027-03-28T01:30": this time does not exist in Atlantic/Faroe: the clocks go from 01:00 to 02:00; write 2027-03-28T02:00 or a time that exists`},
	{"30 February", "start: 2027-03-08T07:00", "start: 2027-02-30T07:00", `4:8: the job: start: "2027-02-30": no such date`},
	{"25:61", "start: 2027-03-08T07:00", "start: 2027-03-08T25:61", `4:8: the job: start: "25:61": no clock shows that`},
	{"time with an offset", "start: 2027-03-08T07:00", "start: 2027-03-08T07:00Z", `4:8: the job: start: "2027-03-08T07:00Z": times are local to zone:; leave Z away`},
	{"ready before start", "ready-by: 2027-03-10T12:00", "ready-by: 2027-03-08T07:00", `5:1: ready-by is not after start`},
	{"shift clock 25:61", `from: "07:00"`, `from: "25:61"`, `14:32: shift 1: from: "25:61": no clock shows that`},
	{"shift in 12-hour clock", `from: "07:00"`, `from: "7am"`, `14:32: shift 1: from: "7am": not a time of day; write it like "07:00"`},
	{"shift of no length", `to: "15:30"`, `to: "07:00"`, `14:41: shift 1: from and to are the same, so the shift has no length`},
	{"break outside the shift", `"11:30-12:00"`, `"15:00-16:00"`, `14:63: shift 1: the break 15:00-16:00 is not inside the shift 07:00-15:30`},
	{"break before the shift", `"11:30-12:00"`, `"06:30-07:00"`, `14:63: shift 1: the break 06:30-07:00 is not inside the shift`},
	{"break backwards", `"11:30-12:00"`, `"12:00-11:30"`, `14:63: shift 1: the break 12:00-11:30 is not inside the shift`},
	{"breaks over each other", `"11:30-12:00"`, `"11:30-12:00", "11:45-12:15"`, `14:78: shift 1: the break 11:45-12:15 overlaps another`},
	{"no such weekday", "days: Mon-Fri", "days: Mon-Fry", `14:17: shift 1: days: "Fry": no such day; write Mon-Fri`},
	{"weekdays and dates", "days: Mon-Fri", "days: [Mon, 2027-03-13]", `14:11: shift 1: weekdays and dates are mixed`},
	{"away backwards", "can: [inspect]}", "can: [inspect], away: [{from: 2027-03-09T12:00, to: 2027-03-09T11:00}]}", `13:70: away of person 3 of the crew: to is not after from`},

	{"breaks that take the shift", `["11:30-12:00"]`, `["07:00-12:00", "12:00-15:30"]`, `14:78: shift 1: the breaks take the whole shift 07:00-15:30; shorten them`},
	{"shifts of last week", "days: Mon-Fri", "days: [2027-02-26, 2027-03-01]", `14:1: nobody is at work in the 120 days from the start, 8 March 2027: the last day of the shifts is 1 March 2027; give them later days, or start earlier`},
	{"shifts of next year", "days: Mon-Fri", "days: [2028-03-01]", `14:1: nobody is at work in the 120 days from the start, 8 March 2027: the first day of the shifts is 1 March 2028; give them earlier days`},
	{"inspector away", "can: [inspect]}", "can: [inspect], away: [{from: 2027-03-01T00:00, to: 2027-12-01T00:00}]}",
		`22:31: preparation step 2 of fuel-bay door: nobody at work can inspect: Inspector, who can, is never at work in the 120 days from the start; shorten away:`},

	// Air and people.
	{"two airs in an entry", "- log: hangar-march.csv ", "- {log: a.csv, forecast: b.csv} ", `7:5: air piece 1: exactly one of log, forecast, swing, constant is wanted`},
	{"air after a swing", "part: {at", "  - log: next.csv\npart: {at", `9:5: air: nothing can follow a swing or constant air`},
	{"log after a forecast", "  - log: hangar-march.csv ", "  - forecast: f.csv\n  - log: hangar-march.csv ", `8:5: air: a measured log cannot follow a forecast`},
	{"night warmer than day", "low: 9C", "low: 19C", `8:13: swing: low is above high; swap them`},
	{"dew-point above the night", "dew-point: 6C", "dew-point: 11C", `8:51: swing: the dew-point is above low`},
	{"no moisture", ", dew-point: 6C", "", `8:12: swing: the moisture of the air is missing; add dew-point: 6C or rh: 45%`},
	{"two people of one name", "who: Tech 2", "who: Tech 1", `12:6: crew: "Tech 1" is there twice`},
	{"shift for a stranger", "days: Mon-Fri", "who: Tech 3, days: Mon-Fri", `14:16: shift 1: who: there is no "Tech 3" in the crew; did you mean Tech 1 or Tech 2?`},
	{"nobody with the skill", "torque: wet, passes", "torque: wet, can: rivet, passes", `21:16: fasteners of fuel-bay door: nobody can rivet; add it to someone's can:`},
	{"misspelt skill", "can: [inspect]}", "can: [inspct]}", `22:31: preparation step 2 of fuel-bay door: nobody can inspect, the nearest in the crew is inspct; correct one`},
	{"two needed, one there", "can: [torque, panel]}", "can: [torque]}", `27:5: door fairing: it needs 2 people who can panel and there is 1 on shift`},
	{"skill off shift", "days: Mon-Fri", "who: [Tech 1, Tech 2], days: Mon-Fri", `22:31: preparation step 2 of fuel-bay door: nobody on shift can inspect; put a person who can into a shift's who:`},

	// Joints.
	{"no seal type", "seal: overcoat", "seal: overcote", `20:16: layer 2 of fuel-bay door: seal: "overcote" is not known here; did you mean overcoat?`},
	{"no class anywhere", "    class: polysulfide-b-2 ", "    ", `19:9: layer 1 of fuel-bay door: no sealant class is named; add class: here or to the joint`},
	{"class and classes", "batch: S-2207", "classes: [a, b]", `25:5: fuel-bay door: class and classes are both given`},
	{"layer without a time", ", each: 40s", "", `20:9: layer 2 of fuel-bay door: how long the laying takes is missing; add spread: 12min`},
	{"layer with two times", ", each: 40s", ", each: 40s, spread: 5min", `20:57: layer 2 of fuel-bay door: spread and each are both given`},
	{"first layer waits", "{seal: faying, ", "{seal: faying, after: cure, ", `19:24: layer 1 of fuel-bay door: the first layer has no layer before it to wait for`},
	{"within of nothing", "after: tack-free, within", "within", `20:26: layer 2 of fuel-bay door: within needs the milestone it counts from; add after: tack-free`},
	{"within less than the laying", "within: 24h", "within: 5min", `20:44: layer 2 of fuel-bay door: within 5 min is shorter than the laying takes, 16 min by 1 who can seal; allow longer`},
	{"waiting for a pot life", "after: tack-free, within", "after: application, within", `20:33: layer 2 of fuel-bay door: after: "application": work is done before that line`},
	{"late torque on a film", "torque: wet", "torque: after-tack-free", `21:5: fasteners of fuel-bay door: torque after tack-free breaks the film of layer 1 (faying)`},
	// Trade facts: common practice, no source.
	{"wet torque on a fillet", "{seal: faying, ", "{seal: fillet, ", `21:5: fasteners of fuel-bay door: torque wet needs sealant under the fasteners, and no faying or wet-install layer is laid in the first sitting; put such a layer first`},
	{"wet torque before the film", "{seal: faying, ", "{seal: fillet, spread: 5min}\n      - {seal: faying, after: cure, ", `22:5: fasteners of fuel-bay door: torque wet needs sealant under the fasteners`},
	{"wet-install as a whole", "{seal: faying, ", "{seal: wet-install, ", `19:70: layer 1 of fuel-bay door: wet-install is laid fastener by fastener, not as a whole; write each: 40s`},
	{"studs and bolts", "count: 24, each", "count: 24, studs: 10, bolts: 9, each", `21:17: fasteners of fuel-bay door: 10 studs and 9 bolts make 19, not 24`},
	{"pot shared across a wait", "each: 40s}", "each: 40s, mix: A}\n      - {seal: fillet, after: tack-free, spread: 5min, mix: A}", `21:9: layer 3 of fuel-bay door: it shares mix "A" with layer 2, but layer 3 waits for tack-free and the pot would be dead`},
	{"two classes in a pot", "each: 40s}", "each: 40s, mix: A}\n      - {seal: fillet, class: other, spread: 5min, mix: A}", `21:9: layer 3 of fuel-bay door: mix "A" is polysulfide-b-2 in layer 2 of fuel-bay door and other here`},
	{"two steps in one", "{strip: 30min}", "{strip: 30min, clean: 5min}", `22:15: preparation step 1 of fuel-bay door: exactly one of strip, inspect, clean, promoter, mask is wanted`},
	{"promoter gone before it is dry", "within: 8h}", "within: 20min}", `22:120: promoter of fuel-bay door: within is not longer than dry`},
	{"heat near fuel", ", gas-free: recorded", "", `24:11: heat of fuel-bay door: no heat near fuel without a recorded gas-free state; add gas-free: recorded`},

	{"faying without fasteners", fastenersLine, "", `19:9: layer 1 of fuel-bay door: a faying film is closed by fasteners and the joint has none; add fasteners:`},
	{"wet-install without fasteners", "{seal: faying, ", "{seal: wet-install, ", `19:9: layer 1 of fuel-bay door: wet-install is done fastener by fastener and the joint has none`},
	{"each without fasteners", "{seal: faying, ", "{seal: fillet, ", `20:57: layer 2 of fuel-bay door: each is the time for one fastener and the joint has none`},
	{"late torque on no gasket", "{seal: faying, ", "{seal: injection, ", `21:5: fasteners of fuel-bay door: torque after tack-free belongs to formed-in-place gaskets and the joint has none`},
	{"class twice", "class: polysulfide-b-2 ", "classes: [a, a] ", `17:18: fuel-bay door: classes: "a" is there twice`},
	{"no classes", "class: polysulfide-b-2 ", "classes: [] ", `17:5: fuel-bay door: classes is empty`},
	{"seal-within of the wrong step", "{strip: 30min}", "{strip: 30min, seal-within: 4h}", `22:30: preparation step 1 of fuel-bay door: seal-within goes with clean`},
	{"no such torque time", "torque: wet", "torque: dry", `21:47: fasteners of fuel-bay door: torque: "dry" is not known here; write one of wet, after-tack-free, after-cure`},
	{"negative torque", `"6.2 Nm"`, `"-6.2 Nm"`, `21:70: fasteners of fuel-bay door: value: "-6.2 Nm": a torque cannot be negative`},
	{"neither yes nor no", "batch: S-2207", "near-fuel: maybe", `25:16: fuel-bay door: near-fuel: "maybe": write true or false`},
	{"empty name", "batch: S-2207", "batch: ''", `25:12: fuel-bay door: batch: it is empty; write a name`},
	{"name of two lines", "batch: S-2207", "batch: \"S\\n2207\"", `25:12: fuel-bay door: batch: it holds a line break`},
	{"break in words", `"11:30-12:00"`, `noon`, `14:63: shift 1: breaks: "noon": not a break; write it like "11:30-12:00"`},
	{"break of no length", `"11:30-12:00"`, `"11:30-11:30"`, `14:63: shift 1: breaks: "11:30-11:30": the break has no length`},

	// The way back.
	{"renewed twice", "count: 24}]", "count: 20}, {item: self-locking nut M5, count: 4}]", `29:50: renew: "self-locking nut M5" is there twice, first in line 29; add the counts up`},
	{"hidden for good", "hides: [fuel-bay door]}", "hides: [fuel-bay door], stays-off: true}", `27:56: fuel-bay door is hidden by door fairing, which is never put back`},
	{"hides no joint", "hides: [fuel-bay door]}", "hides: [fuel-bay dor]}", `27:56: door fairing: hides: there is no joint "fuel-bay dor"; did you mean fuel-bay door?`},
	{"hidden by nothing known", "batch: S-2207", "hidden-by: fairing", `25:16: fuel-bay door: hidden-by: no access item is called "fairing"; did you mean door fairing?`},
	{"cover twice", "[intake blank, tank vent plug]", "[intake blank, intake blank]", `28:24: covers: "intake blank" is there twice`},
	{"name twice", "id: leak check", "id: door fairing", `30:11: check: the name "door fairing" is used already by the access item in line 27`},
	{"name for all covers", "id: leak check", "id: covers", `30:11: check: "covers" stands for all covers together`},
	{"name like a milestone", "checks: [{id: leak check", "checks: [{id: fuel-bay door cure", `30:11: check: the name "fuel-bay door cure" reads as a milestone of the joint fuel-bay door`},
	{"check after nothing", "after: fuel-bay door cure, ", "", `30:10: leak check: "after" is missing`},
	{"unknown reference", "fly: [fuel-bay door cure, leak check]", "fly: [fuel-bay door cure, leek check]", `34:29: gates: fly: "leek check" is neither a joint's milestone, a check, an access item nor a gate; did you mean leak check?`},
	{"unknown milestone", "close: [fuel-bay door tack-free]", "close: [fuel-bay door tackfree]", `32:11: gates: close: "tackfree" is no milestone of fuel-bay door; did you mean tack-free?`},
	{"joint without milestone", "close: [fuel-bay door tack-free]", "close: fuel-bay door", `32:10: gates: close: "fuel-bay door" is a joint; say what of it is waited for`},
	{"gate that waits for nothing", "close: [fuel-bay door tack-free]", "close: []", `32:3: gates: close waits for nothing`},
	{"ready at no gate", "ready: fly", "ready: flight", `35:1: ready: there is no gate "flight"; `},
	{"cycle", "after: fuel-bay door cure, ", "after: fly, ", `30:11: these wait for each other: leak check → fly → leak check; take one of them out`},
	{"waiting for itself", "after: fuel-bay door cure, ", "after: leak check, ", `30:11: leak check waits for itself`},
	{"joint waits for what hides it", "batch: S-2207", "after: door fairing", `16:5: these wait for each other: fuel-bay door → door fairing → fuel-bay door`},
}

// fastenersLine is the line of the whole job that some slips leave out.
const fastenersLine = `    fasteners: {count: 24, each: 90s, torque: wet, passes: 2, value: "6.2 Nm", reference: "work order item"}   # values are recorded, never calculated`

func TestBadJobGetsOneLineWithPlaceAndRemedy(t *testing.T) {
	for _, c := range bad {
		t.Run(c.name, func(t *testing.T) {
			text := change(t, c.old, c.new)
			if strings.HasSuffix(c.name, "without fasteners") {
				text = strings.Replace(text, fastenersLine, "", 1)
			}
			if strings.HasPrefix(c.name, "late torque on no") {
				text = strings.Replace(text, "torque: wet", "torque: after-tack-free", 1)
			}
			j, err := Decode([]byte(text), "job.yaml")
			require.Error(t, err)
			assert.Nil(t, j)
			first, _, _ := strings.Cut(err.Error(), "\n")
			assert.True(t, strings.HasPrefix(err.Error(), "job.yaml:"+c.want), "got  %s\nwant job.yaml:%s", first, c.want)
			assert.Equal(t, first, err.Error(), "one slip, one line")
			assert.Regexp(t, "; |: write ", first, "no remedy")
			var ps Problems
			require.True(t, errors.As(err, &ps))
		})
	}
}

const gone = ", away: [{from: 2027-03-01T00:00, to: 2027-12-01T00:00}]}"

func TestAJobThatNobodyIsThereForIsRefused(t *testing.T) {
	text := strings.NewReplacer("panel]}", "panel]"+gone, "[inspect]}\n", "[inspect]"+gone+"\n").Replace(whole)
	_, err := Decode([]byte(text), "job.yaml")
	assert.EqualError(t, err, "job.yaml:14:1: nobody is at work in the 120 days from the start, 8 March 2027: Tech 1, Tech 2, Inspector are away all that time; shorten away:, or add a person to the crew")
}

// One shift that is over, or one person who is away, is no mistake where others are there.
func TestWhoIsNeverAtWorkIsNotCountedOn(t *testing.T) {
	text := strings.Replace(whole, "shifts: [", "shifts: [{days: [2027-03-01], from: \"07:00\", to: \"15:00\"}, ", 1)
	text = strings.Replace(text, "can: [torque, panel]}", "can: [torque, panel]}\n  - {who: Temp, can: [torque]"+gone, 1)
	j, err := Decode([]byte(text), "job.yaml")
	require.NoError(t, err)
	assert.Contains(t, j.Assumed, "Shift 1 has no day in the 120 days from the start and is not counted on.")
	assert.Contains(t, j.Assumed, "Temp is never at work in the 120 days from the start and is not counted on.")
}

// A night shift of the day before the start still runs when the job starts.
func TestTheNightShiftBeforeTheStartCounts(t *testing.T) {
	text := strings.Replace(whole, `{days: Mon-Fri, from: "07:00", to: "15:30", breaks: ["11:30-12:00"]}`, `{days: [2027-03-07], from: "22:00", to: "10:00"}`, 1)
	_, err := Decode([]byte(text), "job.yaml")
	assert.NoError(t, err)
}

// No plan holds a job of thousands of tasks.
func TestAJobOfTooManyTasksIsRefused(t *testing.T) {
	checks := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "  - {id: check %d, after: fuel-bay door cure, takes: 1min}\n", i)
		}
		return strings.Replace(whole, "checks: [{id: leak check, after: fuel-bay door cure, takes: PT45M, can: inspect}]", "checks:\n  - {id: leak check, after: fuel-bay door cure, takes: PT45M}\n"+b.String(), 1)
	}
	_, err := Decode([]byte(checks(400)), "job.yaml")
	require.NoError(t, err)
	_, err = Decode([]byte(checks(9990)), "job.yaml")
	require.Error(t, err)
	assert.Regexp(t, `^job\.yaml:1:1: the job has \d+ tasks, more than 500; split it into several jobs$`, err.Error())
}
