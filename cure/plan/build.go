package plan

import (
	"fmt"
	"math"
	"slices"
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
	v     variant
	air   *cure.History
	m     solve.Model
	tasks []Task // by model task; milestones have no Kind
	feels map[string]*feel

	joints map[string]*jointNodes
	access map[string]int
	checks map[string]int
	gates  map[string]int
	covers int // -1: none
	groups []*group
	pots   []*pot
	spans  []solve.Window // shifts with their breaks bridged
	fine   int            // ticks until the last reading of the air

	classes   map[string]*cure.Class
	obstacles []obstacle
	beyond    bool // a longer horizon may help
	answer    solve.Answer
}

// obstacle is a demand that cannot be met whatever the search does.
type obstacle struct {
	joint string
	text  string
	later bool // other air, later on, may lift it
}

// jointNodes are a joint's places in the model.
type jointNodes struct {
	j         *job.Joint
	class     string
	work      []int   // tasks of the people who are not its inspectors
	examine   []int   // inspections before sealing
	first     []int   // mixes and lays that wait for the joint's after:
	laid      []int   // every lay and torque
	finals    [][]int // by layer: the tasks whose end its cure counts from
	feels     []*feel // by layer
	groups    []*group
	parts     [][]portion // by layer
	least     [][]portion // by layer: with the fewest pots
	heat      int         // -1: none
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
	b.m.Tasks = append(b.m.Tasks, solve.Task{Name: t.ID, Duration: ticks(dur), Crew: crew, Skill: skill})
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

// build lays one way out. feels holds what sealant feels at the places of this job,
// in this air and horizon; ways share it, for its lines are dear to work out.
func build(in Input, v variant, air *cure.History, h time.Duration, feels map[string]*feel) (*built, error) {
	b := &built{j: in.Job, v: v, air: air, classes: in.Classes, covers: -1,
		feels: feels, joints: map[string]*jointNodes{},
		access: map[string]int{}, checks: map[string]int{}, gates: map[string]int{}}
	b.m.Horizon = ticks(h)
	for _, log := range in.Logs {
		if n := len(log); n > 0 {
			b.fine = max(b.fine, ticks(log[n-1].At.Sub(b.j.Start)))
		}
	}
	b.people()
	for k := range b.j.Joints {
		if err := b.joint(&b.j.Joints[k]); err != nil {
			return nil, err
		}
	}
	if err := b.sharePots(); err != nil {
		return nil, err
	}
	b.closing()
	return b, b.tie()
}

func (b *built) people() {
	until := b.j.Start.Add(time.Duration(b.m.Horizon) * tick)
	for _, p := range b.j.Crew {
		q := solve.Person{Name: p.Who, Skills: p.Can}
		for _, w := range b.j.WorkWindows(p, until) {
			if x, ok := b.window(w); ok {
				q.Work = append(q.Work, x)
			}
		}
		b.m.People = append(b.m.People, q)
	}
	whole := *b.j
	whole.Shifts = slices.Clone(b.j.Shifts)
	for i := range whole.Shifts {
		whole.Shifts[i].Breaks = nil
	}
	var all []solve.Window
	for _, p := range b.j.Crew {
		p.Away = nil
		for _, w := range whole.WorkWindows(p, until) {
			if x, ok := b.window(w); ok {
				all = append(all, x)
			}
		}
	}
	b.spans = merge(all)
}

// window brings a working window onto the grid, inwards.
func (b *built) window(w job.Window) (solve.Window, bool) {
	from := int(math.Ceil(w.From.Sub(b.j.Start).Minutes()))
	to := int(math.Floor(w.To.Sub(b.j.Start).Minutes()))
	x := solve.Window{From: max(0, from), To: min(to, b.m.Horizon)}
	return x, x.From < x.To
}

func merge(ws []solve.Window) []solve.Window {
	slices.SortFunc(ws, func(a, c solve.Window) int { return a.From - c.From })
	var out []solve.Window
	for _, w := range ws {
		if n := len(out); n > 0 && w.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, w.To)
		} else {
			out = append(out, w)
		}
	}
	return out
}

