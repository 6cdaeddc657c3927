package stock

import (
	"fmt"
	"slices"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/cure/nearest"
)

// Options is how a list is read. The zero Options but for Today reads a list that
// has our headings and writes its dates without doubt.
type Options struct {
	// Map says which headings of the list stand for which of our columns; nil where
	// the list has our own.
	Map Map
	// Encoding is how the text is written.
	Encoding Encoding
	// Order is the order of day, month and year in dates of numbers alone;
	// label.OrderUnknown refuses them.
	Order label.Order
	// Today is the day that two-digit years are read against.
	Today date.Date
}

// Encoding is how the text of a list is written as bytes.
type Encoding uint8

// The encodings.
const (
	// Auto reads UTF-8, and each line that is not UTF-8 as Windows-1252, with a
	// warning; a list that starts with the mark of UTF-8 is UTF-8 throughout, and one
	// with the mark of UTF-16 is that.
	Auto Encoding = iota
	UTF8
	Windows1252
)

var encodingNames = [...]string{"auto", "utf-8", "windows-1252"}

// String is the encoding's word: "auto", "utf-8" or "windows-1252".
func (e Encoding) String() string {
	if int(e) < len(encodingNames) {
		return encodingNames[e]
	}
	return fmt.Sprintf("encoding %d", uint8(e))
}

// ParseEncoding finds an encoding by its word, in any case. Any other word is an
// error that lists them.
func ParseEncoding(s string) (Encoding, error) {
	for i, name := range encodingNames {
		if strings.EqualFold(strings.TrimSpace(s), name) {
			return Encoding(i), nil
		}
	}
	return 0, fmt.Errorf("%s: not an encoding read here: auto, utf-8 or windows-1252", quote(s))
}

// Map says which headings of a list stand for which of our columns.
type Map []Renamed

// Renamed is one heading of a list, as written there, and the column of ours that it
// stands for; Unused where it stands for none, although it is called like one.
type Renamed struct{ Heading, Column string }

// Unused as Renamed.Column: the column is kept as it is and means nothing.
const Unused = "-"

// ParseMap reads what stands for what, as in "Lot No=batch,Exp=expiry": headings of
// the list before the last equals sign, our columns behind it, a comma between two.
// A heading may hold commas itself. Several texts count as one. "Heading=-" takes
// its meaning from a column. An error says in one line what is wrong: no equals
// sign, no such column (with the nearest), a heading or a column named twice.
func ParseMap(texts ...string) (Map, error) { return ParseMapWith(nil, texts...) }

// ParseMapWith is ParseMap for a reader who has a use for more columns than ours, such
// as maker. A heading that is mapped to one of those is kept as it is, as any other
// column without a meaning, and Map.Heading finds it.
func ParseMapWith(more []string, texts ...string) (Map, error) {
	var m Map
	for _, text := range texts {
		heading := ""
		for part := range strings.SplitSeq(text, ",") {
			heading += part
			cut := strings.LastIndexByte(heading, '=')
			if cut < 0 {
				heading += "," // of a heading with a comma in it
				continue
			}
			if err := m.add(strings.TrimSpace(heading[:cut]), strings.TrimSpace(heading[cut+1:]), more); err != nil {
				return nil, err
			}
			heading = ""
		}
		if heading != "" {
			return nil, fmt.Errorf("%s: write the heading of the list, an equals sign and the column it stands for, like Lot No=batch", quote(strings.TrimSuffix(heading, ",")))
		}
	}
	return m, nil
}

func (m *Map) add(heading, column string, more []string) error {
	if heading == "" {
		return fmt.Errorf("%s: before the equals sign stands the heading of the list, like Lot No=batch", quote("="+column))
	}
	c, known := columnNamed(column)
	i := slices.IndexFunc(more, func(s string) bool { return strings.EqualFold(s, column) })
	switch {
	case known:
		column = c.String()
	case i >= 0:
		column = more[i]
	case column != Unused:
		return fmt.Errorf("%s: there is no column %s to read it as%s", quote(heading+"="+column), quote(column), nearColumns(column, more))
	}
	for _, r := range *m {
		switch {
		case strings.EqualFold(r.Heading, heading):
			return fmt.Errorf("%s is mapped twice, to %s and to %s: keep one", quote(heading), r.Column, column)
		case column != Unused && r.Column == column:
			return fmt.Errorf("column %s is mapped twice, from %s and from %s: keep one", column, quote(r.Heading), quote(heading))
		}
	}
	*m = append(*m, Renamed{heading, column})
	return nil
}

// nearColumns names the columns that a word may be a slip of, or all of them.
func nearColumns(s string, more []string) string {
	all := slices.Concat(columnNames[:], more)
	if near := nearest.Names(s, all, 3); near != nil {
		return ": the nearest are " + strings.Join(near, ", ")
	}
	return ": the columns are " + strings.Join(all, ", ")
}

// Heading is the heading that is mapped to a column, or the column's own name.
func (m Map) Heading(column string) string {
	for _, r := range m {
		if r.Column == column {
			return r.Heading
		}
	}
	return column
}

// find is the column that a heading is mapped to. mapped is false for a heading that
// the map does not name; ok is false for one that is mapped to no column.
func (m Map) find(heading string) (c column, ok, mapped bool) {
	i := slices.IndexFunc(m, func(r Renamed) bool { return strings.EqualFold(r.Heading, heading) })
	if i < 0 {
		return 0, false, false
	}
	c, ok = columnNamed(m[i].Column)
	return c, ok, true
}
