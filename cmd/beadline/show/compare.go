package show

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"beadline/cure/plan"
)

// CompareText writes alternatives side by side: today's plan first, then the others, the
// best of all marked.
func CompareText(w io.Writer, c *plan.Comparison, cautions []string, u Units) error {
	s := sheet{w: w, z: c.Job.Zone, u: u}
	s.block(c.Job.ID+"  ", c.Job.Title)
	s.line("")
	if best := c.BestOf(); best != nil {
		what, starred := strings.CutSuffix(s.what(best), "*")
		text := fmt.Sprintf("Best: %s, %s ready %s", what, c.Job.Ready, s.full(best.Ready))
		if best == &c.Base {
			text = fmt.Sprintf("Best: the job as it stands, %s ready %s. Nothing tried here is sooner", c.Job.Ready, s.full(best.Ready))
		} else if c.Base.Found && best.Gain == 0 {
			text += ", no sooner than as it stands but with fewer mixes or less waste"
		} else if c.Base.Found {
			text += fmt.Sprintf(", %s sooner than as it stands", spanWords(best.Gain))
		}
		if starred {
			text += ", " + onlyApproved
		}
		s.block("", text+".")
	} else {
		s.line("None of these has a plan.")
	}
	if by := c.Job.ReadyBy; !by.IsZero() {
		s.line("Wanted by %s.", s.full(by))
	}
	s.line("")
	s.line("ALTERNATIVES   (one change each, planned in full and checked; times %s)", c.Job.Start.In(s.z).Format("MST"))
	s.line("%s", compareRow("", "", "earliest", "", "", "hands-", "", ""))
	s.line("%s", compareRow("", "what changes", c.Job.Ready, "gain", "mixes", "on", "waste", "wish"))
	s.alternative(&c.Base, c)
	for k := range c.Others {
		s.alternative(&c.Others[k], c)
	}
	s.compareNotes(c)
	s.bullets("NOT TRIED", c.NotTried)
	s.bullets("ASSUMED", c.Assumed)
	s.bullets("CAUTIONS", cautions)
	return s.err
}

// compareWhat is the width of the column that says what changes.
const compareWhat = 25

func compareRow(mark, what, ready, gain, mixes, hands, waste, wish string) string {
	return fmt.Sprintf("%-2s%-*s %-13s %-10s %5s %7s %6s %s", mark, compareWhat, what, ready, gain, mixes, hands, waste, wish)
}

func (s *sheet) what(a *plan.Alternative) string { return s.u.Text(a.What) }

// alternative writes the lines of one alternative. The mark of the best is a sign, so that
// it is seen without colour too.
func (s *sheet) alternative(a *plan.Alternative, c *plan.Comparison) {
	mark := ""
	if a.Best {
		mark = ">"
	}
	names := Fold(s.what(a), compareWhat)
	if !a.Found {
		s.line("%s", compareRow(mark, names[0], "no plan", "", "", "", "", ""))
	} else {
		ready := s.short(a.Ready)
		if !a.Proven {
			ready += "?"
		}
		s.line("%s", compareRow(mark, names[0], ready, gainWords(a, c), fmt.Sprint(a.Mixes), hoursOf(a.Labour), wasteWords(a), wishWords(a, c)))
	}
	for _, n := range names[1:] {
		s.line("  %s", n)
	}
	if a.Note != "" {
		s.block("    ", "("+a.Note+")")
	}
	if !a.Found {
		s.block("    ", a.Because)
	}
}

// gainWords is how much sooner an alternative is ready than today's plan, or later.
func gainWords(a *plan.Alternative, c *plan.Comparison) string {
	switch {
	case a == &c.Base || !c.Base.Found:
		return "-"
	case a.Gain == 0:
		return "the same"
	case a.Gain < 0:
		return "-" + narrowSpan(-a.Gain)
	}
	return "+" + narrowSpan(a.Gain)
}

// narrowSpan is a span for a narrow column: "8:47 h", "2 d 01:15", "14 d 01 h".
func narrowSpan(d time.Duration) string {
	m := int(d / time.Minute)
	switch days := m / (24 * 60); {
	case days >= 10:
		return fmt.Sprintf("%d d %02d h", days, m/60%24)
	case days >= 1:
		return fmt.Sprintf("%d d %02d:%02d", days, m/60%24, m%60)
	}
	return hoursOf(d)
}

// hoursOf is a span in hours alone.
func hoursOf(d time.Duration) string {
	m := int(d / time.Minute)
	return fmt.Sprintf("%d:%02d h", m/60, m%60)
}

func wasteWords(a *plan.Alternative) string {
	switch {
	case a.ML == 0:
		return "-"
	case a.Part:
		return fmt.Sprintf("%.0f+ ml", math.Ceil(a.Waste))
	}
	return fmt.Sprintf("%.0f ml", math.Ceil(a.Waste))
}

func wishWords(a *plan.Alternative, c *plan.Comparison) string {
	switch {
	case c.Job.ReadyBy.IsZero():
		return "-"
	case a.Meets:
		return "met"
	}
	return "missed"
}

// compareNotes explains the signs that were used.
func (s *sheet) compareNotes(c *plan.Comparison) {
	starred, unsure, part := false, false, false
	for _, a := range append([]plan.Alternative{c.Base}, c.Others...) {
		starred = starred || strings.HasSuffix(a.What, "*")
		unsure = unsure || a.Found && !a.Proven
		part = part || a.Found && a.Part
	}
	s.block("  ", "> the best: ready first, then the fewest mixes, then the least waste. Gain: + sooner, - later than as it stands, in hours or days and hours. Waste: what is mixed and does not stay in the joints; what is left in opened kits comes on top.")
	if starred {
		s.line("  * only if the approved data for this joint allow that class")
	}
	if unsure {
		s.line("  ? not proven to be the earliest")
	}
	if part {
		s.line("  + and more: not every amount is stated in the job")
	}
	if c.Cut {
		s.line("  The time was up before all was tried.")
	}
}
