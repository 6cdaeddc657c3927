package plan

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// built is one way to do the job, laid out for the search.
type built struct {
	j     *job.Job
	w     ways
	air   *cure.History
	m     solve.Model
	tasks []Task // by model task; milestones have no Kind
	feels map[string]*feel

	horizon   time.Duration
	with      []solve.Pick // the ways that what is being laid out belongs to
	questions []question   // by choice of the model

	joints map[string][]*jointNodes // each way to do it
	access map[string]int
	checks map[string]int
	gates  map[string]int
	covers int // -1: none
	pots   []*pot
	spans  []solve.Window // shifts with their breaks bridged
	fine   int            // ticks until the last reading of the air

	classes   map[string]*cure.Class
	obstacles []obstacle
	beyond    bool // a longer horizon may help
	sole      bool // it holds every way that the job leaves
	answer    solve.Answer
}

// obstacle is a demand that cannot be met whatever the search does.
type obstacle struct {
	joint string
	text  string
	later bool         // other air, later on, may lift it
	with  []solve.Pick // the ways that it stands in the way of; nil: all
}

// jointNodes are a joint's places in the model.
type jointNodes struct {
	j         *job.Joint
	with      []solve.Pick // the ways it belongs to
	class     string
	heated    bool
	work      []int   // tasks of the people who are not its inspectors
	examine   []int   // inspections before sealing
	first     []int   // mixes and lays that wait for the joint's after:
	laid      []int   // every lay and torque
	finals    [][]int // by layer: the tasks whose end its cure counts from
	feels     []*feel // by layer
	groups    []*group
	parts     [][][]portion // by layer: for each number of pots, what each does
	heat      int           // -1: none
	node      map[cure.Milestone]int
	inspect   int
	torque    []int
	witness   bool
	torqueLyr int
}

// pot is one mix.
type pot struct {
	id     string
	auto   bool // not named by the job
	class  string
	task   int
	feel   *feel
	serves []string
	ends   []int // lays and wet torques
	ml     float64
}

func (b *built) add(t Task, dur time.Duration, crew int, skill string) int {
	n := len(b.m.Tasks)
	b.m.Tasks = append(b.m.Tasks, solve.Task{Name: t.ID, Duration: ticks(dur), Crew: crew, Skill: skill, If: b.with})
	b.tasks = append(b.tasks, t)
	return n
}

func (b *built) lag(from int, fa solve.End, to int, ta solve.End, fn solve.Func, what string) {
	b.m.Lags = append(b.m.Lags, solve.Lag{From: from, To: to, FromAt: fa, ToAt: ta, Fn: fn, What: what})
}

func (b *built) after(from, to int) { b.lag(from, solve.AtEnd, to, solve.AtStart, solve.Plus(0), "") }

func (b *built) notLater(from int, fa solve.End, to int, fn solve.Func, what string) {
	b.m.Lags = append(b.m.Lags, solve.Lag{From: from, To: to, FromAt: fa, ToAt: solve.AtEnd, Max: true, Fn: fn, What: what})
}

// ticks rounds a duration up to the grid.
func ticks(d time.Duration) int { return int((d + tick - 1) / tick) }

// build lays ways out. feels holds what sealant feels at the places of this job, in this
// air and horizon; ways share it, for its lines are dear to work out.
func build(in Input, w ways, air *cure.History, h time.Duration, feels map[string]*feel) (*built, error) {
	b := &built{j: in.Job, w: w, air: air, classes: in.Classes, covers: -1, horizon: h,
		feels: feels, joints: map[string][]*jointNodes{},
		access: map[string]int{}, checks: map[string]int{}, gates: map[string]int{}}
	b.m.Horizon = ticks(h)
	for _, log := range in.Logs {
		if n := len(log); n > 0 {
			b.fine = max(b.fine, ticks(log[n-1].At.Sub(b.j.Start)))
		}
	}
	b.people()
	for k := range b.j.Joints {
		j := &b.j.Joints[k]
		all := w.joint[j.ID]
		c := b.choose(len(all), question{joint: j.ID}, j.ID)
		for i, x := range all {
			if err := b.under(c, i, func() error { return b.joint(j, x) }); err != nil {
				return nil, err
			}
		}
	}
	if err := b.sharePots(); err != nil {
		return nil, err
	}
	b.closing()
	b.bar()
	return b, b.tie()
}

// bar keeps the search from ways that an obstacle stands in; one that stands in all of
// them is left for the caller.
func (b *built) bar() {
	for _, o := range b.obstacles {
		if len(o.with) > 0 {
			b.m.Bars = append(b.m.Bars, o.with)
		}
	}
}

// hinder notes an obstacle to the ways that are being laid out.
func (b *built) hinder(joint, text string, later bool) {
	b.obstacles = append(b.obstacles, obstacle{joint, text, later, b.with})
}

