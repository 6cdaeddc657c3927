package verify

import (
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// eachRow looks at every printed row of a joint that the job has.
func (c *checker) eachRow(look func(r Row, j *joint)) {
	for _, r := range c.plan.Rows {
		if j := c.joint(r.Joint); j != nil {
			look(r, j)
		}
	}
}

// eachPotRow looks at every printed row of a pot that serves the row's joint.
func (c *checker) eachPotRow(look func(r PotRow, j *joint, p *pot)) {
	c.eachRow(func(r Row, j *joint) {
		for _, p := range c.potsOf(j) {
			for _, row := range r.Pots {
				if row.Mix == p.id {
					look(row, j, p)
				}
			}
		}
	})
}

// potsOf are the pots that a joint is laid from.
func (c *checker) potsOf(j *joint) (ps []*pot) {
	for _, p := range c.pots {
		if slices.ContainsFunc(p.lay, func(l Task) bool { return l.Joint == j.ID }) {
			ps = append(ps, p)
		}
	}
	return ps
}

// rowsWhole: where rows are printed, each joint has one, and in it one for each of its
// pots; there are no others.
func (c *checker) rowsWhole() {
	if c.plan.Rows == nil {
		return
	}
	for _, j := range c.joints {
		if n := count(c.plan.Rows, func(r Row) bool { return r.Joint == j.ID }); n != 1 {
			c.fault("row", "%s has %d rows in the plan; it needs one", j.ID, n)
		}
	}
	for _, r := range c.plan.Rows {
		if c.joint(r.Joint) == nil {
			c.fault("row", "the job has no joint %q, for which a row is printed", r.Joint)
		}
	}
	c.eachRow(func(r Row, j *joint) {
		ps := c.potsOf(j)
		for _, p := range ps {
			if n := count(r.Pots, func(row PotRow) bool { return row.Mix == p.id }); n != 1 {
				c.fault("row", "mix %s of %s has %d rows in the plan; it needs one", p.id, j.ID, n)
			}
		}
		for _, row := range r.Pots {
			if !slices.ContainsFunc(ps, func(p *pot) bool { return p.id == row.Mix }) {
				c.fault("row", "%s: nothing is laid from mix %s, for which a row is printed", j.ID, row.Mix)
			}
		}
	})
}

func count[T any](all []T, is func(T) bool) (n int) {
	for _, x := range all {
		if is(x) {
			n++
		}
	}
	return n
}

// begins reports whether an instant that is printed for a pot is its planned start.
// What is used as it comes is not mixed, and need not say when.
func (p *pot) begins(printed time.Time) bool {
	return printed.Equal(p.start()) || len(p.mix) == 0 && printed.IsZero()
}

// rowMixBy: a joint's mixing is printed as it is planned, never later: by the start of
// its first pot.
func (c *checker) rowMixBy() {
	c.eachRow(func(r Row, j *joint) {
		ps := c.potsOf(j)
		if len(ps) == 0 {
			return
		}
		early := slices.MinFunc(ps, func(a, b *pot) int { return a.start().Compare(b.start()) })
		if !early.begins(r.MixBy) {
			c.fault("row mix by", "%s: mixing is printed as %s; its first mix %s is begun at %s", j.ID, c.when(r.MixBy), early.id, c.when(early.start()))
		}
	})
}

// rowTorqueTo: the last fastener is printed as done when it is, or later; wet ones not
// after the assembly line of a pot that the last of them sit in. A joint without
// fasteners has no such time.
func (c *checker) rowTorqueTo() {
	c.eachRow(func(r Row, j *joint) {
		end := last(j.torque)
		switch {
		case j.Fasteners == nil && !r.TorqueTo.IsZero():
			c.fault("row torque", "%s has no fasteners; they are printed as done by %s", j.ID, c.when(r.TorqueTo))
			return
		case r.TorqueTo.Before(end):
			c.fault("row torque", "%s: the last fastener is printed as done by %s; it is at %s", j.ID, c.when(r.TorqueTo), c.when(end))
			return
		}
		for _, t := range j.torque {
			if !t.End.Equal(end) {
				continue
			}
			for _, p := range c.pots {
				for _, layer := range j.sits(p, t) {
					if line, ok := c.crossed(p, j, layer, cure.Assembly, r.TorqueTo); ok {
						c.fault("row torque", "%s: the last fastener is printed as done by %s; mix %s reaches its line at %s", j.ID, c.when(r.TorqueTo), p.id, c.when(line))
						return
					}
				}
			}
		}
	})
}

// potRowStart: a pot is printed as mixed when it is planned to be.
func (c *checker) potRowStart() {
	c.eachPotRow(func(r PotRow, j *joint, p *pot) {
		if !p.begins(r.At) {
			c.fault("pot row start", "%s: mix %s is printed as begun at %s; it is at %s", j.ID, p.id, c.when(r.At), c.when(p.start()))
		}
	})
}

// potRowLine: a pot is printed as used up by its line at the latest, and not by an
// instant of which the air is not known.
func (c *checker) potRowLine() {
	c.eachPotRow(func(r PotRow, j *joint, p *pot) {
		if r.DoneBy.After(c.plan.Air.Until()) {
			c.fault("pot row line", "%s: mix %s is printed as done by %s; the air history ends at %s", j.ID, p.id, c.when(r.DoneBy), c.when(c.plan.Air.Until()))
			return
		}
		if line, ok := c.potCrossed(p, r.DoneBy); ok {
			c.fault("pot row line", "%s: mix %s is printed as done by %s; it reaches its line at %s", j.ID, p.id, c.when(r.DoneBy), c.when(line))
		}
	})
}

// potCrossed is the earliest line of a pot, if that is before an instant by which all
// of it is done: the assembly line where wet fasteners sit in it, the application
// line where it is only laid, of every layer and joint that it serves.
func (c *checker) potCrossed(p *pot, done time.Time) (earliest time.Time, crossed bool) {
	for i, l := range p.lay {
		if slices.ContainsFunc(p.lay[:i], func(o Task) bool { return o.Joint == l.Joint && o.Layer == l.Layer }) {
			continue
		}
		j, m := c.joint(l.Joint), cure.Application
		if slices.ContainsFunc(j.torque, func(t Task) bool { return slices.Contains(j.sits(p, t), l.Layer) }) {
			m = cure.Assembly
		}
		if line, ok := c.crossed(p, j, l.Layer, m, done); ok && (!crossed || line.Before(earliest)) {
			earliest, crossed = line, true
		}
	}
	return earliest, crossed
}

// potRowShift: a pot is printed as used up by the end of the shift it is mixed in at
// the latest.
func (c *checker) potRowShift() {
	c.eachPotRow(func(r PotRow, j *joint, p *pot) {
		if c.shifts.anyShift(p.start()) && !c.shifts.oneShift(p.start(), r.DoneBy) {
			c.fault("pot row shift", "%s: mix %s, begun at %s, is printed as done by %s, which is not in one shift", j.ID, p.id, c.when(p.start()), c.when(r.DoneBy))
		}
	})
}

// potRowDone: a pot is not printed as used up before the plan is done with it, unless
// its line comes first: what is laid may have to be by then, and its fasteners later.
func (c *checker) potRowDone() {
	c.eachPotRow(func(r PotRow, j *joint, p *pot) {
		end := last(append(slices.Clone(p.lay), p.torque...))
		if !r.DoneBy.Before(end) {
			return
		}
		if _, ok := c.potCrossed(p, end); !ok {
			c.fault("pot row done", "%s: mix %s is printed as done by %s; it is at %s", j.ID, p.id, c.when(r.DoneBy), c.when(end))
		}
	})
}

// rowClose: a joint is not printed as one to close before it is tack-free and torqued.
func (c *checker) rowClose() {
	c.eachRow(func(r Row, j *joint) {
		if at, ok := c.ready(j, cure.TackFree); ok && r.CloseFrom.Before(at.Add(-notBeforeSlack)) {
			c.fault("row close", "%s: close is printed as from %s; it is tack-free and torqued at %s", j.ID, c.when(r.CloseFrom), c.when(at))
		}
	})
}

// furthest is the furthest milestone of a joint that the ready gate waits for, through
// whatever is told to come after it; tack-free if it waits for none.
func (c *checker) furthest(j *joint) cure.Milestone {
	m := cure.TackFree
	if g := c.job.Gate(c.job.Ready); g != nil {
		for _, r := range c.leadsTo(g.Needs, true, map[node]bool{}) {
			if r.ID == j.ID && waitable(r.Milestone) {
				m = max(m, r.Milestone)
			}
		}
	}
	return m
}

// node is something of the job that can be waited for.
type node struct {
	kind job.RefKind
	id   string
}

// leadsTo are the milestones among references, and all that these lead to: through
// gates and checks, and, if far, through access items and joints that are told to
// come after something.
func (c *checker) leadsTo(refs []job.Ref, far bool, seen map[node]bool) (found []job.Ref) {
	for _, r := range refs {
		if r.Kind == job.RefMilestone {
			found = append(found, r)
		}
		if n := (node{r.Kind, r.ID}); !seen[n] {
			seen[n] = true
			found = append(found, c.leadsTo(c.comesAfter(r, far), far, seen)...)
		}
	}
	return found
}

// comesAfter is what the thing a reference points at is told to come after.
func (c *checker) comesAfter(r job.Ref, far bool) []job.Ref {
	switch r.Kind {
	case job.RefGate:
		if g := c.job.Gate(r.ID); g != nil {
			return g.Needs
		}
	case job.RefCheck:
		if k := c.job.CheckByID(r.ID); k != nil {
			return k.After
		}
	case job.RefAccess:
		if a := c.job.AccessByName(r.ID); a != nil && far {
			return a.After
		}
	case job.RefMilestone:
		if j := c.job.JointByID(r.ID); j != nil && far {
			return j.After
		}
	}
	return nil
}

// rowFlyNeeds: what flight is printed to need of a joint is what the ready gate waits
// for.
func (c *checker) rowFlyNeeds() {
	c.eachRow(func(r Row, j *joint) {
		if m := c.furthest(j); r.FlyNeeds != m {
			c.fault("row fly needs", "%s: flight is printed to need %s; %s waits for %s", j.ID, r.FlyNeeds, c.job.Ready, m)
		}
	})
}

// rowFly: a joint is not printed as one to fly with before its own line of what the
// ready gate waits for.
func (c *checker) rowFly() {
	c.eachRow(func(r Row, j *joint) {
		m := c.furthest(j)
		if at, ok := c.ready(j, m); ok && r.FlyFrom.Before(at.Add(-notBeforeSlack)) {
			c.fault("row fly", "%s: flight is printed as from %s; it reaches %s, torqued, at %s", j.ID, c.when(r.FlyFrom), m, c.when(at))
		}
	})
}

// onlyWitness reports whether only a witness reading tells of a joint's milestone: as
// the plan says, or as the checker finds.
func (c *checker) onlyWitness(j *joint, m cure.Milestone) bool {
	return c.told(j, m) || waitable(m) && c.byWitness(j, len(j.Layers)-1, m, true) != ""
}

// rowWitness: a row says that a witness reading is waited for, for closing or flight,
// where one is; and not of a joint of which none tells anything.
func (c *checker) rowWitness() {
	c.eachRow(func(r Row, j *joint) {
		m := c.furthest(j)
		switch waits := c.onlyWitness(j, cure.TackFree) || c.onlyWitness(j, m); {
		case waits && !r.ByWitness:
			c.fault("row witness", "%s: closing and flight are printed as calculated; only a witness reading tells of %s", j.ID, m)
		case r.ByWitness && !waits && !slices.ContainsFunc(c.plan.Lines, func(l Line) bool { return l.Joint == j.ID && l.ByWitness }):
			c.fault("row witness", "%s is printed as told by a witness reading; all its lines are calculated", j.ID)
		}
	})
}

// gateWitness: a gate that waits, directly or through other gates or checks, for a
// milestone that only a witness reading tells is printed so; and none is in a plan
// in which a witness tells nothing.
func (c *checker) gateWitness() {
	tells := slices.ContainsFunc(c.plan.Lines, func(l Line) bool { return l.ByWitness })
	for _, g := range c.plan.Gates {
		want := c.job.Gate(g.ID)
		if want == nil {
			continue
		}
		refs := c.leadsTo(want.Needs, false, map[node]bool{})
		i := slices.IndexFunc(refs, func(r job.Ref) bool { j := c.joint(r.ID); return j != nil && c.onlyWitness(j, r.Milestone) })
		switch {
		case i >= 0 && !g.ByWitness:
			c.fault("gate witness", "%s is printed as calculated; it waits for %s, of which only a witness reading tells", g.ID, refs[i].Text)
		case i < 0 && g.ByWitness && !tells:
			c.fault("gate witness", "%s is printed as told by a witness reading; all lines are calculated", g.ID)
		}
	}
}
