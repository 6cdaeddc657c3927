package cure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// This file is the reference that the properties are held against: random air in
// plain terms, read straight from the rules, and integrated by Gauss-Legendre nodes
// of gonum that are halved until they agree. It shares no code with the package but
// the types of its input.

// world is a random history in plain terms: readings, then one of four tails.
type world struct {
	log      []Sample
	tail     string // "held", "constant", "swing", "forecast"
	constant Air
	swing    Swing
	forecast []Sample
	margin   float64
	until    float64 // h
	tau      float64 // s; 0: none
	partC    float64
	warmC    float64 // °C that the part is warmed to at the start; 0: not warmed
}

func (w *world) String() string {
	if n := len(w.log); n > 40 {
		short := *w
		short.log = w.log[:3]
		return fmt.Sprintf("a walk of %d readings, the first three:\n%s", n, &short)
	}
	s := fmt.Sprintf("tail %s margin %g until %g tau %g part %g warmed %g\n", w.tail, w.margin, w.until, w.tau, w.partC, w.warmC)
	for _, r := range append(append([]Sample{}, w.log...), w.forecast...) {
		s += fmt.Sprintf("  %.9f h %g C %g %%\n", hours(r.At), r.TempC, r.RH)
	}
	return s + fmt.Sprintf("  constant %v swing %v", w.constant, w.swing)
}

func drawAir(t *rapid.T, name string) Air {
	// Coarse values, so that limits are stood on exactly now and then.
	return Air{float64(rapid.IntRange(-10, 90).Draw(t, name+" half degrees")) / 2, float64(rapid.IntRange(10, 100).Draw(t, name+" rh"))}
}

func drawReadings(t *rapid.T, name string, from float64, n int) (s []Sample) {
	u := from
	a := drawAir(t, name)
	for i := range n {
		s = append(s, Sample{at(u), a})
		step := rapid.SampledFrom([]int{1, 1, 2, 5, 10, 10, 30, 60, 60, 119, 120, 121, 300}).Draw(t, fmt.Sprint(name, i, " min"))
		u += float64(step) / 60
		if rapid.Bool().Draw(t, fmt.Sprint(name, i, " moves")) { // else a plateau
			a = drawAir(t, fmt.Sprint(name, i))
		}
	}
	return s
}

// drawWalk draws a log of a reading every few minutes that moves a little each time,
// as real ones do; now and then it stands still.
func drawWalk(t *rapid.T, name string, from float64) (s []Sample) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, name+" seed"), 1))
	step := rapid.SampledFrom([]float64{1, 2, 5}).Draw(t, name+" min") / 60
	size := rapid.SampledFrom([]float64{0.1, 0.25, 0.4}).Draw(t, name+" steps of C")
	a := drawAir(t, name)
	for i := range min(500, int(30/step)) {
		s = append(s, Sample{at(from + float64(i)*step), a})
		if r.IntN(4) > 0 {
			a.TempC = math.Min(math.Max(a.TempC+size*float64(r.IntN(3)-1), -10), 50)
			a.RH = math.Min(math.Max(a.RH+float64(r.IntN(3)-1), 5), 100)
		}
	}
	return s
}

func drawWorld(t *rapid.T) *world {
	w := &world{until: 40}
	before := -rapid.Float64Range(0, 3).Draw(t, "before")
	if rapid.Bool().Draw(t, "walk") {
		w.log = drawWalk(t, "walk", before)
	} else {
		w.log = drawReadings(t, "log", before, rapid.IntRange(1, 12).Draw(t, "readings"))
	}
	w.tail = rapid.SampledFrom([]string{"held", "constant", "swing", "forecast"}).Draw(t, "tail")
	w.margin = rapid.SampledFrom([]float64{0, 2, 3.5}).Draw(t, "margin")
	w.constant = drawAir(t, "constant")
	lo := rapid.IntRange(-5, 25).Draw(t, "low")
	w.swing = Swing{LowC: float64(lo), HighC: float64(lo + rapid.IntRange(0, 20).Draw(t, "span")), Zone: time.UTC,
		Warmest: time.Duration(rapid.IntRange(0, 23).Draw(t, "warmest")) * time.Hour, DewC: math.NaN(), RH: float64(rapid.IntRange(20, 100).Draw(t, "swing rh"))}
	if rapid.Bool().Draw(t, "dew") {
		w.swing.DewC = float64(rapid.IntRange(-10, 15).Draw(t, "dew point"))
	}
	if w.tail == "forecast" {
		end := math.Max(0, hours(w.log[len(w.log)-1].At))
		w.forecast = drawReadings(t, "forecast", end+rapid.Float64Range(0.01, 4).Draw(t, "later"), rapid.IntRange(1, 10).Draw(t, "forecasts"))
	}
	if rapid.Bool().Draw(t, "late part") {
		w.tau = rapid.SampledFrom([]float64{300, 3600, 10800}).Draw(t, "tau")
		w.partC = float64(rapid.IntRange(-10, 40).Draw(t, "part"))
	}
	return w
}

