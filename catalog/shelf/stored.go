package shelf

import (
	"fmt"
	"math"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// The limits that the temperature of storage sets. Limits of temperature are
// inclusive: at 27 °C a store that may have 27 °C is in order. Cold never lengthens a
// life, and mean kinetic temperature decides nothing.

// storageRules are the rules on how a batch was stored.
func storageRules(it *Item, r *Rules, q *asked, s *sink) {
	if len(it.Storage) == 0 {
		return
	}
	hotStorageRule{}.marks(it, r, q, s)
	boundsRule{}.marks(it, r, s)
	storeRangeRule{}.marks(it, r, s)
	storageLifeRule{}.marks(it, r, q, s)
	kineticRule{}.marks(it, s)
}

// last is the end of a stretch of storage, or the one moment known of it.
func (st *Storage) last() label.Date {
	if !st.To.IsZero() {
		return st.To
	}
	return st.From
}

// where names a stretch of storage in a sentence: " in the hangar store".
func (st *Storage) where() string {
	if blank(st.Where) {
		return ""
	}
	return " (" + said(st.Where) + ")"
}

// when is the stretch in a sentence: ", 3 to 5 March".
func (st *Storage) when() string {
	switch {
	case st.From.IsZero() && st.To.IsZero():
		return ", when is not recorded"
	case st.To.IsZero():
		return ", " + st.From.String()
	case st.From.IsZero():
		return ", until " + st.To.String()
	}
	return ", " + st.From.String() + " to " + st.To.String()
}

// readable reports whether its temperatures are numbers.
func (st *Storage) readable() bool { return !math.IsNaN(st.MinC) && !math.IsNaN(st.MaxC) }

// coldest and warmest are its temperatures, °C, whichever way round they were recorded.
func (st *Storage) coldest() float64 { return min(st.MinC, st.MaxC) }
func (st *Storage) warmest() float64 { return max(st.MinC, st.MaxC) }

// was says at what temperatures a stretch was stored.
func (st *Storage) was() string {
	temps := celsius(st.coldest()) + " to " + celsius(st.warmest())
	switch {
	case !st.readable():
		temps = "a temperature that is not recorded"
	case st.MinC == st.MaxC:
		temps = celsius(st.MaxC)
	}
	return "It was stored at " + temps + st.where() + st.when()
}

// hotStorageRule: once above the class's hot limit, it is used within so long of the
// first such moment, or not at all. No test extends that.
type hotStorageRule struct{}

func (hotStorageRule) name() Name { return LimitHotStorage }

// hot is the first day that a stretch was above the hot limit; known is false where it
// was, but nobody says when.
func (st *Storage) hot(r *Rules) (first label.Date, was, known bool) {
	switch {
	case !st.HotFrom.IsZero() && st.HotFrom.First().After(lastDay(st.last())) && !st.last().IsZero():
		return st.From, true, !st.From.IsZero() // it cannot have begun after its end
	case !st.HotFrom.IsZero():
		return st.HotFrom, true, true
	case st.Measured && st.warmest() > r.Hot.AboveC:
		return st.From, true, !st.From.IsZero()
	}
	return label.Date{}, false, false
}

func (l hotStorageRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if !r.Hot.set() {
		for i := range it.Storage {
			if st := &it.Storage[i]; !st.HotFrom.IsZero() && !st.Measured {
				m := doubt(l, 2)
				m.n = int32(i)
				s.add(m)
				return
			}
		}
		return
	}
	first, unknown := -1, -1
	for i := range it.Storage {
		d, was, known := it.Storage[i].hot(r)
		switch {
		case !was:
		case !known:
			unknown = i
		case first < 0:
			first = i
		default:
			if e, _, _ := it.Storage[first].hot(r); d.First().Before(e.First()) {
				first = i
			}
		}
	}
	if unknown >= 0 {
		m := doubt(l, 1)
		m.n = int32(unknown)
		s.add(m)
	}
	if first >= 0 {
		d, _, _ := it.Storage[first].hot(r)
		m := dayMark(l, label.AddLife(d.First(), r.Hot.Within), Reject, q)
		m.start, m.n = d.First(), int32(first)
		s.add(m)
	}
}

func (hotStorageRule) words(m mark, t *telling) (string, string) {
	h, st := t.rules.Hot, &t.it.Storage[m.n]
	if m.kind == 2 {
		return fmt.Sprintf("It was too warm in store%s first on %s, and what that leaves of its life is not known for %s.", st.where(), st.HotFrom, t.class()),
			"own decision: a spell too warm that no rule counts is held, not passed over"
	}
	above := fmt.Sprintf("It was above %s%s", celsius(h.AboveC), st.where())
	if m.kind == 1 {
		return fmt.Sprintf("%s, but when first is not recorded; from then it is good for %s.", above, weeks(h.Within)), h.From
	}
	d, _, _ := st.hot(t.rules)
	if m.past {
		return fmt.Sprintf("%s first on %s: to be used within %s, which ended %s.", above, d, weeks(h.Within), m.ends()), h.From
	}
	return fmt.Sprintf("%s first on %s: to be used within %s, %s. No test extends that.", above, d, weeks(h.Within), m.usable()), h.From
}

func (hotStorageRule) decide(m mark, _ *telling) (string, string) {
	if m.kind == 2 {
		return "The quality office must ask the maker what that leaves of its life, or reject it.",
			"The maker's answer in writing, or a passed test, with a reference settles it."
	}
	return "The quality office must find when it was first too warm, or reject it.",
		"The store's temperature log settles it."
}

// boundsRule: stored outside what the class must never have left. Where the class says
// nothing of that, what left the usual range is held, unless it was too warm alone and a
// rule for hot spells, or the storage life by a log, counts that.
type boundsRule struct{}

func (boundsRule) name() Name { return LimitStorageBounds }

// beyond says how a stretch lies to the class's temperatures. ends: the batch has an end
// that warm storage can bring nearer.
func (st *Storage) beyond(r *Rules, ends bool) (bounds, store bool) {
	switch {
	case !st.Measured:
		return false, false
	case !st.readable():
		return true, true
	}
	s, b := r.Store.Range, r.Bounds.Range
	cold, warm := !s.IsZero() && st.coldest() < s.Lo, !s.IsZero() && st.warmest() > s.Hi
	if !b.IsZero() {
		return st.coldest() < b.Lo || st.warmest() > b.Hi, cold || warm
	}
	counted := ends && st.Readings > 0 && st.Spent > 0 // by the storage life
	return cold || warm && !r.Hot.set() && !counted, cold || warm
}

func (l boundsRule) marks(it *Item, r *Rules, s *sink) {
	ends := it.ends(r)
	for i := range it.Storage {
		if out, _ := it.Storage[i].beyond(r, ends); out {
			m := doubt(l, 0)
			m.n = int32(i)
			s.add(m)
		}
	}
}

func (boundsRule) words(m mark, t *telling) (string, string) {
	st, r := &t.it.Storage[m.n], t.rules
	was := st.was()
	switch {
	case !st.readable():
		return was + ".", "records of the batch"
	case r.Bounds.Range.IsZero():
		return fmt.Sprintf("%s; it is kept at %s, and how far outside it may be is not known.", was, degrees(r.Store.Range)),
			r.Store.From + "; that it holds the batch: own decision, the safe side"
	}
	return fmt.Sprintf("%s; it must never have left %s.", was, degrees(r.Bounds.Range)), r.Bounds.From
}

func (boundsRule) decide(mark, *telling) (string, string) {
	return "The quality office must ask the maker whether it is still good, or reject it.",
		"The maker's answer in writing, or a passed test, with a reference settles it."
}

// storeRangeRule: stored outside the usual range, but inside what it may never leave.
// That is said, and holds nothing.
type storeRangeRule struct{}

func (storeRangeRule) name() Name { return LimitStoreRange }

func (l storeRangeRule) marks(it *Item, r *Rules, s *sink) {
	if s.glance() {
		return
	}
	ends := it.ends(r)
	for i := range it.Storage {
		if out, left := it.Storage[i].beyond(r, ends); left && !out {
			s.add(mark{rule: l, n: int32(i)})
		}
	}
}

func (storeRangeRule) words(m mark, t *telling) (string, string) {
	st := &t.it.Storage[m.n]
	return fmt.Sprintf("%s, and is kept at %s. For information only.", st.was(), degrees(t.rules.Store.Range)), t.rules.Store.From + "; that it is for information: own decision"
}

func (storeRangeRule) decide(mark, *telling) (string, string) { return "", "" }

// storageLifeRule: each end of the unopened life, less what warm storage has used up of
// it beyond the clock.
type storageLifeRule struct{}

func (storageLifeRule) name() Name { return LimitStorageLife }

// spent is what warm storage used up beyond the clock, in whole days, rounded up.
func (it *Item) spent() (days int) {
	const most = 100 * 365 // more than any life, and no sum of it overflows
	var sum time.Duration
	for i := range it.Storage {
		sum += min(max(0, it.Storage[i].Spent), most*24*time.Hour)
		if sum > most*24*time.Hour {
			return most
		}
	}
	return int((sum + 24*time.Hour - 1) / (24 * time.Hour))
}

// ending is one end of the unopened life, as tests have moved it, by number: the printed
// expiry, what is counted from manufacture, the printed inspect/test and best-before
// dates, and then the ends of the parts of a kit. ok is false where there is none.
func (it *Item) ending(n int, r *Rules, q *asked) (end date.Date, v Verdict, ok bool) {
	d, made := label.Date{}, label.Date{}
	switch n {
	case 0:
		d = it.Expiry
	case 1:
		if it.lifeCounts(r) {
			made = it.DOM
		}
	case 2:
		d = it.Inspect
	case 3:
		d = it.BestBefore
	default:
		p := &it.Parts[n-otherEndings]
		if d = p.Expiry; d.IsZero() && it.Expiry.IsZero() {
			made = p.DOM
		}
	}
	holds, first := n == 2 || n == 3, stop{}
	switch {
	case !d.IsZero():
		first = stopOf(&d, holds)
	case !made.IsZero() && r.Unopened.Known() && !r.Unopened.Unlimited:
		_, first.day = r.lifeFrom(made)
	default:
		return end, v, false
	}
	end, steps := r.extended(it, q, first, nil)
	if holds {
		return end, Hold, true
	}
	return end, r.pastLife(steps), true
}

// otherEndings is how many endings come before those of the parts.
const otherEndings = 4

// ends reports whether the unopened life has an end at all.
func (it *Item) ends(r *Rules) bool {
	counted := r.Unopened.Known() && !r.Unopened.Unlimited
	if !it.Expiry.IsZero() || !it.Inspect.IsZero() || !it.BestBefore.IsZero() || !it.DOM.IsZero() && counted {
		return true
	}
	for i := range it.Parts {
		if p := &it.Parts[i]; !p.Expiry.IsZero() || !p.DOM.IsZero() && counted {
			return true
		}
	}
	return false
}

func (l storageLifeRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	days := it.spent()
	if days == 0 {
		return
	}
	for n := range otherEndings + len(it.Parts) {
		if end, v, ok := it.ending(n, r, q); ok {
			m := dayMark(l, end.Add(-date.PeriodOfDays(days)), v, q)
			m.start = end
			s.add(m)
		}
	}
}

func (storageLifeRule) words(m mark, t *telling) (string, string) {
	said := fmt.Sprintf("Warm storage used up %s more than the clock: from %s its life came down to ", plural(t.it.spent(), "day"), label.FormatDay(m.start))
	source := "storage log; rate doubled for every 10 °C above the store (ASTM F1980 form, Q10 of 2), rounded up to days"
	if m.past {
		return said + m.ends() + ", which is past.", source
	}
	return said + m.ends() + ": " + m.usable() + ".", source
}

func (storageLifeRule) decide(mark, *telling) (string, string) { return testDecision() }

// kineticRule shows the mean kinetic temperature of a log, which decides nothing.
type kineticRule struct{}

func (kineticRule) name() Name { return LimitMeanKinetic }

func (l kineticRule) marks(it *Item, s *sink) {
	if s.glance() {
		return
	}
	for i := range it.Storage {
		if st := &it.Storage[i]; st.Measured && st.Readings > 0 && st.readable() && !math.IsNaN(st.MeanKineticC) {
			s.add(mark{rule: l, n: int32(i)})
		}
	}
}

func (kineticRule) words(m mark, t *telling) (string, string) {
	st := &t.it.Storage[m.n]
	for _, note := range st.Notes {
		t.assume("%s", note)
	}
	return fmt.Sprintf("%s; mean kinetic temperature %s. For information: it permits nothing.", st.was(), celsius(st.MeanKineticC)),
		"USP <1160> form, 83.144 kJ/mol"
}

func (kineticRule) decide(mark, *telling) (string, string) { return "", "" }
