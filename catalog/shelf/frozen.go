package shelf

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// The limits of what is kept frozen: how often it was thawed, how long it was out.

// thawRule: thawed more often than the class allows, it is rejected; where the
// class does not say, one thaw is allowed.
type thawRule struct{}

func (thawRule) name() Name { return LimitThaw }

func (l thawRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	allowed := r.thawsAllowed()
	if allowed == AnyThaws || it.thawed() <= allowed {
		return ms
	}
	if len(it.Thawed) <= allowed {
		return append(ms, mark{rule: l, verdict: Reject, past: true, counts: true})
	}
	// Good to the day before the thaw that was one too many.
	return append(ms, dayMark(l, it.thaw(allowed).Add(-1), Reject, on))
}

func (thawRule) words(_ mark, t *telling) (string, string) {
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
	return fmt.Sprintf("Thawed %s%s; it may be thawed %s.", times(n), t.thawDates(), may), source
}

// thawLifeRule: the time from first leaving the freezer, which no return to it
// stops.
type thawLifeRule struct{}

func (thawLifeRule) name() Name { return LimitThawLife }

func (l thawLifeRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	if r.ThawLife.Max <= 0 || it.thawed() == 0 {
		return ms
	}
	if it.ThawCount > len(it.Thawed) { // the first thaw may have been any day
		ms = append(ms, mark{rule: l, verdict: Hold, past: true, counts: true})
	}
	if len(it.Thawed) == 0 {
		return ms
	}
	return append(ms, outMark(l, it.thaw(0), r.ThawLife.Max, on))
}

func (thawLifeRule) words(m mark, t *telling) (string, string) {
	life := t.rules.ThawLife
	if m.byHour {
		return fmt.Sprintf("First thawed %s, good for %s from leaving the freezer: by the hour, not by the day; whoever thawed it must say when.",
			label.FormatDay(m.start), hours(life.Max)), life.From
	}
	if !m.dated {
		return fmt.Sprintf("Thawed %s, but when first is not recorded; it is good for %s from then.", times(t.it.thawed()), hours(life.Max)), life.From
	}
	t.assumeHour(m.start)
	said := fmt.Sprintf("First thawed %s, good for %s from then: ", label.FormatDay(m.start), hours(life.Max))
	if m.past {
		return said + "it ended " + label.FormatDay(m.date) + ".", life.From
	}
	return said + through(m.date) + "; mind the hour on that day.", life.From
}

// outTimeRule: the time spent out of the freezer, all outings added up. Days are
// all that is recorded, so an outing counts from the start of its day.
type outTimeRule struct{}

func (outTimeRule) name() Name { return LimitOutTime }

func (l outTimeRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	n, used := len(it.Thawed), it.outUsed()
	if it.thawed() == 0 && used == 0 {
		return ms
	}
	doubt := mark{rule: l, verdict: Hold, past: true, counts: true}
	if r.OutTime.Max <= 0 { // nothing to count against
		if r.ThawLife.Max > 0 && it.thawed() > 0 || n > 0 && it.thaw(0).After(on) {
			return ms
		}
		return append(ms, doubt)
	}
	if it.ThawCount > n && used == 0 { // an outing of unknown length
		ms = append(ms, doubt)
	}
	switch {
	case n == 0 && used == 0:
		return ms
	case n == 0: // back in the freezer, as far as is known
		return append(ms, mark{rule: l, verdict: Reject, past: used >= r.OutTime.Max, counts: true})
	}
	start := it.thaw(0)
	if used > 0 {
		start = it.thaw(n - 1)
	}
	return append(ms, outMark(l, start, r.OutTime.Max-used, on))
}

// outMark is the limit of an outing from a day on that may last so long. Only the day
// is known, so it counts from the start of that day; on a day in which the time ends,
// it is the hour that counts, and a person must say it.
func outMark(l rule, start date.Date, left time.Duration, on date.Date) mark {
	m := dayMark(l, lastDayOut(start, left), Reject, on)
	if on == m.date && left%(24*time.Hour) != 0 {
		m = mark{rule: l, verdict: Hold, past: true, counts: true, byHour: true}
	}
	m.start = start
	return m
}

