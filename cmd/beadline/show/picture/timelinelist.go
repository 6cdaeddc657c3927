package picture

import (
	"time"

	"gonum.org/v1/plot/vg"
)

// taskList is every task in words, in columns.
type taskList struct {
	tasks   int
	columns [][]listLine
	wide    vg.Length // of a column
	times   vg.Length // of the column of times
}

// listLine is a line of the list: a day, or a line of a task.
type listLine struct {
	day, number, when string
	called
}

// Widths within the list, and how wide a column is at least.
const (
	listLeading = 10
	listColumn  = 250
	listGap     = 14
)

// newList breaks the tasks into lines for the width of the sheet, and those into columns.
func (d *timelinePicture) newList() taskList {
	room := d.wide - 2*marginX
	columns := max(1, int((room+listGap)/(listColumn+listGap)))
	l := taskList{tasks: len(d.Tasks), wide: (room+listGap)/vg.Length(columns) - listGap}
	whens := make([]string, len(d.Tasks))
	for i, t := range d.Tasks {
		whens[i] = fromTo(t.Start.In(d.Job.Zone), t.End.In(d.Job.Zone))
		l.times = max(l.times, tickText.room(whens[i])+5)
	}
	var whole [][]listLine // what stays together: a task, and a day with its first
	day := ""
	for i := range d.Tasks {
		var lines []listLine
		t := &d.Tasks[i]
		if s := t.Start.In(d.Job.Zone).Format("Monday 2 January"); s != day {
			day = s
			lines = append(lines, listLine{day: s})
		}
		c := d.inWords(t)
		for k, s := range wrap(c.name, tickText, l.wide-l.textAt()-called{c.key, ""}.room()-letterGap, 0) {
			x := listLine{called: called{"", s}}
			if k == 0 {
				x.key, x.number, x.when = c.key, itoa(i+1), whens[i]
			}
			lines = append(lines, x)
		}
		whole = append(whole, lines)
	}
	l.fill(whole, columns)
	return l
}

// fill shares lines out over so many columns, as short as they can be.
func (l *taskList) fill(whole [][]listLine, columns int) {
	deep := 0
	for _, lines := range whole {
		deep += len(lines)
	}
	for deep = max(1, deep/columns); ; deep++ {
		l.columns = [][]listLine{nil}
		for _, lines := range whole {
			last := len(l.columns) - 1
			if n := len(l.columns[last]); n > 0 && n+len(lines) > deep {
				l.columns, last = append(l.columns, nil), last+1
			}
			l.columns[last] = append(l.columns[last], lines...)
		}
		if len(l.columns) <= columns {
			return
		}
	}
}

// fromTo is when a task is done, its end with a weekday if that is another.
func fromTo(from, to time.Time) string {
	end := "15:04"
	if from.Format(time.DateOnly) != to.Format(time.DateOnly) {
		end = "Mon 15:04"
	}
	return from.Format("15:04") + "–" + to.Format(end)
}

// textAt is where the words begin.
func (l taskList) textAt() vg.Length { return numberText.room(itoa(l.tasks)) + 4 + l.times }

func (l taskList) height() vg.Length {
	deep := 0
	for _, c := range l.columns {
		deep = max(deep, len(c))
	}
	return titleRow + listLeading*vg.Length(deep) + 4
}

// draw writes the list from a top edge down.
func (l taskList) draw(p *page, top vg.Length) {
	p.text(marginX, top-titleRow+5, left, boldText, "Who does what")
	top -= titleRow
	number := numberText.width(itoa(l.tasks))
	for k, column := range l.columns {
		x := marginX + vg.Length(k)*(l.wide+listGap)
		for i, line := range column {
			y := top - listLeading*vg.Length(i+1) + 2.5
			if line.day != "" {
				p.text(x, y, left, numberText, line.day)
				continue
			}
			p.text(x+number-numberText.width(line.number), y, left, numberText, line.number)
			p.text(x+numberText.room(itoa(l.tasks))+4, y, left, tickText, line.when)
			p.callName(x+l.textAt(), y, line.called)
		}
	}
}
