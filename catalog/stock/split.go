package stock

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Lines into records, records into fields, by RFC 4180 with either separator. The
// splitting is ours, not encoding/csv's, for one reason: there a quote that never
// closes swallows every row after it. Here such a row is in trouble alone, and
// reading goes on with the next line.

const (
	maxLine  = 1 << 20 // bytes in a line; more is no stock list
	maxJoin  = 20      // lines that one record may go over
	utf8Mark = "\ufeff"
)

// record is the fields of one row, or the trouble with it. The fields are good
// until the next record is read.
type record struct {
	line    int
	fields  []string
	trouble string
	ahead   []string // the lines after the first that it goes over
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

// records reads a file record by record.
type records struct {
	lines  *bufio.Reader
	sep    byte
	line   int      // lines read so far
	back   []string // lines read ahead and given back, the next one first
	fields []string
	long   bytes.Buffer
}

func newRecords(r io.Reader) *records { return &records{lines: bufio.NewReaderSize(r, 64<<10)} }

// next reads a record; io.EOF at the end.
func (in *records) next() (record, error) {
	text, err := in.nextLine()
	if err != nil {
		return record{}, err
	}
	rec := record{line: in.line}
	fields, whole, ok := split(text, in.sep, in.fields[:0])
	var ahead []string
	for !whole && ok && len(ahead) < maxJoin {
		more, err := in.nextLine()
		if err == io.EOF {
			break
		}
		if err != nil {
			return record{}, err
		}
		ahead = append(ahead, more)
		if !strings.Contains(more, `"`) {
			continue // it cannot close the quote
		}
		fields, whole, ok = split(text+"\n"+strings.Join(ahead, "\n"), in.sep, fields[:0])
	}
	in.fields = fields
	if whole && ok {
		rec.fields, rec.ahead = fields, ahead
		return rec, nil
	}
	in.giveBack(ahead)
	rec.trouble = `a quote (") in the wrong place: put quotes around the whole field and write each quote inside it twice, or take them out`
	return rec, nil
}

// giveBack has lines read again, as rows of their own.
func (in *records) giveBack(lines []string) {
	in.back = append(lines, in.back...)
	in.line -= len(lines)
}

// firstLine is the first line with anything on it, without a byte-order mark.
func (in *records) firstLine() (string, error) {
	for {
		line, err := in.nextLine()
		if err != nil {
			return "", err
		}
		if in.line == 1 {
			if strings.HasPrefix(line, "\xff\xfe") || strings.HasPrefix(line, "\xfe\xff") {
				return "", errors.New("this is UTF-16 text: save the list as CSV UTF-8")
			}
			line = strings.TrimPrefix(line, utf8Mark)
		}
		switch {
		case strings.ContainsRune(line, 0):
			return "", errors.New("this is not text: a stock list is a CSV file such as a spreadsheet saves")
		case strings.Contains(line, "\r"):
			return "", errors.New("lines end in a bare CR: save the list with line ends LF or CR LF")
		case strings.TrimSpace(line) != "":
			return line, nil
		}
	}
}

// nextLine reads a line without its end. Each line is a string of its own, which
// the fields are cut from.
func (in *records) nextLine() (string, error) {
	if len(in.back) > 0 {
		line := in.back[0]
		in.back = in.back[1:]
		in.line++
		return line, nil
	}
	part, err := in.lines.ReadSlice('\n')
	if err == bufio.ErrBufferFull {
		in.long.Reset()
		for err == bufio.ErrBufferFull && in.long.Len() <= maxLine {
			in.long.Write(part)
			part, err = in.lines.ReadSlice('\n')
		}
		in.long.Write(part)
		part = in.long.Bytes()
		if len(part) > maxLine {
			in.line++
			return "", fmt.Errorf("a line longer than %d characters: is this a stock list?", maxLine)
		}
	}
	if err == io.EOF && len(part) == 0 {
		return "", io.EOF
	}
	if err != nil && err != io.EOF {
		return "", err
	}
	in.line++
	part = bytes.TrimSuffix(part, []byte("\n"))
	return string(bytes.TrimSuffix(part, []byte("\r"))), nil
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
