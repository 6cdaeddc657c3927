package main

import (
	"fmt"
	"strings"

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

const planViewsHelp = `--timeline shows the plan over time instead of in tables: the whole job on one scale,
then every stretch of work to five minutes, who does what and what state each joint is
in, in plain characters that any terminal and printer has. --plot draws the same as a
picture to print and pin up: an A4 sheet, or a larger one where the plan is long.

`

func (v *planViews) flags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&v.timeline, "timeline", false, "show the plan over time instead, in plain characters")
	cmd.Flags().StringVar(&v.plot, "plot", "", "draw the plan over time into a file as well: an .svg, .png or .pdf")
	cmd.Long = strings.TrimSuffix(cmd.Long, planExits) + planViewsHelp + planExits
	cmd.Example += "\n  beadline plan job.yaml --timeline --plot plan.pdf"
}

// check refuses what cannot be shown, before anything is planned.
func (v *planViews) check(a *app) error {
	if v.timeline && a.format != "text" {
		return usagef("--timeline is text: leave out --format %s, or leave out --timeline: that format has all its times", a.format)
	}
	if v.plot == "" {
		return nil
	}
	if err := plottable(v.plot); err != nil {
		return err
	}
	if err := placeFor(v.plot); err != nil {
		return fmt.Errorf("--plot %w", err)
	}
	return nil
}

// draw draws the plan into the file that was asked for, if any. Where no plan was found
// nothing is drawn, and it is said that the file was not written.
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
