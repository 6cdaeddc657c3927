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

// DemandKind is what sort of thing is demanded.
type DemandKind string

// The demands of a job, those first that say most where several sets clash.
const (
	ReadyByDemand      DemandKind = "ready-by"     // the wish
	PotLifeDemand      DemandKind = "pot-life"     // a pot is used up before its line
	CureDemand         DemandKind = "cure"         // a milestone is waited for
	WaitDemand         DemandKind = "wait"         // a wait of fixed length
	WindowDemand       DemandKind = "window"       // sealed within temperatures, dew point, humidity
	WithinDemand       DemandKind = "within"       // no later than so long after something
	ShiftEndDemand     DemandKind = "shift-end"    // done within the shift it is mixed in
	DeadlineDemand     DemandKind = "deadline"     // a task that ends by an instant
	HoursDemand        DemandKind = "hours"        // people work their shifts only
	BreaksDemand       DemandKind = "breaks"       // and not in their breaks
	AwayDemand         DemandKind = "away"         // and not while they are away
	HandsDemand        DemandKind = "hands"        // so many have a skill, each one thing at a time
	IndependenceDemand DemandKind = "independence" // nobody inspects their own work
)

// Demand is one thing asked of a plan, in words with its numbers.
type Demand struct {
	Kind DemandKind
	What string
}

// demand is one that can be taken off the model. The work itself, its length and its
// order are not demands: they stay.
type demand struct {
	Demand
	relax func(*loose)
	knob  *knob // how it may be eased by a number; nil: it cannot
}

// loose is a model on its way to have demands taken off it.
type loose struct {
	m                   solve.Model
	gone                []bool // by lag
	hours, breaks, away []bool // by person: taken off
	enough              []string
}

// demands lists all that may be taken off the model. wish is the tick by which the job
// is wanted ready; 0: no wish.
func (b *built) demands(wish int) []demand {
	var out []demand
	if wish > 0 {
		out = append(out, demand{Demand{ReadyByDemand, fmt.Sprintf("%s is wanted by %s", b.j.Ready, stamp(b.at(wish), b.j.Zone))},
			func(l *loose) { l.m.Tasks[b.m.Ready].Deadline = 0 }, nil})
	}
	out = append(out, b.potDemands()...)
	out = append(out, b.cureDemands()...)
	out = append(out, b.windowDemands()...)
	out = append(out, b.withinDemands()...)
	for t := range b.m.Tasks {
		if d := b.m.Tasks[t].Deadline; d > 0 && t != b.m.Ready {
			out = append(out, demand{Demand{DeadlineDemand, fmt.Sprintf("%s is done by %s", b.m.Tasks[t].Name, stamp(b.at(d), b.j.Zone))},
				func(l *loose) { l.m.Tasks[t].Deadline = 0 }, nil})
		}
	}
	return append(out, b.crewDemands()...)
}

// without is the model with demands taken off: all but those kept.
func (b *built) without(ds []demand, keep []bool, wish int) *solve.Model {
	n := len(b.m.People)
	l := &loose{m: b.m, gone: make([]bool, len(b.m.Lags)), hours: make([]bool, n), breaks: make([]bool, n), away: make([]bool, n)}
	l.m.Tasks, l.m.Lags, l.m.People = slices.Clone(b.m.Tasks), slices.Clone(b.m.Lags), slices.Clone(b.m.People)
	if wish > 0 {
		l.m.Tasks[b.m.Ready].Deadline = wish
	}
	for i, d := range ds {
		if !keep[i] {
			d.relax(l)
		}
	}
	var lags []solve.Lag
	for k, lag := range l.m.Lags {
		if !l.gone[k] {
			lags = append(lags, lag)
		}
	}
	l.m.Lags = lags
	b.rehour(l)
	for _, skill := range l.enough {
		addHands(&l.m, skill, handsEnough)
	}
	return &l.m
}

