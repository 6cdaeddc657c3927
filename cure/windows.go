package cure

import (
	"fmt"
	"math"
	"time"

	"beadline/cure/air"
)

// DewMargin is how far above the dew point, in °C, a surface must be to seal on it:
// 3 °C is the practice of ISO 8502-4 for coating work.
const DewMargin = 3.0

// Bar is why a class may not be laid: one reason, or several at once. The zero Bar is
// none.
type Bar uint8

// The reasons. Wet comes with NearDew.
const (
	TooCold Bar = 1 << iota // the part is under the class's range
	TooWarm                 // the part is over it
	NearDew                 // the part is less than DewMargin above the dew point
	Wet                     // the part is at or under the dew point: water lies on it
	TooDry                  // the air is drier than the class is laid in
	TooDamp                 // the air is damper
)

// Reasons says a bar in words, with the limits of the class in °C and % RH.
func (b Bar) Reasons(cl *Class) []string {
	var said []string
	add := func(bar Bar, format string, args ...any) {
		if b&bar != 0 {
			said = append(said, fmt.Sprintf(format, args...))
		}
	}
	add(TooCold, "the part is under %.4g C", cl.Apply.Part.Lo)
	add(TooWarm, "the part is over %.4g C", cl.Apply.Part.Hi)
	add(Wet, "the part is wet, at or under the dew point")
	if b&Wet == 0 {
		add(NearDew, "the part is within %g degrees C of the dew point", DewMargin)
	}
	add(TooDry, "the air is under %.4g %% RH", cl.Apply.RH.Lo)
	add(TooDamp, "the air is over %.4g %% RH", cl.Apply.RH.Hi)
	return said
}

// Window is a stretch of time in which a class may be laid, or may not for one set of
// reasons.
type Window struct {
	From, To time.Time
	Bars     Bar // 0: the class may be laid
}

// Open reports whether the class may be laid.
func (w Window) Open() bool { return w.Bars == 0 }

// Windows says when between from and until the class may be laid at the site: the part
// within the class's temperatures and DewMargin above the dew point or more, the air
// within the class's humidities. They follow each other without a gap from from, or
// the history's beginning, to until, or its end; neighbours differ.
//
// Every doubt in the air closes a window: the part counts at the colder reading of a
// forecast or gap against the cold and the dew point and at the warmer one against the
// heat, the dew point at the wettest, the air's humidity at every reading. What is
// crossed is found to a hundredth of a second, and an open window is cut to whole
// seconds inward. A structure that is Warmed is kept at that temperature or above it
// throughout; heat for cure does not enter.
//
// Errors: a part or warmth that cannot be, a span with no time in the history.
func (s *Site) Windows(cl *Class, from, until time.Time, w Warmth) ([]Window, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	o := outlook{class: cl, warmC: math.Inf(-1)}
	if w.Warmed {
		if !breathable(w.WarmedC) {
			return nil, fmt.Errorf("a structure is not warmed to %gC", w.WarmedC)
		}
		o.warmC = w.WarmedC
	}
	for _, l := range []*lane{s.Air.lanes[NotBefore], s.Air.lanes[NotAfter], s.Air.lanes[Likely]} {
		if len(o.views) == 0 || l != o.views[0].lane {
			o.views = append(o.views, &track{air: s.Air, lane: l, pot: math.Inf(-1), tau: s.Part.Tau.Seconds(), at: s.Part.AtC})
		}
	}
	t := s.Air.lanes[Likely].t // all lanes have the same knots
	a, b := math.Max(0, s.Air.seconds(from)), math.Min(s.Air.seconds(until), t[len(t)-1])
	if !(b > a) {
		return nil, fmt.Errorf("no part of %s to %s lies within the air history", from.Format(time.RFC3339), until.Format(time.RFC3339))
	}
	for i := s.Air.lanes[Likely].find(a); i+1 < len(t) && t[i] < b; i++ {
		if t[i+1] > t[i] && t[i+1] > a {
			o.segment(i, math.Max(a, t[i]), math.Min(b, t[i+1]))
		}
	}
	return o.windows(s.Air), nil
}

// outlook gathers the stretches of a site's air that one class may be laid in.
type outlook struct {
	class *Class
	warmC float64  // °C that the structure is kept at; -Inf: not warmed
	views []*track // the readings of the air that differ, with the part in them

	i    int       // the segment at hand
	part []stretch // the part over it in each view, counted from the segment's beginning
	list []stage
}

// stage is a stretch in seconds of the history.
type stage struct {
	from, to float64
	bars     Bar
}

// standsOn is how far past a class's limit the humidity of the air may lie, in % RH, and
// still stand on it: no hygrometer tells a tenth of a per cent (common practice, no
// source), and air that stands on a limit for days must not open and close a window with
// every reading.
const standsOn = 0.1

// fineStage is how finely, in s, a crossing is found.
const fineStage = 0.01

