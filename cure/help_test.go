package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

// t0 is where the histories of these tests begin; the date means nothing.
var t0 = time.Date(2027, 3, 8, 6, 0, 0, 0, time.UTC)

func at(hours float64) time.Time {
	return t0.Add(time.Duration(math.Round(hours * float64(time.Hour))))
}

func hours(t time.Time) float64 { return t.Sub(t0).Hours() }

const hour = 3600.0

// wide is a range that nothing in a test lies outside of.
var wide = quantity.Range{Lo: -60, Hi: 90}

// rule is a curve of the 10 °C rule: h hours at 25 °C.
func rule(h float64) *Curve {
	return &Curve{Form: Doubling{RefC: 25, Time: h * hour, StepC: 10}, Temp: wide}
}

// only is a class with one curve for every milestone.
func only(c *Curve) *Class {
	cl := &Class{ID: "test class"}
	for m := range cl.Curves {
		cl.Curves[m] = c
	}
	return cl
}

// log makes a measured piece: a reading every step hours.
func readings(step float64, airs ...Air) []Sample {
	var s []Sample
	for i, a := range airs {
		s = append(s, Sample{at(float64(i) * step), a})
	}
	return s
}

func history(t require.TestingT, untilHours float64, pieces ...Piece) *History {
	h, err := NewHistory(pieces, t0, at(untilHours))
	require.NoError(t, err)
	return h
}

func constant(tempC, rh, untilHours float64) *History {
	return Constant(Air{tempC, rh}, t0, at(untilHours))
}

// reach asks a site and its summed progress, checks that they agree, and gives the
// hours since t0; +Inf when the line is not reached.
func reach(t require.TestingT, s *Site, cl *Class, m Milestone, line Line, startHours float64) float64 {
	r, err := s.Reach(cl, m, line, at(startHours))
	require.NoError(t, err)
	p, err := s.Progress(cl, m, line)
	require.NoError(t, err)
	quick, ok := p.Reach(at(startHours))
	require.Equal(t, !r.Never, ok, "the two ways to ask differ: %v against %v", r, quick)
	p, err = s.progress(cl, m, line, 0, (*track).partKnots)
	require.NoError(t, err)
	celled, ok := p.Reach(at(startHours))
	require.Equal(t, !r.Never, ok, "by cells it differs: %v against %v", r, celled)
	if r.Never {
		return math.Inf(1)
	}
	require.WithinDuration(t, r.At, celled, time.Millisecond, "by cells it differs")
	require.WithinDuration(t, r.At, quick, time.Millisecond, "the two ways to ask differ")
	return hours(r.At)
}

func steady(t *testing.T, cl *Class, m Milestone, line Line, s Steady) Answer {
	t.Helper()
	a, err := cl.Steady(m, line, s)
	require.NoError(t, err)
	return a
}

// in is constant air with pot and part at the same temperature.
func in(tempC, rh float64) Steady {
	return Steady{Air: Air{tempC, rh}, PotC: tempC, PartC: tempC}
}
