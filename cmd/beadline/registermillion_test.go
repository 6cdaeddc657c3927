package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
	"beadline/cmd/beadline/desk"
)

// taken is a store that keeps what a Register would write, so that a large register can
// be filled in one transaction.
type taken struct {
	register.Store
	writes []register.Write
}

func (*taken) Name() string { return "none" }

func (*taken) Load(context.Context, register.Key) ([]register.Record, error) { return nil, nil }

func (s *taken) Commit(_ context.Context, w []register.Write) error {
	s.writes = append(s.writes, w...)
	return nil
}

// fillRegister fills a new register with n batches like those of writeStock: received
// some days after manufacture, one in ten moved on, one in a hundred opened, one in
// thirty drawn from. One in five hundred came without papers.
func fillRegister(ctx context.Context, name string, n int) error {
	s, err := store.Open(ctx, name, store.Options{Create: true})
	if err != nil {
		return err
	}
	defer s.Close()
	type lived struct {
		id   string
		days int
	}
	var classes []lived
	for _, c := range livedClasses() {
		span := desk.Rules(&c).Unopened.Span
		classes = append(classes, lived{c.ID, int(label.AddLife(millionToday, span).Sub(millionToday))})
	}
	rng := rand.New(rand.NewPCG(1, 2))
	now := time.Date(2027, 3, 29, 5, 0, 0, 0, time.UTC)
	t := &taken{}
	r := &register.Register{Store: t, Clock: func() time.Time { return now }, Station: "bench"}
	at := func(d date.Date) time.Time {
		y, m, day := d.Date()
		return time.Date(y, m, day, 6+rng.IntN(12), rng.IntN(60), 0, 0, time.UTC)
	}
	i := 0
	return s.Restore(ctx, func() (*register.Write, error) {
		if i == n {
			return nil, nil
		}
		c := classes[rng.IntN(len(classes))]
		left := 31 + rng.IntN(c.days-60)
		switch p := rng.IntN(1000); {
		case p < 30:
			left = -1 - rng.IntN(60)
		case p < 60:
			left = rng.IntN(31)
		}
		expiry := millionToday.Add(date.PeriodOfDays(left))
		dom := expiry.Add(-date.PeriodOfDays(c.days))
		in := dom.Add(date.PeriodOfDays(5 + rng.IntN(20)))
		if !in.Before(millionToday) {
			in = millionToday.Add(-1)
		}
		place := fmt.Sprintf("Vagar / bay %d", 1+rng.IntN(60))
		amount := register.Amount(1000 * (2 + rng.IntN(11)))
		one := register.Amount(1000)
		it := shelf.Item{Class: c.id, DOM: label.DayOf(dom), Expiry: label.DayOf(expiry)}
		it.Received.NoPapers = rng.IntN(500) == 0
		events := []*register.Event{{Kind: register.KindReceived, By: "Tech 1", At: register.AtInstant(at(in)), Place: place, Amount: &amount, Unit: "kit",
			Receipt: &register.Receipt{Label: it, Certificate: "C-1", Supplier: "Nordlys Supply", Order: "PO-1"}}}
		late := register.AtInstant(now.Add(-time.Hour))
		switch p := rng.IntN(300); {
		case p < 30:
			events = append(events, &register.Event{Kind: register.KindMoved, By: "Tech 1", At: late, Place: place, To: "Vagar / bench"})
		case p < 33:
			events = append(events, &register.Event{Kind: register.KindOpened, By: "Tech 1", At: late, Place: place, As: "1", Amount: &one})
		case p < 43:
			events = append(events, &register.Event{Kind: register.KindDrawn, By: "Tech 1", At: late, Place: place, Amount: &one, Use: &register.Use{Job: "J", Joints: []string{"a"}}})
		}
		key := register.Batch{Number: fmt.Sprintf("S-%06d", i)}.Key()
		i++
		t.writes = t.writes[:0]
		_, err := r.Append(ctx, key, func(*register.State) ([]*register.Event, error) { return events, nil })
		if err != nil {
			return nil, err
		}
		return &t.writes[0], nil
	}, func() ([]register.Checkpoint, error) { return nil, nil })
}

// millionRegister is a register of a million batches; BEADLINE_REGISTER_BENCH names a file
// to make it in once and keep.
func millionRegister(b *testing.B) string {
	name := os.Getenv("BEADLINE_REGISTER_BENCH")
	if name == "" {
		name = filepath.Join(b.TempDir(), "register.db")
	}
	if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) {
		if err := fillRegister(b.Context(), name, 1_000_000); err != nil {
			b.Fatal(err)
		}
	}
	return name
}

// BenchmarkRegisterMillion asks a register of a million batches, as one run of a command
// does it but for starting the process.
func BenchmarkRegisterMillion(b *testing.B) {
	name := millionRegister(b)
	for _, c := range []struct {
		name string
		args []string
		code int
	}{
		{"flag", []string{"flag"}, exitReject},
		{"check", []string{"check", "S-500000"}, -1},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				a := &app{in: nil, out: io.Discard, err: os.Stderr, clock: time.Now}
				if code := a.run(append(c.args, "--register", name, "--at", "2027-03-29")); c.code >= 0 && code != c.code {
					b.Fatal(code)
				}
			}
		})
	}
}
