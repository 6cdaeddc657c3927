package show

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// draw puts everything on the page.
func (p *wall) draw() {
	d := p.pdf
	d.SetDrawColor(0, 0, 0)
	y := p.write(p.top(), wallMargin)
	y = p.heads(y)
	set := p.smallPrint()
	height := p.height + wallMargin - y - p.paragraphs(p.below(), p.width) - set.height - 2
	row := min(height/float64(len(p.c.TempsC)), 1.6*p.rowHeight(p.size))
	top := y
	for i := range p.c.TempsC {
		p.row(i, y, row)
		y += row
	}
	p.rules(top-p.headHeight(p.size), top, y)
	p.write(p.below(), y+2)
	p.columnsOfPrint(set)
}

// write puts paragraphs down from y on and gives the y below them.
func (p *wall) write(all []wallText, y float64) float64 {
	for _, x := range all {
		for _, l := range p.split(x, p.width) {
			p.cell(wallMargin, y, p.width, x.size*wallLeading*pointMM, l, x.style, x.size, "L")
			y += x.size * wallLeading * pointMM
		}
	}
	return y + 2
}

// printable puts a question mark for what the letters at hand do not have room for.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xffff || r < ' ' && r != '\n' || r == utf8.RuneError {
			return '?'
		}
		return r
	}, text)
}

func (p *wall) cell(x, y, w, h float64, text, style string, size float64, align string) {
	p.pdf.SetFont(wallFont, style, size)
	p.pdf.SetXY(x, y)
	p.pdf.CellFormat(w, h, printable(text), "", 0, align+"M", false, 0, "")
}

// heads writes what stands over the columns and gives the y below it.
func (p *wall) heads(y float64) float64 {
	ts := titleSize(p.size)
	bottom := y + p.headHeight(p.size)
	x, at := wallMargin, -1
	for _, k := range p.cols {
		if k.panel >= 0 {
			q := p.panels[k.panel]
			p.cell(x, bottom-1.3*ts*pointMM, k.width, 1.3*ts*pointMM, q.heads[k.col], "B", 0.9*ts, "C")
			if k.panel != at {
				at = k.panel
				p.title(q, x, bottom-1.3*ts*pointMM, ts)
			}
		}
		x += k.width
	}
	return bottom
}

// title writes the names of a panel, and just above y what they are.
func (p *wall) title(q panel, x, y, ts float64) {
	w := 0.0
	for _, k := range p.cols {
		if k.panel >= 0 && slices.Equal(p.panels[k.panel].milestones, q.milestones) {
			w += k.width
		}
	}
	name, below := 1.15*ts*pointMM, 0.85*1.2*ts*pointMM
	y -= below + float64(len(q.milestones))*name
	for _, m := range q.milestones {
		p.cell(x, y, w, name, strings.ToUpper(m.String()), "B", ts, "C")
		y += name
	}
	p.cell(x, y, w, below, lineAndMeaning(q), "", 0.85*ts, "C")
}

// row writes the figures of a temperature. What is barred is grey, in thin letters, and
// says so in words.
func (p *wall) row(i int, y, h float64) {
	x := wallMargin
	none := !slices.ContainsFunc(p.c.Stops[i], func(why []string) bool { return why == nil })
	for _, k := range p.cols {
		one := chartCell{barred: none}
		if k.panel >= 0 {
			one = p.panels[k.panel].cells[i][k.col]
		} else {
			one.text = p.temp(k.col, p.c.TempsC[i])
		}
		style, room := "B", h
		if one.barred {
			p.pdf.SetFillColor(222, 222, 222)
			p.pdf.Rect(x, y, k.width, h, "F")
			if k.panel >= 0 {
				style, room = "", h-1.3*captionSize(p.size)*pointMM
				p.cell(x, y+room-0.5, k.width, 1.2*captionSize(p.size)*pointMM, doNot(p.c), "B", captionSize(p.size), "C")
			}
		}
		if k.col == -2 {
			style = ""
		}
		p.figure(x, y, k.width, room, one, style, k.figure(one, p.size))
		x += k.width
	}
}

// figure writes the figure of a cell into the middle of it, its units smaller.
func (p *wall) figure(x, y, w, h float64, one chartCell, style string, size float64) {
	if one.word {
		p.cell(x, y, w, h, one.text, style, size, "C")
		return
	}
	const digit = 0.72 // height of a digit, in sizes
	x += (w - p.figureWidth(one.text, style, size)) / 2
	for _, r := range runsOf(one.text) {
		p.pdf.SetFont(wallFont, style, runSize(r, size))
		p.pdf.Text(x, y+(h+digit*size*pointMM)/2, r)
		x += p.pdf.GetStringWidth(r)
	}
}

// rules draws the lines of the table, a thick one between milestones.
func (p *wall) rules(head, top, bottom float64) {
	d := p.pdf
	d.SetLineWidth(0.15)
	n := float64(len(p.c.TempsC))
	for i := range p.c.TempsC {
		y := top + (bottom-top)*float64(i)/n
		d.Line(wallMargin, y, wallMargin+p.width, y)
	}
	x := wallMargin
	for i, k := range p.cols {
		switch {
		case i > 0 && k.panel != p.cols[i-1].panel:
			d.SetLineWidth(0.7)
			d.Line(x, head, x, bottom)
		case k.panel >= 0 && i > 0:
			d.SetLineWidth(0.15)
			d.Line(x, top, x, bottom)
		}
		x += k.width
	}
	d.SetLineWidth(0.7)
	d.Line(wallMargin, top, wallMargin+p.width, top)
	d.Rect(wallMargin, head, p.width, bottom-head, "D")
}

// columnsOfPrint sets the small print at the foot of the page, and the colophon under
// it.
func (p *wall) columnsOfPrint(set wallPrint) {
	foot := wallMargin + p.height
	p.cell(wallMargin, foot-colophonHeight, p.width, colophonHeight, p.colophon(), "", 8, "L")
	for i, l := range set.lines {
		x, n := wallMargin, i
		if i >= set.left {
			x, n = wallMargin+p.width/2+3, i-set.left
		}
		step := l.size * wallLeading * pointMM
		p.cell(x, foot-set.height+float64(n)*step, p.width/2-3, step, l.text, l.style, l.size, "L")
	}
}
