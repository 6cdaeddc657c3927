package plan_test

import (
	"runtime"
	"testing"

	"beadline/cure/plan"
)

// BenchmarkSpread plays the demo's plan 2000 times on all processors, each pair of plays
// up to the thousandth three times more for the sources.
func BenchmarkSpread(b *testing.B) {
	p, err := plan.Make(demo(b, "job.yaml"))
	if err != nil {
		b.Fatal(err)
	}
	o := plan.AllSpread(2000, 1)
	o.Workers = runtime.GOMAXPROCS(0)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Play(o); err != nil {
			b.Fatal(err)
		}
	}
}
