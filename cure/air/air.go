// Package air is the physics of humid air that sealing work needs: saturation
// pressure, vapour pressure, relative humidity and dew point.
//
// All functions are pure. Temperatures are °C, pressures hPa, humidities % RH.
//
// Source of the saturation curve: WMO-No. 8, Guide to Instruments and Methods of
// Observation, Annex 4.B: e_w = 6.112·exp(17.62 t/(243.12 + t)) hPa, over water,
// stated for -45..60 °C. Outside that range the same formula is evaluated; it
// stays positive and increasing, which is all the callers rely on there.
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
