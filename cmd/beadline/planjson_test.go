package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// planned runs plan --format json in a folder with the demo in it and decodes what it
// prints.
func planned(t *testing.T, wantExit int, args ...string) map[string]any {
	t.Helper()
	t.Chdir(t.TempDir())
	require.NoError(t, writeDemo("."))
	var out, errs bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &out, err: &errs, clock: time.Now}
	got := a.run(append([]string{"plan", "--format", "json", "--catalog", "classes.yaml"}, args...))
	require.Equal(t, wantExit, got, "%s", errs.String())
	assert.Empty(t, errs.String())
	var m map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &m))
	return m
}

// The kinds of values in the shape of a plan.
type (
	text    struct{}
	yes     struct{}
	whole   struct{} // a number without a fraction, not below zero
	part    struct{} // a number from 0 to 1
	instant struct{} // RFC 3339
	maybe   struct{ of any }
)

// agreed is the shape of a plan for programs: keys may be added, none of these may go.
var agreed = map[string]any{
	"job": text{}, "ready": instant{}, "proven": yes{}, "bound": instant{}, "proven-goals": []any{text{}},
	"stopped": yes{}, "begin-by": instant{}, "until": instant{},
	"joints": []any{map[string]any{"id": text{}, "mix-by": instant{},
		"torque": map[string]any{"from": instant{}, "to": instant{}}, "close-from": instant{}, "fly-from": instant{}}},
	"gates": []any{map[string]any{"id": text{}, "from": instant{}}},
	"mixes": []any{map[string]any{"id": text{}, "at": instant{}, "serves": []any{text{}}}},
	"tasks": []any{map[string]any{"id": text{}, "who": []any{text{}}, "start": instant{}, "end": instant{}, "slack-seconds": whole{}}},
	"draw": []any{map[string]any{"mix": maybe{text{}}, "for": maybe{text{}}, "at": instant{}, "until": instant{}, "class": text{}, "batch": text{}, "container": maybe{text{}},
		"kits": maybe{whole{}}, "unit": maybe{text{}}, "place": maybe{text{}}, "line": whole{}, "opened": yes{}, "named": yes{}, "usable-through": maybe{text{}}}},
	"short": []any{map[string]any{"class": maybe{text{}}, "item": maybe{text{}}, "needed": whole{}, "good": whole{}, "short": whole{}, "unit": text{}, "on-hold": whole{},
		"without": []any{text{}}, "by": instant{}, "until": instant{}, "why": []any{text{}}}},
	"renew":       []any{map[string]any{"item": text{}, "count": whole{}}},
	"held-by":     []any{map[string]any{"what": text{}, "seconds": whole{}}},
	"assumptions": []any{text{}}, "cautions": []any{text{}},
}

// shaped holds a decoded value against a shape.
func shaped(t *testing.T, where string, want, got any) {
	t.Helper()
	switch want := want.(type) {
	case maybe:
		if got != nil {
			shaped(t, where, want.of, got)
		}
	case map[string]any:
		m, ok := got.(map[string]any)
		if !assert.True(t, ok, "%s is %T, not an object", where, got) {
			return
		}
		for key, w := range want {
			v, there := m[key]
			if assert.True(t, there, "%s has no key %q", where, key) {
				shaped(t, where+"."+key, w, v)
			}
		}
	case []any:
		list, ok := got.([]any)
		if !assert.True(t, ok, "%s is %T, not a list", where, got) {
			return
		}
		for _, v := range list {
			shaped(t, where+"[]", want[0], v)
		}
	case text:
		s, ok := got.(string)
		assert.True(t, ok && s != "", "%s is %v, not a text", where, got)
	case yes:
		assert.IsType(t, true, got, where)
	case part:
		n, ok := got.(float64)
		assert.True(t, ok && n >= 0 && n <= 1, "%s is %v, not a part from 0 to 1", where, got)
	case whole:
		n, ok := got.(float64)
		assert.True(t, ok && n >= 0 && n == float64(int64(n)), "%s is %v, not a whole number", where, got)
	case instant:
		s, _ := got.(string)
		_, err := time.Parse(time.RFC3339, s)
		assert.NoError(t, err, "%s is %v", where, got)
	}
}

