package warmup

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// drawn is a body such as packs are, from a syringe to a pail, in anything from still
// air to a stirred bath.
func drawn(t *rapid.T) Body {
	spread := func(what string, lo, hi float64) float64 {
		return math.Exp(rapid.Float64Range(math.Log(lo), math.Log(hi)).Draw(t, what))
	}
	return Body{
		VolumeML: spread("ml", 1, 20000), Aspect: spread("aspect", 0.2, 8), Capacity: spread("capacity", 1, 4),
		Conductivity: spread("k", 0.1, 1), Film: spread("film", 2, 1000), Wall: rapid.Float64Range(0, 0.2).Draw(t, "wall"),
	}
}

func warming(t require.TestingT, b Body) *Warming {
	w, err := New(b)
	require.NoError(t, err)
	return w
}

// What the body has taken up is what came in through its faces: for slab and rod the
// mean falls by Bi times the integral of the face over Fo (twice that for a rod, whose
// surface is twice its volume over the radius). Checked by Gonum's quadrature.
func TestHeatTakenUpIsHeatThatCameIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		biot := math.Exp(rapid.Float64Range(math.Log(1e-3), math.Log(100)).Draw(t, "Bi"))
		fo := math.Exp(rapid.Float64Range(math.Log(0.01), math.Log(2)).Draw(t, "Fo"))
		further := fo * rapid.Float64Range(1.01, 3).Draw(t, "later")
		for name, c := range map[string]struct {
			s        series
			faces    float64
			weighted func(x float64) float64
		}{
			"slab": {slabOf(biot), 1, func(float64) float64 { return 1 }},
			"rod":  {rodOf(biot), 2, func(x float64) float64 { return 2 * x }},
		} {
			mean := func(fo float64) float64 {
				return quad.Fixed(func(x float64) float64 { return c.weighted(x) * c.s.at(x, fo) }, 0, 1, 40, nil, 0)
			}
			in := c.faces * biot * quad.Fixed(func(fo float64) float64 { return c.s.at(1, fo) }, fo, further, 40, nil, 0)
			if got := mean(fo) - mean(further); math.Abs(got-in) > 1e-7 {
				t.Fatalf("%s, Bi %g, Fo %g to %g: took up %.10f, and %.10f came in", name, biot, fo, further, got, in)
			}
		}
	})
}

// A body at one temperature throughout starts with all of the difference left; the
// series gives that 1 at the first Fourier number it is asked at, at the middle.
func TestSeriesStartsWithTheWholeDifference(t *testing.T) {
	for _, biot := range []float64{1e-4, 0.1, 1, 10, 100} {
		for _, s := range []series{slabOf(biot), rodOf(biot)} {
			assert.InDelta(t, 1, s.at(0, firstFo), 3e-4*min(1, biot)+1e-9, "Bi %g", biot)
			assert.Equal(t, 1.0, s.at(1, firstFo*0.999))
			last := s.roots[len(s.roots)-1]
			assert.Greater(t, last*last*firstFo, enough, "no term is missed that counts")
			assert.IsIncreasing(t, s.roots)
		}
	}
}

// One lump, T − T∞ ∝ exp(−t/τ), where the Biot number is small (closed form).
func TestSmallBiotIsOneLump(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawn(t)
		b.Conductivity = 500
		b.Film = min(b.Film, 20)
		w := warming(t, b)
		tau := b.TimeConstant()
		for _, p := range []Place{Core, Surface} {
			most := b.transfer() * max(b.radius(), b.half()) / b.Conductivity // the lump is off by no more
			for _, k := range []float64{0.5, 1, 3} {
				if got := w.Left(p, time.Duration(k*float64(tau))); math.Abs(got-math.Exp(-k)) > most {
					t.Fatalf("Bi %g, after %g τ: %g, a lump %g", b.Biot(), k, got, math.Exp(-k))
				}
			}
		}
	})
}

// A lump of the same V/A foretells the core too early as soon as the Biot number
// counts: that is why the core is not judged by one.
func TestLumpIsTooEarlyForTheCore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawn(t)
		if b.Biot() < LumpBiot {
			t.Skip("near enough to a lump")
		}
		w := warming(t, b)
		after, ok, err := w.Reach(Core, -40, 20, 16)
		if err != nil || !ok {
			t.Skip("never that warm")
		}
		if lump := b.TimeConstant().Seconds() * math.Log(60/4.0); after.Seconds() < lump {
			t.Fatalf("Bi %g: core after %v, a lump after %g s", b.Biot(), after, lump)
		}
	})
}

func TestCoreIsColdestAndWarmsWithTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := warming(t, drawn(t))
		s := math.Exp(rapid.Float64Range(0, math.Log(1e6)).Draw(t, "s"))
		early, late := time.Duration(s*1e9), time.Duration(s*1.1e9)
		for _, p := range []Place{Core, Surface} {
			a, b := w.Left(p, early), w.Left(p, late)
			if a < b-1e-12 || a > 1 || b < 0 {
				t.Fatalf("left %g, then %g", a, b)
			}
		}
		if core, face := w.Left(Core, early), w.Left(Surface, early); core < face-1e-9 {
			t.Fatalf("the core has %g left, the surface %g", core, face)
		}
	})
}

