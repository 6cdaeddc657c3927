package show

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

// Times writes pot life and cure for the person who is about to mix: what stands
// against sealing, if anything does, before every number; then the table, then what
// the times rest on.
func Times(w io.Writer, t *desk.Times, u Units) error {
	s := timesSheet{sheet{w: w, z: t.From.Location()}, t, u}
	s.line("%s", t.Class.ID)
	s.block("", t.Class.Name)
	s.given()
	s.against()
	s.line("")
	s.table()
	s.remarks()
	s.restsOn()
	s.bullets("ASSUMED", s.inUnits(t.Assumed))
	s.bullets("CAUTIONS", t.Cautions)
	return s.err
}

type timesSheet struct {
	sheet
	t *desk.Times
	u Units
}

// against says loudly what forbids the work now, and below it what else to see to.
func (s *timesSheet) against() {
	stop, before := "DO NOT USE IT YET", "BEFORE YOU START"
	if s.t.Class.MixByHand {
		stop, before = "DO NOT MIX YET", "BEFORE YOU MIX"
	}
	others := slices.DeleteFunc(slices.Clone(s.t.Warnings), func(w string) bool { return slices.Contains(s.t.Stops, w) })
	s.bullets(stop, s.inUnits(s.t.Stops))
	s.bullets(before, s.inUnits(others))
}

func (s *timesSheet) inUnits(texts []string) []string {
	var said []string
	for _, t := range texts {
		said = append(said, s.u.Text(t))
	}
	return said
}

// given says what was asked: the air, the pot, the part, the bead, the start.
func (s *timesSheet) given() {
	t, u := s.t, s.u
	air := "Constant air, " + u.Temp(t.Start.TempC)
	if t.Log != nil {
		air = "Air of " + filepath.Base(t.Log.Name) + ", at the start " + u.Temp(t.Start.TempC)
	}
	if t.RHSaid {
		air += " and " + number(t.Start.RH, 1) + " % RH"
	}
	said := []string{air}
	if !math.IsNaN(t.PotC) {
		said = append(said, "pot "+u.Temp(t.PotC))
	}
	if !math.IsNaN(t.PartC) {
		said = append(said, "part "+u.Temp(t.PartC))
	}
	if t.Bead.DepthMM > 0 {
		said = append(said, "bead "+u.Length(t.Bead.DepthMM))
	}
	if t.Bead.Faces == 2 {
		said = append(said, "open on 2 faces")
	}
	if t.Seal != "" {
		said = append(said, "seal "+string(t.Seal))
	}
	s.block("", strings.Join(said, "; ")+".")
	switch {
	case t.From.IsZero():
		s.block("", desk.Clocks(t.Class))
	case t.Laid.Equal(t.From):
		s.block("", "Counted from "+s.dated(t.From)+".")
	default:
		s.block("", "Mixed "+s.dated(t.From)+"; last sealant laid or fastener torqued "+s.dated(t.Laid)+".")
	}
}

func (s *timesSheet) dated(t time.Time) string { return t.In(s.z).Format("Mon 2 Jan 2006 15:04 MST") }

// table has a row for each milestone: the line to work to, as a span and an instant,
// and the likely span beside it.
func (s *timesSheet) table() {
	dated := !s.t.From.IsZero()
	row := func(cells ...string) {
		if !dated {
			cells = append(cells[:3], cells[4])
			s.line("%-12s %-11s %-17s %s", cells[0], cells[1], cells[2], cells[3])
			return
		}
		s.line("%-12s %-11s %-15s %-22s %s", cells[0], cells[1], cells[2], cells[3], cells[4])
	}
	row("MILESTONE", "LINE", "WORK TO", "THAT IS", "LIKELY")
	marked := false
	for _, m := range s.t.Moments {
		row(m.Milestone.String(), lineWords(m.Line), s.span(m), s.moment(m), s.likely(m))
		marked = marked || m.Extrapolated
	}
	if marked {
		s.block("* ", "Extrapolated: outside the range of the curve. Nothing backs this number; do not work to it.")
	}
}

func lineWords(l cure.Line) string { return strings.ReplaceAll(l.String(), "-", " ") }

func (s *timesSheet) span(m desk.Moment) string {
	mark := ""
	if m.Extrapolated {
		mark = " *"
	}
	switch {
	case m.Refused != "":
		return "no answer"
	case m.ByWitness:
		return "by witness cup"
	case !m.Known:
		return "never"
	}
	return spanFor(m.Span, m.Line) + mark
}

// spanFor cuts a span short for a line not to work past and rounds one to wait for
// up.
func spanFor(d time.Duration, l cure.Line) string {
	if l == cure.NotBefore {
		return quantity.FormatSpanUp(d)
	}
	return quantity.FormatSpan(d)
}

// moment is the line as an instant, to the minute on the safe side.
func (s *timesSheet) moment(m desk.Moment) string {
	t := m.At
	if t.IsZero() {
		return "-"
	}
	if m.Line == cure.NotBefore {
		t = t.Add(time.Minute - 1)
	}
	return s.full(t.Truncate(time.Minute))
}

func (s *timesSheet) likely(m desk.Moment) string {
	if m.Refused != "" || !m.LikelyKnown {
		return "-"
	}
	return spanFor(m.Likely, m.Line)
}

// remarks says why there is no line and where the air left the curve, milestones
// with the same remark together.
func (s *timesSheet) remarks() {
	var order []string
	names := map[string][]string{}
	add := func(m desk.Moment, remark string) {
		if remark == "" {
			return
		}
		if names[remark] == nil {
			order = append(order, remark)
		}
		names[remark] = append(names[remark], m.Milestone.String())
	}
	for _, m := range s.t.Moments {
		refused := m.Refused
		if refused != "" && s.t.Log == nil && !m.Final {
			refused += "; --extrapolate shows it, marked"
		}
		add(m, refused)
		add(m, m.Why)
		for _, e := range m.Excursions {
			add(m, fmt.Sprintf("%s %s; %s", quantity.FormatSpan(e.For), e.What, counted(m.Line)))
		}
	}
	var said []string
	for _, remark := range order {
		said = append(said, strings.Join(names[remark], ", ")+": "+remark+".")
	}
	s.bullets("MIND", s.inUnits(said))
}

// counted says how a line counts time outside its curve.
func counted(l cure.Line) string {
	if l == cure.NotBefore {
		return "counted at the slow side"
	}
	return "counted at the fast side"
}

// restsOn lists the provenance, milestones with the same one together.
func (s *timesSheet) restsOn() {
	type source struct{ what, from string }
	var order []source
	names := map[source][]string{}
	for _, m := range s.t.Moments {
		for _, r := range m.RestsOn {
			k := source{r.What, r.From}
			if names[k] == nil {
				order = append(order, k)
			}
			names[k] = append(names[k], m.Milestone.String())
		}
	}
	s.line("")
	s.line("WHAT IT RESTS ON")
	for _, k := range order {
		head := strings.Join(names[k], ", ")
		if k.what != "" {
			head += " (" + k.what + ")"
		}
		s.block("  ", head)
		s.block("      ", k.from)
	}
}
