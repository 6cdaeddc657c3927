package label

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// These tests hold the package against values printed elsewhere; each row or
// table names its source.

func TestISOFormsOfOneDayAgree(t *testing.T) {
	// The first three rows: the worked example of ISO 8601 (one day in its three
	// forms). The last three: public tables of week and ordinal dates.
	for _, c := range []struct{ form, calendar string }{
		{"1985-04-12", "1985-04-12"},
		{"1985-102", "1985-04-12"},
		{"1985-W15-5", "1985-04-12"},
		{"2025-W01-1", "2024-12-30"},
		{"2026-W53-5", "2027-01-01"},
		{"2024-156", "2024-06-04"},
		{"2025-325", "2025-11-21"},
	} {
		d, err := Parse(c.form, today)
		require.NoError(t, err)
		assert.Equal(t, c.calendar, iso(d.First()), c.form)
		assert.Equal(t, c.calendar, iso(d.Last()), c.form)
	}
}

func TestMonthsAddClampedAndBeforeDays(t *testing.T) {
	// W3C XML Schema part 2, appendix E "Adding durations to dateTimes". The time
	// of day of its third row is left out: it does not carry into the date. The row
	// marked (memory) is quoted from memory of the same appendix.
	for _, c := range []struct {
		start string
		life  period.Period
		want  string
	}{
		{"2000-03-31", period.NewYMD(0, 1, 0), "2000-04-30"}, // second step of (03-30 + P1D) + P1M
		{"2000-03-30", period.NewYMD(0, 1, 0), "2000-04-30"}, // first step of (03-30 + P1M) + P1D
		{"2000-04-30", period.NewYMD(0, 0, 1), "2000-05-01"}, // second step of the same
		{"2000-03-30", period.NewYMD(0, 1, 1), "2000-05-01"}, // in one: months before days
		{"2000-01-12", period.NewYMD(1, 3, 5), "2001-04-17"},
		{"2000-01-01", period.NewYMD(0, -3, 0), "1999-10-01"}, // (memory) 2000-01 and -P3M give 1999-10
		// Computed by the clamping rule of the same appendix; time.AddDate gives 3 March.
		{"2025-08-31", period.NewYMD(0, 6, 0), "2026-02-28"},
		{"2027-08-31", period.NewYMD(0, 6, 0), "2028-02-29"},
		{"2024-02-29", period.NewYMD(1, 0, 0), "2025-02-28"},
		{"2024-02-29", period.NewYMD(4, 0, 0), "2028-02-29"},
		{"2025-12-31", period.NewYMD(0, 18, 0), "2027-06-30"},
	} {
		assert.Equal(t, c.want, iso(AddLife(calendar(t, c.start), c.life)), "%s + %s", c.start, c.life)
	}
}

func TestShelfLifeCodesOfBothTypes(t *testing.T) {
	// 41 CFR 101-27.205, US DoD shelf-life codes. N, P and the 36 of Q: memory.
	months := func(n int) period.Period { return period.NewYMD(0, n, 0) }
	for code, want := range map[string]int{
		"A": 1, "B": 2, "C": 3, "D": 4, "E": 5, "F": 6, "G": 9, "H": 12, "J": 15,
		"K": 18, "L": 21, "M": 24, "N": 27, "P": 30, "Q": 36, "R": 48, "S": 60,
	} {
		life, extendable, err := CodeLife(code)
		require.NoError(t, err, code)
		assert.Equal(t, months(want), life, code)
		assert.False(t, extendable, "type I, code %s", code)
	}
	for code, want := range map[string]int{
		"1": 3, "2": 6, "3": 9, "4": 12, "5": 18, "6": 24, "7": 36, "8": 48, "9": 60,
	} {
		life, extendable, err := CodeLife(code)
		require.NoError(t, err, code)
		assert.Equal(t, months(want), life, code)
		assert.True(t, extendable, "type II, code %s", code)
	}
}

func TestTwoDigitYearsSlide(t *testing.T) {
	// GS1 General Specifications, century in dates: the difference to the current
	// two-digit year 51..99 is the century before, -99..-50 the one after. The rows
	// for 2026 are the published rule worked out.
	for _, c := range []struct {
		now  int
		text string
		want int
	}{
		{2026, "06/76", 2076},
		{2026, "06/77", 1977},
		{2026, "06/26", 2026},
		{2026, "06/00", 2000},
		{2026, "06/99", 1999},
		{2051, "06/01", 2101}, // -50: next
		{2051, "06/02", 2002}, // -49: this
		{2099, "06/00", 2100},
		{2099, "06/49", 2149},
		{2099, "06/50", 2050},
	} {
		d, err := Parse(c.text, date.New(c.now, time.July, 1))
		require.NoError(t, err)
		assert.Equal(t, c.want, d.First().Year(), "%s read in %d", c.text, c.now)
	}
}

func TestMonthMeansItsLastDayAsExpiry(t *testing.T) {
	// US Navy training texts on shelf life: a month/year date means the last day
	// of that month.
	for text, want := range map[string]string{
		"05/2027": "2027-05-31", "02/28": "2028-02-29", "2027-02": "2027-02-28", "DEC 2026": "2026-12-31",
	} {
		d, err := Parse(text, today)
		require.NoError(t, err)
		assert.Equal(t, want, iso(d.Last()), text)
	}
}

func TestQuarterMeansItsThreeMonths(t *testing.T) {
	// US Army SB 740-95-10: cure date by quarter, 1Q is January to March.
	for text, want := range map[string][2]string{
		"1Q26": {"2026-01-01", "2026-03-31"}, "2Q26": {"2026-04-01", "2026-06-30"},
		"3Q26": {"2026-07-01", "2026-09-30"}, "4Q20": {"2020-10-01", "2020-12-31"},
	} {
		d, err := Parse(text, today)
		require.NoError(t, err)
		assert.Equal(t, want, [2]string{iso(d.First()), iso(d.Last())}, text)
	}
}
