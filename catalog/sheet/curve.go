package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"beadline/cure"
	"beadline/cure/fit"
	"beadline/cure/quantity"
)

// coldRows is how much colder, in °C, than the reference a row must be before cold may
// lengthen a not-after line: a row within the wobble of a room is no data of the cold
// (own decision).
const coldRows = 5

// made is a curve and the words that a class file says it in. The numbers of the curve
// are read back from the words, so that the class file holds just this curve.
type made struct {
	curve   *cure.Curve
	text    curveText
	seconds float64 // the rated time as written; 0 for a table
	moved   float64
}

// curveText is a curve as a class file writes it; "" where a key is left out.
type curveText struct {
	form, temps, rh, depth, states, spread string
	power, powerFrom                       string // of humidity
	cold                                   string // provenance of cold-extends
	creditMax, creditFrom                  string
	from                                   string
}

// curve makes the curve of a fit, without provenance. No row lies on the unsafe side
// of its line: the spread reaches out to the farthest rows, and where the sheet states
// a minimum or maximum, on which no spread is applied, the rated time itself is moved.
func (c *contents) curve(ref Row, f *fit.Fit) (made, error) {
	m, err := c.form(ref, f, 1, toNearest)
	if err != nil {
		return m, err
	}
	lo, hi := c.ratios(m.curve)
	m.moved = 1
	written := m.seconds / f.Param(fit.Time).Value
	switch first := c.rows[0]; {
	case first.States == cure.Minimum && c.milestone.Line() == cure.NotAfter && lo < 1-1e-9:
		m, err = c.form(ref, f, lo*written, downward)
		m.moved = lo
	case first.States == cure.Maximum && c.milestone.Line() == cure.NotBefore && hi > 1+1e-9:
		m, err = c.form(ref, f, hi*written, upward)
		m.moved = hi
	}
	if err != nil {
		return m, err
	}
	return m, c.spread(&m)
}

// ratios are the least and the greatest measured time over that of the curve.
func (c *contents) ratios(cv *cure.Curve) (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	for _, r := range c.rows {
		q := r.Seconds / c.plain(cv, r)
		lo, hi = math.Min(lo, q), math.Max(hi, q)
	}
	return lo, hi
}

func (c *contents) plain(cv *cure.Curve, r Row) float64 {
	a := c.air(r)
	b := cure.Bead{}
	if c.front {
		b = r.bead()
	}
	return cv.Plain(a.TempC, a.RH, a.Vapour(), b)
}

// spread sets the spread outward to the next tenth of a per cent.
func (c *contents) spread(m *made) error {
	lo, hi := c.ratios(m.curve)
	outward := func(x float64) float64 { return math.Max(0, math.Ceil(1000*x-1e-6)/10) }
	shorter, longer := outward(1-lo), outward(hi-1)
	if shorter > 95 || longer > 900 {
		return errors.New("its rows lie too far apart for a spread")
	}
	if shorter == 0 && longer == 0 {
		return nil
	}
	m.text.spread = decimal(-shorter) + ".." + decimal(longer) + "%"
	sp, err := quantity.PercentRange(m.text.spread)
	m.curve.Shorter, m.curve.Longer = -sp.Lo/100, sp.Hi/100
	return err
}

// form makes the curve of a fit with its time multiplied by a factor, and the ranges of
// its rows: never wider.
func (c *contents) form(ref Row, f *fit.Fit, factor float64, to rounding) (m made, err error) {
	m.curve = &cure.Curve{States: c.rows[0].States}
	if c.rows[0].Stated {
		m.text.states = c.rows[0].States.String()
	}
	if f.Form == fit.Table {
		err = m.table(c, ref)
	} else {
		err = m.smooth(c, ref, f, factor, to)
	}
	if err == nil {
		err = m.ranges(c, f.Form)
	}
	if err == nil {
		err = m.curve.Form.Check()
	}
	return m, err
}

// smooth writes a form with parameters, and reads its numbers back.
func (m *made) smooth(c *contents, ref Row, f *fit.Fit, factor float64, to rounding) error {
	var faults []error
	number := func(v float64, err error) float64 {
		faults = append(faults, err)
		return v
	}
	time := spanText(f.Param(fit.Time).Value*factor, to)
	seconds := number(spanSeconds(time))
	m.seconds = seconds
	energy := significant(math.Max(0, f.Param(fit.Ea).Value)/1000, 4, toNearest) + "kJ/mol"
	switch f.Form {
	case fit.Doubling, fit.DoublingHumid:
		step := significant(f.Param(fit.Step).Value, 4, toNearest) + "C"
		m.text.form = fmt.Sprintf("doubling: {ref: %s, time: %s, step: %s}", ref.Temp, time, step)
		m.curve.Form = cure.Doubling{RefC: ref.TempC, Time: seconds, StepC: number(quantity.TempStep(step))}
	case fit.Arrhenius, fit.ArrheniusHumid:
		m.text.form = fmt.Sprintf("arrhenius: {ref: %s, time: %s, ea: %s}", ref.Temp, time, energy)
		m.curve.Form = cure.Arrhenius{RefC: ref.TempC, Time: seconds, Ea: number(quantity.MolarEnergy(energy))}
	default:
		front := cure.Front{Ref: cure.Air{TempC: ref.TempC, RH: ref.RH}, Time: seconds, DepthMM: ref.BeadMM}
		m.text.form = fmt.Sprintf("front: {ref: %s, rh: %s%%, time: %s, depth: %smm", ref.Temp, decimal(ref.RH), time, decimal(ref.BeadMM))
		if f.Form == fit.FrontEa {
			front.Ea = number(quantity.MolarEnergy(energy))
			m.text.form += ", ea: " + energy
		}
		m.text.form += "}"
		m.curve.Form = front
	}
	if p := f.Param(fit.Power); !math.IsNaN(p.Value) {
		power := math.Round(1000*p.Value) / 1000
		if power <= 0 || power > 5 {
			return fmt.Errorf("a power of %.3g on the vapour pressure is outside 0.001..5", p.Value)
		}
		m.text.power = decimal(power)
		m.curve.Humidity = &cure.HumidityFactor{Power: power, RefPV: cure.Air{TempC: ref.TempC, RH: usualRH}.Vapour()}
	}
	return errors.Join(faults...)
}

