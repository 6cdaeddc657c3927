package storeroom

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/rickb777/date"
	"golang.org/x/text/cases"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cure/nearest"
)

// ListQuestion is what of the stock is listed; "" is all.
type ListQuestion struct {
	Class string
	Place string // or a site, whose places are those that start with it and " / "
	Maker string
	Gone  bool // also what is used up or scrapped
}

// StockList is the stock of one moment, judged for one day: by class, and within each what is
// drawn first at the top, then what is held, then what is rejected. It holds the place of
// each row in a copy of the rows, not the rows. Close it when done.
type StockList struct {
	Register string
	Asked    ListQuestion
	On       date.Date
	Parts    int
	Classes  []ClassTotal // in order of their names

	judge    *desk.Judge
	tmp      *os.File
	file     *stock.File
	entries  []listEntry
	reserved map[partName][]register.Reserved
}

// ClassTotal adds up a class.
type ClassTotal struct {
	Class             string
	Use, Hold, Reject int      // parts
	Amounts           []Amount // what is left of all parts, whatever their verdict, by unit
	Good              []Amount // of those that may be used
	Uncounted         int      // parts of which it is not recorded how much there is
}

// Amount is an amount with its unit.
type Amount struct {
	Amount register.Amount
	Unit   string
}

// Listed is a part in stock.
type Listed struct {
	stock.Row
	Verdict   shelf.Verdict
	Last      date.Date // the last day of use by the limit that decides, if Dated
	Dated     bool
	Reason    string // of a hold or reject
	Reserved  []register.Reserved
	Gone      bool
	FirstHere bool // the first of its class
}

type partName struct {
	batch            register.Batch
	container, place string
}

// listEntry is a row to read again.
type listEntry struct {
	key    uint64 // verdict, then the order of drawing
	offset int64
	class  int32
	at     int32 // in the order of the rows
}

