package solve

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// answered fails where a question is not answered in a minute.
func answered(t *testing.T, m *Model) (a Answer) {
	t.Helper()
	done := make(chan Answer)
	go func() {
		a, err := Solve(m, Options{})
		assert.NoError(t, err)
		done <- a
	}()
	select {
	case a = <-done:
		return a
	case <-time.After(time.Minute):
		require.Fail(t, "no answer")
	}
	return a
}

// Numbers far outside of the horizon mean what they say.
func TestFarNumbersMeanWhatTheySay(t *testing.T) {
	all := []Window{{0, 40}}
	for _, r := range []struct {
		name  string
		m     rule
		ready int // -1: none
	}{
		{"a shift since before the first tick", rule{people: []Person{person("Ana", []Window{{-5, 9}}, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, 0)}}, 4},
		{"with another who comes later", rule{people: []Person{person("Ana", []Window{{-5, 9}}, "seal"), person("Ben", []Window{{3, 9}}, "seal")}, tasks: []Task{work(2), work(2), work(3), wait(0)}, lags: []Lag{after(0, 3, 0), after(1, 3, 0), after(2, 3, 0)}}, 5},
		{"a shift over before the first tick", rule{people: []Person{person("Ana", []Window{{-9, -5}, {3, 9}}, "seal")}, tasks: []Task{work(2)}}, 5},
		{"a window since before the first tick", rule{tasks: []Task{wait(3).with(func(t *Task) { t.Within = []Window{{-9, 2}, {6, 11}} })}}, 9},
		{"a shift past the horizon", rule{people: []Person{person("Ana", []Window{{0, 3}, {1 << 33, 1<<33 + 9}}, "seal")}, tasks: []Task{work(2), work(2)}}, -1},
		{"a maximum of any time", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, 4), notLater(0, 1, math.MaxInt32)}}, 8},
		{"a maximum of even longer", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, 4), notLater(0, 1, 1<<40)}}, 8},
		{"a minimum of any time before", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, -(1 << 40)), after(1, 0, 3)}}, 2},
		{"a minimum of no time before", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, math.MinInt32), after(1, 0, 3)}}, 2},
		{"a maximum that nothing keeps", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{notLater(0, 1, -(1 << 40))}}, -1},
		{"a minimum that nothing keeps", rule{people: []Person{person("Ana", all, "seal")}, tasks: []Task{work(2), work(2)}, lags: []Lag{after(0, 1, 1<<40)}}, -1},
	} {
		t.Run(r.name, func(t *testing.T) {
			m := r.m.model()
			for _, choices := range []bool{false, true} {
				if choices { // the first schedules are made another way then
					m.Choices = []Choice{{"either", 2}}
					m.Tasks = append(m.Tasks, Task{Name: "extra", Duration: 1, If: []Pick{{0, 1}}})
				}
				a := answered(t, m)
				best, ok := newOracle(m).earliest()
				require.Equal(t, r.ready >= 0, ok)
				if !ok {
					assert.Equal(t, Infeasible, a.Status)
					continue
				}
				assert.Equal(t, r.ready, best)
				assert.Equal(t, Optimal, a.Status)
				assert.Equal(t, r.ready, a.Ready)
				assert.NoError(t, m.CheckSchedule(a.Schedule))
			}
		})
	}
}
