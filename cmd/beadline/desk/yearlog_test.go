package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/cure"
)

// The answers of testdata/peers/yearlog.py (pandas 1.5, NumPy 1.24: midpoint rule in
// twentieths of the same 525,600 minutes), in hours from the start. They are printed to
// 0.001 h, 4 s; limits of the class that are crossed within a twentieth add as much; and
// here air counts as dry from 0.001 % RH under the limit on, which is 5e-6 of the time.
func TestYearOfMinutesIsReachedAsNumPyHasIt(t *testing.T) {
	a, err := ReadAir(yearLog(t), nil)
	require.NoError(t, err)
	h, err := cure.NewHistory([]cure.Piece{a.Piece()}, a.First(), a.Last())
	require.NoError(t, err)
	cl, err := catalog.Builtin().Find("polysulfide-b-2")
	require.NoError(t, err)
	lines, err := (&cure.Site{Air: h}).Lines(&cl.Class)
	require.NoError(t, err)
	for _, c := range []struct {
		start                             string
		application, tackFree, cure, full float64
	}{
		{"2027-01-20T07:00:00Z", 2.000, 152.782, 267.792, 1110.435},
		{"2027-03-01T07:00:00Z", 2.000, 115.723, 204.345, 848.603},
		{"2027-05-10T16:30:00Z", 2.000, 71.737, 114.569, 501.035},
		{"2027-07-15T12:00:00Z", 1.992, 45.495, 89.491, 448.949},
	} {
		start, err := time.Parse(time.RFC3339, c.start)
		require.NoError(t, err)
		for m, want := range map[cure.Milestone]float64{
			cure.Application: c.application, cure.TackFree: c.tackFree, cure.Handling: c.tackFree, cure.Cured: c.cure, cure.FullCure: c.full,
		} {
			at, ok := lines[m].Reach(start)
			require.True(t, ok)
			assert.InDelta(t, want, at.Sub(start).Hours(), 0.002+5e-6*want, "%s from %s", m, c.start)
		}
	}
}
