package cure

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// numbers reads a fuzz input as float64s, odd ones and all: each 3 bytes give a
// small number, or one of the values that break arithmetic.
type numbers []byte

func (n *numbers) next() float64 {
	if len(*n) < 3 {
		return 0
	}
	b := *n
	*n = b[3:]
	if b[0] > 0xf0 {
		return [...]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e308, -1e308, 5e-324, -273.15, 1e-300}[b[1]%8]
	}
	return float64(int16(binary.LittleEndian.Uint16(b))) / 64 * float64(int8(b[2]))
}

func FuzzNewTable(f *testing.F) {
	f.Add([]byte{0x80, 0x02, 1, 0, 0, 1, 0, 5, 9, 0x80, 0x05, 1, 0, 0, 1, 0, 2, 9}, 15.0, 50.0)
	f.Add([]byte{0xff, 0, 0, 0xff, 1, 0, 0xff, 5, 0}, 20.0, math.NaN())
	f.Add([]byte{0xff, 5, 0, 0, 0, 1, 0x40, 0, 1, 0xff, 7, 0, 0, 0, 1, 0x20, 0, 1}, -273.15, 0.0)
	f.Fuzz(func(t *testing.T, data []byte, at, rh float64) {
		var points []TablePoint
		for n := numbers(data); len(n) >= 9; {
			points = append(points, TablePoint{n.next(), n.next(), n.next()})
		}
		ref := Air{20, 50}
		if len(points) > 0 {
			ref = Air{points[0].TempC, points[0].RH}
		}
		tab, err := NewTable(points, ref)
		if err != nil {
			assert.Nil(t, tab)
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		for _, p := range points {
			got := tab.Seconds(p.TempC, p.RH, 0, Bead{})
			assert.InEpsilon(t, p.Time, got, 1e-9, "exact at its points")
		}
		lo, hi, rlo, rhi := tab.Span()
		if s := tab.Seconds(at, rh, 0, Bead{}); at >= lo && at <= hi && rh >= rlo && rh <= rhi {
			assert.False(t, math.IsNaN(s) || s < 0, "%g at %g C %g %%", s, at, rh)
		}
		warm := tab.Seconds(lo+(hi-lo)*0.75, rlo, 0, Bead{})
		assert.LessOrEqual(t, warm, tab.Seconds(lo+(hi-lo)*0.25, rlo, 0, Bead{})*(1+1e-9), "warmth shortens")
	})
}

func FuzzNewHistory(f *testing.F) {
	f.Add([]byte{0, 0, 10, 0, 5, 1, 0, 9, 1, 16, 0, 10, 0, 5, 1, 0, 9, 1}, byte(1), 2.0, 9.0, 16.0, int64(3600e9))
	f.Add([]byte{1, 0, 1, 0, 0, 0, 1, 0, 1}, byte(6), math.NaN(), -300.0, math.Inf(1), int64(-5))
	f.Add([]byte{0, 0xf0, 10, 0, 5, 1, 0, 9, 1, 0, 0x30, 10, 0, 5, 1, 0, 9, 1}, byte(11), 0.0, 20.0, 10.0, int64(math.MaxInt64))
	f.Fuzz(func(t *testing.T, data []byte, kinds byte, margin, low, high float64, span int64) {
		n := numbers(data)
		split := len(n) / 2
		series := func(n numbers) (s []Sample) {
			for len(n) >= 9 {
				s = append(s, Sample{t0.Add(time.Duration(n.next() * 1e9)), Air{n.next(), n.next()}})
			}
			return s
		}
		var pieces []Piece
		for i := range 2 {
			p := Piece{Name: "piece", Margin: margin, Forecast: kinds&(16<<i) != 0}
			if kinds&(1<<i) != 0 {
				p.Samples = series(numbers(data)[i*split : (i+1)*split])
			}
			if kinds&(4<<i) != 0 {
				p.Swing = &Swing{LowC: low, HighC: high, Warmest: time.Duration(high * 1e12), DewC: low, Zone: time.UTC}
			}
			if kinds&(3<<i) == 0 {
				p.Constant = &Air{low, high}
			}
			pieces = append(pieces, p)
		}
		if span > int64(90*24*time.Hour) { // a swing of 50 years is valid and slow
			span %= int64(90 * 24 * time.Hour)
		}
		h, err := NewHistory(pieces, t0, t0.Add(time.Duration(span)))
		if err != nil {
			assert.Nil(t, h)
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		valid(t, h)
		s := &Site{Air: h, Part: Part{Tau: time.Hour, AtC: 5}}
		for _, l := range allLines {
			got, err := s.Reach(only(rule(2)), Cured, l, t0)
			assert.NoError(t, err)
			assert.False(t, math.IsNaN(got.Progress))
			assert.False(t, !got.Never && got.At.Before(t0))
		}
	})
}

// valid checks what every history promises.
func valid(t *testing.T, h *History) {
	for _, l := range h.lanes[NotAfter:] {
		assert.Equal(t, 0.0, l.t[0])
		assert.GreaterOrEqual(t, len(l.t), 2)
		for i := range l.t {
			assert.False(t, i > 0 && l.t[i] < l.t[i-1], "time runs back")
			assert.False(t, math.IsNaN(l.c[i]) || math.IsNaN(l.pv[i]) || l.pv[i] < 0)
			assert.True(t, l.judge == nil || !math.IsNaN(l.judge[i]))
		}
	}
	cold, warm, likely := h.lanes[NotBefore], h.lanes[NotAfter], h.lanes[Likely]
	for i := range likely.t {
		assert.LessOrEqual(t, cold.c[i], likely.c[i]+1e-9)
		assert.LessOrEqual(t, likely.c[i], warm.c[i]+1e-9)
		assert.LessOrEqual(t, cold.pv[i], likely.pv[i]+1e-9)
		assert.LessOrEqual(t, likely.pv[i], warm.pv[i]+1e-9)
	}
}
