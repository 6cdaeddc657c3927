package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"beadline/cure/air"
)

// GasConstant is R in J/(mol K), exact since the 2019 SI (BIPM, The International
// System of Units, 9th edition: N_A·k).
const GasConstant = 8.31446261815324

const kelvin = 273.15

// Air is the air at one place and instant.
type Air struct {
	TempC float64 // °C
	RH    float64 // % RH, 0 to 100
}

// Vapour is the water-vapour pressure in hPa.
func (a Air) Vapour() float64 { return air.Vapour(a.TempC, a.RH) }

// Bead is the sealant as laid.
type Bead struct {
	DepthMM float64 // thickness or depth to cure through, mm; 0: not said
	Faces   int     // faces open to the air: 0 not said or a single face, 2 both
	Closed  bool    // a film closed between two parts: no face sees the air
}

// Form is a curve's shape: how long a milestone takes in constant air.
type Form interface {
	// Seconds is the plain curve at tempC °C, rh % RH at the sealant and vapour
	// pressure pv hPa, for a bead. It is positive; +Inf means never.
	Seconds(tempC, rh, pv float64, b Bead) float64
	// Reference is the condition the rated time holds at.
	Reference() Air
	// Breaks lists the temperatures (°C) and humidities (% RH) where the curve
	// has a kink, so that integration can split there.
	Breaks() (temps, rhs []float64)
	// Check says what is wrong with the parameters, if anything.
	Check() error
	// Name is the form's name in a class file.
	Name() string
}

// Doubling is the trade's rule: the time halves for each Step of warming.
//
//	t = Time · 2^((Ref − T)/Step)
//
// With a step of 10 °C (18 °F) it is common practice for two-part sealants and
// resins, said to hold from about 30 to 120 °F.
type Doubling struct {
	RefC  float64 // °C
	Time  float64 // s at RefC
	StepC float64 // °C, an interval
}

// Seconds implements Form.
func (d Doubling) Seconds(t, _, _ float64, _ Bead) float64 {
	return d.Time * math.Exp2((d.RefC-t)/d.StepC)
}

// Reference implements Form. Humidity does not enter: 50 % stands for it.
func (d Doubling) Reference() Air { return Air{d.RefC, 50} }

// Breaks implements Form: the curve is smooth.
func (d Doubling) Breaks() (temps, rhs []float64) { return nil, nil }

// Check implements Form.
func (d Doubling) Check() error {
	switch {
	case !positive(d.Time):
		return errors.New("the time must be more than zero")
	case !sane(d.RefC):
		return fmt.Errorf("no such reference temperature: %gC", d.RefC)
	case !(d.StepC > 0):
		return errors.New("the step must be more than 0C: warmth shortens the time")
	case !(d.StepC >= 3 && d.StepC <= 60):
		return fmt.Errorf("a step of %gC is outside 3C..60C: real sealants halve their time within 7 to 30C", d.StepC)
	}
	return nil
}

// Name implements Form.
func (Doubling) Name() string { return "doubling" }

// Arrhenius is a rate with an activation energy, T in kelvin:
//
//	t = Time · exp[(Ea/R)(1/T − 1/T_ref)]
type Arrhenius struct {
	RefC float64 // °C
	Time float64 // s at RefC
	Ea   float64 // J/mol
}

// Seconds implements Form.
func (a Arrhenius) Seconds(t, _, _ float64, _ Bead) float64 {
	if t <= -kelvin {
		return math.Inf(1)
	}
	return a.Time * math.Exp(a.Ea/GasConstant*(1/(t+kelvin)-1/(a.RefC+kelvin)))
}

// Reference implements Form.
func (a Arrhenius) Reference() Air { return Air{a.RefC, 50} }

// Breaks implements Form: the curve is smooth.
func (a Arrhenius) Breaks() (temps, rhs []float64) { return nil, nil }

// Check implements Form.
func (a Arrhenius) Check() error {
	switch {
	case !positive(a.Time):
		return errors.New("the time must be more than zero")
	case !sane(a.RefC):
		return fmt.Errorf("no such reference temperature: %gC", a.RefC)
	case !(a.Ea > 0):
		return errors.New("the activation energy must be more than zero: warmth shortens the time")
	case !(a.Ea <= 300e3):
		return fmt.Errorf("an activation energy of %g kJ/mol is outside 0..300 kJ/mol", a.Ea/1000)
	}
	return nil
}

