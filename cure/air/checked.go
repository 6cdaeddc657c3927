package air

import (
	"fmt"
	"math"
)

// RangeError refuses a value outside the range that a formula is stated for, and one
// that is no number.
type RangeError struct {
	What   string  // "temperature", "humidity", …
	Value  float64 // as given; may be NaN or infinite
	Lo, Hi float64 // the range, ends included
	Unit   string  // "C", "%" or "hPa"
}

// Error implements error: what, how much, and what would be right.
func (e *RangeError) Error() string {
	unit := " " + e.Unit
	if e.Unit == "%" {
		unit = "%"
	}
	if math.IsNaN(e.Value) {
		return fmt.Sprintf("%s is not a number: it lies between %.6g and %.6g%s", e.What, e.Lo, e.Hi, unit)
	}
	return fmt.Sprintf("%s %g%s is outside %.6g to %.6g%s", e.What, e.Value, unit, e.Lo, e.Hi, unit)
}

// within refuses NaN too: no comparison with it is true.
func within(what string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &RangeError{what, v, lo, hi, unit}
}

// CheckTemperature refuses a temperature outside -45..60 °C, the range of the WMO
// formula, with a *RangeError.
func CheckTemperature(t float64) error { return within("temperature", t, MinC, MaxC, "C") }

// CheckHumidity refuses a relative humidity outside 0..100 % with a *RangeError.
func CheckHumidity(rh float64) error { return within("humidity", rh, 0, 100, "%") }

// checkVapour refuses a vapour pressure, in hPa, that no air within the WMO range has.
func checkVapour(pv, lo float64) error {
	return within("vapour pressure", pv, lo, Saturation(MaxC), "hPa")
}

// first is the first error there is.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// CheckedSaturation is Saturation, in hPa, for t within -45..60 °C; else a *RangeError.
func CheckedSaturation(t float64) (hPa float64, err error) {
	if err := CheckTemperature(t); err != nil {
		return 0, err
	}
	return Saturation(t), nil
}

// CheckedVapour is Vapour, in hPa, for t within -45..60 °C and rh within 0..100 %;
// else a *RangeError.
func CheckedVapour(t, rh float64) (hPa float64, err error) {
	if err := first(CheckTemperature(t), CheckHumidity(rh)); err != nil {
		return 0, err
	}
	return Vapour(t, rh), nil
}

// CheckedHumidity is Humidity, in % and not capped, for t within -45..60 °C and pv
// from 0 to saturation at 60 °C (200 hPa); else a *RangeError.
func CheckedHumidity(t, pv float64) (rh float64, err error) {
	if err := first(CheckTemperature(t), checkVapour(pv, 0)); err != nil {
		return 0, err
	}
	return Humidity(t, pv), nil
}

// CheckedDewPoint is DewPoint, in °C, for pv between saturation at -45 and at 60 °C
// (0.11 to 200 hPa); else a *RangeError. Dry air has no dew point and is refused.
func CheckedDewPoint(pv float64) (t float64, err error) {
	if err := checkVapour(pv, Saturation(MinC)); err != nil {
		return 0, err
	}
	return DewPoint(pv), nil
}

// CheckedAbsoluteHumidity is AbsoluteHumidity, in g/m³, of air at t °C and rh % RH,
// for t within -45..60 °C and rh within 0..100 %; else a *RangeError.
func CheckedAbsoluteHumidity(t, rh float64) (gPerM3 float64, err error) {
	if err := first(CheckTemperature(t), CheckHumidity(rh)); err != nil {
		return 0, err
	}
	return AbsoluteHumidity(t, Vapour(t, rh)), nil
}

// CheckedSurfaceHumidity is SurfaceHumidity, in % and capped at 100, for both
// temperatures within -45..60 °C and rh within 0..100 %; else a *RangeError.
func CheckedSurfaceHumidity(airC, rh, surfaceC float64) (surfaceRH float64, err error) {
	if err := checkSurface(airC, rh, surfaceC); err != nil {
		return 0, err
	}
	return SurfaceHumidity(airC, rh, surfaceC), nil
}

// CheckedDewSpread is DewSpread, in °C and +Inf at 0 % RH, for both temperatures
// within -45..60 °C and rh within 0..100 %; else a *RangeError.
func CheckedDewSpread(airC, rh, surfaceC float64) (spreadC float64, err error) {
	if err := checkSurface(airC, rh, surfaceC); err != nil {
		return 0, err
	}
	return DewSpread(airC, rh, surfaceC), nil
}

func checkSurface(airC, rh, surfaceC float64) error {
	return first(CheckTemperature(airC), CheckHumidity(rh), within("surface temperature", surfaceC, MinC, MaxC, "C"))
}
