package solve

import (
	"fmt"
	"slices"

	"beadline/cure/plan/solve/learn"
)

// people forbids that one person does two tasks at once, or checks their own work.
func (n *net) people() {
	n.alike()
	for i := range n.m.Tasks {
		if n.late(i) {
			return
		}
		for _, k := range n.m.Tasks[i].NotBy {
			if k < i {
				continue
			}
			for _, p := range n.able[i] {
				if slices.Contains(n.able[k], p) {
					n.e.Clause(n.does[i][p].No(), n.does[k][p].No())
				}
			}
		}
		for k := i + 1; k < len(n.m.Tasks); k++ {
			n.apart(i, k)
		}
	}
	n.headcounts()
}

// apart keeps two tasks of the same person one after the other.
func (n *net) apart(i, k int) {
	var both []int
	for _, p := range n.able[i] {
		if slices.Contains(n.able[k], p) && !n.e.False(n.does[i][p].Yes()) && !n.e.False(n.does[k][p].Yes()) {
			both = append(both, p)
		}
	}
	if len(both) == 0 || n.exclusive(i, k) || n.ordered(i, k) || n.ordered(k, i) {
		return
	}
	ik, ki := n.order(i, k), n.order(k, i)
	for _, p := range both {
		n.e.Clause(n.does[i][p].No(), n.does[k][p].No(), ik, ki)
	}
}

// order is the atom that i ends before k starts.
func (n *net) order(i, k int) learn.Atom {
	v := n.flag()
	x, dx := n.point(i, AtEnd)
	n.e.Before(x, n.start[k], dx, v.Yes())
	return v.Yes()
}

// ordered reports whether i ends before k starts in any case.
func (n *net) ordered(i, k int) bool {
	x, dx := n.point(i, AtEnd)
	return n.e.RootHi(x)+dx <= n.e.RootLo(n.start[k]) || n.leads(i, k)
}

// exclusive reports whether two tasks are never both done.
func (n *net) exclusive(i, k int) bool {
	for _, a := range n.m.Tasks[i].If {
		for _, b := range n.m.Tasks[k].If {
			if a.Choice == b.Choice && a.Way != b.Way {
				return true
			}
		}
	}
	return false
}

// alike puts people who can stand in for each other in order: the next is called on only
// once the one before has been. Without that the search would prove the same thing for
// each of them.
func (n *net) alike() {
	key := func(p int) string {
		q := n.m.People[p]
		skills := slices.Clone(q.Skills)
		slices.Sort(skills)
		return fmt.Sprint(slices.Compact(skills), q.Work, q.Spare)
	}
	last := map[string]int{}
	for p := range n.m.People {
		k := key(p)
		if q, ok := last[k]; ok {
			for j := range n.m.Tasks {
				if !slices.Contains(n.able[j], p) {
					continue
				}
				lead := []learn.Atom{n.does[j][p].No()}
				if n.m.Tasks[j].Crew > 1 {
					lead = append(lead, n.does[j][q].Yes())
				}
				for i := range j {
					if slices.Contains(n.able[i], q) {
						lead = append(lead, n.does[i][q].Yes())
					}
				}
				n.e.Clause(lead...)
			}
		}
		last[k] = p
	}
}

// mostSets bounds the sets of people of which heads are counted.
const mostSets = 24

