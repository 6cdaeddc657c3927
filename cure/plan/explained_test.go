package plan_test

import (
	"testing"
	"time"

	"beadline/cure/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestClashesOfGeneratedJobsAreMinimal asks of generated jobs what cannot be done, for the
// impossible ones as they are and for the others a little sooner than can be, and holds
// the sets against the search: together they cannot be kept, and any one dropped the others
// can. Of some the numbers are tried too: as said, and one step less.
func TestClashesOfGeneratedJobsAreMinimal(t *testing.T) {
	n, turns := 24, 4
	if testing.Short() {
		n, turns = 4, 1
	}
	sets, changes := 0, 0
	for seed := range uint64(n) {
		in := input(t, makeJob(seed))
		in.Brief = true
		p, err := plan.Make(in)
		require.NoError(t, err)
		if p.Found {
			j := *in.Job
			j.ReadyBy = p.Ready.Add(-time.Duration(1+seed*7%120) * time.Minute)
			in.Job = &j
			in.Brief = changes >= turns
			p, err = plan.Make(in)
			require.NoError(t, err)
			if p.Infeasible == nil && !in.Brief { // one mix more made it sooner still
				continue
			}
			if !assert.NotNil(t, p.Infeasible, "seed %d", seed) {
				continue
			}
		}
		if len(p.Infeasible.Set) == 0 {
			assert.NotEmpty(t, p.Infeasible.Because, "seed %d", seed)
			continue
		}
		sets++
		for _, w := range plan.Doubts(in, p) {
			t.Errorf("seed %d: %s", seed, w)
		}
		if !in.Brief {
			tried, wrong := plan.Turned(in, p)
			changes += tried
			for _, w := range wrong {
				t.Errorf("seed %d: %s", seed, w)
			}
		}
	}
	assert.Greater(t, sets, n/3)
	assert.Positive(t, changes)
	t.Logf("%d sets and %d numbers held against the search", sets, changes)
}
