package picture

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
	"beadline/cure/plan"
)

// Timeline draws a plan over time. Above stands the whole job on one scale: the joints
// with what state each is in, how many people are there and at work, the air. Below,
// every stretch of work to the minute: who does what, and when each pot must be in. At
// the foot, each task in words. It is an A4 sheet if the plan fits one, else the next
// larger of the series.
func Timeline(l *desk.Timeline, u show.Units) *Picture {
	d := &timelinePicture{Timeline: l, units: u}
	d.readings, d.lags = l.Air()
	d.lay()
	return &Picture{
		title: d.title(),
		about: "The plan over time: the joints, wet, not yet tack-free and curing; the people and their tasks; the gates. " + d.answer(),
		draw: func(p *page) {
			d.page = p
			d.draw()
		},
		sheet: &vg.Point{X: d.wide, Y: d.high},
	}
}

// timelinePicture is the picture being drawn.
type timelinePicture struct {
	*page
	*desk.Timeline
	units    show.Units
	readings []desk.AirReading
	lags     bool

	wide, high vg.Length
	perMinute  vg.Length // of the stretches of work
	names      vg.Length // the column of names
	strips     [][]strip // in rows
	list       taskList
	clock      clockScale
}

// sheets are the A series, on their side, in mm; and perMinutes the scales that
// stretches of work are drawn at, in points, the largest that fits.
var (
	sheets     = [][2]vg.Length{{297, 210}, {420, 297}, {594, 420}, {841, 594}, {1189, 841}}
	perMinutes = []vg.Length{5, 4, 3.2, 2.8, 2.4, 2, 1.7, 1.45, 1.25}
)

// lay finds the smallest sheet that the plan fits, and the largest scale on it. What fits
// none gets a sheet as long as it takes.
func (d *timelinePicture) lay() {
	for _, s := range sheets {
		d.wide, d.high = s[0]*vg.Millimeter, s[1]*vg.Millimeter
		d.names = min(nameMost, d.nameWidth())
		d.list = d.newList()
		for _, d.perMinute = range perMinutes {
			d.strips = d.stripRows()
			if d.need() <= d.high {
				return
			}
		}
	}
	d.high = d.need()
}

// Heights of the parts of the picture.
const (
	staffHigh  = 22
	airHigh    = 44 // at least
	partGap    = 7
	airGap     = 14
	titleRow   = 15 // over a part
	tableHead  = 14
	nameMost   = 130
	nameLine   = 9
	gateRow    = 12
	tableCell  = 62
	tableCells = 3
)

// need is how high a sheet must be.
func (d *timelinePicture) need() vg.Length {
	h := marginY + d.said().height(d.wide) + d.wholeHeight() + d.stripsHeight() + d.list.height()
	return h + newFoot(d.keys(), d.notes(), d.wide).top()
}

// nameWidth is how wide the names of joints and people are, each on two lines at most.
func (d *timelinePicture) nameWidth() vg.Length {
	w := vg.Length(50)
	for _, s := range d.Seals {
		w = max(w, d.keyWidth()+widestLine(s.ID, tickText))
	}
	for _, c := range d.Crew {
		w = max(w, widestLine(c.Who, tickText))
	}
	return w + 8
}

// widestLine is how wide a name is on two lines, if it can be broken.
func widestLine(name string, s style) vg.Length {
	for w := s.room(name) / 2; ; w += 4 {
		if len(wrap(name, s, w, 0)) <= 2 {
			return w + 2
		}
	}
}

// keyWidth is the room of the letters before the joints' names.
func (d *timelinePicture) keyWidth() (w vg.Length) {
	for _, s := range d.Seals {
		w = max(w, boldText.room(s.Key)+4)
	}
	return w
}

// draw draws everything, and shares out what room the sheet has left.
func (d *timelinePicture) draw() {
	spare := d.high - d.need()
	top := d.page.head(d.said())
	d.page.foot(d.keys(), d.notes())
	top = d.whole(top, spare)
	for _, row := range d.strips {
		top = d.stripRow(row, top)
	}
	d.list.draw(d.page, top)
}

// answer is the ready time in a sentence.
func (d *timelinePicture) answer() string {
	s := fmt.Sprintf("Earliest %s: %s", d.Job.Ready, at(d.Ready, d.Job.Zone))
	if by := d.Job.ReadyBy; !by.IsZero() {
		s += fmt.Sprintf(" (wanted by %s)", at(by, d.Job.Zone))
	}
	return s + ". This is an earliest time, not a release."
}

