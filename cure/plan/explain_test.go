package plan

import (
	"fmt"
	"slices"
	"time"

	"beadline/cure/plan/solve"
)

// Doubts holds what a plan says of its clash against the model, asked again without limits:
// the set cannot be kept, each smaller set can, and each number does where one step less
// does not. It returns what is wrong. It is for the tests of package plan_test.
func Doubts(in Input, p *Plan) (wrong []string) {
	x := p.Infeasible
	b, wish := p.made, 0
	if p.Found {
		wish = int(in.Job.ReadyBy.Sub(in.Job.Start) / tick)
	} else {
		b = p.failed[slices.IndexFunc(p.failed, func(b *built) bool { return len(b.obstacles) == 0 })]
	}
	ds := b.demands(wish)
	ask := func(without int) *solve.Answer {
		keep := make([]bool, len(ds))
		for k, d := range x.Set {
			if k != without {
				keep[slices.IndexFunc(ds, func(e demand) bool { return e.Demand == d })] = true
			}
		}
		m := b.without(ds, keep, wish)
		a, err := solve.Solve(m, solve.Options{Rough: true})
		if err != nil {
			wrong = append(wrong, err.Error())
		}
		if a.Schedule != nil {
			if err := m.CheckSchedule(a.Schedule); err != nil {
				wrong = append(wrong, fmt.Sprintf("without %d: %v", without, err))
			}
		}
		return &a
	}
	if s := ask(-1).Status; s != solve.Infeasible {
		wrong = append(wrong, fmt.Sprintf("all of %v can be kept: %d", x.Set, s))
	}
	for k, d := range x.Set {
		if x.Minimal && ask(k).Schedule == nil {
			wrong = append(wrong, fmt.Sprintf("without %q the others of %v cannot be kept", d.What, x.Set))
		}
	}
	return wrong
}

// Turned plans the job with each change that is called smallest made, and with one step
// less: the first has to do and the other must not.
func Turned(in Input, p *Plan) (tried int, wrong []string) {
	b := p.made
	if b == nil {
		b = p.failed[0]
	}
	for _, t := range b.eased(p.Infeasible.clash) {
		k, step := t.knob, 1
		if k.hi < k.lo {
			step = -1
		}
		for _, c := range p.Infeasible.Changes {
			if c.What != k.say(k.lo+step*c.Size) || !c.Smallest {
				continue
			}
			tried++
			for _, n := range []int{c.Size, c.Size - 1} {
				with := k.job(in, k.lo+step*n)
				with.Brief, with.within = true, time.Duration(b.m.Horizon)*tick
				q, err := makeOnce(with)
				if err != nil {
					wrong = append(wrong, err.Error())
					continue
				}
				does := q.Found && (!p.Found || !q.Ready.After(in.Job.ReadyBy))
				if does != (n == c.Size) {
					wrong = append(wrong, fmt.Sprintf("%q: %d does: %v, ready %s", c.What, n, does, q.Ready))
				}
			}
		}
	}
	return tried, wrong
}
