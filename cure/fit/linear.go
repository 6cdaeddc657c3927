package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Solution is the result of a least-squares fit.
type Solution struct {
	Params []float64
	StdErr []float64 // of each parameter; NaN where there are no more points than parameters
	// Cov is the covariance of the parameters; nil where there are no more points than
	// parameters.
	Cov *mat.SymDense
	RSS float64 // sum of the squared residuals
	// S is the standard deviation of the residuals, √(RSS/(points − parameters)); NaN
	// where there are no more points than parameters.
	S          float64
	Iterations int // of a nonlinear fit
}

// ErrTogether says that the columns of a design cannot be told apart: what they stand
// for changed together, or did not change at all.
var ErrTogether = errors.New("the conditions change together, so their effects cannot be told apart")

// collinear is the condition number, of columns scaled to length 1, from which two of
// them count as one. Rounding of the conditions (0.1 °C in 10) gives far less.
const collinear = 1e7

// Linear solves y ≈ X·b by QR, each column scaled first. Rows of x are the points. The
// standard errors are those of ordinary least squares: s²·(XᵀX)⁻¹ (JCGM 100:2008, H.3
// has the straight line). ErrTogether where the columns are collinear; another error
// where there are fewer rows than columns or a number is none.
func Linear(x mat.Matrix, y []float64) (Solution, error) {
	n, k := x.Dims()
	if n < k || len(y) != n {
		return Solution{}, errors.New("fewer points than parameters")
	}
	scaled, scale := mat.NewDense(n, k, nil), make([]float64, k)
	for j := range k {
		col := mat.Col(nil, j, x)
		scale[j] = mat.Norm(mat.NewVecDense(n, col), 2)
		if scale[j] == 0 {
			return Solution{}, ErrTogether
		}
		for i, v := range col {
			scaled.Set(i, j, v/scale[j])
		}
	}
	if !finite(scaled.RawMatrix().Data) || !finite(y) {
		return Solution{}, errors.New("a number is none")
	}
	var qr mat.QR
	qr.Factorize(scaled)
	if !(qr.Cond() < collinear) {
		return Solution{}, ErrTogether
	}
	var b mat.VecDense
	if err := qr.SolveVecTo(&b, false, mat.NewVecDense(n, y)); err != nil {
		return Solution{}, ErrTogether
	}
	var r mat.VecDense
	r.MulVec(scaled, &b)
	r.SubVec(&r, mat.NewVecDense(n, y))
	s := Solution{Params: make([]float64, k), RSS: mat.Dot(&r, &r)}
	for j := range k {
		s.Params[j] = b.AtVec(j) / scale[j]
	}
	s.errors(&qr, scale, n)
	return s, nil
}

// errors fills the covariance and the standard errors from the factored, column-scaled
// design.
func (s *Solution) errors(qr *mat.QR, scale []float64, n int) {
	k := len(scale)
	s.S, s.StdErr = math.NaN(), make([]float64, k)
	for j := range s.StdErr {
		s.StdErr[j] = math.NaN()
	}
	if n <= k {
		return
	}
	s.S = math.Sqrt(s.RSS / float64(n-k))
	var full mat.Dense
	qr.RTo(&full)
	r := mat.NewTriDense(k, mat.Upper, nil)
	for i := range k {
		for j := i; j < k; j++ {
			r.SetTri(i, j, full.At(i, j))
		}
	}
	var inv mat.TriDense
	if err := inv.InverseTri(r); err != nil && !isCondition(err) {
		return
	}
	s.Cov = mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			sum := 0.
			for l := j; l < k; l++ { // (RᵀR)⁻¹ = R⁻¹·R⁻ᵀ
				sum += inv.At(i, l) * inv.At(j, l)
			}
			s.Cov.SetSym(i, j, s.S*s.S*sum/(scale[i]*scale[j]))
		}
		s.StdErr[i] = math.Sqrt(s.Cov.At(i, i))
	}
}

// isCondition tells a poor condition, which the caller judges itself, from a failure.
func isCondition(err error) bool {
	var c mat.Condition
	return errors.As(err, &c) && !math.IsInf(float64(c), 1)
}

func finite(xs []float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
