package cure

import (
	"fmt"
	"math"
	"os"
	"sort"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/quantity"
)

// laid is a class with limits to where it is laid and nothing else.
func laid(partLo, partHi, rhLo, rhHi float64) *Class {
	return &Class{ID: "test class", Apply: Apply{Part: quantity.Range{Lo: partLo, Hi: partHi}, RH: quantity.Range{Lo: rhLo, Hi: rhHi}}}
}

func windows(t require.TestingT, s *Site, cl *Class, from, until float64, w Warmth) []Window {
	out, err := s.Windows(cl, at(from), at(until), w)
	require.NoError(t, err)
	return out
}

// A cold part warms in constant air as 1 − e^(−t/τ), so the instant it stands 3 °C
// above the dew point follows from the printed dew point.
func TestWindowOpensThreeDegreesAboveThePrintedDewPoint(t *testing.T) {
	f, err := os.Open("../testdata/published/air.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := readPublished(f)
	require.NoError(t, err)
	n := 0
	for _, r := range rows {
		if r.quantity != "dew-point" || r.inputs["rh"] == "" {
			continue
		}
		airC, err := strconv.ParseFloat(r.inputs["t"], 64)
		require.NoError(t, err)
		rh, err := strconv.ParseFloat(r.inputs["rh"], 64)
		require.NoError(t, err)
		if airC < r.value+DewMargin+1 || airC > 50 {
			continue
		}
		n++
		const tau, partC = 2 * time.Hour, -4.0
		reaches := func(c float64) float64 { return tau.Hours() * math.Log((airC-partC)/(airC-c)) }
		s := &Site{Air: constant(airC, rh, 48), Part: Part{Tau: tau, AtC: partC}}
		got := windows(t, s, laid(-50, 80, 0, 100), 0, 48, Warmth{})
		require.Len(t, got, 3, "%s: wet, then near the dew point, then open", r.inputs)
		wet, near, open := got[0], got[1], got[2]
		assert.Equal(t, Wet|NearDew, wet.Bars)
		assert.Equal(t, NearDew, near.Bars)
		assert.True(t, open.Open())
		const second = 1. / 3600
		for _, c := range []struct{ got, dew float64 }{{hours(wet.To), r.value}, {hours(open.From), r.value + DewMargin}} {
			assert.GreaterOrEqual(t, c.got, reaches(c.dew-r.tolerance)-second, "line %d", r.line)
			assert.LessOrEqual(t, c.got, reaches(c.dew+r.tolerance)+second, "line %d", r.line)
		}
	}
	assert.GreaterOrEqual(t, n, 4, "printed dew points")
}

func TestWindowsNameTheirReasons(t *testing.T) {
	cl := laid(16, 32, 40, 85)
	for _, c := range []struct {
		air  Air
		want []string
	}{
		{Air{20, 50}, nil},
		{Air{10, 50}, []string{"the part is under 16 C"}},
		{Air{35, 50}, []string{"the part is over 32 C"}},
		{Air{20, 84}, []string{"the part is within 3 degrees C of the dew point"}},
		{Air{20, 100}, []string{"the part is wet, at or under the dew point", "the air is over 85 % RH"}},
		{Air{20, 0}, []string{"the air is under 40 % RH"}},
		{Air{16, 40}, nil},
	} {
		got := windows(t, &Site{Air: constant(c.air.TempC, c.air.RH, 10)}, cl, 1, 9, Warmth{})
		require.Len(t, got, 1)
		assert.Equal(t, c.want, got[0].Bars.Reasons(cl), "%v", c.air)
		assert.Equal(t, at(1), got[0].From)
		assert.Equal(t, at(9), got[0].To)
	}
}

func TestAClassWithoutLimitsIsBarredByTheDewPointAlone(t *testing.T) {
	got := windows(t, &Site{Air: constant(-20, 10, 10)}, &Class{ID: "test class"}, 0, 10, Warmth{})
	assert.True(t, got[0].Open())
	got = windows(t, &Site{Air: constant(20, 95, 10)}, &Class{ID: "test class"}, 0, 10, Warmth{})
	assert.Equal(t, NearDew, got[0].Bars)
}

func TestDoubtInAForecastClosesTheWindow(t *testing.T) {
	cl := laid(16, 32, 0, 100)
	forecast := func(c, margin float64) *Site {
		a := Air{c, 40}
		return &Site{Air: history(t, 10, Piece{Name: "air", Constant: &a, Forecast: true, Margin: margin})}
	}
	for _, c := range []struct {
		tempC, margin float64
		open          bool
	}{{17, 0, true}, {17, 2, false}, {18, 2, true}, {31, 0, true}, {31, 2, false}, {30, 2, true}} {
		got := windows(t, forecast(c.tempC, c.margin), cl, 0, 10, Warmth{})
		assert.Equal(t, c.open, got[0].Open(), "%v", c)
	}
}

// Between a cold reading and a warm one of 90 % RH, three hours apart, both straight
// lines run through damper air than either end: halfway 13.2 hPa at 10 °C, over the
// 12.3 hPa that it holds.
func TestHumidityInAGapCountsOnItsLikelyCourseToo(t *testing.T) {
	s := &Site{Air: history(t, 3, Piece{Name: "log", Samples: readings(3, Air{0, 90}, Air{20, 90})})}
	for _, w := range windows(t, s, laid(-50, 80, 0, 95), 1, 2, Warmth{}) {
		assert.Equal(t, TooDamp, w.Bars&TooDamp)
	}
}

func TestAWarmedStructureIsJudgedAtItsTemperature(t *testing.T) {
	cl := laid(16, 32, 0, 100)
	s := &Site{Air: constant(5, 90, 10)}
	assert.Equal(t, TooCold|NearDew, windows(t, s, cl, 0, 10, Warmth{})[0].Bars)
	assert.True(t, windows(t, s, cl, 0, 10, Warmth{Warmed: true, WarmedC: 20})[0].Open())
	assert.Equal(t, TooWarm, windows(t, s, cl, 0, 10, Warmth{Warmed: true, WarmedC: 33})[0].Bars)
	_, err := s.Windows(cl, at(0), at(1), Warmth{Warmed: true, WarmedC: math.NaN()})
	assert.Error(t, err)
}

func TestWindowsOutsideTheHistoryAreRefused(t *testing.T) {
	s := &Site{Air: constant(20, 50, 10)}
	for _, span := range [][2]float64{{-2, -1}, {10, 12}, {3, 3}, {4, 3}} {
		_, err := s.Windows(laid(16, 32, 0, 100), at(span[0]), at(span[1]), Warmth{})
		assert.ErrorContains(t, err, "lies within the air history", "%v", span)
	}
	got := windows(t, s, laid(16, 32, 0, 100), -5, 50, Warmth{})
	assert.Equal(t, []Window{{From: at(0), To: at(10)}}, got, "cut to the history")
}

// The crossings against arithmetic: 10 to 20 °C in an hour passes 16 °C after 36 min.
func TestOpenWindowIsCutToWholeSecondsInward(t *testing.T) {
	s := &Site{Air: history(t, 4, Piece{Name: "log", Samples: readings(1, Air{10, 30}, Air{20.0003, 30}, Air{20.0003, 30}, Air{10, 30}, Air{10, 30})})}
	got := windows(t, s, laid(16, 32, 0, 100), 0, 4, Warmth{})
	require.Len(t, got, 3)
	up := 3600 * 6 / 10.0003 // s
	assert.Equal(t, math.Ceil(up), got[1].From.Sub(t0).Seconds())
	assert.Equal(t, math.Floor(3*3600-up), got[1].To.Sub(t0).Seconds())
}

// clearance is how far each bar is from standing, in °C or % RH: below zero it stands.
type clearance [6]float64

func (c clearance) under(limit float64) (b Bar) {
	for k, d := range c {
		if d < limit {
			b |= 1 << k
		}
	}
	return b
}

// dense walks through a world second by second and judges each on its own, by the
// rules in plain words and without the package: parts by Runge-Kutta.
type dense struct {
	w     *world
	cl    *Class
	warmC float64
}

func (d dense) at(u float64, part [3]float64) clearance {
	c := clearance{math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)}
	coldest, dew := math.Inf(1), math.Inf(-1)
	for k, l := range allLines {
		f := d.w.air(u, l)
		x := f.c
		if d.w.tau > 0 {
			x = part[k]
		}
		x = math.Max(x, d.warmC)
		coldest = math.Min(coldest, x)
		c[0] = math.Min(c[0], x-d.cl.Apply.Part.Lo)
		c[1] = math.Min(c[1], d.cl.Apply.Part.Hi-x)
		g := math.Log(f.pv / 6.112) // the dew point by WMO-No. 8, Annex 4.B, turned round
		dew = math.Max(dew, 243.12*g/(17.62-g))
		rh := math.Min(100, 100*f.pv/pSat(f.judge))
		c[4] = math.Min(c[4], rh-d.cl.Apply.RH.Lo+0.1) // a tenth of a per cent stands on the limit
		c[5] = math.Min(c[5], d.cl.Apply.RH.Hi-rh+0.1)
	}
	c[2], c[3] = coldest-dew-DewMargin, coldest-dew
	return c
}

