package desk

import (
	"cmp"
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/air"
)

// AirCourse is an answer in an air history as a picture shows it: the air at the joint
// over time, and how far each milestone has come in it.
type AirCourse struct {
	*Times
	Until    time.Time // the end of the picture
	Sources  []string  // the names of the pieces of air
	Humid    bool      // the class looks at the humidity
	PartLags bool      // the part is not at air temperature
	Doubt    bool      // the air may turn out colder or warmer than likely
	Readings []AirReading
	Climbs   []Climb

	near *cure.Site // Site, with its air up to the end of the picture
}

// AirReading is the air and the part at an instant.
type AirReading struct {
	At                 time.Time
	AirC, PartC        float64 // °C, likely
	ColdestC, WarmestC float64 // °C of the air, as lines to wait for and lines not to work past take it
	DewC               float64 // °C, dew point of the air; -Inf in air without water
	RH                 float64 // % at the part, 100 at most
}

// Climb is how far one milestone has come, from its start on.
type Climb struct {
	Moment
	Start     time.Time
	WorkTo    []Gain  // the line to work to; nil where the class goes by the witness cup
	LikelyWay []Gain  // the plain curve
	End       float64 // how far the line has come when the picture ends, 0 to 1
}

// Gain is how far a milestone has come at an instant: 0 at its start, 1 when it is
// reached.
type Gain struct {
	At   time.Time
	Part float64
}

// How a picture of an air history is sampled: how many readings, into how many parts
// the way to a milestone is cut at first, and the smallest part it is cut into.
const (
	airSteps   = 1000
	climbSteps = 32
	finest     = 1.0 / 1024
)

// A picture ends when its last milestone is reached. Full cure is left out where that
// would squeeze the rest into less than this part of the width.
const leastShown = 0.4

// unreached is how long a picture is at most where no line is reached in it.
const unreached = 14 * 24 * time.Hour

// CourseOf computes the picture of an answer in an air history. Errors: those of
// cure.Site.Reach.
func CourseOf(t *Times) (*AirCourse, error) {
	d := &AirCourse{Times: t, Humid: NeedsHumidity(t.Class) != ""}
	d.PartLags = t.Site.Part.Tau > 0 || t.Warmth != cure.Warmth{}
	for _, p := range t.Pieces {
		d.Sources = append(d.Sources, p.Name)
	}
	if err := d.bound(); err != nil {
		return nil, err
	}
	d.read()
	for _, mo := range t.Moments {
		if mo.Refused != "" {
			continue
		}
		c, err := d.climb(mo)
		if err != nil {
			return nil, err
		}
		d.Climbs = append(d.Climbs, c)
	}
	return d, nil
}

// bound finds the end of the picture, and cuts the air off behind it: a year of air
// takes its time, and no milestone beyond the end is drawn.
func (d *AirCourse) bound() error {
	d.Until = d.until()
	from := d.Site.Air.From()
	h, err := cure.NewHistory(d.Pieces, from, d.Until.Add(time.Second))
	if err != nil {
		return err
	}
	near := *d.Site
	near.Air, d.near = h, &near
	return nil
}

// until is where the picture ends: a little after the last milestone.
func (d *AirCourse) until() time.Time {
	var most, all time.Duration
	open := false
	for _, mo := range d.Moments {
		if mo.Refused != "" {
			continue
		}
		end := mo.At
		if mo.LikelyAt.After(end) {
			end = mo.LikelyAt
		}
		d := end.Sub(d.From)
		if end.IsZero() {
			d, open = 0, true
		}
		all = max(all, d)
		if mo.Milestone != cure.FullCure {
			most = max(most, d)
		}
	}
	if float64(most) > leastShown*float64(all) || most == 0 {
		most = all
	}
	if open {
		most = max(most, min(unreached, d.Measured.Sub(d.From)))
	}
	if most <= 0 {
		most = unreached
	}
	until := d.From.Add(most + most/25).Truncate(time.Second)
	if end := d.Site.Air.Until(); until.After(end) {
		return end
	}
	return until
}

