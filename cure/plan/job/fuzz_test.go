package job

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// FuzzDecode asks that any bytes give either a whole job or problems with a place,
// each in one line.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(whole))
	for _, c := range bad {
		f.Add([]byte(strings.Replace(whole, c.old, c.new, 1)))
	}
	for _, s := range []string{"", "a", "[", "- - -", "a: {b: [", "\xef\xbb\xbfjob: x", "a:\r\n  b: 1\r\n", "? a\n: b", "%YAML 1.2\n---\n", "a: |\n b\n", "a: >-\n b"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		j, err := Decode(data, "job.yaml")
		if err == nil {
			soundJob(t, j)
			return
		}
		require.Nil(t, j)
		var ps Problems
		require.True(t, errors.As(err, &ps))
		require.NotEmpty(t, ps)
		for _, p := range ps {
			require.Positive(t, p.Line)
			require.Positive(t, p.Col)
			require.NotContains(t, p.Error(), "\n")
			require.NotEmpty(t, p.Text)
		}
		require.LessOrEqual(t, strings.Count(err.Error(), "\n"), maxProblems)
	})
}

// soundJob checks what Decode promises of a job.
func soundJob(t *testing.T, j *Job) {
	t.Helper()
	require.NotEmpty(t, j.ID)
	require.NotNil(t, j.Zone)
	require.False(t, j.Start.IsZero())
	require.True(t, j.ReadyBy.IsZero() || j.ReadyBy.After(j.Start))
	require.NotEmpty(t, j.Air)
	require.NotEmpty(t, j.Shifts)
	require.NotNil(t, j.Gate(j.Ready))
	require.Nil(t, j.saidOrder().cycle())
	needs := func(skill string, people int) {
		require.GreaterOrEqual(t, len(j.SkillHolders(skill)), people, skill)
	}
	refs := func(rs []Ref) {
		for _, r := range rs {
			found := map[RefKind]bool{RefMilestone: j.JointByID(r.ID) != nil, RefCheck: j.CheckByID(r.ID) != nil,
				RefAccess: j.AccessByName(r.ID) != nil, RefGate: j.Gate(r.ID) != nil, RefCovers: len(j.Covers) > 0}
			require.True(t, found[r.Kind], r.Text)
		}
	}
	for _, jt := range j.Joints {
		require.NotEmpty(t, jt.Layers)
		for i, l := range jt.Layers {
			require.True(t, l.Class != "" || len(jt.Classes) > 0)
			require.True(t, (l.Spread > 0) != (l.Each > 0))
			require.False(t, i == 0 && l.AfterSet)
			needs(l.Can, 1)
		}
		if f := jt.Fasteners; f != nil {
			require.Positive(t, f.Count)
			needs(f.Can, f.People)
		}
		needs(jt.Inspect.Can, 1)
		refs(jt.After)
		for _, off := range jt.HiddenBy {
			require.False(t, j.AccessByName(off).StaysOff)
			require.Contains(t, j.AccessByName(off).Hides, jt.ID)
		}
	}
	for i, a := range j.Access {
		refs(a.After)
		j.BackOnFirst(i)
	}
	for _, c := range j.Checks {
		needs(c.Can, c.Crew)
		refs(c.After)
	}
	for _, g := range j.Gates {
		require.NotEmpty(t, g.Needs)
		refs(g.Needs)
	}
	for _, p := range j.Crew {
		j.WorkWindows(p, j.Start.Add(20*24*time.Hour))
	}
}

func TestWholeJobIsSound(t *testing.T) { soundJob(t, decodeOK(t, whole)) }

func TestManySlipsGiveTenLines(t *testing.T) {
	var many strings.Builder
	many.WriteString("job: x\njoints:\n")
	for range 50 {
		many.WriteString("  - {id: a, layers: [{seal: x}]}\n")
	}
	_, err := Decode([]byte(many.String()), "job.yaml")
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, 11)
	assert.Regexp(t, "^job.yaml: and at least 20 more$", lines[10])
}

// Input made to exhaust the parser is refused before it is built: nesting costs it
// memory by the square of the depth, keys time by the square of their number.
func TestHostileFilesAreRefusedEarly(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"brackets", strings.Repeat("[", 100_000), "1:20: nested more than 20 deep"},
		{"dashes", strings.Repeat("- ", 100_000), "1:39: nested more than 20 deep"},
		{"indentation", nested(200), "21:21: nested more than 20 deep"},
		{"indentation between comments", strings.ReplaceAll(nested(200), "\n", "\n#\n"), "41:21: nested more than 20 deep"},
		{"closed more than opened", strings.Repeat("]", 50) + strings.Repeat("[", 50), "1:70: nested more than 20 deep"},
		{"keys", keys(5000), "1001:"},
		{"documents", strings.Repeat("---\n", 1000), "2:1: a second document"},
		{"five megabytes", strings.Repeat("#", 5<<20), "1:1: the file is larger than 4 MB"},
		{"tasks", strings.ReplaceAll(whole, "[{strip: 30min}", "["+strings.Repeat("{strip: 1h}, ", 9990)+"{strip: 30min}"), "1:1: the job has 10004 tasks"},
		{"list", strings.ReplaceAll(whole, "[intake blank", "["+strings.Repeat("a, ", 10_000)+"intake blank"), "28:9: the job: covers has 10002 entries"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Decode([]byte(c.text), "job.yaml")
			require.Error(t, err)
			assert.True(t, strings.HasPrefix(err.Error(), "job.yaml:"+c.want), err.Error()[:min(len(err.Error()), 200)])
		})
	}
}

func nested(depth int) string {
	var b strings.Builder
	for i := range depth {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func keys(n int) string {
	var b strings.Builder
	for range n {
		b.WriteString("k: 1\n")
	}
	return b.String()
}