func at(t time.Time, z *time.Location) string { return t.In(z).Format("Mon 2 January 2006 15:04 MST") }

// reasonsMost is how many reasons against a wish stand in the head.
const reasonsMost = 4

func (d *timelinePicture) title() string {
	if d.Job.Title == "" {
		return d.Job.ID
	}
	return d.Job.ID + ": " + d.Job.Title
}

// said is the head of the picture.
func (d *timelinePicture) said() head {
	h := head{title: d.title()}
	if x := d.Infeasible; x != nil {
		h.stops = append(h.stops, "Not feasible as asked. Drawn is the earliest plan found, for information.")
		for i, b := range x.Because {
			if i == reasonsMost && len(x.Because) > reasonsMost+1 {
				h.stops = append(h.stops, fmt.Sprintf("And %d reasons more: see the plan itself.", len(x.Because)-i))
				break
			}
			h.stops = append(h.stops, d.units.Text(b))
		}
	}
	h.stops = append(h.stops, d.answer())
	proof := "Proven: no plan is earlier, with at most one mix more than each layer needs."
	if !d.Proven {
		proof = fmt.Sprintf("Not proven earliest; no plan can be ready before %s.", at(d.Bound, d.Job.Zone))
	}
	if d.byWitness() {
		proof += " It holds only if the witness cups read cured by then."
	}
	h.facts = []string{proof}
	return h
}

func (d *timelinePicture) byWitness() bool {
	return slices.ContainsFunc(d.Joints, func(j plan.Joint) bool { return j.ByWitness })
}

// keys are the legend: of what is drawn.
func (d *timelinePicture) keys() []key {
	keys := []key{}
	seen := map[desk.Stage]bool{}
	hot := false
	for _, s := range d.Seals {
		for _, b := range s.Bands {
			seen[b.Stage] = true
			hot = hot || b.Heated
		}
	}
	for _, k := range []struct {
		stage desk.Stage
		text  string
	}{
		{desk.Preparing, "being prepared"},
		{desk.Warming, "structure being warmed"},
		{desk.Open, "open, waiting"},
		{desk.Wet, "wet: mixing to last sealant or fastener in"},
		{desk.Setting, "not yet tack-free"},
		{desk.Curing, "tack-free, curing towards what flight waits for"},
		{desk.Torquing, "cured gasket torqued"},
	} {
		if seen[k.stage] {
			keys = append(keys, key{func(p *page, b vg.Rectangle) { p.band(b, look{color: ink}, k.stage, false, false) }, k.text})
		}
	}
	if hot {
		keys = append(keys, key{func(p *page, b vg.Rectangle) { p.band(b, look{color: ink}, desk.Curing, true, false) }, "heat on"})
	}
	if d.byWitness() {
		keys = append(keys, key{func(p *page, b vg.Rectangle) { p.band(b, look{color: ink}, desk.Setting, false, true) }, "likely only: go by the witness cup"})
	}
	needs := map[cure.Milestone]bool{cure.TackFree: true}
	for _, s := range d.Seals {
		needs[s.FlyNeeds] = true
	}
	for m := range cure.NumMilestones {
		if needs[m] {
			keys = append(keys, key{func(p *page, b vg.Rectangle) { p.mark(looks[m], middle(b, 0.5), false) }, m.String()})
		}
	}
	keys = append(keys,
		key{func(p *page, b vg.Rectangle) {
			p.line(wetColor, 2.4, nil, middle(b, 0.5).Add(vg.Point{Y: -4}), middle(b, 0.5).Add(vg.Point{Y: 4}))
		}, "pot: all of it in by here"},
		key{func(p *page, b vg.Rectangle) { p.taskBox(b, true) }, "task while a pot runs"},
		key{func(p *page, b vg.Rectangle) { p.fill(b, onShift); p.frame(b, faint, 0.5) }, "on shift"})
	if d.Nights(d.From, d.Until) != nil {
		keys = append(keys, key{func(p *page, b vg.Rectangle) { p.fill(b, nightTint) }, "night, 20:00 to 06:00"})
	}
	return keys
}

// notes say what the picture leaves open.
func (d *timelinePicture) notes() []string {
	n := []string{"What the plan rests on, the amounts to draw and the cautions are in the plan itself: print it too."}
	if d.lags {
		n[0] += " The structure's temperature is drawn as if nobody warmed it."
	}
	if d.byWitness() {
		n = append(n, "* Only once the witness cup reads it: the time is likely, not a calculated line.")
	}
	return n
}
