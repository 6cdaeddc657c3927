package plan

import (
	"math"
	"time"

	"beadline/cure"
	"beadline/cure/plan/chance"
	"beadline/cure/plan/solve"
)

// outcome is what came of one play.
type outcome struct {
	ready    float64 // s since the job's start; +Inf: not while the air was followed
	gates    []float64
	cures    []float64
	inLine   []bool // by pot: all in by the line to work to
	workable []bool // by pot: all in while it really may be worked
	limits   []bool
	lost     int // pots past their line and limits missed
	overtime bool
	late     string // what most made it later than planned; "": it is not
}

// player is what one goroutine plays with.
type player struct {
	n       *net
	o       SpreadOptions
	draws   *cure.Draws
	courses []*cure.Course
	lines   [][]solve.Func // by pot and line: the line to work to
	shares  [][2]float64   // by course: shortest and longest time to the plain curve's

	air    *cure.History
	feels  []feel                       // in the air of this play
	probes []func(at time.Time) float64 // of their structures

	takes      []float64
	start, end []float64
	by         []int     // the arc that held a task's start; -1: none did
	sealing    []float64 // s that a task waited until it might seal
	shut       []float64 // s that a task waited for a shift
	reached    []float64 // by reach; NaN: not asked yet
	errors     []float64 // of the forecast, by step
	place      []float64 // of each batch in its class's spread, 0 to 1
}

// newPlayer makes a player. Errors: a course or a line that cannot be made, though the
// plan was built with it.
func newPlayer(n *net, o SpreadOptions) (*player, error) {
	p := &player{n: n, o: o}
	doubt := n.b.air.Doubt(n.clock(n.until), forecastStep)
	p.draws = doubt.Draws()
	p.errors = make([]float64, doubt.Steps())
	p.place = make([]float64, len(n.batches))
	for _, k := range n.courses {
		f := n.feels[k.feel]
		c, err := f.site.Course(f.class, k.m, cure.Likely)
		if err != nil {
			return nil, err
		}
		c.Tabulate(tableLo, tableHi)
		p.courses = append(p.courses, c)
		p.shares = append(p.shares, batchSpread(f.class, k.m))
	}
	own := make([]*feel, len(n.feels)) // with lines of this goroutine's
	for i, f := range n.feels {
		g := *f
		g.fns = map[lineKey]solve.Func{}
		own[i] = &g
		p.feels = append(p.feels, *f)
	}
	p.probes = make([]func(time.Time) float64, len(n.feels))
	for _, pot := range n.pots {
		var fns []solve.Func
		for _, l := range pot.lines {
			fn, err := own[l.feel].notAfter(l.m)
			if err != nil {
				return nil, err
			}
			fns = append(fns, fn)
		}
		p.lines = append(p.lines, fns)
	}
	t := len(n.tasks)
	p.takes, p.start, p.end, p.by = make([]float64, t), make([]float64, t), make([]float64, t), make([]int, t)
	p.sealing, p.shut, p.reached = make([]float64, t), make([]float64, t), make([]float64, len(n.reaches))
	return p, nil
}

// Temperatures, in °C, that the pace of a cure is tabulated for; any other is slower to
// ask.
const (
	tableLo = -30
	tableHi = 70
)

// batchSpread is how much shorter and longer than the plain curve a batch may take, as
// factors: the class's spread, on the sides that the curve does not guarantee.
func batchSpread(cl *cure.Class, m cure.Milestone) [2]float64 {
	c, _, err := cl.Curve(m)
	if err != nil {
		return [2]float64{1, 1}
	}
	s := [2]float64{1 - c.Shorter, 1 + c.Longer}
	switch c.States {
	case cure.Minimum:
		s[0] = 1
	case cure.Maximum:
		s[1] = 1
	}
	return s
}

// The forecast's error is dealt at steps of an hour and runs straight between them; what
// it was fades to a part 1/e within forecastFades (assumed).
const (
	forecastStep  = time.Hour
	forecastFades = 24 * time.Hour
)

