package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"modernc.org/sqlite"

	"beadline/catalog/stock/register"
)

// sqliteStore is a register on an SQLite file with a write-ahead log: those who read see
// the last commit before they began and wait for nobody; those who write take turns.
type sqliteStore struct {
	reader
	path    string
	o       Options
	fixed   *fixed // where nobody can write: how the file was
	readers *sql.DB

	writing chan struct{} // held by who uses the writer
	writer  *sqliteWriter // opened by the first write
	places  sync.Map      // those that are in the file for certain
}

func init() {
	// A commit is as durable with fdatasync, and does not wait for the file's timestamps.
	// Where there is none, nothing changes.
	_, _ = sqlite.Fdatasync(true)
}

func (s *sqliteStore) Name() string { return s.path }

func (s *sqliteStore) Close() error {
	s.writing <- struct{}{}
	defer func() { <-s.writing }()
	var err error
	if s.readers != nil {
		err = s.readers.Close()
	}
	// The last to close takes the log into the file and the log away, which one that only
	// reads cannot.
	if s.writer != nil {
		err = errors.Join(err, s.writer.close())
		s.writer = nil
	}
	return s.says(err)
}

func (s *sqliteStore) Snapshot(ctx context.Context, read func(register.Reader) error) error {
	return s.from.moment(ctx, func(m source) error { return read(reader{m}) })
}

// sqliteSource reads from any connection of the store's readers, or from one that is in
// a transaction.
type sqliteSource struct {
	s    *sqliteStore
	conn interface {
		QueryContext(ctx context.Context, statement string, args ...any) (*sql.Rows, error)
	}
	inOne bool
}

func (q sqliteSource) name() string { return q.s.path }

func (q sqliteSource) among(column, n string) string {
	return column + ` IN (SELECT value FROM json_each(` + n + `))`
}

func (q sqliteSource) list(texts []string) any { return jsonList(texts) }

func (q sqliteSource) query(ctx context.Context, statement string, args []any, restart func(), row func(scan func(...any) error) error) error {
	return q.rows(ctx, statement, args, restart, func(rows *sql.Rows) error {
		return row(func(dest ...any) error { return q.scanned(rows.Scan(dest...)) })
	})
}

// scanned is an error of a value that is not of its column's type: no program writes one.
func (q sqliteSource) scanned(err error) error {
	if err == nil {
		return nil
	}
	return damaged(q.s.path, "%v", err)
}

