package storeroom

import (
	"context"
	"strings"

	"beadline/catalog/stock/register"
)

// Overview is how much a register holds.
type Overview struct {
	Register    string
	Batches     int
	Catalogs    int // of classes
	Events      int
	Checkpoints int
	Last        *register.Checkpoint // nil: there is none
}

// Line is the line of events of a batch.
func (r *Room) Line(ctx context.Context, number, maker string) (*register.State, error) {
	key, err := r.Find(ctx, number, maker)
	if err != nil {
		return nil, err
	}
	return r.Load(ctx, key)
}

// Overview counts what the register holds.
func (r *Room) Overview(ctx context.Context) (*Overview, error) {
	o := &Overview{Register: r.Store.Name()}
	err := r.Store.Snapshot(ctx, func(from register.Reader) error {
		t, err := from.Totals(ctx)
		if err != nil {
			return err
		}
		prefix := register.CatalogKey("")
		err = from.Lines(ctx, prefix, func(h register.Head) bool {
			if !strings.HasPrefix(string(h.Key), string(prefix)) {
				return false
			}
			o.Catalogs++
			return true
		})
		if err != nil {
			return err
		}
		o.Batches, o.Events = t.Lines-o.Catalogs, t.Events
		all, err := from.Checkpoints(ctx)
		if n := len(all); n > 0 {
			o.Checkpoints, o.Last = n, &all[n-1]
		}
		return err
	})
	return o, err
}
