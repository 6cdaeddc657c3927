package plan

import (
	"fmt"

	"beadline/cure/plan/chance"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// Audit plays a plan so many times, each time with everything left to chance, and says
// what a play did that it must not, by the search's own model and calendars: work before
// its planned start or before what it waits for, a person in two places, work begun off
// shift or where it would not fit, a pot mixed too late for its shift.
func (p *Plan) Audit(plays int, seed uint64) ([]string, error) {
	n, err := newNet(p.from)
	if err != nil {
		return nil, err
	}
	w, err := newPlayer(n, AllSpread(plays, seed))
	if err != nil {
		return nil, err
	}
	var wrong []string
	chance.Run(chance.Options{Plays: plays, Seed: seed, Workers: 1, Sources: numSources}, func() func([]*chance.Stream) bool {
		return func(src []*chance.Stream) bool {
			w.play(src)
			wrong = append(wrong, w.audit()...)
			return true
		}
	})
	return wrong, nil
}

func (p *player) audit() (wrong []string) {
	const hair = 1e-3
	m, s := &p.n.b.m, p.n.b.answer.Schedule
	say := func(t int, format string, args ...any) {
		wrong = append(wrong, m.Tasks[t].Name+": "+fmt.Sprintf(format, args...))
	}
	for t := range m.Tasks {
		if p.start[t] > p.n.until {
			continue
		}
		if p.n.b.tasks[t].Kind != "" && p.start[t] < seconds(s.Start[t])-hair {
			say(t, "begun %g s before its time", seconds(s.Start[t])-p.start[t])
		}
		if !m.Tasks[t].Split && p.end[t] < p.start[t]+p.takes[t]-hair {
			say(t, "over too soon")
		}
		if wet := p.n.b.tasks[t].Mix != "" && p.n.b.tasks[t].Kind != TaskKind(verify.Mix); m.Tasks[t].Crew > 0 && !wet {
			for _, who := range s.Who[t] {
				if !onShift(m.People[who].Work, p.start[t], m.Tasks[t]) {
					say(t, "begun at %g s, when %s is not on shift for it", p.start[t], m.People[who].Name)
				}
			}
		}
	}
	for _, l := range m.Lags {
		if plus, ok := l.Fn.(solve.Plus); ok && !l.Max && p.time(l.To, l.ToAt) < p.time(l.From, l.FromAt)+seconds(int(plus))-hair {
			say(l.To, "%s: before %s was over", l.What, m.Tasks[l.From].Name)
		}
	}
	for a := range m.Tasks {
		for b := range a {
			if share(s.Who[a], s.Who[b]) && p.start[a] < p.end[b]-hair && p.start[b] < p.end[a]-hair {
				say(a, "at the same time as %s, by the same hands", m.Tasks[b].Name)
			}
		}
	}
	for _, pot := range p.n.b.pots {
		last := 0
		for _, e := range pot.ends {
			last = max(last, s.End[e])
		}
		from := int((p.start[pot.task] + hair) / tick.Seconds())
		if p.start[pot.task] <= p.n.until && from+last-s.Start[pot.task] > p.n.b.shiftEnd(from) {
			say(pot.task, "mixed so late that its work falls after the shift")
		}
	}
	return wrong
}

// onShift reports whether a task that starts at u, in s, is begun in one of the windows,
// and unless it may pause would end in it as planned.
func onShift(work []solve.Window, u float64, t solve.Task) bool {
	for _, w := range work {
		if u >= seconds(w.From)-1e-3 && u <= seconds(w.To)+1e-3 {
			if t.Split || u+seconds(t.Duration) <= seconds(w.To)+1e-3 {
				return true
			}
		}
	}
	return false
}

func share(a, b []int) bool {
	for _, x := range a {
		for _, y := range b {
			if x == y {
				return true
			}
		}
	}
	return false
}
