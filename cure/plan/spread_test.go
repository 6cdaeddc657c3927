package plan_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/airlog"
	"beadline/cure/plan"
	"beadline/cure/plan/job"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// demo is a job of the demo with its air and its classes.
func demo(t testing.TB, name string) plan.Input {
	t.Helper()
	dir := filepath.Join("..", "..", "testdata", "demo")
	read := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		return data
	}
	j, err := job.Decode(read(name), name)
	require.NoError(t, err)
	c := catalog.Builtin()
	_, err = c.Add(read("classes.yaml"), "classes.yaml")
	require.NoError(t, err)
	in := plan.Input{Job: j, Classes: map[string]*cure.Class{}, Logs: map[string][]cure.Sample{}}
	for _, cl := range c.All() {
		in.Classes[cl.ID] = &cl.Class
	}
	for _, a := range j.Air {
		if a.Log != "" {
			log, err := airlog.Read(read(a.Log), a.Log, airlog.Options{Zone: j.Zone})
			require.NoError(t, err)
			in.Logs[a.Log] = log.Samples
		}
	}
	return in
}

// certain are options that leave nothing to chance.
func certain(draws int) plan.SpreadOptions { return plan.SpreadOptions{Draws: draws, Workers: 1} }

// TestWithoutChanceAPlayIsThePlan plays generated jobs (BEADLINE_JOBS of them) with nothing left to chance: every
// pot and limit is kept, no gate is later than planned, and each milestone comes when the
// plan says that it is likely, which it works out along another way (cells and turned
// courses here, marching there).
func TestWithoutChanceAPlayIsThePlan(t *testing.T) {
	n := generated(t)
	found, lines := 0, 0
	for seed := range uint64(n) {
		in := input(t, makeJob(seed))
		in.Steps, in.Brief = 20, true
		p, err := plan.Make(in)
		require.NoError(t, err)
		if !p.Found {
			continue
		}
		found++
		s, err := p.Play(certain(2))
		require.NoError(t, err, "seed %d", seed)
		require.Equal(t, 2, s.InLine.Kept, "seed %d: %+v %+v\n%s", seed, s.Mixes, s.Limits, makeJob(seed))
		require.Zero(t, s.Overtime.Kept, "seed %d", seed)
		require.Zero(t, s.Late.Kept, "seed %d", seed)
		require.Nil(t, s.Matters, "seed %d: nothing varies", seed)
		for i, g := range s.Gates {
			require.False(t, g.When.P50.After(p.Gates[i].From), "seed %d: gate %s", seed, g.ID)
		}
		for _, c := range s.Cures {
			l := lineOf(p, c.Joint, c.Milestone)
			require.NotNil(t, l)
			if l.LikelyAt.IsZero() {
				continue
			}
			lines++
			want := l.LikelyAt
			if h := heldTo(s, p, c); h.After(want) { // a later milestone is no earlier than the one before
				want = h
			}
			require.WithinDuration(t, want, c.When.P50, 2*time.Second, "seed %d: %s %s\n%s", seed, c.Joint, c.Milestone, makeJob(seed))
		}
	}
	require.Greater(t, found, n/2)
	require.Greater(t, lines, n/2)
}

func lineOf(p *plan.Plan, joint string, m cure.Milestone) *plan.Line {
	for i := range p.Joints {
		for k := range p.Joints[i].Lines {
			if l := &p.Joints[i].Lines[k]; p.Joints[i].ID == joint && l.Milestone == m {
				return l
			}
		}
	}
	return nil
}

// heldTo is when the milestone before one came in the play.
func heldTo(s *plan.Spread, p *plan.Plan, c plan.CureChance) (at time.Time) {
	for _, o := range s.Cures {
		if o.Joint == c.Joint && o.Milestone < c.Milestone && o.When.P50.After(at) {
			at = o.When.P50
		}
	}
	return at
}

// demoPlan is the demo's plan, briefly made.
func demoPlan(t testing.TB) *plan.Plan {
	t.Helper()
	in := demo(t, "job.yaml")
	p, err := plan.Make(in)
	require.NoError(t, err)
	require.True(t, p.Found)
	return p
}

