package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Try fits one form to the points. The result says in Reason why the form cannot be
// used, if it cannot; parameters that make no sense (warmth that lengthens the time)
// are still there to be shown. An error means points that cannot be.
//
// Every form but the table is linear in log time, save for the step of doubling: its
// linear slope is ln 2/step, so that the search of Nonlinear starts at the linear
// answer and gives the standard error of the step itself.
func Try(form Form, points []Point, ref Reference) (Fit, error) {
	if err := check(points); err != nil {
		return Fit{}, err
	}
	if form == Table {
		return tryTable(points), nil
	}
	f := Fit{Form: form, RMS: math.NaN(), Q10: math.NaN(), Q10Err: math.NaN()}
	if f.Reason = form.needs(points); f.Reason != "" {
		return f, nil
	}
	x, y := form.design(points, ref)
	s, err := Linear(x, y)
	if err != nil {
		f.Reason = err.Error()
		return f, nil
	}
	f.Reason = form.sensible(s.Params)
	if f.Reason == "" && form.step() {
		if s, err = doubling(form, points, ref, s.Params); err != nil {
			f.Reason = err.Error()
			return f, nil
		}
	}
	f.fill(points, ref, s)
	f.leaveOut(points, ref)
	return f, nil
}

// step tells the forms of doubling, whose second column is linear in °C.
func (f Form) step() bool  { return f == Doubling || f == DoublingHumid }
func (f Form) humid() bool { return f == DoublingHumid || f == ArrheniusHumid }
func (f Form) front() bool { return f == Front || f == FrontEa }

// params names the parameters in the order of the design's columns.
func (f Form) params() []string {
	switch f {
	case Front:
		return []string{Time}
	case Doubling:
		return []string{Time, Step}
	case DoublingHumid:
		return []string{Time, Step, Power}
	case ArrheniusHumid:
		return []string{Time, Ea, Power}
	}
	return []string{Time, Ea}
}

// needs says what the points lack for the form. One point more than parameters is
// wanted, for a standard error; two points may still give a doubling or an Arrhenius
// slope, without one.
func (f Form) needs(points []Point) string {
	k := len(f.params())
	for _, p := range points {
		if (f.humid() || f.front()) && p.PV == 0 {
			return "not every row gives a humidity"
		}
		if f.front() && p.DepthMM == 0 {
			return "not every row gives a bead"
		}
	}
	switch n := len(points); {
	case n <= k && !(n == 2 && (f == Doubling || f == Arrhenius)):
		return fmt.Sprintf("needs %d rows, for a standard error", k+1)
	case f != Front && distinct(points, temp) < 2:
		return "all rows are at one temperature"
	case f.humid() && distinct(points, humidity) < 2:
		return "all rows are at one humidity"
	}
	return ""
}

// design is the form as columns of a linear problem in log time: y ≈ X·b with b the
// log of the reference time, then ln 2/step or Ea, then the power.
func (f Form) design(points []Point, ref Reference) (*mat.Dense, []float64) {
	k := len(f.params())
	x, y := mat.NewDense(len(points), k, nil), make([]float64, len(points))
	for i, p := range points {
		y[i] = math.Log(p.Seconds)
		if f.front() {
			y[i] -= 2*math.Log(p.DepthMM/ref.DepthMM) + math.Log(ref.PV/p.PV)
		}
		x.Set(i, 0, 1)
		if k > 1 {
			slope := (1/(p.TempC+kelvin) - 1/(ref.TempC+kelvin)) / GasConstant
			if f.step() {
				slope = ref.TempC - p.TempC
			}
			x.Set(i, 1, slope)
		}
		if k > 2 {
			x.Set(i, 2, math.Log(ref.PV/p.PV))
		}
	}
	return x, y
}

// sensible says what is wrong with the parameters of the linear problem.
func (f Form) sensible(b []float64) string {
	switch {
	case f == FrontEa && b[1] < 0:
		return "the times call for a permeability that falls with warmth"
	case f != Front && b[1] <= 0:
		return "the time does not fall with temperature"
	case f.humid() && b[2] <= 0:
		return "the time does not fall with humidity"
	}
	return ""
}