// read samples the air from the start to the end of the picture.
func (d *AirCourse) read() {
	part := d.part()
	step := d.Until.Sub(d.From) / airSteps
	for i := range airSteps + 1 {
		at := d.From.Add(time.Duration(i) * step)
		airC, pv := d.Site.Air.At(at, cure.Likely)
		cold, _ := d.Site.Air.At(at, cure.NotBefore)
		warm, _ := d.Site.Air.At(at, cure.NotAfter)
		r := AirReading{At: at, AirC: airC, ColdestC: cold, WarmestC: warm, PartC: part(at), DewC: air.DewPoint(pv)}
		r.RH = math.Min(100, air.Humidity(r.PartC, pv))
		d.Doubt = d.Doubt || warm-cold > 0.05
		d.Readings = append(d.Readings, r)
	}
}

// part gives the likely temperature of the part, °C, at instants that rise. A structure
// warmed for sealing is kept warm until the last sealant is laid; from then on it
// follows the air, or the heat where that is warmer.
func (d *AirCourse) part() func(time.Time) float64 {
	probe, w := d.Site.Probe(cure.Likely), d.Warmth
	if w == (cure.Warmth{}) {
		return probe
	}
	if h := d.Class.Heat; h != nil {
		w.HeatC = math.Min(w.HeatC, h.MaxC)
	}
	drive := func(t time.Time) float64 {
		c, _ := d.Site.Air.At(t, cure.Likely)
		if w.Warmed && !t.Before(d.From) && t.Before(d.Laid) {
			c = math.Max(c, w.WarmedC)
		}
		if w.Heated && !t.Before(w.HeatFrom) {
			c = math.Max(c, w.HeatC)
		}
		return c
	}
	tau := d.Site.Part.Tau
	if tau == 0 {
		return drive
	}
	now := d.From
	if w.Heated && w.HeatFrom.Before(now) { // the heat has been on for a while
		now = latest(w.HeatFrom, d.Site.Air.From())
	}
	x, warmed := probe(now), !w.Warmed
	return func(t time.Time) float64 {
		for {
			if !warmed && !now.Before(d.From) {
				x, warmed = math.Max(x, w.WarmedC), true
			}
			if !now.Before(t) {
				return x
			}
			// Exact where what it follows stands still, and that moves little in a minute.
			h := min(time.Minute, t.Sub(now))
			c := drive(now.Add(h / 2))
			x = c + (x-c)*math.Exp(-h.Seconds()/tau.Seconds())
			now = now.Add(h)
		}
	}
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// climb computes how far one milestone has come.
func (d *AirCourse) climb(mo Moment) (Climb, error) {
	c := Climb{Moment: mo, Start: d.Laid}
	if mo.Line == cure.NotAfter {
		c.Start = d.From
	}
	var err error
	if c.LikelyWay, err = d.way(mo.Milestone, cure.Likely, c.Start); err != nil {
		return c, err
	}
	if d.Site.ByWitness(&d.Class.Class, mo.Milestone) {
		return c, nil
	}
	if c.WorkTo, err = d.way(mo.Milestone, mo.Line, c.Start); err != nil {
		return c, err
	}
	c.End = c.WorkTo[len(c.WorkTo)-1].Part
	return c, nil
}

// way is how far a milestone has come for a line, up to the end of the picture.
func (d *AirCourse) way(m cure.Milestone, line cure.Line, start time.Time) ([]Gain, error) {
	w := wayfinder{d: d, m: m, line: line, start: start, gains: []Gain{{start, 0}}, known: map[float64]time.Time{}}
	for k := range climbSteps {
		if !w.climb(w.gains[len(w.gains)-1].Part, float64(k+1)/climbSteps) {
			break
		}
	}
	return w.gains, w.err
}

// wayfinder finds when each part of a milestone's way is gone. A part f of it is gone
// when a milestone that takes f of the time is reached: so the way is that of the
// answer itself, whatever the line looks at.
type wayfinder struct {
	d     *AirCourse
	m     cure.Milestone
	line  cure.Line
	start time.Time
	gains []Gain
	known map[float64]time.Time
	err   error
}

// at is when a part of the way is gone; zero: not before the end of the picture.
func (w *wayfinder) at(f float64) time.Time {
	if t, ok := w.known[f]; ok {
		return t
	}
	l := logged{t: w.d.hurry(w.m, w.line, f), site: w.d.near}
	r, err := l.reach(w.m, w.line, w.start)
	if err != nil {
		w.err = err
		return time.Time{}
	}
	t := r.At
	if r.Never || t.After(w.d.Until) {
		t = time.Time{}
	}
	w.known[f] = t
	return t
}

// climb adds the way from a part that is gone to the part f: straight where the middle
// lies where it should, else in two halves, so that nights without cure lie flat. It
// reports whether f is reached within the picture; where it is not, the way ends there.
func (w *wayfinder) climb(from, f float64) bool {
	last := w.gains[len(w.gains)-1]
	end, mid := w.at(f), (from+f)/2
	switch half := w.at(mid); {
	case w.err != nil:
		return false
	case f-from > finest && (end.IsZero() || w.bent(last.At, half, end, f-from) || w.winds(last.At, half, end, from, f)):
		return w.climb(from, mid) && w.climb(mid, f)
	case end.IsZero():
		if w.d.Until.After(last.At) {
			w.gains = append(w.gains, Gain{w.d.Until, from})
		}
		return false
	}
	w.gains = append(w.gains, Gain{end, f})
	return true
}

// winds reports whether a way whose middle lies where it should bends on either side of
// it: as a step does that starts before the middle and ends behind it.
func (w *wayfinder) winds(last, half, end time.Time, from, f float64) bool {
	mid, part := (from+f)/2, (f-from)/2
	first, second := w.at((from+mid)/2), w.at((mid+f)/2)
	return w.err == nil && (w.bent(last, first, half, part) || w.bent(half, second, end, part))
}

// bent reports whether a way bends so much between two instants, in which a part of it
// is gone, that it shows: in the width of the picture and in its height.
func (w *wayfinder) bent(from, half, end time.Time, part float64) bool {
	off, span := (half.Sub(from) - end.Sub(from)/2).Abs().Seconds(), end.Sub(from).Seconds()
	return off > w.d.Until.Sub(w.d.From).Seconds()/800 && part*off/span > 1.0/800
}

// hurry is the question with one milestone that takes f of the time, for a line.
func (d *AirCourse) hurry(m cure.Milestone, line cure.Line, f float64) *Times {
	t, cl := *d.Times, *d.Class
	cl.Class = *hurried(&cl.Class, m, line, f)
	t.Class = &cl
	return &t
}

// hurried is a class whose one milestone takes f of the time, for a line.
func hurried(cl *cure.Class, m cure.Milestone, line cure.Line, f float64) *cure.Class {
	if m == cure.Assembly && cl.Curves[m] == nil {
		m = cure.Application // which stands for it
	}
	short, c := *cl, *cl.Curves[m]
	if line == cure.Likely {
		c.Humidity = scaled(c.Humidity, f)
	} else {
		// A line is the curve times what its spread leaves or adds.
		less, more := 1-c.Shorter, 1+c.Longer
		if c.States == cure.Minimum {
			less = 1
		}
		if c.States == cure.Maximum {
			more = 1
		}
		c.States, c.Shorter, c.Longer = cure.Typical, 1-f*less, f*more-1
	}
	short.Curves[m] = &c
	return &short
}

// scaled is a factor for humidity times f.
func scaled(h *cure.HumidityFactor, f float64) *cure.HumidityFactor {
	if h == nil {
		return &cure.HumidityFactor{Points: []cure.HumidityPoint{{RH: plainRH, Factor: f}}}
	}
	by := *h
	by.RefPV *= math.Pow(f, 1/cmp.Or(h.Power, 1))
	by.Points = slices.Clone(h.Points)
	for i := range by.Points {
		by.Points[i].Factor *= f
	}
	return &by
}

// LastMeasured is the last reading of the measured pieces of an air history; zero
// where there is none.
func LastMeasured(pieces []cure.Piece) (last time.Time) {
	for _, p := range pieces {
		if n := len(p.Samples); n > 0 && !p.Forecast && p.Samples[n-1].At.After(last) {
			last = p.Samples[n-1].At
		}
	}
	return last
}
