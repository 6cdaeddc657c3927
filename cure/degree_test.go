package cure

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/quantity"
)

// tgddm is the law of Lee, Loos and Springer (J. Composite Materials 16 (1982) 510)
// with its parameters, R as in the source (see publishedRow.twoBranch).
func tgddm() *Degree {
	k := func(perMinute, ea float64) RateConstant {
		return RateConstant{A: perMinute / 60, Ea: ea * GasConstant / 8.314}
	}
	return &Degree{Law: TwoBranch{K1: k(2.101e9, 80700), K2: k(-2.014e9, 77800), K3: k(1.96e5, 56600), B: 0.47, Branch: 0.3},
		Temp: quantity.Range{Lo: 130, Hi: 177}}
}

// kamal has orders without a closed form; the numbers are invented.
func kamal() *Degree {
	return &Degree{Law: Autocatalytic{K1: RateConstant{1e4, 60e3}, K2: RateConstant{5e5, 57e3}, M: 0.8, N: 1.5}, Temp: quantity.Range{Lo: 15, Hi: 110}}
}

// The values come from SciPy, piece by piece between the knots of temperature and
// with the two branches parted by a terminal event at α = 0.3:
//
//	/usr/bin/python3: solve_ivp(lambda t, y: [rate(y[0], T(t))], [t0, t1], [y0],
//	    events=at_branch, rtol=1e-13, atol=1e-15, method="DOP853")
func TestDegreeAlongRampsIsScipys(t *testing.T) {
	ramp := history(t, 12, Piece{Name: "log", Samples: readings(1, Air{130, 5}, Air{177, 5})})
	step := history(t, 12, Piece{Name: "log", Samples: []Sample{{at(0), Air{130, 5}}, {at(1. / 3), Air{130, 5}}, {at(1./3 + 1e-12/3.6), Air{177, 5}}}})
	warm := history(t, 12, Piece{Name: "log", Samples: []Sample{{at(0), Air{20, 5}}, {at(2), Air{100, 5}}}})
	hot := constant(177, 5, 12)
	for _, row := range []struct {
		name    string
		d       *Degree
		s       Site
		minutes float64
		want    float64
	}{
		{"130 to 177 C in an hour", tgddm(), Site{Air: ramp}, 10, 0.20809131886390878},
		{"130 to 177 C in an hour", tgddm(), Site{Air: ramp}, 20, 0.3047714287163885},
		{"130 to 177 C in an hour", tgddm(), Site{Air: ramp}, 30, 0.4304437335956805},
		{"130 to 177 C in an hour", tgddm(), Site{Air: ramp}, 60, 0.8078990710220019},
		{"130 to 177 C in an hour, held", tgddm(), Site{Air: ramp}, 90, 0.9608221588226601},
		{"20 min at 130 C", tgddm(), Site{Air: step}, 20, 0.2537617717822654},
		{"20 min at 130 C, then 177 C", tgddm(), Site{Air: step}, 21, 0.30462137763672115},
		{"20 min at 130 C, then 177 C", tgddm(), Site{Air: step}, 60, 0.9119791248134674},
		{"part from 130 C in air of 177 C, τ 20 min", tgddm(), Site{Air: hot, Part: Part{20 * time.Minute, 130}}, 5, 0.14864251271892745},
		{"part from 130 C in air of 177 C, τ 20 min", tgddm(), Site{Air: hot, Part: Part{20 * time.Minute, 130}}, 20, 0.40459965234746714},
		{"part from 130 C in air of 177 C, τ 20 min", tgddm(), Site{Air: hot, Part: Part{20 * time.Minute, 130}}, 40, 0.7134575238769718},
		{"20 to 100 C in 2 h", kamal(), Site{Air: warm}, 60, 0.01567650450023372},
		{"20 to 100 C in 2 h", kamal(), Site{Air: warm}, 120, 0.9182435316623827},
		{"20 to 100 C in 2 h, held", kamal(), Site{Air: warm}, 180, 0.9939410173718202},
		{"20 to 100 C in 2 h, held", kamal(), Site{Air: warm}, 360, 0.9994155894273282},
	} {
		c, err := row.s.Degree(&Class{ID: "x", Degree: row.d}, t0, 0, Warmth{})
		require.NoError(t, err)
		assert.InDelta(t, row.want, c.At(at(row.minutes/60)), 1e-9, "%s, %g min", row.name, row.minutes)
		r, ok := c.Reach(row.want)
		assert.True(t, ok)
		assert.InDelta(t, row.minutes*60, hours(r)*hour, 1e-3, "%s, %g min", row.name, row.minutes)
	}
	got, err := kamal().After(0, 2*time.Hour, 60)
	require.NoError(t, err)
	assert.InDelta(t, 0.6024398555601538, got, 1e-9, "2 h at 60 C, SciPy as above")
}

