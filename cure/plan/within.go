package plan

import (
	"fmt"
	"time"

	"beadline/cure/plan/solve"
)

// withinStep is how finely the ends of the layer before are gone through, in ticks.
const withinStep = 15

// neverWithin notes a layer that can at no time be laid within so long of the milestone
// that it waits for, counted from when that is likely: the line of the milestone, from
// which on it may be laid, comes too long after that, or falls where nobody is on shift.
//
// Lines never fall as their start moves on. So between two ends of the layer before, the
// earlier one bounds from when it may be laid and the later one until when; where even
// these leave no room, no end in between does. Where they leave some, nothing is noted.
func (b *built) neverWithin(n *jointNodes, g sittingGate, lay int) {
	room := int(g.within / tick)
	takes, mix := b.m.Tasks[lay].Duration, ticks(b.mixing(n.feels[b.tasks[lay].Layer]))
	least := solve.Never
	for _, w := range b.spans {
		for t := w.From; t < w.To; t += withinStep {
			next := min(t+withinStep, w.To)
			likely := g.likely.At(next)
			if likely >= solve.Never {
				continue
			}
			done := b.doneOnShift(g.fn.At(t), mix, takes)
			if done <= likely+room {
				return
			}
			least = min(least, done-likely)
		}
	}
	if least >= solve.Never {
		return // the milestone is never reached, which is said elsewhere
	}
	b.hinder(n.j.ID, fmt.Sprintf("%s: the %s cannot be laid within %s of %s. That counts from when %s is likely, and it may be laid from the line of %s on, in a shift: then it is done %s after that at best. Allow longer, or let it wait for less.",
		n.j.ID, n.j.Layers[b.tasks[lay].Layer].Seal, words(g.within), g.name, g.name, g.name, words(time.Duration(least)*tick)), true)
}

// doneOnShift is when sealant that may be laid from t on, which takes so many ticks, is
// laid at the earliest: on a shift, and from a pot that is mixed on it. Breaks are left out
// of account.
func (b *built) doneOnShift(t, mix, takes int) int {
	if t >= solve.Never {
		return solve.Never
	}
	for _, w := range b.spans {
		if begin := max(t, w.From+mix); begin+takes <= w.To {
			return begin + takes
		}
	}
	return solve.Never
}
