package main

import (
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"beadline/cure/plan"
	"beadline/cure/quantity"

	"github.com/spf13/cobra"
)

// The draws that --spread makes: fewer say nothing of one in ten, and more sharpen no
// figure that is shown.
const (
	fewestDraws = 100
	mostDraws   = 100_000
)

// spreadFlags are the flags of plan that play it against chance.
type spreadFlags struct {
	draws int
	seed  int64
	tasks string
}

func (f *spreadFlags) add(cmd *cobra.Command) {
	cmd.Flags().IntVar(&f.draws, "spread", 0, "play the plan so many times against random task times, forecast errors and batches; 2000 is a good number")
	cmd.Flags().Int64Var(&f.seed, "seed", 1, "seed of --spread; the same seed gives the same answer")
	cmd.Flags().StringVar(&f.tasks, "task-spread", "20%", "how far task times spread in --spread: one standard deviation")
}

// options turns the flags into options; nil where nothing is to be played. What is not
// as asked is told in notes.
func (f *spreadFlags) options(cmd *cobra.Command) (o *plan.SpreadOptions, notes []string, err error) {
	given := cmd.Flags().Changed
	if !given("spread") {
		for _, name := range []string{"seed", "task-spread"} {
			if given(name) {
				return nil, nil, usagef("--%s %s: it is for --spread, which is not given: add --spread 2000", name, cmd.Flags().Lookup(name).Value)
			}
		}
		return nil, nil, nil
	}
	if f.draws < fewestDraws {
		return nil, nil, usagef("--spread %d: say how many draws to make, %d or more; 2000 is a good number", f.draws, fewestDraws)
	}
	if f.seed < 0 {
		return nil, nil, usagef("--seed %d: write a whole number from 0 up", f.seed)
	}
	part, err := quantity.Percent(f.tasks)
	if err != nil || !(part >= 0 && part <= 100) {
		return nil, nil, usagef("--task-spread %q: write a percentage from 0%% to 100%%, like 20%%", f.tasks)
	}
	draws := f.draws
	if draws > mostDraws {
		notes = append(notes, fmt.Sprintf("--spread %d: %d draws are made; more would sharpen no figure that is shown.", f.draws, mostDraws))
		draws = mostDraws
	}
	all := plan.AllSpread(draws, uint64(f.seed))
	all.Task, all.Workers = part/100, runtime.GOMAXPROCS(0)
	return &all, notes, nil
}

// spread plays a plan that was found; an interrupt ends the draws and not the answer.
func (a *app) spread(p *plan.Plan, o *plan.SpreadOptions) error {
	if o == nil || !p.Found {
		return nil
	}
	stop := make(chan os.Signal, 1)
	signal.Notify(stop, os.Interrupt)
	defer signal.Stop(stop)
	return a.spreadUntil(stop, p, *o)
}

// spreadUntil is spread up to the first signal, with a bar on a terminal.
func (a *app) spreadUntil(stop <-chan os.Signal, p *plan.Plan, o plan.SpreadOptions) (err error) {
	var stopped atomic.Bool
	o.Stop = func() bool {
		select {
		case <-stop:
			stopped.Store(true)
		default:
		}
		return stopped.Load()
	}
	if isTerminal(a.err) {
		b := &bar{w: a.err, of: o.Draws, now: time.Now}
		o.Told = b.add
		defer b.clear()
	}
	if p.Spread, err = p.Play(o); err != nil {
		return fmt.Errorf("--spread: %w", err)
	}
	return nil
}

// bar shows on one line of a terminal how far a piece of work is. Several goroutines may
// add to it.
type bar struct {
	w    io.Writer
	of   int
	now  func() time.Time
	mu   sync.Mutex
	done int
	last time.Time
	wide int
}

// barStep is how often the bar is drawn: more flickers.
const barStep = 100 * time.Millisecond

func (b *bar) add(n int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.done += n
	if t := b.now(); t.Sub(b.last) >= barStep {
		b.last = t
		b.draw()
	}
}

func (b *bar) draw() {
	const width = 24
	full := width * b.done / max(1, b.of)
	text := fmt.Sprintf("playing the plan [%s%s] %d of %d; Ctrl-C ends it", strings.Repeat("#", full), strings.Repeat(".", width-full), b.done, b.of)
	b.wide = max(b.wide, len(text))
	fmt.Fprintf(b.w, "\r%-*s", b.wide, text)
}

// clear takes the bar away.
func (b *bar) clear() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.wide > 0 {
		fmt.Fprintf(b.w, "\r%s\r", strings.Repeat(" ", b.wide))
	}
}
