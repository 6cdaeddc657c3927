package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"beadline/catalog/stock/register"
)

// sqliteWriter is the one connection of a store that writes, with its statements.
type sqliteWriter struct {
	db         *sql.DB
	conn       *sql.Conn
	statements map[string]*sql.Stmt
}

func (s *sqliteStore) openWriter(ctx context.Context) error {
	if s.writer != nil {
		return nil
	}
	db, err := sql.Open("sqlite", s.dsn("mode=rw"))
	if err != nil {
		return err
	}
	conn, err := db.Conn(ctx)
	if err == nil {
		_, err = conn.ExecContext(ctx, `PRAGMA journal_mode = WAL`)
	}
	if err != nil {
		return errors.Join(err, db.Close())
	}
	s.writer = &sqliteWriter{db, conn, map[string]*sql.Stmt{}}
	return nil
}

func (w *sqliteWriter) close() error {
	var err error
	for _, p := range w.statements { // SQLite does not close for good while there are any
		err = errors.Join(err, p.Close())
	}
	return errors.Join(err, w.conn.Close(), w.db.Close())
}

// QueryContext makes the writer something to read from.
func (w *sqliteWriter) QueryContext(ctx context.Context, statement string, args ...any) (*sql.Rows, error) {
	p, err := w.prepared(statement)
	if err != nil {
		return nil, err
	}
	return p.QueryContext(ctx, args...)
}

func (w *sqliteWriter) prepared(statement string) (*sql.Stmt, error) {
	p := w.statements[statement]
	if p == nil {
		var err error
		if p, err = w.conn.PrepareContext(context.Background(), statement); err != nil {
			return nil, err
		}
		w.statements[statement] = p
	}
	return p, nil
}

// exec runs a statement and says how many rows it changed. Nothing in a transaction is
// broken off: it is short, or looks at the context itself.
func (w *sqliteWriter) exec(statement string, args ...any) (int64, error) {
	p, err := w.prepared(statement)
	if err != nil {
		return 0, err
	}
	res, err := p.ExecContext(context.Background(), args...)
	if err != nil {
		return 0, err
	}
	return res.RowsAffected()
}

// write runs f in a transaction that has the file's one lock for writing from its start,
// so that nothing in it has to be given up halfway. All of it is durable, or nothing
// happened; register.ErrUnknown where the disk failed in the act.
func (s *sqliteStore) write(ctx context.Context, f func(*sqliteWriter) error) error {
	if s.o.ReadOnly || s.fixed != nil {
		return fmt.Errorf("%s: %w", s.path, register.ErrReadOnly)
	}
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	late := time.NewTimer(s.o.patience())
	defer late.Stop()
	select {
	case s.writing <- struct{}{}:
		defer func() { <-s.writing }()
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-late.C:
		return fmt.Errorf("%s: others have been writing for %s: try again later", s.path, s.o.patience())
	}
	err := s.again(ctx, func() (bool, error) {
		if err := s.openWriter(ctx); err != nil {
			return false, err
		}
		_, err := s.writer.exec(`BEGIN IMMEDIATE`)
		return false, err
	})
	if err != nil {
		return err
	}
	if err := f(s.writer); err != nil {
		s.rollback()
		return s.says(err)
	}
	if _, err := s.writer.exec(`COMMIT`); err != nil {
		s.rollback()
		if sqliteCode(err) == codeIO {
			return fmt.Errorf("%s: the disk does not write as it should (%s): %w", s.path, bare(err), register.ErrUnknown)
		}
		return s.says(err)
	}
	return nil
}

// rollback leaves nothing of a transaction. SQLite may have done so itself.
func (s *sqliteStore) rollback() { _, _ = s.writer.exec(`ROLLBACK`) }

