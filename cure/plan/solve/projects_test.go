package solve

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// network is how a drawn project is made, by the parameters of R. Kolisch, A. Sprecher,
// A. Drexl, "Characterization and generation of a general class of resource-constrained
// project scheduling problems", Management Science 41 (1995), 1693-1703: how many arcs
// there are to a task, which share of the resources a task asks for, and how scarce they
// are, from 0 (no more than the largest request) to 1 (enough for all to start as early
// as they can).
type network struct {
	tasks, resources int
	complexity       float64
	factor, strength float64
	windows          float64 // maximum lags to a task, after Kolisch, Schwindt & Sprecher 1999; 0: none
	slack            float64 // how far a maximum lag is above the minimum between its ends
}

// project draws a project. Of the public sets the durations are 1 to 10 and the requests
// 1 to 10, and a task has three followers at most.
func (w network) project(seed uint64) *Model {
	rng := rand.New(rand.NewPCG(seed, 0x6b736431))
	n := w.tasks + 2
	m := &Model{Ready: n - 1}
	for j := range n {
		t := Task{Name: fmt.Sprint("task ", j)}
		if j > 0 && j < n-1 {
			t.Duration = 1 + rng.IntN(10)
		}
		m.Tasks = append(m.Tasks, t)
	}
	w.requests(m, rng)
	lag := func(i, j int) {
		l := Lag{From: i, To: j, FromAt: AtStart, ToAt: AtStart, Fn: Plus(m.Tasks[i].Duration)}
		if w.windows > 0 && i > 0 && rng.IntN(2) == 0 { // from start to start, above and below the duration
			l.Fn = Plus(rng.IntN(2*m.Tasks[i].Duration + 1))
		}
		m.Lags = append(m.Lags, l)
	}
	for _, a := range w.arcs(rng) {
		lag(a[0], a[1])
	}
	for _, t := range m.Tasks {
		m.Horizon += t.Duration
	}
	m.Horizon *= 2
	if w.windows > 0 {
		w.limits(m, rng)
	}
	w.units(m)
	return m
}

// arcs draws a network without needless arcs between tasks in order of their numbers.
func (w network) arcs(rng *rand.Rand) (out [][2]int) {
	n := w.tasks + 2
	reach := make([][]bool, n) // reach[i][j]: i leads to j
	for i := range reach {
		reach[i] = make([]bool, n)
	}
	ins, outs := make([]int, n), make([]int, n)
	add := func(i, j int) {
		out = append(out, [2]int{i, j})
		ins[j]++
		outs[i]++
		for a := range n {
			if a == i || reach[a][i] {
				for b := range n {
					if b == j || reach[j][b] {
						reach[a][b] = true
					}
				}
			}
		}
	}
	const ends, most = 3, 3 // starts, finishes and followers
	for j := 1; j <= ends; j++ {
		add(0, j)
	}
	for j := ends + 1; j < n-1; j++ {
		for {
			if i := 1 + rng.IntN(j-1); i < n-1-ends && outs[i] < most {
				add(i, j)
				break
			} else if j > n-1-ends && rng.IntN(50) == 0 {
				break
			}
		}
	}
	for i := 1; i < n-1; i++ {
		for try := 0; outs[i] == 0 && i < n-1-ends && try < 50; try++ {
			if j := i + 1 + rng.IntN(n-2-i); ins[j] < most && !reach[i][j] {
				add(i, j)
			}
		}
		if outs[i] == 0 {
			add(i, n-1)
		}
	}
	for try := 0; len(out) < int(w.complexity*float64(n)) && try < 100*n; try++ {
		i := 1 + rng.IntN(n-3)
		j := i + 1 + rng.IntN(n-2-i)
		if j == n-1 || i >= n-1-ends || outs[i] >= most || ins[j] >= most || reach[i][j] || w.needless(reach, out, i, j) {
			continue
		}
		add(i, j)
	}
	return out
}

// needless reports whether an arc would make another one say nothing.
func (w network) needless(reach [][]bool, arcs [][2]int, i, j int) bool {
	return slices.ContainsFunc(arcs, func(a [2]int) bool {
		return (a[0] == i || reach[a[0]][i]) && (a[1] == j || reach[j][a[1]])
	})
}

