package plan

import (
	"fmt"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"

	"github.com/rickb777/date/clock"
)

// knob eases one demand by a whole number: a pot of so many minutes, a shift so many
// minutes longer. The larger the number's distance from lo, the easier.
type knob struct {
	key    string // knobs alike have the same
	lo, hi int    // as it is now, and the furthest that is tried; hi < lo: it is eased downwards
	ease   func(m *solve.Model, x int)
	job    func(in Input, x int) Input
	say    func(x int) string
}

// potKnob makes the pot last longer: by another class, never by breaking a maker's limit.
func (b *built) potKnob(pt *pot, ks []int) *knob {
	room := b.room(pt.feel)
	now := int(room / tick)
	if now <= 0 || now > 24*60 {
		return nil
	}
	return &knob{key: "pot " + pt.id, lo: now, hi: max(2*now, 24*60),
		ease: func(m *solve.Model, x int) {
			for _, k := range ks {
				m.Lags[k].Fn = later{m.Lags[k].Fn, x - now}
			}
		},
		job: func(in Input, x int) Input {
			return b.otherCurves(in, pt.class, b.layersOf(pt), []cure.Milestone{cure.Application, cure.Assembly}, float64(x)/float64(now))
		},
		say: func(x int) string {
			return fmt.Sprintf("a class whose pot lasts %s or more here, for %s (%s: %s)*", words(time.Duration(x)*tick), listAnd(pt.serves), pt.class, words(room))
		}}
}

// place is one layer of a joint, by their places in the job.
type place struct{ joint, layer int }

func (b *built) layersOf(pt *pot) []place {
	var out []place
	for k := range b.j.Joints {
		n := b.only(b.j.Joints[k].ID)
		for i := range n.finals {
			for t := range b.tasks {
				x := &b.tasks[t]
				if x.Kind == TaskKind(verify.Lay) && x.Joint == n.j.ID && x.Layer == i && x.Mix == pt.id {
					out = append(out, place{k, i})
					break
				}
			}
		}
	}
	return out
}

// cureKnob makes a layer set and cure sooner: by another class, all whose times of
// setting and cure are so many hundredths of what they are.
func (b *built) cureKnob(what string, ks []int) *knob {
	n, layer, m, ok := b.milestoneOf(ks[0], what)
	if !ok {
		return nil
	}
	cl := n.feels[layer].class
	if c, _, err := cl.Curve(m); err != nil || isFront(c) {
		return nil
	}
	var all []int
	for k, l := range b.m.Lags {
		if _, fixed := l.Fn.(solve.Plus); fixed || l.Max {
			continue
		}
		if o, i, _, ok := b.milestoneOf(k, l.What); ok && o == n && i == layer {
			all = append(all, k)
		}
	}
	_, takes := b.takes(ks)
	at := slices.IndexFunc(b.j.Joints, func(j job.Joint) bool { return j.ID == n.j.ID })
	return &knob{key: fmt.Sprint("cure ", n.j.ID, layer), lo: 100, hi: 1,
		ease: func(m *solve.Model, x int) {
			for _, k := range all {
				m.Lags[k].Fn = sooner{m.Lags[k].Fn, x}
			}
		},
		job: func(in Input, x int) Input {
			return b.otherCurves(in, cl.ID, []place{{at, layer}}, []cure.Milestone{cure.TackFree, cure.Handling, cure.Cured, cure.FullCure}, float64(x)/100)
		},
		say: func(x int) string {
			text := fmt.Sprintf("a class for the %s, %s, that sets and cures in %d %% of the time or less", n.j.ID, n.j.Layers[layer].Seal, x)
			if takes < solve.Never {
				text += fmt.Sprintf(" (here %s in some %s instead of %s)", reached[m], words(time.Duration((takes*x+50)/100)*tick), words(time.Duration(takes)*tick))
			}
			return text + "*"
		}}
}

// reached says of a joint that a milestone is behind it.
var reached = [cure.NumMilestones]string{cure.TackFree: "tack-free", cure.Handling: "fit to be handled", cure.Cured: "cured", cure.FullCure: "cured in full"}

// sooner is a wait cut to so many hundredths of its length.
type sooner struct {
	fn      solve.Func
	percent int
}

// At implements solve.Func.
func (s sooner) At(t int) int {
	v := s.fn.At(t)
	if v >= solve.Never {
		return v
	}
	return t + ((v-t)*s.percent+99)/100
}

func isFront(c *cure.Curve) bool {
	_, front := c.Form.(cure.Front)
	return front
}