// Twenty minutes at the one temperature, then the other. The true times are SciPy's
// (as above, with brentq over the end); equivalent age adds up 1/t(T).
func TestEquivalentAgeIsWrongForADegreeOfCure(t *testing.T) {
	d := tgddm()
	for _, row := range []struct {
		first, then, alpha float64
		minutes            float64 // true
		off                float64 // what equivalent age says over it, less 1: by hand from the published times
	}{
		{130, 177, 0.3, 20.875014452704264, 0.0022},
		{130, 177, 0.5, 27.2239082070381, -0.0364},
		{130, 177, 0.9, 57.5923879817289, -0.0286},
		{177, 130, 0.9, 131.480536994183, 0.0686},
	} {
		h := history(t, 24, Piece{Name: "log", Samples: []Sample{{at(0), Air{row.first, 5}}, {at(1. / 3), Air{row.first, 5}}, {at(1./3 + 1e-12/3.6), Air{row.then, 5}}}})
		r, ok := degreeAlong(t, d, h).Reach(row.alpha)
		require.True(t, ok)
		assert.InDelta(t, row.minutes, hours(r)*60, 1e-4)
		t1, t2 := must(d.Seconds(0, row.alpha, row.first)), must(d.Seconds(0, row.alpha, row.then))
		aged := (1200 + (1-1200/t1)*t2) / 60
		assert.InDelta(t, row.off, aged/row.minutes-1, 0.0001, "%g then %g C to %g", row.first, row.then, row.alpha)
	}
}

func TestDegreeWithOneActivationEnergyIsAnEquivalentAge(t *testing.T) {
	// With one constant the law parts into a factor of α and one of T, and equivalent
	// age is exact: the Arrhenius curve and the law must agree to the second.
	d := &Degree{Law: Autocatalytic{K1: RateConstant{1e6, 60e3}, N: 2}, Temp: wide}
	cl := only(&Curve{Form: Arrhenius{RefC: 25, Time: must(d.Seconds(0, 0.8, 25)), Ea: 60e3}, Temp: wide})
	cl.Degree = d
	h := history(t, 900, Piece{Name: "log", Samples: readings(3, Air{10, 50}, Air{40, 50}, Air{15, 50}, Air{30, 50}, Air{20, 50})})
	s := &Site{Air: h, Part: Part{time.Hour, 5}}
	for _, start := range []float64{0, 1.3, 7} {
		c := must(s.Degree(cl, at(start), 0, Warmth{}))
		got, ok := c.Reach(0.8)
		require.True(t, ok)
		assert.InDelta(t, reach(t, s, cl, Cured, Likely, start), hours(got), 0.1/3600)
	}
}

func TestDegreeIsRefusedOutsideItsRange(t *testing.T) {
	d := tgddm()
	for _, c := range []float64{23, 129, 178, math.NaN()} {
		_, err := d.Seconds(0, 0.9, c)
		var outside *DegreeRangeError
		require.True(t, errors.As(err, &outside), "%g", c)
		assert.Contains(t, err.Error(), "130 to 177 C")
		_, err = d.After(0, time.Hour, c)
		assert.Error(t, err)
		_, err = d.Rate(0, c)
		assert.Error(t, err)
	}
	for _, a := range []float64{-0.1, 1.1, math.NaN()} {
		_, err := d.Seconds(0, a, 150)
		assert.ErrorContains(t, err, "no such degree of cure")
		_, err = d.After(a, time.Hour, 150)
		assert.ErrorContains(t, err, "no such degree of cure")
	}
	_, err := d.After(0, -1, 150)
	assert.ErrorContains(t, err, "does not run backwards")
}

