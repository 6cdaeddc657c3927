package shelf

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

const hour = time.Hour

// day reads a plain ISO day with the standard library.
func day(t *testing.T, s string) date.Date {
	t.Helper()
	at, err := time.Parse(time.DateOnly, s)
	require.NoError(t, err)
	return date.NewAt(at)
}

// printedAs reads a label's date in March 2027; "" is no date.
func printedAs(t *testing.T, s string) label.Date {
	t.Helper()
	if s == "" {
		return label.Date{}
	}
	d, err := label.Read(s, label.How{Today: date.New(2027, time.March, 8), Clock: true})
	require.NoError(t, err)
	return d
}

func printedDates(t *testing.T, s ...string) (ds []label.Date) {
	for _, one := range s {
		ds = append(ds, printedAs(t, one))
	}
	return ds
}

func months(n int) Life { return Life{Span: period.NewYMD(0, n, 0), From: "the class, test"} }

// fiveWeeks is the rule of a light-aircraft manual ch. 20-10.
var fiveWeeks = Hot{AboveC: 27, Within: period.NewYMD(0, 0, 35), From: "light-aircraft manual ch. 20-10"}

// sealant is a class with every ordinary rule; frozen is a premixed frozen one.
var (
	sealant = Rules{Unopened: months(9), Opened: months(3)}
	frozen  = Rules{Unopened: months(6), OutTime: Span{Max: 24 * hour, From: "the class, test"}, Thaws: Thaws{Max: 1, From: "the class, test"}}
)

