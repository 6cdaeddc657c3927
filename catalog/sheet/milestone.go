package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"beadline/cure"
	"beadline/cure/fit"
)

// Milestone is what the rows of one milestone say: the curve that was chosen, the ones
// that were not, and each row against it.
type Milestone struct {
	Milestone cure.Milestone
	Rows      []Row
	Refused   string // why there is no curve, with its place; "": there is one

	Ref    Row       // the row that times are given at: the nearest to 25 °C and 50 % RH
	Tried  []fit.Fit // the forms, the simpler first
	Chosen int       // of Tried
	Why    string    // why that one

	Curve    *cure.Curve // of the class file; nil where Refused
	Readings []Reading   // one for each of Rows
	Rule     Rule
	// Moved is the factor on the fitted time that keeps every row of a stated minimum or
	// maximum on its side of the curve; 1 where nothing was moved.
	Moved float64
	Notes []string // what the rows do not say, and what was assumed

	text curveText
}

// Reading is one row against the curve.
type Reading struct {
	Fitted   float64 // s, of the fit
	Residual float64 // measured/fitted − 1
	// Line is the time to work to, s, as the class answers it at the air of the row; NaN
	// where it has none.
	Line float64
}

// Best is the form that was chosen; nil where the milestone is refused.
func (m *Milestone) Best() *fit.Fit {
	if m.Refused != "" {
		return nil
	}
	return &m.Tried[m.Chosen]
}

// testRoom is the span, in % RH, within which humidities count as one and the same:
// test rooms are kept at 50 ± 5 % (common practice, no source).
const testRoom = 10

// fitMilestone lays a curve through the rows of one milestone.
func (s *Sheet) fitMilestone(m cure.Milestone, rows []Row, o Options) *Milestone {
	r := &Milestone{Milestone: m, Rows: rows, Chosen: -1, Moved: 1}
	c := contents{sheet: s, rows: rows, milestone: m, moisture: o.Kind == oneMoisture && m.Line() == cure.NotBefore}
	c.look()
	if r.Refused = c.refuse(); r.Refused != "" {
		return r
	}
	r.Notes = c.notes()
	r.Ref = c.reference()
	err := r.try(&c)
	if err == nil {
		err = r.settle(&c)
	}
	if err != nil {
		r.Refused = c.place(rows...) + err.Error()
		return r
	}
	r.Rule = c.rule(r.Ref)
	return r
}

// try fits every form that the rows could be, and chooses one. A form whose numbers no
// class may claim is not used either.
func (m *Milestone) try(c *contents) error {
	points := c.points()
	ref := fit.Reference{TempC: m.Ref.TempC, PV: c.air(m.Ref).Vapour(), DepthMM: m.Ref.BeadMM}
	if !c.front { // a power of the vapour pressure is written against 50 % RH
		ref.PV = cure.Air{TempC: m.Ref.TempC, RH: usualRH}.Vapour()
	}
	var reasons []string
	for _, form := range fit.Forms(points, c.front) {
		f, err := fit.Try(form, points, ref)
		if err != nil {
			return err
		}
		if f.Reason == "" {
			if _, err := c.curve(m.Ref, &f); err != nil {
				f.Reason = err.Error()
			}
		}
		m.Tried = append(m.Tried, f)
		reasons = append(reasons, form.String()+": "+f.Reason)
	}
	m.Chosen, m.Why = fit.Choose(m.Tried)
	if m.Chosen < 0 {
		return errors.New("no form fits: " + strings.Join(reasons, "; "))
	}
	return m.believable()
}

// believed is the largest error on left-out rows with which a curve is still one (own
// decision): beyond it a row is a slip, or the forms are not for such rows.
const believed = 0.5

// believable refuses a curve that cannot foretell its own rows, and names the one that
// lies farthest off.
func (m *Milestone) believable() error {
	f := &m.Tried[m.Chosen]
	e, n := f.Error()
	if n == 0 || e <= believed {
		return nil
	}
	worst := 0
	for i, d := range f.LeftOut {
		if !math.IsNaN(d) && math.Abs(d) > math.Abs(f.LeftOut[worst]) || math.IsNaN(f.LeftOut[worst]) {
			worst = i
		}
	}
	return fmt.Errorf("no form foretells a row from the others: the best, %s, is off by %.0f %%: check line %d first, and the rows beside it", f.Form, 100*e, m.Rows[worst].Line)
}

