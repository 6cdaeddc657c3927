package picture

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
)

// Spans draws an answer in constant air: a bar for each milestone on a logarithmic
// scale of time, up to the line to work to, with the likely time marked.
func Spans(t *desk.Times, u show.Units) *Picture {
	return &Picture{
		title: t.Class.ID + ": " + t.Class.Name,
		about: "A bar of time for each milestone in constant air, up to the line to work to, with the likely time marked.",
		draw:  func(p *page) { (&spansPicture{page: p, Times: t, units: u}).draw() },
	}
}

// spansPicture is the picture being drawn.
type spansPicture struct {
	*page
	*desk.Times
	units show.Units
}

func (d *spansPicture) draw() {
	top := d.head(d.said()) - 8
	bottom := d.foot(d.keys(), d.notes())
	names := vg.Length(0)
	for _, m := range d.Moments {
		names = max(names, boldText.room(m.Milestone.String())+3*markSize+8)
	}
	answers := vg.Length(150)
	for _, m := range d.Moments {
		for _, l := range d.answer(m) {
			answers = max(answers, min(250, boldText.room(l)+4))
		}
	}
	b := vg.Rectangle{Min: vg.Point{X: marginX + names, Y: bottom + 30}, Max: vg.Point{X: pageW - marginX - answers - 12, Y: top - 18}}
	// Six rows fill the page; fewer stand at its top.
	row := min((b.Max.Y-b.Min.Y)/vg.Length(len(d.Moments)), 110)
	b.Min.Y = b.Max.Y - row*vg.Length(len(d.Moments))
	q := newPanel(b, spanScale(d.spans(), 0, 0), scale{lo: 0, hi: 1})
	q.x.from, q.x.to = b.Min.X, b.Max.X
	d.axis(q)
	for i, m := range d.Moments {
		d.row(q, m, b.Max.Y-row*(vg.Length(i)+0.5), row)
	}
	d.frame(b, rule, 0.8)
}

// said is the head of the picture.
func (d *spansPicture) said() head {
	h := head{title: d.Class.ID + ": " + d.Class.Name}
	h.stops = stopLines(d.Stops, d.Class.MixByHand, d.units)
	air := "In constant air of " + both(d.Air.TempC)
	if d.RHSaid {
		air += fmt.Sprintf(" and %.3g %% RH", d.Air.RH)
	}
	for _, x := range []struct {
		name string
		c    float64
	}{{"the pot", d.PotC}, {"the part", d.PartC}} {
		if !math.IsNaN(x.c) && x.c != d.Air.TempC {
			air += ", " + x.name + " at " + both(x.c)
		}
	}
	air += "."
	switch b := d.Bead; {
	case b.Closed:
		air += " A closed film."
	case b.DepthMM > 0:
		air += fmt.Sprintf(" Bead %s (%s)", show.SI.Length(b.DepthMM), show.US.Length(b.DepthMM))
		if b.Faces == 2 {
			air += ", open on both faces"
		}
		air += "."
	}
	h.facts = []string{air, desk.Clocks(d.Class)}
	if !d.From.IsZero() {
		from := "Counted from " + d.From.Format("Mon 2 January 2006 15:04 MST") + "."
		if !d.Laid.Equal(d.From) {
			from += " Last sealant laid or fastener torqued " + d.Laid.Format("Mon 2 January 15:04 MST") + "."
		}
		h.facts = append(h.facts, from)
	}
	return h
}

func (d *spansPicture) keys() []key {
	l := look{color: ink, shape: looks[cure.Cured].shape}
	return []key{
		{func(p *page, b vg.Rectangle) { p.fill(b, rule); p.stop(b, ink) }, "solid bar: time to work, up to the line; not after it"},
		{func(p *page, b vg.Rectangle) { p.hatch(b, rule); p.stop(b, ink) }, "hatched bar: wait, up to the line; not before it"},
		{func(p *page, b vg.Rectangle) { p.mark(l, middle(b, 0.5), true) }, "likely, the plain curve, for information only"},
	}
}

// stop draws the line at the right end of a bar.
func (p *page) stop(b vg.Rectangle, c interface{ RGBA() (r, g, b, a uint32) }) {
	p.line(c, 2.4, nil, vg.Point{X: b.Max.X, Y: b.Min.Y - 3}, vg.Point{X: b.Max.X, Y: b.Max.Y + 3})
}

