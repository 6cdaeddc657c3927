package desk

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"

	"github.com/rickb777/date"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// Flags is what a stock list asks of people: what to set aside, what to decide on,
// what to correct, what ends soon; and what to draw first. It holds a key and an
// offset for each row that is flagged, and reads the rows again when they are wanted,
// so that a list may be of any size. It is good as long as the list is open, and for one
// goroutine at a time.
type Flags struct {
	Name     string // of the list, or of the register
	Register bool   // it is the stock of a register; see List.Register
	On       date.Date
	Until    date.Date // what ends by then, this day included, ends soon
	Location string    // "": all of them

	// Groups are the rows together, or by location, the one with the most urgent row
	// first. There is always at least one.
	Groups     []Group
	ByLocation bool

	Counts   Counts
	Ahead    []Ahead // of the good rows, how many end within 30, 60 and 90 days
	Columns  []string
	Means    []string // of each of Columns the column of ours, or ""; see stock.Report
	Warnings []string

	judge *Judge
	list  *List
	file  *stock.File
	runs  []run
	tops  map[string]*top
	draw  int

	readers []*flagReader
	fetch   *fetcher

	numbers []numberRun
	also    map[uint64]int // of batches to draw, by hash: see Flagged.Also
	rows    int            // numbers held

	flagged int   // entries in runs
	roomFor int   // bytes of entries that memory was made room for
	outside int64 // the bound on memory before, 0: not asked yet
}

// Section is one kind of what a list asks for.
type Section uint8

// The sections, in the order of a report. Within each the most urgent row comes
// first: of two the one without a date, as nobody can say how late it is, then the
// earlier, then the one that stands first in the list.
const (
	SetAside    Section = iota // rejected: set aside today
	OnHold                     // a person must decide
	NotReadable                // the row is to be corrected; in the order of the list
	EndsSoon                   // good, and to be used first
	numSections
)

// Sections are all sections in the order of a report.
func Sections() []Section { return []Section{SetAside, OnHold, NotReadable, EndsSoon} }

// Group is the rows of one location, or all rows.
type Group struct {
	Place string // "" for all rows, and for those without a location
	Rows  [numSections]int
	rank  uint16
}

// Flagged is a row that asks for something.
type Flagged struct {
	stock.Row
	Register  bool // it is a part of a batch in a register, and has no line
	Section   Section
	Judgement shelf.Judgement // empty for a row that is not readable
	Fault     *stock.Bad      // what is wrong with the row; nil: nothing
	// Also is, of a row to draw, the first line on which its batch stands too and may
	// not be used or cannot be read; 0: none.
	Also int
}

// Counts counts rows. Rows is the sum of Use, Hold, Reject and Unreadable; Expiring
// is how many of Use end soon.
type Counts struct{ Rows, Use, Expiring, Hold, Reject, Unreadable int }

func (c *Counts) add(o Counts) {
	c.Rows += o.Rows
	c.Use += o.Use
	c.Expiring += o.Expiring
	c.Hold += o.Hold
	c.Reject += o.Reject
	c.Unreadable += o.Unreadable
}

// Of is how many rows a section has.
func (c Counts) Of(s Section) int {
	return [numSections]int{SetAside: c.Reject, OnHold: c.Hold, NotReadable: c.Unreadable, EndsSoon: c.Expiring}[s]
}

// Ahead is how many good rows end within so many days.
type Ahead struct {
	Days  int
	Until date.Date // the last day that counts
	Rows  int
}

// aheadDays are the spans looked ahead (common practice, no source).
var aheadDays = [...]int{30, 60, 90}

// FlagQuestion is what to look for in a list.
type FlagQuestion struct {
	Until date.Date // what ends by then, this day included, ends soon
	// Location, if not "", leaves out the rows that are known to be elsewhere;
	// capitals do not count. Of a register it may be a site too, see inSite.
	Location   string
	ByLocation bool // group the rows by location
	// Draw is how many batches of each class to name that are to be drawn first; 0:
	// none.
	Draw int
	// Stock is how the list is read; Today is the judge's day whatever it says.
	Stock stock.Options
}

// Flag goes through a stock list, however long, and keeps the rows that ask for
// something by the judge's day: set aside, decide, correct, or use by Until. Errors:
// the list cannot be read or was changed meanwhile, or no row has that location.
func (j *Judge) Flag(l *List, q FlagQuestion) (*Flags, error) {
	q.Stock.Today = j.On
	file, err := stock.Open(l.src, l.size, l.Name, q.Stock)
	if err != nil {
		return nil, l.because(err)
	}
	f := &Flags{Name: l.Name, Register: l.Register, On: j.On, Until: q.Until, Location: q.Location, ByLocation: q.ByLocation,
		Columns: file.Columns(), Means: file.Means(), judge: j, list: l, file: file, tops: map[string]*top{}, draw: q.Draw}
	for _, days := range aheadDays {
		f.Ahead = append(f.Ahead, Ahead{Days: days, Until: j.On.Add(date.PeriodOfDays(days))})
	}
	places := newLocations()
	f.makeRoom()
	workers := make([]*flagWorker, runtime.GOMAXPROCS(0))
	for i := range workers {
		workers[i] = newFlagWorker(j, q, places, l.Register)
	}
	f.Warnings, err = file.Scan(len(workers), func(w int) stock.Visitor { return workers[w].begin() }, f.take)
	if err != nil {
		return nil, l.because(err)
	}
	if err := l.same(); err != nil {
		return nil, err
	}
	if q.Location != "" && !slices.ContainsFunc(workers, func(w *flagWorker) bool { return w.found }) {
		return nil, noSuchLocation(l, q.Location, places)
	}
	f.group(places)
	if !l.Register { // there each part of a batch has one row
		if err := f.findRepeated(workers); err != nil {
			return nil, err
		}
	}
	return f, l.same()
}

// take adds what was found in a stretch of the list.
func (f *Flags) take(v stock.Visitor, before int) error {
	p := v.(*flagPart)
	if before > maxLines {
		return fmt.Errorf("%s: more than %d lines: split the list", f.Name, maxLines)
	}
	f.Counts.add(p.counts)
	for i, n := range p.ahead {
		f.Ahead[i].Rows += n
	}
	for class, t := range p.tops {
		f.top(class).merge(t, before, f.draw)
	}
	f.numbers, f.rows = append(f.numbers, p.numbers), f.rows+len(p.numbers.hashes)
	if len(p.entries) > 0 {
		f.runs = append(f.runs, run{p.entries, before})
		f.flagged += len(p.entries)
	}
	if f.held() > f.roomFor {
		f.makeRoom()
	}
	return nil
}

// held is how many bytes are held for the rows.
func (f *Flags) held() int { return f.flagged*entryBytes + f.rows*numberBytes }

// makeRoom bounds the memory of the program: to what the rows held need, half as
// much again for those to come, and a fixed room for all else. Reading rows again
// makes much that is soon not needed; without a bound it would pile up as high again
// as what is. A lower bound set from outside stands.
func (f *Flags) makeRoom() {
	const rest = 24 << 20
	f.roomFor = max(16<<20, f.held()*3/2)
	if now := debug.SetMemoryLimit(-1); f.outside == 0 {
		f.outside = now
	}
	debug.SetMemoryLimit(min(f.outside, int64(rest+f.roomFor)))
}
