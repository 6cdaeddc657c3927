package tag

import (
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// weight is regular or bold.
type weight uint8

const (
	regular weight = iota
	bold
)

// fonts are the two faces, read once.
var fonts = sync.OnceValue(func() (f [2]*opentype.Font) {
	for i, ttf := range [][]byte{liberationsansregular.TTF, liberationsansbold.TTF} {
		font, err := opentype.Parse(ttf)
		if err != nil {
			panic("tag: the embedded font does not read: " + err.Error()) // a broken build
		}
		f[i] = font
	}
	return f
})

// Parts of the em of the font: the height of capitals and digits (its own table gives
// 1409 of 2048 for capitals), the depth of what hangs below the line, and the distance
// of lines.
const (
	capEm  = 0.69
	deepEm = 0.21
	lineEm = 1.15
)

// ruler measures text. Its widths are those of the font without kerning, which is how
// both the PDF and the PNG are set. It is not safe from several goroutines.
type ruler struct {
	buf   sfnt.Buffer
	known [2]map[rune]float64 // width in em; negative: no glyph
}

func newRuler() *ruler { return &ruler{known: [2]map[rune]float64{{}, {}}} }

// glyph is the width of a letter in em; ok is false if the font has none.
func (r *ruler) glyph(c rune, w weight) (em float64, ok bool) {
	if em, hit := r.known[w][c]; hit {
		return em, em >= 0
	}
	f := fonts()[w]
	const upem = 2048
	em = -1
	// Beyond the first plane the PDF writer has no place for it.
	if g, err := f.GlyphIndex(&r.buf, c); err == nil && g != 0 && c <= 0xFFFF && c >= ' ' && c != 0x7F {
		if a, err := f.GlyphAdvance(&r.buf, g, fixed.I(upem), font.HintingNone); err == nil {
			em = float64(a) / 64 / upem
		}
	}
	r.known[w][c] = em
	return em, em >= 0
}

// unprintable finds a letter that the fonts do not have.
func (r *ruler) unprintable(text string) (rune, bool) {
	for _, c := range text {
		for w := range weight(2) {
			if _, ok := r.glyph(c, w); !ok {
				return c, true
			}
		}
	}
	return 0, false
}

// em is the width of a text in em.
func (r *ruler) em(text string, w weight) float64 {
	sum := 0.0
	for _, c := range text {
		em, _ := r.glyph(c, w)
		sum += max(em, 0)
	}
	return sum
}

// fold breaks a text at its spaces into lines of at most width em; a word that is longer
// is broken where the line is full.
func (r *ruler) fold(text string, w weight, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		with := strings.TrimSpace(line + " " + word)
		if r.em(with, w) <= width {
			line = with
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for r.em(word, w) > width {
			cut := r.cut(word, w, width)
			lines, word = append(lines, word[:cut]), word[cut:]
		}
		line = word
	}
	return append(lines, line)
}

// cut is how many bytes of a word fit, at least one letter.
func (r *ruler) cut(word string, w weight, width float64) int {
	sum := 0.0
	for i, c := range word {
		em, _ := r.glyph(c, w)
		if sum += max(em, 0); sum > width && i > 0 {
			return i
		}
	}
	return len(word)
}