// headcounts adds, for each set of people that some task needs and for unions of them,
// that no more of them are at work than there are on shift. Tasks that pause hold their
// people from start to end, and what they work counts against the hours of the shifts.
func (n *net) headcounts() {
	var sets [][]int
	add := func(s []int) {
		if len(s) > 0 && !slices.ContainsFunc(sets, func(t []int) bool { return slices.Equal(s, t) }) {
			sets = append(sets, s)
		}
	}
	var all []int
	for j := range n.m.Tasks {
		add(n.able[j])
		for _, p := range n.able[j] {
			if !slices.Contains(all, p) {
				all = append(all, p)
			}
		}
	}
	slices.Sort(all)
	for i := 0; i < len(sets) && len(sets) < mostSets; i++ { // unions too: they may be short where none is
		for _, t := range sets[:i] {
			u := slices.Concat(sets[i], t)
			slices.Sort(u)
			add(slices.Compact(u))
		}
	}
	add(all)
	for _, s := range sets {
		c := newCumulative(n, len(s))
		pausing := false
		for j := range n.m.Tasks {
			if n.m.Tasks[j].Crew == 0 || !subset(n.able[j], s) {
				continue
			}
			c.add(j, n.m.Tasks[j].Crew)
			if k := len(c.parts) - 1; n.end[j] >= 0 && n.m.Tasks[j].Duration > 0 {
				pausing, c.parts[k].loose = true, true
			}
		}
		c.base = n.off(s)
		c.install()
		if !pausing {
			continue
		}
		c = newCumulative(n, len(s))
		for j := range n.m.Tasks {
			if n.m.Tasks[j].Crew > 0 && subset(n.able[j], s) {
				c.add(j, n.m.Tasks[j].Crew)
			}
		}
		c.install()
	}
}

func subset(a, b []int) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return true
}

// off is how many of a set of people are off shift, as steps over time.
func (n *net) off(s []int) []step {
	var edges []int
	for _, p := range s {
		for _, w := range n.m.People[p].Work {
			edges = append(edges, w.From, w.To)
		}
	}
	edges = append(edges, 0)
	edges = slices.DeleteFunc(edges, func(t int) bool { return t < 0 || t > n.m.Horizon })
	slices.Sort(edges)
	edges = slices.Compact(edges)
	var out []step
	for _, t := range edges {
		h := 0
		for _, p := range s {
			if !holding(n.m.People[p].Work, t) {
				h++
			}
		}
		if k := len(out); k == 0 || out[k-1].height != h {
			out = append(out, step{t, h})
		}
	}
	return out
}

// resources adds the resources, and an order of every two tasks that ask together for
// more than there is.
func (n *net) resources() bool {
	cs := make([]*cumulative, len(n.m.Resources))
	for r, res := range n.m.Resources {
		cs[r] = newCumulative(n, res.Units)
	}
	use := make([][]int, len(n.m.Tasks))
	for j, t := range n.m.Tasks {
		use[j] = make([]int, len(cs))
		for _, u := range t.Uses {
			use[j][u.Resource] += u.Units
		}
		for r, c := range cs {
			if use[j][r] > 0 && t.Duration > 0 {
				c.add(j, use[j][r])
			}
		}
	}
	for j, t := range n.m.Tasks {
		for r, c := range cs {
			if use[j][r] > c.cap && t.Duration > 0 && !n.never(j) {
				return false
			}
		}
	}
	for i := range n.m.Tasks {
		if n.late(i) || len(n.m.Tasks) > maxPairs {
			break
		}
		for k := i + 1; k < len(n.m.Tasks); k++ {
			for r := range cs {
				if use[i][r]+use[k][r] > n.m.Resources[r].Units && use[i][r] > 0 && use[k][r] > 0 {
					n.disjoint(i, k)
					break
				}
			}
		}
	}
	for _, c := range cs {
		c.install()
	}
	return true
}

// disjoint puts two tasks one after the other, either way.
func (n *net) disjoint(i, k int) {
	if n.m.Tasks[i].Duration == 0 || n.m.Tasks[k].Duration == 0 || n.exclusive(i, k) || n.ordered(i, k) || n.ordered(k, i) {
		return
	}
	x, dx := n.point(i, AtEnd)
	y, dy := n.point(k, AtEnd)
	if n.on[i] == learn.Always() && n.on[k] == learn.Always() {
		v := n.flag()
		n.e.Before(x, n.start[k], dx, v.Yes())
		n.e.Before(y, n.start[i], dy, v.No())
		return
	}
	some := []learn.Atom{n.order(i, k), n.order(k, i)}
	for _, j := range []int{i, k} {
		if n.on[j] != learn.Always() {
			some = append(some, n.on[j].Not())
		}
	}
	n.e.Clause(some...)
}
