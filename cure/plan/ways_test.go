package plan

import (
	"os"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// onFile is the question that a job file asks, with the demo's classes at hand.
func onFile(t *testing.T, name string) Input {
	classes := map[string]*cure.Class{}
	c := catalog.Builtin()
	own, err := os.ReadFile("../../testdata/demo/classes.yaml")
	require.NoError(t, err)
	_, err = c.Add(own, "classes.yaml")
	require.NoError(t, err)
	for _, cl := range c.All() {
		classes[cl.ID] = &cl.Class
	}
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
	return Input{Job: j, Classes: classes, Logs: logs}
}

// each gives every combination of ways by itself, numbers of pots too.
func each(w ways, all *built) []ways {
	out := []ways{{joint: map[string][]way{}, extra: map[string]int{}}}
	grow := func(n int, add func(ways, int)) {
		var next []ways
		for _, o := range out {
			for i := range n {
				c := ways{joint: map[string][]way{}, extra: map[string]int{}}
				for k, v := range o.joint {
					c.joint[k] = v
				}
				for k, v := range o.extra {
					c.extra[k] = v
				}
				add(c, i)
				next = append(next, c)
			}
		}
		out = next
	}
	for id, ws := range w.joint {
		grow(len(ws), func(c ways, i int) { c.joint[id] = ws[i:][:1] })
	}
	seen := map[string]bool{}
	for c, o := range all.questions {
		if o.group != "" && !seen[o.group] {
			seen[o.group] = true
			grow(all.m.Choices[c].Ways, func(c ways, i int) { c.extra[o.group] = i })
		}
	}
	return out
}

// TestOneSearchOverAllWaysIsTheBestOfEach lays every combination of classes, heat and
// pots out by itself and holds the answer of the one search over all of them to the best.
func TestOneSearchOverAllWaysIsTheBestOfEach(t *testing.T) {
	for _, name := range []string{"../../testdata/demo/job.yaml", "testdata/film-and-studs.yaml", "testdata/long-fillet.yaml", "testdata/ways.yaml"} {
		t.Run(name, func(t *testing.T) {
			in := onFile(t, name)
			in.Brief = true
			const h = 14 * 24 * time.Hour
			air, err := History(in.Job, in.Logs, in.Job.Start.Add(h))
			require.NoError(t, err)
			lists, err := waysOf(in.Job)
			require.NoError(t, err)
			require.Len(t, lists, 1)
			all, err := build(in, lists[0], air, h, map[string]*feel{})
			require.NoError(t, err)
			all.solve(in)
			require.Equal(t, solve.Optimal, all.answer.Status)
			best, tried := solve.Never, 0
			for _, w := range each(lists[0], all) {
				one, err := build(in, w, air, h, all.feels)
				require.NoError(t, err)
				tried++
				if one.solve(in); one.answer.Schedule != nil {
					require.Equal(t, solve.Optimal, one.answer.Status)
					best = min(best, one.answer.Ready)
				}
			}
			t.Logf("%d ways", tried)
			assert.Equal(t, best, all.answer.Ready)
			alone, err := all.alone(in)
			require.NoError(t, err)
			assert.NoError(t, alone.m.CheckSchedule(alone.answer.Schedule))
		})
	}
}

// One more person of each kind, on the same shifts, never makes a job ready later.
func TestNobodyMoreOnTheCrewMakesAJobReadyLater(t *testing.T) {
	for _, name := range []string{"../../testdata/demo/job.yaml", "testdata/film-and-studs.yaml", "testdata/long-fillet.yaml"} {
		in := onFile(t, name)
		in.Brief = true
		few, err := makeOnce(in)
		require.NoError(t, err)
		require.True(t, few.Proven)
		crowd := *in.Job
		for _, p := range in.Job.Crew {
			p.Who += " too"
			crowd.Crew = append(crowd.Crew, p)
		}
		in.Job = &crowd
		many, err := makeOnce(in)
		require.NoError(t, err)
		require.True(t, many.Proven)
		assert.False(t, many.Ready.After(few.Ready), name)
	}
}

// A class whose pot is too short for the face is no way to do a joint. That says nothing of
// the other class: a search cut short has proven nothing, and where neither will do the
// reason is not the pot.
func TestABarredWayProvesNothingOfTheOthers(t *testing.T) {
	in := onFile(t, "testdata/barred.yaml")
	in.Brief = true
	last, err := makeOnce(in)
	require.NoError(t, err)
	require.True(t, last.Proven)
	for _, in.Steps = range []int{1, 5, 20} {
		p, err := makeOnce(in)
		require.NoError(t, err)
		require.True(t, p.Found)
		assert.False(t, p.Bound.After(last.Ready), "%d steps: a bound past a plan", in.Steps)
		if p.Proven {
			assert.Equal(t, last.Ready, p.Ready, "%d steps: called the earliest", in.Steps)
		}
	}
	in.Steps = 0
	in.Job.Checks[0].Takes = 9 * time.Hour // longer than a shift
	p, err := Make(in)
	require.NoError(t, err)
	require.False(t, p.Found)
	require.True(t, p.Infeasible.Proven)
	assert.Contains(t, p.Infeasible.Because[0], "works daily 07:00-15:30 only")
	assert.Contains(t, p.Infeasible.Because[1], "a pot of polysulfide-b-half lasts")
}
