package show

import (
	"strings"
	"time"
)

// grid is the columns of a timeline: n of them, a step each.
type grid struct {
	from time.Time // in the job's zone
	step time.Duration
	n    int
}

func newGrid(from, until time.Time, step time.Duration) grid {
	return grid{from, step, int((until.Sub(from) + step - 1) / step)}
}

// until is the end of the last column.
func (g grid) until() time.Time { return g.from.Add(time.Duration(g.n) * g.step) }

// column is the column that an instant lies in; it may lie outside.
func (g grid) column(t time.Time) int {
	d := t.Sub(g.from)
	if d < 0 {
		return -1
	}
	return int(d / g.step)
}

// holds reports whether an instant lies in a column.
func (g grid) holds(t time.Time) bool { c := g.column(t); return c >= 0 && c < g.n }

// overlap is how much of a column a stretch fills. A stretch without length fills a
// moment of the column it lies in.
func (g grid) overlap(c int, from, to time.Time) time.Duration {
	if !to.After(from) {
		to = from.Add(time.Nanosecond)
	}
	lo, hi := g.from.Add(time.Duration(c)*g.step), g.from.Add(time.Duration(c+1)*g.step)
	if from.After(lo) {
		lo = from
	}
	if to.Before(hi) {
		hi = to
	}
	return hi.Sub(lo)
}

// span is a stretch of time and the character it is shown as. Where several fill a
// column, the one of the highest rank is shown, and of those alike the one that fills
// most of it.
type span struct {
	from, to time.Time
	char     byte
	rank     int
}

// fill is which span each column shows: its index, or -1.
func (g grid) fill(spans []span) []int {
	out := make([]int, g.n)
	for c := range out {
		out[c] = -1
		var most time.Duration
		for i, s := range spans {
			o := g.overlap(c, s.from, s.to)
			if o <= 0 {
				continue
			}
			if b := out[c]; b < 0 || s.rank > spans[b].rank || s.rank == spans[b].rank && o > most {
				out[c], most = i, o
			}
		}
	}
	return out
}

// row is a row of characters.
func (g grid) row(spans []span) []byte {
	out := []byte(strings.Repeat(" ", g.n))
	for c, i := range g.fill(spans) {
		if i >= 0 {
			out[c] = spans[i].char
		}
	}
	return out
}

// several stands in a column in which more goes on than it can show.
const several = '+'

// rowOfAll is a row in which every span of rank 1 or more is seen, or stands under a
// “+”; it says which spans stand there.
func (g grid) rowOfAll(spans []span) (row []byte, under []int) {
	shown := g.fill(spans)
	columns := make([]int, len(spans))
	for _, i := range shown {
		if i >= 0 {
			columns[i]++
		}
	}
	crowded := map[int]bool{}
	for i, s := range spans {
		if s.rank == 0 || columns[i] > 0 {
			continue
		}
		c := g.best(s)
		if c < 0 {
			continue
		}
		if w := shown[c]; !crowded[c] && columns[w] > 1 { // the other is seen elsewhere
			columns[w]--
			shown[c], columns[i] = i, 1
			continue
		}
		crowded[c] = true
	}
	row = []byte(strings.Repeat(" ", g.n))
	seen := make([]bool, len(spans))
	for c, i := range shown {
		switch {
		case crowded[c]:
			row[c] = several
		case i >= 0:
			row[c], seen[i] = spans[i].char, true
		}
	}
	for i, s := range spans {
		if s.rank > 0 && !seen[i] && g.best(s) >= 0 {
			under = append(under, i)
		}
	}
	return row, under
}

// best is the column that a span fills most of; -1: none.
func (g grid) best(s span) int {
	best, most := -1, time.Duration(0)
	for c := range g.n {
		if o := g.overlap(c, s.from, s.to); o > most {
			best, most = c, o
		}
	}
	return best
}

// put writes a text into a line from a column on, if the room is free and a space is
// left before and behind it.
func put(line []byte, at int, text string) bool {
	if at < 0 || at+len(text) > len(line) {
		return false
	}
	for c := max(0, at-1); c < min(len(line), at+len(text)+1); c++ {
		if line[c] != ' ' {
			return false
		}
	}
	copy(line[at:], text)
	return true
}

// localTimes are the instants of every step on the wall's clock from midnight on that
// lie in the columns, for a step that divides a day.
func (g grid) localTimes(step time.Duration) (all []time.Time) {
	y, m, d := g.from.Date()
	for i := 0; ; i++ {
		midnight := time.Date(y, m, d+i, 0, 0, 0, 0, g.from.Location())
		if !midnight.Before(g.until()) {
			return all
		}
		for s := time.Duration(0); s < 24*time.Hour; s += step {
			t := time.Date(y, m, d+i, 0, int(s/time.Minute), 0, 0, g.from.Location())
			if t.Hour()*60+t.Minute() == int(s/time.Minute) && g.holds(t) && !(len(all) > 0 && !t.After(all[len(all)-1])) {
				all = append(all, t)
			}
		}
	}
}
