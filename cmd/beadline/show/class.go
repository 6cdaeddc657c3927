package show

import (
	"fmt"
	"io"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// ClassList writes one class after the other under its kind: id, pot life, cure and
// shelf life, with what it is below.
func ClassList(w io.Writer, classes []catalog.Class, u Units) error {
	s := sheet{w: w}
	for _, k := range catalog.Kinds() {
		first := true
		for _, c := range classes {
			if c.Kind != k {
				continue
			}
			if first {
				s.line("%-32s %-12s %-12s %-10s %s", strings.ToUpper(string(k)), "application", "cure", "keeps", "at")
				first = false
			}
			s.line("  %-30s %-12s %-12s %-10s %s", c.ID, rated(&c, cure.Application), rated(&c, cure.Cured), keeps(&c), reference(&c, u))
			s.block("      ", c.Name)
		}
		if !first {
			s.line("")
		}
	}
	s.block("", fmt.Sprintf("%s. Times are those of the plain curve at the temperature named; keeps is the life unopened. “class show ID” has every number with its source.", plural(len(classes), "class", "classes")))
	return s.err
}

// rated is the time of a milestone at the reference of its curve, or "-".
func rated(c *catalog.Class, m cure.Milestone) string {
	cv := c.Curves[m]
	if cv == nil {
		return "-"
	}
	return quantity.FormatSpan(seconds(cv.Rated(cure.Bead{})))
}

// reference is the temperature that the times of a class hold at, or the two where
// they are not the same.
func reference(c *catalog.Class, u Units) string {
	var said []string
	for _, m := range []cure.Milestone{cure.Application, cure.Cured} {
		if ref := referenceOf(c, m); ref != nil && (said == nil || said[0] != u.degrees(*ref)) {
			said = append(said, u.degrees(*ref))
		}
	}
	if said == nil {
		return ""
	}
	return strings.Join(said, "/") + u.unit()
}

// referenceOf is the temperature, in °C, that the time of a milestone holds at, or
// nil where the class has no curve for it.
func referenceOf(c *catalog.Class, m cure.Milestone) *float64 {
	if cv := c.Curves[m]; cv != nil {
		ref := cv.Form.Reference().TempC
		return &ref
	}
	return nil
}

// keeps is the life of a class unopened, or "-".
func keeps(c *catalog.Class) string {
	switch s := c.Shelf; {
	case s == nil:
	case s.Unlimited:
		return "unlimited"
	case s.Unopened.Known:
		return quantity.FormatLife(s.Unopened.Value)
	}
	return "-"
}

// seconds is a time of the physics as a duration, to the nearest second.
func seconds(s float64) time.Duration {
	return time.Duration(s*float64(time.Second) + 0.5).Round(time.Second)
}

// Class writes everything known of a class, each number with its provenance.
func Class(w io.Writer, c *catalog.Class, u Units) error {
	s := classSheet{sheet{w: w}, c, u}
	s.line("%s", c.ID)
	s.block("", c.Name)
	s.facts()
	for m, cv := range c.Curves {
		if cv != nil {
			s.curve(cure.Milestone(m), cv)
		}
	}
	if c.Degree != nil {
		s.degree(c.Degree)
	}
	s.laying()
	s.shelf()
	s.bullets("CAUTIONS", append(c.CautionSentences(), catalog.GeneralCautions()...))
	return s.err
}

type classSheet struct {
	sheet
	c *catalog.Class
	u Units
}

// fact is one line of name and value; nothing is written for no value.
func (s *classSheet) fact(name, value string) {
	if value != "" {
		s.block(fmt.Sprintf("  %-18s ", name), value)
	}
}

func (s *classSheet) from(text string) {
	if text != "" {
		s.block("      rests on: ", text)
	}
}

func (s *classSheet) heading(text string) {
	s.line("")
	s.line("%s", text)
}

func (s *classSheet) facts() {
	c := s.c
	s.heading("CLASS")
	s.fact("kind", string(c.Kind))
	s.fact("specification", c.Spec)
	s.fact("seals", strings.Join(sealWords(c.Seals), ", "))
	if c.MixByHand {
		s.fact("parts", "two, mixed before use")
	}
	if c.Density > 0 {
		s.fact("density", number(c.Density, 3)+" g/ml mixed")
	}
	if c.KitML > 0 {
		s.fact("kit", s.u.Volume(c.KitML))
	}
	if c.MaxGapMM > 0 {
		s.fact("largest gap", s.u.Length(c.MaxGapMM))
	}
	if c.SealWithin > 0 {
		s.fact("seal within", quantity.FormatSpan(c.SealWithin))
	}
	s.from(c.From)
	s.fact("read from", fmt.Sprintf("%s, line %d", c.File, c.Line))
}

func sealWords(seals []cure.Seal) []string {
	var w []string
	for _, x := range seals {
		w = append(w, string(x))
	}
	return w
}

func (s *classSheet) curve(m cure.Milestone, c *cure.Curve) {
	s.heading(fmt.Sprintf("%s, %s", strings.ToUpper(m.String()), lineWords(m.Line())))
	s.fact("curve", s.form(c.Form))
	s.fact("range", s.u.Temps(c.Temp))
	if !c.RH.IsZero() {
		s.fact("humidity range", percents(c.RH))
	}
	if c.MaxDepth > 0 {
		s.fact("deepest bead", s.u.Length(c.MaxDepth))
	}
	s.fact("time stated is", map[cure.States]string{cure.Typical: "typical", cure.Minimum: "a minimum", cure.Maximum: "a maximum"}[c.States])
	if c.Shorter > 0 || c.Longer > 0 {
		s.fact("spread", fmt.Sprintf("%s %% shorter to %s %% longer", number(100*c.Shorter, 1), number(100*c.Longer, 1)))
	}
	s.from(c.From)
	if h := c.Humidity; h != nil {
		s.fact("humidity", humidityWords(h))
		s.from(h.From)
	}
	if c.ColdExtends != "" {
		s.fact("cold", "lengthens this time")
		s.from(c.ColdExtends)
	}
	if f := c.Mass; f != nil {
		s.fact("pot mass", s.u.massWords(f))
		s.from(f.From)
	}
	if cr := c.Credit; cr != nil {
		s.fact("credit for warmth", s.form(cr.Form)+"; up to "+s.u.Temp(cr.MaxC))
		s.from(cr.From)
	}
}

// form is the shape of a curve in words.
func (s *classSheet) form(f cure.Form) string {
	u, ref := s.u, f.Reference()
	switch f := f.(type) {
	case cure.Doubling:
		return fmt.Sprintf("%s at %s; half for each %s warmer, double for each %s colder",
			quantity.FormatSpan(seconds(f.Time)), u.Temp(f.RefC), u.Step(f.StepC), u.Step(f.StepC))
	case cure.Arrhenius:
		return fmt.Sprintf("%s at %s; Arrhenius with %s kJ/mol", quantity.FormatSpan(seconds(f.Time)), u.Temp(f.RefC), number(f.Ea/1000, 2))
	case cure.Front:
		return fmt.Sprintf("%s for %s at %s and %s %% RH, from the face inward; as the square of the depth, inverse to vapour pressure%s",
			quantity.FormatSpan(seconds(f.Time)), u.Length(f.DepthMM), u.Temp(ref.TempC), number(ref.RH, 1), permeability(f.Ea))
	case *cure.Table:
		var said []string
		for _, p := range tablePoints(f) {
			at := u.Temp(p.TempC)
			if p.RH > 0 {
				at += " and " + number(p.RH, 1) + " % RH"
			}
			said = append(said, fmt.Sprintf("%s at %s", quantity.FormatSpan(seconds(p.Time)), at))
		}
		return strings.Join(said, ", ")
	}
	return f.Name()
}

func permeability(ea float64) string {
	if ea == 0 {
		return ""
	}
	return ", permeability with " + number(ea/1000, 2) + " kJ/mol"
}

// tablePoints are the points of a table; RH is 0 where it has no humidities.
func tablePoints(t *cure.Table) []cure.TablePoint {
	temps, rhs := t.Breaks()
	if len(rhs) == 0 {
		rhs = []float64{0}
	}
	var all []cure.TablePoint
	for _, c := range temps {
		for _, rh := range rhs {
			all = append(all, cure.TablePoint{TempC: c, RH: rh, Time: t.Seconds(c, rh, 0, cure.Bead{})})
		}
	}
	return all
}

func percents(r quantity.Range) string {
	return number(r.Lo, 1) + " to " + number(r.Hi, 1) + " % RH"
}

func humidityWords(h *cure.HumidityFactor) string {
	if h.Power != 0 {
		return fmt.Sprintf("time goes with (%s hPa / vapour pressure) to the power %s", number(h.RefPV, 2), number(h.Power, 3))
	}
	var said []string
	for _, p := range h.Points {
		said = append(said, fmt.Sprintf("× %s at %s %%", number(p.Factor, 3), number(p.RH, 1)))
	}
	return strings.Join(said, ", ")
}
