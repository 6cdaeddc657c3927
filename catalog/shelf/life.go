package shelf

import (
	"fmt"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// The limits that a class, a shelf-life code or a standard sets: life from
// manufacture, life once opened, life once fitted.

// classLifeRule: the life the class, or the standard of a seal, gives from the date of
// manufacture. It gives way to a printed expiry, which is the maker's own word on this
// batch. codeLifeRule is the same of a shelf-life code on the item, which wins over the
// class; of type II its end is an inspect/test date, and a printed one wins over it.
type (
	classLifeRule struct{}
	codeLifeRule  struct{ classLifeRule }
)

func (classLifeRule) name() Name { return LimitClassLife }
func (codeLifeRule) name() Name  { return LimitCodeLife }

func (l classLifeRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	counts := it.lifeCounts(r)
	if it.DOM.IsZero() || !r.Unopened.Known() || !counts && s.glance() {
		return
	}
	m := mark{counts: counts}
	if !r.Unopened.Unlimited {
		start, end := r.lifeFrom(it.DOM)
		last, steps := end, 0
		if counts && len(it.Tests) > 0 {
			last, steps = r.extended(it, q, stopOn(end), nil)
		}
		m = dayMark(l, last, r.pastLife(steps), q)
		m.start, m.steps, m.counts = start, int16(steps), counts
	}
	m.rule = l
	if r.item.codeLife {
		m.rule = codeLifeRule{}
	}
	s.add(m)
}

// lifeCounts reports whether a life counted from manufacture is more than information.
func (it *Item) lifeCounts(r *Rules) bool {
	return it.Expiry.IsZero() && (r.item.coded != typeII || it.Inspect.IsZero())
}

// lifeFrom counts the life from a date of manufacture under the convention.
func (r *Rules) lifeFrom(dom label.Date) (start, last date.Date) {
	if r.Convention == LastOfMonth && dom.Precision() == label.Month ||
		r.Convention == EndOfQuarter && dom.Precision() == label.Quarter {
		return dom.Last(), label.AddLifeToMonthEnd(dom.Last(), r.Unopened.Span)
	}
	return dom.First(), label.AddLife(dom.First(), r.Unopened.Span)
}

func (classLifeRule) words(m mark, t *telling) (string, string) {
	u := t.rules.Unopened
	return t.lifeWords(m, "life "+quantity.FormatLife(u.Span), "The class sets no limit on unopened life.")
}

func (codeLifeRule) words(m mark, t *telling) (string, string) {
	code := "shelf-life code " + said(t.it.Code)
	if class := t.rules.item.classLife; class.Known() && !sameLife(class, t.rules.Unopened) {
		t.assume("The code on the label counts, %s; %s keeps %s by its class.", lifeWords(t.rules.Unopened), t.class(), lifeWords(class))
	}
	return t.lifeWords(m, fmt.Sprintf("%s is %s", code, quantity.FormatLife(t.rules.Unopened.Span)), upper(code)+" sets no limit: the item does not deteriorate.")
}

// lifeWords is the sentence for a life counted from manufacture.
func (t *telling) lifeWords(m mark, life, unlimited string) (string, string) {
	u := t.rules.Unopened
	if u.Unlimited {
		return unlimited, u.From
	}
	_, end := t.rules.lifeFrom(t.it.DOM)
	how, source := t.counted(m.start)
	extended, more := "", ""
	if m.counts {
		extended, more = t.ladder(m, stopOn(end), "the end of its life")
	}
	made := fmt.Sprintf("Made %s, %s%s", t.it.DOM, life, how)
	if source != "" {
		source = "; " + source
	}
	source = u.From + source + t.ladderSource(m)
	test := t.rules.item.coded == typeII
	switch {
	case !m.counts && t.it.Expiry.IsZero():
		return made + ": to " + m.ends() + ". For information only: the inspect/test date on the label counts.", source
	case !m.counts:
		return made + ": to " + m.ends() + ". For information only: the expiry on the label counts.", source
	case m.past && extended != "":
		return "Its life has ended: " + lower(extended) + "." + t.afterLife(m) + more, source
	case extended != "":
		return extended + ": " + m.usable() + ".", source
	case m.past && test:
		return made + ": inspect/test was due by " + m.ends() + "." + t.afterLife(m) + more, source
	case m.past:
		return made + ": it ended " + m.ends() + "." + t.afterLife(m) + more, source
	case test:
		return made + ": " + m.usable() + " without a test.", source
	}
	return made + ": " + m.usable() + ".", source
}

func (classLifeRule) decide(mark, *telling) (string, string) { return testDecision() }

// counted says which day of an inexact date of manufacture the life was counted
// from, and by whose rule.
func (t *telling) counted(start date.Date) (how, source string) {
	dom := t.it.DOM
	if exact(dom) {
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

func (l openedRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	lifeSince(l, &it.Opened, &r.Opened, q, s)
}

// lifeSince is the mark of a life that something done to an item starts, and no test
// extends: where it is not known how long that is, a doubt from the moment it was done.
func lifeSince(l rule, done *label.Date, life *Life, q *asked, s *sink) {
	switch {
	case done.IsZero():
	case life.Unlimited:
		s.add(mark{rule: l, counts: true})
	case life.Known():
		s.add(dayMark(l, label.AddLife(done.First(), life.Span), Reject, q))
	case q.begun(*done):
		s.add(doubt(l, 0))
	}
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
		return fmt.Sprintf("Opened %s; opened life ended %s (%s).", opened, m.ends(), span), o.From
	}
	return fmt.Sprintf("Opened %s; opened life %s: %s.", opened, span, m.usable()), o.From
}

func (openedRule) decide(mark, *telling) (string, string) {
	return "The quality office must find the opened life in the maker's papers, or reject it.",
		"The maker's data sheet, with the life after opening, settles it."
}

// assumeFirst says that a record inexact to the day counts from its first day.
func (t *telling) assumeFirst(what string, d label.Date, life string) {
	if !exact(d) {
		t.assume("Only the %s it was %s is known: %s is counted from %s.", d.Precision(), what, life, label.FormatDay(d.First()))
	}
}

// installedRule: once fitted, installed life counts beside shelf life, whichever ends
// earlier. No test extends it.
type installedRule struct{}

func (installedRule) name() Name { return LimitInstalledLife }

const installedSource = "the earlier of shelf and installed life (US Navy ASE manual)"

func (l installedRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	lifeSince(l, &it.Installed, &r.Installed, q, s)
}

func (installedRule) words(m mark, t *telling) (string, string) {
	life, fitted := t.rules.Installed, t.it.Installed
	source := life.From + "; " + installedSource
	switch {
	case life.Unlimited:
		return fmt.Sprintf("Fitted %s; no limit is set on its life once fitted.", fitted), source
	case !life.Known():
		return fmt.Sprintf("Fitted %s, and no installed life is known for %s.", fitted, t.class()), installedSource
	}
	t.assumeFirst("fitted", fitted, "installed life")
	span := quantity.FormatLife(life.Span)
	if m.past {
		return fmt.Sprintf("Fitted %s; installed life ended %s (%s).", fitted, m.ends(), span), source
	}
	return fmt.Sprintf("Fitted %s; installed life %s: %s.", fitted, span, m.usable()), source
}

func (installedRule) decide(mark, *telling) (string, string) {
	return "The quality office must find the installed life in the maintenance data, or reject it.",
		"The maintenance data for the part, with its life once fitted, settles it."
}
