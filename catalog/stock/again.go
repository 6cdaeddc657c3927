package stock

import (
	"bytes"
	"errors"
	"io"
)

// Rows of a list read again: first their bytes, in the order in which they stand, then
// what they mean, in whatever order they are wanted.

// Picker takes the bytes of rows out of a list. Offsets that rise are read in one go.
// It is for one goroutine.
type Picker struct {
	f  *File
	in *records
}

// Picker makes a picker for the list.
func (f *File) Picker() *Picker {
	p := &Picker{f: f, in: newRecords(nil, f.head.how)}
	p.in.sep = f.head.sep
	p.Reset()
	return p
}

// Reset forgets what was read ahead, so that what is picked next is as the list is now.
func (p *Picker) Reset() { p.seek(p.f.body.at) }

func (p *Picker) seek(at int64) {
	p.in.restart(io.NewSectionReader(p.f.src, at, p.f.size-at), at, 0)
}

// reach goes to a place, by reading on where that is cheaper than going there.
func (p *Picker) reach(offset int64) {
	in := p.in
	if offset < in.base || offset > in.base+int64(in.end)+lineRoom {
		p.seek(offset)
	}
	for in.base+int64(in.end) < offset && in.err == nil {
		in.pos, in.keep = in.end, in.end
		in.fill()
	}
	if in.base+int64(in.end) < offset {
		p.seek(offset)
	}
	in.back(mark{at: offset})
	in.hold()
}

// Append appends the bytes of the row that starts at the offset, all its lines. The
// error is that of reading.
func (p *Picker) Append(to []byte, offset int64) ([]byte, error) {
	in := p.in
	p.reach(offset)
	line, err := in.lines.next()
	if err != nil {
		return to, err
	}
	if bytes.IndexByte(line, '"') < 0 {
		return append(to, line...), nil
	}
	in.back(mark{at: offset})
	if _, err := in.next(); err != nil {
		return to, err
	}
	return append(to, in.buf[in.keep:in.pos]...), nil
}

// Parser says what the bytes of a row mean. It is for one goroutine.
type Parser struct {
	f   *File
	in  *records
	src bytes.Reader

	whole *wholeReader
}

// Parser makes a parser for the list.
func (f *File) Parser() *Parser {
	p := &Parser{f: f, in: newRecords(nil, f.head.how), whole: newWholeReader(f.head)}
	p.in.sep = f.head.sep
	return p
}

// ErrNoRow is that bytes are no row of a list at all.
var ErrNoRow = errors.New("no row")

// Parse reads the bytes of one row that starts on a line: a row, or what is wrong
// with it. ErrNoRow says that nothing is there.
func (p *Parser) Parse(raw []byte, line int) (Row, *Bad, error) {
	if p.whole.read(bytes.TrimSuffix(raw, []byte("\n"))) {
		row := p.whole.row
		row.Line = line
		return row, nil, nil
	}
	p.src.Reset(raw)
	p.in.restart(&p.src, 0, line-1)
	rec, err := p.in.next()
	switch {
	case err == io.EOF || err == nil && rec.blank():
		return Row{}, nil, ErrNoRow
	case err != nil:
		return Row{}, nil, err
	}
	row, bad := p.f.head.row(rec)
	if bad != nil {
		bad.File, bad.Line, bad.Row.Line = p.f.name, line, line
	}
	return row, bad, nil
}
