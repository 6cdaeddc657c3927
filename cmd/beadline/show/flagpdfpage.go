package show

import (
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"beadline/cmd/beadline/desk"
)

// The pages of the board: what is written from top to bottom is put line by line, with
// a new page where one is full. Lengths are in mm, sizes of letters in points.

const (
	boardMargin = 12.0
	boardA4     = 210 - 2*boardMargin // width within the margins
	boardFoot   = 8.0                 // for the last line of a page
	boardFont   = "sans"
	boardCell   = 10.0 // size of the cells of a row
	boardText   = 9.0  // size of sentences
)

// board is a list being written on pages.
type board struct {
	pdf     *fpdf.Fpdf
	flags   *desk.Flags
	u       Units
	letters *letters

	width, bottom float64
	y             float64
	most, kept    int // pages: of all, and of those kept for what comes behind the rows

	place   string      // the location that is being written, once its heading is; or ""
	running string      // the section that is being written, or ""
	heads   []boardHead // its columns
	next    boardNext
	waiting []boardLine // headings that stand on one page with what comes next

	unprinted [4]int // rows of each section that the pages had no room for
	undrawn   int
	full      bool // no row goes on these pages any more
	aheadDone bool
}

// boardNext is the section whose heading is waiting.
type boardNext struct {
	running string
	heads   []boardHead
}

// boardLine is a line of a page, or a stretch of it that is not to be divided.
type boardLine struct {
	h    float64
	draw func(y float64) // from its top
}

func newBoard(f *desk.Flags, u Units) *board {
	paper := "A4"
	if u == US {
		paper = "Letter"
	}
	d := fpdf.New("P", "mm", paper, "")
	d.AddUTF8FontFromBytes(boardFont, "", liberationsansregular.TTF)
	d.AddUTF8FontFromBytes(boardFont, "B", liberationsansbold.TTF)
	y, m, day := f.On.Date()
	on := time.Date(y, m, day, 0, 0, 0, 0, time.UTC)
	d.SetCatalogSort(true)
	d.SetCreationDate(on)
	d.SetModificationDate(on)
	d.SetTitle("Stock: what to do, "+weekday(f.On), true)
	d.SetCreator("beadline", true)
	d.SetAutoPageBreak(false, 0)
	d.SetMargins(boardMargin, boardMargin, boardMargin)
	d.SetCellMargin(0)
	b := &board{pdf: d, flags: f, u: u, letters: newLetters()}
	w, h := d.GetPageSize()
	b.width, b.bottom = w-2*boardMargin, h-boardMargin-boardFoot
	return b
}

// newPage begins a page; all but the first have the list, the day and the section on
// top.
func (b *board) newPage() {
	b.pdf.AddPage()
	b.pdf.SetDrawColor(0, 0, 0)
	b.pdf.SetTextColor(0, 0, 0)
	b.y = boardMargin
	if b.pdf.PageNo() == 1 {
		return
	}
	right := "Judged for " + weekday(b.flags.On)
	room := b.width - b.letters.width(right, "", boardText) - 5
	b.text(boardMargin, b.y, b.letters.shorten("Stock: what to do. List: "+b.flags.Name, "", boardText, room), "", boardText)
	b.text(boardMargin+b.width-b.letters.width(right, "", boardText), b.y, right, "", boardText)
	b.y += lineHeight(boardText) + 0.5
	b.rule(0.4)
	b.y += 2
	said := b.place
	if b.running != "" {
		said = strings.TrimSuffix(b.running+", continued. "+b.place, ". ")
	}
	if said == "" {
		return
	}
	b.text(boardMargin, b.y, b.letters.shorten(said, "B", 11, b.width), "B", 11)
	b.y += lineHeight(11) + 1
	for _, l := range b.columnHeads(b.heads) {
		l.draw(b.y)
		b.y += l.h
	}
}

// begin has a heading wait for what comes next. running is its short form for the top of
// the pages that follow.
func (b *board) begin(title, running, do string, heads []boardHead) {
	b.running = ""
	b.waiting = append(b.waiting, b.space(5), boardLine{h: lineHeight(14) + 1, draw: func(y float64) {
		b.pdf.SetLineWidth(0.8)
		b.pdf.Line(boardMargin, y-1, boardMargin+b.width, y-1)
		b.text(boardMargin, y, title, "B", 14)
	}})
	b.waiting = append(b.waiting, b.paragraph(do, "", 10, 0)...)
	b.waiting = append(b.waiting, b.space(1.5))
	b.waiting = append(b.waiting, b.columnHeads(heads)...)
	b.next = boardNext{running, heads}
}

// end ends a section; a heading that nothing came behind is dropped.
func (b *board) end() { b.running, b.heads, b.waiting, b.next = "", nil, nil, boardNext{} }

// columnHeads are the names of the columns with a rule below.
func (b *board) columnHeads(heads []boardHead) []boardLine {
	if heads == nil {
		return nil
	}
	return []boardLine{{h: lineHeight(7.5) + 1, draw: func(y float64) {
		x := boardMargin + boardTick
		for i, h := range heads {
			b.text(x, y, h.title, "", 7.5)
			x += b.columnWidth(i)
		}
		b.pdf.SetLineWidth(0.4)
		b.pdf.Line(boardMargin, y+lineHeight(7.5)+0.6, boardMargin+b.width, y+lineHeight(7.5)+0.6)
	}}}
}

// row puts a row, unless that needs a page beyond the limit; then no row follows it.
func (b *board) row(lines []boardLine, limit int) bool {
	h, pages := heightOf(b.waiting)+heightOf(lines), 0
	if h > b.bottom-b.y {
		pages = 1 + int(h/(b.bottom-boardMargin-30)) // 30 mm: more than the top of a page has
	}
	if b.full = b.full || b.pdf.PageNo()+pages > limit; b.full {
		return false
	}
	b.put(lines)
	return true
}

