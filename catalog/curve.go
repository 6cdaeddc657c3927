package catalog

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"beadline/cure"
	"beadline/cure/quantity"
)

// formKeys are the shapes a curve may have; a curve has exactly one.
var formKeys = []string{"doubling", "arrhenius", "table", "front"}

var curveKeys = append(slices.Clone(formKeys), "range", "rh", "depth", "states", "spread", "humidity", "cold-extends", "credit", "mass")

// curves reads the block of curves of a class, by milestone.
func (r *reader) curves(n ast.Node, what string) (all [cure.NumMilestones]*cure.Curve) {
	var names []string
	for m := range cure.NumMilestones {
		names = append(names, m.String())
	}
	s := r.section(n, what+", curves", nil, names)
	if s == nil {
		return all
	}
	for m := range cure.NumMilestones {
		if s.has(m.String()) {
			all[m] = r.curve(s.fields[m.String()], what+", "+m.String())
		}
	}
	return all
}

// curve reads one curve. A faulty one is reported and nil.
func (r *reader) curve(n ast.Node, what string) *cure.Curve {
	before := r.errors
	s := r.section(n, what, []string{"from"}, curveKeys)
	if s == nil {
		return nil
	}
	form := s.form()
	c := &cure.Curve{
		Form:     form,
		Temp:     value(s, "range", quantity.TempRange),
		RH:       value(s, "rh", humidityRange),
		MaxDepth: value(s, "depth", positive(quantity.Length)),
		States:   value(s, "states", states),
		From:     value(s, "from", phrase(maxFrom)),
	}
	spread := value(s, "spread", spreadRange)
	c.Shorter, c.Longer = max(0, -spread.Lo/100), max(0, spread.Hi/100)
	if form != nil && s.has("humidity") {
		c.Humidity = s.humidity(form)
	}
	if s.has("cold-extends") {
		c.ColdExtends = s.coldExtends()
	}
	if s.has("credit") {
		c.Credit = s.credit()
	}
	if s.has("mass") {
		c.Mass = s.mass()
	}
	s.span(c)
	if r.errors > before {
		return nil
	}
	return c
}

// form reads the one form a section has; nil, reported, if there is none or several.
func (s *section) form() cure.Form {
	var found []string
	for _, k := range formKeys {
		if s.has(k) {
			found = append(found, k)
		}
	}
	if len(found) != 1 {
		text := "no curve is given"
		if len(found) > 1 {
			text = strings.Join(found, " and ") + " are both given"
		}
		s.r.at(s.token, s.what+": "+text, "write exactly one of "+strings.Join(formKeys, ", "))
		return nil
	}
	key, n := found[0], s.fields[found[0]]
	before := s.r.errors
	f := s.formOf(key, n)
	if s.r.errors > before || f == nil {
		return nil
	}
	if err := f.Check(); err != nil {
		s.fail(key, err.Error(), "")
		return nil
	}
	return f
}

func (s *section) formOf(key string, n ast.Node) cure.Form {
	what := s.what + ", " + key
	switch key {
	case "doubling":
		if p := s.r.section(n, what, []string{"ref", "time", "step"}, nil); p != nil {
			return cure.Doubling{RefC: value(p, "ref", quantity.Temp), Time: value(p, "time", seconds), StepC: value(p, "step", quantity.TempStep)}
		}
	case "arrhenius":
		if p := s.r.section(n, what, []string{"ref", "time", "ea"}, nil); p != nil {
			return cure.Arrhenius{RefC: value(p, "ref", quantity.Temp), Time: value(p, "time", seconds), Ea: value(p, "ea", quantity.MolarEnergy)}
		}
	case "front":
		if p := s.r.section(n, what, []string{"ref", "rh", "time", "depth"}, []string{"ea"}); p != nil {
			return cure.Front{
				Ref:     cure.Air{TempC: value(p, "ref", quantity.Temp), RH: value(p, "rh", humidity)},
				Time:    value(p, "time", seconds),
				DepthMM: value(p, "depth", positive(quantity.Length)),
				Ea:      value(p, "ea", quantity.MolarEnergy),
			}
		}
	case "table":
		if p := s.r.section(n, what, []string{"ref", "points"}, []string{"rh"}); p != nil {
			return p.table()
		}
	}
	return nil
}