// group gathers the lags of a kind by a key, in order.
func (b *built) group(is func(l *solve.Lag) (key string, ok bool)) (keys []string, lags map[string][]int) {
	lags = map[string][]int{}
	for k := range b.m.Lags {
		key, ok := is(&b.m.Lags[k])
		if !ok {
			continue
		}
		if lags[key] == nil {
			keys = append(keys, key)
		}
		lags[key] = append(lags[key], k)
	}
	return keys, lags
}

func dropLags(ks []int) func(*loose) {
	return func(l *loose) {
		for _, k := range ks {
			l.gone[k] = true
		}
	}
}

// potDemands are the lines of the pots, and the shifts they are used up in.
func (b *built) potDemands() []demand {
	var out []demand
	for _, pt := range b.pots {
		var ks []int
		for k, l := range b.m.Lags {
			if l.Max && !l.Shift && l.From == pt.task {
				ks = append(ks, k)
			}
		}
		if len(ks) == 0 {
			continue
		}
		what := fmt.Sprintf("the pot of %s for %s", pt.class, strings.Join(pt.serves, " and "))
		if room := b.room(pt.feel); room > 0 && room < 1000*24*time.Hour {
			what += fmt.Sprintf(" lasts %s", words(room))
		}
		out = append(out, demand{Demand{PotLifeDemand, what + fmt.Sprintf(", and the work with it takes %s", words(b.potWork(pt)))}, dropLags(ks), b.potKnob(pt, ks)})
	}
	keys, lags := b.group(func(l *solve.Lag) (string, bool) { return b.tasks[l.From].Mix, l.Max && l.Shift })
	for _, key := range keys {
		pt := b.pots[slices.IndexFunc(b.pots, func(p *pot) bool { return p.id == key })]
		out = append(out, demand{Demand{ShiftEndDemand, fmt.Sprintf("the pot of %s for %s is used up within the shift it is mixed in (the work with it takes %s)", pt.class, strings.Join(pt.serves, " and "), words(b.potWork(pt)))},
			dropLags(lags[key]), b.hoursKnob(nil)})
	}
	return out
}

// potWork is the work that hangs on a pot, mixing included, one thing after the other
// for each of those who are at it.
func (b *built) potWork(pt *pot) time.Duration {
	n, seen := b.m.Tasks[pt.task].Duration, map[int]bool{}
	for _, l := range b.m.Lags {
		if l.Max && l.From == pt.task && !seen[l.To] {
			n, seen[l.To] = n+b.m.Tasks[l.To].Duration, true
		}
	}
	return time.Duration(n) * tick
}

// cureDemands are the waits: for a milestone, which the air makes long or short, or for a
// fixed time.
func (b *built) cureDemands() []demand {
	var out []demand
	var long []int // how long each takes; the longest says most
	keys, lags := b.group(func(l *solve.Lag) (string, bool) {
		d, fixed := l.Fn.(solve.Plus)
		return l.What, !l.Max && l.What != "" && (!fixed || d > 0)
	})
	for _, key := range keys {
		ks := lags[key]
		l := &b.m.Lags[ks[0]]
		if d, fixed := l.Fn.(solve.Plus); fixed {
			out = append(out, demand{Demand{WaitDemand, fmt.Sprintf("%s (%s)", key, words(time.Duration(d)*tick))}, b.noWait(ks), nil})
			long = append(long, -1)
			continue
		}
		at, takes := b.takes(ks)
		what := fmt.Sprintf("%s takes %s in this air", key, words(time.Duration(takes)*tick))
		switch {
		case takes >= solve.Never:
			what = fmt.Sprintf("%s is not over within %d days in this air", key, b.m.Horizon/(24*60))
		case b.answer.Schedule == nil:
			what += fmt.Sprintf(" from %s", b.at(at).In(b.j.Zone).Format("Mon 2 Jan 15:04"))
		}
		out = append(out, demand{Demand{CureDemand, what}, b.noWait(ks), b.cureKnob(key, ks)})
		long = append(long, takes)
	}
	order := make([]int, len(out))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, k int) int { return long[k] - long[i] })
	sorted := make([]demand, len(out))
	for i, k := range order {
		sorted[i] = out[k]
	}
	return sorted
}

