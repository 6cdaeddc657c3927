package desk

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

var today = date.New(2027, time.March, 8)

func judge() *Judge { return NewJudge(catalog.Builtin(), today) }

func day(t testing.TB, s string) label.Date {
	t.Helper()
	d, err := label.Parse(s, today)
	require.NoError(t, err)
	return d
}

func TestRulesOfEveryBuiltInClassAreSound(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		r := Rules(&c)
		assert.NoError(t, r.Check(), c.ID)
		if c.Shelf != nil {
			assert.Equal(t, c.Shelf.Unopened.Known || c.Shelf.Unlimited, r.Unopened.Known(), c.ID)
			assert.Equal(t, c.Shelf.Opened.Known, r.Opened.Known(), c.ID)
			assert.Equal(t, string(c.Shelf.Convention.Value), r.Convention.String(), c.ID)
		}
	}
}

// One provenance for a whole block of shelf rules is no rule of what it leaves out.
func TestOneProvenanceForAllMakesNoRuleOfWhatIsNotGiven(t *testing.T) {
	cl := class(t, `
- id: bare
  name: Bare
  kind: grease
  cautions: []
  shelf: {unopened: 12 months, from: test}
`, "bare")
	r := Rules(cl)
	require.NoError(t, r.Check())
	assert.False(t, r.Opened.Known())
	assert.Zero(t, r.Thaws.Max)
	assert.True(t, r.Unopened.Known())
}

func TestFrozenClassesAreNotRefrozenUnlessTheySaySo(t *testing.T) {
	assert.Equal(t, 1, Rules(class(t, "", "polysulfide-b-2-premixed")).Thaws.Max)
	assert.Equal(t, shelf.AnyThaws, Rules(class(t, "", "film-adhesive-frozen")).Thaws.Max)
}

// ISO 2230 group B: 7 years, extension 3 years; a cure date by quarter counts from
// the quarter's end (seal suppliers' pages).
func TestASealPastItsLifeIsHeldForAnExtension(t *testing.T) {
	v := judge().Full(shelf.Item{Batch: "O-1", Class: "elastomer-iso-2230-b", DOM: day(t, "4Q2019")})
	assert.Equal(t, shelf.Hold, v.Verdict)
	assert.Equal(t, date.New(2026, time.December, 31), v.Governing.Date)
	assert.Contains(t, v.Governing.Reason, "ISO 2230")
	v = judge().Full(shelf.Item{Batch: "O-2", Class: "elastomer-iso-2230-b", DOM: day(t, "1Q2020")})
	assert.Equal(t, shelf.Use, v.Verdict)
	assert.Equal(t, date.New(2027, time.March, 31), v.Governing.Date)
}

func TestAClassThatIsNotKnownHoldsWhateverTheDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) label.Date {
			if !rapid.Bool().Draw(t, "has "+name) {
				return label.Date{}
			}
			return label.DayOf(today.Add(date.PeriodOfDays(rapid.IntRange(-2000, 2000).Draw(t, name))))
		}
		it := shelf.Item{Batch: "x", Class: "polysulfid-b-2", DOM: draw("dom"), Expiry: draw("expiry"), Inspect: draw("inspect"), Opened: draw("opened")}
		if d := draw("thawed"); !d.IsZero() {
			it.Thawed = []label.Date{d, d}
		}
		j := judge()
		v := j.Full(it)
		require.Equal(t, shelf.Hold, v.Verdict)
		require.Equal(t, LimitUnknownClass, v.Governing.Name)
		require.Equal(t, LimitUnknownClass, v.Limits[0].Name)
		require.Contains(t, v.Governing.Reason, "polysulfide-b-2")
		g, _, dated := j.Glance(&it)
		require.Equal(t, shelf.Hold, g)
		require.False(t, dated)
	})
}

func TestGlanceSaysWhatFullSays(t *testing.T) {
	j := judge()
	ids := j.catalog.IDs()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) label.Date {
			n := rapid.IntRange(-3000, 3000).Draw(t, name)
			if n > 1500 {
				return label.Date{}
			}
			return label.DayOf(today.Add(date.PeriodOfDays(n)))
		}
		it := shelf.Item{Batch: "x", Class: rapid.SampledFrom(ids).Draw(t, "class"), DOM: draw("dom"), Expiry: draw("expiry"), Inspect: draw("inspect"), Opened: draw("opened")}
		v, last, dated := j.Glance(&it)
		full := j.Full(it)
		require.Equal(t, full.Verdict, v)
		require.Equal(t, full.Governing.Dated, dated)
		if dated {
			require.Equal(t, full.Governing.Date, last)
		}
	})
}

