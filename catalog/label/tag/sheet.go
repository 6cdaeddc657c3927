package tag

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Size is a width and a height in mm.
type Size struct{ W, H float64 }

// String writes a size as people do: "70 × 37 mm".
func (s Size) String() string { return number(s.W) + " × " + number(s.H) + " mm" }

// number writes mm with at most one decimal.
func number(mm float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(mm, 'f', 1, 64), ".0")
}

// The sheets (ISO 216; ANSI/ASME Y14.1 size A, 8½ × 11 in).
var (
	A4     = Size{210, 297}
	Letter = Size{215.9, 279.4}
)

// Sheet is the paper that labels are printed on.
type Sheet struct {
	// Page is the size of the paper; the zero Size is a roll: every label a page.
	Page  Size
	Label Size
	Gap   Size // between labels side by side and one below the other
	// Start is the position of the first label on the first sheet, from 1, counted along
	// the rows: a sheet part-used is used up. 0 is 1.
	Start int
	// DPI are the dots per inch of the printer, 150 to 600: a module is a whole number
	// of dots. A PNG has this many pixels per inch.
	DPI int
	// NoBars leaves the Code 128 out.
	NoBars bool
}

// Margins within a label, in mm.
const (
	// edge is what an office printer leaves blank at the edge of the paper (a sixth of
	// an inch; common practice, no source).
	edge = 4.2
	// sheetPad is kept where the paper's own edge is farther off.
	sheetPad = 2.0
	// rollPad is for label printers, which print nearly to the edge.
	rollPad = 1.5
)

// The bounds of what is a label: smaller takes no words, and larger is a poster.
const leastSide, mostSide = 15.0, 420.0

// Roll reports a sheet of one label a page.
func (s Sheet) Roll() bool { return s.Page == Size{} }

// Grid is how many labels lie side by side and one below the other.
func (s Sheet) Grid() (across, down int) {
	if s.Roll() {
		return 1, 1
	}
	const near = 1e-6
	fit := func(page, label, gap float64) int { return int(math.Floor((page + gap + near) / (label + gap))) }
	return fit(s.Page.W, s.Label.W, s.Gap.W), fit(s.Page.H, s.Label.H, s.Gap.H)
}

// check finds what no printer can do.
func (s Sheet) check() error {
	for _, side := range []float64{s.Label.W, s.Label.H} {
		if !(side >= leastSide && side <= mostSide) {
			return fault("label", "%s: a label has sides of %s to %s mm", s.Label, number(leastSide), number(mostSide))
		}
	}
	if s.DPI < 150 || s.DPI > 600 {
		return fault("dpi", "%d: say 150 to 600 dots per inch, as the printer has; 300 is right for one of 600 or 1200", s.DPI)
	}
	if s.Gap.W < 0 || s.Gap.H < 0 || !(s.Gap.W <= 50 && s.Gap.H <= 50) {
		return fault("gap", "%s: labels lie 0 to 50 mm apart", s.Gap)
	}
	across, down := s.Grid()
	if across < 1 || down < 1 {
		return fault("label", "%s does not fit a page of %s", s.Label, s.Page)
	}
	if n := across * down; s.Start < 0 || s.Start > n {
		if s.Roll() {
			return fault("start", "%d: a roll has no positions: leave it out", s.Start)
		}
		return fault("start", "%d: a sheet has the positions 1 to %d: %d across, %d down", s.Start, n, across, down)
	}
	return nil
}

// margin is the blank between the paper's edge and the labels, which lie in its middle.
func (s Sheet) margin() Size {
	across, down := s.Grid()
	mid := func(page, label, gap float64, n int) float64 {
		return (page - float64(n)*label - float64(n-1)*gap) / 2
	}
	return Size{mid(s.Page.W, s.Label.W, s.Gap.W, across), mid(s.Page.H, s.Label.H, s.Gap.H, down)}
}

// pad is the blank within a label, the same for each, so that none is cut at the edge
// of the paper.
func (s Sheet) pad() Size {
	if s.Roll() {
		return Size{rollPad, rollPad}
	}
	m := s.margin()
	return Size{max(sheetPad, edge-m.W), max(sheetPad, edge-m.H)}
}

// dot is the size of a printer's dot in mm.
func (s Sheet) dot() float64 { return 25.4 / float64(s.DPI) }

// place is the page of the k-th label, from 0, and its corner on it.
func (s Sheet) place(k int) (page int, x, y float64) {
	if s.Roll() {
		return k, 0, 0
	}
	across, down := s.Grid()
	k += max(s.Start, 1) - 1
	m := s.margin()
	page, k = k/(across*down), k%(across*down)
	return page, m.W + float64(k%across)*(s.Label.W+s.Gap.W), m.H + float64(k/across)*(s.Label.H+s.Gap.H)
}

// paper is the size of a page.
func (s Sheet) paper() Size {
	if s.Roll() {
		return s.Label
	}
	return s.Page
}

// String says how the labels lie: "3 across and 8 down on 210 × 297 mm".
func (s Sheet) String() string {
	if s.Roll() {
		return fmt.Sprintf("one label of %s a page", s.Label)
	}
	across, down := s.Grid()
	return fmt.Sprintf("labels of %s, %d across and %d down in the middle of %s", s.Label, across, down, s.Page)
}
