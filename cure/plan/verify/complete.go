package verify

import (
	"math"
	"slices"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// withinTheAir: no task lies outside the time the air is known for, since no line
// could be drawn there.
func (c *checker) withinTheAir() {
	for _, t := range c.tasks {
		if t.Start.Before(c.plan.Air.From()) || t.End.After(c.plan.Air.Until()) {
			c.fault("air", "%s, %s to %s, lies outside the air history, %s to %s", name(t),
				c.when(t.Start), c.when(t.End), c.when(c.plan.Air.From()), c.when(c.plan.Air.Until()))
		}
	}
}

// beforeStart: nobody works before the job starts.
func (c *checker) beforeStart() {
	for _, t := range c.tasks {
		if t.Start.Before(c.job.Start) {
			c.fault("before start", "%s starts at %s, before the job does at %s", name(t), c.when(t.Start), c.when(c.job.Start))
		}
	}
}

// once reports what is not there exactly once.
func (c *checker) once(rule, what string, ts []Task) {
	switch {
	case len(ts) == 0:
		c.fault(rule, "%s is missing", what)
	case len(ts) > 1:
		c.fault(rule, "%s is there %d times", what, len(ts))
	}
}

// preparedOnce: each preparation step is done once.
func (c *checker) preparedOnce() {
	for _, j := range c.joints {
		for i, ts := range j.prepare {
			c.once("prepared once", name(Task{Kind: Prepare, Joint: j.ID, Index: i}), ts)
		}
	}
}

// counted reports whether a layer is laid fastener by fastener.
func counted(l job.Layer) bool { return l.Spread <= 0 }

// whole is all of a layer in the units its tasks are given in: the number of
// fasteners, or 1.
func (j *joint) whole(layer int) float64 {
	switch {
	case !counted(j.Layers[layer]):
		return 1
	case j.Fasteners == nil:
		return 0
	}
	return float64(j.Fasteners.Count)
}

func units(ts []Task) (sum float64) {
	for _, t := range ts {
		sum += t.Units
	}
	return sum
}

const unitSlack = 1e-9 // on sums of fractions

// laidWhole: every layer is laid whole, neither more nor less; fasteners are not
// divided.
func (c *checker) laidWhole() {
	for _, j := range c.joints {
		for k, ts := range j.lay {
			if got, want := units(ts), j.whole(k); math.Abs(got-want) > unitSlack {
				c.fault("laid whole", "layer %d of %s: %g of %g is laid", k+1, j.ID, got, want)
			}
			for _, t := range ts {
				if counted(j.Layers[k]) && t.Units != math.Trunc(t.Units) {
					c.fault("laid whole", "%s: %g fasteners; a fastener is not divided", name(t), t.Units)
				}
			}
		}
	}
}

// torquedWhole: every fastener is torqued once; wet ones in a layer that
// fasteners close, with the pot they were laid from, and as many as were laid
// from it.
func (c *checker) torquedWhole() {
	for _, j := range c.joints {
		if j.Fasteners == nil {
			continue
		}
		if got, want := units(j.torque), float64(j.Fasteners.Count); got != want {
			c.fault("torqued whole", "%s: %g of %g fasteners are torqued", j.ID, got, want)
		}
		for _, t := range j.torque {
			if t.Units != math.Trunc(t.Units) {
				c.fault("torqued whole", "%s: %g fasteners; a fastener is not divided", name(t), t.Units)
			}
			if !j.closes(t.Layer) {
				c.fault("torqued whole", "%s belongs to layer %d, which no fastener closes", name(t), t.Layer+1)
			}
		}
		if j.Fasteners.Torque == job.TorqueWet {
			c.torquedFromItsPot(j)
		}
	}
}

func (c *checker) torquedFromItsPot(j *joint) {
	for _, t := range j.torque {
		if !slices.ContainsFunc(j.lay[t.Layer], func(l Task) bool { return l.Mix == t.Mix }) {
			c.fault("torqued whole", "%s at %s names mix %q, from which layer %d is not laid", name(t), c.when(t.Start), t.Mix, t.Layer+1)
			return
		}
	}
	for k, lay := range j.lay {
		torqued := slices.DeleteFunc(slices.Clone(j.torque), func(t Task) bool { return t.Layer != k })
		if len(torqued) == 0 || !counted(j.Layers[k]) || units(torqued) != units(lay) {
			continue
		}
		sum := map[string]float64{}
		for _, t := range lay {
			sum[t.Mix] += t.Units
		}
		for _, t := range torqued {
			if sum[t.Mix] -= t.Units; sum[t.Mix] < 0 {
				c.fault("torqued whole", "%s: more fasteners are torqued from mix %s than were laid from it", j.ID, t.Mix)
			}
		}
	}
}

// film reports whether the fasteners close the layer while it is wet and a later
// torque would break it.
func film(s cure.Seal) bool { return s == cure.Faying || s == cure.WetInstall }

// underFasteners reports whether a layer lies under or around the fasteners, not
// over them.
func underFasteners(l job.Layer) bool { return film(l.Seal) || l.Seal == cure.FormedGasket }

// closes reports whether the fasteners of the joint belong to a layer: one under
// or around them, if the joint has such a layer at all.
func (j *joint) closes(layer int) bool {
	return underFasteners(j.Layers[layer]) || !slices.ContainsFunc(j.Layers, underFasteners)
}

// lastUnderFasteners is the last layer, by index, that the fasteners belong to.
func (j *joint) lastUnderFasteners() int {
	for k := len(j.Layers) - 1; k > 0; k-- {
		if j.closes(k) {
			return k
		}
	}
	return 0
}

// inspectedOnce: each joint is inspected once.
func (c *checker) inspectedOnce() {
	for _, j := range c.joints {
		c.once("inspected once", "inspection of "+j.ID, j.inspect)
	}
}

// accessOnce: what came off goes back on once, save what stays off.
func (c *checker) accessOnce() {
	for _, a := range c.job.Access {
		if !a.StaysOff {
			c.once("back on once", "putting back "+a.Off, c.access[a.Off])
		}
	}
}

// coversOnce: the covers, if there are any, are accounted for once.
func (c *checker) coversOnce() {
	if len(c.job.Covers) > 0 {
		c.once("covers once", "accounting for the covers", c.covers)
	}
}

// checksOnce: each check is done once.
func (c *checker) checksOnce() {
	for _, k := range c.job.Checks {
		c.once("checked once", k.ID, c.checks[k.ID])
	}
}

// mixedOnce: each pot is mixed once and something is laid from it. A sealant that
// is used as it comes needs no mixing.
func (c *checker) mixedOnce() {
	for _, p := range c.pots {
		switch {
		case len(p.lay) == 0 && len(p.mix) > 0:
			c.fault("mixed once", "nothing is laid from mix %s", p.id)
		case len(p.lay) > 0 && (len(p.mix) > 1 || len(p.mix) == 0 && c.handMixed(p)):
			c.once("mixed once", "mix "+p.id, p.mix)
		}
	}
}

// handMixed reports whether the pot's sealant is mixed from two parts.
func (c *checker) handMixed(p *pot) bool {
	for _, t := range p.lay {
		if cl := c.class(c.joint(t.Joint), t.Layer); cl != nil && cl.MixByHand {
			return true
		}
	}
	return false
}

// sittings are the layers, by index, that begin a sitting of wet work: the first,
// and each that waits for the one before it.
func (j *joint) sittings() (begin []int) {
	for k, l := range j.Layers {
		if k == 0 || l.AfterSet {
			begin = append(begin, k)
		}
	}
	return begin
}

// sitting are the lays of the sitting that a layer begins.
func (j *joint) sitting(begin int) (ts []Task) {
	for k := begin; k < len(j.Layers) && (k == begin || !j.Layers[k].AfterSet); k++ {
		ts = append(ts, j.lay[k]...)
	}
	return ts
}

// warmedOnce: a joint that is warmed for sealing is warmed once for each sitting.
func (c *checker) warmedOnce() {
	for _, j := range c.joints {
		if j.Warm == nil {
			continue
		}
		begin := j.sittings()
		for _, b := range begin {
			ts := slices.DeleteFunc(slices.Clone(j.warm), func(t Task) bool { return t.Layer != b })
			c.once("warmed once", name(Task{Kind: Warm, Joint: j.ID}), ts)
		}
		for _, t := range j.warm {
			if !slices.Contains(begin, t.Layer) {
				c.fault("warmed once", "%s at %s is for layer %d, which begins no sitting of its own", name(t), c.when(t.Start), t.Layer+1)
			}
		}
	}
}

// heatedOnce: heat is set up once at most; a plan need not use it.
func (c *checker) heatedOnce() {
	for _, j := range c.joints {
		if len(j.heat) > 1 {
			c.once("heated once", name(j.heat[0]), j.heat)
		}
	}
}
