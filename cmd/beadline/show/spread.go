package show

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/cure/plan"
	"beadline/cure/plan/chance"
)

// spread writes what came of playing a plan: when it is ready and whether the wish is
// met, how pots, limits and cures fare, and what matters most.
func (s *sheet) spread(p *plan.Plan) {
	x := p.Spread
	if x == nil {
		return
	}
	s.line("")
	s.line("SPREAD   (the plan played %d times against chance, seed %d)", x.Draws, x.Seed)
	if x.Draws < x.Asked {
		s.block("  ", fmt.Sprintf("Stopped after %d of %d draws: this is what they say.", x.Draws, x.Asked))
	}
	s.block(fmt.Sprintf("  %-9s", p.Job.Ready), fmt.Sprintf("half of the draws by %s, nine in ten by %s; planned %s", s.by(x, x.Ready.P50), s.by(x, x.Ready.P90), s.full(p.Ready)))
	if x.By.Of > 0 {
		s.block("  wanted   ", fmt.Sprintf("by %s: made in %s; with every line kept as well, in %s", s.full(p.Job.ReadyBy), sure(x.By), sure(x.ByInLine)))
	}
	least := ""
	if m, ok := leastSure(x); ok {
		least = fmt.Sprintf("; least sure is %s, %s", m.Mix, often(m.InLine))
	}
	s.block("  lines    ", fmt.Sprintf("every pot and limit is kept in %s%s", sure(x.InLine), least))
	if x.Overtime.Kept > 0 {
		s.block("  overtime ", fmt.Sprintf("work runs more than 5 min past the end of a shift in %s", often(x.Overtime)))
	}
	s.spreadMixes(x)
	s.spreadLimits(x)
	s.spreadTimes(p, x)
	s.spreadMatters(x)
	s.line("")
	s.line("  WHAT THE SPREAD RESTS ON")
	for _, t := range x.Assumed {
		s.block("    - ", t)
	}
}

// by is an instant to the minute, up; what lies beyond the air that was followed is
// later than that.
func (s *sheet) by(x *plan.Spread, t time.Time) string {
	if t.IsZero() {
		return "later than " + s.full(x.Until)
	}
	return s.full(minuteUp(t))
}

func minuteUp(t time.Time) time.Time { return t.Add(time.Minute - 1).Truncate(time.Minute) }

// leastSure is the pot that keeps its line least often, where one misses it at all.
func leastSure(x *plan.Spread) (least plan.MixChance, ok bool) {
	for _, m := range x.Mixes {
		if m.InLine.Kept < m.InLine.Of && (!ok || m.InLine.Kept < least.InLine.Kept) {
			least, ok = m, true
		}
	}
	return least, ok
}

// often is a share in whole per cent, in tenths near 0 and 1: only what never failed is
// 100 %.
func often(c chance.Count) string {
	v := 100 * c.Share()
	switch {
	case c.Kept == 0 || c.Kept == c.Of:
		return fmt.Sprintf("%.0f %%", v)
	case v < 0.1:
		return "under 0.1 %"
	case v > 99.9:
		return "over 99.9 %"
	case v < 1 || v > 99:
		return fmt.Sprintf("%.1f %%", v)
	}
	return fmt.Sprintf("%.0f %%", v)
}

// sure is often with where the true share lies, rounded outward.
func sure(c chance.Count) string {
	low, high := c.Range()
	lo, hi := 100*low, 100*high
	switch {
	case c.Kept == c.Of:
		return fmt.Sprintf("100 %% (at least %.1f %%)", math.Floor(lo*10)/10)
	case c.Kept == 0:
		return fmt.Sprintf("0 %% (at most %.1f %%)", math.Ceil(hi*10)/10)
	case lo >= 98 || hi <= 2:
		return fmt.Sprintf("%s (%.1f to %.1f %%)", often(c), math.Floor(lo*10)/10, math.Ceil(hi*10)/10)
	}
	return fmt.Sprintf("%s (%.0f to %.0f %%)", often(c), math.Floor(lo), math.Ceil(hi))
}