// table reads the points of a data sheet: [25C, 2h], [25C, 50%, 2h] or
// {temp: 25C, rh: 50%, time: 2h}, all of one shape.
func (p *section) table() cure.Form {
	before := p.r.errors
	ref := cure.Air{TempC: value(p, "ref", quantity.Temp), RH: value(p, "rh", humidity)}
	if p.fields["points"] == nil {
		return nil
	}
	seq, ok := p.fields["points"].(*ast.SequenceNode)
	if !ok {
		p.fail("points", "not a list", "write points: [[15C, 4h], [25C, 2h]]")
		return nil
	}
	var points []cure.TablePoint
	withRH := 0
	for _, n := range seq.Values {
		pt, rh := p.point(n)
		if rh {
			withRH++
		}
		points = append(points, pt)
	}
	switch {
	case p.r.errors > before:
		return nil
	case withRH != 0 && withRH != len(points):
		p.fail("points", "some points give a humidity and some do not", "give it in all or in none")
		return nil
	case (withRH > 0) != p.has("rh"):
		p.fail("points", "the humidity of the reference does not go with the points", "give rh: beside ref: if and only if the points have one")
		return nil
	}
	t, err := cure.NewTable(points, ref)
	if err != nil {
		p.fail("points", err.Error(), "")
		return nil
	}
	return t
}

func (p *section) point(n ast.Node) (pt cure.TablePoint, rh bool) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		if q := p.r.section(n, p.what+", point", []string{"temp", "time"}, []string{"rh"}); q != nil {
			pt = cure.TablePoint{TempC: value(q, "temp", quantity.Temp), RH: value(q, "rh", humidity), Time: value(q, "time", seconds)}
			return pt, q.has("rh")
		}
		return pt, false
	}
	v := seq.Values
	switch len(v) {
	case 2:
		return cure.TablePoint{TempC: scalar(p, "points", v[0], quantity.Temp), Time: scalar(p, "points", v[1], seconds)}, false
	case 3:
		return cure.TablePoint{TempC: scalar(p, "points", v[0], quantity.Temp), RH: scalar(p, "points", v[1], humidity), Time: scalar(p, "points", v[2], seconds)}, true
	}
	p.r.at(start(n), fmt.Sprintf("%s: points: a point of %d values", p.what, len(v)), "write [25C, 2h] or [25C, 50%, 2h]")
	return pt, false
}

// span fills the ranges from a table's points where the file gives none, and asks
// for them where nothing else could.
func (s *section) span(c *cure.Curve) {
	t, isTable := c.Form.(*cure.Table)
	if isTable {
		lo, hi, rlo, rhi := t.Span()
		if !s.has("range") {
			c.Temp = quantity.Range{Lo: lo, Hi: hi}
		}
		if !s.has("rh") && rhi > rlo {
			c.RH = quantity.Range{Lo: rlo, Hi: rhi}
		}
	}
	if !isTable && c.Form != nil && !s.has("range") {
		s.r.at(s.token, s.what+`: the key "range" is missing`, "say between which temperatures the curve holds, such as range: 5..40C")
	}
}

// humidity reads how humidity scales the time: none, a power of the vapour pressure
// ratio, or factors at points. The power's reference is the form's own temperature
// at rh, 50 % unless said.
func (s *section) humidity(form cure.Form) *cure.HumidityFactor {
	if text, ok := plainText(s.fields["humidity"]); ok {
		if text != "none" {
			s.fail("humidity", quoted(text)+" is not known", "write none, {power: 1, from: …} or {points: [[40%, 1.2], [50%, 1]], from: …}")
		}
		return nil
	}
	p := s.r.section(s.fields["humidity"], s.what+", humidity", []string{"from"}, []string{"power", "rh", "points"})
	if p == nil {
		return nil
	}
	h := &cure.HumidityFactor{From: value(p, "from", phrase(maxFrom))}
	switch {
	case p.has("power") == p.has("points"), p.has("points") && p.has("rh"):
		p.fail("power", "either a power (with rh) or points are wanted", "write {power: 1, rh: 50%, from: …} or {points: [[40%, 1.2], [50%, 1]], from: …}")
		return nil
	case p.has("power"):
		if _, front := form.(cure.Front); front {
			p.fail("power", "a front runs on vapour pressure already", "leave humidity out")
		}
		air := form.Reference()
		if p.has("rh") {
			air.RH = value(p, "rh", humidity)
		}
		h.Power, h.RefPV = value(p, "power", between(0, 5)), air.Vapour()
		if h.Power == 0 || h.RefPV == 0 {
			p.fail("power", "the power and the reference humidity must be more than zero", "")
			return nil
		}
	default:
		h.Points = p.humidityPoints()
	}
	return h
}

