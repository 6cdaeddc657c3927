package inputs

import (
	"reflect"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// Items and events drawn at random, field by field whatever their names are, so that a
// new field is drawn too.

// anyItem is an item that can be written.
func anyItem(t *rapid.T) (it shelf.Item) {
	drawInto(t, reflect.ValueOf(&it).Elem(), "item")
	return it
}

func anyEvent(t *rapid.T) (e shelf.Event) {
	drawInto(t, reflect.ValueOf(&e).Elem(), "event")
	return e
}

var eventKinds = []shelf.EventKind{
	shelf.EventReceived, shelf.EventStored, shelf.EventThawed, shelf.EventRefrozen, shelf.EventOpened, shelf.EventInstalled, shelf.EventTested,
	shelf.EventExtended, shelf.EventCondition, shelf.EventHeld, shelf.EventFreed, shelf.EventDrawn, shelf.EventCounted, shelf.EventScrapped,
}

var someText = rapid.OneOf(rapid.Just(""), rapid.Just(""), rapid.SampledFrom([]string{"QO-7", "A. Hentze", "<&> \u2028", `"\`, "12 °C", "😀", `\u0041`}),
	rapid.StringOfN(rapid.SampledFrom([]rune(`ab,;"\/<>&'{}[]: é🙂`+"\u2028\ufeff\ufffd")), 0, 12, -1))

// drawInto fills a value by its type; one that it does not know fails.
func drawInto(t *rapid.T, v reflect.Value, name string) {
	switch to := v.Addr().Interface().(type) {
	case *label.Date:
		*to = anyDate(t, name)
		return
	case *period.Period:
		if rapid.Bool().Draw(t, name+"?") {
			*to = period.NewYMD(rapid.IntRange(0, maxPeriod).Draw(t, name+" years"), rapid.IntRange(0, maxPeriod).Draw(t, name+" months"), rapid.IntRange(0, maxPeriod).Draw(t, name+" days"))
		}
		return
	case *time.Duration:
		*to = rapid.OneOf(rapid.Just(time.Duration(0)), rapid.Map(rapid.IntRange(0, 1e6), func(n int) time.Duration { return time.Duration(n) * time.Second }),
			rapid.Map(rapid.Int64Range(0, int64(maxSpan)), func(n int64) time.Duration { return time.Duration(n) })).Draw(t, name)
		return
	case *shelf.Condition:
		*to = shelf.Condition(rapid.IntRange(0, 31).Draw(t, name))
		return
	case *shelf.EventKind:
		*to = rapid.SampledFrom(eventKinds).Draw(t, name)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			drawInto(t, v.Field(i), name+"."+v.Type().Field(i).Name)
		}
	case reflect.Slice:
		n := rapid.SampledFrom([]int{0, 0, 1, 3}).Draw(t, name+" n")
		for range n {
			one := reflect.New(v.Type().Elem()).Elem()
			if d, ok := one.Addr().Interface().(*label.Date); ok {
				*d = someDate(t, name) // a list has no dates that are none
			} else {
				drawInto(t, one, name)
			}
			v.Set(reflect.Append(v, one))
		}
	case reflect.String:
		v.SetString(someText.Draw(t, name))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, name))
	case reflect.Int:
		v.SetInt(int64(rapid.IntRange(0, maxThaws).Draw(t, name)))
	case reflect.Float64:
		v.SetFloat(rapid.OneOf(rapid.SampledFrom([]float64{0, 4, 26.67, -40, minC, maxC, 5e-324, 1e-7, 0.1 + 0.2}), rapid.Float64Range(minC, maxC)).Draw(t, name))
	default:
		require.Fail(t, "a field of a type that is not drawn", "%s is a %s", name, v.Type())
	}
}

func anyDate(t *rapid.T, name string) label.Date {
	if rapid.Bool().Draw(t, name+"?") {
		return label.Date{}
	}
	return someDate(t, name)
}

// someDate is a date of any precision from 1900 to 2199, printed in the canonical form.
func someDate(t *rapid.T, name string) label.Date {
	// The last days of December may lie in week 1 of 2200.
	first, last := date.New(minYear, time.January, 1), date.New(maxYear, time.December, 28)
	d := first.Add(date.PeriodOfDays(rapid.IntRange(0, int(last.Sub(first))).Draw(t, name)))
	form := ""
	switch rapid.SampledFrom([]label.Precision{label.Minute, label.Day, label.Day, label.Week, label.Month, label.Quarter}).Draw(t, name+" as") {
	case label.Minute:
		return label.At(d, rapid.IntRange(0, 24*60-1).Draw(t, name+" minute"))
	case label.Day:
		return label.DayOf(d)
	case label.Month:
		return label.MonthOf(d)
	case label.Week:
		y, w := d.ISOWeek()
		form = time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC).Format("2006") + "-W" + string([]byte{byte('0' + w/10), byte('0' + w%10)})
	case label.Quarter:
		form = string([]byte{byte('1' + (int(d.Month())-1)/3)}) + "Q" + d.Format("2006")
	}
	read, err := label.Parse(form, date.New(2027, time.March, 8))
	require.NoError(t, err)
	return read
}