// deal draws what is left to chance.
func (p *player) deal(src []*chance.Stream) {
	sigma := math.Log1p(p.o.Task)
	for t := range p.n.tasks {
		p.takes[t] = p.n.tasks[t].takes
		if p.takes[t] > 0 && sigma > 0 {
			p.takes[t] *= math.Exp(sigma * src[srcTasks].Normal())
		}
	}
	if p.o.Forecast {
		keep := math.Exp(-float64(forecastStep) / float64(forecastFades))
		fresh := math.Sqrt(1 - keep*keep)
		z := src[srcForecast].Normal()
		for i := range p.errors {
			p.errors[i] = z / marginSD
			z = keep*z + fresh*src[srcForecast].Normal()
		}
	}
	for i := range p.place {
		if p.o.Batch {
			p.place[i] = src[srcBatches].Uniform()
		}
	}
	p.air = p.draws.Air(p.errors)
	for i, k := range p.n.courses {
		slower := 1.0
		if p.o.Batch {
			slower = chance.Triangle(p.place[k.batch], p.shares[i][0], 1, p.shares[i][1])
		}
		p.courses[i].Turn(p.air, slower)
	}
	for i := range p.feels {
		p.feels[i].site.Air = p.air
		p.probes[i] = p.feels[i].site.Probe(cure.Likely)
	}
	for i := range p.reached {
		p.reached[i] = math.NaN()
	}
}

// play plays the plan once.
func (p *player) play(src []*chance.Stream) outcome {
	p.deal(src)
	for _, t := range p.n.order {
		p.run(t)
	}
	return p.outcome()
}

// run plays a task that all it waits for has been played.
func (p *player) run(t int) {
	x := &p.n.tasks[t]
	s, least := 0.0, 0.0
	p.by[t], p.sealing[t], p.shut[t] = -1, 0, 0
	if x.held {
		s = x.start
	}
	for i := range x.in {
		a := &x.in[i]
		switch at := p.instant(a) - a.lead; {
		case a.atEnd:
			least = math.Max(least, at)
		case at > s:
			s, p.by[t] = at, i
		}
	}
	s = p.open(t, s)
	p.start[t] = s
	switch {
	case math.IsInf(s, 1):
		p.end[t] = s
	case x.split:
		p.end[t] = pausing(x.hours, s, p.takes[t])
	default:
		p.end[t] = s + p.takes[t]
	}
	p.end[t] = math.Max(p.end[t], least)
}

// instant is when an arc lets its task go on.
func (p *player) instant(a *arc) float64 {
	if a.reach >= 0 {
		return p.reach(a.reach)
	}
	return p.time(a.from, a.at) + a.add
}

func (p *player) time(task int, e solve.End) float64 {
	if e == solve.AtStart {
		return p.start[task]
	}
	return p.end[task]
}

// reach is when sealant has really got to a milestone; +Inf: not while the air is
// followed.
func (p *player) reach(i int) float64 {
	if !math.IsNaN(p.reached[i]) {
		return p.reached[i]
	}
	r := &p.n.reaches[i]
	u := math.Inf(1)
	if from := p.time(r.from, r.at); from <= p.n.until {
		k := p.n.courses[r.course]
		f, start := p.n.feels[k.feel], p.n.clock(from)
		w := cure.Warmth{Warmed: f.warmed()}
		if w.Warmed {
			w.WarmedC = f.warmC
		}
		switch {
		case r.pot && (k.m != cure.Assembly || !w.Warmed):
			w = cure.Warmth{}
		case r.pot: // the structure is kept warm until the last fastener is in
			w.Heated, w.HeatFrom, w.HeatC = true, start, f.warmC
		case r.heat >= 0 && p.end[r.heat] <= p.n.until:
			w.Heated, w.HeatFrom, w.HeatC = true, p.n.clock(p.end[r.heat]), r.heatC
		}
		if at, ok := p.courses[r.course].At(start, w); ok {
			u = at.Sub(p.n.b.j.Start).Seconds()
		}
	}
	p.reached[i] = u
	return u
}

// open is the first instant from s on at which a task may be begun: people at work and,
// as planned, for long enough; the surface fit to be sealed.
func (p *player) open(t int, s float64) float64 {
	x := &p.n.tasks[t]
	if x.seal < 0 && x.hours == nil {
		return s
	}
	for s <= p.n.until {
		was := s
		switch {
		case x.hours == nil:
		case x.split:
			s = fit(x.hours, s, 0)
		default:
			s = fit(x.hours, s, x.takes)
		}
		if x.whole > 0 {
			s = fit(p.n.spans, s, x.whole)
		}
		p.shut[t] += s - was
		shift := s
		if x.seal >= 0 && s <= p.n.until {
			s = p.sealable(x.seal, s, x)
			p.sealing[t] += s - shift
		}
		if s == was {
			return s
		}
	}
	return math.Inf(1)
}

