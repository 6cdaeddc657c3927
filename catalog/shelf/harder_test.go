package shelf

import (
	"fmt"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// Cases between the rules, where a loose reading would let a batch live too long. Each is
// worked by hand from the source of its rule, or is an own decision on the safe side.

func TestMoreTestsGiveNoMoreThanTheyShould(t *testing.T) {
	to := func(on, end string) Test {
		x := passed(t, on)
		x.To = printedAs(t, end)
		return x
	}
	other := func(x Test) Test {
		x.Results = "application time 2 h 10"
		return x
	}
	made, end := printedAs(t, "2025-06-30"), printedAs(t, "2026-06-30") // 12 months, half is 6
	half := Rules{Extension: halves.Extension}
	for name, c := range map[string]struct {
		rules  Rules
		it     Item
		on     string
		want   Verdict
		last   string
		reason string
	}{
		// T.O. 1-1-700 §12.8: a pass adds one half of the original life: 30 December.
		"two records of one day are one test": {half, Item{DOM: made, Expiry: end, Tests: []Test{passed(t, "2026-12-01"), other(passed(t, "2026-12-01"))}}, "2026-12-31",
			Hold, "2026-12-30", "tests of one day count as one."},
		"and the shorter of them counts": {half, Item{DOM: made, Expiry: end, Tests: []Test{passed(t, "2026-12-01"), to("2026-12-01", "2026-12-10")}}, "2026-12-11",
			Hold, "2026-12-10", "Expired: extended to 10 December 2026"},
		"whichever is listed first": {half, Item{DOM: made, Expiry: end, Tests: []Test{to("2026-12-01", "2026-12-10"), other(passed(t, "2026-12-01"))}}, "2026-12-11",
			Hold, "2026-12-10", "Expired: extended to 10 December 2026"},
		"a month and a day of it are one": {half, Item{DOM: made, Expiry: end, Tests: []Test{passed(t, "2026-11"), passed(t, "2026-11-20")}}, "2026-12-31",
			Hold, "2026-12-30", "tests of one day count as one."},
		"one that must be refused leaves the other": {half, Item{DOM: made, Expiry: end, Tests: []Test{{On: printedAs(t, "2026-12-01"), Passed: true}, passed(t, "2026-12-01")}}, "2026-12-30",
			Use, "2026-12-30", "Extended to 30 December 2026"},
		// The tin was dated anew after its first extension: its original life is still that
		// of its class, 12 months, and not the 18 on the label.
		"a label dated anew is not the original life": {Rules{Unopened: months(12), Extension: half.Extension}, Item{DOM: made, Expiry: printedAs(t, "2026-12-30"), Tests: []Test{passed(t, "2026-12-30")}}, "2027-07-01",
			Hold, "2027-06-30", "Expired: extended to 30 June 2027"},
		"an authority that gives less than the label is believed": {half, Item{DOM: made, Expiry: end, Tests: []Test{to("2026-01-10", "2026-03-31")}}, "2026-04-01",
			Hold, "2026-03-31", "The test passed 10 January 2026 was good to 31 March 2026 (quality office, reference QO-7), which is past: test it before use."},
		"to that day": {half, Item{DOM: made, Expiry: end, Tests: []Test{to("2026-01-10", "2026-03-31")}}, "2026-03-31",
			Use, "2026-03-31", "usable through 31 March 2026 without another test."},
		"until it is tested again": {half, Item{DOM: made, Expiry: end, Tests: []Test{to("2026-01-10", "2026-03-31"), passed(t, "2026-04-01")}}, "2026-04-01",
			Use, "2026-10-01", "counted from the day of the test"},
		// Good until 08:00; what was given at 17:00 came too late.
		"what ended by the hour stays so": {Rules{}, Item{DOM: printedAs(t, "2026-09-08"), Expiry: printedAs(t, "2027-03-08T08:00"), Tests: []Test{to("2027-03-08T17:00", "2027-04-30")}}, "2027-03-09",
			Reject, "2027-03-08", "the batch had ended, and what cannot be extended stays rejected."},
		"so without the hour": {Rules{}, Item{DOM: printedAs(t, "2026-09-08"), Expiry: printedAs(t, "2027-03-08T08:00"), Tests: []Test{to("2027-03-08", "2027-04-30")}}, "2027-03-09",
			Reject, "2027-03-08", "the batch had ended, and what cannot be extended stays rejected."},
		"given before the hour": {Rules{}, Item{DOM: printedAs(t, "2026-09-08"), Expiry: printedAs(t, "2027-03-08T08:00"), Tests: []Test{to("2027-03-08T08:00", "2027-04-30")}}, "2027-03-09",
			Use, "2027-04-30", "Extended to 30 April 2027"},
		// Past an inspect/test date a batch waits for its test, and a test settles it.
		"a test past the inspect date": {sealant, Item{DOM: printedAs(t, "2026-09-08"), Inspect: printedAs(t, "2027-02"), Tests: []Test{to("2027-03-05", "2027-05-30")}}, "2027-03-08",
			Use, "2027-05-30", "counted from the inspect/test date on the label, 28 February 2027"},
		"but not past its life": {sealant, Item{DOM: printedAs(t, "2026-05-08"), Inspect: printedAs(t, "2027-01"), Tests: []Test{to("2027-03-05", "2027-05-30")}}, "2027-03-08",
			Reject, "2027-02-08", "the batch had ended, and what cannot be extended stays rejected."},
		"a test known by its month counts from its end on": {half, Item{DOM: made, Expiry: end, Tests: []Test{passed(t, "2026-07")}}, "2026-07-30",
			Hold, "2026-06-30", "it counts only from its day on."},
		"and from the end before it": {half, Item{DOM: made, Expiry: end, Tests: []Test{passed(t, "2026-07")}}, "2026-07-31",
			Use, "2026-12-30", "Extended to 30 December 2026"},
	} {
		t.Run(name, func(t *testing.T) {
			on := day(t, c.on)
			j := Judge(c.it, c.rules, on)
			holdsTogether(t, j)
			assert.Equal(t, c.want, j.Verdict, "%+v", j.Limits)
			assert.Contains(t, j.Governing.Reason, c.reason)
			assert.Equal(t, c.last, label.DayOf(j.Governing.Date).Canonical())
			v, last, dated := Glance(&c.it, &c.rules, on)
			assert.Equal(t, []any{j.Verdict, j.Governing.Date, j.Governing.Dated}, []any{v, last, dated})
		})
	}
}

// Another record of a test of the same day never gives more life than the first did.
func TestATestRecordedTwiceNeverGivesMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		if len(it.Tests) == 0 {
			t.Skip("no test")
		}
		x := it.Tests[len(it.Tests)-1]
		x.Results += " again"
		if !it.Tests[len(it.Tests)-1].complete() {
			x.By = "" // nor would the second count
		}
		more := it
		more.Tests = append([]Test{x}, it.Tests...)
		require.GreaterOrEqual(t, Judge(more, r, on).Verdict, Judge(it, r, on).Verdict)
	})
}

