package desk

import (
	"fmt"
	"math"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/warmup"
)

// WarmQuestion asks how long a cold pack stays closed and when what is in it is warm
// enough to mix or use.
type WarmQuestion struct {
	Class *catalog.Class
	// Pack is the pack; without a shape it is what the kind of class comes in, without a
	// volume and a mass the kit of the class.
	Pack  warmup.Pack
	FromC float64  // °C throughout when it leaves the cold
	Room  cure.Air // where it warms up and is opened
	// MarginC is how much colder than said, in °C, the room or bath may be.
	MarginC float64
	BathC   float64   // °C of a water bath that covers it; NaN: none
	Fan     bool      // a fan blows on it; not with a bath
	ToC     float64   // °C that it is wanted at; NaN: as the class says
	Left    time.Time // when it left the cold; zero: spans only
}

// Warm is the answer.
type Warm struct {
	WarmQuestion
	Medium       warmup.Medium
	Likely, Safe warmup.Body
	DewC         float64 // dew point of the room, °C; -Inf in air without water
	OpenC        float64 // °C that all of it must have to be opened; -Inf in air without water
	UseC         float64 // °C that all of it must have to be mixed or used
	UseFrom      catalog.Source
	Lines        []WarmLine
	Stops        []string // why it cannot be done so, or not for sure
	Fixes        []string // what would do, each calculated
	Mind         []string
	Assumed      []string
	RestsOn      []catalog.Source
	Cautions     []string
}

// WarmLine is one line of a warm-up, counted from leaving the cold.
type WarmLine struct {
	Name  WarmName
	Line  cure.Line
	TempC float64       // °C that it stands for; NaN: none
	Known bool          // there is a line to work to
	Span  time.Duration // whole seconds, rounded to the safe side
	// LikelyKnown is false where it is not likely ever to be.
	LikelyKnown  bool
	Likely       time.Duration
	At, LikelyAt time.Time // zero without WarmQuestion.Left
	Why          string    // why there is no line, or what sets it
	From         string    // what it rests on, where that is not the warm-up
}

// WarmName names a line of a warm-up.
type WarmName string

// The lines of a warm-up.
const (
	WarmDry  WarmName = "dry"  // no more dew on the outside: the coldest spot of the surface
	WarmOpen WarmName = "open" // may be opened: the core is clear of the dew point
	WarmUse  WarmName = "use"  // may be mixed or used: the core is warm enough
	WarmEnd  WarmName = "end"  // its life out of the freezer ends
)

// usualUseC is the temperature, in °C, at which a class is mixed that does not say.
const usualUseC = 18

// AskWarm answers. Errors: a pack, room or temperature that cannot be, a pack warmer
// than its room, more warmth than the class may have. Each is one line.
func AskWarm(q WarmQuestion) (*Warm, error) {
	w, err := askWarm(q)
	if err != nil {
		return nil, err
	}
	if len(w.Stops) > 0 {
		w.Fixes = w.fixes()
	}
	return w, nil
}

// askWarm is AskWarm without looking for what else would do.
func askWarm(q WarmQuestion) (*Warm, error) {
	w := &Warm{WarmQuestion: q, Medium: warmup.StillAir}
	if err := w.settle(); err != nil {
		return nil, err
	}
	w.Likely, w.Safe = w.Pack.Likely(w.Medium), w.Pack.Safe(w.Medium)
	likely, err := warmup.New(w.Likely)
	if err != nil {
		return nil, err
	}
	safe, err := warmup.New(w.Safe)
	if err != nil {
		return nil, err
	}
	dry := w.reach(WarmDry, warmup.Surface, w.OpenC, likely, safe)
	open := w.reach(WarmOpen, warmup.Core, w.OpenC, likely, safe)
	use := later(w.reach(WarmUse, warmup.Core, w.UseC, likely, safe), open)
	w.Lines = []WarmLine{dry, open, w.thawed(use)}
	if end, ok := w.life(); ok {
		w.Lines = append(w.Lines, end)
	}
	for i := range w.Lines {
		w.date(&w.Lines[i])
	}
	w.judge()
	w.warmWords()
	return w, nil
}

// settle fills in what was not said, and refuses what cannot be.
func (w *Warm) settle() error {
	if err := w.settlePack(); err != nil {
		return err
	}
	for _, c := range []float64{w.Room.TempC, w.Room.TempC - w.MarginC} {
		if err := air.CheckTemperature(c); err != nil {
			return &Refusal{"the room: " + err.Error()}
		}
	}
	if err := air.CheckHumidity(w.Room.RH); err != nil {
		return &Refusal{"the room: " + err.Error()}
	}
	switch {
	case !math.IsNaN(w.BathC):
		w.Medium = warmup.Bath
	case w.Fan:
		w.Medium = warmup.MovingAir
	}
	if w.FromC > w.around() {
		return &Refusal{fmt.Sprintf("a pack at %.4g C does not warm up in %.4g C: there is nothing to wait for", w.FromC, w.around())}
	}
	if c, why := WarmCeiling(w.Class); w.around() > c {
		return &Refusal{fmt.Sprintf("class %s is not warmed above %.4g C, %s", w.Class.ID, c, why)}
	}
	w.DewC = air.DewPoint(w.Room.Vapour())
	w.OpenC = w.DewC + dewMargin
	w.UseC, w.UseFrom = w.useAt()
	return nil
}

