package desk

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"beadline/catalog"
	"beadline/cure"
)

// yearLog writes a log of a reading a minute for 365 days, 525,600 rows and 17 MB:
// seasons, days, weather and the sensor's tenths of a degree. BEADLINE_YEAR names a file
// to write it to and keep, for the peers in testdata/peers.
func yearLog(b testing.TB) string {
	name := os.Getenv("BEADLINE_YEAR")
	if name == "" {
		name = filepath.Join(b.TempDir(), "year.csv")
	}
	rows := []byte("time,temp_c,rh_pct\n")
	at := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 525_600 {
		d := float64(i) / 1440
		c := 14 - 8*math.Cos(2*math.Pi*d/365) - 5*math.Cos(2*math.Pi*d) + 3*math.Sin(d*1.7) + 0.3*math.Sin(float64(i)*0.37)
		rh := 65 + 20*math.Cos(2*math.Pi*d) + 10*math.Sin(d*0.9)
		rows = at.Add(time.Duration(i)*time.Minute).AppendFormat(rows, time.RFC3339)
		rows = fmt.Appendf(rows, ",%.1f,%.1f\n", c, rh)
	}
	if err := os.WriteFile(name, rows, 0o600); err != nil {
		b.Fatal(err)
	}
	return name
}

// BenchmarkYearLog is a year of 1-min readings from the file on: read, laid out as a
// history, and every milestone of a class added up along it.
func BenchmarkYearLog(b *testing.B) {
	name := yearLog(b)
	b.Run("read", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := ReadAir(name, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	a, err := ReadAir(name, nil)
	if err != nil {
		b.Fatal(err)
	}
	history := func() *cure.History {
		h, err := cure.NewHistory([]cure.Piece{a.Piece()}, a.First(), a.Last())
		if err != nil {
			b.Fatal(err)
		}
		return h
	}
	for _, id := range []string{"polysulfide-b-2", "silicone-neutral"} {
		cl, err := catalog.Builtin().Find(id)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("milestones of "+id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				site := &cure.Site{Air: history(), Bead: cure.Bead{DepthMM: 3}}
				if _, err := site.Lines(&cl.Class); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("read and milestones of "+id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if a, err = ReadAir(name, nil); err != nil {
					b.Fatal(err)
				}
				site := &cure.Site{Air: history(), Bead: cure.Bead{DepthMM: 3}}
				if _, err := site.Lines(&cl.Class); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
