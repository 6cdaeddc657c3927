package sheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"beadline/cure/fit"
	"beadline/cure/quantity"
)

// maxFrom is how long, in letters, a provenance may be in a class file.
const maxFrom = 1000

// rounding says to which side a number is rounded.
type rounding int

const (
	toNearest rounding = iota
	downward
	upward
)

// significant writes v > 0 with so many significant digits.
func significant(v float64, digits int, to rounding) string {
	if v == 0 {
		return "0"
	}
	unit := math.Pow10(int(math.Floor(math.Log10(math.Abs(v)))) - digits + 1)
	n := v / unit
	switch to {
	case downward:
		n = math.Floor(n + 1e-9)
	case upward:
		n = math.Ceil(n - 1e-9)
	default:
		n = math.Round(n)
	}
	// Through text: n·unit would carry a tail of digits.
	x, _ := strconv.ParseFloat(strconv.FormatFloat(n*unit, 'g', digits, 64), 64)
	return decimal(x)
}

// spanUnits are the units of a written time, the largest first, and from which time on
// each is used.
var spanUnits = []struct {
	name          string
	seconds, from float64
}{
	{" days", 86400, 72 * 3600}, {"h", 3600, 2 * 3600}, {"min", 60, 120}, {"s", 1, 0},
}

// spanText writes a time with four significant digits, in the unit that suits it.
func spanText(s float64, to rounding) string {
	for _, u := range spanUnits {
		if s >= u.from {
			return significant(s/u.seconds, 4, to) + u.name
		}
	}
	return significant(s, 4, to) + "s"
}

// exactSpan writes a time of whole microseconds so that it reads back the same.
func exactSpan(s float64) string {
	for _, u := range spanUnits {
		n := math.Round(1000*s/u.seconds) / 1000
		if n >= 1 && s >= u.from && math.Abs(n*u.seconds-s) < 1e-7 {
			return decimal(n) + u.name
		}
	}
	return strconv.FormatFloat(s, 'f', 6, 64) + "s"
}

func spanSeconds(text string) (float64, error) {
	d, err := quantity.Span(text)
	return d.Seconds(), err
}

// rangeText writes a range of temperatures, in °F where both ends are.
func rangeText(lo, hi Row) string {
	if a, ok := strings.CutSuffix(lo.Temp, "F"); ok && strings.HasSuffix(hi.Temp, "F") {
		return a + ".." + hi.Temp
	}
	return decimal(lo.TempC) + ".." + decimal(hi.TempC) + "C"
}

// from is the provenance of a curve: how it was made, and from what.
func (c *contents) from(m *Milestone) string {
	f := m.Best()
	lines := make([]int, len(c.rows))
	for i, r := range c.rows {
		lines[i] = r.Line
	}
	how := "the rows as they stand"
	if f.Form != fit.Table {
		how = fmt.Sprintf("%s by least squares in log time, rms %s", f.Form, percent(f.RMS))
		if e, n := f.Error(); n > 0 {
			how += fmt.Sprintf(", left-out rows foretold within %s", percent(e))
		}
	}
	text := fmt.Sprintf("derived: %s, %s: %s", c.sheet.file(), lineWords(lines), how)
	if m.Moved != 1 {
		text += fmt.Sprintf("; rated time moved by %+.1f %%, so that every row keeps to the %s stated", 100*(m.Moved-1), c.rows[0].States)
	}
	for _, n := range m.Notes {
		text += "; " + n
	}
	return clip(text+"; measured: "+c.sources(), maxFrom)
}

// sources lists what the rows name as theirs, each once.
func (c *contents) sources() string {
	var all []string
	for _, r := range c.rows {
		if r.Source != "" && !slices.Contains(all, r.Source) {
			all = append(all, r.Source)
		}
	}
	if all == nil {
		return "the sheet names no source"
	}
	return strings.Join(all, "; ")
}

// clip shortens a text to so many letters.
func clip(s string, letters int) string {
	if utf8.RuneCountInString(s) <= letters {
		return s
	}
	return string([]rune(s)[:letters-1]) + "…"
}

func percent(share float64) string { return fmt.Sprintf("%.1f %%", 100*share) }

// spaced writes 40C as 40 °C.
func spaced(temp string) string {
	n := len(temp) - 1
	return temp[:n] + " °" + temp[n:]
}
