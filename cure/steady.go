package cure

import (
	"fmt"
	"math"
	"time"

	"beadline/cure/air"
	"beadline/cure/quantity"
)

// Steady is constant air at the pot, around the joint and at the part.
type Steady struct {
	Air         Air
	PotC, PartC float64 // °C; use Air.TempC where nothing else is known
	PotG        float64 // g in the pot; 0: not said, and the mass that the class's time is of
	Bead        Bead
	Extrapolate bool // answer outside the curve's range too, marked
}

// Answer is a milestone in constant air.
type Answer struct {
	Milestone    Milestone
	Line         Line
	Time         time.Duration // the line to work to; 0 when Never
	Likely       time.Duration // the plain curve; 0 when LikelyNever
	Never        bool          // there is no line: never reached, or not calculated
	LikelyNever  bool
	ByWitness    bool   // no calculated line: take a hardness reading of the witness cup
	Why          string // why there is no line, or what stands in for it
	Extrapolated bool   // outside the range of the curve
	From         string // what the value rests on
	Curve        *Curve
}

// RangeError refuses a question outside a curve's range, or outside what the class
// cures in at all.
type RangeError struct {
	Class     string
	Milestone Milestone
	Text      string // what is outside, and the range
	// Final means that no extrapolation answers either: the class does not cure so.
	Final bool
}

// Error implements error.
func (e *RangeError) Error() string {
	return fmt.Sprintf("%s %s: %s", e.Class, e.Milestone, e.Text)
}

