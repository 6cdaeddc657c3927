// Command schedbench runs the scheduling core (beadline/cure/plan/solve) on public
// benchmark instances, so that its answers and its speed can be held against what is
// published. It reads the two open formats of such instances, each told by what is in
// the file: .sm, projects with precedence (sm.go), and .sch, projects with minimum and
// maximum time lags (sch.go). It writes one row of CSV for each (row.go); with
// --compare it holds the rows against published answers (compare.go).
package main

import (
	"os"
	"time"
)

func main() {
	a := &app{out: os.Stdout, err: os.Stderr, clock: time.Now}
	os.Exit(a.run(os.Args[1:]))
}
