package cure

import "math"

// block is how many lane segments are added up at a time.
const block = 128

// sums adds up progress at every knot of the lane. What addition rounds off is carried
// along (Knuth's two-sum) from block to block, so that a year of minutes costs no more
// accuracy than a day.
func (tr *track) sums() []float64 {
	n := len(tr.lane.t)
	sums := make([]float64, n)
	add := tr.adder()
	var base, lost float64
	for from := 0; from < n-1; from += block {
		to := min(from+block, n-1)
		d := add(sums[from+1:to+1], from, base+lost)
		t := base + d
		v := t - base
		lost += (base - (t - v)) + (d - v)
		base = t
		// Progress never falls, not by the last bit either.
		for i := from + 1; i <= to && sums[i] < sums[from]; i++ {
			sums[i] = sums[from]
		}
	}
	return sums
}

// adder gives the function that adds up the lane segments from one on into sums, which
// start at base, and gives what it has added.
func (tr *track) adder() func(sums []float64, from int, base float64) float64 {
	switch l, q := tr.lane, tr.cells; {
	case q == nil:
		return tr.addSlowly
	case !q.front && tr.tau == 0 && l.judge == nil && tr.pot <= q.lo:
		return tr.addAtAir
	}
	ends := new([block + 1]end)
	if tr.tau > 0 {
		return func(sums []float64, from int, base float64) float64 { return tr.addAtPart(ends, sums, from, base) }
	}
	return func(sums []float64, from int, base float64) float64 { return tr.addAtEnds(ends, sums, from, base) }
}

// addSlowly adds up by the integrator.
func (tr *track) addSlowly(sums []float64, from int, base float64) float64 {
	sum := 0.0
	for i := range sums {
		sum += tr.slowly(from + i)
		sums[i] = base + sum
	}
	return sum
}

// slowly is the progress over a lane segment by the integrator.
func (tr *track) slowly(i int) float64 {
	w := tr.lane.t[i+1] - tr.lane.t[i]
	if w == 0 {
		return 0
	}
	s := tr.along(i)
	return tr.integrate(&s, 0, w)
}

// addAtAir adds up the segments of sealant at air temperature by the cells: look and
// straight in one, for the half million pieces of a year of minutes.
func (tr *track) addAtAir(sums []float64, from int, base float64) float64 {
	l, q := tr.lane, tr.cells
	t, temps, pv := l.t[from:][:len(sums)+1], l.c[from:][:len(sums)+1], l.pv[from:][:len(sums)+1]
	var a end
	q.look(&a, temps[0], temps[0], pv[0], 0)
	fa, ta, ua, needa, pva, dampa := a.f, a.temp, t[0], a.need, pv[0], a.damp
	if !a.smooth {
		dampa = 0
	}
	sum, dry := 0.0, q.driest/100
	for i := range sums {
		tb, ub := temps[i+1], t[i+1]
		k := int((tb - q.lo + slack) * (1 / cellC))
		c := &q.of[k]
		x := tb - (q.lo + float64(k)*cellC)
		fb := c.sum + x*(c.a+x*(c.b+x*(c.c+x*c.d)))
		needb, pvb, dampb := 0.0, 0.0, int8(1)
		if dry > 0 {
			needb, pvb = dry*(c.s0+x*(c.s1+x*(c.s2+x*c.s3))), pv[i+1]
			dampb = dampness(pvb, needb, needb*dampTol)
		}
		if !c.smooth {
			dampb = 0
		}
		dt := tb - ta
		switch {
		case dampa > 0 && dampb > 0 && dt == 0:
			sum += (c.a + x*(2*c.b+x*(3*c.c+x*4*c.d))) * (ub - ua)
		case dampa > 0 && dampb > 0 && (dt > 1e-3 || dt < -1e-3):
			sum += (fb - fa) / dt * (ub - ua)
		case dampa < 0 && dampb < 0 && max(pva, pvb) < min(needa, needb): // earns nothing
		default:
			sum += tr.over(from + i)
		}
		sums[i] = base + sum
		fa, ta, ua, needa, pva, dampa = fb, tb, ub, needb, pvb, dampb
	}
	return sum
}

// addAtEnds adds up the segments of sealant at the temperature of air or pot.
func (tr *track) addAtEnds(ends *[block + 1]end, sums []float64, from int, base float64) float64 {
	l, q, sum := tr.lane, tr.cells, 0.0
	for i := range len(sums) + 1 {
		tr.endAt(&ends[i], from+i)
	}
	for i := range sums {
		k := from + i
		d, ok := 0.0, false
		if (l.c[k] < tr.pot) == (l.c[k+1] < tr.pot) {
			d, ok = q.straight(&ends[i], &ends[i+1], l.t[k+1]-l.t[k])
		}
		if !ok {
			d = tr.slowly(k)
		}
		sum += d
		sums[i] = base + sum
	}
	return sum
}

