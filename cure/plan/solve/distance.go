package solve

// noWay is a distance where no lag leads.
const noWay = -(1 << 30)

// maxDistances bounds the tasks of which all distances are worked out: the time goes with
// the third power.
const maxDistances = 400

// distances works out the longest way from the start of every task to that of every
// other along lags of constant length (Floyd and Warshall). A task that may be left out
// is no stepping stone between others that may be done without it.
func (n *net) distances() {
	k := len(n.m.Tasks)
	if k > maxDistances {
		return
	}
	n.far = make([][]int32, k)
	for i := range n.far {
		n.far[i] = make([]int32, k)
		for j := range n.far[i] {
			n.far[i][j] = noWay
		}
		n.far[i][i] = 0
	}
	most := n.m.Horizon + 1 // further than that is as good as never
	raise := func(i, j, w int) { n.far[i][j] = max(n.far[i][j], int32(max(noWay, min(w, most)))) }
	length := func(task int, e End) (d int, exact bool) {
		t := &n.m.Tasks[task]
		if e == AtStart {
			return 0, true
		}
		return t.Duration, !t.pauses()
	}
	for _, l := range n.m.Lags {
		c, ok := l.constant()
		if !ok {
			continue
		}
		x, fixed := length(l.From, l.FromAt)
		y, fixedToo := length(l.To, l.ToAt)
		// The end of a task that pauses is its duration after its start or later.
		if !l.Max && fixedToo {
			raise(l.From, l.To, x+c-y)
		}
		if l.Max && fixed {
			raise(l.To, l.From, y-c-x)
		}
	}
	for m := range k {
		for i := range k {
			a := n.far[i][m]
			if a == noWay {
				continue
			}
			for j := range k {
				if b := n.far[m][j]; b != noWay && a+b > n.far[i][j] && n.between(i, m, j) {
					n.far[i][j] = min(a+b, int32(most))
				}
			}
		}
	}
}

// between reports whether task m is done wherever i and j both are.
func (n *net) between(i, m, j int) bool {
	for _, p := range n.m.Tasks[m].If {
		found := false
		for _, q := range [2]int{i, j} {
			for _, r := range n.m.Tasks[q].If {
				found = found || r == p
			}
		}
		if !found {
			return false
		}
	}
	return true
}

// leads reports whether lags alone keep the start of k behind the end of i.
func (n *net) leads(i, k int) bool {
	if n.far == nil {
		return false
	}
	if n.m.Tasks[i].pauses() {
		return n.follows(i, k)
	}
	return n.far[i][k] >= int32(n.m.Tasks[i].Duration)
}

// follows reports whether some lag from the end of i, which may pause, leads to k.
func (n *net) follows(i, k int) bool {
	for _, l := range n.m.Lags {
		w, ok := l.constant()
		if !ok || l.Max || l.From != i || l.FromAt != AtEnd {
			continue
		}
		if l.ToAt == AtEnd {
			if n.m.Tasks[l.To].pauses() {
				continue
			}
			w -= n.m.Tasks[l.To].Duration
		}
		if d := n.far[l.To][k]; d != noWay && w+int(d) >= 0 && n.between(i, l.To, k) {
			return true
		}
	}
	return false
}
