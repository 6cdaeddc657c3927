package picture

import (
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"beadline/cmd/beadline/show"
	"beadline/cure"
)

// look is how a milestone is told apart.
type look struct {
	color color.Color
	shape []vg.Point  // of its mark, in parts of its size around 0, 0
	dash  []vg.Length // of its likely line: stroke and gap
}

// looks are the looks of the milestones, in their order. A mark that points down is
// that of a line not to work past, the others are of lines to wait for.
var looks = [cure.NumMilestones]look{
	{color.RGBA{0xd5, 0x5e, 0x00, 0xff}, ngon(3, 0.75, 1.3), []vg.Length{4, 2}},
	{color.RGBA{0xe6, 0x9f, 0x00, 0xff}, ngon(4, 0.25, 1.2), []vg.Length{2, 1.5}},
	{color.RGBA{0x00, 0x9e, 0x73, 0xff}, ngon(3, 0.25, 1.3), []vg.Length{6, 2}},
	{color.RGBA{0xcc, 0x79, 0xa7, 0xff}, ngon(4, 0.125, 1.2), []vg.Length{3, 3}},
	{color.RGBA{0x00, 0x72, 0xb2, 0xff}, ngon(24, 0, 1), []vg.Length{9, 2.5}},
	{color.RGBA{0x00, 0x00, 0x00, 0xff}, plus(), []vg.Length{1.2, 2}},
}

// Of the lines that are no milestone.
var (
	airColor = color.RGBA{0x77, 0x77, 0x77, 0xff}
	dewColor = color.RGBA{0x56, 0xb4, 0xe9, 0xff}
)

// ngon has n corners so far from its middle, the first of them turned by a part of a
// circle from the right.
func ngon(n int, turn, far float64) (pts []vg.Point) {
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (turn + float64(i)/float64(n)))
		pts = append(pts, vg.Point{X: vg.Length(far * cos), Y: vg.Length(far * sin)})
	}
	return pts
}

func plus() []vg.Point {
	const a = 0.33
	return []vg.Point{{X: 1, Y: -a}, {X: 1, Y: a}, {X: a, Y: a}, {X: a, Y: 1}, {X: -a, Y: 1}, {X: -a, Y: a},
		{X: -1, Y: a}, {X: -1, Y: -a}, {X: -a, Y: -a}, {X: -a, Y: -1}, {X: a, Y: -1}, {X: a, Y: -a}}
}

// markSize is half the width of a mark.
const markSize = 3.6

// mark draws a milestone's mark; hollow is for what is likely.
func (p *page) mark(l look, at vg.Point, hollow bool) {
	pts := make([]vg.Point, len(l.shape))
	for i, s := range l.shape {
		pts[i] = at.Add(s.Scale(markSize))
	}
	closed := append(pts, pts[0])
	if hollow {
		p.FillPolygon(white, pts)
		p.line(l.color, 1, nil, closed...)
		return
	}
	p.FillPolygon(l.color, pts)
	p.line(white, 0.5, nil, closed...)
}

// ring draws a ring around a mark.
func (p *page) ring(at vg.Point, c color.Color) {
	var pts []vg.Point
	for _, s := range ngon(32, 0, 1.9) {
		pts = append(pts, at.Add(s.Scale(markSize)))
	}
	p.line(c, 0.9, nil, append(pts, pts[0])...)
}

// Widths of lines.
const (
	lineWidth   = 1.8 // of a line to work to
	likelyWidth = 0.9
)

// turn draws the line as number k of n that lie on one another: each shows in turn.
// dash nil is a solid line.
func (p *page) turn(c color.Color, width vg.Length, dash []vg.Length, k, n int, pts []vg.Point) {
	if len(pts) < 2 {
		return
	}
	sty := draw.LineStyle{Color: c, Width: width, Dashes: dash}
	if n > 1 {
		on, off := vg.Length(12), vg.Length(0)
		if dash != nil {
			on, off = 4, 2
		}
		sty.Dashes = []vg.Length{on, off + vg.Length(n-1)*(on+off)}
		sty.DashOffs = vg.Length(n-k) * (on + off)
	}
	p.StrokeLines(sty, pts)
}

// key is one entry of a legend: a sample of 22 points' width and what it means.
type key struct {
	sample func(p *page, b vg.Rectangle)
	text   string
}

// The samples that several pictures share; they are drawn in ink, being of no one
// milestone.
var (
	keyLine = func(p *page, b vg.Rectangle) {
		p.line(ink, lineWidth, nil, middle(b, 0), middle(b, 1))
	}
	keyLikely = func(p *page, b vg.Rectangle) {
		p.line(ink, likelyWidth, []vg.Length{4, 2}, middle(b, 0), middle(b, 1))
	}
	keyHatch   = func(p *page, b vg.Rectangle) { p.hatch(b, hatched); p.frame(b, faint, 0.5) }
	keyAllowed = func(p *page, b vg.Rectangle) { p.fill(b, allowed); p.frame(b, faint, 0.5) }
)

// middle is a point on the middle line of a box, so far along.
func middle(b vg.Rectangle, along vg.Length) vg.Point {
	return vg.Point{X: b.Min.X + along*(b.Max.X-b.Min.X), Y: (b.Min.Y + b.Max.Y) / 2}
}

const sampleWidth = 20

// keyRows breaks a legend into rows of at most a width.
func keyRows(keys []key, width vg.Length) (rows [][]key) {
	var x vg.Length
	for _, k := range keys {
		w := sampleWidth + 4 + smallText.room(k.text) + 12
		if len(rows) == 0 || x+w > width+12 {
			rows, x = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], k)
		x += w
	}
	return rows
}

