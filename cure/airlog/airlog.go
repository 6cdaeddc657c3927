// Package airlog reads the air log of a hangar: a CSV file of times, temperatures
// and relative humidities, as a data logger or a spreadsheet writes it.
//
// The file has a header, then one reading a line:
//
//	time,temp_c,rh_pct
//	2027-03-08T07:00:00+01:00,11.5,62
//	2027-03-08T07:10:00+01:00,11.6,61.5
//
// Columns may stand in any order, temp_f may stand for temp_c, and further columns
// are passed over with a note. Commas or semicolons separate them; with semicolons
// a decimal comma is read too. A time says its offset from UTC (RFC 3339) or is
// local to Options.Zone.
//
// Nothing is guessed in silence. What cannot be meant is refused with its line and
// a remedy; what was assumed, and what looks odd, is in Log.Notes.
//
// Read on in header.go (which column is what), record.go (lines and fields), row.go
// (one reading), clock.go (times and zones), check.go (order, gaps, stuck sensors).
package airlog

import (
	"bytes"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"beadline/cure"
)

// MaxGap is the longest time between two readings that still counts as unbroken
// (common practice, no source). A longer one is noted.
const MaxGap = cure.MaxGap

// Sample is one reading of the log: its instant in Options.Zone if given, else at the
// offset the log gives; temperature in °C from -60 to 90; humidity in % from 0 to 100.
type Sample = cure.Sample

// Options say what the file does not.
type Options struct {
	// Zone is where local times (those without an offset) are read. With nil they
	// are refused.
	Zone *time.Location
}

// Log is what a file holds: at least one sample, the times strictly rising.
type Log struct {
	Name    string   // as given to Read
	Samples []Sample // in time order
	// Notes say what was assumed and what looks odd, one line each, without the
	// file's name.
	Notes []string
	// Suspect are those of the Notes by which a sensor or its unit is to be checked
	// before the log is trusted.
	Suspect []string
}

// Error says what is wrong with a log, where, and what to do.
type Error struct {
	Name   string // the file
	Line   int    // 1 is the first; 0 if the whole file is meant
	What   string // what is wrong
	Remedy string // what would be right
}

// Error gives one line: "hangar.csv:12: what is wrong; what to do".
func (e *Error) Error() string {
	place := e.Name
	if e.Line > 0 {
		place += ":" + strconv.Itoa(e.Line)
	}
	if strings.HasSuffix(e.What, "?") {
		return place + ": " + e.What + " " + e.Remedy
	}
	return place + ": " + e.What + "; " + e.Remedy
}

// Read reads a log from the bytes of its file. The name is for messages. Every
// error is an *Error and names the first line that is wrong. The data is not kept.
func Read(data []byte, name string, opt Options) (Log, error) {
	cols, body, err := readHeader(data)
	if err == nil {
		var log Log
		if log, err = readBody(body, cols, opt, processors(body)); err == nil {
			log.Name = name
			return log, nil
		}
	}
	err.Name = name
	return Log{}, err
}

// text is a part of the file: whole lines, and the number of the first.
type text struct {
	data []byte
	line int
}

// part is what one stretch of the file gave.
type part struct {
	samples   []Sample
	ambiguous []ambiguous
	seen      tally
	err       *Error
}

// readBody reads the rows in n pieces at once. The answer is the same for any n.
func readBody(body text, cols columns, opt Options, n int) (Log, *Error) {
	pieces := cut(body, n)
	// A row is 16 bytes of time and two numbers at the least. Counting lines alone
	// would let a file of line ends claim memory.
	room := make([]int, len(pieces))
	total := 0
	for i, p := range pieces {
		room[i] = min(bytes.Count(p.data, []byte{'\n'})+1, len(p.data)/len("2027-03-08T07:00,1,1")+1)
		total += room[i]
	}
	samples := make([]Sample, total)
	parts := make([]part, len(pieces))
	var wg sync.WaitGroup
	at := 0
	for i, p := range pieces {
		into := samples[at : at : at+room[i]]
		at += room[i]
		wg.Go(func() { parts[i] = readPart(p, cols, opt, into) })
	}
	wg.Wait()
	return join(body, parts, cols, samples[:0], opt)
}

// join puts the parts behind each other and judges the whole.
func join(body text, parts []part, cols columns, samples []Sample, opt Options) (Log, *Error) {
	var doubt []ambiguous
	var seen tally
	var broken *Error
	for _, p := range parts {
		for _, a := range p.ambiguous {
			a.row += len(samples)
			doubt = append(doubt, a)
		}
		seen.add(p.seen)
		n := len(samples)
		// Without blank lines a part already stands where it belongs.
		if samples = samples[:n+len(p.samples)]; len(p.samples) > 0 && &samples[n] != &p.samples[0] {
			copy(samples[n:], p.samples)
		}
		if p.err != nil {
			broken = p.err
			break
		}
	}
	twice := settle(samples, doubt, opt.Zone)
	lineOf := func(row int) int { return lineOfRow(body, cols, row) }
	if err := checkOrder(samples, lineOf); err != nil {
		return Log{}, err // comes before the broken row, if any
	}
	if broken != nil {
		return Log{}, broken
	}
	if len(samples) == 0 {
		return Log{}, &Error{What: "a header but no readings", Remedy: "give at least one row of " + cols.wanted()}
	}
	if err := checkScale(len(samples), seen, cols); err != nil {
		return Log{}, err
	}
	var notes []string
	notes = append(notes, cols.notes()...)
	notes = append(notes, seen.notes()...)
	notes = append(notes, twice...)
	gaps, suspect := oddities(samples)
	notes = append(append(notes, gaps...), suspect...)
	return Log{Samples: samples, Notes: notes, Suspect: suspect}, nil
}

// minPiece is the size in bytes below which a file is not worth cutting up.
const minPiece = 256 << 10

// processors is how many pieces are worth reading at once.
func processors(body text) int { return min(runtime.GOMAXPROCS(0), len(body.data)/minPiece) }

// cut splits the rows into at most n pieces at line ends. A file with quotes stays
// whole, for a quoted field may hold a line end.
func cut(body text, n int) []text {
	if n < 2 || bytes.IndexByte(body.data, '"') >= 0 {
		return []text{body}
	}
	var pieces []text
	rest := body
	for ; n > 1; n-- {
		end := len(rest.data) / n
		i := bytes.IndexByte(rest.data[end:], '\n')
		if i < 0 {
			break
		}
		end += i + 1
		pieces = append(pieces, text{rest.data[:end], rest.line})
		rest = text{rest.data[end:], rest.line + bytes.Count(rest.data[:end], []byte{'\n'})}
	}
	return append(pieces, rest)
}
