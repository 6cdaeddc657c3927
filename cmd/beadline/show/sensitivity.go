package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure/quantity"
)

// Sensitivity writes what each change does to the line of each milestone, the worst
// first, and in words which matters most. Milestones that are alike share a table.
func Sensitivity(w io.Writer, x *desk.Sensitivity, u Units) error {
	s := timesSheet{sheet{w: w, z: x.Base.From.Location(), u: u}, x.Base, u}
	s.line("%s", x.Base.Class.ID)
	s.block("", x.Base.Class.Name)
	s.given()
	s.against()
	s.line("")
	s.block("", "What a change does to each line to work to. The worst for the line comes first.")
	for i := 0; i < len(x.Lines); {
		n := 1
		for i+n < len(x.Lines) && alike(x.Lines[i], x.Lines[i+n]) {
			n++
		}
		s.sensitive(x.Lines[i : i+n])
		i += n
	}
	s.marks(x)
	s.bullets("MIND", sensitiveRemarks(x))
	s.bullets("HOW IT WAS TRIED", x.Notes)
	s.bullets("ASSUMED", x.Base.Assumed)
	s.bullets("CAUTIONS", x.Base.Cautions)
	return s.err
}

// alike reports lines that every change moves in the same way.
func alike(a, b desk.SensitiveLine) bool {
	same := func(x, y desk.Moment) bool {
		return x.Line == y.Line && x.Known == y.Known && x.Span == y.Span && x.Refused == y.Refused && x.ByWitness == y.ByWitness
	}
	return same(a.Base, b.Base) && slices.EqualFunc(a.Effects, b.Effects, func(x, y desk.Effect) bool {
		return x.What == y.What && same(x.Moment, y.Moment)
	})
}

// sensitive writes the table of one line, or of several that are alike.
func (s *timesSheet) sensitive(lines []desk.SensitiveLine) {
	l := lines[0]
	var names []string
	for _, x := range lines {
		names = append(names, x.Base.Milestone.String())
	}
	s.line("")
	s.block("", fmt.Sprintf("%s, %s: %s", strings.ToUpper(strings.Join(names, ", ")), lineWords(l.Base.Line), s.span(l.Base)))
	for _, e := range l.Effects {
		later, percent := delta(l, e)
		s.line("  %-26s %-17s %-22s %s", s.u.Text(e.What), s.span(e.Moment), later, percent)
	}
	s.block("  ", mostWords(l, strings.Join(names, ", ")))
}

// marks explains the marks behind the lines.
func (s *timesSheet) marks(x *desk.Sensitivity) {
	marked, expected := false, false
	for _, l := range x.Lines {
		for _, e := range append([]desk.Effect{{Moment: l.Base}}, l.Effects...) {
			marked, expected = marked || e.Moment.Extrapolated, expected || e.Moment.OnForecast
		}
	}
	if marked || expected {
		s.line("")
	}
	if marked {
		s.block("* ", "Extrapolated: outside the range of the curve. Nothing backs this number; do not work to it.")
	}
	if expected {
		s.block("+ ", s.expected())
	}
}

// delta says how far an effect moves a line: in time, and in percent.
func delta(l desk.SensitiveLine, e desk.Effect) (later, percent string) {
	d, ok := l.Delta(e)
	switch {
	case !l.Moves(e) && e.Factor != 1 && ok:
		return "in the line already", ""
	case !l.Moves(e):
		return "no change", ""
	case !ok:
		return "-", ""
	}
	if p, ok := deltaPercent(l, e); ok {
		percent = fmt.Sprintf("%+.1f %%", p)
	}
	return lateness(d), percent
}

// lateness writes "10 h 20 min later".
func lateness(d time.Duration) string {
	if d < 0 {
		return quantity.FormatSpan(-d) + " sooner"
	}
	return quantity.FormatSpan(d) + " later"
}

// deltaPercent is the difference in % of the line without the change.
func deltaPercent(l desk.SensitiveLine, e desk.Effect) (float64, bool) {
	d, ok := l.Delta(e)
	if !ok || l.Base.Span == 0 {
		return 0, false
	}
	return 100 * d.Seconds() / l.Base.Span.Seconds(), true
}

// mostWords names what matters most to a line: "2 C colder: cure 10 h 20 min later".
func mostWords(l desk.SensitiveLine, name string) string {
	e, ok := l.Most()
	if !ok {
		return "Nothing that was tried moves it."
	}
	did := fmt.Sprintf("%s: %s %s.", e.What, name, outcome(l, e))
	if l.Worse(e) {
		return "Matters most: " + did
	}
	return "Nothing that was tried makes it worse. Helps most: " + did
}

// outcome says in words what becomes of a line.
func outcome(l desk.SensitiveLine, e desk.Effect) string {
	if d, ok := l.Delta(e); ok {
		return lateness(d)
	}
	switch m := e.Moment; {
	case m.Refused != "":
		return "has no answer"
	case m.ByWitness:
		return "only by the witness cup"
	case !m.Known:
		return "is never reached"
	case l.Base.Refused != "":
		return "has an answer"
	}
	return "is reached"
}

// sensitiveRemarks says why there is no line under a change, milestones and changes
// with the same reason together.
func sensitiveRemarks(x *desk.Sensitivity) []string {
	var order []string
	under := map[string][]string{}
	for _, l := range x.Lines {
		for _, e := range append([]desk.Effect{{What: "as it is", Moment: l.Base}}, l.Effects...) {
			why := e.Moment.Refused
			if why == "" && !e.Moment.Known {
				why = e.Moment.Why
			}
			if why == "" {
				continue
			}
			why = e.What + ": " + why
			if under[why] == nil {
				order = append(order, why)
			}
			under[why] = append(under[why], l.Base.Milestone.String())
		}
	}
	for i, why := range order {
		order[i] = strings.Join(under[why], ", ") + ", " + why + "."
	}
	return order
}

