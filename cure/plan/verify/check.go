package verify

import (
	"fmt"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// Check holds the plan against every rule and lists what it breaks, in the order of
// the rules below; an empty list is a plan that keeps them all. It never panics,
// whatever the plan holds: a task that cannot be read is a fault of its own and is
// left out of the rest.
//
// Instants are compared with the slack of a rounding only: a second on a line that
// must not be crossed, two on one that must be waited for, a minute on hands-on
// time, which a plan may round up and never down.
func (p Plan) Check() []Fault {
	c := &checker{plan: p, job: p.Job}
	if !c.readable() {
		return c.faults
	}
	c.index()
	for _, rule := range rules {
		rule(c)
	}
	return c.faults
}

// rules are all there are, in the order a technician would ask.
var rules = []func(*checker){
	// Is everything there, and nothing else?
	(*checker).withinTheAir, (*checker).beforeStart,
	(*checker).preparedOnce, (*checker).laidWhole, (*checker).torquedWhole, (*checker).inspectedOnce,
	(*checker).accessOnce, (*checker).coversOnce, (*checker).checksOnce,
	(*checker).mixedOnce, (*checker).warmedOnce, (*checker).heatedOnce,
	// Does each task take its time, with the right people?
	(*checker).handsOnTime, (*checker).headCount, (*checker).crewKnown, (*checker).skilled,
	(*checker).onePlace, (*checker).inShift, (*checker).independent,
	// Does the sealant suit the joint, and the pot the layer?
	(*checker).classFits, (*checker).potOfOneClass, (*checker).potShared, (*checker).potSize, (*checker).onePotForFaying,
	// Is the order kept?
	(*checker).prepareOrder, (*checker).prepareBeforeLay, (*checker).promoterDry, (*checker).sealWithin, (*checker).jointAfter,
	(*checker).warmBeforeLay, (*checker).warmSittingInShift,
	(*checker).mixBeforeLay, (*checker).layBeforeTorque, (*checker).layerOrder, (*checker).overFasteners, (*checker).layerAfter, (*checker).layerWithin,
	(*checker).torqueTime, (*checker).inspectTackFree,
	(*checker).accessOrder, (*checker).hidden, (*checker).coversAfterWetWork, (*checker).coversBeforeClosing, (*checker).checkAfter,
	// Are the lines kept?
	(*checker).applicationLine, (*checker).assemblyLine, (*checker).filmLine, (*checker).mixInShift,
	(*checker).partWindow, (*checker).dewPoint, (*checker).airHumidity,
	(*checker).heatClass, (*checker).heatGasFree, (*checker).heatStart,
	(*checker).curvesThere, (*checker).linesKept, (*checker).linesInOrder, (*checker).witness, (*checker).gatesKept, (*checker).readyKept, (*checker).readyBy,
	// Is what is printed beside them true?
	(*checker).gateWitness, (*checker).rowsWhole, (*checker).rowMixBy, (*checker).rowTorqueTo,
	(*checker).potRowStart, (*checker).potRowLine, (*checker).potRowShift, (*checker).potRowDone,
	(*checker).rowClose, (*checker).rowFlyNeeds, (*checker).rowFly, (*checker).rowWitness,
}

const (
	notAfterSlack  = time.Second     // on a line that must not be crossed
	notBeforeSlack = 2 * time.Second // on a line that must be waited for
	rounding       = time.Minute     // hands-on time may be rounded up by less than this
)

// checker is one plan being checked.
type checker struct {
	plan   Plan
	job    *job.Job
	faults []Fault

	tasks  []Task // those that can be read, as the plan has them
	joints []*joint
	pots   []*pot // in the order they are first met
	access map[string][]Task
	checks map[string][]Task
	covers []Task

	air    *airs
	shifts *calendar
	end    time.Time // the last instant in the plan
}

// joint is a joint of the job with its tasks.
type joint struct {
	*job.Joint
	prepare [][]Task // by step
	lay     [][]Task // by layer
	torque  []Task
	warm    []Task
	heat    []Task
	inspect []Task

	paths map[pathKey]*path
	known map[lineKey]reached
}

// pot is one mix with what is done out of it.
type pot struct {
	id     string
	mix    []Task
	lay    []Task
	torque []Task
}

func (c *checker) fault(rule, format string, args ...any) {
	c.faults = append(c.faults, Fault{rule, fmt.Sprintf(format, args...)})
}

// when is an instant as people read it, in the job's zone.
func (c *checker) when(t time.Time) string { return t.In(c.job.Zone).Format("Mon 2 Jan 15:04:05 MST") }

// readable looks whether there is anything to check at all, and keeps the tasks
// that point at something of the job.
func (c *checker) readable() bool {
	switch {
	case c.job == nil:
		c.fault("job", "the plan has no job to be checked against")
		return false
	case c.job.Zone == nil:
		c.fault("job", "the job has no time zone, so its shifts cannot be read")
		return false
	case c.plan.Air == nil:
		c.fault("air", "the plan has no air history to be checked against")
		return false
	}
	for _, t := range c.plan.Tasks {
		switch wrong := c.unreadable(t); {
		case wrong != "":
			c.fault("unknown task", "%s task at %s: %s", t.Kind, c.when(t.Start), wrong)
		case t.End.Before(t.Start):
			c.fault("unknown task", "%s ends at %s, before it starts at %s", name(t), c.when(t.End), c.when(t.Start))
		default:
			c.tasks = append(c.tasks, t)
		}
	}
	return true
}

// unreadable says why a task means nothing in this job; "" if it does.
func (c *checker) unreadable(t Task) string {
	switch t.Kind {
	case Mix:
		if t.Mix == "" {
			return "it does not say which pot is mixed"
		}
	case Access:
		if a := c.job.AccessByName(t.Ref); a == nil || a.StaysOff {
			return fmt.Sprintf("%q is nothing that goes back on", t.Ref)
		}
	case Covers:
		if len(c.job.Covers) == 0 {
			return "the job has no covers"
		}
	case Check:
		if c.job.CheckByID(t.Ref) == nil {
			return fmt.Sprintf("the job has no check %q", t.Ref)
		}
	case Prepare, Warm, Lay, Torque, Heat, Inspect:
		j := c.job.JointByID(t.Joint)
		if j == nil {
			return fmt.Sprintf("the job has no joint %q", t.Joint)
		}
		return outside(t, j)
	default:
		return "there is no such kind of task"
	}
	return ""
}

// outside says what of a joint's task is not in the joint.
func outside(t Task, j *job.Joint) string {
	switch {
	case t.Kind == Prepare && (t.Index < 0 || t.Index >= len(j.Prepare)):
		return fmt.Sprintf("%s has no preparation step %d", j.ID, t.Index+1)
	case (t.Kind == Lay || t.Kind == Torque || t.Kind == Warm) && (t.Layer < 0 || t.Layer >= len(j.Layers)):
		return fmt.Sprintf("%s has no layer %d", j.ID, t.Layer+1)
	case t.Kind == Torque && j.Fasteners == nil:
		return j.ID + " has no fasteners"
	case t.Kind == Warm && j.Warm == nil:
		return j.ID + " is not to be warmed"
	case t.Kind == Heat && j.Heat == nil:
		return j.ID + " is not to be heated"
	case (t.Kind == Lay || t.Kind == Torque) && !(t.Units > 0 && t.Units < 1e9):
		return fmt.Sprintf("%g of %s is no amount of work", t.Units, j.ID)
	}
	return ""
}

// index sorts the tasks by what they belong to.
func (c *checker) index() {
	byID := map[string]*joint{}
	for i := range c.job.Joints {
		jt := &c.job.Joints[i]
		j := &joint{Joint: jt, prepare: make([][]Task, len(jt.Prepare)), lay: make([][]Task, len(jt.Layers)),
			paths: map[pathKey]*path{}, known: map[lineKey]reached{}}
		c.joints, byID[jt.ID] = append(c.joints, j), j
	}
	c.access, c.checks = map[string][]Task{}, map[string][]Task{}
	for _, t := range c.tasks {
		j := byID[t.Joint]
		switch t.Kind {
		case Prepare:
			j.prepare[t.Index] = append(j.prepare[t.Index], t)
		case Warm:
			j.warm = append(j.warm, t)
		case Mix:
			p := c.pot(t.Mix)
			p.mix = append(p.mix, t)
		case Lay:
			j.lay[t.Layer] = append(j.lay[t.Layer], t)
			p := c.pot(t.Mix)
			p.lay = append(p.lay, t)
		case Torque:
			j.torque = append(j.torque, t)
			if j.Fasteners.Torque == job.TorqueWet {
				p := c.pot(t.Mix)
				p.torque = append(p.torque, t)
			}
		case Heat:
			j.heat = append(j.heat, t)
		case Inspect:
			j.inspect = append(j.inspect, t)
		case Access:
			c.access[t.Ref] = append(c.access[t.Ref], t)
		case Covers:
			c.covers = append(c.covers, t)
		case Check:
			c.checks[t.Ref] = append(c.checks[t.Ref], t)
		}
	}
	c.end = later(last(c.tasks), c.plan.Ready)
	for _, l := range c.plan.Lines {
		c.end = later(c.end, l.At)
	}
	for _, g := range c.plan.Gates {
		c.end = later(c.end, g.At)
	}
	work := last(c.tasks)
	for _, r := range c.plan.Rows {
		c.end = later(c.end, later(r.CloseFrom, r.FlyFrom))
		for _, p := range r.Pots {
			work = later(work, p.DoneBy)
		}
	}
	c.air = newAirs(c.plan.Air, c.job.Start)
	c.shifts = newCalendar(c.job, work)
}

// pot finds a pot by its id, or takes note of a new one.
func (c *checker) pot(id string) *pot {
	for _, p := range c.pots {
		if p.id == id {
			return p
		}
	}
	c.pots = append(c.pots, &pot{id: id})
	return c.pots[len(c.pots)-1]
}

func (c *checker) joint(id string) *joint {
	for _, j := range c.joints {
		if j.ID == id {
			return j
		}
	}
	return nil
}

// class is what a layer is made of; nil where the plan does not say, which
// classFits reports.
func (c *checker) class(j *joint, layer int) *cure.Class {
	return c.plan.Classes[c.classID(j, layer)]
}

func (c *checker) classID(j *joint, layer int) string {
	if id := j.Layers[layer].Class; id != "" {
		return id
	}
	if id := c.plan.Chosen[j.ID]; id != "" {
		return id
	}
	if len(j.Classes) == 1 {
		return j.Classes[0]
	}
	return ""
}

// start is when a pot's time begins to run: the first touch of accelerator and
// base, or, for sealant that is used as it comes, the first of it laid.
func (p *pot) start() time.Time {
	if len(p.mix) > 0 {
		return first(p.mix)
	}
	return first(p.lay)
}

// first is the earliest start of some tasks, last their latest end; the zero time
// for none.
func first(ts []Task) (t time.Time) {
	for i, k := range ts {
		if i == 0 || k.Start.Before(t) {
			t = k.Start
		}
	}
	return t
}

func last(ts []Task) (t time.Time) {
	for i, k := range ts {
		if i == 0 || k.End.After(t) {
			t = k.End
		}
	}
	return t
}

// name says what a task is, in words.
func name(t Task) string {
	switch t.Kind {
	case Prepare:
		return fmt.Sprintf("preparation step %d of %s", t.Index+1, t.Joint)
	case Warm:
		return "warming " + t.Joint
	case Mix:
		return "mix " + t.Mix
	case Lay:
		return fmt.Sprintf("laying layer %d of %s from mix %s", t.Layer+1, t.Joint, t.Mix)
	case Torque:
		return "torque of " + t.Joint
	case Heat:
		return "setting up heat at " + t.Joint
	case Inspect:
		return "inspection of " + t.Joint
	case Access:
		return "putting back " + t.Ref
	case Covers:
		return "accounting for the covers"
	}
	return t.Ref
}
