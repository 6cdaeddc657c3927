package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/cure/plan/verify"
)

// Faults lays the plan open to the independent checker and returns what it finds:
// nothing, for a plan that may be shown. Only a plan that was found can be checked.
func (p *Plan) Faults(in Input) []verify.Fault {
	j := *p.Job
	if p.Ready.After(j.ReadyBy) {
		j.ReadyBy = time.Time{} // the plan says itself that the wish is not met
	}
	v := verify.Plan{Job: &j, Classes: in.Classes, Chosen: p.Chosen, Air: p.Air, Ready: p.Ready}
	for _, t := range p.Tasks {
		v.Tasks = append(v.Tasks, verify.Task{Kind: verify.Kind(t.Kind), Joint: t.Joint, Layer: t.Layer, Index: t.Index,
			Mix: t.Mix, Units: t.Units, Ref: t.Ref, Who: t.Who, Start: t.Start, End: t.End})
	}
	for _, j := range p.Joints {
		for _, l := range j.Lines {
			v.Lines = append(v.Lines, verify.Line{Joint: j.ID, Milestone: l.Milestone, At: l.At, ByWitness: l.ByWitness, Heated: j.Heated})
		}
		v.Rows = append(v.Rows, p.printed(j))
	}
	for _, g := range p.Gates {
		v.Gates = append(v.Gates, verify.Gate{ID: g.ID, At: g.From, ByWitness: g.ByWitness})
	}
	return v.Check()
}

// printed is what the table says of a joint and its pots.
func (p *Plan) printed(j Joint) verify.Row {
	r := verify.Row{Joint: j.ID, MixBy: j.MixBy, TorqueTo: j.TorqueTo, CloseFrom: j.CloseFrom, FlyFrom: j.FlyFrom, FlyNeeds: j.FlyNeeds, ByWitness: j.ByWitness}
	for _, m := range p.Mixes {
		if slices.Contains(m.Joints, j.ID) {
			r.Pots = append(r.Pots, verify.PotRow{Mix: m.ID, At: m.At, DoneBy: m.DoneBy})
		}
	}
	return r
}

// FaultError is a plan that the checker refused: a mistake of this program, never of
// the job. The plan is not shown.
type FaultError struct{ Faults []verify.Fault }

// Error implements error.
func (e *FaultError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "the plan was found but breaks %d of its own rules, so it is not shown; this is a fault of the program:", len(e.Faults))
	for _, f := range e.Faults {
		fmt.Fprintf(&b, " [%s] %s;", f.Rule, f.Text)
	}
	return strings.TrimSuffix(b.String(), ";")
}
