package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

// ChartPDF writes a chart as one page to pin up: A4, or US letter in US units, upright
// or lying, whichever has the larger figures. Pot life, tack-free and cure are printed
// to be read from 2 m. Nothing in it is carried by colour. printed is the day on the
// page; with it given, the same chart has the same bytes.
//
// Errors: a chart with more rows or columns than can be read from there on one page;
// the error says how many fit.
func ChartPDF(w io.Writer, c *desk.Chart, u Units, printed time.Time) error {
	return chartPDF(w, c, u, printed, true)
}

func chartPDF(w io.Writer, c *desk.Chart, u Units, printed time.Time, compress bool) error {
	var best *wall
	for _, lying := range []bool{true, false} {
		p := newWall(c, u, printed, lying)
		if p.fit(); p.size < wallSmallPrintYields {
			p.letter = 0
			p.fit()
		}
		if best == nil || p.size > best.size || best.size < wallSmallest && p.fits > best.fits {
			best = p
		}
	}
	if best.size < wallSmallest {
		return best.tooMuch()
	}
	best.pdf.SetCompression(compress)
	best.draw()
	return best.pdf.Output(w)
}

// wallSmallest is the smallest size, in points, of the figures that must be read from 2 m:
// digits 4 mm high. A normal eye reads 5 minutes of arc, 2.9 mm at 2 m (the definition
// of the 6/6 line of an eye chart; from memory).
const wallSmallest = 16

// wallSmallPrintYields is the size of figures, in points, under which the small print is
// set as small as it may be.
const wallSmallPrintYields = 24

// wallLargest bounds the figures of a chart of a few rows, in points.
const wallLargest = 48

const (
	pointMM    = 25.4 / 72 // mm
	wallMargin = 10.0      // mm
	wallFont   = "sans"
	wallMinor  = 0.6  // size of the figures of the other milestones, to the main ones
	wallUnit   = 0.6  // size of the units behind figures, to the figures
	wallPad    = 0.25 // room on each side of a figure, in sizes
)

// wall is one page being laid out. Lengths are in mm, sizes of letters in points.
type wall struct {
	pdf           *fpdf.Fpdf
	c             *desk.Chart
	u             Units
	panels        []panel
	printed       time.Time
	width, height float64 // within the margins

	barred bool    // some cell is
	letter float64 // the largest size of the small print
	size   float64 // of the main figures; under wallSmallest where they do not fit
	narrow bool    // the columns do not fit at the smallest size
	fits   int     // rows that fit at the smallest size
	cols   []wallColumn
}

// wallColumn is one column of figures.
type wallColumn struct {
	panel, col int // col is -1 and -2 for the temperatures, in the reader's unit and the other
	scale      float64
	width      float64
}

func newWall(c *desk.Chart, u Units, printed time.Time, lying bool) *wall {
	paper, orientation := "A4", "P"
	if u == US {
		paper = "Letter"
	}
	if lying {
		orientation = "L"
	}
	p := &wall{c: c, u: u, panels: panelsOf(c), printed: printed, letter: 9, pdf: fpdf.New(orientation, "mm", paper, "")}
	p.barred = anyCell(p.panels, func(x chartCell) bool { return x.barred })
	d := p.pdf
	d.AddUTF8FontFromBytes(wallFont, "", liberationsansregular.TTF)
	d.AddUTF8FontFromBytes(wallFont, "B", liberationsansbold.TTF)
	d.SetCatalogSort(true)
	d.SetCreationDate(printed)
	d.SetModificationDate(printed)
	d.SetTitle(c.Class.ID+": pot life and cure by temperature", true)
	d.SetCreator("beadline", true)
	d.SetAutoPageBreak(false, 0)
	d.SetMargins(wallMargin, wallMargin, wallMargin)
	d.SetCellMargin(0)
	d.AddPage()
	pageW, pageH := d.GetPageSize()
	p.width, p.height = pageW-2*wallMargin, pageH-2*wallMargin
	return p
}

// textWidth is the width of a text at a size.
func (p *wall) textWidth(text, style string, size float64) float64 {
	p.pdf.SetFont(wallFont, style, size)
	return p.pdf.GetStringWidth(text)
}

// figureWidth is the width of a figure with its units, which are smaller.
func (p *wall) figureWidth(text, style string, size float64) float64 {
	w := 0.0
	for _, r := range runsOf(text) {
		w += p.textWidth(r, style, runSize(r, size))
	}
	return w
}

func (p *wall) cellWidth(x chartCell, style string, size float64) float64 {
	if x.word {
		return p.textWidth(x.text, style, size)
	}
	return p.figureWidth(x.text, style, size)
}

// runsOf divides "2 h 05 min" into numbers and what stands between them.
func runsOf(text string) []string {
	var all []string
	was := false
	for _, r := range text {
		is := r >= '0' && r <= '9' || r == '.' || r == '-'
		if len(all) == 0 || is != was {
			all = append(all, "")
		}
		all[len(all)-1] += string(r)
		was = is
	}
	return all
}

func runSize(run string, size float64) float64 {
	if last := run[len(run)-1]; last >= '0' && last <= '9' {
		return size
	}
	return wallUnit * size
}

