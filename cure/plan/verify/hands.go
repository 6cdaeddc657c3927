package verify

import (
	"math"
	"time"

	"beadline/cure/plan/job"
)

// handsOnTime: a task takes its hands-on time, which a plan may round up to whole
// minutes and never down. One that is splittable is counted by the time its people
// are at work between its start and its end.
func (c *checker) handsOnTime() {
	for _, t := range c.tasks {
		need, splittable := c.handsOn(t)
		got := t.End.Sub(t.Start)
		if splittable && len(t.Who) > 0 {
			got = c.shifts.worked(t.Who, t.Start, t.End)
		}
		least := need
		if t.Kind == Mix && !c.handMixed(c.pot(t.Mix)) {
			least = 0
		}
		if got < least || got >= need+rounding {
			c.fault("hands-on time", "%s, %s to %s: %v at work; it takes %v", name(t), c.when(t.Start), c.when(t.End), got, need)
		}
	}
}

// handsOn is how long a task takes by the job.
func (c *checker) handsOn(t Task) (need time.Duration, splittable bool) {
	j := c.joint(t.Joint)
	switch t.Kind {
	case Prepare:
		s := j.Prepare[t.Index]
		return s.Takes, s.Splittable
	case Warm:
		return j.Warm.Takes, false
	case Mix:
		return c.job.Mixing.Takes, false
	case Lay:
		l := j.Layers[t.Layer]
		if counted(l) {
			return times(l.Each, t.Units), false
		}
		return times(l.Spread, t.Units), false
	case Torque:
		f := j.Fasteners
		rounds := math.Ceil(t.Units/float64(max(1, f.People))) * float64(max(1, f.Passes))
		return times(f.Each, rounds), false
	case Heat:
		return j.Heat.SetUp, false
	case Inspect:
		return j.Inspect.Takes, false
	case Access:
		a := c.job.AccessByName(t.Ref)
		return a.Takes, a.Splittable
	case Covers:
		for _, k := range c.job.Covers {
			need += k.Takes
		}
		return need, false
	}
	k := c.job.CheckByID(t.Ref)
	return k.Takes, k.Splittable
}

// times is a multiple of a duration, to the millisecond: a third of 12 min is
// 4 min.
func times(d time.Duration, n float64) time.Duration {
	s := math.Min(d.Seconds()*n, 1e9)
	return time.Duration(math.Round(s*1000)) * time.Millisecond
}

// hands is how many people a task needs and the skill they must have.
func (c *checker) hands(t Task) (people int, skill string) {
	j := c.joint(t.Joint)
	switch t.Kind {
	case Prepare:
		return 1, j.Prepare[t.Index].Can
	case Warm:
		return 0, ""
	case Mix:
		return 1, c.job.Mixing.Can
	case Lay:
		return 1, j.Layers[t.Layer].Can
	case Torque:
		return max(1, j.Fasteners.People), j.Fasteners.Can
	case Heat:
		return 1, j.Heat.Can
	case Inspect:
		return 1, j.Inspect.Can
	case Access:
		a := c.job.AccessByName(t.Ref)
		return max(1, a.Crew), a.Can
	case Covers:
		return 1, ""
	}
	k := c.job.CheckByID(t.Ref)
	return max(1, k.Crew), k.Can
}

// headCount: a task has as many people as it needs. Warming needs nobody.
func (c *checker) headCount() {
	for _, t := range c.tasks {
		if n, _ := c.hands(t); len(t.Who) != n {
			c.fault("head count", "%s at %s has %d people; it needs %d", name(t), c.when(t.Start), len(t.Who), n)
		}
	}
}

// person finds somebody of the crew, or nil.
func (c *checker) person(who string) *job.Person {
	for i := range c.job.Crew {
		if c.job.Crew[i].Who == who {
			return &c.job.Crew[i]
		}
	}
	return nil
}

// crewKnown: only the crew works, and nobody is named twice for one task.
func (c *checker) crewKnown() {
	for _, t := range c.tasks {
		for i, who := range t.Who {
			if c.person(who) == nil {
				c.fault("crew", "%s: there is no %q in the crew", name(t), who)
			}
			for _, other := range t.Who[:i] {
				if other == who {
					c.fault("crew", "%s names %s twice", name(t), who)
				}
			}
		}
	}
}

// skilled: who does a task has the skill it asks for. Covers need none.
func (c *checker) skilled() {
	for _, t := range c.tasks {
		_, skill := c.hands(t)
		for _, who := range t.Who {
			if p := c.person(who); p != nil && skill != "" && !p.Has(skill) {
				c.fault("skill", "%s: %s cannot %s", name(t), who, skill)
			}
		}
	}
}

// onePlace: nobody is in two places at once.
func (c *checker) onePlace() {
	for i, t := range c.tasks {
		for _, o := range c.tasks[:i] {
			if !t.Start.Before(o.End) || !o.Start.Before(t.End) || !t.Start.Before(t.End) || !o.Start.Before(o.End) {
				continue
			}
			for _, who := range t.Who {
				for _, other := range o.Who {
					if who == other {
						c.fault("two places", "%s is at %s and at %s at %s", who, name(o), name(t), c.when(later(t.Start, o.Start)))
					}
				}
			}
		}
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// inShift: people work within their shifts, not across a break and not while away;
// only what is splittable may pause, and its hands-on time counts the pauses out.
func (c *checker) inShift() {
	for _, t := range c.tasks {
		if _, splittable := c.handsOn(t); splittable {
			continue
		}
		for _, who := range t.Who {
			if c.person(who) != nil && !c.shifts.atWork(who, t.Start, t.End) {
				c.fault("shift", "%s, %s to %s: %s is not at work all that time", name(t), c.when(t.Start), c.when(t.End), who)
			}
		}
	}
}

// independent: who worked on a joint (prepared it, mixed for it, laid, torqued or
// set up its heat) inspects it at no stage.
func (c *checker) independent() {
	for _, j := range c.joints {
		did := map[string]string{}
		for _, t := range c.workOn(j) {
			for _, who := range t.Who {
				did[who] = name(t)
			}
		}
		for _, t := range append(j.examinations(), j.inspect...) {
			for _, who := range t.Who {
				if did[who] != "" {
					c.fault("independence", "%s by %s, who also did this: %s", name(t), who, did[who])
				}
			}
		}
	}
}

func (j *joint) examinations() (ts []Task) {
	for i, step := range j.prepare {
		if j.Prepare[i].Kind == job.Examine {
			ts = append(ts, step...)
		}
	}
	return ts
}

// workOn are the tasks that make a joint, inspections left out.
func (c *checker) workOn(j *joint) (ts []Task) {
	for i, step := range j.prepare {
		if j.Prepare[i].Kind != job.Examine {
			ts = append(ts, step...)
		}
	}
	for _, lay := range j.lay {
		for _, t := range lay {
			ts = append(ts, c.pot(t.Mix).mix...)
		}
		ts = append(ts, lay...)
	}
	ts = append(ts, j.torque...)
	return append(ts, j.heat...)
}
