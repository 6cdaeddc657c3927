package show

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// flagJSON is the shape of `flag --format json`: rows most urgent first.
type flagJSON struct {
	On         string           `json:"on"`
	Until      string           `json:"until"`
	Location   string           `json:"location,omitempty"`
	Rows       []flaggedJSON    `json:"rows"`
	Unreadable []unreadableJSON `json:"unreadable"`
	Counts     countsJSON       `json:"counts"`
	Warnings   []string         `json:"warnings"`
}

type flaggedJSON struct {
	Batch     string            `json:"batch"`
	Class     string            `json:"class"`
	Verdict   string            `json:"verdict"`
	Governing limitJSON         `json:"governing"`
	DaysLeft  *int              `json:"days-left"`
	Limits    []limitJSON       `json:"limits"`
	Line      int               `json:"line"`
	Location  string            `json:"location"`
	Quantity  *float64          `json:"quantity"`
	Unit      string            `json:"unit"`
	Extra     map[string]string `json:"extra"`
	Fault     string            `json:"fault,omitempty"`
}

// unreadableJSON is a row that cannot be read: class and location as far as they can,
// and in fields every column as it is written, {} where they cannot be told apart.
type unreadableJSON struct {
	Line     int               `json:"line"`
	Batch    string            `json:"batch"`
	Class    string            `json:"class"`
	Location string            `json:"location"`
	Reason   string            `json:"reason"`
	Fields   map[string]string `json:"fields"`
}

// countsJSON counts rows: rows is the sum of use, hold, reject and unreadable;
// expiring is how many of use end soon.
type countsJSON struct {
	Rows       int `json:"rows"`
	Use        int `json:"use"`
	Expiring   int `json:"expiring"`
	Hold       int `json:"hold"`
	Reject     int `json:"reject"`
	Unreadable int `json:"unreadable"`
}

// FlagJSON writes what a stock list asks of people for programs.
func FlagJSON(w io.Writer, f *desk.Flags) error {
	o := flagJSON{
		On: isoDay(f.On), Until: isoDay(f.Until), Location: f.Location, Rows: []flaggedJSON{}, Unreadable: []unreadableJSON{},
		Counts: countsJSON(f.Counts), Warnings: list(f.Warnings),
	}
	for _, r := range f.Rows {
		o.Rows = append(o.Rows, flaggedShape(r))
	}
	for _, b := range f.Unreadable {
		o.Unreadable = append(o.Unreadable, unreadableShape(b, f.Columns))
	}
	return writeJSON(w, o)
}

func unreadableShape(b stock.Bad, columns []string) unreadableJSON {
	u := unreadableJSON{Line: b.Line, Batch: b.Batch, Class: b.Cell(columns, "class"), Location: b.Cell(columns, "location"),
		Reason: b.Reason, Fields: map[string]string{}}
	for i, v := range b.Cells {
		u.Fields[fresh(u.Fields, columns[i])] = v
	}
	return u
}

// fresh is a key that the map does not have yet: two columns may have one name.
func fresh(m map[string]string, name string) string {
	key := name
	for n := 2; hasKey(m, key); n++ {
		key = fmt.Sprintf("%s (%d)", name, n)
	}
	return key
}

func flaggedShape(r desk.Flagged) flaggedJSON {
	j := r.Judgement
	o := flaggedJSON{
		Batch: r.Item.Batch, Class: r.Item.Class, Verdict: j.Verdict.String(),
		Governing: limitShape(j.Governing, j.On), DaysLeft: daysOf(j.Governing, j.On), Limits: []limitJSON{},
		Line: r.Line, Location: r.Location, Unit: r.Unit, Extra: map[string]string{},
	}
	for _, l := range j.Limits {
		o.Limits = append(o.Limits, limitShape(l, j.On))
	}
	if r.Counted {
		o.Quantity = &r.Quantity
	}
	if r.Fault != nil {
		o.Fault = r.Fault.Reason
	}
	for _, f := range r.Extra {
		o.Extra[fresh(o.Extra, f.Column)] = f.Value
	}
	return o
}

func hasKey(m map[string]string, key string) bool {
	_, has := m[key]
	return has
}

// FlagCSV writes the flagged rows and those not readable as one line each, most
// urgent first: what was found, then the columns of the stock list, those it has
// beyond the usual ones last and as they were.
func FlagCSV(w io.Writer, f *desk.Flags) error {
	extra := extraColumns(f.Columns)
	header := append([]string{"verdict", "days-left", "limit", "date", "reason", "line"}, stock.Columns()...)
	var rows [][]string
	for _, r := range f.Rows {
		rows = append(rows, append(flaggedCells(r, f.Columns), extraCells(r, extra)...))
	}
	for _, b := range f.Unreadable {
		row := []string{"unreadable", "", "", "", b.Reason, strconv.Itoa(b.Line), b.Batch}
		for _, c := range stock.Columns()[1:] {
			row = append(row, b.Cell(f.Columns, c))
		}
		rows = append(rows, append(row, extraOf(b, f.Columns)...))
	}
	return writeCSV(w, append(header, extra...), rows)
}

// extraColumns are the columns of a list that have no meaning here.
func extraColumns(all []string) []string {
	var extra []string
	for _, name := range all {
		if !usual(name) {
			extra = append(extra, name)
		}
	}
	return extra
}

func usual(column string) bool {
	return slices.ContainsFunc(stock.Columns(), func(c string) bool { return strings.EqualFold(column, c) })
}

// extraOf are the extra fields of a row that cannot be read, as they are written; all
// empty where its fields cannot be told apart.
func extraOf(b stock.Bad, columns []string) []string {
	var cells []string
	for i, name := range columns {
		switch {
		case usual(name):
		case i < len(b.Cells):
			cells = append(cells, b.Cells[i])
		default:
			cells = append(cells, "")
		}
	}
	return cells
}

func flaggedCells(r desk.Flagged, columns []string) []string {
	j, it := r.Judgement, r.Item
	g := j.Governing
	day, amount := "", ""
	if g.Dated {
		day = isoDay(g.Date)
	}
	if r.Counted {
		amount = strconv.FormatFloat(r.Quantity, 'f', -1, 64)
	}
	reason := g.Reason
	if r.Fault != nil {
		reason += " Also: " + r.Fault.Reason + "."
		if !r.Counted {
			amount = r.Fault.Cell(columns, "quantity")
		}
	}
	return []string{
		j.Verdict.String(), cell(daysOf(g, j.On)), string(g.Name), day, reason, strconv.Itoa(r.Line),
		it.Batch, it.Class, it.DOM.Canonical(), it.Expiry.Canonical(), it.Inspect.Canonical(), it.Opened.Canonical(), days(it.Thawed),
		r.Location, amount, r.Unit, it.Held,
	}
}

// days writes several dates as the stock list does.
func days(all []label.Date) string {
	var said []string
	for _, d := range all {
		said = append(said, d.Canonical())
	}
	return strings.Join(said, " ")
}

// extraCells are the extra fields of a row in the order of the list's columns. The
// rows have them in that order already; several columns may share a name.
func extraCells(r desk.Flagged, extra []string) []string {
	cells := make([]string, len(extra))
	for i, f := range r.Extra {
		if i < len(cells) {
			cells[i] = f.Value
		}
	}
	return cells
}
