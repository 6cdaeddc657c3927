package stock

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits on what one row may say.
const (
	maxField    = 4096     // bytes in a field
	maxInputs   = 64 << 10 // bytes in a field of limit-inputs
	maxThaws    = 20       // dates in one field
	maxQuantity = 1e9      // of whatever unit
)

// reading is one record being read. Everything wrong with it is said at once.
type reading struct {
	h      *header
	fields []string
	wrong  []string
	// lost is true once something could not be read that might speak for the batch.
	lost bool
	none columns // of dates, which say that there is none
}

// field is what the record has in a column, without the spaces around it.
func (r *reading) field(c column) string {
	if r.h.at[c] < 0 {
		return ""
	}
	return strings.TrimSpace(r.fields[r.h.at[c]])
}

// fault notes what is wrong with a column; lost says that it might have spoken for
// the batch.
func (r *reading) fault(c column, err error, lost bool) {
	r.wrong = append(r.wrong, c.String()+" "+err.Error())
	r.lost = r.lost || lost
}

// plain reports whether all columns are empty that a plain row leaves empty.
func (r *reading) plain() bool {
	for _, i := range r.h.rare {
		if strings.TrimSpace(r.fields[i]) != "" {
			return false
		}
	}
	return true
}

// row reads one record.
func (h *header) row(rec record) (Row, *Bad) {
	if why := h.damage(rec); why != "" {
		return Row{}, &Bad{Batch: h.batchOf(rec), Reason: why, Cells: h.cells(rec)}
	}
	r := reading{h: h, fields: rec.fields}
	row := r.all()
	row.Line = rec.line
	for _, i := range h.extra {
		row.Extra = append(row.Extra, Field{h.names[i], rec.fields[i]})
	}
	if r.wrong != nil {
		return Row{}, &Bad{Batch: h.batchOf(rec), Reason: strings.Join(r.wrong, "; "), Row: row, Dated: !r.lost, Cells: h.cells(rec)}
	}
	return row, nil
}

// all reads what the columns say, by the one that gives the whole item where it is
// filled.
func (r *reading) all() Row {
	if text := r.field(limitInputs); text != "" {
		return r.whole(text)
	}
	return r.columns()
}

// columns reads what each column says.
func (r *reading) columns() Row {
	row := Row{Location: r.field(location), Unit: r.field(unit)}
	it := &row.Item
	it.Batch, it.Class = r.field(batch), r.field(class)
	if it.Batch == "" {
		r.wrong = append(r.wrong, "no batch: write the number on the label")
	}
	if it.Class == "" {
		r.wrong = append(r.wrong, "no class: write the sealant class, such as polysulfide-b-2")
	}
	it.DOM, it.Expiry, it.Inspect, it.Opened, it.Received.On = r.day(dom), r.day(expiry), r.day(inspect), r.moment(opened), r.arrival()
	row.Quantity, row.Counted = r.amount()
	if row.Plain = r.plain(); !row.Plain {
		r.rest(&row)
	}
	row.none = r.none
	return row
}

// cells are the fields of a row in trouble, made fit to show.
func (h *header) cells(rec record) []string {
	if rec.trouble != "" || len(rec.fields) != len(h.names) {
		return nil
	}
	all := make([]string, len(rec.fields))
	for i, f := range rec.fields {
		all[i] = fit(strings.TrimSpace(f), h.most(i))
	}
	return all
}

// fit makes a field of a row in trouble fit to show.
func fit(s string, most int) string {
	if len(s) > most || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return quote(s)
	}
	return s
}

// most is how many bytes a field may have.
func (h *header) most(i int) int {
	if h.at[limitInputs] == i {
		return maxInputs
	}
	return maxField
}

// damage finds what makes the fields of a record unfit to read.
func (h *header) damage(rec record) string {
	if rec.trouble != "" {
		return rec.trouble
	}
	if n := len(rec.fields); n != len(h.names) {
		return fmt.Sprintf("%d fields, but the header has %d: put a field with a separator in it in quotes", n, len(h.names))
	}
	for i, f := range rec.fields {
		if plainText(f) {
			continue
		}
		switch c := slices.Index(h.at[:], i); {
		case len(f) > h.most(i):
			return fmt.Sprintf("column %d is longer than %d characters", i+1, h.most(i))
		case !utf8.ValidString(f) && h.how == UTF8:
			return fmt.Sprintf("column %d is not UTF-8 text: save the list as UTF-8", i+1)
		case !utf8.ValidString(f):
			return fmt.Sprintf("column %d is neither UTF-8 nor Windows-1252 text: save the list as UTF-8", i+1)
		case strings.ContainsFunc(f, unprintable):
			return fmt.Sprintf("column %d has a control character in it: %s", i+1, quote(f))
		case c >= 0 && strings.ContainsAny(f, "\r\n"):
			return fmt.Sprintf("%s has a line break in it: is a quote (\") missing?", column(c))
		}
	}
	return ""
}

// plainText reports whether a field is short and of printable ASCII alone, as nearly
// all are: it needs no closer look.
func plainText(f string) bool {
	if len(f) > maxField {
		return false
	}
	for i := range len(f) {
		if f[i] < ' ' || f[i] > '~' {
			return false
		}
	}
	return true
}

// unprintable finds control characters; line ends and tabs may stand in a quoted
// field.
func unprintable(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' }

// batchOf is the batch number of a row in trouble, made fit to show.
func (h *header) batchOf(rec record) string {
	if i := h.at[batch]; rec.trouble == "" && i < len(rec.fields) {
		b := strings.TrimSpace(rec.fields[i])
		if len(b) > 40 || !utf8.ValidString(b) || strings.ContainsFunc(b, unicode.IsControl) {
			return quote(b)
		}
		return b
	}
	return ""
}