// Steady answers one milestone in constant air. line is the milestone's own unless
// the question is a special one (how early might this film already be tack-free?).
// Errors: no such curve, air or a bead that cannot be, or a *RangeError when the air
// or bead lies outside the curve's range and Extrapolate is not set, the gap is
// larger than the class cures in, or the pot larger than its time holds for.
func (cl *Class) Steady(m Milestone, line Line, s Steady) (Answer, error) {
	c, note, err := cl.Curve(m)
	if err != nil {
		return Answer{}, err
	}
	if err := s.check(); err != nil {
		return Answer{}, err
	}
	if err := cl.tooWide(m, s.Bead); err != nil {
		return Answer{}, err
	}
	if err := cl.tooHeavy(m, c, s.PotG); err != nil {
		return Answer{}, err
	}
	a := Answer{Milestone: m, Line: line, From: c.From, Curve: c, Why: joined(joined(note, cl.GapNote(s.Bead)), cl.PotNote(m, s.PotG))}
	p := newPace(cl, m, c, line, s.Bead).inPot(m, s.PotG)
	tempC := s.runsOn(m, p)
	pv := s.Air.Vapour()
	rh := math.Min(100, air.Humidity(tempC, pv))
	if text := c.outside(tempC, rh, s.Bead); text != "" {
		if !s.Extrapolate {
			return Answer{}, &RangeError{Class: cl.ID, Milestone: m, Text: text}
		}
		a.Extrapolated = true
		p = p.stretched()
	}
	a.Likely, a.LikelyNever = span(c.plainInPot(m, s.PotG) * c.Plain(tempC, rh, vapourAt(tempC, pv), s.Bead))
	a.Time, a.Never = span(1 / p.at(tempC, tempC, pv).rate)
	if _, front := c.Form.(Front); front && s.Bead.DepthMM == 0 {
		a.Why = joined(a.Why, fmt.Sprintf("no depth is given: %g mm is taken", c.Form.(Front).DepthMM))
	}
	why := ""
	switch {
	case line == NotBefore && cl.closedWitness(m, s.Bead):
		a.ByWitness, why = true, "a closed film sees no moisture: go by the witness cup"
	case rh < p.minRH-drySlack:
		a.ByWitness = true
		why = fmt.Sprintf("%.3g %% RH at the part is under %g %%: too dry to calculate a cure; go by the witness cup", rh, p.minRH)
	case a.Never && (pv == 0 || s.Bead.Closed):
		why = "no cure without moisture"
	case a.Never:
		why = "more than a hundred years away"
	}
	a.Why = joined(a.Why, why)
	if a.ByWitness {
		a.Time, a.Never = 0, true
	}
	return a, nil
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// runsOn is the temperature a milestone runs on: application on the warmer of pot
// and air, assembly on whichever of that and the part is shorter (longer for a
// not-before question), the rest on the part.
func (s Steady) runsOn(m Milestone, p *pace) float64 {
	pot := math.Max(s.PotC, s.Air.TempC)
	switch m {
	case Application:
		return pot
	case Assembly:
		pv := s.Air.Vapour()
		if slower := p.at(pot, pot, pv).rate < p.at(s.PartC, s.PartC, pv).rate; slower == (p.line == NotBefore) {
			return pot
		}
	}
	return s.PartC
}

// check refuses what cannot be.
func (s Steady) check() error {
	for _, t := range []float64{s.PotC, s.PartC} {
		if !breathable(t) {
			return fmt.Errorf("no such temperature: %gC", t)
		}
	}
	if err := s.Air.check(); err != nil {
		return err
	}
	if err := grams(s.PotG); err != nil {
		return err
	}
	return s.Bead.check()
}

// check refuses air that cannot be.
func (a Air) check() error {
	switch {
	case !breathable(a.TempC):
		return fmt.Errorf("no such temperature of air: %gC", a.TempC)
	case !(a.RH >= 0 && a.RH <= 100):
		return fmt.Errorf("no such humidity: %g%%", a.RH)
	}
	return nil
}

// breathable reports whether air or a structure may have a temperature, °C: from
// colder than any place on earth to hotter than any oven that cures.
func breathable(tempC float64) bool { return tempC >= -100 && tempC <= 400 }

func (b Bead) check() error {
	if !(b.DepthMM >= 0) || math.IsInf(b.DepthMM, 1) {
		return fmt.Errorf("no such bead depth: %g mm", b.DepthMM)
	}
	if b.Faces < 0 || b.Faces > 2 {
		return fmt.Errorf("a bead is open on one face or on 2, not on %d", b.Faces)
	}
	return nil
}

// closedWitness says whether a milestone of a bead goes by witness reading because
// no moisture reaches it.
func (cl *Class) closedWitness(m Milestone, b Bead) bool {
	return b.Closed && m >= TackFree && cl.Moisture != nil && cl.Moisture.ClosedWitness
}

// stretched is the pace outside the range: the curve goes on as it is, with the
// line's safe side still applied.
func (p *pace) stretched() *pace {
	q, c := *p, *p.c
	c.Temp = quantity.Range{Lo: math.Inf(-1), Hi: math.Inf(1)}
	q.c, q.rh = &c, quantity.Range{}
	return &q
}

// humidRange is the curve's range of humidity; a table that speaks of humidity has
// one by its points. Zero: not limited.
func (c *Curve) humidRange() quantity.Range {
	if t, ok := c.Form.(*Table); ok && c.RH.IsZero() && len(t.rhs) > 1 {
		return quantity.Range{Lo: t.rhs[0], Hi: t.rhs[len(t.rhs)-1]}
	}
	return c.RH
}

// outside says in words how a condition lies outside the curve's range.
func (c *Curve) outside(tempC, rh float64, b Bead) string {
	r := c.humidRange()
	switch {
	case tempC < c.Temp.Lo-slack || tempC > c.Temp.Hi+slack:
		return fmt.Sprintf("%.4g C is outside the curve's range, %.4g to %.4g C", tempC, c.Temp.Lo, c.Temp.Hi)
	case !r.IsZero() && (rh < r.Lo-slack || rh > r.Hi+slack):
		return fmt.Sprintf("%.3g %% RH is outside the curve's range, %g to %g %%", rh, r.Lo, r.Hi)
	}
	return c.tooDeep(b)
}

func (c *Curve) tooDeep(b Bead) string {
	if c.MaxDepth > 0 && b.depth() > c.MaxDepth+slack {
		return fmt.Sprintf("a bead %.3g mm deep is outside the curve's range, at most %g mm", b.depth(), c.MaxDepth)
	}
	return ""
}

// tooWide refuses a gap that the class does not cure in, whatever its curves say. The
// gap is the whole of it, from face to face.
func (cl *Class) tooWide(m Milestone, b Bead) error {
	if cl.MaxGapMM > 0 && b.DepthMM > cl.MaxGapMM+slack {
		return &RangeError{Class: cl.ID, Milestone: m, Final: true,
			Text: fmt.Sprintf("a gap of %.3g mm is over the %g mm it cures in", b.DepthMM, cl.MaxGapMM)}
	}
	return nil
}

// GapNote says the largest gap, in mm, that the class cures in, where it has one and
// the bead gives no gap; else "".
func (cl *Class) GapNote(b Bead) string {
	if cl.MaxGapMM == 0 || b.DepthMM > 0 {
		return ""
	}
	return fmt.Sprintf("no gap is given: it cures in a gap of at most %g mm", cl.MaxGapMM)
}

// depth is how deep the cure has to go: half, where both faces are open.
func (b Bead) depth() float64 {
	if b.Faces == 2 {
		return b.DepthMM / 2
	}
	return b.DepthMM
}

// span turns seconds into a duration; never is set beyond a hundred years.
func span(s float64) (d time.Duration, never bool) {
	if !(s < 100*365*86400) {
		return 0, true
	}
	return time.Duration(s * float64(time.Second)), false
}
