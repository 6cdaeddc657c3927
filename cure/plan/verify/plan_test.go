package verify

import (
	"time"
	_ "time/tzdata"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"

	"github.com/rickb777/date/clock"
)

// The plan that keeps every rule: three joints in steady air of 25 °C and 50 % RH,
// worked on two days. All of it is invented; the times of the classes are chosen so
// that every instant below can be followed with a finger.

var faroe = func() *time.Location {
	z, err := time.LoadLocation("Atlantic/Faroe")
	if err != nil {
		panic(err)
	}
	return z
}()

// mon and tue are instants of the two days, 8 and 9 March 2027, from "15:04" or
// "15:04:05".
func mon(s string) time.Time { return onDay(8, s) }
func tue(s string) time.Time { return onDay(9, s) }

func onDay(day int, s string) time.Time {
	t, err := time.Parse("15:04:05", (s + ":00")[:8])
	if err != nil {
		panic(err)
	}
	return time.Date(2027, 3, day, t.Hour(), t.Minute(), t.Second(), 0, faroe)
}

// doubling is a curve whose time halves for each 10 °C above 25 °C.
func doubling(d time.Duration, states cure.States) *cure.Curve {
	return &cure.Curve{Form: cure.Doubling{RefC: 25, Time: d.Seconds(), StepC: 10}, Temp: quantity.Range{Lo: -10, Hi: 50}, States: states}
}

func sealantClass() *cure.Class {
	c := &cure.Class{ID: "sealant", Seals: []cure.Seal{cure.Faying, cure.WetInstall, cure.Fillet, cure.Overcoat}, MixByHand: true,
		Apply: cure.Apply{Part: quantity.Range{Lo: 16, Hi: 32}, RH: quantity.Range{Lo: 40, Hi: 85}},
		Heat:  &cure.Heat{MaxC: 43, After: 30 * time.Minute}}
	c.Curves[cure.Application] = doubling(2*time.Hour, cure.Minimum)
	c.Curves[cure.Assembly] = doubling(4*time.Hour, cure.Minimum)
	c.Curves[cure.TackFree] = doubling(6*time.Hour, cure.Maximum)
	c.Curves[cure.Handling] = doubling(8*time.Hour, cure.Maximum)
	c.Curves[cure.Cured] = doubling(20*time.Hour, cure.Maximum)
	c.Curves[cure.Cured].Credit = &cure.Credit{Form: cure.Doubling{RefC: 25, Time: 20 * 3600, StepC: 20}, MaxC: 43}
	return c
}

func gasketClass() *cure.Class {
	c := &cure.Class{ID: "gasket", Seals: []cure.Seal{cure.FormedGasket}, MixByHand: true,
		Moisture: &cure.Moisture{MinRH: 40, ClosedWitness: true}}
	c.Curves[cure.Application] = doubling(time.Hour, cure.Minimum)
	c.Curves[cure.TackFree] = doubling(2*time.Hour, cure.Maximum)
	c.Curves[cure.Cured] = doubling(4*time.Hour, cure.Maximum)
	return c
}

func ref(m string) job.Ref {
	r := map[string]job.Ref{
		"door tack-free":  {ID: "door", Milestone: cure.TackFree},
		"door cure":       {ID: "door", Milestone: cure.Cured},
		"studs tack-free": {ID: "studs", Milestone: cure.TackFree},
		"plate tack-free": {ID: "plate", Milestone: cure.TackFree},
		"leak check":      {Kind: job.RefCheck, ID: "leak check"},
		"outer fairing":   {Kind: job.RefAccess, ID: "outer fairing"},
		"close":           {Kind: job.RefGate, ID: "close"},
		"covers":          {Kind: job.RefCovers},
	}[m]
	r.Text = m
	return r
}

func hm(s string) clock.Clock { return clock.Clock(onDay(8, s).Sub(onDay(8, "00:00")).Milliseconds()) }