func (s *sheet) spreadMixes(x *plan.Spread) {
	if len(x.Mixes) == 0 {
		return
	}
	s.line("")
	s.line("  %-12s %-11s %-24s %s", "POT", "to spare", "all in by its line", "while it may be worked")
	for _, m := range x.Mixes {
		spare := "no line"
		if m.HasLine {
			spare = spanWords(m.Spare)
		}
		name := m.Mix
		if len([]rune(name)) > 12 {
			s.block("  ", name)
			name = ""
		}
		s.line("  %-12s %-11s %-24s %s", name, spare, sure(m.InLine), often(m.Workable))
	}
	s.block("    ", "To spare: between the end of a pot's work as planned and the line. Work to the line: the last column is for information. Ranges hold the true share with 95 % confidence.")
}

func (s *sheet) spreadLimits(x *plan.Spread) {
	always := 0
	for _, l := range x.Limits {
		if l.Kept.Kept == l.Kept.Of {
			always++
		}
	}
	if len(x.Limits) == 0 {
		return
	}
	s.line("")
	s.line("  OTHER LIMITS")
	for _, l := range x.Limits {
		if l.Kept.Kept < l.Kept.Of {
			s.block(fmt.Sprintf("    %-18s ", sure(l.Kept)), l.What)
		}
	}
	switch {
	case always == len(x.Limits):
		s.line("    kept in every draw: all %d of them", always)
	case always > 0:
		s.line("    kept in every draw: the other %d", always)
	}
}

func (s *sheet) spreadTimes(p *plan.Plan, x *plan.Spread) {
	s.line("")
	s.line("  %-30s %-13s %-14s %s", "CURE AND GATES", "planned", "there by then", "nine in ten by")
	row := func(name string, planned time.Time, byThen string, q plan.Quantiles) {
		nine := "later"
		if !q.P90.IsZero() {
			nine = s.short(minuteUp(q.P90))
		}
		lines := Fold(name, 30)
		s.line("  %-30s %-13s %-14s %s", lines[0], s.short(planned), byThen, nine)
		for _, l := range lines[1:] {
			s.line("  %s", l)
		}
	}
	for _, c := range x.Cures {
		row(c.Joint+" "+c.Milestone.String(), c.Planned, often(c.ByThen), c.When)
	}
	for i, g := range x.Gates {
		row("gate "+g.ID, p.Gates[i].From, often(g.ByThen), g.When)
	}
	s.block("    ", "A cure's planned time counts from the last fastener or sealant as planned. Where that is late, the line moves on with it.")
}

func (s *sheet) spreadMatters(x *plan.Spread) {
	s.line("")
	if x.Matters == nil {
		s.line("  WHAT MATTERS MOST")
		s.block("    ", "Nothing that is left to chance moves the ready time or a line.")
		return
	}
	s.line("  %-20s %-24s %s", "WHAT MATTERS MOST", "for the ready time", "for lines missed")
	worst := 0.0
	for _, m := range x.Matters {
		s.line("  %-20s %-24s %s", m.Name, shareWords(m.Ready), shareWords(m.Lost))
		worst = max(worst, m.Ready.Error, m.Lost.Error)
	}
	s.block("    ", fmt.Sprintf("Of the variance, what would be left if all the others were known, give or take %.0f %%; what they do together counts for each.", math.Ceil(200*worst)))
	if x.Late.Kept == 0 {
		return
	}
	var by []string
	for _, d := range x.LateBy {
		if len(by) < 3 && d.Share >= worthNaming {
			by = append(by, fmt.Sprintf("%s (%.0f %% of these)", d.What, 100*d.Share))
		}
	}
	s.block("    ", fmt.Sprintf("Ready more than a minute after plan in %s; what ran over most on the way: %s.", often(x.Late), strings.Join(by, ", ")))
}

// worthNaming is the share of the late draws from which what made them late is named.
const worthNaming = 0.01

// shareWords writes a share of the variance.
func shareWords(s chance.Share) string {
	if s.Total < 0.005 {
		return "none"
	}
	return fmt.Sprintf("%.0f %%", 100*s.Total)
}
