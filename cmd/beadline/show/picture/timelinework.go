package picture

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/plan"
	"beadline/cure/plan/verify"
)

// strip is one stretch of work on the page.
type strip struct {
	desk.Stretch
	wide  vg.Length // of its scale of time
	taken vg.Length // of its place, for what is written over it
}

// A stretch of work begins at a step of the wall's clock.
const workStep = 15 * time.Minute

// Heights and gaps of stretches of work.
const (
	stripHead = 23 // day and hours
	personRow = 27
	workRow   = 13
	stripGap  = 10
)

// stripRows breaks the work into stretches and those into rows of the page.
func (d *timelinePicture) stripRows() (out [][]strip) {
	room := d.wide - 2*marginX - d.names
	most := time.Duration(room/d.perMinute/15) * workStep
	var x vg.Length
	for _, s := range d.Stretches(most, workStep) {
		w := strip{Stretch: s, wide: d.perMinute * vg.Length(s.Shown.Sub(s.From).Minutes())}
		w.taken = max(w.wide, boldText.room(dayOf(s.From))+4, d.numbersWidth(s))
		if out == nil || x+w.taken > room {
			out, x = append(out, nil), 0
		}
		out[len(out)-1] = append(out[len(out)-1], w)
		x += w.taken + stripGap
	}
	return out
}

func dayOf(t time.Time) string { return t.Format("Mon 2 Jan") }

// numbersWidth is the room that the numbers over one person's boxes take at most.
func (d *timelinePicture) numbersWidth(s desk.Stretch) (most vg.Length) {
	for _, c := range d.Crew {
		var w vg.Length
		for _, k := range d.spells(c, s) {
			w += numberWidth(k.Task)
		}
		most = max(most, w)
	}
	return most
}

var numberText = style{8, true, ink}

func numberWidth(task int) vg.Length { return numberText.room(itoa(task+1)) + 3 }

// spells are one person's works in a stretch.
func (d *timelinePicture) spells(c desk.CrewLine, s desk.Stretch) (out []desk.Spell) {
	for _, k := range c.Works {
		if slices.Contains(s.Tasks, k.Task) && k.From.Before(s.To) && !k.To.Before(s.From) {
			out = append(out, k)
		}
	}
	return out
}

// rowOf says who and which joints have work in a row of stretches.
func (d *timelinePicture) rowOf(row []strip) (crew []desk.CrewLine, seals []*desk.JointLine) {
	for _, c := range d.Crew {
		if slices.ContainsFunc(row, func(s strip) bool { return d.spells(c, s.Stretch) != nil }) {
			crew = append(crew, c)
		}
	}
	for i := range d.Seals {
		if slices.ContainsFunc(row, func(s strip) bool {
			return slices.ContainsFunc(s.Tasks, func(k int) bool { return d.sealing(&d.Tasks[k], &d.Seals[i]) })
		}) {
			seals = append(seals, &d.Seals[i])
		}
	}
	return crew, seals
}

// sealing reports whether a task changes the state of a joint.
func (d *timelinePicture) sealing(t *plan.Task, s *desk.JointLine) bool {
	if t.Kind == plan.TaskKind(verify.Mix) {
		return slices.ContainsFunc(s.Pots, func(p desk.Pot) bool { return p.Mix == t.Mix })
	}
	return t.Joint == s.ID && t.Kind != plan.TaskKind(verify.Inspect)
}

// stripsHeight is how much room the stretches of work take.
func (d *timelinePicture) stripsHeight() (h vg.Length) {
	for _, row := range d.strips {
		crew, seals := d.rowOf(row)
		h += stripHead + personRow*vg.Length(len(crew)) + workRow*vg.Length(len(seals)) + partGap
	}
	return h
}

