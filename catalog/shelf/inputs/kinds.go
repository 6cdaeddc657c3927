package inputs

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/rickb777/date/period"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// What stands under a key: each kind is written and read in one place, so that both
// keep to the same range.

// kind is how a value is written and read.
type kind[V any] struct {
	zero func(v *V) bool
	put  func(w *writer, v *V)
	get  func(r *reader, v *V) *fault
}

// field is a key of an object with the value under it.
type field[T any] struct {
	key string
	put func(w *writer, from *T)
	get func(r *reader, to *T) *fault
}

// keyed is a value of some kind under a key, left out where it is zero.
func keyed[T, V any](key string, k kind[V], in func(*T) *V) field[T] {
	return field[T]{
		key: key,
		put: func(w *writer, from *T) {
			if v := in(from); !k.zero(v) {
				w.key(key)
				k.put(w, v)
				w.within(key)
			}
		},
		get: func(r *reader, to *T) *fault { return k.get(r, in(to)) },
	}
}

func text[T any, S ~string](key string, in func(*T) *S) field[T] {
	return keyed(key, kind[S]{
		zero: func(v *S) bool { return *v == "" },
		put:  func(w *writer, v *S) { w.text(string(*v)) },
		get: func(r *reader, v *S) *fault {
			s, wrong := r.text()
			*v = S(s)
			return wrong
		},
	}, in)
}

var textKind = kind[string]{
	zero: func(v *string) bool { return *v == "" },
	put:  func(w *writer, v *string) { w.text(*v) },
	get: func(r *reader, v *string) (wrong *fault) {
		*v, wrong = r.text()
		return wrong
	},
}

func truth[T any](key string, in func(*T) *bool) field[T] {
	return keyed(key, kind[bool]{
		zero: func(v *bool) bool { return !*v },
		put:  func(w *writer, v *bool) { w.b = strconv.AppendBool(w.b, *v) },
		get: func(r *reader, v *bool) (wrong *fault) {
			*v, wrong = r.truth()
			return wrong
		},
	}, in)
}

// The years that label.Read reads.
const minYear, maxYear = 1900, 2199

const dateForms = "2027-06-30, 2027-06-30T08:00, 2026-W53, 2027-06 or 2Q2027"

var dateKind = kind[label.Date]{
	zero: func(v *label.Date) bool { return v.IsZero() },
	put: func(w *writer, v *label.Date) {
		y := v.First().Year()
		if v.Precision() == label.Week {
			y, _ = v.First().ISOWeek()
		}
		switch {
		case v.IsZero():
			w.fail("no date: take it out of the list")
		case y < minYear || y > maxYear:
			w.fail(fmt.Sprintf("the year %d lies outside %d to %d", y, minYear, maxYear))
		case v.YearDigits() == 1:
			w.fail(fmt.Sprintf("%s: a year of one digit does not say its decade: write it like %s, if it is that year", quote(v.Printed()), v.Canonical()))
		default:
			w.date(*v)
		}
	},
	get: func(r *reader, v *label.Date) *fault {
		s, wrong := r.text()
		switch {
		case wrong != nil:
			return wrong
		case !canonicalForm(s):
			return faultf("%s is no date here: write it like %s", quote(s), dateForms)
		}
		d, err := label.Read(s, label.How{Clock: true})
		if err != nil {
			return faultf("%w", err)
		}
		*v = d
		return nil
	},
}

func dated[T any](key string, in func(*T) *label.Date) field[T] { return keyed(key, dateKind, in) }

// canonicalForm reports whether a text has one of the forms of label.Date.Canonical:
// each is read in one way only.
func canonicalForm(s string) bool {
	for _, form := range [...]string{"dddd-dd-dd", "dddd-dd-ddTdd:dd", "dddd-dd", "dddd-Wdd", "dQdddd"} {
		if len(s) == len(form) && hasForm(s, form) {
			return true
		}
	}
	return false
}

func hasForm(s, form string) bool {
	for i := range len(s) {
		if digit := s[i] >= '0' && s[i] <= '9'; digit != (form[i] == 'd') || !digit && s[i] != form[i] {
			return false
		}
	}
	return true
}

// list is a list of values of one kind, none of them zero unless the kind can write it.
func list[T, V any](key string, k kind[V], in func(*T) *[]V) field[T] {
	return keyed(key, kind[[]V]{
		zero: func(v *[]V) bool { return len(*v) == 0 },
		put: func(w *writer, v *[]V) {
			w.open('[')
			for i := range *v {
				w.comma('[')
				if k.put(w, &(*v)[i]); i >= MaxList {
					w.fail(fmt.Sprintf("more than %d entries", MaxList))
				}
				if w.wrong != nil {
					w.wrong.at(i)
					return
				}
			}
			w.b = append(w.b, ']')
		},
		get: func(r *reader, v *[]V) *fault { return getList(r, k, v) },
	}, in)
}

