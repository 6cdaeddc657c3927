package job

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"
)

// Is anybody ever at work? Asked before what they can do.

// lookAheadDays is how far ahead work is looked for: as far as a plan ever looks.
const lookAheadDays = 120

// checkWork finds who is at work at all in the days that a plan looks at, and refuses a
// job in which nobody is.
func (d *decoder) checkWork() bool {
	j := d.job
	until := j.Start.AddDate(0, 0, lookAheadDays)
	d.atWork = map[string]bool{}
	some := false
	for _, p := range j.Crew {
		d.atWork[p.Who] = len(j.WorkWindows(p, until)) > 0
		some = some || d.atWork[p.Who]
	}
	if !some {
		d.wrong(d.shiftsAt, "nobody is at work in the %d days from the start, %s: %s", lookAheadDays, dayOf(j.Start, j.Zone), d.whyIdle(until))
		return false
	}
	for i := range j.Shifts {
		if s := &j.Shifts[i]; !j.inUse(s, until) {
			d.assume("Shift %d has no day in the %d days from the start and is not counted on.", i+1, lookAheadDays)
		}
	}
	return true
}

func dayOf(t time.Time, z *time.Location) string { return t.In(z).Format("2 January 2006") }

// whyIdle says what keeps everybody from work, and what would help.
func (d *decoder) whyIdle(until time.Time) string {
	j := d.job
	here := *j
	here.Crew = slices.Clone(j.Crew)
	for i := range here.Crew {
		here.Crew[i].Away = nil
		if p := here.Crew[i]; len(here.WorkWindows(p, until)) > 0 {
			var away []string
			for _, q := range j.Crew {
				if len(q.Away) > 0 {
					away = append(away, q.Who)
				}
			}
			return strings.Join(away, ", ") + " " + isAre(len(away)) + " away all that time; shorten away:, or add a person to the crew"
		}
	}
	var first, last date.Date
	dated := false
	for _, s := range j.Shifts {
		for _, day := range s.Dates {
			if !dated || day.Before(first) {
				first = day
			}
			if !dated || day.After(last) {
				last = day
			}
			dated = true
		}
	}
	show := func(day date.Date) string { return dayOf(wall(j.Zone, day, 0), j.Zone) }
	switch {
	case dated && last.Before(date.NewAt(j.Start.In(j.Zone))):
		return fmt.Sprintf("the last day of the shifts is %s; give them later days, or start earlier", show(last))
	case dated:
		return fmt.Sprintf("the first day of the shifts is %s; give them earlier days, or start later", show(first))
	}
	return "the crew is in no shift; put somebody into a shift's who:"
}

// inUse reports whether a shift has a day from the job's start until an instant.
func (j *Job) inUse(s *Shift, until time.Time) bool {
	if len(s.Dates) == 0 {
		return true
	}
	from, to := date.NewAt(j.Start.In(j.Zone)).Add(-1), date.NewAt(until.In(j.Zone))
	return slices.ContainsFunc(s.Dates, func(day date.Date) bool { return !day.Before(from) && !day.After(to) })
}

// idle are those in a shift who have a skill and are never at work.
func (d *decoder) idle(skill string) string {
	var who []string
	for _, p := range d.job.Crew {
		if p.Has(skill) && !d.atWork[p.Who] && d.job.onShift(p) {
			who = append(who, p.Who)
		}
	}
	return strings.Join(who, ", ")
}