// shiftEnd is the end of the shift that runs at t, or of the next one.
func (b *built) shiftEnd(t int) int {
	for _, w := range b.spans {
		if t < w.To {
			return w.To
		}
	}
	return b.m.Horizon
}

func (b *built) worked(t int) bool {
	for _, w := range b.spans {
		if t < w.From-60 {
			return false
		}
		if t <= w.To+envelopeStep {
			return true
		}
	}
	return false
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
	f := &feel{class: b.classes[classID], warmC: warm, margin: b.j.AirMargin, fine: b.fine, start: b.j.Start, last: b.m.Horizon, worked: b.worked, fns: map[string]solve.Func{}}
	f.site = cure.Site{Air: b.air, Bead: bd, PotC: b.j.Mixing.RoomC + b.j.Mixing.AddsC, PotSet: true}
	if part.Set {
		f.site.Part = cure.Part{Tau: part.Tau, AtC: part.AtC}
	}
	b.feels[key] = f
	return f
}

// joint lays one joint out: preparation, warming, layers in sessions, heat and
// inspection.
func (b *built) joint(j *job.Joint) error {
	n := &jointNodes{j: j, class: b.v.class[j.ID], heat: -1, node: map[cure.Milestone]int{}, torqueLyr: wetLayer(j)}
	b.joints[j.ID] = n
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
	for _, x := range n.sessions() {
		if err := b.session(n, x, last, prep); err != nil {
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
// faying and wet-install layers in the first session, or the formed gasket.
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
	lay := n.parts[0][0].lay
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

// session is layers from..to-1, which follow each other while the joint is open
// before people; a layer with after: begins the next.
type session struct{ from, to int }

func (n *jointNodes) sessions() []session {
	var out []session
	for k := range n.j.Layers {
		if k == 0 || n.j.Layers[k].AfterSet {
			out = append(out, session{k, k})
		}
		out[len(out)-1].to = k + 1
	}
	return out
}

// holdSlack is how long, beyond the work itself, a structure is kept warm: a break
// and some waiting.
const holdSlack = time.Hour

// hold is how long the structure is kept warm for a session at most: mixing, laying
// and torque one after the other, and some slack.
func (b *built) hold(n *jointNodes, x session, parts [][]portion) time.Duration {
	d := holdSlack
	for k := x.from; k < x.to; k++ {
		for _, p := range parts[k] {
			d += b.mixing(n.feels[k]) + p.lay + p.torque
		}
	}
	return d
}

// dried is how much later a milestone of layer k can come because the structure is
// kept warm while it cures: warm, its air may be too dry to earn any cure. For the
// bound it counts with the fewest pots, whose work keeps it warm the shortest.
func (b *built) dried(n *jointNodes, k int, m cure.Milestone) int {
	if n.j.Warm == nil || !n.feels[k].dries() {
		return 0
	}
	var d time.Duration
	for _, x := range n.sessions() {
		own := k >= x.from && k < x.to-1
		next := x.from > k && n.j.Layers[x.from].After < m
		if own || next {
			d += b.hold(n, x, n.least)
		}
	}
	return ticks(d)
}

// notBefore is the line of a milestone of layer k, later warming counted in.
func (b *built) notBefore(n *jointNodes, k int, m cure.Milestone) (solve.Func, error) {
	fn, err := n.feels[k].notBefore(m)
	if err != nil {
		return nil, err
	}
	if d := b.dried(n, k, m); d > 0 {
		return later{fn, d}, nil
	}
	return fn, nil
}

// session lays one session out.
func (b *built) session(n *jointNodes, x session, lastPrep int, prep []int) error {
	j := n.j
	gates, err := b.sessionGates(n, x.from)
	if err != nil {
		return err
	}
	warm := -1
	if j.Warm != nil {
		warm = b.warm(n, x, lastPrep, gates)
	}
	var before []int // ends of the layer before
	for k := x.from; k < x.to; k++ {
		ends, lays, err := b.layer(n, k, before)
		if err != nil {
			return err
		}
		for _, t := range lays {
			if warm >= 0 {
				b.after(warm, t)
			}
			if k > n.torqueLyr {
				for _, late := range n.torque { // nothing is laid over fasteners that are torqued later
					b.after(late, t)
				}
			}
			for _, g := range gates {
				b.lag(g.task, solve.AtEnd, t, solve.AtStart, g.fn, g.what)
				if g.within > 0 {
					b.notLater(g.task, solve.AtEnd, t, later{g.likely, int(g.within / tick)}, fmt.Sprintf("%s: laid within %s of %s", j.ID, words(g.within), g.name))
				}
			}
			if x.from == 0 {
				b.tieToPrep(j, prep, t)
			}
		}
		for _, t := range append(ends, lays...) {
			if warm >= 0 {
				b.notLater(warm, solve.AtStart, t, solve.NewCalls(b.shiftEnd), j.ID+": the structure is kept warm for one shift only")
				b.notLater(warm, solve.AtEnd, t, solve.Plus(ticks(b.hold(n, x, n.parts))), j.ID+": the structure is not kept warm longer than the work takes")
			}
		}
		before = ends
	}
	return nil
}

// warm adds the warming of the structure for a session. Layers that are there
// already are left to reach their milestone first.
func (b *built) warm(n *jointNodes, x session, lastPrep int, gates []sessionGate) int {
	id := "warm the structure, " + n.j.ID
	if x.from > 0 {
		id = "warm the structure again, " + n.j.ID
	}
	t := b.add(Task{ID: id, Kind: TaskKind(verify.Warm), Joint: n.j.ID, Layer: x.from}, n.j.Warm.Takes, 0, "")
	b.m.Tasks[t].Within = b.spans
	b.m.Tasks[t].Late = true
	if lastPrep >= 0 && x.from == 0 {
		b.after(lastPrep, t)
	}
	for _, g := range gates {
		b.lag(g.task, solve.AtEnd, t, solve.AtStart, g.fn, g.what)
	}
	return t
}

// later is a function pushed on by a constant.
type later struct {
	fn solve.Func
	by int
}

// At implements solve.Func.
func (l later) At(t int) int {
	v := l.fn.At(t)
	if v >= solve.Never {
		return v
	}
	return v + l.by
}

type sessionGate struct {
	task   int
	fn     solve.Func
	likely solve.Func // what within counts from
	what   string
	name   string
	within time.Duration
}

// sessionGates are the milestones of all layers before, that a layer with after:
// waits for.
func (b *built) sessionGates(n *jointNodes, from int) ([]sessionGate, error) {
	if from == 0 {
		return nil, nil
	}
	var out []sessionGate
	l := &n.j.Layers[from]
	for k := 0; k < from; k++ {
		fn, err := b.notBefore(n, k, l.After)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: joint %s: %w", b.j.File, l.Line, n.j.ID, err)
		}
		likely, err := n.feels[k].likely(l.After)
		if err != nil {
			return nil, err
		}
		for _, t := range n.finals[k] {
			out = append(out, sessionGate{t, fn, likely, fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[k].Seal, becoming[l.After]), l.After.String(), l.Within})
		}
	}
	return out, nil
}

// tieToPrep holds cleaning and promoter to their windows: dry before sealing, sealed
// before they are spoilt.
func (b *built) tieToPrep(j *job.Joint, prep []int, lay int) {
	for i, p := range j.Prepare {
		b.lag(prep[i], solve.AtEnd, lay, solve.AtStart, solve.Plus(ticks(p.Dry)), dryWords(j, p))
		if p.Within > 0 {
			b.notLater(prep[i], solve.AtEnd, lay, solve.Plus(int(p.Within/tick)), fmt.Sprintf("%s: sealed within %s of %s", j.ID, words(p.Within), prepWords[p.Kind]))
		}
	}
}

var prepWords = map[job.PrepKind]string{job.Clean: "cleaning", job.Promoter: "the adhesion promoter", job.Strip: "stripping", job.Mask: "masking", job.Examine: "the inspection"}

func dryWords(j *job.Joint, p job.Prep) string {
	if p.Dry > 0 {
		return j.ID + ": the adhesion promoter dries"
	}
	return ""
}

// afterCure lays out milestones, heat and inspection.
func (b *built) afterCure(n *jointNodes) error {
	j := n.j
	if err := b.milestone(n, cure.TackFree, fmt.Sprintf("%s:%d", b.j.File, j.Line)); err != nil {
		return err
	}
	if b.v.heat[j.ID] {
		if err := b.heat(n); err != nil {
			return err
		}
	}
	n.inspect = b.add(Task{ID: "inspect, " + j.ID, Kind: TaskKind(verify.Inspect), Joint: j.ID}, j.Inspect.Takes, 1, j.Inspect.Can)
	b.lag(n.node[cure.TackFree], solve.AtEnd, n.inspect, solve.AtStart, solve.Plus(0), "")
	for _, t := range n.torque {
		b.after(t, n.inspect) // a gasket is torqued when it has cured
	}
	for _, w := range n.work {
		for _, i := range append(n.examine, n.inspect) {
			b.independent(i, w)
		}
	}
	return nil
}

// milestone adds the joint's node for a milestone: all its layers have reached it.
func (b *built) milestone(n *jointNodes, m cure.Milestone, where string) error {
	if _, ok := n.node[m]; ok {
		return nil
	}
	t := b.add(Task{ID: n.j.ID + " " + m.String(), Joint: n.j.ID}, 0, 0, "")
	n.node[m] = t
	for k, f := range n.feels {
		fn, err := b.notBefore(n, k, m)
		if err != nil {
			return fmt.Errorf("%s: joint %s: %w; say another milestone or add the curve to the class", where, n.j.ID, err)
		}
		what := fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[k].Seal, becoming[m])
		if f.site.ByWitness(f.class, m) {
			n.witness = true
		}
		if n.heat >= 0 && m >= cure.Cured {
			hot, err := f.heated(m, n.j.Heat.ToC)
			if err != nil {
				return err
			}
			b.lag(n.heat, solve.AtEnd, t, solve.AtStart, hot, what+", heated")
			continue
		}
		for _, e := range n.finals[k] {
			b.lag(e, solve.AtEnd, t, solve.AtStart, fn, what)
		}
	}
	return nil
}