// walk gives the clearance at each whole second from a to b.
func (d dense) walk(a, b int) []clearance {
	times := d.w.breaks()
	for u := 0; u < a && d.w.tau > 0; u += 5 {
		times = append(times, float64(u))
	}
	for u := a; u <= b; u++ {
		times = append(times, float64(u))
	}
	sort.Float64s(times)
	x := [3]float64{d.w.partC, d.w.partC, d.w.partC}
	out := make([]clearance, b-a+1)
	for i, u := range times {
		if i > 0 && d.w.tau > 0 && u > times[i-1] {
			for k, l := range allLines {
				from := times[i-1]
				fa, fb := d.w.air(from, l), d.w.air(math.Nextafter(u, from), l)
				x[k] = rk4(x[k], from, u, d.w.tau, func(v float64) feel { return mix(fa, fb, (v-from)/(u-from)) })
			}
		}
		if u > float64(b) {
			break
		}
		if u == math.Trunc(u) && u >= float64(a) {
			out[int(u)-a] = d.at(u, x)
		}
	}
	return out
}

func TestWindowsAgreeWithEverySecondJudgedAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := dense{w: drawWorld(t), warmC: math.Inf(-1)}
		var warmth Warmth
		if rapid.IntRange(0, 3).Draw(t, "warm") == 0 {
			d.warmC = float64(rapid.IntRange(0, 30).Draw(t, "warm to"))
			warmth = Warmth{Warmed: true, WarmedC: d.warmC}
		}
		a := 60 * rapid.IntRange(0, 10*60).Draw(t, "from min")
		b := a + 60*rapid.IntRange(1, 30).Draw(t, "minutes")
		site := d.w.site(t)
		near := site.PartAt(at(float64(a+b)/7200), Likely)
		d.cl = laid(near-rapid.Float64Range(-1, 3).Draw(t, "under"), near+rapid.Float64Range(1.1, 5).Draw(t, "over"),
			float64(rapid.IntRange(0, 60).Draw(t, "dry")), float64(rapid.IntRange(61, 100).Draw(t, "damp")))
		got := windows(t, site, d.cl, float64(a)/3600, float64(b)/3600, warmth)
		require.Equal(t, at(float64(a)/3600), got[0].From)
		require.Equal(t, at(float64(b)/3600), got[len(got)-1].To)
		all := d.walk(a, b)
		for k, w := range got {
			if k > 0 {
				require.Equal(t, got[k-1].To, w.From, "a gap")
				require.NotEqual(t, got[k-1].Bars, w.Bars, "neighbours differ")
			}
			d.hold(t, w, all, a)
		}
	})
}

