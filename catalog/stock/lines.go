package stock

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

const (
	maxLine  = 1 << 20   // bytes in a line; more is no stock list
	lineRoom = 128 << 10 // bytes of a list held at a time, unless a record needs more
)

// lines cuts a list into lines without a string for each. What is kept can be gone
// back to, so that lines read in vain are read again as rows of their own.
type lines struct {
	r    io.Reader
	buf  []byte
	base int64 // where buf[0] stands in the list
	pos  int   // in buf: where the next line starts
	end  int   // in buf: the end of what was read
	keep int   // in buf: what stands before is not needed any more
	line int   // lines read so far
	err  error // what reading ended with
}

func newLines(r io.Reader) *lines { return &lines{r: r, buf: make([]byte, lineRoom)} }

// restart goes on reading at another place of the list.
func (l *lines) restart(r io.Reader, at int64, line int) {
	*l = lines{r: r, buf: l.buf, base: at, line: line}
}

// mark is a line to go back to.
type mark struct {
	at   int64 // its place in the list
	line int   // lines before it
}

func (l *lines) here() mark { return mark{l.base + int64(l.pos), l.line} }

// back goes back to a line not before the last hold.
func (l *lines) back(m mark) { l.pos, l.line = int(m.at-l.base), m.line }

// hold keeps everything from the next line on.
func (l *lines) hold() { l.keep = l.pos }

// next is the next line without its end, good until the one after it is read;
// io.EOF behind the last.
func (l *lines) next() ([]byte, error) {
	seen := l.pos
	for {
		if i := bytes.IndexByte(l.buf[seen:l.end], '\n'); i >= 0 {
			return l.cut(seen+i, seen+i+1)
		}
		seen = l.end
		if seen-l.pos > maxLine {
			return l.cut(seen, seen)
		}
		if l.err != nil {
			if l.err != io.EOF || l.pos == l.end {
				return nil, l.err
			}
			return l.cut(l.end, l.end)
		}
		seen -= l.fill()
	}
}

// cut takes a line that ends in buf, with the next one starting at another place.
func (l *lines) cut(end, next int) ([]byte, error) {
	line := l.buf[l.pos:end]
	l.pos = next
	l.line++
	if len(line) > maxLine {
		return nil, fmt.Errorf("a line longer than %d characters: is this a stock list?", maxLine)
	}
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, nil
}

// fill reads on, and says by how many bytes what is kept was moved to the front.
func (l *lines) fill() (moved int) {
	if moved = l.keep; moved > 0 {
		copy(l.buf, l.buf[moved:l.end])
		l.base += int64(moved)
		l.pos, l.end, l.keep = l.pos-moved, l.end-moved, 0
	}
	if l.end == len(l.buf) {
		l.buf = append(l.buf, make([]byte, len(l.buf))...)
	}
	empty := 0
	for l.err == nil {
		n, err := l.r.Read(l.buf[l.end:])
		l.end, l.err = l.end+n, err
		if n > 0 {
			return moved
		}
		if empty++; empty > 100 && err == nil {
			l.err = io.ErrNoProgress
		}
	}
	return moved
}

// decoder makes text of the bytes of a line.
type decoder struct {
	how  Encoding
	line int // the first line that was not UTF-8 and was read as Windows-1252; 0: none
}

func (d *decoder) text(line []byte, number int) string {
	switch {
	case d.how == UTF8 || plainASCII(line) || d.how == Auto && utf8.Valid(line):
		return string(line)
	case !isWindows1252(line):
		return string(line) // left as it is, and refused as no text
	}
	if d.how == Auto && (d.line == 0 || number < d.line) {
		d.line = number
	}
	text := make([]byte, 0, len(line)+16)
	for _, c := range line {
		text = utf8.AppendRune(text, fromWindows1252(c))
	}
	return string(text)
}

// warning says what was assumed, or "".
func (d *decoder) warning(name string) string {
	if d.line == 0 {
		return ""
	}
	return fmt.Sprintf("%s:%d: this line is not UTF-8 text; it, and any other like it, is read as Windows-1252", name, d.line)
}

func plainASCII(line []byte) bool {
	for _, c := range line {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// high are the characters of the bytes 80 to 9F in Windows-1252, 0 where there is
// none; all others are those of Latin-1. Source: the mapping table CP1252.TXT of the
// Unicode Consortium.
var high = [32]rune{
	'€', 0, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', 0, 'Ž', 0,
	0, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', 0, 'ž', 'Ÿ',
}

func fromWindows1252(c byte) rune {
	if c >= 0x80 && c < 0xa0 {
		return high[c-0x80]
	}
	return rune(c)
}

func isWindows1252(line []byte) bool {
	for _, c := range line {
		if fromWindows1252(c) == 0 && c != 0 {
			return false
		}
	}
	return true
}

// errNotText are refusals of a list that is not what a stock list can be.
var (
	errUTF16   = errors.New("this is UTF-16 text: save the list as CSV UTF-8")
	errNotText = errors.New("this is not text: a stock list is a CSV file such as a spreadsheet saves")
	errNot1252 = errors.New("the list starts with the mark of UTF-8, so it is not Windows-1252: leave the encoding out")
	errBareCR  = errors.New("lines end in a bare CR: save the list with line ends LF or CR LF")
)
