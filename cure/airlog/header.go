package airlog

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// columns says where in a row the wanted fields stand.
type columns struct {
	sep            byte // ',' or ';'
	count          int
	time, temp, rh int
	fahrenheit     bool     // the temperature column is temp_f
	unused         []string // names of the others
	line           int      // of the header
}

// tempName is the name of the temperature column.
func (c columns) tempName() string {
	if c.fahrenheit {
		return "temp_f"
	}
	return "temp_c"
}

// wanted is a header that would be right, in this file's way of writing.
func (c columns) wanted() string {
	return strings.Join([]string{"time", c.tempName(), "rh_pct"}, string(c.sep))
}

func (c columns) notes() []string {
	if len(c.unused) == 0 {
		return nil
	}
	word := "columns"
	if len(c.unused) == 1 {
		word = "column"
	}
	return []string{word + " not used: " + strings.Join(c.unused, ", ")}
}

const rightHeader = "time,temp_c,rh_pct (or temp_f)"

// readHeader finds the header and gives what follows it.
func readHeader(data []byte) (columns, text, *Error) {
	var cols columns
	if err := checkPlainText(data); err != nil {
		return cols, text{}, err
	}
	all := text{bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), 1}
	cols.sep = ';'
	names, line, rest, err := headerFields(all, cols.sep)
	if err != nil || !slices.Contains(names, "time") {
		cols.sep = ','
		names, line, rest, err = headerFields(all, cols.sep)
	}
	if err == nil && len(names) == 0 {
		return cols, text{}, &Error{What: "the file is empty", Remedy: "it needs the header " + rightHeader + " and a row for each reading"}
	}
	if err == nil {
		cols.line = line
		err = cols.assign(names)
	}
	if err != nil {
		err.Line = line
	}
	return cols, rest, err
}

// checkPlainText refuses what is not text of one byte per letter, and lines that
// end with a carriage return alone: both would be read as one long wrong header.
func checkPlainText(data []byte) *Error {
	head := data[:min(len(data), 4096)]
	if bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")) || bytes.IndexByte(head, 0) >= 0 {
		return &Error{What: "not plain text, perhaps UTF-16 or a spreadsheet", Remedy: "save it as CSV in UTF-8"}
	}
	if bytes.IndexByte(data, '\n') < 0 && hasBareCR(bytes.TrimRight(data, "\r")) {
		return bareCR()
	}
	return nil
}

func bareCR() *Error {
	return &Error{What: "lines end with a bare CR (carriage return)", Remedy: "save it with line ends LF or CRLF"}
}

// headerFields gives the names in the first line that holds anything, in small
// letters, its number, and what follows it.
func headerFields(t text, sep byte) ([]string, int, text, *Error) {
	r := records{rest: t, sep: sep}
	fields, err := r.next()
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = strings.ToLower(string(bytes.TrimSpace(f)))
	}
	if err == nil && hasBareCR(bytes.TrimRight(r.raw, "\r")) {
		err = bareCR()
	}
	return names, r.line, r.rest, err
}

func (c *columns) assign(names []string) *Error {
	c.count, c.time, c.temp, c.rh = len(names), -1, -1, -1
	fahrenheit := -1
	for i, name := range names {
		var at *int
		switch name {
		case "time":
			at = &c.time
		case "temp_c":
			at = &c.temp
		case "temp_f":
			at = &fahrenheit
		case "rh_pct":
			at = &c.rh
		default:
			if name == "" {
				name = fmt.Sprintf("the unnamed number %d", i+1)
			} else {
				name = shown(name)
			}
			c.unused = append(c.unused, name)
			continue
		}
		if *at >= 0 {
			return &Error{What: "the column " + name + " stands there twice", Remedy: "name the one to use " + name + " and rename the other"}
		}
		*at = i
	}
	if c.temp >= 0 && fahrenheit >= 0 {
		return &Error{What: "temp_c and temp_f are both there", Remedy: "rename the one not to use"}
	}
	if fahrenheit >= 0 {
		c.temp, c.fahrenheit = fahrenheit, true
	}
	return c.missing(names)
}

func (c *columns) missing(names []string) *Error {
	var missing []string
	for _, col := range []struct {
		at   int
		name string
	}{{c.time, "time"}, {c.temp, "temp_c or temp_f"}, {c.rh, "rh_pct"}} {
		if col.at < 0 {
			missing = append(missing, col.name)
		}
	}
	if missing == nil {
		return nil
	}
	first := names[0]
	switch {
	case first != "" && (first[0] >= '0' && first[0] <= '9'):
		return &Error{What: "no header", Remedy: "put the line " + rightHeader + " on top"}
	case len(names) == 1 && strings.Contains(first, "\t"):
		return &Error{What: "the columns are separated by tabs", Remedy: "use commas or semicolons"}
	}
	return &Error{
		What:   "no column " + strings.Join(missing, ", no column "),
		Remedy: fmt.Sprintf("the header must be %s; it is %s", rightHeader, shown(strings.Join(names, string(c.sep)))),
	}
}
