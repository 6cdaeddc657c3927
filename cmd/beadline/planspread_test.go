package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"beadline/cmd/beadline/show"
	"beadline/cure/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// counted is how a chance is told.
var counted = map[string]any{"kept": whole{}, "of": whole{}, "share": part{}, "low": part{}, "high": part{}}

// agreedSpread is the shape of a plan's spread: keys may be added, none of these may go.
var agreedSpread = map[string]any{
	"draws": whole{}, "asked": whole{}, "seed": whole{}, "task-spread": part{}, "followed-until": instant{},
	"ready":          map[string]any{"p10": instant{}, "p50": instant{}, "p90": instant{}, "p90-low": instant{}, "p90-high": instant{}},
	"ready-by":       map[string]any{"at": instant{}, "made": counted, "made-with-all-lines-kept": counted},
	"all-lines-kept": counted, "overtime": counted, "late": counted,
	"mixes":       []any{map[string]any{"id": text{}, "spare-seconds": whole{}, "by-its-line": counted, "while-workable": counted}},
	"limits":      []any{map[string]any{"what": text{}, "kept": counted}},
	"lines":       []any{map[string]any{"joint": text{}, "name": text{}, "planned": instant{}, "there-by-then": counted, "when": map[string]any{"p90": instant{}}}},
	"gates":       []any{map[string]any{"id": text{}, "planned": instant{}, "there-by-then": counted}},
	"matters":     []any{map[string]any{"source": text{}, "of-ready": map[string]any{"first-order": part{}, "total": part{}}}},
	"late-by":     []any{map[string]any{"what": text{}, "share": part{}}},
	"assumptions": []any{text{}},
}

func TestSpreadJSONHasTheAgreedKeysAndTypes(t *testing.T) {
	m := planned(t, exitYes, "job.yaml", "--spread", "200", "--seed", "4")
	s, ok := m["spread"].(map[string]any)
	require.True(t, ok, "%v", m["spread"])
	shaped(t, "spread", agreedSpread, s)
	assert.EqualValues(t, 200, s["draws"])
	assert.EqualValues(t, 4, s["seed"])
	assert.Len(t, s["mixes"], len(m["mixes"].([]any)))
	for _, key := range []string{"limits", "lines", "gates", "matters", "assumptions"} {
		assert.NotEmpty(t, s[key], key)
	}
	assert.NotContains(t, planned(t, exitYes, "job.yaml"), "spread", "it was not asked for")
}

// An interrupt ends the draws and not the answer, which says what it rests on.
func TestAnInterruptGivesWhatHasBeenDrawn(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, writeDemo("."))
	var out bytes.Buffer
	a := &app{out: &out, err: &out, clock: time.Now, format: "text", units: "si", catalogs: []string{"classes.yaml"}}
	p, err := a.makePlan(t.Context(), "job.yaml", planFlags{think: thinkUsual})
	require.NoError(t, err)
	stop := make(chan os.Signal, 1)
	o := plan.AllSpread(mostDraws, 1)
	time.AfterFunc(200*time.Millisecond, func() { stop <- os.Interrupt })
	require.NoError(t, a.spreadUntil(stop, p.Plan, o))
	require.NotNil(t, p.Spread)
	assert.Positive(t, p.Spread.Draws)
	assert.Less(t, p.Spread.Draws, mostDraws)
	require.NoError(t, show.PlanText(&out, p, a.inUnits()))
	assert.Regexp(t, `Stopped after \d+ of 100000 draws: this is what they say`, out.String())

	stop <- os.Interrupt
	assert.ErrorContains(t, a.spreadUntil(stop, p.Plan, o), "--spread: it was stopped before a draw was made")
}

func TestTheBarStaysOnItsLineAndGoes(t *testing.T) {
	var out bytes.Buffer
	now := time.Unix(0, 0)
	b := &bar{w: &out, of: 200, now: func() time.Time { return now }}
	for range 100 {
		now = now.Add(time.Second / 50)
		b.add(2)
	}
	b.clear()
	lines := strings.Split(out.String(), "\r")
	assert.NotContains(t, out.String(), "\n")
	assert.Greater(t, len(lines), 10)
	assert.Less(t, len(lines), 30, "no more than ten times a second")
	for _, l := range lines {
		assert.LessOrEqual(t, len(l), 79)
	}
	assert.Contains(t, lines[len(lines)/2], "playing the plan [###")
	assert.Empty(t, strings.TrimSpace(lines[len(lines)-1]+lines[len(lines)-2]), "it leaves nothing behind")

	out.Reset()
	b = &bar{w: &out, of: 200, now: func() time.Time { return now }}
	b.clear()
	assert.Empty(t, out.String(), "nor does one that was never drawn")
}
