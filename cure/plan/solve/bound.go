package solve

import "slices"

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
			return h, &Clash{Lag: -1, Task: i}
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
					return h, &Clash{Lag: k, Task: l.From}
				}
				moved = true
				continue
			}
			t := l.Fn.At(h.time(l.From, l.FromAt))
			if t <= h.time(l.To, l.ToAt) {
				continue
			}
			if t >= Never || !m.raiseTo(h, able, l.To, l.ToAt, t) {
				return h, &Clash{Lag: k, Task: l.To}
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
	tk := &m.Tasks[task]
	if e == AtStart || tk.Duration == 0 {
		return m.raise(h, able, task, t)
	}
	// The end: start late enough. Pauses can make any start end late, so the start
	// of a task that may pause stays where it is.
	s := h.start[task]
	if !tk.pauses() {
		s = max(s, t-tk.Duration)
	}
	if !m.raise(h, able, task, s) {
		return false
	}
	h.end[task] = max(h.end[task], t)
	return h.end[task] <= m.deadline(task)
}

// raise raises the heads of a task that starts at t or later.
func (m *Model) raise(h heads, able [][]int, task, t int) bool {
	start, end := m.first(task, able[task], t)
	if start == Never || end > m.deadline(task) {
		return false
	}
	h.start[task], h.end[task] = max(h.start[task], start), max(h.end[task], end)
	return true
}

// first is an instant before which the task cannot start, and one before which it
// cannot end, if it starts at t or later. Each of a crew could do the task alone in
// the hours that the whole crew does it in, or in fewer: a crew of k starts no sooner
// than the k-th of its people could, and ends no sooner than the k-th could. For one
// person those two may not be the same person: who starts first may pause.
func (m *Model) first(task int, able []int, t int) (start, end int) {
	tk := &m.Tasks[task]
	if tk.Crew == 0 {
		if start = fitWithin(tk, t, tk.Duration); start == Never {
			return Never, Never
		}
		return start, start + tk.Duration
	}
	starts, ends := make([]int, len(able)), make([]int, len(able))
	for {
		for i, p := range able {
			starts[i], ends[i] = m.slot(task, p, t)
		}
		slices.Sort(starts)
		slices.Sort(ends)
		start, end = starts[tk.Crew-1], ends[tk.Crew-1]
		if start == t || start == Never {
			return start, end
		}
		t = start
	}
}

// slot is the earliest start at or after t, and its end, at which person p alone can
// do the task by its deadline.
func (m *Model) slot(task, p, t int) (start, end int) {
	s, e := slot(&m.Tasks[task], m.People[p].Work, t)
	if e > m.deadline(task) {
		return Never, Never
	}
	return s, e
}

// slot is the earliest start at or after t, and its end, of a task that is worked in
// the given hours: all of it in one window, or for a split one with pauses between
// them, and all of it, pauses too, in one of the task's own windows. A later start
// never ends sooner.
func slot(tk *Task, work []Window, t int) (start, end int) {
	if tk.Within == nil {
		return stretch(tk, work, t)
	}
	for _, w := range tk.Within {
		if s, e := stretch(tk, work, max(t, w.From)); s < w.To && e <= w.To {
			return s, e
		}
	}
	return Never, Never
}

// stretch is slot for a task with no windows of its own.
func stretch(tk *Task, work []Window, t int) (start, end int) {
	if !tk.Split {
		if s := fit(work, t, tk.Duration); s != Never {
			return s, s + tk.Duration
		}
		return Never, Never
	}
	for i, w := range work {
		if t < w.To {
			s := max(t, w.From)
			return s, pauseEnd(work[i:], s, tk.Duration)
		}
	}
	return Never, Never
}

// Opens is the earliest start of a task at or after t by its windows and the shifts
// of the people who do it, whatever else they do; Never if there is none.
func (m *Model) Opens(task, t int, who []int) int {
	tk := &m.Tasks[task]
	if tk.Crew == 0 {
		return fitWithin(tk, t, tk.Duration)
	}
	for again := true; again && t < Never; {
		again = false
		for _, p := range who {
			if s, _ := m.slot(task, p, t); s > t {
				t, again = s, true
			}
		}
	}
	return t
}

// OnShift is Opens by the shifts alone, whatever the task's windows.
func (m *Model) OnShift(task, t int, who []int) int {
	c := *m
	c.Tasks = append([]Task(nil), m.Tasks...)
	c.Tasks[task].Within = nil
	return c.Opens(task, t, who)
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

// fitWithin is fit for a task's own windows, of which nil is no limit.
func fitWithin(tk *Task, t, d int) int {
	if tk.Within == nil {
		return t
	}
	return fit(tk.Within, t, d)
}

// fit is the earliest s ≥ t such that [s, s+d] lies inside one of the windows, or
// Never. What takes no time needs a tick that lies in the window.
func fit(ws []Window, t, d int) int {
	for _, w := range ws {
		if s := max(t, w.From); s+d <= w.To && s < w.To {
			return s
		}
	}
	return Never
}
