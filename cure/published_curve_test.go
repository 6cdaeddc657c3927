package cure

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// plain is the likely time of a curve in constant air, in seconds, by way of a
// history that is long enough.
func plain(f Form, a Air, b Bead) float64 {
	s := Site{Air: Constant(a, t0, at(1000)), Bead: b}
	r := must(s.Reach(only(&Curve{Form: f, Temp: wide}), Cured, Likely, t0))
	return r.At.Sub(t0).Seconds()
}

// Exact rows: 1e-9 of an hour, above the tenth of a microsecond that Reach is cut to.
// Others: half of the last printed digit.
func checkDoubling(r *publishedRow) float64 {
	s := plain(Doubling{r.temp("ref"), r.dur("time"), r.step("step")}, Air{r.temp("at"), 50}, Bead{})
	if strings.HasSuffix(r.text("time"), "min") {
		return s / 60
	}
	return s / hour
}

// checkQ10Rule is the second time of a pair, in minutes, from the first and a Q10.
// Tolerances are what half of the last printed digit of the Q10 does to the time:
// 0.005/Q10 · (T2 − T1)/10 of it. Where a row's Q10 was derived from the very pair, it
// says that the two are read with the same signs and units, and no more.
func checkQ10Rule(r *publishedRow) float64 {
	f := Doubling{r.temp("ref"), r.dur("time"), 10 * math.Ln2 / math.Log(r.num("q10"))}
	return plain(f, Air{r.temp("at"), 50}, Bead{}) / 60
}

// 1e-7 h is a third of a millisecond: the spells meet in steps a nanosecond wide.
func checkEquivalent(r *publishedRow) float64 {
	temps, times := r.pairs("spells")
	var s []Sample
	u, end := t0, t0
	for i, c := range temps {
		end = u.Add(time.Duration(times[i] * float64(time.Second)))
		s = append(s, Sample{u, Air{c, 50}}, Sample{end.Add(-time.Nanosecond), Air{c, 50}})
		u = end
	}
	s = append(s, Sample{end, Air{temps[len(temps)-1], 50}})
	site := Site{Air: must(NewHistory([]Piece{{Name: "spells", Samples: s, Forecast: true}}, t0, end))}
	// A milestone of exactly the equivalent time is reached exactly at the end.
	form := Doubling{r.temp("ref"), r.value * hour, r.step("step")}
	reached := must(site.Reach(only(&Curve{Form: form, Temp: wide}), Cured, Likely, t0))
	if reached.Never || end.Sub(reached.At).Abs() > time.Millisecond {
		return math.NaN()
	}
	return must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(t0, end) * r.value
}

// 1e-9 min: a table is exact at its points.
func checkTable(r *publishedRow) float64 {
	return plain(r.table(), Air{r.temp("at"), 50}, Bead{}) / 60
}

func (r *publishedRow) table() *Table {
	temps, times := r.pairs("points")
	var points []TablePoint
	for i := range temps {
		points = append(points, TablePoint{TempC: temps[i], Time: times[i]})
	}
	return must(NewTable(points, Air{TempC: r.temp("ref")}))
}

// rms is the scatter of a one-slope curve about the points, in %, as a factor on the
// time: e to the root mean square of ln t, less one. Its level is set to the points'
// mean of ln t. Tolerances: half of the last printed digit, and what the rounding of
// the slope does.
func (r *publishedRow) rms(of func(time float64) Form) float64 {
	temps, times := r.pairs("points")
	var mean float64
	for i := range temps {
		mean += math.Log(times[i]/plain(of(60), Air{temps[i], 50}, Bead{})) / float64(len(temps))
	}
	var sum float64
	for i := range temps {
		d := math.Log(times[i] / plain(of(60*math.Exp(mean)), Air{temps[i], 50}, Bead{}))
		sum += d * d / float64(len(temps))
	}
	return 100 * math.Expm1(math.Sqrt(sum))
}

func checkQ10Fit(r *publishedRow) float64 {
	return r.rms(func(s float64) Form { return Doubling{15, s, 10 * math.Ln2 / math.Log(r.num("q10"))} })
}

func checkArrheniusFit(r *publishedRow) float64 {
	return r.rms(func(s float64) Form { return Arrhenius{15, s, 1000 * r.num("ea")} })
}

// activation is Ea in J/mol such that Ea/R is the row's with its own constant: k in
// eV/K, R in J/(mol K), or, where it gives none, the exact one.
func (r *publishedRow) activation() float64 {
	switch {
	case r.inputs["ea_ev"] != "":
		return r.num("ea_ev") / r.num("k") * GasConstant
	case r.inputs["r"] != "":
		return 1000 * r.num("ea") * GasConstant / r.num("r")
	}
	return 1000 * r.num("ea")
}

// Printed with every digit: 1e-9, which is 1e-11 of the value; others half of the last
// printed digit, or the tolerance of the example.
func checkArrhenius(r *publishedRow) float64 {
	f := Arrhenius{r.temp("from"), hour, r.activation()}
	return f.Seconds(r.temp("from"), 0, 0, Bead{}) / f.Seconds(r.temp("to"), 0, 0, Bead{})
}

