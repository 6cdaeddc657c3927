package desk

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/air"
)

// The steps that a sensitivity is asked for: the doubt of a forecast, and about that
// of a hangar's hygrometer (both assumed).
const (
	stepC  = 2.0  // °C
	stepRH = 10.0 // % RH
)

// Sensitivity is what small changes of the air, and the spread of the class, do to the
// line of each milestone.
type Sensitivity struct {
	Base  *Times
	Lines []SensitiveLine // as Base.Moments
	Notes []string        // what was changed with what, and what was not
}

// SensitiveLine is one milestone under every change that was tried.
type SensitiveLine struct {
	Base    Moment
	Effects []Effect // the worst for the line first
}

// Effect is one change and the milestone under it.
type Effect struct {
	What   string  // "2 C colder", as the physics writes it
	StepC  float64 // °C added to the air
	StepRH float64 // % RH added to the air
	Factor float64 // of the class's own spread, to its curve; 1: not that change
	Moment Moment
}

// Delta is how much later the line is under an effect, less than zero for sooner; ok is
// false where one of the two has no line.
func (l SensitiveLine) Delta(e Effect) (d time.Duration, ok bool) {
	return e.Moment.Span - l.Base.Span, e.Moment.Known && l.Base.Known
}

// Worse reports whether an effect moves the line to the unsafe side, or takes it away.
func (l SensitiveLine) Worse(e Effect) bool { return compare(l.harm(e), [2]float64{}) > 0 }

// Moves reports whether an effect does anything to the line.
func (l SensitiveLine) Moves(e Effect) bool { return l.harm(e) != [2]float64{} }

// Most is the effect that matters most: the one that makes the line worst, or else the
// one that helps most; ok is false where nothing tried moves it.
func (l SensitiveLine) Most() (e Effect, ok bool) {
	for _, i := range []int{0, len(l.Effects) - 1} {
		if i >= 0 && i < len(l.Effects) && l.Moves(l.Effects[i]) {
			return l.Effects[i], true
		}
	}
	return Effect{}, false
}

// harm orders effects: first by what is left of the line, then by seconds towards the
// unsafe side.
func (l SensitiveLine) harm(e Effect) [2]float64 {
	h := [2]float64{float64(lost(e.Moment) - lost(l.Base)), 0}
	if d, ok := l.Delta(e); ok {
		h[1] = d.Seconds()
		if l.Base.Line == cure.NotAfter {
			h[1] = -h[1]
		}
	}
	return h
}

func compare(a, b [2]float64) int { return slices.Compare(a[:], b[:]) }

// lost says how much of a line is gone: a pot that never ends is no loss, a cure that
// never comes is, and worst is to know nothing.
func lost(m Moment) int {
	switch {
	case m.Refused != "":
		return 3
	case m.Known:
		return 0
	case m.Line == cure.NotAfter && !m.ByWitness:
		return -1
	}
	return 2
}

// AskSensitivity asks a question again and again, each time with one thing changed.
// Errors: those of AskTimes.
func AskSensitivity(q TimesQuestion) (*Sensitivity, error) {
	base, err := AskTimes(q)
	if err != nil {
		return nil, err
	}
	if len(base.Moments) == 0 {
		return nil, fmt.Errorf("class %s has no line to work to: its degree of cure is information, and --sensitivity is of lines", q.Class.ID)
	}
	s := &Sensitivity{Base: base}
	for _, m := range base.Moments {
		s.Lines = append(s.Lines, SensitiveLine{Base: m})
	}
	changes := append(s.weather(q), s.spread(q)...)
	for _, c := range changes {
		t, err := AskTimes(c.q)
		var outside *Refusal
		if err != nil && (t == nil || !errors.As(err, &outside)) {
			return nil, fmt.Errorf("with the air %s: %w", c.what, err)
		}
		for i, m := range t.Moments {
			if what, factor := c.of(m.Milestone); what != "" {
				s.Lines[i].Effects = append(s.Lines[i].Effects, Effect{what, c.stepC, c.stepRH, factor, m})
			}
		}
	}
	for _, l := range s.Lines {
		slices.SortStableFunc(l.Effects, func(a, b Effect) int { return compare(l.harm(b), l.harm(a)) })
	}
	return s, nil
}

