package cure

import (
	"math"
	"slices"

	"beadline/cure/air"
	"beadline/cure/quantity"
)

// slack is how far, in °C or % RH, arithmetic may miss a limit that a condition
// stands exactly on.
const slack = 1e-9

// drySlack is how far, in % RH, air may lie under a limit of dryness and still not count
// as drier: hygrometers read in whole or tenths of a per cent, so that air stands on
// the limit for hours, and a part that is 1e-5 °C from the air must not be another case.
const drySlack = 1e-3

// quickest is the highest pace that is believed, in parts per second: nothing gets there
// within a microsecond, however far a curve is drawn out.
const quickest = 1e6

// pace is a curve read for one line and one bead: how fast the milestone comes
// nearer, in parts per second, at a temperature and a vapour pressure.
//
// At every instant the line's time is, for NotAfter, the smaller of the rated time
// and the curve: cold never lengthens it, unless the class cites data that it does.
// For NotBefore it is the larger of the two: warmth shortens it only along the
// class's own credit slope. The spread then pushes the line further to the safe
// side, on the side that the rated time does not guarantee already.
type pace struct {
	c     *Curve
	line  Line
	bead  Bead
	rated float64 // s at the reference, for this bead
	scale float64 // spread, and what the pot's mass does
	moist bool    // the curve itself has humidity in it
	humid bool    // the pace looks at the vapour at all
	rh    quantity.Range
	minRH float64 // drier earns nothing; 0: no such rule

	ref     Air
	creditC float64 // °C above which credit rises no more
	credit0 float64 // s of the credit form at the reference

	temps []float64 // °C where the pace has a kink
	rhs   []float64 // % RH where it has one
}

// newPace compiles a curve. m tells whether the class's dryness rule applies: to
// cure, not to the pot.
func newPace(cl *Class, m Milestone, c *Curve, line Line, b Bead) *pace {
	line.check()
	p := &pace{c: c, line: line, bead: b, rated: c.Rated(b), scale: 1, rh: c.humidRange(), ref: c.Form.Reference()}
	switch line {
	case NotAfter:
		if c.States != Minimum {
			p.scale = 1 - c.Shorter
		}
	case NotBefore:
		if c.States != Maximum {
			p.scale = 1 + c.Longer
		}
		// A closed film sees no air: where the class cures in one all the same, the
		// humidity of the hangar is nothing to it.
		if w := cl.Moisture; w != nil && m >= TackFree && (!b.Closed || w.ClosedWitness) {
			p.minRH = w.MinRH
		}
		p.setCredit(cl)
	}
	p.setBreaks()
	p.moist = p.moistCurve()
	p.humid = p.moist || len(p.rhs) > 0
	return p
}

// moist reports a form that has humidity in it.
func moist(f Form) bool {
	_, front := f.(Front)
	_, rhs := f.Breaks()
	return front || len(rhs) > 0
}

// setCredit bounds the credit by its own ceiling, the curve's and the one of the
// class's accelerated cure, whichever is lowest.
func (p *pace) setCredit(cl *Class) {
	cr := p.c.Credit
	if cr == nil {
		return
	}
	p.creditC = math.Min(p.c.Temp.Hi, cr.MaxC)
	if cl.Heat != nil {
		p.creditC = math.Min(p.creditC, cl.Heat.MaxC)
	}
	p.credit0 = cr.Form.Seconds(p.ref.TempC, p.ref.RH, p.ref.Vapour(), p.bead)
	t, _ := cr.Form.Breaks()
	p.temps = append(append(p.temps, t...), p.creditC)
	if p.moistCurve() {
		p.rhs = append(p.rhs, p.ref.RH) // drier than that lengthens the credited time
		return
	}
	p.temps = append(p.temps, p.crossings()...)
}

// moistCurve reports that humidity enters the curve or its credit.
func (p *pace) moistCurve() bool {
	return moist(p.c.Form) || p.c.Humidity != nil || p.c.Credit != nil && moist(p.c.Credit.Form)
}

