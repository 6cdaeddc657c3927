package cure

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Site is where the sealant is: the air around it, the structure under it, the pot
// it came from and the bead it lies in.
type Site struct {
	Air  *History
	Bead Bead

	PotC   float64 // °C of the pot, what stirring adds included
	PotSet bool    // false, or PotC NaN: the pot follows the air
	PotG   float64 // g in the pot; 0: not said, and the mass that the class's time is of

	Part Part
}

// Part is a structure that follows the air late:
//
//	dT/dt = (T_air − T)/Tau
//
// A zero Part is at air temperature at every instant.
type Part struct {
	Tau time.Duration // time constant; 0: the part is at air temperature
	AtC float64       // °C where the air history begins
}

// Warmth is what was done to warm one joint. The zero Warmth is nothing.
type Warmth struct {
	Warmed  bool    // the structure was warmed before the start of the question
	WarmedC float64 // °C it had at that start; from there it follows the air

	Heated   bool      // warm air or a lamp from HeatFrom until the milestone
	HeatFrom time.Time // before or after the start
	HeatC    float64   // °C that the part follows from then on, where the air is colder
}

// Reached is when a milestone is reached.
type Reached struct {
	At         time.Time // zero when Never
	Never      bool      // not within the history
	Progress   float64   // how far it came by the end of the history, when Never
	Excursions []Excursion
}

// Reach says when the milestone is reached if it started at start, for a line.
// Application runs on the warmer of pot and air; assembly on whichever of that and
// the part is shorter (longer for NotBefore); the rest on the part.
// The instant is exact to well under a second; a Never says how far it came.
// Errors: no such curve, a bead deeper than the curve's range, a gap larger than the
// class cures in or a pot larger than its time holds for (a *RangeError), a part or
// bead that cannot be, a start outside the history.
func (s *Site) Reach(cl *Class, m Milestone, line Line, start time.Time) (Reached, error) {
	return s.ReachWarmed(cl, m, line, start, Warmth{})
}

// ReachWarmed is Reach for a joint that was warmed before sealing or is heated for
// cure. Heat counts up to the class's ceiling for accelerated cure, and in full for
// NotAfter.
func (s *Site) ReachWarmed(cl *Class, m Milestone, line Line, start time.Time, w Warmth) (Reached, error) {
	c, err := s.Course(cl, m, line)
	if err != nil {
		return Reached{}, err
	}
	return c.Reach(start, w)
}

// Course is one milestone at one site, made ready for many questions: what depends
// on the site alone is worked out once. It is not safe for several goroutines.
type Course struct {
	class  *Class
	line   Line
	air    *History
	tracks []*track
}

// Course makes a Course. Errors: those of Reach that do not depend on the start.
func (s *Site) Course(cl *Class, m Milestone, line Line) (*Course, error) {
	tracks, err := s.tracks(cl, m, line)
	if err != nil {
		return nil, err
	}
	return &Course{cl, line, s.Air, tracks}, nil
}

// Reach answers as Site.ReachWarmed does.
func (c *Course) Reach(start time.Time, w Warmth) (Reached, error) {
	return c.reach(start, w, true)
}

// At is Reach for the instant alone, in half the time; ok is false for an instant
// that is not within the history, a start outside it, and warmth that cannot be.
func (c *Course) At(start time.Time, w Warmth) (at time.Time, ok bool) {
	r, err := c.reach(start, w, false)
	return r.At, err == nil && !r.Never
}

