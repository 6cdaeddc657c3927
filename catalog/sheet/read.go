package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"beadline/cure"
	"beadline/cure/nearest"
)

// The largest sheet that is read. A data sheet has a few dozen rows.
const (
	MaxFile = 1 << 20 // bytes
	MaxRows = 1000
)

// columns are the names a sheet may give its columns; the first of each is the usual.
var columns = [numColumns][]string{
	colMilestone: {"milestone"},
	colTemp:      {"temp", "temperature"},
	colRH:        {"rh", "humidity"},
	colTime:      {"time"},
	colBead:      {"bead", "depth"},
	colSource:    {"source"},
	colStates:    {"states"},
}

type column int

const (
	colMilestone column = iota
	colTemp
	colRH
	colTime
	colBead
	colSource
	colStates
	numColumns
)

func (c column) String() string { return columns[c][0] }

const likeHeader = "write a header such as milestone,temp,rh,time,bead,source"

// Read reads a sheet. name is the file's name for messages. asWritten says that the
// temperatures are meant as they stand: without it a pot life at 77C is asked about.
// The error, if any, is of type Problems and holds every fault.
func Read(data []byte, name string, asWritten bool) (*Sheet, error) {
	r := &reader{sheet: &Sheet{Name: name}}
	r.read(data)
	if r.problems == nil && len(r.sheet.Rows) == 0 {
		r.fault(0, "the sheet has no rows: write one for each measured time, such as tack-free,25C,50%%,20h")
	}
	if r.problems == nil {
		r.disagreements()
		if !asWritten {
			r.doubts()
		}
	}
	if r.problems != nil {
		slices.SortStableFunc(r.problems, func(a, b Problem) int { return a.Line - b.Line })
		return nil, r.problems
	}
	return r.sheet, nil
}

// reader reads one sheet and collects what is wrong with it.
type reader struct {
	sheet    *Sheet
	sep      rune
	at       [numColumns]int // field of each column; -1: the sheet has none
	width    int             // fields of the header
	problems Problems
}

func (r *reader) fault(line int, format string, args ...any) {
	r.problems = append(r.problems, Problem{r.sheet.Name, line, fmt.Sprintf(format, args...)})
}

func (r *reader) read(data []byte) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	switch {
	case len(data) > MaxFile:
		r.fault(0, "the sheet has %d bytes: at most 1 MB", len(data))
		return
	case !utf8.Valid(data) || bytes.IndexByte(data, 0) >= 0:
		r.fault(0, "not plain text: save the sheet as CSV UTF-8")
		return
	}
	// A lone CR ends a line too, as some spreadsheets still write it.
	text := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(data))
	header := false
	for i, line := range strings.Split(text, "\n") {
		switch {
		case strings.Trim(line, " \t,;") == "":
		case !header:
			if !r.header(i+1, line) {
				return
			}
			header = true
		case len(r.sheet.Rows) == MaxRows:
			r.fault(i+1, "more than %d rows: is this a data sheet?", MaxRows)
			return
		default:
			r.row(i+1, line)
		}
	}
	if !header {
		r.fault(0, "the sheet is empty: %s", likeHeader)
	}
}

// header finds the columns, with the separator that makes most of the line.
func (r *reader) header(line int, text string) bool {
	best := -1
	var names []string
	for _, sep := range ",;\t" {
		fields, err := split(text, sep)
		if err != nil {
			continue
		}
		known := 0
		for _, f := range fields {
			if _, ok := columnNamed(f); ok {
				known++
			}
		}
		if known > best {
			best, r.sep, names = known, sep, fields
		}
	}
	before := len(r.problems)
	if best < 0 {
		r.fault(line, "the quotes in the header do not close: %s", likeHeader)
		return false
	}
	r.columns(line, names)
	return len(r.problems) == before
}

