package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Model is a nonlinear least-squares problem: parameters that make the sum of squared
// residuals least.
type Model struct {
	Points int // residuals; at least as many as parameters
	// Residuals writes model less data for each point into dst.
	Residuals func(dst, params []float64)
	// Jacobian writes ∂residual/∂parameter, a row for each point. Nil: by central
	// differences, good to about 10 digits.
	Jacobian func(dst *mat.Dense, params []float64)
}

// How long Nonlinear goes on. The hardest published set tried, MGH10 of the NIST
// Statistical Reference Datasets, needs some 700 steps from its far start.
const (
	maxSteps = 5000
	maxBend  = 0.75  // of the correction, relative to the step it corrects
	stepTol  = 1e-14 // relative to the parameters, in the scale of the problem
	angleTol = 1e-13 // cosine between the residuals and the nearest column
)

// Nonlinear fits a model from a starting point by Levenberg and Marquardt's method:
// Gauss–Newton steps, damped so that each makes the sum of squares less. The damping
// is scaled by the columns of the Jacobian (J. J. Moré, The Levenberg-Marquardt
// algorithm: implementation and theory, Lecture Notes in Mathematics 630, 1978; from
// memory), and goes up and down with the gain ratio (H. B. Nielsen, Damping parameter
// in Marquardt's method, IMM-REP-1999-05; from memory). Each step is bent along the
// curvature of the model (M. K. Transtrum, J. P. Sethna, Improvements to the
// Levenberg-Marquardt algorithm, arXiv:1201.5885, 2012; from memory): without that the
// long curved valley of MGH10 is walked for ever. Each step is solved by QR of the
// stacked system: the normal equations would lose half the digits. The standard errors
// are those of the linearised model at the optimum.
//
// Errors: a start at which the model is no number, parameters that the points cannot
// tell apart (ErrTogether), no optimum within 5000 steps.
func Nonlinear(m Model, start []float64) (Solution, error) {
	k := len(start)
	if m.Points < k || k == 0 {
		return Solution{}, errors.New("fewer points than parameters")
	}
	w := newWalk(m, start)
	if !finite(w.r) {
		return Solution{}, errors.New("the model is no number at the start")
	}
	for w.steps = 1; w.steps <= maxSteps; w.steps++ {
		if err := w.differentiate(); err != nil {
			return Solution{}, err
		}
		if w.flat() || !w.step() {
			return w.solution()
		}
	}
	return Solution{}, errors.New("no best parameters were found within 5000 steps")
}

// walk is where the search stands.
type walk struct {
	m       Model
	p, r    []float64
	cost    float64
	j       *mat.Dense
	scale   []float64 // of each parameter: the length of its column
	damping float64
	steps   int
}

func newWalk(m Model, start []float64) *walk {
	w := &walk{m: m, p: append([]float64(nil), start...), r: make([]float64, m.Points), damping: 1e-3}
	w.j, w.scale = mat.NewDense(m.Points, len(start), nil), make([]float64, len(start))
	m.Residuals(w.r, w.p)
	w.cost = squares(w.r)
	return w
}

func squares(r []float64) (sum float64) {
	for _, v := range r {
		sum += v * v
	}
	return sum
}

func (w *walk) differentiate() error {
	if w.m.Jacobian != nil {
		w.m.Jacobian(w.j, w.p)
	} else {
		w.differences()
	}
	for j := range w.p {
		length := mat.Norm(w.j.ColView(j), 2)
		if math.IsNaN(length) || math.IsInf(length, 0) {
			return errors.New("the model has no slope where the search came to")
		}
		if length == 0 {
			return ErrTogether
		}
		w.scale[j] = length
	}
	return nil
}

// differences fills the Jacobian by central differences of fourth order.
func (w *walk) differences() {
	q := append([]float64(nil), w.p...)
	at := func(j int, x float64) []float64 {
		r := make([]float64, w.m.Points)
		q[j] = x
		w.m.Residuals(r, q)
		q[j] = w.p[j]
		return r
	}
	for j, x := range w.p {
		h := 1e-3 * math.Abs(x) // fifth root of the rounding error, about
		if h == 0 {
			h = 1e-6
		}
		a, b, c, d := at(j, x-2*h), at(j, x-h), at(j, x+h), at(j, x+2*h)
		for i := range a {
			w.j.Set(i, j, (a[i]-8*b[i]+8*c[i]-d[i])/(12*h))
		}
	}
}

