package shelf

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

// Small words that the limits share.

// blank reports whether nothing is said: no text, signs alone, or a word that stands for
// nothing, as forms are filled in that must not stay empty.
func blank(s string) bool {
	s = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
	return s == "" || slices.Contains(placeholders, s)
}

// placeholders are the words that stand for nothing, their letters alone (common practice, no source).
var placeholders = []string{"na", "none", "nil", "no", "notknown", "unknown", "tbc", "tbd", "tba", "tobeconfirmed", "pending", "x", "xx", "xxx"}

// upper and lower change the first letter of a sentence.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// said is a person's own text as the end of a sentence.
func said(s string) string { return strings.TrimRight(strings.Join(strings.Fields(s), " "), ". ") }

func plural(n int, unit string) string {
	if n == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", n, unit)
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// hours writes a sum of out time: in days when it is whole days.
func hours(d time.Duration) string {
	if d > 48*time.Hour && d%(24*time.Hour) == 0 {
		return fmt.Sprintf("%d days", d/(24*time.Hour))
	}
	if d >= time.Hour && d%time.Hour == 0 {
		return fmt.Sprintf("%d h", d/time.Hour)
	}
	return quantity.FormatSpan(d)
}

// hoursOf writes how much of a sum is spent, both in one unit: "241 h of 240 h".
func hoursOf(used, most time.Duration) string {
	const day = 24 * time.Hour
	if used%day != 0 && most%time.Hour == 0 {
		return fmt.Sprintf("%s of %d h", hours(used), most/time.Hour)
	}
	if used%time.Hour == 0 && used <= 48*time.Hour && most%time.Hour == 0 {
		return fmt.Sprintf("%d h of %d h", used/time.Hour, most/time.Hour)
	}
	return hours(used) + " of " + hours(most)
}

// celsius writes a temperature: "27 °C", "26.67 °C".
func celsius(c float64) string {
	s := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", c), "0"), ".")
	if s == "-0" {
		s = "0"
	}
	return s + " °C"
}

// degrees writes a range of temperatures, or its one end.
func degrees(r quantity.Range) string {
	switch {
	case r.Lo <= noColdLimit && r.Hi == under38:
		return "less than 38 °C"
	case r.Lo <= noColdLimit:
		return celsius(r.Hi) + " or less"
	}
	return strings.TrimSuffix(celsius(r.Lo), " °C") + " to " + celsius(r.Hi)
}

func (t *telling) class() string {
	if t.it.Class == "" {
		return "its class"
	}
	return t.it.Class
}

// unknownWord is the error for a word that is none of a few.
func unknownWord(word, what string, known []string) error {
	last := len(known) - 1
	return fmt.Errorf("%q is not %s: %s or %s", word, what, strings.Join(known[:last], ", "), known[last])
}

// weeks writes a span of days in weeks where it is whole weeks.
func weeks(p period.Period) string {
	if d := p.Days(); p.Years() == 0 && p.Months() == 0 && d > 7 && d%7 == 0 {
		return plural(d/7, "week")
	}
	return quantity.FormatLife(p)
}

// list writes names in a row.
func list(names []string) string { return strings.Join(names, ", ") }
