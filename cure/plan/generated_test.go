package plan_test

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"sync"
	"testing"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// builtin is the built-in catalog as the planner takes it.
var builtin = sync.OnceValue(func() map[string]*cure.Class {
	m := map[string]*cure.Class{}
	for _, c := range catalog.Builtin().All() {
		m[c.ID] = &c.Class
	}
	return m
})

func input(t testing.TB, text string) plan.Input {
	t.Helper()
	j, err := job.Decode([]byte(text), "job.yaml")
	require.NoError(t, err, text)
	return plan.Input{Job: j, Classes: builtin()}
}

// TestEveryPlanObeysEveryLine plans generated jobs and holds each plan against the
// independent checker. BEADLINE_JOBS says how many (2000 unless said; 40 with
// -short), BEADLINE_SEED where to begin.
func TestEveryPlanObeysEveryLine(t *testing.T) {
	n := 2000
	if testing.Short() {
		n = 40
	}
	if s := os.Getenv("BEADLINE_JOBS"); s != "" {
		n, _ = strconv.Atoi(s)
	}
	first, _ := strconv.Atoi(os.Getenv("BEADLINE_SEED"))
	const lots = 4
	var mu sync.Mutex
	found := 0
	t.Run("jobs", func(t *testing.T) {
		for lot := range lots {
			t.Run(fmt.Sprint(lot), func(t *testing.T) {
				t.Parallel()
				for k := lot; k < n; k += lots {
					if planned(t, uint64(first+k)) {
						mu.Lock()
						found++
						mu.Unlock()
					}
				}
			})
		}
	})
	// A generator that only made hopeless jobs would prove nothing.
	assert.Greater(t, found, n/2, "plans found among %d jobs", n)
	t.Logf("%d of %d jobs have a plan", found, n)
}

func planned(t *testing.T, seed uint64) bool {
	in := input(t, makeJob(seed))
	in.Steps, in.Brief = 20, true
	p, err := plan.Make(in)
	var fault *plan.FaultError
	if errors.As(err, &fault) {
		t.Errorf("seed %d: %v\n%s", seed, err, makeJob(seed))
		return false
	}
	if !assert.NoError(t, err, "seed %d", seed) {
		return false
	}
	if !p.Found {
		assert.NotEmpty(t, p.Infeasible.Because, "seed %d: no plan and no reason", seed)
		return false
	}
	assert.False(t, p.Ready.Before(p.Bound), "seed %d: ready before its bound", seed)
	return true
}
