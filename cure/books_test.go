package cure

import (
	"math"

	"beadline/cure/quantity"
)

// book is a class with the same curves written out as plain formulas of the time in
// seconds.
type book struct {
	name  string
	curve *Curve
	plain func(c, rh, pv float64) float64
	minRH float64
	rated float64

	credit func(c float64) float64 // s by the credit for warmth; nil: none
	top    float64                 // °C where the credit ends
}

func books() []book {
	floor := quantity.Range{Lo: 5, Hi: 35}
	table := must(NewTable([]TablePoint{{5, 0, 40 * hour}, {15, 0, 16 * hour}, {25, 0, 7 * hour}, {40, 0, 4 * hour}}, Air{TempC: 25}))
	steep := must(NewTable([]TablePoint{{5, 0, 40 * hour}, {25, 0, 7 * hour}, {30.033, 0, 6.9 * hour}, {31.033, 0, 0.6 * hour}, {40, 0, 0.2 * hour}}, Air{TempC: 25}))
	return []book{
		{name: "doubling", curve: &Curve{Form: Doubling{25, 6 * hour, 10}, Temp: floor, Shorter: 0.1, Longer: 0.2},
			plain: func(c, _, _ float64) float64 { return 6 * hour * math.Pow(2, (25-c)/10) }, rated: 6 * hour},
		{name: "arrhenius, moist", curve: &Curve{Form: Arrhenius{23.3, 9 * hour, 60e3}, Temp: quantity.Range{Lo: 40.0/9 + 0.01, Hi: 43.3}},
			plain: func(c, _, _ float64) float64 {
				return 9 * hour * math.Exp(60e3/8.31446261815324*(1/(c+273.15)-1/296.45))
			}, minRH: 40, rated: 9 * hour},
		{name: "table", curve: &Curve{Form: table, Temp: quantity.Range{Lo: 5, Hi: 40}},
			plain: func(c, _, _ float64) float64 {
				x, y := []float64{5, 15, 25, 40}, []float64{40, 16, 7, 4}
				i := 0
				for i < 2 && c >= x[i+1] {
					i++
				}
				k := func(c float64) float64 { return 1 / (c + 273.15) }
				f := (k(c) - k(x[i])) / (k(x[i+1]) - k(x[i]))
				return hour * math.Pow(y[i], 1-f) * math.Pow(y[i+1], f)
			}, rated: 7 * hour},
		{name: "front", curve: &Curve{Form: Front{Ref: Air{25, 50}, Time: 24 * hour, DepthMM: 2, Ea: 20e3}, Temp: floor},
			plain: func(c, _, pv float64) float64 {
				if pv <= 0 {
					return math.Inf(1)
				}
				return 24 * hour * 1.5 * 1.5 / 4 * 0.5 * pSat(25) / pv * math.Exp(20e3/8.31446261815324*(1/(c+273.15)-1/298.15))
			}, rated: 24 * hour * 1.5 * 1.5 / 4},
		{name: "humid", curve: &Curve{Form: Doubling{25, 6 * hour, 12}, Temp: floor, Humidity: &HumidityFactor{Points: []HumidityPoint{{30, 2}, {50, 1}, {80, 0.7}}}},
			plain: func(c, rh, _ float64) float64 {
				x, y := []float64{30, 50, 80}, []float64{2, 1, 0.7}
				rh = math.Min(80, math.Max(30, rh))
				i := 0
				if rh >= 50 {
					i = 1
				}
				f := (rh - x[i]) / (x[i+1] - x[i])
				return 6 * hour * math.Pow(2, (25-c)/12) * math.Pow(y[i], 1-f) * math.Pow(y[i+1], f)
			}, rated: 6 * hour},
		{name: "driven by vapour, credit", curve: &Curve{Form: Doubling{25, 6 * hour, 12}, Temp: floor, Humidity: &HumidityFactor{Power: 1, RefPV: 0.5 * pSat(25)},
			Credit: &Credit{Form: Doubling{25, 6 * hour, 20}, MaxC: 33}},
			plain: func(c, _, pv float64) float64 {
				if pv <= 0 {
					return math.Inf(1)
				}
				return 6 * hour * math.Pow(2, (25-c)/12) * 0.5 * pSat(25) / pv
			}, rated: 6 * hour, credit: func(c float64) float64 { return 6 * hour * math.Pow(2, (25-c)/20) }, top: 33},
		{name: "front, credit", curve: &Curve{Form: Front{Ref: Air{25, 50}, Time: 24 * hour, DepthMM: 2, Ea: 20e3}, Temp: floor,
			Credit: &Credit{Form: Doubling{25, 24 * hour * 1.5 * 1.5 / 4, 20}, MaxC: 40}},
			plain: func(c, _, pv float64) float64 {
				if pv <= 0 {
					return math.Inf(1)
				}
				return 24 * hour * 1.5 * 1.5 / 4 * 0.5 * pSat(25) / pv * math.Exp(20e3/8.31446261815324*(1/(c+273.15)-1/298.15))
			}, rated: 24 * hour * 1.5 * 1.5 / 4, credit: func(c float64) float64 { return 24 * hour * 1.5 * 1.5 / 4 * math.Pow(2, (25-c)/20) }, top: 35},
		{name: "table, credit", curve: &Curve{Form: steep, Temp: quantity.Range{Lo: 5, Hi: 40}, Credit: &Credit{Form: Doubling{25, 7 * hour, 10}, MaxC: 38}},
			plain: func(c, _, _ float64) float64 {
				x, y := []float64{5, 25, 30.033, 31.033, 40}, []float64{40, 7, 6.9, 0.6, 0.2}
				i := 0
				for i < 3 && c >= x[i+1] {
					i++
				}
				k := func(c float64) float64 { return 1 / (c + 273.15) }
				f := (k(c) - k(x[i])) / (k(x[i+1]) - k(x[i]))
				return hour * math.Pow(y[i], 1-f) * math.Pow(y[i+1], f)
			}, rated: 7 * hour, credit: func(c float64) float64 { return 7 * hour * math.Pow(2, (25-c)/10) }, top: 38},
		{name: "driven by vapour", curve: &Curve{Form: Doubling{25, 6 * hour, 12}, Temp: floor, Humidity: &HumidityFactor{Power: 1, RefPV: 0.5 * pSat(25)}},
			plain: func(c, _, pv float64) float64 {
				if pv <= 0 {
					return math.Inf(1)
				}
				return 6 * hour * math.Pow(2, (25-c)/12) * 0.5 * pSat(25) / pv
			}, rated: 6 * hour},
	}
}

