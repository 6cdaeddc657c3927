package job

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/cure"

	"github.com/goccy/go-yaml/ast"
	"github.com/rickb777/date/clock"
)

// Decode reads a job from YAML and checks it; name is the file's name, for
// messages. The error is of type Problems, one line each: place, what is wrong,
// what would be right. A job that is returned is whole: see the package comment.
//
// Every key of the file must be known, every quantity must carry its unit, every
// time must exist in the job's zone. What was not said and had to be taken is in
// Assumed. Class ids, log files and batches are only names here: whether they
// exist is for the caller to see.
func Decode(data []byte, name string) (*Job, error) {
	if name == "" {
		name = "job"
	}
	d := &decoder{report: report{name: name}, job: &Job{File: name, Zone: time.UTC}, taken: map[string]named{}}
	// Each stage speaks only if the one before found nothing, so that one slip
	// is not reported as many.
	for _, stage := range []func(){
		func() {
			if root, ok := d.parse(data); ok {
				d.top(root)
			}
		},
		d.size,
		d.resolve,
		d.check,
	} {
		stage()
		if err := d.failed(); err != nil {
			return nil, err
		}
	}
	d.job.Assumed = d.assumptions()
	return d.job, nil
}

// decoder is one reading of one file.
type decoder struct {
	report
	job   *Job
	notes []note

	taken  map[string]named // what each id stands for
	later  []func()         // references, resolved once all ids are known
	skills []skillUse
	pots   []potUse

	shiftsAt place
	atWork   map[string]bool // of each of the crew: at work in the days that a plan looks at
}

// note is something assumed, for one thing or for several alike.
type note struct {
	text string
	of   []string
}

// assume notes what was not said and how it was taken.
func (d *decoder) assume(format string, args ...any) {
	d.notes = append(d.notes, note{text: fmt.Sprintf(format, args...)})
}

// assumeFor notes the same for several things: text is a sentence without its
// full stop.
func (d *decoder) assumeFor(thing, text string) {
	for i := range d.notes {
		if d.notes[i].text == text {
			d.notes[i].of = append(d.notes[i].of, thing)
			return
		}
	}
	d.notes = append(d.notes, note{text, []string{thing}})
}

func (d *decoder) assumptions() []string {
	var out []string
	for _, n := range d.notes {
		if n.of == nil {
			out = append(out, n.text)
			continue
		}
		out = append(out, n.text+": "+strings.Join(n.of, ", ")+".")
	}
	return out
}

// top reads the whole file. The zone comes first, since every time needs it.
func (d *decoder) top(root ast.Node) {
	s, ok := d.open(root, "the job", "job", "title", "zone", "start", "ready-by", "air", "air-margin", "part",
		"mixing", "crew", "shifts", "joints", "access", "covers", "renew", "checks", "gates", "ready")
	if !ok {
		return
	}
	j := d.job
	j.ID = need(s, "job", "job: NF12-0417", readName)
	j.Title = orElse(s, "title", "", readName)
	if loc := need(s, "zone", "zone: Atlantic/Faroe", readZone); loc != nil {
		j.Zone = loc
	}
	j.Start = need(s, "start", "start: 2027-03-08T07:00", d.local("start", earlier))
	if by, ok := get(s, "ready-by", d.local("ready-by", earlier)); ok {
		j.ReadyBy = by
		if !j.Start.IsZero() && !by.After(j.Start) {
			d.wrong(s.place("ready-by"), "ready-by is not after start; give a later time, or take ready-by out to plan the earliest")
		}
	}
	d.air(s)
	if n, ok := s.value("part"); ok {
		j.Part = d.part(n, "part")
	}
	d.mixing(s)
	d.crew(s)
	d.shifts(s)
	d.joints(s)
	d.access(s)
	d.covers(s)
	d.renew(s)
	d.checks(s)
	d.gates(s)
	d.ready(s)
	d.use(j.Mixing.Can, 1, "mixing", s.place("mixing"))
}

func (d *decoder) air(s *section) {
	if !s.has("air") {
		s.missing("air", "air: [{constant: {temp: 18C, rh: 45%}}]")
	}
	nodes := s.list("air", "[{log: hangar.csv}, {swing: {…}}]")
	if n, ok := s.entries["air"]; ok && len(nodes) == 0 && !isNull(n.node) {
		d.wrong(n.at, "air is empty; say what the air is or is expected to be, like {constant: {temp: 18C, rh: 45%%}}")
	}
	for i, n := range nodes {
		p, ok := d.airPiece(n, fmt.Sprintf("air piece %d", i+1))
		if !ok {
			continue
		}
		if len(d.job.Air) > 0 {
			d.airOrder(d.job.Air[len(d.job.Air)-1], p, at(n))
		}
		d.job.Air = append(d.job.Air, p)
	}
	if m, ok := get(s, "air-margin", readStep); ok {
		d.job.AirMargin = m
	} else {
		d.job.AirMargin = 2
		d.assume("The air that is expected is taken 2 °C colder for cure and 2 °C warmer for pot life (air-margin, not said).")
	}
}

