package show

import (
	"io"
	"strings"
	"time"

	"beadline/cure/plan"
)

// compareJSON is the shape of `plan --compare --format json`.
type compareJSON struct {
	Job      string            `json:"job"`
	Title    string            `json:"title,omitempty"`
	ReadyBy  *time.Time        `json:"ready-by"`
	Base     alternativeJSON   `json:"base"`
	Others   []alternativeJSON `json:"alternatives"`
	NotTried []string          `json:"not-tried"`
	Cut      bool              `json:"cut-short"`
	Assumed  []string          `json:"assumptions"`
	Cautions []string          `json:"cautions"`
}

type alternativeJSON struct {
	Kind      string     `json:"kind"`
	What      string     `json:"what"`
	Condition *string    `json:"condition"`
	Note      *string    `json:"note"`
	Ready     *time.Time `json:"ready"`
	Bound     *time.Time `json:"bound"`
	Proven    bool       `json:"proven"`
	Gain      *int64     `json:"gain-seconds"`
	Mixes     *int       `json:"mixes"`
	Labour    *int64     `json:"labour-seconds"`
	ML        *float64   `json:"ml"`
	Waste     *float64   `json:"waste-ml"`
	Whole     bool       `json:"complete"`
	Meets     *bool      `json:"meets"`
	Best      bool       `json:"best"`
	Because   *string    `json:"because"`
}

// onlyApproved is the condition of a class that the job does not name.
const onlyApproved = "only if the approved data for this joint allow that class"

// CompareJSON writes a comparison for programs.
func CompareJSON(w io.Writer, c *plan.Comparison, cautions []string) error {
	o := compareJSON{Job: c.Job.ID, Title: c.Job.Title, ReadyBy: inZone(c.Job.ReadyBy, c.Job.Zone), Base: alternativeShape(&c.Base, c),
		Others: []alternativeJSON{}, NotTried: list(c.NotTried), Cut: c.Cut, Assumed: list(c.Assumed), Cautions: list(cautions)}
	for k := range c.Others {
		o.Others = append(o.Others, alternativeShape(&c.Others[k], c))
	}
	return writeJSON(w, o)
}

func inZone(t time.Time, z *time.Location) *time.Time {
	if t.IsZero() {
		return nil
	}
	u := t.In(z)
	return &u
}

func alternativeShape(a *plan.Alternative, c *plan.Comparison) alternativeJSON {
	o := alternativeJSON{Kind: a.Kind, What: strings.TrimSuffix(a.What, "*"), Note: said(a.Note), Best: a.Best, Whole: a.Found && !a.Part, Because: said(a.Because)}
	if o.What != a.What {
		o.Condition = said(onlyApproved)
	}
	if a == &c.Base {
		o.Kind = "base"
	}
	if !a.Found {
		return o
	}
	o.Ready, o.Bound, o.Proven = inZone(a.Ready, c.Job.Zone), inZone(a.Bound, c.Job.Zone), a.Proven
	o.Gain, o.Labour, o.Mixes = secondsOf(a.Gain, c.Base.Found), secondsOf(a.Labour, true), &a.Mixes
	o.ML, o.Waste = known(a.ML), known(a.Waste)
	if !c.Job.ReadyBy.IsZero() {
		o.Meets = &a.Meets
	}
	return o
}
