package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"

	"github.com/rickb777/date/clock"
)

// calendar is when somebody is at work, taken apart so that each part can be taken off
// on its own: in their hours, not in their breaks, not while they are away.
type calendar struct{ hours, breaks, away []solve.Window }

// calendars are those of the crew, in its order.
func (b *built) calendars() []calendar {
	until := b.at(b.m.Horizon)
	whole := *b.j
	whole.Shifts = slices.Clone(b.j.Shifts)
	for i := range whole.Shifts {
		whole.Shifts[i].Breaks = nil
	}
	var out []calendar
	for _, p := range b.j.Crew {
		var c calendar
		for _, w := range p.Away {
			from, to := int(w.From.Sub(b.j.Start)/tick), int((w.To.Sub(b.j.Start)+tick-1)/tick)
			if from, to = max(0, from), min(to, b.m.Horizon); from < to {
				c.away = append(c.away, solve.Window{From: from, To: to})
			}
		}
		p.Away = nil
		c.hours = b.grid(whole.WorkWindows(p, until))
		c.breaks = less(c.hours, b.grid(b.j.WorkWindows(p, until)))
		c.away = merge(c.away)
		out = append(out, c)
	}
	return out
}

func (b *built) grid(ws []job.Window) []solve.Window {
	var out []solve.Window
	for _, w := range ws {
		if x, ok := b.window(w); ok {
			out = append(out, x)
		}
	}
	return out
}

// less is what is left of windows without others; both are in order and disjoint.
func less(ws, off []solve.Window) []solve.Window {
	var out []solve.Window
	for _, w := range ws {
		for _, o := range off {
			if o.To <= w.From || o.From >= w.To {
				continue
			}
			if o.From > w.From {
				out = append(out, solve.Window{From: w.From, To: o.From})
			}
			w.From = o.To
		}
		if w.From < w.To {
			out = append(out, w)
		}
	}
	return out
}

// rehour puts the working hours of a loosened model together again.
func (b *built) rehour(l *loose) {
	if !slices.Contains(l.hours, true) && !slices.Contains(l.breaks, true) && !slices.Contains(l.away, true) {
		return
	}
	for i, c := range b.calendars() {
		work := c.hours
		if l.hours[i] {
			work = []solve.Window{{From: 0, To: b.m.Horizon}}
		}
		if !l.breaks[i] {
			work = less(work, c.breaks)
		}
		if !l.away[i] {
			work = less(work, c.away)
		}
		l.m.People[i].Work = work
	}
}

// hoursDemands are the shifts, people with the same hours together; the breaks; and who
// is away.
func (b *built) hoursDemands() []demand {
	cs := b.calendars()
	var out []demand
	seen := map[string][]int{}
	var order []string
	for i, c := range cs {
		key := fmt.Sprint(c.hours)
		if seen[key] == nil {
			order = append(order, key)
		}
		seen[key] = append(seen[key], i)
	}
	for _, key := range order {
		is := seen[key]
		var who []string
		for _, i := range is {
			who = append(who, b.j.Crew[i].Who)
		}
		out = append(out, demand{Demand{HoursDemand, b.hoursWords(who, cs[is[0]])}, setAll(is, func(l *loose) []bool { return l.hours }), b.hoursKnob(who)})
	}
	var pausing []int
	var pauses []string
	for i, c := range cs {
		if len(c.breaks) > 0 {
			pausing = append(pausing, i)
		}
	}
	for _, s := range b.j.Shifts {
		for _, x := range s.Breaks {
			if w := clockWords(x[0]) + "-" + clockWords(x[1]); !slices.Contains(pauses, w) {
				pauses = append(pauses, w)
			}
		}
	}
	if len(pausing) > 0 {
		out = append(out, demand{Demand{BreaksDemand, "nobody works through a break (" + strings.Join(pauses, ", ") + ")"}, setAll(pausing, func(l *loose) []bool { return l.breaks }), nil})
	}
	for i, c := range cs {
		if len(c.away) > 0 {
			var when []string
			for _, w := range b.j.Crew[i].Away {
				when = append(when, stamp(w.From, b.j.Zone)+" to "+stamp(w.To, b.j.Zone))
			}
			out = append(out, demand{Demand{AwayDemand, fmt.Sprintf("%s is away from %s", b.j.Crew[i].Who, strings.Join(when, " and from "))}, setAll([]int{i}, func(l *loose) []bool { return l.away }), awayKnob(i, b.j.Crew[i].Who)})
		}
	}
	return out
}

func setAll(is []int, of func(*loose) []bool) func(*loose) {
	return func(l *loose) {
		for _, i := range is {
			of(l)[i] = true
		}
	}
}

func (b *built) hoursWords(who []string, c calendar) string {
	verb := "works"
	if len(who) > 1 && len(who) < len(b.j.Crew) {
		verb = "work"
	}
	if len(c.hours) == 0 {
		return fmt.Sprintf("%s %s no hours at all within %d days (shifts: %s)", joined(who, len(b.j.Crew)), verb, b.m.Horizon/(24*60), shiftWords(b.j, who[0]))
	}
	return fmt.Sprintf("%s %s %s only", joined(who, len(b.j.Crew)), verb, shiftWords(b.j, who[0]))
}

// dayWords are the days of a shift: "Mon-Fri", "daily", "Mon, Thu", or its dates.
func dayWords(s *job.Shift) string {
	if len(s.Dates) > 0 {
		var out []string
		for _, d := range s.Dates {
			y, m, day := d.Date()
			out = append(out, time.Date(y, m, day, 0, 0, 0, 0, time.UTC).Format("Mon 2 Jan"))
		}
		return strings.Join(out, ", ")
	}
	names := []string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}
	on := func(i int) bool { return s.Days[(i+1)%7] }
	var out []string
	for i := 0; i < 7; i++ {
		if !on(i) {
			continue
		}
		k := i
		for k+1 < 7 && on(k+1) {
			k++
		}
		switch {
		case i == 0 && k == 6:
			return "daily"
		case k > i+1:
			out = append(out, names[i]+"-"+names[k])
		case k == i+1:
			out = append(out, names[i], names[k])
		default:
			out = append(out, names[i])
		}
		i = k
	}
	return strings.Join(out, ", ")
}

func clockWords(c clock.Clock) string { return fmt.Sprintf("%02d:%02d", c.Hours(), c.Minutes()) }
