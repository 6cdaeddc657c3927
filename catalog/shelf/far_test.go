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

func TestACodeThatSaysOtherThanTheClassIsSaid(t *testing.T) {
	j := Judge(Item{DOM: label.DayOf(base), Code: "9", Class: "some-class"}, sealant, base)
	assert.Contains(t, j.Assumed, "The code on the label counts, 60 months; some-class keeps 9 months by its class.")
}
