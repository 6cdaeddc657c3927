package cure

import (
	"errors"
	"math"
	"sync"
	"time"
)

// Progress is one milestone's progress along a whole history, added up once, so
// that each "reached when, if started at s?" is a search and not an integral.
// It answers for a site without warm spells.
type Progress struct {
	tracks []*track
	sums   [][]float64 // progress at the knots, a row for each track
	short  [][]float64 // every leap'th of them
	line   Line
	air    *History
}

// Progress adds a milestone up along the site's whole history. Errors: those of
// Site.Reach.
func (s *Site) Progress(cl *Class, m Milestone, line Line) (*Progress, error) {
	return s.progress(cl, m, line, minKnots, (*track).partKnots)
}

// progress is Progress; an air of so many knots at
// the fewest is read by cells, and knots gives those of the part.
func (s *Site) progress(cl *Class, m Milestone, line Line, fewest int, knots func(*track) []float64) (*Progress, error) {
	tracks, err := s.tracks(cl, m, line)
	if err != nil {
		return nil, err
	}
	p := &Progress{tracks: tracks, line: line, air: s.Air}
	for _, tr := range tracks {
		if tr.tau > 0 {
			tr.knots = knots(tr)
		}
		if len(tr.lane.t) >= fewest {
			tr.tabulate()
		}
		tr.sum = tr.sums()
		p.sums = append(p.sums, tr.sum)
		p.short = append(p.short, short(tr.sum))
	}
	return p, nil
}

// Lines is the progress of every milestone that the class has, each along its own
// line; nil where it has none. They are added up side by side on the processors at
// hand. Errors: those of Site.Reach.
func (s *Site) Lines(cl *Class) (all [NumMilestones]*Progress, err error) {
	var errs [NumMilestones]error
	var wg sync.WaitGroup
	knots := s.partsOnce()
	for m := range NumMilestones {
		if !cl.Has(m) || m == Assembly && s.assemblyIsApplication(cl) {
			continue
		}
		wg.Go(func() { all[m], errs[m] = s.progress(cl, m, m.Line(), minKnots, knots) })
	}
	wg.Wait()
	if s.assemblyIsApplication(cl) {
		all[Assembly] = all[Application]
	}
	return all, errors.Join(errs[:]...)
}

// assemblyIsApplication reports that both run on the same curve and temperature.
func (s *Site) assemblyIsApplication(cl *Class) bool {
	return cl.Curves[Application] != nil && (cl.Curves[Assembly] == nil || cl.Curves[Assembly] == cl.Curves[Application]) &&
		!(s.PotSet && !math.IsNaN(s.PotC)) && s.Part.Tau <= 0
}

// partsOnce gives the part's temperature at the knots of a lane, worked out once for
// all who ask.
func (s *Site) partsOnce() func(*track) []float64 {
	var mu sync.Mutex
	kept := map[*lane][]float64{}
	return func(tr *track) []float64 {
		mu.Lock()
		defer mu.Unlock()
		if kept[tr.lane] == nil {
			kept[tr.lane] = tr.partKnots()
		}
		return kept[tr.lane]
	}
}

// Between is the progress from a to b, for the line's first track.
func (p *Progress) Between(a, b time.Time) float64 {
	return p.sum(0, p.air.seconds(b)) - p.sum(0, p.air.seconds(a))
}

func (p *Progress) sum(k int, u float64) float64 {
	tr := p.tracks[k]
	u = math.Min(math.Max(u, 0), tr.lane.t[len(tr.lane.t)-1])
	i := tr.lane.find(u)
	var n within
	n.open(tr, i)
	return p.sums[k][i] + n.upTo(u-tr.lane.t[i])
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
	j := p.first(k, from)
	t := tr.lane.t
	var n within
	n.open(tr, j-1)
	at := t[j-1] + n.solve(t[j]-t[j-1], sums[j]-sums[j-1], min(1, sums[j]-from)-(sums[j-1]-from)-1e-13)
	return math.Max(at, u), true
}

// leap is how many knots lie between the sums of the short list: that list stays in
// the processor's cache, and with it most of the search.
const leap = 128

// short is every leap'th of the sums, from the first.
func short(sums []float64) []float64 {
	s := make([]float64, 0, len(sums)/leap+1)
	for i := 0; i < len(sums); i += leap {
		s = append(s, sums[i])
	}
	return s
}

// first is the first knot at which progress has grown by 1 since it was from. The
// caller knows that there is one. Between two sums of the short list progress runs
// nearly straight, so that a guess lands next to the knot.
func (p *Progress) first(k int, from float64) int {
	sums, short := p.sums[k], p.short[k]
	block := max(0, grown(short, from)-1)
	lo := block * leap
	hi, b := len(sums)-1, sums[len(sums)-1]
	if block+1 < len(short) {
		hi, b = lo+leap, short[block+1]
	}
	i := lo
	if a := short[block]; b > a {
		i += int(min(max(0, (from+done-a)/(b-a)), 1) * float64(hi-lo))
	}
	for i > lo && sums[i-1]-from >= done {
		i--
	}
	for sums[i]-from < done {
		i++
	}
	return i
}

// grown counts the sums, which never fall, that have not yet grown by 1.
func grown(sums []float64, from float64) int {
	base, n := 0, len(sums)
	for n > 1 {
		half := n / 2
		if sums[base+half-1]-from < done {
			base += half
		}
		n -= half
	}
	if n == 1 && sums[base]-from < done {
		base++
	}
	return base
}
