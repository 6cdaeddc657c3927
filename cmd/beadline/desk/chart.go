package desk

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// ChartQuestion asks for the times of a class over a grid of constant air, for a chart
// on the wall: air and part are alike in each row.
type ChartQuestion struct {
	Class  *catalog.Class
	TempsC []float64 // °C, rising, at least one
	RHs    []float64 // % RH, rising; none: it is not said, as the class does not look at it
	PotC   float64   // °C of the pot where the air is colder; NaN: as the air
	Bead   cure.Bead
	Seal   cure.Seal // "": not said
}

// Chart is the answer. Every grid has a row for each of TempsC and a column for each
// of RHs, or one column where the humidity is not said.
type Chart struct {
	ChartQuestion
	Milestones []ChartMilestone // those of the class, in their order
	// Stops say for each cell why nothing is to be laid in its air; none: it may be.
	Stops [][][]string
	// Limits says in words what air and part the class is laid in.
	Limits   string
	Assumed  []string
	Cautions []string
}

// ChartMilestone is one milestone of a chart.
type ChartMilestone struct {
	Milestone cure.Milestone
	Line      cure.Line
	Humid     bool             // humidity enters; false: all columns of a row are alike
	Cells     [][]Moment       // each is the answer of AskTimes for its air
	Range     string           // the range of its curve in words, as the physics writes it
	Rests     []catalog.Source // what the cells rest on, each once
}

// AskChart answers each cell as AskTimes does. Errors: no temperature, more of them or
// of humidities than there is order in, the errors of AskTimes, and a *Refusal when
// every cell lies outside the curves' ranges.
func AskChart(q ChartQuestion) (*Chart, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	c := &Chart{ChartQuestion: q, Limits: limits(q.Class, len(q.RHs) > 0), Assumed: []string{oneTemperature}}
	for i, tempC := range q.TempsC {
		c.Stops = append(c.Stops, nil)
		for j := range max(1, len(q.RHs)) {
			t, err := q.cell(tempC, j)
			if err != nil {
				return nil, err
			}
			c.add(i, t)
		}
	}
	for k := range c.Milestones {
		c.Milestones[k].Range = rangeOf(q.Class, c.Milestones[k].Milestone)
	}
	return c, c.allRefused()
}

// oneTemperature is what the rows of a chart take for granted, and what to do where it
// does not hold. A part colder than the air has damper air at it than its row says,
// which is the safe side: damp air cures no slower.
const oneTemperature = "Each row is air, pot and part of one temperature. Where the part is colder than the air, read the lines to wait for in the row of the part; where the pot is warmer, read the lines not to work past in the row of the pot."

func (q ChartQuestion) check() error {
	switch {
	case len(q.TempsC) == 0:
		return errors.New("a chart needs at least one temperature")
	case !rising(q.TempsC) || !rising(q.RHs):
		return errors.New("the temperatures and humidities of a chart rise, each once")
	}
	return nil
}

// rising reports numbers that grow, each once. NaN grows nowhere.
func rising(v []float64) bool {
	for i := 1; i < len(v); i++ {
		if !(v[i] > v[i-1]) {
			return false
		}
	}
	return true
}

// cell asks one question of the grid. That one cell lies outside every range is no
// error of the chart.
func (q ChartQuestion) cell(tempC float64, j int) (*Times, error) {
	t := TimesQuestion{Class: q.Class, Air: cure.Air{TempC: tempC}, PotC: q.PotC, PartC: tempC, Bead: q.Bead, Seal: q.Seal}
	if math.IsNaN(t.PotC) {
		t.PotC = tempC
	}
	if len(q.RHs) > 0 {
		t.Air.RH, t.RHSaid = q.RHs[j], true
	}
	a, err := AskTimes(t)
	var outside *Refusal
	if errors.As(err, &outside) && a != nil {
		err = nil
	}
	return a, err
}

