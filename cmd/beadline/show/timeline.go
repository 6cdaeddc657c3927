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
		s.infeasible(p)
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
	from, step := t.From, 24*time.Hour
	fits := func(s time.Duration, strips int) bool {
		return t.Until.Sub(t.stripFrom(s)) <= time.Duration(strips*gridWidth)*s
	}
	if i := slices.IndexFunc(scales, func(s time.Duration) bool { return fits(s, 1) }); i >= 0 {
		step = scales[i]
	} else if i := slices.IndexFunc(long, func(s time.Duration) bool { return fits(s, stripsMost) }); i >= 0 {
		step = long[i]
	}
	for from = t.stripFrom(step); from.Before(t.Until); {
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
	t.block("THE WHOLE JOB   ", fmt.Sprintf("%s to %s, times %s; one column is %s", t.From.Format("2 Jan"), t.Until.Format("2 Jan 2006"), zones(t.Plan, t.z), spanWords(grids[0].step)))
	for i, g := range grids {
		if i > 0 {
			t.line("")
		}
		t.strip(g, len(grids) > 1)
	}
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

// stretch writes one stretch of work: who does what, and what happens to the joints.
func (t *timeline) stretch(i int, x desk.Stretch) {
	g := newGrid(x.From, x.Shown, strideStep)
	t.line("")
	to := x.To.Format("15:04")
	if !sameDay(x.From, x.To, t.z) {
		to = x.To.Format("Mon 15:04")
	}
	t.line("%s   %s to %s; one column is %s", strings.ToUpper(x.From.Format("Mon 2 January 2006")), x.From.Format("15:04"), to, spanWords(strideStep))
	t.hours(g)
	t.nights(g)
	keys, hidden := t.keys(x), map[int]bool{}
	for _, c := range t.Crew {
		t.row(c.Who, t.person(g, c, keys, hidden))
	}
	for i := range t.Seals {
		if s := &t.Seals[i]; t.at(s, x) {
			row := t.joint(g, s)
			for _, p := range s.Pots {
				if g.holds(p.DoneBy) {
					row[g.column(p.DoneBy)] = potsLine
				}
			}
			if !blank(row) {
				t.row(s.ID, row)
			}
		}
	}
	t.marks(g)
	for _, k := range x.Tasks {
		key := string(keys[k]) + " "
		if hidden[k] && keys[k] != several {
			key = string(keys[k]) + string(several)
		}
		t.task(key, &t.Tasks[k])
	}
}

// at reports whether a stretch holds work at a joint, or wet sealant.
func (t *timeline) at(s *desk.JointLine, x desk.Stretch) bool {
	return slices.ContainsFunc(x.Tasks, func(k int) bool { return t.Tasks[k].Joint == s.ID }) ||
		slices.ContainsFunc(s.Bands, func(b desk.Band) bool {
			return b.Stage == desk.Wet && b.From.Before(x.To) && b.To.After(x.From)
		})
}

// taskKeys are what tasks are called in a stretch, in order; those that are left over
// share the “+”. Letters that mean something else in a row, or look like a number, are
// left out.
const taskKeys = "123456789abcdefgijkmqrsuvyzABCDEFGHJKLMNPQRSTUVWXYZ"

// keys gives each task of a stretch a character. Warming is done by nobody in
// particular and stands in the joint's row.
func (t *timeline) keys(x desk.Stretch) map[int]byte {
	keys, n := map[int]byte{}, 0
	for _, k := range x.Tasks {
		switch {
		case len(t.Tasks[k].Who) == 0:
			keys[k] = warmed
		case n == len(taskKeys):
			keys[k] = several
		default:
			keys[k] = taskKeys[n]
			n++
		}
	}
	return keys
}

// person is the row of one of the crew. Tasks that no column shows are noted in hidden.
func (t *timeline) person(g grid, c desk.CrewLine, keys map[int]byte, hidden map[int]bool) []byte {
	var spans []span
	var tasks []int
	for _, w := range c.Works {
		if key, ok := keys[w.Task]; ok {
			spans, tasks = append(spans, span{w.From, w.To, key, 1}), append(tasks, w.Task)
		}
	}
	for _, w := range c.Shifts {
		spans = append(spans, span{w.From, w.To, onShift, 0})
	}
	row, under := g.rowOfAll(spans)
	for _, i := range under {
		hidden[tasks[i]] = true
	}
	return row
}

// task writes what one key stands for.
func (t *timeline) task(key string, k *plan.Task) {
	who := strings.Join(k.Who, ", ")
	if who == "" {
		who = "(any on shift)"
	}
	end := k.End.In(t.z).Format("15:04")
	if !sameDay(k.Start, k.End, t.z) {
		end = k.End.In(t.z).Format("Mon 15:04")
	}
	what := k.ID + torqueValue(t.Plan, *k)
	when := fmt.Sprintf("  %s %s-%-5s  ", key, k.Start.In(t.z).Format("15:04"), end)
	if len([]rune(who)) > 16 {
		t.block(when, who+": "+what)
		return
	}
	t.block(when+fmt.Sprintf("%-16s ", who), what)
}

// key says what the characters mean that were used.
func (t *timeline) key() {
	t.line("")
	t.line("HOW TO READ IT")
	for _, k := range []struct {
		char byte
		text string
	}{
		{onShift, "on shift and free; a gap in a person's row: off shift, or a break"},
		{atWork, "at work"},
		{'1', "and so on: at the task with that key in the list below"},
		{several, "more than one task in the column: those with a + in the list"},
		{night, "night: 20:00 to 06:00"},
		{'p', "joint: being prepared"},
		{':', "joint: open, waiting"},
		{warmed, "joint: the structure is being warmed"},
		{'#', "joint: WET, from the start of mixing to the last sealant or fastener in"},
		{potsLine, "joint: a pot ends here; all of it must be in"},
		{'=', "joint: not yet tack-free; keep covers, dust and hands off"},
		{'-', "joint: tack-free, curing towards what flight waits for"},
		{heated, "joint: the same with the heat on"},
		{'t', "joint: the cured gasket is torqued"},
		{reached, "joint: the earliest for flight as far as this joint goes"},
		{witness, "joint: the same, and only once the witness cup reads it"},
	} {
		if t.used[k.char] {
			t.block(fmt.Sprintf("  %c  ", k.char), k.text)
		}
	}
	t.block("  ", "A column shows the wet work that touches it, else what fills most of it.")
}
