package show

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

var today = date.New(2027, time.March, 8)

func written(t testing.TB, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

// within80 checks that every line fits a page of 80 columns; a table line is
// allowed the whole of it.
func within80(t testing.TB, text string) {
	t.Helper()
	for _, l := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, utf8.RuneCountInString(l), 80, l)
		assert.Equal(t, strings.TrimRight(l, " "), l, "no blanks at the end")
	}
}

func decoded(t testing.TB, text string) map[string]any {
	t.Helper()
	var v map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &v))
	return v
}

func keys(m any) []string {
	var k []string
	for name := range m.(map[string]any) {
		k = append(k, name)
	}
	return k
}

func rows(t testing.TB, text string) [][]string {
	t.Helper()
	r, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	return r
}

func class(t testing.TB, id string) *catalog.Class {
	t.Helper()
	c, err := catalog.Builtin().Find(id)
	require.NoError(t, err)
	return &c
}

func times(t testing.TB, id string, tempC, rh float64) *desk.Times {
	t.Helper()
	z, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	a, err := desk.AskTimes(desk.TimesQuestion{
		Class: class(t, id), Air: cure.Air{TempC: tempC, RH: rh}, RHSaid: true, PotC: math.NaN(), PartC: math.NaN(),
		Extrapolate: true, From: time.Date(2027, 3, 8, 7, 0, 0, 0, z),
	})
	require.NoError(t, err)
	return a
}

func TestQuantitiesInBothUnits(t *testing.T) {
	assert.Equal(t, "18 °C", SI.Temp(18))
	assert.Equal(t, "64.4 °F", US.Temp(18))
	assert.Equal(t, "10 °C", SI.Step(10))
	assert.Equal(t, "18 °F", US.Step(10), "an interval of 10 °C is 18 °F")
	assert.Equal(t, "-0.4 °F", US.Temp(-18))
	assert.Equal(t, "3 mm", SI.Length(3))
	assert.Equal(t, "0.118 in", US.Length(3))
	assert.Equal(t, "up to 27 °C", SI.Temps(quantity.Range{Lo: catalog.NoLowerBound, Hi: 27}))
	assert.Equal(t, "60.8 to 89.6 °F", US.Temps(quantity.Range{Lo: 16, Hi: 32}))
}

func TestSentencesOfThePhysicsComeInTheReadersUnits(t *testing.T) {
	for text, want := range map[string][2]string{
		"60 C is outside the curve's range, -1 to 49 C": {"60 °C is outside the curve's range, -1 to 49 °C", "140 °F is outside the curve's range, 30.2 to 120.2 °F"},
		"less than 3 degrees C above":                   {"less than 3 °C above", "less than 5.4 °F above"},
		"taken 2 C colder, 2 C warmer":                  {"taken 2 °C colder, 2 °C warmer", "taken 3.6 °F colder, 3.6 °F warmer"},
		"It lay in 17.5 °C to 41 °C":                    {"It lay in 17.5 °C to 41 °C", "It lay in 63.5 to 105.8 °F"},
		"read 26.67 °C":                                 {"read 26.67 °C", "read 80 °F"},
		"kept in 4 to 35 °C":                            {"kept in 4 to 35 °C", "kept in 39.2 to 95 °F"},
		"read 41 °C; 3 °C above it":                     {"read 41 °C; 3 °C above it", "read 105.8 °F; 5.4 °F above it"},
		"doubled for every 10 °C above the store, ±2 C": {"doubled for every 10 °C above the store, ±2 °C", "doubled for every 18 °F above the store, ±3.6 °F"},
		"window 5-40 °C, air of 23 °C and 50 % RH":      {"window 5-40 °C, air of 23 °C and 50 % RH", "window 41-104 °F, air of 73.4 °F and 50 % RH"},
		"cures at 25 °C below 50 % RH, 25/23 °C":        {"cures at 25 °C below 50 % RH, 25/23 °C", "cures at 77 °F below 50 % RH, 77/73.4 °F"},
		"the 10 °C (18 °F) rule; at 5, 15, 25 °C":       {"the 10 °C (18 °F) rule; at 5, 15, 25 °C", "the 10 °C (18 °F) rule; at 5, 15, 25 °C"},
		"no depth is given: 2 mm is taken":              {"no depth is given: 2 mm is taken", "no depth is given: 0.079 in is taken"},
		"30 % RH, class C-24 of 3 Cases":                {"30 % RH, class C-24 of 3 Cases", "30 % RH, class C-24 of 3 Cases"},
	} {
		assert.Equal(t, want[0], SI.Text(text))
		assert.Equal(t, want[1], US.Text(text))
	}
}

