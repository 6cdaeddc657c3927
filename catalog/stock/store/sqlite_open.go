package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/pressly/goose/v3"

	"beadline/catalog/stock/register"
)

// applicationID marks the file as a register: "BDLN".
const applicationID = 0x42444C4E

// OpenSQLite opens the register in an SQLite file. Beside it stand, while somebody has it
// open, files with -wal and -shm after its name: they belong to it.
func OpenSQLite(ctx context.Context, path string, o Options) (register.Store, error) {
	s := &sqliteStore{path: path, o: o, writing: make(chan struct{}, 1)}
	exists, err := s.look()
	if err != nil {
		return nil, err
	}
	if !exists {
		if _, err := checkVersion(path, noSchema, o); err != nil {
			return nil, err
		}
		if err := s.migrate(ctx, schemaVersion); err != nil {
			return nil, err
		}
	}
	if err := s.open(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// look says whether there is something in the file, and that it may be a register. It does
// not open it: a process that closes a file loses all its locks on it, those of SQLite too
// (sqlite.org/howtocorrupt.html 2.2), and another store may be open here.
func (s *sqliteStore) look() (exists bool, err error) {
	info, err := os.Stat(s.path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Stat(filepath.Dir(s.path)); err != nil && s.o.Create {
			return false, fmt.Errorf("%s: there is no folder %s: make it first", s.path, filepath.Dir(s.path))
		}
		return false, nil
	}
	if err != nil {
		return false, err
	}
	switch {
	case !info.Mode().IsRegular():
		return false, fmt.Errorf("%s is a folder or a device: a register is a file", s.path)
	case info.Size() >= firstPage:
		return true, nil
	case s.beside("-journal"):
		return true, nil // its making was cut off, and is undone
	case info.Size() > 0:
		return false, damaged(s.path, "%d bytes are fewer than any has; if this is another kind of file, name the register with --register", info.Size())
	case !s.beside("-wal"):
		return false, nil
	}
	// A register is being made by somebody else just now, who has written the first page
	// before the log.
	if info, err = os.Stat(s.path); err == nil && info.Size() == 0 {
		return false, damaged(s.path, "it is empty, and has a log beside it")
	}
	return true, err
}

// firstPage is how long the first page of a register is, bytes.
const firstPage = 4096

// beside reports whether a file beside the register has something in it.
func (s *sqliteStore) beside(suffix string) bool {
	info, err := os.Stat(s.path + suffix)
	return err == nil && info.Size() > 0
}

// dsn is how the driver is told to open the file.
func (s *sqliteStore) dsn(mode string, pragmas ...string) string {
	abs, err := filepath.Abs(s.path)
	if err != nil {
		abs = s.path
	}
	abs = filepath.ToSlash(abs)
	if !strings.HasPrefix(abs, "/") {
		abs = "/" + abs
	}
	u := url.URL{Scheme: "file", Path: abs}
	// Whoever waits for a lock sleeps in again, not in SQLite.
	pragmas = append(pragmas, "busy_timeout(0)", "cell_size_check(1)", "trusted_schema(0)", "synchronous(FULL)")
	return u.String() + "?" + mode + "&_pragma=" + strings.Join(pragmas, "&_pragma=")
}

func (s *sqliteStore) open(ctx context.Context) error {
	mode := "mode=rw"
	if s.o.ReadOnly {
		mode = "mode=ro"
	}
	if err := s.openReaders(s.dsn(mode, "query_only(1)")); err != nil {
		return err
	}
	have, err := s.version(ctx)
	if code := sqliteCode(err); code == codeCannotOpen || code == codeReadOnly {
		have, err = s.openFixed(ctx)
	}
	if err != nil {
		return s.says(err)
	}
	older, err := checkVersion(s.path, have, s.o)
	if err == nil && older {
		err = s.migrate(ctx, schemaVersion)
	}
	return err
}

func (s *sqliteStore) openReaders(dsn string) error {
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return fmt.Errorf("%s: %w", s.path, err)
	}
	db.SetMaxIdleConns(4)
	if s.readers != nil {
		_ = s.readers.Close()
	}
	s.readers, s.reader = db, reader{sqliteSource{s, db, false}}
	return nil
}

// version is the form of the register; noSchema if there is none in the file.
func (s *sqliteStore) version(ctx context.Context) (version int, err error) {
	err = again(ctx, s.o.patience(), shortWait, longWait, func() (bool, error) {
		version, err = versionOf(ctx, s.readers)
		return locked(err), err
	})
	switch {
	case errors.Is(err, errForeign):
		return 0, fmt.Errorf("%s is the SQLite file of another program, and is left alone", s.path)
	case errors.Is(err, errGone):
		return 0, damaged(s.path, "%v", err)
	}
	return version, err
}

var (
	errForeign = errors.New("of another program")
	errGone    = errors.New("its tables are gone")
)

func versionOf(ctx context.Context, db *sql.DB) (version int, err error) {
	var id, tables, ours int
	err = db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id), count(*), count(*) FILTER (WHERE name = '`+versionTable+`')
		FROM sqlite_schema WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\'`).Scan(&id, &tables, &ours)
	switch {
	case err != nil:
		return 0, err
	case id != applicationID && (id != 0 || tables > ours):
		return 0, errForeign
	case ours == 0 && id == applicationID:
		return 0, errGone // the mark comes with the first step
	case ours == 0:
		return noSchema, nil
	}
	err = db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM `+versionTable+` WHERE is_applied`).Scan(&version)
	if err == nil && version == 0 && id == applicationID {
		return 0, errGone
	}
	return version, err
}

func (s *sqliteStore) migrate(ctx context.Context, to int64) error {
	db, err := sql.Open("sqlite", s.dsn("mode=rwc&_txlock=immediate"))
	if err != nil {
		return fmt.Errorf("%s: %w", s.path, err)
	}
	defer db.Close()
	err = s.again(ctx, func() (bool, error) {
		_, err := db.ExecContext(ctx, `PRAGMA journal_mode = WAL`)
		return false, err
	})
	if err != nil {
		return err
	}
	m := migrator{goose.DialectSQLite3, "migrations/sqlite", db, func(ctx context.Context) (v int, err error) {
		err = s.again(ctx, func() (bool, error) {
			v, err = versionOf(ctx, db)
			return false, err
		})
		return v, err
	}, locked, s.o.patience()}
	return s.says(m.run(ctx, to))
}

// fixed is a file as it was opened where SQLite can neither make nor open the files
// beside it: then it reads the file as one that does not change. nil: it may change.
type fixed struct {
	path string
	size int64
	at   time.Time
}

// openFixed opens a file that SQLite cannot share: read-only, in a folder that is too.
// It is read as it is; should somebody with more rights write to it meanwhile, check says
// so.
func (s *sqliteStore) openFixed(ctx context.Context) (version int, err error) {
	if wal, err := os.Stat(s.path + "-wal"); err == nil && wal.Size() > 0 {
		return 0, fmt.Errorf("%s cannot be read here: part of it is in %s-wal beside it, and the folder may not be written to: copy both to a folder of your own", s.path, filepath.Base(s.path))
	}
	info, err := os.Stat(s.path)
	if err != nil {
		return 0, err
	}
	s.fixed = &fixed{s.path, info.Size(), info.ModTime()}
	if err := s.openReaders(s.dsn("mode=ro&immutable=1", "query_only(1)")); err != nil {
		return 0, err
	}
	return s.version(ctx)
}

func (f *fixed) check() error {
	if f == nil {
		return nil
	}
	info, err := os.Stat(f.path)
	if err == nil && (info.Size() != f.size || !info.ModTime().Equal(f.at)) {
		err = fmt.Errorf("%s: somebody wrote to it while it was read: open it again", f.path)
	}
	return err
}

// numbered makes of $1, $2 … the ?1, ?2 … of SQLite.
func numbered(statement string) string { return strings.ReplaceAll(statement, "$", "?") }

func jsonList(texts []string) string {
	b, err := json.Marshal(texts)
	if err != nil {
		panic(err) // texts can always be written
	}
	return string(b)
}
