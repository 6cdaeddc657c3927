package register

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"maps"
	"slices"
	"time"
)

// Findings is what Verify found wrong, and how much it looked at.
type Findings struct {
	Totals
	Checkpoints int
	// Covered is how many of the lines stand under a checkpoint as they are now.
	Covered int
	Last    *Checkpoint // nil: there is none
	// Broken are the first places that are wrong: of each line one. Capped at MaxFindings.
	Broken []Broken
	// Stale are lines of which what is projected is not what follows from the events.
	Stale []Key
	// Problems are what cannot have happened, and is recorded all the same.
	Problems []string
	// Gone are lines, and checkpoints, that a checkpoint knows and that are not as they
	// were then; a sentence each.
	Gone []string
	// Damage is what the store found wrong with how it is kept; a line each.
	Damage []string
	More   int // findings beyond MaxFindings of a kind
}

// MaxFindings is how many findings of each kind are kept.
const MaxFindings = 100

// Whole reports whether nothing is wrong.
func (f *Findings) Whole() bool {
	return len(f.Broken)+len(f.Stale)+len(f.Problems)+len(f.Gone)+len(f.Damage) == 0
}

// Verify reads all of the register, as of one moment, and holds it against itself: the
// chain of each line, what is projected of it, the list of places, every checkpoint, and
// what the store has of its own to find things by. Others may write meanwhile. expect,
// unless zero, is the hash of a checkpoint kept elsewhere, which must be among those found.
func (r *Register) Verify(ctx context.Context, expect Hash) (*Findings, error) {
	f := &Findings{}
	err := r.Store.Snapshot(ctx, func(from Reader) error {
		v := &verifying{Findings: f, r: r, from: from, ctx: ctx, counts: map[int]int{}, places: map[string]bool{}}
		var err error
		if v.points, err = from.Checkpoints(ctx); err != nil {
			return err
		}
		stop := v.beside()
		defer stop()
		if err := from.EachLine(ctx, v.line); err != nil {
			return err
		}
		v.upTo("")
		v.covered("", nil)
		if v.failed != nil {
			return v.failed
		}
		for _, look := range []func() error{v.named, func() error { return v.checkpoints(expect) }, v.integrity} {
			if err := look(); err != nil {
				return err
			}
		}
		return nil
	})
	return f, err
}

type verifying struct {
	*Findings
	r    *Register
	from Reader
	ctx  context.Context

	// What is projected, and the heads of checkpoints, are read beside the lines.
	next     func() (Key, Projection, bool)
	due      Key // of have; "" once there is no more
	have     Projection
	nextHead func() (int, Head, bool)
	dueHead  Head // Key "" once there is no more
	dueN     int  // its checkpoint
	points   []Checkpoint
	counts   map[int]int // heads of each checkpoint
	failed   error

	places map[string]bool // of lots
}

// beside starts the reading of what is projected, and of the heads of checkpoints.
func (v *verifying) beside() (stop func()) {
	var stopProjections, stopHeads func()
	v.next, stopProjections = pull(&v.failed, func(each func(Key, Projection) error) error { return v.from.EachProjection(v.ctx, each) })
	v.due, v.have, _ = v.next()
	v.nextHead, stopHeads = pull(&v.failed, func(each func(int, Head) error) error { return v.from.EachCheckpointHead(v.ctx, each) })
	v.dueN, v.dueHead, _ = v.nextHead()
	return func() { stopProjections(); stopHeads() }
}

// pull turns reading that hands things over into one that is asked for the next.
func pull[K, T any](failed *error, read func(each func(K, T) error) error) (next func() (K, T, bool), stop func()) {
	return iter.Pull2(func(yield func(K, T) bool) {
		err := read(func(k K, x T) error {
			if !yield(k, x) {
				return errEnough
			}
			return nil
		})
		if err != nil && err != errEnough {
			*failed = err
		}
	})
}

// covered holds the heads that checkpoints have of a line, the next in order of keys,
// against its events; "" is the end. Those of lines that are not there are passed on the
// way, and found.
func (v *verifying) covered(key Key, records []Record) {
	for v.dueHead.Key != "" && (key == "" || v.dueHead.Key <= key) {
		h, n := v.dueHead, v.dueN
		v.dueN, v.dueHead, _ = v.nextHead()
		v.counts[n]++
		have := records
		if h.Key != key {
			have = nil
		}
		switch {
		case len(have) == 0:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s is gone: it had %d events at checkpoint %d%s", h.Key, h.Seq, n, v.madeAt(n)))
		case len(have) < h.Seq:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s has lost events: it had %d at checkpoint %d, and has %d", h.Key, h.Seq, n, len(have)))
		case h.Seq < 1 || have[h.Seq-1].Hash != h.Hash:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s was written anew: event %d is not the one of checkpoint %d", h.Key, h.Seq, n))
		case len(have) == h.Seq:
			v.Covered++
		}
	}
}

// madeAt is when a checkpoint was made, for people.
func (v *verifying) madeAt(n int) string {
	for i := range v.points {
		if v.points[i].N == n {
			return ", " + AtInstant(v.points[i].At).words(v.r.zone())
		}
	}
	return ""
}

// errEnough ends such reading.
var errEnough = errors.New("enough")

