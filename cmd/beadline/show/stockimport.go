package show

import (
	"fmt"
	"io"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// mostBad is how many wrong rows text names; the rest are counted.
const mostBad = 100

// Imported writes what an import found: a line for each row, or for the first few, then
// what is wrong, and what to do next.
func Imported(w io.Writer, d *storeroom.Imported) error {
	s := sheet{w: w}
	title := "LOOKED AT  "
	if d.Wrote {
		title = "IMPORTED   "
	}
	s.block(title, fmt.Sprintf("%s, %s, into %s. %s", d.List, count(d.Rows, "row"), d.Register, importSum(d)))
	s.wrong(d)
	if len(d.Lines) > 0 {
		s.line("")
	}
	if len(d.Lines) > 0 && len(d.Bad) > 0 {
		s.line("THE OTHER ROWS, GOOD TO RECORD")
	}
	for _, l := range d.Lines {
		s.block(fmt.Sprintf("  line %-5d ", l.Line), importWords(&l))
	}
	if more := d.New + d.Known - len(d.Lines); more > 0 {
		s.line("  and %s more: --all names them", count(more, "row"))
	}
	if d.New+len(d.Bad) > 0 {
		s.bullets("ASSUMED", d.Assumed)
	}
	s.bullets("MIND", d.Notes)
	s.line("")
	switch v := d.Verdicts; {
	case d.NeedsOrder:
		s.block("NEXT       ", "The dates of this list are numbers alone: say in which order day and month stand, with --date-order dmy or --date-order mdy, and run it again.")
	case len(d.Bad) > 0:
		s.block("NEXT       ", "Correct these rows, and run it again.")
	case !d.Wrote && d.New > 0:
		s.block("NEXT       ", "If this is right, run it again with --write.")
	case d.Wrote && v[1]+v[2] > 0:
		s.block("NEXT       ", "beadline flag lists what is on hold and what to set aside.")
	}
	if c := d.Checkpoint; c != nil {
		s.block("CHECKPOINT ", fmt.Sprintf("%d: %s", c.N, c.Hash))
		s.block("           ", "Keep this hash elsewhere, on paper: beadline stock log --verify --expect HASH then finds a register that was made anew or put back.")
	}
	return s.err
}

func (s *sheet) wrong(d *storeroom.Imported) {
	if len(d.Bad) == 0 {
		return
	}
	s.line("")
	s.line("WRONG")
	for i, l := range d.Bad {
		if i == mostBad {
			s.line("  and %s more", count(len(d.Bad)-mostBad, "row"))
			break
		}
		name := ""
		if l.Batch.Number != "" {
			name = "batch " + l.Batch.String() + ": "
		}
		s.block(fmt.Sprintf("  line %-5d ", l.Line), name+l.Wrong)
	}
}

// importSum says in a sentence or two what an import does.
func importSum(d *storeroom.Imported) string {
	v := d.Verdicts
	verdicts := fmt.Sprintf(" (%d use, %d hold, %d reject)", v[0], v[1], v[2])
	what := fmt.Sprintf("%s of %s", count(d.New, "row"), countWord(d.Batches, "batch", "batches"))
	known := ""
	if d.Known > 0 {
		known = fmt.Sprintf(" %s recorded by an earlier import of this very list: not recorded twice.", countWord(d.Known, "row was", "rows were"))
	}
	switch {
	case len(d.Bad) > 0:
		return fmt.Sprintf("%s wrong: nothing is recorded.%s", countWord(len(d.Bad), "row is", "rows are"), known)
	case d.New == 0 && d.Known == 0:
		return "There is nothing in it to record."
	case d.New == 0:
		return "Nothing new." + known
	case d.Wrote:
		return fmt.Sprintf("Recorded %s%s.%s", what, verdicts, known)
	}
	return fmt.Sprintf("Nothing is recorded yet; it would be %s%s.%s", what, verdicts, known)
}

func count(n int, what string) string { return countWord(n, what, what+"s") }

func countWord(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// importWords is a row as it is recorded.
func importWords(l *storeroom.ImportLine) string {
	e := l.Event
	what := "an amount that is not recorded"
	if e.Amount != nil {
		what = e.Amount.Words(e.Unit)
	}
	it := &e.Receipt.Label
	words := []string{it.Class}
	if e.Container != "" {
		words = append(words, "container "+e.Container)
	}
	for _, d := range []struct {
		word string
		on   label.Date
	}{{"made", it.DOM}, {"expires", it.Expiry}, {"inspect", it.Inspect}, {"opened", it.Opened}} {
		if !d.on.IsZero() {
			words = append(words, d.word+" "+d.on.String())
		}
	}
	if it.Held != "" {
		words = append(words, "held: "+it.Held)
	}
	words = append(words, "received "+receivedWords(e))
	say := fmt.Sprintf("%s: %s%s, %s", l.Batch, what, atPlace(e.Place), strings.Join(words, ", "))
	switch {
	case l.Known:
		say += " (recorded before)"
	case l.Answer > 0:
		say += ": " + loud[l.Answer]
		if l.Why != "" {
			say += ". " + l.Why
		}
	}
	return say
}

func receivedWords(e *register.Event) string {
	if e.At.IsDay() {
		return e.At.Instant().Format("2 January 2006")
	}
	return e.At.Instant().Format("2 January 2006 15:04")
}

// importedJSON is the shape of an import.
type importedJSON struct {
	Register    string           `json:"register"`
	List        string           `json:"list"`
	SHA256      string           `json:"sha256"`
	Recorded    bool             `json:"recorded"`
	Rows        int              `json:"rows"`
	New         int              `json:"new"`
	Batches     int              `json:"batches"`
	KnownBefore int              `json:"known-before"`
	Wrong       int              `json:"wrong"`
	Use         int              `json:"use"`
	Hold        int              `json:"hold"`
	Reject      int              `json:"reject"`
	Checkpoint  string           `json:"checkpoint,omitempty"`
	Lines       []importLineJSON `json:"lines"`
	Assumed     []string         `json:"assumed"`
	Notes       []string         `json:"notes"`
}

type importLineJSON struct {
	Line    int        `json:"line"`
	Batch   string     `json:"batch"`
	Maker   string     `json:"maker,omitempty"`
	Wrong   string     `json:"wrong,omitempty"`
	Known   bool       `json:"known-before,omitempty"`
	Class   string     `json:"class,omitempty"`
	Verdict string     `json:"verdict,omitempty"`
	Why     string     `json:"verdict-why,omitempty"` // of what is not use
	Event   *eventJSON `json:"event,omitempty"`
}

// ImportedJSON writes an import for programs: every row, in the order of the list, those
// that are wrong behind.
func ImportedJSON(w io.Writer, d *storeroom.Imported) error {
	v := d.Verdicts
	shape := importedJSON{Register: d.Register, List: d.List, SHA256: d.SHA256.String(), Recorded: d.Wrote, Rows: d.Rows, New: d.New, Batches: d.Batches,
		KnownBefore: d.Known, Wrong: len(d.Bad), Use: v[0], Hold: v[1], Reject: v[2], Lines: []importLineJSON{}, Assumed: list(d.Assumed), Notes: list(d.Notes)}
	if d.Checkpoint != nil {
		shape.Checkpoint = d.Checkpoint.Hash.String()
	}
	for _, l := range d.Lines {
		e := eventShape(l.Event)
		e.Recorded = "" // not yet, or not by this
		shape.Lines = append(shape.Lines, importLineJSON{Line: l.Line, Batch: l.Batch.Number, Maker: l.Batch.Maker, Known: l.Known,
			Class: l.Event.Receipt.Label.Class, Verdict: l.Answer.String(), Why: l.Why, Event: &e})
	}
	for _, l := range d.Bad {
		shape.Lines = append(shape.Lines, importLineJSON{Line: l.Line, Batch: l.Batch.Number, Maker: l.Batch.Maker, Wrong: l.Wrong})
	}
	return writeJSON(w, shape)
}
