package desk

import (
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/plan/job"
)

// timelineSteps is how many readings of the air a timeline is drawn with.
const timelineSteps = 600

// Air is the air of the job over the timeline, and the structure as it would be if
// nobody warmed it; nil where the plan holds no air. lags says that the structure is not
// at air temperature. A joint with a part of its own is not looked at.
func (l *Timeline) Air() (readings []AirReading, lags bool) {
	h := l.Plan.Air
	if h == nil {
		return nil, false
	}
	site := cure.Site{Air: h}
	if p := l.Job.Part; p.Set {
		site.Part, lags = cure.Part{Tau: p.Tau, AtC: p.AtC}, p.Tau > 0
	}
	part := site.Probe(cure.Likely)
	from, until := latest(l.From, h.From()), earliest(l.Until, h.Until())
	step := until.Sub(from) / timelineSteps
	for i := range timelineSteps + 1 {
		at := from.Add(time.Duration(i) * step)
		r := AirReading{At: at, PartC: part(at)}
		var pv float64
		r.AirC, pv = h.At(at, cure.Likely)
		r.ColdestC, _ = h.At(at, cure.NotBefore)
		r.WarmestC, _ = h.At(at, cure.NotAfter)
		r.DewC = air.DewPoint(pv)
		readings = append(readings, r)
	}
	return readings, lags
}

// Staffing is how many people are on shift and how many of them at work, from an instant
// on.
type Staffing struct {
	At              time.Time
	OnShift, AtWork int
}

// Staff is how many people are on shift and at work over the timeline: a step for every
// change.
func (l *Timeline) Staff() (steps []Staffing) {
	at := []time.Time{l.From}
	for _, c := range l.Crew {
		for _, w := range c.Shifts {
			at = append(at, w.From, w.To)
		}
		for _, w := range c.Works {
			at = append(at, w.From, w.To)
		}
	}
	slices.SortFunc(at, time.Time.Compare)
	for _, t := range slices.CompactFunc(at, time.Time.Equal) {
		s := Staffing{At: t}
		holds := func(w job.Window) bool { return !w.From.After(t) && w.To.After(t) }
		for _, c := range l.Crew {
			if slices.ContainsFunc(c.Shifts, holds) {
				s.OnShift++
			}
			if slices.ContainsFunc(c.Works, func(w Spell) bool { return holds(w.Window) }) {
				s.AtWork++
			}
		}
		steps = append(steps, s)
	}
	return steps
}
