package warmup

import (
	"math"
	"sync"
)

// series is the exact solution of a slab or a long cylinder that starts at one
// temperature throughout and is warmed by convection from t = 0:
//
//	left(x, Fo) = Σ Cₙ·exp(−ζₙ²·Fo)·f(ζₙ·x)
//
// with x from 0 at the middle to 1 at the face, and Fo = a·t/L², L the half thickness
// or the radius. (Incropera and DeWitt, sections 5.5 and 5.6, from memory.)
type series struct {
	roots []float64 // ζₙ, increasing
	coefs []float64 // Cₙ
	f     func(float64) float64
}

// firstFo is the Fourier number up to which nothing counts as warmed. At the core that
// is exact to 1e-100; at the surface it is the safe side, for half a minute of a large
// can. Above it a few dozen terms of the series are exact.
const firstFo = 1e-3

// enough is the exponent at which a term of the series no longer counts.
const enough = 40.0

// at is the part of the difference left at x, 0 or 1, within 0 to 1.
func (s series) at(x, fo float64) float64 {
	if fo < firstFo {
		return 1
	}
	sum := 0.0
	for i, z := range s.roots {
		e := z * z * fo
		if e > enough && i > 0 {
			break
		}
		sum += s.coefs[i] * math.Exp(-e) * s.f(z*x)
	}
	return min(1, max(0, sum))
}

// slabOf solves the slab: ζ·tan ζ = Bi, f = cos, Cₙ = 4 sin ζ/(2ζ + sin 2ζ). The n-th
// root lies between (n−1)π and (n−½)π.
func slabOf(biot float64) series {
	s := series{f: math.Cos}
	for n := range terms {
		lo := float64(n) * math.Pi
		z := root(func(z float64) float64 { return z*math.Sin(z) - biot*math.Cos(z) }, lo, lo+math.Pi/2)
		s.roots = append(s.roots, z)
		s.coefs = append(s.coefs, 4*math.Sin(z)/(2*z+math.Sin(2*z)))
	}
	return s
}

// rodOf solves the long cylinder: ζ·J₁(ζ) = Bi·J₀(ζ), f = J₀,
// Cₙ = (2/ζ)·J₁/(J₀² + J₁²). The n-th root lies between the (n−1)th zero of J₁, 0
// for the first, and the n-th zero of J₀.
func rodOf(biot float64) series {
	s := series{f: math.J0}
	for _, b := range besselZeros() {
		z := root(func(z float64) float64 { return z*math.J1(z) - biot*math.J0(z) }, b.one, b.nought)
		j0, j1 := math.J0(z), math.J1(z)
		s.roots = append(s.roots, z)
		s.coefs = append(s.coefs, 2/z*j1/(j0*j0+j1*j1))
	}
	return s
}

// terms is how many roots are found: the last is beyond enough at firstFo.
const terms = 65

// zeros are the n-th zero of J₀ and the (n−1)th of J₁, with 0 before its first.
type zeros struct{ one, nought float64 }

var besselZeros = sync.OnceValue(func() (all [terms]zeros) {
	for n := range all {
		// The zeros of J₀ lie near (n−¼)π, those of J₁ near (n+¼)π, within 0.1 from the
		// first on (McMahon's expansion; Abramowitz and Stegun 9.5.12, from memory).
		all[n].nought = zeroNear(math.J0, (float64(n)+0.75)*math.Pi)
		if n > 0 {
			all[n].one = zeroNear(math.J1, (float64(n)+0.25)*math.Pi)
		}
	}
	return all
})

// zeroNear finds the zero within 0.2 of z.
func zeroNear(f func(float64) float64, z float64) float64 { return root(f, z-0.2, z+0.2) }

// root halves the stretch from lo to hi, over which f changes sign once, to the last
// digit.
func root(f func(float64) float64, lo, hi float64) float64 {
	below := f(hi) < 0 // the sign may go either way
	for range 60 {
		m := (lo + hi) / 2
		if m <= lo || m >= hi {
			break
		}
		if (f(m) < 0) == below {
			hi = m
		} else {
			lo = m
		}
	}
	return (lo + hi) / 2
}
