package airlog

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

// records walks through a text, one record at a time. A record is a line, unless a
// quoted field holds a line end. Blank lines, and lines of separators alone as
// spreadsheets leave them behind, are passed over.
type records struct {
	rest   text // what is still to come
	sep    byte
	line   int    // of the record given last
	raw    []byte // that record without its line end
	fields [][]byte
}

// next gives the fields of the next record, unquoted but not trimmed; nil at the
// end. They are good until the next call.
func (r *records) next() ([][]byte, *Error) {
	for len(r.rest.data) > 0 {
		data := r.rest.data
		r.line = r.rest.line
		end := bytes.IndexByte(data, '\n')
		after := end + 1
		if end < 0 {
			end, after = len(data), len(data)
		}
		raw := data[:end]
		if n := len(raw); n > 0 && raw[n-1] == '\r' {
			raw = raw[:n-1]
		}
		lines := 1
		quoted := r.split(raw)
		if quoted {
			var err *Error
			if after, err = r.splitQuoted(data); err != nil {
				return nil, err
			}
			raw = bytes.TrimRight(data[:after], "\r\n")
			lines = bytes.Count(data[:after], []byte{'\n'})
		}
		r.raw = raw
		r.rest = text{data[after:], r.line + lines}
		if (len(raw) == 0 || raw[0] <= ' ' || raw[0] == r.sep || quoted) && r.allBlank() {
			continue
		}
		return r.fields, nil
	}
	return nil, nil
}

// split cuts a line at its separators, unless it sees a quote: then it reports
// true and the line is for splitQuoted.
func (r *records) split(raw []byte) (quoted bool) {
	if bytes.IndexByte(raw, '"') >= 0 {
		return true
	}
	r.fields = r.fields[:0]
	for {
		i := bytes.IndexByte(raw, r.sep)
		if i < 0 {
			break
		}
		r.fields = append(r.fields, raw[:i])
		raw = raw[i+1:]
	}
	r.fields = append(r.fields, raw)
	return false
}

// splitQuoted cuts the record at the start of data by the rules of RFC 4180 and
// gives its length, line end included. A quote that does not open its field is an
// ordinary letter.
func (r *records) splitQuoted(data []byte) (int, *Error) {
	r.fields = r.fields[:0]
	i := 0
	for {
		start := i
		for i < len(data) && (data[i] == ' ' || data[i] == '\t') {
			i++
		}
		var field []byte
		if i < len(data) && data[i] == '"' {
			var err *Error
			if field, i, err = r.quotedField(data, i+1); err != nil {
				return 0, err
			}
		} else {
			for i < len(data) && data[i] != r.sep && data[i] != '\n' {
				i++
			}
			field = data[start:i]
			if i == len(data) || data[i] == '\n' {
				field = bytes.TrimSuffix(field, []byte{'\r'})
			}
		}
		r.fields = append(r.fields, field)
		if i == len(data) {
			return i, nil
		}
		i++ // the separator or line end
		if data[i-1] == '\n' {
			return i, nil
		}
	}
}

// quotedField reads a field from behind its opening quote. It gives the text and
// where the separator or line end behind it stands.
func (r *records) quotedField(data []byte, i int) ([]byte, int, *Error) {
	start := i
	doubled := false
	for {
		j := bytes.IndexByte(data[i:], '"')
		if j < 0 {
			return nil, 0, &Error{Line: r.line, What: "a quote opens and never closes", Remedy: "close it or take it out"}
		}
		i += j + 1
		if i < len(data) && data[i] == '"' {
			doubled = true
			i++
			continue
		}
		break
	}
	field := data[start : i-1]
	if doubled {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	for i < len(data) && data[i] != r.sep && data[i] != '\n' {
		if c := data[i]; c != ' ' && c != '\t' && c != '\r' {
			return nil, 0, &Error{Line: r.line, What: "text behind a closing quote", Remedy: `inside quotes write a quote twice: ""`}
		}
		i++
	}
	return field, i, nil
}

// allBlank reports whether no field holds anything.
func (r *records) allBlank() bool {
	for _, f := range r.fields {
		if !isBlank(f) {
			return false
		}
	}
	return true
}

func isBlank(b []byte) bool { return len(bytes.TrimSpace(b)) == 0 }

// hasBareCR reports whether b holds a carriage return that no line feed follows.
func hasBareCR(b []byte) bool {
	for {
		i := bytes.IndexByte(b, '\r')
		if i < 0 {
			return false
		}
		if b = b[i+1:]; len(b) == 0 || b[0] != '\n' {
			return true
		}
	}
}

// lineOfRow is the line on which row number row, from 0, stands. It reads the text
// again: lines are asked for only in messages, so none are kept.
func lineOfRow(body text, cols columns, row int) int {
	r := records{rest: body, sep: cols.sep}
	for i := 0; i <= row; i++ {
		if _, err := r.next(); err != nil {
			break
		}
	}
	return r.line
}

// shown quotes a piece of the file for a message: one line, not too long.
func shown[T string | []byte](s T) string {
	const most = 60
	t := string(s)
	if len(t) > most {
		n := most
		for n > 0 && !utf8.RuneStart(t[n]) {
			n--
		}
		t = t[:n] + "…"
	}
	return strconv.Quote(t)
}
