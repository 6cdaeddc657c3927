package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure/plan"
)

// PlanTimeline writes a plan as a timeline of plain characters: the whole job on one
// scale, then every stretch of work to five minutes, with what each person does in it,
// then what the characters mean. It decides nothing by colour and fits 80 columns.
func PlanTimeline(w io.Writer, p *plan.Plan, u Units) error {
	s := sheet{w: w, z: p.Job.Zone, u: u}
	s.block(p.Job.ID+"  ", p.Job.Title)
	s.line("")
	if p.Infeasible != nil {
		s.infeasible(p, true)
	}
	l := desk.TimelineOf(p)
	if l == nil {
		return s.err
	}
	if p.Infeasible != nil {
		s.line("")
		s.line("The earliest plan found, for information:")
		s.line("")
	}
	s.earliest(p)
	t := timeline{sheet: &s, Timeline: l}
	t.whole()
	t.times()
	for i, x := range l.Stretches(strideMost, strideMark) {
		t.stretch(i, x)
	}
	t.key()
	s.line("")
	s.block("", "Earliest times are not a release. Approved maintenance data and the maker's data sheet prevail. What the plan rests on, the amounts and the cautions: the same command without --timeline.")
	return s.err
}

// TorqueValue is what the job records for a torque task, behind a colon; "" for any other
// task.
func TorqueValue(p *plan.Plan, t plan.Task) string { return torqueValue(p, t) }

// timeline is a timeline being written.
type timeline struct {
	*sheet
	*desk.Timeline
	used map[byte]bool // the characters that need a word
}

// nameWidth is the column of names; what is left of a line are gridWidth columns.
const (
	nameWidth = 17
	gridWidth = 60
)

// One column of a stretch of work is strideStep, and its hours are written every
// strideMark; 60 of them are strideMost.
const (
	strideStep = 5 * time.Minute
	strideMark = 30 * time.Minute
	strideMost = gridWidth * strideStep
)

// row writes a name and its characters; a name too long has lines of its own below.
func (t *timeline) row(name string, chars []byte) {
	for i, n := range Fold(name, nameWidth) {
		if i > 0 {
			chars = nil
		}
		t.line("%-*s %s", nameWidth, n, chars)
	}
	for _, c := range chars {
		t.use(c)
	}
}

func (t *timeline) use(c byte) {
	if t.used == nil {
		t.used = map[byte]bool{}
	}
	t.used[c] = true
}

// The characters of the rows.
const (
	onShift  = '.'
	atWork   = 'x'
	night    = 'n'
	reached  = '|'
	witness  = '?'
	pointer  = '^'
	potsLine = '!'
	heated   = 'h'
	warmed   = 'w'
)

// stageChars are the characters of a joint's stages.
var stageChars = map[desk.Stage]byte{desk.Open: ':', desk.Curing: '-', desk.Setting: '=', desk.Warming: warmed, desk.Preparing: 'p', desk.Torquing: 't', desk.Wet: '#'}

// scales are what one column of the whole job may be. A job longer than the last of
// them allows takes several strips.
var scales = []time.Duration{10 * time.Minute, 15 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour, 3 * time.Hour, 4 * time.Hour}

// long are the scales of a job that does not fit into stripsMost strips of the others.
var long = []time.Duration{4 * time.Hour, 6 * time.Hour, 8 * time.Hour, 12 * time.Hour, 24 * time.Hour}

const stripsMost = 3

// strips are the grids that show the whole job.
func (t *timeline) strips() (out []grid) {
	step := 24 * time.Hour
	fits := func(s time.Duration, strips int) bool {
		return t.Until.Sub(t.stripFrom(s)) <= time.Duration(strips*gridWidth)*s
	}
	if i := slices.IndexFunc(scales, func(s time.Duration) bool { return fits(s, 1) }); i >= 0 {
		step = scales[i]
	} else if i := slices.IndexFunc(long, func(s time.Duration) bool { return fits(s, stripsMost) }); i >= 0 {
		step = long[i]
	}
	for from := t.stripFrom(step); from.Before(t.Until); {
		g := newGrid(from, t.Until, step)
		g.n = min(g.n, gridWidth)
		out = append(out, g)
		from = g.until()
	}
	return out
}

// stripFrom is where the first column starts: at a multiple of its length from midnight.
func (t *timeline) stripFrom(step time.Duration) time.Time {
	y, m, d := t.From.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, t.From.Location())
	return midnight.Add(t.From.Sub(midnight) / step * step)
}

// whole writes the whole job.
func (t *timeline) whole() {
	grids := t.strips()
	t.line("")
	t.block("THE WHOLE JOB   ", fmt.Sprintf("%s, times %s; one column is %s", dates(t.From, t.Until), zones(t.Plan, t.z), spanWords(grids[0].step)))
	for i, g := range grids {
		if i > 0 {
			t.line("")
		}
		t.strip(g, len(grids) > 1)
	}
}

// dates are the days from an instant until another, which is the end of an hour.
func dates(from, until time.Time) string {
	last := until.Add(-time.Minute)
	switch {
	case from.Format(time.DateOnly) == last.Format(time.DateOnly):
		return last.Format("2 Jan 2006")
	case from.Year() != last.Year():
		return from.Format("2 Jan 2006") + " to " + last.Format("2 Jan 2006")
	}
	return from.Format("2 Jan") + " to " + last.Format("2 Jan 2006")
}

