package show

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cmd/beadline/desk"
	"beadline/cure/plan"
)

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