// doubling refines the linear answer in the form's own parameters.
func doubling(form Form, points []Point, ref Reference, b []float64) (Solution, error) {
	x, y := form.design(points, ref)
	n, k := x.Dims()
	start := append([]float64(nil), b...)
	start[1] = math.Ln2 / b[1]
	return Nonlinear(Model{
		Points: n,
		Residuals: func(dst, p []float64) {
			for i := range dst {
				dst[i] = p[0] + math.Ln2*x.At(i, 1)/p[1] - y[i]
				if k > 2 {
					dst[i] += p[2] * x.At(i, 2)
				}
			}
		},
		Jacobian: func(dst *mat.Dense, p []float64) {
			dst.Copy(x)
			for i := range n {
				dst.Set(i, 1, -math.Ln2*x.At(i, 1)/(p[1]*p[1]))
			}
		},
	}, start)
}

// fill reads the parameters, the fitted times and Q10 off a solution.
func (f *Fit) fill(points []Point, ref Reference, s Solution) {
	f.Free = len(points) - len(s.Params)
	for j, name := range f.Form.params() {
		p := Param{Name: name, Value: s.Params[j], StdErr: s.StdErr[j]}
		if j == 0 { // from the log
			p.Value = math.Exp(p.Value)
			p.StdErr *= p.Value
		}
		// A refused doubling keeps its linear slope: turn it into a step.
		if name == Step && f.Reason != "" {
			p.Value, p.StdErr = math.Ln2/p.Value, math.NaN()
		}
		f.Params = append(f.Params, p)
	}
	switch step, ea := f.Param(Step), f.Param(Ea); {
	case f.Form.step():
		f.Q10 = math.Exp2(10 / step.Value)
		f.Q10Err = f.Q10 * math.Ln2 * 10 / (step.Value * step.Value) * step.StdErr
	case !f.Form.front():
		per := (1/(ref.TempC+kelvin) - 1/(ref.TempC+10+kelvin)) / GasConstant
		f.Q10 = math.Exp(ea.Value * per)
		f.Q10Err = f.Q10 * per * ea.StdErr
	}
	sum := 0.
	f.Fitted = make([]float64, len(points))
	for i, p := range points {
		f.Fitted[i] = f.At(p, ref)
		e := math.Log(p.Seconds / f.Fitted[i])
		sum += e * e
	}
	f.RMS = math.Expm1(math.Sqrt(sum / float64(len(points))))
}

// At is the fitted time, in s, at a condition. A table has none here.
func (f *Fit) At(p Point, ref Reference) float64 {
	t := f.Param(Time).Value
	if f.Form.front() {
		t *= p.DepthMM * p.DepthMM / (ref.DepthMM * ref.DepthMM) * ref.PV / p.PV
	}
	for _, q := range f.Params {
		switch q.Name {
		case Step:
			t *= math.Exp2((ref.TempC - p.TempC) / q.Value)
		case Ea:
			t *= math.Exp(q.Value / GasConstant * (1/(p.TempC+kelvin) - 1/(ref.TempC+kelvin)))
		case Power:
			t *= math.Pow(ref.PV/p.PV, q.Value)
		}
	}
	return t
}

// leaveOut fits the form again without each condition, and foretells the points of it.
func (f *Fit) leaveOut(points []Point, ref Reference) {
	f.LeftOut = make([]float64, len(points))
	for i, p := range points {
		e, err := f.Form.without(points, ref, p)
		if err != nil {
			e = math.NaN()
		}
		f.LeftOut[i] = e
	}
}

// without is the error at a point of the fit without the point's condition.
func (f Form) without(points []Point, ref Reference, out Point) (float64, error) {
	var rest []Point
	for _, p := range points {
		if p.condition() != out.condition() {
			rest = append(rest, p)
		}
	}
	if len(rest) == 0 {
		return 0, errors.New("nothing is left")
	}
	x, y := f.design(rest, ref)
	s, err := Linear(x, y)
	if err != nil {
		return 0, err
	}
	row, want := f.design([]Point{out}, ref)
	got := 0.
	for j, b := range s.Params {
		got += row.At(0, j) * b
	}
	return want[0] - got, nil
}
