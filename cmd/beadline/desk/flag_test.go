package desk

import (
	"fmt"
	"strings"
	"testing"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

const shelfList = `batch,class,dom,expiry,location,quantity,unit,po
S-1,polysulfide-b-2,2026-09-01,2027-06-30,rack 2,4,kit,A
S-2,polysulfide-b-2,2026-05-01,02/2027,Rack 2,2,kit,B
S-3,polysulfide-b-2,2026-05-01,2027-03-20,rack 3,2,kit,C
S-4,polysulfid-b-2,2026-05-01,2027-03-20,rack 3,2,kit,D
S-5,polysulfide-b-2,,,,2,kit,E
S-6,polysulfide-b-2,31/12,2027-03-20,rack 3,2,kit,F
S-1,polysulfide-b-2,2026-01-01,2026-06-30,rack 9,1,kit,G
`

// told is a flagged list with its rows read again: those to act on in the order of a
// report, and those not readable.
type told struct {
	*Flags
	Rows       []Flagged
	Unreadable []stock.Bad
}

// ask flags a list held in memory.
func ask(t require.TestingT, list string, q FlagQuestion) told {
	l, err := NewList(strings.NewReader(list), "s.csv", q.Stock.Encoding)
	require.NoError(t, err)
	f, err := judge().Flag(l, q)
	require.NoError(t, err)
	return tell(t, f)
}

func tell(t require.TestingT, f *Flags) told {
	all := told{Flags: f}
	for _, g := range f.Groups {
		for _, s := range Sections() {
			n := 0
			require.NoError(t, f.Each(g, s, func(r *Flagged) error {
				n++
				require.Equal(t, s, r.Section)
				if s == NotReadable {
					all.Unreadable = append(all.Unreadable, *r.Fault)
				} else {
					all.Rows = append(all.Rows, *r)
				}
				return nil
			}))
			require.Equal(t, g.Rows[s], n)
		}
	}
	return all
}

func flags(t testing.TB, list, location string) told {
	t.Helper()
	return ask(t, list, FlagQuestion{Until: today.Add(30), Location: location})
}

// refused is why a list cannot be flagged.
func refused(t testing.TB, list string, q FlagQuestion) error {
	t.Helper()
	l, err := NewList(strings.NewReader(list), "s.csv", q.Stock.Encoding)
	require.NoError(t, err)
	_, err = judge().Flag(l, q)
	return err
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
	assert.ErrorContains(t, refused(t, shelfList, FlagQuestion{Until: today, Location: "rak 2"}), "the nearest are")
	assert.ErrorContains(t, refused(t, shelfList, FlagQuestion{Until: today, Location: "hangar"}), "rack 9")
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
		f := ask(t, b.String(), FlagQuestion{Until: today.Add(30)})
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