// fit finds the largest figures that the page has room for.
func (p *wall) fit() {
	for s := float64(wallLargest); s >= wallSmallest; s -= 0.5 {
		if cols, ok := p.columns(s); ok && p.rowHeight(s)*float64(len(p.c.TempsC)) <= p.room(s) {
			p.size, p.cols = s, cols
			return
		}
	}
	if _, ok := p.columns(wallSmallest); !ok {
		p.narrow = true
		return
	}
	p.fits = max(0, int(p.room(wallSmallest)/p.rowHeight(wallSmallest)))
}

func (p *wall) tooMuch() error {
	switch {
	case p.narrow:
		return fmt.Errorf("%d humidities are too wide for one page that can be read from 2 m: give fewer, or print the text or CSV form", len(p.c.RHs))
	case p.fits == 0:
		return fmt.Errorf("the words of class %s leave no room for a row on one page: print the text or CSV form", p.c.Class.ID)
	}
	return fmt.Errorf("%d rows are too many for one page that can be read from 2 m: %d fit: take a larger --step or a shorter --temp, or the text or CSV form", len(p.c.TempsC), p.fits)
}

// room is the height left for the rows between the heads and the small print.
func (p *wall) room(s float64) float64 {
	return p.height - p.paragraphs(p.top(), p.width) - p.headHeight(s) - p.paragraphs(p.below(), p.width) - p.smallPrint().height - 4
}

// rowHeight is that of one row; words under a barred figure need room of their own.
func (p *wall) rowHeight(s float64) float64 {
	if p.barred {
		return (1.1*s + 1.3*captionSize(s)) * pointMM
	}
	return 1.25 * s * pointMM
}

func captionSize(s float64) float64 { return max(8, 0.34*s) }

// titleSize is the size of the names over the columns.
func titleSize(s float64) float64 { return min(max(9, 0.5*s), 18) }

// headHeight is the height of what stands over the columns.
func (p *wall) headHeight(s float64) float64 {
	names := 0
	for _, x := range p.panels {
		names = max(names, len(x.milestones))
	}
	return (1.15*float64(names)+0.85*1.2+1.3)*titleSize(s)*pointMM + 1
}

// columns are the columns at a size; ok is false where the page is too narrow.
func (p *wall) columns(s float64) (cols []wallColumn, ok bool) {
	total := 0.0
	add := func(k wallColumn) {
		cols, total = append(cols, k), total+k.width
	}
	for _, lead := range []int{-1, -2} {
		k := wallColumn{panel: -1, col: lead, scale: 1}
		if lead == -2 {
			k.scale = 0.8
		}
		for _, c := range p.c.TempsC {
			k.width = max(k.width, p.figureWidth(p.temp(lead, c), "B", k.scale*s)+2*wallPad*k.scale*s*pointMM)
		}
		add(k)
	}
	for i, x := range p.panels {
		first, wide := len(cols), total
		for j := range x.heads {
			add(p.column(i, j, s))
		}
		// A name wider than its columns widens them.
		if short := p.headWidth(x, s) - (total - wide); short > 0 {
			for k := first; k < len(cols); k++ {
				cols[k].width += short / float64(len(x.heads))
			}
			total += short
		}
	}
	if total > p.width {
		return nil, false
	}
	for k := range cols {
		cols[k].width *= p.width / total
	}
	return cols, true
}

func (p *wall) column(i, j int, s float64) wallColumn {
	x := p.panels[i]
	k := wallColumn{panel: i, col: j, scale: wallMinor}
	if slices.ContainsFunc(x.milestones, isMain) {
		k.scale = 1
	}
	for _, row := range x.cells {
		k.width = max(k.width, p.cellWidth(row[j], "B", k.figure(row[j], s))+2*wallPad*k.scale*s*pointMM)
	}
	if p.barred {
		k.width = max(k.width, p.textWidth(doNot(p.c), "B", captionSize(s))+2)
	}
	k.width = max(k.width, p.textWidth(x.heads[j], "B", 0.9*titleSize(s))+2)
	return k
}

// figure is the size of a cell's text: a word is not read from afar as a figure is.
func (k wallColumn) figure(x chartCell, s float64) float64 {
	if x.word {
		return max(8, 0.6*k.scale*s)
	}
	return k.scale * s
}

// isMain names the milestones to be read from afar.
func isMain(m cure.Milestone) bool {
	return m == cure.Application || m == cure.TackFree || m == cure.Cured
}

func (p *wall) headWidth(x panel, s float64) float64 {
	w := p.textWidth(lineAndMeaning(x), "", 0.85*titleSize(s))
	for _, m := range x.milestones {
		w = max(w, p.textWidth(strings.ToUpper(m.String()), "B", titleSize(s)))
	}
	return w + 2
}

// wallMeanings say in a few words what a milestone is.
var wallMeanings = [cure.NumMilestones]string{"pot life", "last fastener done", "covers may go near", "may be moved", "specified hardness", "final properties"}

func lineAndMeaning(x panel) string {
	m := x.milestones[0]
	if i := slices.IndexFunc(x.milestones, isMain); i >= 0 {
		m = x.milestones[i]
	}
	return lineWords(x.line) + " · " + wallMeanings[m]
}

// temp is a temperature in the first or second column.
func (p *wall) temp(lead int, c float64) string {
	if (p.u == SI) == (lead == -1) {
		return SI.Temp(c)
	}
	return US.Temp(c)
}
