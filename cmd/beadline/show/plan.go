package show

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/verify"
	"beadline/cure/quantity"
)

// PlanText writes a plan for the people who work to it: the answer first, then the
// table for each joint, who does what when, and what it all rests on.
func PlanText(w io.Writer, planned *desk.Planned, u Units) error {
	p, supply := planned.Plan, planned.Supply
	s := sheet{w: w, z: p.Job.Zone, u: u}
	s.block(p.Job.ID+"  ", p.Job.Title)
	s.line("")
	if planned.Passed != "" {
		s.block("", planned.Passed)
		s.line("")
	}
	if p.Infeasible != nil {
		s.infeasible(p, !supply.Refused)
	}
	if p.Found && p.Infeasible != nil {
		s.line("")
		s.missing(supply)
		s.line("The earliest plan found, for information:")
		s.line("")
	}
	if p.Found {
		if p.Infeasible == nil {
			s.missing(supply)
		}
		s.found(p, supply)
	}
	s.bullets("ASSUMED", p.Assumptions)
	s.bullets("CAUTIONS", planned.Cautions)
	return s.err
}

// PlanWish writes only why a job's wish cannot be met and what would meet it, or
// that it can.
func PlanWish(w io.Writer, p *plan.Plan, u Units) error {
	s := sheet{w: w, z: p.Job.Zone, u: u}
	s.block(p.Job.ID+"  ", p.Job.Title)
	s.line("")
	if p.Infeasible != nil {
		s.infeasible(p, true)
		return s.err
	}
	s.line("Earliest %s: %s", p.Job.Ready, s.full(p.Ready))
	return s.err
}

// full is an instant with its day, month and zone; short leaves month and zone to
// the heading.
func (s *sheet) full(t time.Time) string { return t.In(s.z).Format("Mon 2 Jan 15:04 MST") }

// far is full, with the year where that is not the year the job starts in.
func (s *sheet) far(p *plan.Plan, t time.Time) string {
	if t.In(s.z).Year() == p.Job.Start.In(s.z).Year() {
		return s.full(t)
	}
	return t.In(s.z).Format("Mon 2 Jan 2006 15:04 MST")
}

func (s *sheet) short(t time.Time) string {
	if t.IsZero() {
		return "-"
	}
	return t.In(s.z).Format("Mon _2 15:04")
}

// infeasible says why a job cannot be done as asked and what would do it; tried is
// whether other ways were planned.
func (s *sheet) infeasible(p *plan.Plan, tried bool) {
	x := p.Infeasible
	switch {
	case p.Found:
		s.line("NOT FEASIBLE AS ASKED")
	case x.Proven:
		s.line("NO PLAN IS POSSIBLE AS THE JOB STANDS")
	default:
		s.line("NO PLAN WAS FOUND FOR THE JOB AS IT STANDS")
	}
	for _, b := range x.Because {
		s.block("  - ", b)
	}
	s.changes(x)
	meets := slices.ContainsFunc(x.Fixes, func(f plan.Fix) bool { return f.Meets })
	switch {
	case len(x.Fixes) == 0 && !tried:
	case len(x.Fixes) == 0:
		s.line("")
		s.block("", "Tried as well, and no help, alone or three together: another class, two people on the torque, one more person, longer shifts, weekends, a warmer hangar.")
	case meets:
		s.line("")
		s.line("WHAT WOULD DO IT (each planned in full)")
	default:
		s.line("")
		s.line("WHAT WOULD HELP, but not enough (each planned in full)")
	}
	starred := false
	for _, f := range x.Fixes {
		if f.Meets == meets {
			s.block("  - ", fmt.Sprintf("%s: ready %s", f.What, s.full(f.Ready)))
			starred = starred || strings.Contains(f.What, "*")
		}
	}
	if starred {
		s.line("  * only if the approved data for this joint allow that class")
	}
}

func (s *sheet) found(p *plan.Plan, supply *desk.Supply) {
	s.earliest(p)
	s.joints(p)
	s.gates(p)
	s.mixes(p)
	s.tasks(p)
	s.toDraw(p, supply)
	s.held(p)
	s.spread(p)
}