func TestACodeAndASealOrAClassThatDisagreeHold(t *testing.T) {
	forever := Rules{Unopened: Life{Unlimited: true, From: "class, test"}}
	j := Judge(Item{DOM: printedAs(t, "2016-05"), Code: "X"}, forever, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, LimitUnknownLife, j.Governing.Name, "code X has an end, of more than 60 months")
	j = Judge(Item{DOM: printedAs(t, "2016-05"), Code: "0", Standard: StandardISO2230, Polymer: "NBR"}, Rules{}, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, "Which is right? A seal of NBR keeps 7 years by its standard, and its shelf-life code says without limit.", j.Governing.Reason)
	j = Judge(Item{DOM: printedAs(t, "2016-05"), Code: "0", Standard: StandardSAE5316, Polymer: "FKM"}, Rules{}, base)
	assert.Equal(t, Use, j.Verdict, "both say that it keeps")
}

// SAE ARP5316: below 38 °C; ISO 2230: 25 °C or less (both read in copies).
func TestASealAtTheTemperatureItMustStayUnderIsHeld(t *testing.T) {
	seal := func(s Standard, top float64) Judgement {
		return Judge(Item{DOM: printedAs(t, "4Q25"), Standard: s, Polymer: "NBR", Storage: []Storage{{From: printedAs(t, "2026-05-01"), Measured: true, MinC: 15, MaxC: top}}}, Rules{}, base)
	}
	j := seal(StandardSAE5316, 38)
	assert.Equal(t, Hold, j.Verdict)
	assert.Contains(t, j.Governing.Reason, "It was stored at 15 °C to 38 °C, 1 May 2026; it is kept at less than 38 °C")
	assert.Equal(t, Use, seal(StandardSAE5316, 37.9).Verdict)
	assert.Equal(t, Use, seal(StandardISO2230, 25).Verdict)
}

