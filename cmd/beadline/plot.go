package main

import (
	"bytes"
	"errors"
	"fmt"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show/picture"
	"beadline/cure"
	"beadline/cure/quantity"
)

// plotClass draws a class into a file: its times against temperature. Without a file
// it does nothing. bead is the depth to draw, as written.
func (a *app) plotClass(file, bead string, cl *catalog.Class) error {
	if file == "" {
		if bead != "" {
			return usagef("--bead %s: the bead is for a picture: say --plot FILE too", bead)
		}
		return nil
	}
	if err := plottable(file); err != nil {
		return err
	}
	b, err := plotBead(bead, cl)
	if err != nil {
		return err
	}
	c, err := desk.CurvesOf(cl, b)
	if err != nil {
		return errors.New(a.inUnits().Text(err.Error()))
	}
	return a.plot(file, picture.Class(c))
}

func plotBead(bead string, cl *catalog.Class) (b cure.Bead, err error) {
	if bead == "" {
		return b, nil
	}
	if b.DepthMM, err = quantity.Length(bead); err != nil {
		return b, usagef("--bead %w", err)
	}
	switch {
	case b.DepthMM == 0:
		return b, usagef("--bead %s: a bead has a depth: write it like 3mm", bead)
	case !desk.BeadMatters(cl):
		return b, usagef("--bead %s: the times of %s do not depend on the bead: leave it out", bead, cl.ID)
	}
	return b, nil
}

// plotTimes draws an answer of times into a file: what air and cure do over time in an
// air history, or a bar for each milestone in constant air. Without a file it does
// nothing.
func (a *app) plotTimes(file string, t *desk.Times) error {
	if file == "" {
		return nil
	}
	if err := plottable(file); err != nil {
		return err
	}
	if len(t.Moments) == 0 {
		return fmt.Errorf("--plot %s: class %s has no times of milestones: there is nothing to draw", file, t.Class.ID)
	}
	if t.Site == nil {
		return a.plot(file, picture.Spans(t, a.inUnits()))
	}
	c, err := desk.CourseOf(t)
	if err != nil {
		return err
	}
	return a.plot(file, picture.Air(c, a.inUnits()))
}

// plottable refuses a file that no picture can be written to.
func plottable(file string) error {
	if _, err := picture.FormatOf(file); err != nil {
		return usagef("--plot %w", err)
	}
	return nil
}

// plot writes a picture, whole or not at all, and notes where it is.
func (a *app) plot(file string, p *picture.Picture) error {
	form, err := picture.FormatOf(file)
	if err != nil {
		return usagef("--plot %w", err)
	}
	var out bytes.Buffer
	if err := p.Write(&out, form); err != nil {
		return fmt.Errorf("--plot %s: %w", file, err)
	}
	if err := writeWhole(file, out.Bytes()); err != nil {
		return fmt.Errorf("--plot %w", err)
	}
	a.note("the picture is in " + file)
	return nil
}