func (r *reader) columns(line int, names []string) {
	for c := range r.at {
		r.at[c] = -1
	}
	r.width = len(names)
	misspelt := map[column]bool{}
	for i, name := range names {
		c, ok := columnNamed(name)
		switch {
		case ok && r.at[c] >= 0:
			r.fault(line, "the column %s is there twice: keep one", c)
		case ok:
			r.at[c] = i
		case strings.TrimSpace(name) == "":
		default:
			var usual []string
			for _, all := range columns {
				usual = append(usual, all[0])
			}
			if near := nearest.Names(name, usual, 1); near != nil {
				c, _ := columnNamed(near[0])
				misspelt[c] = true
				r.fault(line, "no column is called %s: did you mean %s?", quoted(name), c)
				continue
			}
			r.sheet.Notes = append(r.sheet.Notes, fmt.Sprintf("%s:%d: the column %s is left aside", r.sheet.Name, line, quoted(name)))
		}
	}
	for _, c := range []column{colMilestone, colTemp, colTime} {
		if r.at[c] < 0 && !misspelt[c] {
			r.fault(line, "the header has no column %s: %s", c, likeHeader)
		}
	}
}

func columnNamed(name string) (column, bool) {
	name = strings.ToLower(strings.TrimSpace(name))
	for c, names := range columns {
		if slices.Contains(names, name) {
			return column(c), true
		}
	}
	return 0, false
}

// split cuts one line. Records over several lines are not read: a quote that does not
// close would take the rows after it along.
func split(line string, sep rune) ([]string, error) {
	c := csv.NewReader(strings.NewReader(line))
	c.Comma, c.FieldsPerRecord, c.TrimLeadingSpace = sep, -1, sep != '\t'
	return c.Read()
}

func (r *reader) row(line int, text string) {
	fields, err := split(text, r.sep)
	if err != nil {
		r.fault(line, `a quote (") in the wrong place: put quotes around the whole cell, or take them out`)
		return
	}
	for len(fields) > r.width && strings.TrimSpace(fields[len(fields)-1]) == "" {
		fields = fields[:len(fields)-1]
	}
	if len(fields) > r.width {
		r.fault(line, "%d cells under %d columns: put quotes around a cell that holds the separator %q", len(fields), r.width, r.sep)
		return
	}
	before := len(r.problems)
	row := Row{Line: line}
	for c := range numColumns {
		cell := ""
		if at := r.at[c]; at >= 0 && at < len(fields) {
			cell = strings.TrimSpace(fields[at])
		}
		if err := row.set(c, cell); err != nil {
			r.fault(line, "%s: %v", c, err)
		}
	}
	if len(r.problems) == before {
		if err := row.check(); err != nil {
			r.fault(line, "%v", err)
			return
		}
		r.sheet.Rows = append(r.sheet.Rows, row)
	}
}

// milestoneWords are other names of the milestones that the trade uses.
var milestoneWords = map[string]cure.Milestone{
	"pot-life": cure.Application, "work-life": cure.Application, "working-life": cure.Application, "application-time": cure.Application,
	"squeeze-out-life": cure.Assembly, "assembly-time": cure.Assembly,
	"tack-free-time": cure.TackFree, "handling-cure": cure.Handling, "cure-time": cure.Cured,
}

// milestoneNamed finds a milestone by its name or another name of it.
func milestoneNamed(text string) (cure.Milestone, bool) {
	word := strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), "-")
	if m, ok := cure.ParseMilestone(word); ok {
		return m, true
	}
	m, ok := milestoneWords[word]
	return m, ok
}

func milestoneNames() (names []string) {
	for m := range cure.NumMilestones {
		names = append(names, m.String())
	}
	return names
}

// quoted shows a word of the user's, shortened and made printable.
func quoted(s string) string {
	if r := []rune(s); len(r) > 48 {
		s = string(r[:48]) + "…"
	}
	if strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) < 0 {
		return `"` + s + `"`
	}
	return fmt.Sprintf("%+q", s)
}
