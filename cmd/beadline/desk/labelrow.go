package desk

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
)

// LabelRow is the row, of those that a stock list has of a batch, that a label is made
// from: the only one, or the one of the container named. A row that cannot be read
// and names no container may be of any.
//
// The error is one sentence without its subject: several rows, and none or several of
// them are of that container; the only row is of another one. What is mixed is in a
// container of its own, so there the only row counts whatever container is named.
func LabelRow(rows []Checked, containers []string, state tag.State) (Checked, error) {
	if len(rows) == 1 {
		row := rows[0]
		for _, c := range containers {
			if of := row.Item.Container; of != "" && c != of && state != tag.Mixed {
				return row, fmt.Errorf("line %d is container %s, not %s: correct --container, or the list", row.Row.Line, of, c)
			}
		}
		return row, nil
	}
	if len(containers) == 1 {
		other := func(r Checked) bool {
			return r.Item.Container != containers[0] && !(r.Item.Container == "" && unread(r.Judgement))
		}
		if of := slices.DeleteFunc(slices.Clone(rows), other); len(of) == 1 {
			return of[0], nil
		}
	}
	return Checked{}, errors.New("it stands on lines " + linesOf(rows) + ": say which by --container, or correct the list")
}

// mostLines is how many lines a refusal names, and one more.
const mostLines = 5

// linesOf names the lines of rows in their order: "2, 5 and 9"; of many the first ones.
func linesOf(rows []Checked) string {
	var lines []int
	for _, r := range rows {
		lines = append(lines, r.Row.Line)
	}
	slices.Sort(lines)
	var said []string
	for _, n := range lines {
		said = append(said, strconv.Itoa(n))
	}
	last := said[len(said)-1]
	if len(said) > mostLines+1 {
		last = fmt.Sprintf("%d more", len(said)-mostLines)
		said = said[:mostLines+1]
	}
	return strings.Join(said[:len(said)-1], ", ") + " and " + last
}

// From makes a row of a stock list what is judged. A class that is not in the catalog
// has no more than its name.
func (q *LabelQuestion) From(row Checked, c *catalog.Catalog) {
	q.Row, q.Item = &row, row.Item
	cl, err := c.Find(row.Item.Class)
	if err != nil {
		cl = catalog.Class{}
		cl.ID = row.Item.Class
	}
	q.Class = &cl
}

// unread reports whether a judgement is of a row that cannot be read whole.
func unread(v shelf.Judgement) bool {
	return slices.ContainsFunc(v.Limits, func(l shelf.Limit) bool { return l.Name == LimitUnreadable })
}

// Unfit is the judgement of a row that nothing can be added to, as it cannot be read
// whole, or as its class is not known. Such a row is held or rejected for that.
func (q *LabelQuestion) Unfit() (v shelf.Judgement, ok bool) {
	if q.Row == nil {
		return v, false
	}
	v = q.Row.Judgement
	return v, slices.ContainsFunc(v.Limits, func(l shelf.Limit) bool { return l.Name == LimitUnreadable || l.Name == LimitUnknownClass })
}

// unjudged is the answer for such a row.
func (l *Label) unjudged(v shelf.Judgement) *Label {
	l.Judgement, l.Cautions, l.Assumed = v, l.Row.Cautions, v.Assumed
	l.forbid(v.Verdict, v.Governing)
	if l.Next == "" {
		l.Next = "Correct the row of the list from the label on the container."
		l.Notes[len(l.Notes)-1] = l.Next
	}
	return l
}

// happened writes what was done into the records of the container.
func (l *Label) happened() {
	l.Item.Class = l.Class.ID
	when := label.At(date.NewAt(l.When), 60*l.When.Hour()+l.When.Minute())
	switch l.State {
	case tag.Opened:
		l.opens(when)
	case tag.Thawed:
		l.thaws(when)
	}
}

// opens has the earlier of two openings count. One on record that lies after the moment
// judged is left as it is: dates that contradict are for a person.
func (l *Label) opens(when label.Date) {
	at := l.judgedAt()
	now := label.At(date.NewAt(at), 60*at.Hour()+at.Minute())
	if was := l.Item.Opened; was.IsZero() || sooner(when, was) && !sooner(now, was) {
		l.Item.Opened = when
	}
}

// thaws adds a thaw to those on record, unless it is on record to the minute. A sum of
// the time out of the freezer covers what came before the last thaw on record, and not
// the outing that began with that.
func (l *Label) thaws(when label.Date) {
	it := &l.Item
	for _, t := range it.Thawed {
		if t.Canonical() == when.Canonical() {
			return
		}
	}
	if it.OutUsed > 0 && it.OutAsOf.IsZero() && len(it.Thawed) > 0 {
		last := it.Thawed[0]
		for _, t := range it.Thawed {
			if sooner(last, t) {
				last = t
			}
		}
		if sooner(when, last) {
			last = when
		}
		it.OutAsOf = last
	}
	if it.Thawed = append(slices.Clone(it.Thawed), when); it.ThawCount > 0 {
		it.ThawCount++
	}
}

// sooner reports whether one recorded moment may begin before another; a day begins with
// its first minute.
func sooner(a, b label.Date) bool {
	if a.First() != b.First() {
		return a.First().Before(b.First())
	}
	m, _ := a.Clock()
	n, _ := b.Clock()
	return m < n
}
