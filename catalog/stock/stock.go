// Package stock reads what is on the shelf: a stock list as a CSV file, one row
// for each batch or container.
//
// The rule of the house is that a row is never dropped. One that cannot be
// understood comes back as Bad, with its line and what would be right, beside the
// rows that can; and a damaged row never takes a good one with it.
//
// A list has a header and, in any order and in any case, the columns
//
//	batch,class                               needed
//	dom,expiry,inspect,opened,thawed          dates, in every form label.Parse reads
//	location,quantity,unit,held               what else is known
//
// separated by commas or by semicolons. thawed may hold several dates with a
// space or | between them, one for each time it left the freezer. held is why a
// person set the batch aside; "no" or nothing means that nobody did. Columns with
// other names are kept as they are.
//
// ReadCSV reads a list whole, EachCSV row by row. Read on in row.go (what a row
// means) and split.go (lines and fields).
package stock

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rickb777/date"

	"beadline/catalog/shelf"
)

// Row is one row that was understood.
type Row struct {
	Line int // line of the file on which the row starts, from 1
	Item shelf.Item

	Location string
	Quantity float64 // meaningful if Counted; 0 or more
	Counted  bool    // whether a quantity is given
	Unit     string
	Extra    []Field // columns of other names, in the file's order
}

// Field is one field of a column that the package has no use for.
type Field struct{ Column, Value string }

// Bad is one row that was not understood.
type Bad struct {
	File   string
	Line   int    // line of the file on which the row starts, from 1
	Batch  string // the batch as far as it can be told, or ""
	Reason string // what is wrong and what would be right; all of it in one line

	// Row is what could be read of it, the rest zero.
	Row Row
	// Dated is true if every date of it could be read: then Row.Item is a batch to
	// judge, if only against its use.
	Dated bool
	// Cells are the fields as written, made fit to show, in the order of
	// Report.Columns; nil where they cannot be told apart.
	Cells []string
}

// Cell is the field as written of a column with a meaning, or "".
func (b Bad) Cell(columns []string, name string) string {
	for i, c := range columns {
		if strings.EqualFold(c, name) && i < len(b.Cells) {
			return b.Cells[i]
		}
	}
	return ""
}

// String is the row's place, batch and trouble: `stock.csv:7: batch S-1: …`.
func (b Bad) String() string {
	if b.Batch == "" {
		return fmt.Sprintf("%s:%d: %s", b.File, b.Line, b.Reason)
	}
	return fmt.Sprintf("%s:%d: batch %s: %s", b.File, b.Line, b.Batch, b.Reason)
}

// Report is what reading a list found beside its good rows.
type Report struct {
	Columns  []string // the header as written, without the spaces around names
	Rows     int      // rows understood
	Bad      []Bad    // rows not understood, in the file's order
	Warnings []string // each with its place: a misspelt column, a batch listed twice
}

// Sheet is a stock list read whole.
type Sheet struct {
	Report
	Name string // of the file
	List []Row  // the rows understood, in the file's order
}

// Find gives all rows of a batch number: none, one, or several when the list has
// it more than once.
func (s *Sheet) Find(batch string) []Row {
	var found []Row
	for _, r := range s.List {
		if r.Item.Batch == batch {
			found = append(found, r)
		}
	}
	return found
}

// ReadCSV reads a stock list whole. The name is the file's, for messages; two-digit
// years are read against today. The error is of the list as such (no header, no
// batch column, a binary file, a failed read) and says the place; a row in trouble
// is no error but a Bad. A batch number on several rows is a warning: each row is
// judged on its own.
func ReadCSV(r io.Reader, name string, today date.Date) (Sheet, error) {
	s := Sheet{Name: name}
	report, err := EachCSV(r, name, today, func(row Row) error {
		s.List = append(s.List, row)
		return nil
	})
	s.Report = report
	s.Warnings = append(s.Warnings, s.repeated()...)
	return s, err
}

// repeated warns of batch numbers that stand on several rows, in the order of
// their first rows.
func (s *Sheet) repeated() []string {
	lines := make(map[string][]int, len(s.List))
	for _, r := range s.List {
		lines[r.Item.Batch] = append(lines[r.Item.Batch], r.Line)
	}
	var said []string
	for _, r := range s.List {
		at := lines[r.Item.Batch]
		if len(at) < 2 || at[0] != r.Line {
			continue
		}
		others := make([]string, 0, len(at))
		for i, n := range at[1:] {
			if i == 5 {
				others = append(others, fmt.Sprintf("%d more", len(at)-1-i))
				break
			}
			others = append(others, strconv.Itoa(n))
		}
		said = append(said, fmt.Sprintf("%s:%d: batch %s is listed again on line %s: each row is judged on its own", s.Name, r.Line, r.Item.Batch, strings.Join(others, ", ")))
	}
	return said
}

