package verify

import (
	"math"
	"testing"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// history is the air of a test, from samples an hour apart.
func history(t require.TestingT, days int, temps ...float64) *cure.History {
	var ss []cure.Sample
	for i, c := range temps {
		ss = append(ss, cure.Sample{At: mon("07:00").Add(time.Duration(i) * time.Hour), Air: cure.Air{TempC: c, RH: 50}})
	}
	h, err := cure.NewHistory([]cure.Piece{{Name: "samples", Samples: ss}}, mon("07:00"), mon("07:00").AddDate(0, 0, days))
	require.NoError(t, err)
	return h
}

// bare is a checker with one joint of one layer, laid by lay's end, and nothing
// else.
func bare(h *cure.History, cl *cure.Class, layer job.Layer, part job.Part, laid time.Time) (*checker, *joint) {
	j := &job.Job{Zone: faroe, Start: mon("07:00"), Part: part, Mixing: job.Mixing{RoomC: 23},
		Joints: []job.Joint{{ID: "seam", Classes: []string{cl.ID}, Layers: []job.Layer{layer}}}}
	c := &checker{job: j, plan: Plan{Job: j, Air: h, Classes: map[string]*cure.Class{cl.ID: cl},
		Tasks: []Task{{Kind: Lay, Joint: "seam", Mix: "m", Units: 1, Start: laid.Add(-time.Minute), End: laid}}}}
	if !c.readable() {
		panic("not readable")
	}
	c.index()
	c.end = h.Until() // look through the whole history
	return c, c.joints[0]
}

func lineOf(c *checker, j *joint, m cure.Milestone, line cure.Line) reached {
	return c.layer(j, lineKey{0, m, line, false})
}

func plainClass(m cure.Milestone, f cure.Form) *cure.Class {
	c := &cure.Class{ID: "plain", Seals: cure.SealTypes, MixByHand: true}
	c.Curves[cure.Application] = doubling(2*time.Hour, cure.Minimum)
	c.Curves[m] = &cure.Curve{Form: f, Temp: quantity.Range{Lo: -40, Hi: 80}, States: cure.Maximum}
	return c
}

// Closed form: in steady air the doubling rule is t0·2^((25−T)/10).
func TestSteadyAirIsTheCurveItself(t *testing.T) {
	for _, temp := range []float64{-5, 5, 15, 18.3, 25} {
		want := 7200 * math.Exp2((25-temp)/10)
		h := cure.Constant(cure.Air{TempC: temp, RH: 50}, mon("07:00"), mon("07:00").AddDate(0, 0, 9))
		c, j := bare(h, plainClass(cure.TackFree, cure.Doubling{RefC: 25, Time: 7200, StepC: 10}), job.Layer{Seal: cure.Fillet, Spread: time.Minute}, job.Part{}, mon("08:07:31"))
		r := lineOf(c, j, cure.TackFree, cure.NotBefore)
		require.Equal(t, atInstant, r.state)
		assert.InDelta(t, want, r.at.Sub(mon("08:07:31")).Seconds(), 0.01, "%g °C", temp)
	}
}

// Closed form: while T = a + b·t, progress is the integral of 2^((a+bt−25)/10)/t0,
// so p = 1 at t = 10/(b·ln 2) · ln(1 + b·ln 2/10 · t0·2^((25−a)/10)).
func TestRampHasItsClosedForm(t *testing.T) {
	temps := make([]float64, 49)
	for i := range temps {
		temps[i] = -3 + float64(i)*0.5
	}
	h := history(t, 2, temps...)
	c, j := bare(h, plainClass(cure.Cured, cure.Doubling{RefC: 25, Time: 5 * 3600, StepC: 10}), job.Layer{Seal: cure.Fillet, Spread: time.Minute}, job.Part{}, mon("09:00"))
	b := 0.5 / 3600
	a := -3 + b*2*3600
	k := b * math.Ln2 / 10
	want := math.Log(1+k*5*3600*math.Exp2((25-a)/10)) / k
	assert.InDelta(t, want, lineOf(c, j, cure.Cured, cure.NotBefore).at.Sub(mon("09:00")).Seconds(), 0.05)
}

// Closed form: a structure at x in steady air a is at a + (x−a)·e^(−t/τ); in air
// that rises by s a second it lags τ behind in the end.
func TestStructureFollowsTheAirLate(t *testing.T) {
	part := job.Part{Set: true, AtC: -4, Tau: 3 * time.Hour}
	layer := job.Layer{Seal: cure.Fillet, Spread: time.Minute}
	cl := plainClass(cure.Cured, cure.Doubling{RefC: 25, Time: 5 * 3600, StepC: 10})
	c, j := bare(cure.Constant(cure.Air{TempC: 20, RH: 50}, mon("07:00"), tue("07:00")), cl, layer, part, mon("09:00"))
	for _, u := range []float64{0, 17, 30, 3600, 10800, 40000.25} {
		assert.InDelta(t, 20-24*math.Exp(-u/10800), c.part(j, cure.NotBefore, false).feel(u).temp, 1e-9, "after %g s", u)
	}
	ramp := make([]float64, 25)
	for i := range ramp {
		ramp[i] = float64(i)
	}
	c, j = bare(history(t, 1, ramp...), cl, layer, part, mon("09:00"))
	s := 1 / 3600.0
	for _, u := range []float64{45, 3600, 50000} {
		want := s*(u-10800) + (-4+s*10800)*math.Exp(-u/10800)
		assert.InDelta(t, want, c.part(j, cure.NotBefore, false).feel(u).temp, 1e-9, "after %g s", u)
	}
}

// The structure is kept warm for the sitting, then follows the air from there, then
// follows the heat.
func TestStructureIsWarmedLetGoAndHeated(t *testing.T) {
	p := good()
	cold := cure.Constant(cure.Air{TempC: 5, RH: 50}, mon("07:00"), mon("07:00").AddDate(0, 0, 20))
	p.Plan.Air = cold
	p.Job.Part = job.Part{Set: true, AtC: 5, Tau: time.Hour}
	c := &checker{plan: p.Plan, job: p.Job}
	require.True(t, c.readable())
	c.index()
	at := func(when time.Time) float64 {
		return c.part(c.joint("door"), cure.NotBefore, true).feel(c.air.seconds(when)).temp
	}
	assert.InDelta(t, 5, at(mon("08:49:59")), 1e-9)
	assert.InDelta(t, 25, at(mon("08:50")), 1e-9)
	assert.InDelta(t, 25, at(mon("09:34")), 1e-9, "until the last torque")
	assert.InDelta(t, 5+20*math.Exp(-1), at(mon("10:34")), 1e-9)
	assert.InDelta(t, 25, at(mon("16:12")), 1e-9, "the second sitting")
	assert.InDelta(t, 5+20*math.Exp(-2), at(mon("18:12")), 1e-9)
	assert.InDelta(t, 40-35*math.Exp(-1), at(tue("08:15")), 1e-5, "an hour of heat")
}

// A jump of the rate in the middle of a step is closed in on.
func TestJumpIsNotSteppedOver(t *testing.T) {
	for _, jump := range []float64{7, 61, 100, 123.4, 599.99} {
		at, ok := reach(func(u float64) float64 {
			if u < jump {
				return 0
			}
			return 1.0 / 600
		}, 0, 1e5)
		require.True(t, ok)
		assert.InDelta(t, jump+600, at, 0.01)
	}
	_, ok := reach(func(float64) float64 { return 0 }, 0, 1e6)
	assert.False(t, ok, "nothing is earned")
}

// EN 1992-1-1 Annex B, eq. B.10: temperature-adjusted age is the sum of
// exp(−[4000/(273+T) − 13.65])·Δt, which is an Arrhenius pace of 4000 K counted at
// 20 °C (the equation is from memory; 13.65 is 4000/293 rounded).
func TestConcreteAgeIsTheSameIntegral(t *testing.T) {
	temps := make([]float64, 24*9)
	age := 0.0
	for i := range temps {
		temps[i] = []float64{5, 5, 11, 18}[i/24%4]
		if i > 0 {
			mean := (temps[i] + temps[i-1]) / 2 // exact on the flat hours
			age += 3600 * math.Exp(-(4000/(273+mean) - 13.65))
		}
		if i == 24*7 {
			break
		}
	}
	cl := plainClass(cure.Cured, cure.Arrhenius{RefC: 20, Time: age, Ea: 4000 * cure.GasConstant})
	c, j := bare(history(t, 9, temps...), cl, job.Layer{Seal: cure.Fillet, Spread: time.Minute}, job.Part{}, mon("07:00"))
	r := lineOf(c, j, cure.Cured, cure.Likely)
	require.Equal(t, atInstant, r.state)
	assert.InEpsilon(t, 7*86400, r.at.Sub(mon("07:00")).Seconds(), 0.002)
}

// A rule of the line at a time, each against arithmetic on paper. The curve takes
// 10 h at 25 °C and doubles with 10 °C.
func TestPaceKeepsTheSafeSide(t *testing.T) {
	const h = 3600.0
	curve := func(change func(*cure.Curve)) *cure.Curve {
		c := doubling(10*time.Hour, cure.Typical)
		change(c)
		return c
	}
	nothing := func(*cure.Curve) {}
	dry := &cure.Moisture{MinRH: 40}
	for _, k := range []struct {
		what       string
		curve      *cure.Curve
		line       cure.Line
		closed     bool
		moisture   *cure.Moisture
		tempC, rh  float64
		want, warm float64 // h; warm: of the class's heat ceiling, 0 none
	}{
		{"cold lengthens the cure", curve(nothing), cure.NotBefore, false, nil, 15, 50, 20, 0},
		{"warmth does not shorten it", curve(nothing), cure.NotBefore, false, nil, 35, 50, 10, 0},
		{"likely is the curve", curve(nothing), cure.Likely, false, nil, 35, 50, 5, 0},
		{"cold does not lengthen the pot", curve(nothing), cure.NotAfter, false, nil, 15, 50, 10, 0},
		{"warmth shortens it", curve(nothing), cure.NotAfter, false, nil, 35, 50, 5, 0},
		{"cold lengthens the pot where there is data", curve(func(c *cure.Curve) { c.ColdExtends = "data" }), cure.NotAfter, false, nil, 15, 50, 20, 0},
		{"a typical cure may be longer", curve(func(c *cure.Curve) { c.Longer = 0.5 }), cure.NotBefore, false, nil, 25, 50, 15, 0},
		{"a maximum is not", curve(func(c *cure.Curve) { c.Longer, c.States = 0.5, cure.Maximum }), cure.NotBefore, false, nil, 25, 50, 10, 0},
		{"a typical pot may be shorter", curve(func(c *cure.Curve) { c.Shorter = 0.2 }), cure.NotAfter, false, nil, 25, 50, 8, 0},
		{"a minimum is not", curve(func(c *cure.Curve) { c.Shorter, c.States = 0.2, cure.Minimum }), cure.NotAfter, false, nil, 25, 50, 10, 0},
		{"nothing below the floor", curve(nothing), cure.NotBefore, false, nil, -10.1, 50, math.Inf(1), 0},
		{"the pot below the floor as at it", curve(func(c *cure.Curve) { c.ColdExtends = "data" }), cure.NotAfter, false, nil, -20, 50, 10 * math.Exp2(3.5), 0},
		{"the pot above the ceiling goes on", curve(nothing), cure.NotAfter, false, nil, 65, 50, 10.0 / 16, 0},
		{"credit on its own slope", curve(func(c *cure.Curve) {
			c.Credit = &cure.Credit{Form: cure.Doubling{RefC: 25, Time: 10 * h, StepC: 20}, MaxC: 45}
		}), cure.NotBefore, false, nil, 35, 50, 10 / math.Sqrt2, 0},
		{"credit up to its ceiling", curve(func(c *cure.Curve) {
			c.Credit = &cure.Credit{Form: cure.Doubling{RefC: 25, Time: 10 * h, StepC: 20}, MaxC: 35}
		}), cure.NotBefore, false, nil, 48, 50, 10 / math.Sqrt2, 0},
		{"credit up to the heat's ceiling", curve(func(c *cure.Curve) {
			c.Credit = &cure.Credit{Form: cure.Doubling{RefC: 25, Time: 10 * h, StepC: 20}, MaxC: 45}
		}), cure.NotBefore, false, nil, 45, 50, 10 / math.Sqrt2, 35},
		{"too dry", curve(nothing), cure.NotBefore, false, dry, 25, 39.9, math.Inf(1), 0},
		{"just damp enough", curve(nothing), cure.NotBefore, false, dry, 25, 40, 10, 0},
		{"dry around a closed film", curve(nothing), cure.NotBefore, true, dry, 25, 30, 10, 0},
		{"dry around a film that needs a witness", curve(nothing), cure.NotBefore, true, &cure.Moisture{MinRH: 40, ClosedWitness: true}, 25, 30, math.Inf(1), 0},
		{"the pot is not dry", curve(nothing), cure.NotAfter, false, dry, 25, 10, 10, 0},
		{"half the vapour, twice the time", curve(func(c *cure.Curve) {
			c.Form = cure.Front{Ref: cure.Air{TempC: 25, RH: 60}, Time: 10 * h, DepthMM: 2}
		}), cure.NotBefore, false, nil, 25, 30, 20, 0},
		{"no air, no cure", curve(func(c *cure.Curve) {
			c.Form = cure.Front{Ref: cure.Air{TempC: 25, RH: 60}, Time: 10 * h, DepthMM: 2}
		}), cure.NotBefore, true, nil, 25, 60, math.Inf(1), 0},
		{"wet is 100 %", curve(func(c *cure.Curve) {
			c.Form = cure.Front{Ref: cure.Air{TempC: 25, RH: 100}, Time: 10 * h, DepthMM: 2}
		}), cure.NotBefore, false, nil, 25, 140, 10, 0},
		{"drier than the curve is given for", curve(func(c *cure.Curve) { c.RH = quantity.Range{Lo: 30, Hi: 70} }), cure.NotBefore, false, nil, 25, 29, math.Inf(1), 0},
		{"damper than it: as at its end", curve(func(c *cure.Curve) {
			c.RH, c.Form = quantity.Range{Lo: 30, Hi: 70}, cure.Front{Ref: cure.Air{TempC: 25, RH: 35}, Time: 10 * h, DepthMM: 2}
			c.Credit = nil
		}), cure.Likely, false, nil, 25, 70, 5, 0},
		{"a table speaks for its humidities", curve(func(c *cure.Curve) { c.Form = humidTable(10) }), cure.NotBefore, false, nil, 25, 29, math.Inf(1), 0},
		{"a table at its point", curve(func(c *cure.Curve) { c.Form = humidTable(10) }), cure.NotBefore, false, nil, 5, 30, 80, 0},
		{"a table's end for damper air", curve(func(c *cure.Curve) { c.Form = humidTable(10) }), cure.NotBefore, false, nil, 5, 99, 60, 0},
		{"the pot drier than the curve is given for", curve(func(c *cure.Curve) {
			c.RH, c.Humidity = quantity.Range{Lo: 30, Hi: 70}, &cure.HumidityFactor{Points: []cure.HumidityPoint{{RH: 0, Factor: 4}, {RH: 50, Factor: 1}}}
			c.ColdExtends = "data"
		}), cure.NotAfter, false, nil, 25, 10, 10, 0},
	} {
		t.Run(k.what, func(t *testing.T) {
			cl := &cure.Class{Moisture: k.moisture}
			if k.warm != 0 {
				cl.Heat = &cure.Heat{MaxC: k.warm}
			}
			m := cure.Cured
			if k.line == cure.NotAfter {
				m = cure.Application
			}
			p := newPace(cl, k.curve, m, k.line, cure.Bead{DepthMM: 2, Closed: k.closed})
			got := 1 / p.rate(feeling{k.tempC, k.tempC, cure.Air{TempC: k.tempC, RH: k.rh}.Vapour()}) / h
			if math.IsInf(k.want, 1) {
				assert.True(t, math.IsInf(got, 1), "%g h", got)
				return
			}
			assert.InDelta(t, k.want, got, 1e-9)
		})
	}
}

// A front runs with the square of the depth, and from both faces if both are open
// (J. Comyn, Int. J. Adhesion & Adhesives 18 (1998) 247: z = √(2VPpt); from memory).
func TestBeadIsAsDeepAsItIsDrawn(t *testing.T) {
	cl := plainClass(cure.Cured, cure.Front{Ref: cure.Air{TempC: 25, RH: 50}, Time: 24 * 3600, DepthMM: 2})
	h := cure.Constant(cure.Air{TempC: 25, RH: 50}, mon("07:00"), mon("07:00").AddDate(0, 0, 20))
	for _, k := range []struct {
		layer job.Layer
		hours float64
	}{
		{job.Layer{Seal: cure.Overcoat, Bead: job.Bead{ThicknessMM: 2}}, 24},
		{job.Layer{Seal: cure.Overcoat, Bead: job.Bead{ThicknessMM: 4}}, 96},
		{job.Layer{Seal: cure.Overcoat, Bead: job.Bead{ThicknessMM: 4, Faces: 2}}, 24},
		{job.Layer{Seal: cure.Fillet, Bead: job.Bead{LegMM: 6}}, 216},
		{job.Layer{Seal: cure.Overcoat}, 24},
	} {
		k.layer.Spread = time.Minute
		c, j := bare(h, cl, k.layer, job.Part{}, mon("08:00"))
		assert.InDelta(t, k.hours*3600, lineOf(c, j, cure.Cured, cure.NotBefore).at.Sub(mon("08:00")).Seconds(), 0.1, "%v", k.layer)
	}
	c, j := bare(h, cl, job.Layer{Seal: cure.Faying, Spread: time.Minute}, job.Part{}, mon("08:00"))
	assert.Equal(t, never, lineOf(c, j, cure.Cured, cure.NotBefore).state)
}

// anyAir is a swing with a margin, or a log that was now and then not read for
// hours.
func anyAir(t *rapid.T) (h *cure.History, gaps bool) {
	start, until := mon("07:00"), mon("07:00").AddDate(0, 0, 20)
	piece := cure.Piece{Name: "air", Forecast: rapid.Bool().Draw(t, "forecast"), Margin: rapid.Float64Range(0, 3).Draw(t, "margin")}
	if rapid.Bool().Draw(t, "log") {
		a := cure.Air{TempC: rapid.Float64Range(-5, 35).Draw(t, "temp"), RH: rapid.Float64Range(20, 95).Draw(t, "rh")}
		for at := start; at.Before(until); {
			piece.Samples = append(piece.Samples, cure.Sample{At: at, Air: a})
			a.TempC = min(35, max(-5, a.TempC+rapid.Float64Range(-3, 3).Draw(t, "warmer")))
			a.RH = min(95, max(20, a.RH+rapid.Float64Range(-8, 8).Draw(t, "damper")))
			every := time.Duration(rapid.IntRange(10, 500).Draw(t, "minutes")) * time.Minute
			gaps = gaps || every > cure.MaxGap
			at = at.Add(every)
		}
	} else {
		piece.Swing = &cure.Swing{LowC: rapid.Float64Range(-5, 20).Draw(t, "low"), Warmest: 15 * time.Hour, Zone: faroe,
			DewC: math.NaN(), RH: rapid.Float64Range(20, 95).Draw(t, "rh")}
		piece.Swing.HighC = piece.Swing.LowC + rapid.Float64Range(0, 15).Draw(t, "span")
		if rapid.Bool().Draw(t, "dew") {
			piece.Swing.RH, piece.Swing.DewC = math.NaN(), piece.Swing.LowC-rapid.Float64Range(0, 10).Draw(t, "dew point")
		}
	}
	var err error
	h, err = cure.NewHistory([]cure.Piece{piece}, start, until)
	require.NoError(t, err)
	return h, gaps
}

func anyClass(t *rapid.T) *cure.Class {
	hours := rapid.Float64Range(1, 40).Draw(t, "hours")
	cl := plainClass(cure.Cured, rapid.SampledFrom([]cure.Form{
		cure.Doubling{RefC: 25, Time: hours * 3600, StepC: 10},
		cure.Arrhenius{RefC: 23, Time: hours * 3600, Ea: 40e3},
		cure.Front{Ref: cure.Air{TempC: 23, RH: 50}, Time: hours * 3600, DepthMM: 2},
		humidTable(hours),
	}).Draw(t, "form"))
	c := cl.Curves[cure.Cured]
	c.Temp = quantity.Range{Lo: rapid.Float64Range(-10, 10).Draw(t, "floor") + 0.0137, Hi: rapid.Float64Range(20, 50).Draw(t, "ceiling")}
	c.States, c.Longer = cure.States(rapid.IntRange(0, 2).Draw(t, "states")), rapid.Float64Range(0, 0.5).Draw(t, "spread")
	if d, ok := c.Form.(cure.Doubling); ok {
		c.Credit = &cure.Credit{Form: cure.Doubling{RefC: d.RefC, Time: d.Time, StepC: 15}, MaxC: 40}
	}
	if rapid.Bool().Draw(t, "moist") {
		cl.Moisture = &cure.Moisture{MinRH: 30}
	}
	return cl
}

func humidTable(hours float64) cure.Form {
	var ps []cure.TablePoint
	for _, p := range [][3]float64{{5, 30, 8}, {5, 90, 6}, {25, 30, 1.5}, {25, 90, 1}, {50, 30, 0.6}, {50, 90, 0.4}} {
		ps = append(ps, cure.TablePoint{TempC: p[0], RH: p[1], Time: p[2] * hours * 3600})
	}
	f, err := cure.NewTable(ps, cure.Air{TempC: 25, RH: 90})
	if err != nil {
		panic(err)
	}
	return f
}

// The quadrature here and the integral of package cure were written apart; they
// must tell the same instants of the same air, on a structure that follows late, is
// warmed and is heated.
func TestQuadratureAgreesWithTheProgressIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, gaps := anyAir(t)
		cl := anyClass(t)
		part, site := job.Part{}, cure.Site{Air: h, Bead: cure.Bead{DepthMM: 3}}
		if rapid.Bool().Draw(t, "lag") {
			part = job.Part{Set: true, AtC: rapid.Float64Range(-10, 25).Draw(t, "at"), Tau: time.Duration(rapid.IntRange(15, 400).Draw(t, "tau")) * time.Minute}
			site.Part = cure.Part{Tau: part.Tau, AtC: part.AtC}
		}
		laid := mon("07:00").Add(time.Duration(rapid.IntRange(60, 120000).Draw(t, "laid")) * time.Second)
		line := rapid.SampledFrom([]cure.Line{cure.NotBefore, cure.Likely}).Draw(t, "line")
		c, j := bare(h, cl, job.Layer{Seal: cure.Overcoat, Spread: time.Minute, Bead: job.Bead{ThicknessMM: 3}}, part, laid)
		w := cure.Warmth{}
		if rapid.Bool().Draw(t, "warm") {
			w.Warmed, w.WarmedC = true, rapid.Float64Range(15, 30).Draw(t, "to")
			j.Warm, j.warm = &job.Warm{ToC: w.WarmedC}, []Task{{Start: laid.Add(-time.Hour), End: laid.Add(-17 * time.Second)}}
		}
		// Heat dries the part so fast that cure may run for seconds only, between two
		// looks of the quadrature: it is compared where no dryness stops it.
		_, table := cl.Curves[cure.Cured].Form.(*cure.Table)
		if cl.Moisture == nil && !table && rapid.Bool().Draw(t, "heat") {
			w.Heated, w.HeatC = true, 45
			w.HeatFrom = laid.Add(time.Duration(rapid.IntRange(1, 50000).Draw(t, "from")) * time.Second)
			j.Heat, j.heat = &job.Heat{ToC: 45}, []Task{{End: w.HeatFrom}}
		}
		want, err := site.ReachWarmed(cl, cure.Cured, line, laid, w)
		require.NoError(t, err)
		// Progress is compared, not the instant: where the rate falls to nothing just
		// under the line, a hair of progress is a day of time.
		pace := newPace(cl, cl.Curves[cure.Cured], cure.Cured, line, curingBead(j.Layers[0]))
		feel := c.part(j, line, true).feel
		rate := func(u float64) float64 { return pace.rate(feel(u)) }
		until := c.air.limit
		if !want.Never {
			until = c.air.seconds(want.At)
		}
		got := progress(rate, c.air.seconds(laid), until)
		// Cure that runs for less than two looks, between one dryness and another, is
		// not seen: half a step of it at most.
		assert.Greater(t, got, want.Progress-2e-5-half/cl.Curves[cure.Cured].Rated(site.Bead))
		// The air's likely humidity in a gap is no lower than at its drier end, which the
		// integral keeps to.
		if !gaps {
			assert.Less(t, got, want.Progress+2e-5)
		}
	})
}

// progress is the integral of a rate, step by step.
func progress(rate func(float64) float64, u, to float64) (p float64) {
	for u < to {
		v := math.Min(to, (math.Floor(u/step)+1)*step)
		p += area(rate, u, v, rate(u), rate(v))
		u = v
	}
	return p
}
