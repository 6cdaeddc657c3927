// Package storeroom is the register at the desk: it finds the batch that a person means,
// works out with the judge what may be done with it, and records what was.
//
// Read on in find.go (which batch, which part of it), judge.go (may it be used), outcome.go
// (what was recorded, and how the batch stands now), and a file for each thing that is
// done: receive.go, handle.go (move, open, thaw, count, scrap), quality.go (test, extend,
// hold, free), draw.go, trace.go, logair.go; rows.go hands the register to those who read
// stock lists.
package storeroom

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
	"beadline/cmd/beadline/desk"
)

// Room is a register that is open, and the judge of what is in it.
type Room struct {
	*register.Register
	Judge *desk.Judge
	// Now is the moment that stands for now; At says it as it is to be recorded, a day
	// where a person gave only that.
	Now time.Time
	At  register.When
}

// DefaultName is the register that is used where none is named: a file in the folder of
// the user's data (XDG Base Directory Specification, and what other systems have for it).
func DefaultName() string { return filepath.Join(xdg.DataHome, "beadline", "register.db") }

// IsServer reports whether a register's name is the address of a PostgreSQL.
func IsServer(name string) bool {
	return strings.HasPrefix(name, "postgres://") || strings.HasPrefix(name, "postgresql://")
}

// Options say how a register is opened.
type Options struct {
	Create bool // make it if it is not there
	Read   bool // nothing will be written
	// Patience is how long to try again where it is busy or cannot be reached.
	Patience time.Duration
}

// Open opens a register; at is the moment that stands for now, clock tells the time.
// Close the room when done. Errors are one line: register.ErrMissing where there is no
// register, ErrNewer, ErrDamaged and others.
func Open(ctx context.Context, name string, o Options, j *desk.Judge, at register.When, clock func() time.Time) (*Room, error) {
	if o.Create && !IsServer(name) {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			return nil, desk.FileError(name, err)
		}
	}
	s, err := store.Open(ctx, name, store.Options{Create: o.Create, ReadOnly: o.Read, Patience: o.Patience})
	if err != nil {
		return nil, err
	}
	station, _ := os.Hostname()
	return &Room{Register: &register.Register{Store: s, Clock: clock, Zone: j.Zone(), Station: station}, Judge: j, Now: at.Instant(), At: at}, nil
}

// Close lets go of the register.
func (r *Room) Close() error { return r.Store.Close() }