// EachCSV reads a stock list row by row and hands on every row understood. It keeps
// no rows, so the list may be of any size; what it keeps is the bad ones. Unlike
// ReadCSV it does not look for batches listed twice. An error from each stops the
// reading and is returned as it is.
func EachCSV(r io.Reader, name string, today date.Date, each func(Row) error) (Report, error) {
	in := newRecords(r)
	var report Report
	head, err := readHeader(in, name)
	if err != nil {
		return report, err
	}
	report.Columns, report.Warnings = head.names, head.warnings
	for {
		rec, err := in.next()
		if err == io.EOF {
			return report, nil
		}
		if err != nil {
			return report, fmt.Errorf("%s:%d: %w", name, in.line, err)
		}
		if rec.blank() {
			continue
		}
		row, bad := head.row(rec, today)
		if bad != nil {
			bad.File, bad.Line, bad.Row.Line = name, rec.line, rec.line
			report.Bad = append(report.Bad, *bad)
			// A quote that should have closed on its line may have taken good rows in.
			in.giveBack(rec.ahead)
			continue
		}
		report.Rows++
		if err := each(row); err != nil {
			return report, err
		}
	}
}

// header is the columns of a list.
type header struct {
	names    []string
	at       [numColumns]int // field of each known column; -1: it has none
	extra    []int           // fields of the others
	warnings []string
}

// readHeader reads the first line with anything on it and finds out which
// separator the file has.
func readHeader(in *records, name string) (*header, error) {
	line, err := in.firstLine()
	if err == io.EOF {
		return nil, fmt.Errorf("%s: the file is empty: it needs a header such as batch,class,expiry", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, max(1, in.line), err)
	}
	var best *header
	for _, sep := range []byte{',', ';'} {
		fields, whole, ok := split(line, sep, nil)
		if !whole || !ok {
			continue
		}
		if h := newHeader(fields); best == nil || h.known() > best.known() {
			best, in.sep = h, sep
		}
	}
	if best == nil {
		return nil, fmt.Errorf("%s:%d: the quotes in the header do not close: write a header such as batch,class,expiry", name, in.line)
	}
	if err := best.check(); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, in.line, err)
	}
	for i, w := range best.warnings {
		best.warnings[i] = fmt.Sprintf("%s:%d: %s", name, in.line, w)
	}
	return best, nil
}

func newHeader(fields []string) *header {
	h := &header{}
	for c := range h.at {
		h.at[c] = -1
	}
	for i, f := range fields {
		f = strings.TrimSpace(f)
		h.names = append(h.names, f)
		c, ok := columnNamed(f)
		if ok && h.at[c] < 0 {
			h.at[c] = i
		} else {
			h.extra = append(h.extra, i)
		}
	}
	return h
}

func (h *header) known() int { return len(h.names) - len(h.extra) }

// check refuses a header that rows cannot be read by, and warns of columns that
// look misspelt.
func (h *header) check() error {
	for i, name := range h.names {
		if !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl) {
			return fmt.Errorf("the name of column %d, %s, is not plain UTF-8 text: save the list as CSV UTF-8", i+1, quote(name))
		}
	}
	for _, i := range h.extra {
		name := h.names[i]
		if c, ok := columnNamed(name); ok {
			return fmt.Errorf("column %s is there twice (columns %d and %d): keep one", c, h.at[c]+1, i+1)
		}
		c, near := columnNear(name)
		if near && h.at[c] < 0 {
			h.warnings = append(h.warnings, fmt.Sprintf("column %d, %s, is not known and is kept as it is: did you mean %s?", i+1, quote(name), c))
		}
	}
	for _, c := range []column{batch, class} {
		if h.at[c] >= 0 {
			continue
		}
		for _, i := range h.extra {
			if near, ok := columnNear(h.names[i]); ok && near == c {
				return fmt.Errorf("the header has no column %s: is column %d, %s, meant?", c, i+1, quote(h.names[i]))
			}
		}
		return fmt.Errorf("the header has no column %s: a stock list starts with a line such as batch,class,expiry", c)
	}
	return nil
}
