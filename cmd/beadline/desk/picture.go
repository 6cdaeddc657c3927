package desk

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// ClassCurves is a class as a picture shows it: how long each milestone takes in
// constant air, against temperature.
type ClassCurves struct {
	Class  *catalog.Class
	Temp   quantity.Range  // °C: from the coldest to the warmest end of what is drawn
	Humid  bool            // humidity enters a curve, so that there are several panels
	Panels []HumidityCurve // one for each humidity, rising; at least one
	// Missing says which milestones are not drawn and why, a sentence each.
	Missing []string
}

// HumidityCurve is every milestone of a class at one humidity.
type HumidityCurve struct {
	RH     float64 // %
	Curves []MilestoneCurve
}

// MilestoneCurve is the time of one milestone against temperature.
type MilestoneCurve struct {
	Milestone cure.Milestone
	Range     quantity.Range // °C: where the curve holds; it is drawn to 80 °C under and 200 °C over the reference at most
	DepthMM   float64        // of the bead drawn, mm; 0: the depth does not enter
	WorkTo    []SpanAt       // the line to work to, by temperature, rising; none where the class goes by the witness cup
	Likely    []SpanAt       // the plain curve
	Points    []SpanAt       // of the data sheet, where the curve is a table
	Rated     *SpanAt        // nil where it holds at another humidity than this
	Also      string         // a milestone that this curve stands in for
}

// SpanAt is a time at a temperature.
type SpanAt struct{ TempC, Seconds float64 }

// The humidities, in %, that a class is drawn at where humidity enters a curve, and
// the one where it does not.
var drawnRH = []float64{30, 50, 80}

const plainRH = 50

// How far from its reference, in °C, a curve is drawn whose range has no end.
const colderDrawn, warmerDrawn = 80, 200

// leastDrawn is the shortest time that is drawn: nobody works to a shorter one.
const leastDrawn = time.Second

// curveSteps is how many straight pieces a curve is drawn with, apart from its kinks.
const curveSteps = 120

// CurvesOf computes the curves of a class for a picture. bead is the depth asked
// for; without one each curve that needs a depth takes that of its reference, or the
// deepest it holds for if that is less. Errors: the bead cannot be, or there is
// nothing to draw.
func CurvesOf(cl *catalog.Class, bead cure.Bead) (*ClassCurves, error) {
	d := &ClassCurves{Class: cl, Temp: quantity.Range{Lo: math.Inf(1), Hi: math.Inf(-1)}}
	var rhs []float64
	rhs, d.Humid = panelHumidities(cl)
	for _, rh := range rhs {
		p := HumidityCurve{RH: rh}
		for m := range cure.NumMilestones {
			if cl.Curves[m] == nil {
				continue
			}
			c, err := drawCurve(cl, m, rh, bead)
			var outside *cure.RangeError
			switch {
			case errors.As(err, &outside):
				d.miss(fmt.Sprintf("%s is not drawn: %s.", m, outside.Text))
				continue
			case err != nil:
				return nil, err
			}
			if c.WorkTo == nil && c.Likely == nil {
				d.miss(fmt.Sprintf("%s is not drawn: it takes less than a second, or more than a hundred years.", m))
				continue
			}
			p.Curves = append(p.Curves, c)
			for _, pts := range [][]SpanAt{c.WorkTo, c.Likely} {
				for _, pt := range pts {
					d.Temp.Lo, d.Temp.Hi = math.Min(d.Temp.Lo, pt.TempC), math.Max(d.Temp.Hi, pt.TempC)
				}
			}
		}
		d.Panels = append(d.Panels, p)
	}
	switch {
	case d.Temp.Lo <= d.Temp.Hi:
		return d, nil
	case d.Missing != nil:
		return nil, fmt.Errorf("class %s: nothing can be drawn: %s", cl.ID, d.Missing[0])
	}
	return nil, fmt.Errorf("class %s has no times: nothing is known of its pot life or cure, so there is nothing to draw", cl.ID)
}

func (d *ClassCurves) miss(text string) {
	if !slices.Contains(d.Missing, text) {
		d.Missing = append(d.Missing, text)
	}
}

// BeadMatters reports whether a curve of the class, or what it cures in at all,
// depends on the depth of the bead.
func BeadMatters(cl *catalog.Class) bool {
	for _, c := range cl.Curves {
		if c == nil {
			continue
		}
		if _, front := c.Form.(cure.Front); front || c.MaxDepth > 0 || cl.MaxGapMM > 0 {
			return true
		}
	}
	return false
}

