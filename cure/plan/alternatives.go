package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"

	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
)

// option is one thing that could be done otherwise on a job.
type option struct {
	kind    string
	what    string
	note    string
	assumed string // what all of its kind rest on, said once
	apply   func(Input) Input
	used    func(*Plan) string // what the plan made of it, where that needs a word
}

// overtime is how much longer shifts are where overtime is compared.
const overtime = 2 * time.Hour

// warmerBy is how much warmer the hangar is, in °C, where warmth is compared.
const warmerBy = 3

// alternatives lists what is compared with the plan of a job, and what is not and why.
func alternatives(in Input, base *Plan) (out []option, not []string) {
	for k := range in.Job.Joints {
		out = append(out, classOptions(in, base, k)...)
	}
	for k := range in.Job.Joints {
		o, why := heatOption(in, base, k)
		if o != nil {
			out = append(out, *o)
		}
		if why != "" {
			not = append(not, why)
		}
	}
	for _, c := range torqueTogether(in) {
		out = append(out, option{kind: "torque", what: c.what, apply: c.apply})
	}
	for _, c := range morePeople(in) {
		out = append(out, option{kind: "people", what: c.what, apply: c.apply})
	}
	out = append(out, option{kind: "hours", what: "overtime: two hours longer on every shift", assumed: restUnchecked, apply: func(in Input) Input { return longer(in, overtime) }})
	if everyDayAlready(in.Job) {
		not = append(not, "Work at the weekend: every shift runs on all days already.")
	} else {
		out = append(out, option{kind: "hours", what: "work on every day of the week", assumed: restUnchecked, apply: everyDay})
	}
	if slices.ContainsFunc(in.Job.Air, func(a job.AirPiece) bool { return a.Swing != nil || a.Constant != nil }) {
		out = append(out, option{kind: "air", what: fmt.Sprintf("keep the hangar %d C warmer", warmerBy), apply: func(in Input) Input { return warmer(in, warmerBy) },
			assumed: "A warmer hangar lifts the air that is expected, from the end of any log on; no water is added to it."})
	} else {
		not = append(not, "A warmer hangar: all of the air is read from files, which are taken as they are.")
	}
	if o, ok := tonight(in.Job); ok {
		out = append(out, o)
	}
	return out, not
}

const restUnchecked = "Rest between shifts is not checked: see the rules on working time before changing hours."

// classOptions are the other classes of a joint: those that the job allows, then all that
// suit it.
func classOptions(in Input, base *Plan, k int) []option {
	j := &in.Job.Joints[k]
	var out []option
	for _, id := range j.Classes {
		if id == base.Chosen[j.ID] {
			continue
		}
		out = append(out, option{kind: "class", what: fmt.Sprintf("seal the %s with %s", j.ID, id), note: "the job allows it",
			apply: func(in Input) Input {
				in.Job = clone(in.Job)
				in.Job.Joints[k].Classes = []string{id}
				return in
			}})
	}
	for _, c := range otherClasses(in, base, k) {
		what, _, _ := strings.Cut(c.what, " instead of")
		out = append(out, option{kind: "class", what: what + "*", apply: c.apply})
	}
	return out
}

// heatMargin is how far under a class's ceiling heat is proposed, in °C: what a thermostat
// swings and a sensor errs, so that no spot passes the ceiling. Common practice, no
// source.
const heatMargin = 3