// Name implements Form.
func (Arrhenius) Name() string { return "arrhenius" }

// TablePoint is one cell of a data sheet: at this air the milestone took so long.
type TablePoint struct {
	TempC float64 // °C
	RH    float64 // % RH; 0 in every point: the sheet does not speak of humidity
	Time  float64 // s
}

// Table reads a data sheet between its points: log t linear in 1/T between
// temperatures (T in kelvin), log t linear in RH between humidities, exact at the
// points. Beyond the outermost points the outermost slope goes on, which only
// --extrapolate and the not-after line above the ceiling may use.
type Table struct {
	temps []float64   // °C, increasing
	rhs   []float64   // % RH, increasing; one entry when humidity is not given
	logT  [][]float64 // [temp][rh] ln s
	ref   Air
}

// minApart is how far apart, in °C or % RH, a table's rows must lie to be two.
const minApart = 0.01

// NewTable builds a table curve. The points must fill a grid of temperatures and
// humidities, times must be positive, and warmth must shorten them. ref names the
// point whose time is the rated time; it must be one of the points.
func NewTable(points []TablePoint, ref Air) (*Table, error) {
	t := &Table{ref: ref}
	for _, p := range points {
		switch {
		case !sane(p.TempC):
			return nil, fmt.Errorf("no such temperature: %gC", p.TempC)
		case !(p.RH >= 0 && p.RH <= 100):
			return nil, fmt.Errorf("no such humidity: %g%%", p.RH)
		case !positive(p.Time):
			return nil, fmt.Errorf("the time at %gC must be more than zero", p.TempC)
		}
		t.temps, t.rhs = append(t.temps, p.TempC), append(t.rhs, p.RH)
	}
	slices.Sort(t.temps)
	slices.Sort(t.rhs)
	t.temps, t.rhs = slices.Compact(t.temps), slices.Compact(t.rhs)
	if len(t.temps) < 2 {
		return nil, errors.New("a table needs points at two temperatures or more")
	}
	if err := apart(t.temps, "C"); err != nil {
		return nil, err
	}
	if err := apart(t.rhs, "%"); err != nil {
		return nil, err
	}
	if err := t.fill(points); err != nil {
		return nil, err
	}
	if !slices.Contains(t.temps, ref.TempC) || len(t.rhs) > 1 && !slices.Contains(t.rhs, ref.RH) {
		return nil, fmt.Errorf("the reference %gC, %g%% RH is not one of the table's points", ref.TempC, ref.RH)
	}
	if len(t.rhs) == 1 && !(ref.RH > 0 && ref.RH <= 100) {
		t.ref.RH = 50 // the sheet does not speak of humidity: 50 % stands for it
	}
	return t, nil
}

// fill sets the grid from the points, each once, and checks that warmth shortens.
func (t *Table) fill(points []TablePoint) error {
	type cell struct{ tempC, rh float64 }
	times := make(map[cell]float64, len(points))
	for _, p := range points {
		if _, twice := times[cell{p.TempC, p.RH}]; twice {
			return fmt.Errorf("two points at %gC and %g%% RH", p.TempC, p.RH)
		}
		times[cell{p.TempC, p.RH}] = p.Time
	}
	for i, c := range t.temps {
		var row []float64
		for j, rh := range t.rhs {
			s, given := times[cell{c, rh}]
			switch {
			case !given:
				return fmt.Errorf("no point at %gC and %g%% RH: the points must fill the grid", c, rh)
			case i > 0 && math.Log(s) >= t.logT[i-1][j]:
				return fmt.Errorf("the time does not fall from %gC to %gC", t.temps[i-1], c)
			}
			row = append(row, math.Log(s))
		}
		t.logT = append(t.logT, row)
	}
	return nil
}

