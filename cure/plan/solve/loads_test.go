package solve

import (
	"fmt"
	"slices"
	"sort"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The jobs of these benchmarks are drawn, and built as real ones are: doors come off,
// joints are stripped, cleaned and sealed within hours, cures run on through the night
// and slower, somebody independent looks, panels go back by two people. Spans are
// those of common practice, without a source.
const (
	loadTasks  = 80
	loadPeople = 4
	loadDays   = 3 // in which the work is to be done, of loadHorizon
	loadSeeds  = 5

	loadDay     = 24 * 60
	loadHorizon = 12 * loadDay
)

// loads are how much work there is, of the hours that all people have in three days.
var loads = []struct {
	name  string
	share float64
}{{"light", 0.4}, {"even", 0.9}, {"overloaded", 1.5}}

// workshop draws one job.
type workshop struct {
	draw
	m       *Model
	stretch []int   // tasks that may be made longer or shorter
	strips  []int   // of those, the ones that may pause
	cure    loadAir // of sealant on the structure
	pot     loadAir // of sealant in the pot
}

// loadJob draws a job whose work takes the given share of three days.
func loadJob(share float64, seed uint64) *Model {
	w := workshop{draw: numbers(seed), m: &Model{Horizon: loadHorizon}}
	// The structure is as cold as the hangar: 16 °C at noon to 9 °C before dawn halves
	// the rate nearly. The pot stands in a room, warmer only in the early afternoon.
	w.cure = newLoadAir(func(hour int) int { return []int{10, 9, 8, 8, 9, 11, 13, 15, 16, 16, 14, 12}[hour/2] })
	w.pot = newLoadAir(func(hour int) int {
		if hour >= 12 && hour < 17 {
			return 18
		}
		return 16
	})
	w.people()
	w.m.Ready = w.task("ready", 0, "")
	const joints, doors = 7, 3
	for d := range doors {
		open := w.longer(w.crew(w.task(fmt.Sprint("open door ", d), w.from(15, 30), "panel")))
		fit := w.longer(w.crew(w.task(fmt.Sprint("fit door ", d), w.from(15, 30), "panel")))
		check := w.longer(w.task(fmt.Sprint("check door ", d), w.from(10, 20), "inspect"))
		w.independent(check, fit)
		w.lag(after(fit, check, 0), after(check, w.m.Ready, 0))
		for j := d; j < joints; j += doors {
			w.joint(j, open, fit)
		}
	}
	w.scale(share)
	return w.m
}

// people are four, in one shift or in two, each with a break.
func (w *workshop) people() {
	shift := func(from, rest, to int) (out []Window) {
		for d := 0; d < loadHorizon; d += loadDay {
			out = append(out, Window{d + from, d + rest}, Window{d + rest + 30, d + to})
		}
		return out
	}
	early, late := shift(7*60, 11*60+30, 15*60+30), shift(7*60, 11*60+30, 15*60+30)
	if w.oneIn(2) {
		early, late = shift(6*60, 10*60, 14*60+30), shift(13*60+30, 18*60, 22*60)
	}
	w.m.People = []Person{
		person("Ann", early, "prepare", "seal", "torque", "panel"),
		person("Bo", early, "prepare", "torque", "panel", "inspect"),
		person("Cy", late, "prepare", "seal", "torque", "panel"),
		person("Di", late, "inspect", "panel", "prepare"),
	}
}

// joint draws a joint behind a door: faying, torqued while the pot lasts, or a fillet
// with an overcoat a day later at most.
func (w *workshop) joint(j, open, fit int) {
	named := func(s string) string { return fmt.Sprint(s, " joint ", j) }
	strip := w.longer(w.task(named("strip"), w.from(60, 180), "prepare"))
	w.m.Tasks[strip].Split = true
	w.strips = append(w.strips, strip)
	if w.oneIn(4) {
		w.m.Tasks[strip].Release = 60 * w.from(8, 30)
	}
	clean := w.longer(w.task(named("clean"), w.from(20, 40), "prepare"))
	look := w.longer(w.task(named("inspect"), w.from(10, 20), "inspect"))
	refit := w.longer(w.crew(w.task(named("refit"), w.from(20, 40), "panel")))
	cured := w.task(named("cured"), 0, "")
	w.lag(after(open, strip, 0), after(strip, clean, 0), after(look, refit, 0), after(refit, fit, 0), after(cured, w.m.Ready, 0))

	mix, lay := w.pair(named("mix"), named("lay"), w.from(20, 40))
	tack := w.task(named("tack-free"), 0, "")
	w.lag(after(clean, mix, 0), notLater(clean, lay, 4*60))
	w.independent(look, lay)
	if w.oneIn(2) {
		promoter := w.task(named("promoter"), 10, "prepare")
		torque := w.task(named("torque"), w.from(15, 30), "torque")
		w.lag(after(clean, promoter, 0), after(promoter, lay, 30), notLater(promoter, lay, 8*60),
			after(lay, torque, 0), w.lasts(mix, torque, 120),
			w.cures(torque, tack, 6*60), w.cures(torque, cured, 20*60), after(tack, look, 0))
		w.independent(look, torque)
		return
	}
	remix, overcoat := w.pair(named("mix overcoat"), named("overcoat"), w.from(15, 25))
	w.lag(w.lasts(mix, lay, 120), w.cures(lay, tack, 5*60), after(tack, remix, 0), notLater(tack, overcoat, loadDay),
		w.lasts(remix, overcoat, 60), w.cures(overcoat, cured, 16*60), after(overcoat, look, 60))
	w.independent(look, overcoat)
}

func (w *workshop) task(name string, minutes int, skill string) int {
	t := Task{Name: name, Duration: minutes, Skill: skill}
	if skill != "" {
		t.Crew = 1
	}
	w.m.Tasks = append(w.m.Tasks, t)
	return len(w.m.Tasks) - 1
}

// pair is a mix, made as late as can be, and what it is laid on by the same person.
func (w *workshop) pair(mix, lay string, minutes int) (m, l int) {
	m, l = w.task(mix, 10, "seal"), w.task(lay, minutes, "seal")
	w.m.Tasks[m].Late, w.m.Tasks[l].With = true, m+1
	w.lag(after(m, l, 0))
	return m, l
}

func (w *workshop) crew(j int) int { w.m.Tasks[j].Crew = 2; return j }

func (w *workshop) longer(j int) int { w.stretch = append(w.stretch, j); return j }

func (w *workshop) lag(ls ...Lag) { w.m.Lags = append(w.m.Lags, ls...) }

func (w *workshop) independent(a, b int) {
	w.m.Tasks[a].NotBy = append(w.m.Tasks[a].NotBy, b)
	w.m.Tasks[b].NotBy = append(w.m.Tasks[b].NotBy, a)
}

// cures is a cure that takes so many minutes at the best rate of the day.
func (w *workshop) cures(from, to, minutes int) Lag {
	return after(from, to, 0).by(NewCalls(func(t int) int { return w.cure.after(t, 16*minutes) }))
}

// lasts is a pot: everything served by it ends within so many minutes of its mixing, or
// sooner where it is warm.
func (w *workshop) lasts(mix, last, minutes int) Lag {
	return notLater(mix, last, 0).ends(AtStart, AtEnd).by(NewCalls(func(t int) int { return w.pot.before(t, 16*minutes) }))
}

// scale makes work longer or shorter until it takes the share of everyone's hours in
// three days. What must be done in one go stays within a third of a shift; what may
// pause takes the rest.
func (w *workshop) scale(share float64) {
	target := share * float64(w.hours())
	factor := func(of []int) float64 {
		can := 0
		for _, j := range of {
			can += w.m.Tasks[j].Duration * w.m.Tasks[j].Crew
		}
		return (target - float64(w.work()-can)) / float64(can)
	}
	by := factor(w.stretch)
	for _, j := range w.stretch {
		t := &w.m.Tasks[j]
		t.Duration = max(5, int(by*float64(t.Duration)))
		if !t.Split {
			t.Duration = min(t.Duration, 120)
		}
	}
	by = factor(w.strips)
	for _, j := range w.strips {
		w.m.Tasks[j].Duration = max(5, int(by*float64(w.m.Tasks[j].Duration)))
	}
}

// work is what there is to do, in minutes of one person.
func (w *workshop) work() int { return workOf(w.m) }

func workOf(m *Model) (sum int) {
	for _, t := range m.Tasks {
		sum += t.Duration * t.Crew
	}
	return sum
}

func (w *workshop) hours() int { return hoursOf(w.m) }

// hoursOf is how long all people are there in three days, in minutes.
func hoursOf(m *Model) (sum int) {
	for _, p := range m.People {
		for _, x := range p.Work {
			if x.To <= loadDays*loadDay {
				sum += x.To - x.From
			}
		}
	}
	return sum
}

// loadAir is how far something gets in it, summed up by the minute.
type loadAir []int

func newLoadAir(rate func(hour int) int) loadAir {
	a := make(loadAir, loadHorizon+1)
	for t := range loadHorizon {
		a[t+1] = a[t] + rate(t/60%24)
	}
	return a
}

// after is the first minute at which as much as is needed is done since t.
func (a loadAir) after(t, need int) int {
	t = min(max(t, 0), loadHorizon)
	u := sort.SearchInts(a, a[t]+need)
	if u > loadHorizon {
		return Never
	}
	return u
}

// before is the last minute at which no more than there is is spent since t.
func (a loadAir) before(t, have int) int {
	if t >= loadHorizon {
		return t
	}
	return sort.SearchInts(a, a[max(t, 0)]+have+1) - 1
}

func everyLoad(f func(name string, share float64, jobs []*Model)) {
	for _, l := range loads {
		var jobs []*Model
		for seed := range uint64(loadSeeds) {
			jobs = append(jobs, loadJob(l.share, seed))
		}
		f(l.name, l.share, jobs)
	}
}

func TestLoadsAreJobsOfTheirSize(t *testing.T) {
	everyLoad(func(name string, share float64, jobs []*Model) {
		for seed, m := range jobs {
			require.NoError(t, m.Check())
			assert.Len(t, m.Tasks, loadTasks)
			assert.Len(t, m.People, loadPeople)
			assert.InDelta(t, share, float64(workOf(m))/float64(hoursOf(m)), 0.02, "%s %d", name, seed)
			for _, tk := range m.Tasks {
				assert.True(t, tk.Split || tk.Duration <= 120, "%s %d: %s", name, seed, tk.Name)
			}
			kinds := map[string]int{}
			for _, l := range m.Lags {
				_, constant := l.Fn.(Plus)
				kinds[fmt.Sprint(constant, l.Max)]++
			}
			for _, k := range []string{"true false", "true true", "false false", "false true"} {
				assert.Positive(t, kinds[k], "%s %d: lags (constant, maximum) %s", name, seed, k)
			}
		}
	})
}

func TestLoadsHaveSchedules(t *testing.T) {
	everyLoad(func(name string, share float64, jobs []*Model) {
		for seed, m := range jobs {
			a, err := Solve(m, Options{Steps: 40})
			require.NoError(t, err)
			require.NotNil(t, a.Schedule, "%s %d: %+v", name, seed, a.Clash)
			require.NoError(t, m.CheckSchedule(a.Schedule))
			assert.GreaterOrEqual(t, a.Ready, a.Bound)
			t.Logf("%s %d: ready %.1f h, bound %.1f h", name, seed, float64(a.Ready)/60, float64(a.Bound)/60)
		}
	})
}

// BenchmarkLoadFirstPlan times how long the search takes to find a plan at all: it is
// given one step, then twice as many until there is one.
func BenchmarkLoadFirstPlan(b *testing.B) {
	everyLoad(func(name string, share float64, jobs []*Model) {
		b.Run(name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				took = took[:0]
				for seed := range jobs {
					m := loadJob(share, uint64(seed)) // its functions have no answers by heart
					begin := time.Now()
					for steps, found := 1, false; !found; steps *= 2 {
						a, err := Solve(m, Options{Steps: steps, Rough: true})
						if err != nil || steps > 1<<20 {
							b.Fatal(seed, err)
						}
						found = a.Schedule != nil
					}
					took = append(took, time.Since(begin))
				}
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
			b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "worst-ms")
		})
	})
}