func (w *world) history(t require.TestingT) *History {
	return history(t, w.until, w.pieces()...)
}

// end is where the history ends, in s: a reading behind what was asked for is kept.
func (w *world) end() float64 {
	return must(NewHistory(w.pieces(), t0, at(w.until))).Until().Sub(t0).Seconds()
}

func (w *world) pieces() []Piece {
	p := []Piece{{Name: "log", Samples: w.log, Margin: w.margin}}
	switch w.tail {
	case "constant":
		p = append(p, Piece{Name: "constant", Constant: &w.constant, Forecast: true, Margin: w.margin})
	case "swing":
		p = append(p, Piece{Name: "swing", Swing: &w.swing, Forecast: true, Margin: w.margin})
	case "forecast":
		p = append(p, Piece{Name: "forecast", Samples: w.forecast, Forecast: true, Margin: w.margin})
	}
	return p
}

func (w *world) site(t require.TestingT) *Site {
	return &Site{Air: w.history(t), Part: Part{Tau: time.Duration(w.tau * float64(time.Second)), AtC: w.partC}, Bead: Bead{DepthMM: 1.5}}
}

// feel is what the reference integrates: the guarded temperature, the one humidity
// is judged at, °C, and the vapour pressure, hPa.
type feel struct{ c, judge, pv float64 }

func pSat(c float64) float64 { return 6.112 * math.Exp(17.62*c/(243.12+c)) } // WMO-No. 8, Annex 4.B

// feel takes a margin off the temperature; the humidity stands.
func (a Air) feel(margin float64) feel {
	return feel{a.TempC + margin, a.TempC + margin, a.RH / 100 * pSat(a.TempC+margin)}
}

func mix(a, b feel, f float64) feel {
	return feel{a.c + f*(b.c-a.c), a.judge + f*(b.judge-a.judge), a.pv + f*(b.pv-a.pv)}
}

// air reads the world at u seconds for a line, straight from the rules and without
// the package's knots.
func (w *world) air(u float64, l Line) feel {
	margin := map[Line]float64{NotAfter: w.margin, NotBefore: -w.margin, Likely: 0}[l]
	last := w.log[len(w.log)-1]
	end := last.At.Sub(t0).Seconds()
	switch {
	case u < end:
		return between(w.log, u, l, margin, true)
	case w.tail == "held":
		return last.feel(margin)
	case w.tail == "constant":
		if u < 0 {
			return last.feel(0)
		}
		return w.constant.feel(margin)
	case w.tail == "swing":
		k := math.Floor((u+float64(t0.Unix()%300))/300)*300 - float64(t0.Unix()%300)
		c0, p0 := w.wave(k)
		c1, p1 := w.wave(k + 300)
		f := (u - k) / 300
		if !math.IsNaN(w.swing.DewC) {
			return mix(feel{c0 + margin, c0, p0}, feel{c1 + margin, c1, p1}, f)
		}
		rh := w.swing.RH
		return mix(Air{c0, rh}.feel(margin), Air{c1, rh}.feel(margin), f)
	}
	first := w.forecast[0]
	if b := first.At.Sub(t0).Seconds(); u < b {
		if first.At.Sub(last.At) > MaxGap+time.Microsecond && l != Likely {
			return worst(last.feel(margin), first.feel(margin), l)
		}
		return mix(last.feel(0), first.feel(margin), (u-end)/(b-end))
	}
	return between(w.forecast, u, l, margin, false)
}

func (w *world) wave(u float64) (c, pv float64) {
	day := float64(t0.Hour()) + u/3600 - w.swing.Warmest.Hours()
	c = (w.swing.LowC+w.swing.HighC)/2 + (w.swing.HighC-w.swing.LowC)/2*math.Cos(day*math.Pi/12)
	if math.IsNaN(w.swing.DewC) {
		return c, w.swing.RH / 100 * pSat(c)
	}
	return c, math.Min(pSat(w.swing.DewC), pSat(c))
}

func between(s []Sample, u float64, l Line, margin float64, gaps bool) feel {
	i := sort.Search(len(s), func(i int) bool { return s[i].At.Sub(t0).Seconds() > u })
	if i == len(s) {
		return s[len(s)-1].feel(margin)
	}
	a, b := s[i-1], s[i]
	if gaps && l != Likely && b.At.Sub(a.At) > MaxGap+time.Microsecond {
		return worst(a.feel(margin), b.feel(margin), l)
	}
	if gaps {
		margin = 0 // a log: the doubt is that of its gaps
	}
	return mix(a.feel(margin), b.feel(margin), (u-a.At.Sub(t0).Seconds())/b.At.Sub(a.At).Seconds())
}

