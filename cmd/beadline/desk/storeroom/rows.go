package storeroom

import (
	"context"
	"errors"
	"io"
	"slices"

	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Flow is what the register has in stock as a stock list: a row for each part of a batch
// that the filter lets through, in order of batch, container and place. It does not wait
// for the last row: desk.Judge.Flag takes it so. The room is closed behind the last row,
// or at once with an error. Close the list.
func (r *Room) Flow(ctx context.Context, filter register.RowFilter) (*desk.List, error) {
	l, err := desk.FlowRegisterList(r.Store.Name(), func(w io.Writer) error {
		return errors.Join(spill(ctx, r.Store, filter, w), r.Close())
	})
	if err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return l, nil
}

func listOf(ctx context.Context, from register.Reader, name string, filter register.RowFilter) (*desk.List, error) {
	return desk.NewRegisterList(name, func(w io.Writer) error { return spill(ctx, from, filter, w) })
}

func spill(ctx context.Context, from register.Reader, filter register.RowFilter, w io.Writer) error {
	if _, err := io.WriteString(w, stock.RegisterHeader+"\n"); err != nil {
		return err
	}
	return from.Rows(ctx, filter, func(records []byte) error {
		_, err := w.Write(records)
		return err
	})
}

// Stock is the List to draw from for a job, and what of it is kept for other jobs, both
// of one moment. Close it.
func (r *Room) Stock(ctx context.Context, job string) (l *desk.List, err error) {
	err = r.Store.Snapshot(ctx, func(from register.Reader) error {
		all, err := from.Reserved(ctx)
		if err != nil {
			return err
		}
		if l, err = listOf(ctx, from, r.Store.Name(), register.RowFilter{}); err == nil {
			l.Kept = keptForOthers(all, job)
		}
		return err
	})
	return l, err
}

// keptForOthers is what is reserved for other jobs than one.
func keptForOthers(all map[register.Key][]register.Reserved, job string) map[desk.PartOf]desk.Kept {
	kept := map[desk.PartOf]desk.Kept{}
	for key, some := range all {
		b, ok := key.Batch()
		for _, v := range some {
			if !ok || v.Job == job {
				continue
			}
			part := desk.PartOf{Batch: b.Number, Maker: b.Maker, Container: v.Container, Place: v.Place}
			k := kept[part]
			k.Amount += v.Amount.Float()
			if !slices.Contains(k.Jobs, v.Job) {
				k.Jobs = append(k.Jobs, v.Job)
			}
			kept[part] = k
		}
	}
	return kept
}