// sensitivityJSON is the shape of a sensitivity for programs. diff-seconds is how much
// later the line is under a change, null where one of the two has no line.
type sensitivityJSON struct {
	Class       string              `json:"class"`
	From        *time.Time          `json:"from"`
	TempC       float64             `json:"temp-c"`
	RHPct       float64             `json:"rh-pct"`
	Milestones  []sensitiveLineJSON `json:"milestones"`
	Notes       []string            `json:"notes"`
	Stops       []string            `json:"stops"`
	Warnings    []string            `json:"warnings"`
	Assumptions []string            `json:"assumptions"`
	Cautions    []string            `json:"cautions"`
}

type sensitiveLineJSON struct {
	Name          string       `json:"name"`
	Line          string       `json:"line"`
	Seconds       *int64       `json:"seconds"`
	LikelySeconds *int64       `json:"likely-seconds"`
	ByWitness     bool         `json:"by-witness"`
	Refused       *string      `json:"refused"`
	MattersMost   *string      `json:"matters-most"`
	Words         string       `json:"words"`
	Changes       []effectJSON `json:"changes"`
}

type effectJSON struct {
	What          string   `json:"what"`
	StepC         float64  `json:"step-c"`
	StepRHPct     float64  `json:"step-rh-pct"`
	SpreadFactor  float64  `json:"spread-factor"`
	Seconds       *int64   `json:"seconds"`
	LikelySeconds *int64   `json:"likely-seconds"`
	DiffSeconds   *int64   `json:"diff-seconds"`
	DiffPct       *float64 `json:"diff-pct"`
	ByWitness     bool     `json:"by-witness"`
	Refused       *string  `json:"refused"`
	Why           *string  `json:"why"`
}

// SensitivityJSON writes a sensitivity for programs.
func SensitivityJSON(w io.Writer, x *desk.Sensitivity) error {
	b := x.Base
	o := sensitivityJSON{
		Class: b.Class.ID, From: instantOf(b.From), TempC: b.Start.TempC, RHPct: b.Start.RH, Milestones: []sensitiveLineJSON{},
		Notes: inSI(x.Notes), Stops: inSI(b.Stops), Warnings: inSI(b.Warnings), Assumptions: inSI(b.Assumed), Cautions: list(b.Cautions),
	}
	for _, l := range x.Lines {
		m := l.Base
		r := sensitiveLineJSON{
			Name: m.Milestone.String(), Line: m.Line.String(), Seconds: secondsOf(m.Span, m.Known), LikelySeconds: secondsOf(m.Likely, m.LikelyKnown),
			ByWitness: m.ByWitness, Refused: orNull(SI.Text(m.Refused)), Words: SI.Text(mostWords(l, m.Milestone.String())), Changes: []effectJSON{},
		}
		if e, ok := l.Most(); ok {
			r.MattersMost = orNull(SI.Text(e.What))
		}
		for _, e := range l.Effects {
			r.Changes = append(r.Changes, effectOf(l, e))
		}
		o.Milestones = append(o.Milestones, r)
	}
	return writeJSON(w, o)
}

func effectOf(l desk.SensitiveLine, e desk.Effect) effectJSON {
	m := e.Moment
	r := effectJSON{
		What: SI.Text(e.What), StepC: finely(e.StepC), StepRHPct: finely(e.StepRH), SpreadFactor: finely(e.Factor),
		Seconds: secondsOf(m.Span, m.Known), LikelySeconds: secondsOf(m.Likely, m.LikelyKnown),
		ByWitness: m.ByWitness, Refused: orNull(SI.Text(m.Refused)), Why: orNull(SI.Text(m.Why)),
	}
	d, ok := l.Delta(e)
	r.DiffSeconds = secondsOf(d, ok)
	if p, ok := deltaPercent(l, e); ok {
		p = finely(p)
		r.DiffPct = &p
	}
	return r
}

func inSI(texts []string) []string {
	said := []string{}
	for _, t := range texts {
		said = append(said, SI.Text(t))
	}
	return said
}

// SensitivityCSV writes a sensitivity as one line for each milestone and change, the
// line without a change first.
func SensitivityCSV(w io.Writer, x *desk.Sensitivity) error {
	var rows [][]string
	for _, l := range x.Lines {
		for _, e := range append([]desk.Effect{{What: "as it is", Factor: 1, Moment: l.Base}}, l.Effects...) {
			k := effectOf(l, e)
			why := k.Refused
			if why == nil {
				why = k.Why
			}
			text := ""
			if why != nil {
				text = *why
			}
			rows = append(rows, []string{
				x.Base.Class.ID, l.Base.Milestone.String(), l.Base.Line.String(), k.What,
				number(k.StepC, 4), number(k.StepRHPct, 4), number(k.SpreadFactor, 4),
				cell(k.Seconds), cell(k.LikelySeconds), cell(k.DiffSeconds), number64(k.DiffPct), yes(k.ByWitness), text,
			})
		}
	}
	return writeCSV(w, []string{"class", "name", "line", "change", "step-c", "step-rh-pct", "spread-factor",
		"seconds", "likely-seconds", "diff-seconds", "diff-pct", "by-witness", "why"}, rows)
}
