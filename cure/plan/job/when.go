package job

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
)

// instants finds when the wall clock in loc shows the time of day c on a date, in
// order: once as a rule, not at all in the hour that is skipped in spring, twice
// in the hour that comes again in autumn. For a time that is skipped, jump is the
// instant of the jump.
//
// The standard library promises only one of the two zones of a transition, not
// which; hence the search through the offsets on both sides.
func instants(loc *time.Location, y int, m time.Month, d int, c clock.Clock) (found []time.Time, jump time.Time) {
	naive := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Add(c.DurationSinceMidnight())
	guess := time.Date(y, m, d, c.Hours(), c.Minutes(), c.Seconds(), 0, loc)
	begin, end := guess.ZoneBounds()
	near := []time.Time{guess}
	for _, edge := range []time.Time{begin, end} {
		if !edge.IsZero() {
			near = append(near, edge.Add(-time.Second), edge)
		}
	}
	for _, t := range near {
		at := naive.Add(-offset(t, loc)).In(loc)
		if offset(at, loc) != offset(t, loc) {
			continue
		}
		switch {
		case len(found) == 0:
			found = []time.Time{at}
		case at.Before(found[0]):
			found = []time.Time{at, found[0]}
		case at.After(found[0]) && len(found) == 1:
			found = append(found, at)
		}
	}
	if len(found) > 0 {
		return found, time.Time{}
	}
	for _, edge := range []time.Time{begin, end} {
		if edge.IsZero() {
			continue
		}
		before := asUTC(edge, offset(edge.Add(-time.Second), loc))
		after := asUTC(edge, offset(edge, loc))
		if !naive.Before(before) && naive.Before(after) {
			return nil, edge.In(loc)
		}
	}
	return nil, guess
}

func offset(t time.Time, loc *time.Location) time.Duration {
	_, s := t.In(loc).Zone()
	return time.Duration(s) * time.Second
}

// asUTC is the wall clock at an instant, written as if it were UTC.
func asUTC(t time.Time, offset time.Duration) time.Time { return t.UTC().Add(offset) }

// wall is when the clock on the wall shows c on a date: the earlier of two, and
// for a time that is skipped the instant of the jump.
func wall(loc *time.Location, day date.Date, c clock.Clock) time.Time {
	y, m, d := day.Date()
	found, jump := instants(loc, y, m, d, c)
	if len(found) == 0 {
		return jump
	}
	return found[0]
}

var (
	localForm = regexp.MustCompile(`^(\d{4}-\d{2}-\d{2})[T ](.*)$`)
	clockForm = regexp.MustCompile(`^\d{2}:\d{2}(:\d{2})?$`)
	zoneTail  = regexp.MustCompile(`(Z|[+-]\d{2}(:?\d{2})?)$`)
)

// side is which of two moments with the same clock is taken.
type side int

const (
	earlier side = iota
	later
)

func (s side) String() string { return [...]string{"earlier", "later"}[s] }

// local makes a reader of the local time behind a key, in the job's zone. A time that
// does not exist that night is refused; of one that comes twice the side given is
// taken, and noted.
func (d *decoder) local(key string, take side) func(string) (time.Time, error) {
	return func(s string) (time.Time, error) {
		found, err := d.moments(s)
		if err != nil {
			return time.Time{}, err
		}
		if len(found) == 1 {
			return found[0], nil
		}
		d.assume("%s: %s comes twice in %s; the %s is taken (%s).", key, s, d.job.Zone.String(), take, found[take].Format("15:04 MST"))
		return found[take], nil
	}
}

// moments are the one or two instants at which the clocks of the job's zone show a
// local time.
func (d *decoder) moments(s string) ([]time.Time, error) {
	const like = "write it like 2027-03-08T07:00"
	parts := localForm.FindStringSubmatch(s)
	if parts == nil {
		return nil, fmt.Errorf("%q: not a local date and time; %s", s, like)
	}
	if tail := zoneTail.FindString(parts[2]); tail != "" && clockForm.MatchString(strings.TrimSuffix(parts[2], tail)) {
		return nil, fmt.Errorf("%q: times are local to zone:; leave %s away and %s", s, tail, like)
	}
	day, err := readDate(parts[1])
	if err != nil {
		return nil, err
	}
	c, err := readClock(parts[2])
	if err != nil {
		return nil, err
	}
	y, m, dd := day.Date()
	found, jump := instants(d.job.Zone, y, m, dd, c)
	if len(found) == 0 {
		before := asUTC(jump, offset(jump.Add(-time.Second), d.job.Zone))
		return nil, fmt.Errorf("%q: this time does not exist in %s: the clocks go from %s to %s; write %s or a time that exists",
			s, d.job.Zone, before.Format("15:04"), jump.Format("15:04"), jump.Format("2006-01-02T15:04"))
	}
	return found, nil
}

// readDate reads a calendar day such as 2027-03-08. The round trip refuses what
// the date parser lets pass, such as 30 February.
func readDate(s string) (date.Date, error) {
	t, err := time.Parse("2006-01-02", s)
	if err != nil {
		return date.Date{}, fmt.Errorf("%q: no such date; write it like 2027-03-08", s)
	}
	if y := t.Year(); y < 2000 || y > 2100 {
		return date.Date{}, fmt.Errorf("%q: the year is outside 2000 to 2100; check it", s)
	}
	return date.New(t.Year(), t.Month(), t.Day()), nil
}

// readClock reads a time of day from 00:00 to 23:59:59. The form is checked first,
// for the clock parser would take 25:61.
func readClock(s string) (clock.Clock, error) {
	s = strings.TrimSpace(s)
	if s == "24:00" {
		return 0, fmt.Errorf("%q: the day ends with 00:00 of the next; write \"00:00\"", s)
	}
	if !clockForm.MatchString(s) {
		return 0, fmt.Errorf("%q: not a time of day; write it like \"07:00\"", s)
	}
	if _, err := time.Parse("15:04:05", (s + ":00")[:8]); err != nil {
		return 0, fmt.Errorf("%q: no clock shows that; write a time from \"00:00\" to \"23:59\"", s)
	}
	return clock.Parse(s)
}

// readZone reads a name of the IANA time zone database.
func readZone(s string) (*time.Location, error) {
	const like = "write an IANA name such as Atlantic/Faroe"
	if s == "" || s == "Local" {
		return nil, fmt.Errorf("%q: a job needs a zone that is the same on every computer; %s", s, like)
	}
	loc, err := time.LoadLocation(s)
	if err != nil {
		return nil, fmt.Errorf("%q: no such time zone; %s", s, like)
	}
	return loc, nil
}
