package store

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
)

// syncRate is how often a second a page of 4096 bytes can be appended to a file and
// synced, on the file system of a folder: what no commit can beat.
func syncRate(b *testing.B, folder string) float64 {
	f, err := os.Create(filepath.Join(folder, "sync"))
	require.NoError(b, err)
	defer f.Close()
	const n = 1000
	page := make([]byte, 4096)
	begin := time.Now()
	for range n {
		_, err := f.Write(page)
		require.NoError(b, err)
		require.NoError(b, f.Sync())
	}
	return n / time.Since(begin).Seconds()
}

func BenchmarkSQLiteCommit(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "register.db"), Options{Create: true})
	b.ResetTimer()
	require.NoError(b, writeSome(s, "L", b.N))
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "commits/s")
}

// BenchmarkSQLiteEightProcesses has eight processes append one event per commit.
func BenchmarkSQLiteEightProcesses(b *testing.B) {
	const processes = 8
	path := filepath.Join(b.TempDir(), "register.db")
	openAt(b, path, Options{Create: true})
	bare := syncRate(b, filepath.Dir(path))
	each := b.N/processes + 1
	var all []*process
	for i := range processes {
		p := start(b, "write", path, fmt.Sprintf("P%d", i), fmt.Sprint(each))
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
	b.ReportMetric(rate, "commits/s")
	b.ReportMetric(bare, "syncs/s")
	b.ReportMetric(rate/bare, "commits/sync")
	s := openAt(b, path, Options{})
	totals, err := s.Totals(background)
	require.NoError(b, err)
	require.Equal(b, processes*each, totals.Events)
}

func BenchmarkPostgresSixteenWriters(b *testing.B) {
	const writers = 16
	s := openURL(b, pgtest.NewDatabase(b), Options{Create: true})
	each := b.N/writers + 1
	b.ResetTimer()
	var wg sync.WaitGroup
	for i := range writers {
		wg.Go(func() { require.NoError(b, writeSome(s, fmt.Sprintf("P%d", i), each)) })
	}
	wg.Wait()
	b.StopTimer()
	b.ReportMetric(float64(writers*each)/b.Elapsed().Seconds(), "commits/s")
}

func BenchmarkPostgresCommit(b *testing.B) {
	s := openURL(b, pgtest.NewDatabase(b), Options{Create: true})
	b.ResetTimer()
	require.NoError(b, writeSome(s, "L", b.N))
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "commits/s")
}

// million fills a register with lines of one event and one lot each.
func million(b *testing.B, s register.Store, n int) {
	i := -1
	err := s.Restore(background, func() (*register.Write, error) {
		if i++; i == n {
			return nil, nil
		}
		w := usual(register.Head{Key: register.Key(fmt.Sprintf("B%07d\tmaker", i))}, i)
		return &w, nil
	}, func() ([]register.Checkpoint, error) { return nil, nil })
	require.NoError(b, err)
}

const lines = 1_000_000

func BenchmarkSQLiteMillion(b *testing.B) {
	path := filepath.Join(b.TempDir(), "register.db")
	begin := time.Now()
	s := openAt(b, path, Options{Create: true})
	million(b, s, lines)
	b.Logf("restored in %v", time.Since(begin).Round(time.Millisecond))
	benchmarkMillion(b, func(b *testing.B) register.Store { return openAt(b, path, Options{}) })
}

func BenchmarkPostgresMillion(b *testing.B) {
	url := pgtest.NewDatabase(b)
	begin := time.Now()
	s := openURL(b, url, Options{Create: true})
	million(b, s, lines)
	b.Logf("restored in %v", time.Since(begin).Round(time.Millisecond))
	require.NoError(b, s.(*pgStore).raw(`ANALYZE`))
	benchmarkMillion(b, func(b *testing.B) register.Store { return openURL(b, url, Options{}) })
}

func benchmarkMillion(b *testing.B, open func(*testing.B) register.Store) {
	s := open(b)
	rows := func(f register.RowFilter) func(*testing.B) {
		return func(b *testing.B) {
			size := 0
			for b.Loop() {
				size = 0
				require.NoError(b, s.Rows(background, f, func(p []byte) error { size += len(p); return nil }))
			}
			b.ReportMetric(float64(size)/1e6, "MB")
		}
	}
	b.Run("Rows", rows(register.RowFilter{}))
	b.Run("RowsOfClass", rows(register.RowFilter{Class: "polysulfide-b-3"}))
	b.Run("RowsOfPlace", rows(register.RowFilter{Place: "hangar 3"}))
	b.Run("RowsAndGone", rows(register.RowFilter{Gone: true}))
	b.Run("Load", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			require.Equal(b, 1, headOf(b, s, register.Key(fmt.Sprintf("B%07d\tmaker", i*7919%lines))).Seq)
		}
	})
	b.Run("OpenAndLoad", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			s := open(b)
			require.Equal(b, 1, headOf(b, s, register.Key(fmt.Sprintf("B%07d\tmaker", i*7919%lines))).Seq)
			require.NoError(b, s.Close())
		}
	})
	b.Run("Totals", func(b *testing.B) {
		for b.Loop() {
			_, err := s.Totals(background)
			require.NoError(b, err)
		}
	})
	b.Run("EachLine", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, s.EachLine(background, func(register.Head, []register.Record) error { return nil }))
		}
	})
	begin := time.Now()
	_, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(b, err)
	b.Logf("first checkpoint in %v", time.Since(begin).Round(time.Millisecond))
	require.NoError(b, writeSome(s, "New", 100))
	begin = time.Now()
	_, err = s.Checkpoint(background, makeCheckpoint)
	require.NoError(b, err)
	b.Logf("next checkpoint in %v", time.Since(begin).Round(time.Millisecond))
}
