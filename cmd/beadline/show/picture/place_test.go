package picture

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

func lengths(t *rapid.T, name string, n int, lo, hi float64) (all []vg.Length) {
	for range n {
		all = append(all, vg.Length(rapid.Float64Range(lo, hi).Draw(t, name)))
	}
	return all
}

func TestSpreadLabelsDoNotOverlapAndStayInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "labels")
		want, heights := lengths(t, "want", n, -50, 450), lengths(t, "height", n, 5, 40)
		at := spread(want, heights, 0, 400)
		order := make([]int, n)
		for i := range order {
			order[i] = i
			require.GreaterOrEqual(t, at[i]-heights[i]/2, vg.Length(-1e-9))
			require.LessOrEqual(t, at[i]+heights[i]/2, vg.Length(400+1e-9))
		}
		slices.SortFunc(order, func(a, b int) int {
			if at[a] < at[b] {
				return -1
			}
			return 1
		})
		for k := 1; k < n; k++ {
			a, b := order[k-1], order[k]
			require.LessOrEqual(t, at[a]+heights[a]/2, at[b]-heights[b]/2+1e-9)
		}
	})
}

func TestLabelsWithRoomStayWhereTheyWantToBe(t *testing.T) {
	assert.Equal(t, []vg.Length{100, 20, 60}, spread([]vg.Length{100, 20, 60}, []vg.Length{10, 10, 10}, 0, 200))
	assert.Equal(t, []vg.Length{55, 45}, spread([]vg.Length{50, 50}, []vg.Length{10, 10}, 0, 200), "alike: the first above")
	assert.Equal(t, []vg.Length{15, 5}, spread([]vg.Length{0, 0}, []vg.Length{10, 10}, 0, 200))
}

func TestLeadersMeetNoLabelOnTheirWayDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "labels")
		x, widths := lengths(t, "x", n, 0, 500), lengths(t, "width", n, 10, 150)
		row := rows(x, widths)
		for i := range n {
			for j := range n {
				if i == j {
					continue
				}
				overlap := x[i] < x[j]+widths[j] && x[j] < x[i]+widths[i]
				require.False(t, overlap && row[i] == row[j], "labels %d and %d", i, j)
				under := x[i] > x[j] && x[i] < x[j]+widths[j] // the leader of i falls through the width of j
				require.False(t, under && row[j] < row[i], "leader %d through label %d", i, j)
			}
		}
	})
}

func TestTextIsBrokenToItsWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		for _, l := range wrap(text, plainText, 200, 3) {
			require.LessOrEqual(t, plainText.width(l), vg.Length(200))
		}
		require.LessOrEqual(t, len(wrap(text, plainText, 200, 3)), 3)
	})
	assert.Equal(t, []string{"short"}, wrap("short", plainText, 200, 3))
	long := wrap("aaaaaaaaaaaaaaaaaaaa bbbbbbbbbbbbbbbbbbbbbbbbb cccccccccccccccc", plainText, 60, 2)
	require.Len(t, long, 2)
	assert.Contains(t, long[1], "…")
}
