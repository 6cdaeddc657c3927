package verify

import (
	"slices"
	"time"

	"beadline/cure/plan/job"
)

// span is a stretch of time, its end not included.
type span struct{ from, to time.Time }

func (s span) holds(from, to time.Time) bool { return !from.Before(s.from) && !to.After(s.to) }

// maxDays bounds how far shifts are laid out: a plan that runs longer has no
// shifts beyond it, and so breaks them.
const maxDays = 1000

// calendar is who is at work when, laid out from the job's shifts.
type calendar struct {
	people map[string][]span // less breaks and absence
	shifts []span            // of anybody, breaks ignored; shifts that touch are one
}

// newCalendar lays out the shifts by the clock on the wall of the job's zone, from
// the day before the job to the day after its last work. A shift whose end is not
// after its start runs over midnight. A break of any shift that a person works is
// that person's break.
func newCalendar(j *job.Job, until time.Time) *calendar {
	c := &calendar{people: map[string][]span{}}
	work, off := map[string][]span{}, map[string][]span{}
	today := civil(j.Start.In(j.Zone))
	end := civil(until.In(j.Zone)).AddDate(0, 0, 1)
	day := today.AddDate(0, 0, -2)
	for n := 0; !day.After(end) && n < maxDays; n++ {
		for i := range j.Shifts {
			s := &j.Shifts[i]
			if !on(s, day) {
				continue
			}
			whole, breaks := shiftOn(s, day, j.Zone)
			c.shifts = append(c.shifts, whole)
			for _, p := range j.Crew {
				if len(s.Who) == 0 || slices.Contains(s.Who, p.Who) {
					work[p.Who] = append(work[p.Who], whole)
					off[p.Who] = append(off[p.Who], breaks...)
				}
			}
		}
		day = day.AddDate(0, 0, 1)
	}
	for _, p := range j.Crew {
		for _, a := range p.Away {
			off[p.Who] = append(off[p.Who], span{a.From, a.To})
		}
		c.people[p.Who] = without(joined(work[p.Who]), joined(off[p.Who]))
	}
	c.shifts = joined(c.shifts)
	return c
}

// civil is a calendar day, as midnight UTC of it.
func civil(local time.Time) time.Time {
	y, m, d := local.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func on(s *job.Shift, day time.Time) bool {
	if len(s.Dates) == 0 {
		return s.Days[day.Weekday()]
	}
	for _, d := range s.Dates {
		if y, m, dd := d.Date(); time.Date(y, m, dd, 0, 0, 0, 0, time.UTC).Equal(day) {
			return true
		}
	}
	return false
}

// shiftOn is the shift that begins on a day, from end to end, and its breaks. A
// time of the shift that the clock shows before the shift's start is on the next
// day.
func shiftOn(s *job.Shift, day time.Time, zone *time.Location) (whole span, breaks []span) {
	begin := s.From.DurationSinceMidnight()
	at := func(ofDay time.Duration, next bool) time.Time {
		if next {
			ofDay += 24 * time.Hour
		}
		return wall(day.Add(ofDay), zone)
	}
	to := s.To.DurationSinceMidnight()
	whole = span{at(begin, false), at(to, to <= begin)}
	for _, b := range s.Breaks {
		f, t := b[0].DurationSinceMidnight(), b[1].DurationSinceMidnight()
		breaks = append(breaks, span{at(f, f < begin), at(t, t <= begin)})
	}
	return whole, breaks
}

// wall is the first instant at which the clock on the wall shows naive (a wall
// time written as if it were UTC) or later: the earlier one where the hour comes
// twice, the jump where it is skipped.
func wall(naive time.Time, zone *time.Location) time.Time {
	t := naive.Add(-26 * time.Hour) // zones differ from UTC by less
	for {
		_, offset := t.In(zone).Zone()
		_, end := t.In(zone).ZoneBounds()
		at := naive.Add(-time.Duration(offset) * time.Second)
		switch {
		case at.Before(t):
			return t
		case end.IsZero() || at.Before(end):
			return at
		}
		t = end
	}
}

// joined is spans in order, with those that touch or overlap made one.
func joined(in []span) []span {
	in = slices.DeleteFunc(slices.Clone(in), func(s span) bool { return !s.from.Before(s.to) })
	slices.SortFunc(in, func(a, b span) int { return a.from.Compare(b.from) })
	var out []span
	for _, s := range in {
		if n := len(out); n > 0 && !s.from.After(out[n-1].to) {
			if s.to.After(out[n-1].to) {
				out[n-1].to = s.to
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// without is what is left of spans once others are cut out; both are joined.
func without(in, cut []span) []span {
	var out []span
	for _, s := range in {
		for _, x := range cut {
			if x.from.Before(s.to) && s.from.Before(x.to) {
				if s.from.Before(x.from) {
					out = append(out, span{s.from, x.from})
				}
				s.from = x.to
			}
		}
		if s.from.Before(s.to) {
			out = append(out, s)
		}
	}
	return out
}

// both is where two people are at work together.
func both(a, b []span) []span {
	var out []span
	for _, s := range a {
		for _, t := range b {
			from, to := s.from, s.to
			if t.from.After(from) {
				from = t.from
			}
			if t.to.Before(to) {
				to = t.to
			}
			if from.Before(to) {
				out = append(out, span{from, to})
			}
		}
	}
	return out
}

// atWork reports whether a person is at work from one instant to another without
// a pause.
func (c *calendar) atWork(who string, from, to time.Time) bool {
	return slices.ContainsFunc(c.people[who], func(s span) bool { return s.holds(from, to) })
}

// worked is how long all of some people are at work together between two
// instants.
func (c *calendar) worked(who []string, from, to time.Time) (sum time.Duration) {
	at := []span{{from, to}}
	for _, w := range who {
		at = both(at, c.people[w])
	}
	for _, s := range at {
		sum += s.to.Sub(s.from)
	}
	return sum
}

// oneShift reports whether two instants lie in one shift, breaks ignored. Shifts
// that touch or overlap are handed over and count as one.
func (c *calendar) oneShift(from, to time.Time) bool {
	return slices.ContainsFunc(c.shifts, func(s span) bool { return s.holds(from, to) })
}

// anyShift reports whether an instant lies in any shift, breaks ignored.
func (c *calendar) anyShift(t time.Time) bool { return c.oneShift(t, t) }
