package chance

import "math"

// Share is what one source has to do with the variance of an outcome, each part 0 to 1.
type Share struct {
	First float64 // what goes away if this source alone is known
	Total float64 // what is left if all the others are known
	Error float64 // standard error of the less certain of the two
}

// Shares splits the variance of a result among the sources. of gives the outcome of a
// play as a number. ok is false where nothing was swapped or nothing varies.
//
// They are the first-order and total indices of I. M. Sobol', by the estimators that A.
// Saltelli et al. recommend (Comp. Phys. Comm. 181 (2010) 259, the second after M. J. W.
// Jansen, Comp. Phys. Comm. 117 (1999) 35; both from memory): with A and B the two hands
// of a pair, A_k the first with the source k of the second, f less its mean, and V its
// variance,
//
//	First_k = mean f(B)(f(A_k) − f(A))/V   Total_k = mean (f(A) − f(A_k))²/2V
//
// Both are exactly 0 for a source that does nothing.
//
// A source here is a whole group of numbers (all task times, the path of the forecast),
// for which the indices hold as they do for one number. Chance can take an estimate a
// little outside 0 to 1; it is cut there.
func Shares[O any](r Result[O], sources int, of func(O) float64) (all []Share, ok bool) {
	n := len(r.Swapped)
	var sum, sq float64
	for _, p := range r.Plays[:min(2*n, len(r.Plays))] {
		sum += of(p)
	}
	m := float64(min(2*n, len(r.Plays)))
	for _, p := range r.Plays[:int(m)] {
		d := of(p) - sum/m
		sq += d * d
	}
	if n < 2 || !(sq > 1e-18) || math.IsInf(sq, 1) {
		return nil, false
	}
	mean := sum / m
	n = min(n, len(r.Plays)/2)
	for k := range sources {
		var first, total ratio
		for i := range n {
			a, b, ab := of(r.Plays[2*i])-mean, of(r.Plays[2*i+1])-mean, of(r.Swapped[i][k])-mean
			v := (a*a + b*b) / 2
			first.add(b*(ab-a), v)
			total.add((a-ab)*(a-ab)/2, v)
		}
		all = append(all, Share{clip(first.value()), clip(total.value()), max(first.err(), total.err())})
	}
	return all, true
}

func clip(x float64) float64 { return min(1, max(0, x)) }

// ratio adds up the ratio of two means and its standard error, to the first order in
// both (W. G. Cochran, Sampling Techniques, 3rd ed. 1977, eq. 2.46; from memory).
type ratio struct{ n, x, y, xx, xy, yy float64 }

func (r *ratio) add(x, y float64) {
	r.n, r.x, r.y, r.xx, r.xy, r.yy = r.n+1, r.x+x, r.y+y, r.xx+x*x, r.xy+x*y, r.yy+y*y
}

func (r *ratio) value() float64 { return r.x / r.y }

func (r *ratio) err() float64 {
	q := r.value()
	return math.Sqrt(max(0, r.xx-2*q*r.xy+q*q*r.yy)) / r.y
}
