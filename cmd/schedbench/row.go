package main

import (
	"strconv"
	"time"

	"beadline/cure/plan/solve"
)

// result is the answer to one instance.
type result struct {
	instance string
	status   solve.Status
	makespan int // of a schedule, where there is one
	bound    int // no schedule is done before this, unless there is none
	took     time.Duration
}

var statuses = map[solve.Status]string{solve.Unknown: "unknown", solve.Feasible: "feasible", solve.Optimal: "optimal", solve.Infeasible: "infeasible"}

var columns = []string{"instance", "status", "makespan", "bound", "ms"}

func (r *result) scheduled() bool { return r.status == solve.Feasible || r.status == solve.Optimal }

// row is the result as it is written.
func (r *result) row() []string {
	makespan, bound := "", ""
	if r.scheduled() {
		makespan = strconv.Itoa(r.makespan)
	}
	if r.status != solve.Infeasible {
		bound = strconv.Itoa(r.bound)
	}
	return []string{r.instance, statuses[r.status], makespan, bound, strconv.FormatFloat(milliseconds(r.took), 'f', 3, 64)}
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
