package shelf

import (
	"fmt"
	"strings"

	"beadline/catalog/label"
)

// Lifting a hold. Evidence settles a doubt about a batch; it does not give it life, and
// a reject is for good. What is lifted stays in the list of limits, with who freed it.

// Freeable are the names of the limits whose hold a person with authority can lift.
func Freeable() []Name {
	return []Name{LimitHeld, LimitStorageBounds, LimitReceipt, LimitCondition, LimitFarDate}
}

// liftable reports whether evidence can lift a hold, as it can a person's doubt, a
// damaged or separated pack, a spell of storage, an arrival, a date far off. The rest are settled by a
// test, or by correcting the record.
func (m *mark) liftable() bool {
	switch m.rule.(type) {
	case heldRule, boundsRule, receiptRule, farRule:
		return true
	case conditionRule:
		return int(m.kind) < len(conditionWords) && conditionWords[m.kind].liftable
	}
	return false
}

// cameUp is when the trouble behind a hold came up, zero where that is not said.
func (m *mark) cameUp(it *Item) label.Date {
	switch m.rule.(type) {
	case heldRule:
		return it.HeldOn
	case conditionRule:
		return it.ConditionOn
	case receiptRule:
		return it.Received.On
	case boundsRule:
		return it.Storage[m.n].last()
	}
	return label.Date{}
}

// free lifts a hold that a person with authority has freed: on or after the day it
// came up, and on or before the moment judged.
func (s *sink) free(m *mark) {
	if !m.liftable() {
		return
	}
	best := -1
	for i := range s.it.Freed {
		f := &s.it.Freed[i]
		if f.Limit == m.rule.name() && f.lifts(m, s.it, s.q) == lifted && (best < 0 || compareDates(f.On, s.it.Freed[best].On) < 0) {
			best = i
		}
	}
	if best >= 0 {
		m.freed, m.counts = int32(best+1), false
	}
}

// lifting is what comes of a Freed for a hold that may be lifted.
type lifting uint8

const (
	lifted lifting = iota
	liftUndated
	liftIncomplete
	liftToCome
	liftTooEarly
)

func (f *Freed) lifts(m *mark, it *Item, q *asked) lifting {
	switch {
	case f.On.IsZero():
		return liftUndated
	case blank(f.By) || blank(f.Authority) || blank(f.Reference):
		return liftIncomplete
	case !q.reached(f.On):
		return liftToCome
	}
	if up := m.cameUp(it); !up.IsZero() && !follows(f.On, up) {
		return liftTooEarly
	}
	return lifted
}

// follows reports whether a date surely lies on or after another: by the day, and by
// the minute where both are known to it.
func follows(d, other label.Date) bool {
	if d.First() != lastDay(other) {
		return d.First().After(lastDay(other))
	}
	a, okA := d.Clock()
	b, okB := other.Clock()
	return !okA || !okB || a >= b
}

// freedBy says who lifted a hold.
func (t *telling) freedBy(m mark) string {
	f := t.it.Freed[m.freed-1]
	why := ""
	if !blank(f.Why) {
		why = ": " + said(f.Why)
	}
	return fmt.Sprintf("Freed by %s on %s (%s, reference %s)%s.", said(f.By), f.On, said(f.Authority), said(f.Reference), why)
}

// notFreed says why a hold that somebody freed stands all the same.
func (t *telling) notFreed(m mark) {
	for i := range t.it.Freed {
		f := &t.it.Freed[i]
		if f.Limit != m.rule.name() || t.unfreed[i] {
			continue
		}
		why, again := "", false
		switch {
		case m.verdict == Reject:
			why = "a reject is never lifted"
		case !m.liftable():
			why = "that is settled by a test or by a corrected record, not by freeing it"
		default:
			l := f.lifts(&m, t.it, t.q)
			why, again = l.text(f, m.cameUp(t.it)), l == liftTooEarly
		}
		if !again { // the same for every such hold
			if t.unfreed == nil {
				t.unfreed = map[int]bool{}
			}
			t.unfreed[i] = true
		}
		t.assume("%s was freed%s, which does not count: %s.", upper(strings.ReplaceAll(string(f.Limit), "-", " ")), on(f.On), why)
	}
}

func (l lifting) text(f *Freed, up label.Date) string {
	switch l {
	case liftUndated:
		return "its day is not recorded"
	case liftToCome:
		return "it counts only from its day on"
	case liftTooEarly:
		return "it came up again on " + up.String()
	}
	var missing []string
	for _, v := range []struct{ name, value string }{{"who freed it", f.By}, {"the authority", f.Authority}, {"the reference", f.Reference}} {
		if blank(v.value) {
			missing = append(missing, v.name)
		}
	}
	return "not on record: " + list(missing)
}

// on writes " on 3 March 2027", or nothing for no date.
func on(d label.Date) string {
	if d.IsZero() {
		return ""
	}
	return " on " + d.String()
}