// strip writes one strip of the whole job. One of several leaves out the joints at which
// nothing happens in it.
func (t *timeline) strip(g grid, several bool) {
	t.days(g)
	t.nights(g)
	for _, c := range t.Crew {
		var spans []span
		for _, w := range c.Shifts {
			spans = append(spans, span{w.From, w.To, onShift, 0})
		}
		for _, w := range c.Works {
			spans = append(spans, span{w.From, w.To, atWork, 1})
		}
		t.row(c.Who, g.row(spans))
	}
	for i := range t.Seals {
		if row := t.joint(g, &t.Seals[i]); !several || !blank(row) {
			t.row(t.Seals[i].ID, row)
		}
	}
	t.marks(g)
}

func blank(row []byte) bool { return strings.TrimSpace(string(row)) == "" }

// nights writes the row of nights: of the columns that are night for more than half
// their length.
func (t *timeline) nights(g grid) {
	row := []byte(strings.Repeat(" ", g.n))
	for _, w := range t.Nights(g.from, g.until()) {
		for c := range row {
			if 2*g.overlap(c, w.From, w.To) > g.step {
				row[c] = night
			}
		}
	}
	if slices.Contains(row, night) && g.step <= 8*time.Hour {
		t.row("night", row)
	}
}

// joint is the row of a joint.
func (t *timeline) joint(g grid, s *desk.JointLine) []byte {
	var spans []span
	for _, b := range s.Bands {
		x := span{b.From, b.To, stageChars[b.Stage], 1}
		switch {
		case b.Heated:
			x.char = heated
		case b.Stage == desk.Wet:
			x.rank = 2
		case b.Stage == desk.Open:
			x.rank = 0
		}
		spans = append(spans, x)
	}
	row := g.row(spans)
	if g.holds(s.FlyFrom) {
		row[g.column(s.FlyFrom)] = reached
		if s.ByWitness {
			row[g.column(s.FlyFrom)] = witness
		}
	}
	return row
}

// marks writes the rows of the gates, of the ready instant and of the wish.
func (t *timeline) marks(g grid) {
	var rows [][]byte
	for _, m := range t.Marks {
		if m.Wish || !g.holds(m.At) {
			continue
		}
		c, i := g.column(m.At), 0
		for i < len(rows) && rows[i][c] != ' ' {
			i++
		}
		if i == len(rows) {
			rows = append(rows, []byte(strings.Repeat(" ", g.n)))
		}
		rows[i][c] = m.Key[0]
	}
	for i, r := range rows {
		name := ""
		if i == 0 {
			name = "gates"
		}
		t.line("%-*s %s", nameWidth, name, r)
	}
	t.point(g, "earliest "+t.Job.Ready, t.Ready)
	if !t.Job.ReadyBy.IsZero() {
		t.point(g, "wanted by", t.Job.ReadyBy)
	}
}

// point writes a row with one instant in it, if it lies in the columns.
func (t *timeline) point(g grid, name string, at time.Time) {
	if !g.holds(at) {
		return
	}
	row := []byte(strings.Repeat(" ", g.n))
	row[g.column(at)] = pointer
	said := at.In(t.z).Format(" Mon 2 Jan 15:04")
	if c := g.column(at); c+1+len(said) <= gridWidth {
		row = append(row[:c+1], said...)
	} else {
		copy(row[c-len(said):], said[1:]+" ")
	}
	t.row(name, row)
}

// times writes when each joint is wet, tack-free and as flight needs it, and the gates.
func (t *timeline) times() {
	t.line("")
	t.line("%-*s %-12s %-12s %-13s %-12s", nameWidth, "", "wet", "", "covers may", "earliest")
	t.line("%-*s %-12s %-12s %-13s %-12s", nameWidth, "joint", "from", "to", "go near", "flight")
	mark := func(j *desk.JointLine, at time.Time) string {
		if j.ByWitness {
			return t.short(at) + "*"
		}
		return t.short(at)
	}
	for i := range t.Seals {
		j := &t.Seals[i]
		names := Fold(j.ID, nameWidth)
		for k := range max(len(names), len(j.Sittings)) {
			name, from, to, closed, fly := "", "", "", "", ""
			if k < len(names) {
				name = names[k]
			}
			if k < len(j.Sittings) {
				from, to = t.short(j.Sittings[k].From), t.short(j.Sittings[k].To)
			}
			if k == max(0, len(j.Sittings)-1) {
				closed, fly = mark(j, j.CloseFrom), mark(j, j.FlyFrom)
			}
			t.line("%-*s %-12s %-12s %-13s %-12s", nameWidth, name, from, to, closed, fly)
		}
	}
	for _, j := range t.Seals {
		if j.ByWitness {
			t.block("* ", "only once the witness cup reads it: the time is likely, not a calculated line.")
			break
		}
	}
	t.line("")
	for _, m := range t.Marks {
		if !m.Wish {
			name := m.Name
			if m.Ready {
				name += ": ready"
			}
			if m.ByWitness {
				name += "; by reading of the witness cup"
			}
			t.block(fmt.Sprintf("  %s  %s  ", m.Key, t.short(m.At)), "earliest "+name)
		}
	}
}
