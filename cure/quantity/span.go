package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/rickb777/date/period"
)

// Bounds on a shelf life. The period type keeps tenths in 16 bits: at 3277 days
// it turns negative without a word (measured), so longer spans are refused.
const (
	maxLifeYears  = 100
	maxLifeMonths = 1200
	maxLifeDays   = 3276
)

// maxSpan bounds a duration: a hundred years is longer than any cure and far
// from the end of time.Duration.
const maxSpan = 100 * 365 * 24 * time.Hour

var spanUnits = map[string]time.Duration{
	"s": time.Second, "sec": time.Second, "second": time.Second, "seconds": time.Second,
	"m": time.Minute, "min": time.Minute, "minute": time.Minute, "minutes": time.Minute,
	"h": time.Hour, "hour": time.Hour, "hours": time.Hour,
	"d": 24 * time.Hour, "day": 24 * time.Hour, "days": 24 * time.Hour,
	"w": 7 * 24 * time.Hour, "week": 7 * 24 * time.Hour, "weeks": 7 * 24 * time.Hour,
}

// Span reads a span of clock time: 90s, 30min, 1h30m, 72h, 30 days, or ISO 8601
// (PT30M, PT0,5H, P1DT6H). A day is 24 h. Months and years have no fixed length and are
// refused: see Life. The result is zero or more, to the nearest microsecond.
//
// The reading is ours because the period type of rickb777/date v1.21.1 makes
// 12 min of PT0.25H and goes negative at 4000 h (measured).
func Span(s string) (time.Duration, error) {
	t := strings.TrimSpace(s)
	if len(t) > maxLen || t == "" {
		return 0, badSpan(s)
	}
	var total float64 // seconds
	var ok bool
	if t[0] == 'P' {
		// ISO 8601 allows the decimal comma, and prefers it.
		total, ok = isoSeconds(strings.ReplaceAll(t[1:], ",", "."))
	} else {
		total, ok = unitSeconds(t)
	}
	if !ok {
		return 0, badSpan(s)
	}
	if total > maxSpan.Seconds() {
		return 0, fmt.Errorf("%s: longer than 100 years", quote(s))
	}
	return time.Duration(math.Round(total*1e6)) * time.Microsecond, nil
}

func badSpan(s string) error {
	t := strings.TrimSpace(s)
	if len(t) > maxLen {
		return fmt.Errorf("%s: too long for a span of time: write it like 90s, 30min, 72h or PT30M", quote(s))
	}
	if n := numberEnd(t); n > 0 && n == len(t) {
		return fmt.Errorf("%s: a span of time needs its unit: write it like 90s, 30min, 72h or PT30M", quote(s))
	}
	if isCalendarSpan(t) {
		return fmt.Errorf("%s: months and years have no fixed length here: write it in days or hours", quote(s))
	}
	return fmt.Errorf("%s: not a span of time: write it like 90s, 30min, 72h or PT30M", quote(s))
}

// isCalendarSpan reports whether t seems to count months or years, which Span
// refuses with a hint of its own.
func isCalendarSpan(t string) bool {
	if iso, ok := strings.CutPrefix(t, "P"); ok {
		days, _, _ := strings.Cut(iso, "T")
		return strings.ContainsAny(days, "YM")
	}
	for _, word := range strings.FieldsFunc(t, func(r rune) bool { return r < 'a' || r > 'z' }) {
		switch word {
		case "month", "months", "year", "years", "y":
			return true
		}
	}
	return false
}

// isoSeconds reads what follows the P of an ISO 8601 duration. Each designator
// may come once and in order.
func isoSeconds(t string) (float64, bool) {
	var total float64
	order := "WDTHMS"
	at, inTime, any := 0, false, false
	for t != "" {
		if t[0] == 'T' {
			if inTime {
				return 0, false
			}
			inTime, any, t = true, false, t[1:]
			continue
		}
		n := numberEnd(t)
		if n == 0 || n == len(t) {
			return 0, false
		}
		v, err := strconv.ParseFloat(t[:n], 64)
		k := strings.IndexByte(order, t[n])
		if err != nil || signed(t) || k < at || k == 2 || (k > 2) != inTime {
			return 0, false
		}
		total += v * [...]float64{7 * 86400, 86400, 0, 3600, 60, 1}[k]
		at, any, t = k+1, true, t[n+1:]
	}
	return total, any
}

func unitSeconds(t string) (float64, bool) {
	var total float64
	last := time.Duration(math.MaxInt64)
	for t != "" {
		n := numberEnd(t)
		if n == 0 {
			return 0, false
		}
		v, err := strconv.ParseFloat(t[:n], 64)
		if err != nil || signed(t) {
			return 0, false
		}
		rest := strings.TrimLeftFunc(t[n:], unicode.IsSpace)
		u := 0
		for u < len(rest) && rest[u] >= 'a' && rest[u] <= 'z' {
			u++
		}
		k, ok := spanUnits[rest[:u]]
		if !ok || k >= last {
			return 0, false
		}
		total += v * k.Seconds()
		last, t = k, strings.TrimLeftFunc(rest[u:], unicode.IsSpace)
	}
	return total, true
}

