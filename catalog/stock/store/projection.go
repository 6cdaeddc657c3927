package store

import (
	"context"

	"beadline/catalog/stock/register"
)

func (r reader) Integrity(ctx context.Context) ([]string, error) { return r.from.integrity(ctx) }

// projection is all that is projected of a line now, but for the first so many of what
// was served.
func (r reader) projection(ctx context.Context, key register.Key, but int) (p register.Projection, err error) {
	if p.Lots, err = r.Lots(ctx, key); err != nil {
		return p, err
	}
	if p.Served, err = r.served(ctx, `line = $1 AND n >= $2 ORDER BY n`, []any{string(key), but}); err != nil {
		return p, err
	}
	err = r.from.query(ctx, `SELECT job, container, place, amount FROM reserved WHERE line = $1 ORDER BY n`, []any{string(key)},
		func() { p.Reserved = nil },
		func(scan func(...any) error) error {
			var v register.Reserved
			err := scan(&v.Job, &v.Container, &v.Place, (*int64)(&v.Amount))
			p.Reserved = append(p.Reserved, v)
			return err
		})
	return p, err
}
