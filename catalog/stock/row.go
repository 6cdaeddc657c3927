package stock

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// column is a column with a meaning.
type column uint8

const (
	batch column = iota
	class
	dom
	expiry
	inspect
	opened
	thawed
	location
	quantity
	unit
	held
	numColumns
)

var columnNames = [numColumns]string{"batch", "class", "dom", "expiry", "inspect", "opened", "thawed", "location", "quantity", "unit", "held"}

// Columns are the names of the columns with a meaning, in the order to write them.
func Columns() []string { return slices.Clone(columnNames[:]) }

func (c column) String() string { return columnNames[c] }

func columnNamed(s string) (column, bool) {
	for c, name := range columnNames {
		if strings.EqualFold(s, name) {
			return column(c), true
		}
	}
	return 0, false
}

// columnNear finds the column that a name is a likely slip of: two letters away,
// or one for short names, where two would be half of it.
func columnNear(s string) (column, bool) {
	s = strings.ToLower(s)
	if len(s) > 20 {
		return 0, false
	}
	best, at := 3, column(0)
	for c, name := range columnNames {
		allowed := 2
		if len(name) < 6 {
			allowed = 1
		}
		if d := distance(s, name); d <= allowed && d < best {
			best, at = d, column(c)
		}
	}
	return at, best < 3
}

// distance is the number of letters to add, drop, change or swap with the next
// (optimal string alignment).
func distance(a, b string) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			change := rows[i-1][j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			d := min(change, rows[i-1][j]+1, rows[i][j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(a)][len(b)]
}

// Limits on what one row may say.
const (
	maxField    = 4096 // bytes in a field
	maxThaws    = 20   // dates in one field
	maxQuantity = 1e9  // of whatever unit
)

// row reads one record. Everything wrong with it is said at once.
func (h *header) row(rec record, today date.Date) (Row, *Bad) {
	if why := h.damage(rec); why != "" {
		return Row{}, &Bad{Batch: h.batchOf(rec), Reason: why, Cells: h.cells(rec)}
	}
	var wrong []string
	dated := true
	field := func(c column) string {
		if h.at[c] < 0 {
			return ""
		}
		return strings.TrimSpace(rec.fields[h.at[c]])
	}
	day := func(c column) label.Date {
		s := field(c)
		if s == "" {
			return label.Date{}
		}
		d, err := label.Parse(s, today)
		if err != nil {
			wrong, dated = append(wrong, fmt.Sprintf("%s %s", c, err)), false
		}
		return d
	}
	r := Row{Line: rec.line, Location: field(location), Unit: field(unit)}
	r.Item.Batch, r.Item.Class = field(batch), field(class)
	if r.Item.Batch == "" {
		wrong = append(wrong, "no batch: write the number on the label")
	}
	if r.Item.Class == "" {
		wrong = append(wrong, "no class: write the sealant class, such as polysulfide-b-2")
	}
	r.Item.DOM, r.Item.Expiry, r.Item.Inspect, r.Item.Opened = day(dom), day(expiry), day(inspect), day(opened)
	var err error
	if r.Item.Thawed, err = thaws(field(thawed), today); err != nil {
		wrong, dated = append(wrong, err.Error()), false
	}
	if r.Quantity, r.Counted, err = amount(field(quantity)); err != nil {
		wrong = append(wrong, err.Error())
	}
	r.Item.Held = heldFor(field(held))
	for _, i := range h.extra {
		r.Extra = append(r.Extra, Field{h.names[i], rec.fields[i]})
	}
	if wrong != nil {
		return Row{}, &Bad{Batch: h.batchOf(rec), Reason: strings.Join(wrong, "; "), Row: r, Dated: dated, Cells: h.cells(rec)}
	}
	return r, nil
}

// cells are the fields of a row in trouble, made fit to show.
func (h *header) cells(rec record) []string {
	if rec.trouble != "" || len(rec.fields) != len(h.names) {
		return nil
	}
	all := make([]string, len(rec.fields))
	for i, f := range rec.fields {
		all[i] = fit(strings.TrimSpace(f))
	}
	return all
}

// fit makes a field of a row in trouble fit to show.
func fit(s string) string {
	if len(s) > maxField || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return quote(s)
	}
	return s
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
		if plain(f) {
			continue
		}
		switch c := slices.Index(h.at[:], i); {
		case len(f) > maxField:
			return fmt.Sprintf("column %d is longer than %d characters", i+1, maxField)
		case !utf8.ValidString(f):
			return fmt.Sprintf("column %d is not UTF-8 text: save the list as UTF-8", i+1)
		case strings.ContainsFunc(f, unprintable):
			return fmt.Sprintf("column %d has a control character in it: %s", i+1, quote(f))
		case c >= 0 && strings.ContainsAny(f, "\r\n"):
			return fmt.Sprintf("%s has a line break in it: is a quote (\") missing?", column(c))
		}
	}
	return ""
}