func (d *spansPicture) notes() []string {
	var notes remarks
	for _, m := range d.Moments {
		if m.Why != "" {
			notes.add(m.Milestone, d.units.Text(m.Why)+".")
		}
	}
	return notes.lines()
}

// spans are all times of the answer, in s.
func (d *spansPicture) spans() (all []float64) {
	for _, m := range d.Moments {
		if m.Known {
			all = append(all, math.Max(1, m.Span.Seconds()))
		}
		if m.LikelyKnown && m.Refused == "" {
			all = append(all, math.Max(1, m.Likely.Seconds()))
		}
	}
	if all == nil {
		return []float64{hour}
	}
	// A bar starts well before the first line, so that it is one.
	return append(all, all[0]/3)
}

// axis draws the scale of time below and above.
func (d *spansPicture) axis(q panel) {
	for _, t := range spanTicksOn(q.x, func(t tick) vg.Length { return tickText.width(t.text) + 8 }) {
		x := q.x.at(t.v)
		d.line(faint, 0.5, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Max.Y})
		for _, end := range []struct{ y, tick, text vg.Length }{{q.Min.Y, -3, -11}, {q.Max.Y, 3, 5}} {
			d.line(rule, 0.6, nil, vg.Point{X: x, Y: end.y}, vg.Point{X: x, Y: end.y + end.tick})
			d.text(x, end.y+end.text, center, tickText, t.text)
		}
	}
	d.text((q.Min.X+q.Max.X)/2, q.Min.Y-23, center, plainText, "time from the start")
}

// row draws one milestone with its middle at a height.
func (d *spansPicture) row(q panel, m desk.Moment, y, height vg.Length) {
	l := looks[m.Milestone]
	x := vg.Length(marginX)
	d.mark(l, vg.Point{X: x + markSize, Y: y + 4}, false)
	d.text(x+3*markSize, y+1, left, boldText, m.Milestone.String())
	d.text(x+3*markSize, y-9, left, smallText, strings.ReplaceAll(m.Line.String(), "-", " "))
	thick := min(9, height/4)
	if m.Known {
		b := vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: y - thick}, Max: vg.Point{X: q.x.at(math.Max(1, m.Span.Seconds())), Y: y + thick}}
		if m.Line == cure.NotAfter {
			d.fill(b, l.color)
		} else {
			d.hatch(b, l.color)
			d.frame(b, l.color, 0.8)
		}
		d.stop(b, ink)
	}
	if m.LikelyKnown && m.Refused == "" {
		at := vg.Point{X: q.x.at(math.Max(1, m.Likely.Seconds())), Y: y}
		if !m.Known {
			d.line(l.color, likelyWidth, l.dash, vg.Point{X: q.Min.X, Y: y}, at)
		}
		d.mark(l, at, true)
	}
	lines := d.answer(m)
	top := y + 5.5*vg.Length(len(lines)) - 8
	for i, text := range lines {
		s := plainText
		switch {
		case i == 0:
			s = boldText
		case i == len(lines)-1 && m.Refused == "":
			s = smallText
		}
		d.text(q.Max.X+10, top-11*vg.Length(i), left, s, text)
	}
}

// answer is what stands beside a bar.
func (d *spansPicture) answer(m desk.Moment) (lines []string) {
	switch {
	case m.Refused != "":
		return append([]string{"no answer"}, wrap(d.units.Text(m.Refused), plainText, 210, 3)...)
	case m.Known && m.Line == cure.NotAfter:
		lines = append(lines, "not after "+lineSpan(m.Line, m.Span.Seconds()))
	case m.Known:
		lines = append(lines, "not before "+lineSpan(m.Line, m.Span.Seconds()))
	case m.ByWitness:
		lines = append(lines, "no line: go by the witness cup")
	default:
		lines = append(lines, "never")
	}
	if !m.At.IsZero() && m.Known {
		lines = append(lines, roundSafe(m).Format("Mon 2 Jan 2006 15:04 MST"))
	}
	if m.Extrapolated {
		lines = append(lines, "extrapolated: do not work to it")
	}
	if m.LikelyKnown {
		likely := "likely " + lineSpan(m.Line, m.Likely.Seconds())
		if !m.LikelyAt.IsZero() {
			likely += ", " + m.LikelyAt.Format("Mon 2 Jan 15:04")
		}
		lines = append(lines, likely)
	}
	return lines
}
