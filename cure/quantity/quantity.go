// Package quantity reads and writes the quantities a person puts into a
// command, a class file or a job file, each with its unit: 18C, 65F, 0.5mm,
// 20mil, 600cm2, 36kJ/mol, 40..85%, 30min, PT30M, 9 months.
//
// A bare number is always refused: a hangar at "77" may be 77 °F or a mistake.
// Inside the program a temperature is in °C, humidity in % RH, a length in mm,
// an area in mm², a volume in ml, a mass in g, an energy in J/mol.
package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxLen bounds what is read as a quantity and what an error message repeats.
const maxLen = 64

// Range is a closed interval of one kind of quantity.
type Range struct{ Lo, Hi float64 }

// Contains reports whether v lies within the range, ends included.
func (r Range) Contains(v float64) bool { return v >= r.Lo && v <= r.Hi }

// IsZero reports whether the range was never set.
func (r Range) IsZero() bool { return r == Range{} }

// Temp reads a temperature such as 18C, -4 °C or 65F and gives °C.
// Range: above absolute zero and at most 1000 °C.
func Temp(s string) (float64, error) {
	v, unit, err := split(s)
	if err != nil {
		return 0, fmt.Errorf("%s: not a temperature: write it like 18C or 65F", quote(s))
	}
	c, ok := celsius(v, unit)
	if !ok {
		return 0, wrongUnit(s, "a temperature", unit, "18C or 65F")
	}
	return c, checkTemp(s, c)
}

// TempStep reads an interval of temperature, zero or more, such as 10C or 18F and
// gives it in °C. An interval of 18 °F is 10 °C: no offset of 32 enters.
func TempStep(s string) (float64, error) {
	v, unit, err := split(s)
	if err != nil {
		return 0, fmt.Errorf("%s: not a temperature step: write it like 10C or 18F", quote(s))
	}
	switch unit {
	case "C", "K":
	case "F":
		v = v * 5 / 9
	default:
		return 0, wrongUnit(s, "a temperature step", unit, "10C or 18F")
	}
	if v < 0 {
		return 0, fmt.Errorf("%s: a temperature step cannot be negative", quote(s))
	}
	if v > 1000 {
		return 0, fmt.Errorf("%s: a step of more than 1000 C makes no sense", quote(s))
	}
	return v, nil
}

// TempRange reads a range such as 16..32C or 60..90F and gives it in °C. Its ends
// differ: a range of no width is a slip, and 0..0C would read as no range at all.
func TempRange(s string) (Range, error) {
	lo, hi, unit, err := splitRange(s)
	if err != nil {
		return Range{}, fmt.Errorf("%s: not a temperature range: write it like 16..32C", quote(s))
	}
	a, ok := celsius(lo, unit)
	b, _ := celsius(hi, unit)
	if !ok {
		return Range{}, wrongUnit(s, "a temperature range", unit, "16..32C or 60..90F")
	}
	if err := checkTemp(s, a); err != nil {
		return Range{}, err
	}
	if err := checkTemp(s, b); err != nil {
		return Range{}, err
	}
	if a == b {
		return Range{}, fmt.Errorf("%s: the range has no width: write it like 16..32C", quote(s))
	}
	return order(s, a, b)
}

// Percent reads a percentage such as 45%.
func Percent(s string) (float64, error) {
	v, unit, err := split(s)
	if err != nil || unit != "%" {
		return 0, fmt.Errorf("%s: write a percentage like 45%%", quote(s))
	}
	return v, nil
}

// PercentRange reads a range of percentages such as 40..85%.
func PercentRange(s string) (Range, error) {
	lo, hi, unit, err := splitRange(s)
	if err != nil || unit != "%" {
		return Range{}, fmt.Errorf("%s: write a range of percentages like 40..85%%", quote(s))
	}
	return order(s, lo, hi)
}

// Humidity reads a relative humidity, 0 to 100 %: 45% or, as a flag named for
// it already says the unit, the bare number 45.
func Humidity(s string) (float64, error) {
	v, unit, err := split(s)
	if err != nil || unit != "%" && unit != "" {
		return 0, fmt.Errorf("%s: write a relative humidity like 45%%", quote(s))
	}
	if v < 0 || v > 100 {
		return 0, fmt.Errorf("%s: a relative humidity lies between 0%% and 100%%", quote(s))
	}
	return v, nil
}

// Length reads a length of zero or more such as 3mm, 2cm, 20mil or 0.5in and
// gives mm.
func Length(s string) (float64, error) {
	return scaled(s, "a length", "3mm or 20mil", map[string]float64{"mm": 1, "cm": 10, "m": 1000, "mil": 0.0254, "in": 25.4, "ft": 304.8})
}

// Area reads an area of zero or more such as 600cm2 or 90in2 and gives mm².
func Area(s string) (float64, error) {
	return scaled(s, "an area", "600cm2 or 90in2", map[string]float64{"mm2": 1, "mm²": 1, "cm2": 100, "cm²": 100, "m2": 1e6, "m²": 1e6, "in2": 645.16, "in²": 645.16})
}

