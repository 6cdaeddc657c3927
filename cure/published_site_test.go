package cure

import (
	"errors"
	"math"
	"time"
	_ "time/tzdata" // the zones of the check values, on any machine

	"beadline/cure/quantity"
)

// checkCelsius is a reading in °F as this program takes it. Printed conversions are
// held to their last digit; where the source cut the digit off instead of rounding it,
// to all of that digit.
func checkCelsius(r *publishedRow) float64 { return r.temp("of") }

// lump is a site whose part is the row's body, of time constant ρ·c·Lc/h, in air of
// its own constant temperature.
func (r *publishedRow) lump(fromC, airC float64) Site {
	tau := r.num("rho") * r.num("c") * r.num("lc") / r.num("h")
	return Site{
		Air:  Constant(Air{airC, 1}, t0, at(1)),
		Part: Part{Tau: time.Duration(math.Round(tau * float64(time.Second))), AtC: fromC},
	}
}

// checkWarming looks up by halving when a part has come as warm as the row says, in
// seconds. Tolerances: 0.5 % and 1 % of the two thermocouples, as the books round; 1 s
// of the milk.
func checkWarming(r *publishedRow) float64 {
	site := r.lump(r.temp("from"), r.temp("air"))
	lo, hi := 0.0, hour
	for hi-lo > 1e-6 {
		m := (lo + hi) / 2
		if site.PartAt(at(m/hour), Likely) < r.temp("to") {
			lo = m
		} else {
			hi = m
		}
	}
	return hi
}

// checkWarmingRate is the rate b in e^(−b·t), 1/s, read off the part's temperature.
// Tolerances: half of the last printed digit. The rate with twelve digits is held to
// 2.3e-10 of itself, half the nanosecond that a time constant of 2.16 s is kept to.
func checkWarmingRate(r *publishedRow) float64 {
	site := r.lump(0, 100)
	b, ts := 0.0, []time.Duration{time.Second, 3 * time.Second, 5 * time.Second}
	for _, t := range ts {
		b -= math.Log((100-site.PartAt(t0.Add(t), Likely))/100) / t.Seconds() / float64(len(ts))
	}
	return b
}

// checkTimeConstant is when a part has come 1 − 1/e of the way, in seconds. The book
// prints the diameter with three digits: 0.05 % and a little.
func checkTimeConstant(r *publishedRow) float64 {
	r.inputs["from"], r.inputs["air"], r.inputs["to"] = "0C", "100C", "63.21205588285577C"
	return checkWarming(r)
}

// checkCeiling is the temperature, °C, that heat counts at, where the class may be
// heated to max: read off from when the milestone is reached, on the plain curve and on
// the line. Half of the last printed digit.
func checkCeiling(r *publishedRow) float64 {
	form := Doubling{25, 2 * hour, 10}
	cl := only(&Curve{Form: form, Temp: wide, Credit: &Credit{Form: form, MaxC: 90}})
	cl.Heat = &Heat{MaxC: r.temp("max")}
	site := Site{Air: constant(20, 50, 100)}
	counts := func(l Line) float64 {
		got := must(site.ReachWarmed(cl, Cured, l, t0, Warmth{Heated: true, HeatFrom: t0, HeatC: r.temp("heat")}))
		return 25 - 10*math.Log2(got.At.Sub(t0).Seconds()/form.Time)
	}
	if math.Abs(counts(Likely)-counts(NotBefore)) > 1e-6 {
		return math.NaN()
	}
	return counts(NotBefore)
}

// checkLocalDay is how long a night/day swing takes, in hours, from its coldest, at
// local midnight, to the next: the length of the local day. Exact.
func checkLocalDay(r *publishedRow) float64 {
	zone := must(time.LoadLocation(r.text("zone")))
	day := must(time.ParseInLocation("2006-01-02", r.text("day"), zone))
	swing := &Swing{LowC: 5, HighC: 15, Warmest: 12 * time.Hour, DewC: math.NaN(), RH: 50, Zone: zone}
	h := must(NewHistory([]Piece{{Name: "swing", Swing: swing}}, day.Add(-6*time.Hour), day.Add(36*time.Hour)))
	var coldest []time.Time
	for t := day.Add(-6 * time.Hour); t.Before(h.Until()); t = t.Add(SwingStep) {
		c, _ := h.At(t, Likely)
		before, _ := h.At(t.Add(-SwingStep), Likely)
		after, _ := h.At(t.Add(SwingStep), Likely)
		if c < before && c < after && c < 5.1 {
			coldest = append(coldest, t)
		}
	}
	if len(coldest) < 2 || !coldest[0].Equal(day) {
		return math.NaN()
	}
	return coldest[1].Sub(coldest[0]).Hours()
}

