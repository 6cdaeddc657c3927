package shelf

import (
	"testing"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
)

// These tests hold the limits against worked cases printed elsewhere; each row
// names its source.

func TestClassLifeAgreesWithWorkedCases(t *testing.T) {
	years, months := func(n int) period.Period { return period.NewYMD(n, 0, 0) }, func(n int) period.Period { return period.NewYMD(0, n, 0) }
	for _, c := range []struct {
		dom        string
		life       period.Period
		convention Convention
		last       string
		source     string
	}{
		{"05/79", years(6), LastOfMonth, "1985-05-31", "US Navy ASE manual: lot 05/79 and 6 years is 05/85"},
		{"10/13", months(36), LastOfMonth, "2016-10-31", "MIL-STD-129R example as quoted: assembled 10/13, 36 months, INSP/TEST 10/16"},
		{"4Q20", years(3), EndOfQuarter, "2023-12-31", "seal suppliers' pages (weak): the clock starts when the quarter ends"},
		{"02/27", months(3), LastOfMonth, "2027-05-31", "US Navy training texts: a month/year date means the last day of that month"},
		{"2027-05", months(9), FirstOfMonth, "2028-02-01", "own choice of the safe side, no source"},
		{"2Q26", years(3), FirstOfMonth, "2029-04-01", "own choice of the safe side, no source"},
		{"10/2020", years(3), EndOfQuarter, "2023-10-01", "no published rule for a month: own choice of the safe side"},
		{"2025-08-31", months(6), FirstOfMonth, "2026-02-28", "clamped to month end: W3C XML Schema part 2, appendix E"},
		{"2013-10-10", months(36), LastOfMonth, "2016-10-10", "a day is a day: own choice of the safe side, no source"},
	} {
		r := Rules{Unopened: Life{Span: c.life, From: "test"}, Convention: c.convention}
		j := Judge(Item{DOM: printedAs(t, c.dom)}, r, day(t, c.last))
		assert.Equal(t, Use, j.Verdict, c.source)
		require.Equal(t, LimitClassLife, j.Governing.Name)
		assert.Equal(t, label.FormatDay(day(t, c.last)), label.FormatDay(j.Governing.Date), c.source)
		assert.Equal(t, Reject, Judge(Item{DOM: printedAs(t, c.dom)}, r, day(t, c.last).Add(1)).Verdict, c.source)
	}
}

func TestPrintedMonthIsGoodToItsLastDay(t *testing.T) {
	// US Navy training texts on shelf life: a month/year date means the last day
	// of that month.
	it := Item{Expiry: printedAs(t, "05/2027")}
	assert.Equal(t, Use, Judge(it, Rules{}, day(t, "2027-05-31")).Verdict)
	assert.Equal(t, Reject, Judge(it, Rules{}, day(t, "2027-06-01")).Verdict)
	it = Item{Inspect: printedAs(t, "10/16")}
	assert.Equal(t, Use, Judge(it, Rules{}, day(t, "2016-10-31")).Verdict)
	assert.Equal(t, Hold, Judge(it, Rules{}, day(t, "2016-11-01")).Verdict)
}

func TestExtendableItemsWaitForATest(t *testing.T) {
	// USAF T.O. 1-1-700 §12.8: sealant past its life is not used until tested; so
	// it is neither used nor thrown away.
	half := Rules{Extension: Extension{Kind: HalfOriginal, From: "USAF T.O. 1-1-700"}}
	it := Item{Expiry: printedAs(t, "2027-05-31")}
	assert.Equal(t, Hold, Judge(it, half, day(t, "2027-06-01")).Verdict)
	// DoD type I (not extendable) under 41 CFR 101-27.205: past its date it goes.
	assert.Equal(t, Reject, Judge(it, Rules{}, day(t, "2027-06-01")).Verdict)
}

func TestUndatedStockIsNotAssumedGood(t *testing.T) {
	// US Navy storekeeper text: undated stock is reported, not assumed good.
	j := Judge(Item{Batch: "S-1", Opened: printedAs(t, "2027-03-01")}, Rules{Opened: months(3)}, day(t, "2027-03-08"))
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, LimitUndated, j.Governing.Name)
}

func TestOutTimeIsASum(t *testing.T) {
	// Prepreg handling texts: out time is a sum of all time out of the freezer.
	r := Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}
	it := Item{Expiry: printedAs(t, "2028-01"), Thawed: printedDates(t, "2027-03-01"), OutUsed: 96 * hour}
	j := Judge(it, r, day(t, "2027-03-06")) // 240 h - 96 h = 6 days: 1 to 6 March
	assert.Equal(t, Use, j.Verdict)
	assert.Equal(t, Reject, Judge(it, r, day(t, "2027-03-07")).Verdict)
	it.OutUsed = 0
	assert.Equal(t, Use, Judge(it, r, day(t, "2027-03-10")).Verdict)
	assert.Equal(t, Reject, Judge(it, r, day(t, "2027-03-11")).Verdict)
}
