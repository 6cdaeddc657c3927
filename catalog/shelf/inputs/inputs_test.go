package inputs

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

var march8 = label.DayOf(date.New(2027, time.March, 8))

// full is an item with something under every key.
var full = shelf.Item{
	Batch: "S-2207", Container: "2", Class: "polysulfide-b-2", Code: "D", Standard: shelf.StandardISO2230, Polymer: "NBR",
	DOM: march8, Expiry: label.MonthOf(date.New(2027, time.October, 3)), Inspect: march8, BestBefore: march8,
	Parts:    []shelf.Part{{Name: "base", Lot: "A", Kit: "S-2207", From: "7", DOM: march8, Expiry: march8}, {}},
	Received: shelf.Receipt{On: march8, NoPapers: true},
	Opened:   label.At(date.New(2027, time.March, 5), 8*60), Installed: march8, Thawed: []label.Date{march8, march8}, Refrozen: []label.Date{march8},
	ThawCount: 3, OutUsed: 90*time.Minute + 250*time.Millisecond, OutAsOf: march8,
	Tests: []shelf.Test{{On: march8, Passed: true, By: "A. Hentze", Authority: "quality office", Reference: "QO-7", Results: `Shore A "48" at <72 h`,
		To: march8, Span: period.NewYMD(0, 18, 14), Given: march8}},
	Storage: []shelf.Storage{{Where: "store", From: march8, To: march8, MinC: -0.5, MaxC: 26.67, Measured: true, HotFrom: march8, Spent: time.Hour,
		MeanKineticC: 21.25, Readings: 100, Notes: []string{"a gap", ""}}},
	Condition: shelf.Damaged | shelf.LabelGone, ConditionOn: march8, Held: "left on the ramp", HeldOn: march8,
	Freed:    []shelf.Freed{{Limit: shelf.LimitHeld, On: march8, By: "A", Authority: "B", Reference: "C", Why: "D"}},
	Scrapped: `leaked \ twice`,
}

// The form is fixed: registers hash it.
const fullText = `{"batch":"S-2207","container":"2","class":"polysulfide-b-2","code":"D","standard":"iso-2230","polymer":"NBR",` +
	`"dom":"2027-03-08","expiry":"2027-10","inspect":"2027-03-08","best-before":"2027-03-08",` +
	`"parts":[{"name":"base","lot":"A","kit":"S-2207","from":"7","dom":"2027-03-08","expiry":"2027-03-08"},{}],` +
	`"received":{"on":"2027-03-08","no-papers":true},"opened":"2027-03-05T08:00","installed":"2027-03-08",` +
	`"thawed":["2027-03-08","2027-03-08"],"refrozen":["2027-03-08"],"thaw-count":3,"out-used-s":5400.25,"out-as-of":"2027-03-08",` +
	`"tests":[{"on":"2027-03-08","passed":true,"by":"A. Hentze","authority":"quality office","reference":"QO-7","results":"Shore A \"48\" at <72 h",` +
	`"to":"2027-03-08","span":"P18M14D","given":"2027-03-08"}],` +
	`"storage":[{"where":"store","from":"2027-03-08","to":"2027-03-08","measured":true,"min-c":-0.5,"max-c":26.67,"hot-from":"2027-03-08",` +
	`"spent-s":3600,"mean-kinetic-c":21.25,"readings":100,"notes":["a gap",""]}],` +
	`"condition":["damaged","label-gone"],"condition-on":"2027-03-08","held":"left on the ramp","held-on":"2027-03-08",` +
	`"freed":[{"limit":"held","on":"2027-03-08","by":"A","authority":"B","reference":"C","why":"D"}],"scrapped":"leaked \\ twice"}`

func TestTheFormOfAnItemIsFixed(t *testing.T) {
	got, err := Encode(full)
	require.NoError(t, err)
	assert.Equal(t, fullText, string(got))
	back, err := Decode(got)
	require.NoError(t, err)
	assert.Equal(t, full, back)

	got, err = Encode(shelf.Item{Thawed: []label.Date{}, Tests: []shelf.Test{}})
	require.NoError(t, err)
	assert.Equal(t, "{}", string(got))
}

