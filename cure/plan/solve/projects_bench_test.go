package solve

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// drawnSearch is how long BenchmarkProjects searches in each project.
const drawnSearch = time.Second

// BenchmarkProjects searches in projects of 30 to 120 tasks, some of them with maximum
// lags, and says how many are decided and how far above its bound the rest is. Names and
// sizes are those of the public sets; the projects are drawn.
func BenchmarkProjects(b *testing.B) {
	for _, name := range []string{"30", "30-hard", "60", "90", "120", "max-50", "max-100"} {
		b.Run(name, func(b *testing.B) {
			set := drawnSet(name)
			var took []time.Duration
			decided, open, gap := 0, 0, 0.0
			for b.Loop() {
				took, decided, open, gap = took[:0], 0, 0, 0
				for _, m := range set {
					begin := time.Now()
					a, err := Solve(m, Options{Rough: true, Stop: func() bool { return time.Since(begin) >= drawnSearch }})
					took = append(took, time.Since(begin))
					require.NoError(b, err)
					switch {
					case a.Status == Optimal || a.Status == Infeasible:
						decided++
					case a.Status == Feasible:
						open++
						gap += 100 * float64(a.Ready-a.Bound) / float64(a.Bound)
					}
				}
			}
			slices.Sort(took)
			b.ReportMetric(100*float64(decided)/float64(len(set)), "decided-%")
			b.ReportMetric(gap/float64(max(1, open)), "open-gap-%")
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
		})
	}
}
