package solve

import (
	"reflect"
	"slices"

	"beadline/cure/plan/solve/learn"
)

// table is a function of time as the engine needs it, asked as seldom as can be: its
// answers are kept, and searches begin near the last one. A function of cure is dear to
// ask, and dearer the later.
type table struct {
	f      Func
	dx, dy int
	pages  [][]int32 // by argument from 0, in pages made when first asked
	most   int       // largest argument
	grid   int       // ticks between those asked where a rougher answer will do
	takes  int       // value less argument where it was asked last: what an answer is guessed by
}

const (
	unasked = -learn.Limit - 1
	page    = 1 << 10 // arguments to a page
)

type stepKey struct {
	fn     Func
	dx, dy int
}

// step makes a table of f with dx added to its argument and dy taken off its value, so
// that it runs from start to start.
func (n *net) step(f Func, dx, dy int) *table {
	shared := reflect.ValueOf(f).Comparable()
	if shared {
		if t, ok := n.steps[stepKey{f, dx, dy}]; ok {
			return t
		}
	}
	t := &table{f: f, dx: dx, dy: dy, most: n.m.Horizon, grid: 1, pages: make([][]int32, n.m.Horizon/page+1)}
	if g, ok := f.(interface{ Grid() int }); ok && !n.exact {
		t.grid = max(1, g.Grid())
	}
	if shared {
		n.steps[stepKey{f, dx, dy}] = t
	}
	return t
}

// at is the value for an argument; before 0 it is least, and past the horizon most.
func (t *table) at(x int) int32 {
	switch {
	case x < 0:
		return -learn.Limit
	case x+max(0, t.dx) > t.most: // no task is there
		return learn.Limit
	}
	pg := t.pages[x/page]
	if pg == nil {
		pg = make([]int32, page)
		for i := range pg {
			pg[i] = unasked
		}
		t.pages[x/page] = pg
	}
	if v := pg[x%page]; v != unasked {
		return v
	}
	v := t.f.At(x + t.dx)
	if v >= Never {
		v = learn.Limit
	} else {
		v = max(-learn.Limit, min(v-t.dy, learn.Limit))
		t.takes = v - x
	}
	pg[x%page] = int32(v)
	return int32(v)
}

// guess is an argument whose value may be near v. Galloping from there asks little and
// nothing far out.
func (t *table) guess(v int32) int { return max(0, min(int(v)-t.takes, t.most)) }

// least is the smallest argument with a value of v or more.
func (t *table) least(v int32) int {
	lo, hi := -1, t.guess(v) // lo has less, hi has enough
	if t.at(hi) >= v {
		for d := 1; ; d *= 2 {
			k := max(-1, hi-d)
			if t.at(k) < v {
				lo = k
				break
			}
			hi = k
		}
	} else {
		for d := 1; hi <= t.most && t.at(hi) < v; d *= 2 {
			lo, hi = hi, min(t.most+1, hi+d)
		}
	}
	for lo+1 < hi {
		if m := lo + (hi-lo)/2; t.at(m) >= v {
			hi = m
		} else {
			lo = m
		}
	}
	return hi
}

// roughly is least, or the first tick of the grid after it.
func (t *table) roughly(v int32) int {
	if t.grid == 1 {
		return t.least(v)
	}
	// dx keeps the function itself on the ticks of the grid.
	point := func(k int) int { return k*t.grid - t.dx }
	last := (t.most + t.dx + t.grid - 1) / t.grid
	lo, hi := -1, max(0, min((t.guess(v)+t.dx)/t.grid, last))
	if t.at(point(hi)) >= v {
		for d := 1; ; d *= 2 {
			k := max(-1, hi-d)
			if k < 0 || t.at(point(k)) < v {
				lo = k
				break
			}
			hi = k
		}
	} else {
		for d := 1; hi <= last && t.at(point(hi)) < v; d *= 2 {
			lo, hi = hi, min(last+1, hi+d)
		}
	}
	for lo+1 < hi {
		if m := lo + (hi-lo)/2; t.at(point(m)) >= v {
			hi = m
		} else {
			lo = m
		}
	}
	return min(max(0, point(hi)), t.most+1)
}

// floor is y ≥ f(x) from the lower bound of x to that of y; floorBack from the upper
// bound of y, as a lower bound of its negative, to that of x.
type (
	floor     struct{ t *table }
	floorBack struct{ t *table }
)

func (s floor) Push(v int32) int32 { return s.t.at(int(v)) }
func (s floor) Need(q int32) int32 { return int32(s.t.least(q)) }

// The largest x with f(x) ≤ −v is one before the first with more, or on a grid a little
// later: that is no mistake, for floor has the last word.
func (s floorBack) Push(v int32) int32 { return int32(1 - s.t.roughly(1-v)) }
func (s floorBack) Need(q int32) int32 { return 1 - s.t.at(int(1-q)) }

// ceiling is y ≤ f(x) from the upper bound of x to that of y; ceilingBack from the lower
// bound of y to that of x.
type (
	ceiling     struct{ t *table }
	ceilingBack struct{ t *table }
)

func (s ceiling) Push(v int32) int32 { return -s.t.at(int(-v)) }
func (s ceiling) Need(q int32) int32 { return int32(1 - s.t.least(1-q)) }

func (s ceilingBack) Push(v int32) int32 { return int32(s.t.least(v)) }
func (s ceilingBack) Need(q int32) int32 { return 1 + s.t.at(int(q-1)) }

// holes are the ticks outside windows, in order, none of which touch.
type holes struct{ ws []Window }

// up carries a lower bound over a hole to the next window; down an upper bound back.
type (
	up   struct{ h *holes }
	down struct{ h *holes }
)

// next is the first window that ends after a tick; len: none.
func (h *holes) next(t int) int {
	i, _ := slices.BinarySearchFunc(h.ws, t, func(w Window, t int) int {
		if w.To <= t {
			return -1
		}
		return 1
	})
	return i
}

func (s up) Push(v int32) int32 {
	i := s.h.next(int(v))
	if i == len(s.h.ws) {
		return learn.Limit
	}
	return max(v, int32(s.h.ws[i].From))
}

// Need is the start of the hole that carries to q, or q itself.
func (s up) Need(q int32) int32 {
	// The first tick from which the next allowed one is q or later: one past the last
	// allowed tick before q.
	ws := s.h.ws
	i := s.h.next(int(q))
	if i < len(ws) && int32(ws[i].From) < q {
		return q
	}
	if i == 0 {
		return -learn.Limit
	}
	return int32(ws[i-1].To)
}

func (s down) Push(v int32) int32 {
	ws := s.h.ws
	i := s.h.next(int(-v))
	if i < len(ws) && ws[i].From <= int(-v) {
		return v
	}
	if i == 0 {
		return learn.Limit
	}
	return int32(-(ws[i-1].To - 1))
}

func (s down) Need(q int32) int32 {
	// The largest tick from which the last allowed one is −q or earlier: one before the
	// first allowed tick after −q.
	ws := s.h.ws
	t := int(-q)
	i := s.h.next(t + 1)
	if i == len(ws) {
		return -learn.Limit
	}
	return int32(1 - max(t+1, ws[i].From))
}
