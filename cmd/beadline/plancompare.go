package main

import (
	"runtime"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/plan"
)

// planCompare shows a job's plan beside what one thing done otherwise would make of it. It
// is an answer whether or not the wish is met: the exit code is 0.
func (a *app) planCompare(name string, steps int) error {
	c, clashes, err := desk.Catalog(a.catalogs)
	if err != nil {
		return err
	}
	w, err := desk.OpenJob(name, c)
	if err != nil {
		return err
	}
	w.Input.Steps = steps
	found, err := plan.Compare(w.Input, runtime.GOMAXPROCS(0))
	if err != nil {
		return err
	}
	found.Assumed = append(append(found.Assumed, w.Notes...), clashes...)
	if a.format == "json" {
		return show.CompareJSON(a.out, found, w.Cautions)
	}
	return show.CompareText(a.out, found, w.Cautions, a.inUnits())
}
