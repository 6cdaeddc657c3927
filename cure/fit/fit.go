// Package fit finds the curve behind a few measured times: how long a milestone of
// cure took at several temperatures, humidities or depths becomes a curve with its
// parameters, their standard errors, and the error it makes at a condition that was
// left out of the fit.
//
// Everything is fitted in the logarithm of time, so that errors are relative: 10 % of
// 20 min weighs as much as 10 % of 20 days. Percentages are exp(e) − 1 of an error e
// in log time. Conditions come in as plain numbers; the package knows no files, no
// classes, no clock.
//
// Read on in try.go (one form against the points), choose.go (which form to take),
// table.go (reading between the points themselves), linear.go and nonlinear.go (least
// squares).
package fit

import (
	"fmt"
	"math"
)

// GasConstant is R in J/(mol K), exact since the 2019 SI (BIPM, The International
// System of Units, 9th edition: N_A·k).
const GasConstant = 8.31446261815324

const kelvin = 273.15

// Point is one measured time.
type Point struct {
	TempC   float64 // °C, above absolute zero
	RH      float64 // % RH; 0: not given
	PV      float64 // water-vapour pressure, hPa; 0: not given
	DepthMM float64 // depth of the bead, mm; 0: not given
	Seconds float64 // more than 0
}

// Reference is the condition that the fitted time is given for.
type Reference struct {
	TempC   float64 // °C
	PV      float64 // hPa; for the forms with humidity
	DepthMM float64 // mm; for the fronts
}

// Form is a shape of curve. T is in °C in doubling, in kelvin elsewhere; pv is vapour
// pressure, d depth.
type Form uint8

// The forms, the simpler ones first.
const (
	Front          Form = iota // t = t_ref (d/d_ref)² (pv_ref/pv)
	FrontEa                    // … · exp[(Ea/R)(1/T − 1/T_ref)]
	Doubling                   // t = t_ref · 2^((T_ref − T)/step)
	Arrhenius                  // t = t_ref · exp[(Ea/R)(1/T − 1/T_ref)]
	DoublingHumid              // doubling · (pv_ref/pv)^power
	ArrheniusHumid             // arrhenius · (pv_ref/pv)^power
	Table                      // log t linear in 1/T, and in RH, between the points
	numForms
)

var formNames = [numForms]string{"front", "front with Ea", "doubling", "arrhenius", "doubling with humidity", "arrhenius with humidity", "table"}

// String is the form's name in text and JSON.
func (f Form) String() string {
	if f < numForms {
		return formNames[f]
	}
	return fmt.Sprintf("form %d", uint8(f))
}

// Name of a parameter.
const (
	Time  = "time"  // s at the reference
	Step  = "step"  // °C for which the time halves
	Ea    = "ea"    // J/mol
	Power = "power" // of the vapour pressure ratio
)

// Param is one fitted number.
type Param struct {
	Name   string
	Value  float64
	StdErr float64 // standard error, in the unit of Value; NaN: the points give none
}

// Fit is one form against the points.
type Fit struct {
	Form   Form
	Reason string  // why the form cannot be used; "": it can
	Params []Param // the time first; none for a table

	// Q10 is the factor by which the time falls for 10 °C of warming, from the
	// reference up; NaN where the form has none of its own. Q10Err is its standard
	// error, NaN where there is none.
	Q10, Q10Err float64

	Fitted []float64 // s, for each point
	RMS    float64   // exp(√(mean e²)) − 1 over the points, e in log time
	Free   int       // points less parameters

	// LeftOut is, for each point, the error in log time (measured less predicted) of
	// the form fitted without the condition of that point; NaN where that cannot be
	// done. Points of one condition are left out together.
	LeftOut []float64
}

// Param finds a parameter by name; its value is NaN if the form has no such one.
func (f *Fit) Param(name string) Param {
	for _, p := range f.Params {
		if p.Name == name {
			return p
		}
	}
	return Param{Name: name, Value: math.NaN(), StdErr: math.NaN()}
}

// Error is the leave-one-out error, exp(√(mean e²)) − 1, and how many points it was
// made on; NaN and 0 where no point can be left out.
func (f *Fit) Error() (rms float64, points int) { return leftOut(f.LeftOut, f.LeftOut) }

// leftOut is the leave-one-out error over the points that both lists have.
func leftOut(e, other []float64) (rms float64, points int) {
	sum := 0.
	for i := range e {
		if !math.IsNaN(e[i]) && !math.IsNaN(other[i]) {
			sum += e[i] * e[i]
			points++
		}
	}
	if points == 0 {
		return math.NaN(), 0
	}
	return math.Expm1(math.Sqrt(sum / float64(points))), points
}

// condition is what two replicates share.
type condition struct{ tempC, rh, depth float64 }

func (p Point) condition() condition { return condition{p.TempC, p.RH, p.DepthMM} }

// check refuses points that no curve can be laid through.
func check(points []Point) error {
	for i, p := range points {
		for _, v := range []float64{p.TempC, p.RH, p.PV, p.DepthMM, p.Seconds} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("point %d holds a number that is none", i+1)
			}
		}
		if p.TempC <= -kelvin || p.Seconds <= 0 || p.RH < 0 || p.PV < 0 || p.DepthMM < 0 {
			return fmt.Errorf("point %d cannot be: %g C, %g %% RH, %g hPa, %g mm, %g s", i+1, p.TempC, p.RH, p.PV, p.DepthMM, p.Seconds)
		}
	}
	return nil
}

// distinct counts the different values of a quantity of the points.
func distinct(points []Point, of func(Point) float64) int {
	seen := map[float64]bool{}
	for _, p := range points {
		seen[of(p)] = true
	}
	return len(seen)
}

func temp(p Point) float64     { return p.TempC }
func humidity(p Point) float64 { return p.RH }
func depth(p Point) float64    { return p.DepthMM }
