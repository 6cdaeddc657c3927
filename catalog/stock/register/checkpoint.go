package register

import (
	"context"
	"fmt"
	"time"
)

// Checkpoint writes down what the ends of all lines are now, over all that moved since
// the last checkpoint; nil if nothing did. Keep its hash elsewhere, on paper: whoever
// changes the register afterwards, or takes a batch out of it, cannot make it again.
func (r *Register) Checkpoint(ctx context.Context, by string) (*Checkpoint, error) {
	return r.checkpoint(ctx, by, func(*Checkpoint, time.Time) bool { return true })
}

// CheckpointAfter makes a checkpoint where the last one is older than an age, or there is
// none; nil if it is not. Of many programs that find so at once one makes it.
func (r *Register) CheckpointAfter(ctx context.Context, by string, age time.Duration) (*Checkpoint, error) {
	due := func(last *Checkpoint, now time.Time) bool {
		// One of a time that has not come was made by a clock that was wrong.
		return last == nil || now.Sub(last.At) >= age || last.At.Sub(now) > slack
	}
	// Most often it is not: that is found out without a look at the lines.
	all, err := r.Store.Checkpoints(ctx)
	if n := len(all); err != nil || n > 0 && !due(&all[n-1], r.Clock()) {
		return nil, err
	}
	return r.checkpoint(ctx, by, due)
}

// checkpoint makes one if it is due.
func (r *Register) checkpoint(ctx context.Context, by string, due func(last *Checkpoint, now time.Time) bool) (*Checkpoint, error) {
	by, err := Clean(by, maxName)
	if err != nil {
		return nil, fmt.Errorf("by: %w", err)
	}
	return r.Store.Checkpoint(ctx, func(last *Checkpoint, moved []Head) (*Checkpoint, error) {
		now := r.Clock().UTC().Truncate(time.Millisecond)
		if len(moved) == 0 || !due(last, now) {
			return nil, nil
		}
		c := &Checkpoint{N: 1, At: now, By: by, Heads: moved}
		if last != nil {
			c.N, c.Previous, c.Lines, c.Events = last.N+1, last.Hash, last.Lines, last.Events
		}
		return c, nil
	})
}

// Seal fills in the hash of a checkpoint whose counts the store has filled in.
func (c *Checkpoint) Seal() { c.Hash = c.sum() }
