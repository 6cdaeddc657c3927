package picture

import (
	"slices"

	"gonum.org/v1/plot/vg"
)

// spread moves labels of given heights, wanted with their middles at heights of the
// page, as little as keeps them apart and within [lo, hi]. Those that would overlap
// become one block around the mean of where they want to be. Labels too many for the
// room overlap all the same.
func spread(want, heights []vg.Length, lo, hi vg.Length) []vg.Length {
	type block struct {
		sum, size vg.Length // of what its labels want, each shifted to the block's foot; of heights
		labels    []int
	}
	order := make([]int, len(want))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case want[a] < want[b]:
			return -1
		case want[a] > want[b]:
			return 1
		}
		return b - a // of two alike the first stands above
	})
	foot := func(b block) vg.Length {
		return max(lo, min(hi-b.size, b.sum/vg.Length(len(b.labels))))
	}
	var blocks []block
	for _, i := range order {
		b := block{want[i] - heights[i]/2, heights[i], []int{i}}
		for n := len(blocks); n > 0 && foot(blocks[n-1])+blocks[n-1].size > foot(b); n-- {
			low := blocks[n-1]
			b = block{low.sum + b.sum - low.size*vg.Length(len(b.labels)), low.size + b.size, append(low.labels, b.labels...)}
			blocks = blocks[:n-1]
		}
		blocks = append(blocks, b)
	}
	at := make([]vg.Length, len(want))
	for _, b := range blocks {
		y := foot(b)
		for _, i := range b.labels {
			at[i] = y + heights[i]/2
			y += heights[i]
		}
	}
	return at
}

// rows gives labels that start at heights x of a line and are so wide a row each, 0
// being the lowest, so that none overlaps another and a leader that falls from the
// start of a label meets none on its way down.
func rows(x, widths []vg.Length) []int {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case x[a] > x[b]:
			return -1
		case x[a] < x[b]:
			return 1
		}
		return b - a
	})
	row := make([]int, len(x))
	for n, i := range order {
		for _, right := range order[:n] {
			if x[right] < x[i]+widths[i] {
				row[i] = max(row[i], row[right]+1)
			}
		}
	}
	return row
}
