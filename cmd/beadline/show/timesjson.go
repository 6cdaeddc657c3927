package show

import (
	"io"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
)

// timesJSON is the shape of `times --format json`. seconds is the line to work to;
// it is null where there is none, and why, refused or by-witness says the reason.
// stops says why nothing is to be mixed or laid yet; each is among the warnings too.
type timesJSON struct {
	Class       string       `json:"class"`
	Air         airJSON      `json:"air"`
	From        *time.Time   `json:"from"`
	Laid        *time.Time   `json:"laid"`
	Milestones  []momentJSON `json:"milestones"`
	Stops       []string     `json:"stops"`
	Warnings    []string     `json:"warnings"`
	Assumptions []string     `json:"assumptions"`
	Cautions    []string     `json:"cautions"`
}

// airJSON is the air at the start, or the constant air.
type airJSON struct {
	TempC float64 `json:"temp-c"`
	RHPct float64 `json:"rh-pct"`
	Log   string  `json:"log,omitempty"`
}

type momentJSON struct {
	Name          string          `json:"name"`
	Line          string          `json:"line"`
	Seconds       *int64          `json:"seconds"`
	LikelySeconds *int64          `json:"likely-seconds"`
	At            *time.Time      `json:"at"`
	LikelyAt      *time.Time      `json:"likely-at"`
	Source        string          `json:"source"`
	ByWitness     bool            `json:"by-witness"`
	Extrapolated  bool            `json:"extrapolated"`
	Refused       string          `json:"refused,omitempty"`
	Why           string          `json:"why,omitempty"`
	Excursions    []excursionJSON `json:"excursions"`
}

type excursionJSON struct {
	What    string `json:"what"`
	Seconds int64  `json:"seconds"`
}

// TimesJSON writes pot life and cure for programs.
func TimesJSON(w io.Writer, t *desk.Times) error {
	o := timesJSON{
		Class: t.Class.ID, Air: airJSON{TempC: t.Start.TempC, RHPct: t.Start.RH},
		From: instantOf(t.From), Laid: instantOf(t.Laid), Milestones: []momentJSON{},
		Stops: list(t.Stops), Warnings: list(t.Warnings), Assumptions: list(t.Assumed), Cautions: list(t.Cautions),
	}
	if t.Log != nil {
		o.Air.Log = t.Log.Name
	}
	for _, m := range t.Moments {
		r := momentJSON{
			Name: m.Milestone.String(), Line: m.Line.String(),
			Seconds: secondsOf(m.Span, m.Known), LikelySeconds: secondsOf(m.Likely, m.LikelyKnown),
			At: instantOf(m.At), LikelyAt: instantOf(m.LikelyAt), Source: sourceText(m),
			ByWitness: m.ByWitness, Extrapolated: m.Extrapolated, Refused: m.Refused, Why: m.Why, Excursions: []excursionJSON{},
		}
		for _, e := range m.Excursions {
			r.Excursions = append(r.Excursions, excursionJSON{e.What, int64(e.For / time.Second)})
		}
		o.Milestones = append(o.Milestones, r)
	}
	return writeJSON(w, o)
}

// sourceText is what a milestone rests on, in one string.
func sourceText(m desk.Moment) string {
	var said []string
	for _, r := range m.RestsOn {
		if r.What == "" {
			said = append(said, r.From)
		} else {
			said = append(said, r.What+": "+r.From)
		}
	}
	return strings.Join(said, "; ")
}

// TimesCSV writes pot life and cure as one line for each milestone.
func TimesCSV(w io.Writer, t *desk.Times) error {
	var rows [][]string
	for _, m := range t.Moments {
		why := m.Refused
		if why == "" {
			why = m.Why
		}
		rows = append(rows, []string{
			t.Class.ID, m.Milestone.String(), m.Line.String(),
			cell(secondsOf(m.Span, m.Known)), cell(secondsOf(m.Likely, m.LikelyKnown)),
			instantCell(m.At), instantCell(m.LikelyAt), yes(m.ByWitness), yes(m.Extrapolated), why, sourceText(m),
		})
	}
	return writeCSV(w, []string{"class", "name", "line", "seconds", "likely-seconds", "at", "likely-at", "by-witness", "extrapolated", "why", "source"}, rows)
}
