package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A layer that must follow the one before within so long of its tack-free time, in shifts
// that end before that. Tack-free of B-2 at 25 °C is 40 h (specification maximum, from
// memory), so a fillet done between 07:20 and 14:00, when the shift ends, is tack-free
// between 23:20 and 06:00: the next pot is mixed from 07:00, in 8 min, and the layer is done
// at 07:13, at best 1 h 13 min after.
func TestAWindowBetweenShiftsIsSaidToBeContradictory(t *testing.T) {
	job := func(within string) string {
		return bent(t, theShift, `shifts: [{days: daily, from: "07:00", to: "14:00"}]`,
			aFillet, "    layers: [{seal: fillet, spread: 12min}, {seal: overcoat, after: tack-free, within: "+within+", spread: 5min}]\n")
	}
	p := made(t, job("72min"))
	require.NotNil(t, p.Infeasible)
	assert.False(t, p.Found)
	require.Len(t, p.Infeasible.Because, 1)
	assert.Equal(t, "door: the overcoat cannot be laid within 1 h 12 min of tack-free. That counts from when tack-free is likely, and it may be laid from the line of tack-free on, in a shift: then it is done 1 h 13 min after that at best. Allow longer, or let it wait for less.",
		p.Infeasible.Because[0])
	found(t, job("73min"))
}
