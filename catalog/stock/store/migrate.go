package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"time"

	"github.com/pressly/goose/v3"

	"beadline/catalog/stock/register"
)

//go:embed migrations
var migrations embed.FS

// schemaVersion is the last step in the folders of migrations.
const schemaVersion = 2

// versionTable says which steps have been taken.
const versionTable = "schema_version"

// noSchema is the version of a database with no register in it, not even begun.
const noSchema = -1

// checkVersion says what may be done with a register of version have: nothing if it is
// missing or newer. migrate is true where steps have to be taken first.
func checkVersion(name string, have int, o Options) (migrate bool, err error) {
	switch {
	case have > schemaVersion:
		return false, fmt.Errorf("%s: %w (its form is %d, this Beadline knows %d)", name, register.ErrNewer, have, schemaVersion)
	case have <= 0 && (!o.Create || o.ReadOnly):
		return false, missing(name)
	case have < schemaVersion && o.ReadOnly:
		return false, fmt.Errorf("%s: %w, and its form is older (%d, now %d): open it once for writing", name, register.ErrReadOnly, have, schemaVersion)
	}
	return have < schemaVersion, nil
}

func missing(name string) error { return fmt.Errorf("%w at %s", register.ErrMissing, name) }

// migrator takes the steps of a folder on a database, up to a version. No lock is held
// over them: each step is one transaction that begins with what can be done once only. Of
// two programs at once one fails there, sees that the version has moved, and goes on.
type migrator struct {
	dialect  goose.Dialect
	folder   string
	db       *sql.DB
	version  func(context.Context) (int, error)
	mayPass  func(error) bool
	patience time.Duration
}

func (m *migrator) run(ctx context.Context, to int64) error {
	steps, err := fs.Sub(migrations, m.folder)
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(m.dialect, m.db, steps, goose.WithTableName(versionTable),
		goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return err
	}
	before, err := m.version(ctx)
	if err != nil {
		return err
	}
	return again(ctx, m.patience, time.Millisecond, 100*time.Millisecond, func() (bool, error) {
		_, err := p.UpTo(ctx, to)
		if err == nil {
			return false, nil
		}
		now, verr := m.version(ctx)
		if verr == nil && now >= int(to) {
			return false, nil
		}
		moved := verr == nil && now > before
		before = max(before, now)
		return moved || m.mayPass(err), err
	})
}
