package show

import (
	"strings"

	"beadline/cmd/beadline/desk"
)

// One row on the board: a box to tick, cells side by side, and sentences below them.

// boardHead is a column: its heading and its width in mm on A4; on wider paper the
// location gets the rest.
type boardHead struct {
	title string
	width float64
}

const (
	boardTick    = 7.0 // mm, of the column with the box to tick
	boardCellMM  = 1.5 // mm, between columns
	boardDeepest = 5   // lines of a cell; a longer text goes below the cells
)

var (
	boardHeads     = []boardHead{{"BATCH", 32}, {"CLASS", 41.5}, {"LOCATION", 31}, {"QUANTITY", 19}, {"LAST DAY", 23.5}, {"DAYS", 16}, {"LINE", 16}}
	boardDrawHeads = []boardHead{{"BATCH", 32}, {"OPENED", 41.5}, {"LOCATION", 31}, {"QUANTITY", 19}, {"LAST DAY", 23.5}, {"DAYS", 16}, {"LINE", 16}}
)

// boardLocation is the column that is wider on wider paper.
const boardLocation = 2

// rowOf lays out a row of any section.
func (b *board) rowOf(r *desk.Flagged) []boardLine {
	lines := b.cells(b.cellsOf(r, r.Item.Class))
	if r.Section == desk.NotReadable {
		return b.closed(append(lines, b.paragraph(b.u.Text(sentence(r.Fault.Reason)), "", boardText, boardTick)...))
	}
	g := r.Judgement.Governing
	lines = append(lines, b.paragraph(b.u.Text(g.Reason), "", boardText, boardTick)...)
	hold := r.Section == desk.OnHold
	if hold {
		lines = append(lines, b.settles("To settle: ", toSettle(g))...)
	}
	if r.Section != desk.EndsSoon {
		// All that is past is said, not the governing limit alone.
		for _, l := range r.Judgement.Limits[1:] {
			if !l.Past || !l.Counts {
				continue
			}
			lines = append(lines, b.paragraph("Also: "+b.u.Text(l.Reason), "", boardText, boardTick)...)
			if hold {
				lines = append(lines, b.settles("To settle: ", toSettle(l))...)
			}
		}
	}
	if hold {
		lines = append(lines, b.decision())
	}
	return b.closed(lines)
}

// drawRowOf lays out a batch to draw: in place of its class, since when it is open.
func (b *board) drawRowOf(r *desk.Flagged) []boardLine {
	opened := "no"
	if !r.Item.Opened.IsZero() {
		opened = r.Item.Opened.String()
	}
	lines := b.cells(b.cellsOf(r, opened))
	if r.Also > 0 {
		lines = append(lines, b.paragraph(alsoOn(r), "B", boardText, boardTick)...)
	}
	return b.closed(lines)
}

// settles is who must decide and what evidence would settle it.
func (b *board) settles(first, text string) []boardLine {
	if text == "" {
		return nil
	}
	return b.paragraph(first+b.u.Text(text), "B", boardText, boardTick)
}