// change is a question with one thing changed.
type change struct {
	q             TimesQuestion
	what          string // "" for the spread
	stepC, stepRH float64
	fast          bool // of the spread: the fast end
}

// of is the change in words for one milestone, and its factor; "" where it is none.
func (c change) of(m cure.Milestone) (what string, factor float64) {
	if c.what != "" {
		return c.what, 1
	}
	curve, _, err := c.q.Class.Curve(m)
	if err != nil {
		return "", 1
	}
	f := 1 + curve.Longer // as withSpread left it
	switch {
	case c.fast && f < 1:
		return fmt.Sprintf("fast mix, %.3g %% shorter", 100*(1-f)), f
	case !c.fast && f > 1:
		return fmt.Sprintf("slow mix, %.3g %% longer", 100*(f-1)), f
	}
	return "", 1
}

// weather are the changes of the air.
func (s *Sensitivity) weather(q TimesQuestion) []change {
	var all []change
	for _, d := range []float64{-stepC, stepC} {
		all = append(all, change{q: withAir(q, d, 0), what: towards(d, " C", "colder", "warmer"), stepC: d})
	}
	all = append(all, places(q)...)
	s.held(q)
	if q.Pieces == nil && !q.RHSaid {
		s.note("Humidity is not said and not changed: this class does not look at it.")
		return all
	}
	for _, d := range []float64{-stepRH, stepRH} {
		if q.Pieces == nil {
			if d = clampRH(q.Air.RH+d) - q.Air.RH; d == 0 {
				s.note("The air has %.3g %% RH: it cannot be %s.", q.Air.RH, map[bool]string{true: "drier", false: "damper"}[q.Air.RH == 0])
				continue
			}
		}
		all = append(all, change{q: withAir(q, 0, d), what: towards(d, " % RH", "drier", "damper"), stepRH: d})
	}
	return all
}

// places are the changes of a pot and a part whose temperature was said: a thermometer
// may be off, or read on another part.
func places(q TimesQuestion) (all []change) {
	for _, d := range []float64{-stepC, stepC} {
		if !math.IsNaN(q.PotC) {
			c := change{q: q, what: "pot " + towards(d, " C", "colder", "warmer")}
			c.q.PotC += d
			all = append(all, c)
		}
		part := change{q: q, what: "part " + towards(d, " C", "colder", "warmer")}
		switch {
		case q.Pieces == nil && !math.IsNaN(q.PartC):
			part.q.PartC += d
		case q.Part.Tau > 0 && !math.IsNaN(q.Part.AtC) && !q.Warmth.Warmed:
			part.q.Part.AtC += d
		default:
			continue
		}
		all = append(all, part)
	}
	return all
}

func towards(d float64, unit, less, more string) string {
	word := more
	if d < 0 {
		word = less
	}
	return fmt.Sprintf("%.3g%s %s", math.Abs(d), unit, word)
}

func (s *Sensitivity) note(format string, args ...any) {
	s.Notes = append(s.Notes, fmt.Sprintf(format, args...))
}

// held notes what is changed together and what stays as it is.
func (s *Sensitivity) held(q TimesQuestion) {
	s.note("Colder and warmer keep the relative humidity; drier and damper keep the temperature; no step goes below 0 %% or above 100 %% RH.")
	var stays []string
	if !math.IsNaN(q.PotC) {
		stays = append(stays, fmt.Sprintf("the pot at %.4g C", q.PotC))
	}
	switch {
	case q.Part.Tau > 0:
		stays = append(stays, fmt.Sprintf("the part at %.4g C at the start, from where it follows the changed air", q.Part.AtC))
	case !math.IsNaN(q.PartC):
		stays = append(stays, fmt.Sprintf("the part at %.4g C", q.PartC))
	}
	if q.Warmth != (cure.Warmth{}) {
		stays = append(stays, "what is done to warm the joint")
	}
	if stays == nil {
		s.note("Pot and part change with the air.")
	} else {
		s.note("Not changed with the air, as it is said, but by themselves where there is a row for it: %s.", strings.Join(stays, "; "))
	}
	for _, p := range q.Pieces {
		if p.Swing != nil && !math.IsNaN(p.Swing.DewC) {
			s.note("The dew point of %s is moved with the temperature, so that the relative humidity stays nearly as it is; drier and damper are set at the middle of the swing.", p.Name)
		}
	}
}