func TestTheFormOfAnEventIsFixed(t *testing.T) {
	e := shelf.Event{Kind: shelf.EventTested, When: march8, By: "A. Hentze", Authority: "quality office", Reference: "QO-7", Note: "n", NoPapers: true,
		Storage: shelf.Storage{MaxC: 31}, Passed: true, Results: "Shore A 48", To: march8, Span: period.NewYMD(0, 0, 35), Limit: shelf.LimitHeld, Condition: shelf.Cloudy}
	const text = `{"kind":"tested","when":"2027-03-08","by":"A. Hentze","authority":"quality office","reference":"QO-7","note":"n","no-papers":true,` +
		`"storage":{"max-c":31},"passed":true,"results":"Shore A 48","to":"2027-03-08","span":"P35D","limit":"held","condition":["cloudy"]}`
	got, err := EncodeEvent(e)
	require.NoError(t, err)
	assert.Equal(t, text, string(got))
	back, err := DecodeEvent(got)
	require.NoError(t, err)
	assert.Equal(t, e, back)

	got, err = EncodeEvent(shelf.Event{Kind: shelf.EventDrawn})
	require.NoError(t, err)
	assert.Equal(t, `{"kind":"drawn"}`, string(got))
}

// A field that is added to the types of package shelf fails here until it has a key.
func TestEveryFieldIsKept(t *testing.T) {
	each(t, reflect.TypeFor[shelf.Item](), nil, func(path string, set func(v reflect.Value)) {
		var it shelf.Item
		set(reflect.ValueOf(&it).Elem())
		text, err := Encode(it)
		require.NoError(t, err, path)
		require.NotEqual(t, "{}", string(text), path)
		back, err := Decode(text)
		require.NoError(t, err, path)
		require.Equal(t, it, back, path)
	})
	each(t, reflect.TypeFor[shelf.Event](), nil, func(path string, set func(v reflect.Value)) {
		e := shelf.Event{Kind: shelf.EventCounted}
		set(reflect.ValueOf(&e).Elem())
		text, err := EncodeEvent(e)
		require.NoError(t, err, path)
		require.NotEqual(t, `{"kind":"counted"}`, string(text), path)
		back, err := DecodeEvent(text)
		require.NoError(t, err, path)
		require.Equal(t, e, back, path)
	})
}

// each goes through all fields of a type, down to the last; set fills that one alone.
func each(t *testing.T, of reflect.Type, index []int, do func(path string, set func(v reflect.Value))) {
	for i := range of.NumField() {
		f := of.Field(i)
		at := append(append([]int(nil), index...), i)
		path := of.Name() + "." + f.Name
		if v := sample(f.Type); v.IsValid() {
			do(path, func(in reflect.Value) { in.FieldByIndex(at).Set(v) })
			continue
		}
		switch {
		case f.Type.Kind() == reflect.Struct:
			each(t, f.Type, at, do)
		case f.Type.Kind() == reflect.Slice && sample(f.Type.Elem()).IsValid():
			do(path, func(in reflect.Value) { s := in.FieldByIndex(at); s.Set(reflect.Append(s, sample(f.Type.Elem()))) })
		case f.Type.Kind() == reflect.Slice && f.Type.Elem().Kind() == reflect.Struct:
			each(t, f.Type.Elem(), nil, func(inner string, set func(v reflect.Value)) {
				do(path+"."+inner, func(in reflect.Value) {
					one := reflect.New(f.Type.Elem()).Elem()
					set(one)
					in.FieldByIndex(at).Set(reflect.Append(in.FieldByIndex(at), one))
				})
			})
			continue
		default:
			require.Fail(t, "a field of a new type", "%s is a %s: give it a key in fields.go and a sample here", path, f.Type)
		}
	}
}

// sample is a value of a type that is not zero, or no value.
func sample(of reflect.Type) reflect.Value {
	for _, v := range []any{"x", shelf.Name("held"), shelf.EventReceived, shelf.StandardISO2230, true, 7, 1.5, time.Minute, shelf.Cloudy, march8, period.NewYMD(1, 2, 3)} {
		if reflect.TypeOf(v) == of {
			return reflect.ValueOf(v)
		}
	}
	return reflect.Value{}
}

