package job

import (
	"slices"
	"time"

	"github.com/rickb777/date"
)

// WorkWindows lists when a person is at work from the job's start until an
// instant: their shifts, less the breaks, less the time they are away. Windows are
// in order, do not touch or overlap, and are not empty.
//
// Shifts follow the clock on the wall of the job's zone, so a night shift is an
// hour shorter when the clocks go forward and an hour longer when they go back. A
// shift that begins or ends in the hour that is skipped begins or ends at the
// jump; in the hour that comes twice the earlier counts. Where shifts of one person
// overlap, a break of either is a break.
func (j *Job) WorkWindows(p Person, until time.Time) []Window {
	return j.windows(p, until, func(*Shift) bool { return true })
}

// Overtime lists the part of a person's WorkWindows that lies in overtime shifts alone.
func (j *Job) Overtime(p Person, until time.Time) []Window {
	return less(j.WorkWindows(p, until), j.windows(p, until, func(s *Shift) bool { return !s.Overtime }))
}

// windows is WorkWindows for some of the shifts. A break in any shift is a break.
func (j *Job) windows(p Person, until time.Time, some func(*Shift) bool) []Window {
	var work, off []Window
	// A night shift of the day before may still run at the start.
	day := date.NewAt(j.Start.In(j.Zone)).Add(-1)
	last := date.NewAt(until.In(j.Zone))
	for ; !day.After(last); day = day.Add(1) {
		for i := range j.Shifts {
			s := &j.Shifts[i]
			if s.Includes(p.Who) && s.On(day) {
				w, breaks := s.on(day, j.Zone)
				if off = append(off, breaks...); some(s) {
					work = append(work, w)
				}
			}
		}
	}
	off = append(off, p.Away...)
	return clip(less(union(work), union(off)), j.Start, until)
}

// on is the shift that starts on a day, and its breaks.
func (s *Shift) on(day date.Date, loc *time.Location) (w Window, breaks []Window) {
	end := day
	if s.To <= s.From {
		end = day.Add(1)
	}
	w = Window{wall(loc, day, s.From), wall(loc, end, s.To)}
	for _, b := range s.Breaks {
		from, to := day, day
		if b[0] < s.From {
			from = end
		}
		if b[1] <= s.From {
			to = end
		}
		breaks = append(breaks, Window{wall(loc, from, b[0]), wall(loc, to, b[1])})
	}
	return w, breaks
}

// union joins windows that touch or overlap; empty ones vanish.
func union(ws []Window) []Window {
	ws = slices.DeleteFunc(ws, func(w Window) bool { return !w.From.Before(w.To) })
	slices.SortFunc(ws, func(a, b Window) int { return a.From.Compare(b.From) })
	var out []Window
	for _, w := range ws {
		if n := len(out); n > 0 && !w.From.After(out[n-1].To) {
			if w.To.After(out[n-1].To) {
				out[n-1].To = w.To
			}
			continue
		}
		out = append(out, w)
	}
	return out
}

// less takes windows off out of others; both are in order and do not overlap.
func less(ws, off []Window) []Window {
	var out []Window
	for _, w := range ws {
		for len(off) > 0 && !off[0].To.After(w.From) {
			off = off[1:]
		}
		for _, o := range off {
			if !o.From.Before(w.To) {
				break
			}
			if o.From.After(w.From) {
				out = append(out, Window{w.From, o.From})
			}
			w.From = o.To
			if !w.From.Before(w.To) {
				break
			}
		}
		if w.From.Before(w.To) {
			out = append(out, w)
		}
	}
	return out
}

// clip keeps what lies between two instants.
func clip(ws []Window, from, to time.Time) []Window {
	var out []Window
	for _, w := range ws {
		if w.From.Before(from) {
			w.From = from
		}
		if w.To.After(to) {
			w.To = to
		}
		if w.From.Before(w.To) {
			out = append(out, w)
		}
	}
	return out
}
