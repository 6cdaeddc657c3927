package cure

import (
	"fmt"
	"math"

	"beadline/cure/air"
)

// guarded is one end of a gap: its temperature, °C, and vapour pressure, hPa, each
// likely and on the two safe sides.
type guarded struct{ c, cold, warm, pv, dry, wet float64 }

// doubted is a reading with a margin m; its humidity stands.
func doubted(s Sample, m float64) guarded {
	rh := s.RH / 100
	return guarded{s.TempC, s.TempC - m, s.TempC + m, s.Vapour(), rh * air.Saturation(s.TempC-m), rh * air.Saturation(s.TempC+m)}
}

func (g guarded) rh() float64 { return math.Min(100, air.Humidity(g.c, g.pv)) }

func (b *builder) lastReading() guarded {
	n := len(b.likely.t) - 1
	c, pv := b.likely.c[n], b.likely.pv[n]
	g := guarded{c, c, c, pv, pv, pv}
	if b.guarded {
		g.cold, g.warm, g.dry, g.wet = b.cold.c[n], b.warm.c[n], b.cold.pv[n], b.warm.pv[n]
	}
	return g
}

// widened is an end with the doubt m of a forecast added; its humidity stands.
func (g guarded) widened(m float64) guarded {
	rh := g.rh() / 100
	return guarded{g.c, g.cold - m, g.warm + m, g.pv, math.Min(g.dry, rh*air.Saturation(g.cold-m)), math.Max(g.wet, rh*air.Saturation(g.warm+m))}
}

// gapTo adds a reading that comes too long after the one before. Nobody measured the
// stretch between, so that it is doubted as a forecast is: cure counts with the colder,
// drier and less humid of the two ends, the pot with the warmer and wetter; the likely
// air runs straight.
func (b *builder) gapTo(p Piece, l guarded, from float64, s Sample, m float64) {
	u := b.h.seconds(s.At)
	l, r := l.widened(p.Margin), doubted(s, m).widened(p.Margin-m)
	more := ""
	if p.Margin > 0 {
		more = fmt.Sprintf(", and %g C colder or warmer than that", p.Margin)
	}
	b.note("%s: no reading from %s to %s: cure is counted at the slower end of the gap, the pot at the faster%s.", p.Name,
		b.h.instant(from).In(s.At.Location()).Format("Mon 2 Jan 15:04"), s.At.Format("Mon 2 Jan 15:04 MST"), more)
	b.guard()
	n := len(b.likely.t) - 1
	dry, wet := math.Min(l.dry, r.dry), math.Max(l.wet, r.wet)
	b.likely.t = append(b.likely.t, from, u)
	b.likely.c = append(b.likely.c, b.likely.c[n], r.c)
	b.likely.pv = append(b.likely.pv, b.likely.pv[n], r.pv)
	for range 2 {
		b.cold.put(math.Min(l.cold, r.cold), dry, judge(dry, math.Min(l.rh(), r.rh()), math.Max(l.c, r.c)))
		b.warm.put(math.Max(l.warm, r.warm), wet, judge(wet, math.Max(l.rh(), r.rh()), math.Min(l.c, r.c)))
	}
	b.put(u, r.c, r.pv, m)
}

// judge is the temperature at which vapour of pressure pv has the humidity rh; for
// dry air it is any.
func judge(pv, rh, any float64) float64 {
	if pv <= 0 || rh <= 0 {
		return any
	}
	return air.DewPoint(100 * pv / rh)
}

// hold goes on with the last reading to the end, as a forecast.
func (b *builder) hold(p Piece) {
	l := b.lastReading()
	b.dew = false
	doubt := ""
	if p.Margin > 0 {
		doubt = fmt.Sprintf(", taken %g C colder where cure must be waited for and %g C warmer where the pot runs out", p.Margin, p.Margin)
	}
	b.note("%s ends at %s: its last reading, %.1f C and %.0f %% RH, is held from there on%s.",
		p.Name, b.h.instant(b.end()).In(p.Samples[0].At.Location()).Format("Mon 2 Jan 15:04 MST"), l.c, l.rh(), doubt)
	b.put(b.end(), l.c, l.pv, p.Margin)
	b.put(b.until, l.c, l.pv, p.Margin)
}
