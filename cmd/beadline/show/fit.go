package show

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	datasheet "beadline/catalog/sheet"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/fit"
)

// Fit writes what a data sheet comes to: the class first, then each milestone with its
// curve, the forms that were tried, each row against the curve, and the 10 °C rule.
// written is the class file that was made, or "".
func Fit(w io.Writer, f *desk.Fit, written string, u Units) error {
	s := fitSheet{classSheet{sheet: sheet{w: w, u: u}, u: u}, f}
	s.head(written)
	shared := sharedNotes(f)
	for _, m := range f.Milestones {
		s.milestone(m, shared)
	}
	s.bullets("NOTES", append(append([]string{}, f.Sheet.Notes...), shared...))
	if f.Whole() {
		s.bullets("ASSUMED", f.Assumed)
		s.bullets("NOT IN THE SHEET: add it to the class file", f.Missing)
	}
	s.bullets("HOW TO READ THIS", s.legend())
	s.bullets("CAUTIONS", f.Cautions)
	return s.err
}

type fitSheet struct {
	classSheet
	f *desk.Fit
}

// head says whether there is a class, and what to mind.
func (s *fitSheet) head(written string) {
	f := s.f
	s.block("", fmt.Sprintf("%s: %s, %s", f.Sheet.Name, plural(len(f.Sheet.Rows), "row", "rows"), plural(len(f.Milestones), "milestone", "milestones")))
	class := fmt.Sprintf("class %s (%s): ", f.Options.ID, f.Options.Kind)
	switch refused := f.Refused(); {
	case refused != nil:
		s.block("", class+"NO CLASS FILE, as not every milestone has a curve.")
		s.bullets("REFUSED: mend these rows or take them out", refused)
	case !f.Whole():
		s.block("", class+"NO CLASS FILE, as the class cannot stand so.")
		var against []string
		for _, p := range f.Against {
			text := p.Text
			if p.Remedy != "" {
				text += ": " + p.Remedy
			}
			against = append(against, text)
		}
		s.bullets("AGAINST IT", against)
	case written != "":
		s.block("", class+"class file written to "+written+".")
	default:
		s.block("", class+"fits; --out FILE writes the class file.")
	}
	var unsafe []string
	for _, m := range f.Milestones {
		if len(m.Rule.Unsafe()) > 0 {
			unsafe = append(unsafe, m.Milestone.String())
		}
	}
	if unsafe != nil {
		if !f.Whole() {
			s.line("")
		}
		s.block("", fmt.Sprintf("The %s rule is UNSAFE for %s: see there.", s.u.Step(10), strings.Join(unsafe, ", ")))
	}
}

// sharedNotes are those that every milestone has: they are said once.
func sharedNotes(f *desk.Fit) (shared []string) {
	for _, n := range f.Milestones[0].Notes {
		all := len(f.Milestones) > 1
		for _, m := range f.Milestones {
			all = all && (m.Refused != "" || slices.Contains(m.Notes, n))
		}
		if all {
			shared = append(shared, n)
		}
	}
	return shared
}

func (s *fitSheet) milestone(m *datasheet.Milestone, shared []string) {
	if m.Refused != "" {
		return
	}
	s.heading(fmt.Sprintf("%s, %s", strings.ToUpper(m.Milestone.String()), lineWords(m.Milestone.Line())))
	s.fact("curve", m.Best().Form.String()+": "+s.form(m.Curve.Form))
	if h := m.Curve.Humidity; h != nil {
		s.fact("humidity", humidityWords(h))
	}
	s.fact("chosen because", m.Why)
	s.fact("holds", s.holds(m))
	s.fact("spread", spreadWords(m))
	if m.Moved != 1 {
		s.fact("moved", fmt.Sprintf("the rated time by %+.1f %%, so that every row keeps to the %s stated", 100*(m.Moved-1), m.Curve.States))
	}
	s.rule(m)
	for _, n := range m.Notes {
		if !slices.Contains(shared, n) {
			s.fact("note", n)
		}
	}
	s.line("")
	s.tried(m)
	s.line("")
	s.readings(m)
}

// holds is the range of the rows, which is that of the curve.
func (s *fitSheet) holds(m *datasheet.Milestone) string {
	text := s.u.Temps(m.Curve.Temp)
	if !m.Curve.RH.IsZero() {
		text += ", " + percents(m.Curve.RH)
	}
	if m.Curve.MaxDepth > 0 {
		text += ", beads up to " + s.u.Length(m.Curve.MaxDepth)
	}
	return text + ": as far as the rows reach"
}

func spreadWords(m *datasheet.Milestone) string {
	c := m.Curve
	if c.Shorter == 0 && c.Longer == 0 {
		if m.Best().Free == 0 {
			return "none: the curve meets every row, and nothing says how good the rows are"
		}
		return "none: the curve meets every row"
	}
	return fmt.Sprintf("%s %% shorter to %s %% longer: as far as the rows scatter", number(100*c.Shorter, 1), number(100*c.Longer, 1))
}

// rule says what the trade's rule would have promised.
func (s *fitSheet) rule(m *datasheet.Milestone) {
	r := m.Rule
	name := s.u.Step(10) + " rule"
	start := fmt.Sprintf("from %s at %s", shortSpan(r.Seconds), s.u.Temp(r.Anchor.TempC))
	bad := r.Unsafe()
	switch {
	case len(r.Promises) == 0:
		s.fact(name, "no two rows differ in temperature alone, so it cannot be held against them")
	case len(bad) == 0:
		s.fact(name, "on the safe side of these rows, started "+start)
	}
	for i, p := range bad {
		if i == 0 {
			s.fact(name, "UNSAFE, started "+start+".")
		}
		s.block(strings.Repeat(" ", 21), s.promise(m.Milestone, p))
	}
}

