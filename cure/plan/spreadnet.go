package plan

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"beadline/cure"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// net is a plan as a network to be played: tasks in an order in which each comes after
// all it waits for. Times are in seconds since the job's start. It is read only.
type net struct {
	b       *built
	tasks   []netTask
	order   []int
	feels   []*feel
	reaches []reach
	courses []courseKey
	batches []batchKey
	limits  []netLimit
	pots    []netPot
	cures   []netCure
	spans   []span // shifts with their breaks bridged
	until   float64
}

// span is a stretch of time.
type span struct{ from, to float64 }

// netTask is a task, a milestone or a gate.
type netTask struct {
	start, end float64 // as planned
	takes      float64 // work, as planned
	held       bool    // it is somebody's work and not begun before its planned start
	staffed    bool
	hours      []span  // it is begun only if, as planned, it ends within one; nil: at any hour
	split      bool    // it pauses where its people are off shift
	seal       int     // index of the feel that must be open to sealing; -1: none
	ahead      float64 // of a mix: from its start until its first sealant is laid, as planned
	lays       float64 // and how long that takes; of a lay, its own time
	whole      float64 // of a mix: from its start until the last of its work is in, as planned
	in         []arc
}

// arc is something that a task waits for.
type arc struct {
	from    int
	at      solve.End
	add     float64 // s behind from
	reach   int     // index of what the sealant must have reached; -1: none
	lead    float64 // how long before the arc's instant the task may start all the same
	atEnd   bool    // the task's end waits, not its start
	planned float64 // the arc's instant in the plan
	what    string
}

// reach asks when sealant that a task ends, or a pot that it starts, gets to a milestone.
type reach struct {
	course int
	from   int
	at     solve.End
	heat   int     // task at whose end heat comes on; -1: none
	heatC  float64 // °C
	pot    bool    // the pot's own life, and not a cure
}

// courseKey is one milestone of one batch at one place.
type courseKey struct {
	feel  int
	m     cure.Milestone
	batch int
}

// batchKey is a batch: what the job names for a joint, or else all of a class.
type batchKey struct{ class, name string }

// netLimit is a maximum lag that is no pot's line.
type netLimit struct {
	from, to int
	fromAt   solve.End
	add      float64
	reach    int  // counted from a milestone; -1: from the task
	shift    bool // it ends with the shift
	what     string
}

// netPot is a pot with the lines that its work is held to.
type netPot struct {
	mix   int
	lines []potLine
}

// potLine holds the end of a task to a pot's line.
type potLine struct {
	to    int
	feel  int
	m     cure.Milestone
	reach int // the pot's real life
}

// netCure is a milestone of a joint.
type netCure struct {
	joint string
	m     cure.Milestone
	node  int
}

// tail is how long a play is followed beyond the planned ready time, at least: past a
// weekend with a day in hand.
const tail = 96 * 3600

// newNet turns what a plan was built from into a network. An error is a lag whose
// meaning is not known.
func newNet(b *built) (*net, error) {
	n := &net{b: b, tasks: make([]netTask, len(b.tasks))}
	ready := seconds(b.answer.Ready)
	n.until = math.Min(seconds(b.m.Horizon), ready+math.Max(ready, tail))
	for _, w := range b.spans {
		n.spans = append(n.spans, span{seconds(w.From), seconds(w.To)})
	}
	n.findFeels()
	n.findTasks()
	if err := n.findLags(); err != nil {
		return nil, err
	}
	n.findCures()
	if err := n.sortTasks(); err != nil {
		return nil, err
	}
	n.findPeople()
	n.holdPots()
	return n, n.sortTasks()
}

func (n *net) findFeels() {
	for k := range n.b.j.Joints {
		for _, f := range n.b.only(n.b.j.Joints[k].ID).feels {
			if !slices.Contains(n.feels, f) {
				n.feels = append(n.feels, f)
			}
		}
	}
}

func (n *net) findTasks() {
	s := n.b.answer.Schedule
	for t := range n.tasks {
		m, task := &n.b.m.Tasks[t], &n.b.tasks[t]
		x := &n.tasks[t]
		*x = netTask{start: seconds(s.Start[t]), end: seconds(s.End[t]), takes: seconds(m.Duration), held: task.Kind != "",
			staffed: m.Crew > 0, split: m.Split && m.Crew > 0, seal: -1}
		switch wet := task.Mix != "" && task.Kind != TaskKind(verify.Mix); {
		case wet: // sealant does not wait for a break or the end of a shift
		case m.Crew > 0:
			x.hours = n.common(s.Who[t])
		case task.Kind != "":
			x.hours = n.spans
		}
		if task.Kind == TaskKind(verify.Lay) {
			x.seal, x.lays = slices.Index(n.feels, n.b.only(task.Joint).feels[task.Layer]), x.takes
		}
	}
}