func TestVerdictAndGoverningLimit(t *testing.T) {
	half := sealant
	half.Extension = Extension{Kind: HalfOriginal, From: "the standard, test"}
	unlimited := Rules{Unopened: Life{Unlimited: true, From: "the group, test"}, Opened: Life{Unlimited: true, From: "the group, test"}}
	type row struct {
		name                 string
		rules                Rules
		dom, exp, insp, open string
		thawed               string
		used                 time.Duration
		count                int
		held                 string
		on                   string
		verdict              Verdict
		governing            Name
		reason               string
	}
	for _, c := range []row{
		{name: "good by its label", rules: sealant, dom: "2026-11-03", exp: "2027-08", on: "2027-03-08",
			verdict: Use, governing: LimitLabelExpiry, reason: "Expiry on the label is August 2027: usable through 31 August 2027."},
		{name: "printed expiry wins over an earlier class life", rules: sealant, dom: "2026-03-01", exp: "2027-08", on: "2027-03-08",
			verdict: Use, governing: LimitLabelExpiry},
		{name: "printed expiry wins over a later class life", rules: sealant, dom: "2027-01-01", exp: "2027-02", on: "2027-03-08",
			verdict: Reject, governing: LimitLabelExpiry, reason: "Expired: the expiry on the label ended 28 February 2027. Its life cannot be extended."},
		{name: "no expiry: class life", rules: sealant, dom: "2026-06", on: "2027-03-01",
			verdict: Use, governing: LimitClassLife, reason: "Made June 2026, life 9 months counted from 1 June 2026: usable through 1 March 2027."},
		{name: "class life past", rules: sealant, dom: "2026-06", on: "2027-03-02",
			verdict: Reject, governing: LimitClassLife, reason: "it ended 1 March 2027. Its life cannot be extended."},
		{name: "class life past, extendable", rules: half, dom: "2026-06", on: "2027-03-02",
			verdict: Hold, governing: LimitClassLife, reason: "More life only by a passed test under a named authority (the standard, test)."},
		{name: "inspect date past holds", rules: sealant, insp: "02/27", on: "2027-03-08",
			verdict: Hold, governing: LimitInspectDate, reason: "Inspect/test was due by 28 February 2027: test it before use."},
		{name: "inspect date to come", rules: sealant, insp: "03/27", exp: "2027-12", on: "2027-03-31",
			verdict: Use, governing: LimitInspectDate, reason: "Inspect/test date is March 2027: usable through 31 March 2027 without a test."},
		{name: "reject outranks an earlier hold", rules: sealant, insp: "01/27", exp: "02/27", on: "2027-03-08",
			verdict: Reject, governing: LimitLabelExpiry},
		{name: "opened life past", rules: Rules{Opened: Life{Span: period.NewYMD(0, 0, 90), From: "test"}}, exp: "2027-12", open: "2027-03-14", on: "2027-06-13",
			verdict: Reject, governing: LimitOpenedLife, reason: "Opened 14 March 2027; opened life ended 12 June 2027 (90 days)."},
		{name: "opened life's last day", rules: Rules{Opened: Life{Span: period.NewYMD(0, 0, 90), From: "test"}}, exp: "2027-12", open: "2027-03-14", on: "2027-06-12",
			verdict: Use, governing: LimitOpenedLife, reason: "Opened 14 March 2027; opened life 90 days: usable through 12 June 2027."},
		{name: "opened tin does not outlive its label", rules: sealant, exp: "2027-03", open: "2027-03-14", on: "2027-04-01",
			verdict: Reject, governing: LimitLabelExpiry},
		{name: "an extendable class does not extend the opened life", rules: half, exp: "2027-12", open: "2027-01-31", on: "2027-05-01",
			verdict: Reject, governing: LimitOpenedLife, reason: "opened life ended 30 April 2027 (3 months)."},
		{name: "opened, no opened life known", rules: Rules{}, exp: "2027-12", open: "2027-03-01", on: "2027-03-08",
			verdict: Hold, governing: LimitOpenedLife, reason: "Opened 1 March 2027, and no opened life is known for test-class."},
		{name: "a life of no days is the day of opening", rules: Rules{Opened: Life{From: "use at once, test"}}, exp: "2027-12", open: "2027-03-08", on: "2027-03-08",
			verdict: Use, governing: LimitOpenedLife},
		{name: "and not the next", rules: Rules{Opened: Life{From: "use at once, test"}}, exp: "2027-12", open: "2027-03-08", on: "2027-03-09",
			verdict: Reject, governing: LimitOpenedLife, reason: "(0 days)"},
		{name: "thawed once", rules: frozen, exp: "2027-06", thawed: "2027-03-08", on: "2027-03-08",
			verdict: Use, governing: LimitOutTime, reason: "Out of the freezer since 8 March 2027, 24 h allowed: usable through 8 March 2027; mind the hour on that day."},
		{name: "out too long", rules: frozen, exp: "2027-06", thawed: "2027-03-06", on: "2027-03-08",
			verdict: Reject, governing: LimitOutTime, reason: "it ended 6 March 2027."},
		{name: "second thaw", rules: frozen, exp: "2027-06", thawed: "2027-03-08 2027-03-08", on: "2027-03-08",
			verdict: Reject, governing: LimitThaw, reason: "Thawed twice (8 March 2027, 8 March 2027); it may be thawed once and never refrozen."},
		{name: "second thaw, class silent", rules: Rules{OutTime: frozen.OutTime}, exp: "2027-06", thawed: "2027-03-08 2027-03-08", on: "2027-03-08",
			verdict: Reject, governing: LimitThaw},
		{name: "thaws known by count only", rules: frozen, exp: "2027-06", count: 2, on: "2027-03-08",
			verdict: Reject, governing: LimitThaw, reason: "Thawed twice; it may be thawed once and never refrozen."},
		{name: "one thaw nobody dated", rules: frozen, exp: "2027-06", count: 1, on: "2027-03-08",
			verdict: Hold, governing: LimitOutTime, reason: "Thawed once, but how long it was out is not recorded; 24 h is allowed."},
		{name: "thawed, no out time known", rules: sealant, exp: "2027-06", thawed: "2027-03-07", on: "2027-03-08",
			verdict: Hold, governing: LimitOutTime, reason: "Thawed once (7 March 2027), and no out time is known for test-class."},
		{name: "out time spent, back in the freezer", rules: frozen, exp: "2027-06", used: 24 * hour, on: "2027-03-08",
			verdict: Reject, governing: LimitOutTime, reason: "Out time is spent: 24 h of 24 h."},
		{name: "some out time spent, back in the freezer", rules: frozen, exp: "2027-06", used: 90 * time.Minute, on: "2027-03-08",
			verdict: Use, governing: LimitLabelExpiry},
		{name: "time spent before the last thaw", rules: Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}},
			exp: "2027-06", thawed: "2027-01-01 2027-03-07", used: 120 * hour, on: "2027-03-08",
			verdict: Use, governing: LimitOutTime, reason: "Out of the freezer since 7 March 2027, 10 days allowed, 5 days spent before: usable through 11 March 2027"},
		{name: "a negative time out adds nothing", rules: frozen, exp: "2027-06", thawed: "2027-03-07", used: -48 * hour, on: "2027-03-08",
			verdict: Reject, governing: LimitOutTime},
		{name: "opened in the month it was made", rules: sealant, dom: "2027-02-20", exp: "2027-12", open: "2027-02", on: "2027-03-08",
			verdict: Use, governing: LimitOpenedLife, reason: "Opened February 2027; opened life 3 months: usable through 1 May 2027."},
		{name: "thaw life", rules: Rules{ThawLife: Span{Max: 2 * hour, From: "test"}}, exp: "2027-06", thawed: "2027-03-08", on: "2027-03-08",
			verdict: Hold, governing: LimitThawLife, reason: "First thawed 8 March 2027, good for 2 h from leaving the freezer: by the hour, not by the day; whoever thawed it must say when."},
		{name: "thaw life of hours, the day after", rules: Rules{ThawLife: Span{Max: 2 * hour, From: "test"}}, exp: "2027-06", thawed: "2027-03-07", on: "2027-03-08",
			verdict: Reject, governing: LimitThawLife, reason: "it ended 7 March 2027."},
		{name: "thaw life of whole days", rules: Rules{ThawLife: Span{Max: 48 * hour, From: "test"}}, exp: "2027-06", thawed: "2027-03-07", on: "2027-03-08",
			verdict: Use, governing: LimitThawLife, reason: "usable through 8 March 2027"},
		{name: "a day and a half, the first day", rules: Rules{ThawLife: Span{Max: 36 * hour, From: "test"}}, exp: "2027-06", thawed: "2027-03-08", on: "2027-03-08",
			verdict: Use, governing: LimitThawLife, reason: "mind the hour on that day"},
		{name: "a day and a half, the second day", rules: Rules{ThawLife: Span{Max: 36 * hour, From: "test"}}, exp: "2027-06", thawed: "2027-03-07", on: "2027-03-08",
			verdict: Hold, governing: LimitThawLife, reason: "by the hour, not by the day"},
		{name: "out time that ends within the day", rules: Rules{OutTime: Span{Max: 30 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}, exp: "2027-06", thawed: "2027-03-08", used: 20 * hour, on: "2027-03-08",
			verdict: Hold, governing: LimitOutTime, reason: "good for 10 h from leaving the freezer: by the hour"},
		// Sixty years: own decision, no source.
		{name: "an expiry no label can mean", rules: sealant, dom: "2026-09-01", exp: "2097-06-30", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "Dates contradict: expiry 30 June 2097 lies more than 60 years from the day judged, 8 March 2027: a digit has slipped."},
		{name: "made longer ago than anything keeps", rules: Rules{Unopened: Life{Unlimited: true, From: "test"}}, dom: "1957-01-01", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "made 1 January 1957 lies more than 60 years"},
		{name: "an inspect date no label can mean", rules: sealant, dom: "2026-09-01", insp: "2107-06-30", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "inspect/test 30 June 2107"},
		{name: "a seal of long life is not absurd", rules: Rules{Unopened: Life{Unlimited: true, From: "test"}}, dom: "1987-01-01", on: "2027-03-08",
			verdict: Use, governing: LimitClassLife},
		{name: "thaw life past, though out time is left", rules: Rules{ThawLife: Span{Max: 48 * hour, From: "test"}, OutTime: Span{Max: 240 * hour, From: "test"}},
			exp: "2027-06", thawed: "2027-03-06", on: "2027-03-08",
			verdict: Reject, governing: LimitThawLife, reason: "good for 48 h from then: it ended 7 March 2027."},
		{name: "thaw life from an unknown day", rules: Rules{ThawLife: Span{Max: 48 * hour, From: "test"}}, exp: "2027-06", count: 1, on: "2027-03-08",
			verdict: Hold, governing: LimitThawLife, reason: "Thawed once, but when first is not recorded; it is good for 48 h from then."},
		{name: "undated", rules: sealant, on: "2027-03-08",
			verdict: Hold, governing: LimitUndated, reason: "No date: neither made, expiry nor inspect/test date is known."},
		{name: "made, but no life known", rules: Rules{}, dom: "2026-06", on: "2027-03-08",
			verdict: Hold, governing: LimitUnknownLife, reason: "Made June 2026, but no expiry is printed and no shelf life is known for test-class."},
		{name: "no limit on unopened life", rules: unlimited, dom: "1Q20", on: "2027-03-08",
			verdict: Use, governing: LimitClassLife, reason: "The class sets no limit on unopened life."},
		{name: "opening does not matter", rules: unlimited, dom: "1Q20", exp: "2028-01", open: "2027-01-01", on: "2027-03-08",
			verdict: Use, governing: LimitLabelExpiry},
		{name: "opened before made", rules: sealant, dom: "2027-02", exp: "2027-12", open: "2027-01-31", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "Dates contradict: opened 31 January 2027, but made February 2027."},
		{name: "expiry before made", rules: half, dom: "2027-02-02", exp: "01/27", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "Dates contradict: expiry January 2027, but made 2 February 2027."},
		{name: "thawed before made", rules: frozen, dom: "2027-03-02", thawed: "2027-02-28", on: "2027-02-28",
			verdict: Hold, governing: LimitDatesContradict},
		{name: "made in the future", rules: sealant, dom: "2027-03-09", exp: "2027-12", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "Dates contradict: made 9 March 2027 lies after the day judged, 8 March 2027."},
		{name: "opened in the future", rules: sealant, exp: "2027-12", open: "2027-04", on: "2027-03-08",
			verdict: Hold, governing: LimitDatesContradict, reason: "opened April 2027 lies after"},
		{name: "made this month is not the future", rules: sealant, dom: "2027-03", on: "2027-03-08",
			verdict: Use, governing: LimitClassLife},
		{name: "set aside by a person", rules: sealant, exp: "2027-12", held: "left on the ramp, 41 C.", on: "2027-03-08",
			verdict: Hold, governing: LimitHeld, reason: "Set aside: left on the ramp, 41 C."},
		{name: "expired and set aside", rules: sealant, exp: "2027-02", held: "dented", on: "2027-03-08",
			verdict: Reject, governing: LimitLabelExpiry},
	} {
		t.Run(c.name, func(t *testing.T) {
			it := Item{Batch: "S-1", Class: "test-class", DOM: printedAs(t, c.dom), Expiry: printedAs(t, c.exp), Inspect: printedAs(t, c.insp),
				Opened: printedAs(t, c.open), Thawed: printedDates(t, strings.Fields(c.thawed)...), ThawCount: c.count, OutUsed: c.used, Held: c.held}
			j := Judge(it, c.rules, day(t, c.on))
			assert.Equal(t, c.verdict, j.Verdict)
			assert.Equal(t, c.governing, j.Governing.Name, "%+v", j.Limits)
			assert.Contains(t, j.Governing.Reason, c.reason)
			for _, l := range j.Limits {
				assert.True(t, strings.HasSuffix(l.Reason, ".") && !strings.Contains(l.Reason, ".."), l.Reason)
				assert.NotEmpty(t, l.Source, l.Name)
				assert.NotContains(t, l.Reason+l.Source, "%!")
			}
		})
	}
}

