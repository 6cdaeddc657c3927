package picture

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
	"beadline/cure/quantity"
)

// Class draws how long each milestone of a class takes in constant air against
// temperature, on a logarithmic scale of time, with a panel for each humidity. The
// line to work to is solid, the plain curve thin and dashed.
func Class(c *desk.ClassCurves) *Picture {
	return &Picture{
		title: c.Class.ID + ": " + c.Class.Name,
		about: "Time of each milestone in constant air against temperature: the line to work to, and the likely time.",
		draw:  func(p *page) { (&classPicture{page: p, ClassCurves: c}).draw() },
	}
}

// classPicture is the picture being drawn.
type classPicture struct {
	*page
	*desk.ClassCurves
}

func (d *classPicture) draw() {
	top := d.head(head{title: d.Class.ID + ": " + d.Class.Name, facts: d.facts()})
	bottom := d.foot(d.keys(), d.notes())
	if len(d.Panels) > 1 {
		top -= 13
	}
	const axis, sideways = 27, 42 // room for the names of temperatures and times
	box := vg.Rectangle{Min: vg.Point{X: marginX + sideways, Y: bottom + axis}, Max: vg.Point{X: pageW - marginX, Y: top - axis}}
	gutter := d.gutter()
	n := vg.Length(len(d.Panels))
	width := (box.Max.X-box.Min.X+10)/n - 10
	span := spanScale(d.spans(), box.Min.Y, box.Max.Y)
	for i, h := range d.Panels {
		b := box
		b.Min.X = box.Min.X + vg.Length(i)*(width+10)
		b.Max.X = b.Min.X + width - gutter
		q := newPanel(b, d.temps(), span)
		d.axes(q, i == 0)
		if len(d.Panels) > 1 {
			d.text((b.Min.X+b.Max.X)/2, b.Max.Y+axis+2, center, boldText, fmt.Sprintf("%.3g %% RH", h.RH))
		}
		d.curves(q, h.Curves)
		d.names(q, h.Curves)
	}
}

// facts are the sentences under the title.
func (d *classPicture) facts() []string {
	said := "Time from the start until each milestone, in constant air; air, pot and part at one temperature."
	switch m := d.Class.Moisture; {
	case m != nil && m.MinRH > 0 && m.ClosedWitness:
		said += fmt.Sprintf(" In air drier than %g %% RH, and in a closed film: go by the witness cup.", m.MinRH)
	case m != nil && m.MinRH > 0:
		said += fmt.Sprintf(" In air drier than %g %% RH: go by the witness cup.", m.MinRH)
	case !d.Humid:
		said += " This class does not look at humidity."
	}
	facts := []string{said}
	if depths := d.depths(); depths != "" {
		facts = append(facts, depths)
	}
	return facts
}

// notes are what is assumed, and what is not drawn.
func (d *classPicture) notes() []string {
	var notes remarks
	for _, c := range d.Panels[0].Curves {
		if said := d.Class.PotNote(c.Milestone, 0); said != "" {
			notes.add(c.Milestone, show.SI.Text(said)+".")
		}
	}
	return append(notes.lines(), d.Missing...)
}

// depths names the bead that is drawn, where depth counts.
func (d *classPicture) depths() string {
	var said []string
	for _, c := range d.Panels[0].Curves {
		if c.DepthMM > 0 {
			said = append(said, fmt.Sprintf("%s %s (%s)", c.Milestone, show.SI.Length(c.DepthMM), show.US.Length(c.DepthMM)))
		}
	}
	if said == nil {
		return ""
	}
	return "Bead open to the air on one face, depth drawn: " + strings.Join(said, ", ") + ". The time grows with the square of the depth."
}

func (d *classPicture) keys() []key {
	keys := []key{
		{keyLine, "solid: the line to work to"},
		{keyLikely, "thin, dashed: likely, the plain curve, for information only"},
		{func(p *page, b vg.Rectangle) {
			p.ring(middle(b, 0.5), ink)
			p.mark(look{color: ink, shape: looks[cure.Cured].shape}, middle(b, 0.5), false)
		}, "rated time"},
	}
	if d.hasPoints() {
		keys = append(keys, key{func(p *page, b vg.Rectangle) {
			p.mark(look{color: ink, shape: looks[cure.Cured].shape}, middle(b, 0.5), false)
		}, "point of the data sheet"})
	}
	keys = append(keys,
		key{func(p *page, b vg.Rectangle) {
			m := middle(b, 0.8)
			p.line(ink, lineWidth, nil, middle(b, 0), m)
			p.cap(m, ink)
		}, "the curve's range ends: no answer beyond"},
		key{keyHatch, "outside every range"})
	if !d.Class.Apply.Part.IsZero() {
		keys = append(keys, key{keyAllowed, "lay it with the part at " + show.SI.Temps(d.Class.Apply.Part) + " (" + show.US.Temps(d.Class.Apply.Part) + ")"})
	}
	return keys
}

