package plan

import (
	"math"
	"strings"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan/chance"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// filmJob is a faying face at the temperature that its class is rated at, with no doubt
// in the air: mix 8 min, spread 12 min, torque 20 fasteners in EACH, one after the other
// and without a break, against a pot of 2 h.
const filmJob = `job: T-1
title: one film
zone: UTC
start: 2027-03-08T07:00
air: [{constant: {temp: 77F, rh: 50%}}]
air-margin: 0C
mixing: {room: 77F, adds: 0C, takes: 8min, waste: 15%}
crew:
  - {who: Ann, can: [seal, torque, panel]}
  - {who: Cy, can: [inspect]}
shifts: [{days: daily, from: "07:00", to: "19:00"}]
joints:
  - id: door
    class: polysulfide-b-2
    layers: [{seal: faying, spread: 12min}]
    fasteners: {count: 20, each: EACH, torque: wet}
gates: {fly: [door cure]}
ready: fly
`

// planOf plans a text with the built-in classes, changed by change.
func planOf(t testing.TB, text string, change func(map[string]*cure.Class)) *Plan {
	t.Helper()
	j, err := job.Decode([]byte(text), "job.yaml")
	require.NoError(t, err, text)
	in := Input{Job: j, Classes: map[string]*cure.Class{}, Steps: 40, Brief: true}
	for _, c := range catalog.Builtin().All() {
		cl := c.Class
		in.Classes[cl.ID] = &cl
	}
	if change != nil {
		change(in.Classes)
	}
	p, err := Make(in)
	require.NoError(t, err)
	require.True(t, p.Found, "%+v", p.Infeasible)
	return p
}

// played plays a plan with task times spread by sigma, and what else is said.
func played(t testing.TB, p *Plan, o SpreadOptions) *Spread {
	t.Helper()
	o.Seed, o.Workers = 1, 2
	s, err := p.Play(o)
	require.NoError(t, err)
	return s
}

// potWork are the planned starts and times of a plan's one pot, in minutes from its
// first touch.
func potWork(t *testing.T, p *Plan) (starts, takes []float64) {
	t.Helper()
	for _, x := range p.Tasks {
		if x.Mix != "" {
			starts = append(starts, x.Start.Sub(p.Mixes[0].At).Minutes())
			takes = append(takes, x.End.Sub(x.Start).Minutes())
		}
	}
	require.Len(t, takes, 3)
	return starts, takes
}

// heldChance wants a counted share of p, within four standard errors.
func heldChance(t *testing.T, p float64, kept, of int, msg string) {
	t.Helper()
	assert.InDelta(t, p, float64(kept)/float64(of), 4*math.Sqrt(p*(1-p)/float64(of))+1e-9, msg)
}

// The chance that a pot keeps its line is that of a chain of three lognormal tasks,
// which quadrature gives, to be over within 2 h.
func TestAPotsChanceIsItsChains(t *testing.T) {
	for _, each := range []string{"200s", "260s", "299s"} {
		p := planOf(t, strings.ReplaceAll(filmJob, "EACH", each), nil)
		starts, takes := potWork(t, p)
		for _, task := range []float64{0.1, 0.3} {
			s := played(t, p, SpreadOptions{Draws: manyDraws, Task: task})
			want := endOf(starts, takes, math.Log1p(task))(120)
			heldChance(t, want, s.Mixes[0].InLine.Kept, s.Mixes[0].InLine.Of, each)
			assert.Equal(t, s.Mixes[0].InLine, s.Mixes[0].Workable, "at the rated temperature the pot lasts as long as its line says")
			assert.Equal(t, s.Mixes[0].InLine, s.InLine, "there is no other line")
			assert.InDelta(t, 120-starts[2]-takes[2], s.Mixes[0].Spare.Minutes(), 1e-9)
		}
	}
}

// Sealant whose time is typical and spreads from 0.8 to 1.4 of it has a line of 0.8 times
// 2 h, and really lasts F times 2 h, F triangular: the chance that it may be worked is the
// mean of the chain's over F.
func TestAPotReallyLastsAsItsBatchDoes(t *testing.T) {
	p := planOf(t, strings.ReplaceAll(filmJob, "EACH", "215s"), func(cl map[string]*cure.Class) {
		c := *cl["polysulfide-b-2"].Curves[cure.Application]
		c.States, c.Shorter, c.Longer = cure.Typical, 0.2, 0.4
		cl["polysulfide-b-2"].Curves[cure.Application] = &c
	})
	starts, takes := potWork(t, p)
	const task = 0.3
	s := played(t, p, SpreadOptions{Draws: manyDraws, Task: task, Batch: true})
	end := endOf(starts, takes, math.Log1p(task))
	heldChance(t, end(96), s.Mixes[0].InLine.Kept, s.Mixes[0].InLine.Of, "by the line of 96 min")
	f := distuv.NewTriangle(0.8, 1.4, 1, nil)
	want := quad.Fixed(func(u float64) float64 { return end(120 * f.Quantile(u)) }, 0, 1, 60, nil, 0)
	heldChance(t, want, s.Mixes[0].Workable.Kept, s.Mixes[0].Workable.Of, "while it may be worked")
	assert.Greater(t, s.Mixes[0].Workable.Kept, s.Mixes[0].InLine.Kept+1000, "so the two tell different things")
	assert.Equal(t, 1, s.Batches)
}

// At the rated temperature and without chance the job is ready 72 h after its last
// fastener, by hand: 40 h tack-free, 72 h cured, at 25 °C. Only a slower batch is later:
// by the triangle's quantiles.
func TestReadyInConstantAirIsTheRatedTimeByHand(t *testing.T) {
	text := strings.ReplaceAll(filmJob, "EACH", "60s")
	p := planOf(t, text, nil)
	last := p.Joints[0].TorqueTo
	s := played(t, p, SpreadOptions{Draws: 10})
	for _, q := range []time.Time{s.Ready.P10, s.Ready.P50, s.Ready.P90} {
		assert.WithinDuration(t, last.Add(72*time.Hour), q, time.Second)
	}
	p = planOf(t, text, func(cl map[string]*cure.Class) {
		c := *cl["polysulfide-b-2"].Curves[cure.Cured]
		c.States, c.Shorter, c.Longer = cure.Typical, 0.2, 0.5
		cl["polysulfide-b-2"].Curves[cure.Cured] = &c
	})
	last = p.Joints[0].TorqueTo
	s = played(t, p, SpreadOptions{Draws: manyDraws, Batch: true})
	f := distuv.NewTriangle(0.8, 1.5, 1, nil)
	for _, c := range []struct {
		p   float64
		got time.Time
	}{{0.1, s.Ready.P10}, {0.5, s.Ready.P50}, {0.9, s.Ready.P90}} {
		x := c.got.Sub(last).Hours() / 72 // it is where the distribution has got to p, to four standard errors
		assert.InDelta(t, c.p, f.CDF(x), 4*math.Sqrt(c.p*(1-c.p)/manyDraws), "%v", c.got)
	}
	assert.Equal(t, s.Matters[0].Name, "the batches")
	assert.InDelta(t, 1, s.Matters[0].Ready.First, 4*s.Matters[0].Ready.Error)
	assert.InDelta(t, 1, s.Matters[0].Ready.Total, 4*s.Matters[0].Ready.Error)
	for _, m := range s.Matters[1:] {
		assert.Zero(t, m.Ready, m.Name)
	}
}

// A not-before line stands at the cold end of the forecast's margin, its 5 % point: for
// a milestone that is short beside the day in which the error fades, the sealant is there
// by its line in Φ(1.645/s) of the draws, s² the mean square of the error's mean over the
// hours T that it takes, 2(x − 1 + e^(−x))/x², x = T/24.
func TestANotBeforeLineIsThereInNineteenOfTwenty(t *testing.T) {
	text := strings.NewReplacer("EACH", "60s", "temp: 77F", "temp: 22C", "air-margin: 0C", "air-margin: 2C").Replace(filmJob)
	p := planOf(t, text, func(cl map[string]*cure.Class) {
		for m := cure.TackFree; m <= cure.FullCure; m++ {
			c := *cl["polysulfide-b-2"].Curves[m]
			c.Form = cure.Doubling{RefC: 25, Time: 2 * 3600, StepC: 10}
			c.Credit = nil
			cl["polysulfide-b-2"].Curves[m] = &c
		}
		cl["polysulfide-b-2"].Moisture = nil
	})
	s := played(t, p, SpreadOptions{Draws: manyDraws, Forecast: true})
	x := s.Cures[0].Planned.Sub(p.Joints[0].TorqueTo).Hours() / 24
	sd := math.Sqrt(2 * (x - 1 + math.Exp(-x)) / (x * x))
	want := distuv.UnitNormal.CDF(marginSD / sd)
	require.Equal(t, cure.TackFree, s.Cures[0].Milestone)
	// The rate goes as 2^(T/10), of which the mean is not that of T: by some 1e-3 here.
	assert.InDelta(t, want, s.Cures[0].ByThen.Share(), 4*math.Sqrt(want*(1-want)/manyDraws)+0.002)
	assert.InDelta(t, 0.95, want, 0.01)
	assert.InDelta(t, 2/marginSD, s.ForecastSD, 1e-12)
}

// More spread in the task times never keeps more lines, where what is planned keeps them.
func TestMoreSpreadNeverKeepsMoreLines(t *testing.T) {
	p := planOf(t, strings.ReplaceAll(filmJob, "EACH", "260s"), nil)
	was := 1.0
	for _, task := range []float64{0, 0.05, 0.1, 0.2, 0.4, 0.8} {
		got := played(t, p, SpreadOptions{Draws: 5000, Task: task}).Mixes[0].InLine.Share()
		assert.LessOrEqual(t, got, was+1e-9, "spread %g", task)
		was = got
	}
	assert.Less(t, was, 0.8)
}

// A time that is guaranteed on a side has no spread there, as the lines have none: a
// specified application time is a minimum, a cure time a maximum.
func TestAGuaranteedTimeHasNoSpreadOnThatSide(t *testing.T) {
	for _, c := range []struct {
		states cure.States
		want   [2]float64
	}{{cure.Typical, [2]float64{0.8, 1.5}}, {cure.Minimum, [2]float64{1, 1.5}}, {cure.Maximum, [2]float64{0.8, 1}}} {
		cl := &cure.Class{}
		cl.Curves[cure.Application] = &cure.Curve{States: c.states, Shorter: 0.2, Longer: 0.5}
		assert.Equal(t, c.want, batchSpread(cl, cure.Application), "%s", c.states)
		assert.Equal(t, c.want, batchSpread(cl, cure.Assembly), "which the application time stands for")
	}
	assert.Equal(t, [2]float64{1, 1}, batchSpread(&cure.Class{}, cure.Cured))
}

// bend plays a plan once, as planned but for the times of some tasks, in seconds.
func bend(t *testing.T, p *Plan, change func(task Task, takes float64) float64) *player {
	t.Helper()
	n, err := newNet(p.from)
	require.NoError(t, err)
	w, err := newPlayer(n, SpreadOptions{})
	require.NoError(t, err)
	w.deal(nil)
	for i, x := range n.b.tasks {
		w.takes[i] = change(x, w.takes[i])
	}
	for _, i := range n.order {
		w.run(i)
	}
	return w
}

// of is the place of a task of a kind in a play's plan.
func (p *player) of(kind verify.Kind, joint string) int {
	for i, x := range p.n.b.tasks {
		if x.Kind == TaskKind(kind) && (x.Joint == joint || joint == "") {
			return i
		}
	}
	return -1
}

func TestAPlayWithoutChanceStartsEverythingAsPlanned(t *testing.T) {
	p := planOf(t, strings.ReplaceAll(filmJob, "EACH", "60s"), nil)
	w := bend(t, p, func(_ Task, takes float64) float64 { return takes })
	for i, x := range w.n.tasks {
		if x.held {
			assert.Equal(t, x.start, w.start[i], w.n.b.tasks[i].ID)
			assert.Equal(t, x.end, w.end[i], w.n.b.tasks[i].ID)
		}
	}
}

// Warming that takes half an hour longer holds the mixing up by half an hour: a pot does
// not stand mixed beside a cold structure.
func TestAPotIsNotMixedWhileItsStructureIsStillCold(t *testing.T) {
	text := strings.NewReplacer("EACH", "60s", "temp: 77F", "temp: 12C", "    layers:", "    warm: {to: 20C, takes: 90min}\n    layers:").Replace(filmJob)
	p := planOf(t, text, nil)
	w := bend(t, p, func(x Task, takes float64) float64 {
		if x.Kind == TaskKind(verify.Warm) {
			takes += 1800
		}
		return takes
	})
	mix := w.of(verify.Mix, "")
	assert.InDelta(t, w.n.tasks[mix].start+1800, w.start[mix], 1e-6)
	assert.InDelta(t, 0, w.shut[mix], 1e-6)
	in, _ := w.pot(0)
	assert.True(t, in)
}

// On a structure that is kept at 30 °C the last fastener has 2 h · 2^(−5/10) = 84.85 min,
// by the 10 °C rule, and the sealant in a pot of 25 °C its 2 h.
func TestAPotOnAWarmStructureReallyLastsAsLongAsThat(t *testing.T) {
	text := strings.NewReplacer("EACH", "60s", "temp: 77F", "temp: 12C", "    layers:", "    warm: {to: 30C, takes: 30min}\n    layers:").Replace(filmJob)
	w := bend(t, planOf(t, strings.Replace(text, "room: 77F", "room: 25C", 1), nil), func(_ Task, takes float64) float64 { return takes })
	start := w.start[w.n.pots[0].mix]
	seen := 0
	for _, l := range w.n.pots[0].lines {
		want := 7200.0
		if l.m == cure.Assembly {
			want *= math.Exp2(-0.5)
			seen++
		}
		assert.InDelta(t, want, w.reach(l.reach)-start, 0.01, "%s", l.m)
	}
	assert.Equal(t, 1, seen)
}

// Air that turns out 3 °C colder than forecast until two in the afternoon leaves the
// structure under the 16 °C that the class is laid at: the pot waits, and that is what
// holds the job up most.
func TestAPotWaitsForASurfaceThatMayBeSealed(t *testing.T) {
	text := strings.NewReplacer("EACH", "60s", "temp: 77F", "temp: 18.5C", "air-margin: 0C", "air-margin: 2C").Replace(filmJob)
	n, err := newNet(planOf(t, text, nil).from)
	require.NoError(t, err)
	w, err := newPlayer(n, SpreadOptions{})
	require.NoError(t, err)
	for k := range 7 { // straight from −3 °C at 13:00 to 0 at 14:00
		w.errors[k] = -1.5
	}
	o := w.play(nil)
	lay := w.of(verify.Lay, "")
	want := 6*3600 + 3600.0/6 // 18.5 − 3 + 3/6 °C is 16 °C
	assert.InDelta(t, want, w.start[lay], 300, "found by steps of five minutes")
	assert.GreaterOrEqual(t, w.start[lay], want-1e-3)
	assert.Positive(t, w.sealing[w.of(verify.Mix, "")])
	assert.True(t, o.inLine[0], "and the pot is mixed when the surface is fit")
	assert.Equal(t, "waiting until it may be sealed, door", w.blame())
}

// A batch that the job names for a joint is one of its own; joints that name none share
// what there is of the class.
func TestABatchIsWhatTheJobNames(t *testing.T) {
	hatch := "  - id: hatch\n    class: polysulfide-b-2\n    layers: [{seal: fillet, spread: 12min}]\n"
	two := strings.NewReplacer("EACH", "60s", "gates: {fly: [door cure]}", hatch+"gates: {fly: [door cure, hatch cure]}").Replace(filmJob)
	for _, c := range []struct {
		door, hatch string
		want        int
	}{{"", "", 1}, {"A-1", "A-1", 1}, {"A-1", "A-2", 2}, {"A-1", "", 2}} {
		text := two
		if c.door != "" {
			text = strings.Replace(text, "    class: polysulfide-b-2\n    layers: [{seal: faying", "    class: polysulfide-b-2\n    batch: "+c.door+"\n    layers: [{seal: faying", 1)
		}
		if c.hatch != "" {
			text = strings.Replace(text, "    class: polysulfide-b-2\n    layers: [{seal: fillet", "    class: polysulfide-b-2\n    batch: "+c.hatch+"\n    layers: [{seal: fillet", 1)
		}
		n, err := newNet(planOf(t, text, nil).from)
		require.NoError(t, err)
		assert.Len(t, n.batches, c.want, "%v", c)
	}
}

// shifted is a job whose work runs into the end of a shift of half an hour's reserve.
const shifted = `job: T-1
zone: UTC
start: 2027-03-08T07:00
air: [{constant: {temp: 77F, rh: 50%}}]
air-margin: 0C
mixing: {room: 77F, adds: 0C, takes: 8min}
crew: [{who: Ann, can: [seal, torque, panel]}, {who: Cy, can: [inspect]}]
shifts: [{days: daily, from: "07:00", to: "11:00"}]
joints:
  - id: door
    class: polysulfide-b-2
    prepare: [{strip: 120min}]
    layers: [{seal: faying, spread: 12min}]
    fasteners: {count: 20, each: 4min, torque: wet}
gates: {fly: [door cure]}
ready: fly
`

// No mix is started whose last fastener falls after the shift. 2 h of stripping and 100
// min of pot work leave 20 min: 19 min late it is mixed, and 21 min late the next morning.
func TestAPotIsNotMixedWhereItsWorkWouldNotFitTheShift(t *testing.T) {
	p := planOf(t, shifted, nil)
	late := func(by float64) *player {
		return bend(t, p, func(x Task, takes float64) float64 {
			if x.Kind == TaskKind(verify.Prepare) {
				takes += by * 60
			}
			return takes
		})
	}
	w := late(0)
	mix := w.of(verify.Mix, "")
	slack := 240 - (w.n.tasks[mix].start/60 + w.n.tasks[mix].whole/60)
	require.Equal(t, 20.0, slack)
	w = late(slack - 1)
	assert.InDelta(t, w.n.tasks[mix].start+(slack-1)*60, w.start[mix], 1e-6)
	assert.Less(t, w.start[mix], 4*3600.0)
	w = late(slack + 1)
	assert.InDelta(t, 24*3600, w.start[mix], 1e-6, "the next morning at seven")
	assert.Positive(t, w.shut[mix])
}

// Pot work that runs over the end of the shift goes on: sealant does not wait. It counts
// as overtime.
func TestPotWorkGoesOnPastTheShift(t *testing.T) {
	p := planOf(t, shifted, nil)
	w := bend(t, p, func(x Task, takes float64) float64 {
		if x.Kind == TaskKind(verify.Torque) {
			takes += 3600
		}
		return takes
	})
	torque := w.of(verify.Torque, "door")
	assert.Equal(t, w.start[torque]+w.takes[torque], w.end[torque])
	assert.Greater(t, w.end[torque], 4*3600.0)
	assert.True(t, w.outcome().overtime)
	in, workable := w.pot(0)
	assert.False(t, in)
	assert.False(t, workable)
	assert.Contains(t, w.blame(), "torque 20 fasteners wet")
}

// Sealant that is not there while the air is followed is given no time, and not ready.
func TestWhatDoesNotComeIsNotReady(t *testing.T) {
	n, err := newNet(planOf(t, strings.ReplaceAll(filmJob, "EACH", "60s"), nil).from)
	require.NoError(t, err)
	n.until = 70 * 3600
	n.b.j.ReadyBy = n.b.j.Start.Add(1000 * time.Hour)
	o := SpreadOptions{Draws: 40, Workers: 1, Task: 0.2}
	s := n.sum(o, n.run(o))
	assert.True(t, s.Ready.P10.IsZero(), "%v", s.Ready)
	assert.Equal(t, chance.Count{Kept: 0, Of: 40}, s.By)
	assert.Equal(t, 40, s.InLine.Kept, "the pot is kept all the same")
	assert.Equal(t, n.instant(70*3600), s.Until)
	for _, d := range s.LateBy {
		assert.Equal(t, "not done while the air was followed", d.What)
	}
}

func TestWithoutAPlanThereIsNothingToPlay(t *testing.T) {
	_, err := (&Plan{}).Play(AllSpread(100, 1))
	assert.ErrorIs(t, err, errNoPlan)
}
