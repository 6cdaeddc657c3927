package store

import (
	"fmt"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/pgtest"
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
			// Several such batches take turns, so that none of them grows much.
			keys := make([]register.Key, 4+200/n)
			for i := range keys {
				keys[i] = register.Batch{Number: fmt.Sprint("G-", i), Maker: "Tindur"}.Key()
				for j, e := range events {
					e.ID = fmt.Sprint(i, "/", j)
				}
				w, err := register.Lay(keys[i], events)
				if err == nil {
					err = s.Commit(background, []register.Write{*w})
				}
				if err != nil {
					b.Fatal(err)
				}
			}
			r := &register.Register{Store: s, Clock: time.Now}
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				_, err := r.Append(background, keys[i%len(keys)], func(*register.State) ([]*register.Event, error) {
					return []*register.Event{by(takenOut("one more"), "", time.Now(), false)}, nil
				})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func init() { tasks["append"] = appendTask }

// perBatch is how many events each batch of appendSome gets.
const perBatch = 10

// appendSome records n events through a register: batches that come in and are drawn from.
// One in twenty is sent twice, as by somebody who did not hear the answer.
func appendSome(s register.Store, name string, n int) error {
	r := &register.Register{Store: s, Clock: time.Now, Station: name}
	for i := range n {
		key := register.Batch{Number: fmt.Sprintf("%s-%d", name, i/perBatch), Maker: "Tindur"}.Key()
		for again := range 2 {
			if again == 1 && i%20 != 7 {
				break
			}
			e := takenOut(fmt.Sprintf("AC%03d joint %03d", i%200, i%400))
			if i%perBatch == 0 {
				e = arrival(perBatch)
			}
			by(e, fmt.Sprintf("%s/%d", name, i), time.Now(), false)
			done, err := r.Append(background, key, func(*register.State) ([]*register.Event, error) { return []*register.Event{e}, nil })
			if err != nil {
				return err
			}
			if done.Known != again {
				return fmt.Errorf("%s: %d of its events were known before", e.ID, done.Known)
			}
		}
	}
	return nil
}

// appendTask is appendSome in a process of its own: register, name, how many.
func appendTask(args []string) error {
	s, err := Open(background, args[0], Options{Patience: time.Minute})
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	fmt.Println("ready")
	waitForLine()
	if err := appendSome(s, args[1], n); err != nil {
		return err
	}
	fmt.Println("done")
	waitForLine()
	return s.Close()
}

// noneLost holds a register to what appendSome was told: every event once, nothing else,
// and of each batch what was not drawn.
func noneLost(b *testing.B, s register.Store, names []string, n int) {
	totals, err := s.Totals(background)
	require.NoError(b, err)
	require.Equal(b, len(names)*n, totals.Events)
	r := &register.Register{Store: s, Clock: time.Now}
	for _, name := range names {
		for i := 0; i < n; i += perBatch {
			state, err := r.Load(background, register.Batch{Number: fmt.Sprintf("%s-%d", name, i/perBatch), Maker: "Tindur"}.Key())
			require.NoError(b, err)
			events := min(perBatch, n-i)
			require.Len(b, state.Events, events)
			for j, e := range state.Events {
				require.Equal(b, fmt.Sprintf("%s/%d", name, i+j), e.ID)
			}
			require.Empty(b, state.Problems)
			require.Equal(b, register.Amount(1000*(perBatch-events+1)), state.Parts[0].Amount)
		}
	}
	found, err := r.Verify(background, register.Hash{})
	require.NoError(b, err)
	require.True(b, found.Whole(), "%+v", found)
}

// BenchmarkAppendSQLiteEightProcesses has eight processes receive and draw through the
// register, beside the rate of bare syncs before and after.
func BenchmarkAppendSQLiteEightProcesses(b *testing.B) {
	const processes = 8
	path := filepath.Join(b.TempDir(), "register.db")
	openAt(b, path, Options{Create: true})
	before := syncRate(b, filepath.Dir(path))
	each := b.N/processes + 1
	var all []*process
	var names []string
	for i := range processes {
		names = append(names, fmt.Sprint("P", i))
		p := start(b, "append", path, names[i], fmt.Sprint(each))
		p.hear(b, "ready")
		all = append(all, p)
	}
	b.ResetTimer()
	for _, p := range all {
		p.say(b, "go")
	}
	for _, p := range all {
		p.hear(b, "done")
	}
	b.StopTimer()
	rate := float64(processes*each) / b.Elapsed().Seconds()
	bare := (before + syncRate(b, filepath.Dir(path))) / 2
	b.ReportMetric(rate, "events/s")
	b.ReportMetric(bare, "syncs/s")
	b.ReportMetric(rate/bare, "events/sync")
	noneLost(b, openAt(b, path, Options{}), names, each)
}

// BenchmarkAppendPostgresSixteenWriters has sixteen writers receive and draw through the
// register on one PostgreSQL.
func BenchmarkAppendPostgresSixteenWriters(b *testing.B) {
	const writers = 16
	s := openURL(b, pgtest.NewDatabase(b), Options{Create: true})
	each := b.N/writers + 1
	var names []string
	for i := range writers {
		names = append(names, fmt.Sprint("P", i))
	}
	b.ResetTimer()
	var wg sync.WaitGroup
	for _, name := range names {
		wg.Go(func() { assert.NoError(b, appendSome(s, name, each)) })
	}
	wg.Wait()
	b.StopTimer()
	b.ReportMetric(float64(writers*each)/b.Elapsed().Seconds(), "events/s")
	noneLost(b, s, names, each)
}
