package fit

import (
	"fmt"
	"math"
	"slices"
)

// grid is the points as a table: the mean log time of each temperature and humidity.
type grid struct {
	temps, rhs []float64
	log        [][]float64 // [temp][rh]
}

// newGrid lays the points on a grid; reason says why that cannot be done.
func newGrid(points []Point) (g grid, reason string) {
	if distinct(points, depth) > 1 {
		return g, "a table has no depth of bead"
	}
	type cell struct{ t, rh float64 }
	sum, count := map[cell]float64{}, map[cell]float64{}
	for _, p := range points {
		c := cell{p.TempC, p.RH}
		sum[c] += math.Log(p.Seconds)
		count[c]++
		g.temps, g.rhs = append(g.temps, p.TempC), append(g.rhs, p.RH)
	}
	slices.Sort(g.temps)
	slices.Sort(g.rhs)
	g.temps, g.rhs = slices.Compact(g.temps), slices.Compact(g.rhs)
	if len(g.temps) < 2 {
		return g, "all rows are at one temperature"
	}
	for _, t := range g.temps {
		var row []float64
		for _, rh := range g.rhs {
			c := cell{t, rh}
			if count[c] == 0 {
				return g, fmt.Sprintf("no row at %.4g C and %.4g %% RH: a table needs every pair", t, rh)
			}
			row = append(row, sum[c]/count[c])
		}
		g.log = append(g.log, row)
	}
	return g, ""
}

// tryTable takes the points as they are: there is nothing to fit, so the points of one
// condition are met at their mean, and the only test is to leave a point out and read
// it between its neighbours.
func tryTable(points []Point) Fit {
	f := Fit{Form: Table, RMS: math.NaN(), Q10: math.NaN(), Q10Err: math.NaN()}
	g, reason := newGrid(points)
	if f.Reason = reason; reason != "" {
		return f
	}
	sum := 0.
	for _, p := range points {
		i, _ := slices.BinarySearch(g.temps, p.TempC)
		j, _ := slices.BinarySearch(g.rhs, p.RH)
		f.Fitted = append(f.Fitted, math.Exp(g.log[i][j]))
		e := math.Log(p.Seconds) - g.log[i][j]
		sum += e * e
		f.LeftOut = append(f.LeftOut, math.Log(p.Seconds)-g.between(i, j))
	}
	f.RMS = math.Expm1(math.Sqrt(sum / float64(len(points))))
	f.Free = len(points) - len(g.temps)*len(g.rhs)
	return f
}

// between reads a cell from its neighbours, colder and warmer, or else drier and
// damper: log t linear in 1/T, or in RH. A corner has none on both sides: NaN, for a
// table says nothing beyond its ends.
func (g grid) between(i, j int) float64 {
	switch {
	case i > 0 && i < len(g.temps)-1:
		x := func(i int) float64 { return 1 / (g.temps[i] + kelvin) }
		return g.log[i-1][j] + (g.log[i+1][j]-g.log[i-1][j])*(x(i)-x(i-1))/(x(i+1)-x(i-1))
	case j > 0 && j < len(g.rhs)-1:
		return g.log[i][j-1] + (g.log[i][j+1]-g.log[i][j-1])*(g.rhs[j]-g.rhs[j-1])/(g.rhs[j+1]-g.rhs[j-1])
	}
	return math.NaN()
}
