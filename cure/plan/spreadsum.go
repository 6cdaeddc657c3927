package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/chance"
)

// sum adds up what came of all draws.
func (n *net) sum(o SpreadOptions, r chance.Result[outcome]) *Spread {
	s := &Spread{Asked: o.Draws, Draws: len(r.Plays), Seed: o.Seed, Task: o.Task, Until: n.instant(n.until)}
	if o.Forecast {
		s.ForecastSD = n.forecastSD()
	}
	if o.Batch {
		s.Batches = n.spreadBatches()
	}
	s.Ready = n.quantiles(column(r.Plays, func(x outcome) float64 { return x.ready }))
	by := math.Inf(-1)
	if !n.b.j.ReadyBy.IsZero() {
		by = n.b.j.ReadyBy.Sub(n.b.j.Start).Seconds()
	}
	for i := range r.Plays {
		x := &r.Plays[i]
		s.InLine.Add(x.lost == 0)
		s.Overtime.Add(x.overtime)
		s.Late.Add(x.late != "")
		if !math.IsInf(by, -1) {
			s.By.Add(x.ready <= by+second)
			s.ByInLine.Add(x.ready <= by+second && x.lost == 0)
		}
	}
	n.sumMixes(s, r.Plays)
	n.sumLimits(s, r.Plays)
	n.sumTimes(s, r.Plays)
	s.Matters = n.matters(r)
	s.LateBy = drivers(r.Plays)
	s.Assumed = n.assumed(s, o)
	return s
}

func column(plays []outcome, of func(outcome) float64) []float64 {
	out := make([]float64, len(plays))
	for i := range plays {
		out[i] = of(plays[i])
	}
	return out
}

func (n *net) sumMixes(s *Spread, plays []outcome) {
	sched := n.b.answer.Schedule
	for i, pot := range n.pots {
		m := MixChance{Mix: n.b.pots[i].id, Spare: math.MaxInt64}
		for _, l := range n.b.m.Lags {
			if !l.Max || l.Shift || l.From != pot.mix {
				continue
			}
			m.HasLine = true
			spare := l.Fn.At(sched.Time(l.From, l.FromAt)) - sched.Time(l.To, l.ToAt)
			m.Spare = min(m.Spare, time.Duration(spare)*tick)
		}
		if !m.HasLine {
			m.Spare = 0
		}
		for k := range plays {
			m.InLine.Add(plays[k].inLine[i])
			m.Workable.Add(plays[k].workable[i])
		}
		s.Mixes = append(s.Mixes, m)
	}
	slices.SortStableFunc(s.Mixes, func(a, c MixChance) int { return cmp.Compare(n.mixStart(a.Mix), n.mixStart(c.Mix)) })
}

func (n *net) mixStart(id string) float64 {
	for _, p := range n.b.pots {
		if p.id == id {
			return n.tasks[p.task].start
		}
	}
	return 0
}

// sumLimits counts the limits that say the same as one.
func (n *net) sumLimits(s *Spread, plays []outcome) {
	for i, l := range n.limits {
		k := slices.IndexFunc(s.Limits, func(x LimitChance) bool { return x.What == l.what })
		if k >= 0 {
			continue
		}
		c := LimitChance{What: l.what}
		for j := range plays {
			kept := true
			for m := i; m < len(n.limits); m++ {
				kept = kept && (n.limits[m].what != l.what || plays[j].limits[m])
			}
			c.Kept.Add(kept)
		}
		s.Limits = append(s.Limits, c)
	}
}

func (n *net) sumTimes(s *Spread, plays []outcome) {
	for i, c := range n.cures {
		x := CureChance{Joint: c.joint, Milestone: c.m, Planned: n.instant(n.tasks[c.node].end)}
		for k := range plays {
			x.ByThen.Add(plays[k].cures[i] <= n.tasks[c.node].end+second)
		}
		x.When = n.quantiles(column(plays, func(o outcome) float64 { return o.cures[i] }))
		s.Cures = append(s.Cures, x)
	}
	for i, g := range n.b.j.Gates {
		x := GateChance{ID: g.ID, When: n.quantiles(column(plays, func(o outcome) float64 { return o.gates[i] }))}
		for k := range plays {
			x.ByThen.Add(plays[k].gates[i] <= n.tasks[n.b.gates[g.ID]].end+second)
		}
		s.Gates = append(s.Gates, x)
	}
}

// matters ranks the sources by what is left of the ready time's variance if all others
// are known. What is not ready while the air is followed counts as ready at its end.
func (n *net) matters(r chance.Result[outcome]) []Source {
	ready, okReady := chance.Shares(r, numSources, func(o outcome) float64 { return math.Min(o.ready, n.until) / 3600 })
	lost, okLost := chance.Shares(r, numSources, func(o outcome) float64 { return float64(o.lost) })
	if !okReady && !okLost {
		return nil
	}
	out := make([]Source, numSources)
	for k := range out {
		out[k].Name = sourceNames[k]
		if okReady {
			out[k].Ready = ready[k]
		}
		if okLost {
			out[k].Lost = lost[k]
		}
	}
	slices.SortStableFunc(out, func(a, c Source) int { return cmp.Compare(c.Ready.Total, a.Ready.Total) })
	return out
}

