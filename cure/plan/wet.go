package plan

import (
	"time"

	"beadline/cure"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// wetWork reads the sittings of a joint off the schedule: when its sealant is wet in
// each, and when all that a sitting laid is tack-free.
func (b *built) wetWork(n *jointNodes) []Sitting {
	var out []Sitting
	for i, x := range n.sittings() {
		w := Sitting{First: x.from, Last: x.to - 1}
		pots := map[string]bool{}
		for t, task := range b.tasks {
			if task.Joint != n.j.ID || task.Layer < x.from || task.Layer >= x.to || !wetKind(task) {
				continue
			}
			pots[task.Mix] = true
			w.begin(b.at(b.answer.Schedule.Start[t]))
			w.To = latest(w.To, b.at(b.answer.Schedule.End[t]))
		}
		for _, p := range b.pots {
			if pots[p.id] {
				w.begin(b.at(b.answer.Schedule.Start[p.task]))
			}
		}
		if i == len(n.sittings())-1 { // the joint's own line, with heat in it
			w.TackFree = b.at(b.answer.Schedule.End[n.node[cure.TackFree]])
		} else {
			w.TackFree = b.tackFree(n, x)
		}
		out = append(out, w)
	}
	return out
}

// wetKind reports whether a task is done on wet sealant. A gasket's torque is not: its
// fasteners sit in no pot.
func wetKind(t Task) bool {
	return t.Kind == TaskKind(verify.Lay) || t.Kind == TaskKind(verify.Torque) && t.Mix != ""
}

func (w *Sitting) begin(t time.Time) {
	if w.From.IsZero() || t.Before(w.From) {
		w.From = t
	}
}

// tackFree is when all that a sitting before the last has laid is tack-free; zero: not
// within the air history, or its class does not say.
func (b *built) tackFree(n *jointNodes, x sitting) (at time.Time) {
	for k := x.from; k < x.to; k++ {
		fn, err := b.notBefore(n, k, cure.TackFree)
		if err != nil {
			return time.Time{}
		}
		for _, e := range n.finals[k] {
			t := fn.At(b.answer.Schedule.End[e])
			if t >= solve.Never {
				return time.Time{}
			}
			at = latest(at, b.at(t))
		}
	}
	return at
}
