package plan

import (
	"fmt"
	"slices"

	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
)

// way is one way to seal a joint: a class, with its heat or without.
type way struct {
	class string
	heat  bool
}

// ways are those through the choices a job leaves that are laid out together: the
// search takes one for each joint, and so many pots for each layer.
type ways struct {
	joint map[string][]way // in the order of preference
	extra map[string]int   // group of pots → how many beyond the fewest; nil: open
}

// maxWays bounds the ways of all joints together, each of which is laid out in full.
const maxWays = 64

// waysOf lists the ways of a job. Where joints of several classes share a pot by name,
// their classes cannot be chosen one by one, and each combination is a list of its own.
func waysOf(j *job.Job) ([]ways, error) {
	w := ways{joint: map[string][]way{}}
	n := 0
	for k := range j.Joints {
		x := &j.Joints[k]
		classes := x.Classes
		if len(classes) == 0 {
			classes = []string{""}
		}
		for _, c := range classes {
			w.joint[x.ID] = append(w.joint[x.ID], way{class: c})
			if x.Heat != nil {
				w.joint[x.ID] = append(w.joint[x.ID], way{c, true})
			}
		}
		if n += len(w.joint[x.ID]) - 1; n > maxWays {
			return nil, fmt.Errorf("%s:%d: the joints leave more than %d ways to choose class and heat: name fewer classes", j.File, x.Line, maxWays)
		}
	}
	out := []ways{w}
	for k := range j.Joints {
		x := &j.Joints[k]
		if !sharesPot(j, k) || len(x.Classes) < 2 {
			continue
		}
		var next []ways
		for _, o := range out {
			for _, c := range x.Classes {
				next = append(next, o.only(x.ID, func(w way) bool { return w.class == c }))
			}
		}
		if out = next; len(out) > maxWays {
			return nil, fmt.Errorf("%s:%d: joints that share a mix leave more than %d ways to combine classes: name fewer", j.File, x.Line, maxWays)
		}
	}
	return out, nil
}

// sharesPot reports whether a joint shares a named pot with another.
func sharesPot(j *job.Job, k int) bool {
	for _, l := range j.Joints[k].Layers {
		for i := range j.Joints {
			if l.Mix != "" && i != k && slices.ContainsFunc(j.Joints[i].Layers, func(m job.Layer) bool { return m.Mix == l.Mix }) {
				return true
			}
		}
	}
	return false
}

// only keeps those ways of a joint that are wanted.
func (w ways) only(joint string, want func(way) bool) ways {
	out := ways{joint: map[string][]way{}, extra: w.extra}
	for id, all := range w.joint {
		out.joint[id] = all
		if id == joint {
			out.joint[id] = slices.DeleteFunc(slices.Clone(all), func(x way) bool { return !want(x) })
		}
	}
	return out
}

// question is what a choice of the model is about.
type question struct {
	joint string // whose class and heat; "": a number of pots
	group string
	way   []solve.Pick // where it is a question at all
}

// choose adds a choice of so many ways to the model, open where the present ways are
// taken, and gives it; −1 where there is but one way.
func (b *built) choose(ways int, o question, name string) int {
	if ways < 2 {
		return -1
	}
	o.way = slices.Clone(b.with)
	b.m.Choices = append(b.m.Choices, solve.Choice{Name: name, Ways: ways})
	b.questions = append(b.questions, o)
	return len(b.m.Choices) - 1
}

// under lays out what f does as part of one way of a choice.
func (b *built) under(choice, way int, f func() error) error {
	if choice < 0 {
		return f()
	}
	had := b.with
	b.with = append(slices.Clone(had), solve.Pick{Choice: choice, Way: way})
	err := f()
	b.with = had
	return err
}

// taken are the ways that the search took, each joint's one.
func (b *built) taken() ways {
	s := b.answer.Schedule
	out := ways{joint: map[string][]way{}, extra: map[string]int{}}
	for id, all := range b.w.joint {
		out.joint[id] = all[:1]
	}
	for c, o := range b.questions {
		if slices.ContainsFunc(o.way, func(p solve.Pick) bool { return s.Picks[p.Choice] != p.Way }) {
			continue
		}
		if o.joint != "" {
			out.joint[o.joint] = b.w.joint[o.joint][s.Picks[c]:][:1]
		} else {
			out.extra[o.group] = s.Picks[c]
		}
	}
	return out
}

// alone is the same plan laid out with nothing but the ways that were taken: the tasks
// that are done, in the same order.
func (b *built) alone(in Input) (*built, error) {
	if len(b.m.Choices) == 0 {
		return b, nil
	}
	c, err := build(in, b.taken(), b.air, b.horizon, b.feels)
	if err != nil {
		return nil, err
	}
	s, n := b.answer.Schedule, len(c.m.Tasks)
	out := &solve.Schedule{Start: make([]int, 0, n), End: make([]int, 0, n), Who: make([][]int, 0, n)}
	for t := range b.m.Tasks {
		if s.Start[t] < 0 {
			continue
		}
		if k := len(out.Start); k >= n || c.tasks[k].ID != b.tasks[t].ID {
			return nil, fmt.Errorf("the ways taken are laid out differently from those that were searched: %s", b.tasks[t].ID)
		}
		out.Start, out.End, out.Who = append(out.Start, s.Start[t]), append(out.End, s.End[t]), append(out.Who, s.Who[t])
	}
	if len(out.Start) != n {
		return nil, fmt.Errorf("the ways taken have %d tasks, and %d were planned", n, len(out.Start))
	}
	c.answer = b.answer
	c.answer.Schedule = out
	return c, nil
}