func getList[V any](r *reader, k kind[V], v *[]V) *fault {
	if wrong := r.begin('['); wrong != nil {
		return wrong
	}
	var all []V
	for more := !r.ends(']'); more; {
		if len(all) == MaxList {
			return faultf("more than %d entries", MaxList)
		}
		all = append(all, *new(V))
		if wrong := k.get(r, &all[len(all)-1]); wrong != nil {
			return wrong.at(len(all) - 1)
		}
		var wrong *fault
		if more, wrong = r.goesOn(']'); wrong != nil {
			return wrong
		}
	}
	*v = all
	return nil
}

func objectKind[V any](fields []field[V]) kind[V] {
	return kind[V]{
		put: func(w *writer, v *V) { putObject(w, fields, v) },
		get: func(r *reader, v *V) *fault { return getObject(r, fields, v) },
	}
}

func objects[T, V any](key string, fields []field[V], in func(*T) *[]V) field[T] {
	return list(key, objectKind(fields), in)
}

// object is an object under a key, left out where nothing would stand in it.
func object[T, V any](key string, fields []field[V], in func(*T) *V) field[T] {
	return field[T]{
		key: key,
		put: func(w *writer, from *T) {
			before := len(w.b)
			w.key(key)
			start := len(w.b)
			if putObject(w, fields, in(from)); w.wrong == nil && len(w.b) == start+len("{}") {
				w.b = w.b[:before]
			}
			w.within(key)
		},
		get: func(r *reader, to *T) *fault { return getObject(r, fields, in(to)) },
	}
}

// count is a whole number from 0 on.
func count[T any](key string, most int, in func(*T) *int) field[T] {
	return keyed(key, kind[int]{
		zero: func(v *int) bool { return *v == 0 },
		put: func(w *writer, v *int) {
			if *v < 0 || *v > most {
				w.fail(fmt.Sprintf("%d lies outside 0 to %d", *v, most))
			}
			w.b = strconv.AppendInt(w.b, int64(*v), 10)
		},
		get: func(r *reader, v *int) *fault {
			s, wrong := r.number()
			if wrong != nil {
				return wrong
			}
			n, err := strconv.Atoi(s)
			if err != nil || n < 0 || n > most {
				return faultf("%s: a whole number from 0 to %d is wanted", quote(s), most)
			}
			*v = n
			return nil
		},
	}, in)
}

// celsius is a temperature.
func celsius[T any](key string, in func(*T) *float64) field[T] {
	inRange := func(c float64) bool { return c >= minC && c <= maxC } // and a number
	return keyed(key, kind[float64]{
		zero: func(v *float64) bool { return *v == 0 },
		put: func(w *writer, v *float64) {
			if !inRange(*v) {
				w.fail(fmt.Sprintf("%g °C lies outside %g to %d °C", *v, minC, maxC))
			}
			form := byte('f')
			if math.Abs(*v) < 1e-6 {
				form = 'e'
			}
			w.b = strconv.AppendFloat(w.b, *v, form, -1, 64)
		},
		get: func(r *reader, v *float64) *fault {
			s, wrong := r.number()
			if wrong != nil {
				return wrong
			}
			c, err := strconv.ParseFloat(s, 64)
			if err != nil || !inRange(c) {
				return faultf("%s: a temperature from %g to %d °C is wanted", quote(s), minC, maxC)
			}
			*v = c + 0 // no -0
			return nil
		},
	}, in)
}

// seconds is a span of clock time in seconds, with decimals to the nanosecond.
func seconds[T any](key string, in func(*T) *time.Duration) field[T] {
	return keyed(key, kind[time.Duration]{
		zero: func(v *time.Duration) bool { return *v == 0 },
		put: func(w *writer, v *time.Duration) {
			if *v < 0 || *v > maxSpan {
				w.fail(fmt.Sprintf("%s lies outside 0 to 100 years", *v))
			}
			w.b = strconv.AppendInt(w.b, int64(*v/time.Second), 10)
			if part := int64(*v % time.Second); part > 0 {
				w.b = append(w.b, '.')
				for unit := int64(1e8); part > 0; unit /= 10 {
					w.b = append(w.b, byte('0'+part/unit))
					part %= unit
				}
			}
		},
		get: func(r *reader, v *time.Duration) *fault {
			s, wrong := r.number()
			if wrong != nil {
				return wrong
			}
			d, ok := readSeconds(s)
			if !ok {
				return faultf("%s: seconds are wanted, from 0 to 100 years of them, like 5400 or 0.25", quote(s))
			}
			*v = d
			return nil
		},
	}, in)
}

