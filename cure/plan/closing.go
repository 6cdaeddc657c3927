package plan

import (
	"fmt"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// closing adds what comes after the joints: covers, access, checks and gates.
func (b *built) closing() {
	for k := range b.j.Access {
		a := &b.j.Access[k]
		if a.StaysOff {
			continue
		}
		t := b.add(Task{ID: "refit " + a.Off, Kind: TaskKind(verify.Access), Ref: a.Off}, a.Takes, a.Crew, a.Can)
		b.m.Tasks[t].Split = a.Splittable
		b.access[a.Off] = t
	}
	if len(b.j.Covers) > 0 {
		var d time.Duration
		for _, c := range b.j.Covers {
			d += c.Takes
		}
		b.covers = b.add(Task{ID: fmt.Sprintf("account for %d %s", len(b.j.Covers), plural(len(b.j.Covers), "cover", "covers")), Kind: TaskKind(verify.Covers)}, d, 1, b.anySkill())
		b.m.Tasks[b.covers].Late = true
		for k := range b.j.Joints {
			for _, n := range b.joints[b.j.Joints[k].ID] {
				for _, t := range n.laid {
					b.after(t, b.covers)
				}
			}
		}
	}
	for k := range b.j.Checks {
		c := &b.j.Checks[k]
		t := b.add(Task{ID: c.ID, Kind: TaskKind(verify.Check), Ref: c.ID}, c.Takes, c.Crew, c.Can)
		b.m.Tasks[t].Split = c.Splittable
		b.checks[c.ID] = t
	}
	for _, g := range b.j.Gates {
		b.gates[g.ID] = b.add(Task{ID: "gate " + g.ID, Ref: g.ID}, 0, 0, "")
	}
	b.m.Ready = b.gates[b.j.Ready]
}

// anySkill is a skill that all of the crew have: anyone may count covers.
func (b *built) anySkill() string {
	const anyone = "count covers"
	for i := range b.m.People {
		b.m.People[i].Skills = append(slices.Clone(b.m.People[i].Skills), anyone)
	}
	return anyone
}

// tie adds the waits between joints, access, checks and gates.
func (b *built) tie() error {
	for k := range b.j.Joints {
		j := &b.j.Joints[k]
		for _, n := range b.joints[j.ID] {
			for _, r := range j.After {
				for _, t := range n.first {
					if err := b.wait(r, t, fmt.Sprintf("%s:%d", b.j.File, j.Line)); err != nil {
						return err
					}
				}
			}
			for _, off := range j.HiddenBy {
				b.hide(n, off)
			}
		}
	}
	if err := b.tieAccess(); err != nil {
		return err
	}
	for k := range b.j.Checks {
		c := &b.j.Checks[k]
		for _, r := range c.After {
			if err := b.wait(r, b.checks[c.ID], fmt.Sprintf("%s:%d", b.j.File, c.Line)); err != nil {
				return err
			}
		}
	}
	return b.tieGates()
}

// hide lets an access item go back only when the joint under it is tack-free and
// inspected.
func (b *built) hide(n *jointNodes, off string) {
	if t, ok := b.access[off]; ok {
		b.after(n.inspect, t)
		b.lag(n.node[cure.TackFree], solve.AtEnd, t, solve.AtStart, solve.Plus(0), "")
		for _, w := range n.laid {
			b.after(w, t)
		}
	}
}

func (b *built) tieAccess() error {
	waited := map[string]bool{}
	for i := range b.j.Access {
		a := &b.j.Access[i]
		if a.StaysOff {
			continue
		}
		t := b.access[a.Off]
		for _, id := range a.Hides {
			for _, n := range b.joints[id] {
				b.hide(n, a.Off)
			}
		}
		for _, r := range a.After {
			if err := b.wait(r, t, fmt.Sprintf("%s:%d", b.j.File, a.Line)); err != nil {
				return err
			}
			if r.Kind == job.RefAccess {
				waited[r.ID] = true
			}
		}
		for _, k := range b.j.BackOnFirst(i) {
			b.after(b.access[b.j.Access[k].Off], t)
			waited[b.j.Access[k].Off] = true
		}
	}
	for i := range b.j.Access {
		a := &b.j.Access[i]
		if b.covers >= 0 && !a.StaysOff && !waited[a.Off] {
			b.after(b.covers, b.access[a.Off])
		}
	}
	return nil
}

func (b *built) tieGates() error {
	for _, g := range b.j.Gates {
		t := b.gates[g.ID]
		for _, r := range g.Needs {
			if err := b.wait(r, t, fmt.Sprintf("%s:%d", b.j.File, g.Line)); err != nil {
				return err
			}
		}
		if g.ID == "close" && b.covers >= 0 {
			b.after(b.covers, t)
		}
	}
	ready := b.gates[b.j.Ready]
	for t := range b.tasks {
		if b.tasks[t].Kind != "" {
			b.after(t, ready)
		}
	}
	return nil
}

// wait makes a task wait for what a reference names.
func (b *built) wait(r job.Ref, task int, where string) error {
	switch r.Kind {
	case job.RefMilestone:
		for _, n := range b.joints[r.ID] {
			if err := b.milestone(n, r.Milestone, where); err != nil {
				return err
			}
			b.after(n.node[r.Milestone], task)
			for _, t := range n.lateTorque() { // a gasket is no joint before it is torqued
				b.after(t, task)
			}
		}
	case job.RefCheck:
		b.after(b.checks[r.ID], task)
	case job.RefAccess:
		t, ok := b.access[r.ID]
		if !ok {
			return fmt.Errorf("%s: %q waits for %s, which is never put back", where, r.Text, r.ID)
		}
		b.after(t, task)
	case job.RefGate:
		b.after(b.gates[r.ID], task)
	case job.RefCovers:
		if b.covers >= 0 {
			b.after(b.covers, task)
		}
	}
	return nil
}
