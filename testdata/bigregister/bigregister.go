// Package bigregister makes registers of any size for benchmarks: stores at several
// sites, and what happened in them over some years. All of it is made up, and the same
// each time for one Plan. Nothing is written past the rules: every line is folded and
// projected as one that people have recorded (register.Lay).
package bigregister

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// Plan is which register to make. The zero Plan but for Batches is a store that has used
// up most of what came in over eight years; all but one in six of its batches are gone.
type Plan struct {
	Batches int
	Seed    uint64
	// Years is over how many years before Now the batches came in; 0: eight.
	Years int
	// Full is another store: all came in within some months, and something of every batch
	// is left, so that those who list the stock have all of them to read.
	Full bool
}

// Now is the moment at which every register made here ends.
var Now = time.Date(2027, 3, 29, 6, 0, 0, 0, time.UTC)

// Zone is where its clocks hang.
const Zone = "Atlantic/Faroe"

func (p Plan) years() int { return cmp.Or(p.Years, 8) }

// Lines gives the lines of a plan in order of keys, and nil at the end. They are made on
// all processors, a little ahead; stop ends that.
func Lines(p Plan) (next func() (*register.Write, error), stop func()) {
	const chunk = 256
	type made struct {
		lines []*register.Write
		err   error
	}
	ctx, cancel := context.WithCancel(context.Background())
	queue := make(chan chan made, 2*runtime.GOMAXPROCS(0))
	go func() {
		defer close(queue)
		for from := 0; from < p.Batches; from += chunk {
			c := make(chan made, 1)
			select {
			case queue <- c:
			case <-ctx.Done():
				return
			}
			go func() {
				var m made
				for i := from; i < min(from+chunk, p.Batches) && m.err == nil; i++ {
					var w *register.Write
					if w, m.err = p.Line(i); m.err == nil {
						m.lines = append(m.lines, w)
					}
				}
				c <- m
			}()
		}
	}()
	var now []*register.Write
	return func() (*register.Write, error) {
		if len(now) == 0 {
			c, more := <-queue
			if !more {
				return nil, nil
			}
			m := <-c
			if m.err != nil {
				return nil, m.err
			}
			now = m.lines
		}
		w := now[0]
		now = now[1:]
		return w, nil
	}, cancel
}

// Line is the i-th line of a plan, from 0.
func (p Plan) Line(i int) (*register.Write, error) {
	key, events := p.story(i)
	w, err := register.Lay(key, events)
	if err != nil {
		return nil, fmt.Errorf("line %d, %s: %w", i, key, err)
	}
	return w, nil
}

// Fill writes a plan into an empty register, and puts a checkpoint over it.
func Fill(ctx context.Context, s register.Store, p Plan) error {
	next, stop := Lines(p)
	defer stop()
	if err := s.Restore(ctx, next, func() ([]register.Checkpoint, error) { return nil, nil }); err != nil {
		return err
	}
	r := &register.Register{Store: s, Clock: func() time.Time { return Now }}
	_, err := r.Checkpoint(ctx, "generator")
	return err
}

// Folder is where Cached keeps its files: that of BEADLINE_BIG, or one for temporary
// files.
func Folder() string {
	return cmp.Or(os.Getenv("BEADLINE_BIG"), filepath.Join(os.TempDir(), "beadline-big"))
}

// Cached is the path of the SQLite file of a plan in Folder. It is made if it is not
// there: a million batches take some minutes and 3 GB.
func Cached(ctx context.Context, p Plan) (path string, err error) {
	if err := os.MkdirAll(Folder(), 0o755); err != nil {
		return "", err
	}
	full := ""
	if p.Full {
		full = "-full"
	}
	path = filepath.Join(Folder(), fmt.Sprintf("register-%d-%d-%dy%s.db", p.Batches, p.Seed, p.years(), full))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	return path, Write(ctx, path, p)
}

// Write makes the SQLite file of a plan, all or nothing.
func Write(ctx context.Context, path string, p Plan) error {
	part := path + ".part"
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.RemoveAll(part + end); err != nil {
			return err
		}
	}
	s, err := store.OpenSQLite(ctx, part, store.Options{Create: true})
	if err != nil {
		return err
	}
	if err := Fill(ctx, s, p); err != nil {
		_ = s.Close()
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	return os.Rename(part, path)
}
