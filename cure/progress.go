package cure

import (
	"math"
	"sort"
	"time"
)

// Progress is one milestone's progress along a whole history, added up once, so
// that each "reached when, if started at s?" is a search and not an integral.
// It answers for a site without warm spells.
type Progress struct {
	tracks []*track
	sums   [][]float64 // progress at the knots, a row for each track
	line   Line
	air    *History
}

// Progress adds a milestone up along the site's whole history. Errors: those of
// Site.Reach.
func (s *Site) Progress(cl *Class, m Milestone, line Line) (*Progress, error) {
	tracks, err := s.tracks(cl, m, line)
	if err != nil {
		return nil, err
	}
	p := &Progress{tracks: tracks, line: line, air: s.Air}
	for _, tr := range tracks {
		tr.sum = tr.sums()
		p.sums = append(p.sums, tr.sum)
	}
	return p, nil
}

// sums adds up progress at every knot. What addition rounds off is carried along
// (Knuth's two-sum), so that a year of minutes costs no more accuracy than a day.
func (tr *track) sums() []float64 {
	l := tr.lane
	sums := make([]float64, len(l.t))
	over := tr.steppers()
	var sum, lost float64
	for i := range len(l.t) - 1 {
		if l.t[i+1] > l.t[i] {
			d := over(i)
			t := sum + d
			v := t - sum
			lost += (sum - (t - v)) + (d - v)
			sum = t
		}
		sums[i+1] = math.Max(sums[i], sum+lost)
	}
	return sums
}

// steppers gives the progress over one lane segment after the other. Where the
// sealant is at air temperature the reading at a segment's end serves the next one,
// and a segment that hardly changes is one step of Simpson's rule.
func (tr *track) steppers() func(i int) float64 {
	l := tr.lane
	general := func(i int) float64 {
		s := tr.along(i)
		return tr.integrate(&s, 0, l.t[i+1]-l.t[i])
	}
	if tr.tau > 0 || l.judge != nil || tr.pot > math.Inf(-1) {
		return general
	}
	at := tr.memo()
	var end reading
	last := -2 // the segment that end is the end of
	return func(i int) float64 {
		a := end
		if last != i-1 {
			a = at(l.c[i], l.pv[i])
		}
		end, last = at(l.c[i+1], l.pv[i+1]), i
		w := l.t[i+1] - l.t[i]
		switch {
		case a.temp == end.temp && (a.pv == end.pv || !tr.pace.humid):
			return a.rate * w
		case w > 60 && tr.pace.humid, a.zone != end.zone, math.Abs(a.temp-end.temp) >= fineStepC, math.Abs(a.rate-end.rate) > 0.02*end.rate:
			return general(i)
		}
		return w / 6 * (a.rate + 4*at((a.temp+end.temp)/2, (a.pv+end.pv)/2).rate + end.rate)
	}
}

// memo is the pace at air temperature. Sensors read in tenths of a degree, so that a
// year holds few temperatures: what they decide is kept and not computed again.
func (tr *track) memo() func(tempC, pv float64) reading {
	const bits = 10
	kept := make([]thermal, 1<<bits)
	for i := range kept {
		kept[i].temp = math.NaN()
	}
	return func(tempC, pv float64) reading {
		h := &kept[math.Float64bits(tempC)*0x9e3779b97f4a7c15>>(64-bits)]
		if h.temp != tempC {
			*h = tr.pace.thermal(tempC)
		}
		return tr.pace.under(*h, tempC, pv)
	}
}

// along is lane segment i as a stretch.
func (tr *track) along(i int) stretch {
	x := 0.0
	if tr.tau > 0 {
		x = tr.partKnots()[i]
	}
	return tr.segment(i, tr.lane.t[i], x)
}

// Between is the progress from a to b, for the line's first track.
func (p *Progress) Between(a, b time.Time) float64 {
	return p.sum(0, p.air.seconds(b)) - p.sum(0, p.air.seconds(a))
}

func (p *Progress) sum(k int, u float64) float64 {
	tr := p.tracks[k]
	u = math.Min(math.Max(u, 0), tr.lane.t[len(tr.lane.t)-1])
	i := tr.lane.find(u)
	s := tr.along(i)
	return p.sums[k][i] + tr.integrate(&s, 0, u-tr.lane.t[i])
}

// Reach says when the milestone is reached if started at start; ok is false when
// that is not within the history. The answer is non-decreasing in start.
func (p *Progress) Reach(start time.Time) (at time.Time, ok bool) {
	u, ok := p.ReachSeconds(p.air.seconds(start))
	if !ok {
		return time.Time{}, false
	}
	return p.air.instant(u), true
}

// ReachSeconds is Reach in seconds since the history's beginning.
func (p *Progress) ReachSeconds(u float64) (float64, bool) {
	best, found := 0.0, false
	for k := range p.tracks {
		v, ok := p.reach(k, u)
		switch {
		case k == 0:
			best, found = v, ok
		case p.line == NotBefore:
			best, found = math.Max(best, v), found && ok
		case ok && (!found || v < best):
			best, found = v, true
		}
	}
	return best, found
}

func (p *Progress) reach(k int, u float64) (float64, bool) {
	sums, tr := p.sums[k], p.tracks[k]
	last := len(sums) - 1
	if !(u >= 0 && u <= tr.lane.t[last]) {
		return 0, false
	}
	from := p.sum(k, u)
	if sums[last]-from < done {
		return 0, false
	}
	j := sort.Search(len(sums), func(i int) bool { return sums[i]-from >= done })
	s := tr.along(j - 1)
	at := tr.lane.t[j-1] + tr.solve(&s, tr.lane.t[j]-tr.lane.t[j-1], sums[j-1]-from)
	return math.Max(at, u), true
}