// A log of warmth with nothing to take it from, or with nothing counted, is for a person.
func TestWarmthThatNoLifeIsTakenFromIsHeld(t *testing.T) {
	hot := Storage{From: printedAs(t, "2026-05-01"), Measured: true, Readings: 99, MinC: 20, MaxC: 60, Spent: 240 * hour}
	for name, it := range map[string]Item{
		"a seal that keeps without limit": {DOM: printedAs(t, "4Q20"), Standard: StandardSAE5316, Polymer: "FKM", Storage: []Storage{hot}},
		"nothing counted":                 {DOM: printedAs(t, "4Q20"), Standard: StandardSAE5316, Polymer: "NBR", Storage: []Storage{{From: hot.From, Measured: true, Readings: 99, MinC: 20, MaxC: 60}}},
	} {
		j := Judge(it, Rules{}, base)
		assert.Equal(t, Hold, j.Verdict, name)
		assert.Equal(t, LimitStorageBounds, j.Governing.Name, name)
	}
}

// Warm storage brings every end of the unopened life nearer, by as much: 10 days here.
func TestWarmStorageBringsEveryEndNearer(t *testing.T) {
	warm := []Storage{{From: printedAs(t, "2026-05-01"), Measured: true, Readings: 99, MinC: 20, MaxC: 30, Spent: 240 * hour}}
	made := printedAs(t, "2026-04-30")
	for name, c := range map[string]struct {
		it   Item
		want Verdict
	}{
		"the inspect date before the expiry": {Item{DOM: made, Inspect: printedAs(t, "2027-03-17"), Expiry: printedAs(t, "2028-06"), Storage: warm}, Hold},
		"the inspect date before its life":   {Item{DOM: made, Inspect: printedAs(t, "2027-03-17"), Storage: warm}, Hold},
		"the expiry":                         {Item{DOM: made, Expiry: printedAs(t, "2027-03-17"), Storage: warm}, Reject},
		"best before":                        {Item{DOM: made, Expiry: printedAs(t, "2028-03-17"), BestBefore: printedAs(t, "2027-03-17"), Storage: warm}, Hold},
		"a part of a kit":                    {Item{Parts: []Part{{Name: "base", Expiry: printedAs(t, "2027-03-17")}}, Storage: warm}, Reject},
		"a part by its own manufacture":      {Item{DOM: made, Parts: []Part{{Name: "base", DOM: printedAs(t, "2026-03-17")}}, Storage: warm}, Reject},
	} {
		r := Rules{Unopened: months(12)}
		j := Judge(c.it, r, base)
		assert.Equal(t, c.want, j.Verdict, name)
		require.Equal(t, LimitStorageLife, j.Governing.Name, name)
		assert.Equal(t, base.Add(-1), j.Governing.Date, name)
		assert.Equal(t, Use, Judge(c.it, r, base.Add(-1)).Verdict, name)
	}
}

// What is spent and what is allowed are said in one unit.
func TestOutTimeIsSaidInOneUnit(t *testing.T) {
	for want, used := range map[string]time.Duration{
		"Out time is spent: 241 h of 240 h.":                  241 * hour,
		"Out time is spent: 11 days of 10 days.":              264 * hour,
		"Out of the freezer for 24 h of 240 h so far.":        24 * hour,
		"Out of the freezer for 9 days of 10 days so far.":    216 * hour,
		"Out of the freezer for 10 h 30 min of 240 h so far.": 10*hour + 30*time.Minute,
	} {
		j := Judge(Item{Expiry: printedAs(t, "2027-12"), OutUsed: used}, Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}, base)
		assert.Equal(t, want, limitOf(t, j, LimitOutTime).Reason)
	}
}

