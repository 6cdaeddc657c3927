package desk

import (
	"fmt"
	"io"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/nearest"
)

// Checked is one batch, or one row of a stock list, with its verdict.
type Checked struct {
	Item      shelf.Item
	Row       *stock.Row // nil unless it stands on a stock list
	Place     string     // "stock.csv:7", or "" unless it stands on a stock list
	Judgement shelf.Judgement
	Cautions  []string
}

// Item judges a batch that a person described.
func (j *Judge) Item(it shelf.Item) Checked {
	return Checked{Item: it, Judgement: j.Full(it), Cautions: j.Cautions(it.Class)}
}

// Batch finds a batch number on a stock list and judges every row that has it, in
// the order of the list. A row that names the batch and cannot be read is held.
// warnings are those of the list. The name is the file's, for messages. Errors: the
// list cannot be read, or has no such batch; then the nearest ones are named.
func (j *Judge) Batch(r io.Reader, name, batch string) (rows []Checked, warnings []string, err error) {
	var others []string
	report, err := stock.EachCSV(r, name, j.On, func(row stock.Row) error {
		if row.Item.Batch != batch {
			others = append(others, strings.Clone(row.Item.Batch))
			return nil
		}
		c := j.Item(row.Item)
		c.Row, c.Place = &row, fmt.Sprintf("%s:%d", name, row.Line)
		rows = append(rows, c)
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	for _, bad := range report.Bad {
		if bad.Batch == batch {
			rows = append(rows, j.unreadable(bad))
		} else if bad.Batch != "" {
			others = append(others, bad.Batch)
		}
	}
	if rows == nil {
		return nil, report.Warnings, noSuchBatch(name, batch, others)
	}
	return rows, report.Warnings, nil
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

func noSuchBatch(name, batch string, others []string) error {
	switch near := nearest.Names(batch, others, 3); {
	case len(others) == 0:
		return fmt.Errorf("%s: there is no batch %q: the list has no rows", name, batch)
	case near == nil:
		return fmt.Errorf("%s: there is no batch %q among its %d rows: copy the number from the label", name, batch, len(others))
	default:
		return fmt.Errorf("%s: there is no batch %q: the nearest are %s", name, batch, strings.Join(near, ", "))
	}
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
