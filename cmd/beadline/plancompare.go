package main

import (
	"runtime"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/plan"
)

// planCompare shows a job's plan beside what one thing done otherwise would make of it. It
// is an answer whether or not the wish is met: the exit code is 0.
func (a *app) planCompare(name string, f planFlags) error {
	switch {
	case f.stock != "":
		return usagef("--stock %s: --compare plans without the shelf: leave it out", f.stock)
	case f.play != nil || f.views.timeline || f.views.plot != "" || a.format == "csv":
		return usagef("--compare is a table of plans: leave out --spread, --timeline, --plot and --format csv")
	}
	c, clashes, err := desk.Catalog(a.catalogs)
	if err != nil {
		return err
	}
	w, err := desk.OpenJob(name, c)
	if err != nil {
		return err
	}
	limit, err := thinkTime(f.think)
	if err != nil {
		return err
	}
	w.Input.Steps, w.Input.Late = f.steps, f.late
	t := a.think(limit, w.Input.Job)
	w.Input.Stop = t.stop
	found, err := plan.Compare(w.Input, runtime.GOMAXPROCS(0))
	t.end()
	if err != nil {
		return err
	}
	found.Assumed = append(append(found.Assumed, w.Notes...), clashes...)
	if a.format == "json" {
		return show.CompareJSON(a.out, found, w.Cautions)
	}
	return show.CompareText(a.out, found, w.Cautions, a.inUnits())
}
