package picture

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
)

// Air draws a class in an air history, on one axis of local time: air, part and dew
// point; humidity where the class looks at it; how far each milestone has come, with
// the instants at which its line is reached.
func Air(c *desk.AirCourse, u show.Units) *Picture {
	return &Picture{
		title: c.Class.ID + ": " + c.Class.Name,
		about: "Temperature of air and part over time, and how far each milestone has come.",
		draw:  func(p *page) { (&airPicture{page: p, AirCourse: c, units: u}).draw() },
	}
}

// airPicture is the picture being drawn.
type airPicture struct {
	*page
	*desk.AirCourse
	units show.Units
	clock clockScale
}

// Heights of the parts of the picture between the panels, and of a row of labels.
const (
	panelGap  = 14
	labelRow  = 12
	clockRoom = 30
)

func (d *airPicture) draw() {
	top := d.head(d.said())
	bottom := d.foot(d.keys(), d.notes())
	gutter := d.gutter()
	d.clock = newClock(d.From, d.Until)
	box := vg.Rectangle{Min: vg.Point{X: marginX + 34, Y: bottom + clockRoom}, Max: vg.Point{X: pageW - marginX - gutter, Y: top - 14}}
	d.clock.scale.from, d.clock.to = box.Min.X, box.Max.X
	labels := d.labels()
	strip := vg.Length(8)
	for _, l := range labels {
		strip = max(strip, 8+labelRow*vg.Length(l.row+1))
	}
	free := box.Max.Y - box.Min.Y - strip - panelGap
	upper, middle := 0.55*free, vg.Length(0)
	if d.Humid {
		free -= panelGap
		upper, middle = 0.42*free, 0.18*free
	}
	var panels []panel
	cut := func(h vg.Length, y scale) {
		b := box
		b.Min.Y = box.Max.Y - h
		panels = append(panels, newPanel(b, d.clock.scale, y))
		box.Max.Y = b.Min.Y - panelGap
	}
	cut(upper, d.degrees())
	if d.Humid {
		cut(middle, scale{lo: 0, hi: 100})
	}
	box.Max.Y -= strip - panelGap + 8
	cut(box.Max.Y-box.Min.Y, scale{lo: 0, hi: 1.04})
	d.grounds(panels)
	d.clockAxis(panels, d.clock)
	d.temperatures(panels[0])
	if d.Humid {
		d.humidity(panels[1])
	}
	low := panels[len(panels)-1]
	d.progress(low)
	d.crossings(panels, labels)
	d.text(low.Max.X+8, low.Min.Y-11, left, smallText, zoneName(d.From, d.Until))
}

// said is the head of the picture.
func (d *airPicture) said() head {
	h := head{title: d.Class.ID + ": " + d.Class.Name}
	h.stops = stopLines(d.Stops, d.Class.MixByHand, d.units)
	at := func(t time.Time) string { return t.Format("Mon 2 January 2006 15:04 MST") }
	what := "Counted from " + at(d.From) + "."
	if !d.Laid.Equal(d.From) {
		what += " Last sealant laid or fastener torqued " + at(d.Laid) + "."
	}
	if b := d.Site.Bead; b.Closed {
		what += " A closed film."
	} else if b.DepthMM > 0 {
		what += fmt.Sprintf(" Bead %s (%s).", show.SI.Length(b.DepthMM), show.US.Length(b.DepthMM))
	}
	if d.Sources != nil {
		what += " Air: " + d.units.Text(strings.Join(d.Sources, ", then ")) + "."
	}
	h.facts = []string{what}
	return h
}

func (d *airPicture) keys() []key {
	l := look{color: ink, shape: looks[cure.Cured].shape}
	keys := []key{
		{keyLine, "solid: the line to work to"},
		{func(p *page, b vg.Rectangle) { p.mark(l, middle(b, 0.5), false) }, "reached"},
		{keyLikely, "thin, dashed: likely, for information only"},
		{func(p *page, b vg.Rectangle) { p.mark(l, middle(b, 0.5), true) }, "likely reached"},
	}
	if d.forecast().Before(d.Until) {
		keys = append(keys, key{keyHatch, "forecast: not measured"})
	}
	if d.Doubt {
		keys = append(keys, key{func(p *page, b vg.Rectangle) { p.fill(b, doubt); p.frame(b, faint, 0.5) }, "how far the air may be off"})
	}
	if !d.Class.Apply.Part.IsZero() || !d.Class.Apply.RH.IsZero() && d.Humid {
		keys = append(keys, key{keyAllowed, "lay it in these limits"})
	}
	return keys
}

