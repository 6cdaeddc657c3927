package store

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"beadline/catalog/stock/register"
)

// EachProjection goes through the lines as EachLine does, and so finds what is projected
// of a line that is not there too.
func (r reader) EachProjection(ctx context.Context, each func(register.Key, register.Projection) error) error {
	return r.from.moment(ctx, func(s source) error {
		m := reader{s}
		after := ""
		for {
			heads, err := m.someHeads(ctx, after)
			if err != nil {
				return err
			}
			upto := ""
			if len(heads) > 0 {
				upto = string(heads[len(heads)-1].Key)
			}
			some, err := m.someProjections(ctx, after, upto)
			if err != nil {
				return err
			}
			for _, key := range slices.Sorted(maps.Keys(some)) {
				if err := each(key, *some[key]); err != nil {
					return err
				}
			}
			if len(heads) == 0 {
				return nil
			}
			after = upto
		}
	})
}

// someProjections is what is projected of the lines behind one key, up to another; "" is
// the end.
func (r reader) someProjections(ctx context.Context, after, upto string) (map[register.Key]*register.Projection, error) {
	within, args := `line > $1 AND line <= $2`, []any{after, upto}
	if upto == "" {
		within, args = `line > $1`, args[:1]
	}
	all := map[register.Key]*register.Projection{}
	of := func(key register.Key) *register.Projection {
		if all[key] == nil {
			all[key] = &register.Projection{}
		}
		return all[key]
	}
	err := r.from.query(ctx, `SELECT line, container, place, class, stocked, row FROM lot WHERE stocked IN (0, 1) AND `+within, args, func() { clear(all) },
		func(scan func(...any) error) error {
			var key register.Key
			var l register.Lot
			var stocked int
			err := scan((*string)(&key), &l.Container, &l.Place, &l.Class, &stocked, &l.Row)
			l.Stocked = stocked == 1
			of(key).Lots = append(of(key).Lots, l)
			return err
		})
	if err != nil {
		return nil, err
	}
	for _, p := range all {
		slices.SortFunc(p.Lots, func(a, b register.Lot) int {
			return cmp.Or(cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
		})
	}
	served, err := r.served(ctx, within+` ORDER BY line, n`, args)
	if err != nil {
		return nil, err
	}
	for _, s := range served {
		of(s.Key).Served = append(of(s.Key).Served, s)
	}
	var keys []register.Key
	var reserved []register.Reserved
	err = r.from.query(ctx, `SELECT line, job, container, place, amount FROM reserved WHERE `+within+` ORDER BY line, n`, args,
		func() { keys, reserved = nil, nil },
		func(scan func(...any) error) error {
			var key register.Key
			var v register.Reserved
			err := scan((*string)(&key), &v.Job, &v.Container, &v.Place, (*int64)(&v.Amount))
			keys, reserved = append(keys, key), append(reserved, v)
			return err
		})
	for i, key := range keys {
		of(key).Reserved = append(of(key).Reserved, reserved[i])
	}
	return all, err
}
