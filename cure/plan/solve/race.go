package solve

import (
	"sync"

	"beadline/cure/plan/solve/learn"
)

// board is what searches side by side know together.
type board struct {
	mu      sync.Mutex
	best    *Schedule
	ready   int
	bound   int
	tries   int
	over    bool // told to end, or everything is proven
	refuted bool // no schedule is ready before ready
	stop    func() bool
	told    func(Progress)
}

// guarded is a function that is asked by one search at a time: what it remembers need
// not be safe for several.
type guarded struct {
	mu *sync.Mutex
	f  Func
}

// At implements Func.
func (g *guarded) At(t int) int {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.f.At(t)
}

// shared is the model with its functions guarded.
func (m *Model) shared() *Model {
	c := *m
	c.Lags = append([]Lag(nil), m.Lags...)
	mu, same := &sync.Mutex{}, map[*Calls]Func{}
	for k := range c.Lags {
		f := c.Lags[k].Fn
		if _, plain := f.(Plus); plain {
			continue
		}
		g := Func(&guarded{mu, f})
		if calls, ok := f.(*Calls); ok { // one function is to have one table
			if was, ok := same[calls]; ok {
				g = was
			}
			same[calls] = g
		}
		c.Lags[k].Fn = g
	}
	return &c
}

// race runs searches side by side, each with a net of its own, until one of them has
// proven which schedule is earliest; they share the best schedule and bound. It reports
// whether that is proven.
func (s *search) race(n *net) bool {
	b := &board{best: s.a.Schedule, ready: s.a.Ready, bound: s.a.Bound, stop: s.o.Stop, told: s.o.Tell}
	asked := s.o
	s.o.Stop, s.o.Tell, s.board = b.ended, nil, b
	var all sync.WaitGroup
	for k := 1; k < asked.Workers; k++ {
		t := &search{m: s.m, o: s.o, a: Answer{Ready: s.a.Ready}, board: b, worker: k}
		t.o.Seed += int64(k)
		if s.breed != nil {
			t.breed, t.at, t.picks = newBreed(s.breed.p.again(), t.o.Seed), s.at, s.picks
		}
		all.Go(t.compete)
	}
	refuted := s.descend(n)
	b.leave(s, refuted)
	b.mu.Lock()
	b.over = true
	b.mu.Unlock()
	all.Wait()
	s.o, s.board = asked, nil
	s.a.Tries = b.tries
	if b.best != nil {
		s.a.Schedule, s.a.Ready = b.best, b.ready
	}
	s.a.Bound = max(s.a.Bound, b.bound)
	if s.a.Schedule != nil {
		s.a.Bound = min(s.a.Bound, s.a.Ready)
	}
	return b.refuted
}

// compete is one of several searches.
func (s *search) compete() {
	if n, ok := compileFor(s.m, min(s.a.Ready-1, s.m.Horizon), s.o.Seed, s.o.Stop); ok && !n.stopped {
		s.board.leave(s, s.descend(n))
	}
}

// ended reports whether to end; the question of the caller is put by one at a time.
func (b *board) ended() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.over = b.over || b.stop != nil && b.stop()
	return b.over
}

// leave notes what a search ends with.
func (b *board) leave(s *search, refuted bool) {
	b.share(s) // first: what it has refuted is what is earlier than that
	b.mu.Lock()
	defer b.mu.Unlock()
	b.tries += s.a.Tries
	if refuted {
		b.refuted, b.over = true, true
	}
}

// share gives what a search has found and takes what others have; it reports whether
// their schedule is better.
func (b *board) share(s *search) (better bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	news := false
	if s.a.Schedule != nil && s.a.Ready < b.ready {
		b.best, b.ready, news = s.a.Schedule, s.a.Ready, true
	}
	if bound := min(s.a.Bound, b.ready); bound > b.bound {
		b.bound, news = bound, true
	}
	if news && b.told != nil {
		b.told(Progress{b.best != nil, b.ready, b.bound, b.tries + s.a.Tries})
	}
	if b.best != nil && b.ready < s.a.Ready || s.a.Schedule == nil && b.best != nil {
		s.a.Schedule, s.a.Ready, better = b.best, b.ready, true
	}
	s.a.Bound = max(s.a.Bound, b.bound)
	return better
}

// exchange is share for a net: what others found binds it too. It is false where that
// leaves nothing earlier to be found.
func (s *search) exchange(n *net) bool {
	if s.board == nil {
		return true
	}
	if s.board.share(s) {
		n.hint(s.a.Schedule)
	}
	if s.a.Ready < Never && !n.e.Require(n.readyBy(s.a.Ready-1)) {
		return false
	}
	return n.e.Require(n.readyBy(s.a.Bound - 1).Not())
}

// manner has each of several searches go about it in its own way: by activity from the
// start, and from above; from the bound up, each question with all of a turn; by turns of
// activity and start times.
func (s *search) manner(q *learn.Search) (upwards bool) {
	if s.worker%3 == 2 {
		q.Guided, q.Ease = false, 60
	}
	return s.worker%3 == 1
}
