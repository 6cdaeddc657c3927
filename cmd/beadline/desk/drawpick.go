package desk

import (
	"slices"

	"beadline/catalog/stock"
)

// Which pot gets which packs.

// taking is an amount of one row, in what the row counts.
type taking struct {
	lot    *lot
	amount float64
}

// picker promises rows to the pots of one class. Each pot in turn takes the first batch
// that is good for it and holds enough, so that what ends first is drawn first. Where
// that leaves more pots without than need be, an earlier one takes another batch instead.
type picker struct {
	needs  []*need // in the order in which they choose
	taken  [][]taking
	choice func(*need) []*lot // rows in the order to draw them in
	good   func(*lot, *need) bool

	bent  bool // an earlier pot had to stand back
	looks int  // rows that may still be looked at
}

// maxLooks bounds the search for a way to serve every pot.
const maxLooks = 200_000

// picker makes the picker for the pots of a class. Those whose named batch is good choose
// first: the job wants it for them.
func (d *drawer) picker(pots []*need) *picker {
	k := &picker{needs: slices.Clone(pots), good: func(l *lot, n *need) bool { return d.fit(l, n).good }}
	own := map[*need][]*lot{}
	all := map[*need][]*lot{}
	for _, n := range pots {
		lots := d.ranked(d.ofClass(n.class), n)
		all[n] = lots
		if n.named == "" {
			continue
		}
		for _, l := range lots {
			if l.row.Item.Batch == n.named && k.good(l, n) {
				own[n] = append(own[n], l)
			}
		}
	}
	slices.SortStableFunc(k.needs, func(a, b *need) int { return truth(own[a] == nil) - truth(own[b] == nil) })
	k.choice = func(n *need) []*lot {
		if enough(own[n], n) {
			return own[n]
		}
		return all[n]
	}
	return k
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// pick serves the pots; false says that some go without, and need.short of how much.
func (k *picker) pick() bool {
	k.taken = make([][]taking, len(k.needs))
	if without := k.inTurn(); without > 0 {
		for most := k.least(); most < without && !k.bent; most++ {
			k.giveBack()
			k.looks = maxLooks
			k.bent = k.fill(0, most)
		}
		if !k.bent {
			k.giveBack()
			k.inTurn()
		}
	}
	whole := true
	for i, n := range k.needs {
		if k.taken[i] != nil {
			continue
		}
		whole = false
		k.taken[i] = k.most(k.choice(n), n)
		n.short = n.packs
		for _, t := range k.taken[i] {
			n.short -= int(t.amount)
		}
	}
	return whole
}

// inTurn serves one pot after the other, and says how many go without.
func (k *picker) inTurn() (without int) {
	for i, n := range k.needs {
		lots := k.choice(n)
		for _, l := range lots {
			if !k.good(l, n) {
				continue
			}
			if k.taken[i] = k.pull(l, lots, n, false); k.taken[i] != nil {
				break
			}
		}
		if k.taken[i] == nil {
			without++
		}
	}
	return without
}

// least is how many pots at least go without, however the packs are shared out; of rows
// that are measured out it is not known, and 0.
func (k *picker) least() int {
	k.giveBack()
	have, some := 0.0, map[*lot]bool{}
	for _, n := range k.needs {
		for _, l := range k.choice(n) {
			if some[l] || !k.good(l, n) {
				continue
			}
			if l.by != stock.ByPack {
				return 0
			}
			some[l] = true
			have += l.left
		}
	}
	packs := make([]int, 0, len(k.needs))
	for _, n := range k.needs {
		packs = append(packs, n.packs)
	}
	slices.Sort(packs) // the smallest first: as many as can be
	for i, n := range packs {
		if have -= float64(n); have < 0 {
			return len(packs) - i
		}
	}
	return 0
}

// fill serves the pots from the i-th on, each with the first batch that leaves at most so
// many of all without.
func (k *picker) fill(i, without int) bool {
	if i == len(k.needs) {
		return true
	}
	n := k.needs[i]
	lots := k.choice(n)
	tried := map[batchOf]bool{}
	for _, l := range lots {
		if k.looks--; k.looks < 0 {
			return false
		}
		if tried[l.batch()] || !k.good(l, n) {
			continue
		}
		tried[l.batch()] = true
		if k.taken[i] = k.pull(l, lots, n, false); k.taken[i] == nil {
			continue
		}
		if k.fill(i+1, without) {
			return true
		}
		k.back(i)
	}
	return without > 0 && k.fill(i+1, without-1)
}

// most takes what the batch with the most packs has for a pot.
func (k *picker) most(lots []*lot, n *need) []taking {
	var best []taking
	count := 0.0
	for _, l := range lots {
		if l.by != stock.ByPack || l.left == 0 || !k.good(l, n) {
			continue
		}
		took := k.pull(l, lots, n, true)
		sum := 0.0
		for _, t := range took {
			sum += t.amount
			t.lot.left += t.amount
		}
		if sum > count {
			best, count = took, sum
		}
	}
	for _, t := range best {
		t.lot.left -= t.amount
	}
	return best
}

// pull takes what a pot needs of one batch, from its containers in their order; nothing
// if that is not enough, unless a part will do.
func (k *picker) pull(first *lot, lots []*lot, n *need, part bool) []taking {
	need, ok := n.amount(first)
	if !ok {
		return nil
	}
	var out []taking
	for _, l := range lots {
		if l.batch() != first.batch() || l.by != first.by || l.left <= 0 || need <= dust || !k.good(l, n) {
			continue
		}
		t := taking{l, min(need, l.left)}
		l.left, need = l.left-t.amount, need-t.amount
		out = append(out, t)
	}
	if need > dust && !part {
		for _, t := range out {
			t.lot.left += t.amount
		}
		return nil
	}
	return out
}

// dust is what sums of ml and g may be off by.
const dust = 1e-6

// amount is what a pot takes, in what a row counts; ok is false where that is not known.
func (n *need) amount(l *lot) (amount float64, ok bool) {
	switch l.by {
	case stock.ByPack:
		return float64(n.packs), true
	case stock.ByML:
		return n.ml, n.ml > 0
	case stock.ByGram:
		return n.grams, n.grams > 0
	}
	return 0, false
}

// enough reports whether rows of one batch hold enough for a pot.
func enough(lots []*lot, n *need) bool {
	sum := map[stock.Measure]float64{}
	for _, l := range lots {
		sum[l.by] += l.left
		if a, ok := n.amount(l); ok && sum[l.by] >= a-dust {
			return true
		}
	}
	return false
}

func (k *picker) back(i int) {
	for _, t := range k.taken[i] {
		t.lot.left += t.amount
	}
	k.taken[i] = nil
}

func (k *picker) giveBack() {
	for i := range k.taken {
		k.back(i)
	}
}
