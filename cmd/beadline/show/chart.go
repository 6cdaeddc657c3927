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
)

// Chart writes a chart for the wall: a row for each temperature, in °C and °F, and the
// line to work to of each milestone, rounded to the safe side. What is too wide for 80
// columns goes on in a block below.
func Chart(w io.Writer, c *desk.Chart, u Units) error {
	s := chartSheet{sheet{w: w, u: u}, c, panelsOf(c)}
	s.line("%s", c.Class.ID)
	s.block("", c.Class.Name)
	s.block("", chartGiven(c, u))
	s.block("", desk.Clocks(c.Class))
	s.bullets(strings.ToUpper(doNot(c)), chartAlways(c))
	for _, b := range s.blocks() {
		s.table(b)
	}
	s.bullets("HOW TO READ IT", chartLegend(c, s.panels, u))
	s.bullets("MIND", remarksOf(c))
	s.restsOn()
	s.bullets("ASSUMED", c.Assumed)
	s.bullets("CAUTIONS", c.Cautions)
	return s.err
}

// panel is the part of a chart that one milestone has, or several that are alike in
// every cell.
type panel struct {
	milestones []cure.Milestone
	line       cure.Line
	heads      []string // the humidities of each column
	cells      [][]chartCell
}

// chartCell is one cell as a person reads it.
type chartCell struct {
	text   string
	word   bool // no time but what stands in for it
	barred bool // nothing is to be laid in this air
}

// barredMark stands behind what is barred in text.
const barredMark = "x"

// anyRH heads the one column of a milestone that humidity does not enter.
const anyRH = "any RH"

// panelsOf puts a chart together as a person reads it: humidities that make no
// difference in any row share a column, and milestones that are alike a panel.
func panelsOf(c *desk.Chart) []panel {
	var all []panel
	for _, m := range c.Milestones {
		p := panelOf(c, m)
		if n := len(all) - 1; n >= 0 && all[n].alike(p) {
			all[n].milestones = append(all[n].milestones, m.Milestone)
			continue
		}
		all = append(all, p)
	}
	return all
}

func (p panel) alike(q panel) bool {
	return p.line == q.line && slices.Equal(p.heads, q.heads) && slices.EqualFunc(p.cells, q.cells, slices.Equal)
}

func panelOf(c *desk.Chart, m desk.ChartMilestone) panel {
	p := panel{milestones: []cure.Milestone{m.Milestone}, line: m.Line, cells: make([][]chartCell, len(c.TempsC))}
	if !m.Humid || len(c.RHs) == 0 {
		p.heads = []string{anyRH}
		for i, row := range m.Cells {
			p.cells[i] = []chartCell{cellOf(row[0], !slices.ContainsFunc(c.Stops[i], func(why []string) bool { return why == nil }))}
		}
		return p
	}
	for j, n := 0, 0; j < len(c.RHs); j += n {
		for n = 1; j+n < len(c.RHs) && sameColumn(c, m, j, j+n); n++ {
		}
		p.heads = append(p.heads, headOf(c.RHs[j:j+n]))
		for i, row := range m.Cells {
			p.cells[i] = append(p.cells[i], cellOf(row[j], c.Stops[i][j] != nil))
		}
	}
	return p
}

func sameColumn(c *desk.Chart, m desk.ChartMilestone, j, k int) bool {
	for i, row := range m.Cells {
		if cellOf(row[j], c.Stops[i][j] != nil) != cellOf(row[k], c.Stops[i][k] != nil) {
			return false
		}
	}
	return true
}

// headOf writes the humidities that share a column.
func headOf(rhs []float64) string {
	switch n := len(rhs); n {
	case 1:
		return number(rhs[0], 1) + " % RH"
	case 2:
		return number(rhs[0], 1) + ", " + number(rhs[1], 1) + " % RH"
	default:
		return number(rhs[0], 1) + " to " + number(rhs[n-1], 1) + " % RH"
	}
}

func cellOf(m desk.Moment, barred bool) chartCell {
	switch {
	case m.Refused != "":
		return chartCell{"no answer", true, barred}
	case m.ByWitness:
		return chartCell{"witness cup", true, barred}
	case !m.Known:
		return chartCell{"never", true, barred}
	}
	return chartCell{wallSpan(m.Span, m.Line), false, barred}
}

// wallSpan writes a span in the round figures of a chart: down for a line not to work
// past, up for one to wait for, by at most a tenth where it is over 10 s.
func wallSpan(d time.Duration, l cure.Line) string {
	unit := 24 * time.Hour
	switch {
	case d < time.Minute:
		unit = time.Second
	case d < 2*time.Minute:
		unit = 5 * time.Second
	case d < 5*time.Minute:
		unit = 10 * time.Second
	case d < 10*time.Minute:
		unit = 30 * time.Second
	case d < time.Hour:
		unit = time.Minute
	case d < 12*time.Hour:
		unit = 5 * time.Minute
	case d < 30*24*time.Hour:
		unit = time.Hour
	}
	over := d % unit
	if d -= over; over > 0 && l == cure.NotBefore {
		d += unit
	}
	return spanFor(d, l)
}

