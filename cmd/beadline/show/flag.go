package show

import (
	"fmt"
	"io"
	"math"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// flagForm is one form of what a stock list asks of people, written from top to
// bottom. An error ends the walk.
type flagForm interface {
	// head comes first; nothing says that no row asks for anything.
	head(f *desk.Flags) error
	// group comes before the sections of a location; never for a list that is not
	// grouped.
	group(f *desk.Flags, g desk.Group) error
	// section writes one section of a group, which has rows: by Flags.Write or
	// Flags.Each.
	section(f *desk.Flags, g desk.Group, s desk.Section) error
	// draw is what to draw first, unless nothing is.
	draw(f *desk.Flags, all []desk.Draw) error
	// tail comes last.
	tail(f *desk.Flags) error
}

// walkFlags goes through a report in its order.
func walkFlags(f *desk.Flags, to flagForm) error {
	if err := to.head(f); err != nil {
		return err
	}
	for _, g := range f.Groups {
		if f.ByLocation {
			if err := to.group(f, g); err != nil {
				return err
			}
		}
		for _, s := range desk.Sections() {
			if g.Rows[s] == 0 {
				continue
			}
			if err := to.section(f, g, s); err != nil {
				return err
			}
		}
	}
	all, err := f.Draw()
	if err == nil && len(all) > 0 {
		err = to.draw(f, all)
	}
	if err != nil {
		return err
	}
	return to.tail(f)
}

// flagTitles are the headings of the sections.
var flagTitles = [...]string{
	desk.SetAside:    "SET ASIDE TODAY",
	desk.OnHold:      "HOLD, A PERSON MUST DECIDE",
	desk.NotReadable: "NOT READABLE, CORRECT THE LIST",
	desk.EndsSoon:    "ENDS SOON, USE FIRST",
}

// flagTitle is the heading of a section of a report.
func flagTitle(f *desk.Flags, s desk.Section) string {
	if f.Register && s == desk.NotReadable {
		return "NOT READABLE, SEE beadline stock log --verify"
	}
	return flagTitles[s]
}

// Flag writes what a stock list asks of people, most urgent first: what to set aside
// today, what needs a decision, what cannot be read, what ends soon, what to draw
// first, and the counts.
func Flag(w io.Writer, f *desk.Flags, u Units) error {
	return walkFlags(f, &flagText{w: w, sheet: sheet{w: w, u: u}})
}

// flagText is the report as text. Its rows are written by flagRow, apart from the
// sheet, as they are by far the most of it.
type flagText struct {
	w io.Writer
	sheet
}

func (t *flagText) head(f *desk.Flags) error {
	place := f.Name
	if f.Register {
		place = "Register " + place
	}
	if f.Location != "" {
		place += ", " + f.Location
	}
	t.block("", fmt.Sprintf("%s on %s; ends soon means by %s.", place, weekday(f.On), label.FormatDay(f.Until)))
	return t.err
}

func (t *flagText) group(_ *desk.Flags, g desk.Group) error {
	place := "Location: " + g.Place
	if g.Place == "" {
		place = "No location"
	}
	t.line("")
	for _, l := range Fold(place, sheetWidth) {
		t.line("%s", l)
	}
	t.line("%s", strings.Repeat("-", min(len([]rune(place)), sheetWidth)))
	return t.err
}

func (t *flagText) section(f *desk.Flags, g desk.Group, s desk.Section) error {
	t.line("")
	t.line("%s (%d)", flagTitle(f, s), g.Rows[s])
	if t.err != nil {
		return t.err
	}
	return f.Write(t.w, g, s, func(to []byte, r *desk.Flagged) ([]byte, error) { return flagRow(to, r, t.u), nil })
}

func (t *flagText) draw(_ *desk.Flags, all []desk.Draw) error {
	t.line("")
	t.line("DRAW FIRST, OF EACH CLASS")
	for _, d := range all {
		t.line("  %s, %d good", d.Class, d.Good)
		for _, r := range d.Rows {
			t.block("      ", drawLine(&r))
		}
	}
	return t.err
}

// drawLine is a batch to draw: its number, until when it is good, where it is.
func drawLine(r *desk.Flagged) string {
	said := r.Item.Batch
	if !r.Item.Opened.IsZero() {
		said += ", opened"
	}
	if g := r.Judgement.Governing; g.Dated {
		said += ", usable through " + label.FormatDay(g.Date)
	}
	said += ": " + whereabouts(r)
	if r.Also > 0 {
		said += "; " + alsoOn(r)
	}
	return said
}

// alsoOn says where the batch of a row to draw stands too.
func alsoOn(r *desk.Flagged) string {
	return fmt.Sprintf("also on line %d, worse or not readable", r.Also)
}

func (t *flagText) tail(f *desk.Flags) error {
	c := f.Counts
	t.line("")
	switch {
	case c.Rows == 0 && f.Register && f.Location == "":
		t.line("Nothing is in stock.")
	case c.Rows == 0 && f.Location == "":
		t.line("The list has no rows.")
	case c.Reject+c.Hold+c.Unreadable+c.Expiring == 0:
		t.line("Nothing to do.")
	}
	t.block("", fmt.Sprintf("%s: %d to set aside, %d on hold, %d not readable, %d good, of which %s soon.",
		holdingsOf(f), c.Reject, c.Hold, c.Unreadable, c.Use, endings(c.Expiring)))
	if c.Use > 0 {
		t.block("", aheadLine(f.Ahead))
	}
	t.bullets("ABOUT THE LIST", f.Warnings)
	return t.err
}

// holdingsOf is how much was looked at: rows of a list; in a register what of a batch is at
// one place, or a container of it.
func holdingsOf(f *desk.Flags) string {
	if f.Register {
		return plural(f.Counts.Rows, "part", "parts")
	}
	return plural(f.Counts.Rows, "row", "rows")
}

// aheadLine is how many of the good rows end within the next spans.
func aheadLine(all []desk.Ahead) string {
	var said []string
	for _, a := range all {
		said = append(said, fmt.Sprintf("%d in %d days (by %s)", a.Rows, a.Days, label.FormatDay(a.Until)))
	}
	return "Of the good ones end " + strings.Join(said, ", ") + "."
}

func endings(n int) string {
	if n == 1 {
		return "1 ends"
	}
	return fmt.Sprintf("%d end", n)
}

// amount is a quantity of a list or a register, to a thousandth: "3 kits".
func amount(n float64, unit string) string { return stock.Amount(math.Round(n*1000)/1000, unit) }

// whereabouts is where a batch stands and how much there is of it.
func whereabouts(r *desk.Flagged) string {
	var said []string
	if r.Location != "" {
		said = append(said, r.Location)
	}
	if r.Counted {
		said = append(said, amount(r.Quantity, r.Unit))
	}
	if !r.Register {
		return strings.Join(append(said, fmt.Sprintf("line %d", r.Line)), ", ")
	}
	if r.Item.Container != "" {
		said = append(said, "container "+r.Item.Container)
	}
	if m := r.Maker(); m != "" {
		said = append(said, "made by "+m)
	}
	if said == nil {
		return "where it is and how much is not recorded"
	}
	return strings.Join(said, ", ")
}