// cap draws the short bar at the end of a curve.
func (p *page) cap(at vg.Point, c interface{ RGBA() (r, g, b, a uint32) }) {
	p.line(c, 1.2, nil, vg.Point{X: at.X, Y: at.Y - 4}, vg.Point{X: at.X, Y: at.Y + 4})
}

func (d *classPicture) hasPoints() bool {
	for _, h := range d.Panels {
		for _, c := range h.Curves {
			if len(c.Points) > 0 {
				return true
			}
		}
	}
	return false
}

// temps is the scale of temperature: all that is drawn and a little of what is not.
func (d *classPicture) temps() scale {
	room := math.Max(2, 0.04*(d.Temp.Hi-d.Temp.Lo))
	return scale{lo: math.Floor(d.Temp.Lo - room), hi: math.Ceil(d.Temp.Hi + room)}
}

// spans are all times drawn, in s.
func (d *classPicture) spans() (all []float64) {
	for _, h := range d.Panels {
		for _, c := range h.Curves {
			for _, pts := range [][]desk.SpanAt{c.WorkTo, c.Likely, c.Points} {
				for _, pt := range pts {
					all = append(all, pt.Seconds)
				}
			}
			if c.Rated != nil {
				all = append(all, c.Rated.Seconds)
			}
		}
	}
	return all
}

// axes draws the grid, the scales of a panel, and where the class may be laid.
func (d *classPicture) axes(q panel, first bool) {
	inside := func(lo, hi float64) vg.Rectangle {
		b := q.Rectangle
		b.Min.X, b.Max.X = max(b.Min.X, q.x.at(lo)), min(b.Max.X, q.x.at(hi))
		return b
	}
	laid := d.Class.Apply.Part
	if !laid.IsZero() {
		if b := inside(laid.Lo, laid.Hi); b.Max.X > b.Min.X {
			d.fill(b, allowed)
		}
	}
	degrees := evenTicks(q.x, 24)
	for _, t := range degrees {
		x := q.x.at(t.v)
		d.line(faint, 0.5, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Max.Y})
		d.line(rule, 0.6, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Min.Y - 3})
		d.text(x, q.Min.Y-11, center, tickText, t.text)
	}
	f := q.x.fahrenheit()
	for _, t := range evenTicks(f, 24) {
		x := f.at(t.v)
		d.line(rule, 0.6, nil, vg.Point{X: x, Y: q.Max.Y}, vg.Point{X: x, Y: q.Max.Y + 3})
		d.text(x, q.Max.Y+5, center, tickText, t.text)
	}
	middle := (q.Min.X + q.Max.X) / 2
	d.text(middle, q.Min.Y-22, center, plainText, "temperature, °C")
	d.text(middle, q.Max.Y+15, center, plainText, "temperature, °F")
	d.hatch(inside(q.x.lo, d.Temp.Lo), hatched)
	d.hatch(inside(d.Temp.Hi, q.x.hi), hatched)
	ticks := spanTicksOn(q.y, func(tick) vg.Length { return 13 })
	if first {
		d.sideTicks(q, q.y, ticks, right, true)
		d.text(q.Min.X-7, q.Max.Y+15, right, plainText, "time")
	} else {
		for i := range ticks {
			ticks[i].text = ""
		}
		d.sideTicks(q, q.y, ticks, right, true)
	}
	d.frame(q.Rectangle, rule, 0.8)
}

// points places spans in a panel.
func points(q panel, at []desk.SpanAt) (pts []vg.Point) {
	for _, s := range at {
		pts = append(pts, q.point(s.TempC, s.Seconds))
	}
	return pts
}