func goodJob() *job.Job {
	every := [7]bool{true, true, true, true, true, true, true}
	return &job.Job{
		ID: "T-1", Zone: faroe, Start: mon("07:00"), ReadyBy: tue("18:00"),
		Mixing: job.Mixing{RoomC: 23, AddsC: 2, Takes: 8 * time.Minute, MaxML: 50, Waste: 0.15, Can: "seal"},
		Crew: []job.Person{
			{Who: "Tech 1", Can: []string{"seal", "torque", "panel"}, Away: []job.Window{{From: tue("15:20"), To: tue("19:00")}}},
			{Who: "Tech 2", Can: []string{"seal", "torque", "panel"}},
			{Who: "Inspector", Can: []string{"inspect", "seal"}},
			{Who: "Trainee", Can: []string{"panel"}},
			{Who: "Second inspector", Can: []string{"inspect"}},
		},
		Shifts: []job.Shift{{Days: every, From: hm("07:00"), To: hm("19:00"), Breaks: [][2]clock.Clock{{hm("12:00"), hm("12:30")}}}},
		Joints: []job.Joint{doorJoint(), studsJoint(), plateJoint()},
		Access: []job.Access{
			{Off: "outer fairing", Takes: 25 * time.Minute, Crew: 2, Can: "panel"},
			{Off: "inner panel", Takes: 20 * time.Minute, Hides: []string{"door", "studs"}, Can: "panel"},
			{Off: "side panel", Takes: 10 * time.Minute, Hides: []string{"plate"}, After: []job.Ref{ref("plate tack-free")}, Can: "panel"},
			{Off: "drip tray", StaysOff: true},
		},
		Covers: []job.Cover{{What: "intake blank", Takes: 2 * time.Minute}, {What: "tank vent plug", Takes: 2 * time.Minute}},
		Checks: []job.Check{{ID: "leak check", After: []job.Ref{ref("door cure")}, Takes: 45 * time.Minute, Can: "inspect", Splittable: true}},
		Gates: []job.Gate{
			{ID: "close", Needs: []job.Ref{ref("door tack-free")}},
			{ID: "refuel", Needs: []job.Ref{ref("door cure"), ref("covers")}},
			{ID: "fly", Needs: []job.Ref{ref("leak check"), ref("outer fairing"), ref("close")}},
		},
		Ready: "fly",
	}
}

func doorJoint() job.Joint {
	return job.Joint{ID: "door", Classes: []string{"sealant", "slow"},
		Layers: []job.Layer{
			{Seal: cure.Faying, Bead: job.Bead{AreaMM2: 60000, ThicknessMM: 0.25}, Spread: 12 * time.Minute, Can: "seal"},
			{Seal: cure.Overcoat, Bead: job.Bead{PerFastenerML: 0.5}, Each: 30 * time.Second, After: cure.TackFree, AfterSet: true, Within: 24 * time.Hour, Can: "seal"},
		},
		Fasteners: &job.Fasteners{Count: 24, Each: time.Minute, Passes: 2, People: 2, Torque: job.TorqueWet, Can: "torque"},
		Prepare: []job.Prep{
			{Kind: job.Strip, Takes: 30 * time.Minute, Can: "seal"},
			{Kind: job.Examine, Takes: 10 * time.Minute, Can: "inspect"},
			{Kind: job.Clean, Takes: 40 * time.Minute, Within: 4 * time.Hour, Can: "seal"},
			{Kind: job.Promoter, Takes: 5 * time.Minute, Dry: 30 * time.Minute, Within: 8 * time.Hour, Can: "seal"},
		},
		Warm:     &job.Warm{ToC: 25, Takes: time.Hour},
		Heat:     &job.Heat{ToC: 40, From: job.HeatAfterTackFree, GasFree: true, SetUp: 15 * time.Minute, Can: "seal"},
		Inspect:  job.Inspect{Takes: 10 * time.Minute, Can: "inspect"},
		HiddenBy: []string{"inner panel"},
	}
}

func studsJoint() job.Joint {
	return job.Joint{ID: "studs", Classes: []string{"sealant"},
		Layers: []job.Layer{
			{Seal: cure.WetInstall, Bead: job.Bead{PerFastenerML: 0.5}, Each: time.Minute, Can: "seal"},
			{Seal: cure.Fillet, Mix: "cap", Bead: job.Bead{LengthMM: 500, LegMM: 6}, Spread: 10 * time.Minute, Can: "seal"},
			{Seal: cure.Overcoat, Mix: "cap", Bead: job.Bead{PerFastenerML: 0.3}, Each: 15 * time.Second, Can: "seal"},
		},
		Fasteners: &job.Fasteners{Count: 16, Each: time.Minute, Passes: 1, People: 1, Torque: job.TorqueWet, Can: "torque"},
		Prepare:   []job.Prep{{Kind: job.Clean, Takes: time.Hour, Can: "seal", Splittable: true}},
		Inspect:   job.Inspect{Takes: 10 * time.Minute, Can: "inspect"},
	}
}