// withAir is a question with all of its air changed by steps in °C and % RH.
func withAir(q TimesQuestion, dC, dRH float64) TimesQuestion {
	q.Air.TempC += dC
	q.Air.RH = clampRH(q.Air.RH + dRH)
	if q.Pieces != nil {
		moved := make([]cure.Piece, len(q.Pieces))
		for i, p := range q.Pieces {
			moved[i] = movedPiece(p, dC, dRH)
		}
		q.Pieces = moved
	}
	return q
}

func clampRH(rh float64) float64 { return min(max(rh, 0), 100) }

// movedPiece is a stretch of air moved by steps in °C and % RH.
func movedPiece(p cure.Piece, dC, dRH float64) cure.Piece {
	move := func(a cure.Air) cure.Air { return cure.Air{TempC: a.TempC + dC, RH: clampRH(a.RH + dRH)} }
	switch {
	case p.Constant != nil:
		a := move(*p.Constant)
		p.Constant = &a
	case p.Swing != nil:
		w := movedSwing(*p.Swing, dC, dRH)
		p.Swing = &w
	default:
		samples := slices.Clone(p.Samples)
		for i := range samples {
			samples[i].Air = move(samples[i].Air)
		}
		p.Samples = samples
	}
	return p
}

// movedSwing moves a night/day swing. A dew point moves with the temperature, which
// leaves the relative humidity nearly as it is; a step in humidity is made at the
// middle of the swing.
func movedSwing(w cure.Swing, dC, dRH float64) cure.Swing {
	if dRH != 0 {
		if math.IsNaN(w.DewC) {
			w.RH = clampRH(w.RH + dRH)
		} else {
			mid := (w.LowC + w.HighC) / 2
			rh := clampRH(min(100, air.Humidity(mid, air.Saturation(w.DewC))) + dRH)
			if w.DewC = air.DewPoint(air.Vapour(mid, rh)); rh == 0 {
				w.DewC, w.RH = math.NaN(), 0
			}
		}
	}
	w.LowC, w.HighC, w.DewC = w.LowC+dC, w.HighC+dC, w.DewC+dC
	return w
}

// spread are the two ends of the class's own spread.
func (s *Sensitivity) spread(q TimesQuestion) []change {
	var all []change
	for _, fast := range []bool{true, false} {
		c := change{q: q, fast: fast}
		c.q.Class = withSpread(q.Class, fast)
		all = append(all, c)
	}
	var without []string
	for _, l := range s.Lines {
		if c, _, err := q.Class.Curve(l.Base.Milestone); err == nil && c.Shorter == 0 && c.Longer == 0 {
			without = append(without, l.Base.Milestone.String())
		}
	}
	if without != nil {
		s.note("The class gives no spread for %s.", strings.Join(without, ", "))
	}
	if len(without) < len(s.Lines) {
		s.note("Of the class's spread, the side that a line must allow for is in the line already.")
	}
	return all
}

// withSpread is a class whose every mix sets at the fast or the slow end of its spread.
// A time that is rated as a minimum has no faster end, one rated as a maximum no slower.
func withSpread(cl *catalog.Class, fast bool) *catalog.Class {
	c := *cl
	for m, curve := range cl.Curves {
		if curve == nil {
			continue
		}
		f := 1 + curve.Longer
		if fast {
			f = 1 - curve.Shorter
		}
		if fast && curve.States == cure.Minimum || !fast && curve.States == cure.Maximum {
			f = 1
		}
		k := *curve
		// Either line then takes its time f-fold, whichever side it looks at.
		k.States, k.Shorter, k.Longer = cure.Typical, 1-f, f-1
		c.Curves[m] = &k
	}
	return &c
}