func TestClassLifeIsForInformationBesideAPrintedExpiry(t *testing.T) {
	it := Item{DOM: printedAs(t, "2026-01-15"), Expiry: printedAs(t, "2027-12")}
	j := Judge(it, sealant, day(t, "2027-03-08"))
	assert.Equal(t, Use, j.Verdict)
	last := j.Limits[len(j.Limits)-1]
	assert.Equal(t, LimitClassLife, last.Name)
	assert.False(t, last.Counts)
	assert.True(t, last.Past)
	assert.Equal(t, "Made 15 January 2026, life 9 months: to 15 October 2026. For information only: the expiry on the label counts.", last.Reason)
}

func TestConventionIsSaid(t *testing.T) {
	on := day(t, "2027-03-08")
	r := Rules{Unopened: months(36), Convention: LastOfMonth}
	assert.Contains(t, Judge(Item{DOM: printedAs(t, "10/2025")}, r, on).Assumed[0], "counted from the last day of the month, 31 October 2025")
	r.Convention = EndOfQuarter
	assert.Contains(t, Judge(Item{DOM: printedAs(t, "4Q2025")}, r, on).Assumed[0], "counted from the end of the quarter, 31 December 2025")
	r.Convention = FirstOfMonth
	assert.Contains(t, Judge(Item{DOM: printedAs(t, "10/2025")}, r, on).Assumed[0], "counted from the first day, 1 October 2025, which is the safe side")
	assert.Empty(t, Judge(Item{DOM: printedAs(t, "2025-10-03")}, r, on).Assumed)
}

