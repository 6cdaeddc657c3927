package cure

import (
	"fmt"
	"math"
	"slices"
	"time"

	"beadline/cure/air"
	"beadline/cure/quantity"
)

// Class is a generic kind of sealant as far as cure is concerned: its curves, when
// it may be laid, and what heat and moisture do to it. It is not a product.
type Class struct {
	ID    string
	Name  string
	Seals []Seal

	// Purpose is the property a joint needs the class for ("low-adhesion",
	// "conductive"); "": none in particular. Another class may stand in for this one
	// only if it has the same.
	Purpose string

	// Curves by milestone; nil where the class has none.
	Curves [NumMilestones]*Curve

	Apply    Apply
	Heat     *Heat     // nil: no accelerated cure
	Moisture *Moisture // nil: humidity is not known to matter
	Degree   *Degree   // nil: no rate law is known; information, never a line

	Density   float64 // g/ml of the mix; 0: not known
	MaxGapMM  float64 // largest gap it cures in, mm; 0: no limit known
	Cautions  []string
	MixByHand bool // two parts are mixed; false: used as it comes
}

// Seal is how a sealant is used in a joint.
type Seal string

// The seal types.
const (
	Faying       Seal = "faying"
	Fillet       Seal = "fillet"
	WetInstall   Seal = "wet-install"
	Overcoat     Seal = "overcoat"
	Injection    Seal = "injection"
	FormedGasket Seal = "formed-in-place gasket"
)

// SealTypes lists all seal types.
var SealTypes = []Seal{Faying, Fillet, WetInstall, Overcoat, Injection, FormedGasket}

// Takes reports whether the class is meant for a seal type.
func (c *Class) Takes(s Seal) bool { return slices.Contains(c.Seals, s) }

// Apply is when a class may be laid.
type Apply struct {
	Part quantity.Range // °C at the part; zero: not limited
	RH   quantity.Range // % RH of the air; zero: not limited
	From string         // provenance
}

// Heat is accelerated cure.
type Heat struct {
	MaxC  float64       // °C, ceiling
	After time.Duration // flash-off first, from the last sealant laid
	Needs string        // a condition in words, such as "all fasteners in"
	From  string        // provenance
}

// Moisture says that a class cures with the water in the air.
type Moisture struct {
	MinRH         float64 // % RH at the part; drier than that earns no cure
	ClosedWitness bool    // in a closed film the cure is by witness reading only
	From          string  // provenance
}

// States says what a curve's rated time is, as specifications state it: an
// application time is a minimum, a cure time a maximum.
type States uint8

// The statements.
const (
	Typical States = iota
	Minimum
	Maximum
)

// String is the word used in class files.
func (s States) String() string { return [...]string{"typical", "minimum", "maximum"}[s] }

// Curve is how long one milestone takes, with its range and what it rests on.
type Curve struct {
	Form     Form
	Humidity *HumidityFactor // nil: humidity does not enter (other than by Form)

	Temp     quantity.Range // °C: floor and ceiling
	RH       quantity.Range // % RH; zero: not limited
	MaxDepth float64        // mm; 0: not limited
	Mass     *MassFactor    // what the pot's mass does, for application and assembly; nil: not known to matter

	States  States
	Shorter float64 // spread: fraction by which the time may be shorter, 0..1
	Longer  float64 // spread: fraction by which the time may be longer, ≥ 0

	ColdExtends string  // source that lets cold lengthen a not-after line; "": it does not
	Credit      *Credit // nil: warmth does not shorten a not-before line
	From        string  // provenance of the curve
}

// Credit is the slope by which warmth above the reference may shorten a not-before
// line: shallower than the curve, and with a source of its own.
type Credit struct {
	Form Form
	MaxC float64 // °C: no more credit above this
	From string  // provenance
}

// HumidityFactor multiplies a curve's time. One of Power and Points is set.
type HumidityFactor struct {
	Power  float64         // t ∝ (RefPV/pv)^Power
	RefPV  float64         // hPa
	Points []HumidityPoint // log factor linear in RH between points, flat outside
	From   string
}

// HumidityPoint is a factor on the time at one humidity.
type HumidityPoint struct{ RH, Factor float64 }

func (h *HumidityFactor) at(rh, pv float64) float64 {
	if h.Power != 0 {
		if pv <= 0 {
			return math.Inf(1)
		}
		return math.Pow(h.RefPV/pv, h.Power)
	}
	p := h.Points
	switch {
	case rh <= p[0].RH:
		return p[0].Factor
	case rh >= p[len(p)-1].RH:
		return p[len(p)-1].Factor
	}
	i := 0
	for rh > p[i+1].RH {
		i++
	}
	f := (rh - p[i].RH) / (p[i+1].RH - p[i].RH)
	return math.Exp(math.Log(p[i].Factor)*(1-f) + math.Log(p[i+1].Factor)*f)
}

// Plain is the plain curve in seconds: no line, no spread, no range.
func (c *Curve) Plain(tempC, rh, pv float64, b Bead) float64 {
	s := c.Form.Seconds(tempC, rh, pv, b)
	if c.Humidity != nil {
		s *= c.Humidity.at(rh, pv)
	}
	return s
}

// Rated is the time at the curve's reference condition for a bead, in seconds.
func (c *Curve) Rated(b Bead) float64 {
	r := c.Form.Reference()
	b.Closed = false
	return c.Plain(r.TempC, r.RH, r.Vapour(), b)
}

// Has reports whether the class can answer for the milestone, by a curve of its
// own or, for assembly, by falling back to application.
func (c *Class) Has(m Milestone) bool {
	_, _, err := c.Curve(m)
	return err == nil
}

// Curve finds the curve of a milestone. Assembly falls back to application, and
// the note says so. Any other milestone without a curve is refused.
func (c *Class) Curve(m Milestone) (curve *Curve, note string, err error) {
	if m >= NumMilestones {
		return nil, "", fmt.Errorf("there is no %s", m)
	}
	if cv := c.Curves[m]; cv != nil {
		return cv, "", nil
	}
	if cv := c.Curves[Application]; m == Assembly && cv != nil {
		return cv, "no assembly time is published for " + c.ID + ": the application time stands for it", nil
	}
	return nil, "", fmt.Errorf("class %s has no %s curve", c.ID, m)
}

// vapourAt is the vapour pressure at a surface: never above saturation there.
func vapourAt(tempC, pv float64) float64 { return math.Min(pv, air.Saturation(tempC)) }
