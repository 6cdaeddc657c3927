package plan

import (
	"fmt"
	"math"
	"time"

	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
)

// tick is the grid of the plan. Lines are rounded to it on their safe side.
const tick = time.Minute

// dewMargin is how far above the dew point a surface must be to seal on it: 3 °C is
// the practice of ISO 8502-4 for coating work.
const dewMargin = 3.0

// feel is one layer's sealant at its place: its lines on the tick grid.
type feel struct {
	class  *cure.Class
	site   cure.Site
	warmC  float64 // structure kept at this until the last sealant is in; NaN: not warmed
	margin float64 // °C of doubt in the forecast
	fine   int     // ticks until the last reading of the air
	start  time.Time
	last   int              // ticks
	worked func(t int) bool // whether anybody works at a tick
	fns    map[lineKey]solve.Func
}

// lineKey tells the lines of one feel apart, and what each is from the function.
type lineKey struct {
	of   lineKind
	m    cure.Milestone
	heat float64 // °C of accelerated cure; 0: none
}

type lineKind uint8

const (
	potLasts lineKind = iota // not after
	cures                    // not before
	likelyAt
	curesHot // not before, counted from when heat is on
)

func (f *feel) warmed() bool { return !math.IsNaN(f.warmC) }

func (f *feel) at(t int) time.Time { return f.start.Add(time.Duration(t) * tick) }

// up and down round an instant to the grid on the safe side. A microsecond of
// arithmetic does not push an instant that stands on the grid to the next tick.
func (f *feel) up(t time.Time) int {
	return int(math.Ceil(t.Sub(f.start).Seconds()/tick.Seconds() - 1e-7))
}

func (f *feel) down(t time.Time) int {
	return int(math.Floor(t.Sub(f.start).Seconds()/tick.Seconds() + 1e-7))
}

// notAfter is the line that a pot mixed at t draws.
func (f *feel) notAfter(m cure.Milestone) (solve.Func, error) {
	return f.fn(lineKey{of: potLasts, m: m}, func() (func(int) int, error) {
		if f.warmed() && m == cure.Assembly {
			c, err := f.site.Course(f.class, m, cure.NotAfter)
			if err != nil {
				return nil, err
			}
			return func(t int) int {
				at, ok := c.At(f.at(t), cure.Warmth{Warmed: true, WarmedC: f.warmC, Heated: true, HeatFrom: f.at(t), HeatC: f.warmC})
				if !ok {
					return solve.Never
				}
				return f.down(at)
			}, nil
		}
		p, err := f.site.Progress(f.class, m, cure.NotAfter)
		if err != nil {
			return nil, err
		}
		return func(t int) int {
			at, ok := p.Reach(f.at(t))
			if !ok {
				return solve.Never
			}
			return f.down(at)
		}, nil
	})
}

// notBefore is the line of a milestone for sealant laid at t.
func (f *feel) notBefore(m cure.Milestone) (solve.Func, error) {
	return f.fn(lineKey{of: cures, m: m}, func() (func(int) int, error) {
		if !f.warmed() || f.site.Part.Tau == 0 {
			p, err := f.site.Progress(f.class, m, cure.NotBefore)
			if err != nil {
				return nil, err
			}
			return func(t int) int {
				at, ok := p.Reach(f.at(t))
				if !ok {
					return solve.Never
				}
				return f.up(at)
			}, nil
		}
		c, err := f.site.Course(f.class, m, cure.NotBefore)
		if err != nil {
			return nil, err
		}
		return f.envelope(func(t int) int {
			at, ok := c.At(f.at(t), cure.Warmth{Warmed: true, WarmedC: f.warmC})
			if !ok {
				return solve.Never
			}
			return f.up(at)
		}), nil
	})
}

// likely is when a milestone of sealant laid at t is likely, rounded down: what a
// window that runs from it counts from.
func (f *feel) likely(m cure.Milestone) (solve.Func, error) {
	return f.fn(lineKey{of: likelyAt, m: m}, func() (func(int) int, error) {
		c, err := f.site.Course(f.class, m, cure.Likely)
		if err != nil {
			return nil, err
		}
		return func(t int) int {
			at, ok := c.At(f.at(t), cure.Warmth{Warmed: f.warmed(), WarmedC: f.warmC})
			if !ok {
				return solve.Never
			}
			return f.down(at)
		}, nil
	})
}

// heated is the line of a milestone with heat on from t, counted from t alone: what
// the sealant cured before is left out, on the safe side.
func (f *feel) heated(m cure.Milestone, toC float64) (solve.Func, error) {
	if _, _, err := f.class.Curve(m); err != nil {
		return nil, err
	}
	return f.fn(lineKey{of: curesHot, m: m, heat: toC}, func() (func(int) int, error) {
		c, err := f.site.Course(f.class, m, cure.NotBefore)
		if err != nil {
			return nil, err
		}
		return f.envelope(func(t int) int {
			at, ok := c.At(f.at(t), cure.Warmth{Heated: true, HeatFrom: f.at(t), HeatC: toC})
			if !ok {
				return solve.Never
			}
			return f.up(at)
		}), nil
	})
}

