package catalog

import (
	"fmt"
	"strings"

	"beadline/cure"
	"beadline/cure/quantity"
)

// mass reads what the mass of a pot does: {ref: 200g, power: 0.5, range: 50..400g,
// from: …}, the power 0 where only the mass of the data is known.
func (s *section) mass() *cure.MassFactor {
	before := s.r.errors
	p := s.r.section(s.fields["mass"], s.what+", mass", []string{"ref", "power", "range", "from"}, nil)
	if p == nil {
		return nil
	}
	r := value(p, "range", massRange)
	f := &cure.MassFactor{
		RefG:  value(p, "ref", positive(quantity.Mass)),
		Power: value(p, "power", between(0, 3)),
		MinG:  r.Lo, MaxG: r.Hi,
		From: value(p, "from", phrase(maxFrom)),
	}
	if s.r.errors > before {
		return nil
	}
	if err := f.Check(); err != nil {
		p.fail("range", err.Error(), "")
		return nil
	}
	return f
}

// massRange reads 50..400g, or ..400g where there is no lower end, and gives g.
func massRange(text string) (quantity.Range, error) {
	wrong := fmt.Errorf("%s: not a range of masses: write it like 50..400g", quoted(text))
	lo, hi, ok := strings.Cut(strings.TrimSpace(text), "..")
	if !ok {
		return quantity.Range{}, wrong
	}
	r := quantity.Range{}
	var err error
	if r.Hi, err = quantity.Mass(hi); err != nil {
		return quantity.Range{}, err
	}
	if lo = strings.TrimSpace(lo); lo != "" {
		unit := strings.TrimLeft(strings.TrimSpace(hi), "0123456789.,+-eE ")
		if r.Lo, err = quantity.Mass(lo + unit); err != nil {
			return quantity.Range{}, wrong
		}
	}
	if !(r.Lo < r.Hi) {
		return quantity.Range{}, fmt.Errorf("%s: the range runs backwards or has no width: write it like 50..400g", quoted(text))
	}
	return r, nil
}

// pot checks that a mass stands where there is a pot, and that millilitres can be
// turned into grams.
func (l linter) pot(m cure.Milestone, cv *cure.Curve) {
	switch {
	case cv.Mass == nil:
	case m.Line() != cure.NotAfter:
		l.fail(m.String()+": mass belongs to application and assembly", "leave it out: what is laid no longer heats itself as a pot does")
	case l.c.Density == 0:
		l.fail(m.String()+": the mass of the pot counts, and no density says what a millilitre weighs", "add density: 1.3g/ml with its from to the class")
	}
}
