package picture

import (
	"image/color"
	"math"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// page is the sheet being drawn on. It remembers where text stands.
type page struct {
	draw.Canvas
	texts []placed
}

// placed is a text on the page and the box it fills.
type placed struct {
	text string
	box  vg.Rectangle
}

// The greys, and the tint of what is allowed. All are opaque: what lies over a tint is
// hatched.
var (
	white   = color.RGBA{0xff, 0xff, 0xff, 0xff}
	ink     = color.RGBA{0x1a, 0x1a, 0x1a, 0xff}
	dim     = color.RGBA{0x55, 0x55, 0x55, 0xff}
	rule    = color.RGBA{0x88, 0x88, 0x88, 0xff}
	faint   = color.RGBA{0xdd, 0xdd, 0xdd, 0xff}
	hatched = color.RGBA{0xb5, 0xb5, 0xb5, 0xff}
	allowed = color.RGBA{0xe4, 0xf1, 0xe6, 0xff}
	doubt   = color.RGBA{0xcc, 0xcc, 0xcc, 0xff}
)

// style is how a text looks.
type style struct {
	size  vg.Length
	bold  bool
	color color.Color
}

// The styles. Nothing is smaller than 8 points on paper.
var (
	titleText = style{14, true, ink}
	stopText  = style{10, true, ink}
	plainText = style{9, false, ink}
	boldText  = style{9, true, ink}
	smallText = style{8, false, dim}
	tickText  = style{8, false, ink}
)

// How text lies to its point.
const (
	left   = 0.0
	center = 0.5
	right  = 1.0
)

// fonts are read when the first picture is drawn: a program that draws none has no
// use for them.
var fonts = sync.OnceValue(func() *font.Cache {
	face := func(ttf []byte, w xfont.Weight) font.Face {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic("picture: a font that is part of the program cannot be read: " + err.Error())
		}
		return font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: w}, Face: f}
	}
	return font.NewCache(font.Collection{
		face(liberationsansregular.TTF, xfont.WeightNormal),
		face(liberationsansbold.TTF, xfont.WeightBold),
	})
})

func (s style) face() font.Face {
	f := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if s.bold {
		f.Weight = xfont.WeightBold
	}
	return fonts().Lookup(f, s.size)
}

// leading is the distance of two lines of a style.
func (s style) leading() vg.Length { return 1.25 * s.size }

// looser is how much wider a text may turn out in an SVG that is shown without the
// fonts it was measured with and without heed of its widths.
const looser = 1.15

// room is the width to leave for a text.
func (s style) room(text string) vg.Length { return looser * s.width(text) }

// width is how wide a text is.
func (s style) width(text string) vg.Length {
	f := s.face()
	return f.Width(clean(text))
}

// clean takes out what no picture can hold: control characters, broken UTF-8.
func clean(text string) string {
	text = strings.ToValidUTF8(text, "?")
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, text)
}

// text writes one line with its baseline at y, and says how much room it takes.
func (p *page) text(x, y vg.Length, align float64, s style, text string) vg.Length {
	text = clean(text)
	if strings.TrimSpace(text) == "" {
		return 0
	}
	f := s.face()
	w := f.Width(text)
	x -= w * vg.Length(align)
	p.SetColor(s.color)
	p.FillString(f, vg.Point{X: x, Y: y}, text)
	p.texts = append(p.texts, placed{text, vg.Rectangle{
		Min: vg.Point{X: x, Y: y - 0.22*s.size}, Max: vg.Point{X: x + w, Y: y + 0.75*s.size}}})
	return looser * w
}

// wrap breaks a text into lines of at most a width; a word that is longer is broken.
// What does not fit into most lines ends in “…”; most 0 sets no limit.
func wrap(text string, s style, width vg.Length, most int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(clean(text)) {
		if line != "" && s.room(line+" "+word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for s.room(word) > width {
			n := fitting(word, s, width)
			lines, word = append(lines, word[:n]), word[n:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	if most > 0 && len(lines) > most {
		lines = lines[:most]
		last := []rune(lines[most-1])
		for len(last) > 0 && s.room(string(last)+"…") > width {
			last = last[:len(last)-1]
		}
		lines[most-1] = string(last) + "…"
	}
	return lines
}

// fitting is how many bytes of a word fit a width: one letter at least.
func fitting(word string, s style, width vg.Length) int {
	n := 0
	for i, r := range word {
		end := i + len(string(r))
		if i > 0 && s.room(word[:end]) > width {
			break
		}
		n = end
	}
	return n
}

// para writes lines from a top edge down and gives the edge below.
func (p *page) para(x, top vg.Length, s style, lines []string) vg.Length {
	for _, l := range lines {
		top -= s.leading()
		p.text(x, top+0.3*s.size, left, s, l)
	}
	return top
}

// line draws a line through points.
func (p *page) line(c color.Color, width vg.Length, dashes []vg.Length, pts ...vg.Point) {
	p.StrokeLines(draw.LineStyle{Color: c, Width: width, Dashes: dashes}, pts)
}

// fill fills a box.
func (p *page) fill(b vg.Rectangle, c color.Color) {
	p.FillPolygon(c, []vg.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}})
}

// frame draws the edge of a box.
func (p *page) frame(b vg.Rectangle, c color.Color, width vg.Length) {
	p.line(c, width, nil, b.Min, vg.Point{X: b.Max.X, Y: b.Min.Y}, b.Max, vg.Point{X: b.Min.X, Y: b.Max.Y}, b.Min)
}

// hatch fills a box with slanting lines.
func (p *page) hatch(b vg.Rectangle, c color.Color) {
	const apart = 5
	w, h := b.Max.X-b.Min.X, b.Max.Y-b.Min.Y
	if w <= 0 || h <= 0 {
		return
	}
	var path vg.Path
	// The lines lie on x − y = k·apart, so that boxes side by side join up.
	for k := math.Ceil(float64((b.Min.X - b.Max.Y) / apart)); k <= float64((b.Max.X-b.Min.Y)/apart); k++ {
		d := vg.Length(k * apart)
		x0, x1 := max(b.Min.X, b.Min.Y+d), min(b.Max.X, b.Max.Y+d)
		if x1 > x0 {
			path.Move(vg.Point{X: x0, Y: x0 - d})
			path.Line(vg.Point{X: x1, Y: x1 - d})
		}
	}
	p.SetLineStyle(draw.LineStyle{Color: c, Width: 0.5})
	p.Stroke(path)
}