// stripRow draws one row of stretches from a top edge down, and gives the edge below.
func (d *timelinePicture) stripRow(row []strip, top vg.Length) vg.Length {
	crew, seals := d.rowOf(row)
	top -= stripHead
	bottom := top - personRow*vg.Length(len(crew)) - workRow*vg.Length(len(seals))
	for i, c := range crew {
		d.nameAt(marginX, top-personRow*(vg.Length(i)+0.5)-3, c.Who, d.names-4)
	}
	for i, s := range seals {
		y := top - personRow*vg.Length(len(crew)) - workRow*(vg.Length(i)+0.5)
		d.text(marginX, y-3.2, left, boldText, s.Key)
		d.text(marginX+d.keyWidth(), y-2.9, left, tickText, wrap(s.ID, tickText, d.names-d.keyWidth()-4, 1)[0])
	}
	x := marginX + d.names
	for _, s := range row {
		q := newPanel(vg.Rectangle{Min: vg.Point{X: x, Y: bottom}, Max: vg.Point{X: x + s.wide, Y: top}}, scale{lo: 0, hi: s.Shown.Sub(s.From).Seconds()}, scale{lo: 0, hi: 1})
		d.strip(q, s, crew, seals)
		x += s.taken + stripGap
	}
	return bottom - partGap
}

// strip draws one stretch of work.
func (d *timelinePicture) strip(q panel, s strip, crew []desk.CrewLine, seals []*desk.JointLine) {
	c := newClock(s.From, s.Shown)
	c.scale = q.x
	d.nightsOn(q, c)
	for i, p := range crew {
		b := q.Rectangle
		b.Max.Y = q.Max.Y - personRow*vg.Length(i) - 10.5
		b.Min.Y = b.Max.Y - 15
		for _, w := range p.Shifts {
			if w.From.Before(s.Shown) && w.To.After(s.From) {
				b.Min.X, b.Max.X = max(q.Min.X, q.x.at(c.seconds(w.From))), min(q.Max.X, q.x.at(c.seconds(w.To)))
				d.fill(b, onShift)
			}
		}
	}
	d.stripHours(q, c, s)
	for i, p := range crew {
		y := q.Max.Y - personRow*vg.Length(i)
		d.person(q, c, s, p, y)
		d.line(faint, 0.5, nil, vg.Point{X: q.Min.X, Y: y - personRow}, vg.Point{X: q.Max.X, Y: y - personRow})
	}
	for i, p := range seals {
		y := q.Max.Y - personRow*vg.Length(len(crew)) - workRow*(vg.Length(i)+0.5)
		d.bands(q.x, c, p, y, 9)
		for _, pot := range p.Pots {
			if at := c.seconds(pot.DoneBy); q.x.holds(at) {
				x := q.x.at(at)
				d.line(white, 3.6, nil, vg.Point{X: x, Y: y - 6}, vg.Point{X: x, Y: y + 6})
				d.line(wetColor, 2.2, nil, vg.Point{X: x, Y: y - 6}, vg.Point{X: x, Y: y + 6})
			}
		}
	}
	d.frame(q.Rectangle, rule, 0.8)
}

// stripHours writes the day and the hours over a stretch of work, and their lines.
func (d *timelinePicture) stripHours(q panel, c clockScale, s strip) {
	d.text(q.Min.X, q.Max.Y+13, left, boldText, dayOf(s.From))
	ticks, _ := c.hourTicks(30)
	for i, t := range ticks {
		x := c.at(t.v)
		text := c.from.Add(time.Duration(t.v) * time.Second).Format("15:04")
		d.line(faint, 0.5, nil, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Max.Y})
		d.line(rule, 0.6, nil, vg.Point{X: x, Y: q.Max.Y}, vg.Point{X: x, Y: q.Max.Y + 2.5})
		if w := tickText.room(text); i+1 < len(ticks) || x+w < q.Min.X+max(s.taken, s.wide)+stripGap-3 {
			d.text(x, q.Max.Y+4, left, tickText, text)
		}
	}
}

