package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"beadline/catalog/stock/register"
)

// Checkpoint is one transaction on one moment: what others write meanwhile it does not
// see, and does not hold up. If another program makes one at the same moment, the second
// starts again from that.
func (s *pgStore) Checkpoint(ctx context.Context, make func(*register.Checkpoint, []register.Head) (*register.Checkpoint, error)) (c *register.Checkpoint, err error) {
	for {
		err = s.transact(ctx, pgx.RepeatableRead, func(tx pgx.Tx) error {
			st, err := reader{pgSource{s, tx, true}}.state(ctx)
			if err != nil {
				return err
			}
			if c, err = st.complete(make); err != nil || c == nil {
				return callers(err)
			}
			return s.writeCheckpoint(ctx, tx, c)
		})
		if !errors.Is(err, errOvertaken) {
			break
		}
	}
	if err != nil {
		return nil, err
	}
	return c, nil
}

func (s *pgStore) writeCheckpoint(ctx context.Context, tx pgx.Tx, c *register.Checkpoint) error {
	_, err := tx.Exec(ctx, `INSERT INTO checkpoint (n, at, by, lines, events, previous, hash) VALUES ($1, $2, $3, $4, $5, $6, $7)`, checkpointRow(c)...)
	if err == nil {
		_, err = tx.CopyFrom(ctx, pgx.Identifier{"checkpoint_head"}, []string{"n", "line", "seq", "hash"},
			pgx.CopyFromSlice(len(c.Heads), func(i int) ([]any, error) {
				h := &c.Heads[i]
				return []any{int64(c.N), string(h.Key), int64(h.Seq), h.Hash[:]}, nil
			}))
	}
	switch constraintOf(err) {
	case "checkpoint_n", "checkpoint_head_line_seq":
		return errOvertaken
	}
	return err
}

// Reproject takes the lines a chunk at a time and marks them as written to, so that
// whoever writes to one of them meanwhile waits, and starts again from what is here.
// Its transaction is READ COMMITTED: each chunk is read as it is once it is marked.
func (s *pgStore) Reproject(ctx context.Context, project func(register.Key, []register.Record) (register.Projection, error)) error {
	return s.transact(ctx, pgx.ReadCommitted, func(tx pgx.Tx) error {
		m, after := reader{pgSource{s, tx, true}}, ""
		for {
			heads, err := m.someHeads(ctx, after)
			if err != nil || len(heads) == 0 {
				return errors.Join(err, s.dropLost(ctx, tx))
			}
			upto := string(heads[len(heads)-1].Key)
			if err := s.reprojectSome(ctx, tx, after, heads, project); err != nil {
				return err
			}
			after = upto
		}
	})
}

func (s *pgStore) reprojectSome(ctx context.Context, tx pgx.Tx, after string, heads []register.Head, project func(register.Key, []register.Record) (register.Projection, error)) error {
	upto := string(heads[len(heads)-1].Key)
	var mark pgx.Batch
	mark.Queue(`UPDATE line SET epoch = epoch WHERE key > $1 AND key <= $2`, after, upto)
	mark.Queue(`DELETE FROM lot WHERE stocked IN (0, 1) AND line > $1 AND line <= $2`, after, upto)
	mark.Queue(`DELETE FROM served WHERE line > $1 AND line <= $2`, after, upto)
	mark.Queue(`DELETE FROM reserved WHERE line > $1 AND line <= $2`, after, upto)
	if err := run(ctx, tx, &mark); err != nil {
		return err
	}
	events, err := reader{pgSource{s, tx, true}}.someEvents(ctx, after, upto)
	if err != nil {
		return err
	}
	var put pgx.Batch
	err = merge(heads, events, func(h register.Head, records []register.Record) error {
		p, err := project(h.Key, records)
		if err == nil {
			err = checkProjection(&p, nil)
		}
		if err != nil {
			return callers(fmt.Errorf("%s: %w", h.Key, err))
		}
		s.queueProjection(&put, h.Key, &p)
		return nil
	})
	if err != nil {
		return err
	}
	return run(ctx, tx, &put)
}