// requests draws what tasks ask for.
func (w network) requests(m *Model, rng *rand.Rand) {
	type ask struct{ task, resource int }
	var all []ask
	for j := 1; j <= w.tasks; j++ {
		for r := range w.resources {
			all = append(all, ask{j, r})
		}
	}
	rng.Shuffle(len(all), func(a, b int) { all[a], all[b] = all[b], all[a] })
	some := make([]bool, w.tasks+2)
	left := int(w.factor * float64(len(all)))
	var rest []ask
	for _, a := range all { // something for every task first
		if !some[a.task] {
			some[a.task] = true
			m.Tasks[a.task].Uses = append(m.Tasks[a.task].Uses, Use{a.resource, 1 + rng.IntN(10)})
			left--
		} else {
			rest = append(rest, a)
		}
	}
	for _, a := range rest[:max(0, min(left, len(rest)))] {
		m.Tasks[a.task].Uses = append(m.Tasks[a.task].Uses, Use{a.resource, 1 + rng.IntN(10)})
	}
}

// units sets what there is of each resource, between the largest request and the peak of
// the schedule in which all start as early as lags let them.
func (w network) units(m *Model) {
	h, _ := m.propagate()
	for r := range w.resources {
		least, most := 1, 1
		for i := range m.Tasks {
			sum := 0
			for j := range m.Tasks {
				if u := useOf(&m.Tasks[j], r); u > 0 && h.start[j] <= h.start[i] && h.start[i] < h.start[j]+m.Tasks[j].Duration {
					sum += u
				}
			}
			least, most = max(least, useOf(&m.Tasks[i], r)), max(most, sum)
		}
		m.Resources = append(m.Resources, Resource{fmt.Sprint("resource ", r), least + int(w.strength*float64(most-least)+0.5)})
	}
}

func useOf(t *Task, r int) (sum int) {
	for _, u := range t.Uses {
		if u.Resource == r {
			sum += u.Units
		}
	}
	return sum
}

// limits draws maximum lags between tasks of which the one leads to the other.
func (w network) limits(m *Model, rng *rand.Rand) {
	n := &net{m: m}
	n.distances()
	for range int(w.windows * float64(w.tasks)) {
		for range 200 {
			i, j := 1+rng.IntN(w.tasks), 1+rng.IntN(w.tasks)
			if d := n.far[i][j]; d > 0 && d < 40 {
				m.Lags = append(m.Lags, Lag{From: i, To: j, FromAt: AtStart, ToAt: AtStart, Max: true, Fn: Plus(int(float64(d)*(1+w.slack*rng.Float64())) + 1 + rng.IntN(5))})
				break
			}
		}
	}
}

// drawnSet is a set of projects over the published grid of parameters.
func drawnSet(name string) (out []*Model) {
	seed := uint64(0)
	draw := func(w network, each int) {
		for range each {
			seed++
			out = append(out, w.project(seed))
		}
	}
	grid := func(tasks, each int, strengths []float64) {
		for _, c := range []float64{1.5, 1.8, 2.1} {
			for _, f := range []float64{.25, .5, .75, 1} {
				for _, s := range strengths {
					draw(network{tasks: tasks, resources: 4, complexity: c, factor: f, strength: s}, each)
				}
			}
		}
	}
	limited := func(tasks, each int) {
		for _, c := range []float64{1.3, 1.6, 2} {
			for _, f := range []float64{.5, .75, 1} {
				for _, s := range []float64{0, .25, .5} {
					draw(network{tasks: tasks, resources: 5, complexity: c, factor: f, strength: s, windows: .12, slack: 1.5}, each)
				}
			}
		}
	}
	switch name {
	case "30":
		grid(30, 1, []float64{.2, .5, .7, 1})
	case "30-hard":
		for _, c := range []float64{1.5, 1.8, 2.1} {
			draw(network{tasks: 30, resources: 4, complexity: c, factor: 1, strength: .2}, 5)
		}
	case "60":
		grid(60, 1, []float64{.2, .5, .7, 1})
	case "90":
		grid(90, 1, []float64{.2, .5, .7, 1})
	case "120":
		grid(120, 1, []float64{.1, .2, .3, .4, .5})
	case "max-50":
		limited(50, 2)
	case "max-100":
		limited(100, 2)
	}
	return out
}
