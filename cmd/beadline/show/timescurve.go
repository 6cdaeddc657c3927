package show

import (
	"fmt"
	"math"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

// restsOn lists for each milestone its curve in words and where that comes from,
// milestones with the same ones together, then what the windows rest on.
func (s *timesSheet) restsOn() {
	type source struct{ what, words, from string }
	var order []source
	names := map[source][]string{}
	for _, m := range s.t.Moments {
		for _, r := range m.RestsOn {
			k := source{r.What, restWords(s.t.Class, m.Milestone, r.What, s.u), r.From}
			if names[k] == nil {
				order = append(order, k)
			}
			names[k] = append(names[k], m.Milestone.String())
		}
	}
	s.line("")
	s.line("WHAT IT RESTS ON")
	for _, k := range order {
		head := strings.Join(names[k], ", ")
		if k.what != "" {
			head += " (" + k.what + ")"
		}
		s.block("  ", head)
		if k.words != "" {
			s.block("      ", k.words+".")
		}
		s.block("      ", k.from)
	}
	for _, r := range s.t.Laying {
		s.block("  ", "when to seal ("+r.What+")")
		s.block("      ", s.u.Text(r.From))
	}
	s.block("  ", "“class show "+s.t.Class.ID+"” has every number; “times --help” says how a line is drawn from its curve.")
}

// restWords says in words what one entry of what a milestone rests on is: the curve
// itself, what humidity does to it, or the credit for warmth.
func restWords(cl *catalog.Class, m cure.Milestone, what string, u Units) string {
	c, _, err := cl.Curve(m)
	if err != nil {
		return ""
	}
	switch {
	case what == "":
		return curveWords(c, u)
	case what == desk.OnHumidity && c.Humidity != nil:
		return humidityWords(c.Humidity)
	case what == desk.OnWarmth && c.Credit != nil:
		return creditWords(c.Credit, u)
	case what == desk.OnHeat && cl.Heat != nil:
		return heatWords(cl.Heat, u)
	}
	return ""
}

// curveWords says a curve in one line: how long, at what, what warmth does.
func curveWords(c *cure.Curve, u Units) string {
	states := map[cure.States]string{cure.Minimum: " at least", cure.Maximum: " at most"}[c.States]
	words := formWords(c.Form, states, u)
	if c.Shorter > 0 || c.Longer > 0 {
		words += fmt.Sprintf("; spread %s %% shorter to %s %% longer", number(100*c.Shorter, 1), number(100*c.Longer, 1))
	}
	return words
}

func formWords(f cure.Form, states string, u Units) string {
	span := func(s float64) string { return quantity.FormatSpan(seconds(s)) }
	switch f := f.(type) {
	case cure.Doubling:
		return fmt.Sprintf("%s%s at %s; half for each %s warmer, double for each %s colder", span(f.Time), states, u.Temp(f.RefC), u.Step(f.StepC), u.Step(f.StepC))
	case cure.Arrhenius:
		return fmt.Sprintf("%s%s at %s; Arrhenius with %s kJ/mol, so about half for %s warmer", span(f.Time), states, u.Temp(f.RefC), number(f.Ea/1000, 2), u.Step(halving(f)))
	case cure.Front:
		return fmt.Sprintf("%s%s for %s at %s and %s %% RH, from the face inward; as the square of the depth, inverse to vapour pressure%s",
			span(f.Time), states, u.Length(f.DepthMM), u.Temp(f.Ref.TempC), number(f.Ref.RH, 1), permeability(f.Ea))
	case *cure.Table:
		lo, hi, _, _ := f.Span()
		at := u.Temp(f.Reference().TempC)
		if _, rhs := f.Breaks(); len(rhs) > 0 {
			at += " and " + number(f.Reference().RH, 1) + " % RH"
		}
		ref := f.Reference()
		return fmt.Sprintf("%s%s at %s; read between %s from %s to %s", span(f.Seconds(ref.TempC, ref.RH, ref.Vapour(), cure.Bead{})), states, at,
			plural(len(tablePoints(f)), "point", "points"), u.degrees(lo), u.Temp(hi))
	}
	return f.Name()
}

// halving is how much warmer, in °C, an Arrhenius rate is about twice as fast near its
// reference: R·T²·ln 2/Ea.
func halving(a cure.Arrhenius) float64 {
	t := a.RefC + 273.15
	return cure.GasConstant * t * t * math.Ln2 / a.Ea
}

func creditWords(cr *cure.Credit, u Units) string {
	most := ", counted up to " + u.Temp(cr.MaxC)
	if d, ok := cr.Form.(cure.Doubling); ok {
		return fmt.Sprintf("half for each %s above %s%s", u.Step(d.StepC), u.Temp(d.RefC), most)
	}
	return formWords(cr.Form, "", u) + most
}

func heatWords(h *cure.Heat, u Units) string {
	words := "at most " + u.Temp(h.MaxC)
	if h.After > 0 {
		words += ", not before " + quantity.FormatSpan(h.After) + " from the last sealant laid"
	}
	if h.Needs != "" {
		words += ", and only with " + h.Needs
	}
	return words
}