func (s *section) humidityPoints() []cure.HumidityPoint {
	seq, ok := s.fields["points"].(*ast.SequenceNode)
	if !ok || len(seq.Values) < 2 {
		s.fail("points", "two points or more are wanted", "write points: [[40%, 1.2], [50%, 1]]")
		return nil
	}
	var points []cure.HumidityPoint
	for _, n := range seq.Values {
		pair, ok := n.(*ast.SequenceNode)
		if !ok || len(pair.Values) != 2 {
			s.r.at(start(n), s.what+": points: not a pair", "write [40%, 1.2]: humidity, factor on the time")
			return nil
		}
		p := cure.HumidityPoint{RH: scalar(s, "points", pair.Values[0], humidity), Factor: scalar(s, "points", pair.Values[1], between(0.01, 100))}
		if k := len(points); k > 0 && p.RH <= points[k-1].RH {
			s.r.at(start(n), s.what+": points: the humidities do not rise", "list them from dry to wet, each once")
			return nil
		}
		points = append(points, p)
	}
	return points
}

func (s *section) coldExtends() string {
	if text, ok := plainText(s.fields["cold-extends"]); ok {
		if text != "false" {
			s.fail("cold-extends", "that cold lengthens the time needs its source", "write cold-extends: {from: \"…\"}, or false")
		}
		return ""
	}
	p := s.r.section(s.fields["cold-extends"], s.what+", cold-extends", []string{"from"}, nil)
	if p == nil {
		return ""
	}
	return value(p, "from", phrase(maxFrom))
}

func (s *section) credit() *cure.Credit {
	p := s.r.section(s.fields["credit"], s.what+", credit", []string{"max", "from"}, formKeys)
	if p == nil {
		return nil
	}
	return &cure.Credit{Form: p.form(), MaxC: value(p, "max", quantity.Temp), From: value(p, "from", phrase(maxFrom))}
}

func states(text string) (cure.States, error) {
	for _, st := range []cure.States{cure.Typical, cure.Minimum, cure.Maximum} {
		if text == st.String() {
			return st, nil
		}
	}
	return 0, fmt.Errorf("%s: write minimum, typical or maximum", quoted(text))
}

// spreadRange reads -20..30%: up to 20 % shorter, up to 30 % longer.
func spreadRange(text string) (quantity.Range, error) {
	sp, err := quantity.PercentRange(text)
	switch {
	case err != nil:
		return sp, err
	case sp.Lo > 0 || sp.Hi < 0:
		return sp, fmt.Errorf("%s does not hold 0%%: write the shorter side with a minus, like -20..30%%", quoted(text))
	case sp.Lo <= -100 || sp.Hi > 1000:
		return sp, fmt.Errorf("%s: a time is at most 99%% shorter and 1000%% longer", quoted(text))
	}
	return sp, nil
}

func seconds(text string) (float64, error) {
	d, err := quantity.Span(text)
	if err == nil && d <= 0 {
		return 0, fmt.Errorf("%s: the time must be more than zero", quoted(text))
	}
	return d.Seconds(), err
}

// humidity asks for the percent sign, unlike a flag that is named for it.
func humidity(text string) (float64, error) {
	if !strings.HasSuffix(strings.TrimSpace(text), "%") {
		return 0, fmt.Errorf("%s: write a relative humidity like 45%%", quoted(text))
	}
	return quantity.Humidity(text)
}

func humidityRange(text string) (quantity.Range, error) {
	r, err := quantity.PercentRange(text)
	if err == nil && (r.Lo < 0 || r.Hi > 100 || r.Hi == 0) {
		return quantity.Range{}, fmt.Errorf("%s: a relative humidity lies between 0%% and 100%%", quoted(text))
	}
	return r, err
}

func positive(read func(string) (float64, error)) func(string) (float64, error) {
	return func(text string) (float64, error) {
		v, err := read(text)
		if err == nil && v <= 0 {
			return 0, fmt.Errorf("%s: must be more than zero", quoted(text))
		}
		return v, err
	}
}

// between reads a bare number, for what has no unit.
func between(lo, hi float64) func(string) (float64, error) {
	return func(text string) (float64, error) {
		v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || !number(v) {
			return 0, fmt.Errorf("%s is not a number", quoted(text))
		}
		if v < lo || v > hi {
			return 0, errors.New(quoted(text) + " lies outside " + strconv.FormatFloat(lo, 'g', -1, 64) + "…" + strconv.FormatFloat(hi, 'g', -1, 64))
		}
		return v, nil
	}
}