// integrity looks at all pages, rows, and indexes against their tables.
func (q sqliteSource) integrity(ctx context.Context) (found []string, err error) {
	err = q.query(ctx, `PRAGMA integrity_check`, nil, func() { found = nil }, func(scan func(...any) error) error {
		var text string
		err := scan(&text)
		if text != "ok" {
			found = append(found, strings.Join(strings.Fields(text), " "))
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	// The register has neither: a trigger could change what is written, a view what is read.
	var foreign []string
	err = q.query(ctx, `SELECT type, name FROM sqlite_master WHERE type IN ('trigger', 'view') ORDER BY name`, nil, func() { foreign = nil }, func(scan func(...any) error) error {
		var kind, name string
		err := scan(&kind, &name)
		foreign = append(foreign, fmt.Sprintf("the file has a %s %q, which is none of the register's: somebody put it there", kind, name))
		return err
	})
	return append(found, foreign...), err
}

func (q sqliteSource) rows(ctx context.Context, statement string, args []any, restart func(), row func(*sql.Rows) error) error {
	statement = numbered(statement)
	return q.s.again(ctx, func() (given bool, err error) {
		if restart != nil {
			restart()
		}
		rows, err := q.conn.QueryContext(ctx, statement, args...)
		if err != nil {
			return false, err
		}
		defer rows.Close()
		for rows.Next() {
			given = restart == nil
			if err := row(rows); err != nil {
				return true, err // the caller's
			}
		}
		if err := rows.Err(); err != nil {
			return given, err
		}
		return given, q.s.fixed.check()
	})
}

// pieceSize is about how many bytes Rows hands over at a time.
const pieceSize = 1 << 16

func (q sqliteSource) pieces(ctx context.Context, statement string, args []any, each func([]byte) error) error {
	buf := make([]byte, 0, 2*pieceSize)
	var text sql.RawBytes
	dest := []any{&text}
	err := q.rows(ctx, statement, args, nil, func(rows *sql.Rows) error {
		if err := rows.Scan(dest...); err != nil {
			return q.scanned(err)
		}
		if buf = append(buf, text...); len(buf) < pieceSize {
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

func (q sqliteSource) moment(ctx context.Context, read func(source) error) error {
	if q.inOne {
		return read(q)
	}
	conn, err := q.s.readers.Conn(ctx)
	if err != nil {
		return q.s.says(err)
	}
	defer conn.Close()
	// The moment is that of the first read.
	err = q.s.again(ctx, func() (bool, error) {
		if _, err := conn.ExecContext(ctx, `BEGIN`); err != nil {
			return false, err
		}
		_, err := conn.ExecContext(ctx, `SELECT 1 FROM line LIMIT 1`)
		if err != nil {
			_, _ = conn.ExecContext(context.WithoutCancel(ctx), `ROLLBACK`)
		}
		return false, err
	})
	if err != nil {
		return err
	}
	defer func() { _, _ = conn.ExecContext(context.WithoutCancel(ctx), `ROLLBACK`) }()
	return read(sqliteSource{q.s, conn, true})
}

// How long is waited for a lock before it is tried again: some commits long. Trying sooner,
// those who wait take the processors from the one who writes (measured with 8 processes on
// 2 cores: 1370 events/s where the waits begin at 50 µs, 2450 with these).
const (
	shortWait = 2 * time.Millisecond
	longWait  = 5 * time.Millisecond
)

// again tries what may be kept off by somebody's lock, unless something has been given
// to the caller already, and says in plain words what went wrong.
func (s *sqliteStore) again(ctx context.Context, try func() (given bool, err error)) error {
	err := again(ctx, s.o.patience(), shortWait, longWait, func() (bool, error) {
		given, err := try()
		return !given && locked(err), err
	})
	return s.says(err)
}

// locked reports whether an error may pass: somebody else has the lock.
func locked(err error) bool {
	switch sqliteCode(err) {
	case codeBusy, codeLocked, codeProtocol:
		return true
	}
	return false
}

// The primary result codes of SQLite (sqlite.org/rescode.html).
const (
	codeBusy       = 5
	codeLocked     = 6
	codeReadOnly   = 8
	codeIO         = 10
	codeCorrupt    = 11
	codeFull       = 13
	codeCannotOpen = 14
	codeProtocol   = 15
	codeConstraint = 19
	codeNotADB     = 26

	extendedShortRead = 522
	extendedUnique    = 2067
	extendedCorruptFS = 8458
)

// sqliteCode is the primary result code of an error; 0 if it is none of SQLite's.
func sqliteCode(err error) int { return extendedCode(err) & 0xff }

func extendedCode(err error) int {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return 0
	}
	return e.Code()
}

// bare is what SQLite itself said, without what was wrapped around it on the way.
func bare(err error) string {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Error()
	}
	return err.Error()
}

// says turns an error of SQLite into a line for the person who reads it. Others pass.
func (s *sqliteStore) says(err error) error {
	code := extendedCode(err)
	switch {
	case code == 0:
		return err
	case code == extendedShortRead, code == extendedCorruptFS:
		return damaged(s.path, "%s", bare(err))
	}
	switch code & 0xff {
	case codeBusy, codeLocked, codeProtocol:
		return fmt.Errorf("%s: another program holds it, and has for %s: end that, or try again later", s.path, s.o.patience())
	case codeCorrupt, codeNotADB:
		return damaged(s.path, "%s", bare(err))
	case codeReadOnly:
		return fmt.Errorf("%s: %w: the file or its folder may not be written to", s.path, register.ErrReadOnly)
	case codeFull:
		return fmt.Errorf("%s: the disk is full; nothing was recorded: make room, and try again", s.path)
	case codeCannotOpen:
		return fmt.Errorf("%s cannot be opened here, nor a file beside it: check who may read and write the file and its folder", s.path)
	case codeIO:
		return fmt.Errorf("%s: the disk does not read or write as it should: %s", s.path, bare(err))
	}
	return fmt.Errorf("%s: %s", s.path, bare(err))
}
