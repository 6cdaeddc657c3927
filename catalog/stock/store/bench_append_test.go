package store

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// arrival is the receipt of so many packs.
func arrival(packs int) *register.Event {
	n := register.Amount(packs * 1000)
	return &register.Event{Kind: register.KindReceived, Place: "home base / cold store", Amount: &n, Unit: "kit", Receipt: &register.Receipt{
		Label:    shelf.Item{Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2027, 6, 30))},
		Supplier: "Havn", Order: "PO-7", Certificate: "CoC-1"}}
}

// takenOut is a draw of one pack for a joint.
func takenOut(joint string) *register.Event {
	n := register.Amount(1000)
	return &register.Event{Kind: register.KindDrawn, Place: "home base / cold store", Amount: &n, Unit: "kit", Use: &register.Use{Job: "WO-1", Mix: "1", Joints: []string{joint}}}
}

// by fills in who did something, and when, for Lay if past.
func by(e *register.Event, id string, at time.Time, past bool) *register.Event {
	e.ID, e.By, e.At = id, "A. Nyholm", register.AtInstant(at)
	if past {
		e.Recorded, e.Zone = at.UTC().Truncate(time.Millisecond), "UTC"
	}
	return e
}

// BenchmarkLongLine is one more draw from a batch that was drawn from so often already,
// on SQLite, with all that the register does for it.
func BenchmarkLongLine(b *testing.B) {
	for _, n := range []int{5, 500, 5000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s, err := OpenSQLite(background, filepath.Join(b.TempDir(), "register.db"), Options{Create: true})
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			start := time.Now().Add(-time.Duration(n+1) * time.Minute)
			events := []*register.Event{by(arrival(100_000_000), "in", start, true)}
			for i := range n {
				events = append(events, by(takenOut(fmt.Sprint("joint ", i)), fmt.Sprint("out ", i), start.Add(time.Duration(i)*time.Minute), true))
			}
			key := register.Batch{Number: "G-1", Maker: "Tindur"}.Key()
			w, err := register.Lay(key, events)
			if err == nil {
				err = s.Commit(background, []register.Write{*w})
			}
			if err != nil {
				b.Fatal(err)
			}
			r := &register.Register{Store: s, Clock: time.Now}
			b.ReportAllocs()
			for b.Loop() {
				_, err := r.Append(background, key, func(*register.State) ([]*register.Event, error) {
					return []*register.Event{by(takenOut("one more"), "", time.Now(), false)}, nil
				})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