// segment judges [a, b] within lane segment i.
func (o *outlook) segment(i int, a, b float64) {
	o.i, o.part = i, o.part[:0]
	for _, v := range o.views {
		x := 0.0
		if v.tau > 0 {
			x = v.partKnots()[i]
		}
		o.part = append(o.part, v.segment(i, v.lane.t[i], x))
	}
	o.split(a, b)
}

// split halves [a, b] until one set of reasons holds all through it. What is still in
// doubt in the end counts as closed.
func (o *outlook) split(a, b float64) {
	sure, maybe := o.judge(a, b)
	if sure != maybe && b-a > fineStage {
		m := (a + b) / 2
		o.split(a, m)
		o.split(m, b)
		return
	}
	if n := len(o.list); n > 0 && o.list[n-1].bars == maybe {
		o.list[n-1].to = b
		return
	}
	o.list = append(o.list, stage{a, b, maybe})
}

// judge bounds what holds over [a, b] of the segment: sure are the bars that stand at
// every instant of it, maybe those that may stand at one. Temperature is monotone but
// for one turn, vapour is straight, and all else rises or falls with these.
func (o *outlook) judge(a, b float64) (sure, maybe Bar) {
	under := func(bar Bar, lo, hi, limit float64) {
		if hi < limit {
			sure |= bar
		}
		if lo < limit {
			maybe |= bar
		}
	}
	r := o.class.Apply
	dewLo, dewHi := math.Inf(-1), math.Inf(-1) // °C, of the wettest view
	coldLo, coldHi := math.Inf(1), math.Inf(1) // °C, of the part in the coldest
	for k, v := range o.views {
		lo, hi := o.partOver(k, a, b)
		coldLo, coldHi = math.Min(coldLo, lo), math.Min(coldHi, hi)
		if !r.Part.IsZero() {
			under(TooCold, lo, hi, r.Part.Lo-slack)
			under(TooWarm, -hi, -lo, -r.Part.Hi-slack)
		}
		p0, p1 := v.lane.vapour(o.i, a), v.lane.vapour(o.i, b)
		pLo, pHi := math.Min(p0, p1), math.Max(p0, p1)
		dewLo, dewHi = math.Max(dewLo, air.DewPoint(pLo)), math.Max(dewHi, air.DewPoint(pHi))
		if !r.RH.IsZero() {
			j0, j1 := v.lane.judged(o.i, a), v.lane.judged(o.i, b)
			rLo := math.Min(100, air.Humidity(math.Max(j0, j1), pLo))
			rHi := math.Min(100, air.Humidity(math.Min(j0, j1), pHi))
			under(TooDry, rLo, rHi, r.RH.Lo-standsOn)
			under(TooDamp, -rHi, -rLo, -r.RH.Hi-standsOn)
		}
	}
	under(NearDew, coldLo-dewHi, coldHi-dewLo, DewMargin-slack)
	under(Wet, coldLo-dewHi, coldHi-dewLo, slack)
	return sure, maybe
}

// partOver bounds the temperature of the part, in °C, over [a, b] in view k.
func (o *outlook) partOver(k int, a, b float64) (lo, hi float64) {
	s, from := &o.part[k], o.views[k].lane.t[o.i]
	a, b = a-from, b-from
	x, y := s.temp(a), s.temp(b)
	lo, hi = math.Min(x, y), math.Max(x, y)
	if v, ok := s.turn(b); ok && v > a {
		z := s.temp(v)
		lo, hi = math.Min(lo, z), math.Max(hi, z)
	}
	return math.Max(lo, o.warmC), math.Max(hi, o.warmC)
}

// windows turns the stages into windows: their edges on whole seconds, those of an open
// one inward; what has no length left is dropped.
func (o *outlook) windows(h *History) []Window {
	var out []Window
	from := h.instant(o.list[0].from)
	for k, s := range o.list {
		to := h.instant(s.to)
		if k+1 < len(o.list) {
			to = edge(to, s.bars, o.list[k+1].bars)
		}
		if !to.After(from) {
			continue
		}
		if n := len(out); n > 0 && out[n-1].Bars == s.bars {
			out[n-1].To = to
		} else {
			out = append(out, Window{from, to, s.bars})
		}
		from = to
	}
	return out
}

// edge is the whole second that stands for the change from one set of bars to another.
func edge(t time.Time, left, right Bar) time.Time {
	down := t.Truncate(time.Second)
	switch {
	case left == 0 || t.Equal(down):
		return down
	case right == 0 || t.Sub(down) >= time.Second/2:
		return down.Add(time.Second)
	}
	return down
}

// judged is the temperature, in °C, that a view judges the air's humidity at.
func (l *lane) judged(i int, u float64) float64 {
	if l.judge == nil {
		return l.temp(i, u)
	}
	return l.between(l.judge, i, u)
}
