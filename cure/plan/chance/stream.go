package chance

import (
	"math"
	"math/rand/v2"
)

// Stream deals the random numbers of one source of chance in one play. What it deals
// depends on its key alone, so that a source can be dealt again, or swapped, while the
// others stay as they are.
type Stream struct {
	pcg rand.PCG
	rng *rand.Rand
}

// key sets the stream to its beginning: the same four numbers, the same stream.
func (s *Stream) key(seed uint64, play, hand, source int) {
	if s.rng == nil {
		s.rng = rand.New(&s.pcg)
	}
	a := mixed(seed ^ mixed(uint64(play)))
	b := mixed(a + uint64(hand)<<32 + uint64(source) + 1)
	s.pcg.Seed(a, b)
}

// mixed spreads the bits of a number over all 64 (the finishing step of SplitMix64;
// G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014), so that neighbouring seeds and plays
// have nothing to do with each other.
func mixed(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// Normal deals a standard normal number.
func (s *Stream) Normal() float64 { return s.rng.NormFloat64() }

// Uniform deals a number over [0, 1).
func (s *Stream) Uniform() float64 { return s.rng.Float64() }

// Triangle is the quantile u of the triangular distribution from lo to hi with its peak
// at mode: what the GUM (JCGM 100:2008, 4.3.9) takes where bounds are known and values
// near the middle are likelier than those near the bounds.
func Triangle(u, lo, mode, hi float64) float64 {
	if !(hi > lo) {
		return mode
	}
	if f := (mode - lo) / (hi - lo); u < f {
		return lo + math.Sqrt(u*(hi-lo)*(mode-lo))
	}
	return hi - math.Sqrt((1-u)*(hi-lo)*(hi-mode))
}