func (s *sqliteStore) Commit(ctx context.Context, writes []register.Write) error {
	writes, err := inOrder(writes)
	if err != nil || len(writes) == 0 {
		return err
	}
	err = s.write(ctx, func(w *sqliteWriter) error {
		for i := range writes {
			if err := s.writeLine(w, &writes[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		s.keepPlaces(writes)
	}
	return err
}

// keepPlaces remembers places that are in the file for certain: nobody takes one out.
func (s *sqliteStore) keepPlaces(writes []register.Write) {
	for i := range writes {
		for _, p := range places(writes[i].Lots) {
			s.places.Store(p, true)
		}
	}
}

func (s *sqliteStore) writeLine(w *sqliteWriter, change *register.Write) error {
	if err := s.moveHead(w, change); err != nil {
		return err
	}
	for _, r := range change.Add {
		_, err := w.exec(`INSERT INTO event (line, seq, id, hash, body) VALUES (?1, ?2, ?3, ?4, ?5)`,
			string(change.Key), r.Seq, r.ID, r.Hash[:], string(r.Body))
		if err != nil {
			return s.refused(change.Key, r.ID, err)
		}
	}
	return s.writeProjection(w, change.Key, &change.Projection, change.After.Seq == 0, change.ServedAsBefore)
}

// moveHead is the compare-and-swap.
func (s *sqliteStore) moveHead(w *sqliteWriter, change *register.Write) error {
	const epoch = `(SELECT coalesce(max(n), 0) FROM checkpoint)`
	h := head(change)
	var rows int64
	var err error
	if change.After.Seq == 0 {
		rows, err = w.exec(`INSERT INTO line (key, seq, hash, epoch) VALUES (?1, ?2, ?3, `+epoch+`) ON CONFLICT DO NOTHING`,
			string(h.Key), h.Seq, h.Hash[:])
	} else {
		rows, err = w.exec(`UPDATE line SET seq = ?2, hash = ?3, epoch = `+epoch+` WHERE key = ?1 AND seq = ?4 AND hash = ?5`,
			string(h.Key), h.Seq, h.Hash[:], change.After.Seq, change.After.Hash[:])
	}
	if err == nil && rows == 0 {
		return fmt.Errorf("%s: %s: %w", s.path, change.Key, register.ErrConflict)
	}
	return err
}

func (s *sqliteStore) refused(key register.Key, id string, err error) error {
	switch {
	case extendedCode(err) == extendedUnique && strings.Contains(err.Error(), "event.id"):
		return fmt.Errorf("%s: %s: %w: %q", s.path, key, register.ErrDuplicate, id)
	case sqliteCode(err) == codeConstraint && strings.Contains(err.Error(), "event.line, event.seq"):
		return fmt.Errorf("%s: %s: %w", s.path, key, register.ErrConflict)
	}
	return err
}

// writeProjection writes what has changed of a line's projection, and no more: most of a
// long line stays as it is. The first so many served are so, and are not even read, but
// for the last of them: should that be missing or another, all are looked at.
func (s *sqliteStore) writeProjection(w *sqliteWriter, key register.Key, p *register.Projection, fresh bool, same int) error {
	var old register.Projection
	from := max(0, same-1)
	for !fresh {
		var err error
		if old, err = (reader{sqliteSource{s, w, true}}).projection(context.Background(), key, from); err != nil {
			return err
		}
		if from == 0 || len(old.Served) > 0 && sameServed(old.Served[0], p.Served[from]) {
			break
		}
		from = 0
	}
	if fresh {
		from = 0
	}
	for _, name := range places(p.Lots) {
		if _, known := s.places.Load(name); known {
			continue
		}
		if _, err := w.exec(`INSERT INTO place (name) VALUES (?1) ON CONFLICT DO NOTHING`, name); err != nil {
			return err
		}
	}
	return errors.Join(writeLots(w, key, old.Lots, p.Lots), writeServed(w, key, old.Served, p.Served, from),
		writeReserved(w, key, old.Reserved, p.Reserved))
}

func writeLots(w *sqliteWriter, key register.Key, old, lots []register.Lot) error {
	type at struct {
		container, place string
		stocked          bool
	}
	before := make(map[at]register.Lot, len(old))
	for _, l := range old {
		before[at{l.Container, l.Place, l.Stocked}] = l
	}
	for _, l := range lots {
		was, ok := before[at{l.Container, l.Place, l.Stocked}]
		delete(before, at{l.Container, l.Place, l.Stocked})
		if ok && was == l {
			continue
		}
		_, err := w.exec(`INSERT INTO lot (stocked, line, container, place, class, row) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
			ON CONFLICT (stocked, line, container, place) DO UPDATE SET class = excluded.class, row = excluded.row`,
			number(l.Stocked), string(key), l.Container, l.Place, l.Class, l.Row)
		if err != nil {
			return err
		}
	}
	for a := range before {
		_, err := w.exec(`DELETE FROM lot WHERE stocked = ?1 AND line = ?2 AND container = ?3 AND place = ?4`,
			number(a.stocked), string(key), a.container, a.place)
		if err != nil {
			return err
		}
	}
	return nil
}

func number(b bool) int {
	if b {
		return 1
	}
	return 0
}

// writeServed writes what was served from a number on, as old is.
func writeServed(w *sqliteWriter, key register.Key, old, served []register.Served, from int) error {
	for n := from; n < len(served); n++ {
		v := served[n]
		if n-from < len(old) && sameServed(old[n-from], v) {
			continue
		}
		_, err := w.exec(`INSERT INTO served (line, n, seq, joint, job, mix, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
			ON CONFLICT (line, n) DO UPDATE SET seq = excluded.seq, joint = excluded.joint, job = excluded.job, mix = excluded.mix, at = excluded.at`,
			string(key), n, v.Seq, v.Joint, v.Job, v.Mix, instant(v.At))
		if err != nil {
			return err
		}
	}
	if from+len(old) <= len(served) {
		return nil
	}
	_, err := w.exec(`DELETE FROM served WHERE line = ?1 AND n >= ?2`, string(key), len(served))
	return err
}

func sameServed(a, b register.Served) bool {
	return a.Seq == b.Seq && a.Joint == b.Joint && a.Job == b.Job && a.Mix == b.Mix && instant(a.At) == instant(b.At)
}

func writeReserved(w *sqliteWriter, key register.Key, old, reserved []register.Reserved) error {
	for n, v := range reserved {
		if n < len(old) && old[n] == v {
			continue
		}
		_, err := w.exec(`INSERT INTO reserved (line, n, job, container, place, amount) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
			ON CONFLICT (line, n) DO UPDATE SET job = excluded.job, container = excluded.container, place = excluded.place, amount = excluded.amount`,
			string(key), n, v.Job, v.Container, v.Place, int64(v.Amount))
		if err != nil {
			return err
		}
	}
	if len(old) <= len(reserved) {
		return nil
	}
	_, err := w.exec(`DELETE FROM reserved WHERE line = ?1 AND n >= ?2`, string(key), len(reserved))
	return err
}