func TestWhatCannotBeReadIsOneLineThatNamesTheKey(t *testing.T) {
	long := strings.Repeat("x", MaxText+1)
	for _, c := range []struct{ text, want string }{
		{``, `an object {…} is wanted here, not: the text ends`},
		{`[]`, `an object {…} is wanted here, not: a list`},
		{`null`, `an object {…} is wanted here, not: null`},
		{`{} x`, `something stands behind the closing brace: "x"`},
		{`{"expirry":"2027"}`, `there is no key "expirry": is it expiry?`},
		{`{"qq":1}`, `there is no key "qq": the keys are batch, container, class, code`},
		{`{"Batch":"S"}`, `there is no key "Batch": is it batch?`},
		{`{"batch":"S","batch":"S"}`, `batch: is there twice`},
		{`{"batch":5}`, `batch: a text in quotes is wanted here, not: a number`},
		{`{"batch":null}`, `batch: a text in quotes is wanted here, not: null`},
		{`{"batch":"a` + "\x01" + `"}`, `batch: a control character in "a\x01": take it out`},
		{`{"batch":"a\u0000"}`, `batch: a control character in "a\x00": take it out`},
		{`{"batch":"a\u0085"}`, `batch: a control character in "a\u0085": take it out`},
		{`{"batch":"\ud800"}`, `batch: an escape that JSON does not know in "\\ud800\"}"`},
		{`{"batch":"\q"}`, `batch: an escape that JSON does not know in "\\q\"}"`},
		{`{"batch":"` + "\xff" + `"}`, `batch: not UTF-8 text: "\xff"`},
		{`{"batch":"` + long + `"}`, `batch: longer than 4096 bytes`},
		{`{"batch":"S}`, `batch: the quotes do not close: "S}"`},
		{`{"batch":"S"`, `a comma or } is wanted here, not: the text ends`},
		{`{"batch" "S"}`, `batch: a colon is wanted here, not: a text`},
		{`{"batch":"S",}`, `a text in quotes is wanted here, not: "}"`},
		{`{"expiry":"2027-02-30"}`, `expiry: "2027-02-30": no day 30 in February 2027: it has 28 days`},
		{`{"expiry":"2027-13"}`, `expiry: "2027-13": no month 13: a year has months 1 to 12`},
		{`{"expiry":"1899-12-31"}`, `expiry: "1899-12-31": the year 1899 lies outside 1900 to 2199`},
		{`{"expiry":"2027-W53"}`, `expiry: "2027-W53": no week 53 in 2027: write an ISO week like 2026-W53`},
		{`{"expiry":"5Q2027"}`, `expiry: "5Q2027": no quarter 5: a year has quarters 1 to 4`},
		{`{"expiry":"2027-03-08T24:00"}`, `expiry: "2027-03-08T24:00": no hour 24: a day runs from 00:00 to 23:59`},
		{`{"expiry":"05/27"}`, `expiry: "05/27" is no date here: write it like 2027-06-30, 2027-06-30T08:00, 2026-W53, 2027-06 or 2Q2027`},
		{`{"expiry":""}`, `expiry: "" is no date here: write it like 2027-06-30, 2027-06-30T08:00, 2026-W53, 2027-06 or 2Q2027`},
		{`{"tests":[{},{"on":5}]}`, `tests[1].on: a text in quotes is wanted here, not: a number`},
		{`{"tests":[{"span":"P1W"}]}`, `tests[0].span: "P1W": a span in whole years, months and days is wanted, like P18M, P1Y6M or P35D, with no more than 3276 of each`},
		{`{"tests":[{"span":"P4000D"}]}`, `tests[0].span: "P4000D": a span in whole years`},
		{`{"tests":[{"span":"P1D1Y"}]}`, `tests[0].span: "P1D1Y": a span in whole years`},
		{`{"tests":{}}`, `tests: a list […] is wanted here, not: an object`},
		{`{"tests":[{} {}]}`, `tests: a comma or ] is wanted here, not: an object`},
		{`{"thawed":["2027-03-08",""]}`, `thawed[1]: "" is no date here`},
		{`{"received":{"no-papers":"yes"}}`, `received.no-papers: true or false is wanted here, not: a text`},
		{`{"thaw-count":1.5}`, `thaw-count: "1.5": a whole number from 0 to 10000 is wanted`},
		{`{"thaw-count":-1}`, `thaw-count: "-1": a whole number from 0 to 10000 is wanted`},
		{`{"thaw-count":01}`, `thaw-count: "01" is not a number`},
		{`{"thaw-count":true}`, `thaw-count: a number is wanted here, not: true`},
		{`{"out-used-s":-1}`, `out-used-s: "-1": seconds are wanted, from 0 to 100 years of them, like 5400 or 0.25`},
		{`{"out-used-s":-0}`, `out-used-s: "-0": seconds are wanted`},
		{`{"out-used-s":1e3}`, `out-used-s: "1e3": seconds are wanted`},
		{`{"out-used-s":3153600000.1}`, `out-used-s: "3153600000.1": seconds are wanted`},
		{`{"storage":[{"max-c":1e999}]}`, `storage[0].max-c: "1e999": a temperature from -273.15 to 1000 °C is wanted`},
		{`{"storage":[{"max-c":-300}]}`, `storage[0].max-c: "-300": a temperature from -273.15 to 1000 °C is wanted`},
		{`{"storage":[{"max-c":NaN}]}`, `storage[0].max-c: a number is wanted here, not: "NaN}]}"`},
		{`{"storage":[{"notes":["",7]}]}`, `storage[0].notes[1]: a text in quotes is wanted here, not: a number`},
		{`{"condition":["wet"]}`, `condition[0]: "wet" is not a condition: damaged, cloudy, skinned, separated or label-gone`},
		{`{"condition":["cloudy","cloudy"]}`, `condition[1]: "cloudy" is there twice`},
		{`{"thawed":[` + strings.Repeat(`"2027-03-08",`, MaxList) + `"2027-03-08"]}`, `thawed: more than 10000 entries`},
		{`{"held":"` + strings.Repeat(" ", MaxBytes) + `"}`, `longer than 1048576 bytes in all`},
	} {
		it, err := Decode([]byte(c.text))
		require.Error(t, err, c.text)
		assert.True(t, strings.HasPrefix(err.Error(), c.want), "%.60s: %s", c.text, err)
		assert.NotContains(t, err.Error(), "\n")
		assert.Equal(t, shelf.Item{}, it)
	}
	for _, c := range []struct{ text, want string }{
		{`{}`, `kind: "" is not an event: received, stored`},
		{`{"kind":"lost"}`, `kind: "lost" is not an event: received, stored`},
		{`{"kind":"stored","storage":{"readings":-1}}`, `storage.readings: "-1": a whole number from 0 to 1000000000 is wanted`},
	} {
		_, err := DecodeEvent([]byte(c.text))
		require.Error(t, err, c.text)
		assert.True(t, strings.HasPrefix(err.Error(), c.want), "%s: %s", c.text, err)
	}
}

