package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
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
		said := "%d rows have this batch. The severest verdict counts until you know which tin you hold."
		if rows[0].Stock != nil {
			said = "The register has this batch in %d parts. The severest verdict counts until you know which one you hold."
		}
		s.block("", fmt.Sprintf(said, len(rows)))
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
		for _, said := range c.Judgement.Assumed {
			if !slices.Contains(storeNotes(c), said) {
				assumed = append(assumed, said)
			}
		}
	}
	s.bullets("ASSUMED", once(assumed))
	s.bullets("CAUTIONS", order[0].Cautions)
	return s.err
}

// storeNotes are what the loggers of its store leave open: the verdict cannot know of it.
func storeNotes(c desk.Checked) []string {
	var all []string
	for _, st := range c.Item.Storage {
		all = append(all, st.Notes...)
	}
	return once(all)
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
	indent := strings.Repeat(" ", len(first))
	switch g := j.Governing; j.Verdict {
	case shelf.Hold:
		s.block(indent, "Do not use it yet. "+toSettle(g))
	case shelf.Reject:
		s.block(indent, "Set it aside and tag it: it does not go on an aircraft.")
	}
	s.line("")
	s.block("", "Judged for "+judgedFor(j, c.Zone)+"."+standsAt(c))
	s.bullets("MIND", storeNotes(c))
	s.scanned(c.Scan)
	s.line("")
	s.line("LIMITS, the one that decides first")
	for i, l := range j.Limits {
		s.limit(l, j.On)
		if i > 0 && l.Past && l.Counts && l.Verdict == shelf.Hold {
			s.block("      to settle: ", toSettle(l))
		}
	}
}

// toSettle says who must decide on a hold, and what evidence would settle it.
func toSettle(l shelf.Limit) string { return strings.TrimSpace(l.Who + " " + l.Evidence) }

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
	if c.Stock != nil {
		of := ""
		if c.Stock.Maker != "" {
			of = ", of " + c.Stock.Maker
		}
		return " In the register " + c.Place + of + ": " + c.Stock.Words + "."
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
	return "usable " + upTo(g) + lastDay(g) + " (" + lifeLeft(j, g, days) + ")"
}

// upTo is "until " for a limit with an hour, "through " for one of whole days.
func upTo(l shelf.Limit) string {
	if l.Timed {
		return "until "
	}
	return "through "
}

// lastDay is when a limit ends, short: its last day, with the hour if it has one.
func lastDay(l shelf.Limit) string {
	d := l.Date.Format("2 Jan 2006")
	if l.Timed {
		d += " " + clock(l.Minute)
	}
	return d
}

// lifeLeft is how much of a life is left: of one that ends by the clock on the day that
// was asked about, the hours and minutes.
func lifeLeft(j shelf.Judgement, l shelf.Limit, days int) string {
	if days != 0 || !j.Timed || !l.Timed || l.Minute < j.At {
		return daysLeft(days)
	}
	h, m := (l.Minute-j.At)/60, (l.Minute-j.At)%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min left", m)
	case m == 0:
		return fmt.Sprintf("%d h left", h)
	}
	return fmt.Sprintf("%d h %02d min left", h, m)
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

// judgedFor is the day or the moment that was asked about, with the zone of its clock.
func judgedFor(j shelf.Judgement, zone *time.Location) string {
	said := weekday(j.On)
	if !j.Timed {
		return said
	}
	said += " " + clock(j.At)
	if zone == nil {
		return said
	}
	y, m, d := j.On.Date()
	return said + " " + time.Date(y, m, d, j.At/60, j.At%60, 0, 0, zone).Format("MST")
}

// scanned lists what the label's code says, in its order.
func (s *sheet) scanned(code *scan.Scan) {
	if code == nil {
		return
	}
	s.line("")
	s.line("READ FROM THE CODE (%s)", code.Standard)
	for _, f := range code.Fields {
		title, value := f.Title, f.Value
		if title == "" {
			title = "not known here"
		}
		switch {
		case !f.Date.IsZero():
			value = f.Date.String()
		case f.ID == "4330", f.ID == "4331", f.ID == "2E":
			title, value = "warmest storage", s.u.Temp(code.MaxC.C)
		case f.ID == "4332", f.ID == "4333", f.ID == "3E":
			title, value = "coldest storage", s.u.Temp(code.MinC.C)
		case len(f.ID) == 4 && strings.HasPrefix(f.ID, "310"):
			value = fmt.Sprintf("%g kg", code.NetKg)
		}
		s.block(fmt.Sprintf("  %-5s %-24s ", f.ID, title), value)
	}
}

func (s *sheet) limit(l shelf.Limit, on date.Date) {
	when := "no date"
	if days, dated := l.DaysLeft(on); dated {
		when = label.FormatDay(l.Date)
		if l.Timed {
			when += " " + clock(l.Minute)
		}
		when += ", " + daysLeft(days)
	}
	s.line("  %-17s %s", l.Name, when)
	s.block("      ", l.Reason)
	if l.Source != "" {
		s.block("      rests on: ", l.Source)
	}
}

// weekday is a day with its weekday.
func weekday(d date.Date) string { return d.Weekday().String()[:3] + " " + label.FormatDay(d) }
