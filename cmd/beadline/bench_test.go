package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

// BenchmarkCommand runs whole commands on the demo, in one process.
func BenchmarkCommand(b *testing.B) {
	b.Chdir(b.TempDir())
	if err := writeDemo(demoFolder); err != nil {
		b.Fatal(err)
	}
	const own = " --catalog beadline-demo/classes.yaml"
	for _, c := range []struct{ name, line string }{
		{"times", "times polysulfide-b-2 --temp 18C --rh 45"},
		{"times-on-a-log", "times polysulfide-b-2 --air beadline-demo/hangar-march.csv --from 2027-03-22T08:00 --zone Atlantic/Faroe"},
		{"check", "check S-2207 --stock beadline-demo/stock.csv --at 2027-03-29" + own},
		{"flag", "flag beadline-demo/stock.csv --at 2027-03-29" + own},
		{"plan", "plan beadline-demo/job.yaml --stock beadline-demo/stock.csv" + own},
		{"plan-spread", "plan beadline-demo/job.yaml --spread 2000" + own},
		{"plan-with-fixes", "plan beadline-demo/job-first-wish.yaml" + own},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				var out bytes.Buffer
				a := &app{in: strings.NewReader(""), out: &out, err: &out, clock: time.Now}
				a.run(strings.Fields(c.line))
			}
		})
	}
}
