package stock

import (
	"bytes"
	"fmt"
	"io"
	"runtime"
	"sync"
)

// File is a stock list of any size that can be read at any place: gone through on
// several goroutines, and read again at the rows that matter. Its methods may be
// called from several goroutines.
type File struct {
	name string
	src  io.ReaderAt
	size int64
	head *header
	body mark // the first line behind the header

	chunk int64 // bytes of the list for a goroutine to take at a time
}

// At is the place of a row.
type At struct {
	Offset int64 // of its first byte
	Line   int   // of its first line, from 1
}

// Visitor is told of the rows of a stretch of the list, in their order. The line of
// a place counts from the start of the stretch.
type Visitor interface {
	Plain(at At, p *Plain) // a plain row that was understood
	Row(at At, r *Row)     // any other that was; r is good until it returns
	Bad(at At, b *Bad)     // one that was not
	End()                  // the stretch is over
}

const (
	minChunk = 64 << 10
	maxChunk = 1 << 20
)

// Open reads the header of a list. The errors are those of ReadCSV; a list in UTF-16
// is refused, as it must be made UTF-8 before (FromUTF16). Behind size nothing is read;
// the list may end before, where src says io.EOF: one that is still being written is as
// good, if src waits for what is not there yet.
func Open(src io.ReaderAt, size int64, name string, o Options) (*File, error) {
	in := newRecords(io.NewSectionReader(src, 0, size), o.Encoding)
	head, err := readHeader(in, name, o)
	if err != nil {
		return nil, err
	}
	chunk := min(max(size/int64(16*runtime.GOMAXPROCS(0)), minChunk), maxChunk)
	return &File{name: name, src: src, size: size, head: head, body: in.here(), chunk: chunk}, nil
}

// Columns is the header as written, without the spaces around names.
func (f *File) Columns() []string { return f.head.names }

// Means are the columns of ours that Columns stand for, "" for none.
func (f *File) Means() []string { return f.head.means() }

// Scan goes through the list on so many goroutines. For each stretch it asks begin
// for a visitor, which is one worker's until its End, and then hands it to done, in
// the order of the list and one at a time, with the number of lines before the
// stretch. A stretch that turns out to start inside a quoted field is dropped and
// gone through again with another visitor; done hears only of what counts, and of
// every row once. The warnings are those of the list. Errors: the list cannot be
// read, or done says so.
func (f *File) Scan(workers int, begin func(worker int) Visitor, done func(v Visitor, before int) error) ([]string, error) {
	s := &scan{f: f, begin: begin, done: done, next: f.body.at, due: f.body, waiting: map[int64]*stretch{}, decode: decoder{line: f.head.odd}}
	var all sync.WaitGroup
	for w := range max(1, workers) {
		all.Go(func() { s.work(w) })
	}
	all.Wait()
	return warnings(f.head, s.decode, &s.none, f.name), s.err
}

// scan is one going through a list. A stretch is read from where a record seems to
// start; whether one does is known once the stretch before it has ended.
type scan struct {
	f     *File
	begin func(worker int) Visitor
	done  func(v Visitor, before int) error

	mu      sync.Mutex
	next    int64              // where the next stretch to hand out starts
	due     mark               // where the next stretch to count starts
	waiting map[int64]*stretch // read, but not yet counted, by their starts
	decode  decoder
	none    absent
	err     error
}

// stretch is what reading a part of the list found.
type stretch struct {
	v          Visitor
	start, end int64 // records that start in between
	next       int64 // where the first record behind them starts
	lines      int   // up to next
	odd        int   // the first line read as Windows-1252; 0: none
	none       absent
	err        error
}

func (s *scan) work(worker int) {
	w := &walker{f: s.f, plain: newPlainReader(s.f.head), whole: newWholeReader(s.f.head)}
	w.in = newRecords(nil, s.f.head.how)
	w.in.sep = s.f.head.sep
	for {
		start, end, ok := s.take()
		if !ok {
			return
		}
		st := w.walk(start, end, s.begin(worker))
		s.mu.Lock()
		s.waiting[start] = st
		s.count(worker, w)
		s.mu.Unlock()
	}
}

// take hands out the next stretch.
func (s *scan) take() (start, end int64, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil || s.next >= s.f.size {
		return 0, 0, false
	}
	start = s.next
	s.next, s.err = s.f.seam(start + s.f.chunk)
	return start, s.next, s.err == nil
}