// apart refuses rows so close that no slope can be read between them.
func apart(xs []float64, unit string) error {
	for i := 1; i < len(xs); i++ {
		if xs[i]-xs[i-1] < minApart {
			return fmt.Errorf("points at %g%s and %g%s are too close to tell apart", xs[i-1], unit, xs[i], unit)
		}
	}
	return nil
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// sane reports whether a temperature in °C can be a real one here: above absolute
// zero and at most 1000 °C.
func sane(tempC float64) bool { return tempC > -kelvin && tempC <= 1000 }

// Seconds implements Form.
func (t *Table) Seconds(tempC, rh, _ float64, _ Bead) float64 {
	if tempC <= -kelvin {
		return math.Inf(1)
	}
	i := cell(t.temps, tempC)
	x0, x1 := 1/(t.temps[i]+kelvin), 1/(t.temps[i+1]+kelvin)
	f := (1/(tempC+kelvin) - x0) / (x1 - x0)
	at := func(j int) float64 { return t.logT[i][j] + f*(t.logT[i+1][j]-t.logT[i][j]) }
	if len(t.rhs) == 1 {
		return math.Exp(at(0))
	}
	j := cell(t.rhs, rh)
	g := (rh - t.rhs[j]) / (t.rhs[j+1] - t.rhs[j])
	return math.Exp(at(j) + g*(at(j+1)-at(j)))
}

// cell is the interval of xs that holds x, or the outermost one next to it.
func cell(xs []float64, x float64) int {
	i, found := slices.BinarySearch(xs, x)
	if !found {
		i--
	}
	return min(max(i, 0), len(xs)-2)
}

// Reference implements Form.
func (t *Table) Reference() Air { return t.ref }

// Breaks implements Form: a kink at each point.
func (t *Table) Breaks() (temps, rhs []float64) {
	if len(t.rhs) > 1 {
		rhs = t.rhs
	}
	return t.temps, rhs
}

// Span gives the ranges of temperature and humidity that the points cover.
func (t *Table) Span() (tempLo, tempHi, rhLo, rhHi float64) {
	return t.temps[0], t.temps[len(t.temps)-1], t.rhs[0], t.rhs[len(t.rhs)-1]
}

// Check implements Form: NewTable has checked already.
func (t *Table) Check() error { return nil }

// Name implements Form.
func (*Table) Name() string { return "table" }

// Front is cure by moisture from the face inward, a sharp front that slows with
// depth (J. Comyn, Int. J. Adhesion & Adhesives 18 (1998) 247: z = √(2VPpt); the
// abstract was read, the equation is from memory). The vapour pressure drives it:
//
//	t = Time · (depth/Depth)² · (pv_ref/pv) · exp[(Ea/R)(1/T − 1/T_ref)]
//
// Ea is the activation energy of the permeability; 0 leaves vapour pressure the
// only driver. A bead open on two faces cures from both: half its depth counts.
// A closed film never cures, nor does any bead in dry air.
type Front struct {
	Ref     Air
	Time    float64 // s to cure DepthMM at Ref
	DepthMM float64 // mm
	Ea      float64 // J/mol
}

// Seconds implements Form. A bead without a depth is taken at the reference depth.
func (f Front) Seconds(t, _, pv float64, b Bead) float64 {
	if pv <= 0 || b.Closed || t <= -kelvin {
		return math.Inf(1)
	}
	d := b.DepthMM
	if d == 0 {
		d = f.DepthMM
	}
	if b.Faces == 2 {
		d /= 2
	}
	s := f.Time * (d / f.DepthMM) * (d / f.DepthMM) * f.Ref.Vapour() / pv
	if f.Ea != 0 {
		s *= math.Exp(f.Ea / GasConstant * (1/(t+kelvin) - 1/(f.Ref.TempC+kelvin)))
	}
	return s
}

// Reference implements Form.
func (f Front) Reference() Air { return f.Ref }

// Breaks implements Form: the curve is smooth.
func (f Front) Breaks() (temps, rhs []float64) { return nil, nil }

// Check implements Form.
func (f Front) Check() error {
	switch {
	case !positive(f.Time):
		return errors.New("the time must be more than zero")
	case !positive(f.DepthMM):
		return errors.New("the reference depth must be more than zero")
	case !sane(f.Ref.TempC):
		return fmt.Errorf("no such reference temperature: %gC", f.Ref.TempC)
	case !(f.Ref.RH > 0 && f.Ref.RH <= 100):
		return errors.New("the reference humidity must lie above 0% and at most at 100%")
	case !(f.Ea >= 0 && f.Ea <= 300e3):
		return errors.New("the activation energy must lie within 0..300 kJ/mol")
	}
	return nil
}

// Name implements Form.
func (Front) Name() string { return "front" }