// feelOf makes, or finds, what a layer's sealant feels.
func (b *built) feelOf(j *job.Joint, l *job.Layer, classID string) *feel {
	part := b.j.Part
	if j.Part != nil {
		part = *j.Part
	}
	warm := math.NaN()
	if j.Warm != nil {
		warm = j.Warm.ToC
	}
	bd := bead(l)
	key := fmt.Sprint(classID, part, warm, bd)
	if f, ok := b.feels[key]; ok {
		return f
	}
	f := &feel{class: b.classes[classID], warmC: warm, margin: b.j.AirMargin, fine: b.fine, start: b.j.Start, last: b.m.Horizon, worked: b.worked, fns: map[lineKey]solve.Func{}}
	f.site = cure.Site{Air: b.air, Bead: bd, PotC: b.j.Mixing.RoomC + b.j.Mixing.AddsC, PotSet: true}
	if part.Set {
		f.site.Part = cure.Part{Tau: part.Tau, AtC: part.AtC}
	}
	b.feels[key] = f
	return f
}

// joint lays one joint out: preparation, warming, layers in sittings, heat and
// inspection.
func (b *built) joint(j *job.Joint, w way) error {
	n := &jointNodes{j: j, with: b.with, class: w.class, heated: w.heat, heat: -1, node: map[cure.Milestone]int{}, torqueLyr: wetLayer(j)}
	b.joints[j.ID] = append(b.joints[j.ID], n)
	prep := b.prepare(j, n)
	last := -1
	if len(prep) > 0 {
		last = prep[len(prep)-1]
	}
	n.finals, n.feels = make([][]int, len(j.Layers)), make([]*feel, len(j.Layers))
	for k := range j.Layers {
		l := &j.Layers[k]
		id := l.Class
		if id == "" {
			id = n.class
		}
		cl := b.classes[id]
		if cl == nil {
			return fmt.Errorf("%s:%d: joint %s: no class %s is given", b.j.File, l.Line, j.ID, id)
		}
		if !cl.Takes(l.Seal) {
			return fmt.Errorf("%s:%d: joint %s: class %s is not meant for %s, only for %s", b.j.File, l.Line, j.ID, id, l.Seal, listed(cl.Seals))
		}
		n.feels[k] = b.feelOf(j, l, id)
	}
	b.divide(n)
	if err := b.prepFits(n); err != nil {
		return err
	}
	for _, x := range n.sittings() {
		if err := b.sitting(n, x, last, prep); err != nil {
			return err
		}
	}
	return b.afterCure(n)
}

func listed(seals []cure.Seal) string {
	var out []string
	for _, s := range seals {
		out = append(out, string(s))
	}
	if out == nil {
		return "other work than sealing a joint"
	}
	return strings.Join(out, ", ")
}

// wetLayer is the layer whose fasteners the joint's torque closes: the last of the
// faying and wet-install layers in the first sitting, or the formed gasket.
func wetLayer(j *job.Joint) int {
	if j.Fasteners == nil {
		return -1
	}
	at := -1
	for k, l := range j.Layers {
		if k > 0 && l.AfterSet {
			break
		}
		switch {
		case l.Seal == cure.Faying || l.Seal == cure.WetInstall:
			at = k
		case l.Seal == cure.FormedGasket && at < 0:
			at = k
		}
	}
	return at
}

func (b *built) prepare(j *job.Joint, n *jointNodes) []int {
	var out []int
	for k, p := range j.Prepare {
		name := map[job.PrepKind]string{job.Strip: "strip old sealant", job.Clean: "clean", job.Examine: "inspect before sealing",
			job.Promoter: "apply adhesion promoter", job.Mask: "mask"}[p.Kind]
		t := b.add(Task{ID: name + ", " + j.ID, Kind: TaskKind(verify.Prepare), Joint: j.ID, Index: k}, p.Takes, 1, p.Can)
		b.m.Tasks[t].Split = p.Splittable
		if len(out) > 0 {
			b.after(out[len(out)-1], t)
		}
		if p.Kind == job.Examine {
			n.examine = append(n.examine, t)
		} else {
			n.work = append(n.work, t)
		}
		out = append(out, t)
	}
	return out
}

// prepFits refuses a cleaning or promoter whose window is over before the steps behind
// it can be done and the first sealant laid.
func (b *built) prepFits(n *jointNodes) error {
	j := n.j
	var lay time.Duration // the layers of the first sitting, one after the other
	first := n.sittings()[0]
	for k := first.from; k < first.to; k++ {
		lay += n.parts[k][0][0].lay
		if n.wet(k) && k+1 < first.to {
			lay += n.parts[k][0][0].torque
		}
	}
	for i, p := range j.Prepare {
		if p.Within == 0 {
			continue
		}
		var hands, need time.Duration
		need = p.Dry
		for _, q := range j.Prepare[i+1:] {
			hands += q.Takes
			need = max(need, hands+q.Dry)
		}
		if j.Warm != nil {
			need = max(need, hands+j.Warm.Takes)
		}
		if need += lay; need > p.Within {
			return fmt.Errorf("%s:%d: joint %s: sealed within %s of %s cannot be kept: what comes between, drying, warming and laying take %s; allow longer or do it later",
				b.j.File, p.Line, j.ID, words(p.Within), prepWords[p.Kind], words(need))
		}
	}
	return nil
}

func (b *built) independent(a, c int) {
	b.m.Tasks[a].NotBy = append(b.m.Tasks[a].NotBy, c)
	b.m.Tasks[c].NotBy = append(b.m.Tasks[c].NotBy, a)
}
