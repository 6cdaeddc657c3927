// Package plangen makes plans at random, for the tests of what shows them: crews of one
// to eight on one to three shifts, one to twelve joints, a day or weeks, nights on which
// the clocks change, long names, tasks of no length and of days. A plan it makes holds
// together (nobody is in two places, a joint is wet before it is tack-free), but it is
// no good plan, and no cure stands behind its times.
package plangen

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date/clock"
	"pgregory.net/rapid"

	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"
)

// Plan makes a plan, found.
func Plan(t *rapid.T) *plan.Plan {
	m := &maker{T: t}
	m.job()
	m.p = &plan.Plan{Job: m.j, Found: true, Proven: m.coin("proven"), Air: m.air()}
	for k := range m.count("joints", 1, 12) {
		m.joint(k)
	}
	for k := range m.count("panels", 0, 6) {
		at := m.task(plan.Task{ID: "refit " + m.name("panel", k), Kind: plan.TaskKind(verify.Access), Ref: "panel"}, m.last, m.minutes("refit", 1, 200), m.count("hands", 1, 2))
		m.last = later(m.last, at.End)
	}
	m.gates()
	slices.SortStableFunc(m.p.Tasks, func(a, b plan.Task) int { return a.Start.Compare(b.Start) })
	slices.SortStableFunc(m.p.Mixes, func(a, b plan.Mix) int { return a.At.Compare(b.At) })
	return m.p
}

type maker struct {
	*rapid.T
	j    *job.Job
	p    *plan.Plan
	last time.Time // everything made so far is done
	busy map[string][]job.Window
	work map[string][]job.Window
}

func (m *maker) count(what string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(m.T, what) }
func (m *maker) coin(what string) bool             { return rapid.Bool().Draw(m.T, what) }
func (m *maker) minutes(what string, lo, hi int) time.Duration {
	return time.Duration(m.count(what, lo, hi)) * time.Minute
}

// name is a name, now and then a long one or one of a single long word.
func (m *maker) name(what string, k int) string {
	switch m.count("name", 0, 5) {
	case 0:
		return fmt.Sprintf("%s %d of the forward pressure bulkhead, upper left hand, with its doubler", what, k)
	case 1:
		return fmt.Sprintf("%s-%d-%s", what, k, strings.Repeat("x", m.count("letters", 1, 40)))
	}
	return fmt.Sprintf("%s %d", what, k)
}

func (m *maker) job() {
	zone := rapid.SampledFrom([]string{"UTC", "Europe/Paris", "Atlantic/Faroe", "America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu"}).Draw(m.T, "zone")
	z, err := time.LoadLocation(zone)
	if err != nil {
		m.Fatal(err)
	}
	day := rapid.SampledFrom([]time.Time{
		time.Date(2027, 3, 26, 0, 0, 0, 0, z), time.Date(2027, 10, 29, 0, 0, 0, 0, z), time.Date(2027, 3, 12, 0, 0, 0, 0, z), time.Date(2027, 12, 30, 0, 0, 0, 0, z),
	}).Draw(m.T, "day")
	m.j = &job.Job{ID: "G-1", Title: "generated", Zone: z, Ready: "fly", File: "job.yaml", Start: day.Add(m.minutes("start", 0, 24*60-1))}
	for k := range m.count("crew", 1, 8) {
		m.j.Crew = append(m.j.Crew, job.Person{Who: m.name("Tech", k+1)})
	}
	all := [7]bool{true, true, true, true, true, true, true}
	week := [7]bool{false, true, true, true, true, true, false}
	m.j.Shifts = rapid.SampledFrom([][]job.Shift{
		{{Days: all, From: clock.New(7, 0, 0, 0), To: clock.New(15, 30, 0, 0), Breaks: [][2]clock.Clock{{clock.New(11, 30, 0, 0), clock.New(12, 0, 0, 0)}}}},
		{{Days: week, From: clock.New(6, 0, 0, 0), To: clock.New(14, 10, 0, 0)}, {Days: all, From: clock.New(22, 0, 0, 0), To: clock.New(6, 0, 0, 0)}},
		{{Days: all, From: clock.New(0, 0, 0, 0), To: clock.New(23, 59, 0, 0)}},
		{{Days: week, From: clock.New(8, 5, 0, 0), To: clock.New(20, 0, 0, 0)}},
	}).Draw(m.T, "shifts")
	m.busy, m.work, m.last = map[string][]job.Window{}, map[string][]job.Window{}, m.j.Start
	for _, c := range m.j.Crew {
		m.work[c.Who] = m.j.WorkWindows(c, m.j.Start.Add(200*24*time.Hour))
	}
}

