// Package warmup says how long a cold pack takes to warm through: a can, a cartridge
// or a kit from the freezer or a cold store, in air or in a water bath.
//
// Two lines hang on it. A cold pack is opened only when nothing in it is still near
// the dew point of the room, as moisture condenses on it and in it; and what is in it
// is mixed or used only when it is warm enough to flow, wet and cure. Both are judged
// by the coldest point, the core: by the thermometer on the outside a pack is warm
// long before.
//
// The pack is a solid cylinder (Body) of one material in surroundings of constant
// temperature. One lump of one temperature, T − T∞ ∝ exp(−t/τ) with τ = ρcV/(UA),
// would do only where the Biot number, U·(V/A)/k, is below about 0.1. Packs of
// sealant in a draught or a bath lie above, so the exact solution is used for all:
// a short cylinder is the product of a slab and a long cylinder, each a series of
// its eigenvalues (Incropera and DeWitt, Fundamentals of Heat and Mass Transfer,
// chapter 5; Carslaw and Jaeger, Conduction of Heat in Solids: both from memory, and
// checked by an independent numerical solution). It becomes the lump where the Biot
// number is small.
//
//	w, err := warmup.New(pack.Safe(warmup.StillAir))
//	after, ok := w.Reach(warmup.Core, -40, 19, 16)
//
// Taken for granted: nothing in the pack melts, freezes or reacts (sealants are
// amorphous; no latent heat), nothing in it moves (a liquid stirs itself and warms
// sooner), and frost or dew on the pack is wiped off.
//
// Read on in series.go (the two series) and pack.go (what is known of packs: each
// figure with a likely and a safe value and where it comes from). The package is pure:
// no clock, no files; temperatures are °C.
package warmup

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Body is a solid cylinder in surroundings of constant temperature.
type Body struct {
	VolumeML     float64 // ml, above 0
	Aspect       float64 // height over diameter, above 0
	Capacity     float64 // heat capacity by volume, J/(ml K), above 0
	Conductivity float64 // W/(m K), above 0
	Film         float64 // heat transfer coefficient of the surroundings, W/(m² K), above 0
	Wall         float64 // thermal resistance of the wall of the pack, m² K/W, 0 or more
}

// Check finds what no pack can be. The error is one line that names the field.
func (b Body) Check() error {
	for _, f := range []struct {
		name   string
		v      float64
		lo, hi float64
	}{
		{"volume in ml", b.VolumeML, 1e-3, 1e6}, {"aspect", b.Aspect, 0.01, 100}, {"heat capacity in J/(ml K)", b.Capacity, 0.01, 10},
		{"conductivity in W/(m K)", b.Conductivity, 1e-3, 500}, {"film in W/(m2 K)", b.Film, 0.1, 1e5}, {"wall in m2 K/W", b.Wall, 0, 10},
	} {
		if !(f.v >= f.lo && f.v <= f.hi) { // NaN too
			return fmt.Errorf("%s of %g: it lies between %g and %g", f.name, f.v, f.lo, f.hi)
		}
	}
	return nil
}

// radius is in m.
func (b Body) radius() float64 { return math.Cbrt(b.VolumeML * 1e-6 / (2 * math.Pi * b.Aspect)) }

// half is half the height, in m.
func (b Body) half() float64 { return b.radius() * b.Aspect }

// DiameterMM is the diameter in mm.
func (b Body) DiameterMM() float64 { return 2000 * b.radius() }

// HeightMM is the height in mm.
func (b Body) HeightMM() float64 { return 2000 * b.half() }

// transfer is the overall coefficient from the surroundings to the contents, W/(m² K).
func (b Body) transfer() float64 { return 1 / (1/b.Film + b.Wall) }

// length is V/A, in m: the volume over the surface.
func (b Body) length() float64 {
	r, h := b.radius(), 2*b.half()
	return r * h / (2 * (r + h))
}