const shelfList = `batch,class,dom,expiry,location,quantity,unit,po
S-1,polysulfide-b-2,2026-09-01,2027-06-30,rack 2,4,kit,A
S-2,polysulfide-b-2,2026-05-01,02/2027,Rack 2,2,kit,B
S-3,polysulfide-b-2,2026-05-01,2027-03-20,rack 3,2,kit,C
S-4,polysulfid-b-2,2026-05-01,2027-03-20,rack 3,2,kit,D
S-5,polysulfide-b-2,,,,2,kit,E
S-6,polysulfide-b-2,31/12,2027-03-20,rack 3,2,kit,F
S-1,polysulfide-b-2,2026-01-01,2026-06-30,rack 9,1,kit,G
`

func flags(t testing.TB, list, location string) *Flags {
	t.Helper()
	f, err := judge().Flag(strings.NewReader(list), "s.csv", today.Add(30), location)
	require.NoError(t, err)
	return f
}

func TestFlagPutsTheMostUrgentFirstAndDropsNothing(t *testing.T) {
	f := flags(t, shelfList, "")
	var order []string
	for _, r := range f.Rows {
		order = append(order, fmt.Sprintf("%s:%d %s", r.Item.Batch, r.Line, r.Judgement.Verdict))
	}
	assert.Equal(t, []string{"S-1:8 reject", "S-2:3 reject", "S-4:5 hold", "S-5:6 hold", "S-3:4 use"}, order)
	require.Len(t, f.Unreadable, 1)
	assert.Equal(t, 7, f.Unreadable[0].Line)
	assert.Equal(t, Counts{Rows: 7, Use: 2, Expiring: 1, Hold: 2, Reject: 2, Unreadable: 1}, f.Counts)
	assert.Equal(t, []stock.Field{{Column: "po", Value: "C"}}, f.Rows[4].Extra)
}

func TestALocationLeavesOutOnlyWhatIsKnownToBeElsewhere(t *testing.T) {
	f := flags(t, shelfList, "rack 2")
	assert.Equal(t, Counts{Rows: 4, Use: 1, Hold: 1, Reject: 1, Unreadable: 1}, f.Counts)
	_, err := judge().Flag(strings.NewReader(shelfList), "s.csv", today, "rak 2")
	assert.ErrorContains(t, err, "the nearest are")
	_, err = judge().Flag(strings.NewReader(shelfList), "s.csv", today, "hangar")
	assert.ErrorContains(t, err, "rack 9")
}

// Whatever is flagged, the counts add up and the order is by verdict, then by day.
func TestFlagCountsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("batch,class,dom,expiry\n")
		n := rapid.IntRange(0, 30).Draw(t, "rows")
		for i := range n {
			cell := func(name string) string {
				k := rapid.IntRange(-500, 500).Draw(t, name)
				switch {
				case k > 400:
					return ""
				case k > 380:
					return "03/04/2027"
				}
				return label.DayOf(today.Add(date.PeriodOfDays(k))).Canonical()
			}
			class := rapid.SampledFrom([]string{"polysulfide-b-2", "elastomer-iso-2230-a", "grease-general", "nothing"}).Draw(t, "class")
			fmt.Fprintf(&b, "B-%d,%s,%s,%s\n", i, class, cell("dom"), cell("expiry"))
		}
		f, err := judge().Flag(strings.NewReader(b.String()), "s.csv", today.Add(30), "")
		require.NoError(t, err)
		c := f.Counts
		require.Equal(t, n, c.Rows)
		require.Equal(t, c.Rows, c.Use+c.Hold+c.Reject+c.Unreadable)
		require.Len(t, f.Rows, c.Hold+c.Reject+c.Expiring)
		require.Len(t, f.Unreadable, c.Unreadable)
		for i := 1; i < len(f.Rows); i++ {
			a, b := f.Rows[i-1].Judgement, f.Rows[i].Judgement
			require.GreaterOrEqual(t, a.Verdict, b.Verdict)
			if a.Verdict == b.Verdict && a.Governing.Dated && b.Governing.Dated {
				require.False(t, b.Governing.Date.Before(a.Governing.Date))
			}
		}
	})
}

