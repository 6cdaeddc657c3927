package show

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cmd/beadline/desk"
)

// doNot is what the person must not do in a cell that is barred.
func doNot(c *desk.Chart) string {
	if len(c.Class.Seals) > 0 {
		return "do not seal"
	}
	return "do not use"
}

// chartAlways are the reasons not to lay anything that hold in every cell.
func chartAlways(c *desk.Chart) []string {
	all := slices.Clone(c.Stops[0][0])
	for _, row := range c.Stops {
		for _, why := range row {
			all = slices.DeleteFunc(all, func(s string) bool { return !slices.Contains(why, s) })
		}
	}
	return all
}

// chartLegend explains the marks and words that stand in the cells.
func chartLegend(c *desk.Chart, ps []panel, u Units) []string {
	said := []string{"Lines not to work past are rounded down, lines to wait for are rounded up."}
	if slices.ContainsFunc(ps, func(p panel) bool { return p.heads[0] == anyRH }) {
		said = append(said, "“"+anyRH+"”: humidity does not enter.")
	}
	if anyCell(ps, func(x chartCell) bool { return x.barred }) {
		said = append(said, barredMark+" ("+doNot(c)+"): this class is laid with "+c.Limits+".")
	}
	said = append(said, dampOrDry(c, u)...)
	if anyCell(ps, func(x chartCell) bool { return x.text == "no answer" }) {
		said = append(said, "“no answer”: outside the range of the curve: "+strings.Join(chartRanges(c), "; ")+".")
	}
	return said
}

func anyCell(ps []panel, is func(chartCell) bool) bool {
	return slices.ContainsFunc(ps, func(p panel) bool {
		return slices.ContainsFunc(p.cells, func(row []chartCell) bool { return slices.ContainsFunc(row, is) })
	})
}

// dampOrDry says at which humidities nothing is to be laid though the temperature
// would do: a column of any humidity cannot show it.
func dampOrDry(c *desk.Chart, u Units) []string {
	var said []string
	for j, rh := range c.RHs {
		var at, could []float64
		for i, row := range c.Stops {
			if !slices.ContainsFunc(row, func(why []string) bool { return why == nil }) {
				continue
			}
			could = append(could, c.TempsC[i])
			if row[j] != nil {
				at = append(at, c.TempsC[i])
			}
		}
		switch {
		case len(at) == 0:
		case len(at) == len(could):
			said = append(said, fmt.Sprintf("At %s %% RH %s at any temperature.", number(rh, 1), doNot(c)))
		default:
			said = append(said, fmt.Sprintf("At %s %% RH %s at %s.", number(rh, 1), doNot(c), tempList(at, u)))
		}
	}
	return said
}

// tempList lists temperatures.
func tempList(cs []float64, u Units) string {
	var said []string
	for _, c := range cs {
		said = append(said, u.degrees(c))
	}
	return strings.Join(said, ", ") + u.unit()
}

// chartRanges lists the ranges of the milestones that have a cell without an answer, those
// with the same range together.
func chartRanges(c *desk.Chart) []string {
	var order []string
	names := map[string][]string{}
	for _, m := range c.Milestones {
		if !slices.ContainsFunc(m.Cells, func(row []desk.Moment) bool {
			return slices.ContainsFunc(row, func(x desk.Moment) bool { return x.Refused != "" })
		}) {
			continue
		}
		if names[m.Range] == nil {
			order = append(order, m.Range)
		}
		names[m.Range] = append(names[m.Range], m.Milestone.String())
	}
	for i, r := range order {
		order[i] = strings.Join(names[r], ", ") + " " + r
	}
	return order
}

// remarksOf says why there is no line in a cell and what stands in for one,
// milestones with the same remark together.
func remarksOf(c *desk.Chart) []string {
	var order []string
	names := map[string][]string{}
	for _, m := range c.Milestones {
		for _, row := range m.Cells {
			for _, x := range row {
				why, name := x.Why, m.Milestone.String()
				switch {
				case why == "" || slices.Contains(names[why], name):
					continue
				case names[why] == nil:
					order = append(order, why)
				}
				names[why] = append(names[why], name)
			}
		}
	}
	for i, why := range order {
		order[i] = strings.Join(names[why], ", ") + ": " + why + "."
	}
	return order
}
