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
//	dom,expiry,inspect,best-before,received   days, in every form label.Read reads
//	opened,thawed,refrozen,hot                days, or moments such as 2027-03-05T08:00; received too
//	location,quantity,unit,container,gtin     where and how much
//	held                                      why a person set it aside; "no" or nothing: nobody did
//	code,standard,polymer                     what its life is counted by
//	out-used                                  time out of the freezer before, such as 36h
//	condition                                 damaged, cloudy, skinned, separated, label-gone
//	tested,result,tested-by,authority,        its last test: day, pass or fail, by whom,
//	reference,results,extended-to             and what an extension of its life needs
//	limit-inputs                              all that its limits are worked out from
//
// separated by commas, semicolons or tabs. thawed and refrozen may hold several
// moments, condition several words, with a space or | between them. hot is the first
// moment that it was too warm. limit-inputs is JSON as package inputs writes it, for
// what the other columns have no room for; where it is filled it gives the whole item,
// and whatever else the row says must agree with it. Where a date stands n/a, none or - is no date, with a
// warning. A first line such as sep=; is passed over. Columns with other names are kept as they are;
// Options.Map reads a list whose headings are not these.
//
// ReadCSV reads a list whole, EachCSV row by row; a File is a list of any size, gone
// through on several goroutines and read again at any row. Read on in row.go and
// cells.go (what a row means), whole.go (limit-inputs), register.go (a list written), split.go and lines.go (lines and fields), file.go and
// plain.go (lists of any size).
package stock

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/rickb777/date"
	utf16 "golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

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
	// Plain is true where nothing is known that its life could depend on but Class,
	// DOM, Expiry, Inspect, Opened and Received.On of the Item.
	Plain bool
	GTIN  string  // trade item number, 14 digits, its check digit right; or ""
	Extra []Field // columns of other names, in the file's order

	whole                string  // limit-inputs as given, or ""
	authority, reference string  // as given, whether or not there is a test that they are of
	none                 columns // of dates, which say that there is none
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
	// Dated is true if every date of it could be read, and all else that might speak
	// for it: then Row.Item is a batch to judge, if only against its use.
	Dated bool
	// Cells are the fields as written, made fit to show, in the order of
	// Report.Columns; nil where they cannot be told apart.
	Cells []string
}

// Cell is the field as written of a column with a meaning, or "". means are those of
// Report.Means.
func (b Bad) Cell(means []string, name string) string {
	for i, c := range means {
		if c == name && i < len(b.Cells) {
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
	Means    []string // of each of Columns the column of ours that it stands for, or ""
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

// ReadCSV reads a stock list whole, with our headings. The name is the file's, for
// messages; two-digit years are read against today. The error is of the list as such
// (no header, no batch column, a binary file, a failed read) and says the place; a
// row in trouble is no error but a Bad. A batch number on several rows is a warning:
// each row is judged on its own.
func ReadCSV(r io.Reader, name string, today date.Date) (Sheet, error) {
	return ReadWith(r, name, Options{Today: today})
}

// ReadWith is ReadCSV by options of one's own.
func ReadWith(r io.Reader, name string, o Options) (Sheet, error) {
	s := Sheet{Name: name}
	report, err := EachWith(r, name, o, func(row Row) error {
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

// EachCSV is ReadCSV for a list too long to hold: it hands over one good row after
// another and stops at the first error that each returns.
func EachCSV(r io.Reader, name string, today date.Date, each func(Row) error) (Report, error) {
	return EachWith(r, name, Options{Today: today}, each)
}

// EachWith is EachCSV by options of one's own. It is what the reading of a list
// means: a File finds the same.
func EachWith(r io.Reader, name string, o Options, each func(Row) error) (Report, error) {
	return EachAt(r, name, o, func(_ At, row Row) error { return each(row) })
}

// EachAt is EachWith with the place of each row, at which a Picker finds it again in a
// list that is UTF-8 or of an encoding that is asked for.
func EachAt(r io.Reader, name string, o Options, each func(At, Row) error) (Report, error) {
	var report Report
	in := newRecords(asUTF8(r, o.Encoding), o.Encoding)
	head, err := readHeader(in, name, o)
	if err != nil {
		return report, err
	}
	report.Columns, report.Means = head.names, head.means()
	report.Warnings = head.warnings
	var none absent
	for {
		rec, err := in.next()
		if err == io.EOF {
			report.Warnings = warnings(head, in.decode, &none, name)
			return report, nil
		}
		if err != nil {
			return report, fmt.Errorf("%s:%d: %w", name, in.line, err)
		}
		if rec.blank() {
			continue
		}
		row, bad := head.row(rec)
		if bad != nil {
			bad.File, bad.Line, bad.Row.Line = name, rec.line, rec.line
			none.note(bad.Row.none, rec.line)
			report.Bad = append(report.Bad, *bad)
			// A quote that should have closed on its line may have taken good rows in.
			in.giveBack(rec)
			continue
		}
		report.Rows++
		none.note(row.none, rec.line)
		if err := each(At{rec.at, rec.line}, row); err != nil {
			return report, err
		}
	}
}

func warnings(h *header, d decoder, none *absent, name string) []string {
	all := slices.Clone(h.warnings)
	if w := d.warning(name); w != "" {
		all = append(all, w)
	}
	return append(all, none.warnings(name)...)
}

// IsUTF16 reports whether a list starts with the mark of UTF-16.
func IsUTF16(start []byte) bool {
	return bytes.HasPrefix(start, []byte("\xff\xfe")) || bytes.HasPrefix(start, []byte("\xfe\xff"))
}

// FromUTF16 makes UTF-8 of text that IsUTF16.
func FromUTF16(r io.Reader) io.Reader {
	return transform.NewReader(r, utf16.UTF16(utf16.LittleEndian, utf16.UseBOM).NewDecoder())
}

// asUTF8 makes UTF-8 of UTF-16 text, if nothing else is asked for.
func asUTF8(r io.Reader, how Encoding) io.Reader {
	if how != Auto {
		return r
	}
	b := bufio.NewReaderSize(r, 4096)
	if start, _ := b.Peek(2); IsUTF16(start) {
		return FromUTF16(b)
	}
	return b
}
