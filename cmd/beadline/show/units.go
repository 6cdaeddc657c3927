package show

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"beadline/cure/quantity"
)

// Units are the units of text; JSON and CSV are always in °C and mm.
type Units uint8

// The units.
const (
	SI Units = iota // °C, mm
	US              // °F, in
)

// number writes v with at most so many decimals, without zeros at the end.
func number(v float64, decimals int) string {
	p := math.Pow10(decimals)
	return strconv.FormatFloat(math.Round(v*p)/p+0, 'f', -1, 64)
}

// Temp writes a temperature of c °C: "18 °C" or "64.4 °F".
func (u Units) Temp(c float64) string { return u.degrees(c) + u.unit() }

func (u Units) degrees(c float64) string {
	if u == US {
		return number(c*9/5+32, 1)
	}
	return number(c, 1)
}

func (u Units) unit() string {
	if u == US {
		return " °F"
	}
	return " °C"
}

// Step writes an interval of c °C: 10 °C is 18 °F, no offset of 32 enters.
func (u Units) Step(c float64) string {
	if u == US {
		c = c * 9 / 5
	}
	return number(c, 1) + u.unit()
}

// Temps writes a range of temperatures.
func (u Units) Temps(r quantity.Range) string {
	if r.Lo <= -273.15 {
		return "up to " + u.Temp(r.Hi)
	}
	return u.degrees(r.Lo) + " to " + u.Temp(r.Hi)
}

// Length writes a length of mm millimetres: "3 mm" or "0.118 in".
func (u Units) Length(mm float64) string {
	if u == US {
		return number(mm/25.4, 3) + " in"
	}
	return number(mm, 2) + " mm"
}

// Volume writes ml millilitres: "75 ml" or "2.5 fl oz".
func (u Units) Volume(ml float64) string {
	if u == US {
		return number(ml/29.5735295625, 1) + " fl oz"
	}
	return number(ml, 0) + " ml"
}

var (
	rangesInText  = regexp.MustCompile(`(-?\d+(?:\.\d+)?) to (-?\d+(?:\.\d+)?) C\b`)
	degreesInText = regexp.MustCompile(`(-?\d+(?:\.\d+)?) C\b`)
	stepsInText   = regexp.MustCompile(`(-?\d+(?:\.\d+)?) (?:degrees C\b|C (colder|warmer)\b)`)
	lengthsInText = regexp.MustCompile(`(\d+(?:\.\d+)?) mm\b`)
)

// Text puts the quantities in a sentence of the physics, which says "18 C",
// "4 to 49 C", "2 mm", and for an interval "3 degrees C" or "2 C colder", into the units
// of the reader.
func (u Units) Text(s string) string {
	read := func(t string) float64 {
		v, _ := strconv.ParseFloat(t, 64) // the pattern lets numbers through only
		return v
	}
	swap := func(p *regexp.Regexp, write func(m []string) string) {
		s = p.ReplaceAllStringFunc(s, func(t string) string { return write(p.FindStringSubmatch(t)) })
	}
	swap(rangesInText, func(m []string) string { return u.Temps(quantity.Range{Lo: read(m[1]), Hi: read(m[2])}) })
	swap(stepsInText, func(m []string) string { return strings.TrimSpace(u.Step(read(m[1])) + " " + m[2]) })
	swap(degreesInText, func(m []string) string { return u.Temp(read(m[1])) })
	swap(lengthsInText, func(m []string) string { return u.Length(read(m[1])) })
	return s
}
