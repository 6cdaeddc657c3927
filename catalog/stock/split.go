package stock

import (
	"bytes"
	"io"
	"strings"
)

// Lines into records, records into fields, by RFC 4180 with a separator of the
// list's own. The splitting is ours, not encoding/csv's, for one reason: there a
// quote that never closes swallows every row after it. Here such a row is in trouble
// alone, and reading goes on with the next line.

const (
	maxJoin  = 20 // lines that one record may go over, beside its first
	utf8Mark = "\ufeff"
)

// record is the fields of one row, or the trouble with it. The fields are good
// until the next record is read.
type record struct {
	line    int
	at      int64 // where its first line starts in the list
	fields  []string
	trouble string
	more    int  // lines after the first that it goes over
	second  mark // the line after its first
}

// blank reports whether every field is empty, as in the rows that spreadsheets
// leave behind at the end.
func (r record) blank() bool {
	for _, f := range r.fields {
		if strings.TrimSpace(f) != "" {
			return false
		}
	}
	return r.trouble == ""
}

// records reads a list record by record. Where a record starts is all that reading
// on depends on.
type records struct {
	*lines
	sep    byte
	decode decoder
	fields []string
	ahead  []string
}

func newRecords(r io.Reader, how Encoding) *records {
	return &records{lines: newLines(r), decode: decoder{how: how}}
}

// next reads a record; io.EOF at the end.
func (in *records) next() (record, error) {
	in.hold()
	rec := record{at: in.here().at}
	text, err := in.nextText()
	if err != nil {
		return record{}, err
	}
	rec.line, rec.second = in.line, in.here()
	fields, whole, ok := split(text, in.sep, in.fields[:0])
	in.ahead = in.ahead[:0]
	for !whole && ok && len(in.ahead) < maxJoin {
		more, err := in.nextText()
		if err == io.EOF {
			break
		}
		if err != nil {
			return record{}, err
		}
		in.ahead = append(in.ahead, more)
		if !strings.Contains(more, `"`) {
			continue // it cannot close the quote
		}
		fields, whole, ok = split(text+"\n"+strings.Join(in.ahead, "\n"), in.sep, fields[:0])
	}
	in.fields = fields
	if whole && ok {
		rec.fields, rec.more = fields, len(in.ahead)
		return rec, nil
	}
	in.giveBack(rec)
	rec.trouble = `a quote (") in the wrong place: put quotes around the whole field and write each quote inside it twice, or take them out`
	return rec, nil
}

// giveBack has all lines of a record but its first read again, as rows of their own.
// It must be the record read last.
func (in *records) giveBack(rec record) { in.back(rec.second) }

func (in *records) nextText() (string, error) {
	line, err := in.lines.next()
	if err != nil {
		return "", err
	}
	return in.decode.text(line, in.line), nil
}

// firstLine is the first line with anything on it, without a byte-order mark.
func (in *records) firstLine() (string, error) {
	for {
		in.hold()
		raw, err := in.lines.next()
		if err != nil {
			return "", err
		}
		if in.line == 1 {
			if IsUTF16(raw) {
				return "", errUTF16
			}
			if bytes.HasPrefix(raw, []byte(utf8Mark)) {
				if in.decode.how == Windows1252 {
					return "", errNot1252
				}
				raw, in.decode.how = raw[len(utf8Mark):], UTF8
			}
		}
		line := in.decode.text(raw, in.line)
		switch {
		case strings.ContainsRune(line, 0):
			return "", errNotText
		case strings.Contains(line, "\r"):
			return "", errBareCR
		case strings.TrimSpace(line) != "":
			return line, nil
		}
	}
}

// split cuts a record into fields and appends them to fields. whole is false when
// a quote is still open at the end; ok is false when a quote stands where it
// cannot be meant.
func split(text string, sep byte, fields []string) (_ []string, whole, ok bool) {
	for {
		if !strings.HasPrefix(text, `"`) {
			end := strings.IndexByte(text, sep)
			field := text
			if end >= 0 {
				field = text[:end]
			}
			if strings.IndexByte(field, '"') >= 0 {
				return fields, true, false
			}
			fields = append(fields, field)
			if end < 0 {
				return fields, true, true
			}
			text = text[end+1:]
			continue
		}
		field, rest, closed := quoted(text[1:])
		if !closed {
			return fields, false, true
		}
		fields = append(fields, field)
		switch {
		case rest == "":
			return fields, true, true
		case rest[0] != sep:
			return fields, true, false
		}
		text = rest[1:]
	}
}

// quoted reads a field up to its closing quote; a doubled quote stands for one.
func quoted(text string) (field, rest string, closed bool) {
	var b strings.Builder
	for {
		end := strings.IndexByte(text, '"')
		if end < 0 {
			return "", "", false
		}
		if !strings.HasPrefix(text[end+1:], `"`) {
			if b.Len() == 0 {
				return text[:end], text[end+1:], true
			}
			b.WriteString(text[:end])
			return b.String(), text[end+1:], true
		}
		b.WriteString(text[:end+1])
		text = text[end+2:]
	}
}