func (b book) class() *Class {
	cl := only(b.curve)
	if b.minRH > 0 {
		cl.Moisture = &Moisture{MinRH: b.minRH}
	}
	return cl
}

// rate is the line's pace, written from the rule: the smaller or larger of rated
// and curve, the spread, the floor and the ceiling.
func (b book) rate(l Line) func(feel) float64 {
	return func(f feel) float64 {
		rh := math.Min(100, 100*f.pv/pSat(f.judge))
		pv := math.Min(f.pv, pSat(f.c))
		switch l {
		case NotAfter:
			t := math.Min(b.rated, b.plain(math.Max(f.c, b.curve.Temp.Lo), rh, pv))
			return 1 / t / (1 - b.curve.Shorter)
		case NotBefore:
			if f.c < b.curve.Temp.Lo-1e-9 || rh < b.minRH-1e-3 {
				return 0
			}
			t := b.plain(math.Min(f.c, b.curve.Temp.Hi), rh, pv)
			switch {
			case t >= b.rated:
			case b.credit == nil || f.c <= b.curve.Form.Reference().TempC:
				t = b.rated
			default:
				c := math.Min(f.c, b.top)
				t = b.plain(c, rh, pv)
				// What lengthens the curve, against its reference humidity, lengthens the credit.
				dry := math.Max(1, t/b.plain(c, 50, 0.5*pSat(c)))
				t = math.Min(b.rated, math.Max(t, dry*b.credit(c)))
			}
			return 1 / t / (1 + b.curve.Longer)
		}
		return 1 / b.plain(f.c, rh, pv)
	}
}