// earliest is the answer in a few lines: when, how sure, and that it is no release.
func (s *sheet) earliest(p *plan.Plan) {
	by := ""
	if !p.Job.ReadyBy.IsZero() {
		by = " (wanted by " + s.far(p, p.Job.ReadyBy) + ")"
	}
	s.block("", fmt.Sprintf("Earliest %s: %s%s", p.Job.Ready, s.full(p.Ready), by))
	if p.Proven {
		s.block("", "Proven: no plan is earlier, with at most one mix more than each layer needs. This is an earliest time, not a release.")
	} else {
		s.block("", fmt.Sprintf("Not proven earliest; no plan can be ready before %s. This is an earliest time, not a release.", s.full(p.Bound)))
	}
	s.block("", strings.Join(p.HeldInWords, " "))
	if p.Stopped {
		s.block("", "The search was stopped by the clock: asked again it may find another plan. --think gives it longer; --steps stops it at the same place each time.")
	}
	if p.BeginBy.After(p.Job.Start) && p.Until.After(p.Ready) {
		short := ""
		if p.Until.Before(p.Job.ReadyBy) {
			short = " It is looked no further ahead than that."
		}
		s.block("", fmt.Sprintf("Nobody need begin before %s to be ready by %s, if all is planned again from there.%s", s.far(p, p.BeginBy), s.far(p, p.Until), short))
	}
	if slices.ContainsFunc(p.Joints, func(j plan.Joint) bool { return j.ByWitness }) {
		s.line("It holds only if the witness cups read cured by then: see * below.")
	}
}

func (s *sheet) joints(p *plan.Plan) {
	s.line("")
	s.line("JOINTS   (%s to %s, times %s)", p.Job.Start.In(s.z).Format("2 Jan"), p.Ready.In(s.z).Format("2 Jan 2006"), zones(p, s.z))
	s.line("%-17s %-12s %-18s %-13s %-12s", "", "start mixing", "torque", "covers may", "earliest")
	s.line("%-17s %-12s %-18s %-13s %-12s", "joint", "as planned", "as planned", "go near", "flight")
	for _, j := range p.Joints {
		s.joint(j)
	}
	s.block("  ", "Covers and flight count from the last fastener or sealant as planned here. Later than that both move on with it; each pot's own end, and the latest it may be mixed, stand under MIXES. A panel that hides a joint waits for its inspection too.")
	for _, j := range p.Joints {
		if j.ByWitness {
			s.block("* ", j.ID+": only once the witness cup reads it. A film closed between two parts sees no moisture, so the time is likely, not a calculated line.")
		}
	}
	for _, j := range p.Joints {
		s.likely(j)
	}
}

// joint writes the row of one joint: a line for each pot that its fasteners sit in, for
// each pot has a window of its own, and as many as its name takes.
func (s *sheet) joint(j plan.Joint) {
	names := Fold(j.ID, 17)
	pots := s.windows(j)
	marked := func(m cure.Milestone, at time.Time) string {
		for _, l := range j.Lines {
			if l.Milestone == m && l.ByWitness {
				return s.short(at) + "*"
			}
		}
		return s.short(at)
	}
	for i := range max(len(names), len(pots)) {
		name, pot, closed, fly := "", [2]string{}, "", ""
		if i < len(names) {
			name = names[i]
		}
		if i < len(pots) {
			pot = pots[i]
		}
		if i == 0 {
			closed, fly = marked(cure.TackFree, j.CloseFrom), marked(j.FlyNeeds, j.FlyFrom)
		}
		s.line("%-17s %-12s %-18s %-13s %-12s", name, pot[0], pot[1], closed, fly)
	}
}

// windows are the cells of a joint's pots: mixing and torque, as planned. A
// window that ends on another day takes two lines.
func (s *sheet) windows(j plan.Joint) [][2]string {
	if len(j.Windows) == 0 {
		return [][2]string{{s.short(j.MixBy), "-"}}
	}
	var out [][2]string
	for _, w := range j.Windows {
		mix := s.short(w.MixAt)
		if w.Mix == "" {
			mix = s.short(j.MixBy)
		}
		if sameDay(w.From, w.To, s.z) {
			out = append(out, [2]string{mix, s.short(w.From) + "-" + w.To.In(s.z).Format("15:04")})
			continue
		}
		out = append(out, [2]string{mix, s.short(w.From) + "-"}, [2]string{"", s.short(w.To)})
	}
	return out
}

// worthTelling is how much earlier than its line a likely time must be to be said.
const worthTelling = 30 * time.Minute

func (s *sheet) likely(j plan.Joint) {
	for _, l := range j.Lines {
		if l.Milestone == j.FlyNeeds && !l.LikelyAt.IsZero() && l.At.Sub(l.LikelyAt) >= worthTelling {
			s.block("  ", fmt.Sprintf("%s: flight waits for %s, likely by %s; work to the later time in the table.", j.ID, l.Milestone, s.full(l.LikelyAt)))
		}
	}
}

func sameDay(a, b time.Time, z *time.Location) bool {
	return a.In(z).Format(time.DateOnly) == b.In(z).Format(time.DateOnly)
}

// zones names the zone, or both where the clocks change within the plan.
func zones(p *plan.Plan, z *time.Location) string {
	a, b := p.Job.Start.In(z).Format("MST"), p.Ready.In(z).Format("MST")
	if a == b {
		return a
	}
	return a + ", later " + b + ": the clocks change"
}

