package solve

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// draw gives a number from 0 to n-1. Models are built from draws, so that the same
// builder serves seeded numbers, property tests and fuzzing.
type draw func(n int) int

func (d draw) oneIn(n int) bool { return d(n) == n-1 }

func (d draw) from(lo, hi int) int { return lo + d(hi-lo+1) }

// numbers draws from a seeded generator.
func numbers(seed uint64) draw {
	rng := rand.New(rand.NewPCG(seed, 7))
	return rng.IntN
}

// bytes draws from data, and zeros when it has run out.
func bytes(data []byte) draw {
	return func(n int) int {
		if len(data) == 0 {
			return 0
		}
		v := int(data[0])
		data = data[1:]
		return v % n
	}
}

// ladder is a non-decreasing step function by table; past its end the last rung holds.
type ladder []int

func (s ladder) At(t int) int { return s[max(0, min(t, len(s)-1))] }

// size bounds a drawn model.
type size struct{ people, tasks, horizon, lags int }

var tiny = size{people: 2, tasks: 4, horizon: 12, lags: 5}

// model draws a valid model that uses everything a model can say.
func (d draw) model(z size) *Model {
	m := &Model{Horizon: d.from(z.horizon-4, z.horizon)}
	for p := range d.from(1, z.people) {
		m.People = append(m.People, d.person(p, m.Horizon))
	}
	for j := range d.from(min(3, z.tasks), z.tasks) {
		m.Tasks = append(m.Tasks, d.task(m, j))
	}
	n := len(m.Tasks)
	for range d(z.lags + 1) {
		m.Lags = append(m.Lags, d.lag(n, m.Horizon))
	}
	for range max(0, d(6)-2) {
		a, c := d(n), d(n)
		if a != c && !slices.Contains(m.Tasks[a].NotBy, c) {
			m.Tasks[a].NotBy = append(m.Tasks[a].NotBy, c)
			m.Tasks[c].NotBy = append(m.Tasks[c].NotBy, a)
		}
	}
	m.Ready = n - 1
	if d.oneIn(4) {
		m.Ready = d(n)
	}
	d.resources(m)
	d.choices(m)
	return m
}

// resources draws, for some models, what several tasks use.
func (d draw) resources(m *Model) {
	for r := range max(0, d(5)-2) {
		m.Resources = append(m.Resources, Resource{fmt.Sprint("resource ", r), d.from(1, 3)})
		for j := range m.Tasks {
			if d.oneIn(2) {
				m.Tasks[j].Uses = append(m.Tasks[j].Uses, Use{r, d.from(0, 2)})
			}
		}
	}
}

// choices draws, for some models, what is done one way or another.
func (d draw) choices(m *Model) {
	for c := range max(0, d(5)-2) {
		m.Choices = append(m.Choices, Choice{fmt.Sprint("choice ", c), d.from(1, 3)})
		for j := range m.Tasks {
			if j != m.Ready && d.oneIn(2) {
				m.Tasks[j].If = append(m.Tasks[j].If, Pick{c, d(m.Choices[c].Ways)})
				m.Tasks[j].Cost = d(3)
			}
		}
	}
	for range max(0, d(5)-3) * min(1, len(m.Choices)) {
		var bar []Pick
		for range d.from(1, 2) {
			c := d(len(m.Choices))
			bar = append(bar, Pick{c, d(m.Choices[c].Ways)})
		}
		m.Bars = append(m.Bars, bar)
	}
}

func (d draw) person(p, horizon int) Person {
	q := Person{Name: fmt.Sprint("person ", p)}
	switch d(4) {
	case 0:
		q.Skills = []string{"seal"}
	case 1:
		q.Skills = []string{"inspect"}
	default:
		q.Skills = []string{"seal", "inspect"}
	}
	if d.oneIn(3) {
		q.Work = []Window{{0, horizon}}
		return q
	}
	q.Work = d.windows(horizon)
	return q
}

// windows draws up to four windows, some of them adjacent.
func (d draw) windows(horizon int) []Window {
	var out []Window
	for t := d(3); t < horizon && len(out) < 4; {
		w := Window{t, min(horizon, t+d.from(2, 7))}
		out = append(out, w)
		t = w.To + d(4)
	}
	return out
}

func (d draw) task(m *Model, j int) Task {
	t := Task{Name: fmt.Sprint("task ", j), Duration: d(5), Crew: []int{0, 1, 1, 1, 2}[d(5)], Skill: []string{"seal", "inspect"}[d(2)]}
	able := 0
	for _, p := range m.People {
		for _, s := range p.Skills {
			if s == t.Skill {
				able++
			}
		}
	}
	t.Crew = min(t.Crew, able)
	t.Split, t.Late = d.oneIn(3), d.oneIn(3)
	if d.oneIn(5) {
		t.Within = d.windows(m.Horizon)
	}
	if d.oneIn(5) {
		t.Release = d(m.Horizon / 2)
	}
	if d.oneIn(5) {
		t.Deadline = d.from(m.Horizon/2, m.Horizon+2)
	}
	if j > 0 && d.oneIn(4) {
		t.With = 1 + d(j)
	}
	return t
}

// lag draws mostly lags that run forwards in the task list, and some that do not.
func (d draw) lag(n, horizon int) Lag {
	l := Lag{From: d(n), To: d(n), FromAt: End(d(2)), ToAt: End(d(2)), Max: d.oneIn(3)}
	if l.From == l.To && !d.oneIn(6) {
		l.To = (l.To + 1) % n
	}
	if l.From > l.To && !l.Max && !d.oneIn(6) {
		l.From, l.To = l.To, l.From
	}
	l.What = fmt.Sprintf("lag %d %d", l.From, l.To)
	if d.oneIn(3) {
		l.Fn = d.ladder(horizon)
		return l
	}
	if l.Max {
		l.Fn = Plus(d.from(0, 8))
	} else {
		l.Fn = Plus(d.from(-2, 3))
	}
	return l
}

// ladder draws a non-decreasing function that stays near its argument, and at times
// ends in Never.
func (d draw) ladder(horizon int) ladder {
	out := make(ladder, horizon+1)
	v := d(5) - 2
	for t := range out {
		if d.oneIn(2) {
			v = max(v, t+d(5)-2)
		}
		out[t] = v
	}
	if d.oneIn(5) {
		for t := d(horizon + 1); t <= horizon; t++ {
			out[t] = Never
		}
	}
	return out
}
