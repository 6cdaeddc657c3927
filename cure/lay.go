package cure

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"
	"time"

	"beadline/cure/air"
)

// longest bounds a history: nothing that cures is followed for longer.
const longest = 50 * 365 * 24 * time.Hour

// NewHistory lays pieces end to end over [from, until]. A later piece begins where
// the readings of the earlier one end; the last reading is held where nothing
// follows. Readings before from count as far as they say what the air was at from.
// Every gap, margin and held value is in Notes. Errors: no piece, a piece that
// cannot be, readings out of order, a first reading after from, a piece that never
// comes into play, a span of no or absurd length.
func NewHistory(pieces []Piece, from, until time.Time) (*History, error) {
	if len(pieces) == 0 {
		return nil, fmt.Errorf("no air is given: name a log, a swing or constant air")
	}
	if !until.After(from) {
		return nil, fmt.Errorf("the air history ends (%s) before it starts (%s)", until.Format(time.RFC3339), from.Format(time.RFC3339))
	}
	if until.Sub(from) > longest {
		return nil, fmt.Errorf("the air history runs from %s to %s: that is longer than 50 years", from.Format(time.RFC3339), until.Format(time.RFC3339))
	}
	b := builder{h: &History{zero: from}, until: until.Sub(from).Seconds()}
	b.likely.grow(most(pieces))
	for i, p := range pieces {
		if err := p.check(); err != nil {
			return nil, err
		}
		if i > 0 && pieces[i-1].Samples == nil && p.Samples == nil {
			return nil, fmt.Errorf("%s never comes into play: %s in front of it has no end", p.Name, pieces[i-1].Name)
		}
	}
	for i, p := range pieces {
		if b.end() >= b.until {
			break
		}
		next := b.until
		if i+1 < len(pieces) {
			if s := pieces[i+1].Samples; len(s) > 0 {
				next = math.Min(next, b.h.seconds(s[0].At))
			}
		}
		b.add(p, next)
	}
	if t := b.likely.t; t[0] > 0 {
		p := pieces[0]
		z := p.Samples[0].At.Location()
		return nil, fmt.Errorf("%s: its first reading is at %s, later than %s where the air is needed from",
			p.Name, p.Samples[0].At.Format("2006-01-02 15:04"), from.In(z).Format("2006-01-02 15:04"))
	}
	if b.end() < b.until {
		b.hold(b.last)
	}
	return b.finish(), nil
}

// most is about how many knots the pieces need.
func most(pieces []Piece) (n int) {
	for _, p := range pieces {
		n += len(p.Samples)
	}
	return n + 16
}

func (l *lane) grow(n int) {
	l.t, l.c, l.pv = make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
}

// builder lays knots. The guarded lanes are filled from the first knot on that they
// differ at; most logs have none.
type builder struct {
	h                  *History
	until              float64
	likely, cold, warm lane
	guarded            bool
	last               Piece // the piece whose readings came last
	dew                bool  // the piece gives its vapour by a dew point, not by a humidity
}

func (b *builder) note(format string, args ...any) {
	b.h.notes = append(b.h.notes, fmt.Sprintf(format, args...))
}

// end is the time of the last knot; -Inf before the first.
func (b *builder) end() float64 {
	if n := len(b.likely.t); n > 0 {
		return b.likely.t[n-1]
	}
	return math.Inf(-1)
}

// guard begins the lanes of the two safe sides.
func (b *builder) guard() {
	if b.guarded {
		return
	}
	b.guarded = true
	for _, l := range []*lane{&b.cold, &b.warm} {
		l.c = append(l.c, b.likely.c...)
		l.pv = append(l.pv, b.likely.pv...)
		l.judge = append(l.judge, b.likely.c...)
	}
}

// put adds a knot with a margin m. Air whose humidity is given keeps that humidity in
// its colder and warmer readings, and so holds less or more vapour; air whose dew
// point is given keeps its vapour, and its humidity is judged at the likely
// temperature.
func (b *builder) put(u, c, pv, m float64) {
	if m != 0 {
		b.guard()
	}
	b.likely.t = append(b.likely.t, u)
	b.likely.c = append(b.likely.c, c)
	b.likely.pv = append(b.likely.pv, pv)
	switch {
	case !b.guarded:
	case b.dew || m == 0:
		b.cold.put(c-m, pv, c)
		b.warm.put(c+m, pv, c)
	default:
		rh := pv / air.Saturation(c)
		b.cold.put(c-m, rh*air.Saturation(c-m), c-m)
		b.warm.put(c+m, rh*air.Saturation(c+m), c+m)
	}
}

