package desk

import (
	"cmp"
	"io"
	"runtime"
	"slices"
	"sync"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// The second time through a list: the flagged rows read again, a batch at a time, and
// judged in words, on several goroutines. Of a batch the bytes are fetched in the
// order of the list, which is the order in which a file is read best, and the rows
// handed over in the order of urgency.

const (
	batchRows  = 16 << 10 // rows fetched at a time
	batchBytes = 4 << 20  // bytes fetched at a time, unless one row has more
	blockRows  = 128      // rows that a worker writes at a time
)

// Each hands over the rows of a section of a group, the most urgent first. The row is
// good until each returns. Errors: the list cannot be read again, or was changed, or
// what each returns.
func (f *Flags) Each(g Group, s Section, each func(*Flagged) error) error {
	return f.stream(g, s, func(r *flagReader, refs []fetched) error {
		r.rows = r.rows[:0]
		for _, ref := range refs {
			r.rows = append(r.rows, Flagged{})
			if err := r.read(&r.rows[len(r.rows)-1], ref); err != nil {
				return err
			}
		}
		return nil
	}, func(r *flagReader) error {
		for i := range r.rows {
			if err := each(&r.rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

// Write writes the rows of a section of a group, the most urgent first, each as form
// appends it. form is called from several goroutines at a time. Errors are those of
// Each, and of the writer.
func (f *Flags) Write(w io.Writer, g Group, s Section, form func(to []byte, r *Flagged) ([]byte, error)) error {
	return f.stream(g, s, func(r *flagReader, refs []fetched) error {
		r.out = r.out[:0]
		var row Flagged
		for _, ref := range refs {
			err := r.read(&row, ref)
			if err == nil {
				r.out, err = form(r.out, &row)
			}
			if err != nil {
				return err
			}
		}
		return nil
	}, func(r *flagReader) error {
		_, err := w.Write(r.out)
		return err
	})
}

// stream goes through a section batch by batch. prepare works on a block of rows, on any
// goroutine; emit follows for each block in order.
func (f *Flags) stream(g Group, s Section, prepare func(*flagReader, []fetched) error, emit func(*flagReader) error) error {
	m := f.section(g, s)
	if m.Len() == 0 {
		return nil
	}
	workers, fetch := f.again()
	size := batchRows
	refs := make([]ref, 0, min(batchRows, g.Rows[s]))
	for {
		refs = m.take(refs[:0])
		if len(refs) == 0 {
			return f.list.same()
		}
		for rest := refs; len(rest) > 0; {
			n := min(size, len(rest))
			rows, err := fetch.fetch(rest[:n])
			if err == errTooMuch && n > 1 {
				size = max(1, n/8)
				continue
			}
			if err != nil && err != errTooMuch {
				return err
			}
			if err := inTurn(workers, rows, prepare, emit); err != nil {
				return err
			}
			rest = rest[n:]
		}
	}
}

// again are the goroutines' readers and fetcher, made for the first section.
func (f *Flags) again() ([]*flagReader, *fetcher) {
	if f.fetch == nil {
		n := runtime.GOMAXPROCS(0)
		for range n {
			f.readers = append(f.readers, f.reader())
		}
		f.fetch = &fetcher{f: f, pickers: make([]*stock.Picker, n), arenas: make([][]byte, n), limit: batchBytes / n}
	}
	for _, p := range f.fetch.pickers {
		if p != nil {
			p.Reset()
		}
	}
	return f.readers, f.fetch
}

// inTurn has the workers make blocks of rows, and emits the blocks in order.
func inTurn(workers []*flagReader, rows []fetched, prepare func(*flagReader, []fetched) error, emit func(*flagReader) error) error {
	var mu sync.Mutex
	turned := sync.NewCond(&mu)
	next, turn := 0, 0 // blocks taken and emitted
	var failed error
	blocks := (len(rows) + blockRows - 1) / blockRows
	work := func(r *flagReader) {
		mu.Lock()
		defer mu.Unlock()
		for failed == nil && next < blocks {
			i := next
			next++
			mu.Unlock()
			err := prepare(r, rows[i*blockRows:min(len(rows), (i+1)*blockRows)])
			mu.Lock()
			for turn < i && failed == nil {
				turned.Wait()
			}
			if failed == nil {
				if err == nil {
					err = emit(r)
				}
				failed = err
			}
			turn++
			turned.Broadcast()
		}
	}
	var all sync.WaitGroup
	for _, r := range workers[:min(len(workers), blocks)] {
		all.Go(func() { work(r) })
	}
	all.Wait()
	return failed
}

// fetched is a row to read again with its bytes.
type fetched struct {
	ref
	raw []byte
}

// fetcher fetches the bytes of rows.
type fetcher struct {
	f       *Flags
	pickers []*stock.Picker
	arenas  [][]byte
	limit   int // bytes for an arena
	rows    []fetched
	order   []int32
	cuts    [][2]int // by row: where its bytes are in its arena
}

type tooMuch struct{}

func (tooMuch) Error() string { return "more bytes than are fetched at a time" }

// errTooMuch is what fetch answers for more than it holds; of a single row it fetches
// that row all the same.
var errTooMuch error = tooMuch{}

// fetch fetches the bytes of rows, good until the next call. The list is gone through
// in its order, a part of it on each goroutine.
func (b *fetcher) fetch(refs []ref) ([]fetched, error) {
	b.rows, b.order, b.cuts = b.rows[:0], b.order[:0], slices.Grow(b.cuts[:0], len(refs))[:len(refs)]
	for i, r := range refs {
		b.rows, b.order = append(b.rows, fetched{ref: r}), append(b.order, int32(i))
	}
	slices.SortFunc(b.order, func(x, y int32) int { return cmp.Compare(refs[x].offset, refs[y].offset) })
	parts := min(len(b.pickers), (len(refs)+blockRows-1)/blockRows)
	errs := make([]error, parts)
	var all sync.WaitGroup
	for p := range parts {
		part := b.order[p*len(refs)/parts : (p+1)*len(refs)/parts]
		all.Go(func() { errs[p] = b.part(p, part) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil && err != errTooMuch {
			return nil, err
		}
	}
	if slices.Contains(errs, errTooMuch) {
		return b.rows, errTooMuch
	}
	return b.rows, nil
}

// part fetches a part of the rows, in the order of the list, into one arena.
func (b *fetcher) part(p int, part []int32) error {
	if b.pickers[p] == nil {
		b.pickers[p] = b.f.file.Picker()
	}
	arena := b.arenas[p][:0]
	var err error
	for _, i := range part {
		from := len(arena)
		if arena, err = b.pickers[p].Append(arena, b.rows[i].offset); err != nil {
			return b.f.lost(err)
		}
		b.cuts[i] = [2]int{from, len(arena)}
		if len(arena) > b.limit && len(part) > 1 {
			return errTooMuch
		}
	}
	b.arenas[p] = arena
	for _, i := range part {
		b.rows[i].raw = arena[b.cuts[i][0]:b.cuts[i][1]]
	}
	return nil
}

// lost is the error of a row that can no longer be read.
func (f *Flags) lost(err error) error {
	if err == io.EOF || err == stock.ErrNoRow {
		return f.list.errChanged()
	}
	return err
}

// flagReader judges rows in words. It is for one goroutine at a time.
type flagReader struct {
	f      *Flags
	judge  *Judge
	parser *stock.Parser
	judged map[plainItem]shelf.Judgement
	rows   []Flagged
	out    []byte
}

func (f *Flags) reader() *flagReader {
	return &flagReader{f: f, judge: f.judge.forDay(), parser: f.file.Parser(), judged: map[plainItem]shelf.Judgement{}}
}

// read reads a flagged row again. One that no longer says what it said is an error.
func (r *flagReader) read(to *Flagged, from fetched) error {
	row, bad, err := r.parser.Parse(from.raw, from.line)
	if err != nil {
		return r.f.lost(err)
	}
	*to = Flagged{Row: row, Fault: bad, Register: r.f.Register}
	if bad == nil {
		to.Judgement = r.full(&row)
		switch to.Judgement.Verdict {
		case shelf.Reject:
			to.Section = SetAside
		case shelf.Hold:
			to.Section = OnHold
		default:
			to.Section = EndsSoon
		}
	} else {
		r.faulty(to, bad)
	}
	g := to.Judgement.Governing
	if keyOf(to.Section, g.Date, g.Dated) != from.key {
		return r.f.list.errChanged()
	}
	return nil
}

// faulty judges a row in trouble, as Bad of flagPart does.
func (r *flagReader) faulty(to *Flagged, bad *stock.Bad) {
	to.Row, to.Section = bad.Row, NotReadable
	if l := r.f.Location; !bad.Dated || bad.Row.Item.Class == "" || l != "" && bad.Row.Location != "" && !inLocation(bad.Row.Location, l, r.f.Register) {
		return
	}
	r.bound()
	if v, _, _ := r.judge.Glance(&bad.Row.Item); v == shelf.Reject {
		to.Section, to.Judgement = SetAside, r.judge.Faulty(*bad)
	}
}

// good reads again a row that is to be drawable.
func (r *flagReader) good(to *Flagged, raw []byte, d drawable) error {
	row, bad, err := r.parser.Parse(raw, d.at.Line)
	if err != nil {
		return r.f.lost(err)
	}
	*to = Flagged{Row: row, Register: r.f.Register, Section: EndsSoon, Judgement: r.full(&row)}
	g := to.Judgement.Governing
	if bad != nil || to.Judgement.Verdict != shelf.Use || drawKey(!row.Item.Opened.IsZero(), g.Date, g.Dated) != d.key {
		return r.f.list.errChanged()
	}
	return nil
}

func (r *flagReader) bound() {
	if len(r.judge.known) > maxClasses {
		clear(r.judge.known)
	}
}

// plainItem is an item of which a class and five dates are known, and nothing else;
// its batch number, of which no limit speaks, is left out.
type plainItem struct {
	class                                  string
	dom, expiry, inspect, opened, received label.Date
}

const maxJudged = 1024

// full is Judge.Full. Sorted by urgency, batches of one class and the same dates stand
// together: their judgement is made once, and shared.
func (r *flagReader) full(row *stock.Row) shelf.Judgement {
	it := &row.Item
	if !row.Plain {
		r.bound()
		return r.judge.Full(*it)
	}
	p := plainItem{it.Class, it.DOM, it.Expiry, it.Inspect, it.Opened, it.Received.On}
	j, ok := r.judged[p]
	if !ok {
		if len(r.judged) >= maxJudged {
			clear(r.judged)
		}
		r.bound()
		j = r.judge.Full(*it)
		r.judged[p] = j
	}
	return j
}
