package desk

import (
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"time"

	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/nearest"
)

// Checked is one batch, or one row of a stock list, with its verdict.
type Checked struct {
	Item      shelf.Item
	Scan      *scan.Scan // nil unless its label was scanned
	Row       *stock.Row // nil unless it stands on a stock list
	Place     string     // "stock.csv:7", the name of the register, or "" where it is in neither
	Stock     *InStock   // nil unless it is a part of a batch in a register
	Judgement shelf.Judgement
	Zone      *time.Location // where the clocks of the answer hang; nil: not said
	Cautions  []string
}

// InStock is what a register has of a part of a batch, beside its Row.
type InStock struct {
	Maker    string // "": not recorded
	Words    string // how much is left, where, and what is reserved: "4 kits at cold store"
	Reserved []ReservedFor
}

// ReservedFor is how much of a part is kept for a job, in what the part counts in, who
// said so and when: an instant in RFC 3339, or a day.
type ReservedFor struct {
	Job, Mix string
	Amount   float64
	By, At   string
}

// Item judges a batch that a person described.
func (j *Judge) Item(it shelf.Item) Checked {
	return Checked{Item: it, Judgement: j.Full(it), Zone: j.Zone(), Cautions: j.Cautions(it.Class)}
}

// Batch finds a batch number on a stock list and judges every row that has it, in
// the order of the list; rows that name the batch and cannot be read are held, and
// stand last. warnings are those of the list. The name is the file's, for messages.
// Errors: the list cannot be read, or has no such batch; then the nearest ones are
// named.
func (j *Judge) Batch(r io.Reader, name, batch string) (rows []Checked, warnings []string, err error) {
	l, err := NewList(r, name, stock.Auto)
	if err != nil {
		return nil, nil, err
	}
	defer l.Close()
	return j.BatchOn(l, stock.Options{}, batch)
}

// BatchOn is Batch for a list that is open, read by options of one's own; Today is
// the judge's day whatever they say.
func (j *Judge) BatchOn(l *List, o stock.Options, batch string) (rows []Checked, warnings []string, err error) {
	o.Today = j.On
	found, file, warnings, err := findOn(l, o, ofBatch(batch))
	if err != nil {
		return nil, nil, err
	}
	for _, row := range found.rows {
		c := j.Item(row.Item)
		c.Row, c.Place = &row, fmt.Sprintf("%s:%d", l.Name, row.Line)
		rows = append(rows, c)
	}
	for _, bad := range found.bad {
		rows = append(rows, j.unreadable(bad))
	}
	if rows == nil {
		near, err := nearBatches(file, batch)
		if err != nil {
			return nil, nil, err
		}
		return nil, warnings, noSuchBatch(l.Name, batch, near, found.others)
	}
	return rows, warnings, nil
}

// findOn goes through a list, however long, for the rows of batches that are wanted. The
// file is given back for a second look.
func findOn(l *List, o stock.Options, wanted func(batch []byte) bool) (found *finding, file *stock.File, warnings []string, err error) {
	if file, err = stock.Open(l.src, l.size, l.Name, o); err != nil {
		return nil, nil, nil, err
	}
	found = &finding{}
	warnings, err = file.Scan(runtime.GOMAXPROCS(0), func(int) stock.Visitor { return &finding{wanted: wanted} }, func(v stock.Visitor, before int) error {
		found.add(v.(*finding), before)
		return nil
	})
	if err == nil {
		err = found.plainRows(file)
	}
	if err == nil {
		err = l.same()
	}
	return found, file, warnings, err
}

// ofBatch wants the rows of one batch.
func ofBatch(batch string) func([]byte) bool {
	return func(b []byte) bool { return string(b) == batch }
}

// finding goes through a stretch of a list for the rows that are wanted.
type finding struct {
	wanted func(batch []byte) bool
	plain  []stock.At // rows to read again
	rows   []stock.Row
	bad    []stock.Bad
	others int // rows that are not wanted
}

// Plain takes a plain row.
func (f *finding) Plain(at stock.At, p *stock.Plain) {
	if !f.wanted(p.Batch) {
		f.others++
		return
	}
	f.plain = append(f.plain, at)
}

// Row takes any other row that was understood.
func (f *finding) Row(at stock.At, r *stock.Row) {
	if !f.wanted([]byte(r.Item.Batch)) {
		f.others++
		return
	}
	r.Line = at.Line
	f.rows = append(f.rows, *r)
}

// Bad takes a row that was not.
func (f *finding) Bad(_ stock.At, b *stock.Bad) {
	switch {
	case f.wanted([]byte(b.Batch)):
		f.bad = append(f.bad, *b)
	case b.Batch == "":
	default:
		f.others++
	}
}

// End is the end of the stretch.
func (f *finding) End() {}