// count hands over the stretches that are due. One that was begun in the middle of a
// record is read again from where the record ended.
func (s *scan) count(worker int, w *walker) {
	for s.err == nil {
		st := s.waiting[s.due.at]
		if st == nil {
			if st = s.overrun(); st == nil {
				return
			}
			delete(s.waiting, st.start)
			if s.due.at >= st.end {
				continue // the record before went over all of it
			}
			st = w.walk(s.due.at, st.end, s.begin(worker))
		}
		delete(s.waiting, st.start)
		if st.odd > 0 && s.decode.line == 0 {
			s.decode.line = s.due.line + st.odd
		}
		s.none.follow(&st.none, s.due.line)
		if s.err = s.done(st.v, s.due.line); s.err == nil && st.err != nil {
			s.err = fmt.Errorf("%s:%d: %w", s.f.name, s.due.line+st.lines, st.err)
		}
		s.due = mark{st.next, s.due.line + st.lines}
	}
}

// overrun finds a waiting stretch that starts before what is due.
func (s *scan) overrun() *stretch {
	var first *stretch
	for _, st := range s.waiting {
		if st.start < s.due.at && (first == nil || st.start < first.start) {
			first = st
		}
	}
	return first
}

// walker reads stretches.
type walker struct {
	f     *File
	in    *records
	plain *plainReader
	whole *wholeReader
}

// walk reads the records that start from start to end.
func (w *walker) walk(start, end int64, v Visitor) *stretch {
	in := w.in
	in.restart(io.NewSectionReader(w.f.src, start, w.f.size-start), start, 0)
	in.decode = decoder{how: w.f.head.how}
	st := &stretch{v: v, start: start, end: end}
	for {
		in.hold()
		here := in.here()
		if here.at >= end {
			break
		}
		line, err := in.lines.next()
		if err != nil {
			if err != io.EOF {
				st.err, here.line = err, in.line
			}
			st.next, st.lines = end, here.line
			break
		}
		at := At{here.at, in.line}
		if w.plain.read(line) {
			if w.plain.none != 0 {
				st.none.note(w.plain.none, at.Line)
			}
			v.Plain(at, &w.plain.row)
			continue
		}
		if w.whole.read(line) {
			w.whole.row.Line = at.Line
			v.Row(at, &w.whole.row)
			continue
		}
		in.back(here)
		if st.err = w.record(at, v, &st.none); st.err != nil {
			break
		}
	}
	if st.err == nil || st.next == 0 {
		st.next, st.lines = in.here().at, in.line
	}
	st.odd = in.decode.line
	v.End()
	return st
}

// record reads a record the full way.
func (w *walker) record(at At, v Visitor, none *absent) error {
	rec, err := w.in.next()
	if err != nil {
		return err
	}
	if rec.blank() {
		return nil
	}
	row, bad := w.f.head.row(rec)
	if bad == nil {
		none.note(row.none, rec.line)
		v.Row(at, &row)
		return nil
	}
	bad.File, bad.Line, bad.Row.Line = w.f.name, rec.line, rec.line
	none.note(bad.Row.none, rec.line)
	w.in.giveBack(rec)
	v.Bad(at, bad)
	return nil
}

// Where a stretch may end: at the start of a line that looks like a row. That it is
// one is found out later; a line inside a quoted field seldom looks so.
const (
	seamLook  = 64 << 10
	seamLines = 64
)

// seam finds the start of a line behind a place, best of one that looks like a row.
func (f *File) seam(from int64) (int64, error) {
	if from >= f.size {
		return f.size, nil
	}
	buf := make([]byte, seamLook)
	for at := from - 1; at < f.size; {
		n, err := f.src.ReadAt(buf[:min(seamLook, f.size-at)], at)
		if err != nil && err != io.EOF {
			return 0, fmt.Errorf("%s: %w", f.name, err)
		}
		if n == 0 {
			break // it has grown shorter; the reading will notice
		}
		if i := bytes.IndexByte(buf[:n], '\n'); i >= 0 {
			return at + int64(f.bestSeam(buf[:n], i+1)), nil
		}
		at += int64(n)
	}
	return f.size, nil
}

// bestSeam picks the first of the lines from i on that looks like a row, or i.
func (f *File) bestSeam(buf []byte, i int) int {
	at := i
	for range seamLines {
		end := bytes.IndexByte(buf[at:], '\n')
		if end < 0 {
			break
		}
		fields, whole, ok := split(string(buf[at:at+end]), f.head.sep, nil)
		if whole && ok && len(fields) == len(f.head.names) {
			return at
		}
		at += end + 1
	}
	return i
}