// loadSearch is how long BenchmarkLoadGap searches in each job.
const loadSearch = 2 * time.Second

// BenchmarkLoadGap searches for two seconds in each job, and says how far above its
// bound the best plan is then.
func BenchmarkLoadGap(b *testing.B) {
	everyLoad(func(name string, share float64, jobs []*Model) {
		b.Run(name, func(b *testing.B) {
			var gaps []float64
			proven, ready := 0, 0
			for b.Loop() {
				gaps, proven, ready = gaps[:0], 0, 0
				for seed := range jobs {
					m, begin := loadJob(share, uint64(seed)), time.Now()
					a, err := Solve(m, Options{Steps: 1 << 30, Rough: true, Stop: func() bool { return time.Since(begin) >= loadSearch }})
					if err != nil || a.Schedule == nil {
						b.Fatal(seed, err, a.Clash)
					}
					if err := m.CheckSchedule(a.Schedule); err != nil {
						b.Fatal(seed, err)
					}
					if a.Status == Optimal {
						proven++
					}
					ready += a.Ready
					gaps = append(gaps, 100*float64(a.Ready-a.Bound)/float64(a.Bound))
				}
			}
			sum := 0.0
			for _, g := range gaps {
				sum += g
			}
			b.ReportMetric(sum/float64(len(gaps)), "mean-gap-%")
			b.ReportMetric(slices.Max(gaps), "worst-gap-%")
			b.ReportMetric(float64(proven), "proven")
			b.ReportMetric(float64(ready)/float64(60*len(gaps)), "ready-h")
		})
	})
}