// add takes a cell into row i.
func (c *Chart) add(i int, t *Times) {
	if c.Milestones == nil {
		c.Cautions = t.Cautions
		for _, m := range t.Moments {
			c.Milestones = append(c.Milestones, ChartMilestone{
				Milestone: m.Milestone, Line: m.Line, Humid: humid(c.Class, m.Milestone, c.Bead), Cells: make([][]Moment, len(c.TempsC)),
			})
		}
	}
	for k, m := range t.Moments {
		cm := &c.Milestones[k]
		cm.Cells[i] = append(cm.Cells[i], m)
		cm.Rests = union(cm.Rests, m.RestsOn)
	}
	c.Stops[i] = append(c.Stops[i], t.Stops)
	c.Assumed = union(c.Assumed, t.Assumed)
}

func union[T comparable](all, more []T) []T {
	for _, x := range more {
		if !slices.Contains(all, x) {
			all = append(all, x)
		}
	}
	return all
}

// limits says what air and part a class is laid in; humidity enters where it is said.
func limits(cl *catalog.Class, rhSaid bool) string {
	var said []string
	if r := cl.Apply.Part; !r.IsZero() {
		said = append(said, fmt.Sprintf("the part at %.4g to %.4g C", r.Lo, r.Hi))
	}
	if r := cl.Apply.RH; rhSaid && !r.IsZero() {
		said = append(said, fmt.Sprintf("the air at %g to %g %% RH", r.Lo, r.Hi))
	}
	if rhSaid {
		said = append(said, fmt.Sprintf("the part at least %g degrees C above the dew point", dewMargin))
	}
	if len(said) < 2 {
		return strings.Join(said, "")
	}
	return strings.Join(said[:len(said)-1], ", ") + " and " + said[len(said)-1]
}

// humid reports whether the humidity of the air enters a milestone: by its curve, or
// by the rule that a class which needs moisture earns no cure in dry air.
func humid(cl *catalog.Class, m cure.Milestone, b cure.Bead) bool {
	c, _, err := cl.Curve(m)
	if err != nil {
		return false
	}
	moist := func(f cure.Form) bool {
		_, front := f.(cure.Front)
		_, rhs := f.Breaks()
		return front || len(rhs) > 0
	}
	w := cl.Moisture
	return moist(c.Form) || c.Humidity != nil || !c.RH.IsZero() || c.Credit != nil && moist(c.Credit.Form) ||
		m.Line() == cure.NotBefore && w != nil && w.MinRH > 0 && !b.Closed
}

// rangeOf is the range of a milestone's curve in words, as the physics writes it.
func rangeOf(cl *catalog.Class, m cure.Milestone) string {
	c, _, err := cl.Curve(m)
	if err != nil {
		return ""
	}
	said := []string{fmt.Sprintf("%.4g to %.4g C", c.Temp.Lo, c.Temp.Hi)}
	rh := c.RH
	if _, rhs := c.Form.Breaks(); rh.IsZero() && len(rhs) > 1 {
		rh = quantity.Range{Lo: rhs[0], Hi: rhs[len(rhs)-1]}
	}
	if !rh.IsZero() {
		said = append(said, fmt.Sprintf("%g to %g %% RH", rh.Lo, rh.Hi))
	}
	if c.MaxDepth > 0 {
		said = append(said, fmt.Sprintf("at most %g mm deep from each open face", c.MaxDepth))
	}
	return strings.Join(said, ", ")
}

// allRefused is an error when no cell has an answer.
func (c *Chart) allRefused() error {
	for _, m := range c.Milestones {
		for _, row := range m.Cells {
			if slices.ContainsFunc(row, func(x Moment) bool { return x.Refused == "" }) {
				return nil
			}
		}
	}
	m := c.Milestones[0]
	return &Refusal{fmt.Sprintf("class %s: no time can be given anywhere on this chart: %s: %s", c.Class.ID, m.Milestone, m.Cells[0][0].Refused)}
}