// add adds what was found in a stretch with so many lines before it.
func (f *finding) add(o *finding, before int) {
	for _, at := range o.plain {
		f.plain = append(f.plain, stock.At{Offset: at.Offset, Line: at.Line + before})
	}
	for _, r := range o.rows {
		r.Line += before
		f.rows = append(f.rows, r)
	}
	for _, b := range o.bad {
		b.Line, b.Row.Line = b.Line+before, b.Line+before
		f.bad = append(f.bad, b)
	}
	f.others += o.others
}

// plainRows reads the plain rows again, whole, and puts all rows in order.
func (f *finding) plainRows(file *stock.File) error {
	picker, parser := file.Picker(), file.Parser()
	for _, at := range f.plain {
		raw, err := picker.Append(nil, at.Offset)
		if err != nil {
			return err
		}
		row, bad, err := parser.Parse(raw, at.Line)
		if err != nil {
			return err
		}
		if bad != nil {
			f.bad = append(f.bad, *bad)
			continue
		}
		f.rows = append(f.rows, row)
	}
	slices.SortFunc(f.rows, func(a, b stock.Row) int { return a.Line - b.Line })
	return nil
}

// nearBatches are the batch numbers of a list nearest to one that it does not have.
func nearBatches(file *stock.File, batch string) ([]string, error) {
	var near []string
	_, err := file.Scan(runtime.GOMAXPROCS(0), func(int) stock.Visitor { return &nearby{batch: batch} }, func(v stock.Visitor, _ int) error {
		near = nearest.Names(batch, append(near, v.(*nearby).near...), nearNames)
		return nil
	})
	return near, err
}

// nearNames is how many batch numbers a refusal names.
const nearNames = 3

// nearby goes through a stretch of a list for batch numbers like one.
type nearby struct {
	batch      string
	near, some []string
}

// Plain, Row and Bad take the batch numbers of rows.
func (n *nearby) Plain(_ stock.At, p *stock.Plain) { n.name(string(p.Batch)) }

// Row is like Plain.
func (n *nearby) Row(_ stock.At, r *stock.Row) { n.name(r.Item.Batch) }

// Bad is like Plain.
func (n *nearby) Bad(_ stock.At, b *stock.Bad) { n.name(b.Batch) }

func (n *nearby) name(s string) {
	if s == "" {
		return
	}
	if n.some = append(n.some, s); len(n.some) >= 1000 {
		n.End()
	}
}

// End keeps the nearest of the names so far: the nearest of all are among the nearest
// of each lot, in the same order.
func (n *nearby) End() {
	n.near = nearest.Names(n.batch, append(n.near, n.some...), nearNames)
	n.some = n.some[:0]
}

// unreadable is the answer for a row that names the batch and cannot be read whole.
func (j *Judge) unreadable(bad stock.Bad) Checked {
	it := bad.Row.Item
	it.Batch = bad.Batch
	return Checked{
		Item:      it,
		Row:       &bad.Row,
		Place:     fmt.Sprintf("%s:%d", bad.File, bad.Line),
		Judgement: j.Faulty(bad),
		Cautions:  j.Cautions(it.Class),
	}
}

// Faulty judges a row that cannot be read whole. It is on hold; but where every date
// of it can be read and they reject it, it is rejected all the same.
func (j *Judge) Faulty(bad stock.Bad) shelf.Judgement {
	l := shelf.Limit{Name: LimitUnreadable, Verdict: shelf.Hold, Past: true, Counts: true,
		Reason: "Its row cannot be read: " + strings.TrimSuffix(bad.Reason, ".") + ".", Source: "the stock list"}
	if bad.Dated && bad.Row.Item.Class != "" {
		return holdFirst(j.Full(bad.Row.Item), l)
	}
	return shelf.Judgement{On: j.On, Verdict: shelf.Hold, Governing: l, Limits: []shelf.Limit{l}}
}

func noSuchBatch(name, batch string, near []string, others int) error {
	switch {
	case others == 0:
		return fmt.Errorf("%s: there is no batch %q: the list has no rows", name, batch)
	case near == nil:
		return fmt.Errorf("%s: there is no batch %q among its %d rows: copy the number from the label", name, batch, others)
	}
	return fmt.Errorf("%s: there is no batch %q: the nearest are %s", name, batch, strings.Join(near, ", "))
}

// Worst is the index of the row with the severest verdict, the first of equals.
func Worst(rows []Checked) int {
	worst := 0
	for i, r := range rows {
		if r.Judgement.Verdict > rows[worst].Judgement.Verdict {
			worst = i
		}
	}
	return worst
}

// Sheet judges every row of a stock list, in its order; a row that cannot be read is
// held, and stands last.
func (j *Judge) Sheet(r io.Reader, name string) ([]Checked, error) {
	var rows []Checked
	report, err := stock.EachCSV(r, name, j.On, func(row stock.Row) error {
		c := j.Item(row.Item)
		c.Row, c.Place = &row, fmt.Sprintf("%s:%d", name, row.Line)
		rows = append(rows, c)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, bad := range report.Bad {
		rows = append(rows, j.unreadable(bad))
	}
	return rows, nil
}