// plain reports whether a field is short and of printable ASCII alone, as nearly
// all are: it needs no closer look.
func plain(f string) bool {
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

// thaws reads the dates of a field, in the order they happened.
func thaws(s string, today date.Date) ([]label.Date, error) {
	if s == "" {
		return nil, nil
	}
	// One date may itself hold a space, as in "3 Mar 2027".
	if d, err := label.Parse(s, today); err == nil {
		return []label.Date{d}, nil
	}
	cut := func(r rune) bool { return r == ' ' || r == '|' }
	if strings.Contains(s, "|") {
		cut = func(r rune) bool { return r == '|' }
	}
	var dates []label.Date
	for _, one := range strings.FieldsFunc(s, cut) {
		d, err := label.Parse(one, today)
		if err != nil {
			return nil, fmt.Errorf("thawed %w; several dates stand with a space or | between them", err)
		}
		if dates = append(dates, d); len(dates) > maxThaws {
			return nil, fmt.Errorf("thawed more than %d times: is this one batch?", maxThaws)
		}
	}
	if dates == nil {
		return nil, fmt.Errorf("thawed %s: no date in it: write it like 2027-03-08", quote(s))
	}
	slices.SortStableFunc(dates, func(a, b label.Date) int { return int(a.First().Sub(b.First())) })
	return dates, nil
}

// amount reads a quantity: a plain decimal number of zero or more. A comma is
// refused, as 1,500 is a thousand to one person and one and a half to another.
func amount(s string) (v float64, given bool, err error) {
	if s == "" {
		return 0, false, nil
	}
	for i := range len(s) {
		c := s[i]
		if c >= '0' && c <= '9' || c == '.' || i == 0 && (c == '-' || c == '+') {
			continue
		}
		if c == ',' {
			return 0, false, fmt.Errorf("quantity %s: is the comma a decimal point? write it like 2.5", quote(s))
		}
		return 0, false, fmt.Errorf("quantity %s: not a number: write it like 2.5, and its unit in the column unit", quote(s))
	}
	v, perr := strconv.ParseFloat(s, 64)
	switch {
	case perr != nil && !math.IsInf(v, 0):
		return 0, false, fmt.Errorf("quantity %s: not a number: write it like 2.5", quote(s))
	case v < 0:
		return 0, false, fmt.Errorf("quantity %s: it cannot be negative", quote(s))
	case v > maxQuantity:
		return 0, false, fmt.Errorf("quantity %s: more than any store holds", quote(s))
	}
	return math.Abs(v), true, nil // no -0
}

// heldFor is why a batch was set aside, or "". A bare yes gives no reason, and the
// batch is held all the same.
func heldFor(s string) string {
	switch strings.ToLower(s) {
	case "", "no", "n", "false", "0", "-":
		return ""
	case "yes", "y", "true", "1", "x":
		return "no reason is recorded"
	}
	return strings.Join(strings.Fields(s), " ")
}

// quote shows what the file has: shortened, control characters made visible.
func quote(s string) string {
	const most = 40
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "…"
	}
	return strconv.Quote(s)
}
