package verify

import (
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// classFits: every layer has a class that is known, that the job allows, that is
// meant for its seal, and that cures in its bead.
func (c *checker) classFits() {
	for _, j := range c.joints {
		if id := c.plan.Chosen[j.ID]; id != "" && len(j.Classes) > 0 && !slices.Contains(j.Classes, id) {
			c.fault("class", "%s: %s is not among the classes the job allows", j.ID, id)
		}
		for k, l := range j.Layers {
			cl := c.class(j, k)
			switch {
			case cl == nil:
				c.fault("class", "layer %d of %s: the sealant class %q is not in the plan", k+1, j.ID, c.classID(j, k))
			case !cl.Takes(l.Seal):
				c.fault("class", "layer %d of %s: %s is not meant for a %s seal", k+1, j.ID, cl.ID, l.Seal)
			case cl.MaxGapMM > 0 && film(l.Seal) && l.Bead.ThicknessMM > cl.MaxGapMM+unitSlack:
				c.fault("class", "layer %d of %s: %s cures in a gap of %g mm at most, not %g mm", k+1, j.ID, cl.ID, cl.MaxGapMM, l.Bead.ThicknessMM)
			}
		}
	}
}

// potOfOneClass: one pot holds one class.
func (c *checker) potOfOneClass() {
	for _, p := range c.pots {
		for _, t := range p.lay {
			a, b := c.classID(c.joint(p.lay[0].Joint), p.lay[0].Layer), c.classID(c.joint(t.Joint), t.Layer)
			if a != b {
				c.fault("pot of one class", "mix %s is %s and %s", p.id, a, b)
				break
			}
		}
	}
}

// potShared: layers that name the same mix are laid from one pot, others have pots
// of their own.
func (c *checker) potShared() {
	named := map[string]string{} // mix as the job names it, to the pot
	for _, p := range c.pots {
		for _, t := range p.lay {
			a, b := p.lay[0], t
			mixA, mixB := c.joint(a.Joint).Layers[a.Layer].Mix, c.joint(b.Joint).Layers[b.Layer].Mix
			same := a.Joint == b.Joint && a.Layer == b.Layer
			if !same && (mixA == "" || mixA != mixB) {
				c.fault("pot shared", "mix %s serves layer %d of %s and layer %d of %s, which do not name the same mix",
					p.id, a.Layer+1, a.Joint, b.Layer+1, b.Joint)
				break
			}
			if mixB == "" {
				continue
			}
			if first, known := named[mixB]; known && first != p.id {
				c.fault("pot shared", "the layers of mix %q are laid from two pots, %s and %s", mixB, first, p.id)
				break
			}
			named[mixB] = p.id
		}
	}
}

// potSize: no pot is larger than the largest that can be mixed, or than its class's
// pot life is given for.
func (c *checker) potSize() {
	m := c.job.Mixing
	if m.Waste >= 1 {
		return
	}
	for _, p := range c.pots {
		ml := c.holds(p)
		if m.MaxML > 0 && ml > m.MaxML*(1+1e-6) {
			c.fault("pot size", "mix %s must be %.1f ml; %.1f ml can be mixed at once", p.id, ml, m.MaxML)
		}
		for _, t := range p.lay {
			cl := c.class(c.joint(t.Joint), t.Layer)
			if f := massOf(cl, cure.Application); f != nil && ml*cl.Density > f.MaxG*(1+1e-6) {
				c.fault("pot mass", "mix %s is %.1f g; the pot life of %s is given for %.1f g at most", p.id, ml*cl.Density, cl.ID, f.MaxG)
				break
			}
		}
	}
}

// holds is what a pot must hold, in ml: what is laid from it and what is lost of it.
func (c *checker) holds(p *pot) (ml float64) {
	for _, t := range p.lay {
		ml += volume(c.joint(t.Joint), t)
	}
	return ml / (1 - c.job.Mixing.Waste)
}

// massOf is what the mass of a pot does to a not-after line; nil: nothing.
func massOf(cl *cure.Class, m cure.Milestone) *cure.MassFactor {
	if cl == nil {
		return nil
	}
	curve, _, err := cl.Curve(m)
	if err != nil {
		return nil
	}
	return curve.Mass
}

// volume is what a lay puts on the joint, in ml, as far as the job says.
func volume(j *joint, t Task) float64 {
	l := j.Layers[t.Layer]
	b, part := l.Bead, t.Units/math.Max(1, j.whole(t.Layer))
	switch {
	case b.PerFastenerML > 0 && j.Fasteners != nil:
		return b.PerFastenerML * part * float64(j.Fasteners.Count)
	case l.Seal == cure.Fillet:
		return b.LengthMM * b.LegMM * b.LegMM / 2 / 1000 * part
	}
	return b.AreaMM2 * b.ThicknessMM / 1000 * part
}

// onePotForFaying: a faying face is one wet face, laid from one pot.
func (c *checker) onePotForFaying() {
	for _, j := range c.joints {
		for k, lay := range j.lay {
			for _, t := range lay {
				if j.Layers[k].Seal == cure.Faying && t.Mix != lay[0].Mix {
					c.fault("one pot", "layer %d of %s is a faying face and is laid from mix %s and mix %s", k+1, j.ID, lay[0].Mix, t.Mix)
					break
				}
			}
		}
	}
}

// applicationLine: nothing is laid after the application line of its pot, counted
// from the start of mixing on the warmer of pot and air.
func (c *checker) applicationLine() {
	for _, p := range c.pots {
		for _, t := range p.lay {
			c.before("application line", p, t, cure.Application, t.Layer)
		}
	}
}

// assemblyLine: no fastener is torqued wet after the assembly line of the pot it
// sits in (the application line where none is published), counted from the start
// of mixing on the pot or on the part, whichever is shorter.
func (c *checker) assemblyLine() {
	for _, p := range c.pots {
		for _, t := range p.torque {
			c.before("assembly line", p, t, cure.Assembly, t.Layer)
		}
	}
}

// filmLine: fasteners go through every film of their joint, so all of them are in
// before the assembly line of each film's pot, whatever pot of their own they sit in:
// a faying face under or over wet-installed fasteners, and these under or over it.
func (c *checker) filmLine() {
	for _, p := range c.pots {
		for _, j := range c.joints {
			for _, t := range j.torque {
				for _, layer := range j.sits(p, t) {
					own := t.Mix == p.id && t.Layer == layer
					if !own && c.before("film line", p, t, cure.Assembly, layer) {
						break
					}
				}
			}
		}
	}
}

// sits are the layers laid from a pot that the fasteners of a wet torque sit in: the
// torque's own, and every other film of the joint. Which fastener sits in which pot
// is known of its own layer only; another film counts with all its pots.
func (j *joint) sits(p *pot, t Task) (layers []int) {
	if j.Fasteners == nil || j.Fasteners.Torque != job.TorqueWet {
		return nil
	}
	for _, l := range p.lay {
		if l.Joint != j.ID || slices.Contains(layers, l.Layer) {
			continue
		}
		seal, own := j.Layers[l.Layer].Seal, l.Layer == t.Layer
		if own && t.Mix == p.id || film(seal) && !own || seal == cure.Faying {
			layers = append(layers, l.Layer)
		}
	}
	return layers
}

// before reports a task that ends after a not-after line of a pot, as it counts for a
// layer of the task's joint.
func (c *checker) before(rule string, p *pot, t Task, m cure.Milestone, layer int) bool {
	j := c.joint(t.Joint)
	if cl := c.class(j, layer); cl != nil {
		if _, _, err := cl.Curve(m); err != nil {
			c.fault("no curve", "layer %d of %s: %v", layer+1, j.ID, err)
		}
	}
	line, crossed := c.crossed(p, j, layer, m, t.End)
	if crossed {
		c.fault(rule, "%s ends at %s; mix %s, begun at %s, reaches its %s line at %s",
			name(t), c.when(t.End), p.id, c.when(p.start()), m, c.when(line))
	}
	return crossed
}

// crossed is when a pot reaches a not-after line, as it counts for a layer of a
// joint, if that is before an instant by which the work is done.
func (c *checker) crossed(p *pot, j *joint, layer int, m cure.Milestone, done time.Time) (line time.Time, ok bool) {
	cl := c.class(j, layer)
	if cl == nil {
		return line, false
	}
	curve, _, err := cl.Curve(m)
	if err != nil {
		return line, false
	}
	line, ok = c.potLine(j, cl, curve, m, layer, c.holds(p)*cl.Density, p.start(), done)
	return line, ok && line.Before(done.Add(-notAfterSlack))
}

// potLine is when a not-after line of a pot of so many grams is reached, if that is
// before until. A pot larger than its class's reference is sooner, a smaller one never
// later.
func (c *checker) potLine(j *joint, cl *cure.Class, curve *cure.Curve, m cure.Milestone, layer int, grams float64, start, until time.Time) (time.Time, bool) {
	pace := newPace(cl, curve, m, cure.NotAfter, openBead(j.Layers[layer]))
	if f := curve.Mass; f != nil && grams > f.RefG {
		pace.scale *= math.Pow(f.RefG/grams, f.Power)
	}
	from, limit := c.air.seconds(start), math.Min(c.air.seconds(until), c.air.limit)
	reach := func(feel func(float64) feeling) (float64, bool) {
		return reach(func(u float64) float64 { return pace.rate(feel(u)) }, from, limit)
	}
	pot := c.job.Mixing.RoomC + c.job.Mixing.AddsC
	if m == cure.Application {
		u, ok := reach(c.air.potAndAir(pot))
		return c.air.instant(u), ok
	}
	a, okA := reach(c.air.potAlone(pot))
	b, okB := reach(c.part(j, cure.NotAfter, false).feel)
	switch {
	case okA && okB:
		return c.air.instant(math.Min(a, b)), true
	case okA:
		return c.air.instant(a), true
	}
	return c.air.instant(b), okB
}

// mixInShift: no mix is started whose last sealant or wet fastener falls after the
// shift.
func (c *checker) mixInShift() {
	for _, p := range c.pots {
		if len(p.lay) == 0 {
			continue
		}
		start, end := p.start(), last(append(slices.Clone(p.lay), p.torque...))
		if c.shifts.anyShift(start) && !c.shifts.oneShift(start, end) {
			c.fault("mix in shift", "mix %s is begun at %s and the last of it is done at %s, which is not in one shift", p.id, c.when(start), c.when(end))
		}
	}
}
