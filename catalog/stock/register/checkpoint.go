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
	by, err := Clean(by, maxName)
	if err != nil {
		return nil, fmt.Errorf("by: %w", err)
	}
	return r.Store.Checkpoint(ctx, func(last *Checkpoint, moved []Head) (*Checkpoint, error) {
		if len(moved) == 0 {
			return nil, nil
		}
		c := &Checkpoint{N: 1, At: r.Clock().UTC().Truncate(time.Millisecond), By: by, Heads: moved}
		if last != nil {
			c.N, c.Previous, c.Lines, c.Events = last.N+1, last.Hash, last.Lines, last.Events
		}
		return c, nil
	})
}

// Seal fills in the hash of a checkpoint whose counts the store has filled in.
func (c *Checkpoint) Seal() { c.Hash = c.sum() }
