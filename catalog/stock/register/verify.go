package register

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
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
	More int // findings beyond MaxFindings of a kind
}

// MaxFindings is how many findings of each kind are kept.
const MaxFindings = 100

// Whole reports whether nothing is wrong.
func (f *Findings) Whole() bool {
	return len(f.Broken)+len(f.Stale)+len(f.Problems)+len(f.Gone) == 0
}

// Verify reads all of the register, as of one moment, and holds it against itself: the
// chain of each line, what is projected of it, and every checkpoint. Others may write
// meanwhile. expect, unless zero, is the hash of a checkpoint kept elsewhere, which must
// be among those found.
func (r *Register) Verify(ctx context.Context, expect Hash) (*Findings, error) {
	f := &Findings{}
	err := r.Store.Snapshot(ctx, func(from Reader) error {
		v := &verifying{Findings: f, r: r, from: from, ctx: ctx}
		stop := v.beside()
		defer stop()
		if err := from.EachLine(ctx, v.line); err != nil {
			return err
		}
		if v.upTo(""); v.failed != nil {
			return v.failed
		}
		return v.checkpoints(expect)
	})
	return f, err
}

type verifying struct {
	*Findings
	r    *Register
	from Reader
	ctx  context.Context

	// What is projected is read beside the lines.
	next   func() (Key, Projection, bool)
	due    Key // of have; "" once there is no more
	have   Projection
	failed error
}

// beside starts the reading of what is projected.
func (v *verifying) beside() (stop func()) {
	v.next, stop = iter.Pull2(func(yield func(Key, Projection) bool) {
		err := v.from.EachProjection(v.ctx, func(k Key, p Projection) error {
			if !yield(k, p) {
				return errEnough
			}
			return nil
		})
		if err != errEnough {
			v.failed = err
		}
	})
	v.due, v.have, _ = v.next()
	return stop
}

// errEnough ends the reading of what is projected.
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
	if v.failed != nil {
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
	for _, x := range Fold(head.Key, events, zoneNamed("")).Problems {
		keep(v.Findings, &v.Problems, fmt.Sprintf("%s: event %d (%s), %s: %s", head.Key, x.Event.Seq, x.Event.ID, x.Event.Title(), x.Text))
	}
	want, err := project(head.Key, events)
	if err != nil {
		keep(v.Findings, &v.Problems, fmt.Sprintf("%s: %s", head.Key, err))
		return nil
	}
	if !have.same(&want) {
		keep(v.Findings, &v.Stale, head.Key)
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

// checkpoints holds what each checkpoint says against the lines.
func (v *verifying) checkpoints(expect Hash) error {
	all, err := v.from.Checkpoints(v.ctx)
	if err != nil {
		return err
	}
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
		sum, err := v.heads(&c)
		if err != nil {
			return err
		}
		if sum != c.Hash {
			keep(v.Findings, &v.Gone, fmt.Sprintf("checkpoint %d is not as it was written: its hash does not follow from it", c.N))
		}
		found = found || c.Hash == expect
		previous = c.Hash
		if i == len(all)-1 {
			v.Last = &c
		}
	}
	if !found {
		keep(v.Findings, &v.Gone, fmt.Sprintf("there is no checkpoint %s: the register is not the one that it was made of, or was put back to an earlier state", expect))
	}
	return nil
}

// heads reads the heads of a checkpoint, looks each of them up, and gives the hash that
// follows. There may be millions of heads: they are read twice, and not held.
func (v *verifying) heads(c *Checkpoint) (Hash, error) {
	n := 0
	err := v.from.CheckpointHeads(v.ctx, c.N, func(Head) error {
		n++
		return nil
	})
	if err != nil {
		return Hash{}, err
	}
	d := c.summing(n)
	err = v.from.CheckpointHeads(v.ctx, c.N, func(h Head) error {
		d.head(h)
		records, err := v.from.Load(v.ctx, h.Key)
		if err != nil {
			return err
		}
		switch {
		case len(records) == 0:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s is gone: it had %d events at checkpoint %d, %s", h.Key, h.Seq, c.N, AtInstant(c.At).words(v.r.zone())))
		case len(records) < h.Seq:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s has lost events: it had %d at checkpoint %d, and has %d", h.Key, h.Seq, c.N, len(records)))
		case records[h.Seq-1].Hash != h.Hash:
			keep(v.Findings, &v.Gone, fmt.Sprintf("%s was written anew: event %d is not the one of checkpoint %d", h.Key, h.Seq, c.N))
		case len(records) == h.Seq:
			v.Covered++
		}
		return nil
	})
	return d.sum(), err
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