// table writes the rows themselves; of replicates the one on the safe side.
func (m *made) table(c *contents, ref Row) error {
	safe := map[condition]Row{}
	var keys []condition
	for _, r := range c.rows {
		k := c.condition(r)
		old, seen := safe[k]
		if !seen {
			keys = append(keys, k)
		}
		if !seen || (r.Seconds < old.Seconds) == (c.milestone.Line() == cure.NotAfter) {
			safe[k] = r
		}
	}
	var points []cure.TablePoint
	var words []string
	at := cure.Air{TempC: ref.TempC}
	text := "ref: " + ref.Temp
	if c.humid {
		at.RH = ref.RH
		text += ", rh: " + decimal(ref.RH) + "%"
	}
	for _, k := range keys {
		r := safe[k]
		time := exactSpan(r.Seconds)
		seconds, err := spanSeconds(time)
		if err != nil {
			return err
		}
		p, word := cure.TablePoint{TempC: r.TempC, Time: seconds}, r.Temp
		if c.humid {
			p.RH = r.RH
			word += ", " + decimal(r.RH) + "%"
		}
		points, words = append(points, p), append(words, "["+word+", "+time+"]")
	}
	form, err := cure.NewTable(points, at)
	if err != nil {
		return err
	}
	m.curve.Form = form
	m.text.form = fmt.Sprintf("table: {%s, points: [%s]}", text, strings.Join(words, ", "))
	return nil
}

// ranges are those of the rows. A table's own points say them in a class file.
func (m *made) ranges(c *contents, form fit.Form) (err error) {
	lo, hi := c.ends()
	m.text.temps = rangeText(lo, hi)
	if m.curve.Temp, err = quantity.TempRange(m.text.temps); err != nil {
		return err
	}
	if c.humid && c.highRH > c.lowRH {
		m.text.rh = decimal(c.lowRH) + ".." + decimal(c.highRH) + "%"
		m.curve.RH = quantity.Range{Lo: c.lowRH, Hi: c.highRH}
	}
	if form == fit.Table {
		m.text.temps, m.text.rh = "", ""
		m.curve.Temp = quantity.Range{Lo: lo.TempC, Hi: hi.TempC}
	}
	if c.withBead > 0 {
		for _, r := range c.rows {
			m.curve.MaxDepth = math.Max(m.curve.MaxDepth, r.BeadMM)
		}
		m.text.depth = decimal(m.curve.MaxDepth) + "mm"
	}
	return nil
}

// ends are the coldest and the warmest row.
func (c *contents) ends() (lo, hi Row) {
	lo, hi = c.rows[0], c.rows[0]
	for _, r := range c.rows {
		if r.TempC < lo.TempC {
			lo = r
		}
		if r.TempC > hi.TempC {
			hi = r
		}
	}
	return lo, hi
}

// settle takes the chosen fit into the milestone: the curve with its provenance, and
// what warmth and cold may do to its line.
//
//   - Warmth shortens a not-before line up to the warmest row: the rows are the data.
//   - Cold lengthens a not-after line down to the coldest row, if that is 5 °C or more
//     below the reference.
func (m *Milestone) settle(c *contents) error {
	f := m.Best()
	made, err := c.curve(m.Ref, f)
	if err != nil {
		return err
	}
	m.Curve, m.text, m.Moved = made.curve, made.text, made.moved
	m.text.from = c.from(m)
	m.Curve.From = m.text.from
	if m.text.power != "" {
		m.text.powerFrom = fmt.Sprintf("derived: the same rows, %s to %s %% RH", decimal(c.lowRH), decimal(c.highRH))
		m.Curve.Humidity.From = m.text.powerFrom
	}
	lo, hi := c.ends()
	switch {
	case m.Milestone.Line() == cure.NotBefore && hi.TempC > m.Ref.TempC:
		m.text.creditMax = hi.Temp
		m.text.creditFrom = fmt.Sprintf("derived: the same rows, which reach up to %s, are the data of the warm side", spaced(hi.Temp))
		m.Curve.Credit = &cure.Credit{Form: m.Curve.Form, MaxC: hi.TempC, From: m.text.creditFrom}
	case m.Milestone.Line() == cure.NotAfter && lo.TempC <= m.Ref.TempC-coldRows:
		m.text.cold = fmt.Sprintf("derived: the same rows, which reach down to %s, are the data of the cold side", spaced(lo.Temp))
		m.Curve.ColdExtends = m.text.cold
	}
	for i, r := range m.Rows {
		m.Readings = append(m.Readings, Reading{Fitted: f.Fitted[i], Residual: r.Seconds/f.Fitted[i] - 1, Line: math.NaN()})
	}
	return nil
}
