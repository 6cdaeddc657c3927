package verify

import (
	"math"
	"time"

	"beadline/cure"
)

// airs is the air of the job, read from its history by the half step and kept.
// Instants are seconds since the job's start.
type airs struct {
	history *cure.History
	zero    time.Time
	limit   float64 // the end of the history
	kept    [cure.Likely + 1][]*page
}

// page is what is kept of some hours: read whole when first needed.
type page [pageLen]sample

const pageLen = 512

type sample struct{ c, pv, judge float64 } // °C, hPa, °C

func newAirs(h *cure.History, start time.Time) *airs {
	return &airs{history: h, zero: start, limit: h.Until().Sub(start).Seconds()}
}

func (a *airs) seconds(t time.Time) float64 { return math.Max(0, t.Sub(a.zero).Seconds()) }

func (a *airs) instant(u float64) time.Time {
	return a.zero.Add(time.Duration(math.Round(u * 1e9)))
}

// at is the air at an instant as a line reads it.
func (a *airs) at(line cure.Line, u float64) sample {
	i := int(u / half)
	if u < 0 || u != float64(i)*half || u > a.limit {
		return a.read(line, u)
	}
	n := i / pageLen
	for len(a.kept[line]) <= n {
		a.kept[line] = append(a.kept[line], nil)
	}
	p := a.kept[line][n]
	if p == nil {
		p = new(page)
		for k := range p {
			p[k] = a.read(line, float64(n*pageLen+k)*half)
		}
		a.kept[line][n] = p
	}
	return p[i%pageLen]
}

func (a *airs) read(line cure.Line, u float64) sample {
	c, pv := a.history.At(a.instant(u), line)
	return sample{c, pv, a.history.JudgedAt(a.instant(u), line)}
}

// judge is the temperature of the air at which a line judges relative humidity: as the
// history says, for in a gap in a log only it knows both ends.
func (a *airs) judge(line cure.Line, u float64) float64 { return a.at(line, u).judge }

// feeling is what sealant feels at an instant.
type feeling struct {
	temp  float64 // °C
	judge float64 // °C at which relative humidity is judged
	pv    float64 // hPa of the air
}

// potAndAir is a pot at a temperature that is carried out to the joint: the warmer
// of it and the air, as the not-after line reads the air.
func (a *airs) potAndAir(pot float64) func(float64) feeling {
	return func(u float64) feeling {
		s := a.at(cure.NotAfter, u)
		return feeling{warmer(pot, s.c), warmer(pot, a.judge(cure.NotAfter, u)), s.pv}
	}
}

// potAlone is a pot that stays where it was mixed.
func (a *airs) potAlone(pot float64) func(float64) feeling {
	if math.IsNaN(pot) {
		return a.potAndAir(pot)
	}
	return func(u float64) feeling { return feeling{pot, pot, a.at(cure.NotAfter, u).pv} }
}

// warmer is the greater of a pot's temperature, if it is known, and the air's.
func warmer(pot, c float64) float64 {
	if math.IsNaN(pot) {
		return c
	}
	return math.Max(pot, c)
}
