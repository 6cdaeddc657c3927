package solve

import "testing"

// FuzzSolve builds a model from bytes, spoils it here and there with numbers that
// make no sense, and asks that it is refused or answered, and rightly.
func FuzzSolve(f *testing.F) {
	f.Add([]byte(nil))
	f.Add([]byte("a few people, a few tasks, and lags that hold them together"))
	f.Add([]byte{3, 9, 200, 7, 7, 7, 31, 0, 1, 255, 254, 12, 80, 80, 81, 3, 2, 1})
	for seed := range uint64(8) {
		d, b := numbers(seed), make([]byte, 200)
		for i := range b {
			b[i] = byte(d(256))
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d := bytes(data)
		wild := d.oneIn(2)
		m := d.model(small)
		if wild {
			d.spoil(m)
		}
		a, err := Solve(m, Options{Steps: 500})
		if err != nil {
			if !wild {
				t.Fatal(err)
			}
			return
		}
		if a.Schedule == nil {
			return
		}
		if err := m.CheckSchedule(a.Schedule); err != nil {
			t.Fatal(err)
		}
		if a.Ready < a.Bound {
			t.Fatalf("ready %d before the bound %d", a.Ready, a.Bound)
		}
		j := d(len(m.Tasks))
		if at, _ := Latest(m, a.Schedule, []int{j}, a.Ready, nil); at[0] < a.Schedule.Start[j] {
			t.Fatalf("task %d could not start when it does", j)
		}
	})
}

// spoil puts odd numbers into a model.
func (d draw) spoil(m *Model) {
	for range d.from(1, 4) {
		j := d(len(m.Tasks))
		tk, odd := &m.Tasks[j], []int{-1, -40, 0, len(m.Tasks), 1000, Never - 1, Never, 1 << 62}[d(8)]
		switch d(16) {
		case 0:
			tk.Duration = odd
		case 1:
			tk.Crew = odd
		case 2:
			tk.Release = odd
		case 3:
			tk.Deadline = odd
		case 4:
			tk.NotBy = append(tk.NotBy, odd)
		case 5:
			tk.With = odd
		case 6:
			tk.Within = []Window{{odd, 5}, {d(9), odd}}
		case 7:
			tk.Within = []Window{}
		case 8:
			m.People[d(len(m.People))].Work = []Window{{0, 5}, {d(9), odd}}
		case 9:
			m.People[d(len(m.People))].Skills = nil
		case 10:
			m.Ready = odd
		case 11:
			m.Lags = append(m.Lags, Lag{From: odd, To: j, Fn: Plus(d(3))})
		case 12:
			m.Lags = append(m.Lags, Lag{From: d(len(m.Tasks)), To: j, Max: d(2) == 0, FromAt: End(d(256)), Fn: Plus(d.from(-1000, 1000))})
		case 13:
			m.Lags = append(m.Lags, Lag{From: d(len(m.Tasks)), To: j, Max: d(2) == 0, Fn: ladder{odd}})
		case 14:
			m.Lags = append(m.Lags, Lag{From: d(len(m.Tasks)), To: j, Max: d(2) == 0, Fn: Plus(odd * (1 - 2*d(2)))})
		case 15:
			p := &m.People[d(len(m.People))]
			p.Work = []Window{{-d.from(1, 9), d(5)}, {d.from(5, 9), d.from(10, 1000)}}
			p.Spare = []Window{{-d.from(1, 9), d(9)}}
		}
	}
}
