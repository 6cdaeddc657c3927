package shelf

import (
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// Wall clocks and elapsed time. A record says what a clock on the wall showed; out
// time is elapsed. Where clocks are put back an hour comes twice, and the record does
// not say which was meant: a beginning is taken for the earlier, an end for the later.

// asked is the question as the rules read it.
type asked struct {
	on    date.Date
	at    int16 // minute of that day, if timed
	timed bool
	zone  *time.Location // nil: UTC
	// sorted: the records of the item are in order, as inOrder puts them.
	sorted bool
}

func (q Question) asked() asked {
	a := asked{on: q.On, zone: q.Zone}
	if q.Timed && q.At >= 0 && q.At < minutesOfDay {
		a.at, a.timed = int16(q.At), true
	}
	return a
}

const (
	minutesOfDay = 24 * 60
	secondsOfDay = 24 * 60 * 60
)

// begun reports whether a recorded moment may lie on or before the moment judged.
func (q *asked) begun(d label.Date) bool {
	if first := d.First(); first != q.on {
		return first.Before(q.on)
	}
	minute, ok := d.Clock()
	return !q.timed || !ok || minute <= int(q.at)
}

// reached reports whether a recorded moment surely lies on or before the moment judged:
// its last day if only the month is known. A record of the day judged itself, without
// the hour, counts whatever the hour asked about, as it is already on record.
func (q *asked) reached(d label.Date) bool {
	if last := lastDay(d); last != q.on {
		return last.Before(q.on)
	}
	minute, ok := d.Clock()
	return !q.timed || !ok || minute <= int(q.at)
}

// exact reports whether a date is known to the day or closer.
func exact(d label.Date) bool {
	return d.Precision() == label.Day || d.Precision() == label.Minute
}

// lastDay is the last day that a date may mean, quick where it is known to the day.
func lastDay(d label.Date) date.Date {
	if exact(d) {
		return d.First()
	}
	return d.Last()
}

// compareDates orders by what comes first, for a fixed order of records.
func compareDates(a, b label.Date) int {
	if a.First() != b.First() {
		return int(a.First().Sub(b.First()))
	}
	m, _ := a.Clock()
	n, _ := b.Clock()
	if m != n {
		return m - n
	}
	return int(a.Precision()) - int(b.Precision())
}

// moment is when something recorded happened, between two instants in seconds since
// 1970, UTC: they are one where the minute is known and the clock shows it once.
type moment struct {
	lo, hi int64
	day    date.Date
	minute int16 // -1: not known
}

func momentOf(d label.Date, zone *time.Location) moment {
	if minute, ok := d.Clock(); ok {
		w := wall(d.First(), minute)
		lo, hi := instants(w, zone)
		return moment{lo, hi, d.First(), int16(minute)}
	}
	lo, _ := instants(wall(d.First(), 0), zone)
	_, hi := instants(wall(lastDay(d).Add(1), 0), zone)
	return moment{lo, hi, d.First(), -1}
}

// wall is a reading of a wall clock in seconds, as if it were UTC.
func wall(d date.Date, minute int) int64 {
	return int64(d.DaysSinceEpoch())*secondsOfDay + int64(minute)*60
}

// instants are the earliest and the latest instant at which clocks in a zone show w.
// Where clocks are put forward over w, they are those before and after the change.
func instants(w int64, zone *time.Location) (early, late int64) {
	if zone == nil || zone == time.UTC {
		return w, w
	}
	// A zone changes its offset at most once in two days: the offsets on either side
	// are the two that w can have been read with.
	before, after := offset(w-secondsOfDay, zone), offset(w+secondsOfDay, zone)
	a, b := w-before, w-after
	okA, okB := offset(a, zone) == before, offset(b, zone) == after
	switch {
	case okA && !okB:
		return a, a
	case okB && !okA:
		return b, b
	}
	return min(a, b), max(a, b)
}

// offset is how far, in seconds, clocks in a zone are ahead of UTC at an instant.
func offset(at int64, zone *time.Location) int64 {
	_, s := time.Unix(at, 0).In(zone).Zone()
	return int64(s)
}

// lastWall is the last minute on the wall clock that surely lies on or before an
// instant: where that instant falls in an hour that comes twice, and in the first of
// the two, it is the minute before that hour. A day's end, 00:00 of the next, is the
// whole day: then minute is -1.
func lastWall(at int64, zone *time.Location) (day date.Date, minute int16) {
	w := at
	if zone != nil && zone != time.UTC {
		w += offset(at, zone)
		if _, late := instants(w, zone); late > at {
			if _, next := time.Unix(at, 0).In(zone).ZoneBounds(); !next.IsZero() {
				w = next.Unix() + offset(next.Unix(), zone) - 60
			}
		}
	}
	days := w / secondsOfDay
	if w%secondsOfDay < 0 {
		days--
	}
	minute = int16((w - days*secondsOfDay) / 60)
	day = date.NewOfDays(date.PeriodOfDays(days))
	if minute == 0 {
		return day.Add(-1), -1
	}
	return day, minute
}
