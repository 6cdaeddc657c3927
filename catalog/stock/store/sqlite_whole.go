package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/stock/register"
)

func (s *sqliteStore) Checkpoint(ctx context.Context, make func(*register.Checkpoint, []register.Head) (*register.Checkpoint, error)) (*register.Checkpoint, error) {
	for {
		c, err := s.tryCheckpoint(ctx, make)
		if !errors.Is(err, errOvertaken) {
			return c, err
		}
	}
}

func (s *sqliteStore) tryCheckpoint(ctx context.Context, make func(*register.Checkpoint, []register.Head) (*register.Checkpoint, error)) (c *register.Checkpoint, err error) {
	if s.o.ReadOnly || s.fixed != nil {
		return nil, fmt.Errorf("%s: %w", s.path, register.ErrReadOnly)
	}
	var st state
	err = s.from.moment(ctx, func(m source) (err error) {
		st, err = reader{m}.state(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	if c, err = st.complete(make); err != nil || c == nil {
		return nil, err
	}
	err = s.write(ctx, func(w *sqliteWriter) error {
		rows, err := w.exec(`INSERT INTO checkpoint (n, at, by, lines, events, previous, hash)
			SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7 WHERE ?1 = 1 + (SELECT coalesce(max(n), 0) FROM checkpoint)`, checkpointRow(c)...)
		if err == nil && rows == 0 {
			return errOvertaken
		}
		if err != nil {
			return err
		}
		return writeHeads(ctx, w, c)
	})
	if err != nil {
		return nil, err
	}
	return c, nil
}

// headsAtOnce is how many heads one statement inserts: others wait for this transaction,
// and most of a statement's time is its own.
const headsAtOnce = 100

func writeHeads(ctx context.Context, w *sqliteWriter, c *register.Checkpoint) error {
	for some := range slices.Chunk(c.Heads, headsAtOnce) {
		if err := ctx.Err(); err != nil {
			return err
		}
		args := make([]any, 0, 4*len(some))
		for i := range some {
			args = append(args, c.N, string(some[i].Key), some[i].Seq, some[i].Hash[:])
		}
		_, err := w.exec(`INSERT INTO checkpoint_head (n, line, seq, hash) VALUES (?, ?, ?, ?)`+strings.Repeat(`, (?, ?, ?, ?)`, len(some)-1), args...)
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *sqliteStore) Reproject(ctx context.Context, project func(register.Key, []register.Record) (register.Projection, error)) error {
	return s.write(ctx, func(w *sqliteWriter) error {
		for _, table := range []string{"lot", "served", "reserved"} {
			if _, err := w.exec(`DELETE FROM ` + table); err != nil {
				return err
			}
		}
		return reader{sqliteSource{s, w, true}}.EachLine(ctx, func(h register.Head, records []register.Record) error {
			p, err := project(h.Key, records)
			if err == nil {
				err = checkProjection(&p, nil)
			}
			if err != nil {
				return fmt.Errorf("%s: %w", h.Key, err)
			}
			return s.writeProjection(w, h.Key, &p, true, 0)
		})
	})
}

func (s *sqliteStore) Restore(ctx context.Context, next func() (*register.Write, error), checkpoints func() ([]register.Checkpoint, error)) error {
	return s.write(ctx, func(w *sqliteWriter) error {
		r := reader{sqliteSource{s, w, true}}
		if err := r.empty(ctx); err != nil {
			return err
		}
		for {
			if err := ctx.Err(); err != nil {
				return err
			}
			change, err := next()
			if err != nil {
				return err
			}
			if change == nil {
				break
			}
			if err := checkFresh(change); err != nil {
				return err
			}
			if err := s.writeLine(w, change); err != nil {
				return err
			}
		}
		return restoreCheckpoints(ctx, w, checkpoints)
	})
}

func restoreCheckpoints(ctx context.Context, w *sqliteWriter, checkpoints func() ([]register.Checkpoint, error)) error {
	all, err := checkpoints()
	if err != nil {
		return err
	}
	for i := range all {
		_, err := w.exec(`INSERT INTO checkpoint (n, at, by, lines, events, previous, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)`, checkpointRow(&all[i])...)
		if err != nil {
			return err
		}
		if err := writeHeads(ctx, w, &all[i]); err != nil {
			return err
		}
	}
	_, err = w.exec(restoredEpoch)
	return err
}