// addAtPart adds up the segments of a part with a time constant.
func (tr *track) addAtPart(ends *[block + 1]end, sums []float64, from int, base float64) float64 {
	l, q, sum := tr.lane, tr.cells, 0.0
	for i := range len(sums) + 1 {
		tr.endAt(&ends[i], from+i)
	}
	width, half := math.NaN(), 0. // 1 − e^(−w/2τ) is kept: a log's readings are evenly spaced
	for i := range sums {
		k := from + i
		w := l.t[k+1] - l.t[k]
		if w != width {
			width, half = w, gone(w/2/tr.tau)
		}
		b := l.slope(k)
		s := stretch{a: l.c[k], b: b, x: tr.knots[k], tau: tr.tau}
		d, ok := q.bent(&s, &ends[i], &ends[i+1], w, half)
		if !ok {
			d = tr.slowly(k)
		}
		sum += d
		sums[i] = base + sum
	}
	return sum
}

// over is the progress over lane segment i.
func (tr *track) over(i int) float64 {
	var n within
	n.open(tr, i)
	return n.upTo(tr.lane.t[i+1] - tr.lane.t[i])
}

// endAt reads the cells at knot i: the sealant at the temperature of the air, of the
// pot, or of a part with a time constant.
func (tr *track) endAt(e *end, i int) {
	l := tr.lane
	t, bow := max(l.c[i], tr.pot), 0.0
	if tr.tau > 0 {
		t, bow = tr.knots[i], bowC
	}
	judge := t
	if l.judge != nil {
		judge += l.judge[i] - l.c[i]
	}
	pv := 0.0
	if tr.pace.humid {
		pv = l.pv[i]
	}
	tr.cells.look(e, t, judge, pv, bow)
}

// tabulate makes the cells of the track, where they serve.
func (tr *track) tabulate() {
	l := tr.lane
	lo, hi := l.coldest, l.warmest
	if tr.tau > 0 {
		tr.partKnots()
		lo, hi = min(lo, tr.at), max(hi, tr.at)
	}
	if tr.pot > hi {
		hi = tr.pot
	}
	tr.cells = newCells(tr.pace, lo-l.judgedOff, hi+l.judgedOff)
}

// within is progress within one lane segment, for many questions.
type within struct {
	tr *track
	q  *cells // nil: ask the integrator
	s  stretch
	a  end
}

func (n *within) open(tr *track, i int) {
	n.tr, n.q = tr, tr.cells
	n.s = tr.along(i)
	if n.q != nil {
		tr.endAt(&n.a, i)
	}
}

// upTo is the progress over the first u seconds.
func (n *within) upTo(u float64) float64 {
	if u <= 0 {
		return 0
	}
	if sum, ok := n.quickly(u); ok {
		return sum
	}
	return n.tr.integrate(&n.s, 0, u)
}

func (n *within) quickly(u float64) (float64, bool) {
	q, s := n.q, &n.s
	var b end
	switch {
	case q == nil:
		return 0, false
	case s.tau > 0:
		half := gone(u / 2 / s.tau)
		t := s.bent(u, half*(2-half))
		q.look(&b, t, t+s.la+s.lb*u, s.vapour(u), bowC)
		return q.bent(s, &n.a, &b, u, half)
	}
	c := s.a + s.b*u
	if (s.a < s.pot) != (c < s.pot) {
		return 0, false
	}
	t := max(c, s.pot)
	q.look(&b, t, t+s.la+s.lb*u, s.vapour(u), 0)
	return q.straight(&n.a, &b, u)
}

// settledS ends the search: a secant step this short, in s, leaves a thousandth of itself.
const settledS = 1e-5

// solve is where progress over the segment, w seconds long and total in all, has come
// to d, to a tenth of a microsecond: secant steps, kept between what is known to be
// before and behind it, and the integrator's where they leave that or do not settle.
func (n *within) solve(w, total, d float64) float64 {
	if n.q != nil && total > 0 {
		lo, hi := 0.0, w
		x0, p0, x, p := 0.0, 0.0, w, total
		for range 8 {
			v := x + (d-p)*(x-x0)/(p-p0)
			if !(v >= lo-1e-7 && v <= hi+1e-7) { // no number either: the pace stood still
				break
			}
			v = min(max(v, 0), w)
			if math.Abs(v-x) < settledS {
				return v
			}
			sum, ok := 0.0, true
			if v > 0 {
				sum, ok = n.quickly(v)
			}
			if !ok {
				break
			}
			if sum < d {
				lo = v
			} else {
				hi = v
			}
			x0, p0, x, p = x, p, v, sum
		}
	}
	return n.tr.solve(&n.s, w, 1-d)
}