// common is when all of these people are at work.
func (n *net) common(who []int) []span {
	out := []span{{0, math.Inf(1)}}
	for _, p := range who {
		var both []span
		work := n.b.m.People[p].Work
		for i, j := 0, 0; i < len(out) && j < len(work); {
			w := span{seconds(work[j].From), seconds(work[j].To)}
			if lo, hi := math.Max(out[i].from, w.from), math.Min(out[i].to, w.to); lo < hi {
				both = append(both, span{lo, hi})
			}
			if out[i].to < w.to {
				i++
			} else {
				j++
			}
		}
		out = both
	}
	return out
}

// meaning is what a lag's function is: one that cure or pot life makes.
type meaning struct {
	feel int
	key  lineKey
}

func (n *net) meanings() map[solve.Func]meaning {
	out := map[solve.Func]meaning{}
	for i, f := range n.feels {
		for key, fn := range f.fns {
			out[fn] = meaning{i, key}
		}
	}
	return out
}

// findLags turns the model's lags into arcs, pots' lines and limits. The waits of a
// joint's milestones are left to findCures.
func (n *net) findLags() error {
	means := n.meanings()
	s := n.b.answer.Schedule
	n.pots = make([]netPot, len(n.b.pots))
	for i, p := range n.b.pots {
		n.pots[i].mix = p.task
	}
	for _, l := range n.b.m.Lags {
		fn, by := l.Fn, 0
		if f, ok := fn.(later); ok {
			fn, by = f.fn, f.by
		}
		plus, constant := fn.(solve.Plus)
		by += int(plus)
		mean, known := means[fn]
		from := n.b.tasks[l.From]
		a := arc{from: l.From, at: l.FromAt, reach: -1, atEnd: l.ToAt == solve.AtEnd, planned: seconds(l.Fn.At(s.Time(l.From, l.FromAt))), what: l.What}
		switch {
		case l.Max && l.Shift, l.Max && constant && from.Kind == TaskKind(verify.Warm): // counted as overtime; the planner's own care
		case l.Max && known && mean.key.of == potLasts:
			i := slices.IndexFunc(n.pots, func(p netPot) bool { return p.mix == l.From })
			n.pots[i].lines = append(n.pots[i].lines, potLine{l.To, mean.feel, mean.key.m,
				n.reach(reach{course: n.course(mean.feel, mean.key.m, n.batch(n.b.tasks[n.lays(from.Mix)[0]])), from: l.From, at: l.FromAt, heat: -1, pot: true})})
		case l.Max && known && mean.key.of == likelyAt:
			n.limits = append(n.limits, netLimit{from: l.From, to: l.To, fromAt: l.FromAt, add: seconds(by), what: l.What,
				reach: n.reach(reach{course: n.course(mean.feel, mean.key.m, n.batch(from)), from: l.From, at: l.FromAt, heat: -1})})
		case l.Max && constant:
			n.limits = append(n.limits, netLimit{from: l.From, to: l.To, fromAt: l.FromAt, add: seconds(by), reach: -1, what: l.What})
		case l.Max && !known && from.Kind == TaskKind(verify.Warm):
			n.limits = append(n.limits, netLimit{from: l.From, to: l.To, fromAt: l.FromAt, reach: -1, shift: true, what: l.What})
		case l.Max:
			return fmt.Errorf("this plan cannot be played: nothing is known of the limit %q", l.What)
		case known && n.b.tasks[l.To].Kind == "": // see findCures
		case known && mean.key.of == cures:
			a.reach = n.reach(reach{course: n.course(mean.feel, mean.key.m, n.batch(from)), from: l.From, at: l.FromAt, heat: -1})
			n.tasks[l.To].in = append(n.tasks[l.To].in, a)
		case constant:
			a.add = seconds(by)
			n.tasks[l.To].in = append(n.tasks[l.To].in, a)
		default:
			return fmt.Errorf("this plan cannot be played: nothing is known of the wait %q", l.What)
		}
	}
	n.limits = slices.CompactFunc(n.limits, func(a, c netLimit) bool { return a == c })
	return nil
}