func TestDegreeCountsNothingInTheColdAndTheCeilingInTheHeat(t *testing.T) {
	// An hour up from 20 to 220 C: the range is entered at 33 min and left at 47.1 min.
	h := history(t, 10, Piece{Name: "log", Samples: readings(1, Air{20, 5}, Air{220, 5})})
	c := degreeAlong(t, tgddm(), h)
	in, out := 110./200, 157./200
	assert.InDelta(t, 0, c.At(at(in)), 1e-12)
	assert.Greater(t, c.At(at(in+0.01)), 0.0)
	assert.Equal(t, []Excursion{{"below the floor of 130 C", 33 * time.Minute}, {"above the ceiling of 177 C", at(1).Sub(at(out))}}, c.Outside(at(1)))
	a := c.At(at(out))
	want, err := tgddm().After(a, at(1).Sub(at(out)), 177)
	require.NoError(t, err)
	assert.InDelta(t, want, c.At(at(1)), 1e-9, "the rate of the ceiling")

	cold := degreeAlong(t, tgddm(), constant(20, 50, 24))
	assert.Zero(t, cold.At(at(24)))
	_, ok := cold.Reach(0.01)
	assert.False(t, ok)
	r, ok := cold.Reach(0)
	assert.True(t, ok)
	assert.Equal(t, t0, r)
}

func TestDegreeCountsTheHeatOfALampUpToTheClassesCeiling(t *testing.T) {
	cl := &Class{ID: "x", Degree: tgddm(), Heat: &Heat{MaxC: 150}}
	s := &Site{Air: constant(20, 50, 24)}
	c, err := s.Degree(cl, t0, 0, Warmth{Heated: true, HeatFrom: at(1), HeatC: 400})
	require.NoError(t, err)
	assert.Zero(t, c.At(at(1)))
	assert.InDelta(t, must(tgddm().After(0, time.Hour, 150)), c.At(at(2)), 1e-9)

	late := &Site{Air: s.Air, Part: Part{time.Minute, 20}}
	l, err := late.Degree(cl, t0, 0, Warmth{Heated: true, HeatFrom: at(1), HeatC: 150})
	require.NoError(t, err)
	assert.Less(t, l.At(at(2)), c.At(at(2)), "the part follows late")
	assert.Greater(t, l.At(at(2)), c.At(at(1.5)))
}

func TestDegreeOfASiteThatCannotBeIsRefused(t *testing.T) {
	ok := &Class{ID: "x", Degree: tgddm()}
	h := constant(150, 5, 10)
	for _, row := range []struct {
		name  string
		s     Site
		cl    *Class
		start time.Time
		from  float64
		w     Warmth
		want  string
	}{
		{"no law", Site{Air: h}, &Class{ID: "x"}, t0, 0, Warmth{}, "class x gives no degree of cure"},
		{"degree", Site{Air: h}, ok, t0, 2, Warmth{}, "no such degree of cure: 2"},
		{"start", Site{Air: h}, ok, at(11), 0, Warmth{}, "outside the air history"},
		{"part", Site{Air: h, Part: Part{time.Hour, 1e9}}, ok, t0, 0, Warmth{}, "no such part temperature"},
		{"heat", Site{Air: h}, ok, t0, 0, Warmth{Heated: true, HeatC: 1e9}, "not warmed"},
	} {
		_, err := row.s.Degree(row.cl, row.start, row.from, row.w)
		require.Error(t, err, row.name)
		assert.Contains(t, err.Error(), row.want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

func TestSecondsAndAfterAreEachOthersInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDegree(t)
		c := rapid.Float64Range(d.Temp.Lo, d.Temp.Hi).Draw(t, "temp")
		from := rapid.Float64Range(0, 0.9).Draw(t, "from")
		to := from + (0.99-from)*rapid.Float64Range(0.01, 1).Draw(t, "to")
		s := must(d.Seconds(from, to, c))
		if s > 1e9 {
			return // a duration has an end
		}
		got := must(d.After(from, time.Duration(s*float64(time.Second)), c))
		// Where the rate leaps up at a branch, what the slow side misses the fast one
		// multiplies.
		leap := 1.0
		if l, ok := d.Law.(TwoBranch); ok {
			leap = math.Max(1, d.Law.Rate(math.Nextafter(l.Branch, 1), c)/d.Law.Rate(l.Branch, c))
		}
		// Where next to nothing starts it and it then runs away, the instant is exact.
		assert.InDelta(t, to, got, 1e-9*leap+d.Law.Rate(to, c)*(1e-9+s*1e-10), "%+v", d.Law)
		mid := (from + to) / 2
		assert.InEpsilon(t, s, must(d.Seconds(from, mid, c))+must(d.Seconds(mid, to, c)), 1e-9, "%+v", d.Law)
	})
}