func TestPlanJSONHasTheAgreedKeysAndTypes(t *testing.T) {
	m := planned(t, exitYes, "job.yaml", "--stock", "stock.csv")
	shaped(t, "plan", agreed, m)
	assert.NotContains(t, m, "infeasible")
	for _, key := range []string{"joints", "gates", "mixes", "tasks", "renew", "held-by", "assumptions", "cautions"} {
		assert.NotEmpty(t, m[key], key)
	}
	sum := 0.0
	for _, h := range m["held-by"].([]any) {
		sum += h.(map[string]any)["seconds"].(float64)
	}
	ready, err := time.Parse(time.RFC3339, m["ready"].(string))
	require.NoError(t, err)
	start := time.Date(2027, 3, 29, 6, 0, 0, 0, time.UTC) // 07:00 in the Faroes, summer time
	assert.Equal(t, ready.Sub(start).Seconds(), sum, "what holds the plan adds up to the way from its start")
	assert.True(t, strings.HasSuffix(m["ready"].(string), "+01:00"), "local to the job: %v", m["ready"])
	for _, k := range m["tasks"].([]any) {
		if k := k.(map[string]any); k["kind"] == "torque" && k["joint"] == "fuel-bay door" {
			assert.Equal(t, "6.2 Nm, work order item", k["torque"], "the value that the job records")
		}
	}
}

// What the demo draws: first expired first out, but from the batch that the job names.
func TestPlanJSONSaysWhatToDrawAndWhatIsShort(t *testing.T) {
	m := planned(t, exitYes, "job.yaml", "--stock", "stock.csv")
	got := map[string]string{}
	for _, d := range m["draw"].([]any) {
		d := d.(map[string]any)
		if mix, ok := d["mix"].(string); ok {
			got[mix] = d["batch"].(string)
			assert.InDelta(t, map[string]float64{"C-0415": 40, "S-2207": 75, "S-2211": 50, "S-2212": 50}[got[mix]], d["ml"].(float64)+d["scrapped-ml"].(float64), 1e-9, mix)
		}
	}
	assert.Equal(t, map[string]string{"mix 1": "C-0415", "mix 2": "S-2211", "mix 3": "S-2211", "mix 4": "S-2207", "mix 5": "S-2211", "mix 6": "S-2212"}, got)
	assert.Empty(t, m["short"])

	m = planned(t, exitHold, "job-first-wish.yaml", "--stock", "stock.csv")
	shaped(t, "plan", agreed, m)
	require.Len(t, m["short"], 1)
	x := m["short"].([]any)[0].(map[string]any)
	assert.Equal(t, "low-adhesion-2", x["class"])
	assert.Equal(t, 2.0, x["on-hold"])
}

func TestInfeasiblePlanJSONSaysBecauseAndFixes(t *testing.T) {
	m := planned(t, exitHold, "job-first-wish.yaml")
	shaped(t, "plan", agreed, m)
	shaped(t, "plan", map[string]any{"infeasible": map[string]any{
		"because": []any{text{}},
		"fixes":   []any{map[string]any{"what": text{}, "ready": instant{}, "meets": yes{}}},
	}}, m)
	x := m["infeasible"].(map[string]any)
	assert.NotEmpty(t, x["because"])
	require.NotEmpty(t, x["fixes"])
	best := x["fixes"].([]any)[0].(map[string]any)
	assert.Equal(t, true, best["meets"])
	assert.Contains(t, best["what"], "northfell-door-rapid")
}

// Where there is no plan, its ready time is null and its lists are empty: programs find
// the keys all the same.
func TestPlanJSONWithoutAPlanKeepsItsKeys(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, writeWhole("cold.yaml", []byte(`job: T-1
zone: UTC
start: 2027-03-29T07:00
air: [{constant: {temp: 55F, rh: 50%}}]
crew: [{who: Ann, can: [seal, panel]}, {who: Cy, can: [inspect]}]
shifts: [{days: Mon-Fri, from: "07:00", to: "15:30"}]
joints: [{id: door, class: polysulfide-b-2, layers: [{seal: fillet, spread: 12min}]}]
gates: {fly: [door cure]}
ready: fly
`)))
	var out, errs bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &out, err: &errs, clock: time.Now}
	require.Equal(t, exitHold, a.run([]string{"plan", "cold.yaml", "--format", "json"}), "%s", errs.String())
	var m map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &m))
	none := map[string]any{"ready": maybe{instant{}}, "bound": maybe{instant{}}, "begin-by": maybe{instant{}}, "until": maybe{instant{}}}
	for key, v := range agreed {
		if _, ok := none[key]; !ok {
			none[key] = v
		}
	}
	shaped(t, "plan", none, m)
	assert.Nil(t, m["ready"])
	assert.Empty(t, m["tasks"])
	assert.NotEmpty(t, m["infeasible"].(map[string]any)["because"])
}
