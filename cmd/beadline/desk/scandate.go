package desk

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// HasOffset reports whether a moment is written with its offset from UTC, so that
// Instant reads it whatever the clocks of the place do.
func HasOffset(s string) bool {
	s = strings.TrimSpace(s)
	for _, form := range offsetForms {
		if _, err := time.Parse(form, s); err == nil {
			return true
		}
	}
	return false
}

var offsetForms = []string{time.RFC3339, "2006-01-02T15:04Z07:00"}

// Certain refuses a date that a person has typed and can write in full, where its text
// leaves a decade or a century open, and an hour that the clocks of the place skip. The
// error is one line that begins with what was written. An hour that comes twice is
// certain enough: package shelf takes the safe one of the two.
func Certain(d label.Date, today date.Date, zone *time.Location) error {
	if why := d.Unsure(today); why != "" {
		return errors.New(why)
	}
	minute, timed := d.Clock()
	if !timed {
		return nil
	}
	y, m, n := d.First().Date()
	wall := time.Date(y, m, n, minute/60, minute%60, 0, 0, time.UTC)
	if !sameClock(time.Date(y, m, n, minute/60, minute%60, 0, 0, zone), wall) {
		return fmt.Errorf("%q: that time does not exist in %s, the clocks go forward past it: write a later one", d.Printed(), zoneName(zone))
	}
	return nil
}

// Freeable are the names of the limits whose hold can be lifted. Those of the desk
// (scan, list-differs, unknown-class) are not among them: what they ask for settles them.
func Freeable() []string {
	var all []string
	for _, n := range shelf.Freeable() {
		all = append(all, string(n))
	}
	return all
}
