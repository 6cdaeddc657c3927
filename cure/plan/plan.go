// Package plan turns a job into a plan: when to mix, torque, close and fly, who
// does what when, in how many pots, and what holds it up.
//
// It lays the job out as tasks, people and lags (build.go, sitting.go, pots.go,
// portion.go, cured.go, closing.go, hours.go), with the lags that cure and pot life make
// taken from the air history (lines.go), lets package solve find an early schedule, and
// reads the answer back in the words of the trade (answer.go, read.go, assume.go,
// why.go). It has every plan checked by package verify (proof.go). A wish that cannot
// be met is explained, and what would meet it is planned, not guessed (fixes.go).
//
// A plan is an aid. It says "earliest", never that an aircraft is fit to fly.
package plan

import (
	"errors"
	"fmt"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
)

// Input is everything a plan rests on.
type Input struct {
	Job     *job.Job
	Classes map[string]*cure.Class // by id: all that the job names
	Others  []*cure.Class          // that may be proposed instead
	Logs    map[string][]cure.Sample

	Steps int         // schedules tried at most; 0: solve.DefaultSteps
	Stop  func() bool // ends the search with the best so far
	Brief bool        // no latest times, no bound and no fixes: the ready time only

	within time.Duration // only plans ready within this are of interest; 0: any
	exists bool          // any plan at all will do
	lean   bool          // no latest times
	memory *memory       // of lines worked out before; nil: none
	below  int           // only plans ready before this tick are of interest; 0: any
}

// horizons are tried in turn: a short history is quick, a cold hangar needs a long
// one.
var horizons = []time.Duration{14 * 24 * time.Hour, 45 * 24 * time.Hour, 120 * 24 * time.Hour}

// Make plans a job. An error is bad input: a class without a curve that the job
// needs, air that does not reach. A job that cannot be done is not an error: see
// Plan.Infeasible.
func Make(in Input) (*Plan, error) {
	in = in.remember()
	best, err := makeOnce(in)
	if err != nil {
		return nil, err
	}
	if best.Found {
		if f := best.Faults(in); len(f) > 0 {
			return nil, &FaultError{f}
		}
	}
	j := in.Job
	late := best.Found && !j.ReadyBy.IsZero() && best.Ready.After(j.ReadyBy)
	if late {
		best.Infeasible = tooLate(best)
	}
	if best.Infeasible != nil {
		best.explain(in)
	}
	if best.Infeasible != nil && !in.Brief {
		best.Infeasible.Changes = best.nearest(in)
		best.Infeasible.Fixes = fixes(in, best)
	}
	return best, nil
}

// makeOnce plans the job without regard to ready-by, over every choice it leaves.
func makeOnce(in Input) (*Plan, error) {
	if in.Job == nil || len(in.Job.Joints) == 0 {
		return nil, errors.New("the job has no joints")
	}
	if in.within > 0 {
		p, _, err := within(in, in.within)
		return p, err
	}
	var none *Plan
	for i, h := range horizons {
		p, beyond, err := within(in, h)
		if err != nil {
			return nil, err
		}
		if p.Found || !beyond || i+1 == len(horizons) {
			return p, nil
		}
		none = p
	}
	return none, nil
}

// within plans inside one horizon. beyond says that a longer one may help.
func within(in Input, h time.Duration) (plan *Plan, beyond bool, err error) {
	air, err := History(in.Job, in.Logs, in.Job.Start.Add(h))
	if err != nil {
		return nil, false, err
	}
	vs, err := variants(in)
	if err != nil {
		return nil, false, err
	}
	var best *built
	var failed []*built
	feels := in.feels(h)
	for _, v := range vs {
		b, err := build(in, v, air, h, feels)
		if err != nil {
			return nil, false, err
		}
		b.solve(in)
		switch {
		case b.answer.Schedule == nil:
			failed = append(failed, b)
			beyond = beyond || b.beyond
		case best == nil || b.better(best):
			best = b
		}
	}
	if best == nil {
		return unplanned(failed), beyond, nil
	}
	best = best.divideMore(in)
	p := best.read(in)
	if in.Brief {
		return p, false, nil
	}
	bound, err := bound(in, vs, best)
	if err != nil {
		return nil, false, err
	}
	p.Bound = best.at(min(bound, best.answer.Ready))
	p.Proven = bound >= best.answer.Ready
	return p, false, nil
}

// bound is an instant before which no plan is ready, whichever way is chosen and
// however many of the pots that a plan may have are made: each way with its pots as
// small as they can be, and no wait for a person. The smaller the pots, the sooner
// each of them is done.
func bound(in Input, vs []variant, best *built) (int, error) {
	least := solve.Never
	for _, v := range vs {
		b, err := build(in, v.smallest(), best.air, time.Duration(best.m.Horizon)*tick, best.feels)
		if err != nil {
			return 0, err
		}
		if t, ok := solve.Bound(&b.m); ok {
			least = min(least, t)
		}
	}
	return least, nil
}

