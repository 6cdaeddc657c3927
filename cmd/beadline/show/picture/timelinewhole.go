package picture

import (
	"image/color"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

// The tints and colours of a timeline. Wet sealant has the colour of the line not to
// work past.
var (
	nightTint = color.RGBA{0xdc, 0xde, 0xe6, 0xff}
	onShift   = color.RGBA{0xf4, 0xf0, 0xd8, 0xff}
	warmTint  = color.RGBA{0xfb, 0xdd, 0xb8, 0xff}
	wetTint   = color.RGBA{0xfa, 0xe0, 0xd2, 0xff}
	wetColor  = looks[cure.Application].color
)

// wholeHeight is how much room the whole job takes at least.
func (d *timelinePicture) wholeHeight() vg.Length {
	h := d.gatesHeight() + tableHead + d.jointRow()*vg.Length(len(d.Seals)) + partGap + staffHigh + clockRoom + partGap
	if d.readings != nil {
		h += airGap + airHigh
	}
	return h
}

// jointRow is how high the row of a joint is at least: some names take two lines.
func (d *timelinePicture) jointRow() vg.Length {
	for _, s := range d.Seals {
		if len(wrap(s.ID, tickText, d.names-d.keyWidth()-4, 2)) > 1 {
			return 2*nameLine + 2
		}
	}
	return 15
}

// across is where the scale of time of the whole job lies.
func (d *timelinePicture) across() (from, to vg.Length) {
	return marginX + max(d.names, 44), d.wide - marginX - tableCells*tableCell
}

// whole draws the whole job from a top edge down, and gives the edge below. Spare room
// goes to the air and to the rows.
func (d *timelinePicture) whole(top, spare vg.Length) vg.Length {
	air, row := vg.Length(airHigh), d.jointRow()
	if d.readings == nil {
		air = 0
	}
	more := min(spare, 8*vg.Length(len(d.Seals)))
	row += more / vg.Length(len(d.Seals))
	if air > 0 {
		air += min(spare-more, 60)
	}
	d.clock = newClock(d.From, d.Until)
	d.clock.scale.from, d.clock.to = d.across()
	labels := d.gateLabels()
	top -= d.gatesHeight() + tableHead
	var panels []panel
	cut := func(h vg.Length, y scale) panel {
		b := vg.Rectangle{Min: vg.Point{X: d.clock.scale.from, Y: top - h}, Max: vg.Point{X: d.clock.to, Y: top}}
		top -= h + partGap
		panels = append(panels, newPanel(b, d.clock.scale, y))
		return panels[len(panels)-1]
	}
	joints := cut(row*vg.Length(len(d.Seals)), scale{lo: 0, hi: 1})
	staff := cut(staffHigh, scale{lo: 0, hi: float64(max(1, len(d.Crew)))})
	if air > 0 {
		top -= airGap - partGap // the numbers of two scales meet here
		cut(air, d.degrees())
	}
	for _, q := range panels {
		d.nightsOn(q, d.clock)
	}
	d.clockAxis(panels, d.clock)
	d.staff(staff)
	if air > 0 {
		d.temperatures(panels[2])
	}
	d.gates(panels, labels)
	d.joints(joints, row)
	low := panels[len(panels)-1]
	d.text(low.Max.X+8, low.Min.Y-22, left, smallText, zoneName(d.From, d.Until))
	return low.Min.Y - clockRoom - partGap
}

// nightsOn shades the nights of a panel.
func (d *timelinePicture) nightsOn(q panel, c clockScale) {
	for _, w := range d.Nights(c.from, c.until) {
		b := q.Rectangle
		b.Min.X, b.Max.X = q.x.at(c.seconds(w.From)), q.x.at(c.seconds(w.To))
		d.fill(b, nightTint)
	}
}

// joints draws a row for each joint: its name, its bands, and when it gets where.
func (d *timelinePicture) joints(q panel, row vg.Length) {
	x := q.Max.X
	for i, name := range []string{"last one in", "covers from", "flight from"} {
		d.text(x+tableCell*vg.Length(i)+8, q.Max.Y+3, left, smallText, name)
	}
	for i := range d.Seals {
		s := &d.Seals[i]
		y := q.Max.Y - row*(vg.Length(i)+0.5)
		if i > 0 {
			d.line(faint, 0.5, nil, vg.Point{X: marginX, Y: y + row/2}, vg.Point{X: d.wide - marginX, Y: y + row/2})
		}
		d.jointName(s, y)
		d.bands(q.x, d.clock, s, y, 10)
		var in time.Time
		for _, w := range s.Sittings {
			in = w.To
		}
		for k, t := range []time.Time{in, s.CloseFrom, s.FlyFrom} {
			text := t.In(d.Job.Zone).Format("Mon 2 15:04")
			if s.ByWitness && k > 0 {
				text += "*"
			}
			if !t.IsZero() {
				d.text(x+tableCell*vg.Length(k)+8, y-2.9, left, tickText, text)
			}
		}
	}
	d.frame(q.Rectangle, rule, 0.8)
}

// jointName writes the letter and the name of a joint beside the middle of its row.
func (d *timelinePicture) jointName(s *desk.JointLine, y vg.Length) {
	d.text(marginX, y-3.2, left, boldText, s.Key)
	x := marginX + d.keyWidth()
	d.nameAt(x, y, s.ID, d.names-d.keyWidth()-4)
}

// nameAt writes a name on one line or two, its middle at a height.
func (d *timelinePicture) nameAt(x, y vg.Length, name string, width vg.Length) {
	lines := wrap(name, tickText, width, 2)
	y += nameLine*vg.Length(len(lines))/2 - 7.2
	if len(lines) == 1 {
		y = y - nameLine/2 + 4.3
	}
	for i, l := range lines {
		d.text(x, y-vg.Length(i)*(nameLine-0.9), left, tickText, l)
	}
}

// bands draws the states of a joint, their middle at a height, on a scale of time.
func (d *timelinePicture) bands(x scale, c clockScale, s *desk.JointLine, y, high vg.Length) {
	l := looks[s.FlyNeeds]
	for _, b := range s.Bands {
		if b.To.Before(c.from) || b.From.After(c.until) {
			continue
		}
		box := vg.Rectangle{Min: vg.Point{X: max(x.from, x.at(c.seconds(b.From))), Y: y - high/2}, Max: vg.Point{X: min(x.to, x.at(c.seconds(b.To))), Y: y + high/2}}
		if b.Stage == desk.Wet {
			box.Max.X = max(box.Max.X, min(x.to, box.Min.X+1.2)) // seen, however short
		}
		if box.Max.X <= box.Min.X {
			continue
		}
		look := l
		if b.Stage == desk.Setting {
			look = looks[cure.TackFree]
		}
		d.band(box, look, b.Stage, b.Heated, s.ByWitness)
	}
	mark := func(t time.Time, l look) {
		if !t.Before(c.from) && !t.After(c.until) {
			d.mark(l, vg.Point{X: x.at(c.seconds(t)), Y: y}, s.ByWitness)
		}
	}
	if s.FlyNeeds != cure.TackFree {
		mark(s.CloseFrom, looks[cure.TackFree])
	}
	mark(s.FlyFrom, l)
}

// band draws one state of a joint. States are told apart by height and by what fills
// them, not by colour alone.
func (p *page) band(b vg.Rectangle, l look, s desk.Stage, hot, likely bool) {
	high := b.Max.Y - b.Min.Y
	thinner := func(part vg.Length) vg.Rectangle {
		x := b
		x.Min.Y += high * (1 - part) / 2
		x.Max.Y -= high * (1 - part) / 2
		return x
	}
	switch s {
	case desk.Open:
		p.line(dim, 0.8, []vg.Length{1.5, 1.5}, middle(b, 0), middle(b, 1))
	case desk.Preparing:
		box := thinner(0.6)
		p.fill(box, faint)
		p.frame(box, dim, 0.7)
	case desk.Torquing:
		box := thinner(0.8)
		p.fill(box, white)
		p.frame(box, ink, 1.2)
	case desk.Warming:
		box := thinner(0.6)
		p.fill(box, warmTint)
		p.frame(box, dim, 0.7)
	case desk.Wet:
		p.fill(b, wetColor)
	case desk.Setting:
		box := thinner(0.8)
		p.fill(box, white)
		if !likely {
			p.hatch(box, l.color)
		}
		p.outline(box, l.color, likely)
	case desk.Curing:
		box := thinner(0.4)
		p.fill(box, white)
		if !likely {
			p.line(l.color, 1, nil, middle(box, 0), middle(box, 1))
		}
		p.outline(box, l.color, likely)
	}
	if hot {
		p.line(wetColor, 1.6, nil, vg.Point{X: b.Min.X, Y: b.Max.Y}, b.Max)
	}
}

// outline frames a band; dashed is for what is likely only.
func (p *page) outline(b vg.Rectangle, c color.Color, dashed bool) {
	if !dashed {
		p.frame(b, c, 0.8)
		return
	}
	p.line(c, 0.8, []vg.Length{2, 1.5}, b.Min, vg.Point{X: b.Max.X, Y: b.Min.Y}, b.Max, vg.Point{X: b.Min.X, Y: b.Max.Y}, b.Min)
}

// staff draws how many people are on shift, and how many of them at work.
func (d *timelinePicture) staff(q panel) {
	steps := d.Staff()
	for i, s := range steps {
		end := d.Until
		if i+1 < len(steps) {
			end = steps[i+1].At
		}
		b := q.Rectangle
		b.Min.X, b.Max.X = max(q.Min.X, q.x.at(d.clock.seconds(s.At))), min(q.Max.X, q.x.at(d.clock.seconds(end)))
		if b.Max.X <= b.Min.X {
			continue
		}
		for _, n := range []struct {
			n int
			c color.Color
		}{{s.OnShift, onShift}, {s.AtWork, dim}} {
			if n.n > 0 {
				b.Max.Y = q.y.at(float64(n.n))
				d.fill(b, n.c)
			}
		}
		if s.OnShift > 0 {
			y := q.y.at(float64(s.OnShift))
			d.line(rule, 0.5, nil, vg.Point{X: b.Min.X, Y: q.Min.Y}, vg.Point{X: b.Min.X, Y: y}, vg.Point{X: b.Max.X, Y: y}, vg.Point{X: b.Max.X, Y: q.Min.Y})
		}
	}
	d.frame(q.Rectangle, rule, 0.8)
	d.nameAt(marginX, q.Min.Y+staffHigh/2, "people", d.names)
	d.sideTicks(q, q.y, []tick{{0, "0"}, {float64(len(d.Crew)), itoa(len(d.Crew))}}, right, false)
	d.text(q.Max.X+8, q.Min.Y+staffHigh/2+2, left, smallText, "light: on shift")
	d.text(q.Max.X+8, q.Min.Y+staffHigh/2-8, left, smallText, "dark: at work")
}

// degrees is the scale of temperature.
func (d *timelinePicture) degrees() scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range d.readings {
		for _, c := range []float64{r.ColdestC, r.WarmestC, r.PartC} {
			lo, hi = math.Min(lo, c), math.Max(hi, c)
		}
	}
	return scale{lo: math.Floor(lo - 1), hi: math.Ceil(hi + 1)}
}