// findCures ties each milestone of each joint to the sealant of all its layers, with
// the heat that is on.
func (n *net) findCures() {
	s := n.b.answer.Schedule
	for k := range n.b.j.Joints {
		j := n.b.only(n.b.j.Joints[k].ID)
		for m := range cure.NumMilestones {
			node, ok := j.node[m]
			if !ok {
				continue
			}
			n.cures = append(n.cures, netCure{j.j.ID, m, node})
			hot := j.heat >= 0 && j.hot(m)
			for l, f := range j.feels {
				for _, e := range j.finals[l] {
					r := reach{course: n.course(slices.Index(n.feels, f), m, n.batchOf(j, l)), from: e, heat: -1}
					if hot {
						r.heat, r.heatC = j.heat, j.j.Heat.ToC
					}
					n.tasks[node].in = append(n.tasks[node].in, arc{from: e, reach: n.reach(r), planned: seconds(s.End[node]),
						what: fmt.Sprintf("%s: %s %s", j.j.ID, j.j.Layers[l].Seal, becoming[m])})
				}
			}
		}
	}
}

// batch is the batch of the sealant that a task lays or torques.
func (n *net) batch(t Task) int { return n.batchOf(n.b.only(t.Joint), t.Layer) }

// batchOf is the batch of a joint's layer: the one that the job names, or one for all of
// its class.
func (n *net) batchOf(j *jointNodes, layer int) int {
	key := batchKey{class: j.feels[layer].class.ID}
	if key.class == j.class {
		key.name = j.j.Batch
	}
	return index(&n.batches, key)
}

func (n *net) course(feel int, m cure.Milestone, batch int) int {
	return index(&n.courses, courseKey{feel, m, batch})
}

func (n *net) reach(r reach) int { return index(&n.reaches, r) }

// index is where x stands in a list, which it joins if it is not there yet.
func index[T comparable](list *[]T, x T) int {
	if i := slices.Index(*list, x); i >= 0 {
		return i
	}
	*list = append(*list, x)
	return len(*list) - 1
}

// sortTasks puts the tasks in an order that every arc follows, by planned start.
func (n *net) sortTasks() error {
	waits, out := make([]int, len(n.tasks)), make([][]int, len(n.tasks))
	for t := range n.tasks {
		for _, a := range n.sources(t) {
			waits[t]++
			out[a] = append(out[a], t)
		}
	}
	var free []int
	for t := range n.tasks {
		if waits[t] == 0 {
			free = append(free, t)
		}
	}
	n.order = n.order[:0]
	for len(free) > 0 {
		k := 0
		for i, t := range free {
			if x, y := &n.tasks[t], &n.tasks[free[k]]; x.start < y.start || x.start == y.start && x.end < y.end {
				k = i
			}
		}
		t := free[k]
		free = slices.Delete(free, k, k+1)
		n.order = append(n.order, t)
		for _, u := range out[t] {
			if waits[u]--; waits[u] == 0 {
				free = append(free, u)
			}
		}
	}
	if len(n.order) < len(n.tasks) {
		return errors.New("this plan cannot be played: some of its tasks wait for each other")
	}
	return nil
}

// sources are the tasks that must have been played before t.
func (n *net) sources(t int) []int {
	var out []int
	for _, a := range n.tasks[t].in {
		out = append(out, a.from)
		if a.reach >= 0 && n.reaches[a.reach].heat >= 0 {
			out = append(out, n.reaches[a.reach].heat)
		}
	}
	return out
}

// findPeople has everybody do their tasks one after the other, as planned.
func (n *net) findPeople() {
	last := make([]int, len(n.b.m.People))
	for p := range last {
		last[p] = -1
	}
	for _, t := range n.order {
		for _, p := range n.b.answer.Schedule.Who[t] {
			if f := last[p]; f >= 0 {
				n.tasks[t].in = append(n.tasks[t].in, arc{from: f, reach: -1, planned: n.tasks[f].end})
			}
			last[p] = t
		}
	}
}

// fit is the first instant at or after t from which d seconds lie within one of the
// spans; +Inf if there is none. A microsecond of arithmetic keeps nothing out.
func fit(spans []span, t, d float64) float64 {
	const hair = 1e-6
	i := sort.Search(len(spans), func(i int) bool { return spans[i].to > t })
	for ; i < len(spans); i++ {
		if s := math.Max(t, spans[i].from); s+d <= spans[i].to+hair && s < spans[i].to {
			return s
		}
	}
	return math.Inf(1)
}

// pausing is when work of d seconds ends that starts at t, in one of the spans, and
// pauses between them.
func pausing(spans []span, t, d float64) float64 {
	i := sort.Search(len(spans), func(i int) bool { return spans[i].to > t })
	for ; i < len(spans); i++ {
		s := math.Max(t, spans[i].from)
		if s+d <= spans[i].to {
			return s + d
		}
		d -= spans[i].to - s
	}
	return math.Inf(1)
}

// clock is an instant of the play as a time.
func (n *net) clock(u float64) time.Time {
	return n.b.j.Start.Add(time.Duration(math.Round(u * 1e9)))
}
