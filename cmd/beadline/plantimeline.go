package main

import (
	"github.com/spf13/cobra"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show/picture"
	"beadline/cure/plan"
)

// planViews are the ways to see a plan over time.
type planViews struct {
	timeline bool
	plot     string
}

func (v *planViews) flags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&v.timeline, "timeline", false, "show the plan over time instead, in plain characters")
	cmd.Flags().StringVar(&v.plot, "plot", "", "draw the plan over time into a file as well: an .svg, .png or .pdf")
}

// check refuses what cannot be shown, before anything is planned.
func (v *planViews) check(a *app) error {
	if v.timeline && a.format != "text" {
		return usagef("--timeline is text: leave out --format %s, whose joints, gates, mixes and tasks hold all its times", a.format)
	}
	if v.plot == "" {
		return nil
	}
	return plottable(v.plot)
}

// draw draws the plan into the file that was asked for, if any. Where no plan was found
// nothing is drawn, and what stands in the file is said to be of another plan.
func (v *planViews) draw(a *app, p *plan.Plan) error {
	if v.plot == "" {
		return nil
	}
	l := desk.TimelineOf(p)
	if l == nil {
		a.note("no plan was found, so there is nothing to draw: " + v.plot + " is not written")
		return nil
	}
	return a.plot(v.plot, picture.Timeline(l, a.inUnits()))
}
