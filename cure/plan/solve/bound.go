package solve

// heads are the earliest start and end of each task, from propagation alone:
// minimum lags forwards, maximum lags backwards, calendars of whoever is able, but
// no conflict over a person. No schedule beats them.
type heads struct{ start, end []int }

// maxRounds bounds propagation; every round raises some head by a tick or more,
// and a model that still moves after so many is given up without a claim.
const maxRounds = 20000

func (m *Model) propagate() (heads, *Clash) {
	n := len(m.Tasks)
	h := heads{make([]int, n), make([]int, n)}
	able := make([][]int, n)
	for i := range m.Tasks {
		able[i] = m.able(i)
		if !m.raise(h, able, i, m.Tasks[i].Release) {
			return h, &Clash{Lag: -1, Task: i, Proven: true}
		}
	}
	for range maxRounds {
		moved := false
		for k, l := range m.Lags {
			if l.Max {
				// To can be no earlier than its head: From must be late enough.
				to := h.time(l.To, l.ToAt)
				if l.Fn.At(h.time(l.From, l.FromAt)) >= to {
					continue
				}
				t := Least(l.Fn, to, h.time(l.From, l.FromAt), m.Horizon)
				if t == Never || !m.raiseTo(h, able, l.From, l.FromAt, t) {
					return h, &Clash{Lag: k, Task: l.From, Proven: true}
				}
				moved = true
				continue
			}
			t := l.Fn.At(h.time(l.From, l.FromAt))
			if t <= h.time(l.To, l.ToAt) {
				continue
			}
			if t >= Never || !m.raiseTo(h, able, l.To, l.ToAt, t) {
				return h, &Clash{Lag: k, Task: l.To, Proven: true}
			}
			moved = true
		}
		if !moved {
			return h, nil
		}
	}
	return h, nil
}

func (h heads) time(task int, e End) int {
	if e == AtStart {
		return h.start[task]
	}
	return h.end[task]
}

// raiseTo raises the head of one end of a task to t or later.
func (m *Model) raiseTo(h heads, able [][]int, task int, e End, t int) bool {
	if e == AtStart || m.Tasks[task].Duration == 0 {
		return m.raise(h, able, task, t)
	}
	// The end: start late enough. A split task may pause, so its duration is a
	// bound on how much later its start must be only where it does not pause.
	s := h.start[task]
	if !m.Tasks[task].Split {
		s = max(s, t-m.Tasks[task].Duration)
	}
	if !m.raise(h, able, task, s) {
		return false
	}
	h.end[task] = max(h.end[task], t)
	return h.end[task] <= m.deadline(task)
}

// raise finds the earliest start at or after t with enough able people at work.
func (m *Model) raise(h heads, able [][]int, task, t int) bool {
	tk := &m.Tasks[task]
	best := Never
	bestEnd := Never
	if tk.Crew == 0 {
		if s := fit(tk.Within, t, tk.Duration); s != Never {
			best, bestEnd = s, s+tk.Duration
		}
	} else {
		s := t
		for s <= m.Horizon {
			next, n, end := Never, 0, 0
			for _, p := range able[task] {
				a, e := m.slot(tk, p, s)
				if a == s {
					n++
					end = max(end, e)
				}
				if a > s {
					next = min(next, a)
				} else if a == s {
					// this one can start now; later it can at the latest one tick on
					if b, _ := m.slot(tk, p, s+1); n < tk.Crew {
						next = min(next, b)
					}
				}
			}
			if n >= tk.Crew {
				best, bestEnd = s, end
				if tk.Crew == 1 {
					bestEnd = m.soonest(tk, able[task], s)
				}
				break
			}
			if next == Never {
				break
			}
			s = next
		}
	}
	if best == Never || bestEnd > m.deadline(task) {
		return false
	}
	h.start[task], h.end[task] = max(h.start[task], best), max(h.end[task], bestEnd)
	return true
}

func (m *Model) soonest(tk *Task, able []int, s int) int {
	end := Never
	for _, p := range able {
		if a, e := m.slot(tk, p, s); a == s {
			end = min(end, e)
		}
	}
	return end
}

// slot is the earliest start at or after t, and its end, at which person p is at
// work for the whole task, or for a split one at work at its start.
func (m *Model) slot(tk *Task, p, t int) (start, end int) {
	work := m.People[p].Work
	if tk.Split {
		for i, w := range work {
			if w.To <= t {
				continue
			}
			s := max(t, w.From)
			return s, pauseEnd(work[i:], s, tk.Duration)
		}
		return Never, Never
	}
	for {
		s := fit(tk.Within, t, tk.Duration)
		if s == Never {
			return Never, Never
		}
		r := fit(work, s, tk.Duration)
		if r == Never {
			return Never, Never
		}
		if r == s {
			return s, s + tk.Duration
		}
		t = r
	}
}

// pauseEnd is when work of the given length ends that starts at s and pauses
// between windows; the first window holds s.
func pauseEnd(work []Window, s, left int) int {
	for _, w := range work {
		a := max(s, w.From)
		if d := w.To - a; d >= left {
			return a + left
		} else if d > 0 {
			left -= d
		}
	}
	return Never
}

// fit is the earliest s ≥ t such that [s, s+d] lies inside one of the windows; nil
// windows are always open.
func fit(ws []Window, t, d int) int {
	if ws == nil {
		return t
	}
	for _, w := range ws {
		if s := max(t, w.From); s+d <= w.To && (d > 0 || s < w.To) {
			return s
		}
	}
	return Never
}