// becoming says of a wait what the sealant does in it.
var becoming = [cure.NumMilestones]string{cure.TackFree: "getting tack-free", cure.Handling: "curing until it may be handled",
	cure.Cured: "curing", cure.FullCure: "curing in full"}

// heat adds the set-up of accelerated cure: its end is when the heat comes on.
func (b *built) heat(n *jointNodes) error {
	h := n.j.Heat
	t := b.add(Task{ID: "set up heat, " + n.j.ID, Kind: TaskKind(verify.Heat), Joint: n.j.ID}, h.SetUp, 1, h.Can)
	for k, f := range n.feels {
		ch := f.class.Heat
		switch {
		case ch == nil:
			return b.refuse(n, fmt.Sprintf("class %s states no accelerated cure", f.class.ID))
		case h.ToC > ch.MaxC && !b.v.chosen:
			return fmt.Errorf("%s:%d: joint %s: heat to %g C, but class %s may be heated to %g C at most; write to: %gC or less", b.j.File, h.Line, n.j.ID, h.ToC, f.class.ID, ch.MaxC, ch.MaxC)
		case h.ToC > ch.MaxC:
			return b.refuse(n, fmt.Sprintf("class %s may be heated to %g C at most, not to %g C", f.class.ID, ch.MaxC, h.ToC))
		case f.dryShare(h.ToC) == 1:
			return b.refuse(n, fmt.Sprintf("at %g C the air is too dry at all times for class %s to cure", h.ToC, f.class.ID))
		}
		for _, e := range n.finals[k] {
			b.lag(e, solve.AtEnd, t, solve.AtStart, solve.Plus(ticks(ch.After)), n.j.ID+": flash-off before heat")
		}
	}
	if h.From == job.HeatAfterTackFree {
		b.lag(n.node[cure.TackFree], solve.AtEnd, t, solve.AtStart, solve.Plus(0), "")
	}
	n.heat = t
	n.work = append(n.work, t)
	return nil
}

// refuse notes a demand of the job that rules this way out.
func (b *built) refuse(n *jointNodes, text string) error {
	b.obstacles = append(b.obstacles, obstacle{joint: n.j.ID, text: n.j.ID + ": " + text})
	return nil
}
