package tag

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

const pointMM = 25.4 / 72 // mm

// PDF writes the labels as a PDF of pages of the sheet's size. printed is the date in
// the file; with it given, the same labels have the same bytes. Print it at 100 %.
func (d *Drawing) PDF(w io.Writer, printed time.Time) error { return d.pdf(w, printed, true) }

func (d *Drawing) pdf(w io.Writer, printed time.Time, compress bool) error {
	paper := d.Sheet.paper()
	p := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: paper.W, Ht: paper.H}})
	p.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	p.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	p.SetCatalogSort(true)
	p.SetCreationDate(printed)
	p.SetModificationDate(printed)
	p.SetTitle("Container labels", true)
	p.SetCreator("beadline", true)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCompression(compress)
	for page := range d.Pages {
		p.AddPage()
		for _, l := range d.Labels {
			if l.Page == page {
				l.onPDF(p, paper)
			}
		}
	}
	return p.Output(w)
}

func (l Label) onPDF(p *fpdf.Fpdf, paper Size) {
	var black strings.Builder
	block := func(q rect) {
		fmt.Fprintf(&black, "%.4f %.4f %.4f %.4f re ", q.x/pointMM, (paper.H-q.y-q.h)/pointMM, q.w/pointMM, q.h/pointMM)
	}
	for _, q := range l.laid.rects {
		block(rect{l.X + q.x, l.Y + q.y, q.w, q.h})
	}
	for _, s := range l.Symbols {
		s.blocks(block)
	}
	// One path for all: between modules that touch no seam shows.
	p.RawWriteStr("0 g " + black.String() + "f\n")
	p.SetTextColor(0, 0, 0)
	for _, t := range l.laid.texts {
		style := ""
		if t.w == bold {
			style = "B"
		}
		p.SetFont("sans", style, t.em/pointMM)
		p.Text(l.X+t.x, l.Y+t.y, t.s)
	}
}
