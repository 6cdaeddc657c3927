package solve

import (
	"math/bits"
	"slices"
)

// exact answers models that are too large to try everything in. It places the task with
// the fewest ways left and strikes out the ways of others that contradict it. The ways
// themselves are the oracle's, counted tick by tick; it shares nothing with the search.
type exact struct {
	o     *oracle
	of    []int    // by way: its task
	ways  []option // of all tasks
	rows  [][]uint64
	nodes int
	see   func() bool // of a whole schedule; true ends the search
}

// maxNodes is how many placings are tried before exact gives up.
const maxNodes = 200_000

func newExact(m *Model) *exact {
	x := &exact{o: newOracle(m)}
	for j, ws := range x.o.ways {
		for _, w := range ws {
			x.of, x.ways = append(x.of, j), append(x.ways, w)
		}
	}
	x.rows = make([][]uint64, len(x.ways))
	return x
}

// row is which ways go together with way a.
func (x *exact) row(a int) []uint64 {
	if x.rows[a] == nil {
		x.rows[a] = make([]uint64, (len(x.ways)+63)/64)
		for b := range x.ways {
			if x.together(a, b) {
				x.rows[a][b/64] |= 1 << (b % 64)
			}
		}
	}
	return x.rows[a]
}

func (x *exact) together(a, b int) bool {
	i, k, v, w := x.of[a], x.of[b], x.ways[a], x.ways[b]
	if i == k {
		return a == b
	}
	m := x.o.m
	if v.who&w.who != 0 && (v.start < w.end && w.start < v.end || slices.Contains(m.Tasks[i].NotBy, k)) {
		return false
	}
	for n := range m.Lags {
		l := &m.Lags[n]
		if l.From == i && l.To == k && !kept(l, v, w) || l.From == k && l.To == i && !kept(l, w, v) {
			return false
		}
	}
	return true
}

func kept(l *Lag, from, to option) bool {
	at := func(w option, e End) int {
		if e == AtStart {
			return w.start
		}
		return w.end
	}
	v, t := l.Fn.At(at(from, l.FromAt)), at(to, l.ToAt)
	return l.Max && t <= v || !l.Max && t >= v
}

// alone reports whether a way keeps the lags of its task to itself.
func (x *exact) alone(a int) bool {
	for n := range x.o.m.Lags {
		if l := &x.o.m.Lags[n]; l.From == x.of[a] && l.To == x.of[a] && !kept(l, x.ways[a], x.ways[a]) {
			return false
		}
	}
	return true
}

// try goes through the schedules that have only ways that pass, under every way of the
// choices. It is false where it gave up.
func (x *exact) try(pass func(task int, w option) bool) bool {
	all := make([]uint64, (len(x.ways)+63)/64)
	for a, w := range x.ways {
		if pass(x.of[a], w) && x.alone(a) {
			all[a/64] |= 1 << (a % 64)
		}
	}
	x.nodes = 0
	end := false
	x.o.eachWay(func() {
		end = end || x.place(all)
	})
	return x.nodes <= maxNodes
}

// place settles the rest of a schedule; true ends the search.
func (x *exact) place(left []uint64) bool {
	if x.nodes++; x.nodes > maxNodes {
		return true
	}
	n := make([]int, len(x.o.m.Tasks))
	for i, word := range left {
		for ; word != 0; word &= word - 1 {
			n[x.of[64*i+bits.TrailingZeros64(word)]]++
		}
	}
	best := -1
	for j := range n {
		if !x.o.placed[j] && !x.o.absent[j] && (best < 0 || n[j] < n[best]) {
			best = j
		}
	}
	if best < 0 {
		return x.see()
	}
	for a := range x.ways {
		if x.of[a] != best || left[a/64]>>(a%64)&1 == 0 {
			continue
		}
		x.o.chosen[best], x.o.placed[best] = x.ways[a], true
		if x.o.enough(x.ways[a]) {
			next := slices.Clone(left)
			for i, word := range x.row(a) {
				next[i] &= word
			}
			if x.place(next) {
				x.o.placed[best] = false
				return true
			}
		}
		x.o.placed[best] = false
	}
	return false
}

// earliest is as in the oracle; sure is false where it gave up.
func (x *exact) earliest() (ready int, ok, sure bool) {
	r := x.o.m.Ready
	var ends []int
	for _, w := range x.o.ways[r] {
		ends = append(ends, w.end)
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	x.see = func() bool { ok = true; return true }
	if sure = x.try(func(int, option) bool { return true }); !ok {
		return 0, false, sure
	}
	for _, t := range ends {
		ok = false
		if !x.try(func(j int, w option) bool { return j != r || w.end == t }) {
			return 0, true, false
		}
		if ok {
			return t, true, true
		}
	}
	panic("a schedule that ends at no end")
}
