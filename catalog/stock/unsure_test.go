package stock

import (
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
)

func TestARowWhoseCenturyOrDecadeIsOpenIsNotRead(t *testing.T) {
	for _, c := range []struct {
		list, want string
		order      label.Order
	}{
		{"batch,class,expiry\nA,x,05/76\n", "is the year 1976 or 2076?", label.OrderUnknown},
		{"batch,class,dom\nA,x,4156\n", "does not say its decade", label.YearDay},
		{"batch,class,opened\nA,x,08-MAR-76\n", "is the year 1976 or 2076?", label.OrderUnknown},
		{"batch,class,thawed\nA,x,2027-03-05|08-MAR-76\n", "is the year 1976 or 2076?", label.OrderUnknown},
	} {
		s, err := ReadWith(strings.NewReader(c.list), "s.csv", Options{Today: date.New(2027, time.March, 8), Order: c.order})
		require.NoError(t, err)
		assert.Empty(t, s.List, c.list)
		if assert.Len(t, s.Bad, 1, c.list) {
			assert.Contains(t, s.Bad[0].Reason, c.want)
		}
	}
}