// StockList lists the stock. A place that is nowhere, and a class that nobody knows, are errors
// that name the nearest.
func (r *Room) StockList(ctx context.Context, q ListQuestion) (_ *StockList, err error) {
	r.Judge.Ask(shelf.Question{On: r.Judge.On, Zone: r.Judge.Zone()}) // a list is of whole days
	l := &StockList{Register: r.Store.Name(), Asked: q, On: r.Judge.On, judge: r.Judge, reserved: map[partName][]register.Reserved{}}
	if l.tmp, err = os.CreateTemp("", "beadline-*.csv"); err != nil {
		return nil, fmt.Errorf("no temporary copy of the stock can be made: %w", err)
	}
	if err = l.fill(ctx, r, q); err == nil {
		err = l.order()
	}
	if err == nil && l.Parts == 0 {
		err = r.whyNone(ctx, q)
	}
	if err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

// Close takes the copy of the rows away.
func (l *StockList) Close() {
	l.tmp.Close()
	os.Remove(l.tmp.Name())
}

// fill copies the rows, and reads beside them what no row says.
func (l *StockList) fill(ctx context.Context, r *Room, q ListQuestion) error {
	w := bufio.NewWriterSize(l.tmp, 1<<18)
	err := r.Store.Snapshot(ctx, func(from register.Reader) error {
		if err := writeRows(ctx, from, q, w); err != nil {
			return err
		}
		all, err := from.Reserved(ctx)
		for k, some := range all {
			b, _ := k.Batch()
			for _, v := range some {
				n := partName{b, v.Container, v.Place}
				l.reserved[n] = append(l.reserved[n], v)
			}
		}
		return err
	})
	if err != nil {
		return err
	}
	return w.Flush()
}

// WriteRows writes the stock as a list that beadline flag reads: a header, and the rows as
// the register keeps them, in order of their batches.
func (r *Room) WriteRows(ctx context.Context, q ListQuestion, w io.Writer) error {
	some := &counting{w: w}
	err := r.Store.Snapshot(ctx, func(from register.Reader) error { return writeRows(ctx, from, q, some) })
	if err == nil && some.n <= len(stock.RegisterHeader)+1 {
		return r.whyNone(ctx, q)
	}
	return err
}

// counting counts the bytes written.
type counting struct {
	w io.Writer
	n int
}

func (c *counting) Write(b []byte) (int, error) {
	c.n += len(b)
	return c.w.Write(b)
}

// writeRows writes the header and the rows asked for.
func writeRows(ctx context.Context, from register.Reader, q ListQuestion, w io.Writer) error {
	if _, err := io.WriteString(w, stock.RegisterHeader+"\n"); err != nil {
		return err
	}
	if q.Maker == "" {
		return from.Rows(ctx, register.RowFilter{Class: q.Class, Place: q.Place, Gone: q.Gone}, func(records []byte) error {
			_, err := w.Write(records)
			return err
		})
	}
	keys, err := ofMaker(ctx, from, q.Maker)
	if err != nil {
		return err
	}
	for _, k := range keys {
		lots, err := from.Lots(ctx, k)
		if err != nil {
			return err
		}
		for _, lot := range lots {
			if (q.Class == "" || lot.Class == q.Class) && (q.Gone || lot.Stocked) && isAt(lot.Place, q.Place) {
				if _, err := io.WriteString(w, lot.Row); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// ofMaker are the batches of a maker. The error of one that has none names the nearest.
func ofMaker(ctx context.Context, from register.Reader, maker string) (keys []register.Key, err error) {
	var names []string
	seen := map[string]bool{}
	err = from.Lines(ctx, "", func(h register.Head) bool {
		b, ok := h.Key.Batch()
		if ok && strings.EqualFold(b.Maker, maker) {
			keys = append(keys, h.Key)
		} else if ok && !seen[b.Maker] && b.Maker != "" {
			seen[b.Maker], names = true, append(names, b.Maker)
		}
		return true
	})
	if err != nil || len(keys) > 0 {
		return keys, err
	}
	if near := nearest.Names(maker, names, 3); len(near) > 0 {
		return nil, fmt.Errorf("there is no batch of the maker %q: the nearest are %s", maker, strings.Join(near, ", "))
	}
	return nil, fmt.Errorf("there is no batch of the maker %q", maker)
}

// isAt reports whether a place is the one asked for, or at that site.
func isAt(place, asked string) bool {
	fold := cases.Fold()
	p, a := fold.String(place), fold.String(asked)
	return a == "" || p == a || strings.HasPrefix(p, a+" / ")
}

// whyNone is the error for a question that nothing answers: nil if it is a fair one.
func (r *Room) whyNone(ctx context.Context, q ListQuestion) error {
	if q.Place != "" {
		places, err := r.Store.Places(ctx)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(places, func(p string) bool { return isAt(p, q.Place) }) {
			for _, p := range places { // their sites too
				if site, _, ok := strings.Cut(p, " / "); ok && !slices.Contains(places, site) {
					places = append(places, site)
				}
			}
			if near := nearest.Names(q.Place, places, 3); len(near) > 0 {
				return fmt.Errorf("%s: there is no place %q: the nearest are %s", r.Store.Name(), q.Place, strings.Join(near, ", "))
			}
			return fmt.Errorf("%s: there is no place %q", r.Store.Name(), q.Place)
		}
	}
	if q.Class != "" {
		return r.Judge.Known(q.Class)
	}
	return nil
}

// order goes through the copy once: a glance at each row.
func (l *StockList) order() error {
	info, err := l.tmp.Stat()
	if err != nil {
		return err
	}
	if l.file, err = stock.Open(l.tmp, info.Size(), l.Register, stock.Options{Today: l.On}); err != nil {
		return err
	}
	o := &ordering{l: l, numbers: map[string]int32{}}
	if _, err := l.file.Scan(1, func(int) stock.Visitor { return o }, func(stock.Visitor, int) error { return nil }); err != nil {
		return err
	}
	if o.bad != nil {
		return fmt.Errorf("%w: the list of the stock cannot be read: %s: make it anew with beadline stock log --rebuild", register.ErrDamaged, o.bad)
	}
	l.Parts = len(l.entries)
	byName := make([]int32, len(l.Classes))
	for i := range byName {
		byName[i] = int32(i)
	}
	slices.SortFunc(byName, func(a, b int32) int { return cmp.Compare(l.Classes[a].Class, l.Classes[b].Class) })
	place := make([]int32, len(byName))
	sorted := make([]ClassTotal, len(byName))
	for i, n := range byName {
		place[n], sorted[i] = int32(i), l.Classes[n]
	}
	l.Classes = sorted
	for i := range l.entries {
		l.entries[i].class = place[l.entries[i].class]
	}
	slices.SortFunc(l.entries, func(a, b listEntry) int {
		return cmp.Or(cmp.Compare(a.class, b.class), cmp.Compare(a.key, b.key), cmp.Compare(a.at, b.at))
	})
	return nil
}

// ordering takes the rows of the copy.
type ordering struct {
	l       *StockList
	numbers map[string]int32 // of classes
	bad     *stock.Bad
}

// Plain takes a plain row.
func (o *ordering) Plain(at stock.At, p *stock.Plain) {
	o.take(at, &p.Item, p.Quantity, p.Counted, string(p.Unit))
}

// Row takes any other row.
func (o *ordering) Row(at stock.At, r *stock.Row) {
	o.take(at, &r.Item, r.Quantity, r.Counted, r.Unit)
}

// Bad keeps the first row that cannot be read.
func (o *ordering) Bad(_ stock.At, b *stock.Bad) {
	if own := *b; o.bad == nil {
		o.bad = &own
	}
}

// End is of no interest.
func (o *ordering) End() {}

func (o *ordering) take(at stock.At, it *shelf.Item, quantity float64, counted bool, unit string) {
	l := o.l
	n, ok := o.numbers[it.Class]
	if !ok {
		n = int32(len(l.Classes))
		o.numbers[it.Class] = n
		l.Classes = append(l.Classes, ClassTotal{Class: it.Class})
	}
	v, last, dated := l.judge.Glance(it)
	l.entries = append(l.entries, listEntry{uint64(v)<<60 | desk.DrawKey(!it.Opened.IsZero(), last, dated), at.Offset, n, int32(len(l.entries))})
	t := &l.Classes[n]
	switch v {
	case shelf.Use:
		t.Use++
	case shelf.Hold:
		t.Hold++
	default:
		t.Reject++
	}
	if !counted {
		t.Uncounted++
		return
	}
	amount := register.Amount(quantity*1000 + 0.5)
	addTo(&t.Amounts, amount, unit)
	if v == shelf.Use {
		addTo(&t.Good, amount, unit)
	}
}

func addTo(to *[]Amount, n register.Amount, unit string) {
	for i := range *to {
		if a := &(*to)[i]; a.Unit == unit {
			a.Amount += n
			return
		}
	}
	*to = append(*to, Amount{n, unit})
}

// Each hands over the parts in order. What it hands over is good until each returns.
func (l *StockList) Each(each func(*Listed) error) error {
	parser := l.file.Parser()
	buf := make([]byte, 512)
	class := int32(-1)
	for _, e := range l.entries {
		raw, err := l.line(&buf, e.offset)
		if err != nil {
			return err
		}
		row, bad, err := parser.Parse(raw, int(e.at)+2)
		if err == nil && bad != nil {
			err = errors.New(bad.Reason)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", l.Register, err)
		}
		out := Listed{Row: row, FirstHere: e.class != class, Gone: row.Counted && row.Quantity == 0 || row.Item.Scrapped != ""}
		class = e.class
		if out.Verdict, out.Last, out.Dated = l.judge.Glance(&row.Item); out.Verdict != shelf.Use {
			out.Reason = l.judge.Full(row.Item).Governing.Reason
		}
		out.Reserved = l.reserved[partName{register.Batch{Number: row.Item.Batch, Maker: row.Maker()}, row.Item.Container, row.Location}]
		if err := each(&out); err != nil {
			return err
		}
	}
	return nil
}

// line reads one row of the copy again: no row of a register has a line break in it.
func (l *StockList) line(buf *[]byte, offset int64) ([]byte, error) {
	for {
		n, err := l.tmp.ReadAt(*buf, offset)
		if i := bytes.IndexByte((*buf)[:n], '\n'); i >= 0 {
			return (*buf)[:i+1], nil
		}
		if err != nil {
			return nil, fmt.Errorf("the temporary copy of the stock cannot be read again: %w", err)
		}
		*buf = make([]byte, 2*len(*buf))
	}
}
