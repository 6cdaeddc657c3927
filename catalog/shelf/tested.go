package shelf

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/rickb777/date/period"

	"beadline/catalog/label"
)

// Tests as they are recorded, and the limit of a failed one. What a passed one gives
// is in extend.go.

// complete reports whether all is on record that an extension takes.
func (x *Test) complete() bool {
	return !blank(x.By) && !blank(x.Authority) && !blank(x.Reference) && !blank(x.Results) && !x.contradicts()
}

// contradicts reports whether a test that is recorded as passed has results that say it
// failed.
func (x *Test) contradicts() bool {
	return x.Passed && strings.Contains(strings.ToLower(x.Results), "fail")
}

// lacks says what of it is not.
func (x *Test) lacks() (missing []string) {
	for _, f := range []struct{ name, value string }{
		{"who tested", x.By}, {"the authority", x.Authority}, {"the reference", x.Reference}, {"the results", x.Results},
	} {
		if blank(f.value) {
			missing = append(missing, f.name)
		}
	}
	if x.contradicts() {
		missing = append(missing, "results that do not say it failed")
	}
	return missing
}

// granted is when the extension was given: with the test, or later.
func (x *Test) granted() label.Date {
	if !x.Given.IsZero() && lastDay(x.Given).After(lastDay(x.On)) {
		return x.Given
	}
	return x.On
}

func (x *Test) title() string {
	if x.On.IsZero() {
		return "the test without a date"
	}
	if x.Passed {
		return "the test passed " + x.On.String()
	}
	return "the test failed " + x.On.String()
}

// nextTest is the test that follows one in a fixed order, however they are listed; -1
// before the first and after the last. Records that are the same count once.
func (it *Item) nextTest(k int, q *asked) int {
	next := -1
	if q.sorted { // the next that is not the same, in one step
		for next = k + 1; next < len(it.Tests); next++ {
			if k < 0 || compareTests(&it.Tests[next], &it.Tests[k]) != 0 {
				return next
			}
		}
		return -1
	}
	for i := range it.Tests {
		if k >= 0 && compareTests(&it.Tests[i], &it.Tests[k]) <= 0 {
			continue
		}
		if next < 0 || compareTests(&it.Tests[i], &it.Tests[next]) < 0 {
			next = i
		}
	}
	return next
}

// compareTests orders tests by day; of two on one day the failed one comes first.
func compareTests(a, b *Test) int {
	if c := compareDates(a.On, b.On); c != 0 { // soon told, of most
		return c
	}
	return cmp.Or(truth(a.Passed)-truth(b.Passed), compareDates(a.Given, b.Given), compareDates(a.To, b.To),
		cmp.Compare(a.By, b.By), cmp.Compare(a.Authority, b.Authority), cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.Results, b.Results),
		comparePeriods(a.Span, b.Span))
}

func comparePeriods(a, b period.Period) int {
	return cmp.Or(12*a.Years()+a.Months()-12*b.Years()-b.Months(), a.Days()-b.Days())
}

// failed is the first failed test that may lie on or before the moment judged, one
// without a date before all; -1: none.
func (it *Item) failed(q *asked) int {
	first := -1
	for i := range it.Tests {
		switch x := &it.Tests[i]; {
		case x.Passed:
		case x.On.IsZero():
			return i
		case q.begun(x.On) && (first < 0 || compareTests(x, &it.Tests[first]) < 0):
			first = i
		}
	}
	return first
}

// givenRule: the last day that an authority gave after the last passed test, where that
// comes before every other end. It counts as an inspect/test date: a test that was good
// for less than the label says is believed.
type givenRule struct{}

func (givenRule) name() Name { return LimitInspectDate }

func (l givenRule) marks(it *Item, r *Rules, q *asked, s *sink) {
	last := -1
	for i := range it.Tests {
		if x := &it.Tests[i]; x.Passed && !x.On.IsZero() && q.reached(x.granted()) && (last < 0 || compareTests(x, &it.Tests[last]) > 0) {
			last = i
		}
	}
	if last < 0 || it.Tests[last].To.IsZero() {
		return
	}
	to := lastDay(it.Tests[last].To)
	for n := range otherEndings + len(it.Parts) {
		// A failed test takes back what may have made an end later: then all are named.
		if end, _, ok := it.ending(n, r, q); ok && !end.After(to) && it.failed(q) < 0 {
			return
		}
	}
	m := dayMark(l, to, Hold, q)
	m.n = int32(last)
	s.add(m)
}

func (givenRule) words(m mark, t *telling) (string, string) {
	x := &t.it.Tests[m.n]
	by := ""
	if !blank(x.Authority) && !blank(x.Reference) {
		by = fmt.Sprintf(" (%s, reference %s)", said(x.Authority), said(x.Reference))
	}
	const source = "records of the batch; that a day given before the label's own end counts: own decision, the safe side"
	if m.past {
		return fmt.Sprintf("%s was good to %s%s, which is past: test it before use.", upper(x.title()), m.ends(), by), source
	}
	return fmt.Sprintf("%s is good to %s%s: %s without another test.", upper(x.title()), m.ends(), by, m.usable()), source
}

func (givenRule) decide(m mark, t *telling) (string, string) { return inspectRule{}.decide(m, t) }

// failedTestRule: a batch that failed a test is rejected from that day, and no later
// test brings it back.
type failedTestRule struct{}

func (failedTestRule) name() Name { return LimitFailedTest }

func (l failedTestRule) marks(it *Item, q *asked, s *sink) {
	k := it.failed(q)
	if k < 0 {
		return
	}
	m := mark{rule: l, verdict: Reject, past: true, counts: true, n: int32(k)}
	if on := it.Tests[k].On; !on.IsZero() {
		m.date, m.dated = on.First().Add(-1), true
	}
	s.add(m)
}

func (failedTestRule) words(m mark, t *telling) (string, string) {
	x := t.it.Tests[m.n]
	when, found := "", ""
	if !x.On.IsZero() {
		when = " " + x.On.String()
	}
	if x.Results != "" {
		found = " (" + said(x.Results) + ")"
	}
	return fmt.Sprintf("It failed its test%s%s.", when, found), "an extension ends with the first failed test (USAF T.O. 1-1-700 §12.8); that no later test brings it back: own decision"
}

func (failedTestRule) decide(mark, *telling) (string, string) { return "", "" }
