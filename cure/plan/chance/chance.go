// Package chance deals random numbers and counts what comes of them. It plays something
// many times on several processors, the same for a seed whatever their number (run.go,
// stream.go), says between which shares a count leaves the truth (this file), and which
// source of chance the differences come from (share.go). It knows nothing of sealant.
package chance

import "math"

// Count is how often something came true.
type Count struct{ Kept, Of int }

// Add counts one more.
func (c *Count) Add(kept bool) {
	c.Of++
	if kept {
		c.Kept++
	}
}

// Share is the part that came true, 0 to 1; NaN where nothing was counted.
func (c Count) Share() float64 { return float64(c.Kept) / float64(c.Of) }

// z95 is the standard normal's 97.5 % point.
const z95 = 1.959963984540054

// Range is where the true share lies with 95 % confidence, by the score interval of
// E. B. Wilson (J. Am. Stat. Assoc. 22 (1927) 209), which keeps its promise for shares
// near 0 and 1 too (L. D. Brown, T. T. Cai, A. DasGupta, Statistical Science 16 (2001)
// 101; both from memory). 0 to 1 where nothing was counted.
func (c Count) Range() (low, high float64) {
	if c.Of == 0 {
		return 0, 1
	}
	n, p, z2 := float64(c.Of), c.Share(), z95*z95
	mid := (p + z2/(2*n)) / (1 + z2/n)
	half := z95 / (1 + z2/n) * math.Sqrt(p*(1-p)/n+z2/(4*n*n))
	low, high = max(0, mid-half), min(1, mid+half)
	if c.Kept == 0 { // exactly, and not to the last bit
		low = 0
	}
	if c.Kept == c.Of {
		high = 1
	}
	return low, high
}

// Quantile is the value that a part q of the sorted values reach at the most: the one of
// rank ⌈q·n⌉. It panics without values.
func Quantile(sorted []float64, q float64) float64 {
	return sorted[rank(math.Ceil(q*float64(len(sorted))), len(sorted))]
}

// QuantileRange is where the true quantile lies with about 95 % confidence: the values
// whose ranks are two standard deviations of the binomial count to either side.
func QuantileRange(sorted []float64, q float64) (low, high float64) {
	n := float64(len(sorted))
	d := z95 * math.Sqrt(n*q*(1-q))
	return sorted[rank(math.Floor(q*n-d), len(sorted))], sorted[rank(math.Ceil(q*n+d)+1, len(sorted))]
}

// rank turns a rank from 1 into an index.
func rank(r float64, n int) int { return min(max(int(r)-1, 0), n-1) }
