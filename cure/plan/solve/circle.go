package solve

// circle looks for a circle of constant lags that no schedule can keep, such as a
// window that is over before the work between its ends is done, and gives a maximum
// lag on it. It is the positive circle of the lag network (Bellman and Ford), found
// at once, where propagation would push the tasks of the circle on to the horizon.
func (m *Model) circle() (lag int, found bool) {
	n := len(m.Tasks)
	type arc struct{ from, to, w, lag int }
	var arcs []arc
	off := func(task int, e End) int {
		if e == AtEnd {
			return m.Tasks[task].Duration
		}
		return 0
	}
	for k, l := range m.Lags {
		c, constant := l.constant()
		if !constant || len(m.Tasks[l.From].If)+len(m.Tasks[l.To].If) > 0 {
			continue // what may be left out holds nobody
		}
		// The end of a split task is its start and its work at the least, and may be
		// later: that bounds its followers, not itself.
		pauses := func(task int, e End) bool { return e == AtEnd && m.Tasks[task].Split }
		switch {
		case !l.Max && !pauses(l.To, l.ToAt):
			arcs = append(arcs, arc{l.From, l.To, off(l.From, l.FromAt) + c - off(l.To, l.ToAt), k})
		case l.Max && !pauses(l.From, l.FromAt):
			arcs = append(arcs, arc{l.To, l.From, off(l.To, l.ToAt) - c - off(l.From, l.FromAt), k})
		}
	}
	far, by := make([]int, n), make([]int, n)
	last := -1
	for range n + 1 {
		last = -1
		for i, a := range arcs {
			if far[a.from]+a.w > far[a.to] {
				far[a.to], by[a.to], last = far[a.from]+a.w, i, a.to
			}
		}
		if last < 0 {
			return 0, false
		}
	}
	for range n { // back onto the circle
		last = arcs[by[last]].from
	}
	for at := last; ; {
		a := arcs[by[at]]
		if m.Lags[a.lag].Max {
			return a.lag, true
		}
		if at = a.from; at == last {
			return a.lag, true
		}
	}
}
