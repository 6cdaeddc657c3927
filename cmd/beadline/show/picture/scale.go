package picture

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"

	"beadline/cmd/beadline/show"
)

// scale maps values to places along one side of a panel.
type scale struct {
	lo, hi   float64
	from, to vg.Length // where lo and hi lie
	log      bool
}

// at is where a value lies, which may be outside.
func (s scale) at(v float64) vg.Length {
	lo, hi := s.lo, s.hi
	if s.log {
		v, lo, hi = math.Log(v), math.Log(lo), math.Log(hi)
	}
	return s.from + (s.to-s.from)*vg.Length((v-lo)/(hi-lo))
}

// holds reports whether a value lies within the scale.
func (s scale) holds(v float64) bool { return v >= s.lo && v <= s.hi }

// tick is a value with its name.
type tick struct {
	v    float64
	text string
}

// Spans that a time axis may name, in s, with those that come first where there is
// not room for all.
const (
	minute = 60.0
	hour   = 3600.0
	day    = 86400.0
	year   = 365 * day
)

var spanTicks = []tick{
	{10 * minute, "10 min"}, {30 * minute, "30 min"}, {hour, "1 h"}, {2 * hour, "2 h"}, {4 * hour, "4 h"}, {8 * hour, "8 h"},
	{day, "1 d"}, {2 * day, "2 d"}, {7 * day, "7 d"}, {30 * day, "30 d"},
	{minute, "1 min"}, {10, "10 s"}, {90 * day, "90 d"}, {year, "1 year"}, {5 * year, "5 years"}, {20 * year, "20 years"}, {100 * year, "100 years"}, {1, "1 s"},
	{5 * minute, "5 min"}, {2 * minute, "2 min"}, {4 * day, "4 d"}, {14 * day, "14 d"}, {30, "30 s"}, {20 * minute, "20 min"}, {16 * hour, "16 h"}, {180 * day, "180 d"},
	{3, "3 s"}, {5, "5 s"}, {2 * year, "2 years"}, {10 * year, "10 years"}, {50 * year, "50 years"},
}

// spanScale is a logarithmic scale of time that holds all of the spans, in s, with
// room at both ends.
func spanScale(spans []float64, from, to vg.Length) scale {
	lo, hi := slices.Min(spans), slices.Max(spans)
	room := math.Max(1.25, math.Pow(hi/lo, 0.04))
	lo, hi = lo/room, hi*room
	if hi < 10*lo {
		m := math.Sqrt(10 * lo / hi)
		lo, hi = lo/m, hi*m
	}
	return scale{lo, hi, from, to, true}
}

// spanTicksOn are the names of spans on a scale, at least so far apart, rising.
func spanTicksOn(s scale, apart func(tick) vg.Length) (ticks []tick) {
	for _, t := range spanTicks {
		if s.holds(t.v) && !slices.ContainsFunc(ticks, func(u tick) bool {
			return abs(s.at(t.v)-s.at(u.v)) < (apart(t)+apart(u))/2
		}) {
			ticks = append(ticks, t)
		}
	}
	slices.SortFunc(ticks, func(a, b tick) int { return int(math.Copysign(1, a.v-b.v)) })
	return ticks
}

func abs(l vg.Length) vg.Length { return max(l, -l) }

// evenTicks are round values on a scale, at least so far apart.
func evenTicks(s scale, apart vg.Length) (ticks []tick) {
	perUnit := float64(abs(s.to-s.from)) / (s.hi - s.lo)
	step := 1.0
	for _, m := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500} {
		if step = m; m*perUnit >= float64(apart) {
			break
		}
	}
	for v := math.Ceil(s.lo/step-1e-9) * step; v <= s.hi+1e-9*step; v += step {
		ticks = append(ticks, tick{v, strconv.FormatFloat(v+0, 'f', -1, 64)})
	}
	return ticks
}

// fahrenheit is the same scale read in °F.
func (s scale) fahrenheit() scale {
	s.lo, s.hi = s.lo*9/5+32, s.hi*9/5+32
	return s
}

// both writes a temperature in °C and °F.
func both(c float64) string { return show.SI.Temp(c) + " (" + show.US.Temp(c) + ")" }