// Volume reads a volume of zero or more such as 75ml or 2.5floz and gives ml.
func Volume(s string) (float64, error) {
	return scaled(s, "a volume", "75ml or 2.5floz", map[string]float64{"ml": 1, "cc": 1, "cm3": 1, "l": 1000, "floz": 29.5735295625})
}

// Mass reads a mass of zero or more such as 250g or 8oz and gives g.
func Mass(s string) (float64, error) {
	return scaled(s, "a mass", "250g or 8oz", map[string]float64{"g": 1, "kg": 1000, "oz": 28.349523125, "lb": 453.59237})
}

// MolarEnergy reads an activation energy such as 52.95kJ/mol and gives J/mol.
func MolarEnergy(s string) (float64, error) {
	return scaled(s, "an energy", "52.95kJ/mol", map[string]float64{"kJ/mol": 1000, "J/mol": 1, "kcal/mol": 4184})
}

func scaled(s, what, like string, units map[string]float64) (float64, error) {
	v, unit, err := split(s)
	if err != nil {
		return 0, fmt.Errorf("%s: not %s: write it like %s", quote(s), what, like)
	}
	k, ok := units[unit]
	if !ok {
		return 0, wrongUnit(s, what, unit, like)
	}
	if v < 0 {
		return 0, fmt.Errorf("%s: %s cannot be negative", quote(s), what)
	}
	return v * k, nil
}

func celsius(v float64, unit string) (float64, bool) {
	switch unit {
	case "C":
		return v, true
	case "F":
		return (v - 32) * 5 / 9, true
	}
	return 0, false
}

func checkTemp(s string, c float64) error {
	if c <= -273.15 || c > 1000 {
		return fmt.Errorf("%s: no such temperature: it lies between -273.15C and 1000C", quote(s))
	}
	return nil
}

func order(s string, a, b float64) (Range, error) {
	if a > b {
		return Range{}, fmt.Errorf("%s: the range runs backwards: write the smaller end first", quote(s))
	}
	return Range{a, b}, nil
}

func wrongUnit(s, what, unit, like string) error {
	if unit == "" {
		return fmt.Errorf("%s: %s needs its unit: write it like %s", quote(s), what, like)
	}
	return fmt.Errorf("%s: %s cannot be in %s: write it like %s", quote(s), what, quote(unit), like)
}

// split takes a number and the unit behind it apart. Spaces between them are
// dropped, and the degree sign of °C and °F.
func split(s string) (float64, string, error) {
	t := strings.TrimSpace(s)
	if len(t) > maxLen || t == "" {
		return 0, "", errBad
	}
	// Text pasted from a data sheet often has the true minus sign, U+2212.
	if rest, ok := strings.CutPrefix(t, "\u2212"); ok {
		t = "-" + rest
	}
	i := numberEnd(t)
	v, err := strconv.ParseFloat(t[:i], 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, "", errBad
	}
	unit := unitOf(t[i:])
	// 1,5mm or 1 000mm: the number did not end where it seemed to.
	if unit != "" && strings.ContainsRune(",.0123456789", rune(unit[0])) {
		return 0, "", errBad
	}
	return v + 0, unit, nil // + 0 makes 0 of -0
}

func splitRange(s string) (lo, hi float64, unit string, err error) {
	a, b, ok := strings.Cut(s, "..")
	// Three dots are a slip: read as two, 0...5C would end at half a degree.
	if !ok || strings.HasPrefix(b, ".") {
		return 0, 0, "", errBad
	}
	lo, u1, err := split(a)
	if err != nil {
		return 0, 0, "", err
	}
	hi, u2, err := split(b)
	if err != nil || u1 != "" && u1 != u2 {
		return 0, 0, "", errBad
	}
	return lo, hi, u2, nil
}

func unitOf(t string) string {
	t = strings.TrimSpace(t)
	if rest, ok := strings.CutPrefix(t, "°"); ok {
		if rest = strings.TrimSpace(rest); rest == "C" || rest == "F" {
			return rest
		}
	}
	return t
}

// numberEnd is where the leading decimal number ends. No exponent is read: 3e4mm
// is nobody's bead.
func numberEnd(t string) int {
	for i, r := range t {
		if i == 0 && (r == '-' || r == '+') || r >= '0' && r <= '9' || r == '.' {
			continue
		}
		return i
	}
	return len(t)
}

type badQuantity struct{}

func (badQuantity) Error() string { return "not a quantity" }

var errBad error = badQuantity{}

// quote shows what the user wrote, shortened and with control characters made
// visible.
func quote(s string) string {
	if len(s) > maxLen {
		cut := maxLen
		for cut > 0 && !utf8.RuneStart(s[cut]) {
			cut--
		}
		s = s[:cut] + "…"
	}
	for _, r := range s {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return strconv.QuoteToASCII(s)
		}
	}
	return `"` + s + `"`
}
