package cure

import (
	"errors"
	"fmt"
	"math"
)

// MassFactor is what the mass of a pot does to the time it lasts. A bulk of epoxy
// keeps the heat of its own reaction the better the larger it is:
//
//	t ∝ (RefG/m)^Power
//
// The form is common practice and no law: a small pot sheds its heat and a very large
// one sheds none, and at both ends the mass no longer matters. Between them, near
// runaway, no modest power holds. A heat balance of a pot that loses heat by
// conduction (loss per gram as m^(−2/3); 57.5 kJ/mol, adiabatic rise of 120 to 200
// degrees C, gel at 10 to 50 % of the reaction; integrated with SciPy) leaves between
// 0.95 and 0.37 of the time when the mass is doubled. So a class without data of its
// own for larger pots gives Power 0 and the reference as the largest pot, and a larger
// one is refused.
type MassFactor struct {
	RefG       float64 // g: the pot that the curve is of
	Power      float64 // 0: what another mass does is not known
	MinG, MaxG float64 // g: the factor is known between them; larger is refused
	From       string  // provenance
}

// maxPower bounds a believable power: adiabatic heating at its steepest.
const maxPower = 3

// Check says what is wrong with the factor, if anything.
func (f *MassFactor) Check() error {
	switch {
	case !positive(f.RefG):
		return errors.New("the reference mass must be more than zero")
	case !(f.Power >= 0 && f.Power <= maxPower):
		return fmt.Errorf("a power of %g is outside 0..%d: a larger pot is shorter", f.Power, maxPower)
	case !(f.MinG >= 0 && f.MinG <= f.RefG && f.RefG <= f.MaxG && !math.IsInf(f.MaxG, 1)):
		return fmt.Errorf("the reference of %.4g g lies outside the range, %.4g to %.4g g", f.RefG, f.MinG, f.MaxG)
	case f.Power == 0 && f.MaxG > f.RefG:
		return fmt.Errorf("with a power of 0 a pot of %.4g g would last as long as one of %.4g g", f.MaxG, f.RefG)
	}
	return nil
}

// at is the factor on the time of a pot of g grams, 0 where it is not said: for a
// not-after line at most 1, for a not-before one at least, since no small pot
// lengthens the time to work in. Masses under the range count as its lower end.
func (f *MassFactor) at(g float64, line Line) float64 {
	if g == 0 {
		return 1
	}
	t := math.Pow(f.RefG/math.Max(g, f.MinG), f.Power)
	switch line {
	case NotAfter:
		return math.Min(1, t)
	case NotBefore:
		return math.Max(1, t)
	}
	return t
}

// ofPot is the mass factor that a milestone runs with; nil for one that does not run
// in a pot.
func (c *Curve) ofPot(m Milestone) *MassFactor {
	if m > Assembly {
		return nil
	}
	return c.Mass
}

// inPot is the pace of what comes from a pot of g grams.
func (p *pace) inPot(m Milestone, g float64) *pace {
	if f := p.c.ofPot(m); f != nil {
		p.scale *= f.at(g, p.line)
	}
	return p
}

// plainInPot is the factor on the plain curve.
func (c *Curve) plainInPot(m Milestone, g float64) float64 {
	if f := c.ofPot(m); f != nil {
		return f.at(g, Likely)
	}
	return 1
}

// tooHeavy refuses a pot larger than the class's times hold for. No extrapolation
// answers: how soon a larger one runs hot is not known.
func (cl *Class) tooHeavy(m Milestone, c *Curve, g float64) error {
	if f := c.ofPot(m); f != nil && g > f.MaxG*(1+slack) {
		return &RangeError{Class: cl.ID, Milestone: m, Final: true,
			Text: fmt.Sprintf("a pot of %.4g g is over the %.4g g that its time holds for: a larger pot heats itself and sets early; mix less at a time", g, f.MaxG)}
	}
	return nil
}

// PotNote says what is assumed of the pot's mass for a milestone, in g with 0 for not
// said; "" where nothing is.
func (cl *Class) PotNote(m Milestone, potG float64) string {
	c, _, err := cl.Curve(m)
	if err != nil || m > Assembly {
		return ""
	}
	f := c.Mass
	switch {
	case f == nil && potG > 0:
		return "what the mass of the pot does to this class is not known: it is left out"
	case f == nil:
		return ""
	case potG == 0:
		return fmt.Sprintf("pot mass is not said: %.4g g is taken; a larger pot is shorter", f.RefG)
	case potG < f.MinG:
		return fmt.Sprintf("a pot under %.4g g is taken as %.4g g", f.MinG, f.MinG)
	case potG < f.RefG:
		return fmt.Sprintf("a smaller pot than %.4g g does not lengthen the line", f.RefG)
	}
	return ""
}

// grams refuses a mass of a pot that cannot be.
func grams(g float64) error {
	if !(g >= 0) || math.IsInf(g, 1) {
		return fmt.Errorf("no such mass of a pot: %g g", g)
	}
	return nil
}