// noWait leaves of a wait only the order.
func (b *built) noWait(ks []int) func(*loose) {
	return func(l *loose) {
		for _, k := range ks {
			l.m.Lags[k].Fn = solve.Plus(0)
		}
	}
}

// takes is how long a wait is: from where the schedule has it, or from the earliest that
// anybody works; Never where it never ends.
func (b *built) takes(ks []int) (at, long int) {
	for _, k := range ks {
		l := &b.m.Lags[k]
		t := 0
		if len(b.spans) > 0 {
			t = b.spans[0].From
		}
		if s := b.answer.Schedule; s != nil {
			if s.Start[l.From] < 0 {
				continue // in another way
			}
			t = s.Time(l.From, l.FromAt)
		}
		v := l.Fn.At(t)
		if v >= solve.Never {
			return t, solve.Never
		}
		if v-t >= long {
			at, long = t, v-t
		}
	}
	return at, long
}

// nodes are all joints in all their ways.
func (b *built) nodes() []*jointNodes {
	var out []*jointNodes
	for k := range b.j.Joints {
		out = append(out, b.joints[b.j.Joints[k].ID]...)
	}
	return out
}

// has reports whether a task is one of this way to do the joint.
func (n *jointNodes) has(t *solve.Task, x *Task) bool {
	return x.Joint == n.j.ID && !slices.ContainsFunc(n.with, func(p solve.Pick) bool { return !slices.Contains(t.If, p) })
}

// windowDemands are the hours in which a class may be laid, joint by joint.
func (b *built) windowDemands() []demand {
	var out []demand
	for _, n := range b.nodes() {
		for i, f := range n.feels {
			var ts []int
			for t := range b.tasks {
				x := &b.tasks[t]
				if x.Kind == TaskKind(verify.Lay) && x.Layer == i && n.has(&b.m.Tasks[t], x) && b.m.Tasks[t].Within != nil {
					ts = append(ts, t)
				}
			}
			if len(ts) == 0 {
				continue
			}
			open, week := 0, min(7*24*60, b.m.Horizon)
			for _, w := range b.m.Tasks[ts[0]].Within {
				open += max(0, min(w.To, week)-min(w.From, week))
			}
			if open >= week { // open all the time
				continue
			}
			out = append(out, demand{Demand{WindowDemand, fmt.Sprintf("%s: the %s of %s is laid only within its temperatures, its humidities and clear of the dew point, which hold for %s of the first %s",
				n.j.ID, n.j.Layers[i].Seal, f.class.ID, words(time.Duration(open)*tick), words(time.Duration(week)*tick))},
				func(l *loose) {
					for _, t := range ts {
						l.m.Tasks[t].Within = nil
					}
				}, b.warmerKnob()})
		}
	}
	return out
}

// withinDemands are the other limits in time: sealed so soon after cleaning, laid so soon
// after tack-free, not kept warm longer.
func (b *built) withinDemands() []demand {
	var out []demand
	keys, lags := b.group(func(l *solve.Lag) (string, bool) {
		return l.What, l.Max && !l.Shift && b.tasks[l.From].Kind != TaskKind(verify.Mix)
	})
	for _, key := range keys {
		ks := lags[key]
		what := key
		if d, fixed := b.m.Lags[ks[0]].Fn.(solve.Plus); fixed && b.tasks[b.m.Lags[ks[0]].From].Kind == TaskKind(verify.Warm) {
			what += fmt.Sprintf(" (%s)", words(time.Duration(d)*tick))
		}
		out = append(out, demand{Demand{WithinDemand, what}, dropLags(ks), b.withinKnob(ks)})
	}
	for _, n := range b.nodes() {
		var ts []int
		for t := range b.tasks {
			if b.tasks[t].Kind == TaskKind(verify.Warm) && n.has(&b.m.Tasks[t], &b.tasks[t]) {
				ts = append(ts, t)
			}
		}
		if len(ts) > 0 {
			out = append(out, demand{Demand{WithinDemand, fmt.Sprintf("%s: the structure is warmed within one shift (%s)", n.j.ID, words(n.j.Warm.Takes))},
				func(l *loose) {
					for _, t := range ts {
						l.m.Tasks[t].Within = nil
					}
				}, b.hoursKnob(nil)})
		}
	}
	return out
}

