package show

import (
	"io"
	"math"
	"strings"

	"beadline/cmd/beadline/desk"
)

// chartJSON is the shape of a chart for programs: a cell for each milestone,
// temperature and humidity. seconds is the line to work to, exact and not rounded as on
// the wall; it is null where there is none, and why, refused or by-witness says the
// reason. do-not-lay says why nothing is to be laid in the air of that cell.
type chartJSON struct {
	Class       string               `json:"class"`
	Name        string               `json:"name"`
	CountsFrom  string               `json:"counts-from"`
	TempsC      []float64            `json:"temps-c"`
	RHsPct      []float64            `json:"rhs-pct"`
	PotC        *float64             `json:"pot-c"`
	BeadMM      *float64             `json:"bead-mm"`
	Faces       *int                 `json:"faces"`
	Seal        *string              `json:"seal"`
	LaidWith    *string              `json:"laid-with"`
	Milestones  []chartMilestoneJSON `json:"milestones"`
	Assumptions []string             `json:"assumptions"`
	Cautions    []string             `json:"cautions"`
}

type chartMilestoneJSON struct {
	Name           string          `json:"name"`
	Line           string          `json:"line"`
	HumidityEnters bool            `json:"humidity-enters"`
	Range          string          `json:"range"`
	Sources        []sourceJSON    `json:"sources"`
	Cells          []chartCellJSON `json:"cells"`
}

type sourceJSON struct {
	What string `json:"what"`
	From string `json:"from"`
}

type chartCellJSON struct {
	TempC         float64  `json:"temp-c"`
	TempF         float64  `json:"temp-f"`
	RHPct         *float64 `json:"rh-pct"`
	Seconds       *int64   `json:"seconds"`
	LikelySeconds *int64   `json:"likely-seconds"`
	ByWitness     bool     `json:"by-witness"`
	Refused       *string  `json:"refused"`
	Why           *string  `json:"why"`
	DoNotLay      *string  `json:"do-not-lay"`
}

// ChartJSON writes a chart for programs.
func ChartJSON(w io.Writer, c *desk.Chart) error {
	o := chartJSON{
		Class: c.Class.ID, Name: c.Class.Name, CountsFrom: desk.Clocks(c.Class), RHsPct: append([]float64{}, c.RHs...),
		Seal: orNull(string(c.Seal)), LaidWith: orNull(SI.Text(c.Limits)), Milestones: []chartMilestoneJSON{},
		Assumptions: list(c.Assumed), Cautions: list(c.Cautions),
	}
	for _, t := range c.TempsC {
		o.TempsC = append(o.TempsC, finely(t))
	}
	if !math.IsNaN(c.PotC) {
		pot := finely(c.PotC)
		o.PotC = &pot
	}
	if c.Bead.DepthMM > 0 {
		o.BeadMM = &c.Bead.DepthMM
	}
	if c.Bead.Faces > 0 {
		o.Faces = &c.Bead.Faces
	}
	for _, m := range c.Milestones {
		k := chartMilestoneJSON{Name: m.Milestone.String(), Line: m.Line.String(), HumidityEnters: m.Humid, Range: SI.Text(m.Range), Sources: []sourceJSON{}}
		for _, r := range m.Rests {
			k.Sources = append(k.Sources, sourceJSON{r.What, r.From})
		}
		eachCell(c, m, func(x chartCellJSON) { k.Cells = append(k.Cells, x) })
		o.Milestones = append(o.Milestones, k)
	}
	return writeJSON(w, o)
}

// eachCell hands on the cells of a milestone, row by row.
func eachCell(c *desk.Chart, m desk.ChartMilestone, each func(chartCellJSON)) {
	for i, row := range m.Cells {
		for j, x := range row {
			k := chartCellJSON{
				TempC: finely(c.TempsC[i]), TempF: finely(c.TempsC[i]*9/5 + 32),
				Seconds: secondsOf(x.Span, x.Known), LikelySeconds: secondsOf(x.Likely, x.LikelyKnown), ByWitness: x.ByWitness,
				Refused: orNull(SI.Text(x.Refused)), Why: orNull(SI.Text(x.Why)), DoNotLay: orNull(SI.Text(strings.Join(c.Stops[i][j], " "))),
			}
			if len(c.RHs) > 0 {
				k.RHPct = &c.RHs[j]
			}
			each(k)
		}
	}
}

// finely drops what a conversion between °F and °C leaves behind the fourth decimal.
func finely(t float64) float64 { return math.Round(t*1e4)/1e4 + 0 }

// orNull is a text, or null where there is none.
func orNull(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

// ChartCSV writes a chart as one line for each milestone, temperature and humidity.
func ChartCSV(w io.Writer, c *desk.Chart) error {
	var rows [][]string
	text := func(s *string) string {
		if s == nil {
			return ""
		}
		return *s
	}
	for _, m := range c.Milestones {
		eachCell(c, m, func(x chartCellJSON) {
			rows = append(rows, []string{
				c.Class.ID, m.Milestone.String(), m.Line.String(), number(x.TempC, 4), number(x.TempF, 4), number64(x.RHPct),
				cell(x.Seconds), cell(x.LikelySeconds), yes(x.ByWitness), text(x.Refused), text(x.Why), text(x.DoNotLay),
			})
		})
	}
	return writeCSV(w, []string{"class", "name", "line", "temp-c", "temp-f", "rh-pct", "seconds", "likely-seconds", "by-witness", "refused", "why", "do-not-lay"}, rows)
}
