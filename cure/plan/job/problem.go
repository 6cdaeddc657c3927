package job

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// maxProblems bounds what one answer lists: nobody mends more at a time, and one
// slip can cause many.
const maxProblems = 10

// enough is where looking for more stops: the rest would only cost time.
const enough = 3 * maxProblems

// Problem is one thing that is wrong in a job file, said in one line.
type Problem struct {
	File string // as given to Decode
	Line int    // from 1
	Col  int    // from 1, in characters
	Text string // what is wrong, and after the last semicolon what would be right
}

// Error is the problem as "job.yaml:12:7: what is wrong; what would be right".
func (p Problem) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Col, p.Text)
}

// Problems is what Decode returns as its error: one problem or more, in the order
// of the file.
type Problems []Problem

// Error is one line for each problem, the first ten of them.
func (ps Problems) Error() string {
	lines := make([]string, 0, maxProblems+1)
	for _, p := range ps[:min(len(ps), maxProblems)] {
		lines = append(lines, p.Error())
	}
	if more := len(ps) - maxProblems; more > 0 {
		some := fmt.Sprint(more)
		if len(ps) >= enough {
			some = fmt.Sprintf("at least %d", more)
		}
		lines = append(lines, fmt.Sprintf("%s: and %s more", ps[0].File, some))
	}
	return strings.Join(lines, "\n")
}

// place is where something stands in the file.
type place struct{ line, col int }

// report collects the problems of one file.
type report struct {
	name     string
	problems Problems
}

// full reports that enough problems were found.
func (r *report) full() bool { return len(r.problems) >= enough }

// wrong notes a problem; the same words at the same place are said once.
func (r *report) wrong(at place, format string, args ...any) {
	if r.full() {
		return
	}
	p := Problem{r.name, max(at.line, 1), max(at.col, 1), oneLine(fmt.Sprintf(format, args...))}
	if !slices.Contains(r.problems, p) {
		r.problems = append(r.problems, p)
	}
}

// failed gives the problems in the order of the file, or nil.
func (r *report) failed() error {
	if len(r.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Col - b.Col
	})
	return r.problems
}

// oneLine keeps a message on its line whatever the file contains.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '·'
		}
		return r
	}, s)
}
