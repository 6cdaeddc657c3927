package plan

import (
	"fmt"
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/plan/job"

	"github.com/rickb777/date/clock"
)

// change is one thing that could be done otherwise.
type change struct {
	what  string
	apply func(Input) Input
}

// Fixes are searched less far than the plan, and combined at most so deep: what takes
// four changes at once is no fix.
const (
	fixSteps   = 2000
	fixDeep    = 3
	fixClasses = 4 // other classes tried for one joint
)

// fixes plans the job again with one thing changed at a time, and lists what meets
// the wish. If nothing does alone, the change that helps most is kept and a second
// is looked for, and so on.
func fixes(in Input, p *Plan) []Fix {
	base, have := in, ""
	base.Steps, base.Brief = fixSteps, true
	if p.Found { // a change is of use only if it is ready sooner
		base.within = p.Ready.Sub(in.Job.Start)
	}
	cur := p
	var out []Fix
	for range fixDeep {
		var tried []Fix
		var helped []change
		for _, c := range changes(base, cur) {
			if in.Stop != nil && in.Stop() {
				break
			}
			changed := c.apply(base)
			q, err := makeOnce(changed)
			if err != nil || !q.Found || len(q.Faults(changed)) > 0 {
				continue
			}
			meets := in.Job.ReadyBy.IsZero() || !q.Ready.After(in.Job.ReadyBy)
			if cur.Found && !meets && !q.Ready.Before(cur.Ready) {
				continue
			}
			tried, helped = append(tried, Fix{join(have, c.what), q.Ready, meets}), append(helped, c)
		}
		order := make([]int, len(tried))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return tried[a].Ready.Compare(tried[b].Ready) })
		met := false
		for _, i := range order {
			met = met || tried[i].Meets
		}
		for n, i := range order {
			if tried[i].Meets || !met && n < 3 {
				out = append(out, tried[i])
			}
		}
		if met || len(order) == 0 {
			break
		}
		best := helped[order[0]]
		base, have = best.apply(base), tried[order[0]].What
		next, err := makeOnce(base)
		if err != nil {
			break
		}
		cur = next
	}
	slices.SortStableFunc(out, func(a, b Fix) int {
		if a.Meets != b.Meets {
			if a.Meets {
				return -1
			}
			return 1
		}
		return a.Ready.Compare(b.Ready)
	})
	return out
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; and " + b
}

// changes lists what could be changed on a job: the class of each joint, the crew,
// the hours, the warmth of the hangar, the size of the pot.
func changes(in Input, p *Plan) []change {
	var out []change
	for k := range in.Job.Joints {
		cs := otherClasses(in, p, k)
		out = append(out, cs[:min(len(cs), fixClasses)]...)
	}
	out = append(out, torqueTogether(in)...)
	out = append(out, morePeople(in)...)
	out = append(out,
		change{"work two hours longer on every shift", func(in Input) Input { return longer(in, 2*time.Hour) }},
		change{"work on every day of the week", everyDay},
		change{"keep the hangar 3 C warmer", func(in Input) Input { return warmer(in, 3) }},
	)
	if !p.Found {
		out = append(out, change{"keep the hangar 3 C cooler", func(in Input) Input { return warmer(in, -3) }})
	}
	if in.Job.Mixing.MaxML > 0 {
		out = append(out, change{"mix in a pot twice as large", func(in Input) Input {
			in.Job = clone(in.Job)
			in.Job.Mixing.MaxML *= 2
			return in
		}})
	}
	return out
}

// otherClasses proposes, for one joint, the classes that take all its seals and have
// every curve it needs: the quickest to cure, and those with the longest pot where
// the pot was too short.
func otherClasses(in Input, p *Plan, k int) []change {
	j := &in.Job.Joints[k]
	cur := in.Classes[p.Chosen[j.ID]]
	if cur == nil || len(j.Classes) == 0 {
		return nil
	}
	var fit []*cure.Class
	for _, c := range in.Others {
		if slices.Contains(j.Classes, c.ID) || !suits(c, cur, j) {
			continue
		}
		fit = append(fit, c)
	}
	slices.SortStableFunc(fit, func(a, b *cure.Class) int { return int(rated(a, cure.Cured) - rated(b, cure.Cured)) })
	if !p.Found { // the pot was too short, or nothing fits: longest pot first
		slices.SortStableFunc(fit, func(a, b *cure.Class) int { return int(rated(b, cure.Assembly) - rated(a, cure.Assembly)) })
	}
	var out []change
	for _, c := range fit {
		out = append(out, change{fmt.Sprintf("seal the %s with %s instead of %s*", j.ID, c.ID, cur.ID),
			func(in Input) Input {
				in.Job = clone(in.Job)
				in.Job.Joints[k].Classes = []string{c.ID}
				return in.know(c)
			}})
	}
	return out
}