func TestASpreadIsTheSameWhateverItsWorkers(t *testing.T) {
	p := demoPlan(t)
	o := plan.AllSpread(301, 5)
	want, err := p.Play(o)
	require.NoError(t, err)
	for _, o.Workers = range []int{2, 7} {
		got, err := p.Play(o)
		require.NoError(t, err)
		assert.Equal(t, want, got, "%d workers", o.Workers)
	}
	o.Seed++
	got, err := p.Play(o)
	require.NoError(t, err)
	assert.NotEqual(t, want.Mixes, got.Mixes, "another seed")
}

func TestAStoppedSpreadSaysHowManyDrawsItRestsOn(t *testing.T) {
	p := demoPlan(t)
	asked := 0
	o := plan.AllSpread(1000, 1)
	o.Stop = func() bool { asked++; return asked > 50 }
	s, err := p.Play(o)
	require.NoError(t, err)
	assert.Equal(t, 100, s.Draws)
	assert.Equal(t, 1000, s.Asked)
	assert.Equal(t, 100, s.InLine.Of)
	o.Stop = func() bool { return true }
	_, err = p.Play(o)
	assert.ErrorContains(t, err, "stopped before a draw was made")
}

// What is counted of the demo hangs together: what must be more is more, and each count
// is of all draws.
func TestWhatASpreadCountsHangsTogether(t *testing.T) {
	p := demoPlan(t)
	s, err := p.Play(plan.AllSpread(1500, 1))
	require.NoError(t, err)
	assert.False(t, s.Ready.P10.After(s.Ready.P50))
	assert.False(t, s.Ready.P50.After(s.Ready.P90))
	assert.False(t, s.Ready.P90Low.After(s.Ready.P90))
	assert.False(t, s.Ready.P90.After(s.Ready.P90High))
	assert.False(t, s.Ready.P50.Before(p.Ready), "people start nothing before its time, and work comes last here")
	assert.LessOrEqual(t, s.ByInLine.Kept, min(s.By.Kept, s.InLine.Kept))
	assert.GreaterOrEqual(t, s.ByInLine.Kept, s.By.Kept+s.InLine.Kept-1500)
	for _, m := range s.Mixes {
		assert.Equal(t, 1500, m.InLine.Of)
		assert.GreaterOrEqual(t, m.InLine.Kept, s.InLine.Kept, "a pot is kept no less than all are")
		assert.GreaterOrEqual(t, m.Workable.Kept, m.InLine.Kept, "the line lies on the safe side")
		assert.Positive(t, m.Spare)
	}
	for _, l := range s.Limits {
		assert.GreaterOrEqual(t, l.Kept.Kept, s.InLine.Kept)
	}
	for _, m := range s.Matters {
		for _, x := range []float64{m.Ready.First, m.Ready.Total, m.Lost.First, m.Lost.Total} {
			assert.True(t, x >= 0 && x <= 1)
		}
	}
	sum := 0.0
	for _, d := range s.LateBy {
		sum += d.Share
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.NotEmpty(t, s.Assumed)
}

// TestNoPlayBreaksTheRulesItIsPlayedBy plays generated jobs (BEADLINE_JOBS of them) with
// everything left to chance, and holds each play against the search's own model.
func TestNoPlayBreaksTheRulesItIsPlayedBy(t *testing.T) {
	found := 0
	n := generated(t)
	for seed := range uint64(n) {
		in := input(t, makeJob(seed))
		in.Steps, in.Brief = 20, true
		p, err := plan.Make(in)
		require.NoError(t, err)
		if !p.Found {
			continue
		}
		found++
		wrong, err := p.Audit(20, seed)
		require.NoError(t, err)
		require.Empty(t, wrong, "seed %d\n%s", seed, makeJob(seed))
	}
	require.Greater(t, found, n/2)
}

// generated is how many jobs to make.
func generated(t *testing.T) int {
	n := 100
	if testing.Short() {
		n = 25
	}
	if s := os.Getenv("BEADLINE_JOBS"); s != "" {
		var err error
		n, err = strconv.Atoi(s)
		require.NoError(t, err)
	}
	return n
}
