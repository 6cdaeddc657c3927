package picture

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

// label is an instant named over the panel of progress.
type label struct {
	at         time.Time
	name, when string
	look       *look // nil: no milestone
	hollow     bool  // likely only
	row        int
}

// labels are the instants that the picture names, each with a row of its own.
func (d *airPicture) labels() (labels []label) {
	if !d.Laid.Equal(d.From) && d.Laid.Before(d.Until) {
		labels = append(labels, label{at: d.Laid, name: "last laid", when: clockTime(d.Laid)})
	}
	for _, c := range d.Climbs {
		l := label{at: c.At, name: c.Milestone.String(), when: clockTime(roundSafe(c.Moment)), look: &looks[c.Milestone]}
		if c.WorkTo == nil {
			if !c.LikelyKnown {
				continue
			}
			l.at, l.hollow, l.when = c.LikelyAt, true, "likely only, "+clockTime(c.LikelyAt)
		} else if !c.Known {
			continue
		}
		if !l.at.After(d.Until) {
			labels = append(labels, l)
		}
	}
	var x, widths []vg.Length
	for _, l := range labels {
		x = append(x, d.clock.at(d.clock.seconds(l.at)))
		widths = append(widths, l.width()+6)
	}
	for i, r := range rows(x, widths) {
		labels[i].row = r
	}
	return labels
}

// clockTime is an instant in a label.
func clockTime(t time.Time) string { return t.Format("Mon 2 15:04") }

// roundSafe is when a milestone is reached, to the minute on its safe side.
func roundSafe(c desk.Moment) time.Time {
	if c.Line == cure.NotBefore {
		return c.At.Add(time.Minute - 1).Truncate(time.Minute)
	}
	return c.At.Truncate(time.Minute)
}

func (l label) width() vg.Length {
	w := boldText.room(l.name) + 3 + plainText.room(l.when)
	if l.look != nil {
		w += 2*markSize + 3
	}
	return w
}

// crossings draws the labels over the lowest panel, their leaders, and the marks where
// the lines are reached.
func (d *airPicture) crossings(panels []panel, labels []label) {
	q := panels[len(panels)-1]
	for _, l := range labels {
		x := q.x.at(d.clock.seconds(l.at))
		y := q.Max.Y + 8 + labelRow*vg.Length(l.row)
		foot := q.Min.Y
		d.line(rule, 0.6, nil, vg.Point{X: x, Y: y + 8}, vg.Point{X: x, Y: q.Max.Y})
		d.line(rule, 0.6, []vg.Length{1.5, 1.5}, vg.Point{X: x, Y: q.Max.Y}, vg.Point{X: x, Y: foot})
		for _, up := range panels[:len(panels)-1] {
			d.line(rule, 0.6, []vg.Length{1.5, 1.5}, vg.Point{X: x, Y: up.Min.Y}, vg.Point{X: x, Y: up.Max.Y})
		}
		x += 3
		if l.look != nil {
			d.mark(*l.look, vg.Point{X: x + markSize, Y: y + 3}, l.hollow)
			x += 2*markSize + 3
		}
		x += d.text(x, y, left, boldText, l.name) + 3
		d.text(x, y, left, plainText, l.when)
	}
	for _, c := range d.Climbs {
		if c.LikelyKnown && !c.LikelyAt.After(d.Until) {
			d.mark(looks[c.Milestone], q.point(d.clock.seconds(c.LikelyAt), 1), true)
		}
	}
	for _, c := range d.Climbs {
		if c.WorkTo != nil && c.Known && !c.At.After(d.Until) {
			d.mark(looks[c.Milestone], q.point(d.clock.seconds(c.At), 1), false)
		}
	}
}

// under is what stands beside the panel under the name of a milestone that is not
// reached in the picture; "" for one that is.
func (d *airPicture) under(c desk.Climb) string {
	switch {
	case c.WorkTo == nil && (!c.LikelyKnown || c.LikelyAt.After(d.Until)):
		return "likely only: witness cup"
	case c.WorkTo == nil:
		return ""
	case !c.Known:
		return fmt.Sprintf("not reached: %.0f %%", math.Floor(100*c.End))
	case c.At.After(d.Until):
		return fmt.Sprintf("%.0f %% here, later", math.Floor(100*c.End))
	}
	return ""
}

// ends names the milestones that are not reached beside the lower panel.
func (d *airPicture) ends(q panel) {
	var open []desk.Climb
	var want, heights []vg.Length
	for _, c := range d.Climbs {
		if d.under(c) == "" {
			continue
		}
		way := c.WorkTo
		if way == nil {
			way = c.LikelyWay
		}
		open = append(open, c)
		want, heights = append(want, q.y.at(way[len(way)-1].Part)), append(heights, nameLines)
	}
	for i, y := range spread(want, heights, q.Min.Y, q.Max.Y) {
		x := q.Max.X + nameGap
		d.line(rule, 0.6, nil, vg.Point{X: q.Max.X + 1, Y: want[i]}, vg.Point{X: x - 1, Y: y})
		d.mark(looks[open[i].Milestone], vg.Point{X: x + markSize, Y: y}, open[i].WorkTo == nil)
		x += 3 * markSize
		d.text(x, y+1.5, left, boldText, open[i].Milestone.String())
		d.text(x, y-8, left, smallText, d.under(open[i]))
	}
}

// gutter is the room at the right of the panels: for names, and for a label that starts
// at their very edge.
func (d *airPicture) gutter() vg.Length {
	w := 62 + plainText.room("air and part")
	if m := d.Class.Moisture; d.Humid && m != nil && m.MinRH > 0 {
		w = max(w, 6+smallText.room(fmt.Sprintf("drier than %g %%: witness cup", m.MinRH)))
	}
	for _, c := range d.Climbs {
		w = max(w, nameGap+3*markSize+smallText.room(d.under(c)))
		l := label{name: c.Milestone.String(), when: clockTime(c.At), look: &looks[c.Milestone]}
		if c.WorkTo == nil {
			l.when = "likely only, " + l.when
		}
		// The picture ends a little after its last milestone, so that the label starts
		// within the panel.
		w = max(w, l.width()+3-0.03*(pageW-2*marginX-w))
	}
	return w
}
