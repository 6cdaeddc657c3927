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
	tempsInText   = regexp.MustCompile(`(\d, ?)?(-?\d+(?:\.\d+)?)(?:(?: °?C)?( to | and | or |-|–|/)(-?\d+(?:\.\d+)?))? (°?)C\b( \(-?\d+(?:\.\d+)? °F\))?`)
	stepsInText   = regexp.MustCompile(`(every |each |± ?)?(-?\d+(?:\.\d+)?) (?:(degrees C)\b|°?C\b( colder| warmer| rule| of difference| (?:above|below|over) [a-z])?)`)
	lengthsInText = regexp.MustCompile(`(\d+(?:\.\d+)?) mm\b`)
)

// Text puts the quantities in a sentence into the units of the reader: "18 C" and
// "18 °C", "4 to 49 C", "17.5 °C to 41 °C", "5-40 °C", "2 mm"; and intervals, which are
// said as "3 degrees C", "2 C colder", "3 °C above it", "for every 10 °C" or "± 2 °C".
// What says both ("10 °C (18 °F)") stays, and so does the last of a row of numbers
// ("5, 15, 25 °C"), as it is not plain that all are temperatures.
func (u Units) Text(s string) string {
	if !mayMeasure(s) {
		return s
	}
	return u.measures(s)
}

// measures is Text for whatever there is.
func (u Units) measures(s string) string {
	swap := func(p *regexp.Regexp, write func(m []string) string) {
		s = p.ReplaceAllStringFunc(s, func(t string) string {
			if u == SI && strings.Contains(t, "°C") {
				return t // to the last figure as it was said
			}
			return write(p.FindStringSubmatch(t))
		})
	}
	swap(stepsInText, func(m []string) string {
		if m[1]+m[3]+m[4] == "" {
			return m[0] // a temperature
		}
		return m[1] + u.Step(readNumber(m[2])) + m[4]
	})
	swap(tempsInText, u.tempsInText)
	swap(lengthsInText, func(m []string) string { return u.Length(readNumber(m[1])) })
	return s
}

// mayMeasure reports whether a text has a C or mm that may be a unit in it. Few have: a
// list of a million rows took half of its time to look for numbers before them.
func mayMeasure(s string) bool {
	for _, unit := range [...]string{" C", "°C", " mm"} {
		for rest := s; ; {
			i := strings.Index(rest, unit)
			if i < 0 {
				break
			}
			if rest = rest[i+len(unit):]; rest == "" || !wordByte(rest[0]) {
				return true
			}
		}
	}
	return false
}

// wordByte reports whether there is no end of a word before a byte (\b of package regexp).
func wordByte(c byte) bool {
	return c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_'
}

// tempsInText writes one or two temperatures: what stands before them, the first, what
// stands between, the second, the degree sign, and the same in °F behind them.
func (u Units) tempsInText(m []string) string {
	before, first, between, second := m[1], readNumber(m[2]), m[3], readNumber(m[4])
	switch {
	case m[6] != "" || before != "" && m[5] != "":
		return m[0]
	case between == "":
		return before + u.Temp(first)
	}
	return before + u.degrees(first) + between + u.Temp(second)
}

// readNumber reads what a pattern has found to be a number; "" is 0.
func readNumber(t string) float64 {
	v, _ := strconv.ParseFloat(t, 64)
	return v
}
