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
	v, mean := sq/(m-1), sum/m
	n = min(n, len(r.Plays)/2)
	for k := range sources {
		first, total := moments{}, moments{}
		for i := range n {
			a, b, ab := of(r.Plays[2*i]), of(r.Plays[2*i+1]), of(r.Swapped[i][k])
			first.add((b - mean) * (ab - a) / v)
			total.add((a - ab) * (a - ab) / (2 * v))
		}
		all = append(all, Share{clip(first.mean()), clip(total.mean()), max(first.err(), total.err())})
	}
	return all, true
}

func clip(x float64) float64 { return min(1, max(0, x)) }

// moments add up a mean and its standard error.
type moments struct{ n, sum, sq float64 }

func (m *moments) add(x float64) { m.n, m.sum, m.sq = m.n+1, m.sum+x, m.sq+x*x }

func (m *moments) mean() float64 { return m.sum / m.n }

func (m *moments) err() float64 {
	return math.Sqrt(max(0, m.sq/m.n-m.mean()*m.mean()) / m.n)
}
