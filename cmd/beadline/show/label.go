package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// Printed is an answer about a label, with what was printed of it.
type Printed struct {
	*desk.Label
	Drawing *tag.Drawing // nil: nothing
	File    string       // where; "" with nothing
}

// Label writes what was printed for a container, until when it may be used and why, or
// why not; and what its codes say.
func Label(w io.Writer, p *Printed, u Units) error {
	s := sheet{w: w} // paper is measured in mm whatever the units of temperature
	if p.Verdict == shelf.Use {
		first := "USE BY  "
		s.block(first, fmt.Sprintf("%s: %s, %s", UseBy(p.UseBy), p.State, p.named()))
		s.block(strings.Repeat(" ", len(first)), u.Text(p.Why))
	} else {
		first := map[shelf.Verdict]string{shelf.Hold: "HOLD  ", shelf.Reject: "DO NOT USE  "}[p.Verdict]
		s.block(first, p.named()+": "+u.Text(p.Why))
		s.block(strings.Repeat(" ", len(first)), p.Next)
	}
	if p.Source != "" {
		s.block("        rests on: ", p.Source)
	}
	if p.Row != nil {
		s.block("        listed: ", p.Row.Place)
	}
	s.line("")
	s.written(p)
	if p.Drawing != nil {
		s.codes(p)
	}
	var assumed []string
	for _, a := range p.Assumed {
		assumed = append(assumed, u.Text(a))
	}
	s.bullets("ASSUMED", once(assumed))
	s.bullets("CAUTIONS", p.Cautions)
	return s.err
}

// named names the container in the hand.
func (p *Printed) named() string {
	if p.Class.ID == "" {
		return "batch " + p.Item.Batch
	}
	return "batch " + p.Item.Batch + ", " + p.Class.ID
}

// UseBy writes a use-by in full: "Sat 5 Jun 2027, to the end of the day".
func UseBy(u tag.UseBy) string {
	if u.Timed {
		return u.At.Format("15:04 MST, Mon 2 Jan 2006")
	}
	return u.At.Format("Mon 2 Jan 2006") + ", to the end of the day"
}

// written says what is in the file and how to print it.
func (s *sheet) written(p *Printed) {
	d := p.Drawing
	if d == nil {
		s.block("", "No label was made. --hold-tag makes a tag DO NOT USE in its place.")
		return
	}
	what := plural(len(d.Labels), "label", "labels")
	if p.Verdict != shelf.Use {
		what = plural(len(d.Labels), "tag", "tags") + " DO NOT USE"
	}
	s.block("", fmt.Sprintf("%s in %s, %s: %s.", what, p.File, plural(d.Pages, "page", "pages"), d.Sheet))
	if from := d.Sheet.Start; from > 1 {
		s.block("", fmt.Sprintf("The first lies on position %d of the sheet.", from))
	}
	s.block("", "Print at 100 %, without fitting to the page, and scan one before you use them.")
}

// codes are the contents of the symbols in readable characters.
func (s *sheet) codes(p *Printed) {
	s.line("")
	s.line("CODES")
	for _, c := range codesOf(p.Drawing) {
		s.line("  %s, module %.2f mm", c.form, c.module)
		for _, hri := range c.readable {
			s.block("    ", hri)
		}
	}
	for _, r := range codeRemarks(p) {
		s.block("  ", r)
	}
}

// codeSum is what the symbols of one form say on all labels together.
type codeSum struct {
	form     tag.Form
	module   float64 // the least, mm
	labels   int
	readable []string
}

func codesOf(d *tag.Drawing) (sums []codeSum) {
	for _, l := range d.Labels {
		for _, x := range l.Symbols {
			i := slices.IndexFunc(sums, func(c codeSum) bool { return c.form == x.Code.Form })
			if i < 0 {
				i, sums = len(sums), append(sums, codeSum{form: x.Code.Form, module: x.Module})
			}
			c := &sums[i]
			c.module, c.labels = min(c.module, x.Module), c.labels+1
			if hri := x.Code.HRI(); !slices.Contains(c.readable, hri) {
				c.readable = append(c.readable, hri)
			}
		}
	}
	slices.SortFunc(sums, func(a, b codeSum) int { return int(a.form) - int(b.form) })
	return sums
}

// codeRemarks say what a reader of the codes has to know.
func codeRemarks(p *Printed) (said []string) {
	by := map[tag.Form]codeSum{}
	for _, c := range codesOf(p.Drawing) {
		by[c.form] = c
	}
	gs1 := by[tag.GS1DataMatrix].labels > 0
	switch {
	case p.Verdict != shelf.Use:
		said = append(said, "The codes of a tag DO NOT USE carry no use-by.")
	case gs1:
		said = append(said, "The date in the Data Matrix is the use-by of this container, not the maker's expiry date.")
	case p.UseBy.Timed && p.UseBy.At.Sub(p.When) < 24*time.Hour:
		said = append(said, "Without a GTIN no code has room for an hour, so the Data Matrix carries no date: the print counts.")
	case p.UseBy.Timed:
		said = append(said, "Without a GTIN no code has room for an hour, so (14D) is the last whole day, the one before: the print counts.")
	}
	if !gs1 {
		said = append(said, "No GTIN is given, so the codes are not GS1: there (10) and (17) need (01) beside them.")
	}
	bars := by[tag.GS1128].labels + by[tag.Code128].labels
	switch {
	case bars < len(p.Drawing.Labels) && !p.Drawing.Sheet.NoBars && p.Verdict != shelf.Use:
		said = append(said, "There is no room for a Code 128 beside the reason.")
	case bars < len(p.Drawing.Labels) && !p.Drawing.Sheet.NoBars:
		said = append(said, "There is no room for a Code 128: the Data Matrix alone can be scanned. A wider label has both.")
	case gs1 && by[tag.Code128].labels > 0:
		said = append(said, "The label is too small for a GS1-128: its Code 128 carries batch and state alone.")
	}
	if p.Verdict == shelf.Use && bars > 0 {
		said = append(said, "The Code 128 has no room for a use-by: check holds what is scanned by it, until the print is read.")
	}
	if c := by[tag.GS1128]; c.labels > 0 && c.module < tag.Distribution {
		said = append(said, fmt.Sprintf("The GS1-128 is for a hand scanner: in general distribution GS1 asks for bars of %.0f µm and more (from memory).", 1000*tag.Distribution))
	}
	return said
}
