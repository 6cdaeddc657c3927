package picture

import (
	"strconv"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
)

func itoa(n int) string { return strconv.Itoa(n) }

// gateLabel is a gate or the wish, named over the joints.
type gateLabel struct {
	desk.Mark
	name, when string
	row        int
}

// gateNameMost is how wide the name of a gate is at most.
const gateNameMost = 110

// whenGap is between the name of a gate and its time.
const whenGap = 5

func (l gateLabel) width() vg.Length { return boldText.room(l.name) + whenGap + plainText.room(l.when) }

// gateLabels are the gates and the wish, each with a row of its own where it must.
func (d *timelinePicture) gateLabels() (labels []gateLabel) {
	var x, widths []vg.Length
	clock := newClock(d.From, d.Until)
	clock.scale.from, clock.to = d.across()
	for _, m := range d.Marks {
		l := gateLabel{Mark: m, name: wrap(m.Name, boldText, gateNameMost, 1)[0], when: m.At.Format("Mon 2 15:04")}
		if m.ByWitness {
			l.when += "*"
		}
		labels = append(labels, l)
		x, widths = append(x, clock.at(clock.seconds(m.At))), append(widths, l.width()+8)
	}
	for i, r := range rows(x, widths) {
		labels[i].row = r
	}
	return labels
}

// gatesHeight is the room that the gates' labels take.
func (d *timelinePicture) gatesHeight() vg.Length {
	n := 0
	for _, l := range d.gateLabels() {
		n = max(n, l.row+1)
	}
	return gateRow*vg.Length(n) + 6
}

// gates draws a line for each gate through the panels and its label over them: thick for
// the one that counts as ready, dashed for the wish.
func (d *timelinePicture) gates(panels []panel, labels []gateLabel) {
	top := panels[0].Max.Y + tableHead
	for _, l := range labels {
		x := d.clock.at(d.clock.seconds(l.At))
		c, w, dash := ink, vg.Length(0.7), []vg.Length(nil)
		switch {
		case l.Ready:
			w = 1.8
		case l.Wish:
			w, dash = 1.4, []vg.Length{5, 3}
		}
		y := top + gateRow*vg.Length(l.row)
		d.line(c, w, dash, vg.Point{X: x, Y: y + 8}, vg.Point{X: x, Y: panels[0].Min.Y})
		for _, q := range panels[1:] {
			d.line(c, w, dash, vg.Point{X: x, Y: q.Max.Y}, vg.Point{X: x, Y: q.Min.Y})
		}
		x += 3
		x += d.text(x, y, left, boldText, l.name) + whenGap
		d.text(x, y, left, plainText, l.when)
	}
}
