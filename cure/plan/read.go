package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// solve runs the search, unless an obstacle rules this way out already.
func (b *built) solve(in Input) {
	if b.ruledOut() {
		b.beyond = slices.ContainsFunc(b.obstacles, func(o obstacle) bool { return o.later })
		return
	}
	a, err := solve.Solve(&b.m, solve.Options{Steps: in.Steps, Stop: in.Stop, Rough: in.Brief, Late: in.Late, Exists: in.exists, Below: in.below, Tell: in.tell(b)})
	if err != nil {
		b.obstacles = append(b.obstacles, obstacle{text: err.Error()})
		return
	}
	b.answer = a
	b.beyond = a.Schedule == nil
}

// only is the one way to do a joint that a plan takes, or the first of several.
func (b *built) only(joint string) *jointNodes { return b.joints[joint][0] }

func (b *built) at(t int) time.Time { return b.j.Start.Add(time.Duration(t) * tick) }

// base fills in what a plan has whether or not it was found.
func (b *built) base() *Plan {
	p := &Plan{Job: b.j, Air: b.air, Renew: b.j.Renew, Chosen: map[string]string{}}
	for id, all := range b.w.joint {
		p.Chosen[id] = all[0].class
	}
	used := map[string]bool{}
	for _, pt := range b.pots {
		used[pt.class] = true
	}
	for id := range used {
		p.Classes = append(p.Classes, id)
	}
	slices.Sort(p.Classes)
	p.Assumptions = append(append(append(p.Assumptions, b.j.Assumed...), b.air.Notes()...), b.assume()...)
	return p
}

// unplanned is the answer when no way of a job was found: the reasons of all, and
// proven only if each of them is.
func unplanned(failed []*built) *Plan {
	p := failed[0].base()
	p.failed = failed
	p.Infeasible = &Infeasible{Proven: true}
	for _, b := range failed {
		p.Infeasible.Proven = p.Infeasible.Proven && (b.ruledOut() || b.answer.Status == solve.Infeasible)
		if b.ruledOut() {
			b.sayObstacles(p.Infeasible)
		}
	}
	return p
}

// ruledOut reports whether obstacles alone leave no way to do the job.
func (b *built) ruledOut() bool {
	if slices.ContainsFunc(b.obstacles, func(o obstacle) bool { return len(o.with) == 0 }) {
		return true
	}
	if len(b.m.Bars) == 0 {
		return false
	}
	ways := solve.Model{Tasks: []solve.Task{{Name: "ready"}}, Choices: b.m.Choices, Bars: b.m.Bars}
	a, err := solve.Solve(&ways, solve.Options{Exists: true, Rough: true})
	return err == nil && a.Status == solve.Infeasible
}

func (b *built) sayObstacles(x *Infeasible) {
	for _, o := range b.obstacles {
		x.because(o.text)
	}
}

// read turns the search's answer into a plan.
func (b *built) read(in Input, whole *built) *Plan {
	b.number()
	p, s := b.base(), b.answer.Schedule
	p.Found, p.from = true, b
	p.Ready = b.at(b.answer.Ready)
	limit := b.limit()
	p.Until = b.at(limit)
	slack := make([]int, len(b.tasks))
	if !in.Brief {
		slack = solve.Float(&b.m, s, limit)
		begin, _ := whole.latestStart(limit, in.Stop)
		p.BeginBy = b.at(begin)
	}
	for _, g := range b.answer.Proven {
		p.ProvenGoals = append(p.ProvenGoals, Goals[g])
	}
	for t, task := range b.tasks {
		if task.Kind == "" {
			continue
		}
		task.Start, task.End = b.at(s.Start[t]), b.at(s.End[t])
		for _, w := range s.Who[t] {
			task.Who = append(task.Who, b.m.People[w].Name)
		}
		task.Labour = time.Duration(b.m.Tasks[t].Duration*b.m.Tasks[t].Crew) * tick
		task.Overtime = b.overtime(t)
		task.Slack = time.Duration(slack[t]) * tick
		p.Tasks = append(p.Tasks, task)
	}
	slices.SortStableFunc(p.Tasks, func(a, c Task) int { return a.Start.Compare(c.Start) })
	p.Mixes = b.mixes(in)
	for k := range b.j.Joints {
		p.Joints = append(p.Joints, b.row(p, &b.j.Joints[k]))
	}
	for _, g := range b.j.Gates {
		gate := Gate{ID: g.ID, From: b.at(s.End[b.gates[g.ID]])}
		for _, r := range g.Needs {
			gate.Needs = append(gate.Needs, r.Text)
		}
		gate.ByWitness = b.byWitness(g.ID)
		p.Gates = append(p.Gates, gate)
	}
	p.Materials = b.materials(p.Mixes)
	p.HeldBy = b.heldBy()
	p.HeldInWords = p.heldInWords()
	return p
}

