package air

import "math"

// Constants of AbsoluteHumidity.
const (
	waterMolarMass = 18.015268        // g/mol; IAPWS R6-95, from memory: 18.015 and 18.016 change the answer by 0.004 % at most
	gasConstant    = 8.31446261815324 // J/(mol K), exact: BIPM, The International System of Units, 9th edition
)

// AbsoluteHumidity is the mass of water, in g, in a cubic metre of air at t °C with
// vapour of pressure pv hPa, taken as an ideal gas:
//
//	p_v·M/(R·T), M = 18.015268 g/mol, R = 8.31446261815324 J/(mol K), T = t + 273.15 K
//
// With Saturation it gives 17.24 g/m³ for saturated air at 20 °C, 0.23 % under the
// published 17.28: that is the WMO formula's difference from IF97, not the gas's.
// Range: t above -273.15 °C, else NaN; pv 0 or more. Errors: none.
func AbsoluteHumidity(t, pv float64) float64 {
	if t <= -kelvin {
		return math.NaN()
	}
	return 100 * pv * waterMolarMass / (gasConstant * (t + kelvin))
}

// SurfaceHumidity is the relative humidity, in %, right at a surface at surfaceC °C
// that stands in air at airC °C and rh % RH: the air's vapour over what saturates at
// the surface. It is capped at 100, which is a wet surface: what is more lies on it as
// water. Humidity is the same without the cap. A surface in dry air (rh ≤ 0) has 0.
// Errors: none; see CheckedSurfaceHumidity.
func SurfaceHumidity(airC, rh, surfaceC float64) float64 {
	pv := Vapour(airC, rh)
	if pv <= 0 {
		return 0
	}
	return math.Min(100, Humidity(surfaceC, pv))
}

// DewSpread is how far, in °C, a surface at surfaceC °C is above the dew point of air
// at airC °C and rh % RH. 0 or less is a wet surface; coatings practice asks for 3 or
// more (ISO 8502-4). Dry air (rh ≤ 0) has no dew point: +Inf. Errors: none; see
// CheckedDewSpread.
func DewSpread(airC, rh, surfaceC float64) float64 {
	return surfaceC - DewPoint(Vapour(airC, rh))
}
