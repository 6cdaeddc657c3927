package register_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/testdata/bigregister"
)

// held is a store of one line in memory, so that what is measured is the register alone.
type held struct {
	register.Store
	records []register.Record
}

func (*held) Name() string { return "memory" }

func (h *held) Load(context.Context, register.Key) ([]register.Record, error) { return h.records, nil }

func (h *held) Commit(_ context.Context, w []register.Write) error { return nil }

var (
	benchNow = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	can      = register.Batch{Number: "G-1", Maker: "Tindur"}.Key()
)

// line is a can of grease that was drawn from n times.
func line(n int) *held {
	whole, some := register.Amount(1_000_000_000), register.Amount(1000)
	events := []*register.Event{{Kind: register.KindReceived, Place: "home base / cabinet 1", Amount: &whole, Unit: "g", Receipt: &register.Receipt{
		Label: shelf.Item{Class: "grease", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2029, 9, 1))}, Certificate: "CoC-1"}}}
	for i := range n {
		events = append(events, &register.Event{Kind: register.KindDrawn, Place: "home base / cabinet 1", Amount: &some, Unit: "g",
			Use: &register.Use{Job: fmt.Sprintf("WO-%d", i), Joints: []string{bigregister.Joint(i%200, i%400)}}})
	}
	for i, e := range events {
		t := benchNow.Add(time.Duration(i-len(events)) * time.Minute)
		e.ID, e.By, e.Zone, e.At, e.Recorded = fmt.Sprint("event-", i), "A. Nyholm", bigregister.Zone, register.AtInstant(t), t
	}
	w, err := register.Lay(can, events)
	if err != nil {
		panic(err)
	}
	return &held{records: w.Add}
}

// BenchmarkAppend is one draw from a line of so many, in a store that takes no time: the
// line is decoded, its chain checked, folded, and its projection made.
func BenchmarkAppend(b *testing.B) {
	zone, err := time.LoadLocation(bigregister.Zone)
	if err != nil {
		b.Fatal(err)
	}
	some := register.Amount(1000)
	for _, n := range []int{5, 500, 5000} {
		r := &register.Register{Store: line(n), Clock: func() time.Time { return benchNow }, Zone: zone}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := r.Append(b.Context(), can, func(*register.State) ([]*register.Event, error) {
					return []*register.Event{{Kind: register.KindDrawn, By: "A. Nyholm", At: register.AtInstant(benchNow), Place: "home base / cabinet 1", Amount: &some, Unit: "g",
						Use: &register.Use{Job: "WO", Joints: []string{"joint"}}}}, nil
				})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprint("load-", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := r.Load(b.Context(), can); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkLay makes lines of the big register, from events to hashes and projection.
func BenchmarkLay(b *testing.B) {
	p := bigregister.Plan{Batches: 1 << 20}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := p.Line(i % p.Batches); err != nil {
			b.Fatal(err)
		}
	}
}
