package plan

import (
	"os"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan/job"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBoundIsNeverLaterThanAPlan holds the bound, before it is printed, against plans
// that were found with more pots and with more people: a bound beyond any of them
// would make "proven" false.
func TestBoundIsNeverLaterThanAPlan(t *testing.T) {
	jobs := []string{"../../testdata/demo/job.yaml", "testdata/film-and-studs.yaml", "testdata/long-fillet.yaml"}
	classes := map[string]*cure.Class{}
	c := catalog.Builtin()
	extra, err := os.ReadFile("../../testdata/demo/classes.yaml")
	require.NoError(t, err)
	_, err = c.Add(extra, "classes.yaml")
	require.NoError(t, err)
	for _, cl := range c.All() {
		classes[cl.ID] = &cl.Class
	}
	for _, name := range jobs {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			j, err := job.Decode(data, name)
			require.NoError(t, err)
			logs := map[string][]cure.Sample{}
			for _, a := range j.Air {
				if a.Log != "" { // one reading is enough: the swing follows it
					logs[a.Log] = []cure.Sample{{At: j.Start.Add(-time.Hour), Air: cure.Air{TempC: 9, RH: 80}}, {At: j.Start, Air: cure.Air{TempC: 9, RH: 80}}}
				}
			}
			in := Input{Job: j, Classes: classes, Logs: logs, Steps: 50}
			air, err := History(j, logs, j.Start.Add(14*24*time.Hour))
			require.NoError(t, err)
			vs, err := variants(in)
			require.NoError(t, err)
			first, err := build(in, vs[0], air, 14*24*time.Hour, map[string]*feel{})
			require.NoError(t, err)
			first.solve(in)
			require.NotNil(t, first.answer.Schedule, "%v", first.obstacles)
			least, err := bound(in, vs, first)
			require.NoError(t, err)
			assert.LessOrEqual(t, least, first.answer.Ready)
			for _, g := range first.groups {
				more, err := build(in, vs[0].more(g.id), air, 14*24*time.Hour, first.feels)
				require.NoError(t, err)
				more.solve(in)
				if more.answer.Schedule != nil {
					assert.LessOrEqual(t, least, more.answer.Ready, "one pot more for %s", g.id)
				}
			}
			crowd := *j
			for _, p := range j.Crew {
				p.Who += " too"
				crowd.Crew = append(crowd.Crew, p)
			}
			in.Job = &crowd
			many, err := build(in, vs[0], air, 14*24*time.Hour, map[string]*feel{})
			require.NoError(t, err)
			many.solve(in)
			require.NotNil(t, many.answer.Schedule)
			assert.LessOrEqual(t, least, many.answer.Ready, "twice the crew on the same shifts")
		})
	}
}
