package verify

import (
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// loose is how much later than the checker's own a printed line may be before it
// is told: not unsafe, but a plan that makes people wait for nothing.
const loose = 30 * time.Minute

// reached is what the checker finds for itself about a milestone.
type reached struct {
	state state
	at    time.Time // for atInstant
	begin time.Time // from when it ran
}

type state uint8

const (
	atInstant state = iota
	never           // not by the end of the air history
	refused         // the class has no such curve, or the bead is too deep for it
	notLaid         // nothing to count from
)

type lineKey struct {
	layer  int
	m      cure.Milestone
	line   cure.Line
	heated bool
}

// layer is when one layer of a joint reaches a milestone, from its last sealant
// laid or its last fastener torqued wet. Every wet torque disturbs a film.
func (c *checker) layer(j *joint, key lineKey) reached {
	key.heated = key.heated && len(j.heat) > 0
	if r, ok := j.known[key]; ok {
		return r
	}
	r := c.findLayer(j, key)
	j.known[key] = r
	return r
}

func (c *checker) findLayer(j *joint, key lineKey) reached {
	cl := c.class(j, key.layer)
	if cl == nil || len(j.lay[key.layer]) == 0 {
		return reached{state: notLaid}
	}
	ts := slices.Clone(j.lay[key.layer])
	for k := range j.Layers {
		if k == key.layer || film(j.Layers[key.layer].Seal) {
			ts = append(ts, j.torqueOf(k)...)
		}
	}
	bead := curingBead(j.Layers[key.layer])
	if key.m.Line() != cure.NotBefore || key.m >= cure.NumMilestones {
		return reached{state: refused}
	}
	curve, _, err := cl.Curve(key.m)
	if err != nil || tooDeep(curve, bead) {
		return reached{state: refused}
	}
	begin := last(ts)
	pace := newPace(cl, curve, key.m, key.line, bead)
	feel := c.part(j, key.line, key.heated).feel
	u, ok := reach(func(u float64) float64 { return pace.rate(feel(u)) }, c.air.seconds(begin), c.horizon(j))
	if !ok {
		return reached{state: never, begin: begin}
	}
	return reached{at: c.air.instant(u), begin: begin}
}

// tooDeep reports whether a bead is deeper than the curve is given for; one that is
// open on two faces cures to its middle.
func tooDeep(c *cure.Curve, b cure.Bead) bool {
	if b.Faces == 2 {
		b.DepthMM /= 2
	}
	return c.MaxDepth > 0 && b.DepthMM > c.MaxDepth+edge
}

// milestone is when a joint's layers, from one of them to another, have all reached
// a milestone: the latest of them.
func (c *checker) milestone(j *joint, from, upTo int, m cure.Milestone, line cure.Line, heated bool) (latest reached) {
	for k := from; k <= upTo; k++ {
		r := c.layer(j, lineKey{k, m, line, heated})
		switch {
		case k == from || r.state > latest.state:
			r.begin = later(r.begin, latest.begin)
			latest = r
		case r.state == latest.state:
			latest.at, latest.begin = later(r.at, latest.at), later(r.begin, latest.begin)
		}
	}
	return latest
}

// horizon is how far lines are looked for, in seconds: a day beyond everything in
// the plan, for a line that is later still is broken already by what waits for it;
// to the end of the air history where a witness reading is to tell, so as to know
// whether a line could have been calculated.
func (c *checker) horizon(j *joint) float64 {
	if slices.ContainsFunc(c.plan.Lines, func(l Line) bool { return l.Joint == j.ID && l.ByWitness }) {
		return c.air.limit
	}
	return math.Min(c.air.limit, c.air.seconds(c.end.AddDate(0, 0, 1)))
}

// told reports whether the plan says that a witness reading tells of a milestone.
func (c *checker) told(j *joint, m cure.Milestone) bool {
	return slices.ContainsFunc(c.plan.Lines, func(l Line) bool { return l.Joint == j.ID && l.Milestone == m && l.ByWitness })
}

// earliest is the first instant at which a milestone of a joint's first layers may
// be counted on: the checker's own line. Where no line can be calculated and the
// plan says so, it is a witness reading that counts, and none is to be expected
// before the likely time. ok is false where there is nothing to count from, which
// is reported by itself.
func (c *checker) earliest(j *joint, upTo int, m cure.Milestone) (time.Time, bool) {
	return c.earliestOf(j, 0, upTo, m, true)
}

func (c *checker) earliestOf(j *joint, from, upTo int, m cure.Milestone, heated bool) (time.Time, bool) {
	r := c.milestone(j, from, upTo, m, cure.NotBefore, heated)
	if r.state == never && c.told(j, m) {
		if likely := c.milestone(j, from, upTo, m, cure.Likely, heated); likely.state == atInstant {
			return likely.at, true
		}
		return r.begin, true
	}
	return r.at, r.state == atInstant
}

// ready is when others may count on a joint's milestone: its sealant has reached it, and
// its last fastener is torqued, that of a gasket too.
func (c *checker) ready(j *joint, m cure.Milestone) (time.Time, bool) {
	at, ok := c.earliest(j, len(j.Layers)-1, m)
	return later(at, last(j.torque)), ok
}

// linesInOrder: what comes later in the life of a mix is not printed as earlier.
func (c *checker) linesInOrder() {
	for _, a := range c.plan.Lines {
		for _, b := range c.plan.Lines {
			if a.Joint == b.Joint && a.Milestone < b.Milestone && b.At.Before(a.At) {
				c.fault("line order", "%s is printed as %s from %s, before it is %s at %s", a.Joint, b.Milestone, c.when(b.At), a.Milestone, c.when(a.At))
			}
		}
	}
}

// tackFree is when all layers of a joint are.
func (c *checker) tackFree(j *joint) (time.Time, bool) {
	return c.earliest(j, len(j.Layers)-1, cure.TackFree)
}

// linesKept: every line that is printed is not before the checker's own, nor absurdly
// late where nothing but the air decides it.
func (c *checker) linesKept() {
	for _, l := range c.plan.Lines {
		j := c.joint(l.Joint)
		switch {
		case j == nil:
			c.fault("line", "the job has no joint %q, for which %s is printed", l.Joint, l.Milestone)
			continue
		case l.Milestone.Line() != cure.NotBefore || l.Milestone >= cure.NumMilestones:
			c.fault("line", "%s %s is no line to wait for", l.Joint, l.Milestone)
			continue
		case l.Heated && len(j.heat) == 0:
			c.fault("line", "%s %s is printed as heated, but no heat is set up", l.Joint, l.Milestone)
			continue
		}
		c.lineKept(j, l)
	}
}

func (c *checker) lineKept(j *joint, l Line) {
	at, ok := c.earliestOf(j, 0, len(j.Layers)-1, l.Milestone, l.Heated)
	if !ok {
		return
	}
	if l.At.Before(at.Add(-notBeforeSlack)) {
		c.fault("line", "%s %s is printed as %s; it is not before %s", j.ID, l.Milestone, c.when(l.At), c.when(at))
	}
	onlyAir := len(j.warm) == 0 && len(j.heat) == 0
	if onlyAir && !l.ByWitness && l.At.After(at.Add(loose)) {
		c.fault("loose line", "%s %s is printed as %s; %s is soon enough", j.ID, l.Milestone, c.when(l.At), c.when(at))
	}
}

// need is a milestone of a joint's first layers that something waits for.
type need struct {
	j    *joint
	upTo int
	m    cure.Milestone
	ref  bool // by the job's own words, so that it must be printed if a witness tells it
}

// needs are all milestones that anything in the job waits for: inspection and
// closing, late torque, the next layer, and the references of the job.
func (c *checker) needs() (all []need) {
	for _, j := range c.joints {
		whole := len(j.Layers) - 1
		all = append(all, need{j, whole, cure.TackFree, false})
		if j.Fasteners != nil && (j.Fasteners.Torque == job.TorqueTackFree || j.Fasteners.Torque == job.TorqueCured) {
			all = append(all, need{j, j.lastUnderFasteners(), torqueMilestone(j.Fasteners.Torque), false})
		}
		for k, l := range j.Layers {
			if k > 0 && l.AfterSet {
				all = append(all, need{j, k - 1, l.After, false})
			}
		}
	}
	for _, r := range c.milestonesRefd() {
		if j := c.joint(r.ID); j != nil {
			all = append(all, need{j, len(j.Layers) - 1, r.Milestone, true})
		}
	}
	return all
}

// milestonesRefd are the references of the job to a milestone.
func (c *checker) milestonesRefd() (refs []job.Ref) {
	for _, j := range c.joints {
		refs = append(refs, j.After...)
	}
	for _, a := range c.job.Access {
		refs = append(refs, a.After...)
	}
	for _, k := range c.job.Checks {
		refs = append(refs, k.After...)
	}
	for _, g := range c.job.Gates {
		refs = append(refs, g.Needs...)
	}
	return slices.DeleteFunc(refs, func(r job.Ref) bool { return r.Kind != job.RefMilestone })
}

// curvesThere: every layer's class has a curve, for the bead it lies in, for each
// milestone that is printed or that anything waits for.
func (c *checker) curvesThere() {
	type key struct {
		j     *joint
		layer int
		m     cure.Milestone
	}
	seen := map[key]bool{}
	look := func(j *joint, upTo int, m cure.Milestone) {
		for k := range upTo + 1 {
			if !seen[key{j, k, m}] && c.layer(j, lineKey{k, m, cure.NotBefore, true}).state == refused {
				c.fault("no curve", "layer %d of %s: %s has no %s curve for its bead", k+1, j.ID, c.classID(j, k), m)
			}
			seen[key{j, k, m}] = true
		}
	}
	for _, n := range c.needs() {
		look(n.j, n.upTo, n.m)
	}
	for _, l := range c.plan.Lines {
		if j := c.joint(l.Joint); j != nil && waitable(l.Milestone) {
			look(j, len(j.Layers)-1, l.Milestone)
		}
	}
}

func waitable(m cure.Milestone) bool { return m.Line() == cure.NotBefore && m < cure.NumMilestones }

// witness: what only a witness reading can tell is printed so: a milestone that is
// printed or waited for and is not reached by calculation, because the air is too
// dry or a film sees none; and every line of a closed film of a class that says so.
func (c *checker) witness() {
	type key struct {
		j *joint
		m cure.Milestone
	}
	seen := map[key]bool{}
	for _, l := range c.plan.Lines {
		j := c.joint(l.Joint)
		if j == nil || !waitable(l.Milestone) {
			continue
		}
		seen[key{j, l.Milestone}] = true
		if why := c.byWitness(j, len(j.Layers)-1, l.Milestone, l.Heated); why != "" && !l.ByWitness {
			c.fault("witness", "%s %s: %s; only a witness reading tells", j.ID, l.Milestone, why)
		}
	}
	for _, n := range c.needs() {
		if seen[key{n.j, n.m}] {
			continue
		}
		why := c.byWitness(n.j, n.upTo, n.m, true)
		if why != "" && (n.ref || why != closedFilm) {
			seen[key{n.j, n.m}] = true
			c.fault("witness", "%s %s is waited for and not printed: %s; only a witness reading tells", n.j.ID, n.m, why)
		}
	}
}

const closedFilm = "a closed film sees no air"

// byWitness says why no line can be calculated for a milestone; "" if one can.
func (c *checker) byWitness(j *joint, upTo int, m cure.Milestone, heated bool) string {
	if c.milestone(j, 0, upTo, m, cure.NotBefore, heated).state == never {
		return "it is not reached by " + c.when(c.air.instant(c.horizon(j)))
	}
	for k, l := range j.Layers[:upTo+1] {
		if cl := c.class(j, k); cl != nil && curingBead(l).Closed && cl.Moisture != nil && cl.Moisture.ClosedWitness {
			return closedFilm
		}
	}
	return ""
}
