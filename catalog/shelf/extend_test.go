package shelf

import (
	"testing"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
)

// passed is a test with all on record that an extension takes.
func passed(t *testing.T, on string) Test {
	return Test{On: printedAs(t, on), Passed: true, By: "A. Hentze", Authority: "quality office", Reference: "QO-7", Results: "Shore A 48 at 72 h"}
}

var (
	halves  = Rules{Unopened: months(9), Opened: months(3), Extension: Extension{Kind: HalfOriginal, From: "USAF T.O. 1-1-700 §12.8"}}
	sixOnce = Rules{Unopened: months(12), Extension: Extension{Kind: FixedExtension, Span: period.NewYMD(0, 6, 0), Max: 1, From: "MMM-A-1617B §3.4.1"}}
)

// Published cases stand in shelf-rules.csv; what they leave open, by own decision, is
// held here.
func TestExtensionLadder(t *testing.T) {
	with := func(x Test, change func(*Test)) Test {
		change(&x)
		return x
	}
	to := func(on, end string) Test {
		return with(passed(t, on), func(x *Test) { x.To = printedAs(t, end) })
	}
	for _, c := range []struct {
		name   string
		rules  Rules
		it     Item
		tests  []Test
		on     string
		want   Verdict
		end    string // of the limit that governs
		reason string
	}{
		{"odd halves are rounded down: 9 months give 4", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Use, "2027-05-31", "Extended to 31 May 2027 by the test passed 10 February 2027 (quality office, reference QO-7), counted from the expiry on the label, 31 January 2027: usable through 31 May 2027."},
		{"a second test counts from the end of the first", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10"), passed(t, "2027-06-02")}, "2027-06-08",
			Use, "2027-09-30", "counted from the end before it, 31 May 2027; the expiry on the label was 31 January 2027"},
		{"a test before the end counts from its own day", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2026-12-20")}, "2027-03-08",
			Use, "2027-04-20", "counted from the day of the test; the expiry on the label was 31 January 2027"},
		{"and never moves an end earlier", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-12-31")}, []Test{passed(t, "2027-01-10")}, "2027-03-08",
			Use, "2027-12-31", "Expiry on the label is 31 December 2027"},
		{"not on the day before the test was passed", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-03-09")}, "2027-03-08",
			Hold, "", "Dates contradict: tested 9 March 2027 lies after the day judged"},
		{"without who tested and its reference it gives nothing", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{with(passed(t, "2027-02-10"), func(x *Test) { x.By, x.Reference = "", " " })}, "2027-03-08",
			Hold, "2027-01-31", "The test passed 10 February 2027 gives no more life: not on record: who tested, the reference."},
		{"the authority may give less", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{to("2027-02-10", "2027-03-31")}, "2027-03-08",
			Use, "2027-03-31", "Extended to 31 March 2027"},
		{"but not more than half the original life", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{to("2027-02-10", "2028-01-31")}, "2027-03-08",
			Use, "2027-05-31", "Extended to 31 May 2027"},
		{"a span of the authority's is a cap too", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{with(passed(t, "2027-02-10"), func(x *Test) { x.Span = period.NewYMD(0, 2, 0) })}, "2027-03-08",
			Use, "2027-03-31", "Extended to 31 March 2027"},
		{"half the original life caps fixed months", sixOnce, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Use, "2027-05-31", "Extended to 31 May 2027"},
		{"one extension is one", sixOnce, Item{DOM: printedAs(t, "2025-01-31"), Expiry: printedAs(t, "2026-01-31")}, []Test{passed(t, "2026-01-31"), passed(t, "2026-07-31")}, "2027-03-08",
			Reject, "2026-07-31", "It has had 1 extension, and no more is allowed. The test passed 31 July 2026 gives no more life: no more than 1 extension is allowed."},
		{"the same record twice is one test", Rules{Extension: Extension{Kind: FixedExtension, Span: period.NewYMD(0, 6, 0), Max: 2, From: "x"}}, Item{DOM: printedAs(t, "2025-01-31"), Expiry: printedAs(t, "2026-01-31")},
			[]Test{passed(t, "2026-01-31"), passed(t, "2026-01-31")}, "2026-08-01", Hold, "2026-07-31", "More life only by a passed test"},
		{"without a class extension the authority must say to what day", sealant, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-01-20")}, "2027-03-08",
			Reject, "2027-01-31", "Its life cannot be extended. The test passed 20 January 2027 gives no more life: the class gives no extension, and the authority did not say to what day."},
		{"and before the batch has ended", sealant, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{to("2027-02-10", "2027-04-30")}, "2027-03-08",
			Reject, "2027-01-31", "the batch had ended, and what cannot be extended stays rejected"},
		{"then it counts", sealant, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{to("2027-01-20", "2027-04-30")}, "2027-03-08",
			Use, "2027-04-30", "counted from the day of the test"},
		{"warm storage had ended it before", sealant, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31"), Storage: []Storage{{From: printedAs(t, "2026-08-01"), Spent: 480 * hour}}},
			[]Test{to("2027-01-20", "2027-04-30")}, "2027-01-25", Reject, "2027-01-11", "Warm storage used up 20 days more than the clock: from 31 January 2027 its life came down to 11 January 2027, which is past."},
		{"nothing says how long the original life was", halves, Item{Expiry: printedAs(t, "2027-01-31"), Code: "X"}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Use, "2027-05-31", ""}, // the class's 9 months
		{"nothing at all", Rules{Extension: halves.Extension}, Item{Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Hold, "2027-01-31", "half of its original life cannot be counted, as neither its dates nor its shelf life say how long that was."},
		{"type II in a class without extension waits for the authority", sealant, Item{DOM: printedAs(t, "04/26"), Code: "3"}, []Test{to("2027-02-10", "2027-04-30")}, "2027-03-08",
			Use, "2027-04-30", "counted from the end of its life, 31 January 2027"},
		{"an inspect date moves", halves, Item{DOM: printedAs(t, "2026-05-31"), Inspect: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10")}, "2027-06-30",
			Hold, "2027-05-31", "Inspect/test is due again: extended to 31 May 2027"},
		{"a best-before date moves", halves, Item{BestBefore: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Use, "2027-05-31", "counted from the best-before date on the label, 31 January 2027"},
		{"an opened life does not", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31"), Opened: printedAs(t, "2026-12-01")}, []Test{passed(t, "2027-02-10")}, "2027-03-08",
			Reject, "2027-03-01", "opened life ended 1 March 2027"},
		{"given later than tested", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{with(passed(t, "2027-02-10"), func(x *Test) { x.Given = printedAs(t, "2027-03-09") })}, "2027-03-08",
			Hold, "2027-01-31", "gives no more life: it counts only from its day on"},
		{"a failed test takes all back", halves, Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31")}, []Test{passed(t, "2027-02-10"), {On: printedAs(t, "2027-03-08"), Results: "soft, Shore A 12"}, passed(t, "2027-03-08")}, "2027-03-08",
			Reject, "2027-03-07", "It failed its test 8 March 2027 (soft, Shore A 12)."},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.it.Tests = c.tests
			j := Judge(c.it, c.rules, day(t, c.on))
			holdsTogether(t, j)
			assert.Equal(t, c.want, j.Verdict, "%+v", j.Limits)
			assert.Contains(t, j.Governing.Reason, c.reason)
			if c.end != "" {
				require.True(t, j.Governing.Dated)
				assert.Equal(t, c.end, label.DayOf(j.Governing.Date).Canonical())
			}
		})
	}
}

func TestOriginalLifeIsCountedInWholeMonths(t *testing.T) {
	for _, c := range []struct {
		dom, exp string
		want     int
	}{
		{"2026-06", "2027-03", 9}, {"2026-06-30", "2027-03-30", 9}, {"2026-06-30", "2027-03-29", 8}, {"2026-06-30", "2027-03", 9},
		{"2025-08-31", "2026-02-28", 6}, {"2Q26", "2Q29", 36}, {"05/79", "05/85", 72}, {"2027-01-01", "2027-01-31", 0},
	} {
		n, known := (&Rules{}).original(&Item{DOM: printedAs(t, c.dom), Expiry: printedAs(t, c.exp)})
		assert.True(t, known)
		assert.Equal(t, c.want, n, "%s to %s", c.dom, c.exp)
	}
}

func TestWhatWasRoundedAndCappedIsSaid(t *testing.T) {
	x := passed(t, "2027-02-10")
	x.To = printedAs(t, "2028-01")
	it := Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-01-31"), Tests: []Test{x}}
	assert.ElementsMatch(t, []string{
		"More was given than counts: an extension is worth half the original life at most, 4 months.",
		"Half of its original life of 9 months is taken as 4 months, rounded down.",
	}, Judge(it, halves, base).Assumed)
}
