// Package tag draws the labels that go on an opened, thawed or mixed container: what
// it is, when that was, who did it, and until when it may be used.
//
// A label is read at arm's length, in gloves, in bad light: black on white, the use-by
// the largest thing on it, nothing carried by colour. Beside the words it has two
// symbols, a Data Matrix and a Code 128, each with its content in readable characters.
//
//	d, err := tag.Draw(tags, tag.Sheet{Page: tag.A4, Label: tag.Size{W: 70, H: 37}, DPI: 300})
//	err = d.PDF(w, now)
//
// The package is pure: no clock, no files, and the same input gives the same bytes.
// Read on in code.go and state.go (what the symbols carry), symbol.go (their modules, sizes and
// quiet zones), sheet.go (where labels lie on paper), face.go (what a label says),
// layout.go and rows.go (where it says it), draw.go, pdf.go and png.go.
package tag

import (
	"fmt"
	"strings"
	"time"
)

// State is what was done to the container.
type State uint8

// The states. Hold and Reject make a tag that forbids the use instead of a label that
// limits it.
const (
	Opened State = iota
	Thawed
	Mixed
	Hold
	Reject
)

var stateNames = [...]string{"opened", "thawed", "mixed", "hold", "reject"}

// String is the state's word: "opened", "thawed", "mixed", "hold", "reject".
func (s State) String() string {
	if int(s) < len(stateNames) {
		return stateNames[s]
	}
	return fmt.Sprintf("state %d", uint8(s))
}

// ParseState finds one of the states that a person can bring about: opened, thawed or
// mixed. Any other word is an error that lists them.
func ParseState(s string) (State, error) {
	for i, name := range stateNames[:Hold] {
		if strings.EqualFold(s, name) {
			return State(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a state: say opened, thawed or mixed", s)
}

// Forbids reports a tag that says not to use the container.
func (s State) Forbids() bool { return s >= Hold }

// UseBy is until when a container may be used.
type UseBy struct {
	// At is the last minute, if Timed; otherwise any moment of the last day, all of
	// which counts. Its zone is the one of the clock on the wall.
	At    time.Time
	Timed bool
}

// Tag is what one label says.
type Tag struct {
	State     State
	Class     string // class id
	Name      string // what the class is, in words; "" leaves it out
	Batch     string // batch or lot number as on the container
	Container string // number or name of the container within the batch, or ""
	// When it was opened, thawed or mixed, in the zone to be printed; for Hold and
	// Reject the moment that was judged.
	When time.Time
	By   string // who did it; "" leaves a line to write it on
	// UseBy is not used for Hold and Reject.
	UseBy UseBy
	// Notes are short lines below the use-by: what ends it; for Hold and Reject why.
	Notes []string
	GTIN  string // 14 digits by GTIN, or ""
}

// Error is what is wrong with a tag or a sheet.
type Error struct {
	Field string // "batch", "container", "class", "by", "gtin", "label", "page", "start", "dpi"
	Text  string // what is wrong and what would be right
}

// Error implements error: the field, then the text.
func (e *Error) Error() string { return e.Field + " " + e.Text }

func fault(field, format string, args ...any) *Error {
	return &Error{field, fmt.Sprintf(format, args...)}
}

// check finds what no label can say. The fonts have no letter for everything that a
// person can write, and a box in its place would be a riddle on a tin.
func (t *Tag) check(r *ruler) error {
	if strings.TrimSpace(t.Batch) == "" {
		return fault("batch", "is missing: a label without its batch says nothing")
	}
	if t.When.IsZero() {
		return fault("when", "is missing: say when it was")
	}
	if !t.State.Forbids() && t.UseBy.At.IsZero() {
		return fault("use-by", "is missing: a label without it says nothing")
	}
	type word struct{ field, text string }
	words := []word{{"batch", t.Batch}, {"container", t.Container}, {"class", t.Class}, {"class", t.Name}, {"by", t.By}}
	for _, n := range t.Notes {
		words = append(words, word{"note", n})
	}
	for _, w := range words {
		if bad, ok := r.unprintable(w.text); ok {
			return fault(w.field, "%q: the label has no letter for %q: write it in Latin letters", w.text, string(bad))
		}
	}
	return nil
}
