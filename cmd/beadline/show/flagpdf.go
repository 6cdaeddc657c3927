package show

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/cmd/beadline/desk"
)

// FlagPDF writes what a stock list asks of people as pages for the board of the store,
// to be worked through with a pen: A4, or US letter in US units, black on white. Each
// row has a box to tick, and each section that asks a person for something a place to
// sign. The same list judged for the same day has the same bytes.
//
// A list that would make more than 500 pages is cut: its most urgent rows are printed,
// the first page and the last say what is not, and so do the notes, one line each.
// Errors: the list cannot be read again, or was changed, or w fails.
func FlagPDF(w io.Writer, f *desk.Flags, u Units) (notes []string, err error) {
	return flagPDF(w, f, u, boardPages, true)
}

// boardPages is the most pages of one list: a ream of paper.
const boardPages = 500

func flagPDF(w io.Writer, f *desk.Flags, u Units, most int, compress bool) ([]string, error) {
	b := newBoard(f, u)
	b.most, b.kept = most, max(2, most/25)
	b.pdf.SetCompression(compress)
	if err := walkFlags(f, b); err != nil {
		return nil, err
	}
	b.finish()
	if err := b.pdf.Output(w); err != nil {
		return nil, err
	}
	if b.left() == 0 {
		return nil, nil
	}
	return []string{b.cut()}, nil
}

// errFull ends a section where the pages are used up.
var errFull = errors.New("the pages are full")

// boardTitle is what the pages are.
const boardTitle = "STOCK: WHAT TO DO"

// boardTitles are the headings of the sections, boardDo what is to be done, and
// boardSigns who signs for it; "": nobody.
var (
	boardTitles = [...]string{
		desk.SetAside:    "SET ASIDE TODAY",
		desk.OnHold:      "HOLD – A PERSON MUST DECIDE",
		desk.NotReadable: "NOT READABLE – CORRECT THE LIST",
		desk.EndsSoon:    "ENDS SOON – USE FIRST",
	}
	boardDo = [...]string{
		desk.SetAside:    "Take it off the shelf, tag it and keep it apart. It does not go on an aircraft.",
		desk.OnHold:      "Do not use it. Keep it apart until the person named has decided, on the evidence named.",
		desk.NotReadable: "Do not use it. Look at the container, correct the line in the list, and run the list again.",
		desk.EndsSoon:    "Good today. Use it before newer stock, and not after its last day.",
	}
	boardSigns = [...]string{
		desk.SetAside:    "Set aside by",
		desk.OnHold:      "Decided by",
		desk.NotReadable: "Corrected by",
		desk.EndsSoon:    "",
	}
)

// head writes the title, the list, the day and the counts, large.
func (b *board) head(f *desk.Flags) error {
	b.newPage()
	b.put(b.paragraph(boardTitle, "B", 20, 0))
	name, rows, line := "List: "+f.Name, "rows in the list", " “Line” is the row's line in the list."
	if f.Register {
		name, rows, line = "Register: "+f.Name, "parts in stock", ""
	}
	if f.Location != "" {
		name += ". Only what is at " + f.Location + ", or may be."
	}
	b.put(b.paragraph(name, "", 11, 0))
	b.put(b.paragraph(fmt.Sprintf("Judged for %s. “Ends soon” means by %s.", weekday(f.On), label.FormatDay(f.Until)), "", 11, 0))
	b.gap(2)
	c := f.Counts
	b.tiles([]tile{{c.Reject, "set aside"}, {c.Hold, "on hold"}, {c.Unreadable, "not readable"}, {c.Expiring, "end soon"}, {c.Use - c.Expiring, "good for longer"}, {c.Rows, rows}})
	b.gap(2)
	if b.total() == 0 {
		b.put(b.paragraph("Nothing to do.", "B", 14, 0))
	} else {
		b.put(b.paragraph("Tick each box when it is done."+line, "", 9, 0))
	}
	return nil
}

// group begins a location.
func (b *board) group(_ *desk.Flags, g desk.Group) error {
	b.place = ""
	if b.full || g.Rows == (desk.Group{}).Rows {
		return nil
	}
	place := "No location"
	if g.Place != "" {
		place = "Location: " + g.Place
	}
	var said []string
	for _, s := range desk.Sections() {
		if n := g.Rows[s]; n > 0 {
			said = append(said, fmt.Sprintf("%s %s", grouped(n), [...]string{"to set aside", "on hold", "not readable", "to use first"}[s]))
		}
	}
	b.waiting = []boardLine{b.space(7)}
	b.waiting = append(b.waiting, b.banner(place, strings.Join(said, ", "))...)
	return nil
}