// crossings are the temperatures, in °C, at which curve and credit change places
// between the reference and the end of the credit, each to 1e-10 °C.
func (p *pace) crossings() (all []float64) {
	const step = 0.125
	rule := func(tempC float64) int { return p.notBefore(tempC, 100, 0).rule }
	for from := p.ref.TempC + 2*slack; from < p.creditC; from += step {
		lo, hi := from, math.Min(from+step, p.creditC-2*slack)
		if !(lo < hi) {
			break
		}
		before := rule(lo)
		if before == rule(hi) {
			continue
		}
		for hi-lo > 1e-10 {
			if m := (lo + hi) / 2; rule(m) == before {
				lo = m
			} else {
				hi = m
			}
		}
		all = append(all, hi)
	}
	return all
}

func (p *pace) setBreaks() {
	c := p.c
	t, r := c.Form.Breaks()
	p.temps = append(p.temps, t...)
	p.rhs = append(p.rhs, r...)
	if c.Humidity != nil {
		for _, h := range c.Humidity.Points {
			p.rhs = append(p.rhs, h.RH)
		}
	}
	p.temps = append(p.temps, c.Temp.Lo, c.Temp.Hi)
	if p.line != Likely {
		p.temps = append(p.temps, p.ref.TempC)
	}
	if !p.rh.IsZero() {
		p.rhs = append(p.rhs, p.rh.Lo-drySlack, p.rh.Lo, p.rh.Hi)
	}
	if p.minRH > 0 {
		p.rhs = append(p.rhs, p.minRH-drySlack)
	}
	slices.Sort(p.temps)
	slices.Sort(p.rhs)
	p.temps, p.rhs = slices.Compact(p.temps), slices.Compact(p.rhs)
}

// reading is the pace at one condition.
type reading struct {
	rate float64 // parts per second
	temp float64 // °C
	pv   float64 // hPa
	rh   float64 // % RH, not capped; 0 where the pace does not look at it
	zone int     // numbers the smooth stretch of the pace that the condition lies in
	// ratio is the plain curve's time to the rated one where humidity enters it: where it
	// is 1 the rule of the line changes, at no temperature or humidity known beforehand.
	ratio float64
}

// at is the pace at the sealant. judgeC is the temperature humidity is judged at:
// the likely one, so that a margin on the forecast does not make damp air of dry
// air. Vapour beyond saturation at the sealant lies on it as water and drives
// nothing: a colder reading never has more of it.
func (p *pace) at(tempC, judgeC, pv float64) reading {
	return p.under(p.thermal(tempC), judgeC, pv)
}

// thermal is what temperature alone decides.
type thermal struct {
	temp float64 // °C
	sat  float64 // hPa at saturation; 0 where the pace does not look at the vapour
	rate float64 // parts per second in damp air, where the curve has no humidity in it
	zone int
}

func (p *pace) thermal(tempC float64) thermal {
	h := thermal{temp: tempC, zone: place(p.temps, tempC) << 8}
	if p.humid {
		h.sat = air.Saturation(tempC)
	}
	if !p.moist {
		rate, v := p.rate(tempC, 100, h.sat, tempC)
		h.rate, h.zone = rate, h.zone|v.rule
	}
	return h
}

// under completes what temperature decides with the vapour.
func (p *pace) under(h thermal, judgeC, pv float64) reading {
	r := reading{temp: h.temp, pv: pv, rate: h.rate, zone: h.zone}
	if !p.humid {
		return r
	}
	sat := h.sat
	if judgeC != h.temp {
		sat = air.Saturation(judgeC)
	}
	r.rh = 100 * pv / sat
	r.zone |= place(p.rhs, r.rh) << 32
	switch {
	case p.moist:
		rate, v := p.rate(h.temp, math.Min(100, r.rh), math.Min(pv, h.sat), judgeC)
		r.rate, r.zone, r.ratio = rate, r.zone|v.rule, v.ratio
	case p.line == NotBefore && p.dry(r.rh):
		r.rate = 0
	}
	if r.rh >= 100 {
		r.zone |= 1 << 56
	}
	if pv >= h.sat {
		r.zone |= 1 << 57
	}
	return r
}

