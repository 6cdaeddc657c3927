package show

import (
	"fmt"
	"io"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// Flag writes what a stock list asks of people, most urgent first: what to set aside
// today, what needs a decision, what cannot be read, what ends soon, and the counts.
func Flag(w io.Writer, f *desk.Flags, u Units) error {
	s := sheet{w: w, u: u}
	place := f.Name
	if f.Location != "" {
		place += ", " + f.Location
	}
	s.block("", fmt.Sprintf("%s on %s; ends soon means by %s.", place, weekday(f.On), label.FormatDay(f.Until)))
	var reject, hold, soon []desk.Flagged
	for _, r := range f.Rows {
		switch r.Judgement.Verdict {
		case shelf.Reject:
			reject = append(reject, r)
		case shelf.Hold:
			hold = append(hold, r)
		default:
			soon = append(soon, r)
		}
	}
	s.flagged("SET ASIDE TODAY", reject, true)
	s.flagged("HOLD, A PERSON MUST DECIDE", hold, true)
	if len(f.Unreadable) > 0 {
		s.line("")
		s.line("NOT READABLE, CORRECT THE LIST (%d)", len(f.Unreadable))
		for _, b := range f.Unreadable {
			s.block("  ", fmt.Sprintf("line %d%s", b.Line, ofBatch(b.Batch)))
			s.block("      ", b.Reason)
		}
	}
	s.flagged("ENDS SOON, USE FIRST", soon, false)
	s.counts(f)
	s.bullets("ABOUT THE LIST", f.Warnings)
	return s.err
}

func ofBatch(batch string) string {
	if batch == "" {
		return ""
	}
	return ", batch " + batch
}

// flagged lists rows under a heading; also says that every limit that is past is
// given, not the governing one alone.
func (s *sheet) flagged(title string, rows []desk.Flagged, also bool) {
	if len(rows) == 0 {
		return
	}
	s.line("")
	s.line("%s (%d)", title, len(rows))
	for _, r := range rows {
		g := r.Judgement.Governing
		head := fmt.Sprintf("%-14s %-24s", r.Item.Batch, r.Item.Class)
		if days, dated := g.DaysLeft(r.Judgement.On); dated {
			head += "  " + daysLeft(days)
		}
		s.line("  %s", head)
		if where := whereabouts(r); where != "" {
			s.block("      ", where)
		}
		s.block("      ", g.Reason)
		for _, l := range r.Judgement.Limits[1:] {
			if also && l.Past && l.Counts {
				s.block("      also: ", l.Reason)
			}
		}
	}
}

// whereabouts is where a batch stands and how much there is of it.
func whereabouts(r desk.Flagged) string {
	var said []string
	if r.Location != "" {
		said = append(said, r.Location)
	}
	if r.Counted {
		said = append(said, strings.TrimSpace(number(r.Quantity, 3)+" "+r.Unit))
	}
	return strings.Join(append(said, fmt.Sprintf("line %d", r.Line)), ", ")
}

func (s *sheet) counts(f *desk.Flags) {
	c := f.Counts
	s.line("")
	if c.Reject+c.Hold+c.Unreadable+c.Expiring == 0 {
		s.line("Nothing to do.")
	}
	s.block("", fmt.Sprintf("%s: %d to set aside, %d on hold, %d not readable, %d good, of which %s soon.",
		plural(c.Rows, "row", "rows"), c.Reject, c.Hold, c.Unreadable, c.Use, endings(c.Expiring)))
}

func endings(n int) string {
	if n == 1 {
		return "1 ends"
	}
	return fmt.Sprintf("%d end", n)
}
