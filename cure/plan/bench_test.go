package plan

import (
	"os"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan/job"

	"github.com/stretchr/testify/require"
)

// demo is a job of the demo with the classes that may stand in, and one reading of its
// log: the swing follows it.
func demo(t testing.TB, name string) Input {
	t.Helper()
	c := catalog.Builtin()
	extra, err := os.ReadFile("../../testdata/demo/classes.yaml")
	require.NoError(t, err)
	_, err = c.Add(extra, "classes.yaml")
	require.NoError(t, err)
	data, err := os.ReadFile("../../testdata/demo/" + name)
	require.NoError(t, err)
	j, err := job.Decode(data, name)
	require.NoError(t, err)
	in := Input{Job: j, Classes: map[string]*cure.Class{}, Logs: map[string][]cure.Sample{}}
	for _, cl := range c.All() {
		in.Classes[cl.ID] = &cl.Class
		if len(cl.Seals) > 0 && cl.Seals[0] != "" {
			in.Others = append(in.Others, &cl.Class)
		}
	}
	for _, a := range j.Air {
		if a.Log != "" {
			in.Logs[a.Log] = []cure.Sample{{At: j.Start.Add(-24 * time.Hour), Air: cure.Air{TempC: 9, RH: 80}}, {At: j.Start, Air: cure.Air{TempC: 9, RH: 80}}}
		}
	}
	return in
}

// BenchmarkCompare is a whole comparison of the demo job, some twenty plans.
func BenchmarkCompare(b *testing.B) {
	in := demo(b, "job.yaml")
	for b.Loop() {
		_, err := Compare(in, 2)
		require.NoError(b, err)
	}
}

// BenchmarkExplain is the set of demands that clash, and the smallest changes, of the demo
// job as it was first asked for.
func BenchmarkExplain(b *testing.B) {
	in := demo(b, "job-first-wish.yaml")
	in.Brief = true
	p, err := Make(in)
	require.NoError(b, err)
	b.Run("set", func(b *testing.B) {
		for b.Loop() {
			require.NotNil(b, p.made.clashOf(int(in.Job.ReadyBy.Sub(in.Job.Start)/tick), nil))
		}
	})
	b.Run("changes", func(b *testing.B) {
		for b.Loop() {
			require.NotEmpty(b, p.nearest(in))
		}
	})
}
