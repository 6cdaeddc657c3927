package show

import (
	"fmt"
	"io"
	"math"
	"time"

	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
)

// labelJSON is the shape of `label --format json`. Of use-by one of day and at is null;
// both are, and file too, where no label was made.
type labelJSON struct {
	Batch    string         `json:"batch"`
	Class    string         `json:"class"`
	Place    *string        `json:"place"` // on the stock list, such as stock.csv:2; null without one
	State    string         `json:"state"`
	When     *time.Time     `json:"when"`
	Verdict  string         `json:"verdict"`
	UseByDay *string        `json:"use-by-day"` // the last day, all of it
	UseByAt  *time.Time     `json:"use-by-at"`  // the last minute
	Reason   string         `json:"reason"`
	Source   string         `json:"source"`
	Next     *string        `json:"next"` // who decides, or what to do; null with use
	PotC     *float64       `json:"pot-c"`
	Notes    []string       `json:"notes"` // as on the label
	File     *string        `json:"file"`
	Pages    int            `json:"pages"`
	Labels   []oneLabelJSON `json:"labels"`
	Limits   []endingJSON   `json:"limits"`
	Remarks  []string       `json:"code-remarks"`
	Assumed  []string       `json:"assumptions"`
	Cautions []string       `json:"cautions"`
}

type oneLabelJSON struct {
	Page  int        `json:"page"` // from 1
	XMM   float64    `json:"x-mm"` // of the upper left corner on the page
	YMM   float64    `json:"y-mm"`
	Codes []codeJSON `json:"codes"`
}

// codeJSON is one symbol. scanned is what a scanner sends, its symbology identifier
// first, 0x1D as \u001d.
type codeJSON struct {
	Form     string  `json:"form"`
	Scanned  string  `json:"scanned"`
	Readable string  `json:"readable"`
	ModuleMM float64 `json:"module-mm"`
	HeightMM float64 `json:"height-mm"`
}

// endingJSON is one limit of the container: the last day, and the last minute of it as
// 15:04 or null.
type endingJSON struct {
	Limit   string  `json:"limit"`
	Day     *string `json:"day"`
	Clock   *string `json:"clock"`
	Verdict string  `json:"verdict"`
	Past    bool    `json:"past"`
	Counts  bool    `json:"counts"`
	Reason  string  `json:"reason"`
	Source  string  `json:"source"`
}

// LabelJSON writes what was printed for a container for programs.
func LabelJSON(w io.Writer, p *Printed, u Units) error {
	o := labelJSON{
		Batch: p.Item.Batch, Class: p.Class.ID, State: p.State.String(), When: instantOf(p.When), Verdict: p.Verdict.String(),
		Reason: p.Why, Source: p.Source, Notes: []string{}, Labels: []oneLabelJSON{}, Limits: []endingJSON{}, Remarks: []string{},
		Assumed: list(once(p.Assumed)), Cautions: list(p.Cautions),
	}
	for _, n := range p.Notes {
		o.Notes = append(o.Notes, u.Text(n))
	}
	if p.Row != nil {
		o.Place = &p.Row.Place
	}
	switch {
	case p.Verdict != shelf.Use:
		o.Next = &p.Next
	case p.UseBy.Timed:
		o.UseByAt = instantOf(p.UseBy.At)
	default:
		day := p.UseBy.At.Format(time.DateOnly)
		o.UseByDay = &day
	}
	if p.State != tag.Opened {
		o.PotC = &p.PotC
	}
	for _, l := range p.Judgement.Limits {
		o.Limits = append(o.Limits, endingShape(l))
	}
	if d := p.Drawing; d != nil {
		o.File, o.Pages, o.Remarks = &p.File, d.Pages, list(codeRemarks(p))
		for _, l := range d.Labels {
			o.Labels = append(o.Labels, labelShape(l))
		}
	}
	return writeJSON(w, o)
}

func endingShape(l shelf.Limit) endingJSON {
	e := endingJSON{Limit: string(l.Name), Day: dayOf(l.Date, l.Dated), Verdict: l.Verdict.String(), Past: l.Past, Counts: l.Counts,
		Reason: l.Reason, Source: l.Source}
	if l.Dated && l.Timed {
		clock := fmt.Sprintf("%02d:%02d", l.Minute/60, l.Minute%60)
		e.Clock = &clock
	}
	return e
}

func labelShape(l tag.Label) oneLabelJSON {
	o := oneLabelJSON{Page: l.Page + 1, XMM: hundredths(l.X), YMM: hundredths(l.Y)}
	for _, s := range l.Symbols {
		o.Codes = append(o.Codes, codeJSON{Form: s.Code.Form.String(), Scanned: s.Code.Scanned(), Readable: s.Code.HRI(),
			ModuleMM: hundredths(s.Module), HeightMM: hundredths(s.H)})
	}
	return o
}

func hundredths(mm float64) float64 { return math.Round(mm*100) / 100 }