// dry reports a humidity that a not-before line earns nothing in.
func (p *pace) dry(rh float64) bool {
	return rh < p.minRH-drySlack || !p.rh.IsZero() && rh < p.rh.Lo-drySlack
}

// place counts the limits at or under x.
func place(limits []float64, x float64) (n int) {
	for _, l := range limits {
		if x >= l-slack {
			n++
		}
	}
	return n
}

// verdict is a line's time before its spread, and how it came about.
type verdict struct {
	time  float64 // s
	rule  int     // numbers the rule that decided it
	ratio float64 // of the plain curve to what the rule puts against it; 0: nothing
}

// rate is the pace itself, and the verdict behind it.
func (p *pace) rate(tempC, rh, pv, judgeC float64) (float64, verdict) {
	c := p.c
	var v verdict
	switch p.line {
	case Likely:
		v.time = c.Plain(tempC, rh, pv, p.bead)
	case NotBefore:
		if tempC < c.Temp.Lo-slack || p.dry(rh) {
			return 0, verdict{rule: 1}
		}
		tempC = math.Min(tempC, c.Temp.Hi)
		if !p.rh.IsZero() && rh > p.rh.Hi {
			rh, pv = p.rh.Hi, math.Min(pv, p.rh.Hi/100*air.Saturation(judgeC))
		}
		v = p.notBefore(tempC, rh, pv)
	default:
		tempC = math.Max(tempC, c.Temp.Lo)
		if !p.rh.IsZero() && rh < p.rh.Lo {
			rh, pv = p.rh.Lo, p.rh.Lo/100*air.Saturation(math.Max(tempC, judgeC))
		}
		v = p.notAfter(tempC, rh, pv)
	}
	return math.Min(quickest, 1/(p.scale*v.time)), v
}

// notAfter is the smaller of the rated time and the curve. Where the class cites
// data that cold lengthens the time, cold may; dry air still may not.
func (p *pace) notAfter(tempC, rh, pv float64) verdict {
	t := p.c.Plain(tempC, rh, pv, p.bead)
	most := p.rated
	if p.c.ColdExtends != "" {
		if !p.moist {
			return verdict{time: t}
		}
		most = p.usual(tempC)
	}
	if t > most {
		return verdict{most, 1, t / most}
	}
	return verdict{t, 0, t / most}
}

// notBefore is the larger of the rated time and the curve, or, where the class has
// credit for warmth, the larger of the credit slope and the curve. The humidity that
// lengthens the curve lengthens the credited time as much, unless the credit has
// humidity in it itself.
func (p *pace) notBefore(tempC, rh, pv float64) verdict {
	t := p.c.Plain(tempC, rh, pv, p.bead)
	ratio := t / p.rated
	if t >= p.rated {
		return verdict{t, 2, ratio}
	}
	cr := p.c.Credit
	if cr == nil || tempC <= p.ref.TempC {
		return verdict{p.rated, 3, ratio}
	}
	if tempC > p.creditC {
		tempC = p.creditC
		t = p.c.Plain(tempC, rh, pv, p.bead)
	}
	s := cr.Form.Seconds(tempC, rh, pv, p.bead)
	s = math.Max(s, p.rated*s/p.credit0)
	if p.moistCurve() && !moist(cr.Form) {
		s *= math.Max(1, t/p.usual(tempC))
	}
	switch {
	case s >= p.rated || t >= p.rated:
		return verdict{p.rated, 3, math.Max(s, t) / p.rated}
	case t >= s:
		return verdict{t, 4, t / s}
	}
	return verdict{s, 5, math.Max(t/s, s/p.rated)}
}

// usual is the curve at a temperature with the humidity of its reference.
func (p *pace) usual(tempC float64) float64 {
	b := p.bead
	b.Closed = false
	return p.c.Plain(tempC, p.ref.RH, air.Vapour(tempC, p.ref.RH), b)
}
