package show

import (
	"fmt"
	"io"
	"math"
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
	s.sealing()
	if len(t.Moments) > 0 {
		s.line("")
		s.table()
		s.remarks()
	}
	s.degreeOfCure(s.t.Degree, s.u)
	if len(t.Moments) > 0 {
		s.restsOn()
	}
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
	if s.t.Laid.After(s.t.From) { // it is mixed and laid already
		stop = "STOP"
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

// given says what was asked: the air, the pot, the part, what warms it, the bead, the
// start.
func (s *timesSheet) given() {
	t, u := s.t, s.u
	air := "Constant air, "
	if named := airNames(t.Pieces); named != "" {
		air = "Air of " + named + ", at the start "
	}
	air += u.Temp(t.Start.TempC)
	if t.RHSaid {
		air += " and " + number(t.Start.RH, 1) + " % RH"
	}
	said := append([]string{air}, s.places()...)
	if t.Bead.DepthMM > 0 {
		said = append(said, "bead "+u.Length(t.Bead.DepthMM))
	}
	if t.Bead.Faces == 2 {
		said = append(said, "open on 2 faces")
	}
	if t.Seal != "" {
		said = append(said, "seal "+string(t.Seal))
	}
	s.block("", u.Text(strings.Join(said, "; ")+"."))
	switch {
	case t.From.IsZero():
		s.block("", desk.Clocks(t.Class))
	case t.Laid.Equal(t.From):
		s.block("", "Counted from "+s.dated(t.From)+".")
	default:
		s.block("", "Mixed "+s.dated(t.From)+"; last sealant laid or fastener torqued "+s.dated(t.Laid)+".")
	}
}

// airNames names the pieces of air that changes; "" for constant air.
func airNames(pieces []cure.Piece) string {
	var named []string
	for i, p := range pieces {
		switch {
		case p.Constant != nil && i == 0:
			return ""
		case p.Samples != nil && p.Forecast:
			named = append(named, "the forecast "+p.Name)
		default:
			named = append(named, p.Name)
		}
	}
	return strings.Join(named, ", then ")
}

// places says what the pot and the part have, and what warms the part.
func (s *timesSheet) places() (said []string) {
	t, u := s.t, s.u
	if !math.IsNaN(t.PotC) {
		said = append(said, "pot "+u.Temp(t.PotC))
	}
	if t.PotG > 0 {
		said = append(said, u.Mass(t.PotG)+" in the pot")
	}
	if !math.IsNaN(t.PartC) {
		said = append(said, "part "+u.Temp(t.PartC))
	}
	if p := t.Part; p.Tau > 0 {
		part := "part follows the air with " + quantity.FormatSpan(p.Tau)
		if !math.IsNaN(p.AtC) {
			part = "part " + u.Temp(p.AtC) + " at the start, follows the air with " + quantity.FormatSpan(p.Tau)
		}
		said = append(said, part)
	}
	if t.Warmth.Warmed {
		said = append(said, "structure warmed to "+u.Temp(t.Warmth.WarmedC))
	}
	if t.Warmth.Heated {
		said = append(said, "heat of "+u.Temp(t.Warmth.HeatC)+" from "+s.full(t.Warmth.HeatFrom.In(s.z)))
	}
	return said
}

// mostWindows is how many windows are written out; a log that hovers at a limit has
// many.
const mostWindows = 6

// sealing says when the class may be laid in the air to come.
func (s *timesSheet) sealing() {
	var said []string
	guessed := false
	hours := number(desk.SealAhead.Hours(), 0) + " h"
	open := s.t.MaySeal()
	for i, w := range open {
		if i == mostWindows {
			said = append(said, plural(len(open)-i, "more window", "more windows")+" within "+hours+".")
			break
		}
		from, to := w.From.In(s.z), w.To.In(s.z)
		mark := "."
		if w.OnForecast {
			mark, guessed = ". +", true
		}
		switch {
		case w.Then == nil && w.From.Equal(s.t.From):
			said = append(said, "You may seal at any time in the "+hours+" from the start, as far as part, dew point and humidity go"+mark)
		case w.Then == nil:
			said = append(said, "You may seal from "+s.full(from)+" on, for as long as was looked ahead"+mark)
		default:
			until := s.full(to)
			if from.Format(time.DateOnly) == to.Format(time.DateOnly) {
				until = to.Format("15:04 MST")
			}
			said = append(said, "You may seal from "+s.full(from)+" until "+until+"; then "+strings.Join(w.Then, ", ")+mark)
		}
	}
	if guessed {
		said = append(said, "Marked +: it rests on air that was not measured. Measure the part and the dew point before you mix.")
	}
	title := "WHEN TO SEAL"
	if s.t.Warmth.Warmed {
		title += ", THE STRUCTURE KEPT AT " + s.u.Temp(s.t.Warmth.WarmedC)
	}
	s.bullets(title, s.inUnits(said))
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
	marked, expected := false, false
	for _, m := range s.t.Moments {
		row(m.Milestone.String(), lineWords(m.Line), s.span(m), s.moment(m), s.likely(m))
		marked, expected = marked || m.Extrapolated, expected || m.OnForecast
	}
	if marked {
		s.block("* ", "Extrapolated: outside the range of the curve. Nothing backs this number; do not work to it.")
	}
	if slices.ContainsFunc(s.t.Moments, func(m desk.Moment) bool { return m.LikelyOutside && m.LikelyKnown && m.Refused == "" }) {
		s.block("~ ", "Likely, but for a part of the way outside the range of the curve: nothing backs it there.")
	}
	if expected {
		s.block("+ ", s.u.Text(s.expected()))
	}
}

// gapWithin is the first gap that a marked line rests on; beyond says that one of them
// rests on air behind the last reading too.
func (s *timesSheet) gapWithin() (g *desk.Gap, beyond bool) {
	t := s.t
	for _, m := range t.Moments {
		if !m.OnForecast {
			continue
		}
		beyond = beyond || m.At.IsZero() || m.At.After(t.Measured)
		for i := range t.Gaps {
			if g == nil && t.Gaps[i].To.After(t.From) && (m.At.IsZero() || t.Gaps[i].From.Before(m.At)) {
				g = &t.Gaps[i]
			}
		}
	}
	return g, beyond
}

// expected says what air the marked lines rest on that nobody measured.
func (s *timesSheet) expected() string {
	t := s.t
	last := t.Pieces[len(t.Pieces)-1]
	if g, beyond := s.gapWithin(); g != nil && !beyond {
		return "Rests on air that nobody measured: " + g.Name + " has no reading from " + s.full(g.From.In(s.z)) + " to " + s.full(g.To.In(s.z)) + "."
	}
	if t.Measured.IsZero() {
		return "Rests on air that is expected, not measured: " + airNames(t.Pieces) + "."
	}
	ends := "The log ends " + s.full(t.Measured.In(s.z)) + ", before this is known. From there on it rests on "
	if len(last.Samples) > 0 && !last.Forecast {
		return ends + "the last reading of " + last.Name + ", held: give a newer log, or what is expected with --forecast, --swing or --then."
	}
	var behind []cure.Piece
	for _, p := range t.Pieces {
		if p.Forecast {
			behind = append(behind, p)
		}
	}
	return ends + "air that is expected, not measured: " + strings.TrimPrefix(airNames(append([]cure.Piece{{}}, behind...)), ", then ") + "."
}

func lineWords(l cure.Line) string { return strings.ReplaceAll(l.String(), "-", " ") }

func (s *timesSheet) span(m desk.Moment) string {
	mark := ""
	if m.Extrapolated {
		mark = " *"
	}
	if m.OnForecast {
		mark += " +"
	}
	switch {
	case m.Refused != "":
		return "no answer"
	case m.ByWitness:
		return "by witness cup"
	case !m.Known:
		return "never" + mark
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
	if m.LikelyOutside {
		return spanFor(m.Likely, m.Line) + " ~"
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
		if refused != "" && s.t.Pieces == nil && !m.Final {
			refused += "; --extrapolate shows it, marked"
		}
		add(m, refused)
		add(m, m.Why)
		for _, e := range m.Excursions {
			if strings.Contains(m.Why, e.What) {
				continue // it has been said
			}
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
