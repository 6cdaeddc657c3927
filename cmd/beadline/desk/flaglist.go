package desk

import (
	"bufio"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"

	"beadline/catalog/stock"
)

// List is a stock list that can be read at any place, however long: a file, or a
// copy of what came in on standard input or a pipe. Close it when done; that takes
// the copy away.
type List struct {
	Name string // for messages
	src  io.ReaderAt
	size int64

	// Register is true for the stock of a register: then Name is the register's, each
	// part of a batch stands on one row, and its lines mean nothing to a person.
	Register bool
	// Kept is what of it is reserved for others, and cannot be drawn.
	Kept map[PartOf]Kept

	file  *os.File    // whose size and time tell whether the list is still the same; nil: nothing can change it
	began fs.FileInfo // as they were when it was opened
	drop  func()      // what Close has to do
	flow  *flow       // what is still being written; nil: all of it is there
}

// OpenList opens a stock list by its name, - being standard input. UTF-16 text is
// made UTF-8 unless another encoding is asked for. The error is one line.
func OpenList(in io.Reader, name string, how stock.Encoding) (*List, error) {
	if name == "-" {
		return NewList(in, "standard input", how)
	}
	f, err := OpenFile(name)
	if err != nil {
		return nil, err
	}
	l, err := NewList(f, name, how)
	if err != nil {
		f.Close()
		return nil, err
	}
	drop := l.drop
	l.drop = func() { drop(); f.Close() }
	return l, nil
}

// NewList is OpenList for what is open already, and stays so. What cannot be read at
// any place (a pipe) is copied to a temporary file first.
func NewList(r io.Reader, name string, how stock.Encoding) (*List, error) {
	l := &List{Name: name, drop: func() {}}
	switch f := r.(type) {
	case *os.File:
		info, err := f.Stat()
		if at, serr := f.Seek(0, io.SeekCurrent); err == nil && serr == nil && at == 0 && info.Mode().IsRegular() {
			l.src, l.size, l.file, l.began = f, info.Size(), f, info
		}
	case interface {
		io.ReaderAt
		Size() int64
	}:
		l.src, l.size = f, f.Size()
	}
	if l.src != nil {
		start := make([]byte, 2)
		n, _ := l.src.ReadAt(start, 0)
		if how != stock.Auto || !stock.IsUTF16(start[:n]) {
			return l, nil
		}
		r = io.NewSectionReader(l.src, 0, l.size)
	}
	return l, l.spill(r, how)
}

// spill copies a list to a temporary file, as UTF-8 if it is UTF-16.
func (l *List) spill(r io.Reader, how stock.Encoding) error {
	tmp, err := os.CreateTemp("", "beadline-*.csv")
	if err != nil {
		return fmt.Errorf("%s: no temporary copy of it can be made: %w", l.Name, bare(err))
	}
	l.drop = removing(tmp)
	b := bufio.NewReaderSize(r, 256<<10)
	r = b
	if start, _ := b.Peek(2); how == stock.Auto && stock.IsUTF16(start) {
		r = stock.FromUTF16(b)
	}
	l.size, err = copyTo(tmp, r)
	if err != nil {
		l.drop()
		l.drop = func() {}
		return fmt.Errorf("%s: %w", l.Name, err)
	}
	l.src, l.file = tmp, nil
	return nil
}

// copyTo copies, and says whether it was the reading or the writing that failed.
func copyTo(to *os.File, from io.Reader) (n int64, err error) {
	buf := make([]byte, 256<<10)
	for {
		k, rerr := from.Read(buf)
		if k > 0 {
			if _, err := to.Write(buf[:k]); err != nil {
				return n, fmt.Errorf("no room for a temporary copy in %s: %w", os.TempDir(), bare(err))
			}
			n += int64(k)
		}
		if rerr == io.EOF {
			return n, nil
		}
		if rerr != nil {
			return n, bare(rerr)
		}
	}
}

// removing takes the name of a temporary file away at once, so that nothing is left
// however the program ends. Where the system keeps the names of open files, it goes
// at the end, or on an interrupt.
func removing(tmp *os.File) (drop func()) {
	if os.Remove(tmp.Name()) == nil {
		return func() { tmp.Close() }
	}
	remove := func() {
		tmp.Close()
		os.Remove(tmp.Name())
	}
	stop := make(chan os.Signal, 1)
	signal.Notify(stop, os.Interrupt)
	go func() {
		if _, interrupted := <-stop; interrupted {
			remove()
			os.Exit(1)
		}
	}()
	return func() {
		signal.Stop(stop)
		close(stop)
		remove()
	}
}

// Close lets go of the list.
func (l *List) Close() { l.drop() }

// errChanged is what is said of a list that is not what it was.
func (l *List) errChanged() error {
	return fmt.Errorf("%s: the list was changed while it was read: run this again", l.Name)
}

// same is an error if the file is not what it was when it was opened, or could not be
// written to its end.
func (l *List) same() error {
	if l.flow != nil {
		return l.flow.whole()
	}
	if l.file == nil {
		return nil
	}
	now, err := l.file.Stat()
	if err != nil || now.Size() != l.began.Size() || !now.ModTime().Equal(l.began.ModTime()) {
		return l.errChanged()
	}
	return nil
}

// bare is an error without the name of the file that it happened to.
func bare(err error) error {
	if pe, ok := err.(*fs.PathError); ok {
		return pe.Err
	}
	return err
}
