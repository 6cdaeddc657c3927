package nearest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The first rows are the worked pairs every text on edit distance uses
// (V. I. Levenshtein 1966; kitten/sitting = 3), from memory.
func TestDistanceCountsSingleLetterEdits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3},
		{"saturday", "sunday", 3},
		{"", "abc", 3},
		{"abc", "", 3},
		{"same", "same", 0},
		{"faying", "fayign", 1}, // a swap of neighbours counts once
		{"°C", "C", 1},          // letters, not bytes
	} {
		assert.Equal(t, c.want, Distance(c.a, c.b), "%q %q", c.a, c.b)
	}
}

func TestDistanceIsSymmetricAndBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-e]{0,8}`)
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := Distance(a, b)
		assert.Equal(t, d, Distance(b, a))
		assert.Equal(t, a == b, d == 0)
		assert.LessOrEqual(t, d, max(len(a), len(b)))
		assert.GreaterOrEqual(t, d, max(len(a)-len(b), len(b)-len(a)))
	})
}

func TestNearestNamesComeFirst(t *testing.T) {
	keys := []string{"application", "assembly", "tack-free", "handling", "cure", "full-cure"}
	ids := []string{"polysulfide-a-2", "polysulfide-b-2", "polysulfide-b-half", "polythioether-rapid-2", "silicone-acetoxy", "silicone-neutral", "grease"}
	for _, c := range []struct {
		word  string
		known []string
		first string
	}{
		{"aplication", keys, "application"},
		{"Tack-Free", keys, "tack-free"},
		{"tackfree", keys, "tack-free"},
		{"fullcure", keys, "full-cure"},
		{"crue", keys, "cure"},
		{"polysulphide-b-2", ids, "polysulfide-b-2"},
		{"polysulfide-b2", ids, "polysulfide-b-2"},
		{"b-2", ids, "polysulfide-b-2"},
		{"silicone", ids, "silicone-acetoxy"},
	} {
		got := Names(c.word, c.known, 3)
		if assert.NotEmpty(t, got, c.word) {
			assert.Equal(t, c.first, got[0], c.word)
		}
		assert.LessOrEqual(t, len(got), 3)
	}
}

func TestNothingAlikeGivesNoNames(t *testing.T) {
	assert.Empty(t, Names("zzzzzz", []string{"cure", "handling"}, 3))
	assert.Empty(t, Names("", []string{"cure"}, 3))
	assert.Empty(t, Names("cure", nil, 3))
	assert.Empty(t, Names("cure", []string{"cure"}, 0))
}
