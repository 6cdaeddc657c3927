package shelf

import (
	"fmt"
	"slices"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// Judge says whether an item may be used on a day, with every limit that applies.
//
//   - If any limit that rejects is past, the verdict is reject, and the earliest of
//     those governs.
//   - Else, if any that holds is past, hold; one without a date (undated, dates that
//     contradict) comes before the dated.
//   - Else use, and the earliest limit to come governs.
//
// A printed expiry always wins over a life computed from the class; the class life
// is then listed for information. A day later, with the same records, the verdict
// is the same or worse; only records dated in the future, which are a
// contradiction until their day has come, or dates no label can mean, can make it
// better.
func Judge(it Item, r Rules, on date.Date) Judgement {
	var buf [maxMarks]mark
	marks := collect(&it, &r, on, buf[:0])
	slices.SortStableFunc(marks, mark.compare)

	t := &telling{it: &it, rules: &r, on: on}
	j := Judgement{On: on, Verdict: marks[0].demands(), Limits: make([]Limit, 0, len(marks))}
	for _, m := range marks {
		reason, source := m.rule.words(m, t)
		j.Limits = append(j.Limits, Limit{
			Name: m.rule.name(), Date: m.date, Dated: m.dated,
			Verdict: m.verdict, Past: m.past, Counts: m.counts, ByHour: m.byHour,
			Reason: reason, Source: source,
		})
	}
	j.Governing = j.Limits[0]
	j.Assumed = append(readings(&it), t.assumed...)
	return j
}

// Glance is Judge without the words, for going through a whole store: the verdict,
// and the last day of use by the governing limit if that has a day. It allocates
// nothing.
func Glance(it *Item, r *Rules, on date.Date) (v Verdict, last date.Date, dated bool) {
	var buf [maxMarks]mark
	marks := collect(it, r, on, buf[:0])
	best := marks[0]
	for _, m := range marks[1:] {
		if m.compare(best) < 0 {
			best = m
		}
	}
	return best.demands(), best.date, best.dated
}

// maxMarks is room for all the limits that one item can have.
const maxMarks = 24

// mark is a limit before it is put into words.
type mark struct {
	rule    rule
	date    date.Date
	dated   bool
	verdict Verdict
	past    bool
	counts  bool
	start   date.Date // the day a life was counted from
	byHour  bool      // its time ends within the day judged, and the hour is not known
	slip    slip      // which dates contradict
}

// dayMark is a limit with a last day of use.
func dayMark(r rule, last date.Date, v Verdict, on date.Date) mark {
	return mark{rule: r, date: last, dated: true, verdict: v, past: on.After(last), counts: true}
}

// rule is one reason for a batch to end. Each rule has its type, which also has a
// method marks that says when it applies; words puts what was found into a
// sentence and names what it rests on.
type rule interface {
	name() Name
	words(m mark, t *telling) (reason, source string)
}

// collect finds the marks of all rules. The calls are spelt out, not looped over,
// so that nothing leaves the stack. There is always at least one mark: an item
// with no date is undated.
func collect(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	ms = heldRule{}.marks(it, ms)
	ms = contradictRule{}.marks(it, on, ms)
	ms = undatedRule{}.marks(it, ms)
	ms = unknownLifeRule{}.marks(it, r, ms)
	ms = expiryRule{}.marks(it, r, on, ms)
	ms = inspectRule{}.marks(it, on, ms)
	ms = classLifeRule{}.marks(it, r, on, ms)
	ms = openedRule{}.marks(it, r, on, ms)
	ms = thawRule{}.marks(it, r, on, ms)
	ms = thawLifeRule{}.marks(it, r, on, ms)
	return outTimeRule{}.marks(it, r, on, ms)
}

// demands is the verdict the mark asks for on the day.
func (m mark) demands() Verdict {
	if m.past && m.counts {
		return m.verdict
	}
	return Use
}

// compare puts the mark that governs first: what rejects, what holds, what is to
// come, what is for information. Of two past ones the undated goes first, as it
// holds whatever the day; of two to come the dated does.
func (m mark) compare(o mark) int {
	a, b := m.rank(), o.rank()
	switch {
	case a != b:
		return a - b
	case m.dated != o.dated:
		if m.dated == (a < 2) {
			return 1
		}
		return -1
	case m.dated && m.date != o.date:
		return int(m.date.Sub(o.date))
	}
	return int(o.verdict) - int(m.verdict)
}

func (m mark) rank() int {
	switch {
	case !m.counts:
		return 3
	case !m.past:
		return 2
	case m.verdict == Hold:
		return 1
	}
	return 0
}

// telling is what the words of a limit draw on; they add what they assumed.
type telling struct {
	it      *Item
	rules   *Rules
	on      date.Date
	assumed []string
}

func (t *telling) assume(format string, args ...any) {
	t.assumed = append(t.assumed, fmt.Sprintf(format, args...))
}

// readings is what was assumed in reading the dates.
func readings(it *Item) []string {
	var said []string
	say := func(what string, d label.Date) {
		if a := d.Assumed(); a != "" {
			said = append(said, what+" "+a)
		}
	}
	say("Date of manufacture", it.DOM)
	say("Expiry", it.Expiry)
	say("Inspect/test date", it.Inspect)
	say("Date opened", it.Opened)
	for _, d := range it.Thawed {
		say("Date thawed", d)
	}
	return said
}
