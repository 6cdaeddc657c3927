package verify

import (
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// accessOrder: what came off last goes back on first. An item with an order of its
// own keeps that instead, and nothing waits for an item that waits for it.
func (c *checker) accessOrder() {
	for i, a := range c.job.Access {
		if a.StaysOff {
			continue
		}
		ts := c.access[a.Off]
		if a.After != nil {
			for _, r := range a.After {
				c.waits("access order", ts, r)
			}
			continue
		}
		for _, later := range c.job.Access[i+1:] {
			if !later.StaysOff && !(later.After != nil && c.waitsFor(later.Off, a.Off, map[string]bool{})) {
				c.follows("access order", ts, c.access[later.Off])
			}
		}
	}
}

// waitsFor reports whether one thing of the job, by its id, was told to wait for
// another, directly or through others.
func (c *checker) waitsFor(id, other string, seen map[string]bool) bool {
	if seen[id] {
		return false
	}
	seen[id] = true
	return slices.ContainsFunc(c.waitsOn(id), func(next string) bool {
		return next == other || c.waitsFor(next, other, seen)
	})
}

// waitsOn are the ids that something waits for by the job file's own words.
func (c *checker) waitsOn(id string) (ids []string) {
	refs := func(rs []job.Ref) {
		for _, r := range rs {
			if r.Kind != job.RefCovers {
				ids = append(ids, r.ID)
			}
		}
	}
	if j := c.job.JointByID(id); j != nil {
		refs(j.After)
	}
	if k := c.job.CheckByID(id); k != nil {
		refs(k.After)
	}
	if g := c.job.Gate(id); g != nil {
		refs(g.Needs)
	}
	for i, a := range c.job.Access {
		if a.Off != id {
			continue
		}
		refs(a.After)
		ids = append(ids, a.Hides...)
		for _, later := range c.job.Access[i+1:] {
			if a.After == nil && later.After == nil && !a.StaysOff && !later.StaysOff {
				ids = append(ids, later.Off)
			}
		}
	}
	return ids
}

// hidden: a joint is tack-free and inspected before anything hides it.
func (c *checker) hidden() {
	for _, j := range c.joints {
		at, ok := c.tackFree(j)
		for _, a := range c.job.Access {
			if !slices.Contains(a.Hides, j.ID) && !slices.Contains(j.HiddenBy, a.Off) {
				continue
			}
			c.follows("hidden", c.access[a.Off], j.inspect)
			for _, t := range c.access[a.Off] {
				if ok && t.Start.Before(at.Add(-notBeforeSlack)) {
					c.fault("hidden", "%s starts at %s and hides %s, which is tack-free at %s", name(t), c.when(t.Start), j.ID, c.when(at))
				}
			}
		}
	}
}

// coversAfterWetWork: covers are accounted for once all sealant is laid and all
// fasteners are torqued.
func (c *checker) coversAfterWetWork() {
	for _, j := range c.joints {
		c.follows("covers after wet work", c.covers, append(j.allLays(), j.torque...))
	}
}

// coversBeforeClosing: covers are accounted for before the last access goes back
// on and before a gate that is called close.
func (c *checker) coversBeforeClosing() {
	var lastOn []Task
	for _, ts := range c.access {
		for _, t := range ts {
			if len(lastOn) == 0 || t.Start.After(lastOn[0].Start) {
				lastOn = []Task{t}
			}
		}
	}
	c.follows("covers before closing", lastOn, c.covers)
	for _, g := range c.plan.Gates {
		if g.ID == "close" && len(c.covers) > 0 && g.At.Before(last(c.covers)) {
			c.fault("covers before closing", "the gate close is at %s; the covers are accounted for at %s", c.when(g.At), c.when(last(c.covers)))
		}
	}
}

// checkAfter: a check waits for what it is to come after.
func (c *checker) checkAfter() {
	for _, k := range c.job.Checks {
		for _, r := range k.After {
			c.waits("check after", c.checks[k.ID], r)
		}
	}
}

// ref is the first instant at which a reference is so; ok is false where that is
// missing from the plan, which is reported by itself.
func (c *checker) ref(r job.Ref) (at time.Time, ok bool) {
	var ts []Task
	switch r.Kind {
	case job.RefMilestone:
		j := c.joint(r.ID)
		if j == nil {
			return at, false
		}
		at, ok = c.ready(j, r.Milestone)
		return at.Add(-notBeforeSlack), ok
	case job.RefCheck:
		ts = c.checks[r.ID]
	case job.RefAccess:
		ts = c.access[r.ID]
	case job.RefCovers:
		ts = c.covers
	case job.RefGate:
		for _, g := range c.plan.Gates {
			if g.ID == r.ID {
				return g.At, true
			}
		}
	}
	return last(ts), len(ts) > 0
}

// gatesKept: each gate of the job has one instant, not before anything it needs.
func (c *checker) gatesKept() {
	for _, g := range c.plan.Gates {
		if c.job.Gate(g.ID) == nil {
			c.fault("gate", "the job has no gate %q", g.ID)
		}
	}
	for _, want := range c.job.Gates {
		n := 0
		for _, g := range c.plan.Gates {
			if g.ID != want.ID {
				continue
			}
			n++
			for _, r := range want.Needs {
				if at, ok := c.ref(r); ok && g.At.Before(at) {
					c.fault("gate", "%s at %s; %s is not before %s", g.ID, c.when(g.At), r.Text, c.when(at))
				}
			}
		}
		if n != 1 {
			c.fault("gate", "%s has %d instants in the plan; it needs one", want.ID, n)
		}
	}
}

// readyKept: the job is ready when its ready gate is open and no task is left.
func (c *checker) readyKept() {
	if g := c.job.Gate(c.job.Ready); g != nil {
		for _, r := range g.Needs {
			if at, ok := c.ref(r); ok && c.plan.Ready.Before(at) {
				c.fault("ready", "ready at %s; %s is not before %s", c.when(c.plan.Ready), r.Text, c.when(at))
			}
		}
	}
	for _, t := range c.tasks {
		if c.plan.Ready.Before(t.End) {
			c.fault("ready", "ready at %s; %s ends at %s", c.when(c.plan.Ready), name(t), c.when(t.End))
			return
		}
	}
}

// readyBy: the job is ready by the time it is wanted.
func (c *checker) readyBy() {
	if by := c.job.ReadyBy; !by.IsZero() && c.plan.Ready.After(by) {
		c.fault("ready by", "ready at %s; it is wanted by %s", c.when(c.plan.Ready), c.when(by))
	}
}

// torqueMilestone is what fasteners that are not torqued wet wait for.
func torqueMilestone(t job.Torque) cure.Milestone {
	if t == job.TorqueTackFree {
		return cure.TackFree
	}
	return cure.Cured
}
