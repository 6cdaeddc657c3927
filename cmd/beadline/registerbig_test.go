package main

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
	"beadline/testdata/bigregister"
)

// The register at size: a million batches, all of them with something in stock, and five
// million events. The file is kept for the next run, see bigregister.Folder.

var bigPlan = bigregister.Plan{Batches: 1_000_000, Full: true}

func bigRegister(b *testing.B) string {
	path, err := bigregister.Cached(b.Context(), bigPlan)
	if err != nil {
		b.Fatal(err)
	}
	return path
}

// bigBatch is the number of a batch somewhere in the big register.
func bigBatch(i int) string { return fmt.Sprintf("B%07d", i*7919%900_000/1000*1000+i%900) }

func bigJoint(i int) string { return bigregister.Joint(i*7%200, i*31%400) }

// BenchmarkRegisterProcess runs the built command on the big register, as a person would:
// a process each time. cpu-ms is what the processors worked for it, which a busy machine
// changes less; rss-MB is the most memory that it had.
func BenchmarkRegisterProcess(b *testing.B) {
	if runtime.GOOS != "linux" {
		b.Skip("how much memory a process had is asked of Linux")
	}
	exe := filepath.Join(b.TempDir(), "beadline")
	if out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	b.Chdir(b.TempDir())
	require.NoError(b, writeDemo(demoFolder))
	const demo = "beadline-demo/"
	for _, c := range []struct {
		name string
		args func(i int) []string
	}{
		{"times", func(int) []string { return strings.Fields("times polysulfide-b-2 --temp 18C --rh 45") }},
		{"check-file", func(int) []string {
			return []string{"check", "S-2207", "--stock", demo + "stock.csv", "--catalog", demo + "classes.yaml", "--at", "2027-03-29"}
		}},
		{"check", func(i int) []string { return bigArgs(b, "check", bigBatch(i)) }},
		{"trace-joint", func(i int) []string { return bigArgs(b, "stock", "trace", bigJoint(i)) }},
		{"trace-batch", func(i int) []string { return bigArgs(b, "stock", "trace", bigBatch(i)) }},
		{"log", func(i int) []string { return bigArgs(b, "stock", "log", bigBatch(i)) }},
		{"flag", func(int) []string { return bigArgs(b, "flag") }},
		{"flag-csv", func(int) []string { return bigArgs(b, "flag", "--format", "csv") }},
		{"flag-site", func(int) []string { return bigArgs(b, "flag", "--location", "home base") }},
	} {
		b.Run(c.name, func(b *testing.B) {
			var cpu time.Duration
			var rss int64
			i := 0
			for b.Loop() {
				var out bytes.Buffer
				cmd := exec.Command(exe, c.args(i)...)
				cmd.Stderr = &out
				_ = cmd.Run() // its exit code is an answer
				if out.Len() > 0 {
					b.Fatal(cmd.Args, out.String())
				}
				cpu += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
				rss = max(rss, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
				i++
			}
			b.ReportMetric(float64(cpu.Microseconds())/1000/float64(b.N), "cpu-ms/op")
			b.ReportMetric(float64(rss)/1024, "rss-MB")
		})
	}
}

func bigArgs(b *testing.B, args ...string) []string {
	return append(args, "--register", bigRegister(b), "--at", "2027-03-29", "--zone", bigregister.Zone)
}

// BenchmarkRegisterBig asks the big register, without the process around it.
func BenchmarkRegisterBig(b *testing.B) {
	path := bigRegister(b)
	open := func(b *testing.B) *register.Register {
		s, err := store.OpenSQLite(b.Context(), path, store.Options{ReadOnly: true})
		if err != nil {
			b.Fatal(err)
		}
		return &register.Register{Store: s, Clock: time.Now}
	}
	b.Run("open-and-load", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			r := open(b)
			found := 0
			prefix := bigBatch(i) + "\t"
			var key register.Key
			err := r.Store.Lines(b.Context(), register.Key(prefix), func(h register.Head) bool {
				key = h.Key
				found++
				return false
			})
			require.NoError(b, err)
			s, err := r.Load(b.Context(), key)
			require.NoError(b, err)
			require.True(b, s.Exists())
			require.NoError(b, r.Store.Close())
		}
	})
	b.Run("served", func(b *testing.B) {
		r := open(b)
		defer r.Store.Close()
		n := 0
		for i := 0; b.Loop(); i++ {
			served, err := r.Store.Served(b.Context(), bigJoint(i), "")
			require.NoError(b, err)
			n += len(served)
		}
		b.ReportMetric(float64(n)/float64(b.N), "joints/op")
	})
	b.Run("rows", func(b *testing.B) {
		r := open(b)
		defer r.Store.Close()
		b.ReportAllocs()
		size := 0
		for b.Loop() {
			size = 0
			require.NoError(b, r.Store.Rows(b.Context(), register.RowFilter{}, func(p []byte) error { size += len(p); return nil }))
		}
		b.ReportMetric(float64(size)/1e6, "MB")
	})
	b.Run("verify", func(b *testing.B) {
		r := open(b)
		defer r.Store.Close()
		for b.Loop() {
			found, err := r.Verify(b.Context(), register.Hash{})
			require.NoError(b, err)
			require.True(b, found.Whole(), "%+v", found)
			require.Equal(b, bigPlan.Batches, found.Covered)
		}
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		b.ReportMetric(float64(m.Sys)/1e6, "sys-MB")
	})
}

// BenchmarkRegisterBuild fills a register by Restore, and puts a first checkpoint over all
// its lines.
func BenchmarkRegisterBuild(b *testing.B) {
	p := bigregister.Plan{Batches: 100_000, Full: true}
	var filled, covered time.Duration
	for b.Loop() {
		s, err := store.OpenSQLite(b.Context(), filepath.Join(b.TempDir(), "register.db"), store.Options{Create: true})
		require.NoError(b, err)
		begin := time.Now()
		next, stop := bigregister.Lines(p)
		require.NoError(b, s.Restore(b.Context(), next, func() ([]register.Checkpoint, error) { return nil, nil }))
		stop()
		filled += time.Since(begin)
		begin = time.Now()
		c, err := (&register.Register{Store: s, Clock: time.Now}).Checkpoint(b.Context(), "bench")
		require.NoError(b, err)
		require.Equal(b, p.Batches, c.Lines)
		covered += time.Since(begin)
		require.NoError(b, s.Close())
	}
	b.ReportMetric(filled.Seconds()/float64(b.N), "fill-s")
	b.ReportMetric(covered.Seconds()/float64(b.N), "checkpoint-s")
}
