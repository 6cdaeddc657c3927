package catalog

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"beadline/cure"
	"beadline/cure/quantity"
)

// What a class may sensibly claim. The bounds are wide (assumed): they catch a slip
// of unit, not a poor product.
const (
	coldest, hottest   = -80, 250 // °C, for ranges of curves and of laying
	maxOpen            = 90 * 24 * time.Hour
	maxCure            = 365 * 24 * time.Hour
	maxBeadMM, maxHeat = 100, 250
)

// lint checks what a class, read without fault, says against itself and against what
// is possible.
func (r *reader) lint(c *Class) {
	l := linter{r, c}
	l.kind()
	for m, cv := range c.Curves {
		if cv != nil {
			l.curve(cure.Milestone(m), cv)
			l.pot(cure.Milestone(m), cv)
		}
	}
	if d := c.Degree; d != nil && (d.Temp.Lo < coldest || d.Temp.Hi > hottest) {
		l.fail(fmt.Sprintf("degree: the range %s lies outside %dC..%dC", temps(d.Temp), coldest, hottest), "check the unit")
	}
	l.laying()
	l.keeping()
	l.order() // order.go
}

type linter struct {
	r *reader
	c *Class
}

func (l linter) fail(text, remedy string) {
	l.r.fault(Problem{Line: l.c.Line, Col: 1, Text: "class " + l.c.ID + ": " + text, Remedy: remedy})
}

func (l linter) warn(text, remedy string) {
	l.r.warn(l.c.Line, "class "+l.c.ID+": "+text, remedy)
}

// kind checks that the class has what its kind needs.
func (l linter) kind() {
	rule, _ := ruleOf(l.c.Kind)
	for _, m := range rule.needs {
		if l.c.Curves[m] == nil {
			l.fail(fmt.Sprintf("a class of kind %s needs a curve for %s", l.c.Kind, m), "add it under curves")
		}
	}
	if rule.seals && len(l.c.Seals) == 0 {
		l.fail(fmt.Sprintf("a class of kind %s needs the seal types it is for", l.c.Kind), "write seals: [fillet, …]")
	}
	sh := l.c.Shelf
	switch l.c.Kind {
	case OnePartMoisture:
		if cv := l.c.Curves[cure.Cured]; cv != nil && cv.Form.Name() != "front" {
			l.fail("it cures with moisture from the face inward, so its cure must be a front", "write cure: {front: {ref: 25C, rh: 50%, time: 24h, depth: 2mm}, …}")
		}
	case PremixedFrozen:
		if sh == nil || !sh.ThawLife.Known && !sh.OutTime.Known {
			l.fail("premixed and frozen, but nothing says how long it may be out of the freezer", "add thaw-life or out-time to its shelf rules")
		}
	case TwoPart:
		if l.c.Moisture == nil {
			l.warn("nothing is said about dry air", "add moisture: {min-rh: 40%, closed-film: by-witness, from: …}, or take the cure times as holding in any humidity")
		}
	}
}

// curve checks one curve against its own range.
func (l linter) curve(m cure.Milestone, cv *cure.Curve) {
	ref := cv.Form.Reference()
	name := m.String()
	if cv.Temp.Lo < coldest || cv.Temp.Hi > hottest {
		l.fail(fmt.Sprintf("%s: the range %s lies outside %dC..%dC", name, temps(cv.Temp), coldest, hottest), "check the unit")
	}
	if !cv.Temp.Contains(ref.TempC) {
		l.fail(fmt.Sprintf("%s: the reference %s lies outside the range %s", name, celsius(ref.TempC), temps(cv.Temp)), "widen the range or move the reference")
	}
	if _, front := cv.Form.(cure.Front); front && !cv.RH.IsZero() && !cv.RH.Contains(ref.RH) {
		l.fail(fmt.Sprintf("%s: the reference humidity %g%% lies outside the range", name, ref.RH), "widen rh or move the reference")
	}
	longest := maxCure
	if m.Line() == cure.NotAfter {
		longest = maxOpen
	}
	if s := cv.Rated(cure.Bead{}); !(s >= 1) || s > longest.Seconds() {
		l.fail(fmt.Sprintf("%s: %s is no time for it", name, spanText(s)), fmt.Sprintf("it lies between 1 s and %g days", longest.Hours()/24))
	}
	if cv.MaxDepth > maxBeadMM {
		l.fail(fmt.Sprintf("%s: a bead of %g mm is no bead", name, cv.MaxDepth), fmt.Sprintf("at most %d mm", maxBeadMM))
	}
	if cv.ColdExtends != "" && m.Line() != cure.NotAfter {
		l.fail(name+": cold-extends belongs to application and assembly", "leave it out: cold lengthens this time anyway")
	}
	if cv.Credit != nil {
		l.credit(m, cv)
	}
}

