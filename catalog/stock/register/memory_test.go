package register

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// memory is a store in memory, for the tests of what a Register decides. The stores
// themselves are tested in package store.
type memory struct {
	Store
	mu     sync.Mutex
	lines  map[Key][]Record
	ids    map[string]bool
	points []Checkpoint
	after  func() error // asked before each commit
}

func (m *memory) Name() string { return "memory" }

func (m *memory) Load(_ context.Context, key Key) ([]Record, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]Record(nil), m.lines[key]...), nil
}

func (m *memory) Commit(_ context.Context, writes []Write) error {
	if m.after != nil {
		if err := m.after(); err != nil {
			return err
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, w := range writes {
		if n := len(m.lines[w.Key]); n != w.After.Seq || n > 0 && m.lines[w.Key][n-1].Hash != w.After.Hash {
			return ErrConflict
		}
		for _, r := range w.Add {
			if m.ids[r.ID] {
				return ErrDuplicate
			}
		}
	}
	for _, w := range writes {
		m.lines[w.Key] = append(m.lines[w.Key], w.Add...)
		for _, r := range w.Add {
			m.ids[r.ID] = true
		}
	}
	return nil
}

// bench is a register in memory whose clock a test sets.
type bench struct {
	*Register
	testing.TB
	store *memory
	now   time.Time
}

func newBench(t testing.TB) *bench {
	b := &bench{TB: t, store: &memory{lines: map[Key][]Record{}, ids: map[string]bool{}}, now: time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)}
	b.Register = &Register{Store: b.store, Clock: func() time.Time { return b.now }, Station: "bench"}
	return b
}

var s2207 = Batch{"S-2207", ""}.Key()

// record appends one event; the error is the refusal.
func (b *bench) record(e Event) error {
	_, err := b.Append(context.Background(), s2207, func(*State) ([]*Event, error) {
		own := e
		if own.By == "" {
			own.By = "Tech 1"
		}
		if own.At.IsZero() {
			own.At = AtInstant(b.now)
		}
		return []*Event{&own}, nil
	})
	b.now = b.now.Add(time.Minute)
	return err
}

func (b *bench) must(e Event) {
	b.Helper()
	require.NoError(b.TB, b.record(e))
}

func (b *bench) state() *State {
	b.Helper()
	s, err := b.Load(context.Background(), s2207)
	require.NoError(b.TB, err)
	return s
}

func amount(s string) *Amount {
	a, err := ParseAmount(s)
	if err != nil {
		panic(err)
	}
	return &a
}

// kits is the receipt of so many kits at the cold store.
func kits(n string) Event {
	return Event{Kind: KindReceived, Place: "cold store", Amount: amount(n), Unit: "kit", Receipt: &Receipt{Label: shelf.Item{
		Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2027, 6, 30))}}}
}
