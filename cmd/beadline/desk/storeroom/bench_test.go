package storeroom

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// benchBatches is how many batches of one class the benchmarks have in stock, each of
// which has served a joint.
const benchBatches = 40_000

func stockedRoom(b *testing.B) *Room {
	now := time.Date(2024, 3, 8, 10, 0, 0, 0, time.UTC)
	j := desk.NewJudge(catalog.Builtin(), date.NewAt(now))
	j.Ask(shelf.Question{On: date.NewAt(now), At: 600, Timed: true, Zone: time.UTC})
	r, err := Open(background, filepath.Join(b.TempDir(), "register.db"), Options{Create: true}, j, register.AtInstant(now), func() time.Time { return now })
	require.NoError(b, err)
	b.Cleanup(func() { r.Store.Close() })
	const step = 2000
	for from := 0; from < benchBatches; from += step {
		var keys []register.Key
		for i := from; i < from+step; i++ {
			keys = append(keys, register.Batch{Number: fmt.Sprintf("S-%07d", i)}.Key())
		}
		_, err := r.Register.AppendAll(background, func(context.Context) ([]register.Key, error) { return keys, nil }, func(map[register.Key]*register.State) (map[register.Key][]*register.Event, error) {
			out := map[register.Key][]*register.Event{}
			for n, k := range keys {
				i := from + n
				place := fmt.Sprintf("rack %d", i%50)
				out[k] = []*register.Event{
					{Kind: register.KindReceived, By: "A", At: register.AtInstant(now.AddDate(0, -1, 0)), Place: place, Amount: amount("5"), Unit: "kit",
						Receipt: &register.Receipt{Certificate: "C", Label: shelf.Item{Class: "polysulfide-b-2", DOM: day(2023, 9, 1), Expiry: day(2024, 4+i%9, 1+i%28)}}},
					{Kind: register.KindDrawn, By: "A", At: register.AtInstant(now.AddDate(0, 0, -1)), Place: place, Amount: amount("1"), Unit: "kit",
						Use: &register.Use{Job: fmt.Sprintf("J%d", i/20), Joints: []string{fmt.Sprintf("joint %d", i%5000)}}},
				}
			}
			return out, nil
		})
		require.NoError(b, err)
	}
	return r
}

func BenchmarkRoom(b *testing.B) {
	r := stockedRoom(b)
	b.Run("Propose", func(b *testing.B) {
		for b.Loop() {
			p, err := r.Propose(background, "polysulfide-b-2", &Drawing{}, 5)
			require.NoError(b, err)
			require.Len(b, p.First, 5)
		}
	})
	b.Run("TraceBatch", func(b *testing.B) {
		for b.Loop() {
			_, err := r.Trace(background, TraceQuestion{Text: "S-0020000", AsBatch: true})
			require.NoError(b, err)
		}
	})
	b.Run("TraceJoint", func(b *testing.B) {
		for b.Loop() {
			_, err := r.Trace(background, TraceQuestion{Text: "joint 77", AsJoint: true})
			require.NoError(b, err)
		}
	})
	b.Run("List", func(b *testing.B) {
		for b.Loop() {
			l, err := r.StockList(background, ListQuestion{})
			require.NoError(b, err)
			require.NoError(b, l.Each(func(*Listed) error { return nil }))
			l.Close()
		}
	})
	b.Run("ListCSV", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, r.WriteRows(background, ListQuestion{}, io.Discard))
		}
	})
}
