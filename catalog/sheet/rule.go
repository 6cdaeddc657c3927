package sheet

import (
	"math"

	"beadline/cure"
)

// ruleStep is the trade's rule: half the time for each 10 °C (18 °F) of warming (common
// practice).
const ruleStep = 10

// off is the share by which the rule must miss a row before that is told: less is
// rounding of the sheet (own decision).
const off = 0.01

// Rule is the trade's 10 °C rule, started at the reference row, against the others.
type Rule struct {
	Anchor   Row
	Seconds  float64   // at the anchor's condition: of replicates the mean of the log times
	Promises []Promise // the rows it can be held against, in the order of the sheet
}

// Promise is what the rule says of one row.
type Promise struct {
	Row     Row
	Seconds float64 // by the rule
	// Off is rule/measured − 1: above 0 the rule says a longer time than the sheet.
	Off float64
	// Unsafe is set where that is on the unsafe side: more working time than the sheet
	// gives, or an earlier end of cure.
	Unsafe bool
}

// Unsafe lists the promises that the sheet does not keep.
func (r Rule) Unsafe() (bad []Promise) {
	for _, p := range r.Promises {
		if p.Unsafe {
			bad = append(bad, p)
		}
	}
	return bad
}

// rule holds the rows against the rule. It speaks of temperature alone, so only rows in
// the anchor's humidity and depth count; rows at its very condition are its own.
func (c *contents) rule(anchor Row) Rule {
	own := c.condition(anchor)
	sum, n := 0., 0.
	for _, row := range c.rows {
		if c.condition(row) == own {
			sum, n = sum+math.Log(row.Seconds), n+1
		}
	}
	r := Rule{Anchor: anchor, Seconds: math.Exp(sum / n)}
	for _, row := range c.rows {
		k := c.condition(row)
		if k.tempC == own.tempC || k.rh != own.rh || k.bead != own.bead {
			continue
		}
		p := Promise{Row: row, Seconds: r.Seconds * math.Exp2((anchor.TempC-row.TempC)/ruleStep)}
		p.Off = p.Seconds/row.Seconds - 1
		p.Unsafe = p.Off < -off
		if c.milestone.Line() == cure.NotAfter {
			p.Unsafe = p.Off > off
		}
		r.Promises = append(r.Promises, p)
	}
	return r
}