// signed reports whether t starts with a sign: a span of time has none.
func signed(t string) bool { return t[0] == '-' || t[0] == '+' }

// Life reads a shelf-life span in whole years, months, weeks or days: 9 months,
// 30 days, 2 years, P9M, P1Y6M; up to 100 years, or 3276 days. It is a calendar span: adding it to a date is
// the business of the date rules, with clamping to month end.
func Life(s string) (period.Period, error) {
	t := strings.TrimSpace(s)
	bad := fmt.Errorf("%s: not a shelf life: write it like 9 months, 30 days or P9M", quote(s))
	if len(t) > maxLen || t == "" {
		return period.Period{}, bad
	}
	if t[0] == 'P' {
		return isoLife(t, bad)
	}
	n := numberEnd(t)
	v, err := strconv.Atoi(t[:n])
	if err != nil || signed(t) || v > 9999 {
		return period.Period{}, bad
	}
	switch strings.TrimSpace(t[n:]) {
	case "day", "days", "d":
		return newLife(s, 0, 0, v)
	case "week", "weeks", "w":
		return newLife(s, 0, 0, 7*v)
	case "month", "months":
		return newLife(s, 0, v, 0)
	case "year", "years", "y":
		return newLife(s, v, 0, 0)
	case "":
		return period.Period{}, fmt.Errorf("%s: a shelf life needs its unit: write it like 9 months or 30 days", quote(s))
	}
	return period.Period{}, bad
}

func newLife(s string, years, months, days int) (period.Period, error) {
	switch {
	case years > maxLifeYears || months > maxLifeMonths:
		return period.Period{}, fmt.Errorf("%s: longer than %d years", quote(s), maxLifeYears)
	case days > maxLifeDays:
		return period.Period{}, fmt.Errorf("%s: more than %d days: write it in months or years", quote(s), maxLifeDays)
	}
	return period.NewYMD(years, months, days), nil
}

func isoLife(s string, bad error) (period.Period, error) {
	t := s[1:]   // behind the P
	var n [4]int // years, months, weeks, days
	at, any := 0, false
	for t != "" {
		i := 0
		for i < len(t) && t[i] >= '0' && t[i] <= '9' {
			i++
		}
		if i == 0 || i == len(t) || i > 4 {
			return period.Period{}, bad
		}
		k := strings.IndexByte("YMWD", t[i])
		if k < at {
			return period.Period{}, bad
		}
		n[k], _ = strconv.Atoi(t[:i]) // one to four digits: cannot fail
		at, any, t = k+1, true, t[i+1:]
	}
	if !any {
		return period.Period{}, bad
	}
	return newLife(s, n[0], n[1], 7*n[2]+n[3])
}

// FormatSpan writes a span as people say it: "45 s", "8 min", "2 h 05 min",
// "3 d 4 h". Under an hour it keeps seconds, under two days minutes, above that
// hours; what is dropped is cut off, never rounded up. That is the safe side of a
// not-after line; a not-before line is written with FormatSpanUp.
func FormatSpan(d time.Duration) string {
	s := int64(d / time.Second)
	if s < 0 {
		return "-" + formatSeconds(-s)
	}
	return formatSeconds(s)
}

// FormatSpanUp writes a span of zero or more as FormatSpan does, but counts what
// would be dropped as one more of the smallest unit shown: 3 d 4 h 01 min is
// "3 d 5 h". That is the safe side of a not-before line.
func FormatSpanUp(d time.Duration) string {
	unit := time.Hour
	switch {
	case d <= time.Hour:
		unit = time.Second
	case d <= 48*time.Hour:
		unit = time.Minute
	}
	if over := d % unit; over > 0 && d < math.MaxInt64-time.Hour {
		d += unit - over
	}
	return FormatSpan(d)
}

func formatSeconds(s int64) string {
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		if s%60 == 0 {
			return fmt.Sprintf("%d min", s/60)
		}
		return fmt.Sprintf("%d min %02d s", s/60, s%60)
	case s < 48*3600:
		if s/60%60 == 0 {
			return fmt.Sprintf("%d h", s/3600)
		}
		return fmt.Sprintf("%d h %02d min", s/3600, s/60%60)
	default:
		if s/3600%24 == 0 {
			return fmt.Sprintf("%d d", s/86400)
		}
		return fmt.Sprintf("%d d %d h", s/86400, s/3600%24)
	}
}

// FormatLife writes a shelf-life span: "9 months", "1 year 6 months", "30 days".
func FormatLife(p period.Period) string {
	var parts []string
	add := func(n int, unit string) {
		if n == 1 {
			parts = append(parts, "1 "+unit)
		} else if n != 0 {
			parts = append(parts, strconv.Itoa(n)+" "+unit+"s")
		}
	}
	add(p.Years(), "year")
	add(p.Months(), "month")
	add(p.Days(), "day")
	if parts == nil {
		return "0 days"
	}
	return strings.Join(parts, " ")
}