// potOf stands before a pot's name at the end of what a lag is.
const potOf = " time of "

// number renames the pots that have no name of their own in the order they are made.
func (b *built) number() {
	s := b.answer.Schedule
	order := slices.Clone(b.pots)
	slices.SortStableFunc(order, func(a, c *pot) int { return s.Start[a.task] - s.Start[c.task] })
	names := map[string]string{}
	k := 0
	for _, p := range order {
		if p.auto {
			k++
			names[p.id] = fmt.Sprintf("mix %d", k)
		}
	}
	for _, p := range b.pots {
		if p.auto {
			p.id = names[p.id]
		}
	}
	for t := range b.tasks {
		if n, ok := names[b.tasks[t].Mix]; ok {
			b.tasks[t].Mix = n
		}
		if b.tasks[t].Kind == TaskKind(verify.Mix) {
			b.tasks[t].ID += " (" + b.tasks[t].Mix + ")"
		}
	}
	for t := range b.m.Tasks {
		b.m.Tasks[t].Name = b.tasks[t].ID
	}
	for k := range b.m.Lags {
		if head, id, ok := strings.Cut(b.m.Lags[k].What, potOf); ok && names[id] != "" {
			b.m.Lags[k].What = head + potOf + names[id]
		}
	}
}

// mixes lists the pots in order, each with the latest moment at which it may still
// be made: the rest of the work planned again behind it, and ready no later.
func (b *built) mixes(in Input) []Mix {
	s := b.answer.Schedule
	by := b.latest(in, b.limit())
	var out []Mix
	for i, pt := range b.pots {
		m := Mix{ID: pt.id, Class: pt.class, At: b.at(s.Start[pt.task]), Serves: pt.serves, ML: pt.ml}
		m.By = b.at(by[i])
		for k := range b.j.Joints {
			if b.serves(pt.id, b.only(b.j.Joints[k].ID)) {
				m.Joints = append(m.Joints, b.j.Joints[k].ID)
			}
		}
		m.Grams = pt.ml * b.classes[pt.class].Density
		start := s.Start[pt.task]
		line, shift := b.potEnd(pt), b.shiftEnd(start)
		if line < solve.Never {
			m.Lasts = time.Duration(line-start) * tick
		}
		m.Shift = shift < line
		m.DoneBy = b.at(min(line, shift))
		out = append(out, m)
	}
	slices.SortStableFunc(out, func(a, c Mix) int { return a.At.Compare(c.At) })
	return out
}

// overtime is how much of a task lies in overtime shifts of those who do it.
func (b *built) overtime(t int) time.Duration {
	s, most := b.answer.Schedule, 0
	for _, p := range s.Who[t] {
		n := 0
		for _, w := range b.m.People[p].Spare {
			n += max(0, min(w.To, s.End[t])-max(w.From, s.Start[t]))
		}
		most = max(most, n)
	}
	return time.Duration(most) * tick
}

// limit is what latest times are counted to: the wish, if it can be met, else the ready
// time.
func (b *built) limit() int {
	if by := b.j.ReadyBy; !by.IsZero() {
		return max(b.answer.Ready, min(int(by.Sub(b.j.Start)/tick), b.m.Horizon))
	}
	return b.answer.Ready
}

