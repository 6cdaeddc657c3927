package show

import (
	"fmt"
	"io"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// Check writes the verdict on a batch: the answer in one line, every limit below,
// the one that decides first. rows has more than one entry when a stock list has the
// batch more than once; the severest comes first.
func Check(w io.Writer, rows []desk.Checked, u Units) error {
	s := sheet{w: w, u: u}
	worst := desk.Worst(rows)
	if len(rows) > 1 {
		s.block("", fmt.Sprintf("%d rows have this batch. The severest verdict counts until you know which tin you hold.", len(rows)))
		s.line("")
	}
	order := append([]desk.Checked{rows[worst]}, append(append([]desk.Checked{}, rows[:worst]...), rows[worst+1:]...)...)
	for i, c := range order {
		if i > 0 {
			s.line("")
		}
		s.checked(c)
	}
	var assumed []string
	for _, c := range order {
		assumed = append(assumed, c.Judgement.Assumed...)
	}
	s.bullets("ASSUMED", once(assumed))
	s.bullets("CAUTIONS", order[0].Cautions)
	return s.err
}

// once drops repetitions.
func once(texts []string) []string {
	var kept []string
	seen := map[string]bool{}
	for _, t := range texts {
		if !seen[t] {
			kept = append(kept, t)
		}
		seen[t] = true
	}
	return kept
}

// loud is the verdict as the first word of the answer.
var loud = map[shelf.Verdict]string{shelf.Use: "USE", shelf.Hold: "HOLD", shelf.Reject: "DO NOT USE"}

func (s *sheet) checked(c desk.Checked) {
	j := c.Judgement
	first := loud[j.Verdict] + "  "
	s.block(first, which(c)+": "+inOneLine(j))
	if next := nextStep(j); next != "" {
		s.block(strings.Repeat(" ", len(first)), next)
	}
	s.line("")
	s.line("Judged for %s.%s", weekday(j.On), standsAt(c))
	s.line("")
	s.line("LIMITS, the one that decides first")
	for _, l := range j.Limits {
		s.limit(l, j.On)
	}
}

// which names the batch in the hand.
func which(c desk.Checked) string {
	batch := "this batch"
	if c.Item.Batch != "" {
		batch = "batch " + c.Item.Batch
	}
	if c.Item.Class == "" {
		return batch
	}
	return batch + ", " + c.Item.Class
}

func standsAt(c desk.Checked) string {
	if c.Place == "" {
		return ""
	}
	said := " Listed at " + c.Place
	if c.Row.Location != "" {
		said += ", " + c.Row.Location
	}
	return said + "."
}

// inOneLine is the reason for a verdict, or until when the batch may be used.
func inOneLine(j shelf.Judgement) string {
	g := j.Governing
	if j.Verdict != shelf.Use {
		return g.Reason
	}
	days, dated := g.DaysLeft(j.On)
	if !dated {
		return g.Reason
	}
	return "usable through " + g.Date.Format("2 Jan 2006") + " (" + daysLeft(days) + ")"
}

func daysLeft(days int) string {
	switch {
	case days == 0:
		return "today is the last day"
	case days > 0:
		return plural(days, "day", "days") + " left"
	}
	return plural(-days, "day", "days") + " past"
}

// decisions say, for a limit that holds a batch, who must settle what.
var decisions = map[shelf.Name]string{
	shelf.LimitHeld:            "Whoever set it aside, or the quality office, must free it first.",
	shelf.LimitDatesContradict: "Read the label again and correct the record; the quality office decides if the label itself is wrong.",
	shelf.LimitUndated:         "The quality office must find its dates in the maker's papers, or reject it.",
	shelf.LimitUnknownLife:     "The quality office must find its shelf life in the maker's papers, or reject it.",
	shelf.LimitLabelExpiry:     "Only the named authority can give it more life, after a passed test.",
	shelf.LimitClassLife:       "Only the named authority can give it more life, after a passed test.",
	shelf.LimitInspectDate:     "Have it tested and re-dated by those who may, or reject it.",
	shelf.LimitOpenedLife:      "The quality office must find the opened life in the maker's papers, or reject it.",
	shelf.LimitThaw:            "The quality office must find when it was thawed, or reject it.",
	shelf.LimitThawLife:        "The quality office must find when it was first thawed, or reject it.",
	shelf.LimitOutTime:         "The quality office must find how long it was out and how long it may be, or reject it.",
	desk.LimitUnknownClass:     "Correct the class, or name the file that has it with --catalog.",
	desk.LimitUnreadable:       "Correct the row and check again.",
}

// decision says who must settle what before a batch on hold may be used.
func decision(j shelf.Judgement) string {
	if j.Governing.ByHour {
		return "Whoever thawed it must say at what hour it left the freezer: use it only within that time, or reject it."
	}
	return decisions[j.Governing.Name]
}

// nextStep says what to do with a batch that may not be used now.
func nextStep(j shelf.Judgement) string {
	switch j.Verdict {
	case shelf.Hold:
		return "Do not use it yet. " + decision(j)
	case shelf.Reject:
		return "Set it aside and tag it: it does not go on an aircraft."
	}
	return ""
}

func (s *sheet) limit(l shelf.Limit, on date.Date) {
	when := "no date"
	if days, dated := l.DaysLeft(on); dated {
		when = label.FormatDay(l.Date) + ", " + daysLeft(days)
	}
	s.line("  %-17s %s", l.Name, when)
	s.block("      ", l.Reason)
	if l.Source != "" {
		s.block("      rests on: ", l.Source)
	}
}

// weekday is a day with its weekday.
func weekday(d date.Date) string { return d.Weekday().String()[:3] + " " + label.FormatDay(d) }