// A life that counts for information is the class's own: no test makes it look longer.
func TestALifeForInformationIsNotExtended(t *testing.T) {
	it := Item{DOM: printedAs(t, "2026-03-08"), Expiry: printedAs(t, "2027-03-01"), Tests: []Test{passed(t, "2027-03-02")}}
	assert.Equal(t, "Made 8 March 2026, life 9 months: to 8 December 2026. For information only: the expiry on the label counts.", limitOf(t, Judge(it, halves, base), LimitClassLife).Reason)
}

// Time on the container says that it was out before, when nothing else does.
func TestTimeOnTheContainerTellsOfAnEarlierThaw(t *testing.T) {
	out := Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}, ThawLife: Span{Max: 720 * hour, From: "test"}}
	once := Rules{OutTime: out.OutTime, Thaws: Thaws{Max: 1, From: "test"}}
	tin := Item{Expiry: printedAs(t, "2027-12"), OutUsed: 10 * hour}
	j := Judge(tin, out, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, LimitThawLife, j.Governing.Name)
	assert.Equal(t, "Out of the freezer for 10 h, but when it left first is not recorded; it is good for 30 days from then.", j.Governing.Reason)
	tin.Thawed = printedDates(t, "2027-03-07T08:00")
	assert.Equal(t, LimitThawLife, Judge(tin, out, base).Governing.Name)
	j = Judge(tin, once, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, "10 h out of the freezer are on record from before it was thawed (7 March 2027 08:00): that looks like one thaw more, and it may be thawed once and never refrozen.", j.Governing.Reason)
	tin.OutAsOf = printedAs(t, "2027-03-08T00:00") // the sum has that outing in it
	assert.Equal(t, Use, Judge(tin, once, base).Verdict)
	tin.OutAsOf, tin.Thawed, tin.Refrozen = label.Date{}, printedDates(t, "2027-03-01T08:00", "2027-03-07T08:00"), printedDates(t, "2027-03-01T18:00")
	assert.Equal(t, Use, Judge(tin, out, base).Verdict, "the earlier thaw is on record")
}

// Written on the container on 2 March at 08:00, while it was out: what came after adds.
func TestTimeAfterTheSumOnTheContainerCounts(t *testing.T) {
	it := Item{Thawed: printedDates(t, "2027-03-01T08:00", "2027-03-05T08:00"), Refrozen: printedDates(t, "2027-03-03T08:00"),
		OutUsed: 24 * hour, OutAsOf: printedAs(t, "2027-03-02T08:00")}
	o := outingsOf(&it, &asked{})
	assert.Equal(t, 48*hour, o.used)
	assert.True(t, o.out)
	it.Refrozen = printedDates(t, "2027-03-02T08:00")
	assert.Equal(t, 24*hour, outingsOf(&it, &asked{}).used, "back at that moment")
}

func TestAThawOfUnknownLengthIsNotCoveredByTheSum(t *testing.T) {
	r := Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}
	it, said := Replay(Item{Expiry: printedAs(t, "2027-12"), OutUsed: 10 * hour}, []Event{{Kind: EventThawed}})
	assert.NotEmpty(t, said)
	j := Judge(it, r, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Contains(t, j.Governing.Reason, "thawed, but when and for how long is not recorded")
}

// A public supplier clause: 75 % left, or within a year of manufacture if the life is
// longer than 4 years. Where the month alone is known neither end may stretch it.
func TestAReceiptByTheMonthStretchesNothing(t *testing.T) {
	r := Rules{Receipt: ReceiptRule{Share: 0.75, From: "test", Within: period.NewYMD(1, 0, 0), Over: period.NewYMD(4, 0, 0)}}
	for _, c := range []struct {
		dom, exp, received string
		want               Verdict
	}{
		{"2020-01-01", "2024-01-03", "2021-01-01", Use},  // longer than 4 years, and within the year
		{"2020-01", "2024-01-03", "2021-01-01", Hold},    // made on the 3rd or later it is no longer than 4 years; 1097 of 1463 days are left
		{"2020-01-01", "2024-01-01", "2021-01-02", Hold}, // 4 years are not over 4 years; 1094 of 1461 days
		{"2020-01", "2024-02-01", "2021-01-20", Hold},    // made on the 1st that is over a year; 1107 of 1492 days
		{"2020-01", "2024-02-01", "2021-01", Hold},       // received on the 31st it is so
	} {
		it := Item{DOM: printedAs(t, c.dom), Expiry: printedAs(t, c.exp), Received: Receipt{On: printedAs(t, c.received)}}
		assert.Equal(t, c.want, Judge(it, r, day(t, "2021-02-01")).Verdict, "%+v", c)
	}
	// No share of a life without end is ever used up.
	seal := Item{DOM: printedAs(t, "4Q20"), Standard: StandardSAE5316, Polymer: "FKM", Received: Receipt{On: printedAs(t, "2026-03-01")}}
	assert.Equal(t, Use, Judge(seal, r, base).Verdict)
}

