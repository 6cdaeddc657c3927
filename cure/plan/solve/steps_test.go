package solve

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/plan/solve/learn"
)

// wideLadder draws a non-decreasing function over 0 to n, also of negative values, flat
// stretches, long leaps, and Never at its end.
func (d draw) wideLadder(n int) ladder {
	out := make(ladder, n+1)
	v := d.from(-2*n-2, n)
	for t := range out {
		switch d(5) {
		case 0, 1:
			v += d(3)
		case 2:
			v += d(n + 2)
		}
		out[t] = v
	}
	if d.oneIn(3) {
		for t := d(n + 2); t <= n; t++ {
			out[t] = Never
		}
	}
	return out
}

// needIsLeast checks that Need(q) is the smallest argument of [lo, hi] from which Push
// gives q or more; before lo and past hi nothing is asked.
func needIsLeast(t require.TestingT, s learn.Step, lo, hi, qlo, qhi int) {
	for v := lo; v < hi; v++ {
		require.LessOrEqual(t, s.Push(int32(v)), s.Push(int32(v+1)), "Push falls between %d and %d", v, v+1)
	}
	for q := qlo; q <= qhi; q++ {
		want := hi + 1
		for v := hi; v >= lo && s.Push(int32(v)) >= int32(q); v-- {
			want = v
		}
		got := int(s.Need(int32(q)))
		switch {
		case want == lo:
			require.LessOrEqual(t, got, lo, "%T: Need(%d)", s, q)
		case want > hi:
			require.Greater(t, got, hi, "%T: Need(%d)", s, q)
		default:
			require.Equal(t, want, got, "%T: Need(%d)", s, q)
		}
	}
}

func TestNeedIsTheLeastFromWhichPushIsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapidly(t)
		h := d(25)
		f := d.wideLadder(h)
		dx, dy := d(4), d(4)
		table := func() *table { return (&net{m: &Model{Horizon: h}, steps: map[stepKey]*table{}}).step(f, dx, dy) }
		most := h - dx // the last argument at which a task may stand
		if most < 0 {
			return
		}
		// From lower bounds of x, values of 0 to past the horizon are asked for, from upper
		// bounds their negatives.
		needIsLeast(t, floor{table()}, 0, most, -2*h, h+5)
		needIsLeast(t, floorBack{table()}, -h, 0, -most, 0)
		needIsLeast(t, ceiling{table()}, -most, 0, -h-2, 2*h)
		needIsLeast(t, ceilingBack{table()}, 0, h, 1, most+1)
		// The four say what the function says.
		up, back, down, under := floor{table()}, floorBack{table()}, ceiling{table()}, ceilingBack{table()}
		for x := range most + 1 {
			v := f.At(x+dx) - dy
			if f.At(x+dx) == Never {
				v = learn.Limit
			}
			assert.EqualValues(t, v, up.Push(int32(x)))
			assert.EqualValues(t, -v, down.Push(int32(-x)))
			for y := range h + 1 {
				assert.Equal(t, y >= v, -x >= int(back.Push(int32(-y))), "y ≥ f(x), x %d, y %d", x, y)
				assert.Equal(t, y <= v, x >= int(under.Push(int32(y))), "y ≤ f(x), x %d, y %d", x, y)
			}
		}
	})
}

func TestHolesCarryToTheNextTickAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapidly(t)
		ws := join(d.windows(30))
		if len(ws) == 0 {
			return
		}
		if d.oneIn(3) {
			for i := range ws {
				ws[i].From -= 9
				ws[i].To -= 9
			}
		}
		h := &holes{ws}
		first, last := ws[0].From, ws[len(ws)-1].To-1
		open := func(x int) bool {
			return slices.ContainsFunc(ws, func(w Window) bool { return w.From <= x && x < w.To })
		}
		for x := first - 4; x <= last+4; x++ {
			next, before := x, x
			for ; next <= last && !open(next); next++ {
			}
			for ; before >= first && !open(before); before-- {
			}
			if next > last {
				next = learn.Limit
			}
			if before < first {
				before = -learn.Limit
			}
			assert.EqualValues(t, next, up{h}.Push(int32(x)), "%v after %d", ws, x)
			assert.EqualValues(t, -before, down{h}.Push(int32(-x)), "%v before %d", ws, x)
		}
		needIsLeast(t, up{h}, first-4, last+4, first-6, last+6)
		needIsLeast(t, down{h}, -last-4, -first+4, -last-6, -first+6)
	})
}

func TestTableAsksOnceAndIsSharedByWhatIsTheSame(t *testing.T) {
	asked := 0
	f := NewCalls(func(t int) int { asked++; return t + 3 })
	n := &net{m: &Model{Horizon: 3000}, steps: map[stepKey]*table{}}
	a, b := n.step(f, 1, 2), n.step(f, 1, 2)
	assert.Same(t, a, b)
	assert.NotSame(t, a, n.step(f, 1, 3))
	for range 3 {
		assert.EqualValues(t, 2502, a.at(2500))
	}
	assert.Equal(t, 1, asked)
	assert.EqualValues(t, -learn.Limit, a.at(-1))
	assert.EqualValues(t, learn.Limit, a.at(3000), "it would end past the horizon")
	l := ladder{1, 2}
	assert.NotSame(t, n.step(l, 0, 0), n.step(l, 0, 0), "what cannot be compared is not shared")
	for _, v := range []int32{5, 2900, 7, 2999, 1, 1500} {
		assert.EqualValues(t, max(0, v-2), a.least(v), "wherever the search for the last one ended")
	}
}