// panelHumidities are the humidities to draw a class at: within what its curves hold
// for, and not so dry that it goes by the witness cup.
func panelHumidities(cl *catalog.Class) (rhs []float64, humid bool) {
	lo, hi := 0.0, 100.0
	for _, c := range cl.Curves {
		if c == nil {
			continue
		}
		humid = humid || looksAtHumidity(c)
		if r := humidities(c); !r.IsZero() {
			lo, hi = math.Max(lo, r.Lo), math.Min(hi, r.Hi)
		}
	}
	if cl.Moisture != nil {
		lo = math.Max(lo, cl.Moisture.MinRH)
	}
	fit := func(rh float64) float64 { return math.Max(lo, math.Min(hi, rh)) }
	if !humid {
		return []float64{fit(plainRH)}, false
	}
	for _, rh := range drawnRH {
		rhs = append(rhs, fit(rh))
	}
	return slices.Compact(rhs), true
}

// looksAtHumidity reports a curve whose time humidity changes.
func looksAtHumidity(c *cure.Curve) bool {
	_, rhs := c.Form.Breaks()
	_, front := c.Form.(cure.Front)
	return front || c.Humidity != nil || len(rhs) > 0
}

// humidities is the range of humidity, in %, that a curve holds for; zero: any.
func humidities(c *cure.Curve) quantity.Range {
	if _, rhs := c.Form.Breaks(); c.RH.IsZero() && len(rhs) > 1 {
		return quantity.Range{Lo: rhs[0], Hi: rhs[len(rhs)-1]}
	}
	return c.RH
}

// drawCurve computes one milestone at one humidity.
func drawCurve(cl *catalog.Class, m cure.Milestone, rh float64, bead cure.Bead) (MilestoneCurve, error) {
	c := cl.Curves[m]
	bead = drawnBead(c, bead)
	d := MilestoneCurve{Milestone: m, Range: c.Temp}
	if _, front := c.Form.(cure.Front); front {
		d.DepthMM = bead.DepthMM
	}
	if m == cure.Application && cl.Curves[cure.Assembly] == nil {
		d.Also = cure.Assembly.String()
	}
	for _, tempC := range drawnTemps(cl, c) {
		a, err := cl.Steady(m, m.Line(), cure.Steady{Air: cure.Air{TempC: tempC, RH: rh}, PotC: tempC, PartC: tempC, Bead: bead})
		if err != nil {
			return d, err
		}
		if !a.Never && a.Time >= leastDrawn {
			d.WorkTo = append(d.WorkTo, SpanAt{tempC, a.Time.Seconds()})
		}
		if !a.LikelyNever && a.Likely >= leastDrawn {
			d.Likely = append(d.Likely, SpanAt{tempC, a.Likely.Seconds()})
		}
	}
	d.Points = dataPoints(c, rh, bead)
	if ref := c.Form.Reference(); !looksAtHumidity(c) || math.Abs(ref.RH-rh) < 0.5 {
		d.Rated = &SpanAt{ref.TempC, c.Rated(bead)}
	}
	return d, nil
}

// drawnBead is the bead a curve is drawn for.
func drawnBead(c *cure.Curve, bead cure.Bead) cure.Bead {
	front, is := c.Form.(cure.Front)
	if is && bead.DepthMM == 0 {
		bead.DepthMM = front.DepthMM
		if c.MaxDepth > 0 {
			bead.DepthMM = math.Min(front.DepthMM, c.MaxDepth)
		}
	}
	return bead
}

// drawnTemps are the temperatures, in °C, that a curve is computed at, rising: even
// steps over its range, and every kink of the curve and of the line.
func drawnTemps(cl *catalog.Class, c *cure.Curve) []float64 {
	ref := c.Form.Reference().TempC
	lo, hi := math.Max(c.Temp.Lo, ref-colderDrawn), math.Min(c.Temp.Hi, ref+warmerDrawn)
	kinks, _ := c.Form.Breaks()
	temps := append(slices.Clone(kinks), ref)
	if cr := c.Credit; cr != nil {
		more, _ := cr.Form.Breaks()
		temps = append(append(temps, more...), cr.MaxC)
	}
	if cl.Heat != nil {
		temps = append(temps, cl.Heat.MaxC)
	}
	for i := range curveSteps + 1 {
		temps = append(temps, lo+(hi-lo)*float64(i)/curveSteps)
	}
	temps = slices.DeleteFunc(temps, func(t float64) bool { return t < lo || t > hi })
	slices.Sort(temps)
	return slices.Compact(temps)
}

// dataPoints are the points of a table that hold at a humidity.
func dataPoints(c *cure.Curve, rh float64, bead cure.Bead) (points []SpanAt) {
	table, is := c.Form.(*cure.Table)
	if !is {
		return nil
	}
	temps, rhs := table.Breaks()
	if len(rhs) > 0 && !slices.Contains(rhs, rh) {
		return nil
	}
	for _, tempC := range temps {
		points = append(points, SpanAt{tempC, c.Plain(tempC, rh, cure.Air{TempC: tempC, RH: rh}.Vapour(), bead)})
	}
	return points
}
