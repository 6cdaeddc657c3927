package show

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A text that is not looked into for quantities has none.
func TestTextWithoutUnitsHasNothingToChange(t *testing.T) {
	piece := rapid.SampledFrom([]string{"C", "°C", "mm", " ", " ", "5", "-18", "2.5", " C", " mm", "ans", "_", "é", "to", "degrees C", " colder", ",", "Cold", "\n"})
	rapid.Check(t, func(t *rapid.T) {
		s := strings.Join(rapid.SliceOfN(piece, 0, 12).Draw(t, "pieces"), "")
		for _, u := range []Units{SI, US} {
			require.Equal(t, u.measures(s), u.Text(s), "%q", s)
		}
	})
}
