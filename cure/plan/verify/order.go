package verify

import (
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// prepareOrder: preparation steps follow each other in the job's order.
func (c *checker) prepareOrder() {
	for _, j := range c.joints {
		for i := 1; i < len(j.prepare); i++ {
			c.follows("prepare order", j.prepare[i], j.prepare[i-1])
		}
	}
}

// follows reports each task that starts before the tasks in front of it have
// ended.
func (c *checker) follows(rule string, ts, before []Task) {
	for _, t := range ts {
		for _, b := range before {
			if t.Start.Before(b.End) {
				c.fault(rule, "%s starts at %s, before the end of %s at %s", name(t), c.when(t.Start), name(b), c.when(b.End))
				break
			}
		}
	}
}

// allLays are the lays of a joint, layer by layer.
func (j *joint) allLays() (ts []Task) {
	for _, lay := range j.lay {
		ts = append(ts, lay...)
	}
	return ts
}

// prepareBeforeLay: nothing is laid on a joint before it is prepared.
func (c *checker) prepareBeforeLay() {
	for _, j := range c.joints {
		if n := len(j.prepare); n > 0 {
			c.follows("prepared before laid", j.allLays(), j.prepare[n-1])
		}
	}
}

// promoterDry: nothing is laid before the promoter is dry.
func (c *checker) promoterDry() {
	for _, j := range c.joints {
		for i, step := range j.prepare {
			if j.Prepare[i].Dry <= 0 || len(step) == 0 {
				continue
			}
			dry := last(step).Add(j.Prepare[i].Dry)
			for _, t := range j.allLays() {
				if t.Start.Before(dry) {
					c.fault("promoter dry", "%s starts at %s; the promoter is dry at %s", name(t), c.when(t.Start), c.when(dry))
				}
			}
		}
	}
}

// sealWithin: the first sitting of wet work is laid while the cleaning and the
// promoter are still good, each counted from its end.
func (c *checker) sealWithin() {
	for _, j := range c.joints {
		for i, step := range j.prepare {
			if j.Prepare[i].Within <= 0 || len(step) == 0 {
				continue
			}
			end := last(step).Add(j.Prepare[i].Within)
			for _, t := range j.sitting(0) {
				if t.End.After(end.Add(notAfterSlack)) {
					c.fault("seal within", "%s ends at %s; after the %s it had to be laid by %s", name(t), c.when(t.End), j.Prepare[i].Kind, c.when(end))
				}
			}
		}
	}
}

// jointAfter: wet work waits for what the joint is to come after.
func (c *checker) jointAfter() {
	for _, j := range c.joints {
		for _, r := range j.After {
			c.waits("joint after", j.allLays(), r)
		}
	}
}

// waits reports tasks that start before a reference is so.
func (c *checker) waits(rule string, ts []Task, r job.Ref) {
	at, ok := c.ref(r)
	for _, t := range ts {
		if ok && t.Start.Before(at) {
			c.fault(rule, "%s starts at %s; %s is not before %s", name(t), c.when(t.Start), r.Text, c.when(at))
		}
	}
}

// warmBeforeLay: the structure is warm before the sitting's sealant is laid on it.
func (c *checker) warmBeforeLay() {
	for _, j := range c.joints {
		for _, w := range j.warm {
			c.follows("warm before laid", j.sitting(w.Layer), []Task{w})
		}
	}
}

// warmSittingInShift: what is laid on a warmed structure is laid in the shift in
// which warming began, for it does not stay warm overnight.
func (c *checker) warmSittingInShift() {
	for _, j := range c.joints {
		for _, w := range j.warm {
			ts := j.sitting(w.Layer)
			if end := last(ts); len(ts) > 0 && !c.shifts.oneShift(w.Start, end) {
				c.fault("warm in shift", "%s starts at %s and the last of its sitting is laid at %s, which is not in one shift",
					name(w), c.when(w.Start), c.when(end))
			}
		}
	}
}

// mixBeforeLay: a pot is mixed before anything is laid from it.
func (c *checker) mixBeforeLay() {
	for _, p := range c.pots {
		c.follows("mixed before laid", p.lay, p.mix)
	}
}

// layBeforeTorque: a fastener is torqued once the sealant it sits in is laid: the
// whole of a film, or as many wet fasteners as there are laid from the pot; and
// once every film over that one is laid too.
func (c *checker) layBeforeTorque() {
	for _, j := range c.joints {
		for _, t := range j.torque {
			for k := t.Layer + 1; k < len(j.lay) && film(j.Layers[k].Seal) && film(j.Layers[t.Layer].Seal); k++ {
				c.follows("laid before torqued", []Task{t}, j.lay[k])
			}
			lay := j.lay[t.Layer]
			if !counted(j.Layers[t.Layer]) {
				c.follows("laid before torqued", []Task{t}, lay)
				continue
			}
			// What is never laid or torqued at all is reported by itself.
			laid, inHand, laidAll, torquedAll := 0.0, 0.0, 0.0, 0.0
			for _, l := range lay {
				if l.Mix != t.Mix && t.Mix != "" {
					continue
				}
				if laidAll += l.Units; !l.End.After(t.Start) {
					laid += l.Units
				}
			}
			for _, o := range j.torque {
				if o.Layer != t.Layer || o.Mix != t.Mix {
					continue
				}
				if torquedAll += o.Units; !o.Start.After(t.Start) {
					inHand += o.Units
				}
			}
			if inHand > laid && torquedAll <= laidAll && j.closes(t.Layer) {
				c.fault("laid before torqued", "%s at %s: %g fasteners in hand, sealant laid for %g", name(t), c.when(t.Start), inHand, laid)
			}
		}
	}
}

// layerOrder: layers follow each other.
func (c *checker) layerOrder() {
	for _, j := range c.joints {
		for k := 1; k < len(j.lay); k++ {
			c.follows("layer order", j.lay[k], j.lay[k-1])
		}
	}
}

// overFasteners: what goes over the fasteners, an overcoat or a fillet, waits for
// every torque in the layers below it, wet or late: a torque under it would break
// its seal.
func (c *checker) overFasteners() {
	for _, j := range c.joints {
		for k, lay := range j.lay {
			if !underFasteners(j.Layers[k]) {
				c.follows("over fasteners", lay, slices.DeleteFunc(slices.Clone(j.torque), func(t Task) bool { return t.Layer >= k }))
			}
		}
	}
}

// torqueOf are the wet torques in a layer.
func (j *joint) torqueOf(layer int) (ts []Task) {
	for _, t := range j.torque {
		if t.Layer == layer && j.Fasteners.Torque == job.TorqueWet {
			ts = append(ts, t)
		}
	}
	return ts
}

// layerAfter: a layer waits for the milestone it is to come after, of all layers
// before it.
func (c *checker) layerAfter() {
	for _, j := range c.joints {
		for k, l := range j.Layers {
			if k == 0 || !l.AfterSet {
				continue
			}
			at, ok := c.earliest(j, k-1, l.After)
			for _, t := range j.lay[k] {
				if ok && t.Start.Before(at.Add(-notBeforeSlack)) {
					c.fault("layer after", "%s starts at %s; the layers before it reach %s at %s", name(t), c.when(t.Start), l.After, c.when(at))
				}
			}
		}
	}
}

// layerWithin: a layer that must be laid within a time after that milestone is. The
// time counts from when the milestone is likely, not from its line: the line is late
// on purpose, and a window that is not to be missed does not wait for it.
func (c *checker) layerWithin() {
	for _, j := range c.joints {
		for k, l := range j.Layers {
			if k == 0 || !l.AfterSet || l.Within <= 0 {
				continue
			}
			r := c.milestone(j, 0, k-1, l.After, cure.Likely, false)
			end := r.at.Add(l.Within)
			for _, t := range j.lay[k] {
				if r.state == atInstant && t.End.After(end.Add(rounding)) {
					c.fault("layer within", "%s ends at %s; it had to be laid by %s, %v after %s", name(t), c.when(t.End), c.when(end), l.Within, l.After)
				}
			}
		}
	}
}

// torqueTime: a film is torqued wet, for a later torque breaks it; the fasteners
// of a formed-in-place gasket wait for the milestone that the job says.
func (c *checker) torqueTime() {
	for _, j := range c.joints {
		if j.Fasteners == nil || j.Fasteners.Torque == job.TorqueWet || j.Fasteners.Torque == "" {
			continue
		}
		for k, l := range j.Layers {
			if film(l.Seal) {
				c.fault("torque time", "layer %d of %s is a film; torque %s breaks it", k+1, j.ID, j.Fasteners.Torque)
			}
		}
		m := torqueMilestone(j.Fasteners.Torque)
		for _, t := range j.torque {
			at, ok := c.earliestOf(j, t.Layer, t.Layer, m, true)
			if ok && t.Start.Before(at.Add(-notBeforeSlack)) {
				c.fault("torque time", "%s starts at %s; the gasket reaches %s at %s", name(t), c.when(t.Start), m, c.when(at))
			}
		}
	}
}

// inspectTackFree: a joint is inspected once all its layers are tack-free and all its
// fasteners torqued, those of a gasket too.
func (c *checker) inspectTackFree() {
	for _, j := range c.joints {
		at, ok := c.tackFree(j)
		for _, t := range j.inspect {
			if end := last(j.torque); t.Start.Before(end) {
				c.fault("inspected torqued", "%s starts at %s; its last fastener is torqued at %s", name(t), c.when(t.Start), c.when(end))
			}
			if ok && t.Start.Before(at.Add(-notBeforeSlack)) {
				c.fault("inspected tack-free", "%s starts at %s; it is tack-free at %s", name(t), c.when(t.Start), c.when(at))
			}
		}
	}
}

// wetEnd is when the last sealant of a joint is laid or its last wet fastener
// torqued.
func (j *joint) wetEnd() time.Time {
	ts := j.allLays()
	for k := range j.Layers {
		ts = append(ts, j.torqueOf(k)...)
	}
	return last(ts)
}
