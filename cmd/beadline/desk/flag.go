package desk

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/nearest"
)

// Flags is what a stock list asks of people: what to set aside, what to decide on,
// what ends soon.
type Flags struct {
	Name     string // of the list
	On       date.Date
	Until    date.Date // what ends by then, this day included, ends soon
	Location string    // "": all of them

	Rows       []Flagged   // most urgent first
	Unreadable []stock.Bad // in the order of the list, wherever they are
	Columns    []string    // of the list, as written
	Warnings   []string
	Counts     Counts
}

// Flagged is a row that asks for something.
type Flagged struct {
	stock.Row
	Judgement shelf.Judgement
	Fault     *stock.Bad // what else is wrong with the row; nil: nothing
}

// Counts counts rows. Rows is the sum of Use, Hold, Reject and Unreadable; Expiring
// is how many of Use end soon.
type Counts struct{ Rows, Use, Expiring, Hold, Reject, Unreadable int }

// Flag goes through a stock list, however long, and keeps the rows that ask for
// something by the judge's day: set aside, decide, or use by until. location, if
// not "", leaves out the rows that are known to be elsewhere; capitals do not
// count. Errors: the list cannot be read, or no row has that location.
func (j *Judge) Flag(r io.Reader, name string, until date.Date, location string) (*Flags, error) {
	f := &Flags{Name: name, On: j.On, Until: until, Location: location}
	elsewhere := map[string]bool{}
	found := false
	report, err := stock.EachCSV(r, name, j.On, func(row stock.Row) error {
		if location != "" && !strings.EqualFold(row.Location, location) {
			if row.Location != "" {
				elsewhere[row.Location] = true
				return nil
			}
			// It may be there: nothing is dropped for what is not known.
		} else if location != "" {
			found = true
		}
		f.row(j, row)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if location != "" && !found {
		return nil, noSuchLocation(name, location, elsewhere)
	}
	f.Columns, f.Warnings = report.Columns, report.Warnings
	for _, bad := range report.Bad {
		f.bad(j, bad)
	}
	slices.SortStableFunc(f.Rows, moreUrgent)
	return f, nil
}

// bad counts a row in trouble. One whose dates can all be read is set aside if they
// say so, whatever else is wrong with it; the others are to be corrected first.
func (f *Flags) bad(j *Judge, bad stock.Bad) {
	f.Counts.Rows++
	here := f.Location == "" || bad.Row.Location == "" || strings.EqualFold(bad.Row.Location, f.Location)
	if here && bad.Dated {
		if v := j.Faulty(bad); v.Verdict == shelf.Reject {
			f.Counts.Reject++
			f.Rows = append(f.Rows, Flagged{Row: bad.Row, Judgement: v, Fault: &bad})
			return
		}
	}
	f.Counts.Unreadable++
	f.Unreadable = append(f.Unreadable, bad)
}

// row counts a row, and judges it in words if it asks for something.
func (f *Flags) row(j *Judge, row stock.Row) {
	f.Counts.Rows++
	v, last, dated := j.Glance(&row.Item)
	switch v {
	case shelf.Use:
		f.Counts.Use++
		if !dated || last.After(f.Until) {
			return
		}
		f.Counts.Expiring++
	case shelf.Hold:
		f.Counts.Hold++
	default:
		f.Counts.Reject++
	}
	f.Rows = append(f.Rows, Flagged{Row: row, Judgement: j.Full(row.Item)})
}

// moreUrgent puts rejects first, then holds, then what ends soon; of equals the one
// without a date, as nobody can say how late it is, then the earliest.
func moreUrgent(a, b Flagged) int {
	ga, gb := a.Judgement.Governing, b.Judgement.Governing
	switch {
	case a.Judgement.Verdict != b.Judgement.Verdict:
		return cmp.Compare(b.Judgement.Verdict, a.Judgement.Verdict)
	case ga.Dated != gb.Dated:
		if ga.Dated {
			return 1
		}
		return -1
	case ga.Dated && ga.Date != gb.Date:
		return cmp.Compare(ga.Date.Sub(gb.Date), 0)
	}
	return cmp.Compare(a.Line, b.Line)
}

func noSuchLocation(name, location string, elsewhere map[string]bool) error {
	var known []string
	for l := range elsewhere {
		known = append(known, l)
	}
	slices.Sort(known)
	if len(known) == 0 {
		return fmt.Errorf("%s: no row has a location, so none is at %q", name, location)
	}
	if near := nearest.Names(location, known, 3); near != nil {
		return fmt.Errorf("%s: no row has the location %q: the nearest are %s", name, location, strings.Join(near, ", "))
	}
	more := ""
	if len(known) > 6 {
		more = fmt.Sprintf(" and %d more", len(known)-6)
		known = known[:6]
	}
	return fmt.Errorf("%s: no row has the location %q: the list has %s%s", name, location, strings.Join(known, ", "), more)
}