func drawDegree(t *rapid.T) *Degree {
	k := func(name string) RateConstant {
		// From a hundred years to a minute at 25 °C.
		ea := rapid.Float64Range(0, 120e3).Draw(t, name+" ea")
		return RateConstant{A: math.Pow(10, rapid.Float64Range(-9, -2).Draw(t, name+" log k")) * math.Exp(ea/(GasConstant*298.15)), Ea: ea}
	}
	d := &Degree{Temp: quantity.Range{Lo: 10, Hi: 60}}
	if rapid.Bool().Draw(t, "two branches") {
		l := TwoBranch{K1: k("k1"), K3: k("k3"), Branch: rapid.Float64Range(0.05, 0.9).Draw(t, "branch")}
		l.B = l.Branch + 0.01 + (0.99-l.Branch)*rapid.Float64Range(0, 1).Draw(t, "b")
		l.K2 = RateConstant{A: l.K1.A * rapid.Float64Range(-0.9, 20).Draw(t, "k2"), Ea: l.K1.Ea}
		d.Law = l
	} else {
		l := Autocatalytic{K1: k("k1"), K2: k("k2"), M: rapid.Float64Range(0.3, 3).Draw(t, "m"), N: rapid.Float64Range(0, 3).Draw(t, "n")}
		if rapid.Bool().Draw(t, "n-th order") {
			l.K2.A = 0
		}
		if rapid.Bool().Draw(t, "whole") {
			l.M, l.N = math.Ceil(l.M), math.Ceil(l.N)
		}
		d.Law = l
	}
	if d.Check() != nil {
		t.Skip("not a law")
	}
	return d
}

func TestDegreeNeverFallsAndStaysWithinItsBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, w := drawDegree(t), drawWorld(t)
		s := w.site(t)
		from := rapid.Float64Range(0, 0.95).Draw(t, "from")
		c := must(s.Degree(&Class{ID: "x", Degree: d}, at(rapid.Float64Range(0, 20).Draw(t, "start")), from, Warmth{}))
		last := from
		for h := range 40 {
			a := c.At(at(float64(h)))
			assert.False(t, !(a >= last) || a > 1, "%g after %g at %d h\n%+v\n%s", a, last, h, d.Law, w)
			last = a
		}
		if last-from < 1e-9 {
			return // the last bit of α is not at stake
		}
		to := from + (last-from)*rapid.Float64Range(0.01, 0.99).Draw(t, "to")
		r, ok := c.Reach(to)
		assert.True(t, ok)
		assert.InDelta(t, to, c.At(r), 1e-8, "%+v\n%s", d.Law, w)
		_, ok = c.Reach(last + (1-last)*0.999)
		assert.False(t, ok && c.At(at(40)) < last+(1-last)*0.999, "not reached, and said to be")
	})
}

func TestDegreeIsNeverReachedEarlierForALaterStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, w := drawDegree(t), drawWorld(t)
		s, cl := w.site(t), &Class{ID: "x", Degree: d}
		a := rapid.Float64Range(0, 20).Draw(t, "a")
		b := a + rapid.SampledFrom([]float64{0.001, 0.1, 3}).Draw(t, "later")
		first, second := must(s.Degree(cl, at(a), 0, Warmth{})), must(s.Degree(cl, at(b), 0, Warmth{}))
		to := rapid.Float64Range(0.001, 0.999).Draw(t, "to")
		r1, ok1 := first.Reach(to)
		r2, ok2 := second.Reach(to)
		assert.True(t, ok1 || !ok2)
		if ok2 {
			assert.False(t, r2.Before(r1.Add(-10*time.Millisecond)), "%s before %s\n%+v\n%s", r2, r1, d.Law, w)
		}
		if w.tail == "constant" && len(w.log) == 1 && w.tau == 0 && ok2 && a > hours(w.log[0].At) {
			assert.InDelta(t, b-a, hours(r2)-hours(r1), 1e-5, "in constant air only the start moves")
		}
	})
}

