package show

import (
	"strings"
	"time"
)

// days writes the days over a strip of the whole job, and under them the hours or the
// days of the month, whichever there is room for.
func (t *timeline) days(g grid) {
	upper, lower := []byte(strings.Repeat(" ", gridWidth)), []byte(strings.Repeat(" ", gridWidth))
	perDay := int(24 * time.Hour / g.step)
	midnights := g.localTimes(24 * time.Hour)
	switch {
	case perDay >= 12:
		t.dayNames(upper, g, midnights, "Mon 2 Jan", "Mon 2", "2")
		for _, at := range g.localTimes(hoursEvery(g.step)) {
			put(lower, g.column(at), at.Format("15"))
		}
	case perDay >= 4:
		t.dayNames(upper, g, midnights, "Mon")
		t.dayNames(lower, g, midnights, "2 Jan", "2")
	default:
		var mondays []time.Time
		for _, at := range midnights {
			if at.Weekday() == time.Monday {
				mondays = append(mondays, at)
			}
		}
		t.dayNames(upper, g, mondays, "Mon")
		t.dayNames(lower, g, mondays, "2 Jan", "2")
	}
	for _, l := range [][]byte{upper, lower} {
		t.line("%-*s %s", nameWidth, "", l)
	}
}

// hoursEvery is how far apart the hours are named where a column is a step: no nearer
// than four columns.
func hoursEvery(step time.Duration) time.Duration {
	for _, h := range []time.Duration{1, 2, 3, 6, 12} {
		if h*time.Hour >= 4*step {
			return h * time.Hour
		}
	}
	return 24 * time.Hour
}

// dayNames writes a bar at each midnight and the day behind it, in the longest of the
// layouts that fits.
func (t *timeline) dayNames(line []byte, g grid, starts []time.Time, layouts ...string) {
	if len(starts) == 0 || g.column(starts[0]) > 0 {
		starts = append([]time.Time{g.from}, starts...)
	}
	for i, at := range starts {
		c, end := g.column(at), gridWidth
		if i+1 < len(starts) {
			end = g.column(starts[i+1])
		}
		if i > 0 || g.from.Hour() == 0 {
			line[c] = '|'
			c++
		}
		for _, layout := range layouts {
			if name := at.Format(layout); c+len(name) < end || c+len(name) == end && end == gridWidth {
				copy(line[c:], name)
				break
			}
		}
	}
}

// hours writes the time over every half hour of a stretch of work; the first digit
// stands over its column.
func (t *timeline) hours(g grid) {
	line := []byte(strings.Repeat(" ", gridWidth+4))
	for _, at := range g.localTimes(strideMark) {
		put(line, g.column(at), at.Format("15:04"))
	}
	t.line("%-*s %s", nameWidth, "", strings.TrimRight(string(line[:min(len(line), sheetWidth-nameWidth-1)]), " "))
}