func (s *fitSheet) promise(m cure.Milestone, p datasheet.Promise) string {
	how := fmt.Sprintf("%.0f %% too early", -100*p.Off)
	if m.Line() == cure.NotAfter {
		how = fmt.Sprintf("%.0f %% too long", 100*p.Off)
	}
	return fmt.Sprintf("At %s it says %s, the sheet %s: %s.", s.u.Temp(p.Row.TempC), shortSpan(p.Seconds), shortSpan(p.Row.Seconds), how)
}

// tried lists the forms with how well each does.
func (s *fitSheet) tried(m *datasheet.Milestone) {
	s.line("    %-24s %8s %9s", "form, parameters ± error", "rms", "left out")
	for i := range m.Tried {
		f := &m.Tried[i]
		mark := " "
		if i == m.Chosen {
			mark = "*"
		}
		rms, out := "-", "-"
		if f.Reason == "" {
			rms = share(f.RMS)
			if e, n := f.Error(); n > 0 {
				out = share(e)
			}
		}
		s.line("  %s %-24s %8s %9s", mark, f.Form, rms, out)
		s.block("        ", s.parameters(m, f))
	}
}

func (s *fitSheet) parameters(m *datasheet.Milestone, f *fit.Fit) string {
	if f.Reason != "" {
		return "not used: " + f.Reason
	}
	var said []string
	for _, p := range f.Params {
		switch p.Name {
		case fit.Time:
			per, unit := spanUnit(p.Value)
			said = append(said, plusMinus(p.Value/per, p.StdErr/per)+" "+unit+" at "+s.u.Temp(m.Ref.TempC))
		case fit.Step:
			k := 1.
			if s.u == US {
				k = 1.8
			}
			said = append(said, "step "+plusMinus(p.Value*k, p.StdErr*k)+s.u.unit())
		case fit.Ea:
			said = append(said, "Ea "+plusMinus(p.Value/1000, p.StdErr/1000)+" kJ/mol")
		case fit.Power:
			said = append(said, "power "+plusMinus(p.Value, p.StdErr))
		}
	}
	if !math.IsNaN(f.Q10) {
		said = append(said, "Q10 "+plusMinus(f.Q10, f.Q10Err))
	}
	if f.Form == fit.Table {
		said = append(said, "the rows themselves")
	} else if f.Free == 0 {
		said = append(said, "no error estimate")
	}
	if _, n := f.Error(); n > 0 && n < len(m.Rows) {
		said = append(said, fmt.Sprintf("left out: %d of %d rows", n, len(m.Rows)))
	}
	return strings.Join(said, "; ")
}

// readings lists each row against the curve.
func (s *fitSheet) readings(m *datasheet.Milestone) {
	s.line("    %4s  %-26s %9s %9s %9s   %s", "line", "air", "measured", "fitted", "residual", "work to")
	for i, r := range m.Rows {
		at := s.u.Temp(r.TempC)
		if r.RH > 0 {
			at += ", " + number(r.RH, 1) + " % RH"
		}
		if r.BeadMM > 0 {
			at += ", " + s.u.Length(r.BeadMM)
		}
		line := "-"
		if q := m.Readings[i].Line; !math.IsNaN(q) {
			line = shortSpan(q)
		}
		s.line("    %4d  %-26s %9s %9s %9s   %s", r.Line, at, shortSpan(r.Seconds), shortSpan(m.Readings[i].Fitted), signedShare(m.Readings[i].Residual), line)
	}
}

// legend explains the tables, if there are any.
func (s *fitSheet) legend() []string {
	if len(s.f.Refused()) == len(s.f.Milestones) {
		return nil
	}
	return []string{
		"rms: how far the rows lie from the form. Left out: how far off the form is on a row that it has not seen; the ends of a table cannot be left out, as a table says nothing beyond them. * is the form taken: a less simple one must foretell left-out rows better by a fifth.",
		"Residual: measured against fitted. Work to: the line of the class in the air of the row, with its spread. A line that may not be crossed is never later than the row, one to wait for never earlier.",
		"Q10: how many times shorter for " + s.u.Step(10) + " of warming. Ea: activation energy.",
	}
}

// share is a share as a percentage: "2.8 %".
func share(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }

func signedShare(v float64) string {
	if math.Abs(v) < 0.0005 {
		return "0.0 %"
	}
	return fmt.Sprintf("%+.1f %%", 100*v)
}

// plusMinus writes a value with its standard error to two digits; where there is none,
// the value to three.
func plusMinus(v, e float64) string {
	if math.IsNaN(e) {
		return threeDigits(v)
	}
	decimals := 0
	if small := math.Max(e, math.Abs(v)/1e4); small > 0 {
		decimals = min(max(0, 1-int(math.Floor(math.Log10(small)))), 6)
	}
	return strconv.FormatFloat(v, 'f', decimals, 64) + " ± " + strconv.FormatFloat(e, 'f', decimals, 64)
}

// shortSpan writes a time in one unit with three digits: "4.95 d".
func shortSpan(s float64) string {
	per, unit := spanUnit(s)
	return threeDigits(s/per) + " " + unit
}

// spanUnit is the unit a time is best written in, and its seconds.
func spanUnit(s float64) (per float64, unit string) {
	switch {
	case s < 119.5:
		return 1, "s"
	case s < 119.5*60:
		return 60, "min"
	case s < 71.5*3600:
		return 3600, "h"
	}
	return 86400, "d"
}

func threeDigits(v float64) string {
	if v == 0 {
		return "0"
	}
	return number(v, max(0, 2-int(math.Floor(math.Log10(math.Abs(v))))))
}