// temperatures draws the air and the structure.
func (d *timelinePicture) temperatures(q panel) {
	var area []vg.Point
	for _, r := range d.readings {
		area = append(area, q.point(d.clock.seconds(r.At), r.WarmestC))
	}
	for i := len(d.readings) - 1; i >= 0; i-- {
		area = append(area, q.point(d.clock.seconds(d.readings[i].At), d.readings[i].ColdestC))
	}
	d.FillPolygon(doubt, area)
	d.sideTicks(q, q.y, named(evenTicks(q.y, 12), " °C"), right, true)
	d.frame(q.Rectangle, rule, 0.8)
	type series struct {
		name string
		c    color.Color
		w    vg.Length
		dash []vg.Length
		of   func(desk.AirReading) float64
	}
	all := []series{{"air", airColor, 1.3, nil, func(r desk.AirReading) float64 { return r.AirC }}}
	if d.lags {
		all = append(all, series{"structure", ink, 1.5, []vg.Length{5, 2}, func(r desk.AirReading) float64 { return r.PartC }})
	}
	f := q.y.fahrenheit()
	d.sideTicks(q, f, named(evenTicks(f, 12), " °F"), left, false)
	x := q.Max.X + 44
	y := (q.Min.Y+q.Max.Y)/2 + 5.5*vg.Length(len(all))
	for _, s := range all {
		var pts []vg.Point
		for _, r := range d.readings {
			pts = append(pts, q.point(d.clock.seconds(r.At), s.of(r)))
		}
		d.line(s.c, s.w, s.dash, pts...)
		y -= 11
		d.line(s.c, s.w, s.dash, vg.Point{X: x, Y: y + 3}, vg.Point{X: x + 14, Y: y + 3})
		d.text(x+18, y, left, tickText, s.name)
	}
	d.fill(vg.Rectangle{Min: vg.Point{X: x, Y: y - 11}, Max: vg.Point{X: x + 14, Y: y - 4}}, doubt)
	d.text(x+18, y-11, left, tickText, "how far it may be off")
}
