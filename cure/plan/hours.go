package plan

import (
	"math"
	"slices"
	"time"

	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
)

// people brings the crew and its shifts into the model.
func (b *built) people() {
	until := b.j.Start.Add(time.Duration(b.m.Horizon) * tick)
	for _, p := range b.j.Crew {
		q := solve.Person{Name: p.Who, Skills: p.Can}
		for _, w := range b.j.WorkWindows(p, until) {
			if x, ok := b.window(w); ok {
				q.Work = append(q.Work, x)
			}
		}
		for _, w := range b.j.Overtime(p, until) {
			if x, ok := b.window(w); ok {
				q.Spare = append(q.Spare, x)
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

// merge joins windows that touch or overlap.
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

// worked reports whether anybody is on shift at a tick, or may just have ended work.
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