// hold checks one window against the seconds in it.
func (d dense) hold(t *rapid.T, w Window, all []clearance, a int) {
	from, to := int(w.From.Sub(t0).Seconds())-a, int(w.To.Sub(t0).Seconds())-a
	jumps := map[float64]bool{}
	for _, u := range d.w.breaks() {
		jumps[math.Ceil(u)] = true
	}
	for u := from; u <= to; u++ {
		say := func() string { return fmt.Sprintf("%v at %d s\n%v\n%s", w, u+a, all[u], d.w) }
		if w.Open() {
			if u == to && jumps[float64(u+a)] {
				continue // the air may jump here; the window ends before it
			}
			require.Zero(t, all[u].under(-1e-6), say())
			continue
		}
		if u <= from || u >= to {
			continue // its edges may be a second of an open window's
		}
		require.Zero(t, all[u].under(-1e-6)&^w.Bars, "one more reason: %s", say())
		// An open window too short to hold a whole second of its own is dropped: as far as
		// the clearance moves in a second. Humidity is bounded from temperature and vapour
		// apart, and what stays in doubt is closed: up to 0.01 % RH.
		for k := range len(all[u]) {
			most := 1e-6 + 1.01*math.Max(math.Abs(all[u+1][k]-all[u][k]), math.Abs(all[u][k]-all[u-1][k]))
			if k >= 4 {
				most += 0.01
			}
			if w.Bars&(1<<k) != 0 && !math.IsInf(all[u][k], 1) {
				require.Less(t, all[u][k], most, "no such reason: %s", say())
			}
		}
	}
}

// BenchmarkWindowsOfAMonth finds the windows of a month of swings.
func BenchmarkWindowsOfAMonth(b *testing.B) {
	s := &Site{Part: Part{Tau: 3 * time.Hour, AtC: -4}, Air: history(b, 30*24, Piece{Name: "swing", Forecast: true, Margin: 2,
		Swing: &Swing{LowC: 9, HighC: 22, Warmest: 15 * time.Hour, DewC: 6, Zone: time.UTC}})}
	for b.Loop() {
		windows(b, s, laid(16, 32, 40, 85), 0, 30*24, Warmth{})
	}
}