func TestTimesTextOfEveryClassFitsThePage(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		if !c.Has(cure.Application) && !c.Has(cure.Cured) && !c.Has(cure.TackFree) {
			continue
		}
		for _, u := range []Units{SI, US} {
			text := written(t, func(w io.Writer) error { return Times(w, times(t, c.ID, 18, 45), u) })
			within80(t, text)
			assert.Contains(t, text, "WHAT IT RESTS ON")
			assert.Contains(t, text, "not a release")
		}
	}
}

func TestTimesTextShowsTheMinuteOnTheSafeSide(t *testing.T) {
	a := times(t, "polysulfide-b-2", 30, 45)
	text := written(t, func(w io.Writer) error { return Times(w, a, SI) })
	// 2 h at 25 °C and half for each 10 °C: 2·2^−0.5 h = 84 min 51 s at 30 °C.
	assert.Contains(t, text, "application  not after   1 h 24 min      Mon 8 Mar 08:24 WET")
	for _, m := range a.Moments {
		if m.Line != cure.NotBefore {
			continue
		}
		var s timesSheet
		s.z = a.From.Location()
		shown, err := time.ParseInLocation("Mon 2 Jan 15:04 MST 2006", s.moment(m)+" "+m.At.Format("2006"), s.z)
		require.NoError(t, err)
		assert.False(t, shown.Before(m.At), "%s: %s is shown before %s", m.Milestone, shown, m.At)
		assert.Less(t, shown.Sub(m.At), time.Minute)
	}
}

func TestTimesJSONHasTheAgreedKeys(t *testing.T) {
	v := decoded(t, written(t, func(w io.Writer) error { return TimesJSON(w, times(t, "polysulfide-b-2", 18, 45)) }))
	assert.Subset(t, keys(v), []string{"class", "air", "milestones", "cautions"})
	assert.Equal(t, map[string]any{"temp-c": 18., "rh-pct": 45., "pieces": []any{}, "measured-until": nil}, v["air"])
	first := v["milestones"].([]any)[0].(map[string]any)
	assert.Subset(t, keys(first), []string{"name", "line", "seconds", "likely-seconds", "at", "likely-at", "source"})
	assert.Equal(t, "application", first["name"])
	assert.Equal(t, "not-after", first["line"])
	assert.Equal(t, 7200., first["seconds"], "cold does not lengthen a pot life")
	assert.Equal(t, "2027-03-08T09:00:00Z", first["at"])
}

func TestALineByWitnessIsNullAndSaysWhy(t *testing.T) {
	v := decoded(t, written(t, func(w io.Writer) error { return TimesJSON(w, times(t, "polysulfide-b-2", 18, 30)) }))
	for _, m := range v["milestones"].([]any) {
		o := m.(map[string]any)
		if o["line"] == "not-after" {
			assert.Equal(t, false, o["by-witness"])
			continue
		}
		assert.Equal(t, true, o["by-witness"])
		assert.Nil(t, o["seconds"])
		assert.Nil(t, o["at"])
		assert.NotNil(t, o["likely-seconds"])
		assert.Contains(t, o["why"], "witness cup")
	}
}

func TestTimesCSVHasALineForEachMilestone(t *testing.T) {
	a := times(t, "polysulfide-b-2", 18, 30)
	r := rows(t, written(t, func(w io.Writer) error { return TimesCSV(w, a) }))
	require.Len(t, r, 1+len(a.Moments))
	assert.Equal(t, []string{"polysulfide-b-2", "application", "not-after", "7200"}, r[1][:4])
	assert.Equal(t, "", r[5][3], "no line, no number")
	assert.Equal(t, "yes", r[5][7])
}

func checked(t testing.TB, it shelf.Item) desk.Checked {
	t.Helper()
	return desk.NewJudge(catalog.Builtin(), today).Item(it)
}

func printed(t testing.TB, s string) label.Date {
	t.Helper()
	d, err := label.Parse(s, today)
	require.NoError(t, err)
	return d
}

