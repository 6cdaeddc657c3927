package shelf

import (
	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// The limits that are printed on the batch. A passed test may move each of them.

// monthSource is the rule that makes a day of a printed month.
const monthSource = "printed on the label; a month counts to its last day (US Navy shelf-life training texts)"

// printedMark is the limit of a printed date: to the minute where it is printed to the
// minute, and to the end of the extensions where tests have moved it. holds: past it the
// batch is held, whatever the class says of extensions.
func printedMark(r rule, d *label.Date, holds bool, it *Item, rules *Rules, q *asked) mark {
	end, steps := lastDay(*d), 0
	if len(it.Tests) > 0 {
		end, steps = rules.extended(it, q, stopOf(d, holds), nil)
	}
	m := dayMark(r, end, Hold, q)
	if minute, ok := d.Clock(); ok && steps == 0 {
		m = timeMark(r, end, int16(minute), Hold, q)
	}
	m.steps = int16(steps)
	return m
}

// expiryRule: a printed expiry is good to its last day. Past it, what a test may
// extend is held and anything else rejected.
type expiryRule struct{}

func (expiryRule) name() Name { return LimitLabelExpiry }

func (l expiryRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if it.Expiry.IsZero() {
		return
	}
	if len(it.Tests) == 0 && it.Expiry.Precision() == label.Day { // the usual one, quick
		last := it.Expiry.First()
		s.put(&mark{rule: l, date: last, dated: true, verdict: r.pastLife(0), past: q.on.After(last), counts: true})
		return
	}
	m := printedMark(l, &it.Expiry, false, it, r, q)
	if !m.byHour {
		m.verdict = r.pastLife(int(m.steps))
	}
	s.add(m)
}

func (expiryRule) words(m mark, t *telling) (string, string) {
	d := t.it.Expiry
	extended, more := t.ladder(m, stopOf(&d, false), "the expiry on the label")
	source := printedSource(d) + t.ladderSource(m)
	switch {
	case m.byHour:
		return "The expiry on the label is " + d.String() + ", within the day judged.", source
	case m.past && extended != "":
		return "Expired: " + lower(extended) + "." + t.afterLife(m) + more, source
	case m.past:
		return "Expired: the expiry on the label ended " + m.ends() + "." + t.afterLife(m) + more, source
	case extended != "":
		return extended + ": " + m.usable() + ".", source
	}
	return "Expiry on the label is " + d.String() + ": " + m.usable() + ".", source
}

func (expiryRule) decide(mark, *telling) (string, string) { return testDecision() }

// testDecision is for what a passed test may give more life.
func testDecision() (who, evidence string) {
	return "Only the named authority can give it more life, after a passed test.",
		"A passed test with its results, who tested, the authority and its reference settle it."
}

// inspectRule: past its inspect/test date an item is held until it is tested.
type inspectRule struct{}

func (inspectRule) name() Name { return LimitInspectDate }

func (l inspectRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if !it.Inspect.IsZero() {
		s.add(printedMark(l, &it.Inspect, true, it, r, q))
	}
}

func (inspectRule) words(m mark, t *telling) (string, string) {
	d := t.it.Inspect
	extended, more := t.ladder(m, stopOf(&d, true), "the inspect/test date on the label")
	source := printedSource(d) + t.ladderSource(m)
	switch {
	case m.byHour:
		return "Inspect/test is due by " + d.String() + ", within the day judged.", source
	case m.past && extended != "":
		return "Inspect/test is due again: " + lower(extended) + ". Test it before use." + more, source
	case m.past:
		return "Inspect/test was due by " + m.ends() + ": test it before use." + more, source
	case extended != "":
		return extended + ": " + m.usable() + " without another test.", source
	}
	return "Inspect/test date is " + d.String() + ": " + m.usable() + " without a test.", source
}

func (inspectRule) decide(mark, *telling) (string, string) {
	return "Have it tested and re-dated by those who may, or reject it.",
		"A passed test with its results, who tested, the authority and its reference settle it."
}

// bestBeforeRule: past its best-before date the maker no longer promises its quality,
// which is not to say that it is bad.
type bestBeforeRule struct{}

func (bestBeforeRule) name() Name { return LimitBestBefore }

func (l bestBeforeRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if !it.BestBefore.IsZero() {
		s.add(printedMark(l, &it.BestBefore, true, it, r, q))
	}
}

func (bestBeforeRule) words(m mark, t *telling) (string, string) {
	d := t.it.BestBefore
	extended, more := t.ladder(m, stopOf(&d, true), "the best-before date on the label")
	source := printedSource(d) + "; that it holds the batch: own decision" + t.ladderSource(m)
	switch {
	case m.byHour:
		return "Best before " + d.String() + ", within the day judged.", source
	case m.past && extended != "":
		return "Best before is past: " + lower(extended) + "." + more, source
	case m.past:
		return "Best before " + m.ends() + ", which is past: the maker no longer promises its quality." + more, source
	case extended != "":
		return extended + ": " + m.usable() + ".", source
	}
	return "Best before " + d.String() + ": " + m.usable() + ".", source
}

func (bestBeforeRule) decide(mark, *telling) (string, string) {
	return "The quality office must ask the maker how long it may be used, have it tested, or reject it.",
		"The maker's word in writing, or a passed test with results, authority and reference settle it."
}

func through(d date.Date) string { return "usable through " + label.FormatDay(d) }

func printedSource(d label.Date) string {
	switch {
	case exact(d):
		return "printed on the label"
	case d.Precision() == label.Month:
		return monthSource
	}
	return "printed on the label; a " + d.Precision().String() + " counts to its last day"
}
