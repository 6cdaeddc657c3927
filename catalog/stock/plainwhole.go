package stock

import (
	"bytes"
	"encoding/binary"

	"beadline/catalog/shelf/inputs"
)

// The quick way through rows that a register writes for what is more than plain: printable
// ASCII, a limit-inputs in quotes, and beside it nothing of the item but batch, class and
// container, each as limit-inputs has it. As plain.go it decides nothing by itself:
// whatever it does not know goes the way of row.go and whole.go, which are the definition.

// wholeReader reads such rows of one list. It is not safe from several goroutines.
type wholeReader struct {
	h     *header
	role  []byte // of each field: the column it fills, or roleExtra
	cut   [][]byte
	json  []byte
	texts map[string]string // of locations, units and the like
	row   Row
}

func newWholeReader(h *header) *wholeReader {
	w := &wholeReader{h: h, role: make([]byte, len(h.names)), cut: make([][]byte, len(h.names)), texts: map[string]string{}}
	for i := range w.role {
		w.role[i] = roleExtra
	}
	for c, i := range h.at {
		if i >= 0 {
			w.role[i] = byte(c)
		}
	}
	return w
}

// read reads a line into w.row, but for its number; false says that the line needs the
// other way. The row is good until the next is read, what it points to for good.
func (w *wholeReader) read(line []byte) bool {
	if w.h.at[limitInputs] < 0 || bytes.IndexByte(line, '"') < 0 || !printable(line) || !w.split(line) {
		return false
	}
	for i, f := range w.cut {
		switch column(w.role[i]) {
		case batch, class, container, location, unit, quantityColumn, limitInputs, roleExtra:
		default:
			if len(f) > 0 {
				return false
			}
		}
	}
	text := string(w.json)
	it, err := inputs.Decode(text)
	if err != nil || !w.says(batch, it.Batch) || !w.says(class, it.Class) || it.Batch == "" || it.Class == "" ||
		len(w.field(container)) > 0 && !w.says(container, it.Container) {
		return false
	}
	w.row = Row{Item: it, whole: text, Location: w.text(w.field(location)), Unit: w.text(w.field(unit))}
	r := &w.row
	if n := len(it.Tests); n > 0 {
		r.authority, r.reference = it.Tests[n-1].Authority, it.Tests[n-1].Reference
	}
	if f := w.field(quantityColumn); len(f) > 0 {
		if r.Quantity, r.Counted = plainAmount(f); !r.Counted {
			return false
		}
	}
	if len(w.h.extra) > 0 {
		r.Extra = make([]Field, len(w.h.extra))
		for n, i := range w.h.extra {
			r.Extra[n] = Field{w.h.names[i], w.text(w.cut[i])}
		}
	}
	return true
}

// field is what the row has in a column, without the spaces around it.
func (w *wholeReader) field(c column) []byte {
	if i := w.h.at[c]; i >= 0 {
		return w.cut[i]
	}
	return nil
}

func (w *wholeReader) says(c column, s string) bool { return string(w.field(c)) == s }

// text is a text of which there are few.
func (w *wholeReader) text(f []byte) string {
	if len(f) == 0 {
		return ""
	}
	s, ok := w.texts[string(f)]
	if !ok {
		if len(w.texts) >= maxTexts {
			clear(w.texts)
		}
		s = string(f)
		w.texts[s] = s
	}
	return s
}

// split finds the fields of a line, without the spaces around those that have a meaning,
// and what limit-inputs says.
func (w *wholeReader) split(line []byte) bool {
	last := len(w.cut) - 1
	for i := range w.cut {
		var f []byte
		if column(w.role[i]) == limitInputs {
			n := w.quoted(line)
			if n < 0 {
				return false
			}
			f, line = nil, line[n:]
			if len(line) > 0 && line[0] != w.h.sep {
				return false
			}
		} else {
			end := bytes.IndexByte(line, w.h.sep)
			if end < 0 {
				end = len(line)
			}
			f, line = line[:end], line[end:]
			if len(f) > maxField || bytes.IndexByte(f, '"') >= 0 {
				return false
			}
			if w.role[i] != roleExtra {
				f = bytes.Trim(f, " ")
			}
		}
		if (len(line) > 0) != (i < last) {
			return false
		}
		if w.cut[i] = f; i < last {
			line = line[1:]
		}
	}
	return true
}

// quoted reads limit-inputs, which a line begins with, and says how many bytes it is with
// its quotes; -1: it is none that is known here.
func (w *wholeReader) quoted(line []byte) int {
	if len(line) == 0 || line[0] != '"' {
		return -1
	}
	w.json = w.json[:0]
	for at := 1; ; {
		n := bytes.IndexByte(line[at:], '"')
		if n < 0 {
			return -1
		}
		n += at
		if n+1 == len(line) || line[n+1] != '"' {
			w.json = append(w.json, line[at:n]...)
			raw := len(w.json)
			w.json = bytes.Trim(w.json, " ")
			if len(w.json) == 0 || raw > maxInputs {
				return -1
			}
			return n + 1
		}
		w.json = append(w.json, line[at:n+1]...)
		at = n + 2
	}
}

// printable reports whether bytes are printable ASCII alone, looking at eight at a time:
// of eight bytes one is above ASCII, or below the space, or DEL, just if the sum has the
// highest bit of a byte set.
func printable(b []byte) bool {
	const (
		high, one, space = 0x8080808080808080, 0x0101010101010101, 0x2020202020202020
	)
	for ; len(b) >= 8; b = b[8:] {
		if x := binary.LittleEndian.Uint64(b); (x|(x+one)|(x-space))&high != 0 {
			return false
		}
	}
	for _, c := range b {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}
