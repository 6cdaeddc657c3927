package cure

import (
	"fmt"
	"math"
	"time"

	"beadline/cure/air"
)

// Excursion is time spent where the curve does not hold.
type Excursion struct {
	What string        // "below the floor of 4 C", "above the ceiling of 49 C", "under 40 % RH at the part"
	For  time.Duration // in all, between start and the milestone, to about a minute in a day
}

// excursions adds up the time outside the curve. A nil one adds nothing up.
type excursions struct {
	tr                       *track
	cold, hot, parched, damp float64
}

// driest is the humidity, in %, under which the pace earns nothing or has no curve.
func (p *pace) driest() float64 { return math.Max(p.minRH, p.rh.Lo) }

func (e *excursions) add(s *stretch, w float64) {
	if e == nil || w <= 0 || e.inside(s, w) {
		return
	}
	first, last := e.outside(s, 0), e.outside(s, w)
	_, turns := s.turn(w)
	if first == last && !turns && e.outside(s, w/2) == first {
		e.count(first, w)
		return
	}
	n := int(math.Max(1, math.Min(1000, w/10)))
	d := w / float64(n)
	for k := range n {
		e.count(e.outside(s, (float64(k)+0.5)*d), d)
	}
}

// beyond says on which sides of the curve a condition lies.
type beyond struct{ cold, hot, parched, damp bool }

// outside judges the condition u seconds into a stretch.
func (e *excursions) outside(s *stretch, u float64) (b beyond) {
	p, r := e.tr.pace, e.tr.read(s, u)
	b.cold = r.temp < p.c.Temp.Lo-slack
	b.hot = r.temp > p.c.Temp.Hi+slack
	if p.humid {
		b.parched = r.rh < p.driest()-drySlack
		b.damp = !b.parched && !p.rh.IsZero() && math.Min(100, r.rh) > p.rh.Hi+slack
	}
	return b
}

// count adds d seconds to what they lie beyond.
func (e *excursions) count(b beyond, d float64) {
	for _, x := range [...]struct {
		is  bool
		sum *float64
	}{{b.cold, &e.cold}, {b.hot, &e.hot}, {b.parched, &e.parched}, {b.damp, &e.damp}} {
		if x.is {
			*x.sum += d
		}
	}
}

// inside reports, at little cost, that nothing of a stretch lies outside the curve.
func (e *excursions) inside(s *stretch, w float64) bool {
	p := e.tr.pace
	lo, hi := math.Inf(1), math.Inf(-1)
	look := func(u float64) { lo, hi = math.Min(lo, s.temp(u)), math.Max(hi, s.temp(u)) }
	look(0)
	look(w)
	if v, ok := s.turn(w); ok {
		look(v)
	}
	if lo < p.c.Temp.Lo-slack || hi > p.c.Temp.Hi+slack {
		return false
	}
	if p.minRH == 0 && p.rh.IsZero() {
		return true
	}
	l0, l1 := math.Min(s.la, s.la+s.lb*w), math.Max(s.la, s.la+s.lb*w)
	p0, p1 := math.Min(s.vapour(0), s.vapour(w)), math.Max(s.vapour(0), s.vapour(w))
	return air.Humidity(hi+l1, p0) >= p.driest()-drySlack && (p.rh.IsZero() || air.Humidity(lo+l0, p1) <= p.rh.Hi+slack)
}

func (e *excursions) list() []Excursion {
	if e == nil {
		return nil
	}
	var out []Excursion
	add := func(s float64, format string, v float64) {
		if s >= 1 {
			out = append(out, Excursion{fmt.Sprintf(format, v), time.Duration(math.Round(s)) * time.Second})
		}
	}
	p := e.tr.pace
	add(e.cold, "below the floor of %.4g C", p.c.Temp.Lo)
	add(e.hot, "above the ceiling of %.4g C", p.c.Temp.Hi)
	add(e.parched, "under %g %% RH at the part", p.driest())
	add(e.damp, "over %g %% RH at the part", p.rh.Hi)
	return out
}
