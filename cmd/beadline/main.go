// Command beadline helps the people who seal aircraft joints: it says whether a tin
// is still good, how long the pot lasts, when to mix, torque, close and fly, and
// what on the shelf has expired. It is a planning aid; approved maintenance data
// and the maker's data sheet prevail.
package main

import (
	"os"
	"time"
	_ "time/tzdata" // zones work on a machine that has none installed
)

func main() {
	a := &app{in: os.Stdin, out: os.Stdout, err: os.Stderr, clock: time.Now}
	os.Exit(a.run(os.Args[1:]))
}
