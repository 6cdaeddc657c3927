package shelf

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"

	"beadline/catalog/label"
)

// Three lives of the class and two years are as far as a printed date is believed; own
// decision.
func TestAYearThatHasSlippedIsHeldUntilTheLabelIsReadAgain(t *testing.T) {
	on := date.New(2027, time.March, 29)
	made := label.DayOf(date.New(2026, time.September, 1))
	months := func(n int) Rules { return Rules{Unopened: Life{Span: period.NewYMD(0, n, 0), From: "test"}} }
	for _, c := range []struct {
		name string
		it   Item
		r    Rules
		want Verdict
	}{
		{"ten years too late", Item{DOM: made, Expiry: label.DayOf(date.New(2037, time.June, 30))}, months(9), Hold},
		{"the same without a date of manufacture", Item{Expiry: label.DayOf(date.New(2037, time.June, 30))}, months(9), Hold},
		{"an inspect date", Item{DOM: made, Inspect: label.DayOf(date.New(2037, time.June, 30))}, months(9), Hold},
		{"three lives to the day", Item{DOM: made, Expiry: label.DayOf(date.New(2028, time.December, 1))}, months(9), Use},
		{"a day more", Item{DOM: made, Expiry: label.DayOf(date.New(2028, time.December, 2))}, months(9), Hold},
		{"within two years, whatever the class says", Item{DOM: made, Expiry: label.DayOf(date.New(2028, time.August, 30))}, months(1), Use},
		{"a class without a life", Item{DOM: made, Expiry: label.DayOf(date.New(2037, time.June, 30))}, Rules{}, Use},
		{"a class without an end", Item{DOM: made, Expiry: label.DayOf(date.New(2037, time.June, 30))}, Rules{Unopened: Life{Unlimited: true, From: "test"}}, Use},
		{"freed with the maker's papers", Item{DOM: made, Expiry: label.DayOf(date.New(2037, time.June, 30)),
			Freed: []Freed{{Limit: LimitFarDate, On: label.DayOf(on), By: "J. Olsen", Authority: "quality office", Reference: "C 12"}}}, months(9), Use},
	} {
		j := Judge(c.it, c.r, on)
		assert.Equal(t, c.want, j.Verdict, "%s: %s", c.name, j.Governing.Reason)
		if c.want == Hold {
			assert.Equal(t, LimitFarDate, j.Governing.Name, c.name)
		}
	}
}

func TestWhatCanBeFreedIsNamed(t *testing.T) {
	for _, n := range Freeable() {
		c := checks[n]
		c.it.Freed = []Freed{{Limit: n, On: label.DayOf(base), By: "a name", Authority: "quality office", Reference: "1"}}
		if n == LimitCondition {
			c.it.Condition = Damaged
		}
		j := Judge(c.it, c.rules, base)
		for _, l := range j.Limits {
			if l.Name == n {
				assert.False(t, l.Counts, "%s: %s", n, l.Reason)
			}
		}
	}
}

func TestACodeThatCannotBeTrueIsHeld(t *testing.T) {
	made := label.DayOf(base)
	for _, c := range []struct {
		name, reason string
		it           Item
		r            Rules
		want         Verdict
	}{
		{"60 months on a class of 9", "says 60 months, and some-class keeps 9 months", Item{DOM: made, Code: "9"}, sealant, Hold},
		{"no end on a class of 9 months", "says without limit", Item{DOM: made, Code: "0"}, sealant, Hold},
		{"24 months on a class of 9", "", Item{DOM: made, Code: "6"}, sealant, Use},
		{"less than the class", "", Item{DOM: made, Code: "1"}, sealant, Use},
		{"60 months where the class says nothing", "", Item{DOM: made, Code: "9"}, Rules{}, Use},
		{"one month, and a printed expiry in ten", "and the expiry on the label is", Item{DOM: made, Code: "A", Expiry: label.DayOf(base.Add(300))}, sealant, Hold},
		{"a month as a label may round it", "", Item{DOM: made, Code: "A", Expiry: label.DayOf(base.Add(60))}, sealant, Use},
	} {
		c.it.Class = "some-class"
		j := Judge(c.it, c.r, base)
		assert.Equal(t, c.want, j.Verdict, "%s: %s", c.name, j.Governing.Reason)
		assert.Contains(t, j.Governing.Reason, c.reason, c.name)
	}
	j := Judge(Item{DOM: made, Code: "6", Class: "some-class"}, sealant, base)
	assert.Contains(t, j.Assumed, "The code on the label counts, 24 months; some-class keeps 9 months by its class.")
}

// A form that must not stay empty is filled in with something: it names nobody.
func TestAPlaceholderIsNoAuthority(t *testing.T) {
	full := Test{On: label.DayOf(base.Add(-5)), Passed: true, By: "lab", Authority: "quality office", Reference: "LR 77", Results: "Shore A 48", To: label.DayOf(base.Add(60))}
	it := func(x Test) Item {
		return Item{DOM: label.DayOf(base.Add(-300)), Expiry: label.DayOf(base.Add(-1)), Tests: []Test{x}}
	}
	assert.Equal(t, Use, Judge(it(full), sealant, base).Verdict, "the whole record does extend")
	for _, word := range []string{"", "-", "--", "?", "n/a", "N.A.", "none", "tbc", "Pending", "unknown", "…"} {
		for _, change := range []func(*Test){
			func(x *Test) { x.By = word }, func(x *Test) { x.Authority = word },
			func(x *Test) { x.Reference = word }, func(x *Test) { x.Results = word },
		} {
			x := full
			change(&x)
			assert.NotEqual(t, Use, Judge(it(x), sealant, base).Verdict, "%q: %+v", word, x)
		}
		j := Judge(Item{Expiry: label.DayOf(base), Held: "dented", Freed: []Freed{{Limit: LimitHeld, On: label.DayOf(base), By: word, Authority: "quality office", Reference: "1"}}}, sealant, base)
		assert.Equal(t, Hold, j.Verdict, word)
	}
	full.Results = "FAILED at 48 h"
	assert.NotEqual(t, Use, Judge(it(full), sealant, base).Verdict, "results that say it failed")
}

func TestASpellTooWarmThatNoRuleCountsIsHeld(t *testing.T) {
	hot := []Storage{{HotFrom: label.DayOf(base.Add(-3))}}
	assert.Equal(t, Hold, Judge(Item{Expiry: label.DayOf(base), Storage: hot}, sealant, base).Verdict)
	counted := sealant
	counted.Hot = fiveWeeks
	assert.Equal(t, Use, Judge(Item{Expiry: label.DayOf(base), Storage: hot}, counted, base).Verdict)
}
