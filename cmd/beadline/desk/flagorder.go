package desk

import (
	"cmp"
	"container/heap"
	"slices"

	"github.com/rickb777/date"
)

// The order of flagged rows. Each is a key and an offset, sixteen bytes; every stretch
// of the list is sorted by itself, and the stretches are merged when the rows are
// wanted.

// entry is a flagged row. The key holds, from the top: two bits of section, one that
// is set where there is a date, 29 of the day, 32 of the line within its stretch. at
// holds 16 bits of place and 48 of offset.
type entry struct{ key, at uint64 }

const (
	entryBytes = 16
	offsetBits = 48
	lineBits   = 32
	dayBits    = 29
	maxLines   = 1<<lineBits - 1
)

// keyOf is the key of a row without its line.
func keyOf(s Section, last date.Date, dated bool) uint64 {
	key := uint64(s) << (lineBits + dayBits + 1)
	if dated {
		const mid = 1 << (dayBits - 1)
		day := min(max(int64(last.DaysSinceEpoch())+mid, 0), 1<<dayBits-1)
		key |= 1<<(lineBits+dayBits) | uint64(day)<<lineBits
	}
	return key
}

func byKey(a, b entry) int { return cmp.Compare(a.key, b.key) }

// byPlace is the order by location: of places by rank, within each by key.
func byPlace(a, b entry) int {
	if d := cmp.Compare(a.place(), b.place()); d != 0 {
		return d
	}
	return cmp.Compare(a.key, b.key)
}

func (e entry) place() uint16    { return uint16(e.at >> offsetBits) }
func (e entry) offset() int64    { return int64(e.at & (1<<offsetBits - 1)) }
func (e entry) section() Section { return Section(e.key >> (lineBits + dayBits + 1)) }
func (e entry) line() int        { return int(e.key & maxLines) }

// run is the flagged rows of one stretch, in order.
type run struct {
	entries []entry
	before  int // lines of the list before the stretch
}

// ref is a flagged row to read again.
type ref struct {
	key    uint64 // without the line
	offset int64
	line   int // of the list
}

// section are the rows of one section of a group, in order.
func (f *Flags) section(g Group, s Section) *merge {
	m := &merge{}
	before := func(last Section) func(e entry, _ struct{}) int {
		return func(e entry, _ struct{}) int {
			if e.place() < g.rank || e.place() == g.rank && e.section() < last {
				return -1
			}
			return 1
		}
	}
	for _, r := range f.runs {
		from, _ := slices.BinarySearchFunc(r.entries, struct{}{}, before(s))
		to, _ := slices.BinarySearchFunc(r.entries, struct{}{}, before(s+1))
		if to > from {
			m.runs = append(m.runs, run{r.entries[from:to], r.before})
		}
	}
	heap.Init(m)
	return m
}

// merge hands out the rows of several runs in order. It is a heap of runs by their
// first rows.
type merge struct{ runs []run }

func (m *merge) Len() int      { return len(m.runs) }
func (m *merge) Swap(i, j int) { m.runs[i], m.runs[j] = m.runs[j], m.runs[i] }
func (m *merge) Less(i, j int) bool {
	a, b := &m.runs[i], &m.runs[j]
	return a.entries[0].key+uint64(a.before) < b.entries[0].key+uint64(b.before)
}

// Push is for container/heap; nothing is pushed.
func (m *merge) Push(x any) { m.runs = append(m.runs, x.(run)) }

// Pop is for container/heap.
func (m *merge) Pop() any {
	last := m.runs[len(m.runs)-1]
	m.runs = m.runs[:len(m.runs)-1]
	return last
}

// take appends the next rows to refs, as many as it has room for.
func (m *merge) take(refs []ref) []ref {
	for len(m.runs) > 0 && len(refs) < cap(refs) {
		r := &m.runs[0]
		e := r.entries[0]
		refs = append(refs, ref{e.key &^ maxLines, e.offset(), e.line() + r.before})
		if r.entries = r.entries[1:]; len(r.entries) == 0 {
			heap.Pop(m)
		} else {
			heap.Fix(m, 0)
		}
	}
	return refs
}