// airOrder refuses a piece that could never be used.
func (d *decoder) airOrder(before, p AirPiece, at place) {
	switch {
	case before.Swing != nil || before.Constant != nil:
		d.wrong(at, "air: nothing can follow a swing or constant air, which goes on without end; put it last")
	case p.Log != "" && before.Forecast != "":
		d.wrong(at, "air: a measured log cannot follow a forecast; put the log first")
	}
}

func (d *decoder) airPiece(n ast.Node, what string) (p AirPiece, ok bool) {
	s, ok := d.open(n, what, "log", "forecast", "swing", "constant")
	if !ok {
		return p, false
	}
	if len(s.entries) != 1 {
		if len(s.meant) == 0 {
			d.wrong(s.at, "%s: exactly one of log, forecast, swing, constant is wanted in each entry; start a new entry for the next", what)
		}
		return p, false
	}
	p.Line = s.at.line
	p.Log = orElse(s, "log", "", readName)
	p.Forecast = orElse(s, "forecast", "", readName)
	if n, ok := s.value("swing"); ok {
		p.Swing = d.swing(n, "swing")
	}
	if n, ok := s.value("constant"); ok {
		if c, ok := d.open(n, "constant air", "temp", "rh"); ok {
			p.Constant = &cure.Air{TempC: need(c, "temp", "temp: 18C", readTemp), RH: need(c, "rh", "rh: 45%", readHumidity)}
		}
	}
	return p, true
}

func (d *decoder) swing(n ast.Node, what string) *Swing {
	s, ok := d.open(n, what, "low", "high", "warmest", "dew-point", "rh")
	if !ok {
		return nil
	}
	w := &Swing{DewC: math.NaN(), RH: math.NaN()}
	before := len(d.problems)
	w.LowC = need(s, "low", "low: 9C", readTemp)
	w.HighC = need(s, "high", "high: 16C", readTemp)
	sound := len(d.problems) == before && len(s.meant) == 0
	if sound && w.LowC > w.HighC {
		d.wrong(s.place("low"), "swing: low is above high; swap them")
	}
	if s.has("warmest") {
		w.Warmest = orElse(s, "warmest", 0, readClock)
	} else {
		w.Warmest = clock.New(15, 0, 0, 0)
		d.assume("The warmest time of day is taken as 15:00 (not said).")
	}
	switch dew, rh := s.has("dew-point"), s.has("rh"); {
	case dew && rh:
		d.wrong(s.place("rh"), "swing: dew-point and rh are both given; keep one")
	case dew:
		if v, ok := get(s, "dew-point", readTemp); ok {
			w.DewC = v
			if sound && v > w.LowC {
				d.wrong(s.place("dew-point"), "swing: the dew-point is above low, so water would fall out at night; give a dew-point of at most low, or rh")
			}
		}
	case rh:
		w.RH = orElse(s, "rh", 0, readHumidity)
	case !s.meant["dew-point"] && !s.meant["rh"]:
		d.wrong(s.at, "swing: the moisture of the air is missing; add dew-point: 6C or rh: 45%%")
	}
	return w
}

func (d *decoder) part(n ast.Node, what string) Part {
	s, ok := d.open(n, what, "at", "warms-in")
	if !ok {
		return Part{}
	}
	return Part{Set: true, AtC: need(s, "at", "at: -4C", readTemp), Tau: need(s, "warms-in", "warms-in: 3h", readTask)}
}

func (d *decoder) mixing(top *section) {
	m := &d.job.Mixing
	*m = Mixing{RoomC: 23, Takes: 8 * time.Minute, Waste: 0.15, Can: "seal"}
	s := &section{r: &d.report}
	if n, ok := top.value("mixing"); ok {
		if open, ok := d.open(n, "mixing", "room", "adds", "takes", "max", "waste", "can"); ok {
			s = open
		}
	}
	m.RoomC = orElse(s, "room", m.RoomC, readTemp)
	m.AddsC = orElse(s, "adds", 0, readStep)
	m.Takes = orElse(s, "takes", m.Takes, readTask)
	m.MaxML = orElse(s, "max", 0, readPot)
	m.Waste = orElse(s, "waste", m.Waste, readWaste)
	m.Can = orElse(s, "can", m.Can, readName)
	for _, a := range []struct{ key, text string }{
		{"takes", "Mixing by hand is taken as 8 min a pot (not said; 5 to 10 min is usual)."},
		{"room", "The room where pots are mixed and stand is taken at 23 °C (not said)."},
		{"adds", "Stirring is taken to add no heat to the pot (not said)."},
		{"waste", "15 % of each mix is taken to be lost in the pot and gun (not said)."},
	} {
		if !s.has(a.key) {
			d.assume("%s", a.text)
		}
	}
}
