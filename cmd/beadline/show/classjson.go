package show

import (
	"fmt"
	"io"
	"time"

	"github.com/rickb777/date/period"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// classJSON is the shape of `class show --format json`. What the class does not give
// is left out.
type classJSON struct {
	ID         string          `json:"id"`
	Name       string          `json:"name"`
	Spec       string          `json:"spec,omitempty"`
	Kind       string          `json:"kind"`
	Seals      []string        `json:"seals"`
	TwoParts   bool            `json:"two-parts"`
	Curves     []curveJSON     `json:"curves"`
	Apply      *applyJSON      `json:"apply,omitempty"`
	Heat       *heatJSON       `json:"heat,omitempty"`
	Moisture   *moistureJSON   `json:"moisture,omitempty"`
	Degree     *lawJSON        `json:"degree-of-cure,omitempty"`
	Hardness   *hardnessJSON   `json:"hardness,omitempty"`
	Shelf      []shelfRuleJSON `json:"shelf"`
	Density    float64         `json:"density-g-ml,omitempty"`
	KitML      float64         `json:"kit-ml,omitempty"`
	MaxGapMM   float64         `json:"max-gap-mm,omitempty"`
	SealWithin int64           `json:"seal-within-seconds,omitempty"`
	From       string          `json:"from,omitempty"`
	Cautions   []string        `json:"cautions"`
	File       string          `json:"file"`
	Line       int             `json:"line"`
}

type curveJSON struct {
	Name        string        `json:"name"`
	Line        string        `json:"line"`
	Form        formJSON      `json:"form"`
	RangeC      [2]float64    `json:"range-c"`
	RangeRH     *[2]float64   `json:"range-rh-pct,omitempty"`
	MaxDepthMM  float64       `json:"max-depth-mm,omitempty"`
	States      string        `json:"states"`
	ShorterPct  float64       `json:"shorter-pct"`
	LongerPct   float64       `json:"longer-pct"`
	Humidity    *humidityJSON `json:"humidity,omitempty"`
	ColdExtends string        `json:"cold-extends,omitempty"`
	Credit      *creditJSON   `json:"credit,omitempty"`
	Mass        *massJSON     `json:"pot-mass,omitempty"`
	From        string        `json:"from"`
}

// formJSON is a curve's shape: seconds at ref-c (and ref-rh-pct), and how it goes on.
type formJSON struct {
	Name    string      `json:"name"`
	RefC    float64     `json:"ref-c"`
	RefRH   float64     `json:"ref-rh-pct,omitempty"`
	Seconds float64     `json:"seconds"`
	StepC   float64     `json:"step-c,omitempty"`
	EaJ     float64     `json:"ea-j-mol,omitempty"`
	DepthMM float64     `json:"depth-mm,omitempty"`
	Points  []pointJSON `json:"points,omitempty"`
}

type pointJSON struct {
	TempC   float64 `json:"temp-c"`
	RHPct   float64 `json:"rh-pct,omitempty"`
	Seconds float64 `json:"seconds"`
}

type humidityJSON struct {
	Power  float64      `json:"power,omitempty"`
	RefHPa float64      `json:"ref-hpa,omitempty"`
	Points []factorJSON `json:"points,omitempty"`
	From   string       `json:"from"`
}

type factorJSON struct {
	RHPct  float64 `json:"rh-pct"`
	Factor float64 `json:"factor"`
}

type creditJSON struct {
	Form formJSON `json:"form"`
	MaxC float64  `json:"max-c"`
	From string   `json:"from"`
}

type applyJSON struct {
	PartC *[2]float64 `json:"part-c,omitempty"`
	RHPct *[2]float64 `json:"rh-pct,omitempty"`
	From  string      `json:"from"`
}

type heatJSON struct {
	MaxC  float64 `json:"max-c"`
	After int64   `json:"after-seconds,omitempty"`
	Needs string  `json:"needs,omitempty"`
	From  string  `json:"from"`
}

type moistureJSON struct {
	MinRH         float64 `json:"min-rh-pct"`
	ClosedWitness bool    `json:"closed-by-witness"`
	From          string  `json:"from"`
}

type hardnessJSON struct {
	AtCure float64 `json:"at-cure,omitempty"`
	Final  float64 `json:"final,omitempty"`
	Scale  string  `json:"scale"`
	From   string  `json:"from"`
}

// ClassJSON writes everything known of a class for programs.
func ClassJSON(w io.Writer, c *catalog.Class) error {
	o := classJSON{
		ID: c.ID, Name: c.Name, Spec: c.Spec, Kind: string(c.Kind), Seals: list(sealWords(c.Seals)), TwoParts: c.MixByHand,
		Curves: []curveJSON{}, Shelf: []shelfRuleJSON{},
		Density: c.Density, KitML: c.KitML, MaxGapMM: c.MaxGapMM, SealWithin: int64(c.SealWithin / time.Second), From: c.From,
		Cautions: append(c.CautionSentences(), catalog.GeneralCautions()...), File: c.File, Line: c.Line,
	}
	for m, cv := range c.Curves {
		if cv != nil {
			o.Curves = append(o.Curves, curveShape(cure.Milestone(m), cv))
		}
	}
	if a := c.Apply; a.From != "" {
		o.Apply = &applyJSON{pair(a.Part), pair(a.RH), a.From}
	}
	if h := c.Heat; h != nil {
		o.Heat = &heatJSON{h.MaxC, int64(h.After / time.Second), h.Needs, h.From}
	}
	if m := c.Moisture; m != nil {
		o.Moisture = &moistureJSON{m.MinRH, m.ClosedWitness, m.From}
	}
	if h := c.Hardness; h != nil {
		o.Hardness = &hardnessJSON{h.AtCure, h.Final, h.Scale, h.From}
	}
	o.Degree = lawShape(c.Degree)
	if c.Shelf != nil {
		o.Shelf = shelfShape(c.Shelf)
	}
	return writeJSON(w, o)
}

// pair is a range, or null where it was never set.
func pair(r quantity.Range) *[2]float64 {
	if r.IsZero() {
		return nil
	}
	return &[2]float64{r.Lo, r.Hi}
}

func curveShape(m cure.Milestone, c *cure.Curve) curveJSON {
	o := curveJSON{
		Name: m.String(), Line: m.Line().String(), Form: formShape(c.Form), RangeC: [2]float64{c.Temp.Lo, c.Temp.Hi},
		RangeRH: pair(c.RH), MaxDepthMM: c.MaxDepth, States: c.States.String(),
		ShorterPct: 100 * c.Shorter, LongerPct: 100 * c.Longer, ColdExtends: c.ColdExtends, From: c.From,
	}
	if h := c.Humidity; h != nil {
		o.Humidity = &humidityJSON{Power: h.Power, RefHPa: h.RefPV, From: h.From}
		for _, p := range h.Points {
			o.Humidity.Points = append(o.Humidity.Points, factorJSON{p.RH, p.Factor})
		}
	}
	if f := c.Mass; f != nil {
		o.Mass = &massJSON{f.RefG, f.Power, f.MinG, f.MaxG, f.From}
	}
	if cr := c.Credit; cr != nil {
		o.Credit = &creditJSON{formShape(cr.Form), cr.MaxC, cr.From}
	}
	return o
}

func formShape(f cure.Form) formJSON {
	ref := f.Reference()
	o := formJSON{Name: f.Name(), RefC: ref.TempC, Seconds: f.Seconds(ref.TempC, ref.RH, ref.Vapour(), cure.Bead{})}
	switch f := f.(type) {
	case cure.Doubling:
		o.StepC = f.StepC
	case cure.Arrhenius:
		o.EaJ = f.Ea
	case cure.Front:
		o.RefRH, o.EaJ, o.DepthMM = ref.RH, f.Ea, f.DepthMM
	case *cure.Table:
		for _, p := range tablePoints(f) {
			o.Points = append(o.Points, pointJSON{p.TempC, p.RH, p.Time})
			if p.RH > 0 {
				o.RefRH = ref.RH
			}
		}
	}
	return o
}

// isoLife writes a shelf life in ISO 8601, as years, months and days.
func isoLife(p period.Period) string {
	s := "P"
	if p.Years() > 0 {
		s += fmt.Sprintf("%dY", p.Years())
	}
	if p.Months() > 0 {
		s += fmt.Sprintf("%dM", p.Months())
	}
	if p.Days() > 0 || s == "P" {
		s += fmt.Sprintf("%dD", p.Days())
	}
	return s
}

// classRowJSON is one class in `class list --format json`.
type classRowJSON struct {
	ID          string   `json:"id"`
	Name        string   `json:"name"`
	Kind        string   `json:"kind"`
	Spec        string   `json:"spec"`
	Seals       []string `json:"seals"`
	Application *int64   `json:"application-seconds"`
	AppRefC     *float64 `json:"application-ref-c"`
	Cure        *int64   `json:"cure-seconds"`
	CureRefC    *float64 `json:"cure-ref-c"`
	Unopened    *string  `json:"unopened"`
	File        string   `json:"file"`
}

// ClassListJSON writes the classes for programs: times of the plain curve in seconds
// at their references, unopened life in ISO 8601 or "unlimited".
func ClassListJSON(w io.Writer, classes []catalog.Class) error {
	rows := []classRowJSON{}
	for _, c := range classes {
		rows = append(rows, classRow(&c))
	}
	return writeJSON(w, struct {
		Classes []classRowJSON `json:"classes"`
	}{rows})
}

func classRow(c *catalog.Class) classRowJSON {
	o := classRowJSON{
		ID: c.ID, Name: c.Name, Kind: string(c.Kind), Spec: c.Spec, Seals: list(sealWords(c.Seals)), File: c.File,
		AppRefC: referenceOf(c, cure.Application), CureRefC: referenceOf(c, cure.Cured),
	}
	for m, to := range map[cure.Milestone]**int64{cure.Application: &o.Application, cure.Cured: &o.Cure} {
		if cv := c.Curves[m]; cv != nil {
			*to = secondsOf(seconds(cv.Rated(cure.Bead{})), true)
		}
	}
	if s := c.Shelf; s != nil {
		life := "unlimited"
		if !s.Unlimited {
			life = isoLife(s.Unopened.Value)
		}
		if s.Unlimited || s.Unopened.Known {
			o.Unopened = &life
		}
	}
	return o
}

// ClassListCSV writes the classes as one line each.
func ClassListCSV(w io.Writer, classes []catalog.Class) error {
	var rows [][]string
	for _, c := range classes {
		o := classRow(&c)
		life := ""
		if o.Unopened != nil {
			life = *o.Unopened
		}
		rows = append(rows, []string{o.ID, o.Name, o.Kind, o.Spec, cell(o.Application), number64(o.AppRefC), cell(o.Cure), number64(o.CureRefC), life, o.File})
	}
	return writeCSV(w, []string{"id", "name", "kind", "spec", "application-seconds", "application-ref-c", "cure-seconds", "cure-ref-c", "unopened", "file"}, rows)
}

// problemJSON is one finding of `class lint --format json`.
type problemJSON struct {
	File     string `json:"file"`
	Line     int    `json:"line"`
	Column   int    `json:"column"`
	Severity string `json:"severity"`
	Text     string `json:"text"`
	Remedy   string `json:"remedy"`
}

// LintJSON writes what is wrong with class files for programs.
func LintJSON(w io.Writer, problems []catalog.Problem) error {
	rows := []problemJSON{}
	for _, p := range problems {
		rows = append(rows, problemJSON{p.File, p.Line, p.Col, string(p.Severity), p.Text, p.Remedy})
	}
	return writeJSON(w, struct {
		Problems []problemJSON `json:"problems"`
	}{rows})
}