// credit checks that a credit starts at the rated time and never promises more than
// the curve itself.
func (l linter) credit(m cure.Milestone, cv *cure.Curve) {
	cr, ref := cv.Credit, cv.Form.Reference()
	if m.Line() != cure.NotBefore {
		l.fail(m.String()+": a credit belongs to tack-free and later", "leave it out: warmth shortens this time anyway")
		return
	}
	rated := cv.Rated(cure.Bead{})
	if got := cr.Form.Seconds(ref.TempC, ref.RH, ref.Vapour(), cure.Bead{}); math.Abs(got/rated-1) > 0.01 {
		l.fail(fmt.Sprintf("%s: the credit gives %s at %s, the curve %s", m, spanText(got), celsius(ref.TempC), spanText(rated)), "give both the same time at the curve's reference")
		return
	}
	if cr.MaxC <= ref.TempC || cr.MaxC > maxHeat {
		l.fail(fmt.Sprintf("%s: a credit up to %s gives nothing at or below the reference %s", m, celsius(cr.MaxC), celsius(ref.TempC)), fmt.Sprintf("write a max above the reference, at most %dC", maxHeat))
		return
	}
	for t := ref.TempC; t <= cr.MaxC; t += 0.5 {
		pv := cure.Air{TempC: t, RH: ref.RH}.Vapour()
		if cr.Form.Seconds(t, ref.RH, pv, cure.Bead{}) < cv.Plain(t, ref.RH, pv, cure.Bead{})*(1-1e-9) {
			l.fail(fmt.Sprintf("%s: at %s the credit is shorter than the curve", m, celsius(t)), "a credit has the shallower slope")
			return
		}
	}
}

// laying checks the conditions of application, heat and the rest of the physics.
func (l linter) laying() {
	c := l.c
	if a := c.Apply.Part; !a.IsZero() {
		if a.Lo < coldest || a.Hi > hottest {
			l.fail(fmt.Sprintf("apply: the part range %s lies outside %dC..%dC", temps(a), coldest, hottest), "check the unit")
		}
		if cv := c.Curves[cure.Application]; cv != nil && (a.Lo > cv.Temp.Hi || a.Hi < cv.Temp.Lo) {
			l.fail(fmt.Sprintf("apply: nothing of the part range %s lies in the range %s of the application curve", temps(a), temps(cv.Temp)), "check one against the other")
		}
	}
	if h := c.Heat; h != nil {
		if h.MaxC > maxHeat {
			l.fail(fmt.Sprintf("heat: %s is too hot", celsius(h.MaxC)), fmt.Sprintf("at most %dC", maxHeat))
		}
		highest, any := -math.MaxFloat64, false
		for m, cv := range c.Curves {
			if cv != nil && cure.Milestone(m).Line() == cure.NotBefore {
				highest, any = max(highest, cv.Temp.Hi), true
			}
		}
		if any && h.MaxC > highest {
			l.warn(fmt.Sprintf("heat: %s lies above the range of every curve of cure: none says what that heat does", celsius(h.MaxC)), fmt.Sprintf("widen a range from data, or lower max to %s", celsius(highest)))
		}
	}
	if c.MaxGapMM > maxBeadMM {
		l.fail(fmt.Sprintf("max-gap: %g mm is no gap", c.MaxGapMM), fmt.Sprintf("at most %d mm", maxBeadMM))
	}
}

func celsius(c float64) string { return short(c) + " °C" }

func temps(r quantity.Range) string {
	if r.Lo <= NoLowerBound {
		return "up to " + celsius(r.Hi)
	}
	return short(r.Lo) + ".." + short(r.Hi) + "C"
}

func short(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}

func spanText(s float64) string {
	if math.IsInf(s, 1) || s > maxCure.Seconds()*100 {
		return "longer than 100 years"
	}
	return quantity.FormatSpan(time.Duration(s * float64(time.Second)))
}