func TestAssumptionsAreSaid(t *testing.T) {
	it := Item{Expiry: printedAs(t, "05/27"), Opened: printedAs(t, "2027-02"), Thawed: printedDates(t, "2027-03-01", "2027-03-05")}
	r := Rules{Opened: months(3), OutTime: Span{Max: 720 * hour, From: "test"}}
	assert.ElementsMatch(t, []string{
		`Expiry "05/27" is read as month/year: May 2027.`,
		"Only the month it was opened is known: opened life is counted from 1 February 2027.",
		"No number of thaws is known for its class: one is allowed.",
		"The hour it left the freezer is not recorded: its time out is counted from the start of 1 March 2027.",
		"No return to the freezer is recorded: out time is counted from the first thaw.",
	}, Judge(it, r, day(t, "2027-03-08")).Assumed)
}

func TestLimitsStandInOrderOfWeight(t *testing.T) {
	it := Item{DOM: printedAs(t, "2026-01-01"), Expiry: printedAs(t, "2027-02"), Inspect: printedAs(t, "2027-01"),
		Opened: printedAs(t, "2027-03-01"), Held: "dented"}
	j := Judge(it, sealant, day(t, "2027-03-08"))
	var names []Name
	for _, l := range j.Limits {
		names = append(names, l.Name)
	}
	assert.Equal(t, []Name{LimitLabelExpiry, LimitHeld, LimitInspectDate, LimitOpenedLife, LimitClassLife}, names)
	assert.Equal(t, j.Limits[0], j.Governing)
}