// envelopeStep is the grid, in ticks, on which envelope looks back.
const envelopeStep = 30

// envelope makes a not-before line non-decreasing in its start, as the search needs
// it: warmth tied to the start can make a later start cure a little sooner, and the
// envelope takes no credit for that. It looks back over working time only.
func (f *feel) envelope(raw func(int) int) func(int) int {
	var grid []int // running maximum at multiples of envelopeStep
	return func(t int) int {
		k := t / envelopeStep
		if n := len(grid); n > 0 && grid[n-1] >= solve.Never && k >= n-1 {
			return solve.Never // what starts later has less time yet
		}
		for len(grid) <= k {
			v := 0
			if len(grid) > 0 {
				v = grid[len(grid)-1]
			}
			if g := len(grid) * envelopeStep; f.worked(g) {
				v = max(v, raw(g))
			}
			grid = append(grid, v)
		}
		return max(grid[k], raw(t))
	}
}

func (f *feel) fn(key lineKey, make func() (func(int) int, error)) (solve.Func, error) {
	if fn, ok := f.fns[key]; ok {
		return fn, nil
	}
	g, err := make()
	if err != nil {
		return nil, err
	}
	fn := solve.NewCalls(g).Dear(envelopeStep)
	f.fns[key] = fn
	return fn, nil
}

// dries reports whether air that the structure is warmed in may be too dry for the
// class to earn cure in.
func (f *feel) dries() bool { return f.dryShare(f.warmC) > 0 }

// dryShare is the share of all hours in which the air, at a structure warmed to c °C,
// is too dry for the class to earn cure in.
func (f *feel) dryShare(c float64) float64 {
	w := f.class.Moisture
	if math.IsNaN(c) || w == nil || f.site.Bead.Closed && !w.ClosedWitness {
		return 0
	}
	dry, all := 0, 0
	for t := 0; t <= f.last; t += 60 {
		_, pv := f.site.Air.At(f.at(t), cure.NotBefore)
		if air.Humidity(c+f.margin, pv) < w.MinRH {
			dry++
		}
		all++
	}
	return float64(dry) / float64(all)
}

// windowStep is the grid, in ticks, of the application windows: the grid of a swing.
// While there are readings, which may stand closer, it is one tick.
const windowStep = 5

// windows are when the class may be laid here: the structure inside the class's
// temperatures and clear of the dew point, the air inside its humidities. why counts
// the ticks lost to each reason.
func (f *feel) windows() (open []solve.Window, why map[string]int) {
	cold, warm := f.site.Probe(cure.NotBefore), f.site.Probe(cure.NotAfter)
	why = map[string]int{}
	from, step := -1, 1
	for t := 0; t <= f.last; t += step {
		was := step
		if t > f.fine {
			step = windowStep
		}
		reason := f.closed(f.at(t), cold, warm)
		if reason != "" {
			why[reason] += step
		}
		switch {
		case reason == "" && from < 0:
			from = t
		case reason != "" && from >= 0:
			if t-was > from {
				open = append(open, solve.Window{From: from, To: t - was})
			}
			from = -1
		}
	}
	if from >= 0 {
		open = append(open, solve.Window{From: from, To: f.last + 1})
	}
	return open, why
}

func (f *feel) closed(t time.Time, cold, warm func(time.Time) float64) string {
	a := f.class.Apply
	lo, hi := cold(t), warm(t)
	if f.warmed() {
		lo, hi = f.warmC, math.Max(f.warmC, hi)
	}
	airC, pv := f.site.Air.At(t, cure.Likely)
	_, wet := f.site.Air.At(t, cure.NotAfter)
	rh := math.Min(100, air.Humidity(airC, pv))
	switch {
	case !a.Part.IsZero() && lo < a.Part.Lo:
		return fmt.Sprintf("the structure is colder than %g C", a.Part.Lo)
	case !a.Part.IsZero() && hi > a.Part.Hi:
		return fmt.Sprintf("the structure is warmer than %g C", a.Part.Hi)
	case lo < air.DewPoint(wet)+dewMargin:
		return fmt.Sprintf("the structure is within %g C of the dew point", dewMargin)
	case !a.RH.IsZero() && rh < a.RH.Lo:
		return fmt.Sprintf("the air is drier than %g %% RH", a.RH.Lo)
	case !a.RH.IsZero() && rh > a.RH.Hi:
		return fmt.Sprintf("the air is damper than %g %% RH", a.RH.Hi)
	}
	return ""
}

// bead is a layer's bead as the cure sees it.
func bead(l *job.Layer) cure.Bead {
	b := cure.Bead{DepthMM: l.Bead.ThicknessMM, Faces: l.Bead.Faces, Closed: l.Seal == cure.Faying}
	if b.DepthMM == 0 && l.Bead.LegMM > 0 {
		b.DepthMM = l.Bead.LegMM
	}
	return b
}