// upTo is what is projected of a line, the next in order of keys; "" is the end. What is
// projected of lines that are not there is passed on the way, and found.
func (v *verifying) upTo(key Key) (p Projection) {
	for v.due != "" && (key == "" || v.due <= key) {
		if v.due == key {
			p = v.have
		} else {
			keep(v.Findings, &v.Stale, v.due)
		}
		v.due, v.have, _ = v.next()
	}
	return p
}

// keep adds a finding, or counts it.
func keep[T any](f *Findings, to *[]T, x T) {
	if len(*to) >= MaxFindings {
		f.More++
		return
	}
	*to = append(*to, x)
}

// line looks at one line.
func (v *verifying) line(head Head, records []Record) error {
	v.Lines++
	v.Events += len(records)
	have := v.upTo(head.Key)
	if v.covered(head.Key, records); v.failed != nil {
		return v.failed
	}
	events, end, broken := open(head.Key, records)
	switch {
	case broken != nil:
		keep(v.Findings, &v.Broken, *broken)
		return nil
	case end.Seq != head.Seq || end.Hash != head.Hash:
		keep(v.Findings, &v.Broken, Broken{head.Key, end.Seq + 1, "", fmt.Sprintf("the line should have %d events, and has %d, or its end is not what was written", head.Seq, end.Seq)})
		return nil
	}
	if len(events) == 0 {
		return nil
	}
	state := Fold(head.Key, events, zoneNamed(events[len(events)-1].Zone))
	for _, x := range state.Problems {
		keep(v.Findings, &v.Problems, fmt.Sprintf("%s: event %d (%s), %s: %s", head.Key, x.Event.Seq, x.Event.ID, x.Event.Title(), x.Text))
	}
	want, err := projectState(state)
	if err != nil {
		keep(v.Findings, &v.Problems, fmt.Sprintf("%s: %s", head.Key, err))
		return nil
	}
	if !have.same(&want) {
		keep(v.Findings, &v.Stale, head.Key)
	}
	for _, l := range want.Lots {
		v.places[l.Place] = true
	}
	return nil
}

// same reports whether two projections of a line are one.
func (p *Projection) same(o *Projection) bool {
	return slices.Equal(sorted(p.Lots), sorted(o.Lots)) && slices.Equal(p.Reserved, o.Reserved) &&
		slices.EqualFunc(p.Served, o.Served, func(a, b Served) bool {
			ok := a.At.Equal(b.At)
			a.At, b.At = time.Time{}, time.Time{}
			return ok && a == b
		})
}

// sorted is lots in the order of their containers and places.
func sorted(lots []Lot) []Lot {
	own := slices.Clone(lots)
	slices.SortFunc(own, func(a, b Lot) int {
		return cmp.Or(cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
	})
	return own
}

// named holds the list of places against those where something is: a list of the stock of
// a place finds its lots by it.
func (v *verifying) named() error {
	names, err := v.from.Places(v.ctx)
	for _, name := range names {
		delete(v.places, name)
	}
	delete(v.places, "")
	for _, name := range slices.Sorted(maps.Keys(v.places)) {
		keep(v.Findings, &v.Damage, fmt.Sprintf("the place %q is missing from the list of places", name))
	}
	return err
}

// integrity has the store look at itself.
func (v *verifying) integrity() error {
	found, err := v.from.Integrity(v.ctx)
	for _, text := range found {
		keep(v.Findings, &v.Damage, text)
	}
	return err
}

// checkpoints holds what each checkpoint says against the lines.
func (v *verifying) checkpoints(expect Hash) error {
	all := v.points
	v.Checkpoints = len(all)
	var previous Hash
	before := 0
	found := expect.IsZero()
	for i := range all {
		c := all[i]
		switch {
		case c.N != before+1:
			keep(v.Findings, &v.Gone, fmt.Sprintf("checkpoint %d is gone: the next there is, is checkpoint %d", before+1, c.N))
		case c.Previous != previous:
			keep(v.Findings, &v.Gone, fmt.Sprintf("checkpoint %d does not follow the one before it: one of them was changed", c.N))
		}
		before = c.N
		sum := c.begin(v.counts[c.N])
		err := v.from.CheckpointHeads(v.ctx, c.N, func(h Head) error {
			sum.head(h)
			return nil
		})
		if err != nil {
			return err
		}
		if sum.sum() != c.Hash {
			keep(v.Findings, &v.Gone, fmt.Sprintf("checkpoint %d is not as it was written: its hash does not follow from it", c.N))
		}
		found = found || c.Hash == expect
		previous = c.Hash
		if i == len(all)-1 {
			v.Last = &c
		}
	}
	for _, n := range slices.Sorted(maps.Keys(v.counts)) {
		if !slices.ContainsFunc(all, func(c Checkpoint) bool { return c.N == n }) {
			keep(v.Findings, &v.Gone, fmt.Sprintf("checkpoint %d is gone: the ends of lines that it lists are there", n))
		}
	}
	if !found {
		keep(v.Findings, &v.Gone, fmt.Sprintf("there is no checkpoint %s: the register is not the one that it was made of, or was put back to an earlier state", expect))
	}
	return nil
}

// Rebuild makes all that is projected anew from the events. A line that is broken stops
// it, and nothing is changed.
func (r *Register) Rebuild(ctx context.Context) error {
	return r.Store.Reproject(ctx, func(key Key, records []Record) (Projection, error) {
		events, _, broken := open(key, records)
		if broken != nil {
			return Projection{}, fmt.Errorf("%s: %w: %s: %s", r.Store.Name(), ErrDamaged, key, broken)
		}
		return project(key, events)
	})
}
