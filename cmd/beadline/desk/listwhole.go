package desk

import (
	"crypto/sha256"
	"fmt"
	"io"

	"beadline/catalog/stock"
)

// Each goes through the list from its start, row by row; see stock.EachAt.
func (l *List) Each(o stock.Options, each func(stock.At, stock.Row) error) (stock.Report, error) {
	return stock.EachAt(io.NewSectionReader(l.src, 0, l.size), l.Name, o, each)
}

// Open opens the list for being read at any place.
func (l *List) Open(o stock.Options) (*stock.File, error) {
	return stock.Open(l.src, l.size, l.Name, o)
}

// ReadAt reads bytes of the list, see io.ReaderAt.
func (l *List) ReadAt(p []byte, at int64) (int, error) { return l.src.ReadAt(p, at) }

// Size is how many bytes it has.
func (l *List) Size() int64 { return l.size }

// SHA256 is the hash of the list as it is read: of UTF-16 that of its text in UTF-8.
func (l *List) SHA256() ([sha256.Size]byte, error) {
	d := sha256.New()
	if _, err := io.Copy(d, io.NewSectionReader(l.src, 0, l.size)); err != nil {
		return [sha256.Size]byte{}, fmt.Errorf("%s: %w", l.Name, bare(err))
	}
	return [sha256.Size]byte(d.Sum(nil)), l.same()
}

// Same is an error if the list is not what it was when it was opened.
func (l *List) Same() error { return l.same() }
