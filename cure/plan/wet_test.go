package plan_test

import (
	"testing"
	"time"

	"beadline/cure/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A stud laid wet, then an overcoat once it is tack-free: two sittings, the first
// tack-free by the rated time of B-2 after its last fastener, 40 h at 77 °F
// (specification maximum, from memory).
func TestSittingIsWetFromMixingToTheLastFastener(t *testing.T) {
	p := found(t, bent(t, aFillet, `    layers:
      - {seal: wet-install, each: 60s}
      - {seal: overcoat, each: 30s, after: tack-free}
    fasteners: {count: 10, each: 60s, torque: wet}
`))
	ws := p.Joints[0].Sittings
	require.Len(t, ws, 2)
	mixes, torque := tasks(p, "mix"), one(t, p, "torque")
	require.Len(t, mixes, 2)
	assert.Equal(t, mixes[0].Start, ws[0].From)
	assert.Equal(t, torque.End, ws[0].To)
	assert.Equal(t, torque.End.Add(40*time.Hour), ws[0].TackFree)
	assert.Equal(t, []int{0, 0, 1, 1}, []int{ws[0].First, ws[0].Last, ws[1].First, ws[1].Last})
	assert.Equal(t, mixes[1].Start, ws[1].From)
	assert.Equal(t, tasks(p, "lay")[1].End, ws[1].To)
	assert.Equal(t, p.Joints[0].CloseFrom, ws[1].TackFree)
}

// The torque of a gasket is no wet work: its sealant has cured by then.
func TestGasketIsWetWhileItIsLaid(t *testing.T) {
	p := found(t, bent(t, theClass, "class: low-adhesion-rapid-half\n",
		aFillet, "    layers: [{seal: formed-in-place gasket, spread: 12min}]\n    fasteners: {count: 10, each: 30s, torque: after-tack-free}\n"))
	w := p.Joints[0].Sittings
	require.Len(t, w, 1)
	assert.Equal(t, one(t, p, "mix").Start, w[0].From)
	assert.Equal(t, one(t, p, "lay").End, w[0].To)
	assert.Less(t, w[0].To, one(t, p, "torque").Start)
}

// Sittings of any plan stand in order, each wet before it is tack-free, the last
// tack-free when the joint is.
func TestSittingsStandInOrder(t *testing.T) {
	if testing.Short() {
		t.Skip("sixty jobs planned one after the other: run without -short")
	}
	seen := 0
	for seed := range uint64(60) {
		in := input(t, makeJob(seed))
		in.Steps, in.Brief = 10, true
		p, err := plan.Make(in)
		require.NoError(t, err)
		for _, j := range p.Joints {
			for i, w := range j.Sittings {
				seen++
				assert.True(t, w.From.Before(w.To), "seed %d, %s", seed, j.ID)
				assert.False(t, !w.TackFree.IsZero() && w.TackFree.Before(w.To), "seed %d, %s", seed, j.ID)
				if i > 0 {
					assert.False(t, w.From.Before(j.Sittings[i-1].To), "seed %d, %s", seed, j.ID)
					assert.Equal(t, j.Sittings[i-1].Last+1, w.First)
				}
			}
			require.NotEmpty(t, j.Sittings)
			assert.Equal(t, len(in.Job.JointByID(j.ID).Layers)-1, j.Sittings[len(j.Sittings)-1].Last)
		}
	}
	assert.Greater(t, seen, 60)
}