// Larger, heavier in heat, better wrapped, in a poorer film or colder air: none of it
// makes a pack warm sooner.
func TestWhatMakesItLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawn(t)
		more := rapid.Float64Range(1, 2.4).Draw(t, "more")
		room, to := rapid.Float64Range(15, 30).Draw(t, "room"), rapid.Float64Range(5, 14).Draw(t, "to")
		reach := func(b Body, from, room, to float64) float64 {
			after, ok, err := warming(t, b).Reach(Core, from, room, to)
			if err != nil {
				t.Fatal(err)
			}
			if !ok {
				return math.Inf(1)
			}
			return after.Seconds()
		}
		base := reach(b, -20, room, to)
		for what, got := range map[string]float64{
			"volume":   reach(Body{b.VolumeML * more, b.Aspect, b.Capacity, b.Conductivity, b.Film, b.Wall}, -20, room, to),
			"capacity": reach(Body{b.VolumeML, b.Aspect, b.Capacity * more, b.Conductivity, b.Film, b.Wall}, -20, room, to),
			"film":     reach(Body{b.VolumeML, b.Aspect, b.Capacity, b.Conductivity, b.Film / more, b.Wall}, -20, room, to),
			"wall":     reach(Body{b.VolumeML, b.Aspect, b.Capacity, b.Conductivity, b.Film, b.Wall + more/10}, -20, room, to),
			"colder":   reach(b, -20*more, room, to),
			"room":     reach(b, -20, room-(room-to)*(more-1)/4, to),
			"target":   reach(b, -20, room, to+(more-1)*0.4),
		} {
			if got < base*(1-1e-5) {
				t.Fatalf("%s: after %g s, before it was %g", what, got, base)
			}
		}
	})
}

// Reach and Temp are each other's inverse.
func TestReachIsWhenTheTemperatureIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := warming(t, drawn(t))
		from := rapid.Float64Range(-60, 10).Draw(t, "from")
		to := rapid.Float64Range(from+1, 25).Draw(t, "to")
		after, ok, err := w.Reach(Core, from, 30, to)
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			t.Skip("never that warm")
		}
		if got := w.Temp(Core, from, 30, after); got < to-1e-9 || got > to+0.01 {
			t.Fatalf("%g °C after %v, not %g", got, after, to)
		}
	})
}

func TestReachAtTheEdges(t *testing.T) {
	w := warming(t, Body{50, 1, 2, 0.3, 8, 0})
	reach := func(from, around, to float64) (time.Duration, bool, error) { return w.Reach(Core, from, around, to) }
	after, ok, err := reach(18, 20, 16)
	assert.True(t, ok && err == nil && after == 0, "it is there already")
	_, ok, err = reach(-40, 16, 16)
	assert.True(t, !ok && err == nil, "a pack comes near its room, not to it")
	_, ok, err = reach(-40, 16, 18)
	assert.True(t, !ok && err == nil)
	_, _, err = reach(30, 20, 25)
	assert.ErrorIs(t, err, ErrCooling)
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, _, err = reach(bad, 20, 16)
		assert.ErrorContains(t, err, "is no temperature")
	}
	assert.Equal(t, 1.0, w.Left(Core, 0))
	assert.Equal(t, 1.0, w.Left(Core, -time.Hour))
	_, ok, err = warming(t, Body{1e6, 1, 4, 0.1, 0.1, 1}).Reach(Core, -40, 20, 19.999)
	assert.True(t, !ok && err == nil, "not within a year")
}

func TestABodyThatCannotBeIsRefused(t *testing.T) {
	good := Body{50, 1, 2, 0.3, 8, 0}
	require.NoError(t, good.Check())
	for want, spoil := range map[string]func(*Body, float64){
		"volume": func(b *Body, v float64) { b.VolumeML = v }, "aspect": func(b *Body, v float64) { b.Aspect = v },
		"heat capacity": func(b *Body, v float64) { b.Capacity = v }, "conductivity": func(b *Body, v float64) { b.Conductivity = v },
		"film": func(b *Body, v float64) { b.Film = v }, "wall": func(b *Body, v float64) { b.Wall = v },
	} {
		for _, v := range []float64{-1, 1e9, math.NaN(), math.Inf(1)} {
			b := good
			spoil(&b, v)
			_, err := New(b)
			assert.ErrorContains(t, err, want)
		}
	}
}

// Whatever is drawn, no answer is a number that is none.
func FuzzReach(f *testing.F) {
	f.Add(60.0, 4.0, 2.0, 0.3, 7.7, 0.004, -40.0, 21.0, 16.0)
	f.Add(20000.0, 1.0, 2.7, 0.2, 3.0, 0.16, -80.0, 1.0, 0.999)
	f.Add(0.001, 0.01, 0.01, 500.0, 0.1, 10.0, -273.0, 1000.0, 999.0)
	f.Fuzz(func(t *testing.T, ml, aspect, capacity, k, film, wall, from, around, to float64) {
		w, err := New(Body{ml, aspect, capacity, k, film, wall})
		if err != nil {
			return
		}
		after, ok, err := w.Reach(Core, from, around, to)
		if err == nil && (after < 0 || ok && after > Longest) {
			t.Fatalf("after %v", after)
		}
		if l := w.Left(Surface, time.Hour); !(l >= 0 && l <= 1) {
			t.Fatalf("left %g", l)
		}
	})
}

func BenchmarkPackFromBodyToAnswer(b *testing.B) {
	body := Pack{Shape: Cartridge, VolumeML: 50}.Safe(StillAir)
	for b.Loop() {
		w, err := New(body)
		if err != nil {
			b.Fatal(err)
		}
		if _, ok, err := w.Reach(Core, -40, 19, 16); !ok || err != nil {
			b.Fatal(ok, err)
		}
	}
}
