package register

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// instantLayout is how instants stand in bodies and in the stores: whole milliseconds in
// UTC, of one width, so that their texts sort as they do.
const instantLayout = "2006-01-02T15:04:05.000Z"

// When is when something happened: an instant, on the clock of the place, or a day of
// which the hour is not known. The zero When is no time.
type When struct {
	t   time.Time
	day bool
}

// AtInstant is an instant, to the second; its offset is kept.
func AtInstant(t time.Time) When { return When{t: t.Truncate(time.Second)} }

// OnDay is a day whose hour is not known.
func OnDay(d date.Date) When {
	y, m, n := d.Date()
	return When{t: time.Date(y, m, n, 0, 0, 0, 0, time.UTC), day: true}
}

// IsZero reports whether there is no time.
func (w When) IsZero() bool { return w.t.IsZero() }

// IsDay reports whether only the day is known.
func (w When) IsDay() bool { return w.day }

// Instant is the instant, or 00:00 UTC of a day.
func (w When) Instant() time.Time { return w.t }

// Earliest and Latest are the first and last instant that it may mean, whatever the zone
// of a day.
func (w When) Earliest() time.Time {
	if w.day {
		return w.t.Add(-14 * time.Hour)
	}
	return w.t
}

// Latest is like Earliest.
func (w When) Latest() time.Time {
	if w.day {
		return w.t.Add(36 * time.Hour)
	}
	return w.t
}

// Label is the time as limits are worked out with it: the minute on the clocks of a zone,
// or the day.
func (w When) Label(zone *time.Location) label.Date {
	switch {
	case w.IsZero():
		return label.Date{}
	case w.day:
		return label.DayOf(date.NewAt(w.t))
	}
	l := w.t.In(zone)
	return label.At(date.NewAt(l), l.Hour()*60+l.Minute())
}

// String is the form for files: RFC 3339, or the day alone.
func (w When) String() string {
	switch {
	case w.IsZero():
		return ""
	case w.day:
		return w.t.Format(time.DateOnly)
	}
	return w.t.Format(time.RFC3339)
}

// ParseWhen reads what String writes.
func ParseWhen(s string) (When, error) {
	if s == "" {
		return When{}, nil
	}
	if len(s) == len(time.DateOnly) {
		if t, err := time.Parse(time.DateOnly, s); err == nil {
			return When{t: t, day: true}, nil
		}
	}
	t, err := time.Parse(time.RFC3339, s)
	if err != nil || t.Year() < 1900 || t.Year() > 9999 {
		return When{}, fmt.Errorf("%q is not an instant such as 2027-03-05T08:00:00Z, nor a day", s)
	}
	return When{t: t}, nil
}

// MarshalJSON writes the form for files.
func (w When) MarshalJSON() ([]byte, error) { return json.Marshal(w.String()) }

// UnmarshalJSON reads the form for files.
func (w *When) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	v, err := ParseWhen(s)
	*w = v
	return err
}

// words is the time for people, on the clocks of a zone: "3 March 2027 08:00".
func (w When) words(zone *time.Location) string { return w.Label(zone).String() }
