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
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
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
	// ClassesOf names the class files that the judge was given beside the built-in classes;
	// it is recorded with what is received and drawn.
	ClassesOf string
	// Now is the moment that stands for now; At says it as it is to be recorded, a day
	// where a person gave only that.
	Now time.Time
	At  register.When
	// Note is told what went wrong beside the work itself; nil: nobody is.
	Note func(string)

	mu    sync.Mutex
	wrote string // who wrote to the register last; "": nobody did yet
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
			if errors.Is(err, fs.ErrPermission) {
				return nil, fmt.Errorf("%s: you may not make a register here: name another with --register", name)
			}
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

// checkpointAge is how old the last checkpoint may be before what is written makes a
// new one.
const checkpointAge = 24 * time.Hour

// Close lets go of the register. Where something was written, and the last checkpoint is a
// day old or there is none, it makes one first: what was recorded stands whatever comes of
// that.
func (r *Room) Close() error {
	r.mu.Lock()
	by := r.wrote
	r.mu.Unlock()
	if by != "" {
		if _, err := r.CheckpointAfter(context.Background(), by, checkpointAge); err != nil && r.Note != nil {
			r.Note(fmt.Sprintf("what was recorded stands, but the checkpoint that is due could not be made: %s; beadline stock log --checkpoint makes it", err))
		}
	}
	return r.Store.Close()
}

// Append is that of the register.
func (r *Room) Append(ctx context.Context, key register.Key, decide func(*register.State) ([]*register.Event, error)) (*register.Done, error) {
	return r.written(r.Register.Append(ctx, key, decide))
}

// AppendAll is that of the register.
func (r *Room) AppendAll(ctx context.Context, keys func(context.Context) ([]register.Key, error), decide func(map[register.Key]*register.State) (map[register.Key][]*register.Event, error)) (*register.Done, error) {
	return r.written(r.Register.AppendAll(ctx, keys, decide))
}

// written remembers that something was.
func (r *Room) written(d *register.Done, err error) (*register.Done, error) {
	if err == nil && d.Known < len(d.Events) {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.wrote = d.Events[len(d.Events)-1].By
	}
	return d, err
}