// checkDrop is the fall of the rate, in %, from one constant air to another, by what
// each earns in an hour. Half of the last printed digit.
func checkDrop(r *publishedRow) float64 {
	earned := func(tempC float64) float64 {
		s := Site{Air: constant(tempC, 50, 1)}
		c := only(&Curve{Form: Arrhenius{25, 100 * hour, r.activation()}, Temp: wide})
		return must(s.Progress(c, Cured, Likely)).Between(t0, at(1))
	}
	return 100 * (1 - earned(r.temp("to"))/earned(r.temp("from")))
}

// Exact: 1e-9 for the logarithm and the power.
func checkQ10(r *publishedRow) float64 {
	f := Doubling{r.temp("from"), hour, 10 * math.Ln2 / math.Log(r.num("q10"))}
	return f.Seconds(r.temp("from"), 0, 0, Bead{}) / f.Seconds(r.temp("to"), 0, 0, Bead{})
}

// checkAged is how many days of warm storage stand for the row's days at the
// reference. Exact: 1e-9 d, above the nanosecond that a duration is cut to.
func checkAged(r *publishedRow) float64 {
	f := Doubling{r.temp("ref"), 24 * hour * r.num("days"), 10 * math.Ln2 / math.Log(r.num("q10"))}
	c := r.temp("at")
	a := must(only(&Curve{Form: f, Temp: wide}).Steady(Cured, Likely, Steady{Air: Air{c, 50}, PotC: c, PartC: c}))
	return a.Likely.Hours() / 24
}

// The standard counts kelvin as 273 + T: every temperature is fed 0.15 °C lower. The
// peer prints nine digits: 1e-8, as published.
func checkEN1992(r *publishedRow) float64 {
	temps, days := r.list("temps"), r.list("days")
	var s []Sample
	u := t0
	for i, c := range temps {
		s = append(s, Sample{u, Air{c - 0.15, 50}})
		u = u.Add(time.Duration(days[i] * 24 * float64(time.Hour)))
		s = append(s, Sample{u.Add(-time.Nanosecond), Air{c - 0.15, 50}})
	}
	site := Site{Air: must(NewHistory([]Piece{{Name: "curing", Samples: s, Forecast: true}}, t0, u.Add(-time.Nanosecond)))}
	form := Arrhenius{20 - 0.15, 86400 * math.Exp(4000/293.0-13.65), 4000 * GasConstant}
	return must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(t0, u)
}

func ramp(fromC, toC, h float64) Site {
	s := []Sample{{t0, Air{fromC, 50}}, {at(h), Air{toC, 50}}}
	return Site{Air: must(NewHistory([]Piece{{Name: "ramp", Samples: s, Forecast: true}}, t0, at(h)))}
}

// Known to fifteen digits. 1e-9 h is 1e-10 of the value: what the quadrature promises
// for curves as common as these is 1e-12, and the row's temperatures are rounded once.
func checkRamp(r *publishedRow) float64 {
	h := r.num("h")
	site := ramp(r.num("from")-kelvin, r.num("to")-kelvin, h)
	c := &Curve{Form: Arrhenius{r.num("ref") - kelvin, hour, r.num("q") * GasConstant}, Temp: wide}
	return must(site.Progress(only(c), Cured, Likely)).Between(t0, at(h))
}

var acetoxy = Front{Ref: Air{25, 50}, Time: 24 * hour, DepthMM: 2}

// Exact rows: 1e-9 h. A depth rounded to 0.1 µm: 0.001 h.
func checkFront(r *publishedRow) float64 {
	return plain(acetoxy, Air{r.temp("at"), r.num("rh")}, Bead{DepthMM: r.num("depth")}) / hour
}

// checkFrontDepth is how deep the front of a product that cures refdepth in reftime
// has come after a time, in mm: progress is that of a bead of refdepth, and grows with
// the square of the depth. A bead of just that depth must be through just then.
// Tolerances: half of the last printed digit; computed rows 1e-9 mm.
func checkFrontDepth(r *publishedRow) float64 {
	form := Front{Ref: Air{25, 50}, Time: r.dur("reftime"), DepthMM: r.num("refdepth")}
	cl := only(&Curve{Form: form, Temp: wide})
	end := at(r.dur("after") / hour)
	site := Site{Air: Constant(Air{25, r.num("rh")}, t0, end.Add(time.Hour)), Bead: Bead{DepthMM: form.DepthMM}}
	depth := form.DepthMM * math.Sqrt(must(site.Progress(cl, Cured, Likely)).Between(t0, end))
	site.Bead.DepthMM = depth
	if r := must(site.Reach(cl, Cured, Likely, t0)); r.Never || r.At.Sub(end).Abs() > time.Millisecond {
		return math.NaN()
	}
	return depth
}

func TestElastomerTripleIsExactAsATableAndMonotoneBetween(t *testing.T) {
	row := publishedRow{inputs: map[string]string{"points": "5C:20min;15C:15min;25C:10min", "ref": "25C"}}
	tab := row.table()
	temps := []float64{5, 10, 15, 20, 25}
	var got []float64
	for _, c := range temps {
		got = append(got, tab.Seconds(c, 0, 0, Bead{})/60)
	}
	assert.True(t, slices.IsSortedFunc(got, func(a, b float64) int { return -int(math.Copysign(1, a-b)) }), "%v", got)
	assert.InDelta(t, 20, got[0], 1e-12)
	assert.InDelta(t, 15, got[2], 1e-12)
	assert.InDelta(t, 10, got[4], 1e-12)
}
