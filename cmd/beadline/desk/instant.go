package desk

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// The years an instant may name; outside them a digit has slipped.
const (
	firstYear = 1970
	lastYear  = 2199
)

// localForms are the ways to write a moment on the clock of the wall.
var localForms = []string{"2006-01-02T15:04", "2006-01-02T15:04:05", time.DateOnly}

const howToWrite = "write it like 2027-03-08T07:00"

// Instant reads a moment as people write it: RFC 3339 with its offset from UTC, or
// a moment on the clock of zone z such as 2027-03-08T07:00 or "2027-03-08 07:00".
// A bare day, 2027-03-08, is its first moment, 00:00 but where the clocks skip that. The answer is in z, unless z
// is time.Local and an offset is written: then that offset is kept.
//
// Errors, each one line that begins with what was written: not a moment; a day or
// hour that does not exist, such as one the clocks skip in spring; an hour that
// comes twice, as when they go back, which needs its offset; a year outside 1970 to
// 2199.
func Instant(s string, z *time.Location) (time.Time, error) {
	t, err := instant(strings.TrimSpace(s), z)
	if err != nil {
		return time.Time{}, fmt.Errorf("%q: %w", shortened(s), err)
	}
	return t, nil
}

// IsDay reports whether s is written as a bare day, which Instant takes as 00:00.
func IsDay(s string) bool {
	_, err := time.Parse(time.DateOnly, strings.TrimSpace(s))
	return err == nil
}

func instant(s string, z *time.Location) (time.Time, error) {
	if len(s) > 10 && s[10] == ' ' {
		s = s[:10] + "T" + s[11:]
	}
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(form, s); err == nil {
			if z != time.Local {
				t = t.In(z)
			}
			return t, checkYear(t)
		}
	}
	for _, form := range localForms {
		// Read as UTC first: it has every hour once.
		if t, err := time.Parse(form, s); err == nil {
			if err := checkYear(t); err != nil {
				return time.Time{}, err
			}
			if form == time.DateOnly {
				return startOfDay(t, z), nil
			}
			return onTheWall(t, z)
		} else if strings.Contains(err.Error(), "out of range") {
			return time.Time{}, errors.New("there is no such day or hour: " + howToWrite)
		}
	}
	return time.Time{}, errors.New("not a moment in time: " + howToWrite)
}

func checkYear(t time.Time) error {
	if y := t.Year(); y < firstYear || y > lastYear {
		return fmt.Errorf("the year %d lies outside %d to %d", y, firstYear, lastYear)
	}
	return nil
}

// onTheWall is the instant at which the clocks of z show what the clock of UTC
// shows at wall.
func onTheWall(wall time.Time, z *time.Location) (time.Time, error) {
	y, m, d := wall.Date()
	t := time.Date(y, m, d, wall.Hour(), wall.Minute(), wall.Second(), 0, z)
	if !sameClock(t, wall) {
		return time.Time{}, fmt.Errorf("that time does not exist in %s, the clocks go forward past it: write a later one", zoneName(z))
	}
	// The other instant with the same clock, if there is one, lies beyond the nearest
	// change of offset.
	from, to := t.ZoneBounds()
	for _, near := range []time.Time{from.Add(-1), to} {
		if near.IsZero() || near.Year() < 1 {
			continue
		}
		_, o := near.Zone()
		other := time.Unix(wall.Unix()-int64(o), 0).In(z)
		if !other.Equal(t) && sameClock(other, wall) {
			first, second := t, other
			if other.Before(t) {
				first, second = other, t
			}
			return time.Time{}, fmt.Errorf("that time comes twice in %s, as the clocks go back: write %s or %s",
				zoneName(z), first.Format(time.RFC3339), second.Format(time.RFC3339))
		}
	}
	return t, nil
}

// startOfDay is the first moment of a day in z: 00:00, or when the clocks skip that,
// the moment they skip to.
func startOfDay(day time.Time, z *time.Location) time.Time {
	y, m, d := day.Date()
	t := time.Date(y, m, d, 0, 0, 0, 0, z)
	from, to := t.ZoneBounds()
	if sameClock(t, day) {
		// 00:00 may come twice; the first of the two belongs to the day already.
		if _, o := from.Add(-1).Zone(); !from.IsZero() {
			if other := time.Unix(day.Unix()-int64(o), 0).In(z); other.Before(t) && sameClock(other, day) {
				return other
			}
		}
		return t
	}
	if t.Format(time.DateOnly) == day.Format(time.DateOnly) {
		return from
	}
	return to
}

func sameClock(t, wall time.Time) bool {
	return t.Format(time.DateTime) == wall.Format(time.DateTime)
}

func zoneName(z *time.Location) string {
	if z == time.Local {
		return "this machine's time zone"
	}
	return z.String()
}

func shortened(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
