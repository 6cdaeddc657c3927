package main

import (
	"fmt"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"time"

	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"
)

// thinking is one search for a plan, with its time limit, Ctrl-C, and the line on the
// terminal that says how far it is.
type thinking struct {
	a           *app
	job         *job.Job
	began       time.Time
	limit       time.Duration
	interrupted atomic.Bool
	signals     chan os.Signal
	screen      bool

	mu    sync.Mutex // several searches may ask at a time
	shown time.Time
	wide  int
	last  plan.Progress
}

// showAfter is how long a search runs before anything is said of it, and showEvery how
// often it is said then.
const (
	showAfter = 700 * time.Millisecond
	showEvery = 200 * time.Millisecond
)

// readUp is kept of the time at most, to read up what has been found: slack, the second
// check, the words.
const readUp = 500 * time.Millisecond

// think begins the time of a search. The caller ends it.
func (a *app) think(limit time.Duration, j *job.Job) *thinking {
	t := &thinking{a: a, job: j, began: time.Now(), limit: limit, signals: make(chan os.Signal, 1), screen: isTerminal(a.err)}
	signal.Notify(t.signals, os.Interrupt)
	go func() {
		if _, ok := <-t.signals; ok {
			t.interrupted.Store(true)
		}
	}()
	return t
}

// stop is asked by the search now and then.
func (t *thinking) stop() bool {
	now := time.Now()
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.screen && now.Sub(t.began) > showAfter && now.Sub(t.shown) > showEvery {
		t.show(now)
	}
	return t.interrupted.Load() || now.Sub(t.began) >= t.limit-min(t.limit*15/100, readUp)
}

// tell is told by the search of what it found.
func (t *thinking) tell(p plan.Progress) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.last = p
}

// show writes one line over the one before.
func (t *thinking) show(now time.Time) {
	t.shown = now
	line := "looking for a plan"
	if t.last.Found {
		const form = "Mon 2 Jan 15:04"
		line = fmt.Sprintf("%s %s", t.job.Ready, t.last.Ready.In(t.job.Zone).Format(form))
		if t.last.Bound.After(t.job.Start) {
			line += ", none before " + t.last.Bound.In(t.job.Zone).Format(form)
		}
	}
	line += fmt.Sprintf("; %.0f of %.0f s, Ctrl-C ends", now.Sub(t.began).Seconds(), t.limit.Seconds())
	if n := len([]rune(line)); n > 79 {
		line = string([]rune(line)[:79])
	}
	fmt.Fprintf(t.a.err, "\r%-*s", t.wide, line)
	t.wide = len([]rune(line))
}

// end takes the line away and lets Ctrl-C be Ctrl-C again.
func (t *thinking) end() {
	signal.Stop(t.signals)
	close(t.signals)
	if t.wide > 0 {
		fmt.Fprintf(t.a.err, "\r%*s\r", t.wide, "")
	}
}

// thinkTime reads --think.
func thinkTime(s string) (time.Duration, error) {
	d, err := quantity.Span(s)
	if err != nil {
		return 0, usagef("--think %s: %w", s, err)
	}
	if d <= 0 || d > maxThink {
		return 0, usagef("--think %s: say how long to look for a plan, from 0.1s to 24h", s)
	}
	return d, nil
}