// scaled is a curve's form with its times multiplied.
type scaled struct {
	cure.Form
	by float64
}

// Seconds implements cure.Form.
func (s scaled) Seconds(tempC, rh, pv float64, b cure.Bead) float64 {
	return s.by * s.Form.Seconds(tempC, rh, pv, b)
}

// otherCurves lays these layers with a class like the one they have but for the times of
// some milestones, which are multiplied.
func (b *built) otherCurves(in Input, id string, at []place, ms []cure.Milestone, by float64) Input {
	cl := *in.Classes[id]
	cl.ID += fmt.Sprintf(" as wanted, %g", by) // a name of its own for each, for lines are kept by it
	for _, m := range ms {
		if c := cl.Curves[m]; c != nil && !isFront(c) {
			d := *c
			d.Form = scaled{c.Form, by}
			if c.Credit != nil {
				k := *c.Credit
				k.Form = scaled{k.Form, by}
				d.Credit = &k
			}
			cl.Curves[m] = &d
		}
	}
	in.Job = clone(in.Job)
	for _, p := range at {
		j := &in.Job.Joints[p.joint]
		j.Layers = slices.Clone(j.Layers)
		j.Layers[p.layer].Class = cl.ID
	}
	return in.know(&cl)
}

// withinKnob moves a limit that the job itself sets.
func (b *built) withinKnob(ks []int) *knob {
	l := &b.m.Lags[ks[0]]
	from := &b.tasks[l.From]
	k := slices.IndexFunc(b.j.Joints, func(j job.Joint) bool { return j.ID == from.Joint })
	if k < 0 {
		return nil
	}
	kn := &knob{key: l.What}
	var now time.Duration
	switch {
	case from.Kind == TaskKind(verify.Prepare):
		p := &b.j.Joints[k].Prepare[from.Index]
		now = p.Within
		kn.job = func(in Input, x int) Input {
			in.Job = clone(in.Job)
			j := &in.Job.Joints[k]
			j.Prepare = slices.Clone(j.Prepare)
			j.Prepare[from.Index].Within = time.Duration(x) * tick
			return in
		}
		kn.say = func(x int) string {
			return fmt.Sprintf("%s: sealed within %s of %s instead of %s, if the approved data allow it", from.Joint, words(time.Duration(x)*tick), prepWords[p.Kind], words(now))
		}
	case b.tasks[l.To].Kind == TaskKind(verify.Lay) && from.Kind != TaskKind(verify.Warm):
		layer := b.tasks[l.To].Layer
		x := &b.j.Joints[k].Layers[layer]
		now = x.Within
		kn.job = func(in Input, x int) Input {
			in.Job = clone(in.Job)
			j := &in.Job.Joints[k]
			j.Layers = slices.Clone(j.Layers)
			j.Layers[layer].Within = time.Duration(x) * tick
			return in
		}
		kn.say = func(n int) string {
			return fmt.Sprintf("%s: the %s within %s of %s instead of %s, if the approved data allow it", from.Joint, x.Seal, words(time.Duration(n)*tick), x.After, words(now))
		}
	default:
		return nil
	}
	if now == 0 {
		return nil
	}
	kn.lo, kn.hi = int(now/tick), int(now/tick)+7*24*60
	kn.ease = func(m *solve.Model, x int) {
		for _, k := range ks {
			m.Lags[k].Fn = later{m.Lags[k].Fn, x - kn.lo}
		}
	}
	return kn
}

// hoursKnob makes the shifts of some people longer at their end; of all where who is nil.
func (b *built) hoursKnob(who []string) *knob {
	if len(who) == 0 || len(who) == len(b.j.Crew) {
		who = nil
	}
	kn := &knob{key: fmt.Sprint("hours ", who), lo: 0, hi: 12 * 60,
		job: func(in Input, x int) Input { return longerFor(in, who, time.Duration(x)*tick) }}
	kn.ease = func(m *solve.Model, x int) {
		c := &built{j: kn.job(Input{Job: b.j}, x).Job}
		c.m.Horizon = m.Horizon
		c.people()
		for i := range m.People {
			m.People[i].Work = c.m.People[i].Work
		}
		for k := range m.Lags {
			if m.Lags[k].Shift || m.Lags[k].Max && b.tasks[m.Lags[k].From].Kind == TaskKind(verify.Warm) && m.Lags[k].FromAt == solve.AtStart {
				m.Lags[k].Fn = solve.NewCalls(c.shiftEnd)
			}
		}
		for t := range m.Tasks {
			if b.tasks[t].Kind == TaskKind(verify.Warm) {
				m.Tasks[t].Within = c.spans
			}
		}
	}
	kn.say = func(x int) string {
		by := time.Duration(x) * tick
		name, until := "everyone", ""
		if who != nil {
			name = listAnd(who)
		}
		for i := range b.j.Shifts {
			s := &b.j.Shifts[i]
			if who != nil && !slices.ContainsFunc(who, s.Includes) {
				continue
			}
			if until != "" {
				return fmt.Sprintf("%s works %s longer on every shift", name, words(by))
			}
			until = fmt.Sprintf("%s until %s instead of %s", name, clockWords(addClock(s.To, by)), clockWords(s.To))
		}
		return until
	}
	return kn
}