// checkRefused gives the greatest depth, in mm, that is answered when the row's is
// refused. Exact.
func checkRefused(r *publishedRow) float64 {
	cl := only(&Curve{Form: acetoxy, Temp: wide, MaxDepth: 6})
	var out *RangeError
	site := Site{Air: constant(25, 50, 1), Bead: Bead{DepthMM: r.num("depth")}}
	_, err := site.Reach(cl, Cured, NotBefore, t0)
	_, err2 := cl.Steady(Cured, NotBefore, Steady{Air: Air{25, 50}, PotC: 25, PartC: 25, Bead: site.Bead})
	if !errors.As(err, &out) || !errors.As(err2, &out) {
		return math.NaN()
	}
	site.Bead.DepthMM = cl.Curves[Cured].MaxDepth
	must(site.Reach(cl, Cured, NotBefore, t0))
	return site.Bead.DepthMM
}

// checkGap gives the greatest gap, in mm, that is answered when the row's is refused,
// for good: by halving between a gap that cures and the row's.
func checkGap(r *publishedRow) float64 {
	cl := only(rule(24))
	cl.MaxGapMM = r.num("max")
	answers := func(gap float64) bool {
		site := Site{Air: constant(25, 50, 100), Bead: Bead{DepthMM: gap}}
		_, err := site.Reach(cl, Cured, NotBefore, t0)
		_, err2 := cl.Steady(Cured, NotBefore, Steady{Air: Air{25, 50}, PotC: 25, PartC: 25, Bead: site.Bead, Extrapolate: true})
		var out, out2 *RangeError
		if errors.As(err, &out) != errors.As(err2, &out2) || out != nil && !(out.Final && out2.Final) {
			panic("the two ways to ask differ, or the refusal is not for good")
		}
		return err == nil
	}
	return lastAnswered(0.1, r.num("gap"), answers)
}

// lastAnswered halves between a value that is answered and one that is refused; NaN when they
// are not.
func lastAnswered(answered, refused float64, answers func(float64) bool) float64 {
	if !answers(answered) || answers(refused) {
		return math.NaN()
	}
	for range 60 {
		if m := (answered + refused) / 2; answers(m) {
			answered = m
		} else {
			refused = m
		}
	}
	return answered
}

// checkLaying gives the last temperature of the part, °C, at which a class may be laid
// that has the row's range, on the way from 25 °C to the row's. The air is dry, so that
// the dew point says nothing. Tolerances: the printed conversion, which is cut and not
// rounded; else half of the last digit.
func checkLaying(r *publishedRow) float64 {
	cl := only(rule(24))
	cl.Apply.Part = must(quantity.TempRange(r.text("part")))
	return lastAnswered(25, r.temp("at"), func(c float64) bool {
		site := Site{Air: constant(c, 5, 1)}
		w := must(site.Windows(cl, at(0), at(1), Warmth{}))
		return len(w) == 1 && w[0].Open()
	})
}

// checkWindow gives the end of a curve's window, °C or % RH, beyond which the row's
// air is refused. Within 2e-9, by which arithmetic may miss a limit.
func checkWindow(r *publishedRow) float64 {
	cl := only(&Curve{Form: acetoxy, Temp: must(quantity.TempRange(r.text("temp"))), RH: must(quantity.PercentRange(r.text("rh")))})
	in, out := Air{25, 50}, Air{25, 50}
	ask := func(a Air) bool {
		_, err := cl.Steady(Cured, NotBefore, Steady{Air: a, PotC: a.TempC, PartC: a.TempC})
		return err == nil
	}
	if r.inputs["at"] != "" {
		out.TempC = r.temp("at")
		return lastAnswered(in.TempC, out.TempC, func(c float64) bool { return ask(Air{c, 50}) })
	}
	out.RH = r.num("humidity")
	return lastAnswered(in.RH, out.RH, func(rh float64) bool { return ask(Air{25, rh}) })
}

// checkNever gives the progress of the plain curve after two years in hot dry air.
// Exact: nothing.
func checkNever(r *publishedRow) float64 {
	site := Site{Air: Constant(Air{40, r.num("rh")}, t0, at(20000)), Bead: Bead{DepthMM: 0.1}}
	cl := only(&Curve{Form: acetoxy, Temp: wide})
	line, likely := must(site.Reach(cl, Cured, NotBefore, t0)), must(site.Reach(cl, Cured, Likely, t0))
	if !line.Never || !likely.Never {
		return math.NaN()
	}
	return line.Progress + likely.Progress
}

// checkLine gives the hours after mixing that the application line of a B-2 lies at,
// which must be before the row's instant: torque then is refused. 1e-6 h: exact but for
// the rounding of 77 °F.
func checkLine(r *publishedRow) float64 {
	cl := only(&Curve{Form: Doubling{must(quantity.Temp("77F")), 2 * hour, 10}, Temp: wide, States: Minimum})
	site := Site{Air: Constant(Air{r.temp("at"), 50}, t0, at(10))}
	got := must(site.Reach(cl, Assembly, NotAfter, t0))
	if at(r.dur("mixed") / hour).Before(got.At) {
		return math.NaN()
	}
	return hours(got.At)
}
