package chance

import (
	"sync"
	"sync/atomic"
)

// Options say how much is played.
type Options struct {
	Plays   int    // at the most; 1 or more
	Seed    uint64 // the same seed, the same plays
	Workers int    // goroutines; 1 or more. The result does not depend on it
	Sources int    // sources of chance, each with a stream of its own

	// Swaps is how many pairs of plays are played again with one source swapped, for
	// Shares; no more than half the plays are.
	Swaps int

	Stop func() bool    // asked between plays; true ends them. nil: never
	Told func(done int) // told of plays that are done, from any goroutine; nil: nobody
}

// Result is what came of the plays.
type Result[O any] struct {
	Plays []O // in their order
	// Swapped holds, for the pair of plays 2i and 2i+1 and each source k, what came of
	// play 2i with the source k of play 2i+1.
	Swapped [][]O
}

// Run plays. player makes what one goroutine plays with; play is given the streams of
// the sources, each at its beginning, in an order that never changes. A run that is
// stopped gives the plays up to the first that is missing, so that what is left out
// has nothing to do with how the plays ended.
func Run[O any](o Options, player func() (play func(src []*Stream) O)) Result[O] {
	pairs := (o.Plays + 1) / 2
	plays, swapped, done := make([]O, 2*pairs), make([][]O, min(pairs, o.Swaps)), make([]bool, pairs)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range max(1, min(o.Workers, pairs)) {
		wg.Go(func() {
			w := worker[O]{o: o, play: player()}
			for {
				i := int(next.Add(1)) - 1
				if i >= pairs || o.Stop != nil && o.Stop() {
					return
				}
				plays[2*i], plays[2*i+1] = w.of(i, -1), w.of(i, o.Sources)
				if i < len(swapped) {
					for k := range o.Sources {
						swapped[i] = append(swapped[i], w.of(i, k))
					}
				}
				done[i] = true
				if o.Told != nil {
					o.Told(min(2, o.Plays-2*i))
				}
			}
		})
	}
	wg.Wait()
	n := 0
	for n < pairs && done[n] {
		n++
	}
	return Result[O]{plays[:min(2*n, o.Plays)], swapped[:min(n, len(swapped))]}
}

// worker is one goroutine's.
type worker[O any] struct {
	o    Options
	play func(src []*Stream) O
	src  []*Stream
}

// of plays pair i: its first hand (swap -1), its second (swap the number of sources), or
// the first with the source swap of the second.
func (w *worker[O]) of(i, swap int) O {
	for len(w.src) < w.o.Sources {
		w.src = append(w.src, &Stream{})
	}
	for k, s := range w.src {
		hand := 0
		if k == swap || swap == w.o.Sources {
			hand = 1
		}
		s.key(w.o.Seed, i, hand, k)
	}
	return w.play(w.src)
}
