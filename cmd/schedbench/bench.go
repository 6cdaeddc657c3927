package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"path/filepath"

	"beadline/cure/plan/solve"
)

// bench answers every file in turn and writes its row at once.
func (a *app) bench(paths []string) error {
	var against *published
	if a.compare != "" {
		var err error
		if against, err = readPublished(a.compare, paths); err != nil {
			return err
		}
	}
	w := csv.NewWriter(a.out)
	write := func(row []string) error {
		err := w.Write(row)
		w.Flush()
		if err == nil {
			err = w.Error()
		}
		if err != nil {
			return fmt.Errorf("the rows cannot be written: %w", err)
		}
		return nil
	}
	if err := write(columns); err != nil {
		return err
	}
	for _, path := range paths {
		p, err := readFile(path)
		if err != nil {
			a.complain(err)
			a.code = max(a.code, exitFailure)
			continue
		}
		r, err := a.answer(p, path)
		if err != nil {
			a.complain(fmt.Errorf("%s: %w", path, err))
			a.code = exitContrary
		}
		if err := write(r.row()); err != nil {
			return err
		}
		if against != nil && !against.judge(a.err, r) {
			a.code = exitContrary
		}
	}
	if against != nil {
		against.summary(a.err)
	}
	return nil
}

// answer asks the core, and counts over again what it found. An error is a fault of
// the core; the result then claims nothing.
func (a *app) answer(p *instance, path string) (result, error) {
	r := result{instance: filepath.Base(path)}
	begin := a.clock()
	if p.impossible() {
		r.status, r.took = solve.Infeasible, a.clock().Sub(begin)
		return r, nil
	}
	// Steps are not what ends a search here: the clock does.
	ans, err := solve.Solve(p.model(), solve.Options{Steps: math.MaxInt32, Rough: true, Workers: a.workers, Stop: func() bool {
		return a.clock().Sub(begin) >= a.limit
	}})
	r.took = a.clock().Sub(begin)
	if err != nil {
		return r, fmt.Errorf("the core refuses the instance (a fault of this program): %w", err)
	}
	unclaimed := r
	r.status, r.bound = ans.Status, ans.Bound
	if !r.scheduled() {
		return r, nil
	}
	if err := p.check(ans.Schedule.Start); err != nil {
		return unclaimed, fmt.Errorf("the schedule found breaks the instance (a fault of this program): %w", err)
	}
	r.makespan = ans.Schedule.Start[p.sink()]
	switch {
	case r.bound > r.makespan:
		return unclaimed, fmt.Errorf("a bound of %d above a schedule of %d (a fault of this program)", r.bound, r.makespan)
	case r.status == solve.Optimal && r.bound != r.makespan:
		return unclaimed, fmt.Errorf("%d is called optimal with a bound of %d (a fault of this program)", r.makespan, r.bound)
	}
	return r, nil
}