// handsKnob adds people who can do one thing, with the hours of the first who can.
func (b *built) handsKnob(skill string) *knob {
	i := slices.IndexFunc(b.j.Crew, func(p job.Person) bool { return p.Has(skill) })
	if i < 0 {
		return nil
	}
	like := b.j.Crew[i]
	return &knob{key: "hands " + skill, lo: 0, hi: 3,
		ease: func(m *solve.Model, x int) {
			c := &built{j: oneMore(Input{Job: b.j}, like, []string{skill}, x).Job}
			c.m.Horizon = m.Horizon
			c.people()
			m.People = append(m.People, c.m.People[len(b.j.Crew):]...)
		},
		job: func(in Input, x int) Input { return oneMore(in, like, []string{skill}, x) },
		say: func(x int) string {
			return fmt.Sprintf("%d more who can %s, at the hours of %s", x, skill, like.Who)
		}}
}

// awayKnob has somebody there who is away: all of the time or none, for part of it may be
// beyond anyone's say.
func awayKnob(i int, who string) *knob {
	return &knob{key: "away " + who, lo: 0, hi: 1,
		job: func(in Input, x int) Input {
			in.Job = clone(in.Job)
			if x > 0 {
				in.Job.Crew[i].Away = nil
			}
			return in
		},
		say: func(int) string { return who + " is there and not away" }}
}

// oneMore adds n people with these skills and the hours of somebody who is there.
func oneMore(in Input, like job.Person, can []string, n int) Input {
	in.Job = clone(in.Job)
	for range n {
		q := like
		q.Who, q.Can, q.Away = another(in.Job, like.Who), can, nil
		in.Job.Crew = append(in.Job.Crew, q)
		for i, s := range in.Job.Shifts {
			if slices.Contains(s.Who, like.Who) {
				in.Job.Shifts[i].Who = append(slices.Clone(s.Who), q.Who)
			}
		}
	}
	return in
}

// warmerKnob keeps the hangar warmer, in whole degrees.
func (b *built) warmerKnob() *knob {
	if !slices.ContainsFunc(b.j.Air, func(a job.AirPiece) bool { return a.Swing != nil || a.Constant != nil }) {
		return nil
	}
	return &knob{key: "warmer", lo: 0, hi: 15,
		job: func(in Input, x int) Input { return warmer(in, float64(x)) },
		say: func(x int) string { return fmt.Sprintf("keep the hangar %d C warmer", x) }}
}

// longerFor makes the shifts of some people, or of all where who is nil, longer at their
// end. What would run round the clock stays as it is.
func longerFor(in Input, who []string, by time.Duration) Input {
	if who == nil {
		return longer(in, by)
	}
	in.Job = clone(in.Job)
	one := Input{Job: clone(in.Job)}
	one.Job.Shifts = nil
	for _, s := range in.Job.Shifts {
		var here []string
		for _, w := range who {
			if s.Includes(w) {
				here = append(here, w)
			}
		}
		if len(here) > 0 {
			s.Who = here
			one.Job.Shifts = append(one.Job.Shifts, s)
		}
	}
	in.Job.Shifts = append(in.Job.Shifts, longer(one, by).Job.Shifts...)
	return in
}

// addClock is the clock so much later, past midnight if need be.
func addClock(c clock.Clock, by time.Duration) clock.Clock {
	return clock.NewAt(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(c.DurationSinceMidnight() + by))
}

func listAnd(s []string) string {
	switch n := len(s); n {
	case 0:
		return ""
	case 1:
		return s[0]
	default:
		out := s[0]
		for _, x := range s[1 : n-1] {
			out += ", " + x
		}
		return out + " and " + s[n-1]
	}
}