// notes say what the picture does not show as a line.
func (d *airPicture) notes() []string {
	var notes remarks
	for _, m := range d.Moments {
		if m.Refused != "" {
			notes.add(m.Milestone, "no answer: "+d.units.Text(m.Refused)+".")
		}
	}
	for _, c := range d.Climbs {
		switch {
		case c.WorkTo == nil:
			notes.add(c.Milestone, "likely only, no line: "+d.units.Text(c.Why)+".")
		case !c.Known && c.ByWitness:
			notes.add(c.Milestone, "the line is not reached: go by the witness cup. "+sentence(d.units.Text(c.Why)))
		case !c.Known:
			notes.add(c.Milestone, "the line is not reached. "+sentence(d.units.Text(c.Why)))
		case c.Why != "":
			notes.add(c.Milestone, d.units.Text(c.Why)+".")
		}
		if c.WorkTo != nil && c.Known && c.At.After(d.Until) {
			notes.add(c.Milestone, "reached after the picture ends: "+strings.ReplaceAll(c.Line.String(), "-", " ")+roundSafe(c.Moment).Format(" Mon 2 January 2006 15:04 MST.")+likelyLater(c))
		}
	}
	return notes.lines()
}

// likelyLater says when a milestone is likely, where that is known.
func likelyLater(c desk.Climb) string {
	if !c.LikelyKnown {
		return ""
	}
	return c.LikelyAt.Format(" Likely Mon 2 January 2006 15:04 MST.")
}

// sentence gives a text a capital and a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// forecast is the instant from which the air is not measured.
func (d *airPicture) forecast() time.Time {
	if d.Measured.Before(d.From) {
		return d.From
	}
	return d.Measured
}

// degrees is the scale of temperature.
func (d *airPicture) degrees() scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(v float64) {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, r := range d.Readings {
		see(r.ColdestC)
		see(r.WarmestC)
		see(r.PartC)
		see(math.Max(r.DewC, r.AirC-40))
	}
	if p := d.Class.Apply.Part; !p.IsZero() {
		see(math.Max(p.Lo, lo-15))
		see(math.Min(p.Hi, hi+15))
	}
	room := math.Max(1, 0.06*(hi-lo))
	return scale{lo: math.Floor(lo - room), hi: math.Ceil(hi + room)}
}

// grounds draws what lies under the lines: limits, doubt, forecast.
func (d *airPicture) grounds(panels []panel) {
	band := func(q panel, lo, hi float64) {
		b := q.Rectangle
		b.Min.Y, b.Max.Y = max(b.Min.Y, q.y.at(lo)), min(b.Max.Y, q.y.at(hi))
		if b.Max.Y > b.Min.Y {
			d.fill(b, allowed)
		}
	}
	if r := d.Class.Apply.Part; !r.IsZero() {
		band(panels[0], r.Lo, r.Hi)
	}
	if r := d.Class.Apply.RH; !r.IsZero() && d.Humid {
		band(panels[1], r.Lo, r.Hi)
	}
	if d.Doubt {
		var area []vg.Point
		for _, r := range d.Readings {
			area = append(area, panels[0].point(d.clock.seconds(r.At), r.WarmestC))
		}
		for i := len(d.Readings) - 1; i >= 0; i-- {
			r := d.Readings[i]
			area = append(area, panels[0].point(d.clock.seconds(r.At), r.ColdestC))
		}
		d.FillPolygon(doubt, area)
	}
	from := d.forecast()
	if !from.Before(d.Until) {
		return
	}
	for i, q := range panels {
		b := q.Rectangle
		b.Min.X = q.x.at(d.clock.seconds(from))
		d.hatch(b, faint)
		if from.After(d.From) {
			d.line(ink, 0.8, []vg.Length{6, 3}, b.Min, vg.Point{X: b.Min.X, Y: b.Max.Y})
		}
		if i == 0 {
			d.forecastName(b)
		}
	}
}

// forecastName writes the word over the part of a panel that is one.
func (d *airPicture) forecastName(b vg.Rectangle) {
	const word = "forecast"
	if w := smallText.width(word); b.Max.X-b.Min.X > w {
		d.text(b.Min.X+2, b.Max.Y+3, left, smallText, word)
		return
	}
	d.text(b.Max.X, b.Max.Y+3, right, smallText, word)
}