// latestStart is the latest tick before which nobody need begin to be ready by limit,
// whichever ways are taken.
func (b *built) latestStart(limit int, stop func() bool) (at int, sure bool) {
	return solve.LatestStart(&b.m, b.answer.Schedule, limit, stop)
}

// latest is the latest start of each pot that still has the job ready by limit.
func (b *built) latest(in Input, limit int) []int {
	var pots []int
	for _, pt := range b.pots {
		pots = append(pots, pt.task)
	}
	if in.Brief || in.lean {
		for i, t := range pots {
			pots[i] = b.answer.Schedule.Start[t]
		}
		return pots
	}
	at, _ := solve.Latest(&b.m, b.answer.Schedule, pots, limit, in.Stop)
	return at
}

// potEnd is the line of a pot: the earliest that any of its work is held to and that is not
// over when all of it is done. Sealant that is laid by its application time may be torqued
// later, up to its assembly time.
func (b *built) potEnd(pt *pot) int {
	s, done, line := b.answer.Schedule, 0, solve.Never
	held := func(l *solve.Lag) bool { return l.Max && l.From == pt.task && !l.Shift }
	for k := range b.m.Lags {
		if l := &b.m.Lags[k]; held(l) {
			done = max(done, s.End[l.To])
		}
	}
	for k := range b.m.Lags {
		if l := &b.m.Lags[k]; held(l) {
			if v := l.Fn.At(s.Time(pt.task, l.FromAt)); v >= done {
				line = min(line, v)
			}
		}
	}
	return line
}

// lineOf is the earliest instant that any pot holds the end of a task to.
func (b *built) lineOf(task int) int {
	line := solve.Never
	for _, l := range b.m.Lags {
		if l.Max && l.To == task && b.tasks[l.From].Kind == TaskKind(verify.Mix) {
			line = min(line, l.Fn.At(b.answer.Schedule.Time(l.From, l.FromAt)))
		}
	}
	return line
}

// row is a joint's line in the table.
func (b *built) row(p *Plan, j *job.Joint) Joint {
	n, s := b.only(j.ID), b.answer.Schedule
	r := Joint{ID: j.ID, Class: n.class, ByWitness: n.witness, Heated: n.heat >= 0}
	for _, m := range p.Mixes {
		if b.serves(m.ID, n) && (r.MixBy.IsZero() || m.At.Before(r.MixBy)) {
			r.MixBy = m.At
		}
	}
	if r.Class == "" && len(n.feels) > 0 {
		r.Class = n.feels[0].class.ID
	}
	for _, t := range n.torque {
		if f := b.at(s.Start[t]); r.TorqueFrom.IsZero() || f.Before(r.TorqueFrom) {
			r.TorqueFrom = f
		}
		w := Window{Mix: b.tasks[t].Mix, From: b.at(s.Start[t]), To: b.at(s.End[t]), Fasteners: int(b.tasks[t].Units)}
		for _, m := range p.Mixes {
			if m.ID == w.Mix {
				w.MixAt, w.Line = m.At, b.at(b.lineOf(t))
			}
		}
		to := w.To
		r.Windows = append(r.Windows, w)
		if to.After(r.TorqueTo) {
			r.TorqueTo = to
		}
	}
	slices.SortStableFunc(r.Windows, func(a, c Window) int { return a.From.Compare(c.From) })
	r.CloseFrom = b.at(s.End[n.node[cure.TackFree]])
	r.FlyNeeds = b.flyNeeds(j)
	for m := cure.TackFree; m < cure.NumMilestones; m++ {
		t, ok := n.node[m]
		if !ok {
			continue
		}
		l := Line{Milestone: m, At: b.at(s.End[t]), ByWitness: n.witness}
		l.LikelyAt, l.From = b.likely(n, m)
		r.Lines = append(r.Lines, l)
		if m == r.FlyNeeds {
			r.FlyFrom = l.At
		}
	}
	r.Sittings = b.wetWork(n)
	for _, t := range n.lateTorque() {
		end := b.at(s.End[t])
		r.CloseFrom, r.FlyFrom = latest(r.CloseFrom, end), latest(r.FlyFrom, end)
	}
	return r
}

