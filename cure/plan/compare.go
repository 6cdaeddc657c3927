package plan

import (
	"cmp"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"beadline/cure/plan/job"
)

// Comparison is today's plan and what it would be with one thing done otherwise, each
// planned in full and checked.
type Comparison struct {
	Job      *job.Job
	Base     Alternative
	Others   []Alternative // sorted: ready first, then fewest mixes, then least waste; those without a plan last
	NotTried []string      // what was left out, and why
	Assumed  []string
	Cut      bool // the search was ended before all was tried
}

// Alternative is one line of a comparison.
type Alternative struct {
	Kind    string // "class", "heat", "people", "hours", "air", "start", "torque"; "" for the base
	What    string // what changes
	Note    string // what it rests on; "" nothing of its own
	Found   bool   // there is a plan; what follows is of it
	Because string // why there is none

	Ready  time.Time
	Bound  time.Time // no plan is earlier
	Proven bool
	Gain   time.Duration // sooner than the base; below zero: later; 0 too where the base has no plan
	Mixes  int
	Labour time.Duration // hands-on
	ML     float64       // mixed, of the amounts that are stated
	Waste  float64       // ml of it that does not stay in the joints
	Part   bool          // not every amount is stated
	Meets  bool          // ready by the wish, or there is none
	Best   bool          // first by the order of Comparison.Others, the base included
}

// Compare plans a job as it is and with one thing changed at a time, on so many cores. Each
// is planned by itself, within Input.Steps and until Input.Stop, so that the answer does
// not depend on the number of cores. An error is bad input, as of Make.
func Compare(in Input, cores int) (*Comparison, error) {
	in.lean = true
	base, err := makeOnce(in)
	if err != nil {
		return nil, err
	}
	if base.Found {
		if f := base.Faults(in); len(f) > 0 {
			return nil, &FaultError{f}
		}
	}
	c := &Comparison{Job: in.Job, Base: alternative(in, base)}
	c.Base.What = "as it stands"
	todo, not := alternatives(in, base)
	c.NotTried = not
	c.Others = make([]Alternative, len(todo))
	errs := make([]error, len(todo))
	var next atomic.Int64
	var all sync.WaitGroup
	for range max(1, min(cores, len(todo))) {
		all.Go(func() {
			in := in // with a memory of its own
			in.memory = nil
			in = in.remember()
			for k := int(next.Add(1)) - 1; k < len(todo); k = int(next.Add(1)) - 1 {
				c.Others[k], errs[k] = todo[k].plan(in)
			}
		})
	}
	all.Wait()
	return c, c.settle(todo, errs, in.Stop != nil && in.Stop())
}

// BestOf is the alternative that is marked, the base included; nil where none has a plan.
func (c *Comparison) BestOf() *Alternative {
	if c.Base.Best {
		return &c.Base
	}
	for k := range c.Others {
		if c.Others[k].Best {
			return &c.Others[k]
		}
	}
	return nil
}

// plan plans a job with the change made. A change that the job cannot take, such as air
// that is not known for it, is no error: it is left without a plan, with the reason.
func (o option) plan(in Input) (Alternative, error) {
	if in.Stop != nil && in.Stop() {
		return Alternative{Kind: o.kind, What: o.what, Note: o.note, Because: stopped}, nil
	}
	changed := o.apply(in)
	p, err := makeOnce(changed)
	if err != nil {
		return Alternative{Kind: o.kind, What: o.what, Because: err.Error()}, nil
	}
	if p.Found {
		if f := p.Faults(changed); len(f) > 0 {
			return Alternative{}, &FaultError{f}
		}
	}
	a := alternative(changed, p)
	a.Kind, a.What, a.Note = o.kind, o.what, o.note
	if o.used != nil && p.Found {
		if text := o.used(p); text != "" {
			a.Note = text
		}
	}
	return a, nil
}

const stopped = "not planned: the time was up"

// alternative reads a plan's line.
func alternative(in Input, p *Plan) Alternative {
	a := Alternative{Found: p.Found}
	if !p.Found {
		a.Because = "no plan"
		if x := p.Infeasible; x != nil && len(x.Because) > 0 {
			a.Because = x.Because[0]
		} else if x != nil && !x.Proven {
			a.Because = "no plan was found"
		}
		return a
	}
	a.Ready, a.Bound, a.Proven, a.Mixes, a.Labour = p.Ready, p.Bound, p.Proven, len(p.Mixes), p.Labour()
	for _, m := range p.Materials {
		a.ML += m.ML
		a.Part = a.Part || m.Part
	}
	a.Waste = a.ML * in.Job.Mixing.Waste
	a.Meets = in.Job.ReadyBy.IsZero() || !p.Ready.After(in.Job.ReadyBy)
	return a
}

// settle sorts the alternatives, works out what each gains and marks the best.
func (c *Comparison) settle(todo []option, errs []error, cut bool) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	c.Cut = cut
	for k := range c.Others {
		a := &c.Others[k]
		if a.Found && c.Base.Found {
			a.Gain = c.Base.Ready.Sub(a.Ready)
		}
		if a.Found && todo[k].assumed != "" && !slices.Contains(c.Assumed, todo[k].assumed) {
			c.Assumed = append(c.Assumed, todo[k].assumed)
		}
	}
	slices.SortStableFunc(c.Others, better)
	best := &c.Base
	for k := range c.Others {
		if better(c.Others[k], *best) < 0 {
			best = &c.Others[k]
		}
	}
	best.Best = best.Found
	return nil
}

// better puts the plan that is ready first in front, then the one with fewer mixes, then
// the one that wastes less; what has no plan comes last.
func better(a, b Alternative) int {
	switch {
	case a.Found != b.Found && a.Found:
		return -1
	case a.Found != b.Found:
		return 1
	}
	return cmp.Or(a.Ready.Compare(b.Ready), cmp.Compare(a.Mixes, b.Mixes), cmp.Compare(a.Waste, b.Waste))
}
