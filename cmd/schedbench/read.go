package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"
)

// What an instance may be at most. The largest public ones have about a thousand
// activities; the rest is there so that a wrong file ends in a line, not in hours.
const (
	maxBytes      = 16 << 20
	maxActivities = 10_000 // without source and sink
	maxResources  = 100
	maxNumber     = 1_000_000  // a duration, a lag, a request, a capacity
	maxHorizon    = 10_000_000 // the sum of durations and lags
)

// readFile reads one instance. Errors begin with the file and, where there is one,
// the line.
func readFile(path string) (*instance, error) {
	data, err := readBytes(path)
	if err != nil {
		return nil, err
	}
	return readInstance(path, data)
}

// readBytes reads a file that is not larger than an instance may be.
func readBytes(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, cannotRead(path, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxBytes+1))
	if err != nil {
		return nil, cannotRead(path, err)
	}
	if len(data) > maxBytes {
		return nil, fmt.Errorf("%s: larger than %d MB, the most that is read", path, maxBytes>>20)
	}
	return data, nil
}

func cannotRead(path string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("%s: cannot be read: %w", path, err)
}

// readInstance reads an instance in either format; what is in it says which. name is
// what errors call the file.
func readInstance(name string, data []byte) (*instance, error) {
	f := newText(name, data)
	var p *instance
	var err error
	switch {
	case f.looksSM():
		p, err = readSM(f)
	case f.looksSCH():
		p, err = readSCH(f)
	default:
		line := 1
		if len(f.rows) > 0 {
			line = f.rows[0].line
		}
		return nil, f.fault(line, "no instance: a .sm file has a line PRECEDENCE RELATIONS:, and a .sch file begins with how many activities and resources there are, like 10 5 0 0")
	}
	if err != nil {
		return nil, err
	}
	if sink := p.sink(); p.activities[sink].duration != 0 {
		return nil, f.fault(f.last(), "%s, the last, is the sink: its duration is to be 0, not %d", p.name(sink), p.activities[sink].duration)
	}
	if h := p.horizon(); h > maxHorizon {
		return nil, f.fault(f.last(), "durations and lags add up to %d: at most %d is scheduled; take a coarser unit of time", h, maxHorizon)
	}
	return p, nil
}

// text is a file as rows of words.
type text struct {
	name string
	rows []row
}

// row is a line that is not blank.
type row struct {
	line  int // from 1
	words []string
}

// newText splits a file into rows. Lines may end as they do on any system, and the
// file in the mark that old systems end one with.
func newText(name string, data []byte) *text {
	f := &text{name: name}
	data = bytes.TrimSuffix(bytes.TrimRight(data, "\r\n"), []byte{0x1a})
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	for i, line := range bytes.Split(data, []byte("\n")) {
		if words := strings.Fields(string(line)); len(words) > 0 {
			f.rows = append(f.rows, row{i + 1, words})
		}
	}
	return f
}

// last is the number of the last line that is not blank.
func (f *text) last() int {
	if len(f.rows) == 0 {
		return 1
	}
	return f.rows[len(f.rows)-1].line
}

// fault is an error at a line: what is wrong, and what would be right.
func (f *text) fault(line int, format string, args ...any) error {
	return fmt.Errorf("%s:%d: %s", f.name, line, fmt.Sprintf(format, args...))
}

// number is the i-th word of a row, a whole number from lo to hi.
func (f *text) number(r row, i int, what string, lo, hi int) (int, error) {
	if i >= len(r.words) {
		return 0, f.fault(r.line, "%s is missing: it is the %s number of the line", what, ordinal(i+1))
	}
	return f.whole(r, r.words[i], what, lo, hi)
}

// whole is a word as a whole number from lo to hi.
func (f *text) whole(r row, word, what string, lo, hi int) (int, error) {
	n, err := strconv.Atoi(word)
	if err != nil && !errors.Is(err, strconv.ErrRange) {
		return 0, f.fault(r.line, "%s is %s: want a whole number", what, quoted(word))
	}
	if err != nil || n < lo || n > hi {
		if lo == hi {
			return 0, f.fault(r.line, "%s is %s: only %d is read", what, short(word), lo)
		}
		return 0, f.fault(r.line, "%s is %s: want %d to %d", what, short(word), lo, hi)
	}
	return n, nil
}

// requests are the durations and requests of an activity: its number, its mode, its
// duration and what it asks of each resource, as both formats write them.
func (f *text) requests(r row, number, resources int) (activity, error) {
	var a activity
	if err := f.begins(r, number); err != nil {
		return a, err
	}
	if _, err := f.number(r, 1, "the mode", 1, 1); err != nil {
		return a, err
	}
	var err error
	if a.duration, err = f.number(r, 2, "the duration", 0, maxNumber); err != nil {
		return a, err
	}
	if len(r.words) != 3+resources {
		return a, f.fault(r.line, "activity %d: %d numbers, and want %d: number, mode, duration and a request of each of %d resources", number, len(r.words), 3+resources, resources)
	}
	a.requests = make([]int, resources)
	for k := range a.requests {
		if a.requests[k], err = f.number(r, 3+k, fmt.Sprint("the request of resource ", k+1), 0, maxNumber); err != nil {
			return a, err
		}
	}
	return a, nil
}

// begins checks that a row is that of the activity whose turn it is.
func (f *text) begins(r row, number int) error {
	if n, err := strconv.Atoi(r.words[0]); err != nil || n != number {
		return f.fault(r.line, "the line begins with %s: the next activity is %d", quoted(r.words[0]), number)
	}
	return nil
}

// capacities are the units of each resource.
func (f *text) capacities(r row, resources int) ([]int, error) {
	if len(r.words) != resources {
		return nil, f.fault(r.line, "%d capacities for %d resources: want one of each", len(r.words), resources)
	}
	units := make([]int, resources)
	for k := range units {
		var err error
		if units[k], err = f.number(r, k, fmt.Sprint("the capacity of resource ", k+1), 0, maxNumber); err != nil {
			return nil, err
		}
	}
	return units, nil
}

func ordinal(n int) string {
	switch {
	case n%100/10 == 1 || n%10 == 0 || n%10 > 3:
		return fmt.Sprint(n, "th")
	}
	return fmt.Sprint(n, []string{"st", "nd", "rd"}[n%10-1])
}

// maxShown is how much of a word an error repeats.
const maxShown = 30

func quoted(word string) string { return strconv.Quote(short(word)) }

func short(word string) string {
	if utf8.RuneCountInString(word) <= maxShown {
		return word
	}
	return string([]rune(word)[:maxShown]) + "…"
}
