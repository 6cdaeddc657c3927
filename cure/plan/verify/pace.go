package verify

import (
	"math"

	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"
)

// pace is one curve of a class, read for a line and a bead.
type pace struct {
	curve *cure.Curve
	line  cure.Line
	bead  cure.Bead

	rated float64 // s at the curve's reference
	scale float64 // what the spread makes of every time
	ref   cure.Air
	humid bool           // the pace depends on moisture
	rh    quantity.Range // % RH the curve is given for; zero: any
	minRH float64        // % RH; drier earns no cure
	most  float64        // °C; warmer earns no more credit
}

// newPace reads a curve. Its rated time is guaranteed on one side by what it states
// (a minimum is not shorter, a maximum not longer); the spread counts on the other.
// Air that is too dry earns no cure at all, save in a closed film of a class whose
// times are stated for one.
func newPace(cl *cure.Class, c *cure.Curve, m cure.Milestone, line cure.Line, b cure.Bead) *pace {
	p := &pace{curve: c, line: line, bead: b, rated: c.Rated(b), scale: 1, ref: c.Form.Reference(), rh: c.RH}
	switch {
	case line == cure.NotAfter && c.States != cure.Minimum:
		p.scale = 1 - c.Shorter
	case line == cure.NotBefore && c.States != cure.Maximum:
		p.scale = 1 + c.Longer
	}
	if w := cl.Moisture; w != nil && m >= cure.TackFree && line == cure.NotBefore && (!b.Closed || w.ClosedWitness) {
		p.minRH = w.MinRH
	}
	_, kinks := c.Form.Breaks()
	if t, ok := c.Form.(*cure.Table); ok && p.rh.IsZero() && len(kinks) > 1 {
		_, _, p.rh.Lo, p.rh.Hi = t.Span() // a table speaks for the humidities it holds
	}
	_, front := c.Form.(cure.Front)
	p.humid = front || len(kinks) > 0 || c.Humidity != nil || !p.rh.IsZero() || p.minRH > 0
	if c.Credit != nil {
		p.most = math.Min(c.Temp.Hi, c.Credit.MaxC)
		if cl.Heat != nil {
			p.most = math.Min(p.most, cl.Heat.MaxC)
		}
	}
	return p
}

// edge keeps arithmetic from missing a limit that a condition stands exactly on.
const edge = 1e-9

// dryEdge is how far, in % RH, air may lie under a limit of dryness and still stand on
// it: hygrometers read in tenths at best.
const dryEdge = 1e-3

// rate is how fast the milestone comes nearer, in parts per second. Vapour beyond
// saturation is water on the surface and drives nothing.
func (p *pace) rate(f feeling) float64 {
	rh, pv := 0.0, f.pv
	if p.humid {
		rh = math.Min(100, air.Humidity(f.judge, f.pv))
		pv = math.Min(pv, air.Saturation(f.temp))
	}
	switch p.line {
	case cure.NotBefore:
		return p.earned(f.temp, rh, pv)
	case cure.NotAfter:
		return p.spent(f.temp, rh, pv)
	}
	return 1 / p.curve.Plain(f.temp, rh, pv, p.bead)
}

// earned is the pace of a not-before line. Below the floor of temperature or
// humidity nothing is earned, above the ceiling no more than at it. The time is the
// larger of the rated time and the curve; warmth above the reference shortens the
// rated time along the slope of the class's credit, up to that one's ceiling.
func (p *pace) earned(c, rh, pv float64) float64 {
	if c < p.curve.Temp.Lo-edge || rh < p.minRH-dryEdge || !p.rh.IsZero() && rh < p.rh.Lo-dryEdge {
		return 0
	}
	c = math.Min(c, p.curve.Temp.Hi)
	if !p.rh.IsZero() && rh > p.rh.Hi {
		pv *= p.rh.Hi / rh
		rh = p.rh.Hi
	}
	plain, owed := p.curve.Plain(c, rh, pv, p.bead), p.rated
	if cr := p.curve.Credit; cr != nil && c > p.ref.TempC {
		slope := cr.Form.Seconds(math.Min(c, p.most), rh, pv, p.bead) /
			cr.Form.Seconds(p.ref.TempC, rh, pv, p.bead)
		owed *= math.Min(1, slope)
	}
	return 1 / (p.scale * math.Max(plain, owed))
}

// spent is the pace of a not-after line. Below the floor it is spent as at the
// floor, above the ceiling as the curve goes on. The time is the smaller of the
// rated time and the curve; where the class cites data that cold lengthens it, cold
// may, but dry air may not.
func (p *pace) spent(c, rh, pv float64) float64 {
	c = math.Max(c, p.curve.Temp.Lo)
	if !p.rh.IsZero() && rh < p.rh.Lo {
		rh, pv = p.rh.Lo, air.Vapour(c, p.rh.Lo)
	}
	t := p.curve.Plain(c, rh, pv, p.bead)
	switch {
	case p.curve.ColdExtends == "":
		t = math.Min(t, p.rated)
	case p.humid:
		t = math.Min(t, p.curve.Plain(c, p.ref.RH, air.Vapour(c, p.ref.RH), p.bead))
	}
	return 1 / (p.scale * t)
}

// openBead is a layer's bead while it is worked: as deep as the film or the leg of
// the fillet, and no face closed yet.
func openBead(l job.Layer) cure.Bead {
	b := cure.Bead{DepthMM: l.Bead.ThicknessMM, Faces: l.Bead.Faces}
	if l.Seal == cure.Fillet && l.Bead.LegMM > 0 {
		b.DepthMM = l.Bead.LegMM
	}
	return b
}

// curingBead is the bead once it is laid: a faying film is closed.
func curingBead(l job.Layer) cure.Bead {
	b := openBead(l)
	b.Closed = l.Seal == cure.Faying
	return b
}
