package storeroom

import (
	"cmp"
	"context"
	"io"
	"slices"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// What goes first of a class: opened before all others (common practice, no source), then
// what ends first (first expired, first out: NAVSUP P-485 as taught), among what is good
// and lasts as long as asked.

// Proposal is a part of a batch that may be drawn.
type Proposal struct {
	Batch register.Batch
	Holding
	Free register.Amount // of it, not kept for other jobs
	rank rank
}

// Proposals are what goes first of a class.
type Proposals struct {
	Register string
	Class    string
	Place    string     // "": all
	First    []Proposal // in order; none: nothing may be drawn
	// Parts is how many parts of the class are in stock, Good how many of them may be
	// used, and last as asked.
	Parts, Good int
	Faulty      int // parts whose row cannot be read
}

// rank is where a part comes in the order of drawing.
type rank struct {
	key    uint64
	minute int
}

func (a rank) compare(b rank) int { return cmp.Or(cmp.Compare(a.key, b.key), a.minute-b.minute) }

// rankOf is the rank of an item by the limit that ends it.
func rankOf(it *shelf.Item, g shelf.Limit) rank {
	k := rank{desk.DrawKey(!it.Opened.IsZero(), g.Date, g.Dated), 24 * 60}
	if g.Timed {
		k.minute = g.Minute
	}
	return k
}

// Propose names the first n parts of a class to draw, for a drawing of which the batch is
// not said. The error of a class that is neither in the catalog nor in stock names the
// nearest.
func (r *Room) Propose(ctx context.Context, class string, d *Drawing, n int) (*Proposals, error) {
	out := &Proposals{Register: r.Store.Name(), Class: class, Place: d.Which.Place}
	for room := 64; ; room *= 8 {
		scan := proposing{r: r, until: d.Until, room: room}
		if err := r.rows(ctx, register.RowFilter{Class: class, Place: d.Which.Place}, scan.row, &out.Faulty); err != nil {
			return nil, err
		}
		out.Parts, out.Good, out.First = scan.parts, scan.good, nil
		for _, c := range scan.first {
			more, err := r.resolve(ctx, c, d)
			if err != nil {
				return nil, err
			}
			if out.First = append(out.First, more...); len(out.First) >= n {
				break
			}
		}
		slices.SortStableFunc(out.First, func(a, b Proposal) int { return a.rank.compare(b.rank) })
		if len(out.First) >= n {
			out.First = out.First[:n]
			return out, nil
		}
		if len(scan.first) == scan.good { // that were all
			break
		}
	}
	if out.Parts+out.Faulty == 0 {
		return out, r.Judge.Known(class)
	}
	return out, nil
}

// rows reads rows of the register one by one; faulty counts those that cannot be read.
func (r *Room) rows(ctx context.Context, f register.RowFilter, each func(*stock.Row) error, faulty *int) error {
	in, out := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		_, err := io.WriteString(out, stock.RegisterHeader+"\n")
		if err == nil {
			err = r.Store.Rows(ctx, f, func(records []byte) error {
				_, err := out.Write(records)
				return err
			})
		}
		out.CloseWithError(err)
		ended <- err
	}()
	report, err := stock.EachWith(in, r.Store.Name(), stock.Options{Today: r.Judge.On}, func(row stock.Row) error { return each(&row) })
	in.CloseWithError(errStopped{err})
	if failed := <-ended; failed != nil && err == nil {
		err = failed
	}
	*faulty = len(report.Bad)
	return err
}

// errStopped ends the reading of rows from the other side.
type errStopped struct{ why error }

func (errStopped) Error() string { return "the reading was stopped" }

// candidate is a row that may be drawn.
type candidate struct {
	batch, maker, container, place string
	rank                           rank
}

// proposing goes through the rows of a class.
type proposing struct {
	r           *Room
	until       label.Date
	room        int // how many to keep
	parts, good int
	first       []candidate // in order
}

func (s *proposing) row(row *stock.Row) error {
	s.parts++
	k, ok := s.judged(row)
	if !ok {
		return nil
	}
	s.good++
	byRank := func(a candidate, k rank) int {
		if c := a.rank.compare(k); c != 0 {
			return c
		}
		return -1 // behind its equals
	}
	if len(s.first) == s.room {
		if byRank(s.first[s.room-1], k) < 0 {
			return nil
		}
		s.first = s.first[:s.room-1]
	}
	i, _ := slices.BinarySearchFunc(s.first, k, byRank)
	s.first = slices.Insert(s.first, i, candidate{row.Item.Batch, row.Maker(), row.Item.Container, row.Location, k})
	return nil
}

// judged is where a row comes in the order, if it may be drawn. A glance is enough for
// most; where an hour may count, or it may end before the work is done, it is judged in
// full.
func (s *proposing) judged(row *stock.Row) (rank, bool) {
	it := &row.Item
	v, last, dated := s.r.Judge.Glance(it)
	used, _, changed := s.r.inUse(it, row.Unit, register.When{})
	near := !s.until.IsZero() && dated && !last.After(s.until.Last())
	switch {
	case v == shelf.Reject, v == shelf.Hold && !hourly(it):
		return rank{}, false
	case v == shelf.Hold, changed, near:
		if s.r.Judge.Full(used).Verdict != shelf.Use {
			return rank{}, false
		}
		return rankOf(it, s.r.Judge.Full(*it).Governing), true
	}
	return rankOf(it, shelf.Limit{Date: last, Dated: dated}), true
}

// hourly reports whether what is held for the whole of a day may be good at a moment of it.
func hourly(it *shelf.Item) bool {
	return len(it.Thawed) > 0 || it.Opened.Precision() == label.Minute || len(it.Storage) > 0
}

// resolve finds the part that a row stands for, and judges it again by its events.
func (r *Room) resolve(ctx context.Context, c candidate, d *Drawing) (found []Proposal, err error) {
	b := register.Batch{Number: c.batch, Maker: c.maker}
	s, err := r.Load(ctx, b.Key())
	if err != nil {
		return nil, err
	}
	p := s.Part(c.container, c.place)
	if p == nil || !p.Stocked() {
		return nil, nil
	}
	n, err := d.amountOf(p)
	if err != nil {
		n = 0 // how much is not said: any will do
	}
	k := r.consider(s, p, n, &Act{})
	free := p.Free(d.Use.Job)
	if k.verdict() != shelf.Use || p.Counted && (free == 0 || free < n) {
		return nil, nil
	}
	return []Proposal{{Batch: b, Holding: k.Holding, Free: free, rank: k.rank}}, nil
}

// firstOf is the batch that should have gone before the one that was drawn from; nil:
// there is none.
func (r *Room) firstOf(ctx context.Context, d *Drawing, from *pick, key register.Key) (*Proposal, error) {
	if _, err := r.Judge.Class(from.Item.Class); err != nil {
		return nil, nil
	}
	any := &Drawing{Use: register.Use{Job: d.Use.Job}, Until: d.Until}
	any.Said.Amount, any.Said.Unit = &from.amount, from.Unit
	if site, _, ok := strings.Cut(from.Place, " / "); ok { // what is at another site is out of reach
		any.Which.Place = site
	}
	all, err := r.Propose(ctx, from.Item.Class, any, 4)
	if err != nil {
		return nil, err
	}
	for i := range all.First {
		if p := &all.First[i]; p.Batch.Key() != key && p.rank.compare(from.rank) < 0 {
			return p, nil
		}
	}
	return nil, nil
}
