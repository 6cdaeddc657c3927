package shelf

import (
	"fmt"
	"math"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// receiptRule: how much of its life a batch had left when it came in. Where the class
// asks for a share, what came in with less is held; where it asks for none, the share
// is shown. What came without papers is held.
type receiptRule struct{}

func (receiptRule) name() Name { return LimitReceipt }

// The cases of receiptRule.
const (
	receiptShare    uint8 = iota // the share is known
	receiptUnknown               // a share is asked for, and cannot be counted
	receiptNoPapers              // it came without a certificate
)

func (l receiptRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	if it.Received.NoPapers {
		s.add(doubt(l, receiptNoPapers))
	}
	on := it.Received.On
	if it.Expiry.IsZero() && r.Unopened.Unlimited { // no share of a life without end is used up
		return
	}
	if on.IsZero() || r.Receipt.Share <= 0 && s.glance() || !q.begun(on) {
		return
	}
	a, known := arrivalOf(it, r)
	switch {
	case r.Receipt.Share <= 0 && known:
		s.add(mark{rule: l})
	case r.Receipt.Share <= 0:
	case !known:
		s.add(doubt(l, receiptUnknown))
	case a.enough(r):
		s.add(mark{rule: l})
	default:
		s.add(doubt(l, receiptShare))
	}
}

// arrival is a batch's life as it stood when it came in.
type arrival struct {
	made, on, end date.Date
	latest        date.Date // that it may have been made
}

// arrivalOf counts from the first day that it may have been made to the end of the
// unopened life, and takes the last day that it may have come in: the safe side. Whether
// a life is a long one is asked of the last day that it may have been made. Where
// the day of manufacture is not known, the life of the class is counted back from the
// expiry. Extensions do not count.
func arrivalOf(it *Item, r *Rules) (a arrival, known bool) {
	a = arrival{made: it.DOM.First(), latest: lastDay(it.DOM), on: lastDay(it.Received.On)}
	finite := r.Unopened.Known() && !r.Unopened.Unlimited
	switch {
	case !it.Expiry.IsZero():
		a.end = lastDay(it.Expiry)
	case !it.DOM.IsZero() && finite:
		_, a.end = r.lifeFrom(it.DOM)
	default:
		return a, false
	}
	if it.DOM.IsZero() {
		if !finite {
			return a, false
		}
		a.made = label.AddLife(a.end, r.Unopened.Span.Negate())
		a.latest = a.made
	}
	return a, a.end.After(a.made)
}

// share is the part of its life that was left, 1 for all of it; negative where it came
// in past its end.
func (a arrival) share() float64 { return float64(a.end.Sub(a.on)) / float64(a.end.Sub(a.made)) }

// enough reports whether it came in with the share asked for, or young enough of a
// life so long that the source asks for no share.
func (a arrival) enough(r *Rules) bool {
	rr := r.Receipt
	// Days left against the share of days in all; a billionth of a day is rounding.
	if float64(a.end.Sub(a.on)) >= rr.Share*float64(a.end.Sub(a.made))-1e-9 {
		return true
	}
	return !rr.Over.IsZero() && a.end.After(label.AddLife(a.latest, rr.Over)) && !a.on.After(label.AddLife(a.made, rr.Within))
}

func (receiptRule) words(m mark, t *telling) (string, string) {
	it, rr := t.it, t.rules.Receipt
	switch m.kind {
	case receiptNoPapers:
		return "It came in without papers: nothing proves what it is, when it was made and how it was kept.", "common practice, no source"
	case receiptUnknown:
		return fmt.Sprintf("Received %s; %s of its life was to be left, but how much was left cannot be counted.", it.Received.On, percent(rr.Share)), rr.From
	}
	a, _ := arrivalOf(it, t.rules)
	left := fmt.Sprintf("Received %s with %s of its life left (%s to %s)", it.Received.On, percent(a.share()), label.FormatDay(a.made), label.FormatDay(a.end))
	if it.DOM.IsZero() {
		t.assume("When it was made is not known: its life is counted back from the expiry by that of its class.")
	}
	or := ""
	if !rr.Over.IsZero() {
		or = fmt.Sprintf(", or to come in within %s of manufacture if its life is longer than %s", quantity.FormatLife(rr.Within), quantity.FormatLife(rr.Over))
	}
	switch {
	case rr.Share <= 0:
		return left + ". For information: the class asks for no share.", "records of the batch"
	case m.verdict == Hold:
		return fmt.Sprintf("%s; it was to have %s%s.", left, percent(rr.Share), or), rr.From
	}
	return fmt.Sprintf("%s; %s was asked for%s. For information only.", left, percent(rr.Share), or), rr.From
}

// percent writes a share, rounded down, so that what falls short never looks enough.
func percent(share float64) string {
	return fmt.Sprintf("%.0f %%", math.Floor(share*100+1e-9))
}

func (receiptRule) decide(m mark, _ *telling) (string, string) {
	switch m.kind {
	case receiptNoPapers:
		return "The quality office must get its papers from the supplier, or reject it.", "The maker's certificate for this batch settles it."
	case receiptUnknown:
		return "The quality office must find when it was made and when it ends.", "The maker's certificate, with both dates, settles it."
	}
	return "Whoever orders must accept it as it is, or send it back.", "An acceptance by the quality office, with a reference, settles it."
}
