package shelf

import (
	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// The limits that are printed on the batch.

// monthSource is the rule that makes a day of a printed month.
const monthSource = "printed on the label; a month counts to its last day (US Navy shelf-life training texts)"

// expiryRule: a printed expiry is good to its last day. Past it, what a test may
// extend is held and anything else rejected.
type expiryRule struct{}

func (expiryRule) name() Name { return LimitLabelExpiry }

func (l expiryRule) marks(it *Item, r *Rules, on date.Date, ms []mark) []mark {
	if it.Expiry.IsZero() {
		return ms
	}
	return append(ms, dayMark(l, it.Expiry.Last(), r.pastLife(), on))
}

func (expiryRule) words(m mark, t *telling) (string, string) {
	if !m.past {
		return "Expiry on the label is " + t.it.Expiry.String() + ": " + through(m.date) + ".", printedSource(t.it.Expiry)
	}
	return "Expired: the expiry on the label ended " + label.FormatDay(m.date) + "." + t.afterLife(), printedSource(t.it.Expiry)
}

// inspectRule: past its inspect/test date an item is held until it is tested.
type inspectRule struct{}

func (inspectRule) name() Name { return LimitInspectDate }

func (l inspectRule) marks(it *Item, on date.Date, ms []mark) []mark {
	if it.Inspect.IsZero() {
		return ms
	}
	return append(ms, dayMark(l, it.Inspect.Last(), Hold, on))
}

func (inspectRule) words(m mark, t *telling) (string, string) {
	if !m.past {
		return "Inspect/test date is " + t.it.Inspect.String() + ": " + through(m.date) + " without a test.", printedSource(t.it.Inspect)
	}
	return "Inspect/test was due by " + label.FormatDay(m.date) + ": test it before use.", printedSource(t.it.Inspect)
}

// pastLife is what a batch past its printed or computed life deserves.
func (r *Rules) pastLife() Verdict {
	if r.Extension.Kind != NoExtension {
		return Hold
	}
	return Reject
}

// afterLife says why a batch past its life is held or rejected.
func (t *telling) afterLife() string {
	e := t.rules.Extension
	if e.Kind == NoExtension {
		return " Its life cannot be extended."
	}
	if e.From == "" {
		return " More life only by a passed test under a named authority."
	}
	return " More life only by a passed test under a named authority (" + e.From + ")."
}

func through(d date.Date) string { return "usable through " + label.FormatDay(d) }

func printedSource(d label.Date) string {
	if d.Precision() == label.Day {
		return "printed on the label"
	}
	if d.Precision() == label.Month {
		return monthSource
	}
	return "printed on the label; a " + d.Precision().String() + " counts to its last day"
}