// worst is the slower or faster end of a gap: temperature, vapour and relative
// humidity each from the end where it is worse. The judging temperature is found by
// halving.
func worst(a, b feel, l Line) feel {
	pick := math.Min
	if l == NotAfter {
		pick = math.Max
	}
	f := feel{c: pick(a.c, b.c), pv: pick(a.pv, b.pv)}
	rh := pick(a.pv/pSat(a.judge), b.pv/pSat(b.judge))
	lo, hi := -100.0, 100.0
	for hi-lo > 1e-12 {
		if f.judge = (lo + hi) / 2; f.judge == lo || f.judge == hi {
			break
		}
		if f.pv/pSat(f.judge) > rh {
			lo = f.judge
		} else {
			hi = f.judge
		}
	}
	return f
}

// breaks are the instants where the air may jump or bend.
func (w *world) breaks() []float64 {
	end := w.end()
	b := []float64{0, end}
	for _, s := range append(append([]Sample{}, w.log...), w.forecast...) {
		if u := s.At.Sub(t0).Seconds(); u > 0 && u < end {
			b = append(b, u)
		}
	}
	if w.tail == "swing" {
		for u := 300 - float64(t0.Unix()%300); u < end; u += 300 {
			b = append(b, u)
		}
	}
	sort.Float64s(b)
	return b
}

// quadrature: Gauss-Legendre nodes by gonum, halved until two halves agree with
// the whole.
var gx, gw = func() (x, w []float64) {
	x, w = make([]float64, 8), make([]float64, 8)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	return x, w
}()

func gauss(f func(float64) float64, a, b float64) (s float64) {
	for i, x := range gx {
		s += gw[i] * f((a+b)/2+(b-a)/2*x)
	}
	return s * (b - a) / 2
}

func adaptive(f func(float64) float64, a, b, whole float64) float64 {
	m := (a + b) / 2
	l, r := gauss(f, a, m), gauss(f, m, b)
	if b-a < 0.01 || math.Abs(l+r-whole) <= 1e-11*math.Abs(whole) && !sliver(f, a, b) {
		return l + r
	}
	return adaptive(f, a, m, l) + adaptive(f, m, b, r)
}

// sliver reports that nothing is earned at an end of [a, b] and something next to it, or
// the other way round: so short a stretch may lie between the end and the first node.
func sliver(f func(float64) float64, a, b float64) bool {
	next := (b - a) * (1 + gx[0]) / 2
	in := 1e-6 * (b - a)
	return (f(a+in) == 0) != (f(a+next) == 0) || (f(b-in) == 0) != (f(b-next) == 0)
}

// reference is when progress is 1, in hours, by marching through the world with a
// part that Runge-Kutta warms; +Inf if never.
func (w *world) reference(l Line, startHours float64, rate func(feel) float64) float64 {
	start, p, x := math.Round(startHours*3600e9)/1e9, 0.0, w.partC
	br := append(w.breaks(), start)
	sort.Float64s(br)
	step := 60.0
	if w.tau > 0 {
		step = math.Min(step, w.tau/6)
	}
	for i := range len(br) - 1 {
		n := math.Ceil((br[i+1] - br[i]) / step)
		for k := range int(n) {
			a := br[i] + (br[i+1]-br[i])*float64(k)/n
			if a == start && w.warmC != 0 {
				x = math.Max(x, w.warmC)
			}
			b := br[i] + (br[i+1]-br[i])*float64(k+1)/n
			if k == int(n)-1 {
				b = br[i+1]
			}
			edge := math.Nextafter(b, a)
			// Air on this step: what it is just inside, as the ends may be jumps.
			fa, fb := w.air(math.Nextafter(a, b), l), w.air(edge, l)
			air := func(u float64) feel { return mix(fa, fb, (u-a)/(b-a)) }
			x0 := x
			at := func(u float64) feel {
				f := air(u)
				if w.tau > 0 {
					c := rk4(x0, a, u, w.tau, air)
					f.judge += c - f.c
					f.c = c
				}
				return f
			}
			x = at(b).c
			if b <= start {
				continue
			}
			from := math.Max(a, start)
			f := func(u float64) float64 { return rate(at(u)) }
			d := adaptive(f, from, b, gauss(f, from, b))
			if p+d >= 1-1e-10 {
				lo, hi := from, b
				for hi-lo > 1e-3 {
					m := (lo + hi) / 2
					if p+adaptive(f, from, m, gauss(f, from, m)) >= 1-1e-10 {
						hi = m
					} else {
						lo = m
					}
				}
				return hi / 3600
			}
			p += d
		}
	}
	return math.Inf(1)
}

func rk4(x, a, u, tau float64, air func(float64) feel) float64 {
	h := u - a
	f := func(u, x float64) float64 { return (air(u).c - x) / tau }
	k1 := f(a, x)
	k2 := f(a+h/2, x+h/2*k1)
	k3 := f(a+h/2, x+h/2*k2)
	k4 := f(u, x+h*k3)
	return x + h/6*(k1+2*k2+2*k3+k4)
}