func TestDaysLeftIsZeroOnTheLastDay(t *testing.T) {
	it := Item{Expiry: printedAs(t, "2027-03")}
	for on, want := range map[string]int{"2027-03-08": 23, "2027-03-31": 0, "2027-04-01": -1} {
		n, ok := Judge(it, sealant, day(t, on)).DaysLeft()
		assert.True(t, ok)
		assert.Equal(t, want, n, on)
	}
	_, ok := Judge(Item{}, sealant, day(t, "2027-03-08")).DaysLeft()
	assert.False(t, ok)
}

func TestAVerdictReadsBackFromJSON(t *testing.T) {
	for _, v := range []Verdict{Use, Hold, Reject} {
		text, err := json.Marshal(v)
		require.NoError(t, err)
		var back Verdict
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, v, back)
	}
	var v Verdict
	assert.ErrorContains(t, json.Unmarshal([]byte(`"maybe"`), &v), "use, hold or reject")
	for c := FirstOfMonth; c <= EndOfQuarter; c++ {
		back, err := ParseConvention(c.String())
		require.NoError(t, err)
		assert.Equal(t, c, back)
	}
	_, err := ParseConvention("whenever")
	assert.ErrorContains(t, err, "last-of-month")
}

func TestRulesThatNoClassCanMeanAreRefused(t *testing.T) {
	good := []Rules{{}, sealant, frozen,
		{Unopened: Life{Unlimited: true, From: "x"}, Extension: Extension{Kind: FixedExtension, Span: period.NewYMD(0, 6, 0), Max: 1, From: "x"}},
		{Thaws: Thaws{Max: AnyThaws, From: "x"}, Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "x"}}}
	for _, r := range good {
		assert.NoError(t, r.Check())
	}
	for want, r := range map[string]Rules{
		"unopened: a shelf life of":               {Unopened: Life{Span: period.NewYMD(0, 0, 3650), From: "x"}}, // overflows in the library
		"opened: a shelf life without its source": {Opened: Life{Span: period.NewYMD(0, 1, 0)}},
		"unopened: unlimited and 1 month":         {Unopened: Life{Unlimited: true, Span: period.NewYMD(0, 1, 0), From: "x"}},
		"a fixed extension needs its length":      {Extension: Extension{Kind: FixedExtension, From: "x"}},
		"but the extension is half":               {Extension: Extension{Kind: HalfOriginal, Span: period.NewYMD(0, 1, 0), From: "x"}},
		"extension: without its source":           {Extension: Extension{Kind: HalfOriginal}},
		"extension: a maximum of -1":              {Extension: Extension{Max: -1}},
		"extension: no such kind":                 {Extension: Extension{Kind: 9}},
		"out time: it cannot be negative":         {OutTime: Span{Max: -1}},
		"out time: without its source":            {OutTime: Span{Max: 1}},
		"thaw life: without its source":           {ThawLife: Span{Max: 1}},
		"thaws: a maximum of -2":                  {Thaws: Thaws{Max: -2, From: "x"}},
		"thaws: without its source":               {Thaws: Thaws{Max: 1}},
		"store: a temperature range without":      {Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}}},
		"convention: no such convention":          {Convention: 9},
	} {
		assert.ErrorContains(t, r.Check(), want)
	}
}