// heatOption proposes heat where a joint has none, or to leave it out where the plan uses
// it. Near fuel nothing is proposed without a recorded gas-free state. why says what
// stands against it.
func heatOption(in Input, base *Plan, k int) (o *option, why string) {
	j := &in.Job.Joints[k]
	without := func(why string) string { return fmt.Sprintf("Heat on the %s: %s.", j.ID, why) }
	if j.Heat != nil {
		i := slices.IndexFunc(base.Joints, func(r Joint) bool { return r.ID == j.ID })
		if i < 0 || !base.Joints[i].Heated {
			return nil, without("the job offers it, and the plan does not use it; the assumptions of the plan say why")
		}
		return &option{kind: "heat", what: fmt.Sprintf("no heat on the %s", j.ID), apply: func(in Input) Input {
			in.Job = clone(in.Job)
			in.Job.Joints[k].Heat = nil
			return in
		}}, ""
	}
	toC := math.Inf(1)
	for i := range j.Layers {
		id := j.Layers[i].Class
		if id == "" {
			id = base.Chosen[j.ID]
		}
		switch c := in.Classes[id]; {
		case c == nil:
			return nil, ""
		case c.Heat == nil:
			return nil, without(fmt.Sprintf("class %s states no accelerated cure", id))
		case c.Curves[cure.Cured] == nil || c.Curves[cure.Cured].Credit == nil:
			return nil, without(fmt.Sprintf("class %s gives no source by which warmth may shorten its cure", id))
		default:
			toC = math.Min(toC, math.Floor(c.Heat.MaxC-heatMargin))
		}
	}
	if near := j.NearFuel == nil || *j.NearFuel; near {
		said := "the job does not say that there is no fuel near"
		if j.NearFuel != nil {
			said = "it is near fuel"
		}
		return nil, without(said + ", and no gas-free state is recorded (near-fuel: false, or heat: with gas-free: recorded)")
	}
	return &option{kind: "heat", what: fmt.Sprintf("heat the %s to %g C once flashed off", j.ID, toC),
		assumed: fmt.Sprintf("Heat is set %d C under the ceiling that the class states, for what a thermostat swings, after the flash-off that it asks for. Only by approved means.", heatMargin),
		apply: func(in Input) Input {
			in.Job = clone(in.Job)
			in.Job.Joints[k].Heat = &job.Heat{ToC: toC, From: job.HeatAfterFlashOff, SetUp: 15 * time.Minute, Can: "seal", Line: j.Line}
			return in
		},
		used: func(p *Plan) string {
			i := slices.IndexFunc(p.Joints, func(r Joint) bool { return r.ID == j.ID })
			if i >= 0 && !p.Joints[i].Heated {
				return "no use: the plan leaves the heat off"
			}
			return ""
		}}, ""
}

func everyDayAlready(j *job.Job) bool {
	for i := range j.Shifts {
		s := &j.Shifts[i]
		if len(s.Dates) == 0 && s.Days != [7]bool{true, true, true, true, true, true, true} {
			return false
		}
	}
	return true
}

// The hours of the evening that a start tonight adds.
const (
	eveningFrom = 18
	eveningTo   = 23
)

// tonight begins the job on the evening before a start in the morning, or adds that evening
// to a start in the afternoon, with everyone there.
func tonight(j *job.Job) (option, bool) {
	start := j.Start.In(j.Zone)
	y, m, d := start.Date()
	if start.Hour() < 12 {
		d--
	}
	from := time.Date(y, m, d, eveningFrom, 0, 0, 0, j.Zone)
	to := time.Date(y, m, d, eveningTo, 0, 0, 0, j.Zone)
	if start.Hour() >= 12 && !start.Before(to) {
		return option{}, false
	}
	return option{kind: "start", what: "start tonight: everyone works " + from.Format("Mon 2 Jan") + fmt.Sprintf(" %d:00-%d:00 too", eveningFrom, eveningTo),
		assumed: "Starting tonight means one more shift for everyone on the evening before the job's start, or on that day if it starts after noon; the structure is then taken as warm as the job says of its start. " + restUnchecked,
		apply: func(in Input) Input {
			in.Job = clone(in.Job)
			if from.Before(in.Job.Start) {
				in.Job.Start = from
			}
			in.Job.Shifts = append(in.Job.Shifts, job.Shift{Dates: []date.Date{date.NewAt(from)},
				From: clock.New(eveningFrom, 0, 0, 0), To: clock.New(eveningTo, 0, 0, 0)})
			return in
		}}, true
}
