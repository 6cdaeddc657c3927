package learn

// atoms are those that conflicts have met, in a heap by how much they did lately (VSIDS:
// M.W. Moskewicz et al., "Chaff", DAC 2001).
type atoms struct {
	id     map[Atom]int32 // of the atom on a lower bound; x ≤ v stands for x ≥ v+1
	atom   []Atom
	act    []float64
	heap   []int32
	where  []int32 // place in the heap; −1: out
	popped []int32
	inc    float64
}

func (h *atoms) init() {
	h.id, h.inc = map[Atom]int32{}, 1
}

const (
	forgetting = 1 / 0.95 // growth of what one conflict counts, against the one before
	overflow   = 1e100
	mostAtoms  = 1 << 18
)

// lower is the atom on the lower bound that says the same or the contrary.
func lower(a Atom) Atom {
	if a.B&1 == 1 {
		return a.Not()
	}
	return a
}

func (h *atoms) bump(a Atom) {
	a = lower(a)
	k, ok := h.id[a]
	if !ok {
		k = int32(len(h.atom))
		h.id[a] = k
		h.atom, h.act, h.where = append(h.atom, a), append(h.act, 0), append(h.where, -1)
		h.push(k)
	}
	if h.act[k] += h.inc; h.act[k] > overflow {
		for i := range h.act {
			h.act[i] /= overflow
		}
		h.inc /= overflow
	}
	if h.where[k] >= 0 {
		h.up(int(h.where[k]))
	}
}

func (h *atoms) decay() { h.inc *= forgetting }

// trim forgets the atoms of least use where there are too many. It is to be called
// without decisions.
func (h *atoms) trim() {
	if len(h.atom) < mostAtoms {
		return
	}
	sum := 0.0
	for _, a := range h.act {
		sum += a
	}
	old, mean := *h, sum/float64(len(h.act))
	h.id, h.atom, h.act, h.where, h.heap, h.popped = map[Atom]int32{}, nil, nil, nil, nil, nil
	for k, a := range old.atom {
		if old.act[k] >= mean {
			n := int32(len(h.atom))
			h.id[a] = n
			h.atom, h.act, h.where = append(h.atom, a), append(h.act, old.act[k]), append(h.where, -1)
			h.push(n)
		}
	}
}

// take removes the atom that did most.
func (h *atoms) take() (Atom, bool) {
	if len(h.heap) == 0 {
		return Atom{}, false
	}
	k := h.heap[0]
	h.popped = append(h.popped, k)
	last := h.heap[len(h.heap)-1]
	h.heap = h.heap[:len(h.heap)-1]
	h.where[k] = -1
	if k != last {
		h.heap[0], h.where[last] = last, 0
		h.down(0)
	}
	return h.atom[k], true
}

// back puts what was taken since back into the heap.
func (h *atoms) back(to int) {
	for _, k := range h.popped[to:] {
		if h.where[k] < 0 {
			h.push(k)
		}
	}
	h.popped = h.popped[:to]
}

func (h *atoms) push(k int32) {
	h.where[k] = int32(len(h.heap))
	h.heap = append(h.heap, k)
	h.up(len(h.heap) - 1)
}

func (h *atoms) up(i int) {
	k := h.heap[i]
	for i > 0 {
		p := (i - 1) / 2
		if h.act[h.heap[p]] >= h.act[k] {
			break
		}
		h.heap[i] = h.heap[p]
		h.where[h.heap[i]] = int32(i)
		i = p
	}
	h.heap[i], h.where[k] = k, int32(i)
}

func (h *atoms) down(i int) {
	k, n := h.heap[i], len(h.heap)
	for {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && h.act[h.heap[c+1]] > h.act[h.heap[c]] {
			c++
		}
		if h.act[h.heap[c]] <= h.act[k] {
			break
		}
		h.heap[i] = h.heap[c]
		h.where[h.heap[i]] = int32(i)
		i = c
	}
	h.heap[i], h.where[k] = k, int32(i)
}