// Biot is the Biot number U·(V/A)/k: below about 0.1 the body warms as one lump
// (Incropera and DeWitt, section 5.1).
func (b Body) Biot() float64 { return b.transfer() * b.length() / b.Conductivity }

// LumpBiot is the Biot number up to which a body is one lump, by the usual rule.
const LumpBiot = 0.1

// TimeConstant is that of one lump, τ = ρcV/(UA), rounded to the nanosecond.
func (b Body) TimeConstant() time.Duration {
	return time.Duration(b.Capacity * 1e6 * b.length() / b.transfer() * float64(time.Second))
}

// diffusivity is k/ρc, m²/s.
func (b Body) diffusivity() float64 { return b.Conductivity / (b.Capacity * 1e6) }

// Place is a point of the body.
type Place uint8

// The places.
const (
	Core    Place = iota // its centre, the coldest point of all
	Surface              // the coldest point of the surface: an end or the middle of the side
)

// Warming is a body made ready for questions. It is safe for several goroutines.
type Warming struct {
	body        Body
	rod, slab   series
	rodS, slabS float64 // seconds in which Fo grows by 1: R²/a, (H/2)²/a
}

// New makes a Warming. Errors: those of Body.Check.
func New(b Body) (*Warming, error) {
	if err := b.Check(); err != nil {
		return nil, err
	}
	return solve(b), nil
}

func solve(b Body) *Warming {
	r, h, u, a := b.radius(), b.half(), b.transfer(), b.diffusivity()
	return &Warming{b, rodOf(u * r / b.Conductivity), slabOf(u * h / b.Conductivity), r * r / a, h * h / a}
}

// Body is what the Warming was made of.
func (w *Warming) Body() Body { return w.body }

// Left is the part of the difference from the surroundings, 1 to 0, that is left at a
// place after a time. It never grows with time. In the first moments, while warmth is
// within a few hundredths of the radius, the surface counts as not warmed yet.
func (w *Warming) Left(p Place, after time.Duration) float64 {
	return w.left(p, after.Seconds())
}

func (w *Warming) left(p Place, s float64) float64 {
	if !(s > 0) {
		return 1
	}
	fr, fs := s/w.rodS, s/w.slabS
	if p == Core {
		return w.rod.at(0, fr) * w.slab.at(0, fs)
	}
	return max(w.rod.at(1, fr)*w.slab.at(0, fs), w.rod.at(0, fr)*w.slab.at(1, fs))
}

// Temp is the temperature at a place, in °C, of a body at from °C throughout when it
// came into surroundings at around °C.
func (w *Warming) Temp(p Place, from, around float64, after time.Duration) float64 {
	return around + (from-around)*w.Left(p, after)
}

// ErrCooling is the error of a body that is warmer than what it is in.
var ErrCooling = errors.New("the pack is warmer than its surroundings: it does not warm up")

// Longest is the longest time that Reach gives.
const Longest = 365 * 24 * time.Hour

// Reach is when a body at from °C throughout, in surroundings at around °C, has come to
// to °C at a place. ok is false where it never does, or not within Longest: a body
// comes near its surroundings and not to them. A body that is there already gives 0.
// The error is ErrCooling, or names a temperature that is no number.
func (w *Warming) Reach(p Place, from, around, to float64) (after time.Duration, ok bool, err error) {
	for _, v := range []float64{from, around, to} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, false, fmt.Errorf("%g is no temperature", v)
		}
	}
	switch {
	case from > around:
		return 0, false, ErrCooling
	case from >= to:
		return 0, true, nil
	case to >= around:
		return 0, false, nil
	}
	want := (around - to) / (around - from)
	lo, hi := 0.0, 1.0
	for w.left(p, hi) > want {
		if lo, hi = hi, 2*hi; hi > 2*Longest.Seconds() {
			return 0, false, nil
		}
	}
	for hi-lo > 1e-6*hi {
		if m := (lo + hi) / 2; w.left(p, m) > want {
			lo = m
		} else {
			hi = m
		}
	}
	after = time.Duration(hi * float64(time.Second))
	return after, after <= Longest, nil
}
