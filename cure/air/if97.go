package air

import "math"

// MinIF97C and MaxIF97C bound the range, in °C, of IAPWS-IF97 region 4: from 273.15 K
// to the critical point, 647.096 K.
const (
	MinIF97C = 0
	MaxIF97C = 373.946
)

const kelvin = 273.15

// Coefficients n1 to n10 of the saturation line, IAPWS R7-97(2012), table 34.
const (
	if97N1  = 0.11670521452767e4
	if97N2  = -0.72421316703206e6
	if97N3  = -0.17073846940092e2
	if97N4  = 0.12020824702470e5
	if97N5  = -0.32325550322333e7
	if97N6  = 0.14915108613530e2
	if97N7  = -0.48232657361591e4
	if97N8  = 0.40511340542057e6
	if97N9  = -0.23855557567849
	if97N10 = 0.65017534844798e3
)

const hPaPerMPa = 1e4

// SaturationIF97 is the saturation vapour pressure over water, in hPa, at t °C by the
// industrial formulation IAPWS-IF97, region 4: IAPWS R7-97(2012) equation 30.
//
// Range: 0..373.946 °C, where the answer runs from 6.112 to 220 640 hPa. Error: a
// *RangeError outside it and for NaN. The program itself counts with Saturation; this
// is its independent check, and the one to ask above 60 °C.
func SaturationIF97(t float64) (hPa float64, err error) {
	if err := within("temperature", t, MinIF97C, MaxIF97C, "C"); err != nil {
		return 0, err
	}
	return if97Pressure(t), nil
}

// SaturationTemperatureIF97 is the temperature, in °C, at which vapour of pressure pv
// hPa saturates: the inverse of SaturationIF97, IAPWS R7-97(2012) equation 31. For the
// vapour in air that is its dew point; for steam alone its boiling point.
//
// Range: the pressures of 0 and 373.946 °C, about 6.1121 to 220 640 hPa. Error: a
// *RangeError outside it and for NaN.
func SaturationTemperatureIF97(pv float64) (t float64, err error) {
	if err := within("vapour pressure", pv, if97Pressure(MinIF97C), if97Pressure(MaxIF97C), "hPa"); err != nil {
		return 0, err
	}
	b := math.Sqrt(math.Sqrt(pv / hPaPerMPa))
	e := b*b + if97N3*b + if97N6
	f := if97N1*b*b + if97N4*b + if97N7
	g := if97N2*b*b + if97N5*b + if97N8
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	s := if97N10 + d
	return (s-math.Sqrt(s*s-4*(if97N9+if97N10*d)))/2 - kelvin, nil
}

// if97Pressure is equation 30: pressure in hPa at t °C, within the range.
func if97Pressure(t float64) float64 {
	k := t + kelvin
	v := k + if97N9/(k-if97N10)
	a := v*v + if97N1*v + if97N2
	b := if97N3*v*v + if97N4*v + if97N5
	c := if97N6*v*v + if97N7*v + if97N8
	root := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return root * root * root * root * hPaPerMPa
}
