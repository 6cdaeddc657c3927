// Package picture draws answers: a class against temperature, the course of air and
// cure over time, spans in constant air. It decides nothing and computes no physics;
// what it draws comes in as plain data.
//
// A picture is an A4 page on its side, as SVG, PNG or PDF; that of a plan may be a larger
// sheet. The same data give the same bytes. Milestones are told apart three times over: by colour (the palette of M. Okabe
// and K. Ito, “Color Universal Design”, 2008, from memory: made for every kind of colour
// vision), by the shape of their marks, and by a name at the end of each line; so a grey
// print reads as well.
//
// The drawing is that of gonum.org/v1/plot: its canvases, fonts, paths and clipping.
// Its ready-made plot has one panel with one scale on each side, and loads twelve fonts
// when the program starts, so the panels are laid out here.
//
// One file for each picture: class.go, air.go, spans.go, and timeline.go with those beside
// it. page.go and panel.go hold what
// they share, scale.go and clock.go the ticks, place.go keeps labels apart.
package picture

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"path/filepath"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	xfont "golang.org/x/image/font"
	"golang.org/x/text/encoding/charmap"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Format is a form a picture can be written in.
type Format uint8

// The formats.
const (
	SVG Format = iota
	PNG
	PDF
)

// FormatOf is the format that the ending of a file's name asks for. The error says
// which endings there are.
func FormatOf(file string) (Format, error) {
	switch end := strings.ToLower(filepath.Ext(file)); end {
	case ".svg":
		return SVG, nil
	case ".png":
		return PNG, nil
	case ".pdf":
		return PDF, nil
	case "":
		return 0, fmt.Errorf("%s: the name of a picture ends in .svg, .png or .pdf", file)
	default:
		return 0, fmt.Errorf("%s: a picture is not written as %s: the name ends in .svg, .png or .pdf", file, end)
	}
}

// Picture is a picture ready to be written.
type Picture struct {
	title string
	about string // what it shows, in a sentence, for those who cannot see it
	draw  func(*page)
	sheet *vg.Point // the size of the page; nil: A4 on its side
}

// The page, an A4 sheet on its side, and the resolution of a PNG: 1754 pixels wide.
const (
	pageW, pageH = 297 * vg.Millimeter, 210 * vg.Millimeter
	dpi          = 150
)

// size is how wide and high the page is.
func (p *Picture) size() (w, h vg.Length) {
	if p.sheet == nil {
		return pageW, pageH
	}
	return p.sheet.X, p.sheet.Y
}

// Write writes the picture. Errors: those of w, and in a PDF a letter that its fonts
// cannot show.
func (p *Picture) Write(w io.Writer, f Format) error {
	wide, high := p.size()
	switch f {
	case PNG:
		c := vgimg.NewWith(vgimg.UseWH(wide, high), vgimg.UseDPI(dpi))
		p.on(c)
		_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
		return err
	case PDF:
		return p.writePDF(w)
	}
	c := vgsvg.New(wide, high)
	texts := p.on(c).texts
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return err
	}
	_, err := io.WriteString(w, p.finish(out.String(), texts))
	return err
}

// on draws the picture on a canvas.
func (p *Picture) on(c vg.Canvas) *page {
	w, h := p.size()
	g := &page{Canvas: draw.NewCanvas(c, w, h)}
	g.fill(g.Rectangle, white)
	p.draw(g)
	return g
}

// finish gives an SVG its title, its fonts names to fall back on (those of the same
// widths where they are at hand, then any without serifs), and each text the width it
// was measured to have, so that it has that in any font.
func (p *Picture) finish(svg string, texts []placed) string {
	head, body, _ := strings.Cut(svg, "<svg")
	head, _, _ = strings.Cut(head, "<!--")
	tag, body, _ := strings.Cut(body, ">")
	body = strings.ReplaceAll(body, "font-family:Liberation Sans;", "font-family:Liberation Sans,Arimo,Arial,Helvetica,sans-serif;")
	var out strings.Builder
	for _, t := range texts {
		before, after, ok := strings.Cut(body, "<text ")
		if !ok {
			break
		}
		fmt.Fprintf(&out, `%s<text textLength="%.5g" lengthAdjust="spacingAndGlyphs" `, before, (t.box.Max.X - t.box.Min.X).Points())
		body = after
	}
	body = out.String() + body
	return strings.TrimSpace(head) + "\n<svg role=\"img\"" + tag + ">\n<title>" + html.EscapeString(clean(p.title)) + "</title>\n<desc>" +
		html.EscapeString(clean(p.about)) + "</desc>" + body
}

// madeOn is the day that a PDF says it was made on: always the same, so that the same
// data give the same bytes.
var madeOn = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)

func (p *Picture) writePDF(w io.Writer) error {
	fpdf.SetDefaultCreationDate(madeOn)
	fpdf.SetDefaultModificationDate(madeOn)
	fpdf.SetDefaultCatalogSort(true)
	wide, high := p.size()
	c := western{Canvas: vgpdf.New(wide, high), odd: new(string)}
	p.on(c)
	if *c.odd != "" {
		return fmt.Errorf("a PDF cannot show the letter in %q: write an .svg or a .png", *c.odd)
	}
	_, err := c.WriteTo(w)
	return err
}

// western is a PDF page. Its fonts know the letters of code page 1252 alone, one byte
// for each, and of two fonts the library embeds one (v0.17.0, seen in its output), so
// that bold letters are plain ones struck twice.
type western struct {
	*vgpdf.Canvas
	odd *string // a text with another letter
}

// FillString implements vg.Canvas.
func (c western) FillString(f font.Face, at vg.Point, text string) {
	b, err := charmap.Windows1252.NewEncoder().String(text)
	if err != nil {
		*c.odd = text
		return
	}
	if f.Font.Weight == xfont.WeightBold {
		f = style{size: f.Font.Size}.face()
		c.Canvas.FillString(f, at.Add(vg.Point{X: 0.03 * f.Font.Size}), b)
	}
	c.Canvas.FillString(f, at, b)
}
