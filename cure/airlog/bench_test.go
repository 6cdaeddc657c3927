package airlog

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// year writes a log of one reading a minute for 365 days: 525,600 rows.
func year(layout string, zone *time.Location) []byte {
	const rows = 365 * 24 * 60
	b := make([]byte, 0, rows*40)
	b = append(b, "time,temp_c,rh_pct\n"...)
	at := time.Date(2027, 1, 1, 0, 0, 0, 0, zone)
	for i := range rows {
		day := 2 * math.Pi * float64(i) / (24 * 60)
		b = at.Add(time.Duration(i)*time.Minute).AppendFormat(b, layout)
		b = fmt.Appendf(b, ",%.2f,%.2f\n", 12-5*math.Cos(day), 60+15*math.Sin(day))
	}
	return b
}

// BenchmarkReadYear reads a year of 1-min rows: in UTC, at an offset, and in local
// time of a zone that changes its clocks twice.
func BenchmarkReadYear(b *testing.B) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(b, err)
	for _, bc := range []struct {
		name, layout string
		zone         *time.Location
	}{
		{"utc", time.RFC3339, time.UTC},
		{"offset", time.RFC3339, time.FixedZone("", 3600)},
		{"local", "2006-01-02T15:04", berlin},
	} {
		b.Run(bc.name, func(b *testing.B) {
			data := year(bc.layout, bc.zone)
			opt := Options{}
			if bc.name == "local" {
				opt.Zone = berlin
			}
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				log, err := Read(data, "year.csv", opt)
				if err != nil || len(log.Samples) != 365*24*60 {
					b.Fatal(len(log.Samples), err)
				}
			}
		})
	}
}