// flat reports that the residuals stand at a right angle to every column: no step
// makes them smaller.
func (w *walk) flat() bool {
	length := math.Sqrt(w.cost)
	for j := range w.p {
		dot := 0.
		for i, r := range w.r {
			dot += r * w.j.At(i, j)
		}
		if math.Abs(dot) > angleTol*length*w.scale[j] {
			return false
		}
	}
	return true
}

// step goes to a better place, damping more until there is one. It is false when the
// step has become too small to matter.
func (w *walk) step() bool {
	next, r := make([]float64, len(w.p)), make([]float64, w.m.Points)
	for grow := 2.; !math.IsInf(w.damping, 1) && !math.IsInf(grow, 1); grow *= 2 {
		s := w.damped()
		v := s.towards(w.r)
		if v == nil {
			return false
		}
		foretold := w.cost - s.left(v)
		bend := s.bend(v)
		moved, size := 0., 0.
		for j := range next {
			d := v[j] + bend[j]/2
			next[j] = w.p[j] + d/w.scale[j]
			moved, size = moved+d*d, size+math.Pow(w.scale[j]*w.p[j], 2)
		}
		if moved <= stepTol*stepTol*size {
			return false
		}
		w.m.Residuals(r, next)
		cost := squares(r)
		gain := (w.cost - cost) / foretold
		if cost < w.cost && gain > 0 && squares(bend) <= maxBend*maxBend*squares(v) {
			copy(w.p, next)
			copy(w.r, r)
			w.cost = cost
			w.damping *= math.Max(1./3, 1-math.Pow(2*math.Min(gain, 1)-1, 3))
			w.damping = math.Max(w.damping, 1e-30)
			return true
		}
		w.damping *= grow
	}
	return false
}

// damped is the linearised problem at one place with its damping: J over √damping,
// columns scaled to length 1.
type damped struct {
	w  *walk
	a  *mat.Dense
	qr mat.QR
}

func (w *walk) damped() *damped {
	n, k := w.j.Dims()
	s := &damped{w: w, a: mat.NewDense(n+k, k, nil)}
	for j := range k {
		for i := range n {
			s.a.Set(i, j, w.j.At(i, j)/w.scale[j])
		}
		s.a.Set(n+j, j, math.Sqrt(w.damping))
	}
	s.qr.Factorize(s.a)
	return s
}

// towards is the step, in scaled parameters, that lessens residuals r most; nil where
// there is none.
func (s *damped) towards(r []float64) []float64 {
	n, k := s.w.j.Dims()
	b := mat.NewVecDense(n+k, nil)
	for i, v := range r {
		b.SetVec(i, -v)
	}
	var x mat.VecDense
	if err := s.qr.SolveVecTo(&x, false, b); err != nil && !isCondition(err) || !finite(x.RawVector().Data) {
		return nil
	}
	return x.RawVector().Data
}

// left is the sum of squares that the linearised model has after a step.
func (s *damped) left(v []float64) float64 {
	n, k := s.w.j.Dims()
	var r mat.VecDense
	r.MulVec(s.a.Slice(0, n, 0, k), mat.NewVecDense(k, v))
	r.AddVec(&r, mat.NewVecDense(n, s.w.r))
	return mat.Dot(&r, &r)
}

// bend is how the best path curves away from a step, from the second derivative of
// the residuals along it; zero where that cannot be had.
func (s *damped) bend(v []float64) []float64 {
	const h = 0.1 // of the step, for the difference
	w, k := s.w, len(v)
	q, r := make([]float64, k), make([]float64, w.m.Points)
	for j := range q {
		q[j] = w.p[j] + h*v[j]/w.scale[j]
	}
	w.m.Residuals(r, q)
	for i := range r {
		slope := 0.
		for j := range v {
			slope += s.a.At(i, j) * v[j]
		}
		r[i] = 2 / h * ((r[i]-w.r[i])/h - slope)
	}
	if finite(r) {
		if a := s.towards(r); a != nil {
			return a
		}
	}
	return make([]float64, k)
}

// solution reads the parameters and their errors off the place the walk ended at.
func (w *walk) solution() (Solution, error) {
	if err := w.differentiate(); err != nil {
		return Solution{}, err
	}
	n, k := w.j.Dims()
	scaled := mat.NewDense(n, k, nil)
	for i := range n {
		for j := range k {
			scaled.Set(i, j, w.j.At(i, j)/w.scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(scaled)
	if !(qr.Cond() < collinear) {
		return Solution{}, ErrTogether
	}
	s := Solution{Params: w.p, RSS: w.cost, Iterations: w.steps}
	s.errors(&qr, w.scale, n)
	return s, nil
}