func TestALawThatCannotBeIsRefused(t *testing.T) {
	r := quantity.Range{Lo: 130, Hi: 177}
	good := tgddm().Law.(TwoBranch)
	change := func(f func(*TwoBranch)) TwoBranch { l := good; f(&l); return l }
	k := RateConstant{1e4, 60e3}
	for _, row := range []struct {
		law  RateLaw
		want string
	}{
		{Autocatalytic{N: 1}, "k1: a must be more than zero"},
		{Autocatalytic{K1: k, K2: RateConstant{-1, 0}, M: 1, N: 1}, "k2: a must not be negative"},
		{Autocatalytic{K1: k, N: -1}, "n: an order of -1"},
		{Autocatalytic{K1: k, N: math.NaN()}, "n: an order of NaN"},
		{Autocatalytic{K1: k, K2: k, N: 1}, "m: an order of 0"},
		{Autocatalytic{K1: RateConstant{1e4, -1}, N: 1}, "k1: an activation energy"},
		{Autocatalytic{K1: RateConstant{1e20, 60e3}, N: 1}, "no resin cures within a millisecond"},
		{Autocatalytic{K1: RateConstant{1e-90, 300e3}, N: 1}, "the cure never starts"},
		{change(func(l *TwoBranch) { l.B = 0.3 }), "b: 0.3 does not lie above the branch at 0.3"},
		{change(func(l *TwoBranch) { l.Branch = 0 }), "branch: 0 is no degree"},
		{change(func(l *TwoBranch) { l.K3.A = 0 }), "k3: a must be more than zero"},
		{change(func(l *TwoBranch) { l.K1.A = -1 }), "k1: a must be more than zero"},
		{change(func(l *TwoBranch) { l.K2.A *= 2 }), "the rate falls to nothing"},
	} {
		err := row.law.Check(r)
		require.Error(t, err, "%+v", row.law)
		assert.Contains(t, err.Error(), row.want)
	}
	require.NoError(t, good.Check(r))
	// At room temperature these parameters go wrong: a range down there is refused.
	assert.ErrorContains(t, good.Check(quantity.Range{Lo: 0, Hi: 177}), "at 0 C the rate falls to nothing")
	assert.ErrorContains(t, good.Check(quantity.Range{Lo: math.NaN(), Hi: 177}), "no such range")
}

func FuzzRateLaw(f *testing.F) {
	f.Add(2.101e9/60, 80.7e3, -2.014e9/60, 77.8e3, 1.96e5/60, 56.6e3, 0.47, 0.3, 150.0, true)
	f.Add(1e4, 60e3, 5e5, 57e3, 0.0, 0.0, 0.8, 1.5, 60.0, false)
	f.Add(1e-30, 0.0, 1e2, 0.0, 0.0, 0.0, 5.0, 0.0, 20.0, false)
	f.Add(999.0, 0.0, 999.0, 0.0, 0.0, 0.0, 0.01, 0.999, 20.0, false)
	f.Add(900.0, 0.0, -880.0, 0.0, 1e-3, 0.0, 1.0, 0.99, 20.0, true)
	f.Fuzz(func(t *testing.T, a1, e1, a2, e2, a3, e3, x, y, c float64, two bool) {
		d := &Degree{Law: Autocatalytic{K1: RateConstant{a1, e1}, K2: RateConstant{a2, e2}, M: x, N: y}, Temp: quantity.Range{Lo: c - 10, Hi: c + 10}}
		if two {
			d.Law = TwoBranch{K1: RateConstant{a1, e1}, K2: RateConstant{a2, e2}, K3: RateConstant{a3, e3}, B: x, Branch: y}
		}
		if err := d.Check(); err != nil {
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		if !breathable(c-15) || !breathable(c+15) {
			return
		}
		last := 0.0
		for _, a := range []float64{0, 1e-6, 0.3, 0.9, 0.999, 1} {
			s, err := d.Seconds(0, a, c)
			require.NoError(t, err)
			assert.False(t, math.IsNaN(s) || s < last*(1-1e-9), "%g s to %g after %g s", s, a, last)
			last = s
			v, err := d.Rate(a, c)
			require.NoError(t, err)
			assert.False(t, math.IsNaN(v) || v < 0)
		}
		h := history(t, 400*24, Piece{Name: "log", Samples: readings(1, Air{c, 5}, Air{c + 15, 5}, Air{c - 15, 5}, Air{c, 5})})
		course := degreeAlong(t, d, h)
		was := 0.0
		for _, u := range []float64{0, 0.001, 1, 2, 3, 1000, 9600} {
			a := course.At(at(u))
			assert.False(t, !(a >= was) || a > 1, "%g after %g", a, was)
			was = a
		}
		g, err := d.After(0, 24*time.Hour, c)
		require.NoError(t, err)
		assert.False(t, math.IsNaN(g) || g < 0 || g > 1, fmt.Sprint(g))
	})
}
