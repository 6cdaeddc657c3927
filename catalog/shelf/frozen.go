package shelf

import (
	"fmt"
	"strings"

	"beadline/catalog/label"
)

// The limits of what is kept frozen: how often it was thawed, how long it was out.

// thawRule: thawed more often than the class allows, it is rejected; where the
// class does not say, one thaw is allowed.
type thawRule struct{}

func (thawRule) name() Name { return LimitThaw }

// thawBefore is the case of time out of the freezer that no thaw on record accounts for;
// thawBack that of a batch that is back in the freezer after its last thaw: whoever uses it
// has to thaw it once too often.
const (
	thawBefore uint8 = 1 + iota
	thawBack
)

func (l thawRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	allowed := r.thawsAllowed()
	switch n := it.thawed(); {
	case allowed == AnyThaws || n < allowed:
		return
	case n == allowed:
		if n == 0 {
			return
		}
		if o := outingsOf(it, q); o.before {
			s.add(doubt(l, thawBefore))
		} else if o.back {
			s.add(doubt(l, thawBack))
		}
		return
	}
	var buf [16]moment
	thaws := moments(buf[:0], it.Thawed, q.zone)
	if len(thaws) <= allowed {
		s.add(mark{rule: l, verdict: Reject, past: true, counts: true})
		return
	}
	// Good to the day before the thaw that was one too many.
	s.add(dayMark(l, thaws[allowed].day.Add(-1), Reject, q))
}

func (thawRule) words(m mark, t *telling) (string, string) {
	n, allowed := t.it.thawed(), t.rules.thawsAllowed()
	source := t.rules.Thaws.From
	if t.rules.Thaws.Max == 0 {
		source = "common practice, no source: thaw once, never refreeze"
		t.assume("No number of thaws is known for %s: one is allowed.", t.class())
	}
	may := "once and never refrozen"
	if allowed > 1 {
		may = times(allowed)
	}
	if m.kind == thawBefore {
		return fmt.Sprintf("%s out of the freezer are on record from before it was thawed%s: that looks like one thaw more, and it may be thawed %s.", hours(t.it.outUsed()), t.thawDates(), may), source
	}
	if m.kind == thawBack {
		return fmt.Sprintf("Thawed %s%s and back in the freezer: to use it, it would be thawed once more, and it may be thawed %s.", times(n), t.thawDates(), may), source
	}
	return fmt.Sprintf("Thawed %s%s; it may be thawed %s.", times(n), t.thawDates(), may), source
}

func (thawRule) decide(m mark, _ *telling) (string, string) {
	if m.kind == thawBack {
		return "The quality office must reject it, or find that it never left the freezer.",
			"The freezer's log, or the times written on the container, settle it."
	}
	return "The quality office must find how often it was thawed, or reject it.",
		"The freezer's log, or the times written on the container, settle it."
}

// thawsAllowed is how often the class may be thawed, or AnyThaws.
func (r *Rules) thawsAllowed() int {
	if r.Thaws.Max == 0 {
		return 1
	}
	return r.Thaws.Max
}

// thawLifeRule: the time from first leaving the freezer, which no return to it
// stops.
type thawLifeRule struct{}

func (thawLifeRule) name() Name { return LimitThawLife }

func (l thawLifeRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if r.ThawLife.Max <= 0 || it.thawed() == 0 && it.outUsed() == 0 {
		return
	}
	var buf [16]moment
	thaws := moments(buf[:0], it.Thawed, q.zone)
	switch { // the first thaw may have been any day
	case it.thawed() > len(thaws):
		s.add(doubt(l, 0))
	case outingsOf(it, q).before:
		s.add(doubt(l, thawBefore))
	}
	if len(thaws) > 0 {
		s.add(outMark(l, thaws[0], r.ThawLife.Max, q))
	}
}

func (thawLifeRule) words(m mark, t *telling) (string, string) {
	life := t.rules.ThawLife
	source := life.From + "; that no return to the freezer stops it: own decision, the safe side"
	good := "good for " + hours(life.Max)
	switch {
	case m.byHour && !m.timed:
		return fmt.Sprintf("First thawed %s, %s from leaving the freezer: by the hour, not by the day; whoever thawed it must say when.", m.since(), good), source
	case m.byHour:
		return fmt.Sprintf("First thawed %s, %s from then: until %s, within the day judged.", m.since(), good, m.ends()), source
	case m.kind == thawBefore:
		return fmt.Sprintf("Out of the freezer for %s, but when it left first is not recorded; it is %s from then.", hours(t.it.outUsed()), good), source
	case !m.dated:
		return fmt.Sprintf("Thawed %s, but when first is not recorded; it is %s from then.", times(t.it.thawed()), good), source
	}
	return fmt.Sprintf("First thawed %s, %s from then: %s", m.since(), good, t.outEnd(m)), source
}

func (thawLifeRule) decide(mark, *telling) (string, string) {
	return "The quality office must find when it was first thawed, or reject it.",
		"The freezer's log, or the times written on the container, settle it."
}

// outTimeRule: the time spent out of the freezer, all outings added up. An outing known
// only by its days counts them whole.
type outTimeRule struct{}

func (outTimeRule) name() Name { return LimitOutTime }