// person draws the tasks of one of the crew under a top edge: a box for each with its
// number over it, and its name in it where that fits.
func (d *timelinePicture) person(q panel, c clockScale, s strip, p desk.CrewLine, top vg.Length) {
	spells := d.spells(p, s.Stretch)
	var want, widths []vg.Length
	var boxes []vg.Rectangle
	for _, k := range spells {
		b := vg.Rectangle{Min: vg.Point{X: max(q.Min.X, q.x.at(c.seconds(k.From))), Y: top - 25.5}, Max: vg.Point{X: min(q.Max.X, q.x.at(c.seconds(k.To))), Y: top - 10.5}}
		b.Max.X = max(b.Max.X, b.Min.X+1)
		boxes = append(boxes, b)
		want, widths = append(want, (b.Min.X+b.Max.X)/2), append(widths, numberWidth(k.Task))
	}
	for i, x := range spread(want, widths, q.Min.X, q.Min.X+max(s.taken, s.wide)) {
		k, b := spells[i], boxes[i]
		t := &d.Tasks[k.Task]
		d.taskBox(b, running(t))
		for _, name := range d.boxNames(t) {
			if w := name.room(); w+3 <= b.Max.X-b.Min.X {
				d.callName((b.Min.X+b.Max.X-w)/2+1, b.Min.Y+5, name)
				break
			}
		}
		if abs(x-want[i]) > 2 {
			d.line(rule, 0.5, nil, vg.Point{X: x, Y: top - 9}, vg.Point{X: want[i], Y: b.Max.Y})
		}
		d.text(x-numberText.width(itoa(k.Task+1))/2, top-8.3, left, numberText, itoa(k.Task+1))
	}
}

// taskBox draws the box of a task; with a thick foot while a pot runs.
func (p *page) taskBox(b vg.Rectangle, running bool) {
	if !running {
		p.fill(b, white)
		p.frame(b, ink, 0.7)
		return
	}
	p.fill(b, wetTint)
	p.frame(b, ink, 0.7)
	p.line(wetColor, 2.4, nil, vg.Point{X: b.Min.X, Y: b.Min.Y + 1.2}, vg.Point{X: b.Max.X, Y: b.Min.Y + 1.2})
}

// running reports whether a pot runs while a task is done: from mixing on.
func running(t *plan.Task) bool { return t.Mix != "" }

// called is the name of a task, with the letter of its joint before it.
type called struct{ key, name string }

// letterGap is between the letter and the name.
const letterGap = 2.5

func (c called) room() (w vg.Length) {
	if c.key != "" {
		w = numberText.room(c.key)
	}
	if c.key != "" && c.name != "" {
		w += letterGap
	}
	if c.name != "" {
		w += tickText.room(c.name)
	}
	return w
}

// callName writes the name of a task, its joint's letter in bold.
func (p *page) callName(x, y vg.Length, c called) {
	if w := p.text(x, y, left, numberText, c.key); w > 0 {
		x += w + letterGap
	}
	p.text(x, y, left, tickText, c.name)
}

// boxNames are what a task may be called in its box, the longest first.
func (d *timelinePicture) boxNames(t *plan.Task) []called {
	name, key := d.short(t), d.Letter(t.Joint)
	word, _, _ := strings.Cut(name, " ")
	switch verify.Kind(t.Kind) {
	case verify.Mix:
		return []called{{"", name}, {"", t.Mix}, {"", strings.TrimPrefix(t.Mix, "mix ")}}
	case verify.Check:
		return []called{{"", name}}
	case verify.Heat:
		word = "heat"
	}
	if key == "" {
		return []called{{"", name}, {"", word}}
	}
	return []called{{key, name}, {key, word}, {key, ""}}
}

// short is what a task is called without the name of its joint, which its letter says.
func (d *timelinePicture) short(t *plan.Task) string {
	if t.Joint == "" {
		return t.ID
	}
	return strings.Replace(t.ID, ", "+t.Joint, "", 1)
}

// inWords is what a task is called in the list.
func (d *timelinePicture) inWords(t *plan.Task) called {
	s, key := d.short(t)+show.TorqueValue(d.Plan, *t), d.Letter(t.Joint)
	if len(t.Who) > 0 {
		s += " (" + strings.Join(t.Who, ", ") + ")"
	}
	if t.Kind == plan.TaskKind(verify.Mix) {
		key = ""
		for _, m := range d.Mixes {
			if m.ID == t.Mix && !m.DoneBy.IsZero() {
				s += fmt.Sprintf("; all in by %s", m.DoneBy.In(d.Job.Zone).Format("15:04"))
			}
		}
	}
	return called{key, s}
}