// crewDemands are the hours of the people, how many of them there are, and that nobody
// inspects their own work.
func (b *built) crewDemands() []demand {
	out := b.hoursDemands()
	var skills []string
	for t := range b.m.Tasks {
		if s := b.m.Tasks[t].Skill; b.m.Tasks[t].Crew > 0 && !slices.Contains(skills, s) {
			skills = append(skills, s)
		}
	}
	for _, s := range skills {
		var who []string
		for _, p := range b.m.People {
			if slices.Contains(p.Skills, s) {
				who = append(who, p.Name)
			}
		}
		out = append(out, demand{Demand{HandsDemand, fmt.Sprintf("only %d can %s (%s), each one thing at a time", len(who), s, strings.Join(who, ", "))},
			func(l *loose) { l.enough = append(l.enough, s) }, b.handsKnob(s)})
	}
	for _, n := range b.nodes() {
		var ts []int
		for _, t := range append(slices.Clone(n.examine), n.inspect) {
			if len(b.m.Tasks[t].NotBy) > 0 {
				ts = append(ts, t)
			}
		}
		if len(ts) == 0 {
			continue
		}
		out = append(out, demand{Demand{IndependenceDemand, n.j.ID + ": nobody inspects their own work"}, func(l *loose) {
			for _, t := range ts {
				for _, w := range l.m.Tasks[t].NotBy {
					l.m.Tasks[w].NotBy = slices.DeleteFunc(slices.Clone(l.m.Tasks[w].NotBy), func(x int) bool { return x == t })
				}
				l.m.Tasks[t].NotBy = nil
			}
		}, b.handsKnob(b.m.Tasks[n.inspect].Skill)})
	}
	return out
}

// milestoneOf finds the joint, layer and milestone that a wait is for.
func (b *built) milestoneOf(k int, what string) (n *jointNodes, layer int, m cure.Milestone, ok bool) {
	from := b.m.Lags[k].From
	ways := b.joints[b.tasks[from].Joint]
	i := slices.IndexFunc(ways, func(n *jointNodes) bool { return n.has(&b.m.Tasks[from], &b.tasks[from]) })
	if i < 0 {
		return nil, 0, 0, false
	}
	n = ways[i]
	for layer := range n.j.Layers {
		for m, is := range becoming {
			if is != "" && strings.HasPrefix(what, fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[layer].Seal, is)) && (what == fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[layer].Seal, is) || strings.HasSuffix(what, ", heated")) {
				return n, layer, cure.Milestone(m), true
			}
		}
	}
	return nil, 0, 0, false
}

// joined names people in words.
func joined(who []string, all int) string {
	if len(who) == all && all > 1 {
		return "everyone"
	}
	return strings.Join(who, ", ")
}

// shiftWords are the shifts of somebody: "Mon-Fri 07:00-15:30".
func shiftWords(j *job.Job, who string) string {
	var out []string
	for i := range j.Shifts {
		s := &j.Shifts[i]
		if !s.Includes(who) {
			continue
		}
		out = append(out, dayWords(s)+" "+clockWords(s.From)+"-"+clockWords(s.To))
	}
	return strings.Join(out, ", ")
}
