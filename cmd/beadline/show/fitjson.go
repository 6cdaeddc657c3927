package show

import (
	"io"
	"math"

	datasheet "beadline/catalog/sheet"
	"beadline/cmd/beadline/desk"
	"beadline/cure/fit"
)

// fitJSON is the shape of `class fit --format json`. Times are in seconds, and not
// rounded: they are results of a fit. A share of 0.1 is 10 %.
type fitJSON struct {
	Sheet      string             `json:"sheet"`
	Rows       int                `json:"rows"`
	ID         string             `json:"id"`
	Kind       string             `json:"kind"`
	Written    *string            `json:"written"`
	ClassFile  *string            `json:"class-file"`
	Refused    []string           `json:"refused"`
	Against    []string           `json:"against"`
	Warnings   []string           `json:"warnings"`
	Milestones []fitMilestoneJSON `json:"milestones"`
	Assumed    []string           `json:"assumed"`
	Missing    []string           `json:"missing"`
	Cautions   []string           `json:"cautions"`
}

type fitMilestoneJSON struct {
	Name     string        `json:"name"`
	Line     string        `json:"line"`
	Refused  *string       `json:"refused"`
	Form     *string       `json:"form"`
	Why      string        `json:"why"`
	Curve    *formJSON     `json:"curve"`
	RefC     *float64      `json:"ref-c"`
	Shorter  float64       `json:"spread-shorter"`
	Longer   float64       `json:"spread-longer"`
	Moved    float64       `json:"moved"`
	Tried    []fitFormJSON `json:"tried"`
	Rows     []fitRowJSON  `json:"rows"`
	Promises []fitRuleJSON `json:"ten-degree-rule"`
	Notes    []string      `json:"notes"`
}

type fitFormJSON struct {
	Form       string         `json:"form"`
	Chosen     bool           `json:"chosen"`
	Reason     *string        `json:"not-used"`
	Params     []fitParamJSON `json:"parameters"`
	Q10        *float64       `json:"q10"`
	Q10Err     *float64       `json:"q10-error"`
	RMS        *float64       `json:"rms"`
	LeftOut    *float64       `json:"left-out"`
	LeftOutRow int            `json:"left-out-rows"`
}

type fitParamJSON struct {
	Name   string   `json:"name"`
	Unit   string   `json:"unit"`
	Value  float64  `json:"value"`
	StdErr *float64 `json:"error"`
}

type fitRowJSON struct {
	LineNo   int      `json:"row"`
	TempC    float64  `json:"temp-c"`
	RHPct    *float64 `json:"rh-pct"`
	BeadMM   *float64 `json:"bead-mm"`
	Measured float64  `json:"seconds"`
	Fitted   *float64 `json:"fitted-seconds"`
	Residual *float64 `json:"residual"`
	Line     *float64 `json:"line-seconds"`
	Source   string   `json:"source"`
}

type fitRuleJSON struct {
	LineNo  int     `json:"row"`
	TempC   float64 `json:"temp-c"`
	Seconds float64 `json:"rule-seconds"`
	Off     float64 `json:"off"`
	Unsafe  bool    `json:"unsafe"`
}

var fitUnits = map[string]string{fit.Time: "s", fit.Step: "°C", fit.Ea: "J/mol", fit.Power: ""}

// FitJSON writes what a data sheet comes to for programs.
func FitJSON(w io.Writer, f *desk.Fit, written string) error {
	o := fitJSON{
		Sheet: f.Sheet.Name, Rows: len(f.Sheet.Rows), ID: f.Options.ID, Kind: f.Options.Kind,
		Written: someText(written), Refused: list(f.Refused()), Against: []string{}, Warnings: []string{},
		Milestones: []fitMilestoneJSON{}, Assumed: list(append(append([]string{}, f.Sheet.Notes...), f.Assumed...)),
		Missing: list(f.Missing), Cautions: list(f.Cautions),
	}
	if f.Whole() {
		o.ClassFile = someText(string(f.YAML))
	}
	for _, p := range f.Against {
		o.Against = append(o.Against, p.String())
	}
	for _, p := range f.Advice {
		o.Warnings = append(o.Warnings, p.String())
	}
	for _, m := range f.Milestones {
		o.Milestones = append(o.Milestones, fitMilestone(m))
	}
	return writeJSON(w, o)
}

func fitMilestone(m *datasheet.Milestone) fitMilestoneJSON {
	o := fitMilestoneJSON{
		Name: m.Milestone.String(), Line: m.Milestone.Line().String(), Refused: someText(m.Refused), Why: m.Why, Moved: m.Moved,
		Tried: []fitFormJSON{}, Rows: []fitRowJSON{}, Promises: []fitRuleJSON{}, Notes: list(m.Notes),
	}
	if b := m.Best(); b != nil {
		o.Form, o.RefC = someText(b.Form.String()), &m.Ref.TempC
		shape := formShape(m.Curve.Form)
		o.Curve, o.Shorter, o.Longer = &shape, m.Curve.Shorter, m.Curve.Longer
	}
	for i := range m.Tried {
		o.Tried = append(o.Tried, fitForm(&m.Tried[i], i == m.Chosen))
	}
	for i, r := range m.Rows {
		row := fitRowJSON{LineNo: r.Line, TempC: r.TempC, RHPct: known(r.RH), BeadMM: known(r.BeadMM), Measured: r.Seconds, Source: r.Source}
		if m.Readings != nil {
			q := &m.Readings[i]
			row.Fitted, row.Residual, row.Line = &q.Fitted, &q.Residual, finite(q.Line)
		}
		o.Rows = append(o.Rows, row)
	}
	for _, p := range m.Rule.Promises {
		o.Promises = append(o.Promises, fitRuleJSON{p.Row.Line, p.Row.TempC, p.Seconds, p.Off, p.Unsafe})
	}
	return o
}

func fitForm(f *fit.Fit, chosen bool) fitFormJSON {
	o := fitFormJSON{Form: f.Form.String(), Chosen: chosen, Reason: someText(f.Reason), Params: []fitParamJSON{}}
	if f.Reason != "" {
		return o
	}
	o.Q10, o.Q10Err, o.RMS = finite(f.Q10), finite(f.Q10Err), finite(f.RMS)
	e, n := f.Error()
	o.LeftOut, o.LeftOutRow = finite(e), n
	for _, p := range f.Params {
		o.Params = append(o.Params, fitParamJSON{p.Name, fitUnits[p.Name], p.Value, finite(p.StdErr)})
	}
	return o
}

// finite is a number, or null where it is none.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// someText is a text, or null for "".
func someText(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
