// Package air is the physics of humid air that sealing work needs: saturation
// pressure, vapour pressure, relative and absolute humidity, dew point, and what all
// of them come to on a surface that is colder or warmer than the air.
//
// All functions are pure. Temperatures are °C, pressures hPa, humidities % RH.
//
// Two formulas give the saturation pressure over water:
//
//   - Saturation, and everything built on it: WMO-No. 8, Guide to Instruments and
//     Methods of Observation, Annex 4.B: e_w = 6.112·exp(17.62 t/(243.12 + t)) hPa,
//     stated for -45..60 °C. The whole program counts with this one, in every room:
//     it is one exponential, its inverse is exact, and two formulas side by side
//     would put a step of humidity where one takes over from the other.
//   - SaturationIF97 and its inverse: IAPWS R7-97(2012), region 4, 0..373.946 °C.
//     It is the independent check of the first, and the one to ask about air above
//     60 °C, for which WMO-No. 8 states nothing.
//
// Between 0 and 60 °C the two differ by up to 0.31 % (near 27 °C, WMO lower), which
// is 0.05 °C of dew point. Above, WMO runs higher: 0.24 % at 60 °C, 2.4 % at 100 °C,
// 12 % at 200 °C. A test measures these figures.
//
// Outside its range the WMO formula is evaluated all the same: it stays positive and
// increasing, which is all that its callers rely on there. The plain functions refuse
// nothing, so that they can stand in inner loops; NaN in gives NaN out. Where a value
// comes from a person or a file, ask the Checked functions: they refuse what is
// outside the range, and NaN and infinities.
package air

import "math"

// Coefficients of the WMO formula.
const (
	wmoE0 = 6.112  // hPa
	wmoA  = 17.62  // -
	wmoB  = 243.12 // °C
)

// MinC and MaxC bound the range, in °C, that WMO-No. 8 states for its formula.
const (
	MinC = -45
	MaxC = 60
)

// Saturation is the saturation vapour pressure over water, in hPa, at t °C.
// At or below -243.12 °C, where the formula has its pole, it is 0.
func Saturation(t float64) float64 {
	if t <= -wmoB {
		return 0
	}
	return wmoE0 * math.Exp(wmoA*t/(wmoB+t))
}

// Vapour is the vapour pressure, in hPa, of air at t °C and rh % RH.
func Vapour(t, rh float64) float64 { return rh / 100 * Saturation(t) }

// Humidity is the relative humidity, in %, that vapour of pressure pv hPa has at
// t °C. It is not capped: above 100 there is water on the surface.
func Humidity(t, pv float64) float64 { return 100 * pv / Saturation(t) }

// DewPoint is the temperature, in °C, at which vapour of pressure pv hPa
// saturates: the inverse of Saturation. Dry air (pv ≤ 0) has none: -Inf.
func DewPoint(pv float64) float64 {
	if pv <= 0 {
		return math.Inf(-1)
	}
	l := math.Log(pv / wmoE0)
	return wmoB * l / (wmoA - l)
}
