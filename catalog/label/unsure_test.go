package label

import (
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// 25 years ahead is as far as two digits are believed; own decision.
func TestADateWhoseCenturyIsAsLikelyTheOneBeforeIsUnsure(t *testing.T) {
	day := date.New(2027, time.March, 8)
	for text, want := range map[string]string{
		"05/52":      "",
		"05/53":      `"05/53": is the year 1953 or 2053? write it with four digits`,
		"05/76":      `"05/76": is the year 1976 or 2076? write it with four digits`,
		"05/2076":    "",
		"05/99":      "", // 1999 is nearest
		"30-JUN-27":  "",
		"2027-06-30": "",
	} {
		d, err := Parse(text, day)
		require.NoError(t, err, text)
		assert.Equal(t, want, d.Unsure(day), text)
	}
	d, err := Read("4156", How{Today: day, Order: YearDay})
	require.NoError(t, err)
	assert.Contains(t, d.Unsure(day), "does not say its decade: write it like 2024-06-04")
	assert.Empty(t, Date{}.Unsure(day))
}

// Day numbers of the 1900 system: 46113 is 1 April 2026 and 25569 the day 0 of Unix time,
// 1 January 1970 (both from memory, common knowledge of spreadsheets).
func TestASpreadsheetsDayNumberIsNeverADate(t *testing.T) {
	day := date.New(2026, time.March, 8)
	d, _ := sheetDay("25569", date.New(1970, time.January, 1))
	assert.Zero(t, d.DaysSinceEpoch())
	for text, want := range map[string]string{
		"46113": `"46113": may be a spreadsheet's day number, 1 April 2026: format its column as a date, or write it like 2026-04-01`,
		"42437": `"42437": may be a spreadsheet's day number, 8 March 2016`, // 10 years before
		"53394": `"53394": may be a spreadsheet's day number, 8 March 2046`, // 20 years after
		"42436": "say --date-order yearday",
		"53395": "say --date-order yearday",
		"24156": "say --date-order yearday",
	} {
		_, err := Parse(text, day)
		require.ErrorContains(t, err, want)
		assert.NotEqual(t, strings.Contains(err.Error(), "spreadsheet"), strings.Contains(err.Error(), "yearday"), text)
	}
	for text, want := range map[string]string{
		"46113":       `"46113": day 113 of 2046, or a spreadsheet's day number, 1 April 2026? write it like 2046-04-23 or 2026-04-01`,
		"46113 08:00": `"46113 08:00": day 113 of 2046, or a spreadsheet's`,
		"42365":       "", // 26 December 2015, more than 10 years before
		"24156":       "",
		"2046113":     "",
		"46-113":      "",
	} {
		d, err := Read(text, How{Today: day, Order: YearDay, Clock: true})
		require.NoError(t, err, text)
		assert.True(t, strings.HasPrefix(d.Unsure(day), want) && (d.Unsure(day) == "") == (want == ""), "%s: %s", text, d.Unsure(day))
	}
	_, err := Read("46400", How{Today: day, Order: YearDay})
	require.ErrorContains(t, err, "a spreadsheet's day number, 13 January 2027")
	known, err := ReadDigits("46113", YYDDD, day)
	require.NoError(t, err)
	assert.Empty(t, known.Unsure(day), "a bar code says what its digits mean")
}

func TestAnHourOfOneDigitIsPlain(t *testing.T) {
	day := date.New(2027, time.March, 8)
	for text, want := range map[string]string{
		"2027-03-05 8:00": "2027-03-05T08:00", "2027-03-05T8:05": "2027-03-05T08:05", "5 Mar 2027 0:00": "2027-03-05T00:00",
		"2027-03-05T18:00": "2027-03-05T18:00",
	} {
		d, err := Read(text, How{Today: day, Clock: true})
		require.NoError(t, err, text)
		assert.Equal(t, want, d.Canonical())
		_, err = Parse(text, day)
		require.ErrorContains(t, err, "write the day only", text)
	}
	for _, text := range []string{"2027-03-05 8:0", "2027-03-05 8:00 PM", "2027-03-05  8", "T8:00", " 8:00", "2027-03-05 008:00", "2027-03-05 :00"} {
		_, err := Read(text, How{Today: day, Clock: true})
		require.Error(t, err, text)
	}
}

func TestARefusalWhereAnHourIsReadShowsOne(t *testing.T) {
	for _, text := range []string{"yesterday", "", "?"} {
		_, err := Read(text, How{Clock: true})
		require.ErrorContains(t, err, "2027-03-05T08:00", text)
		_, err = Read(text, How{})
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "T08:00", text)
	}
}
