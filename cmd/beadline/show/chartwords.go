package show

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
)

// wallText is a text over the whole width of the page.
type wallText struct {
	style, text string
	size        float64
}

func (p *wall) top() []wallText {
	return []wallText{
		{"B", p.c.Class.ID, 22},
		{"", p.c.Class.Name, 13},
		{"", p.u.Text(chartGiven(p.c, p.u)) + " " + desk.Clocks(p.c.Class), 10},
	}
}

// below stands under the figures: how to read them, and what goes before them.
func (p *wall) below() []wallText {
	said := chartAlways(p.c)
	for _, l := range chartLegend(p.c, p.panels, p.u) {
		said = append(said, strings.Replace(l, barredMark+" (", "Grey (", 1))
	}
	return []wallText{
		{"", p.u.Text(strings.Join(said, "  ")), 10},
		{"B", strings.Join(catalog.GeneralCautions(), " "), 10.5},
	}
}

const wallLeading = 1.2 // of a line, in sizes

// paragraphs is the height of some paragraphs at a width.
func (p *wall) paragraphs(all []wallText, width float64) float64 {
	h := 0.0
	for _, x := range all {
		h += float64(len(p.split(x, width))) * x.size * wallLeading * pointMM
	}
	return h + 2
}

func (p *wall) split(x wallText, width float64) []string {
	p.pdf.SetFont(wallFont, x.style, x.size)
	return p.pdf.SplitText(printable(x.text), width)
}

// wallPrint is text in two columns of small letters.
type wallPrint struct {
	lines  []wallText
	left   int // lines in the left column
	height float64
}

// smallPrint is set as large as it can be on a third of the page.
func (p *wall) smallPrint() wallPrint {
	var set wallPrint
	for _, sources := range []bool{true, false} { // the last line says where to find them
		for size := max(p.letter, 6.5); size >= 6.5; size -= 0.5 {
			if set = p.setSmall(size, sources); set.height <= 0.3*p.height {
				return set
			}
		}
	}
	return set
}

func (p *wall) setSmall(size float64, sources bool) wallPrint {
	var set wallPrint
	for _, x := range p.small(size, sources) {
		for _, l := range p.split(x, p.width/2-3) {
			set.lines = append(set.lines, wallText{x.style, l, size})
		}
	}
	set.left = (len(set.lines) + 1) / 2
	for set.left > 0 && set.lines[set.left-1].style == "B" { // no title without its text
		set.left--
	}
	set.height = float64(max(set.left, len(set.lines)-set.left))*size*wallLeading*pointMM + colophonHeight
	return set
}

func (p *wall) small(size float64, sources bool) []wallText {
	var all []wallText
	block := func(title string, items []string) {
		if len(items) > 0 {
			all = append(all, wallText{"B", title, size})
		}
		for _, t := range items {
			all = append(all, wallText{"", "– " + p.u.Text(t), size})
		}
	}
	general := catalog.GeneralCautions()
	block("CAUTIONS", slices.DeleteFunc(slices.Clone(p.c.Cautions), func(s string) bool { return slices.Contains(general, s) }))
	block("MIND", append(remarksOf(p.c), p.c.Assumed...))
	if !sources {
		return all
	}
	var rests []string
	for _, r := range restsOf(p.c) {
		rests = append(rests, r.head+": "+inShort(r.from))
	}
	block("WHAT IT RESTS ON, IN SHORT", rests)
	return all
}

// inShort is the first clause of a provenance, and what else it says it rests on: a
// short form must not make memory look like a source that was read.
func inShort(from string) string {
	first, rest := firstClause(from)
	if rest == "" {
		return from + "."
	}
	var also []string
	for _, word := range []string{"read", "derived", "memory", "common practice", "assumed", "own decision"} {
		if strings.Contains(rest, word) && !strings.Contains(first, word) {
			also = append(also, word)
		}
	}
	if also == nil {
		return first + "."
	}
	return first + "; the rest: " + strings.Join(also, ", ") + "."
}

const colophonHeight = 11 * pointMM

// firstClause cuts a text at its first semicolon outside brackets.
func firstClause(text string) (first, rest string) {
	depth := 0
	for i, r := range text {
		switch {
		case r == '(':
			depth++
		case r == ')':
			depth--
		case r == ';' && depth <= 0:
			return text[:i], text[i+1:]
		}
	}
	return text, ""
}

// colophon is the last line of the page.
func (p *wall) colophon() string {
	file := "the built-in set"
	if p.c.Class.File != "built-in" {
		file = filepath.Base(p.c.Class.File)
	}
	return fmt.Sprintf("Printed %s. Class from %s. Sources in full: beadline class show %s", p.printed.Format("Mon 2 Jan 2006"), file, p.c.Class.ID)
}
