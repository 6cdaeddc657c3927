package show

import (
	"fmt"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

// degreeOfCure writes the degree of cure below a table of times; nothing for nil.
func (s *sheet) degreeOfCure(d *desk.Degree, u Units) {
	if d == nil {
		return
	}
	s.line("")
	s.line("DEGREE OF CURE (information, not a line to work to)")
	if d.Refused != "" {
		s.block("  ", u.Text("No answer: "+d.Refused+"."))
	}
	for _, r := range d.Rows {
		what, span, at := percent(r.Degree), "not in this air", ""
		if r.Milestone != "" {
			what += " at " + r.Milestone
		}
		if r.Known {
			span = "after " + quantity.FormatSpan(r.Span)
		}
		if !r.At.IsZero() {
			at = s.full(r.At.Round(time.Minute))
		}
		s.line("  %-22s %-22s %s", what, span, at)
	}
	for _, e := range d.Outside {
		counts := "nothing is counted there"
		if strings.HasPrefix(e.What, "above") {
			counts = "counted as at the ceiling"
		}
		s.block("  ", u.Text(fmt.Sprintf("The part is %s for %s: %s.", e.What, quantity.FormatSpan(e.For), counts)))
	}
	s.block("  ", u.Text(fmt.Sprintf("Known from %.4g to %.4g C.", d.TempC.Lo, d.TempC.Hi)))
	s.block("  rests on: ", d.RestsOn.From)
}

// percent writes a degree of cure; one that is not all is not rounded up to it.
func percent(alpha float64) string {
	p := number(100*alpha, 1)
	if p == "100" && alpha < 1 {
		return "over 99.9 %"
	}
	return p + " %"
}

// degreeJSON is the degree of cure in `times --format json`; refused says why there
// are no rows.
type degreeJSON struct {
	RangeC  [2]float64      `json:"range-c"`
	Rows    []degreeRowJSON `json:"rows"`
	Refused string          `json:"refused,omitempty"`
	Outside []excursionJSON `json:"outside"`
	Source  string          `json:"source"`
}

// degreeRowJSON is a degree, 0 to 1, and when it is reached; null where it is not.
type degreeRowJSON struct {
	Milestone string     `json:"milestone,omitempty"`
	Degree    float64    `json:"degree"`
	Seconds   *int64     `json:"seconds"`
	At        *time.Time `json:"at"`
}

// degreeShape is the degree of cure for programs; nil for nil.
func degreeShape(d *desk.Degree) *degreeJSON {
	if d == nil {
		return nil
	}
	o := &degreeJSON{RangeC: [2]float64{d.TempC.Lo, d.TempC.Hi}, Rows: []degreeRowJSON{}, Refused: d.Refused, Outside: []excursionJSON{}, Source: d.RestsOn.From}
	for _, r := range d.Rows {
		o.Rows = append(o.Rows, degreeRowJSON{r.Milestone, r.Degree, secondsOf(r.Span, r.Known), instantOf(r.At)})
	}
	for _, e := range d.Outside {
		o.Outside = append(o.Outside, excursionJSON{e.What, int64(e.For / time.Second)})
	}
	return o
}

// degree writes the rate law of a class with its parameters.
func (s *classSheet) degree(d *cure.Degree) {
	s.heading("DEGREE OF CURE, information and not a line")
	var ks []cure.RateConstant
	switch l := d.Law.(type) {
	case cure.TwoBranch:
		s.fact("rate law", fmt.Sprintf("two-branch: (k1 + k2 α)(1 − α)(%s − α) up to α = %s, k3 (1 − α) above", number(l.B, 4), number(l.Branch, 4)))
		ks = []cure.RateConstant{l.K1, l.K2, l.K3}
	case cure.Autocatalytic:
		if l.K2.A == 0 {
			s.fact("rate law", fmt.Sprintf("of order %s: k1 (1 − α)^%s", number(l.N, 4), number(l.N, 4)))
			ks = []cure.RateConstant{l.K1}
			break
		}
		s.fact("rate law", fmt.Sprintf("autocatalytic: (k1 + k2 α^%s)(1 − α)^%s", number(l.M, 4), number(l.N, 4)))
		ks = []cure.RateConstant{l.K1, l.K2}
	}
	for i, k := range ks {
		s.fact(fmt.Sprintf("k%d", i+1), fmt.Sprintf("%.5g /s · exp(−%s kJ/mol / RT)", k.A, number(k.Ea/1000, 3)))
	}
	s.fact("range", s.u.Temps(d.Temp))
	s.from(d.From)
}

// lawJSON is the rate law of a class: a in 1/s, ea in J/mol.
type lawJSON struct {
	Law       string         `json:"law"`
	Constants []constantJSON `json:"constants"`
	M         float64        `json:"m,omitempty"`
	N         *float64       `json:"n,omitempty"`
	B         float64        `json:"b,omitempty"`
	Branch    float64        `json:"branch,omitempty"`
	RangeC    [2]float64     `json:"range-c"`
	From      string         `json:"from"`
}

type constantJSON struct {
	A  float64 `json:"a-per-s"`
	Ea float64 `json:"ea-j-mol"`
}

func lawShape(d *cure.Degree) *lawJSON {
	if d == nil {
		return nil
	}
	o := &lawJSON{Law: d.Law.Name(), RangeC: [2]float64{d.Temp.Lo, d.Temp.Hi}, From: d.From}
	add := func(ks ...cure.RateConstant) {
		for _, k := range ks {
			o.Constants = append(o.Constants, constantJSON{k.A, k.Ea})
		}
	}
	switch l := d.Law.(type) {
	case cure.TwoBranch:
		add(l.K1, l.K2, l.K3)
		o.B, o.Branch = l.B, l.Branch
	case cure.Autocatalytic:
		add(l.K1)
		o.N = &l.N
		if l.K2.A != 0 {
			add(l.K2)
			o.M = l.M
		}
	}
	return o
}

// massJSON is what the mass of a pot does.
type massJSON struct {
	RefG  float64 `json:"ref-g"`
	Power float64 `json:"power"`
	MinG  float64 `json:"min-g"`
	MaxG  float64 `json:"max-g"`
	From  string  `json:"from"`
}

// massWords says what the mass of a pot does to its time.
func (u Units) massWords(f *cure.MassFactor) string {
	if f.Power == 0 {
		return fmt.Sprintf("the time is of %s; a larger pot is refused, a smaller one lasts no longer", u.Mass(f.RefG))
	}
	return fmt.Sprintf("the time is of %s, and goes with (%s / mass) to the power %s; a smaller pot lengthens no line, one over %s is refused",
		u.Mass(f.RefG), u.Mass(f.RefG), number(f.Power, 3), u.Mass(f.MaxG))
}

// Mass writes g grams: "193 g" or "6.8 oz".
func (u Units) Mass(g float64) string {
	if u == US {
		return number(g/28.349523125, 1) + " oz"
	}
	return number(g, 0) + " g"
}