func (l *lane) put(c, pv, judge float64) {
	l.c, l.pv, l.judge = append(l.c, c), append(l.pv, pv), append(l.judge, judge)
}

// add lays one piece, which ends at next if nothing in itself ends it.
func (b *builder) add(p Piece, next float64) {
	m := 0.0
	if p.Forecast {
		m = p.Margin
	}
	start := math.Max(0, b.end())
	b.dew = p.Swing != nil && !math.IsNaN(p.Swing.DewC)
	switch {
	case len(p.Samples) > 0:
		b.samples(p, m)
		return
	case next <= start:
		return // the piece behind it has readings from here on
	case p.Constant != nil:
		pv := p.Constant.Vapour()
		b.put(start, p.Constant.TempC, pv, m)
		b.put(next, p.Constant.TempC, pv, m)
	default:
		b.swing(p.Swing, start, next, m)
	}
	b.doubt(p, m)
}

func (b *builder) doubt(p Piece, m float64) {
	if m != 0 {
		b.note("%s is a forecast: taken %g C colder where cure must be waited for and %g C warmer where the pot runs out.", p.Name, m, m)
	}
}

// swing lays knots on whole multiples of the step in absolute time, so that the
// same swing is the same curve whatever instant the history begins at.
func (b *builder) swing(s *Swing, start, end, m float64) {
	step := SwingStep.Seconds()
	origin := math.Mod(float64(b.h.zero.Unix()), step) + float64(b.h.zero.Nanosecond())/1e9
	knot := func(k float64) (u, c, pv float64) {
		u = k*step - origin
		c, pv = s.At(b.h.instant(u))
		return u, c, pv
	}
	// The ends lie on the straight line between the knots around them.
	edge := func(u, k float64) {
		u0, c0, p0 := knot(k)
		_, c1, p1 := knot(k + 1)
		f := (u - u0) / step
		b.put(u, c0+f*(c1-c0), p0+f*(p1-p0), m)
	}
	first, last := math.Floor((start+origin)/step), math.Ceil((end+origin)/step)
	edge(start, first)
	for k := first + 1; k < last; k++ {
		if u, c, pv := knot(k); u > start && u < end {
			b.put(u, c, pv, m)
		}
	}
	edge(end, last-1)
}

// samples lays readings from where the air so far ends, as far as they are needed.
// Of those at or before the start only the last one matters.
func (b *builder) samples(p Piece, m float64) {
	s, end := p.Samples, b.end()
	at := func(i int) float64 { return b.h.seconds(s[i].At) }
	i := sort.Search(len(s), func(i int) bool { return at(i) > end })
	k := sort.Search(len(s), func(i int) bool { return at(i) > 0 }) - 1
	switch {
	case i == len(s) && at(i-1) < end:
		return // it ends before the piece in front of it does
	case i == len(s):
		k = i - 1
		fallthrough
	case math.IsInf(end, -1), k >= i:
		i = max(k, 0)
		b.put(at(i), s[i].TempC, s[i].Vapour(), m)
		i++
	case i > 0:
		b.join(p, i, m)
		i++
	case tooFar(at(0) - end):
		b.gapTo(p, b.lastReading(), end, s[0], m)
		i++
	}
	b.last = p
	b.doubt(p, m)
	for i < len(s) && b.end() < b.until {
		if j := b.run(p, s[i:], m); j > 0 {
			i += j
			continue
		}
		if u := at(i); !p.Forecast && tooFar(u-b.end()) {
			b.gapTo(p, b.lastReading(), b.end(), s[i], m)
		} else {
			b.put(u, s[i].TempC, s[i].Vapour(), m)
		}
		i++
	}
}