// sealable is the first instant from s on, by steps, at which the surface may be sealed
// for as long as the lay takes as planned; for a mix, by when its lay is due.
func (p *player) sealable(feel int, s float64, x *netTask) float64 {
	f, probe := &p.feels[feel], p.probes[feel]
	open := func(u float64) bool { return f.closed(p.n.clock(u), probe, probe) == "" }
	for ; s <= p.n.until; s += windowStep * tick.Seconds() {
		if from := s + x.ahead; open(from) && open(from+x.lays) {
			return s
		}
	}
	return math.Inf(1)
}

// outcome reads off what came of a play.
func (p *player) outcome() outcome {
	n := p.n
	o := outcome{ready: p.end[n.b.m.Ready]}
	for _, g := range n.b.j.Gates {
		o.gates = append(o.gates, p.end[n.b.gates[g.ID]])
	}
	for _, c := range n.cures {
		o.cures = append(o.cures, p.end[c.node])
	}
	for i := range n.pots {
		in, works := p.pot(i)
		o.inLine, o.workable = append(o.inLine, in), append(o.workable, works)
		if !in {
			o.lost++
		}
	}
	for i := range n.limits {
		kept := p.keeps(&n.limits[i])
		o.limits = append(o.limits, kept)
		if !kept {
			o.lost++
		}
	}
	for t := range n.tasks {
		x := &n.tasks[t]
		o.overtime = o.overtime || x.staffed && !x.split && x.takes > 0 && p.runsOver(t)
	}
	if o.ready > seconds(n.b.answer.Ready)+tick.Seconds() {
		o.late = p.blame()
	}
	return o
}

// second is how far past a line arithmetic may leave an instant that stands on it.
const second = 1e-3

// pot reports whether all work of a pot is in by its line, and while it may be worked.
func (p *player) pot(i int) (inLine, workable bool) {
	pot := &p.n.pots[i]
	inLine, workable = true, true
	start := p.start[pot.mix]
	for k, l := range pot.lines {
		end := p.end[l.to]
		if v := p.lines[i][k].At(int((start + second) / tick.Seconds())); v < solve.Never && end > seconds(v)+second {
			inLine = false
		}
		if end > p.reach(l.reach)+second {
			workable = false
		}
	}
	return inLine && !math.IsInf(start, 1), workable && !math.IsInf(start, 1)
}

// keeps reports whether a limit is kept.
func (p *player) keeps(l *netLimit) bool {
	from := p.time(l.from, l.fromAt)
	switch {
	case l.shift:
		from = seconds(p.n.b.shiftEnd(int((math.Min(from, p.n.until) + second) / tick.Seconds())))
	case l.reach >= 0:
		from = p.reach(l.reach) + l.add
	default:
		from += l.add
	}
	return p.end[l.to] <= from+second && !math.IsInf(p.end[l.to], 1)
}

// overtimeFrom is how far, in s, work may run past the end of a shift and not count as
// overtime.
const overtimeFrom = 300

// runsOver reports whether a task ends in overtime, after the shift that it was begun in.
func (p *player) runsOver(t int) bool {
	s, d := p.start[t], p.end[t]-p.start[t]
	return fit(p.n.spans, s, 0) > s+overtimeFrom || fit(p.n.spans, s, math.Max(0, d-overtimeFrom)) > s+overtimeFrom
}

// blame names the task or cure that most made the job late: of all on the way back from
// its ready time to a task that was begun as planned, the one that took most longer than
// planned. Waiting for a shift is a matter of what ran late before it, and counts only
// where nothing did.
func (p *player) blame() string {
	n := p.n
	worst, what := second, ""
	if math.IsInf(p.end[n.b.m.Ready], 1) {
		return "not done while the air was followed"
	}
	add := func(by float64, name string) {
		if by > worst {
			worst, what = by, name
		}
	}
	shut := 0.0
	for t := n.b.m.Ready; ; {
		x := &n.tasks[t]
		add(p.takes[t]-x.takes, n.b.tasks[t].ID)
		add(p.sealing[t], "waiting until it may be sealed, "+n.b.tasks[t].Joint)
		shut += p.shut[t]
		if p.by[t] < 0 {
			break
		}
		a := &x.in[p.by[t]]
		if a.reach >= 0 {
			add((p.reach(a.reach)-p.end[a.from])-(a.planned-n.tasks[a.from].end), a.what)
		}
		t = a.from
	}
	if what == "" && shut > 0 {
		what = "waiting for a shift"
	}
	return what
}