// smallest is the way with every layer in as many pots as a plan may give it.
func (v variant) smallest() variant {
	v.finest = true
	return v
}

// variant is one way through the choices a job leaves.
type variant struct {
	class map[string]string // joint → class id
	heat  map[string]bool   // joint → heated
	extra map[string]int    // pot group → pots beyond the fewest

	chosen bool // the job leaves a choice of classes
	finest bool // every group in as many pots as it may have, for the bound
}

// maxVariants bounds how many ways are planned in full.
const maxVariants = 64

// variants lists the ways: each joint's classes, with and without its heat.
func variants(in Input) ([]variant, error) {
	out := []variant{{class: map[string]string{}, heat: map[string]bool{}, extra: map[string]int{}}}
	for k := range in.Job.Joints {
		j := &in.Job.Joints[k]
		var next []variant
		for _, v := range out {
			classes := j.Classes
			if len(classes) == 0 {
				classes = []string{""}
			}
			for _, c := range classes {
				w := v.with(j.ID, c, false)
				w.chosen = v.chosen || len(classes) > 1
				next = append(next, w)
				if j.Heat != nil {
					w = w.with(j.ID, c, true)
					w.chosen = v.chosen || len(classes) > 1
					next = append(next, w)
				}
			}
		}
		out = next
		if len(out) > maxVariants {
			return nil, fmt.Errorf("%s:%d: the joints leave more than %d ways to combine classes and heat: name fewer classes", in.Job.File, j.Line, maxVariants)
		}
	}
	return out, nil
}

func (v variant) with(joint, class string, heat bool) variant {
	w := variant{class: map[string]string{}, heat: map[string]bool{}, extra: map[string]int{}}
	for k, c := range v.class {
		w.class[k] = c
	}
	for k, h := range v.heat {
		w.heat[k] = h
	}
	for k, n := range v.extra {
		w.extra[k] = n
	}
	w.class[joint], w.heat[joint], w.chosen = class, heat, v.chosen
	return w
}

func (v variant) more(pot string) variant {
	w := v.with("", "", false)
	delete(w.class, "")
	delete(w.heat, "")
	w.extra[pot]++
	return w
}

// better compares two solved ways: ready first, then fewer pots.
func (b *built) better(o *built) bool {
	if b.answer.Ready != o.answer.Ready {
		return b.answer.Ready < o.answer.Ready
	}
	return len(b.pots) < len(o.pots)
}

// divideMore tries one pot more for each group that may be divided: smaller pots
// can fit before a break where a big one cannot.
func (b *built) divideMore(in Input) *built {
	best := b
	for _, g := range b.groups {
		if g.whole || g.n >= g.most || in.Brief {
			continue
		}
		more, err := build(in, b.v.more(g.id), b.air, time.Duration(b.m.Horizon)*tick, b.feels)
		if err != nil {
			continue
		}
		in.below = best.answer.Ready // with more pots, only what is sooner is better
		more.solve(in)
		if more.answer.Schedule != nil && more.better(best) {
			best = more
		}
	}
	return best
}

// History lays the job's air out from its start to until. Logs holds the readings
// of each file that the job names.
func History(j *job.Job, logs map[string][]cure.Sample, until time.Time) (*cure.History, error) {
	var pieces []cure.Piece
	for _, a := range j.Air {
		p := cure.Piece{Margin: j.AirMargin, Forecast: true}
		switch {
		case a.Log != "":
			p.Name, p.Samples, p.Forecast = "log "+a.Log, logs[a.Log], false
		case a.Forecast != "":
			p.Name, p.Samples = "forecast "+a.Forecast, logs[a.Forecast]
		case a.Swing != nil:
			w := a.Swing
			noon := w.Warmest.DurationSinceMidnight()
			p.Name = fmt.Sprintf("the swing %g to %g C", w.LowC, w.HighC)
			p.Swing = &cure.Swing{LowC: w.LowC, HighC: w.HighC, Warmest: noon, DewC: w.DewC, RH: w.RH, Zone: j.Zone}
		default:
			p.Name, p.Constant = fmt.Sprintf("constant %g C", a.Constant.TempC), a.Constant
		}
		pieces = append(pieces, p)
	}
	h, err := cure.NewHistory(pieces, j.Start, until)
	if err != nil {
		return nil, fmt.Errorf("%s: air: %w; name air that covers the job from its start, %s", j.File, err, stamp(j.Start, j.Zone))
	}
	return h, nil
}