func readSeconds(s string) (time.Duration, bool) {
	whole, decimals, _ := strings.Cut(s, ".")
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || whole[0] == '-' || n > int64(maxSpan/time.Second) || len(decimals) > 9 {
		return 0, false
	}
	part := int64(0)
	for i := range 9 {
		part *= 10
		if i < len(decimals) {
			if decimals[i] < '0' || decimals[i] > '9' {
				return 0, false
			}
			part += int64(decimals[i] - '0')
		}
	}
	d := time.Duration(n)*time.Second + time.Duration(part)
	return d, d <= maxSpan
}

// maxPeriod is how many years, months or days a period holds: more turn into a negative
// one (rickb777/date v1.21.1, measured).
const maxPeriod = 3276

// life is a span of shelf life in whole years, months and days. It is written and read
// here, since the library's own text makes weeks of days and its reader years of months.
func life[T any](key string, in func(*T) *period.Period) field[T] {
	return keyed(key, kind[period.Period]{
		zero: func(v *period.Period) bool { return v.IsZero() },
		put: func(w *writer, v *period.Period) {
			y, m, d := v.Years(), v.Months(), v.Days()
			if y < 0 || m < 0 || d < 0 || *v != period.NewYMD(y, m, d) {
				w.fail(fmt.Sprintf("%s: only whole years, months and days can be kept, none below zero", v))
			}
			w.b = append(w.b, '"', 'P')
			for i, n := range [...]int{y, m, d} {
				if n > 0 {
					w.b = append(strconv.AppendInt(w.b, int64(n), 10), "YMD"[i])
				}
			}
			w.b = append(w.b, '"')
		},
		get: func(r *reader, v *period.Period) *fault {
			s, wrong := r.text()
			if wrong != nil {
				return wrong
			}
			p, ok := readPeriod(s)
			if !ok {
				return faultf("%s: a span in whole years, months and days is wanted, like P18M, P1Y6M or P35D, with no more than %d of each", quote(s), maxPeriod)
			}
			*v = p
			return nil
		},
	}, in)
}

func readPeriod(s string) (period.Period, bool) {
	if len(s) < len("P1D") || s[0] != 'P' {
		return period.Period{}, false
	}
	var n [3]int
	at, value, digits := 0, 0, 0
	for i := 1; i < len(s); i++ {
		if c := s[i]; c >= '0' && c <= '9' {
			if value, digits = 10*value+int(c-'0'), digits+1; value > maxPeriod {
				return period.Period{}, false
			}
			continue
		}
		unit := strings.IndexByte("YMD", s[i])
		if unit < at || digits == 0 {
			return period.Period{}, false
		}
		n[unit], at, value, digits = value, unit+1, 0, 0
	}
	return period.NewYMD(n[0], n[1], n[2]), digits == 0
}

// conditionWords are the words of the conditions by their bits, "" where there is none.
var conditionWords = func() (words [16]string) {
	for i := range words {
		words[i] = shelf.Condition(1 << i).String()
	}
	return words
}()

// conditions is a list of words, in the order of their bits.
func conditions[T any](key string, in func(*T) *shelf.Condition) field[T] {
	return keyed(key, kind[shelf.Condition]{
		zero: func(v *shelf.Condition) bool { return *v == 0 },
		put: func(w *writer, v *shelf.Condition) {
			w.open('[')
			for i, word := range conditionWords {
				if *v&(1<<i) == 0 {
					continue
				}
				if word == "" {
					w.fail("a condition that has no name cannot be kept: put it in a note")
				}
				w.comma('[')
				w.text(word)
			}
			w.b = append(w.b, ']')
		},
		get: func(r *reader, v *shelf.Condition) *fault {
			var words []string
			if wrong := getList(r, textKind, &words); wrong != nil {
				return wrong
			}
			for i, word := range words {
				c, err := shelf.ParseCondition(word)
				switch {
				case err != nil:
					return faultf("%s is not a condition: damaged, cloudy, skinned, separated or label-gone", quote(word)).at(i)
				case *v&c != 0:
					return faultf("%s is there twice", quote(word)).at(i)
				}
				*v |= c
			}
			return nil
		},
	}, in)
}

// quote shows what was written: shortened, control characters made visible.
func quote(s string) string {
	const most = 40
	if len(s) > most {
		cut := most
		for cut > 0 && !utf8.RuneStart(s[cut]) {
			cut--
		}
		s = s[:cut] + "…"
	}
	return strconv.Quote(s)
}
