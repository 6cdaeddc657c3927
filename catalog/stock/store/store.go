// Package store keeps the register: register.Store on one SQLite file, or on PostgreSQL.
//
// Both have the same tables (folder migrations) and the same statements for reading
// (reader.go); sqlite*.go and postgres*.go have what differs: how a write becomes durable,
// what is tried again, and what an error means for the person who reads it. Neither
// decides anything about batches.
package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"beadline/catalog/stock/register"
)

// Options say how a register is opened. The zero Options are those of a register that
// exists, to be written to, with 10 s of patience.
type Options struct {
	// Create makes the register if there is none; else that is register.ErrMissing.
	Create bool
	// ReadOnly refuses every write with register.ErrReadOnly, and leaves the schema alone.
	ReadOnly bool
	// Patience is how long something is tried again that may pass: a lock, a
	// serialization failure, a lost connection, a server that is changing over. 0: 10 s.
	Patience time.Duration
}

func (o Options) patience() time.Duration {
	if o.Patience <= 0 {
		return 10 * time.Second
	}
	return o.Patience
}

// Open opens the register of a name: a PostgreSQL URL (postgres:// or postgresql://), or
// the path of an SQLite file.
func Open(ctx context.Context, name string, o Options) (register.Store, error) {
	if isURL(name) {
		return OpenPostgres(ctx, name, o)
	}
	return OpenSQLite(ctx, name, o)
}

func isURL(name string) bool {
	lower := strings.ToLower(name)
	return strings.HasPrefix(lower, "postgres://") || strings.HasPrefix(lower, "postgresql://")
}

// instantLayout is how instants stand in the tables: whole milliseconds in UTC, of one
// width, so that their texts sort as they do.
const instantLayout = "2006-01-02T15:04:05.000Z"

func instant(t time.Time) string { return t.UTC().Format(instantLayout) }

// damaged is what is said of something stored that cannot be.
func damaged(name, format string, args ...any) error {
	return fmt.Errorf("%s: %w: %s", name, register.ErrDamaged, fmt.Sprintf(format, args...))
}
