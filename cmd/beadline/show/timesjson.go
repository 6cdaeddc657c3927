package show

import (
	"io"
	"math"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

// timesJSON is the shape of `times --format json`. seconds is the line to work to;
// it is null where there is none, and why, refused or by-witness says the reason.
// stops says why nothing is to be mixed or laid yet; each is among the warnings too.
type timesJSON struct {
	Class      string       `json:"class"`
	Air        airJSON      `json:"air"`
	From       *time.Time   `json:"from"`
	Laid       *time.Time   `json:"laid"`
	Part       *partJSON    `json:"part"`
	Heat       *heatingJSON `json:"heat"`
	WarmToC    *float64     `json:"warm-to-c"`
	Milestones []momentJSON `json:"milestones"`
	PotG       *float64     `json:"pot-g"` // null: not said
	Degree     *degreeJSON  `json:"degree-of-cure"`
	// SealWindows are where the class may be laid in the time from the start on, and
	// SealClosed where it may not; null for constant air.
	SealWindows []sealWindowJSON `json:"seal-windows"`
	SealClosed  []sealWindowJSON `json:"seal-closed"`
	Stops       []string         `json:"stops"`
	Warnings    []string         `json:"warnings"`
	Assumptions []string         `json:"assumptions"`
	Cautions    []string         `json:"cautions"`
}

// airJSON is the air at the start, or the constant air. Pieces is what the air is made
// of, in order of time; it is empty for constant air.
type airJSON struct {
	TempC         float64     `json:"temp-c"`
	RHPct         float64     `json:"rh-pct"`
	Log           string      `json:"log,omitempty"`
	Pieces        []pieceJSON `json:"pieces"`
	MeasuredUntil *time.Time  `json:"measured-until"`
}

type pieceJSON struct {
	Kind    string   `json:"kind"` // log, forecast, swing or constant
	Name    string   `json:"name"`
	MarginC *float64 `json:"margin-c"` // of what is not measured; null where all is as said
}

type partJSON struct {
	AtC     *float64 `json:"at-c"` // at from; null: it followed the air until then
	WarmsIn int64    `json:"warms-in-seconds"`
}

type heatingJSON struct {
	ToC  float64    `json:"to-c"`
	From *time.Time `json:"from"`
}

type sealWindowJSON struct {
	From *time.Time `json:"from"`
	To   *time.Time `json:"to"`
	// OnForecast says that it rests on air that was not measured.
	OnForecast *bool    `json:"on-forecast,omitempty"`
	Reasons    []string `json:"reasons,omitempty"` // why it is closed
}

type momentJSON struct {
	Name          string     `json:"name"`
	Line          string     `json:"line"`
	Seconds       *int64     `json:"seconds"`
	LikelySeconds *int64     `json:"likely-seconds"`
	At            *time.Time `json:"at"`
	LikelyAt      *time.Time `json:"likely-at"`
	Curve         string     `json:"curve"`
	Source        string     `json:"source"`
	OnForecast    bool       `json:"on-forecast"`
	// LikelyOutside says that likely-seconds rests in part on the curve outside its range.
	LikelyOutside bool            `json:"likely-outside"`
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
	if t.PotG > 0 {
		o.PotG = &t.PotG
	}
	o.Degree = degreeShape(t.Degree)
	o.history(t)
	for _, m := range t.Moments {
		r := momentJSON{
			Name: m.Milestone.String(), Line: m.Line.String(),
			Seconds: secondsOf(m.Span, m.Known), LikelySeconds: secondsOf(m.Likely, m.LikelyKnown), LikelyOutside: m.LikelyOutside,
			At: instantOf(m.At), LikelyAt: instantOf(m.LikelyAt), Source: sourceText(m),
			Curve: restWords(t.Class, m.Milestone, "", SI), OnForecast: m.OnForecast,
			ByWitness: m.ByWitness, Extrapolated: m.Extrapolated, Refused: m.Refused, Why: m.Why, Excursions: []excursionJSON{},
		}
		for _, e := range m.Excursions {
			r.Excursions = append(r.Excursions, excursionJSON{e.What, int64(e.For / time.Second)})
		}
		o.Milestones = append(o.Milestones, r)
	}
	return writeJSON(w, o)
}

// history adds what belongs to air and a part that change.
func (o *timesJSON) history(t *desk.Times) {
	o.Air.Pieces, o.Air.MeasuredUntil = []pieceJSON{}, instantOf(t.Measured)
	if len(t.Files) > 0 {
		o.Air.Log = t.Files[0].Name
	}
	for _, p := range t.Pieces {
		o.Air.Pieces = append(o.Air.Pieces, pieceOf(p))
	}
	if t.Part.Tau > 0 {
		o.Part = &partJSON{WarmsIn: int64(t.Part.Tau / time.Second)}
		if !math.IsNaN(t.Part.AtC) {
			o.Part.AtC = &t.Part.AtC
		}
	}
	if t.Warmth.Heated {
		o.Heat = &heatingJSON{t.Warmth.HeatC, instantOf(t.Warmth.HeatFrom)}
	}
	if t.Warmth.Warmed {
		o.WarmToC = &t.Warmth.WarmedC
	}
	if t.Windows == nil {
		return
	}
	o.SealWindows, o.SealClosed = []sealWindowJSON{}, []sealWindowJSON{}
	for _, w := range t.Windows {
		j := sealWindowJSON{From: instantOf(w.From.In(t.From.Location())), To: instantOf(w.To.In(t.From.Location()))}
		if w.Open() {
			guessed := t.Unmeasured(w.From, w.To)
			j.OnForecast = &guessed
			o.SealWindows = append(o.SealWindows, j)
			continue
		}
		j.Reasons = w.Bars.Reasons(&t.Class.Class)
		o.SealClosed = append(o.SealClosed, j)
	}
}

func pieceOf(p cure.Piece) pieceJSON {
	j := pieceJSON{Kind: "log", Name: p.Name, MarginC: &p.Margin}
	switch {
	case p.Swing != nil:
		j.Kind = "swing"
	case p.Constant != nil:
		j.Kind = "constant"
		if !p.Forecast {
			j.MarginC = nil
		}
	case p.Forecast:
		j.Kind = "forecast"
	}
	return j
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
			instantCell(m.At), instantCell(m.LikelyAt), yes(m.ByWitness), yes(m.Extrapolated), why, sourceText(m), yes(m.OnForecast),
		})
	}
	return writeCSV(w, []string{"class", "name", "line", "seconds", "likely-seconds", "at", "likely-at", "by-witness", "extrapolated", "why", "source", "on-forecast"}, rows)
}
