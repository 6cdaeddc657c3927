package storeroom

import (
	"bufio"
	"context"
	"io"

	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
)

// ExportList writes the register as a stock list under stock.RegisterHeader, which flag,
// check and import read: what is in stock, or with gone what is used up or scrapped too.
func (r *Room) ExportList(ctx context.Context, to io.Writer, gone bool) error {
	w := bufio.NewWriterSize(to, 1<<16)
	if _, err := w.WriteString(stock.RegisterHeader + "\n"); err != nil {
		return err
	}
	err := r.Store.Snapshot(ctx, func(from register.Reader) error {
		return from.Rows(ctx, register.RowFilter{Gone: gone}, func(records []byte) error {
			_, err := w.Write(records)
			return err
		})
	})
	if err != nil {
		return err
	}
	return w.Flush()
}

// ExportEvents writes every event of the register, one a line: {"hash":…,"body":{…}}, in
// the order of batches and of each batch's events.
func (r *Room) ExportEvents(ctx context.Context, to io.Writer) error {
	w := bufio.NewWriterSize(to, 1<<16)
	err := r.Store.Snapshot(ctx, func(from register.Reader) error {
		return from.EachLine(ctx, func(_ register.Head, records []register.Record) error {
			for _, rec := range records {
				w.WriteString(`{"hash":"` + rec.Hash.String() + `","body":`)
				w.Write(rec.Body)
				if _, err := w.WriteString("}\n"); err != nil {
					return err
				}
			}
			return ctx.Err()
		})
	})
	if err != nil {
		return err
	}
	return w.Flush()
}
