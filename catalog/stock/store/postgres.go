package store

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"beadline/catalog/stock/register"
)

// pgStore is a register on PostgreSQL. A commit is one round trip: a transaction in a
// pipeline that a compare-and-swap breaks off where it fails.
type pgStore struct {
	reader
	label  string // hosts and database
	secret string // the password, to keep out of messages
	o      Options
	pool   *pgxpool.Pool
	places sync.Map // those that are in the register for certain
}

func (s *pgStore) Name() string { return s.label }

func (s *pgStore) Close() error {
	s.pool.Close()
	return nil
}

func (s *pgStore) Snapshot(ctx context.Context, read func(register.Reader) error) error {
	return s.from.moment(ctx, func(m source) error { return read(reader{m}) })
}

// pgSource reads from any connection of the pool, or from a transaction.
type pgSource struct {
	s   *pgStore
	tx  pgx.Tx // nil: any
	raw bool   // its errors go to transact as they are
}

func (q pgSource) name() string { return q.s.label }

func (q pgSource) among(column, n string) string { return column + ` = ANY(` + n + `::text[])` }

// integrity: a server checks a page when it reads it, and keeps its indexes itself; to look
// at all of it is for its own tools (pg_amcheck).
func (q pgSource) integrity(context.Context) ([]string, error) { return nil, nil }

func (q pgSource) list(texts []string) any { return texts }

func (q pgSource) query(ctx context.Context, statement string, args []any, restart func(), row func(scan func(...any) error) error) error {
	return q.rows(ctx, statement, args, restart, func(rows pgx.Rows) error { return row(rows.Scan) })
}

func (q pgSource) rows(ctx context.Context, statement string, args []any, restart func(), row func(pgx.Rows) error) error {
	run := q.s.pool.Query
	if q.tx != nil {
		run = q.tx.Query
	}
	once := func() (final bool, err error) {
		if restart != nil {
			restart()
		}
		w := q.watch(ctx)
		defer w.end()
		rows, err := run(w.ctx, statement, args...)
		if err != nil {
			return q.tx != nil, w.says(err)
		}
		defer rows.Close()
		given := false
		for n := 1; rows.Next(); n++ {
			given = restart == nil
			if err := row(rows); err != nil {
				return true, callers(err)
			}
			if n%256 == 0 {
				w.alive()
			}
		}
		// A transaction is broken by what happened in it.
		return given || q.tx != nil, w.says(rows.Err())
	}
	if q.raw {
		_, err := once()
		return err
	}
	return q.s.again(ctx, once)
}

// watch gives up a read that hears nothing for as long as the store has patience: a
// network that loses all packets keeps its connections for many minutes. A transaction is
// let be: it may have to work for long before it says anything.
type watch struct {
	patience time.Duration
	timer    *time.Timer // nil: nobody watches
	ctx      context.Context
	cancel   context.CancelCauseFunc
}

func (q pgSource) watch(ctx context.Context) *watch {
	w := &watch{patience: q.s.o.patience(), ctx: ctx}
	if q.tx == nil {
		w.ctx, w.cancel = context.WithCancelCause(ctx)
		w.timer = time.AfterFunc(w.patience, func() { w.cancel(errSilent) })
	}
	return w
}

// alive: something was heard.
func (w *watch) alive() {
	if w.timer != nil {
		w.timer.Reset(w.patience)
	}
}

func (w *watch) end() {
	if w.timer != nil {
		w.timer.Stop()
		w.cancel(nil)
	}
}

// says is what an error means under the watch.
func (w *watch) says(err error) error {
	if err != nil && context.Cause(w.ctx) == errSilent {
		return errSilent
	}
	return err
}

// errSilent passes, as a lost connection does.
var errSilent error = &told{"it does not answer", context.DeadlineExceeded}

func (q pgSource) pieces(ctx context.Context, statement string, args []any, each func([]byte) error) error {
	buf := make([]byte, 0, 2*pieceSize)
	err := q.rows(ctx, statement, args, nil, func(rows pgx.Rows) error {
		if buf = append(buf, rows.RawValues()[0]...); len(buf) < pieceSize {
			return nil
		}
		err := each(buf)
		buf = buf[:0]
		return err
	})
	if err == nil && len(buf) > 0 {
		err = each(buf)
	}
	return err
}

func (q pgSource) moment(ctx context.Context, read func(source) error) error {
	if q.tx != nil {
		return read(q)
	}
	tx, err := q.s.begin(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
	return read(pgSource{q.s, tx, false})
}

// begin begins a transaction, on a connection that answers.
func (s *pgStore) begin(ctx context.Context, o pgx.TxOptions) (tx pgx.Tx, err error) {
	err = s.again(ctx, func() (bool, error) {
		ctx, cancel := context.WithTimeout(ctx, s.o.patience())
		defer cancel()
		tx, err = s.pool.BeginTx(ctx, o)
		return false, err
	})
	return tx, err
}

// again tries what may pass, unless that would be wrong (final), and says in plain words
// what went wrong.
func (s *pgStore) again(ctx context.Context, try func() (final bool, err error)) error {
	err := again(ctx, s.o.patience(), firstWait, longestWait, func() (bool, error) {
		final, err := try()
		return !final && ctx.Err() == nil && passing(err), err
	})
	return s.says(err)
}

// How long is waited before a second try: short for a write that met another, longer and
// longer for a server that changes over.
const (
	firstWait   = time.Millisecond
	longestWait = 200 * time.Millisecond
)

// transact runs f in a transaction, and all of it again where another transaction was in
// the way. f must bear to be called again. register.ErrUnknown where the connection was
// lost while it was committed.
func (s *pgStore) transact(ctx context.Context, level pgx.TxIsoLevel, f func(pgx.Tx) error) error {
	if s.o.ReadOnly {
		return fmt.Errorf("%s: %w", s.label, register.ErrReadOnly)
	}
	return s.again(ctx, func() (bool, error) {
		tx, err := s.pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: level})
		if err != nil {
			return false, err
		}
		defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
		if err := f(tx); err != nil {
			return false, s.afterStandby(err)
		}
		err = tx.Commit(ctx)
		if unknown(err) {
			return true, unknownOutcome(err)
		}
		return false, s.afterStandby(err)
	})
}