// dropLost drops what is projected of lines that are not there any more.
func (s *pgStore) dropLost(ctx context.Context, tx pgx.Tx) error {
	var b pgx.Batch
	for _, table := range []string{"lot", "served", "reserved"} {
		b.Queue(`DELETE FROM ` + table + ` AS p WHERE NOT EXISTS (SELECT 1 FROM line WHERE line.key = p.line)`)
	}
	return run(ctx, tx, &b)
}

// Restore copies the lines in, many at a time. It is not tried again once it has asked
// for the first line.
func (s *pgStore) Restore(ctx context.Context, next func() (*register.Write, error), checkpoints func() ([]register.Checkpoint, error)) error {
	began := false
	return s.transact(ctx, pgx.RepeatableRead, func(tx pgx.Tx) (err error) {
		if began {
			return fmt.Errorf("%s: the connection was lost while the register was restored: nothing of it is there; start again", s.label)
		}
		if err := (reader{pgSource{s, tx, true}}).empty(ctx); err != nil {
			return err
		}
		began = true
		names := map[string]bool{}
		for more := true; more; {
			var some []*register.Write
			if some, more, err = take(next, 1000); err != nil {
				return err
			}
			for _, w := range some {
				for _, p := range places(w.Lots) {
					names[p] = true
				}
			}
			if err := s.copyLines(ctx, tx, some); err != nil {
				return err
			}
		}
		return s.restoreRest(ctx, tx, names, checkpoints)
	})
}

// take takes up to n lines; more is false at their end.
func take(next func() (*register.Write, error), n int) (some []*register.Write, more bool, err error) {
	for len(some) < n {
		w, err := next()
		if err != nil || w == nil {
			return some, false, callers(err)
		}
		if err := checkFresh(w); err != nil {
			return nil, false, callers(err)
		}
		kept := *w
		some = append(some, &kept)
	}
	return some, true, nil
}

func (s *pgStore) copyLines(ctx context.Context, tx pgx.Tx, some []*register.Write) error {
	var lines, events, lots, served, reserved [][]any
	for _, w := range some {
		key, h := string(w.Key), head(w)
		lines = append(lines, []any{key, int64(h.Seq), h.Hash[:]})
		for _, r := range w.Add {
			events = append(events, []any{key, int64(r.Seq), r.ID, r.Hash[:], string(r.Body)})
		}
		for _, l := range w.Lots {
			lots = append(lots, []any{int16(number(l.Stocked)), key, l.Container, l.Place, l.Class, l.Row})
		}
		for n, v := range w.Served {
			served = append(served, []any{key, int64(n), int64(v.Seq), v.Joint, v.Job, v.Mix, instant(v.At)})
		}
		for n, v := range w.Reserved {
			reserved = append(reserved, []any{key, int64(n), v.Job, v.Container, v.Place, int64(v.Amount)})
		}
	}
	for _, c := range []struct {
		table   string
		columns []string
		rows    [][]any
	}{
		{"line", []string{"key", "seq", "hash"}, lines},
		{"event", []string{"line", "seq", "id", "hash", "body"}, events},
		{"lot", []string{"stocked", "line", "container", "place", "class", "row"}, lots},
		{"served", []string{"line", "n", "seq", "joint", "job", "mix", "at"}, served},
		{"reserved", []string{"line", "n", "job", "container", "place", "amount"}, reserved},
	} {
		if len(c.rows) == 0 {
			continue
		}
		_, err := tx.CopyFrom(ctx, pgx.Identifier{c.table}, c.columns, pgx.CopyFromRows(c.rows))
		switch constraintOf(err) {
		case "event_id":
			return fmt.Errorf("%s: %w", s.label, register.ErrDuplicate)
		case "line_key", "event_line_seq":
			return fmt.Errorf("%s: %w", s.label, register.ErrConflict)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *pgStore) restoreRest(ctx context.Context, tx pgx.Tx, names map[string]bool, checkpoints func() ([]register.Checkpoint, error)) error {
	all, err := checkpoints()
	if err != nil {
		return callers(err)
	}
	for i := range all {
		if err := s.writeCheckpoint(ctx, tx, &all[i]); err != nil {
			return err
		}
	}
	var b pgx.Batch
	list := []string{}
	for name := range names {
		list = append(list, name)
	}
	b.Queue(putPlaces, list)
	b.Queue(restoredEpoch)
	return run(ctx, tx, &b)
}