// section writes the rows of a section, as long as there are pages.
func (b *board) section(f *desk.Flags, g desk.Group, s desk.Section) error {
	if b.full {
		b.unprinted[s] += g.Rows[s]
		return nil
	}
	b.begin(fmt.Sprintf("%s (%s)", boardTitles[s], grouped(g.Rows[s])), boardTitles[s], boardDo[s], lastHead(f, boardHeads))
	n := 0
	err := f.Each(g, s, func(r *desk.Flagged) error {
		if !b.row(b.rowOf(r), b.most-b.kept) {
			return errFull
		}
		n++
		return nil
	})
	b.unprinted[s] += g.Rows[s] - n
	if err != nil && !errors.Is(err, errFull) {
		return err
	}
	if n > 0 && boardSigns[s] != "" {
		b.put(b.signature(boardSigns[s]))
	}
	b.end()
	return nil
}

// draw writes what to draw first of each class.
func (b *board) draw(f *desk.Flags, all []desk.Draw) error {
	b.full = false
	b.ahead(f)
	b.begin("DRAW FIRST, OF EACH CLASS", "DRAW FIRST", "First expired, first out: what is opened, then what ends first.", lastHead(f, boardDrawHeads))
	for _, d := range all {
		class := append([]boardLine{b.space(2)}, b.paragraph(fmt.Sprintf("%s, %s good", d.Class, grouped(d.Good)), "B", 10, 0)...)
		for i := range d.Rows {
			lines := b.drawRowOf(&d.Rows[i])
			if i == 0 {
				lines = append(class, lines...)
			}
			if !b.row(lines, b.most-b.kept/4) {
				b.undrawn++
			}
		}
	}
	b.end()
	return nil
}

// lastHead are columns of which the last is the container in place of the line, where a
// register has no lines.
func lastHead(f *desk.Flags, heads []boardHead) []boardHead {
	if !f.Register {
		return heads
	}
	own := slices.Clone(heads)
	own[len(own)-1].title = "CONTAINER"
	return own
}

// ahead writes, once, how many of the good rows end within the next spans.
func (b *board) ahead(f *desk.Flags) {
	if b.aheadDone || f.Counts.Use == 0 {
		return
	}
	b.aheadDone, b.place = true, ""
	b.begin("NEXT 30, 60 AND 90 DAYS", "", "How many of the good rows end, counted from the day judged.", nil)
	var all []tile
	for _, a := range f.Ahead {
		all = append(all, tile{a.Rows, fmt.Sprintf("in %d days, by %s", a.Days, a.Until.Format("2 Jan 2006"))})
	}
	b.tiles(all)
	b.end()
}

// tail writes what is not on the pages, what was noted of the list, and the cautions.
func (b *board) tail(f *desk.Flags) error {
	b.ahead(f)
	b.place = ""
	if b.left() > 0 {
		b.begin("NOT ON THESE PAGES", "", b.cut(), nil)
		for s, n := range b.unprinted {
			if n > 0 {
				b.bullet(fmt.Sprintf("%s: %s of %s rows", boardTitles[s], grouped(n), grouped(f.Counts.Of(desk.Section(s)))))
			}
		}
		if b.undrawn > 0 {
			b.bullet("DRAW FIRST: " + countOf(b.undrawn, "batch", "batches"))
		}
		b.end()
	}
	about := f.Warnings
	if b.letters.boxed {
		about = append(about[:len(about):len(about)], "□ stands for a letter that these pages have no shape for: look up the line in the list.")
	}
	b.bullets("ABOUT THE LIST", about)
	b.bullets("CAUTIONS", catalog.GeneralCautions())
	return nil
}

// total is how many rows ask for something.
func (b *board) total() int {
	c := b.flags.Counts
	return c.Reject + c.Hold + c.Unreadable + c.Expiring
}

// left is how many rows and batches were not printed.
func (b *board) left() int {
	n := b.undrawn
	for _, k := range b.unprinted {
		n += k
	}
	return n
}

// cut says what was not printed, and how to have it.
func (b *board) cut() string {
	said := countOf(b.left()-b.undrawn, "row", "rows")
	if b.left() == b.undrawn {
		said = countOf(b.undrawn, "batch to draw", "batches to draw")
	}
	return fmt.Sprintf("Not all is on these pages, %s at most: %s more: use --format csv, or --location for a part.", grouped(b.most), said)
}

func countOf(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

// grouped writes a count with a comma between thousands: "3,214".
func grouped(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