func TestWhatCouldNotBeReadBackIsNotWritten(t *testing.T) {
	oneDigit, err := label.Read("7067", label.How{Today: march8.First(), Order: label.YearDay})
	require.NoError(t, err)
	for _, c := range []struct {
		it   shelf.Item
		want string
	}{
		{shelf.Item{Batch: "a\nb"}, `batch: a control character in "a\nb": take it out`},
		{shelf.Item{Batch: "a\xff"}, `batch: not UTF-8 text: "a\xff"`},
		{shelf.Item{Held: strings.Repeat("é", MaxText)}, `held: longer than 4096 bytes`},
		{shelf.Item{Expiry: label.DayOf(date.New(2200, 1, 1))}, `expiry: the year 2200 lies outside 1900 to 2199`},
		{shelf.Item{DOM: oneDigit}, `dom: "7067": a year of one digit does not say its decade: write it like 2027-03-08, if it is that year`},
		{shelf.Item{Thawed: []label.Date{march8, {}}}, `thawed[1]: no date: take it out of the list`},
		{shelf.Item{ThawCount: -1}, `thaw-count: -1 lies outside 0 to 10000`},
		{shelf.Item{OutUsed: -time.Second}, `out-used-s: -1s lies outside 0 to 100 years`},
		{shelf.Item{Condition: 32}, `condition: a condition that has no name cannot be kept: put it in a note`},
		{shelf.Item{Storage: []shelf.Storage{{}, {MaxC: math.NaN()}}}, `storage[1].max-c: NaN °C lies outside -273.15 to 1000 °C`},
		{shelf.Item{Storage: []shelf.Storage{{MinC: math.Inf(-1)}}}, `storage[0].min-c: -Inf °C lies outside -273.15 to 1000 °C`},
		{shelf.Item{Storage: []shelf.Storage{{Notes: []string{"", "\t"}}}}, `storage[0].notes[1]: a control character in "\t": take it out`},
		{shelf.Item{Tests: []shelf.Test{{Span: period.NewYMD(0, -1, 0)}}}, `tests[0].span: -P1M: only whole years, months and days can be kept, none below zero`},
		{shelf.Item{Tests: []shelf.Test{{Span: period.NewHMS(5, 0, 0)}}}, `tests[0].span: PT5H: only whole years, months and days can be kept, none below zero`},
		{shelf.Item{Tests: []shelf.Test{{Span: period.MustParse("P0.5M")}}}, `tests[0].span: P0.5M: only whole years, months and days can be kept, none below zero`},
		{shelf.Item{Received: shelf.Receipt{On: label.DayOf(date.New(1899, 1, 1))}}, `received.on: the year 1899 lies outside 1900 to 2199`},
		{shelf.Item{Parts: make([]shelf.Part, MaxList+1)}, `parts[10000]: more than 10000 entries`},
		{shelf.Item{Storage: []shelf.Storage{{Notes: slicesOf(strings.Repeat("x", MaxText), 300)}}}, `longer than 1048576 bytes in all`},
	} {
		before := []byte("before")
		got, err := Append(before, &c.it)
		assert.EqualError(t, err, c.want)
		assert.Equal(t, before, got)
	}
	_, err = EncodeEvent(shelf.Event{Kind: "lost"})
	assert.ErrorContains(t, err, `kind: "lost" is not an event`)
}

func slicesOf(s string, n int) (all []string) {
	for range n {
		all = append(all, s)
	}
	return all
}
