package shelf

import (
	"fmt"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// farRule: a printed date so long after manufacture, or after the day judged where that is
// not known, that a digit of its year may have slipped: more than three times the life of
// the class, and over two years.
type farRule struct{}

func (farRule) name() Name { return LimitFarDate }

// notFar is how many days ahead a date may always lie.
const notFar = 730

func (l farRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if r.Unopened.Unlimited || r.Unopened.Span.IsZero() {
		return
	}
	l.mark(0, &it.Expiry, it, r, q, s)
	l.mark(1, &it.Inspect, it, r, q, s)
}

func (l farRule) mark(kind uint8, d *label.Date, it *Item, r *Rules, q *asked, s *sink) {
	near := q.on // or earlier than what it is counted from: enough to let most pass at once
	if !it.DOM.IsZero() {
		near = it.DOM.First()
	}
	if d.IsZero() || d.First().Sub(near) <= notFar {
		return
	}
	from := farFrom(it, q.on)
	if d.First().Sub(from) <= notFar {
		return
	}
	end := from
	for range 3 {
		end = label.AddLife(end, r.Unopened.Span)
	}
	if d.First().After(end) {
		s.add(doubt(l, kind))
	}
}

// farFrom is the day that such a date is counted from.
func farFrom(it *Item, on date.Date) date.Date {
	if it.DOM.IsZero() {
		return on
	}
	return it.DOM.Last()
}

func (farRule) words(m mark, t *telling) (string, string) {
	what, d := "Expiry", t.it.Expiry
	if m.kind == 1 {
		what, d = "Inspect/test date", t.it.Inspect
	}
	since := "made " + t.it.DOM.String()
	if t.it.DOM.IsZero() {
		since = "judged " + label.FormatDay(t.q.on)
	}
	return fmt.Sprintf("%s on the label is %s, but %s, and %s keeps %s: a digit of the year may have slipped.",
			what, d, since, t.class(), quantity.FormatLife(t.rules.Unopened.Span)),
		"own decision: a date more than three times the life of the class away, and over 2 years, is read again"
}

func (farRule) decide(mark, *telling) (string, string) {
	return "Read the label again; if it does say so, the quality office must see the maker's papers.",
		"The date as printed, or the maker's certificate with that date, settles it."
}
