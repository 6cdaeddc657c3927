package shelf

import (
	"fmt"
	"strings"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// More life by a passed test, and the end of it by a failed one.
//
// A test moves what is printed (expiry, inspect/test, best before) and the life counted
// from manufacture. It never moves the life of an opened or a thawed container, out
// time, the time left after a hot spell, or installed life. What it takes and how far
// it reaches:
//
//   - who tested, the authority, its reference and the results are all on record;
//   - it counts from the day it was passed, and given, never before;
//   - it is worth what the class says, and never more than half the original life in
//     whole months, rounded down;
//   - that is counted from the end before it or the day of the test, whichever is the
//     earlier (own decision, the safe side); it never moves an end to an earlier day, but
//     a day that the authority gave before that counts by itself (givenRule);
//   - passed tests of one day count as one, and of what they give the least (own
//     decision, the safe side);
//   - where the class gives no extension, the authority must say to what day, and before
//     the batch has ended, to the minute where it ends by the hour: what is rejected stays
//     rejected. Past an inspect/test or best-before date it is held, not rejected;
//   - an item of US DoD type I is never extended; a failed test takes back all.
//
// Sources: USAF T.O. 1-1-700 §12.8 (half, repeatable until a test fails), MMM-A-1617B
// §3.4.1 (fixed months), 41 CFR 101-27.205 (types I and II).

// climb is what was found going up the ladder of tests, for the words.
type climb struct {
	rungs   []rung
	refused []string // why a passed test gives nothing, a sentence each
}

// rung is one extension that counts.
type rung struct {
	test        *Test
	before, end date.Date
	from        date.Date // what it was counted from
	to          date.Date // what it reaches
	capped      bool      // the authority gave more than counts
}

// refusal is why a passed test gives no more life; granted: it does.
type refusal uint8

const (
	granted refusal = iota
	isTypeI
	isUndated
	isToCome
	isBeforeMade
	isIncomplete
	isOneTooMany
	isWithoutDay
	isTooLate
	isUncountable
	isNoGain
	isSameDay
)

// stop is an end as it stood before any test.
type stop struct {
	day    date.Date
	minute int16 // of the day, if timed
	timed  bool
	holds  bool // past it the batch waits for a test; else, where nothing extends it, it goes
}

func stopOn(d date.Date) stop { return stop{day: d} }

// stopOf is the end that a printed date is.
func stopOf(d *label.Date, holds bool) stop {
	minute, ok := d.Clock()
	return stop{day: lastDay(*d), minute: int16(minute), timed: ok, holds: holds}
}

// over reports whether a stop, some days earlier, may have come before a test was passed
// or what it gives was given.
func (s stop) over(given label.Date, earlier int) bool {
	end, day := s.day.Add(-date.PeriodOfDays(earlier)), lastDay(given)
	if day != end || !s.timed {
		return day.After(end)
	}
	minute, ok := given.Clock()
	return !ok || minute > int(s.minute)
}

// extended is the end that the passed tests have moved an end to, and how many of them
// did. log may be nil.
func (r *Rules) extended(it *Item, q *asked, first stop, log *climb) (date.Date, int) {
	end := first.day
	if f := it.failed(q); f >= 0 {
		if log != nil {
			log.refused = append(log.refused, upper(it.Tests[f].title())+" takes back every extension.")
		}
		return end, 0
	}
	steps := 0
	var last rung // the extension that counts last
	for k := it.nextTest(-1, q); k >= 0; k = it.nextTest(k, q) {
		test := &it.Tests[k]
		if !test.Passed {
			continue
		}
		g, n := rung{test: test, before: end, end: end}, steps
		same := last.test != nil && !test.On.First().After(lastDay(last.test.On))
		if same { // in the place of the one before it
			g.before, g.end, n = last.before, last.before, steps-1
		}
		before := first // once moved, an end is a whole day
		if n > 0 {
			before = stop{day: g.before, holds: first.holds}
		}
		why := r.refuses(it, test, q, before, n)
		if why == granted {
			why = r.climb(it, &g)
		}
		switch {
		case why == granted && same && !g.end.Before(end):
			why = isSameDay
		case why == granted:
			end, last, steps = g.end, g, n+1
		}
		if log != nil {
			log.note(g, why, same, r)
		}
	}
	return end, steps
}

// refuses says why a passed test cannot move an end.
func (r *Rules) refuses(it *Item, test *Test, q *asked, end stop, steps int) refusal {
	e := &r.Extension
	switch {
	case r.item.coded == typeI:
		return isTypeI
	case test.On.IsZero():
		return isUndated
	case !q.reached(test.On) || !test.Given.IsZero() && !q.reached(test.Given):
		return isToCome
	case !it.DOM.IsZero() && lastDay(test.On).Before(it.DOM.First()):
		return isBeforeMade
	case !test.complete():
		return isIncomplete
	case e.Max > 0 && steps >= e.Max:
		return isOneTooMany
	case e.Kind == NoExtension && test.To.IsZero() && test.Span.IsZero():
		return isWithoutDay
	case !r.extendable() && !end.holds && end.over(test.granted(), it.spent()):
		return isTooLate // warm storage may have ended it sooner
	}
	return granted
}

// climb counts one extension of g.before into g, or says why it cannot be counted.
func (r *Rules) climb(it *Item, g *rung) refusal {
	g.from = g.before.Min(g.test.On.First())
	half, known := r.halfOriginal(it)
	fixed := r.Extension.Kind == FixedExtension
	if !known && !fixed {
		return isUncountable
	}
	var most date.Date
	if known {
		most = addMonths(g.from, half)
	}
	if fixed {
		if to := label.AddLife(g.from, r.Extension.Span); !known || to.Before(most) {
			most = to
		}
	}
	to := most
	switch {
	case !g.test.To.IsZero():
		to = lastDay(g.test.To)
	case !g.test.Span.IsZero():
		to = label.AddLife(g.from, g.test.Span)
	}
	if to.After(most) {
		to, g.capped = most, true
	}
	if g.to = to; !to.After(g.before) {
		return isNoGain
	}
	g.end = to
	return granted
}

// note keeps what came of one passed test.
func (c *climb) note(g rung, why refusal, same bool, r *Rules) {
	if why == granted {
		if same {
			c.rungs = c.rungs[:len(c.rungs)-1]
		}
		c.rungs = append(c.rungs, g)
		return
	}
	c.refused = append(c.refused, fmt.Sprintf("%s gives no more life: %s.", upper(g.test.title()), why.text(g, r)))
}

func (why refusal) text(g rung, r *Rules) string {
	switch why {
	case isTypeI:
		return "a shelf-life code of type I is never extended"
	case isUndated:
		return "its day is not recorded"
	case isToCome:
		return "it counts only from its day on"
	case isBeforeMade:
		return "it lies before manufacture"
	case isIncomplete:
		return "not on record: " + list(g.test.lacks())
	case isOneTooMany:
		return fmt.Sprintf("no more than %s is allowed", plural(r.Extension.Max, "extension"))
	case isWithoutDay:
		return "the class gives no extension, and the authority did not say to what day"
	case isTooLate:
		return "the batch had ended, and what cannot be extended stays rejected"
	case isSameDay:
		return "tests of one day count as one"
	case isUncountable:
		return "half of its original life cannot be counted, as neither its dates nor its shelf life say how long that was"
	}
	return fmt.Sprintf("counted from %s it reaches %s, no further than the end before it", label.FormatDay(g.from), label.FormatDay(g.to))
}

// halfOriginal is half of the original life in whole months, rounded down. The life is
// that from manufacture to the printed expiry or that of the code, the class or the
// standard, whichever is shorter, as an expiry may have been printed anew after an
// extension; with neither, that from manufacture to the printed inspect/test date.
func (r *Rules) halfOriginal(it *Item) (months int, known bool) {
	life, known := r.original(it)
	return life / 2, known
}

func (r *Rules) original(it *Item) (months int, known bool) {
	if u := r.Unopened; u.Known() && !u.Unlimited {
		months, known = 12*u.Span.Years()+u.Span.Months(), true
	}
	switch {
	case !it.DOM.IsZero() && !it.Expiry.IsZero():
		printed := wholeMonths(lastDay(it.DOM), lastDay(it.Expiry))
		if !known || printed < months {
			months = printed
		}
		return months, true
	case known:
		return months, true
	case !it.DOM.IsZero() && !it.Inspect.IsZero():
		return wholeMonths(lastDay(it.DOM), lastDay(it.Inspect)), true
	}
	return 0, false
}

// mostMonths bounds a count of months: nothing on a label means more.
const mostMonths = 12 * 1000

// wholeMonths is how many months can be added to a day without passing another.
func wholeMonths(from, to date.Date) int {
	y, m, _ := from.Date()
	v, n, _ := to.Date()
	months := min(max(12*(v-y)+int(n)-int(m), 0), mostMonths)
	if months > 0 && addMonths(from, months).After(to) {
		months--
	}
	return months
}

func addMonths(d date.Date, n int) date.Date { return label.AddLife(d, period.NewYMD(n/12, n%12, 0)) }

// ladder says how tests have moved an end: "Extended to …", or "" where none did; and,
// for an end that is past, why they moved it no further. was names the end itself.
func (t *telling) ladder(m mark, first stop, was string) (extended, more string) {
	end := first.day
	if len(t.it.Tests) == 0 {
		return "", ""
	}
	var c climb
	t.rules.extended(t.it, t.q, first, &c)
	for _, said := range c.refused {
		if m.past {
			more += " " + said
		} else {
			t.assume("%s", said)
		}
	}
	if len(c.rungs) == 0 {
		return "", more
	}
	g := c.rungs[len(c.rungs)-1]
	was += " was " + label.FormatDay(end)
	from := "the day of the test; " + was
	switch {
	case g.from == end:
		from = strings.Replace(was, " was ", ", ", 1)
	case g.from == g.before:
		from = "the end before it, " + label.FormatDay(g.before) + "; " + was
	}
	extended = fmt.Sprintf("Extended to %s by %s (%s, reference %s), counted from %s",
		label.FormatDay(g.end), g.test.title(), said(g.test.Authority), said(g.test.Reference), from)
	if g.capped {
		t.assume("More was given than counts: an extension is worth %s.", t.worth())
	}
	if life, known := t.rules.original(t.it); known && life%2 == 1 {
		t.assume("Half of its original life of %d months is taken as %s, rounded down.", life, plural(life/2, "month"))
	}
	return extended, more
}

// worth is the most that one extension is worth.
func (t *telling) worth() string {
	half, known := t.rules.halfOriginal(t.it)
	e := t.rules.Extension
	switch {
	case e.Kind != FixedExtension:
		return "half the original life at most, " + plural(half, "month")
	case known:
		return fmt.Sprintf("%s, and half the original life at most, %s", quantity.FormatLife(e.Span), plural(half, "month"))
	}
	return quantity.FormatLife(e.Span)
}

// ladderSource is what an extension that counts rests on.
func (t *telling) ladderSource(m mark) string {
	if m.steps == 0 {
		return ""
	}
	from := t.rules.Extension.From
	if from == "" {
		from = "the authority named, for this batch alone"
	}
	return "; extension: " + from + "; counted from the end before or the day of the test, the earlier, by half the original life at most (own decision)"
}

// afterLife says why a batch past its life is held or rejected.
func (t *telling) afterLife(m mark) string {
	e := t.rules.Extension
	switch {
	case t.rules.item.coded == typeI:
		return " Its shelf-life code is of type I: it cannot be extended."
	case !t.rules.extendable():
		return " Its life cannot be extended."
	case e.Max > 0 && int(m.steps) >= e.Max:
		return fmt.Sprintf(" It has had %s, and no more is allowed.", plural(e.Max, "extension"))
	case e.From == "":
		return " More life only by a passed test under a named authority."
	}
	return " More life only by a passed test under a named authority (" + e.From + ")."
}