// chartGiven says what a chart holds for.
func chartGiven(c *desk.Chart, u Units) string {
	said := []string{"Constant air; the part is as warm as the air, and so is the pot"}
	if !math.IsNaN(c.PotC) {
		said[0] = "Constant air; the part is as warm as the air; the pot is at " + u.Temp(c.PotC) + ", or as warm as the air where that is warmer"
	}
	if c.Bead.DepthMM > 0 {
		said = append(said, "bead "+u.Length(c.Bead.DepthMM))
	}
	if c.Bead.Faces == 2 {
		said = append(said, "open on 2 faces")
	}
	if c.Seal != "" {
		said = append(said, "seal "+string(c.Seal))
	}
	return strings.Join(said, "; ") + "."
}

type chartSheet struct {
	sheet
	c      *desk.Chart
	panels []panel
}

// strip is some columns of a panel in one block of text.
type strip struct {
	p        panel
	from, to int // columns
	width    int // of each column, the blanks before it included
}

// chartLead is the width of the two columns of temperatures.
const chartLead = 13

// blocks divides the panels into blocks of 80 columns. A panel that fits a block is
// not divided.
func (s *chartSheet) blocks() [][]strip {
	var all [][]strip
	var block []strip
	room := sheetWidth - chartLead
	next := func() {
		if block != nil {
			all = append(all, block)
		}
		block, room = nil, sheetWidth-chartLead
	}
	for _, p := range s.panels {
		w := p.columnWidth()
		if n := len(p.heads); n*w > room && n*w <= sheetWidth-chartLead {
			next()
		}
		for from := 0; from < len(p.heads); {
			n := min(room/w, len(p.heads)-from)
			if n == 0 {
				next()
				continue
			}
			block, room = append(block, strip{p, from, from + n, w}), room-n*w
			from += n
		}
	}
	next()
	return all
}

// columnWidth is that of the widest cell or head, with the mark and the blanks before
// it.
func (p panel) columnWidth() int {
	w := runes(lineWords(p.line))
	for _, m := range p.milestones {
		w = max(w, runes(m.String()))
	}
	for _, h := range p.heads {
		w = max(w, runes(h))
	}
	for _, row := range p.cells {
		for _, x := range row {
			w = max(w, runes(x.text)+2)
		}
	}
	return w + 2
}

func runes(s string) int { return len([]rune(s)) }

// table writes one block.
func (s *chartSheet) table(block []strip) {
	s.line("")
	names := 0
	for _, b := range block {
		names = max(names, len(b.p.milestones))
	}
	for k := range names {
		s.heading("", block, func(b strip, j int) string {
			if i := k - names + len(b.p.milestones); i >= 0 && j == b.from {
				return strings.ToUpper(b.p.milestones[i].String())
			}
			return ""
		})
	}
	s.heading("", block, func(b strip, j int) string {
		if j > b.from {
			return ""
		}
		return lineWords(b.p.line)
	})
	units := []string{"°C", "°F"}
	if s.u == US {
		units[0], units[1] = units[1], units[0]
	}
	s.heading(fmt.Sprintf("%5s %7s", units[0], units[1]), block, func(b strip, j int) string { return b.p.heads[j] })
	for i, c := range s.c.TempsC {
		both := []string{SI.degrees(c), US.degrees(c)}
		if s.u == US {
			both[0], both[1] = both[1], both[0]
		}
		s.heading(fmt.Sprintf("%5s %7s", both[0], both[1]), block, func(b strip, j int) string {
			x := b.p.cells[i][j]
			if x.barred {
				return x.text + " " + barredMark
			}
			return x.text
		})
	}
}

// heading writes one line of a block: what leads it, and a text for each column.
func (s *chartSheet) heading(lead string, block []strip, text func(b strip, column int) string) {
	said := fmt.Sprintf("%-*s", chartLead, lead)
	for _, b := range block {
		for j := b.from; j < b.to; j++ {
			said += fmt.Sprintf("  %-*s", b.width-2, text(b, j))
		}
	}
	s.line("%s", said)
}

// restsOn lists the provenance, milestones with the same one together.
func (s *chartSheet) restsOn() {
	s.line("")
	s.line("WHAT IT RESTS ON")
	for _, r := range restsOf(s.c) {
		s.block("  ", r.head)
		s.block("      ", r.from)
	}
}

// chartRest is one provenance and the milestones that rest on it.
type chartRest struct{ head, from string }

func restsOf(c *desk.Chart) []chartRest {
	var order []chartRest // head holds what is known of, until the names are put before it
	names := map[chartRest][]string{}
	for _, m := range c.Milestones {
		for _, r := range m.Rests {
			k := chartRest{r.What, r.From}
			if names[k] == nil {
				order = append(order, k)
			}
			names[k] = append(names[k], m.Milestone.String())
		}
	}
	for i, k := range order {
		head := strings.Join(names[k], ", ")
		if k.head != "" {
			head += " (" + k.head + ")"
		}
		order[i].head = head
	}
	return order
}