func plateJoint() job.Joint {
	return job.Joint{ID: "plate", Classes: []string{"gasket"},
		Layers:    []job.Layer{{Seal: cure.FormedGasket, Bead: job.Bead{ThicknessMM: 2}, Spread: 20 * time.Minute, Can: "seal"}},
		Fasteners: &job.Fasteners{Count: 4, Each: time.Minute, Passes: 1, People: 1, Torque: job.TorqueCured, Can: "torque"},
		Inspect:   job.Inspect{Takes: 10 * time.Minute, Can: "inspect"},
		After:     []job.Ref{ref("studs tack-free")},
	}
}

// The tasks of the good plan, by a name for each that the mutations use.
func goodTasks() (names []string, tasks []Task) {
	add := func(name string, from, to time.Time, t Task, who ...string) {
		t.Start, t.End, t.Who = from, to, who
		names, tasks = append(names, name), append(tasks, t)
	}
	one, two, insp := "Tech 1", "Tech 2", "Inspector"
	door, studs, plate := "door", "studs", "plate"
	add("strip", mon("07:00"), mon("07:30"), Task{Kind: Prepare, Joint: door, Index: 0}, one)
	add("examine", mon("07:30"), mon("07:40"), Task{Kind: Prepare, Joint: door, Index: 1}, insp)
	add("clean", mon("07:40"), mon("08:20"), Task{Kind: Prepare, Joint: door, Index: 2}, one)
	add("promoter", mon("08:20"), mon("08:25"), Task{Kind: Prepare, Joint: door, Index: 3}, one)
	add("warm", mon("07:50"), mon("08:50"), Task{Kind: Warm, Joint: door, Layer: 0})
	add("mix d1", mon("08:50"), mon("08:58"), Task{Kind: Mix, Mix: "d1"}, one)
	add("lay door", mon("08:58"), mon("09:10"), Task{Kind: Lay, Joint: door, Layer: 0, Mix: "d1", Units: 1}, one)
	add("torque door", mon("09:10"), mon("09:34"), Task{Kind: Torque, Joint: door, Layer: 0, Mix: "d1", Units: 24}, one, two)
	add("warm again", mon("15:00"), mon("16:00"), Task{Kind: Warm, Joint: door, Layer: 1})
	add("mix d2", mon("15:52"), mon("16:00"), Task{Kind: Mix, Mix: "d2"}, one)
	add("overcoat door", mon("16:00"), mon("16:12"), Task{Kind: Lay, Joint: door, Layer: 1, Mix: "d2", Units: 24}, one)
	add("heat", tue("07:00"), tue("07:15"), Task{Kind: Heat, Joint: door}, two)
	add("inspect door", tue("07:15"), tue("07:25"), Task{Kind: Inspect, Joint: door}, insp)

	add("clean studs", mon("11:30"), mon("13:00"), Task{Kind: Prepare, Joint: studs, Index: 0}, two)
	add("mix s1", mon("13:00"), mon("13:08"), Task{Kind: Mix, Mix: "s1"}, two)
	add("lay s1", mon("13:08"), mon("13:16"), Task{Kind: Lay, Joint: studs, Layer: 0, Mix: "s1", Units: 8}, two)
	add("torque s1", mon("13:16"), mon("13:24"), Task{Kind: Torque, Joint: studs, Layer: 0, Mix: "s1", Units: 8}, two)
	add("mix s2", mon("13:24"), mon("13:32"), Task{Kind: Mix, Mix: "s2"}, two)
	add("lay s2", mon("13:32"), mon("13:40"), Task{Kind: Lay, Joint: studs, Layer: 0, Mix: "s2", Units: 8}, two)
	add("torque s2", mon("13:40"), mon("13:48"), Task{Kind: Torque, Joint: studs, Layer: 0, Mix: "s2", Units: 8}, two)
	add("mix c1", mon("13:48"), mon("13:56"), Task{Kind: Mix, Mix: "c1"}, two)
	add("fillet", mon("13:56"), mon("14:06"), Task{Kind: Lay, Joint: studs, Layer: 1, Mix: "c1", Units: 1}, two)
	add("overcoat studs", mon("14:06"), mon("14:10"), Task{Kind: Lay, Joint: studs, Layer: 2, Mix: "c1", Units: 16}, two)
	add("inspect studs", tue("07:25"), tue("07:35"), Task{Kind: Inspect, Joint: studs}, insp)

	add("mix g1", tue("08:00"), tue("08:08"), Task{Kind: Mix, Mix: "g1"}, one)
	add("lay plate a", tue("08:08"), tue("08:18"), Task{Kind: Lay, Joint: plate, Layer: 0, Mix: "g1", Units: 0.5}, one)
	add("lay plate b", tue("08:08"), tue("08:18"), Task{Kind: Lay, Joint: plate, Layer: 0, Mix: "g1", Units: 0.5}, two)
	add("torque plate", tue("13:00"), tue("13:04"), Task{Kind: Torque, Joint: plate, Layer: 0, Units: 4}, one)
	add("inspect plate", tue("13:10"), tue("13:20"), Task{Kind: Inspect, Joint: plate}, insp)

	add("covers", tue("13:04"), tue("13:08"), Task{Kind: Covers}, two)
	add("side panel", tue("13:20"), tue("13:30"), Task{Kind: Access, Ref: "side panel"}, one)
	add("inner panel", tue("13:30"), tue("13:50"), Task{Kind: Access, Ref: "inner panel"}, one)
	add("outer fairing", tue("14:00"), tue("14:25"), Task{Kind: Access, Ref: "outer fairing"}, one, two)
	add("leak check", tue("14:30"), tue("15:15"), Task{Kind: Check, Ref: "leak check"}, insp)
	return names, tasks
}