func rated(c *cure.Class, m cure.Milestone) float64 {
	cv, _, err := c.Curve(m)
	if err != nil {
		return 0
	}
	return cv.Rated(cure.Bead{})
}

func suits(c, cur *cure.Class, j *job.Joint) bool {
	if c.Purpose != cur.Purpose {
		return false
	}
	for _, l := range j.Layers {
		if l.Class == "" && !c.Takes(l.Seal) {
			return false
		}
	}
	for m := range cure.NumMilestones {
		if cur.Has(m) && !c.Has(m) {
			return false
		}
	}
	return true
}

// know adds a class to those of the job, without touching the caller's map.
func (in Input) know(c *cure.Class) Input {
	m := map[string]*cure.Class{c.ID: c}
	for id, k := range in.Classes {
		m[id] = k
	}
	in.Classes = m
	return in
}

// torqueTogether lets two torque at the same time, where two can.
func torqueTogether(in Input) []change {
	var out []change
	for k := range in.Job.Joints {
		f := in.Job.Joints[k].Fasteners
		if f == nil || f.People > 1 || len(in.Job.SkillHolders(f.Can)) < 2 {
			continue
		}
		out = append(out, change{fmt.Sprintf("two people torque the %s together (people: 2)", in.Job.Joints[k].ID), func(in Input) Input {
			in.Job = clone(in.Job)
			g := *in.Job.Joints[k].Fasteners
			g.People = 2
			in.Job.Joints[k].Fasteners = &g
			return in
		}})
	}
	return out
}

// morePeople adds one more of each kind of person there is.
func morePeople(in Input) []change {
	var out []change
	seen := map[string]bool{}
	for _, p := range in.Job.Crew {
		key := fmt.Sprint(p.Can)
		if seen[key] {
			continue
		}
		seen[key] = true
		out = append(out, change{fmt.Sprintf("one more person who can do what %s does", p.Who), func(in Input) Input {
			in.Job = clone(in.Job)
			q := p
			q.Who, q.Away = another(in.Job, p.Who), nil
			in.Job.Crew = append(in.Job.Crew, q)
			for i, s := range in.Job.Shifts {
				if slices.Contains(s.Who, p.Who) {
					in.Job.Shifts[i].Who = append(slices.Clone(s.Who), q.Who)
				}
			}
			return in
		}})
	}
	return out
}

// another is a name for one more like somebody, that nobody on the job has yet.
func another(j *job.Job, who string) string {
	for n := 2; ; n++ {
		name := fmt.Sprintf("%s (%d)", who, n)
		if !slices.ContainsFunc(j.Crew, func(p job.Person) bool { return p.Who == name }) {
			return name
		}
	}
}

func longer(in Input, by time.Duration) Input {
	in.Job = clone(in.Job)
	for i := range in.Job.Shifts {
		s := &in.Job.Shifts[i]
		if s.Length()+by >= 24*time.Hour {
			continue
		}
		to := s.To.DurationSinceMidnight() + by
		if over := to - 24*time.Hour; over >= 0 && s.To > s.From {
			to = over
			if to >= s.From.DurationSinceMidnight() {
				continue
			}
		}
		s.To = clock.NewAt(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(to))
	}
	return in
}

func everyDay(in Input) Input {
	in.Job = clone(in.Job)
	for i := range in.Job.Shifts {
		if len(in.Job.Shifts[i].Dates) == 0 {
			in.Job.Shifts[i].Days = [7]bool{true, true, true, true, true, true, true}
		}
	}
	return in
}

// warmer lifts every swing and constant air; what was measured, or forecast reading by
// reading, stays. No water is added: the vapour stays as it was.
func warmer(in Input, by float64) Input {
	in.Job = clone(in.Job)
	for i := range in.Job.Air {
		a := &in.Job.Air[i]
		if a.Swing != nil {
			s := *a.Swing
			if math.IsNaN(s.DewC) {
				mean := (s.LowC + s.HighC) / 2
				s.RH = min(100, air.Humidity(mean+by, air.Vapour(mean, s.RH)))
			}
			s.LowC, s.HighC = s.LowC+by, s.HighC+by
			a.Swing = &s
		}
		if a.Constant != nil {
			c := *a.Constant
			pv := c.Vapour()
			c.TempC += by
			c.RH = min(100, air.Humidity(c.TempC, pv))
			a.Constant = &c
		}
	}
	return in
}

func clone(j *job.Job) *job.Job {
	c := *j
	c.Air, c.Crew, c.Shifts, c.Joints = slices.Clone(j.Air), slices.Clone(j.Crew), slices.Clone(j.Shifts), slices.Clone(j.Joints)
	return &c
}