// drivers counts what made draws late.
func drivers(plays []outcome) []Driver {
	var out []Driver
	late := 0.0
	for i := range plays {
		what := plays[i].late
		if what == "" {
			continue
		}
		late++
		k := slices.IndexFunc(out, func(d Driver) bool { return d.What == what })
		if k < 0 {
			k = len(out)
			out = append(out, Driver{What: what})
		}
		out[k].Share++
	}
	for k := range out {
		out[k].Share /= late
	}
	slices.SortStableFunc(out, func(a, c Driver) int { return cmp.Compare(c.Share, a.Share) })
	return out
}

// forecastSD is the standard deviation of the forecast's error in °C, where the air
// that is followed holds a forecast.
func (n *net) forecastSD() float64 {
	if !n.b.air.Doubt(n.clock(n.until), forecastStep).Any() {
		return 0
	}
	return n.b.j.AirMargin / marginSD
}

// spreadBatches counts the batches with a spread in anything that is asked of them.
func (n *net) spreadBatches() int {
	var with []int
	for _, k := range n.courses {
		if s := batchSpread(n.feels[k.feel].class, k.m); s != [2]float64{1, 1} && !slices.Contains(with, k.batch) {
			with = append(with, k.batch)
		}
	}
	return len(with)
}

// assumed says what the figures rest on.
func (n *net) assumed(s *Spread, o SpreadOptions) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	add("People keep the order of the plan and start nothing before its planned time; what is late starts as soon as its people, the surface and the sealant are ready. Pot work once begun goes on through breaks.")
	add("After a cure they go on, from the planned time at the earliest, when the sealant has really got there, by touch or witness cup, and not when a line says so: the line is late on purpose.")
	add("A pot is not mixed while its work is seen to be held up, nor where its work would not be done within the shift.")
	add("A line that is missed is counted, and the draw goes on as if it had been kept: cleaning and mixing again is not in these times.")
	switch {
	case o.Task > 0:
		add("Task times: each on its own, lognormal about the planned time; two in three lie between %.0f %% and %.0f %% of it (common practice, no source).", 100/(1+o.Task), 100*(1+o.Task))
	default:
		add("Task times are taken as planned.")
	}
	switch {
	case s.ForecastSD > 0:
		add("The forecast: off by a normal error of standard deviation %.2g degrees C, which fades within a day (assumed); the air-margin of %g degrees C is taken as 1.645 of it, so that one in twenty lies beyond it on either side.", s.ForecastSD, n.b.j.AirMargin)
	case !o.Forecast:
		add("The air is taken as it is likely.")
	case n.b.j.AirMargin == 0:
		add("The forecast is taken as certain, as the job's air-margin of 0 says.")
	default:
		add("The air is measured throughout: it is taken as it was.")
	}
	out = append(out, n.assumedBatches(o)...)
	return append(out, "Cure and pot life run along the plain curve, outside its range and in dry air too.")
}

// assumedBatches says which batches have a spread, and of what.
func (n *net) assumedBatches(o SpreadOptions) []string {
	if !o.Batch {
		return []string{"Every batch is taken to follow its class's plain curve."}
	}
	var with, without []string
	var seen []string
	for _, b := range n.batches {
		if slices.Contains(seen, b.class) {
			continue
		}
		seen = append(seen, b.class)
		var parts []string
		for m := range cure.NumMilestones {
			k := slices.IndexFunc(n.courses, func(k courseKey) bool { return n.feels[k.feel].class.ID == b.class && k.m == m })
			if k < 0 {
				continue
			}
			if s := batchSpread(n.feels[n.courses[k].feel].class, m); s != [2]float64{1, 1} {
				parts = append(parts, fmt.Sprintf("%s %s to %s %%", m, signed(s[0]), signed(s[1])))
			}
		}
		if parts == nil {
			without = append(without, b.class)
			continue
		}
		with = append(with, fmt.Sprintf("%s (%s)", b.class, strings.Join(parts, ", ")))
	}
	var out []string
	if with != nil {
		out = append(out, "A batch lies anywhere in its class's spread, most likely at the plain curve, quick or slow in all its milestones alike: "+strings.Join(with, "; ")+".")
	}
	if without != nil {
		out = append(out, "No spread counts for "+strings.Join(without, ", ")+": none is stated, or the time is guaranteed on that side.")
	}
	return out
}

// signed is a factor as what it adds, in per cent: "-10", "0", "+34".
func signed(factor float64) string {
	if v := math.Round(100 * (factor - 1)); v != 0 {
		return fmt.Sprintf("%+.0f", v)
	}
	return "0"
}