// sentence ends a text with a full stop, unless it has an end.
func sentence(s string) string {
	if s == "" || strings.ContainsRune(".?!", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

// cellsOf are the texts of the columns of a row; second is the one behind the batch.
func (b *board) cellsOf(r *desk.Flagged, second string) []string {
	batch, line := r.Item.Batch, r.Line
	if r.Section == desk.NotReadable {
		batch, line = r.Fault.Batch, r.Fault.Line
	}
	if batch == "" {
		batch = "no batch"
	}
	quantity, last, days := "", "", ""
	if r.Counted {
		quantity = amount(r.Quantity, r.Unit)
	}
	if r.Section != desk.NotReadable {
		last = "no date"
		g := r.Judgement.Governing
		if n, dated := g.DaysLeft(r.Judgement.On); dated {
			last, days = lastDay(g), shortDays(n)
		}
	}
	tail := number(float64(line), 0)
	if r.Register {
		tail = r.Item.Container
		if m := r.Maker(); m != "" {
			batch += " of " + m
		}
	}
	return []string{batch, second, r.Location, quantity, last, days, tail}
}

// shortDays is daysLeft for a narrow column.
func shortDays(days int) string {
	switch {
	case days == 0:
		return "today"
	case days > 0:
		return grouped(days) + " left"
	}
	return grouped(-days) + " past"
}

// cells sets texts side by side, each folded in its column, with a box to tick before
// them. A text too long for its column goes below, across the page.
func (b *board) cells(texts []string) []boardLine {
	columns := make([][]string, len(texts))
	deep := 1
	var below []boardLine
	for i, t := range texts {
		w := b.columnWidth(i) - boardCellMM
		columns[i] = b.letters.fold(t, b.cellStyle(i), boardCell, w)
		if len(columns[i]) > boardDeepest {
			head := boardHeads[i].title
			columns[i] = []string{"see below"}
			below = append(below, b.paragraph(head[:1]+strings.ToLower(head[1:])+": "+t, b.cellStyle(i), boardText, boardTick)...)
		}
		deep = max(deep, len(columns[i]))
	}
	lines := []boardLine{b.space(1.2)}
	for n := range deep {
		lines = append(lines, boardLine{h: lineHeight(boardCell), draw: func(y float64) {
			if n == 0 {
				b.pdf.SetLineWidth(0.35)
				b.pdf.Rect(boardMargin+0.3, y, 4, 4, "D")
			}
			x := boardMargin + boardTick
			for i, c := range columns {
				if n < len(c) {
					b.text(x, y, c[n], b.cellStyle(i), boardCell)
				}
				x += b.columnWidth(i)
			}
		}})
	}
	return append(lines, below...)
}

// cellStyle is bold for what is looked for on the shelf, and for when it ends.
func (b *board) cellStyle(column int) string {
	if column == 0 || column == 4 || column == 5 {
		return "B"
	}
	return ""
}

func (b *board) columnWidth(column int) float64 {
	w := boardHeads[column].width
	if column == boardLocation {
		w += b.width - boardA4
	}
	return w
}

// decision is the place for a pen at a row on hold. Nothing is freed by a tick: it needs
// the reference of who may.
func (b *board) decision() boardLine {
	return boardLine{h: 8, draw: func(y float64) {
		y += 3
		x := boardMargin + boardTick
		for _, part := range []struct {
			tick  bool
			text  string
			blank float64 // mm of line to write on
		}{{true, "set aside", 0}, {true, "stays on hold", 0}, {true, "may be used, authority and reference", 38}, {false, "by", 0}} {
			if part.tick {
				b.pdf.SetLineWidth(0.25)
				b.pdf.Rect(x, y+0.2, 3, 3, "D")
				x += 4.2
			}
			b.text(x, y, part.text, "", boardText)
			x += b.letters.width(part.text, "", boardText) + 1.5
			if part.blank > 0 {
				b.blank(x, y, x+part.blank)
				x += part.blank
			}
			x += 3
		}
		b.blank(x-3, y, boardMargin+b.width)
	}}
}

// blank draws a line to write on under a text that starts at y.
func (b *board) blank(from, y, to float64) {
	b.pdf.SetLineWidth(0.2)
	b.pdf.Line(from, y+lineHeight(boardText), to, y+lineHeight(boardText))
}

// closed ends a row with a thin line.
func (b *board) closed(lines []boardLine) []boardLine {
	return append(lines, boardLine{h: 1.4, draw: func(y float64) {
		b.pdf.SetLineWidth(0.15)
		b.pdf.Line(boardMargin, y+1.2, boardMargin+b.width, y+1.2)
	}})
}

// signature is the place to sign for a section.
func (b *board) signature(who string) []boardLine {
	return []boardLine{{h: 13, draw: func(y float64) {
		y += 7
		x := boardMargin + boardTick
		for i, t := range []string{who + ", name:", "Date:", "Signature:"} {
			b.text(x, y, t, "B", boardText)
			from := x + b.letters.width(t, "B", boardText) + 1.5
			x += []float64{0.48, 0.2, 0.32}[i] * (b.width - boardTick)
			b.blank(from, y, x-3)
		}
	}}}
}