// run lays measured readings up to the first gap or the end of what is needed, where
// nothing but the likely air is kept so far, and says how many: a year of minutes is
// half a million.
func (b *builder) run(p Piece, s []Sample, m float64) int {
	if p.Forecast || b.guarded || m != 0 {
		return 0
	}
	at := func(i int) float64 { return b.h.seconds(s[i].At) }
	n := min(len(s), 1+sort.Search(len(s), func(i int) bool { return at(i) >= b.until }))
	l, from, end := &b.likely, len(b.likely.t), b.end()
	l.t, l.c, l.pv = slices.Grow(l.t, n)[:from+n], slices.Grow(l.c, n)[:from+n], slices.Grow(l.pv, n)[:from+n]
	t, c, pv := l.t[from:], l.c[from:], l.pv[from:]
	n = inParts(n, func(lo, hi int) int {
		sat, last := saturations(), end
		if lo > 0 {
			last = at(lo - 1)
		}
		for i := lo; i < hi; i++ {
			u := at(i)
			if tooFar(u - last) {
				return i
			}
			t[i], c[i], pv[i] = u, s[i].TempC, s[i].RH/100*sat(s[i].TempC)
			last = u
		}
		return hi
	})
	l.t, l.c, l.pv = l.t[:from+n], l.c[:from+n], l.pv[:from+n]
	return n
}

// inParts has n pieces of work done, on several processors if they are many: do does
// those from lo to hi and gives the first that it left, or hi. So does inParts.
func inParts(n int, do func(lo, hi int) int) int {
	const worth = 1 << 14
	parts := max(1, min(runtime.GOMAXPROCS(0), n/worth))
	left := make([]int, parts)
	var wg sync.WaitGroup
	for k := range parts {
		wg.Go(func() { left[k] = do(k*n/parts, (k+1)*n/parts) })
	}
	wg.Wait()
	for k, l := range left {
		if l < (k+1)*n/parts {
			return l
		}
	}
	return n
}

// saturations is air.Saturation for many temperatures. Sensors read in tenths of a
// degree, so that a year holds few: what was worked out is kept.
func saturations() func(tempC float64) float64 {
	const bits = 10
	var temps, kept [1 << bits]float64
	for i := range temps {
		temps[i] = math.NaN()
	}
	return func(tempC float64) float64 {
		k := math.Float64bits(tempC) * 0x9e3779b97f4a7c15 >> (64 - bits)
		if temps[k] != tempC {
			temps[k], kept[k] = tempC, air.Saturation(tempC)
		}
		return kept[k]
	}
}

// tooFar reports a gap between readings, in s. A microsecond of arithmetic makes no
// gap of readings that are two hours apart.
func tooFar(s float64) bool { return s > MaxGap.Seconds()+1e-6 }

// join begins a piece whose readings were under way before its turn came: with a
// jump onto the line between the readings around it. s[i] is the first one after.
func (b *builder) join(p Piece, i int, m float64) {
	before, after, end := p.Samples[i-1], p.Samples[i], b.end()
	a := b.h.seconds(before.At)
	f := (end - a) / (b.h.seconds(after.At) - a)
	pv0, pv1 := before.Vapour(), after.Vapour()
	b.put(end, before.TempC+f*(after.TempC-before.TempC), pv0+f*(pv1-pv0), m)
	if !p.Forecast && tooFar(after.At.Sub(before.At).Seconds()) {
		b.gapTo(p, doubted(before, 0), end, after, m)
		return
	}
	b.put(b.h.seconds(after.At), after.TempC, pv1, m)
}

// finish cuts off what lies before the start and shares what the lanes share.
func (b *builder) finish() *History {
	l := &b.likely
	lanes := []*lane{l}
	if b.guarded {
		b.cold.t, b.warm.t = l.t, l.t
		lanes = append(lanes, &b.cold, &b.warm)
	}
	if l.t[0] < 0 {
		i := l.find(0)
		for _, n := range lanes {
			for _, y := range []*[]float64{&n.c, &n.pv, &n.judge} {
				if *y != nil {
					(*y)[i] = n.between(*y, i, 0)
					*y = (*y)[i:]
				}
			}
		}
		t := append([]float64(nil), l.t[i:]...)
		t[0] = 0
		for _, n := range lanes {
			n.t = t
		}
	}
	for _, n := range lanes {
		n.bounds()
	}
	h := b.h
	h.lanes = [...]*lane{Likely: l, NotAfter: l, NotBefore: l}
	if b.guarded {
		h.lanes[NotBefore], h.lanes[NotAfter] = &b.cold, &b.warm
	}
	return h
}
