package desk

import (
	"slices"
	"time"

	"beadline/cure/plan/job"
)

// Stretch is a stretch of time with work in it, short enough to be shown to the minute.
type Stretch struct {
	job.Window
	Tasks []int     // indexes into the plan's tasks, in order of their start
	Shown time.Time // how far it is shown: to a step of the clock, with the pots that end soon after To
}

// idle is how long nobody works before the time after it is a stretch of its own.
const idle = time.Hour

// Stretches are the times at which work is done, each at most so long; every task lies
// in one of them, or in several. A stretch begins at a step of the wall's clock. It is
// cut where nobody works, if it can be.
func (l *Timeline) Stretches(most, step time.Duration) []Stretch {
	works := l.works()
	var out []Stretch
	for len(works) > 0 {
		from := stepDown(works[0].From, l.Job.Zone, step)
		end := works[0].To
		n := 1
		for n < len(works) && works[n].From.Sub(end) < idle && (sameDay(works[n].From.In(l.Job.Zone), end.In(l.Job.Zone)) || !works[n].From.After(end)) {
			end = latest(end, works[n].To)
			n++
		}
		out = append(out, l.cut(works[:n], from, most, step)...)
		works = works[n:]
	}
	for i := range out {
		limit := out[i].From.Add(most)
		if i+1 < len(out) {
			limit = earliest(limit, out[i+1].From)
		}
		out[i].Shown = l.shown(out[i], limit, step)
	}
	return out
}

// shown is how far a stretch is shown, no further than a limit.
func (l *Timeline) shown(s Stretch, limit time.Time, step time.Duration) time.Time {
	to := s.To
	for _, j := range l.Seals {
		for _, p := range j.Pots {
			if soon := p.DoneBy.Add(shortest); soon.After(to) && !soon.After(s.To.Add(idle/2)) {
				to = soon
			}
		}
	}
	if down := stepDown(to, l.Job.Zone, step); down.Before(to) {
		to = down.Add(step)
	}
	return earliest(to, limit).In(l.Job.Zone)
}

func sameDay(a, b time.Time) bool { return a.Format(time.DateOnly) == b.Format(time.DateOnly) }

// works are the stretches of all tasks, in order of time, those of tasks that need no
// hands among them.
func (l *Timeline) works() (all []Spell) {
	for _, c := range l.Crew {
		all = append(all, c.Works...)
	}
	for i, t := range l.Tasks {
		if len(t.Who) == 0 {
			for _, w := range worked(t, nil) {
				all = append(all, Spell{i, w})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Spell) int {
		if c := a.From.Compare(b.From); c != 0 {
			return c
		}
		return a.Task - b.Task
	})
	return all
}

// cut makes stretches of works that follow each other.
func (l *Timeline) cut(works []Spell, from time.Time, most, step time.Duration) (out []Stretch) {
	end := works[0].To
	for _, w := range works {
		end = latest(end, w.To)
	}
	for {
		to := end
		if limit := from.Add(most); to.After(limit) {
			to = l.pause(works, from.Add(most/2), limit, step)
		}
		s := Stretch{Window: job.Window{From: from.In(l.Job.Zone), To: to.In(l.Job.Zone)}}
		for _, w := range works {
			if w.From.Before(to) && w.To.After(from) && !slices.Contains(s.Tasks, w.Task) {
				s.Tasks = append(s.Tasks, w.Task)
			}
		}
		slices.Sort(s.Tasks) // the plan's tasks are in order of their start
		if len(s.Tasks) > 0 {
			out = append(out, s)
		}
		if !to.Before(end) {
			return out
		}
		from = to
	}
}

// pause is the latest step between two instants at which nobody is at a task, or the
// later of them.
func (l *Timeline) pause(works []Spell, lo, hi time.Time, step time.Duration) time.Time {
	for t := stepDown(hi, l.Job.Zone, step); t.After(lo); t = t.Add(-step) {
		if !slices.ContainsFunc(works, func(w Spell) bool { return w.From.Before(t) && w.To.After(t) }) {
			return t
		}
	}
	return hi
}