// curves draws the lines and marks of a panel.
func (d *classPicture) curves(q panel, curves []desk.MilestoneCurve) {
	for i, c := range curves {
		k, n := twins(curves, i, func(c desk.MilestoneCurve) []desk.SpanAt { return c.Likely })
		l := looks[c.Milestone]
		d.turn(l.color, likelyWidth, l.dash, k, n, points(q, c.Likely))
	}
	for i, c := range curves {
		k, n := twins(curves, i, func(c desk.MilestoneCurve) []desk.SpanAt { return c.WorkTo })
		l := looks[c.Milestone]
		d.turn(l.color, lineWidth, nil, k, n, points(q, c.WorkTo))
		ends := c.WorkTo
		if len(ends) == 0 {
			ends = c.Likely
		}
		for _, e := range ends {
			if e.TempC == c.Range.Lo || e.TempC == c.Range.Hi {
				d.cap(q.point(e.TempC, e.Seconds), l.color)
			}
		}
	}
	for _, c := range curves {
		for _, pt := range points(q, c.Points) {
			d.mark(looks[c.Milestone], pt, false)
		}
		if c.Rated != nil && q.x.holds(c.Rated.TempC) {
			at := q.point(c.Rated.TempC, c.Rated.Seconds)
			d.mark(looks[c.Milestone], at, false)
			d.ring(at, looks[c.Milestone].color)
		}
	}
}

// twins says which of how many curves that lie on one another curve i is.
func twins(curves []desk.MilestoneCurve, i int, of func(desk.MilestoneCurve) []desk.SpanAt) (k, n int) {
	for j := range curves {
		if same(of(curves[i]), of(curves[j])) {
			if n++; j < i {
				k++
			}
		}
	}
	return k, n
}

// same reports two curves that no eye can tell apart.
func same(a, b []desk.SpanAt) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Abs(a[i].TempC-b[i].TempC) > 0.01 || math.Abs(math.Log(a[i].Seconds/b[i].Seconds)) > 0.01 {
			return false
		}
	}
	return true
}

// Of the names at the ends of curves.
const (
	nameGap   = 12 // from the panel to the mark
	nameLines = 24 // height of a name with a line under it
)

// name is what stands at the end of a curve: its name, and under it in a wide panel
// what kind of line it is and where it lies at the temperature of the rated time.
func (d *classPicture) name(c desk.MilestoneCurve) (name, under string) {
	name = c.Milestone.String()
	if len(d.Panels) > 1 {
		return name, ""
	}
	if c.Also != "" {
		name += ", " + c.Also
	}
	if len(c.WorkTo) == 0 {
		return name, "likely only: go by the witness cup"
	}
	under = strings.ReplaceAll(c.Milestone.Line().String(), "-", " ")
	for _, pt := range c.WorkTo {
		if c.Rated != nil && pt.TempC == c.Rated.TempC {
			under += " " + lineSpan(c.Milestone.Line(), pt.Seconds) + " at " + show.SI.Temp(pt.TempC)
		}
	}
	return name, under
}

// lineSpan writes a span of a line, in s, rounded to its safe side; what arithmetic
// adds or loses below a millisecond is nothing.
func lineSpan(l cure.Line, s float64) string {
	d := time.Duration(s * float64(time.Second)).Round(time.Millisecond)
	if l == cure.NotBefore {
		return quantity.FormatSpanUp(d)
	}
	return quantity.FormatSpan(d)
}

// gutter is the room that the names need at the right of a panel.
func (d *classPicture) gutter() (w vg.Length) {
	for _, h := range d.Panels {
		for _, c := range h.Curves {
			name, under := d.name(c)
			w = max(w, boldText.room(name), smallText.room(under))
		}
	}
	return w + nameGap + 3*markSize
}

// names writes the names of the curves beside a panel, each led to the end of its own.
func (d *classPicture) names(q panel, curves []desk.MilestoneCurve) {
	var ends []vg.Point
	var want, heights []vg.Length
	for _, c := range curves {
		pts := points(q, c.WorkTo)
		if len(pts) == 0 {
			pts = points(q, c.Likely)
		}
		if len(pts) == 0 {
			pts = []vg.Point{q.Max}
		}
		end := pts[len(pts)-1]
		height := vg.Length(nameLines)
		if _, under := d.name(c); under == "" {
			height /= 2
		}
		ends, want, heights = append(ends, end), append(want, end.Y), append(heights, height)
	}
	for i, y := range spread(want, heights, q.Min.Y, q.Max.Y) {
		l := looks[curves[i].Milestone]
		x := q.Max.X + nameGap
		d.line(rule, 0.6, []vg.Length{1, 2}, vg.Point{X: ends[i].X + 3, Y: ends[i].Y}, vg.Point{X: q.Max.X, Y: ends[i].Y})
		d.line(rule, 0.6, nil, vg.Point{X: q.Max.X, Y: ends[i].Y}, vg.Point{X: x - 1, Y: y})
		d.mark(l, vg.Point{X: x + markSize, Y: y}, false)
		x += 3 * markSize
		name, under := d.name(curves[i])
		if under == "" {
			d.text(x, y-3.2, left, boldText, name)
			continue
		}
		d.text(x, y+1.5, left, boldText, name)
		d.text(x, y-8, left, smallText, under)
	}
}
