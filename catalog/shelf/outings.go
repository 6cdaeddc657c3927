package shelf

import (
	"time"

	"beadline/catalog/label"
)

// The time a frozen item was out of its freezer, worked out from when it left and when
// it went back. An outing known only by its days counts them whole.

// outings is what the freezer's records add up to.
type outings struct {
	out  bool          // it is out, since start
	back bool          // every outing on record has ended
	used time.Duration // spent before start, or in all if it is back
	// start is when the outing that goes on began. Where no return is recorded, and no
	// sum on the container, that is the first of all.
	start moment
	// unpaired: what left and what went back does not fit together. Then the batch
	// counts as out since the first thaw, or since the first without a return, with
	// what was spent before: whichever leaves it less.
	unpaired bool
	// before: time is written on the container that no thaw with a date accounts for. It
	// left the freezer before the first of them.
	before bool
}

// outingsOf adds up the outings of an item. It allocates nothing for up to 16 thaws.
func outingsOf(it *Item, q *asked) (o outings) {
	var thawBuf, backBuf [16]moment
	thaws := moments(thawBuf[:0], it.Thawed, q.zone)
	backs := moments(backBuf[:0], it.Refrozen, q.zone)
	o.used = it.outUsed()
	n := len(thaws)
	if n == 0 {
		o.before = o.used > 0 && it.ThawCount == 0
		o.unpaired = len(backs) > it.ThawCount
		return o
	}
	// A sum on the container covers the earlier outings: those from first on count.
	first := 0
	if o.used > 0 {
		first = n - 1
		accounted := false // a thaw that goes on counting is in the sum already
		if !it.OutAsOf.IsZero() {
			asOf := momentOf(it.OutAsOf, q.zone)
			for first > 0 && thaws[first-1].lo >= asOf.lo {
				first--
			}
			accounted = thaws[first].lo < asOf.lo
			// Of an outing that went on after that moment the rest counts too.
			if i := endedAfter(backs, asOf); first > 0 && i < len(backs) && backs[i].hi <= thaws[first].lo && backs[i].lo >= thaws[first-1].hi {
				first--
				thaws[first], accounted = asOf, true
			}
		}
		o.before = first == 0 && !accounted && it.ThawCount <= n
		for len(backs) > 0 && backs[0].hi <= thaws[first].lo {
			backs = backs[1:]
		}
	}
	o.start = thaws[first]
	if len(backs) == 0 {
		o.out = true
		return o
	}
	thaws = thaws[first:]
	spent, ok := paired(thaws, backs)
	switch {
	case !ok:
		o.out, o.unpaired = true, true
		k := min(len(backs), len(thaws)-1)
		if spent = sum(thaws[:k], backs[:k]); thaws[k].lo-int64(spent/time.Second) < thaws[0].lo {
			o.start, o.used = thaws[k], o.used+spent
		}
	case len(backs) == len(thaws):
		o.back, o.used = true, o.used+spent
	default:
		o.out, o.used, o.start = true, o.used+spent, thaws[len(thaws)-1]
	}
	return o
}

// endedAfter is the first return that surely came after a moment; len(backs): none.
func endedAfter(backs []moment, m moment) int {
	for i, b := range backs {
		if b.lo > m.hi {
			return i
		}
	}
	return len(backs)
}

// paired adds up outings that have ended, at their longest. They pair if each return
// can follow its thaw and come before the next, and at most the last thaw has none.
func paired(thaws, backs []moment) (spent time.Duration, ok bool) {
	if len(backs) != len(thaws) && len(backs) != len(thaws)-1 {
		return 0, false
	}
	for i, b := range backs {
		if b.hi < thaws[i].lo || i+1 < len(thaws) && b.lo > thaws[i+1].hi {
			return 0, false
		}
	}
	return sum(thaws[:len(backs)], backs), true
}

// sum adds up as many outings as returns, at their longest.
func sum(thaws, backs []moment) time.Duration {
	var seconds int64
	for i, b := range backs {
		seconds += max(0, b.hi-thaws[i].lo)
	}
	return time.Duration(min(seconds, int64(mostOut/time.Second))) * time.Second
}

// mostOut bounds a sum of outings: a century, of which a time.Duration holds two.
const mostOut = 100 * 365 * 24 * time.Hour

// outUsed is OutUsed without a negative, which would add time.
func (it *Item) outUsed() time.Duration { return min(max(0, it.OutUsed), mostOut) }

// thawed is how often the item was thawed.
func (it *Item) thawed() int { return max(len(it.Thawed), it.ThawCount) }

// moments are recorded dates in the order of their times.
func moments(buf []moment, ds []label.Date, zone *time.Location) []moment {
	for _, d := range ds {
		if d.IsZero() {
			continue
		}
		m := momentOf(d, zone)
		i := len(buf)
		buf = append(buf, m)
		for ; i > 0 && m.before(buf[i-1]); i-- {
			buf[i] = buf[i-1]
		}
		buf[i] = m
	}
	return buf
}

func (m moment) before(o moment) bool {
	switch {
	case m.lo != o.lo:
		return m.lo < o.lo
	case m.hi != o.hi:
		return m.hi < o.hi
	}
	return m.minute < o.minute
}

// outMark is the limit of an outing that may last so long from its start. Where the
// hour of the start is not recorded it counts from the start of that day; on the day
// on which the time so counted ends, it is the hour that counts, and a person must
// say it.
func outMark(l rule, start moment, left time.Duration, q *asked) mark {
	m := mark{rule: l, start: start.day, from: start.minute, dated: true, verdict: Reject, counts: true}
	if left <= 0 {
		m.date = start.day.Add(-1)
		m.past = q.on.After(m.date)
		return m
	}
	day, minute := lastWall(start.lo+int64(left/time.Second), q.zone)
	m.date, m.past = day, q.on.After(day)
	if minute < 0 {
		return m
	}
	m.minute, m.timed = minute, true
	switch {
	case q.on != day || q.timed && q.at <= minute:
	case start.minute < 0:
		m = mark{rule: l, start: start.day, from: -1, verdict: Hold, past: true, counts: true, byHour: true}
	case q.timed:
		m.past = true
	default:
		m.past, m.byHour, m.verdict = true, true, Hold
	}
	return m
}
