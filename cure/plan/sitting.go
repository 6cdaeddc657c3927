package plan

import (
	"fmt"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// sitting is layers from..to-1, which follow each other while the joint is open
// before people; a layer with after: begins the next.
type sitting struct{ from, to int }

func (n *jointNodes) sittings() []sitting {
	var out []sitting
	for k := range n.j.Layers {
		if k == 0 || n.j.Layers[k].AfterSet {
			out = append(out, sitting{k, k})
		}
		out[len(out)-1].to = k + 1
	}
	return out
}

// holdSlack is how long, beyond the work itself, a structure is kept warm: a break
// and some waiting.
const holdSlack = time.Hour

// hold is how long the structure is kept warm for a sitting at most: mixing, laying
// and torque one after the other, in as many pots as there may be, and some slack.
func (b *built) hold(n *jointNodes, x sitting) time.Duration {
	d := holdSlack
	for k := x.from; k < x.to; k++ {
		most := time.Duration(0)
		for _, parts := range n.parts[k] {
			sum := time.Duration(0)
			for _, p := range parts {
				sum += b.mixing(n.feels[k]) + p.lay + p.torque
			}
			most = max(most, sum)
		}
		d += most
	}
	return d
}

// dried is how much later a milestone of layer k can come because the structure is
// kept warm while it cures: warm, its air may be too dry to earn any cure.
func (b *built) dried(n *jointNodes, k int, m cure.Milestone) int {
	if n.j.Warm == nil || !n.feels[k].dries() {
		return 0
	}
	var d time.Duration
	for _, x := range n.sittings() {
		own := k >= x.from && k < x.to-1
		next := x.from > k && n.j.Layers[x.from].After < m
		if own || next {
			d += b.hold(n, x)
		}
	}
	return ticks(d)
}

// notBefore is the line of a milestone of layer k, later warming counted in.
func (b *built) notBefore(n *jointNodes, k int, m cure.Milestone) (solve.Func, error) {
	fn, err := n.feels[k].notBefore(m)
	if err != nil {
		return nil, err
	}
	if d := b.dried(n, k, m); d > 0 {
		return later{fn, d}, nil
	}
	return fn, nil
}

// sitting lays one sitting out.
func (b *built) sitting(n *jointNodes, x sitting, lastPrep int, prep []int) error {
	j := n.j
	gates, err := b.sittingGates(n, x.from)
	if err != nil {
		return err
	}
	warm := -1
	if j.Warm != nil {
		warm = b.warm(n, x, lastPrep, gates)
	}
	var before []int // ends of the layer before
	for k := x.from; k < x.to; k++ {
		ends, lays, err := b.layer(n, k, before)
		if err != nil {
			return err
		}
		for _, t := range lays {
			if warm >= 0 {
				b.after(warm, t)
			}
			if k > n.torqueLyr {
				for _, late := range n.torque { // nothing is laid over fasteners that are torqued later
					b.after(late, t)
				}
			}
			for _, g := range gates {
				b.lag(g.task, solve.AtEnd, t, solve.AtStart, g.fn, g.what)
				if g.within > 0 {
					b.notLater(g.task, solve.AtEnd, t, later{g.likely, int(g.within / tick)}, fmt.Sprintf("%s: laid within %s of %s", j.ID, words(g.within), g.name))
				}
			}
			if x.from == 0 {
				b.tieToPrep(j, prep, t)
			}
		}
		for _, t := range append(ends, lays...) {
			if warm >= 0 {
				b.notLater(warm, solve.AtStart, t, solve.NewCalls(b.shiftEnd), j.ID+": the structure is kept warm for one shift only")
				b.notLater(warm, solve.AtEnd, t, solve.Plus(ticks(b.hold(n, x))), j.ID+": the structure is not kept warm longer than the work takes")
			}
		}
		before = ends
	}
	return nil
}

// warm adds the warming of the structure for a sitting. Layers that are there
// already are left to reach their milestone first.
func (b *built) warm(n *jointNodes, x sitting, lastPrep int, gates []sittingGate) int {
	id := "warm the structure, " + n.j.ID
	if x.from > 0 {
		id = "warm the structure again, " + n.j.ID
	}
	t := b.add(Task{ID: id, Kind: TaskKind(verify.Warm), Joint: n.j.ID, Layer: x.from}, n.j.Warm.Takes, 0, "")
	b.m.Tasks[t].Within = b.spans
	b.m.Tasks[t].Late = true
	if lastPrep >= 0 && x.from == 0 {
		b.after(lastPrep, t)
	}
	for _, g := range gates {
		b.lag(g.task, solve.AtEnd, t, solve.AtStart, g.fn, g.what)
	}
	return t
}

// later is a function pushed on by a constant.
type later struct {
	fn solve.Func
	by int
}

// At implements solve.Func.
func (l later) At(t int) int {
	v := l.fn.At(t)
	if v >= solve.Never {
		return v
	}
	return v + l.by
}

// Grid is that of the function that is pushed on.
func (l later) Grid() int {
	if g, ok := l.fn.(interface{ Grid() int }); ok {
		return g.Grid()
	}
	return 1
}

type sittingGate struct {
	task   int
	fn     solve.Func
	likely solve.Func // what within counts from
	what   string
	name   string
	within time.Duration
}

// sittingGates are the milestones of all layers before, that a layer with after:
// waits for.
func (b *built) sittingGates(n *jointNodes, from int) ([]sittingGate, error) {
	if from == 0 {
		return nil, nil
	}
	var out []sittingGate
	l := &n.j.Layers[from]
	for k := 0; k < from; k++ {
		fn, err := b.notBefore(n, k, l.After)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: joint %s: %w", b.j.File, l.Line, n.j.ID, err)
		}
		likely, err := n.feels[k].likely(l.After)
		if err != nil {
			return nil, err
		}
		for _, t := range n.finals[k] {
			out = append(out, sittingGate{t, fn, likely, fmt.Sprintf("%s: %s %s", n.j.ID, n.j.Layers[k].Seal, becoming[l.After]), l.After.String(), l.Within})
		}
	}
	return out, nil
}

// tieToPrep holds cleaning and promoter to their windows: dry before sealing, sealed
// before they are spoilt.
func (b *built) tieToPrep(j *job.Joint, prep []int, lay int) {
	for i, p := range j.Prepare {
		b.lag(prep[i], solve.AtEnd, lay, solve.AtStart, solve.Plus(ticks(p.Dry)), dryWords(j, p))
		if p.Within > 0 {
			b.notLater(prep[i], solve.AtEnd, lay, solve.Plus(int(p.Within/tick)), fmt.Sprintf("%s: sealed within %s of %s", j.ID, words(p.Within), prepWords[p.Kind]))
		}
	}
}

var prepWords = map[job.PrepKind]string{job.Clean: "cleaning", job.Promoter: "the adhesion promoter", job.Strip: "stripping", job.Mask: "masking", job.Examine: "the inspection"}

func dryWords(j *job.Joint, p job.Prep) string {
	if p.Dry > 0 {
		return j.ID + ": the adhesion promoter dries"
	}
	return ""
}