// temperatures draws the upper panel.
func (d *airPicture) temperatures(q panel) {
	d.sideTicks(q, q.y, named(evenTicks(q.y, 14), " °C"), right, true)
	f := q.y.fahrenheit()
	d.sideTicks(q, f, named(evenTicks(f, 14), " °F"), left, false)
	d.frame(q.Rectangle, rule, 0.8)
	series := []struct {
		name  string
		color color.Color
		width vg.Length
		dash  []vg.Length
		of    func(desk.AirReading) float64
	}{
		{"dew point", dewColor, 1.4, []vg.Length{5, 1.5, 1.5, 1.5}, func(r desk.AirReading) float64 { return r.DewC }},
		{"air", airColor, 1.2, nil, func(r desk.AirReading) float64 { return r.AirC }},
		{"part", ink, 2, nil, func(r desk.AirReading) float64 { return r.PartC }},
	}
	if !d.PartLags {
		series[1].name = "air and part"
		series[1].width, series[1].color = 2, ink
		series = series[:2]
	}
	last := d.Readings[len(d.Readings)-1]
	var want, heights []vg.Length
	for _, s := range series {
		for _, run := range d.clip(q, d.trace(q, s.of)) {
			d.line(s.color, s.width, s.dash, run...)
		}
		y := min(max(q.y.at(s.of(last)), q.Min.Y), q.Max.Y)
		want, heights = append(want, y), append(heights, 11)
	}
	x := q.Max.X + 44
	for i, y := range spread(want, heights, q.Min.Y, q.Max.Y) {
		s := series[i]
		d.line(s.color, s.width, s.dash, vg.Point{X: x, Y: y}, vg.Point{X: x + 14, Y: y})
		d.text(x+18, y-3.2, left, plainText, s.name)
	}
}

// trace places a series of readings in a panel; what is no number is left out.
func (d *airPicture) trace(q panel, of func(desk.AirReading) float64) (pts []vg.Point) {
	for _, r := range d.Readings {
		if v := of(r); !math.IsInf(v, 0) && !math.IsNaN(v) {
			pts = append(pts, q.point(d.clock.seconds(r.At), v))
		}
	}
	return pts
}

// humidity draws the middle panel.
func (d *airPicture) humidity(q panel) {
	d.sideTicks(q, q.y, []tick{{0, "0 %"}, {25, ""}, {50, "50 %"}, {75, ""}, {100, "100 %"}}, right, true)
	if m := d.Class.Moisture; m != nil && m.MinRH > 0 {
		y := q.y.at(m.MinRH)
		d.line(ink, 0.9, []vg.Length{2, 2}, vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		d.text(q.Max.X+6, y-2.9, left, smallText, fmt.Sprintf("drier than %g %%: witness cup", m.MinRH))
	}
	d.frame(q.Rectangle, rule, 0.8)
	d.line(ink, 1.5, nil, d.trace(q, func(r desk.AirReading) float64 { return r.RH })...)
	d.text(q.Max.X+6, q.Max.Y-8, left, plainText, "RH at the part")
}

// progress draws the lower panel: how far each milestone has come.
func (d *airPicture) progress(q panel) {
	d.sideTicks(q, q.y, []tick{{0, "0 %"}, {0.25, ""}, {0.5, "50 %"}, {0.75, ""}, {1, "100 %"}}, right, true)
	d.frame(q.Rectangle, rule, 0.8)
	for i, c := range d.Climbs {
		l := looks[c.Milestone]
		k, n := d.twins(i, func(c desk.Climb) []desk.Gain { return c.LikelyWay })
		d.turn(l.color, likelyWidth, l.dash, k, n, d.gains(q, c.LikelyWay))
	}
	for i, c := range d.Climbs {
		k, n := d.twins(i, func(c desk.Climb) []desk.Gain { return c.WorkTo })
		d.turn(looks[c.Milestone].color, lineWidth, nil, k, n, d.gains(q, c.WorkTo))
	}
	d.ends(q)
}

func (d *airPicture) gains(q panel, way []desk.Gain) (pts []vg.Point) {
	for _, g := range way {
		pts = append(pts, q.point(d.clock.seconds(g.At), g.Part))
	}
	return pts
}

// twins says which of how many ways that lie on one another way i is.
func (d *airPicture) twins(i int, of func(desk.Climb) []desk.Gain) (k, n int) {
	alike := func(a, b []desk.Gain) bool {
		if len(a) != len(b) {
			return false
		}
		for j := range a {
			if math.Abs(a[j].At.Sub(b[j].At).Seconds()) > d.clock.hi/500 || math.Abs(a[j].Part-b[j].Part) > 0.005 {
				return false
			}
		}
		return true
	}
	for j := range d.Climbs {
		if alike(of(d.Climbs[i]), of(d.Climbs[j])) {
			if n++; j < i {
				k++
			}
		}
	}
	return k, n
}
