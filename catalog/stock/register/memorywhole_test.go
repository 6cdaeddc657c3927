package register

import (
	"context"
	"maps"
	"slices"
)

// What a memory store does with all of a register at once.

func (m *memory) Snapshot(_ context.Context, read func(Reader) error) error { return read(m) }

func (m *memory) keys() []Key { return slices.Sorted(maps.Keys(m.lines)) }

func (m *memory) EachLine(_ context.Context, each func(Head, []Record) error) error {
	for _, k := range m.keys() {
		last := m.lines[k][len(m.lines[k])-1]
		if err := each(Head{k, last.Seq, last.Hash}, m.lines[k]); err != nil {
			return err
		}
	}
	return nil
}

func (m *memory) Checkpoints(context.Context) ([]Checkpoint, error) {
	all := slices.Clone(m.points)
	for i := range all {
		all[i].Heads = nil
	}
	return all, nil
}

func (m *memory) CheckpointHeads(_ context.Context, n int, each func(Head) error) error {
	for _, c := range m.points {
		for _, h := range c.Heads {
			if c.N != n {
				break
			}
			if err := each(h); err != nil {
				return err
			}
		}
	}
	return nil
}

func (m *memory) Totals(context.Context) (t Totals, err error) {
	for _, records := range m.lines {
		t.Lines, t.Events = t.Lines+1, t.Events+len(records)
	}
	return t, nil
}

func (m *memory) Checkpoint(ctx context.Context, with func(*Checkpoint, []Head) (*Checkpoint, error)) (*Checkpoint, error) {
	covered := map[Key]int{}
	var last *Checkpoint
	for i := range m.points {
		last = &m.points[i]
		for _, h := range last.Heads {
			covered[h.Key] = h.Seq
		}
	}
	var moved []Head
	for _, k := range m.keys() {
		if end := m.lines[k][len(m.lines[k])-1]; end.Seq > covered[k] {
			moved = append(moved, Head{k, end.Seq, end.Hash})
		}
	}
	c, err := with(last, moved)
	if err != nil || c == nil {
		return nil, err
	}
	t, _ := m.Totals(ctx)
	c.Lines, c.Events = t.Lines, t.Events
	c.Seal()
	m.points = append(m.points, *c)
	return c, nil
}

func (m *memory) Restore(_ context.Context, next func() (*Write, error), checkpoints func() ([]Checkpoint, error)) error {
	if len(m.lines)+len(m.points) > 0 {
		return ErrNotEmpty
	}
	lines, ids := map[Key][]Record{}, map[string]bool{}
	for {
		w, err := next()
		if err != nil {
			return err
		}
		if w == nil {
			break
		}
		lines[w.Key] = w.Add
		for _, r := range w.Add {
			if ids[r.ID] {
				return ErrDuplicate
			}
			ids[r.ID] = true
		}
	}
	points, err := checkpoints()
	if err != nil {
		return err
	}
	m.lines, m.ids, m.points = lines, ids, points
	return nil
}