// settlePack takes the kit of the class for a pack that was not said.
func (w *Warm) settlePack() error {
	p, c := &w.Pack, w.Class
	if p.Shape == "" {
		p.Shape = shapeOf(c)
		w.assume("The shape is not said: a %s, as for %s. Give --shape.", p.Shape, c.Kind)
	}
	if p.VolumeML == 0 && p.MassG == 0 {
		if c.KitML == 0 {
			return fmt.Errorf("class %s says nothing of how large a pack is: --pack 50ml or 130g", c.ID)
		}
		p.VolumeML = c.KitML
		w.assume("The pack is not said: the kit of the class, %.4g ml. Give --pack.", c.KitML)
	}
	p.Density = c.Density
	return p.Check()
}

func shapeOf(c *catalog.Class) warmup.Shape {
	switch {
	case c.Kind == catalog.PremixedFrozen:
		return warmup.Cartridge
	case c.MixByHand:
		return warmup.Kit
	}
	return warmup.Can
}

func (w *Warm) assume(format string, args ...any) {
	w.Assumed = append(w.Assumed, fmt.Sprintf(format, args...))
}

// around is the temperature, in °C, of what the pack warms up in, as said.
func (w *Warm) around() float64 {
	if !math.IsNaN(w.BathC) {
		return w.BathC
	}
	return w.Room.TempC
}

// WarmCeiling is the highest temperature, in °C, that a pack of a class may be warmed
// in, and what sets it; +Inf where nothing is known.
func WarmCeiling(c *catalog.Class) (ceilingC float64, why string) {
	ceilingC = math.Inf(1)
	at := func(v float64, what string) {
		if v < ceilingC {
			ceilingC, why = v, what
		}
	}
	if c.Heat != nil {
		at(c.Heat.MaxC, "its ceiling for heat")
	}
	if s := c.Shelf; s != nil && s.Bounds.Known {
		at(s.Bounds.Value.Hi, "which its stock must never have left")
	}
	if cv := c.Curves[cure.Application]; cv != nil && c.Kind == catalog.PremixedFrozen {
		at(cv.Temp.Hi, "the end of what is known of its pot life")
	}
	return ceilingC, why
}

// useAt is the temperature at which the class is mixed or used.
func (w *Warm) useAt() (float64, catalog.Source) {
	lo := w.Class.Apply.Part
	switch {
	case !math.IsNaN(w.ToC):
		return w.ToC, catalog.Source{What: "--to", From: "as asked"}
	case !lo.IsZero():
		return lo.Lo, catalog.Source{What: "the coldest part that the class is laid on", From: w.Class.Apply.From}
	}
	return usualUseC, catalog.Source{What: "as the class does not say", From: "assumed: rather below the 21 to 25 °C at mixing of an aircraft maintenance manual (read: ch. 20-00-09)"}
}

// reach is the line at which a place of the pack has come to a temperature. The safe
// side is the pack at its slowest in surroundings MarginC colder than said.
func (w *Warm) reach(name WarmName, p warmup.Place, to float64, likely, safe *warmup.Warming) WarmLine {
	l := WarmLine{Name: name, Line: cure.NotBefore, TempC: to}
	span := func(b *warmup.Warming, around float64) (time.Duration, bool) {
		if w.FromC >= to { // in air that may be colder than it is, too
			return 0, true
		}
		if around <= w.FromC {
			return 0, false
		}
		d, ok, err := b.Reach(p, w.FromC, around, to)
		return d, ok && err == nil
	}
	var d time.Duration
	if d, l.LikelyKnown = span(likely, w.around()); l.LikelyKnown {
		l.Likely = whole(d, cure.Likely)
	}
	if d, l.Known = span(safe, w.around()-w.MarginC); l.Known {
		l.Span = whole(d, cure.NotBefore)
	}
	return l
}

// later is the line l, but never before o.
func later(l, o WarmLine) WarmLine {
	l.Known, l.LikelyKnown = l.Known && o.Known, l.LikelyKnown && o.LikelyKnown
	l.Span, l.Likely = max(l.Span, o.Span), max(l.Likely, o.Likely)
	return l
}

// date puts a line on the clock.
func (w *Warm) date(l *WarmLine) {
	if w.Left.IsZero() {
		return
	}
	if l.Known {
		l.At = w.Left.Add(l.Span)
	}
	if l.LikelyKnown {
		l.LikelyAt = w.Left.Add(l.Likely)
	}
}

// line finds a line by its name.
func (w *Warm) line(name WarmName) (l WarmLine, ok bool) {
	for _, l := range w.Lines {
		if l.Name == name {
			return l, true
		}
	}
	return WarmLine{}, false
}