// put writes lines behind the headings that wait for them, on one page if one is enough
// for them.
func (b *board) put(lines []boardLine) {
	h := heightOf(b.waiting) + heightOf(lines)
	if b.y+h > b.bottom && b.y > boardMargin {
		b.newPage()
	}
	all := append(b.waiting, lines...)
	started := len(b.waiting)
	b.waiting = nil
	for i, l := range all {
		if b.y+l.h > b.bottom {
			b.newPage()
		}
		if i == started && b.next.running != "" {
			b.running, b.heads = b.next.running, b.next.heads
		}
		if l.draw != nil {
			l.draw(b.y)
		}
		b.y += l.h
	}
}

func heightOf(lines []boardLine) float64 {
	h := 0.0
	for _, l := range lines {
		h += l.h
	}
	return h
}

// finish writes what is known at the end only: the notice on the first page, and the
// foot of each.
func (b *board) finish() {
	n := b.pdf.PageCount()
	if b.left() > 0 {
		b.pdf.SetPage(1)
		b.notice()
	}
	for i := 1; i <= n; i++ {
		b.pdf.SetPage(i)
		page := fmt.Sprintf("page %d of %d", i, n)
		y := b.bottom + boardFoot - lineHeight(boardText)
		b.text(boardMargin, y, "Planning aid only: approved maintenance data prevail.", "", boardText)
		b.text(boardMargin+b.width-b.letters.width(page, "B", boardText), y, page, "B", boardText)
	}
	b.pdf.SetPage(n) // the writer takes the page at hand for the last
}

// notice says beside the title that there is more than is on the pages.
func (b *board) notice() {
	x := boardMargin + b.letters.width(boardTitle, "B", 20) + 6
	lines := b.letters.fold(b.cut(), "B", 10, boardMargin+b.width-x-4)
	h := float64(len(lines))*lineHeight(10) + 2
	y := boardMargin + lineHeight(20) - h
	b.pdf.SetLineWidth(0.8)
	b.pdf.Rect(x, y, boardMargin+b.width-x, h, "D")
	for i, l := range lines {
		b.text(x+2, y+1+float64(i)*lineHeight(10), l, "B", 10)
	}
}

// text writes one line with its top at y.
func (b *board) text(x, y float64, s, style string, size float64) {
	if s = b.letters.shown(s); s == "" {
		return
	}
	b.pdf.SetFont(boardFont, style, size)
	b.pdf.Text(x, y+0.92*size*pointMM, s)
}

// lineHeight is the distance of lines of a size.
func lineHeight(size float64) float64 { return 1.22 * size * pointMM }

func (b *board) gap(h float64) { b.y += h }

func (b *board) space(h float64) boardLine { return boardLine{h: h} }

func (b *board) rule(width float64) {
	b.pdf.SetLineWidth(width)
	b.pdf.Line(boardMargin, b.y, boardMargin+b.width, b.y)
}

// paragraph folds a text into lines across the page, so far from the left.
func (b *board) paragraph(text, style string, size, indent float64) []boardLine {
	var lines []boardLine
	for _, l := range b.letters.fold(text, style, size, b.width-indent) {
		lines = append(lines, boardLine{h: lineHeight(size), draw: func(y float64) { b.text(boardMargin+indent, y, l, style, size) }})
	}
	return lines
}

// banner is the heading of a location, in a frame.
func (b *board) banner(title, below string) []boardLine {
	lines := b.letters.fold(title, "B", 15, b.width-6)
	h := float64(len(lines))*lineHeight(15) + lineHeight(10) + 3
	return []boardLine{{h: h, draw: func(y float64) {
		b.pdf.SetLineWidth(0.8)
		b.pdf.Rect(boardMargin, y, b.width, h-0.5, "D")
		b.place = title
		y += 1
		for _, l := range lines {
			b.text(boardMargin+3, y, l, "B", 15)
			y += lineHeight(15)
		}
		b.text(boardMargin+3, y, below, "", 10)
	}}}
}

// tile is a count in large figures, and what it counts.
type tile struct {
	n    int
	what string
}

// tiles puts counts side by side in frames.
func (b *board) tiles(all []tile) {
	const h = 15.0
	w := b.width / float64(len(all))
	b.put([]boardLine{{h: h + 1, draw: func(y float64) {
		b.pdf.SetLineWidth(0.3)
		for i, t := range all {
			x := boardMargin + float64(i)*w
			b.pdf.Rect(x, y, w, h, "D")
			n := grouped(t.n)
			size := min(20, 20*(w-4)/b.letters.width(n, "B", 20))
			b.text(x+(w-b.letters.width(n, "B", size))/2, y+1.2, n, "B", size)
			b.text(x+(w-b.letters.width(t.what, "", 8.5))/2, y+10, t.what, "", 8.5)
		}
	}}})
}

// bullet writes one item of a list.
func (b *board) bullet(text string) {
	lines := b.paragraph(b.u.Text(text), "", boardText, 4)
	first := lines[0].draw
	lines[0].draw = func(y float64) {
		b.text(boardMargin, y, "–", "", boardText)
		first(y)
	}
	b.put(lines)
}

func (b *board) bullets(title string, items []string) {
	if len(items) == 0 {
		return
	}
	b.waiting = append([]boardLine{b.space(4)}, b.paragraph(title, "B", 11, 0)...)
	for _, t := range items {
		b.bullet(t)
	}
}
