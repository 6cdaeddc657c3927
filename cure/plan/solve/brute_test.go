package solve

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// against compares the search with the oracle on one model, and says how they differ.
func against(m *Model, o Options) (kind string, err error) {
	best, exists := newOracle(m).earliest()
	a, err := Solve(m, o)
	if err != nil {
		return "", fmt.Errorf("refused: %w", err)
	}
	if bound, ok := Bound(m); ok && exists && bound > best {
		return "", fmt.Errorf("bound %d is past the optimum %d", bound, best)
	} else if !ok && exists {
		return "", fmt.Errorf("bound claims there is no schedule; one is ready at %d", best)
	}
	switch a.Status {
	case Infeasible:
		if exists {
			return "", fmt.Errorf("claims infeasible; one is ready at %d", best)
		}
		return "infeasible", nil
	case Unknown:
		return "", errors.New("undecided, with no limit on the search")
	}
	if err := m.CheckSchedule(a.Schedule); err != nil {
		return "", fmt.Errorf("its own schedule is wrong: %w", err)
	}
	if !exists {
		return "", fmt.Errorf("found %v where there is none", *a.Schedule)
	}
	if a.Ready != a.Schedule.End[m.Ready] || a.Ready < best {
		return "", fmt.Errorf("ready %d, end %d, optimum %d", a.Ready, a.Schedule.End[m.Ready], best)
	}
	if a.Status != Optimal || a.Ready != best {
		return "", fmt.Errorf("status %d, ready %d; the optimum is %d", a.Status, a.Ready, best)
	}
	return "optimal", nil
}

// bruteModels is how many models the test draws; BRUTE in the environment draws more.
const bruteModels = 4000

func TestSearchClaimsNothingThatTryingEverythingDenies(t *testing.T) {
	n, first := bruteModels, 0
	if s := os.Getenv("BRUTE"); s != "" {
		var err error
		n, err = strconv.Atoi(s)
		require.NoError(t, err)
		first = 1_000_000
	}
	count, bad := map[string]int{}, 0
	for i := range n {
		z := tiny
		if i%4 == 0 {
			z = size{people: 3, tasks: 5, horizon: 12, lags: 6}
		}
		m := numbers(uint64(first + i)).model(z)
		kind, err := against(m, Options{})
		if !assert.NoError(t, err, "seed %d: %+v", first+i, *m) {
			if bad++; bad > 5 {
				t.FailNow()
			}
		}
		count[kind]++
	}
	t.Log(count)
	// The draw is worth something only if every kind of claim is put to the test.
	for _, kind := range []string{"infeasible", "optimal"} {
		assert.Greater(t, count[kind], n/100, kind)
	}
}
