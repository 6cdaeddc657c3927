package show

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// letters knows the letters of the two faces of the board: which there are, and how
// wide. What a person wrote into a list may have any letter in it.
type letters struct {
	faces [2]*sfnt.Font // regular, bold
	buf   sfnt.Buffer
	known [2]map[rune]float64 // width in em; negative: it cannot be shown
	boxed bool                // a box stood in for some letter
}

// noLetter stands for a letter that cannot be shown.
const noLetter = '□'

func newLetters() *letters {
	l := &letters{known: [2]map[rune]float64{{}, {}}}
	for i, ttf := range [][]byte{liberationsansregular.TTF, liberationsansbold.TTF} {
		face, err := sfnt.Parse(ttf)
		if err != nil {
			panic("show: the embedded font does not read: " + err.Error()) // a broken build
		}
		l.faces[i] = face
	}
	return l
}

// em is the width of a letter in em, negative if it cannot be shown: there is no shape
// for it, it is a control character or has no shape of its own, or it is of a script
// from right to left, which would be set the wrong way round.
func (l *letters) em(c rune, style string) float64 {
	face := len(style) // "" or "B"
	if em, hit := l.known[face][c]; hit {
		return em
	}
	const upem = 2048 // units of an em; any number would do
	em := -1.0
	p, _ := bidi.LookupRune(c)
	backwards := p.Class() == bidi.R || p.Class() == bidi.AL || p.Class() == bidi.AN
	// Beyond the first plane the writer of the PDF has no place for it.
	if c <= 0xffff && unicode.IsPrint(c) && !backwards {
		if g, err := l.faces[face].GlyphIndex(&l.buf, c); err == nil && g != 0 {
			if a, err := l.faces[face].GlyphAdvance(&l.buf, g, fixed.I(upem), font.HintingNone); err == nil {
				em = float64(a) / 64 / upem
			}
		}
	}
	if len(l.known[face]) > 1<<16 {
		clear(l.known[face])
	}
	l.known[face][c] = em
	return em
}

// shown is a text as it can be set: marks joined to their letters, white space as
// spaces, and a box for each letter that cannot be shown in both faces.
func (l *letters) shown(s string) string {
	if asciiText(s) {
		return s
	}
	if utf8.ValidString(s) {
		s = norm.NFC.String(s)
	}
	return strings.Map(func(c rune) rune {
		switch {
		case unicode.IsSpace(c):
			return ' '
		case c == utf8.RuneError || l.em(c, "") < 0 || l.em(c, "B") < 0:
			l.boxed = true
			return noLetter
		}
		return c
	}, s)
}

func asciiText(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

// width is the width in mm of a text that is shown at a size in points.
func (l *letters) width(s, style string, size float64) float64 {
	sum := 0.0
	for _, c := range s {
		sum += max(0, l.em(c, style))
	}
	return sum * size * pointMM
}

// fold makes a text fit to show and breaks it at spaces into lines of at most width mm; a
// longer word is broken too, behind a hyphen or the like if there is one far enough.
func (l *letters) fold(text, style string, size, width float64) []string {
	var lines []string
	line, used := "", 0.0
	gap := l.width(" ", style, size)
	for _, word := range strings.Fields(l.shown(text)) {
		for word != "" {
			part := word[:l.cut(word, style, size, width)]
			word = word[len(part):]
			w := l.width(part, style, size)
			if line != "" && used+gap+w > width {
				lines, line, used = append(lines, line), "", 0
			}
			if line != "" {
				line, used = line+" ", used+gap
			}
			line, used = line+part, used+w
		}
	}
	return append(lines, line)
}

// cut is how many bytes of a word go on a line: all, or as many as fit, but at least one
// letter.
func (l *letters) cut(word, style string, size, width float64) int {
	sum, hyphen := 0.0, 0
	for i, c := range word {
		if sum += max(0, l.em(c, style)) * size * pointMM; sum > width && i > 0 {
			if hyphen > i/2 {
				return hyphen
			}
			return i
		}
		if strings.ContainsRune("-_/|,;.", c) {
			hyphen = i + utf8.RuneLen(c)
		}
	}
	return len(word)
}

// shorten makes a text fit to show, and cuts it to one line of a width in mm, with … at
// its end.
func (l *letters) shorten(text, style string, size, width float64) string {
	s := strings.Join(strings.Fields(l.shown(text)), " ")
	if l.width(s, style, size) <= width {
		return s
	}
	sum := l.width("…", style, size)
	for i, c := range s {
		if sum += max(0, l.em(c, style)) * size * pointMM; sum > width {
			return s[:i] + "…"
		}
	}
	return s
}
