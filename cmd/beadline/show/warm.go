package show

import (
	"fmt"
	"io"
	"math"
	"strings"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/warmup"
)

// Warm writes how long a cold pack stays closed, for the person who holds it: when it may
// be opened and mixed or used, or what is against it; then what was asked, what would do,
// the lines and what they rest on.
func Warm(w io.Writer, a *desk.Warm, u Units) error {
	s := warmSheet{sheet{w: w, z: a.Left.Location(), u: u}, a}
	s.answer()
	s.line("")
	s.line("%s", a.Class.ID)
	s.block("", a.Class.Name)
	s.given()
	s.bullets("WHAT WOULD DO", a.Fixes)
	s.line("")
	s.table()
	s.bullets("MIND", a.Mind)
	s.line("")
	s.line("WHAT IT RESTS ON")
	for _, r := range a.RestsOn {
		s.block("  ", r.What)
		s.block("      ", r.From)
	}
	s.bullets("ASSUMED", a.Assumed)
	s.bullets("CAUTIONS", a.Cautions)
	return s.err
}

type warmSheet struct {
	sheet
	a *desk.Warm
}

// given says what was asked, and the two temperatures that decide.
func (s *warmSheet) given() {
	a := s.a
	in := a.Medium
	around := fmt.Sprintf("room %s and %s %% RH, %s", s.u.Temp(a.Room.TempC), number(a.Room.RH, 1), in)
	if in == warmup.Bath {
		around = fmt.Sprintf("water bath %s; room %s and %s %% RH", s.u.Temp(a.BathC), s.u.Temp(a.Room.TempC), number(a.Room.RH, 1))
	}
	s.block("", fmt.Sprintf("%s of %s at %s; %s.", packWords(a.Pack.Shape), contents(a.Pack, s.u), s.u.Temp(a.FromC), around))
	if math.IsInf(a.DewC, -1) {
		s.block("", "Air without water has no dew point.")
	} else {
		s.block("", fmt.Sprintf("Dew point of the room %s: keep it closed until all of it is at %s.", s.u.Temp(a.DewC), s.u.Temp(a.OpenC)))
	}
	s.block("", fmt.Sprintf("Warm enough to %s at %s, %s.", a.Verb(), s.u.Temp(a.UseC), a.UseFrom.What))
	if a.Left.IsZero() {
		s.block("", "Counted from leaving the cold.")
	} else {
		s.block("", "Counted from leaving the cold, "+a.Left.Format("Mon 2 Jan 2006 15:04 MST")+".")
	}
}

// answer is what may be done when, or all that is against it.
func (s *warmSheet) answer() {
	const not = "NOT AS ASKED  "
	for i, stop := range s.a.Stops {
		first := not
		if i > 0 {
			first = strings.Repeat(" ", len(not))
		}
		s.block(first, stop)
	}
	if len(s.a.Stops) == 0 {
		s.block("", s.a.Answer(func(l desk.WarmLine) string {
			switch {
			case l.At.IsZero() || l.Line == cure.NotBefore && l.Span == 0:
				return desk.WarmWhen(l)
			case l.Line == cure.NotAfter:
				return "by " + s.full(minuteOf(l))
			}
			return "from " + s.full(minuteOf(l))
		}))
	}
}

func packWords(shape warmup.Shape) string {
	return strings.ToUpper(string(shape[:1])) + string(shape[1:])
}

// contents is what a pack holds, as it was said.
func contents(p warmup.Pack, u Units) string {
	if p.VolumeML > 0 {
		return u.Volume(p.VolumeML)
	}
	return u.Mass(p.MassG)
}

// table has a row for each line: the safe one as a span and an instant, and the likely
// one beside it.
func (s *warmSheet) table() {
	row := func(cells ...string) {
		if s.a.Left.IsZero() {
			cells = append(cells[:3], cells[4])
			s.line("%-12s %-11s %-15s %s", cells[0], cells[1], cells[2], cells[3])
			return
		}
		s.line("%-12s %-11s %-15s %-22s %s", cells[0], cells[1], cells[2], cells[3], cells[4])
	}
	row("PACK", "LINE", "WORK TO", "THAT IS", "LIKELY")
	for _, l := range s.a.Lines {
		row(s.lineName(l.Name), lineWords(l.Line), warmSpan(l), s.moment(l), warmLikely(l))
	}
	for _, l := range s.a.Lines {
		if l.Why != "" {
			s.block("  ", s.lineName(l.Name)+": "+l.Why+".")
		}
	}
}

// lineName says a line in the words of the bench.
func (s *warmSheet) lineName(n desk.WarmName) string {
	switch n {
	case desk.WarmDry:
		return "no dew on it"
	case desk.WarmOpen:
		return "open it"
	case desk.WarmUse:
		return s.a.Verb() + " it"
	}
	return "life ends"
}

func warmSpan(l desk.WarmLine) string {
	switch {
	case !l.Known && l.LikelyKnown:
		return "not sure"
	case !l.Known:
		return "never here"
	case l.Span == 0:
		return "at once"
	}
	return desk.WarmSpan(l.Span, l.Line)
}

func warmLikely(l desk.WarmLine) string {
	switch {
	case !l.LikelyKnown:
		return "-"
	case l.Likely == 0:
		return "at once"
	}
	return desk.WarmSpan(l.Likely, cure.Likely)
}

// moment is the line as an instant, to the minute on the safe side.
func (s *warmSheet) moment(l desk.WarmLine) string {
	if l.At.IsZero() {
		return "-"
	}
	return s.full(minuteOf(l))
}
