package solve

import (
	"fmt"
	"testing"
)

// threeDays is a job the size of a real one on a grid of minutes: ten joints of six
// steps each, four people on two shifts of a day, cures that slow down at night, work
// that must follow within hours, and one inspector who seals nothing they inspect.
func threeDays() *Model {
	const day, joints = 24 * 60, 10
	m := &Model{Horizon: 8 * day}
	hours := func(from, pause, to int) (out []Window) {
		for d := 0; d < m.Horizon; d += day {
			out = append(out, Window{d + from*60, d + pause*60}, Window{d + pause*60 + 30, d + to*60})
		}
		return out
	}
	m.People = []Person{
		person("Ana", hours(6, 10, 14), "prepare", "seal"),
		person("Ben", hours(6, 10, 14), "prepare", "seal", "inspect"),
		person("Cem", hours(14, 18, 22), "prepare", "seal"),
		person("Dia", hours(14, 18, 22), "prepare", "inspect"),
	}
	cure := NewCalls(func(t int) int { // a minute at night is worth half a minute of day
		for need := 480; need > 0; t++ {
			if h := t / 60 % 24; h >= 6 && h < 20 {
				need--
			}
			need--
		}
		return t
	})
	step := func(name string, j, minutes int, skill string) int {
		crew := 1
		if skill == "" {
			crew = 0
		}
		m.Tasks = append(m.Tasks, Task{Name: fmt.Sprint(name, " ", j), Duration: minutes, Crew: crew, Skill: skill})
		return len(m.Tasks) - 1
	}
	var gates []int
	for j := range joints {
		strip := step("strip", j, 60+15*(j%4), "prepare")
		m.Tasks[strip].Split = true
		clean := step("clean", j, 30, "prepare")
		mix := step("mix", j, 10, "seal")
		lay := step("lay", j, 40+10*(j%3), "seal")
		cured := step("cured", j, 0, "")
		look := step("look", j, 20, "inspect")
		m.Tasks[mix].Late, m.Tasks[lay].With = true, mix+1
		m.Tasks[lay].NotBy, m.Tasks[look].NotBy = []int{look}, []int{lay}
		m.Lags = append(m.Lags, after(strip, clean, 0), after(clean, mix, 0), after(mix, lay, 0), notLater(clean, lay, 240), notLater(mix, lay, 90).ends(AtEnd, AtEnd),
			after(lay, cured, 0).by(cure), after(cured, look, 0))
		if j >= 2 {
			m.Lags = append(m.Lags, after(gates[j-2], mix, 0))
		}
		gates = append(gates, look)
	}
	m.Ready = step("ready", 0, 0, "")
	for _, g := range gates {
		m.Lags = append(m.Lags, after(g, m.Ready, 0))
	}
	return m
}

func TestBenchmarkModelHasASchedule(t *testing.T) {
	m := threeDays()
	a, err := Solve(m, Options{Steps: 20})
	if err != nil || a.Schedule == nil {
		t.Fatal(err, a.Clash)
	}
	if err := m.CheckSchedule(a.Schedule); err != nil {
		t.Fatal(err)
	}
}

func BenchmarkFirstSchedule(b *testing.B) { benchmark(b, Options{Steps: 1}) }

func BenchmarkSolve(b *testing.B) { benchmark(b, Options{}) }

func benchmark(b *testing.B, o Options) {
	for b.Loop() {
		m := threeDays()
		a, err := Solve(m, o)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(a.Ready), "ready/min")
		b.ReportMetric(float64(a.Bound), "bound/min")
		b.ReportMetric(float64(a.Tries), "tries")
	}
}

func BenchmarkBound(b *testing.B) {
	for b.Loop() {
		if _, ok := Bound(threeDays()); !ok {
			b.Fatal("no schedule")
		}
	}
}

func BenchmarkLatest(b *testing.B) {
	m := threeDays()
	a, err := Solve(m, Options{Steps: 20})
	if err != nil || a.Schedule == nil {
		b.Fatal(err, a.Clash)
	}
	for b.Loop() {
		Latest(m, a.Schedule, []int{2}, a.Ready, nil)
	}
}