func (s *sheet) gates(p *plan.Plan) {
	s.line("")
	s.line("EARLIEST")
	for _, g := range p.Gates {
		needs := strings.Join(g.Needs, ", ")
		if g.ByWitness {
			needs += "; by reading of the witness cup"
		}
		if len([]rune(g.ID)) > 12 {
			s.block("  ", g.ID)
			g.ID = ""
		}
		s.block(fmt.Sprintf("  %-12s %s   ", g.ID, s.short(g.From)), needs)
	}
}

func (s *sheet) mixes(p *plan.Plan) {
	if len(p.Mixes) == 0 {
		return
	}
	s.line("")
	s.line("MIXES")
	for _, m := range p.Mixes {
		much := "amount not stated"
		if m.ML > 0 {
			much = fmt.Sprintf("%.0f ml", math.Ceil(m.ML)) // rounded up: it must be enough
			if m.Grams > 0 {
				much += fmt.Sprintf(" (%.0f g)", math.Ceil(m.Grams))
			}
			much += " with waste"
		}
		s.column(m.ID, 8, m.Class+", "+much)
		s.block("           ", fmt.Sprintf("start %s, all in by %s%s", s.short(m.At), s.short(m.DoneBy), lasts(m)))
		if m.By.After(m.At) {
			s.line("           may slip to %s if the rest is planned again behind it", s.short(m.By))
		}
		for _, v := range m.Serves {
			s.block("           for ", v)
		}
	}
}

// lasts says what ends a pot: so long after first touch, whenever that is, or the
// shift.
func lasts(m plan.Mix) string {
	switch {
	case m.Lasts == 0:
		return ""
	case m.Shift:
		return ", when the shift ends (the pot lasts " + spanWords(m.Lasts) + " from first touch)"
	}
	return ", " + spanWords(m.Lasts) + " from first touch"
}

func (s *sheet) tasks(p *plan.Plan) {
	s.line("")
	s.line("WHO DOES WHAT")
	day, tight, over := "", false, time.Duration(0)
	for _, t := range p.Tasks {
		if d := t.Start.In(s.z).Format("Mon 2 January 2006"); d != day {
			day = d
			s.line("  %s", d)
		}
		who := strings.Join(t.Who, ", ")
		if who == "" {
			who = "(any on shift)"
		}
		end := t.End.In(s.z).Format("15:04")
		if !sameDay(t.Start, t.End, s.z) {
			end = t.End.In(s.z).Format("Mon 15:04")
		}
		what := t.ID + torqueValue(p, t)
		if t.Overtime > 0 {
			what += fmt.Sprintf(" (overtime: %s)", spanWords(t.Overtime))
			over += t.Overtime * time.Duration(max(1, len(t.Who)))
		}
		if len([]rune(who)) > 16 {
			who, what = "", who+": "+what
		}
		mark := " "
		if t.Slack == 0 && p.Proven {
			mark, tight = "!", true
		}
		s.block(fmt.Sprintf("  %s %s-%-5s  %-16s ", mark, t.Start.In(s.z).Format("15:04"), end, who), what)
	}
	if tight {
		s.block("  ", fmt.Sprintf("! no slack: a minute later here, with the same people in the same order, and %s is missed.", s.full(p.Until)))
	}
	s.line("  %s hands-on in all", spanWords(p.Labour()))
	if over > 0 {
		s.block("  ", fmt.Sprintf("%s of it is overtime, worked because %s comes sooner for it. Without it, take the overtime shifts out of the job and plan again.", spanWords(over), p.Job.Ready))
	}
}

// torqueValue is what the job records for a torque task, to be read and not
// calculated; "" for any other task.
func torqueValue(p *plan.Plan, t plan.Task) string {
	j := p.Job.JointByID(t.Joint)
	if t.Kind != plan.TaskKind(verify.Torque) || j == nil || j.Fasteners == nil || j.Fasteners.Value == "" {
		return ""
	}
	if j.Fasteners.Reference == "" {
		return ": " + j.Fasteners.Value
	}
	return ": " + j.Fasteners.Value + ", " + j.Fasteners.Reference
}

func (s *sheet) held(p *plan.Plan) {
	if len(p.HeldBy) == 0 {
		return
	}
	s.line("")
	s.block("WHAT HOLDS "+strings.ToUpper(p.Job.Ready)+"   ", fmt.Sprintf("(%s from the start)", spanWords(p.Ready.Sub(p.Job.Start))))
	for _, h := range p.HeldBy {
		s.block(fmt.Sprintf("  %11s  ", spanWords(h.For)), h.What)
	}
}

func spanWords(d time.Duration) string { return quantity.FormatSpan(d) }
