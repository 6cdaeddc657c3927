package desk

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"sync"
	"sync/atomic"

	"beadline/catalog/stock"
)

// The stock of a register as a list: its rows are spilled as what comes in on a pipe is,
// and may be gone through from the first on while the last are still to come.

// PartOf names a part of a batch in a register.
type PartOf struct{ Batch, Maker, Container, Place string }

// partOf is the part that a row of a register is.
func partOf(r *stock.Row) PartOf {
	return PartOf{r.Item.Batch, r.Maker(), r.Item.Container, r.Location}
}

// Kept is how much of a part is reserved, in what the part counts in, and for which jobs.
type Kept struct {
	Amount float64
	Jobs   []string
}

// NewRegisterList makes a list of the stock of a register; write writes its header and
// rows, as stock.AppendRow has them.
func NewRegisterList(name string, write func(io.Writer) error) (*List, error) {
	l, err := FlowRegisterList(name, write)
	if err != nil {
		return nil, err
	}
	if err := l.flow.whole(); err != nil {
		l.Close()
		return nil, err
	}
	l.src, l.size, l.flow = l.flow.file, l.flow.n.Load(), nil
	return l, nil
}

// FlowRegisterList is NewRegisterList that does not wait: write runs beside whatever is
// done with the list, which Judge.Flag alone knows to take. An error of write is that of
// Flag. Close has write fail, and waits for its end.
func FlowRegisterList(name string, write func(io.Writer) error) (*List, error) {
	tmp, err := os.CreateTemp("", "beadline-*.csv")
	if err != nil {
		return nil, fmt.Errorf("%s: no temporary copy of its stock can be made: %w", name, bare(err))
	}
	f := &flow{file: tmp, ended: make(chan struct{})}
	f.more = sync.NewCond(&f.mu)
	remove := removing(tmp)
	go func() { f.end(name, write(f)) }()
	return &List{Name: name, Register: true, src: f, size: math.MaxInt64 / 2, flow: f, drop: func() {
		f.stopped.Store(true)
		<-f.ended
		remove()
	}}, nil
}

// because is why a list could not be read: that it could not be written, if so.
func (l *List) because(err error) error {
	if l.flow != nil {
		select {
		case <-l.flow.ended:
			return cmp.Or(l.flow.err, err)
		default:
		}
	}
	return err
}

// flow is a file that is read while it is written.
type flow struct {
	file    *os.File
	n       atomic.Int64 // bytes written
	stopped atomic.Bool  // nobody wants the rest
	full    error        // of the file, known to the writer
	ended   chan struct{}

	mu     sync.Mutex
	more   *sync.Cond // for each Write, and the end
	closed bool
	err    error // good once closed
}

var errStopped = errors.New("nobody reads on")

// Write adds to the list.
func (f *flow) Write(b []byte) (int, error) {
	if f.stopped.Load() {
		return 0, errStopped
	}
	n, err := f.file.Write(b)
	if err != nil {
		f.full = err
	}
	f.mu.Lock()
	f.n.Add(int64(n))
	f.more.Broadcast()
	f.mu.Unlock()
	return n, err
}

// end is the end of writing.
func (f *flow) end(name string, err error) {
	if err != nil && f.full != nil {
		err = fmt.Errorf("%s: no room for a temporary copy of its stock in %s: %w", name, os.TempDir(), bare(f.full))
	}
	f.mu.Lock()
	f.closed, f.err = true, err
	f.more.Broadcast()
	f.mu.Unlock()
	close(f.ended)
}

// whole waits for the end of writing, and says how it went.
func (f *flow) whole() error {
	<-f.ended
	return f.err
}

// ReadAt reads what is there, and waits for what is not yet. Behind a list that could not
// be written to its end is the error of writing.
func (f *flow) ReadAt(p []byte, at int64) (int, error) {
	end := at + int64(len(p))
	if f.n.Load() < end {
		f.mu.Lock()
		for f.n.Load() < end && !f.closed {
			f.more.Wait()
		}
		f.mu.Unlock()
	}
	n, err := f.file.ReadAt(p[:max(0, min(end, f.n.Load())-at)], at)
	if n < len(p) && err == nil {
		if err = f.whole(); err == nil {
			err = io.EOF
		}
	}
	return n, err
}
