package shelf

import (
	"fmt"
	"strings"

	"beadline/cure/quantity"
)

// The limits of a kit's parts: whether they belong together, and when each one ends.

// partsRule: base and accelerator come from one kit. A part whose lot is not the one
// that the kit's label names, or parts out of different kits, are not mixed.
type partsRule struct{}

func (partsRule) name() Name { return LimitKitParts }

// The cases of partsRule.
const (
	partWrongLot uint8 = iota
	partOtherKit
)

func (l partsRule) marks(it *Item, s *sink) {
	other := false // one line for all parts of other kits
	for i := range it.Parts {
		p := &it.Parts[i]
		m := doubt(l, partWrongLot)
		m.n = int32(i)
		if !blank(p.Lot) && !blank(p.Kit) && !same(p.Lot, p.Kit) {
			s.add(m)
		}
		for k := 0; k < i && !other; k++ {
			if o := &it.Parts[k]; !blank(p.From) && !blank(o.From) && !same(p.From, o.From) {
				m.kind, m.with, other = partOtherKit, int32(k), true
				s.add(m)
			}
		}
	}
}

// same reports whether two lots, as written on parts and labels, are one.
func same(a, b string) bool { return strings.TrimSpace(a) == strings.TrimSpace(b) }

// title names a part in a sentence.
func (p *Part) title(i int) string {
	if blank(p.Name) {
		return fmt.Sprintf("part %d", i+1)
	}
	return said(p.Name)
}

func (partsRule) words(m mark, t *telling) (string, string) {
	p := &t.it.Parts[m.n]
	const source = "both parts come from one kit: common practice, no source"
	if m.kind == partOtherKit {
		k := int(m.with)
		o := &t.it.Parts[k]
		return fmt.Sprintf("Do not mix these two: %s is from kit %s, %s from kit %s.", o.title(k), said(o.From), p.title(int(m.n)), said(p.From)), source
	}
	return fmt.Sprintf("Do not mix these two: %s is of lot %s, and the kit's label names lot %s.", p.title(int(m.n)), said(p.Lot), said(p.Kit)), source
}

func (partsRule) decide(mark, *telling) (string, string) {
	return "Find the part that belongs to this kit; the quality office decides if the label itself is wrong.",
		"Parts with the lots that the kit's label names settle it."
}

// partExpiryRule: each part of a kit ends when its own label says so, or, where neither
// it nor the kit has an expiry, when the life of the class from its own manufacture
// does.
type partExpiryRule struct{}

func (partExpiryRule) name() Name { return LimitPartExpiry }

// partUndated is the case of a part of an undated kit that has no expiry and no life.
const partUndated uint8 = 1

func (l partExpiryRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	for i := range it.Parts {
		p := &it.Parts[i]
		var m mark
		switch {
		case !p.Expiry.IsZero():
			m = printedMark(l, &p.Expiry, false, it, r, q)
			if !m.byHour {
				m.verdict = r.pastLife(int(m.steps))
			}
		case p.DOM.IsZero() || !it.Expiry.IsZero():
			continue
		case !r.Unopened.Known():
			m = doubt(l, partUndated)
		case r.Unopened.Unlimited:
			continue
		default:
			_, end := r.lifeFrom(p.DOM)
			last, steps := end, 0
			if len(it.Tests) > 0 {
				last, steps = r.extended(it, q, stopOn(end), nil)
			}
			m = dayMark(l, last, r.pastLife(steps), q)
			m.steps = int16(steps)
		}
		m.n = int32(i)
		s.add(m)
	}
}

func (partExpiryRule) words(m mark, t *telling) (string, string) {
	p := &t.it.Parts[m.n]
	name := upper(p.title(int(m.n)))
	if m.kind == partUndated {
		return fmt.Sprintf("%s was made %s, but has no expiry, and no shelf life is known for %s.", name, p.DOM, t.class()), "own decision: what nothing is known of is held, not passed"
	}
	var end stop
	var what, source string
	if p.Expiry.IsZero() {
		_, last := t.rules.lifeFrom(p.DOM)
		end = stopOn(last)
		what = fmt.Sprintf("%s was made %s, life %s", name, p.DOM, quantity.FormatLife(t.rules.Unopened.Span))
		source = t.rules.Unopened.From
	} else {
		end = stopOf(&p.Expiry, false)
		what = fmt.Sprintf("%s has an expiry of its own, %s", name, p.Expiry)
		source = printedSource(p.Expiry)
	}
	source += "; the part that ends first ends the kit: own decision, the safe side" + t.ladderSource(m)
	extended, more := t.ladder(m, end, "its own end")
	if extended != "" {
		what += ". " + extended
	}
	switch {
	case m.byHour:
		return what + ", within the day judged.", source
	case m.past:
		return what + ": it ended " + m.ends() + "." + t.afterLife(m) + more, source
	}
	return what + ": " + m.usable() + ".", source
}

func (partExpiryRule) decide(m mark, _ *telling) (string, string) {
	if m.kind == partUndated {
		return unknownLifeRule{}.decide(m, nil)
	}
	return testDecision()
}