func TestABatchOnSeveralRowsGivesAllAndTheWorstCounts(t *testing.T) {
	rows, _, err := judge().Batch(strings.NewReader(shelfList), "s.csv", "S-1")
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.Equal(t, "s.csv:2", rows[0].Place)
	assert.Equal(t, 1, Worst(rows))
	assert.Equal(t, shelf.Reject, rows[1].Judgement.Verdict)
}

func TestABatchWhoseRowCannotBeReadIsHeld(t *testing.T) {
	rows, _, err := judge().Batch(strings.NewReader(shelfList), "s.csv", "S-6")
	require.NoError(t, err)
	require.Len(t, rows, 1)
	assert.Equal(t, shelf.Hold, rows[0].Judgement.Verdict)
	assert.Equal(t, LimitUnreadable, rows[0].Judgement.Governing.Name)
	assert.Equal(t, "s.csv:7", rows[0].Place)
}

const faultyList = `batch,class,dom,expiry,location,quantity,unit
S-1,polysulfide-b-2,2026-05-01,02/2027,rack 2,-3,kit
S-2,polysulfide-b-2,2026-09-01,2027-06-30,rack 2,-3,kit
S-3,polysulfide-b-2,03/04/2027,02/2027,rack 2,3,kit
`

// A slip in the quantity does not make an expired tin any better.
func TestAFaultThatIsNoDateDoesNotHideAnExpiry(t *testing.T) {
	f := flags(t, faultyList, "")
	require.Len(t, f.Rows, 1)
	assert.Equal(t, "S-1", f.Rows[0].Item.Batch)
	assert.Equal(t, shelf.Reject, f.Rows[0].Judgement.Verdict)
	require.NotNil(t, f.Rows[0].Fault)
	assert.Contains(t, f.Rows[0].Judgement.Limits[1].Reason, `quantity "-3"`)
	assert.Equal(t, Counts{Rows: 3, Reject: 1, Unreadable: 2}, f.Counts)
	assert.Equal(t, []string{"S-2", "polysulfide-b-2", "2026-09-01", "2027-06-30", "rack 2", "-3", "kit"}, f.Unreadable[0].Cells)

	for batch, want := range map[string]shelf.Verdict{"S-1": shelf.Reject, "S-2": shelf.Hold, "S-3": shelf.Hold} {
		rows, _, err := judge().Batch(strings.NewReader(faultyList), "s.csv", batch)
		require.NoError(t, err)
		assert.Equal(t, want, rows[0].Judgement.Verdict, batch)
	}
}

func TestABatchThatIsNotListedNamesTheNearest(t *testing.T) {
	_, _, err := judge().Batch(strings.NewReader(shelfList), "s.csv", "S-7")
	assert.ErrorContains(t, err, "the nearest are S-1, S-2, S-3")
	_, _, err = judge().Batch(strings.NewReader(shelfList), "s.csv", "kit of Monday")
	assert.ErrorContains(t, err, "among its 7 rows")
	_, _, err = judge().Batch(strings.NewReader("batch,class\n"), "s.csv", "S-7")
	assert.ErrorContains(t, err, "no rows")
}

// BenchmarkFlagAMillionBatches goes through a list of a million rows.
func BenchmarkFlagAMillionBatches(b *testing.B) {
	var list strings.Builder
	list.WriteString("batch,class,dom,expiry,inspect,opened,thawed,location,quantity,unit\n")
	for i := range 1_000_000 {
		year := 2028
		if i%1000 == 0 {
			year = 2026
		}
		fmt.Fprintf(&list, "S-%d,polysulfide-b-2,2026-%02d-01,%d-06-30,,,,rack %d,2,kit\n", i, 1+i%12, year, i%50)
	}
	text := list.String()
	for b.Loop() {
		f, err := judge().Flag(strings.NewReader(text), "s.csv", today.Add(30), "")
		require.NoError(b, err)
		require.Equal(b, 1000, f.Counts.Reject)
	}
}