func (m *maker) air() *cure.History {
	if m.coin("no air") {
		return nil
	}
	return cure.Constant(cure.Air{TempC: float64(m.count("°C", -5, 35)), RH: 50}, m.j.Start, m.j.Start.Add(200*24*time.Hour))
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// task finds the first time from an instant on at which so many of the crew are free for
// so long, and gives them the task.
func (m *maker) task(t plan.Task, from time.Time, takes time.Duration, hands int) plan.Task {
	hands = min(hands, len(m.j.Crew))
	first := m.count("who", 0, len(m.j.Crew)-1)
	for range hands {
		t.Who = append(t.Who, m.j.Crew[first%len(m.j.Crew)].Who)
		first++
	}
	for at := from; ; {
		next := at
		for _, who := range t.Who {
			next = later(next, m.free(who, next, takes))
		}
		if next.Equal(at) {
			t.Start, t.End = at, at.Add(takes)
			break
		}
		at = next
	}
	for _, who := range t.Who {
		m.busy[who] = append(m.busy[who], job.Window{From: t.Start, To: t.End})
	}
	m.p.Tasks = append(m.p.Tasks, t)
	return t
}

// free is the first instant at which one person is on shift and free for so long; no
// task of the generator is longer than a shift.
func (m *maker) free(who string, at time.Time, takes time.Duration) time.Time {
	for _, w := range m.work[who] {
		start := later(w.From, at)
		for moved := true; moved; {
			moved = false
			for _, b := range m.busy[who] {
				if b.From.Before(start.Add(takes)) && b.To.After(start) {
					start, moved = b.To, true
				}
			}
		}
		if !start.Add(takes).After(w.To) {
			return start
		}
	}
	m.Fatalf("%s has no time for %s after %s", who, takes, at)
	return at
}

// joint makes a joint: prepared, sealed in one sitting or two, inspected.
func (m *maker) joint(k int) {
	j := plan.Joint{ID: m.name("joint", k), Class: "polysulfide-b-2", FlyNeeds: cure.Milestone(m.count("needs", int(cure.TackFree), int(cure.FullCure))), ByWitness: m.count("witness", 0, 5) == 0}
	at := m.j.Start
	for i := range m.count("steps", 0, 3) {
		at = m.task(plan.Task{ID: fmt.Sprintf("step %d, %s", i+1, j.ID), Kind: plan.TaskKind(verify.Prepare), Joint: j.ID}, at, m.minutes("step", 1, 90), 1).End
	}
	if m.coin("warm") {
		w := plan.Task{ID: "warm the structure, " + j.ID, Kind: plan.TaskKind(verify.Warm), Joint: j.ID, Start: at, End: at.Add(m.minutes("warming", 10, 300))}
		m.p.Tasks, at = append(m.p.Tasks, w), w.End
	}
	for i := range m.count("sittings", 1, 2) {
		s := m.sitting(&j, i, at)
		j.Sittings, at = append(j.Sittings, s), s.TackFree
		if s.TackFree.IsZero() {
			at = s.To
		}
	}
	last := &j.Sittings[len(j.Sittings)-1]
	last.TackFree = last.To.Add(m.minutes("tack-free", 20, 5000))
	j.CloseFrom = last.TackFree
	j.FlyFrom = j.CloseFrom
	if j.FlyNeeds > cure.TackFree {
		j.FlyFrom = j.CloseFrom.Add(m.minutes("cure", 0, 9000))
	}
	if m.count("heat", 0, 4) == 0 {
		m.task(plan.Task{ID: "set up heat, " + j.ID, Kind: plan.TaskKind(verify.Heat), Joint: j.ID}, last.To, m.minutes("heat", 5, 30), 1)
	}
	in := m.task(plan.Task{ID: "inspect, " + j.ID, Kind: plan.TaskKind(verify.Inspect), Joint: j.ID}, j.CloseFrom, m.minutes("inspect", 1, 20), 1)
	m.last = later(later(m.last, in.End), j.FlyFrom)
	m.p.Joints = append(m.p.Joints, j)
	m.j.Joints = append(m.j.Joints, job.Joint{ID: j.ID})
}

// sitting makes the wet work of a joint: a pot, what is laid from it, the torque.
func (m *maker) sitting(j *plan.Joint, i int, at time.Time) plan.Sitting {
	id := fmt.Sprintf("mix %d", len(m.p.Mixes)+1)
	mix := m.task(plan.Task{ID: "mix polysulfide-b-2 (" + id + ")", Kind: plan.TaskKind(verify.Mix), Joint: j.ID, Mix: id}, at, m.minutes("mixing", 0, 10), 1)
	s := plan.Sitting{First: i, Last: i, From: mix.Start}
	lay := m.task(plan.Task{ID: "lay the fillet, " + j.ID, Kind: plan.TaskKind(verify.Lay), Joint: j.ID, Layer: i, Mix: id}, mix.End, m.minutes("lay", 1, 60), 1)
	s.To = lay.End
	if m.coin("torque") {
		t := m.task(plan.Task{ID: "torque 8 fasteners wet, " + j.ID, Kind: plan.TaskKind(verify.Torque), Joint: j.ID, Layer: i, Mix: id}, lay.End, m.minutes("torque", 1, 90), m.count("hands", 1, 2))
		s.To, j.TorqueTo = t.End, t.End
	}
	if m.coin("tack-free known") {
		s.TackFree = s.To.Add(m.minutes("tack-free", 20, 3000))
	}
	m.p.Mixes = append(m.p.Mixes, plan.Mix{ID: id, Class: j.Class, At: mix.Start, DoneBy: s.To.Add(m.minutes("spare", 0, 40)), Joints: []string{j.ID}})
	return s
}

// gates makes the gates, ready among them, and now and then a wish, met or not.
func (m *maker) gates() {
	for k := range m.count("gates", 0, 5) {
		g := plan.Gate{ID: m.name(rapid.SampledFrom([]string{"close", "refuel", "close up", "чистка"}).Draw(m.T, "gate"), k), From: m.j.Start.Add(m.minutes("gate", 0, int(m.last.Sub(m.j.Start)/time.Minute))), ByWitness: m.coin("by witness")}
		m.p.Gates = append(m.p.Gates, g)
	}
	m.p.Ready = m.last
	m.p.Bound = m.j.Start.Add(m.last.Sub(m.j.Start) / 2)
	m.p.Gates = append(m.p.Gates, plan.Gate{ID: "fly", From: m.p.Ready})
	if m.coin("wish") {
		m.j.ReadyBy = m.j.Start.Add(m.minutes("wish", 1, 30000))
		if m.p.Ready.After(m.j.ReadyBy) {
			m.p.Infeasible = &plan.Infeasible{Because: []string{"Wanted sooner than it can be."}, Earliest: m.p.Ready, Proven: true}
		}
	}
}