func latest(a, c time.Time) time.Time {
	if c.After(a) {
		return c
	}
	return a
}

func (b *built) serves(pot string, n *jointNodes) bool {
	for _, ends := range n.finals {
		for _, t := range ends {
			if b.tasks[t].Mix == pot {
				return true
			}
		}
	}
	return slices.ContainsFunc(n.work, func(t int) bool { return b.tasks[t].Mix == pot })
}

// waitsFor lists every milestone that a gate waits for, itself or through other gates,
// checks, access items and joints.
func (b *built) waitsFor(gate string) []job.Ref {
	var out []job.Ref
	seen := map[string]bool{}
	var walk func(refs []job.Ref)
	walk = func(refs []job.Ref) {
		for _, r := range refs {
			if seen[r.Text] {
				continue
			}
			seen[r.Text] = true
			switch r.Kind {
			case job.RefMilestone:
				out = append(out, r)
				walk(b.j.JointByID(r.ID).After)
			case job.RefCheck:
				walk(b.j.CheckByID(r.ID).After)
			case job.RefAccess:
				walk(b.j.AccessByName(r.ID).After)
			case job.RefGate:
				walk(b.j.Gate(r.ID).Needs)
			}
		}
	}
	walk(b.j.Gate(gate).Needs)
	return out
}

// flyNeeds is the furthest milestone of the joint that the ready gate waits for;
// tack-free where it names none, for the joint is inspected by then.
func (b *built) flyNeeds(j *job.Joint) cure.Milestone {
	need := cure.TackFree
	for _, r := range b.waitsFor(b.j.Ready) {
		if r.ID == j.ID {
			need = max(need, r.Milestone)
		}
	}
	return need
}

// byWitness reports whether a gate waits for a milestone that only a witness reading
// tells.
func (b *built) byWitness(gate string) bool {
	return slices.ContainsFunc(b.waitsFor(gate), func(r job.Ref) bool { return b.only(r.ID).witness })
}

// likely is when the plain curve has the joint there, and what it rests on.
func (b *built) likely(n *jointNodes, m cure.Milestone) (at time.Time, from string) {
	var src []string
	for k, f := range n.feels {
		c, _, err := f.class.Curve(m)
		if err != nil {
			continue
		}
		if !slices.Contains(src, c.From) {
			src = append(src, c.From)
		}
		for _, e := range n.finals[k] {
			w := cure.Warmth{}
			if f.warmed() {
				w.Warmed, w.WarmedC = true, f.warmC
			}
			if n.heat >= 0 && n.hot(m) {
				w.Heated, w.HeatFrom, w.HeatC = true, b.at(b.answer.Schedule.End[n.heat]), n.j.Heat.ToC
			}
			r, err := f.site.ReachWarmed(f.class, m, cure.Likely, b.at(b.answer.Schedule.End[e]), w)
			if err != nil || r.Never {
				return time.Time{}, strings.Join(src, "; ")
			}
			if r.At.After(at) {
				at = r.At.Truncate(time.Second)
			}
		}
	}
	return at, strings.Join(src, "; ")
}

// materials adds the pots up by class.
func (b *built) materials(mixes []Mix) []Material {
	var out []Material
	for _, m := range mixes {
		i := slices.IndexFunc(out, func(x Material) bool { return x.Class == m.Class })
		if i < 0 {
			out = append(out, Material{Class: m.Class})
			i = len(out) - 1
		}
		out[i].Pots++
		out[i].ML += m.ML
		out[i].Grams += m.Grams
		out[i].Part = out[i].Part || m.ML == 0
	}
	return out
}

// words writes a span of planning time.
func words(d time.Duration) string {
	m := int64(d / time.Minute)
	switch {
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", m/60)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
