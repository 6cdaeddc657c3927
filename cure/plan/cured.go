package plan

import (
	"fmt"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// afterCure lays out milestones, heat and inspection.
func (b *built) afterCure(n *jointNodes) error {
	j := n.j
	where := fmt.Sprintf("%s:%d", b.j.File, j.Line)
	heated := n.heated
	if heated && j.Heat.From == job.HeatAfterFlashOff { // then tack-free is reached in the heat
		if err := b.heat(n); err != nil {
			return err
		}
	}
	if err := b.milestone(n, cure.TackFree, where); err != nil {
		return err
	}
	if heated && n.heat < 0 {
		if err := b.heat(n); err != nil {
			return err
		}
	}
	n.inspect = b.add(Task{ID: "inspect, " + j.ID, Kind: TaskKind(verify.Inspect), Joint: j.ID}, j.Inspect.Takes, 1, j.Inspect.Can)
	b.lag(n.node[cure.TackFree], solve.AtEnd, n.inspect, solve.AtStart, solve.Plus(0), "")
	for _, t := range n.torque {
		b.after(t, n.inspect) // a gasket is torqued when it has cured
	}
	for _, w := range n.work {
		for _, i := range append(n.examine, n.inspect) {
			b.independent(i, w)
		}
	}
	return nil
}

// milestone adds the joint's node for a milestone: all its layers have reached it.
func (b *built) milestone(n *jointNodes, m cure.Milestone, where string) error {
	if _, ok := n.node[m]; ok {
		return nil
	}
	had := b.with
	b.with = n.with // it may be asked for from outside
	t := b.add(Task{ID: n.j.ID + " " + m.String(), Joint: n.j.ID}, 0, 0, "")
	b.with = had
	for k := range cure.NumMilestones { // what comes later in the life of a mix is never earlier
		if o, ok := n.node[k]; ok && k < m {
			b.after(o, t)
		} else if ok {
			b.after(t, o)
		}
	}
	n.node[m] = t
	for k, f := range n.feels {
		fn, err := b.notBefore(n, k, m)
		if err != nil {
			return fmt.Errorf("%s: joint %s: %w; say another milestone or add the curve to the class", where, n.j.ID, err)
		}
		what := fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[k].Seal, becoming[m])
		if f.site.ByWitness(f.class, m) {
			n.witness = true
		}
		if n.heat >= 0 && n.hot(m) {
			hot, err := f.heated(m, n.j.Heat.ToC)
			if err != nil {
				return err
			}
			b.lag(n.heat, solve.AtEnd, t, solve.AtStart, hot, what+", heated")
			continue
		}
		for _, e := range n.finals[k] {
			b.lag(e, solve.AtEnd, t, solve.AtStart, fn, what)
		}
	}
	return nil
}

// hot reports whether a milestone of a heated joint is reached in the heat.
func (n *jointNodes) hot(m cure.Milestone) bool {
	return m > cure.TackFree || n.j.Heat.From == job.HeatAfterFlashOff
}

// becoming says of a wait what the sealant does in it.
var becoming = [cure.NumMilestones]string{cure.TackFree: "getting tack-free", cure.Handling: "curing until it may be handled",
	cure.Cured: "curing", cure.FullCure: "curing in full"}

// heat adds the set-up of accelerated cure: its end is when the heat comes on.
func (b *built) heat(n *jointNodes) error {
	h := n.j.Heat
	t := b.add(Task{ID: "set up heat, " + n.j.ID, Kind: TaskKind(verify.Heat), Joint: n.j.ID}, h.SetUp, 1, h.Can)
	for k, f := range n.feels {
		ch := f.class.Heat
		switch {
		case ch == nil:
			return b.refuse(n, fmt.Sprintf("class %s states no accelerated cure", f.class.ID))
		case h.ToC > ch.MaxC && !b.chosen():
			return fmt.Errorf("%s:%d: joint %s: heat to %g C, but class %s may be heated to %g C at most; write to: %gC or less", b.j.File, h.Line, n.j.ID, h.ToC, f.class.ID, ch.MaxC, ch.MaxC)
		case h.ToC > ch.MaxC:
			return b.refuse(n, fmt.Sprintf("class %s may be heated to %g C at most, not to %g C", f.class.ID, ch.MaxC, h.ToC))
		case f.dryShare(h.ToC) == 1:
			return b.refuse(n, fmt.Sprintf("at %g C the air is too dry at all times for class %s to cure", h.ToC, f.class.ID))
		}
		for _, e := range n.finals[k] {
			b.lag(e, solve.AtEnd, t, solve.AtStart, solve.Plus(ticks(ch.After)), n.j.ID+": flash-off before heat")
		}
	}
	if h.From == job.HeatAfterTackFree {
		b.lag(n.node[cure.TackFree], solve.AtEnd, t, solve.AtStart, solve.Plus(0), "")
	}
	n.heat = t
	n.work = append(n.work, t)
	return nil
}

// refuse notes a demand of the job that rules this way out.
func (b *built) refuse(n *jointNodes, text string) error {
	b.hinder(n.j.ID, n.j.ID+": "+text, false)
	return nil
}