// A hold that comes up again after it was freed holds again; and on one day, where the
// hours do not say which came first, it holds.
func TestAHoldThatComesUpAgainHoldsAgain(t *testing.T) {
	at := func(s string) label.Date { return printedAs(t, s) }
	held := func(s string) Event { return Event{Kind: EventHeld, When: at(s), Note: "ramp"} }
	free := func(s string) Event {
		return Event{Kind: EventFreed, When: at(s), Limit: LimitHeld, By: "B. Olsen", Authority: "quality office", Reference: "QO-9"}
	}
	damaged := func(s string) Event { return Event{Kind: EventCondition, When: at(s), Condition: Damaged} }
	freeCondition := func(s string) Event {
		e := free(s)
		e.Limit = LimitCondition
		return e
	}
	for name, c := range map[string]struct {
		label  Item
		events []Event
		want   Verdict
	}{
		"freed":                              {Item{}, []Event{held("2027-03-01"), free("2027-03-05")}, Use},
		"freed that day":                     {Item{}, []Event{held("2027-03-05"), free("2027-03-05")}, Use},
		"and again":                          {Item{}, []Event{held("2027-03-01"), free("2027-03-05"), held("2027-03-06")}, Hold},
		"and freed again":                    {Item{}, []Event{held("2027-03-01"), free("2027-03-05"), held("2027-03-06"), free("2027-03-07")}, Use},
		"again on the day it was freed":      {Item{}, []Event{held("2027-03-01"), free("2027-03-05"), held("2027-03-05")}, Hold},
		"with one hour of the two":           {Item{}, []Event{held("2027-03-01"), free("2027-03-05"), held("2027-03-05T14:00")}, Hold},
		"with the other":                     {Item{}, []Event{held("2027-03-01"), free("2027-03-05T09:00"), held("2027-03-05")}, Hold},
		"with both, freed last":              {Item{}, []Event{held("2027-03-01"), free("2027-03-05T15:00"), held("2027-03-05T14:00")}, Use},
		"with both, freed first":             {Item{}, []Event{held("2027-03-01"), free("2027-03-05T09:00"), held("2027-03-05T14:00")}, Hold},
		"freed before, then both in one day": {Item{}, []Event{held("2027-03-01"), free("2027-03-03"), held("2027-03-05"), free("2027-03-05")}, Use},
		"held by its label, then that day":   {Item{Held: "dented"}, []Event{held("2027-03-05"), free("2027-03-05")}, Hold},
		"damaged again that day":             {Item{}, []Event{damaged("2027-03-01"), freeCondition("2027-03-05"), damaged("2027-03-05")}, Hold},
		"damaged, freed":                     {Item{}, []Event{damaged("2027-03-01"), freeCondition("2027-03-05")}, Use},
	} {
		c.label.Expiry = at("2027-12")
		it, said := Replay(c.label, c.events)
		assert.Equal(t, c.want, Judge(it, Rules{}, base).Verdict, "%s: %q", name, said)
	}
}

