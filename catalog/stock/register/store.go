package register

import (
	"context"
	"errors"
	"time"
)

// Store keeps the register: the lines of events, and what is projected from them. It
// decides nothing; the Register does. There are two, one on a SQLite file and one on
// PostgreSQL, and one suite of tests for both (package store).
//
// All of it is safe for several goroutines, and for several processes on one register.
// Errors name the register; those of a lost connection or a locked file have been tried
// again for as long as the store was told to, unless it says otherwise.
type Store interface {
	Reader
	// Commit writes all of the writes or none, and returns once they are durable. Each
	// is a compare-and-swap: it is refused with ErrConflict unless the line ends with
	// Write.After. ErrDuplicate: an event id is in the register already. When it is not
	// known whether the commit came through, ErrUnknown: read the line again.
	Commit(ctx context.Context, writes []Write) error
	// Checkpoint adds a checkpoint that covers the heads that moved since the last
	// ones, as of one moment, made by `make` from the last checkpoint, if any, and those
	// heads sorted by key. A nil from make writes nothing. It does not hold up writers.
	Checkpoint(ctx context.Context, make func(last *Checkpoint, moved []Head) (*Checkpoint, error)) (*Checkpoint, error)
	// Reproject replaces all that is projected by what project yields for each line, in
	// one transaction.
	Reproject(ctx context.Context, project func(Key, []Record) (Projection, error)) error
	// Snapshot runs read on a view of one moment, while others may write.
	Snapshot(ctx context.Context, read func(Reader) error) error
	// Restore fills an empty register, all or nothing: with each line that next yields
	// until its end (nil), then the checkpoints. ErrNotEmpty if something is there.
	Restore(ctx context.Context, next func() (*Write, error), checkpoints func() ([]Checkpoint, error)) error
	// Name is the register's for messages: a file's path, or host and database without
	// any password.
	Name() string
	Close() error
}

// Reader reads a register.
type Reader interface {
	// Load gives the events of a line in order; none if there is no such line.
	Load(ctx context.Context, key Key) ([]Record, error)
	// Find gives the event of an id, and its line; ok is false if there is none.
	Find(ctx context.Context, id string) (key Key, r Record, ok bool, err error)
	// Lines hands over the keys from a key on, in order, as long as each returns true.
	// Keys are ordered by their bytes.
	Lines(ctx context.Context, from Key, each func(Head) bool) error
	// EachLine hands over every line with its events, in order of keys.
	EachLine(ctx context.Context, each func(Head, []Record) error) error
	// Rows hands over the projected rows that a filter lets through, in order of their
	// keys, as CSV records of stock.RegisterHeader, each with its line end; many in one
	// piece. The bytes are good until each returns.
	Rows(ctx context.Context, f RowFilter, each func(records []byte) error) error
	// Lots gives the projected lots of a line.
	Lots(ctx context.Context, key Key) ([]Lot, error)
	// EachProjection hands over all that is projected of each line of which something is,
	// in order of keys; also of a line that is not there. Lots stand in the order of their
	// containers and places, the rest as it was written.
	EachProjection(ctx context.Context, each func(Key, Projection) error) error
	// Integrity says what the store itself finds wrong with how it is kept, an index that
	// does not fit its table, say: a line each.
	Integrity(ctx context.Context) ([]string, error)
	// Served gives what went to a joint, or with all joints of it to a job, in the order
	// of the instants.
	Served(ctx context.Context, joint, job string) ([]Served, error)
	// ReservedFor gives the lines with something reserved for a job.
	ReservedFor(ctx context.Context, job string) ([]Key, error)
	// Reserved gives all that is reserved for jobs, by line.
	Reserved(ctx context.Context) (map[Key][]Reserved, error)
	// Places gives all places with something in stock, or that ever had, in order.
	Places(ctx context.Context) ([]string, error)
	// Joints gives the joints served, in order.
	Joints(ctx context.Context) ([]string, error)
	// Checkpoints gives all checkpoints in order, without their heads.
	Checkpoints(ctx context.Context) ([]Checkpoint, error)
	// CheckpointHeads hands over the heads of one checkpoint in order of keys. Like
	// EachLine and EachProjection it lets others be read from within each.
	CheckpointHeads(ctx context.Context, n int, each func(Head) error) error
	// EachCheckpointHead hands over the heads of all checkpoints in order of keys, those of
	// a line in that of their events; also of a line that is not there.
	EachCheckpointHead(ctx context.Context, each func(n int, h Head) error) error
	// Totals counts lines and events.
	Totals(ctx context.Context) (Totals, error)
}

// Totals is how much a register holds.
type Totals struct{ Lines, Events int }

// RowFilter chooses projected rows.
type RowFilter struct {
	Class string // "": all
	// Place is a place, or a site, whose places are those that start with it and " / ";
	// "": all. Capitals do not count.
	Place string
	Gone  bool // also what is used up or scrapped
}

// Head is the end of a line: how many events it has, and the hash of the last.
type Head struct {
	Key  Key
	Seq  int
	Hash Hash
}

// Record is an event as it is stored. Body is what is hashed, byte for byte.
type Record struct {
	Seq  int
	ID   string
	Body []byte
	Hash Hash
}

// Write is what one commit does to one line: it adds records, and replaces all that is
// projected of the line.
type Write struct {
	Key   Key
	After Head // as the line was read; Seq 0: it did not exist
	Add   []Record
	Projection
	// ServedAsBefore is how many of Served, from the first on, are what the events up to
	// After project to: a store that has them may leave them alone. 0 is always right.
	ServedAsBefore int
}

// Projection is what is kept of a line for those who ask for many: the inputs of limits,
// never a verdict. It can be made again from the events at any time.
type Projection struct {
	Lots     []Lot
	Served   []Served
	Reserved []Reserved
}

// Lot is one part of a batch that has had one fate: what stands at one place, or one
// container. Row is its record of a stock list under stock.RegisterHeader.
type Lot struct {
	Container, Place string
	Class            string
	Stocked          bool // something is left of it
	Row              string
}

// Served is a joint that something of a batch went to; Joint is "" where only the
// job is known.
type Served struct {
	Key        Key
	Seq        int // of the event
	Joint, Job string
	Mix        string
	At         time.Time
}

// Reserved is what is kept for a job.
type Reserved struct {
	Job              string
	Container, Place string
	Amount           Amount
}

// Checkpoint says of all heads what they were, so that a batch that vanished is missed.
// Each one lists the heads that moved since the one before, and its hash covers them, the
// counts and the hash of the one before.
type Checkpoint struct {
	N        int // from 1
	At       time.Time
	By       string
	Lines    int // in all, in the register
	Events   int // in all
	Previous Hash
	Hash     Hash
	Heads    []Head // those that moved; not filled by Reader.Checkpoints
}

// What a store answers beside its own errors.
var (
	ErrConflict  = errors.New("somebody else wrote to this batch at the same moment")
	ErrDuplicate = errors.New("an event of this id is in the register already")
	ErrUnknown   = errors.New("whether it was recorded is not known")
	ErrNotEmpty  = errors.New("the register is not empty")
	ErrReadOnly  = errors.New("the register can be read only")
	ErrDamaged   = errors.New("the register is damaged")
	ErrNewer     = errors.New("the register was written by a newer Beadline: use that one")
	ErrMissing   = errors.New("there is no register")
)