// lastDayOut is the last day on which any of the time left remains, if it runs
// from the start of the day given.
func lastDayOut(start date.Date, left time.Duration) date.Date {
	const day = 24 * time.Hour
	if left <= 0 {
		return start.Add(-1)
	}
	return start.Add(date.PeriodOfDays((left+day-1)/day - 1))
}

func (outTimeRule) words(m mark, t *telling) (string, string) {
	out, it := t.rules.OutTime, t.it
	switch {
	case m.byHour:
		return fmt.Sprintf("Out of the freezer since %s, good for %s from leaving the freezer: by the hour, not by the day; whoever thawed it must say when.",
			label.FormatDay(m.start), hours(out.Max-it.outUsed())), out.From
	case m.dated:
		return t.outSince(m), out.From
	case out.Max <= 0 && it.thawed() == 0:
		return fmt.Sprintf("Out of the freezer for %s, and no out time is known for %s.", hours(it.OutUsed), t.class()), "records of the batch"
	case out.Max <= 0:
		return fmt.Sprintf("Thawed %s%s, and no out time is known for %s.", times(it.thawed()), t.thawDates(), t.class()), "records of the batch"
	case m.verdict == Hold:
		return fmt.Sprintf("Thawed %s, but how long it was out is not recorded; %s is allowed.", times(it.thawed()), hours(out.Max)), out.From
	case m.past:
		return fmt.Sprintf("Out time is spent: %s of %s.", hours(it.OutUsed), hours(out.Max)), out.From
	}
	return fmt.Sprintf("Out of the freezer for %s of %s so far.", hours(it.OutUsed), hours(out.Max)), out.From
}

// outSince is the sentence for an item that is out of the freezer.
func (t *telling) outSince(m mark) string {
	t.assumeHour(m.start)
	before := ""
	if used := t.it.outUsed(); used > 0 {
		before = ", " + hours(used) + " spent before"
	} else if len(t.it.Thawed) > 1 {
		t.assume("No return to the freezer is recorded: out time is counted from the first thaw.")
	}
	said := fmt.Sprintf("Out of the freezer since %s, %s allowed%s: ", label.FormatDay(m.start), hours(t.rules.OutTime.Max), before)
	if m.past {
		return said + "it ended " + label.FormatDay(m.date) + "."
	}
	return said + through(m.date) + "; mind the hour on that day."
}

// assumeHour says once that an outing counts from the start of its day.
func (t *telling) assumeHour(start date.Date) {
	said := "The hour it left the freezer is not recorded: its time out is counted from the start of " + label.FormatDay(start) + "."
	if !slices.Contains(t.assumed, said) {
		t.assumed = append(t.assumed, said)
	}
}

// thawsAllowed is how often the class may be thawed, or AnyThaws.
func (r *Rules) thawsAllowed() int {
	if r.Thaws.Max == 0 {
		return 1
	}
	return r.Thaws.Max
}

// thawed is how often the item was thawed.
func (it *Item) thawed() int { return max(len(it.Thawed), it.ThawCount) }

// outUsed is OutUsed without a negative, which would add time.
func (it *Item) outUsed() time.Duration { return max(0, it.OutUsed) }

// thaw is the first day of the k-th thaw by date, from 0. Counting finds it
// without a sorted copy; few items are thawed more than twice.
func (it *Item) thaw(k int) date.Date {
	for i, d := range it.Thawed {
		earlier, same := 0, 0
		for _, o := range it.Thawed {
			if o.First().Before(d.First()) {
				earlier++
			} else if o.First() == d.First() {
				same++
			}
		}
		if earlier <= k && k < earlier+same {
			return it.Thawed[i].First()
		}
	}
	return date.Date{}
}

func (t *telling) thawDates() string {
	if len(t.it.Thawed) == 0 {
		return ""
	}
	said := make([]string, len(t.it.Thawed))
	for i, d := range t.it.Thawed {
		said[i] = d.String()
	}
	return " (" + strings.Join(said, ", ") + ")"
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// hours writes a sum of out time: in days when it is whole days.
func hours(d time.Duration) string {
	if d > 48*time.Hour && d%(24*time.Hour) == 0 {
		return fmt.Sprintf("%d days", d/(24*time.Hour))
	}
	if d >= time.Hour && d%time.Hour == 0 {
		return fmt.Sprintf("%d h", d/time.Hour)
	}
	return quantity.FormatSpan(d)
}
