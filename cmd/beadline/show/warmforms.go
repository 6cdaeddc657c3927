package show

import (
	"io"
	"math"
	"time"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/warmup"
)

// minuteOf is a line's instant to the minute on the safe side.
func minuteOf(l desk.WarmLine) time.Time {
	t := l.At
	if l.Line == cure.NotBefore {
		t = t.Add(time.Minute - 1)
	}
	return t.Truncate(time.Minute)
}

// warmJSON is the shape of `warm --format json`. seconds is the line to work to,
// counted from leaving the cold; it is null where there is none for sure.
type warmJSON struct {
	Class       string         `json:"class"`
	Pack        warmPackJSON   `json:"pack"`
	FromC       float64        `json:"from-c"`
	RoomC       float64        `json:"room-c"`
	RHPct       float64        `json:"rh-pct"`
	BathC       *float64       `json:"bath-c"` // null: none
	Medium      string         `json:"medium"`
	MarginC     float64        `json:"margin-c"`
	DewC        *float64       `json:"dew-point-c"` // null: air without water
	OpenC       *float64       `json:"open-c"`
	UseC        float64        `json:"use-c"`
	UseFrom     string         `json:"use-c-from"`
	Left        *time.Time     `json:"left"`
	Lines       []warmLineJSON `json:"lines"`
	Stops       []string       `json:"stops"`
	Fixes       []string       `json:"fixes"`
	Mind        []string       `json:"mind"`
	RestsOn     []warmRestJSON `json:"rests-on"`
	Assumptions []string       `json:"assumptions"`
	Cautions    []string       `json:"cautions"`
}

type warmPackJSON struct {
	Shape  string       `json:"shape"`
	ML     float64      `json:"ml"`
	G      *float64     `json:"g"` // as said; null: a volume was said
	Likely warmBodyJSON `json:"likely"`
	Safe   warmBodyJSON `json:"safe"`
}

// warmBodyJSON is the cylinder that was calculated.
type warmBodyJSON struct {
	DiameterMM   float64 `json:"diameter-mm"`
	HeightMM     float64 `json:"height-mm"`
	Biot         float64 `json:"biot"`
	TimeConstant float64 `json:"time-constant-seconds"` // of one lump
}

type warmLineJSON struct {
	Name          string     `json:"name"` // dry, open, use, end
	Line          string     `json:"line"`
	TempC         *float64   `json:"temp-c"`
	Seconds       *int64     `json:"seconds"`
	LikelySeconds *int64     `json:"likely-seconds"`
	At            *time.Time `json:"at"`
	LikelyAt      *time.Time `json:"likely-at"`
	Why           string     `json:"why,omitempty"`
	Source        string     `json:"source,omitempty"`
}

type warmRestJSON struct {
	What string `json:"what"`
	From string `json:"from"`
}

// WarmJSON writes a warm-up for programs.
func WarmJSON(o io.Writer, w *desk.Warm) error {
	j := warmJSON{
		Class: w.Class.ID, FromC: w.FromC, RoomC: w.Room.TempC, RHPct: w.Room.RH, BathC: finite(w.BathC), Medium: string(w.Medium),
		MarginC: w.MarginC, DewC: finite(w.DewC), OpenC: finite(w.OpenC), UseC: w.UseC, UseFrom: w.UseFrom.What, Left: instantOf(w.Left),
		Pack:  warmPackJSON{Shape: string(w.Pack.Shape), ML: w.Pack.Contents(), Likely: bodyShape(w.Likely), Safe: bodyShape(w.Safe)},
		Lines: []warmLineJSON{}, Stops: list(w.Stops), Fixes: list(w.Fixes), Mind: list(w.Mind), RestsOn: rests(w.RestsOn),
		Assumptions: list(w.Assumed), Cautions: list(w.Cautions),
	}
	if w.Pack.MassG > 0 {
		j.Pack.G = &w.Pack.MassG
	}
	for _, l := range w.Lines {
		j.Lines = append(j.Lines, warmLineJSON{
			Name: string(l.Name), Line: l.Line.String(), TempC: finite(l.TempC),
			Seconds: secondsOf(l.Span, l.Known), LikelySeconds: secondsOf(l.Likely, l.LikelyKnown),
			At: instantOf(l.At), LikelyAt: instantOf(l.LikelyAt), Why: l.Why, Source: l.From,
		})
	}
	return writeJSON(o, j)
}

func rests(all []catalog.Source) []warmRestJSON {
	out := []warmRestJSON{}
	for _, r := range all {
		out = append(out, warmRestJSON{r.What, r.From})
	}
	return out
}

func bodyShape(b warmup.Body) warmBodyJSON {
	round := func(v float64) float64 { return math.Round(v*1000) / 1000 }
	return warmBodyJSON{round(b.DiameterMM()), round(b.HeightMM()), round(b.Biot()), round(b.TimeConstant().Seconds())}
}

// WarmCSV writes a warm-up as one row for each line.
func WarmCSV(o io.Writer, w *desk.Warm) error {
	var rows [][]string
	for _, l := range w.Lines {
		rows = append(rows, []string{
			w.Class.ID, string(l.Name), l.Line.String(), number64(finite(l.TempC)),
			cell(secondsOf(l.Span, l.Known)), cell(secondsOf(l.Likely, l.LikelyKnown)),
			instantCell(l.At), instantCell(l.LikelyAt), l.Why, l.From,
		})
	}
	return writeCSV(o, []string{"class", "name", "line", "temp-c", "seconds", "likely-seconds", "at", "likely-at", "why", "source"}, rows)
}
