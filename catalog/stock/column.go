package stock

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cure/nearest"
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
	quantityColumn
	unit
	held
	code
	standard
	polymer
	bestBefore
	received
	refrozen
	outUsed
	hot
	condition
	tested
	result
	testedBy
	authority
	reference
	results
	extendedTo
	gtin
	container
	limitInputs
	numColumns
)

var columnNames = [numColumns]string{
	"batch", "class", "dom", "expiry", "inspect", "opened", "thawed", "location", "quantity", "unit", "held",
	"code", "standard", "polymer", "best-before", "received", "refrozen", "out-used", "hot", "condition",
	"tested", "result", "tested-by", "authority", "reference", "results", "extended-to", "gtin", "container",
	"limit-inputs",
}

// usualColumns is how many of the columns every list of ours is written with; the
// rest are written where a list has them.
const usualColumns = int(held) + 1

// rare reports whether few rows have anything in a column.
func (c column) rare() bool {
	switch c {
	case batch, class, dom, expiry, inspect, opened, received, location, quantityColumn, unit:
		return false
	}
	return true
}

// Columns are the names of the columns with a meaning, in the order to write them.
func Columns() []string { return slices.Clone(columnNames[:]) }

// UsualColumns are the first of Columns, which nearly every list has.
func UsualColumns() []string { return slices.Clone(columnNames[:usualColumns]) }

func (c column) String() string { return columnNames[c] }

// columns is a set of columns, a bit each.
type columns uint32

// absent notes the first lines on which columns of dates say that there is no date.
type absent [numColumns]int

func (a *absent) note(in columns, line int) {
	for c := column(0); in != 0; c, in = c+1, in>>1 {
		if in&1 != 0 && a[c] == 0 {
			a[c] = line
		}
	}
}

// follow takes over what was noted on the lines behind those before.
func (a *absent) follow(o *absent, before int) {
	for c, line := range o {
		if line > 0 && a[c] == 0 {
			a[c] = before + line
		}
	}
}

// warnings say what was assumed, of each column once.
func (a *absent) warnings(name string) (said []string) {
	for c, line := range a {
		if line > 0 {
			said = append(said, fmt.Sprintf("%s:%d: %s says that there is no date (n/a, none or -): this row is judged without one, and so is any other like it", name, line, column(c)))
		}
	}
	return said
}

func columnNamed(s string) (column, bool) {
	for c, name := range columnNames {
		if strings.EqualFold(s, name) {
			return column(c), true
		}
	}
	return 0, false
}

// otherNames are headings that lists elsewhere use for our columns (common practice,
// no source). They are asked about, never taken: "lot" may be the lot of a part.
var otherNames = map[string]column{
	"lot": batch, "lot no": batch, "lot number": batch, "lot no.": batch, "batch no": batch, "batch no.": batch, "batch number": batch,
	"material": class, "product": class, "sealant": class, "type": class, "part": class, "part no": class, "part number": class, "item": class,
	"mfg": dom, "mfg date": dom, "manufactured": dom, "made": dom, "date of manufacture": dom, "cure date": dom,
	"exp": expiry, "exp date": expiry, "expires": expiry, "expiry date": expiry, "expiration": expiry, "expiration date": expiry, "use by": expiry,
	"insp": inspect, "inspection": inspect, "insp/test": inspect, "test date": inspect,
	"open date": opened, "date opened": opened, "thaw date": thawed,
	"bin": location, "rack": location, "shelf": location, "store": location,
	"qty": quantityColumn, "amount": quantityColumn, "on hand": quantityColumn, "uom": unit, "units": unit,
}

// deciding are the columns by which a batch ends or is held, with the beginnings of words
// by which others call them (common practice, no source).
var deciding = []struct {
	column column
	words  []string
}{
	{expiry, []string{"exp", "use by", "shelf life end", "valid"}},
	{inspect, []string{"insp", "retest", "test due", "test by"}},
	{bestBefore, []string{"best", "bbe"}},
	{opened, []string{"open"}},
	{thawed, []string{"thaw"}},
	{refrozen, []string{"refroz", "refreez"}},
	{outUsed, []string{"out time", "out used", "time out"}},
	{held, []string{"hold", "held", "quarantine", "blocked"}},
	{hot, []string{"hot"}},
	{condition, []string{"condition", "damage"}},
	{tested, []string{"tested", "date tested"}},
	{result, []string{"result", "test result"}},
	{limitInputs, []string{"limit input"}},
}

// decidingColumn finds the column by which batches end or are held that a heading may
// be: it is a slip of its name, or one of its words begins as others call it.
func decidingColumn(heading string) (column, bool) {
	s := " " + strings.NewReplacer("_", " ", "-", " ", ".", " ", "/", " ").Replace(strings.ToLower(heading)) + " "
	near, slip := columnNear(heading)
	for _, d := range deciding {
		if slip && near == d.column {
			return d.column, true
		}
		for _, w := range d.words {
			if strings.Contains(s, " "+w) {
				return d.column, true
			}
		}
	}
	return 0, false
}

// columnNear finds the column that a heading is likely to mean: one it is a slip of,
// two letters away, or one for short names, where two would be half of it; or one
// that others call so.
func columnNear(s string) (column, bool) {
	s = strings.ToLower(s)
	if len(s) > 20 {
		return 0, false
	}
	if c, ok := otherNames[strings.NewReplacer("_", " ", "-", " ").Replace(s)]; ok {
		return c, true
	}
	best, at := 3, column(0)
	for c, name := range columnNames {
		allowed := 2
		switch {
		case len(name) < 4 && column(c) != dom:
			continue // hot: one letter away from too much else
		case len(name) < 6:
			allowed = 1
		}
		if d := nearest.Distance(s, name); d <= allowed && d < best {
			best, at = d, column(c)
		}
	}
	return at, best < 3
}
