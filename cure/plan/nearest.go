package plan

import (
	"fmt"
	"slices"
	"time"

	"beadline/cure/plan/solve"
)

// Change is the smallest change of one demand that makes a job feasible as asked, found by
// bisection and planned in full.
type Change struct {
	What     string
	Ready    time.Time // of the plan with the change made
	Smallest bool      // one step less is proven not to do
	Size     int       // in the steps of its kind, beyond what is there now: minutes, people, °C, hundredths
	Kind     DemandKind
}

// nearest works out, for each demand of the set that clashes, the smallest number that
// makes the job feasible as asked, and plans it. A demand that no number of its own can
// ease, because other demands clash too, is left out.
func (p *Plan) nearest(in Input) []Change {
	c, b := p.Infeasible.clash, p.made
	if b == nil && len(p.failed) > 0 {
		b = p.failed[0]
	}
	if b == nil {
		return nil
	}
	base := in
	base.Brief, base.exists, base.within = true, true, time.Duration(b.m.Horizon)*tick
	if base.Steps == 0 {
		base.Steps = clashSteps
	}
	wish := 0
	if p.Found {
		wish = int(in.Job.ReadyBy.Sub(in.Job.Start) / tick)
		base.below = wish + 1
	}
	var out []Change
	if p.Found {
		out = append(out, Change{What: fmt.Sprintf("%s by %s instead of %s", in.Job.Ready, stamp(p.Ready, in.Job.Zone), stamp(in.Job.ReadyBy, in.Job.Zone)),
			Ready: p.Ready, Smallest: p.Proven, Kind: ReadyByDemand, Size: int(p.Ready.Sub(in.Job.ReadyBy) / tick)})
	}
	seen := map[string]bool{}
	for _, t := range b.eased(c) {
		if seen[t.knob.key] || in.Stop != nil && in.Stop() {
			continue
		}
		seen[t.knob.key] = true
		if ch, ok := b.smallest(base, t, wish); ok {
			out = append(out, ch)
		}
	}
	return out
}

// turn is a knob and the demand it belongs to.
type turn struct {
	kind DemandKind
	knob *knob
}

// eased lists the knobs of a set that clashes; of an obstacle, those of the pots whose work
// is longer than they last, or of a layer that may never be laid.
func (b *built) eased(c *clash) []turn {
	var out []turn
	if c != nil {
		for _, d := range c.set {
			if d.knob != nil {
				out = append(out, turn{d.Kind, d.knob})
			}
			if d.Kind == CureDemand {
				if k := b.warmerKnob(); k != nil {
					out = append(out, turn{d.Kind, k})
				}
			}
		}
		return out
	}
	for _, d := range b.demands(0) {
		if d.knob != nil && d.Kind == PotLifeDemand && d.knob.lo < b.needs(d.knob.key) {
			out = append(out, turn{d.Kind, d.knob})
		}
	}
	for _, n := range b.nodes() {
		for _, f := range n.feels {
			if open, _ := f.windows(); open == nil {
				if k := b.warmerKnob(); k != nil {
					return append(out, turn{WindowDemand, k})
				}
			}
		}
	}
	return out
}

// needs is the work, in ticks, of the pot that a knob is of.
func (b *built) needs(key string) int {
	for _, pt := range b.pots {
		if key == "pot "+pt.id {
			return ticks(b.potWork(pt))
		}
	}
	return 0
}

// smallest turns a knob as little as will do. The model, with its demand eased, gives a
// guess for little; what is said rests on the job itself planned with the change.
func (b *built) smallest(base Input, t turn, wish int) (Change, bool) {
	k := t.knob
	step := 1
	if k.hi < k.lo {
		step = -1
	}
	span := (k.hi - k.lo) * step
	works := func(n int) (yes, proven bool) {
		p, err := makeOnce(k.job(base, k.lo+step*n))
		if err != nil {
			return false, false
		}
		return p.Found, p.Found || p.Infeasible.Proven
	}
	n, proven, ok := bracket(span, b.guess(t, span, step, wish, base.Stop), works)
	if !ok {
		return Change{}, false
	}
	full := base
	full.exists, full.below = false, 0
	full = k.job(full, k.lo+step*n)
	p, err := makeOnce(full)
	if err != nil || !p.Found || len(p.Faults(full)) > 0 || wish > 0 && p.Ready.After(base.Job.ReadyBy) {
		return Change{}, false
	}
	return Change{What: k.say(k.lo + step*n), Ready: p.Ready, Smallest: proven, Size: n, Kind: t.kind}, true
}

// guess is the smallest turn that will do on the model; the middle where the model cannot
// tell.
func (b *built) guess(t turn, span, step, wish int, stop func() bool) int {
	if t.knob.ease == nil || b.ruledOut() && t.kind != PotLifeDemand {
		return min(span, 3)
	}
	works := func(n int) (yes, proven bool) {
		m := b.m
		m.Tasks, m.Lags, m.People = slices.Clone(m.Tasks), slices.Clone(m.Lags), slices.Clone(m.People)
		if wish > 0 {
			m.Tasks[m.Ready].Deadline = wish
		}
		t.knob.ease(&m, t.knob.lo+step*n)
		a, err := solve.Solve(&m, solve.Options{Steps: clashSteps, Exists: true, Rough: true, Stop: stop})
		return err == nil && a.Schedule != nil, true
	}
	if yes, _ := works(span); !yes {
		return span
	}
	lo, hi := 0, span
	for hi-lo > 1 {
		mid := lo + (hi-lo)/2
		if yes, _ := works(mid); yes {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// bracket finds the smallest n of 1 to span that works, from a guess outwards in steps that
// double and then by bisection. What does not work for n is taken not to work for less.
// proven says that it is shown of n-1 that it does not.
func bracket(span, guess int, works func(n int) (yes, proven bool)) (n int, proven, ok bool) {
	lo, hi, proven := 0, span+1, true // lo does not work, hi does; 0 is known not to
	guess = max(1, min(guess, span))
	for by := 1; ; by *= 2 {
		yes, sure := works(guess)
		if yes {
			hi = guess
			if hi == lo+1 {
				break
			}
			if lo > 0 { // closed in from below
				break
			}
			guess = max(1, guess-by)
			continue
		}
		lo, proven = guess, sure
		if lo >= span {
			return 0, false, false
		}
		if hi <= span {
			break
		}
		guess = min(span, guess+by)
	}
	for hi-lo > 1 {
		mid := lo + (hi-lo)/2
		if yes, sure := works(mid); yes {
			hi = mid
		} else {
			lo, proven = mid, sure
		}
	}
	return hi, proven, true
}