// A date of the temperature that cannot be is not taken for a later start.
func TestAHotSpellCannotBeginAfterItsEnd(t *testing.T) {
	r := Rules{Hot: fiveWeeks}
	spell := Storage{From: printedAs(t, "2027-01-10"), To: printedAs(t, "2027-01-12"), Measured: true, MinC: 20, MaxC: 30, HotFrom: printedAs(t, "2027-02-10")}
	j := Judge(Item{Expiry: printedAs(t, "2027-12"), Storage: []Storage{spell}}, r, base)
	assert.Equal(t, Reject, j.Verdict)
	assert.Equal(t, day(t, "2027-02-14"), j.Governing.Date)
	spell.From = label.Date{}
	assert.Equal(t, Hold, Judge(Item{Expiry: printedAs(t, "2027-12"), Storage: []Storage{spell}}, r, base).Verdict, "and nobody says when")
	j = Judge(Item{Expiry: printedAs(t, "2027-12"), Storage: []Storage{{HotFrom: printedAs(t, "2027-03-09")}}}, r, base)
	assert.Equal(t, "Dates contradict: too warm from 9 March 2027 lies after the day judged, 8 March 2027.", j.Governing.Reason)
	j = Judge(Item{Expiry: printedAs(t, "2027-12"), OutUsed: hour, OutAsOf: printedAs(t, "2028-03-09"), Thawed: printedDates(t, "2027-03-01")}, Rules{Thaws: Thaws{Max: 1}, OutTime: Span{Max: 999 * hour}}, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Contains(t, j.Governing.Reason, "time out summed 9 March 2028 lies after the day judged")
}

// No extension reaches further than half the original life from the last test that was
// passed: T.O. 1-1-700 §12.8 gives one half for each.
func TestNoExtensionReachesBeyondHalfALifeFromTheLastTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		if it.Expiry.IsZero() || it.Code != "" || it.Polymer != "" || it.DOM.IsZero() {
			t.Skip("no plain label")
		}
		last, most := date.Date{}, wholeMonths(lastDay(it.DOM), lastDay(it.Expiry))/2
		for _, x := range it.Tests {
			if x.Passed && !x.On.IsZero() && x.On.First().After(last) {
				last = x.On.First()
			}
		}
		for _, l := range Judge(it, r, on).Limits {
			if l.Name == LimitLabelExpiry && l.Date.After(lastDay(it.Expiry)) {
				require.False(t, l.Date.After(addMonths(last, most)))
			}
		}
	})
}

// A log of years and a record kept by the minute are gone through all the same. This is a
// check of what comes out; how long it takes is a benchmark.
func crowded(n int) Item {
	it := Item{DOM: label.DayOf(base.Add(-300)), Expiry: label.DayOf(base), Inspect: label.DayOf(base)}
	for i := range n {
		on := base.Add(date.PeriodOfDays(-1 - i*7919%1000))
		if i%10 == 0 {
			it.Tests = append(it.Tests, Test{On: label.DayOf(on), Passed: true, By: "a", Authority: "b", Reference: fmt.Sprint(i), Results: "d"})
			it.Freed = append(it.Freed, Freed{Limit: LimitStorageBounds, On: label.DayOf(on), Authority: "b", Reference: fmt.Sprint(i)})
		}
		it.Storage = append(it.Storage, Storage{From: label.DayOf(on), Measured: true, MinC: 1, MaxC: 40, Readings: 10, Spent: time.Minute, Notes: []string{fmt.Sprint("note ", i)}})
	}
	return it
}

var crowdedRules = Rules{Unopened: months(12), Extension: Extension{Kind: HalfOriginal, From: "x"}, Hot: fiveWeeks,
	Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "x"}, Bounds: Store{Range: quantity.Range{Lo: 0, Hi: 35}, From: "x"}}

func TestACrowdedRecordIsJudgedLikeAnother(t *testing.T) {
	it := crowded(300)
	j := Judge(it, crowdedRules, base)
	holdsTogether(t, j)
	v, last, dated := Glance(&it, &crowdedRules, base)
	assert.Equal(t, []any{j.Verdict, j.Governing.Date, j.Governing.Dated}, []any{v, last, dated})
}

func BenchmarkCrowded(b *testing.B) {
	it := crowded(10_000)
	b.Run("judge", func(b *testing.B) {
		for b.Loop() {
			Judge(it, crowdedRules, base)
		}
	})
	b.Run("glance", func(b *testing.B) {
		for b.Loop() {
			Glance(&it, &crowdedRules, base)
		}
	})
}
