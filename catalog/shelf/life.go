package shelf

import (
	"fmt"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// The limits that a class sets: life from manufacture, life once opened.

// classLifeRule: the life the class gives from the date of manufacture. It gives
// way to a printed expiry, which is the maker's own word on this batch.
type classLifeRule struct{}

func (classLifeRule) name() Name { return LimitClassLife }

func (l classLifeRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	if it.DOM.IsZero() || !r.Unopened.Known() {
		return ms
	}
	if r.Unopened.Unlimited {
		return append(ms, mark{rule: l, counts: it.Expiry.IsZero()})
	}
	start, last := r.lifeFrom(it.DOM)
	m := dayMark(l, last, r.pastLife(), on)
	m.start, m.counts = start, it.Expiry.IsZero()
	return append(ms, m)
}

// lifeFrom counts the class's life from a date of manufacture under its
// convention.
func (r *Rules) lifeFrom(dom label.Date) (start, last date.Date) {
	if r.Convention == LastOfMonth && dom.Precision() == label.Month ||
		r.Convention == EndOfQuarter && dom.Precision() == label.Quarter {
		return dom.Last(), label.AddLifeToMonthEnd(dom.Last(), r.Unopened.Span)
	}
	return dom.First(), label.AddLife(dom.First(), r.Unopened.Span)
}

func (classLifeRule) words(m mark, t *telling) (string, string) {
	u := t.rules.Unopened
	if u.Unlimited {
		return "The class sets no limit on unopened life.", u.From
	}
	how, source := t.counted(m.start)
	life := fmt.Sprintf("Made %s, life %s%s", t.it.DOM, quantity.FormatLife(u.Span), how)
	if source != "" {
		source = "; " + source
	}
	source = u.From + source
	switch {
	case !m.counts:
		return life + ": to " + label.FormatDay(m.date) + ". For information only: the expiry on the label counts.", source
	case m.past:
		return life + ": it ended " + label.FormatDay(m.date) + "." + t.afterLife(), source
	}
	return life + ": " + through(m.date) + ".", source
}

// counted says which day of an inexact date of manufacture the life was counted
// from, and by whose rule.
func (t *telling) counted(start date.Date) (how, source string) {
	dom := t.it.DOM
	if dom.Precision() == label.Day {
		return "", ""
	}
	day := label.FormatDay(start)
	switch {
	case start == dom.First():
		source = "no published rule: own choice of the safe side"
		t.assume("Only the %s of manufacture is known: its life is counted from the first day, %s, which is the safe side.", dom.Precision(), day)
	case dom.Precision() == label.Month:
		source = "US DoD rule for coded items: a month counts from its last day (US Navy ASE manual; MIL-STD-129R)"
		t.assume("Made %s: its life is counted from the last day of the month, %s, as for items with a US DoD shelf-life code.", dom, day)
	default:
		source = "cure dates by quarter count from the quarter's end (seal suppliers' pages)"
		t.assume("Made %s: its life is counted from the end of the quarter, %s, as for elastomer seals.", dom, day)
	}
	return " counted from " + day, source
}

// openedRule: once opened, the opened life of the class counts too. A class that
// gives none leaves the question to a person.
type openedRule struct{}

func (openedRule) name() Name { return LimitOpenedLife }

func (l openedRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	switch {
	case it.Opened.IsZero():
		return ms
	case r.Opened.Unlimited:
		return append(ms, mark{rule: l, counts: true})
	case !r.Opened.Known():
		if it.Opened.First().After(on) {
			return ms
		}
		return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true})
	}
	return append(ms, dayMark(l, label.AddLife(it.Opened.First(), r.Opened.Span), Reject, on))
}

func (openedRule) words(m mark, t *telling) (string, string) {
	o, opened := t.rules.Opened, t.it.Opened
	switch {
	case o.Unlimited:
		return fmt.Sprintf("Opened %s; opening does not shorten its life.", opened), o.From
	case !o.Known():
		return fmt.Sprintf("Opened %s, and no opened life is known for %s.", opened, t.class()),
			"life as stored ends when the package is opened (US Army PS Magazine 710)"
	}
	t.assumeFirst("opened", opened, "opened life")
	span := quantity.FormatLife(o.Span)
	if m.past {
		return fmt.Sprintf("Opened %s; opened life ended %s (%s).", opened, label.FormatDay(m.date), span), o.From
	}
	return fmt.Sprintf("Opened %s; opened life %s: %s.", opened, span, through(m.date)), o.From
}

// assumeFirst says that a record inexact to the day counts from its first day.
func (t *telling) assumeFirst(what string, d label.Date, life string) {
	if d.Precision() != label.Day {
		t.assume("Only the %s it was %s is known: %s is counted from %s.", d.Precision(), what, life, label.FormatDay(d.First()))
	}
}

func (t *telling) class() string {
	if t.it.Class == "" {
		return "its class"
	}
	return t.it.Class
}
