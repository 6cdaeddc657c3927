package shelf

import (
	"fmt"

	"beadline/catalog/label"
)

// outlastRule: a batch that is good now, and ends before the work would be done. It is
// held for this job alone; another may use it.
type outlastRule struct{}

func (outlastRule) name() Name { return LimitOutlast }

// outlastBackwards is the case of work that would be done before the moment judged.
const outlastBackwards uint8 = 1

// marks looks at the limits found so far: the first of them to come that ends before
// the moment asked for is named.
func (l outlastRule) marks(until label.Date, s *sink) {
	if until.IsZero() {
		return
	}
	if q := s.q; lastDay(until).Before(q.on) || until.First() == q.on && q.timed && clockOr(until, minutesOfDay) < int(q.at) {
		s.add(doubt(l, outlastBackwards))
		return
	}
	var first *mark
	for i := range s.kept.all {
		m := &s.kept.all[i]
		if m.counts && m.dated && !m.past && m.endsBefore(until) && (first == nil || m.compare(first) < 0) {
			first = m
		}
	}
	if first == nil {
		return
	}
	m := doubt(l, 0)
	m.date, m.dated, m.minute, m.timed = first.date, false, first.minute, first.timed
	s.add(m)
}

// endsBefore reports whether the mark's last moment of use may lie before the one
// that the work is done at. Of work known only by its day it must last that day.
func (m *mark) endsBefore(until label.Date) bool {
	if last := lastDay(until); m.date != last {
		return m.date.Before(last)
	}
	return m.timed && int(m.minute) < clockOr(until, minutesOfDay-1)
}

// clockOr is the minute of a date, or another where it has none.
func clockOr(d label.Date, other int) int {
	if minute, ok := d.Clock(); ok {
		return minute
	}
	return other
}

func (outlastRule) words(m mark, t *telling) (string, string) {
	const source = "the job asked about: own decision"
	if m.kind == outlastBackwards {
		return fmt.Sprintf("The work would be done %s, which lies before the moment judged: check the times.", t.until), source
	}
	ends, done := m.ends(), "("+t.until.String()+")"
	if minute, ok := t.until.Clock(); ok && m.timed && m.date == t.until.First() && m.date == t.q.on {
		ends, done = clock(int(m.minute)), "at "+clock(minute)
	}
	return fmt.Sprintf("It ends %s, before the work is done %s: take another batch.", ends, done), source
}

func (outlastRule) decide(m mark, _ *telling) (string, string) {
	if m.kind == outlastBackwards {
		return "Whoever plans the work must say when it is done.", "The right times settle it."
	}
	return "Whoever plans the work must take another batch, or finish sooner.", "A batch that lasts, or an earlier end of the work, settles it."
}

// clock writes a minute of the day: "13:20".
func clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }
