package job

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// backOn lists the names that must be back on before an item.
func backOn(j *Job, off string) []string {
	names := []string{}
	for i, a := range j.Access {
		if a.Off != off {
			continue
		}
		for _, k := range j.BackOnFirst(i) {
			names = append(names, j.Access[k].Off)
		}
	}
	return names
}

// withAccess is the whole job with other access items, in the order they came off.
func withAccess(t *testing.T, items ...string) string {
	t.Helper()
	return change(t, "  - {off: door fairing, takes: PT25M, crew: 2, hides: [fuel-bay door]}\n", "  - "+strings.Join(items, "\n  - ")+"\n")
}

// Access goes back in the reverse order of removal (common practice, no source).
func TestAccessGoesBackLastOffFirstOn(t *testing.T) {
	j := decodeOK(t, withAccess(t, "{off: A, takes: 5min}", "{off: B, takes: 5min}", "{off: C, takes: 5min}"))
	assert.Equal(t, []string{"B", "C"}, backOn(j, "A"))
	assert.Equal(t, []string{"C"}, backOn(j, "B"))
	assert.Empty(t, backOn(j, "C"))
}

func TestWhatStaysOffIsNotWaitedFor(t *testing.T) {
	j := decodeOK(t, withAccess(t, "{off: A, takes: 5min}", "{off: B, stays-off: true}", "{off: C, takes: 5min}"))
	assert.Equal(t, []string{"C"}, backOn(j, "A"))
	assert.Empty(t, backOn(j, "B"))
}

func TestAfterReplacesTheReverseOrder(t *testing.T) {
	// B is told to follow A, so A no longer waits for B; C, first off, still covers both.
	j := decodeOK(t, withAccess(t, "{off: C, takes: 5min}", "{off: A, takes: 5min}", "{off: B, takes: 5min, after: A}"))
	assert.Equal(t, []string{"A", "B"}, backOn(j, "C"))
	assert.Empty(t, backOn(j, "A"))
	assert.Empty(t, backOn(j, "B"))

	// An empty after: no order of its own.
	j = decodeOK(t, withAccess(t, "{off: A, takes: 5min, after: []}", "{off: B, takes: 5min}"))
	assert.Empty(t, backOn(j, "A"))
	require.NotNil(t, j.Access[0].After)

	// Told through a check.
	text := withAccess(t, "{off: A, takes: 5min}", "{off: B, takes: 5min, after: leak check}")
	j = decodeOK(t, strings.Replace(text, "after: fuel-bay door cure, ", "after: A, ", 1))
	assert.Empty(t, backOn(j, "A"))
}

// However items are told to follow each other, if the file's own order has no
// cycle then the whole order has none.
func TestReverseOrderNeverMakesACycle(t *testing.T) {
	names := []string{"A", "B", "C", "D", "E", "F"}
	rapid.Check(t, func(t *rapid.T) {
		j := &Job{}
		for _, n := range names[:rapid.IntRange(1, len(names)).Draw(t, "items")] {
			a := Access{Off: n, StaysOff: rapid.IntRange(0, 5).Draw(t, "stays off") == 0}
			if !a.StaysOff && rapid.Bool().Draw(t, "told") {
				a.After = []Ref{}
				for range rapid.IntRange(0, 2).Draw(t, "refs") {
					a.After = append(a.After, Ref{Kind: RefAccess, ID: rapid.SampledFrom(names).Draw(t, "ref")})
				}
			}
			j.Access = append(j.Access, a)
		}
		g := j.saidOrder()
		if g.cycle() != nil {
			t.Skip("the file itself has a cycle")
		}
		for i, a := range j.Access {
			for _, k := range j.BackOnFirst(i) {
				g.add(a.Off, j.Access[k].Off)
			}
		}
		require.Nil(t, g.cycle())
		for i, a := range j.Access { // and nothing is lost: every pair is in some order unless one was told its own
			for _, b := range j.Access[i+1:] {
				if !a.StaysOff && !b.StaysOff && a.After == nil {
					require.True(t, g.reaches(a.Off, b.Off) || g.reaches(b.Off, a.Off), "%s and %s", a.Off, b.Off)
				}
			}
		}
	})
}
