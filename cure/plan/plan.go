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

	Steps int            // conflicts the search may meet at most; 0: no limit
	Stop  func() bool    // asked now and then; true ends the search with the best so far
	Tell  func(Progress) // told of every better plan and bound while the search runs
	Brief bool           // no latest times and no fixes: the ready time only
	Late  bool           // pots as late as the ready time lets them; else the work early, and each pot just before it

	within time.Duration // only plans ready within this are of interest; 0: any
	exists bool          // any plan at all will do
	lean   bool          // no latest times
	memory *memory       // of lines worked out before; nil: none
	below  int           // only plans ready before this tick are of interest; 0: any
}

// Progress is how far the search for a plan has come.
type Progress struct {
	Found bool
	Ready time.Time // of the best plan so far
	Bound time.Time // no plan is ready before this
	Tries int       // conflicts met
}

// tell passes on what the search tells, in the job's time.
func (in Input) tell(b *built) func(solve.Progress) {
	if in.Tell == nil {
		return nil
	}
	return func(p solve.Progress) {
		in.Tell(Progress{p.Found, b.at(p.Ready), b.at(p.Bound), p.Tries})
	}
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
	lists, err := waysOf(in.Job)
	if err != nil {
		return nil, false, err
	}
	var best *built
	var failed []*built
	feels := in.feels(h)
	proven, bound := true, solve.Never
	for _, w := range lists {
		b, err := build(in, w, air, h, feels)
		if err != nil {
			return nil, false, err
		}
		b.sole = len(lists) == 1
		b.solve(in)
		if b.answer.Status != solve.Infeasible && !b.ruledOut() {
			bound, proven = min(bound, b.answer.Bound), proven && b.answer.Status == solve.Optimal
		}
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
	whole := best
	if best, err = whole.alone(in); err != nil {
		return nil, false, err
	}
	p := best.read(in, whole)
	p.made = whole
	p.Bound = best.at(min(bound, best.answer.Ready))
	p.Proven = proven || bound >= best.answer.Ready
	p.Stopped = !p.Proven && in.Stop != nil && in.Stop()
	return p, false, nil
}

// better compares two solved lists of ways: ready first, then fewer pots.
func (b *built) better(o *built) bool {
	if b.answer.Ready != o.answer.Ready {
		return b.answer.Ready < o.answer.Ready
	}
	return b.potCount() < o.potCount()
}

func (b *built) potCount() int {
	n := 0
	for _, p := range b.pots {
		if b.answer.Schedule.Start[p.task] >= 0 {
			n++
		}
	}
	return n
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
