package label

import (
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
