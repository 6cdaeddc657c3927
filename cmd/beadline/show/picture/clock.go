package picture

import (
	"time"

	"gonum.org/v1/plot/vg"
)

// clockScale is a scale of time between two instants, in s from the first.
type clockScale struct {
	scale
	from, until time.Time
}

func newClock(from, until time.Time) clockScale {
	return clockScale{scale{lo: 0, hi: until.Sub(from).Seconds()}, from, until}
}

// seconds is an instant on the scale.
func (c clockScale) seconds(t time.Time) float64 { return t.Sub(c.from).Seconds() }

// hourTicks are local times of day on the scale, at least so far apart, and how many
// minutes lie between two; none where a day is too narrow for its noon.
func (c clockScale) hourTicks(apart vg.Length) (ticks []tick, step int) {
	perMinute := (c.to - c.scale.from) / vg.Length(c.hi/60)
	for _, step = range []int{5, 10, 15, 30, 60, 120, 180, 360, 720} {
		if vg.Length(step)*perMinute >= apart {
			break
		}
	}
	if vg.Length(step)*perMinute < apart {
		return nil, 24 * 60
	}
	layout := "15"
	if step < 60 {
		layout = "15:04"
	}
	for _, midnight := range c.midnights() {
		for m := 0; m < 24*60; m += step {
			y, mo, d := midnight.Date()
			t := time.Date(y, mo, d, m/60, m%60, 0, 0, c.from.Location())
			if t.Hour()*60+t.Minute() != m || t.Before(c.from) || t.After(c.until) {
				continue // the clock skips it that day, or it is outside
			}
			if n := len(ticks); n > 0 && c.at(c.seconds(t))-c.at(ticks[n-1].v) < apart*0.99 {
				continue // the clocks were changed between the two
			}
			ticks = append(ticks, tick{c.seconds(t), t.Format(layout)})
		}
	}
	return ticks, step
}

// midnights are the beginnings of every day that the scale touches; the first lies
// before it.
func (c clockScale) midnights() (all []time.Time) {
	y, m, d := c.from.Date()
	for i := 0; ; i++ {
		t := time.Date(y, m, d+i, 0, 0, 0, 0, c.from.Location())
		if t.After(c.until) {
			return all
		}
		all = append(all, t)
	}
}

// dayNames writes the names of the days under a panel, as long as fits: “Mon 22 Mar”,
// “Mon 22”, “22”, and in the end only every so many days.
func (p *page) dayNames(c clockScale, y vg.Length) {
	all := c.midnights()
	perDay := (c.to - c.scale.from) / vg.Length(c.hi/day)
	layout, every := "22", 1
	for _, layout = range []string{"Mon 2 Jan", "Mon 2", "2 Jan", "2"} {
		if tickText.width(time.Date(2000, 5, 24, 0, 0, 0, 0, time.UTC).Format(layout))+6 <= perDay {
			break
		}
	}
	for ; tickText.width("24 May")+6 > perDay*vg.Length(every) && perDay < 14; every++ {
		layout = "2 Jan"
	}
	for i, t := range all {
		next := c.until
		if i+1 < len(all) {
			next = all[i+1]
		}
		x0, x1 := max(c.scale.from, c.at(c.seconds(t))), min(c.to, c.at(c.seconds(next)))
		if i%every > 0 {
			continue
		}
		name := t.Format(layout)
		if w := tickText.width(name) + 4; w > x1-x0 && every == 1 {
			continue // a day cut off at the edge
		}
		if every > 1 {
			if x0+tickText.width(name) < c.to && x0 > c.scale.from {
				p.text(x0, y, left, tickText, name)
			}
			continue
		}
		p.text((x0+x1)/2, y, center, tickText, name)
	}
}

// clockAxis draws local time under the lowest of panels that stand on one another,
// and the lines of hours and midnights across all of them.
func (p *page) clockAxis(panels []panel, c clockScale) {
	low := panels[len(panels)-1]
	c.scale = low.x
	ticks, step := c.hourTicks(17)
	if step < 60 {
		ticks, _ = c.hourTicks(28)
	}
	for _, q := range panels {
		for _, t := range ticks {
			x := c.at(t.v)
			p.line(faint, 0.5, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Max.Y})
		}
		for _, t := range c.midnights()[1:] {
			x := c.at(c.seconds(t))
			p.line(hatched, 0.8, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Max.Y})
		}
	}
	for _, t := range ticks {
		x := c.at(t.v)
		p.line(rule, 0.6, nil, vg.Point{X: x, Y: low.Min.Y}, vg.Point{X: x, Y: low.Min.Y - 3})
		p.text(x, low.Min.Y-11, center, tickText, t.text)
	}
	y := low.Min.Y - 22
	if ticks == nil {
		y += 11
	}
	for _, t := range c.midnights()[1:] {
		x := c.at(c.seconds(t))
		p.line(hatched, 0.8, nil, vg.Point{X: x, Y: low.Min.Y}, vg.Point{X: x, Y: y - 2})
	}
	p.dayNames(c, y)
}

// zoneName is how local time is called from one instant to another.
func zoneName(from, until time.Time) string {
	a, b := from.Format("MST"), until.In(from.Location()).Format("MST")
	if a == b {
		return a
	}
	return a + ", then " + b
}
