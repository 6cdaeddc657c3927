package store

import (
	"context"
	"math/rand/v2"
	"time"
)

// again runs try until it does not ask for more, the patience is over, or the context
// ends; between tries it sleeps a little longer each time, by chance, so that those who
// wait for one thing do not wake at once. The error is that of the last try.
func again(ctx context.Context, patience time.Duration, first, longest time.Duration, try func() (more bool, err error)) error {
	start := time.Now()
	for wait := first; ; wait = min(wait*5/4, longest) {
		more, err := try()
		if !more || err == nil || time.Since(start) > patience {
			return err
		}
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		nap(ctx, wait/2+rand.N(wait))
	}
}

// nap sleeps, short or until the context ends.
func nap(ctx context.Context, d time.Duration) {
	if d < 2*time.Millisecond {
		shortNap(d)
		return
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}