// The cases of outTimeRule that have no date.
const (
	outNoLife  uint8 = iota + 1 // the class gives no out time
	outUnknown                  // an outing of unknown length
	outSum                      // back in the freezer, as far as is known
)

func (l outTimeRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	o := outingsOf(it, q)
	if it.thawed() == 0 && o.used == 0 {
		return
	}
	dated := o.out || o.back
	if r.OutTime.Max <= 0 { // nothing to count against
		if r.ThawLife.Max > 0 && it.thawed() > 0 || dated && !it.anyThawBegun(q) {
			return
		}
		s.add(doubt(l, outNoLife))
		return
	}
	if it.thawed() > it.thawsDated() && it.outUsed() == 0 {
		s.add(doubt(l, outUnknown))
	}
	switch {
	case o.out:
		s.add(outMark(l, o.start, r.OutTime.Max-o.used, q))
	case o.back || o.used > 0:
		s.add(mark{rule: l, verdict: Reject, past: o.used >= r.OutTime.Max, counts: true, kind: outSum})
	}
}

// thawsDated is how many thaws have a date.
func (it *Item) thawsDated() (n int) {
	for _, d := range it.Thawed {
		if !d.IsZero() {
			n++
		}
	}
	return n
}

func (it *Item) anyThawBegun(q *asked) bool {
	for _, d := range it.Thawed {
		if d.IsZero() || q.begun(d) {
			return true
		}
	}
	return false
}

func (outTimeRule) words(m mark, t *telling) (string, string) {
	out, it := t.rules.OutTime, t.it
	o := outingsOf(it, t.q)
	t.assumeOutings(o)
	switch {
	case m.kind == outNoLife && it.thawed() == 0:
		return fmt.Sprintf("Out of the freezer for %s, and no out time is known for %s.", hours(o.used), t.class()), "records of the batch"
	case m.kind == outNoLife:
		return fmt.Sprintf("Thawed %s%s, and no out time is known for %s.", times(it.thawed()), t.thawDates(), t.class()), "records of the batch"
	case m.kind == outUnknown:
		return fmt.Sprintf("Thawed %s, but how long it was out is not recorded; %s is allowed.", times(it.thawed()), hours(out.Max)), out.From
	case m.kind == outSum && m.past:
		return fmt.Sprintf("Out time is spent: %s.", hoursOf(o.used, out.Max)), out.From
	case m.kind == outSum:
		return fmt.Sprintf("Out of the freezer for %s so far.", hoursOf(o.used, out.Max)), out.From
	case m.byHour && !m.timed:
		return fmt.Sprintf("Out of the freezer since %s, good for %s from leaving the freezer: by the hour, not by the day; whoever thawed it must say when.",
			m.since(), hours(out.Max-o.used)), out.From
	}
	before := ""
	if o.used > 0 {
		before = ", " + hours(o.used) + " spent before"
	}
	since := fmt.Sprintf("Out of the freezer since %s, %s allowed%s: ", m.since(), hours(out.Max), before)
	if m.byHour {
		return since + "until " + m.ends() + ", within the day judged.", out.From
	}
	return since + t.outEnd(m), out.From
}

func (outTimeRule) decide(mark, *telling) (string, string) {
	return "The quality office must find how long it was out and how long it may be, or reject it.",
		"The freezer's log, or the times written on the container, and the maker's data sheet settle it."
}

// assumeOutings says how outings were added up.
func (t *telling) assumeOutings(o outings) {
	if o.out && !o.unpaired && len(t.it.Refrozen) == 0 && len(t.it.Thawed) > 1 && t.it.outUsed() == 0 {
		t.assume("No return to the freezer is recorded: out time is counted from the first thaw.")
	}
	if len(t.it.Refrozen) > 0 && (o.back || o.out && !o.unpaired) {
		for _, d := range append(append([]label.Date{}, t.it.Thawed...), t.it.Refrozen...) {
			if d.Precision() != label.Minute {
				t.assume("The hours it left and went back to the freezer are not all recorded: such days count whole.")
			}
		}
	}
}

// outEnd ends the sentence for an outing that goes on.
func (t *telling) outEnd(m mark) string {
	mind := ""
	if m.from < 0 {
		t.assume("The hour it left the freezer is not recorded: its time out is counted from the start of %s.", label.FormatDay(m.start))
		mind = "; mind the hour on that day"
	}
	switch {
	case m.past:
		return "it ended " + m.endedAt() + "."
	case m.from < 0:
		return through(m.date) + mind + "."
	}
	return m.usable() + "."
}

// endedAt is the end of an outing: to the minute only where its start is known so.
func (m mark) endedAt() string {
	if m.from < 0 {
		return label.FormatDay(m.date)
	}
	return m.ends()
}

// since is when an outing began, as closely as it is known.
func (m mark) since() string {
	if m.from < 0 {
		return label.FormatDay(m.start)
	}
	return label.At(m.start, int(m.from)).String()
}

func (t *telling) thawDates() string {
	var dates []string
	for _, d := range t.it.Thawed {
		if !d.IsZero() {
			dates = append(dates, d.String())
		}
	}
	if dates == nil {
		return ""
	}
	return " (" + strings.Join(dates, ", ") + ")"
}
