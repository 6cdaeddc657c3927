package cure

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func BenchmarkDegreeAlongARamp(b *testing.B) {
	h := history(b, 24, Piece{Name: "oven", Samples: readings(1, Air{20, 5}, Air{177, 5})})
	cl := &Class{ID: "x", Degree: tgddm()}
	for b.Loop() {
		c, err := (&Site{Air: h}).Degree(cl, t0, 0, Warmth{})
		require.NoError(b, err)
		_, ok := c.Reach(0.9)
		require.True(b, ok)
	}
}
