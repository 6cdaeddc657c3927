package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"beadline/cure"
	"beadline/cure/fit"
)

// scatter is how far apart two times of one condition may lie and still be taken as
// replicates: twice (own decision). Further apart, one of them is a slip.
const scatter = 2

// refuse says why the rows of a milestone make no curve, in one line with its place;
// "" if nothing stands against one.
func (c *contents) refuse() string {
	some := func(n int) bool { return n > 0 && n < len(c.rows) }
	temps := map[float64]bool{}
	for _, r := range c.rows {
		temps[r.TempC] = true
	}
	all := c.place(c.rows...)
	switch {
	case some(c.withRH):
		return all + fmt.Sprintf("%s: fill rh in for every row, or for none", c.without("a humidity", func(r Row) bool { return r.RH > 0 }))
	case some(c.withBead):
		return all + fmt.Sprintf("%s: fill bead in for every row, or for none", c.without("a bead", func(r Row) bool { return r.BeadMM > 0 }))
	case c.moisture && c.milestone == cure.Cured && c.withBead == 0:
		return all + "it cures from the face inward: give the depth of the bead in each row"
	case c.front && c.withRH == 0:
		return all + "a front runs on the moisture of the air: give rh in each row"
	case !c.front && c.beads > 1:
		return all + "the bead varies, and only a class of --kind one-part-moisture has a curve with a depth from tack-free on: keep the rows of one bead"
	case len(temps) < 2 && len(c.rows) == 1:
		return all + "one row says nothing of other temperatures: add a row at another temperature"
	case len(temps) < 2:
		return all + fmt.Sprintf("all %d rows are at %s: nothing says what another temperature does: add a row at one", len(c.rows), c.rows[0].Temp)
	}
	if text := c.contradiction(); text != "" {
		return text
	}
	if c.humid && !c.front && fit.Confounded(c.points()) {
		return all + "temperature and humidity change together, so their effects cannot be told apart: add a row that changes one of them alone"
	}
	return ""
}

// without names the rows that lack something.
func (c *contents) without(what string, has func(Row) bool) string {
	var lines []int
	for _, r := range c.rows {
		if !has(r) {
			lines = append(lines, r.Line)
		}
	}
	return fmt.Sprintf("no %s on %s", strings.TrimPrefix(what, "a "), lineWords(lines))
}

// place names the file and the lines: "sheet.csv:3-5: cure: ".
func (c *contents) place(rows ...Row) string {
	lines := make([]int, len(rows))
	for i, r := range rows {
		lines[i] = r.Line
	}
	return fmt.Sprintf("%s:%s: %s: ", c.sheet.Name, spans(lines), c.milestone)
}

// spans writes line numbers: 3-5,9.
func spans(lines []int) string {
	lines = slices.Clone(lines)
	slices.Sort(lines)
	var parts []string
	for i := 0; i < len(lines); {
		j := i
		for j+1 < len(lines) && lines[j+1] <= lines[j]+1 {
			j++
		}
		part := fmt.Sprint(lines[i])
		if lines[j] > lines[i] {
			part += fmt.Sprintf("-%d", lines[j])
		}
		parts, i = append(parts, part), j+1
	}
	return strings.Join(parts, ",")
}

func lineWords(lines []int) string {
	if len(lines) == 1 {
		return fmt.Sprintf("line %d", lines[0])
	}
	return "lines " + spans(lines)
}

// contradiction finds rows that cannot both hold: two very different times at one
// condition, or a time that does not fall with warmth (or, where moisture cures, with
// humidity; or, for a front, does not rise with depth).
func (c *contents) contradiction() string {
	all := c.conditions()
	for _, g := range all {
		lo, hi := g.rows[0], g.rows[0]
		for _, r := range g.rows {
			if r.Seconds < lo.Seconds {
				lo = r
			}
			if r.Seconds > hi.Seconds {
				hi = r
			}
		}
		if hi.Seconds > scatter*lo.Seconds*(1+1e-9) {
			return c.place(lo, hi) + fmt.Sprintf("%s and %s at one condition: one of them is a slip (rows up to a factor of %d apart count as replicates)", lo.Time, hi.Time, scatter)
		}
	}
	for _, w := range c.ways() {
		if text := c.against(all, w); text != "" {
			return text
		}
	}
	return ""
}

// group is the rows of one condition, with the mean of their log times.
type group struct {
	condition
	rows []Row
	mean float64
}

// conditions lists the groups in the order of the sheet.
func (c *contents) conditions() (all []*group) {
	at := map[condition]*group{}
	for _, r := range c.rows {
		k := c.condition(r)
		if at[k] == nil {
			at[k] = &group{condition: k}
			all = append(all, at[k])
		}
		at[k].rows = append(at[k].rows, r)
		at[k].mean += math.Log(r.Seconds)
	}
	for _, g := range all {
		g.mean /= float64(len(g.rows))
	}
	return all
}

// way is how a time goes with one quantity while the others stand still.
type way struct {
	of     func(*condition) *float64
	rises  bool
	show   func(Row) string
	should string
}

// ways are those that the rows of the milestone must keep to.
func (c *contents) ways() []way {
	all := []way{{func(k *condition) *float64 { return &k.tempC }, false, func(r Row) string { return r.Temp }, "warmth shortens it"}}
	if c.moisture && c.humid {
		all = append(all, way{func(k *condition) *float64 { return &k.rh }, false, func(r Row) string { return decimal(r.RH) + "%" }, "it cures with moisture, which shortens it"})
	}
	if c.front {
		all = append(all, way{func(k *condition) *float64 { return &k.bead }, true, func(r Row) string { return decimal(r.BeadMM) + "mm" }, "a deeper bead takes longer"})
	}
	return all
}

// against finds two rows whose time goes the wrong way.
func (c *contents) against(all []*group, w way) string {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b *group) int { return cmp.Compare(*w.of(&a.condition), *w.of(&b.condition)) })
	last := map[condition]*group{}
	for _, g := range all {
		rest := g.condition
		*w.of(&rest) = 0
		before := last[rest]
		last[rest] = g
		if before == nil || g.mean > before.mean && w.rises || g.mean < before.mean && !w.rises {
			continue
		}
		does := "does not fall"
		if w.rises {
			does = "does not rise"
		}
		a, b := before.rows[0], g.rows[0]
		return c.place(a, b) + fmt.Sprintf("the time %s from %s at %s to %s at %s: %s, so check the two rows", does, a.Time, w.show(a), b.Time, w.show(b), w.should)
	}
	return ""
}