// trial is the good plan, open to be spoilt.
type trial struct {
	Plan
	names []string
}

func good() *trial {
	slow := sealantClass()
	slow.ID = "slow"
	t := &trial{Plan: Plan{
		Job:     goodJob(),
		Classes: map[string]*cure.Class{"sealant": sealantClass(), "slow": slow, "gasket": gasketClass()},
		Chosen:  map[string]string{"door": "sealant"},
		Air:     cure.Constant(cure.Air{TempC: 25, RH: 50}, mon("07:00"), mon("07:00").AddDate(0, 0, 20)),
		Lines: []Line{
			{Joint: "door", Milestone: cure.TackFree, At: mon("22:12")},
			{Joint: "door", Milestone: cure.Handling, At: tue("00:12")},
			// 20 h from 16:12 would be 12:12. At 07:15, when heat comes on, 4.95 h are
			// left; at 40 °C credit makes 4.95 h/2^(15/20) = 2 h 57 min of them.
			{Joint: "door", Milestone: cure.Cured, At: tue("10:12"), Heated: true},
			{Joint: "studs", Milestone: cure.TackFree, At: mon("20:10")},
			{Joint: "plate", Milestone: cure.TackFree, At: tue("10:18")},
			{Joint: "plate", Milestone: cure.Cured, At: tue("12:18")},
		},
		Gates: []Gate{{ID: "close", At: tue("13:20")}, {ID: "refuel", At: tue("13:20")}, {ID: "fly", At: tue("15:15")}},
		Ready: tue("15:15"),
	}}
	t.names, t.Tasks = goodTasks()
	return t
}

// task finds a task by its name.
func (t *trial) task(name string) *Task {
	for i, n := range t.names {
		if n == name {
			return &t.Tasks[i]
		}
	}
	panic("no task " + name)
}

// move shifts a task in time.
func (t *trial) move(name string, d time.Duration) {
	k := t.task(name)
	k.Start, k.End = k.Start.Add(d), k.End.Add(d)
}

// to puts a task at a new start.
func (t *trial) to(name string, at time.Time) { t.move(name, at.Sub(t.task(name).Start)) }

// drop takes a task out.
func (t *trial) drop(name string) {
	for i, n := range t.names {
		if n == name {
			t.names = append(t.names[:i:i], t.names[i+1:]...)
			t.Tasks = append(t.Tasks[:i:i], t.Tasks[i+1:]...)
			return
		}
	}
	panic("no task " + name)
}

// again adds a copy of a task, at another time.
func (t *trial) again(name string, at time.Time) *Task {
	k := *t.task(name)
	t.names, t.Tasks = append(t.names, name+" again"), append(t.Tasks, k)
	t.to(name+" again", at)
	return &t.Tasks[len(t.Tasks)-1]
}

func (t *trial) gate(id string) *Gate {
	for i := range t.Gates {
		if t.Gates[i].ID == id {
			return &t.Gates[i]
		}
	}
	panic("no gate " + id)
}

func (t *trial) line(joint string, m cure.Milestone) *Line {
	for i := range t.Lines {
		if t.Lines[i].Joint == joint && t.Lines[i].Milestone == m {
			return &t.Lines[i]
		}
	}
	panic("no line")
}

// air puts other steady air in, with or without a margin on it.
func (t *trial) air(tempC, rh, margin float64) {
	a := cure.Air{TempC: tempC, RH: rh}
	h, err := cure.NewHistory([]cure.Piece{{Name: "air", Constant: &a, Forecast: true, Margin: margin}}, mon("07:00"), mon("07:00").AddDate(0, 0, 20))
	if err != nil {
		panic(err)
	}
	t.Plan.Air = h
}
