package store

import (
	"context"
	"errors"

	"beadline/catalog/stock/register"
)

// state is what a checkpoint is made from, all of one moment.
type state struct {
	last   *register.Checkpoint
	moved  []register.Head
	totals register.Totals
}

// state finds the heads that no checkpoint covers. Each write leaves on its line the
// number of the checkpoint it saw (its epoch). Since the last one, N, was made while
// others wrote, whoever saw N-1 may have been missed by it: so those of an epoch from N-1
// on are looked at, by an index, and not all lines.
//
// A write that saw an even older checkpoint, and became durable only after N, would be
// missed for ever. So the sums have to come out: what the lines hold now is what the last
// checkpoint counted, and what has been added by the heads that moved. If they do not,
// all lines are looked at.
func (r reader) state(ctx context.Context) (st state, err error) {
	all, err := r.checkpoints(ctx, `ORDER BY n DESC LIMIT 1`)
	if err != nil {
		return st, err
	}
	var counted register.Totals
	since := -1
	if len(all) > 0 {
		st.last = &all[0]
		counted, since = register.Totals{Lines: all[0].Lines, Events: all[0].Events}, all[0].N-1
	}
	if st.totals, err = r.Totals(ctx); err != nil {
		return st, err
	}
	for {
		var more register.Totals
		if st.moved, more, err = r.moved(ctx, since); err != nil {
			return st, err
		}
		if since < 0 || st.totals == (register.Totals{Lines: counted.Lines + more.Lines, Events: counted.Events + more.Events}) {
			return st, nil
		}
		since = -1
	}
}

// moved gives the heads of an epoch that no checkpoint covers, in order of keys, and how
// many lines and events they add to what the checkpoints cover.
func (r reader) moved(ctx context.Context, since int) (heads []register.Head, more register.Totals, err error) {
	err = r.from.query(ctx, `SELECT key, seq, hash, coalesce((SELECT max(h.seq) FROM checkpoint_head AS h WHERE h.line = l.key), 0)
		FROM line AS l
		WHERE epoch >= $1 AND NOT EXISTS (SELECT 1 FROM checkpoint_head AS h WHERE h.line = l.key AND h.seq = l.seq)
		ORDER BY key`, []any{since}, func() { heads, more = nil, register.Totals{} },
		func(scan func(...any) error) error {
			var h register.Head
			var hash []byte
			var covered int
			if err := scan((*string)(&h.Key), &h.Seq, &hash, &covered); err != nil {
				return err
			}
			if covered == 0 {
				more.Lines++
			}
			more.Events += h.Seq - covered
			heads = append(heads, h)
			return r.hash(hash, &heads[len(heads)-1].Hash)
		})
	return heads, more, err
}

// complete has make fill in a checkpoint, counts what it covers and seals it.
func (st *state) complete(make func(*register.Checkpoint, []register.Head) (*register.Checkpoint, error)) (*register.Checkpoint, error) {
	c, err := make(st.last, st.moved)
	if err != nil || c == nil {
		return nil, err
	}
	c.Lines, c.Events = st.totals.Lines, st.totals.Events
	c.Seal()
	return c, nil
}

// errOvertaken: another program made the checkpoint that this one was to be.
var errOvertaken = errors.New("another program made a checkpoint at the same moment")

func checkpointRow(c *register.Checkpoint) []any {
	return []any{c.N, instant(c.At), c.By, c.Lines, c.Events, c.Previous[:], c.Hash[:]}
}
