package show

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"
)

// sheet writes lines of 80 columns and keeps the first error.
type sheet struct {
	w   io.Writer
	z   *time.Location
	u   Units // of temperatures and lengths within texts
	err error
}

const sheetWidth = 79

func (s *sheet) line(format string, args ...any) {
	if s.err == nil {
		_, s.err = fmt.Fprintln(s.w, strings.TrimRight(fmt.Sprintf(format, args...), " "))
	}
}

// block writes text behind a first prefix, folded, with a hanging indent. A prefix
// that leaves the text no room is folded too, and the text goes below it.
func (s *sheet) block(first, text string) {
	indent := strings.Repeat(" ", len([]rune(first)))
	if len(indent) > sheetWidth/2 {
		margin := len(first) - len(strings.TrimLeft(first, " "))
		indent = strings.Repeat(" ", margin+4)
		for _, l := range Fold(first, sheetWidth-margin) {
			s.line("%s%s", indent[:margin], l)
		}
		first = indent
	}
	for i, l := range Fold(s.u.Text(text), sheetWidth-len(indent)) {
		if i == 0 {
			s.line("%s%s", first, l)
		} else {
			s.line("%s%s", indent, l)
		}
	}
}

// column writes a name in a column of a width, and text behind it; a name too long
// for the column has lines of its own.
func (s *sheet) column(name string, width int, text string) {
	if len([]rune(name)) > width {
		s.block("  ", name)
		name = ""
	}
	s.block(fmt.Sprintf("  %-*s ", width, name), text)
}

func (s *sheet) bullets(title string, items []string) {
	if len(items) == 0 {
		return
	}
	s.line("")
	s.line("%s", title)
	for _, t := range items {
		s.block("  - ", t)
	}
}

// Fold breaks text at spaces into lines of at most width runes; a word that is longer
// is broken too, behind a hyphen if it has one.
func Fold(text string, width int) []string {
	var out []string
	var line []byte
	n := 0
	add := func(part string, k int) {
		if n > 0 && n+1+k > width {
			out, line, n = append(out, string(line)), line[:0], 0
		}
		if n > 0 {
			line, n = append(line, ' '), n+1
		}
		line, n = append(line, part...), n+k
	}
	for word := range strings.FieldsSeq(text) {
		if k := utf8.RuneCountInString(word); k <= width && utf8.ValidString(word) {
			add(word, k)
			continue
		}
		for _, part := range pieces([]rune(word), width) {
			add(part, utf8.RuneCountInString(part))
		}
	}
	return append(out, string(line))
}

// pieces breaks a word that is longer than width.
func pieces(word []rune, width int) []string {
	var out []string
	for len(word) > width {
		cut := width
		for i := width; i > width/2; i-- {
			if word[i-1] == '-' {
				cut = i
				break
			}
		}
		out, word = append(out, string(word[:cut])), word[cut:]
	}
	return append(out, string(word))
}
