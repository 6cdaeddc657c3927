package show

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// FlagCSV writes the flagged rows and those not readable as one line each, most
// urgent first: what was found, then the columns of the stock list, those it has
// beyond the usual ones last and as they were.
func FlagCSV(w io.Writer, f *desk.Flags) error {
	c := columnsOf(f)
	head := slices.Concat([]string{"verdict", "days-left", "limit", "date", "reason", "line"}, c.ours, c.extra)
	if _, err := w.Write(appendRecord(nil, head)); err != nil {
		return err
	}
	for _, g := range f.Groups {
		for _, s := range []desk.Section{desk.SetAside, desk.OnHold, desk.EndsSoon, desk.NotReadable} {
			err := f.Write(w, g, s, func(to []byte, r *desk.Flagged) ([]byte, error) {
				if s == desk.NotReadable {
					return appendRecord(to, c.unreadable(r)), nil
				}
				return appendRecord(to, c.flagged(r)), nil
			})
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// csvColumns are the columns to write: the usual ones of ours, those of the others
// that the list has, and its own.
type csvColumns struct {
	means       []string
	ours, extra []string
}

func columnsOf(f *desk.Flags) csvColumns {
	c := csvColumns{means: f.Means, ours: stock.UsualColumns()}
	for _, name := range stock.Columns()[len(c.ours):] {
		if slices.Contains(f.Means, name) {
			c.ours = append(c.ours, name)
		}
	}
	for i, m := range f.Means {
		if m == "" {
			c.extra = append(c.extra, f.Columns[i])
		}
	}
	return c
}

// flagged are the cells of a row. What could not be read of it is as it was written.
func (c csvColumns) flagged(r *desk.Flagged) []string {
	j := r.Judgement
	g := j.Governing
	day, reason := "", g.Reason
	if g.Dated {
		day = isoDay(g.Date)
	}
	if r.Fault != nil {
		reason += " Also: " + r.Fault.Reason + "."
	}
	cells := make([]string, 0, 6+len(c.means)+len(c.ours))
	cells = append(cells, j.Verdict.String(), cell(daysOf(g, j.On)), string(g.Name), day, reason, lineCell(r, r.Line))
	for _, name := range c.ours {
		v := r.Cell(name)
		if v == "" && r.Fault != nil {
			v = r.Fault.Cell(c.means, name)
		}
		cells = append(cells, v)
	}
	for i := range c.extra {
		v := ""
		if i < len(r.Extra) { // they stand in the order of the list's columns
			v = r.Extra[i].Value
		}
		cells = append(cells, v)
	}
	return cells
}

// lineCell is the line of a row in its list; "" in a register, where no row has one.
func lineCell(r *desk.Flagged, line int) string {
	if r.Register {
		return ""
	}
	return strconv.Itoa(line)
}

// unreadable are the cells of a row that cannot be read, as they are written; all
// empty where its fields cannot be told apart.
func (c csvColumns) unreadable(r *desk.Flagged) []string {
	b := r.Fault
	cells := []string{"unreadable", "", "", "", b.Reason, lineCell(r, b.Line), b.Batch}
	for _, name := range c.ours[1:] {
		cells = append(cells, b.Cell(c.means, name))
	}
	for i, m := range c.means {
		switch {
		case m != "":
		case i < len(b.Cells):
			cells = append(cells, b.Cells[i])
		default:
			cells = append(cells, "")
		}
	}
	return cells
}

// appendRecord appends a line of CSV by RFC 4180, as writeCSV would.
func appendRecord(to []byte, cells []string) []byte {
	for i, s := range cells {
		if i > 0 {
			to = append(to, ',')
		}
		if !needsQuotes(s) {
			to = append(to, s...)
			continue
		}
		to = append(to, '"')
		for len(s) > 0 {
			at := strings.IndexByte(s, '"') + 1
			if at == 0 {
				to = append(to, s...)
				break
			}
			to = append(append(to, s[:at]...), '"')
			s = s[at:]
		}
		to = append(to, '"')
	}
	return append(to, '\n')
}

// needsQuotes is the rule of encoding/csv, which quotes a space in front and the end
// of data of some databases too.
func needsQuotes(s string) bool {
	if s == "" {
		return false
	}
	if s == `\.` || strings.ContainsAny(s, ",\"\r\n") {
		return true
	}
	first, _ := utf8.DecodeRuneInString(s)
	return unicode.IsSpace(first)
}