func TestTheVerdictIsTheFirstWord(t *testing.T) {
	for want, it := range map[string]shelf.Item{
		"USE  batch S-2207, polysulfide-b-2: usable through 30 Jun 2027 (114 days left)\n": {Batch: "S-2207", Class: "polysulfide-b-2", DOM: printed(t, "2026-09-01"), Expiry: printed(t, "2027-06-30")},
		"USE  this batch, polysulfide-b-2: usable through 8 Mar 2027 (today is the last\n": {Class: "polysulfide-b-2", Expiry: printed(t, "2027-03-08")},
		"HOLD  batch U-1, polysulfide-b-2: No date: ":                                      {Batch: "U-1", Class: "polysulfide-b-2"},
		"DO NOT USE  batch E-1, polysulfide-b-2: Expired: ":                                {Batch: "E-1", Class: "polysulfide-b-2", Expiry: printed(t, "02/2027")},
	} {
		text := written(t, func(w io.Writer) error { return Check(w, []desk.Checked{checked(t, it)}, SI) })
		assert.True(t, strings.HasPrefix(text, want), "%q does not start %q", text, want)
		within80(t, text)
	}
}

func TestCheckJSONHasTheAgreedKeys(t *testing.T) {
	c := checked(t, shelf.Item{Batch: "E-1", Class: "polysulfide-b-2", Expiry: printed(t, "02/2027"), Opened: printed(t, "2027-03-01")})
	v := decoded(t, written(t, func(w io.Writer) error { return CheckJSON(w, []desk.Checked{c}) }))
	assert.Subset(t, keys(v), []string{"batch", "class", "verdict", "governing", "limits", "cautions"})
	assert.Equal(t, "reject", v["verdict"])
	g := v["governing"].(map[string]any)
	assert.Equal(t, "label-expiry", g["limit"])
	assert.Equal(t, "2027-02-28", g["date"], "a month counts to its last day (US Navy training texts on shelf life)")
	assert.NotEmpty(t, g["reason"])
	assert.Len(t, v["limits"], 2)
	assert.NotContains(t, keys(v), "rows")
}

func TestABatchOnTwoRowsShowsTheSeverestFirst(t *testing.T) {
	good := checked(t, shelf.Item{Batch: "A", Class: "polysulfide-b-2", Expiry: printed(t, "2027-06-30")})
	bad := checked(t, shelf.Item{Batch: "A", Class: "polysulfide-b-2", Expiry: printed(t, "2026-06-30")})
	two := []desk.Checked{good, bad}
	text := written(t, func(w io.Writer) error { return Check(w, two, SI) })
	assert.Less(t, strings.Index(text, "DO NOT USE"), strings.Index(text, "USE  batch A, polysulfide-b-2: usable"))
	v := decoded(t, written(t, func(w io.Writer) error { return CheckJSON(w, two) }))
	assert.Equal(t, "reject", v["verdict"])
	require.Len(t, v["rows"], 2)
	assert.Equal(t, "use", v["rows"].([]any)[0].(map[string]any)["verdict"])
	r := rows(t, written(t, func(w io.Writer) error { return CheckCSV(w, two) }))
	assert.Len(t, r, 3)
}

func TestEveryBuiltInClassIsShownWithTheSourceOfEveryNumber(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		for _, u := range []Units{SI, US} {
			text := written(t, func(w io.Writer) error { return Class(w, &c, u) })
			within80(t, text)
			flat := strings.Join(strings.Fields(text), " ")
			for _, s := range c.Sources() {
				assert.Contains(t, flat, strings.Join(strings.Fields(s.From), " "), "%s: %s", c.ID, s.What)
			}
		}
		v := decoded(t, written(t, func(w io.Writer) error { return ClassJSON(w, &c) }))
		assert.Equal(t, c.ID, v["id"])
		all, err := json.Marshal(v)
		require.NoError(t, err)
		for _, s := range c.Sources() {
			quoted, err := json.Marshal(s.From)
			require.NoError(t, err)
			assert.Contains(t, string(all), string(quoted), "%s: %s", c.ID, s.What)
		}
	}
}

func TestClassListNamesEveryClassInEveryForm(t *testing.T) {
	all := catalog.Builtin().All()
	text := written(t, func(w io.Writer) error { return ClassList(w, all, US) })
	within80(t, text)
	v := decoded(t, written(t, func(w io.Writer) error { return ClassListJSON(w, all) }))
	r := rows(t, written(t, func(w io.Writer) error { return ClassListCSV(w, all) }))
	assert.Len(t, v["classes"], len(all))
	assert.Len(t, r, 1+len(all))
	for _, c := range all {
		assert.Contains(t, text, "\n  "+c.ID+" ")
	}
}
