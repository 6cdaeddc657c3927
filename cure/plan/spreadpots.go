package plan

import (
	"math"
	"slices"

	"beadline/cure/plan/verify"
)

// holdPots has each pot mixed no sooner than its work is seen to need it: what its work
// waits for and was begun before the mixing holds the mixing up by as much as it is late
// itself. It also notes how long a pot's work takes as planned.
func (n *net) holdPots() {
	holds := make([][]arc, len(n.b.pots))
	for i, p := range n.b.pots {
		mix, work := &n.tasks[p.task], n.potWork(i)
		first := -1
		for _, t := range work {
			mix.whole = math.Max(mix.whole, n.tasks[t].end-mix.start)
			if n.tasks[t].seal >= 0 && (first < 0 || n.tasks[t].start < n.tasks[first].start) {
				first = t
			}
		}
		if first >= 0 {
			lay := &n.tasks[first]
			mix.seal, mix.ahead, mix.lays = lay.seal, lay.start-mix.start, lay.takes
		}
		holds[i] = n.heldUpBy(p.task, work)
	}
	for i, p := range n.b.pots {
		n.tasks[p.task].in = append(n.tasks[p.task].in, holds[i]...)
	}
}

// heldUpBy are the arcs into a pot's work, or into what is done between its mixing and
// that work, from tasks that are begun before the mixing. Where another pot is mixed in
// between, what that one's work waits for counts too.
func (n *net) heldUpBy(mix int, work []int) (holds []arc) {
	seen := map[int]bool{mix: true}
	start := n.tasks[mix].start
	for len(work) > 0 {
		t := work[0]
		work = work[1:]
		if seen[t] {
			continue
		}
		seen[t] = true
		for i, p := range n.b.pots {
			if p.task == t {
				work = append(work, n.potWork(i)...)
			}
		}
		for _, a := range n.tasks[t].in {
			switch {
			case seen[a.from]:
			case n.tasks[a.from].start >= start:
				work = append(work, a.from)
			default:
				a.lead, a.atEnd = math.Max(0, a.planned-start), false
				holds = append(holds, a)
			}
		}
	}
	return holds
}

// potWork are the tasks that a pot serves: lays and wet torques.
func (n *net) potWork(i int) []int {
	p := n.b.pots[i]
	return append(slices.Clone(p.ends), n.lays(p.id)...)
}

// lays are the tasks that lay the sealant of a pot.
func (n *net) lays(pot string) []int {
	var out []int
	for t, task := range n.b.tasks {
		if task.Mix == pot && task.Kind == TaskKind(verify.Lay) {
			out = append(out, t)
		}
	}
	return out
}