// The margins of the page.
const (
	marginX = 30
	marginY = 24
)

// head is what stands over a picture.
type head struct {
	title string
	stops []string // why nothing is to be done yet
	facts []string // paragraphs
}

// head writes the head and gives the edge below it.
func (p *page) head(h head) vg.Length {
	top := p.Max.Y - marginY
	for _, x := range h.parts(p.Max.X) {
		top = p.para(marginX, top-x.gap, x.style, x.lines)
	}
	return top
}

// part is lines of one style, with a gap over them.
type part struct {
	style style
	lines []string
	gap   vg.Length
}

// parts breaks a head to the width of a page.
func (h head) parts(wide vg.Length) []part {
	width := wide - 2*marginX
	parts := []part{{titleText, wrap(h.title, titleText, width, 2), 0}}
	gap := vg.Length(2)
	add := func(s style, text string) {
		parts = append(parts, part{s, wrap(text, s, width, 3), gap})
		gap = 0
	}
	for _, s := range h.stops {
		add(stopText, s)
	}
	for _, f := range h.facts {
		add(plainText, f)
	}
	return parts
}

// height is how high a head is on a page of a width.
func (h head) height(wide vg.Length) (high vg.Length) {
	for _, x := range h.parts(wide) {
		high += x.gap + x.style.leading()*vg.Length(len(x.lines))
	}
	return high
}

// remarks are notes on milestones; those with the same note stand together.
type remarks struct {
	texts []string
	names map[string][]string
}

func (r *remarks) add(m cure.Milestone, text string) {
	if r.names == nil {
		r.names = map[string][]string{}
	}
	if r.names[text] == nil {
		r.texts = append(r.texts, text)
	}
	r.names[text] = append(r.names[text], m.String())
}

func (r *remarks) lines() (lines []string) {
	for _, t := range r.texts {
		lines = append(lines, strings.Join(r.names[t], ", ")+": "+t)
	}
	return lines
}

// stopLines are the reasons not to mix yet, or not to use what comes mixed, with what
// they mean in front.
func stopLines(stops []string, mixed bool, u show.Units) (lines []string) {
	first := "Do not use it yet. "
	if mixed {
		first = "Do not mix yet. "
	}
	for i, s := range stops {
		if i == 0 {
			s = first + s
		}
		lines = append(lines, u.Text(s))
	}
	return lines
}

// caution stands under every picture.
const caution = "Generic class, not a product. Approved maintenance data and the maker's data sheet prevail. Earliest times are not a release."

// foot is what stands at the bottom of a picture, broken to the width of a page.
type foot struct {
	keys  [][]key
	notes []string
	said  []string // the caution
}

var cautionText = style{8, true, ink}

func newFoot(keys []key, notes []string, wide vg.Length) foot {
	width := wide - 2*marginX
	f := foot{keys: keyRows(keys, width), said: wrap(caution, cautionText, width, 0)}
	for _, n := range notes {
		f.notes = append(f.notes, wrap(n, smallText, width, 4)...)
	}
	return f
}

// top is the edge above a foot.
func (f foot) top() vg.Length {
	return marginY + smallText.leading()*vg.Length(len(f.notes)+len(f.said)) + 12*vg.Length(len(f.keys)) + 6
}

// foot writes legend, notes and the caution at the bottom, and gives the edge above.
func (p *page) foot(keys []key, notes []string) vg.Length {
	f := newFoot(keys, notes, p.Max.X)
	y := f.top() - 3
	for _, row := range f.keys {
		x := vg.Length(marginX)
		for _, k := range row {
			k.sample(p, vg.Rectangle{Min: vg.Point{X: x, Y: y - 9.5}, Max: vg.Point{X: x + sampleWidth, Y: y - 2}})
			x += sampleWidth + 4
			x += p.text(x, y-8.5, left, smallText, k.text) + 12
		}
		y -= 12
	}
	y = p.para(marginX, y-1, smallText, f.notes)
	p.para(marginX, y-1, cautionText, f.said)
	return f.top()
}

// panel is a box with a scale below and one at the side.
type panel struct {
	vg.Rectangle
	x, y scale
}

// newPanel lays values over a box.
func newPanel(b vg.Rectangle, x, y scale) panel {
	x.from, x.to, y.from, y.to = b.Min.X, b.Max.X, b.Min.Y, b.Max.Y
	return panel{b, x, y}
}

func (q panel) point(x, y float64) vg.Point { return vg.Point{X: q.x.at(x), Y: q.y.at(y)} }

// clip keeps what lies within a panel of a line through points.
func (p *page) clip(q panel, pts []vg.Point) [][]vg.Point {
	c := draw.Canvas{Canvas: p.Canvas.Canvas, Rectangle: q.Rectangle}
	if len(pts) < 2 {
		return nil
	}
	return c.ClipLinesXY(pts)
}

// named gives ticks their unit.
func named(ticks []tick, unit string) []tick {
	for i := range ticks {
		ticks[i].text += unit
	}
	return ticks
}

// sideTicks names values at a side of a panel: align right writes left of it. The
// lines of a grid run across it.
func (p *page) sideTicks(q panel, s scale, ticks []tick, align float64, grid bool) {
	x, out := q.Min.X, vg.Length(-3)
	if align == left {
		x, out = q.Max.X, 3
	}
	for _, t := range ticks {
		y := s.at(t.v)
		if grid {
			p.line(faint, 0.5, nil, vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		}
		p.line(rule, 0.6, nil, vg.Point{X: x, Y: y}, vg.Point{X: x + out, Y: y})
		p.text(x+2.4*out, y-2.9, align, tickText, t.text)
	}
}