// contents is what the rows of a milestone vary and what not.
type contents struct {
	sheet     *Sheet
	rows      []Row
	milestone cure.Milestone
	moisture  bool // it cures with moisture from the air

	front         bool // a front from the face inward is to be fitted
	humid         bool // humidity varies enough to be an effect
	lowRH, highRH float64
	withRH        int // rows that give a humidity
	withBead      int
	beads         int // different depths
}

// look takes stock of the rows.
func (c *contents) look() {
	c.lowRH, c.highRH = math.Inf(1), math.Inf(-1)
	depths := map[float64]bool{}
	for _, r := range c.rows {
		if r.RH > 0 {
			c.withRH++
			c.lowRH, c.highRH = math.Min(c.lowRH, r.RH), math.Max(c.highRH, r.RH)
		}
		if r.BeadMM > 0 {
			c.withBead++
			depths[r.BeadMM] = true
		}
	}
	c.beads = len(depths)
	c.front = c.moisture && c.withBead > 0 && (c.beads > 1 || c.milestone != cure.TackFree)
	c.humid = c.withRH > 0 && (c.highRH-c.lowRH > testRoom || c.front)
}

// air is the air of a row as the fit sees it.
func (c *contents) air(r Row) cure.Air {
	if !c.humid {
		r.RH = 0
	}
	return r.air()
}

// points are the rows as the fit wants them. Humidities within the tolerance of a test
// room are one.
func (c *contents) points() (points []fit.Point) {
	for _, r := range c.rows {
		p := fit.Point{TempC: r.TempC, Seconds: r.Seconds}
		if c.humid {
			p.RH, p.PV = r.RH, r.air().Vapour()
		}
		if c.front {
			p.DepthMM = r.BeadMM
		}
		points = append(points, p)
	}
	return points
}

// reference is the row nearest to 25 °C; of several the one nearest to 50 % RH, then
// the colder, then the first.
func (c *contents) reference() Row {
	far := func(r Row) float64 {
		return 1e6*math.Abs(r.TempC-25) + 1e2*math.Abs(c.air(r).RH-usualRH) + r.TempC/1e3
	}
	best := c.rows[0]
	for _, r := range c.rows {
		if far(r) < far(best) {
			best = r
		}
	}
	return best
}

// notes say what the rows leave open.
func (c *contents) notes() (notes []string) {
	switch {
	case c.withRH == 0:
		notes = append(notes, "the sheet names no humidity: the class takes none into account here")
	case !c.humid && c.lowRH == c.highRH:
		notes = append(notes, fmt.Sprintf("every row is at %s %% RH: nothing says what other air does, and the class takes no humidity into account here", decimal(c.lowRH)))
	case !c.humid:
		notes = append(notes, fmt.Sprintf("%s to %s %% RH is one humidity within the tolerance of a test room: the class takes none into account here", decimal(c.lowRH), decimal(c.highRH)))
	case c.front && c.lowRH == c.highRH:
		notes = append(notes, fmt.Sprintf("every row is at %s %% RH: that time goes with 1/vapour pressure is taken from the theory of the front, not from these rows", decimal(c.lowRH)))
	}
	if c.front && c.beads == 1 {
		notes = append(notes, "every row has the same bead: that time goes with the square of the depth is taken from the theory of the front, not from these rows")
	}
	if c.replicates() {
		word := "longest"
		if c.milestone.Line() == cure.NotAfter {
			word = "shortest"
		}
		notes = append(notes, "some rows share one condition: each counts in the fits, and a table takes the "+word+" of them")
	}
	return notes
}

func (c *contents) replicates() bool {
	seen := map[condition]bool{}
	for _, r := range c.rows {
		if seen[c.condition(r)] {
			return true
		}
		seen[c.condition(r)] = true
	}
	return false
}

// condition is what replicates share.
type condition struct{ tempC, rh, bead float64 }

func (c *contents) condition(r Row) condition {
	k := condition{tempC: r.TempC}
	if c.humid {
		k.rh = r.RH
	}
	if c.front {
		k.bead = r.BeadMM
	}
	return k
}