func (c *Course) reach(start time.Time, w Warmth, look bool) (Reached, error) {
	if w.Warmed && !breathable(w.WarmedC) || w.Heated && !breathable(w.HeatC) {
		return Reached{}, fmt.Errorf("a structure is not warmed to %gC or heated to %gC", w.WarmedC, w.HeatC)
	}
	if c.class.Heat != nil && c.line != NotAfter {
		w.HeatC = math.Min(w.HeatC, c.class.Heat.MaxC)
	}
	u := c.air.seconds(start)
	if u < 0 || u > c.air.seconds(c.air.Until()) {
		return Reached{}, fmt.Errorf("%s lies outside the air history, %s to %s", start.Format(time.RFC3339),
			c.air.From().Format(time.RFC3339), c.air.Until().Format(time.RFC3339))
	}
	var best Reached
	for i, tr := range c.tracks {
		var ex *excursions
		if look {
			ex = &excursions{}
		}
		r := tr.run(u, w, ex)
		if i == 0 || earlier(r, best) == (c.line != NotBefore) {
			best = r
		}
	}
	return best, nil
}

func earlier(a, b Reached) bool {
	if a.Never != b.Never {
		return b.Never
	}
	return a.At.Before(b.At)
}

// tracks are the temperatures a milestone runs on: one, or for assembly two.
func (s *Site) tracks(cl *Class, m Milestone, line Line) ([]*track, error) {
	line.check()
	c, _, err := cl.Curve(m)
	if err != nil {
		return nil, err
	}
	if s.Air == nil {
		return nil, errors.New("the site has no air")
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	if err := cl.tooWide(m, s.Bead); err != nil {
		return nil, err
	}
	if err := cl.tooHeavy(m, c, s.PotG); err != nil {
		return nil, err
	}
	if text := c.tooDeep(s.Bead); text != "" {
		return nil, &RangeError{Class: cl.ID, Milestone: m, Text: text}
	}
	base := track{air: s.Air, lane: s.Air.lanes[line], pace: newPace(cl, m, c, line, s.Bead).inPot(m, s.PotG), pot: math.Inf(-1)}
	pot, part := base, base
	if s.Part.Tau > 0 {
		part.tau, part.at = s.Part.Tau.Seconds(), s.Part.AtC
	}
	if s.PotSet && !math.IsNaN(s.PotC) {
		pot.pot = s.PotC
	}
	switch {
	case m == Application:
		return []*track{&pot}, nil
	case m == Assembly && (pot.pot > math.Inf(-1) || part.tau > 0):
		return []*track{&pot, &part}, nil
	}
	return []*track{&part}, nil
}

// check refuses a pot, part or bead that cannot be.
func (s *Site) check() error {
	switch {
	case s.PotSet && !math.IsNaN(s.PotC) && !breathable(s.PotC):
		return fmt.Errorf("no such pot temperature: %gC", s.PotC)
	case s.Part.Tau < 0:
		return fmt.Errorf("the part cannot follow the air in %s: a time constant is not negative", s.Part.Tau)
	case s.Part.Tau > 0 && !breathable(s.Part.AtC):
		return fmt.Errorf("no such part temperature: %gC", s.Part.AtC)
	}
	if err := grams(s.PotG); err != nil {
		return err
	}
	return s.Bead.check()
}

// ByWitness reports whether a not-before line of the class is by witness reading at
// this site: a film closed between two parts, of a class that needs moisture.
func (s *Site) ByWitness(cl *Class, m Milestone) bool {
	return cl.closedWitness(m, s.Bead)
}

// PartAt is the temperature of the structure, in °C, at an instant: what a line of
// that side counts with.
func (s *Site) PartAt(t time.Time, line Line) float64 { return s.Probe(line)(t) }

// Probe makes a function of PartAt for many questions at once.
func (s *Site) Probe(line Line) func(time.Time) float64 {
	line.check()
	l := s.Air.lanes[line]
	tr := track{air: s.Air, lane: l, tau: s.Part.Tau.Seconds(), at: s.Part.AtC}
	return func(t time.Time) float64 {
		u := math.Min(math.Max(0, s.Air.seconds(t)), l.t[len(l.t)-1])
		i := l.find(u)
		if tr.tau == 0 {
			return l.temp(i, u)
		}
		return tr.partAt(i, u)
	}
}
