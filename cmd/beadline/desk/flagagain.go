package desk

import (
	"fmt"
	"hash/maphash"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// Batch numbers that stand on several rows. While a list is gone through a hash of each
// row's batch is kept, eight bytes, in buckets by its top bits; then each bucket is looked
// through for hashes that come twice. Only a list that has some is gone through once more,
// for the lines on which they stand. Of a million batches two share a hash of 64 bits
// once in some 40 million lists.

const (
	numberBytes   = 8
	numberBits    = 8
	numberBuckets = 1 << numberBits
)

var numberSeed = maphash.MakeSeed()

func hashOf(batch string) uint64 { return maphash.String(numberSeed, batch) }

// numberRun is the hashes of one stretch, sorted by bucket: those of bucket b from
// ends[b-1], or 0, to ends[b].
type numberRun struct {
	hashes []uint64
	ends   [numberBuckets]uint32
}

func newNumberRun(all []uint64) numberRun {
	r := numberRun{hashes: make([]uint64, len(all))}
	var at [numberBuckets]uint32
	for _, h := range all {
		r.ends[h>>(64-numberBits)]++
	}
	for b := 1; b < numberBuckets; b++ {
		at[b] = r.ends[b-1]
		r.ends[b] += r.ends[b-1]
	}
	for _, h := range all {
		b := h >> (64 - numberBits)
		r.hashes[at[b]] = h
		at[b]++
	}
	return r
}

func (r *numberRun) bucket(b int) []uint64 {
	from := uint32(0)
	if b > 0 {
		from = r.ends[b-1]
	}
	return r.hashes[from:r.ends[b]]
}

// hashSet is a set of hashes, by open addressing; it never holds 0, for which 1 stands.
type hashSet struct{ slots []uint64 }

// reset empties the set and makes room for n.
func (s *hashSet) reset(n int) {
	size := 16
	for size < 2*n {
		size *= 2
	}
	if cap(s.slots) < size {
		s.slots = make([]uint64, size)
		return
	}
	s.slots = s.slots[:size]
	clear(s.slots)
}

// add reports whether the hash was there.
func (s *hashSet) add(h uint64) bool {
	h = max(h, 1)
	mask := uint64(len(s.slots) - 1)
	for i := h & mask; ; i = (i + 1) & mask {
		switch s.slots[i] {
		case h:
			return true
		case 0:
			s.slots[i] = h
			return false
		}
	}
}

func (s *hashSet) has(h uint64) bool {
	h = max(h, 1)
	mask := uint64(len(s.slots) - 1)
	for i := h & mask; s.slots[i] != 0; i = (i + 1) & mask {
		if s.slots[i] == h {
			return true
		}
	}
	return false
}

// repeatedNumbers are the hashes that come more than once, each once.
func repeatedNumbers(runs []numberRun) []uint64 {
	var next atomic.Int32
	var mu sync.Mutex
	var found []uint64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			var seen hashSet
			for b := int(next.Add(1)) - 1; b < numberBuckets; b = int(next.Add(1)) - 1 {
				n := 0
				for i := range runs {
					n += len(runs[i].bucket(b))
				}
				seen.reset(n)
				for i := range runs {
					for _, h := range runs[i].bucket(b) {
						if seen.add(h) {
							mu.Lock()
							found = append(found, h)
							mu.Unlock()
						}
					}
				}
			}
		})
	}
	all.Wait()
	slices.Sort(found)
	return slices.Compact(found)
}

// findRepeated warns of batch numbers that stand on several rows, and finds the lines on
// which batches to draw stand too and are worse.
func (f *Flags) findRepeated(workers []*flagWorker) error {
	repeated := repeatedNumbers(f.numbers)
	f.numbers, f.rows = nil, 0
	if len(repeated) == 0 {
		return nil
	}
	look := &secondLook{f: f, drawn: map[uint64]bool{}}
	look.repeated.reset(len(repeated))
	for _, h := range repeated {
		look.repeated.add(h)
	}
	draw, err := f.Draw()
	if err != nil {
		return err
	}
	for _, d := range draw {
		for _, r := range d.Rows {
			if h := hashOf(r.Item.Batch); look.repeated.has(h) {
				look.drawn[h] = true
			}
		}
	}
	f.also = map[uint64]int{}
	_, err = f.file.Scan(len(workers), func(w int) stock.Visitor { return &againPart{secondLook: look, w: workers[w]} }, look.take)
	if err != nil || len(look.lines) < 2 {
		return err
	}
	said := "1 batch number stands on several rows (%s, lines %d and %d%s): each row is judged on its own"
	if len(repeated) > 1 {
		said = fmt.Sprint(len(repeated)) + " batch numbers stand on several rows (first: %s, lines %d and %d%s): each row is judged on its own"
	}
	more := ""
	if n := len(look.lines) - 2; n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	f.Warnings = append(slices.Clone(f.Warnings), fmt.Sprintf(f.Name+": "+said, look.batch, look.lines[0], look.lines[1], more))
	return nil
}

// secondLook is going through a list again for what stands on several rows.
type secondLook struct {
	f        *Flags
	repeated hashSet
	drawn    map[uint64]bool // of repeated: those to draw

	first uint64 // the hash of the first row that is repeated
	batch string
	lines []int // on which it stands
}

// againPart is what a stretch has of it.
type againPart struct {
	*secondLook
	w     *flagWorker
	batch string // of the first row found
	found []again
}

// again is a row whose batch stands on several; worse says that it is to be drawn, and
// that this row may not be used or cannot be read.
type again struct {
	hash  uint64
	line  int
	worse bool
}

func (p *againPart) note(hash uint64, line int, batch string, worse bool) {
	if p.found == nil {
		p.batch = batch
	}
	p.found = append(p.found, again{hash, line, worse})
}

// Plain takes a plain row.
func (p *againPart) Plain(at stock.At, r *stock.Plain) {
	h := maphash.Bytes(numberSeed, r.Batch)
	if !p.repeated.has(h) {
		return
	}
	worse := false
	if p.drawn[h] {
		v, _, _ := p.w.glance(&r.Item)
		worse = v != shelf.Use
	}
	batch := ""
	if p.found == nil {
		batch = string(r.Batch)
	}
	p.note(h, at.Line, batch, worse)
}

// Row takes any other row that was understood.
func (p *againPart) Row(at stock.At, r *stock.Row) {
	h := hashOf(r.Item.Batch)
	if !p.repeated.has(h) {
		return
	}
	worse := false
	if p.drawn[h] {
		p.w.bound()
		v, _, _ := p.w.judge.Glance(&r.Item)
		worse = v != shelf.Use
	}
	p.note(h, at.Line, r.Item.Batch, worse)
}

// Bad takes a row in trouble.
func (p *againPart) Bad(at stock.At, b *stock.Bad) {
	if h := hashOf(b.Batch); b.Batch != "" && p.repeated.has(h) {
		p.note(h, at.Line, b.Batch, p.drawn[h])
	}
}

// End has nothing to do.
func (p *againPart) End() {}

// take adds what was found in a stretch.
func (l *secondLook) take(v stock.Visitor, before int) error {
	p := v.(*againPart)
	if l.lines == nil && p.found != nil {
		l.first, l.batch = p.found[0].hash, p.batch
	}
	for _, a := range p.found {
		if a.hash == l.first {
			l.lines = append(l.lines, before+a.line)
		}
		if a.worse && l.f.also[a.hash] == 0 {
			l.f.also[a.hash] = before + a.line
		}
	}
	return nil
}
