package verify

import (
	"testing"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"

	"github.com/stretchr/testify/require"
)

// The rows of the good plan. Each pot is printed as done by its line: the assembly
// line, 4 h at 25 °C, where fasteners sit in it, else the application line, 2 h, and
// 1 h of the gasket's class.
func goodRows() []Row {
	return []Row{
		{Joint: "door", MixBy: mon("08:50"), TorqueTo: mon("09:34"), CloseFrom: mon("22:12"), FlyFrom: tue("10:12"), FlyNeeds: cure.Cured,
			Pots: []PotRow{{"d1", mon("08:50"), mon("12:50")}, {"d2", mon("15:52"), mon("17:52")}}},
		{Joint: "studs", MixBy: mon("13:00"), TorqueTo: mon("17:24"), CloseFrom: mon("20:10"), FlyFrom: mon("20:10"), FlyNeeds: cure.TackFree,
			Pots: []PotRow{{"s1", mon("13:00"), mon("17:00")}, {"s2", mon("13:24"), mon("17:24")}, {"c1", mon("13:48"), mon("15:48")}}},
		{Joint: "plate", MixBy: tue("08:00"), TorqueTo: tue("13:04"), CloseFrom: tue("13:04"), FlyFrom: tue("13:04"), FlyNeeds: cure.TackFree,
			Pots: []PotRow{{"g1", tue("08:00"), tue("09:00")}}},
	}
}

func (t *trial) row(joint string) *Row {
	for i := range t.Rows {
		if t.Rows[i].Joint == joint {
			return &t.Rows[i]
		}
	}
	panic("no row " + joint)
}

func (t *trial) potRow(joint, mix string) *PotRow {
	r := t.row(joint)
	for i := range r.Pots {
		if r.Pots[i].Mix == mix {
			return &r.Pots[i]
		}
	}
	panic("no row of mix " + mix)
}

// printed is a mutation of the good plan with its rows.
func printed(what, rule string, spoil func(*trial)) mutation {
	return mutation{what, rule, func(t *trial) { t.Rows = goodRows(); spoil(t) }}
}

func TestGoodRowsHaveNoFault(t *testing.T) {
	p := good()
	p.Rows = goodRows()
	require.Empty(t, p.Check())
}

var wrongRows = []mutation{
	printed("a joint without a row", "row", func(t *trial) { t.Rows = t.Rows[1:] }),
	printed("no rows although there are some", "row", func(t *trial) { t.Rows = []Row{} }),
	printed("a joint with two rows", "row", func(t *trial) { t.Rows = append(t.Rows, *t.row("plate")) }),
	printed("a row of no joint", "row", func(t *trial) { t.Rows = append(t.Rows, Row{Joint: "hatch"}) }),
	printed("a pot without a row", "row", func(t *trial) { t.row("studs").Pots = t.row("studs").Pots[1:] }),
	printed("a pot of another joint", "row", func(t *trial) { t.row("studs").Pots = append(t.row("studs").Pots, *t.potRow("door", "d1")) }),
	printed("mixing later than planned", "row mix by", func(t *trial) { t.row("door").MixBy = mon("08:51") }),
	printed("mixing earlier than planned", "row mix by", func(t *trial) { t.row("door").MixBy = mon("08:49") }),
	printed("mixing of the second pot", "row mix by", func(t *trial) { t.row("studs").MixBy = mon("13:24") }),
	printed("mixing not printed", "row mix by", func(t *trial) { t.row("plate").MixBy = time.Time{} }),
	printed("last fastener too early", "row torque", func(t *trial) { t.row("door").TorqueTo = mon("09:33") }),
	printed("last fastener too late for its pot", "row torque", func(t *trial) { t.row("door").TorqueTo = mon("12:51") }),
	printed("last late fastener too early", "row torque", func(t *trial) { t.row("plate").TorqueTo = tue("13:03") }),
	printed("last fastener of none", "row torque", func(t *trial) {
		t.drop("torque plate")
		t.Job.Joints[2].Fasteners = nil
	}),
	printed("pot begun later", "pot row start", func(t *trial) { t.potRow("studs", "s2").At = mon("13:25") }),
	printed("pot begun earlier", "pot row start", func(t *trial) { t.potRow("studs", "s1").At = mon("12:59") }),
	printed("pot used beyond its assembly line", "pot row line", func(t *trial) { t.potRow("studs", "s1").DoneBy = mon("17:01") }),
	printed("pot used beyond its application line", "pot row line", func(t *trial) { t.potRow("door", "d2").DoneBy = mon("17:53") }),
	printed("gasket's pot used up to its late torque", "pot row line", func(t *trial) { t.potRow("plate", "g1").DoneBy = tue("13:04") }),
	printed("pot for two layers used beyond its line", "pot row line", func(t *trial) { t.potRow("studs", "c1").DoneBy = mon("15:49") }),
	printed("pot used beyond the known air", "pot row line", func(t *trial) {
		t.Plan.Air = cure.Constant(cure.Air{TempC: 25, RH: 50}, mon("07:00"), tue("16:00"))
		t.Classes["gasket"].Curves[cure.Application] = doubling(30*time.Hour, cure.Minimum)
		t.potRow("plate", "g1").DoneBy = tue("16:01")
	}),
	printed("pot used over the end of the shift", "pot row shift", func(t *trial) {
		t.Classes["gasket"].Curves[cure.Application] = doubling(30*time.Hour, cure.Minimum)
		t.potRow("plate", "g1").DoneBy = tue("19:01")
	}),
	printed("pot done before it is", "pot row done", func(t *trial) { t.potRow("door", "d1").DoneBy = mon("09:33") }),
	printed("pot done before it is laid", "pot row done", func(t *trial) { t.potRow("plate", "g1").DoneBy = tue("08:17") }),
	printed("closed before tack-free", "row close", func(t *trial) { t.row("studs").CloseFrom = mon("20:09") }),
	printed("flown before its cure", "row fly", func(t *trial) { t.row("door").FlyFrom = tue("10:11") }),
	printed("closed before the gasket's fasteners are torqued", "row close", func(t *trial) { t.row("plate").CloseFrom = tue("13:03") }),
	printed("flown before the gasket's fasteners are torqued", "row fly", func(t *trial) { t.row("plate").FlyFrom = tue("13:03") }),
	printed("flown before tack-free", "row fly", func(t *trial) { t.row("studs").FlyFrom = mon("20:09") }),
	printed("flight needs less than a check on the way", "row fly needs", func(t *trial) { t.row("door").FlyNeeds = cure.TackFree }),
	printed("flight needs more than it does", "row fly needs", func(t *trial) { t.row("studs").FlyNeeds = cure.Cured }),
	printed("flight needs what a gate on the way needs", "row fly needs", func(t *trial) {
		t.Job.Gates[0].Needs = append(t.Job.Gates[0].Needs, job.Ref{ID: "plate", Milestone: cure.Cured, Text: "plate cure"})
		t.row("plate").FlyFrom = tue("13:04")
	}),
	printed("flight needs what a panel on the way needs", "row fly needs", func(t *trial) {
		t.Job.Gates[2].Needs = append(t.Job.Gates[2].Needs, job.Ref{Kind: job.RefAccess, ID: "side panel", Text: "side panel"})
		t.Job.Access[2].After[0] = job.Ref{ID: "plate", Milestone: cure.Cured, Text: "plate cure"}
		t.row("plate").FlyFrom = tue("13:04")
	}),
	printed("flight needs what a joint on the way needs", "row fly needs", func(t *trial) {
		t.Job.Gates[2].Needs = append(t.Job.Gates[2].Needs, ref("plate tack-free"))
		t.Job.Joints[2].After[0] = job.Ref{ID: "studs", Milestone: cure.Handling, Text: "studs handling"}
		t.row("studs").FlyFrom = mon("22:10")
	}),
	printed("a witness kept from the row", "row witness", func(t *trial) {
		t.dryPlate()
		t.row("plate").ByWitness = false
	}),
	printed("a witness where all is calculated", "row witness", func(t *trial) { t.row("door").ByWitness = true }),
	printed("a witness kept from the gate", "gate witness", func(t *trial) {
		t.dryPlate()
		t.Job.Gates[0].Needs = append(t.Job.Gates[0].Needs, ref("plate tack-free"))
		t.gate("fly").ByWitness = true
	}),
	printed("a witness kept from a gate behind the gate", "gate witness", func(t *trial) {
		t.dryPlate()
		t.Job.Gates[0].Needs = append(t.Job.Gates[0].Needs, ref("plate tack-free"))
		t.gate("close").ByWitness = true
	}),
	printed("a witness kept from a gate behind a check", "gate witness", func(t *trial) {
		t.dryPlate()
		t.Job.Checks[0].After = append(t.Job.Checks[0].After, ref("plate tack-free"))
	}),
	printed("a witness of a gate where all is calculated", "gate witness", func(t *trial) { t.gate("fly").ByWitness = true }),
}

// What may be printed, although it looks different.
func TestRowsHaveLeeway(t *testing.T) {
	for what, change := range map[string]func(*trial){
		"done by the end of the work": func(t *trial) {
			t.potRow("door", "d1").DoneBy, t.potRow("studs", "c1").DoneBy = mon("09:34"), mon("14:10")
			t.row("studs").TorqueTo = mon("13:48")
		},
		"what is used as it comes says no start": func(t *trial) {
			t.Classes["gasket"].MixByHand = false
			t.drop("mix g1")
			t.row("plate").MixBy, t.potRow("plate", "g1").At = time.Time{}, time.Time{}
		},
		"told by a witness": func(t *trial) { t.dryPlate() },
		"told by a witness, and the gates too": func(t *trial) {
			t.dryPlate()
			t.Job.Checks[0].After = append(t.Job.Checks[0].After, ref("plate tack-free"))
			t.gate("fly").ByWitness = true
		},
		"one pot that is laid and torqued, the earlier line first": func(t *trial) {
			// The fillet's 2 h end at 15:00, before the fasteners' 4 h do.
			t.filletFromTheStuds()
			t.potRow("studs", "s1").DoneBy = mon("15:00")
		},
		"a shift that hands over, for days": func(t *trial) {
			t.Job.Shifts[0].From, t.Job.Shifts[0].To, t.Job.Shifts[0].Breaks = 0, 0, nil
			t.task("clean studs").End = mon("12:30")
			t.Classes["gasket"].Curves[cure.Application] = doubling(80*time.Hour, cure.Minimum)
			t.potRow("plate", "g1").DoneBy = onDay(12, "16:00")
		},
	} {
		t.Run(what, func(t *testing.T) {
			p := good()
			p.Rows = goodRows()
			change(p)
			require.Empty(t, p.Check())
		})
	}
}

func TestPotOfTwoLayersHasTheEarlierLine(t *testing.T) {
	p := good()
	p.Rows = goodRows()
	p.filletFromTheStuds()
	p.potRow("studs", "s1").DoneBy = mon("15:01")
	faults := p.Check()
	require.Equal(t, []Fault{{"pot row line", "studs: mix s1 is printed as done by Mon 8 Mar 15:01:00 WET; it reaches its line at Mon 8 Mar 15:00:00 WET"}}, faults)
}

// filletFromTheStuds makes all of the studs from one pot, s1: fasteners first, then
// fillet and overcoat.
func (t *trial) filletFromTheStuds() {
	for i := range t.Job.Joints[1].Layers {
		t.Job.Joints[1].Layers[i].Mix = "cap"
	}
	t.drop("mix s2")
	t.drop("mix c1")
	for _, n := range []string{"lay s2", "torque s2", "fillet", "overcoat studs"} {
		t.task(n).Mix = "s1"
	}
	r := t.row("studs")
	r.Pots, r.TorqueTo = []PotRow{{"s1", mon("13:00"), mon("15:00")}}, mon("13:48")
}

// dryPlate is air too dry for the plate, so that a witness tells of it.
func (t *trial) dryPlate() {
	t.Classes["gasket"].Moisture.MinRH = 55
	t.line("plate", cure.TackFree).ByWitness = true
	t.line("plate", cure.Cured).ByWitness = true
	t.row("plate").ByWitness = true
}

var wet = job.Layer{Seal: cure.WetInstall, Bead: job.Bead{PerFastenerML: 0.1}, Each: 30 * time.Second, Can: "seal"}

// doorLayers are the films of the door and its overcoat.
func (t *trial) doorLayers(a, b job.Layer) {
	door := &t.Job.Joints[0]
	door.Layers = []job.Layer{a, b, door.Layers[1]}
	t.task("warm again").Layer, t.task("overcoat door").Layer = 2, 2
}

// filmThenWet puts wet fasteners through the door's film, from a pot d3 of their own.
func (t *trial) filmThenWet() {
	t.doorLayers(t.Job.Joints[0].Layers[0], wet)
	m := t.again("mix d1", mon("09:02"))
	m.Mix, m.Who = "d3", []string{"Tech 2"}
	l := t.again("lay door", mon("09:10"))
	l.Mix, l.Layer, l.Units = "d3", 1, 24
	k := t.task("torque door")
	k.Mix, k.Layer = "d3", 1
	t.to("torque door", mon("09:22"))
}

// wetThenFilm lays the door's film over wet fasteners, from a pot d3 of their own that
// is begun at 08:50. They are torqued with the film, from 09:22 to 09:46.
func (t *trial) wetThenFilm() {
	t.doorLayers(wet, t.Job.Joints[0].Layers[0])
	m := t.again("mix d1", mon("08:50"))
	m.Mix, m.Who = "d3", []string{"Tech 2"}
	l := t.again("lay door", mon("08:58"))
	l.Mix, l.Layer, l.Units, l.Who = "d3", 0, 24, []string{"Tech 2"}
	for i, n := range t.names {
		switch n {
		case "mix d1 again":
			t.names[i] = "mix d3"
		case "lay door again":
			t.names[i] = "lay wet"
		}
	}
	t.to("mix d1", mon("09:02"))
	t.to("lay door", mon("09:10"))
	t.task("lay door").Layer = 1
	t.task("torque door").Layer = 1
	t.to("torque door", mon("09:22"))
}

// slowFilm makes a layer of the door of another class, with its own assembly time.
func (t *trial) slowFilm(layer int, assembly time.Duration) {
	t.Job.Joints[0].Layers[layer].Class = "slow"
	t.Classes["slow"].Curves[cure.Assembly] = doubling(assembly, cure.Minimum)
}

// coated puts an overcoat over the plate's fasteners, which are torqued once the
// gasket is tack-free: torque from 10:20, overcoat from 10:24.
func (t *trial) coated() {
	t.Classes["gasket"].Seals = append(t.Classes["gasket"].Seals, cure.Overcoat)
	plate := &t.Job.Joints[2]
	plate.Fasteners.Torque = job.TorqueTackFree
	plate.Layers = append(plate.Layers, job.Layer{Seal: cure.Overcoat, Bead: job.Bead{PerFastenerML: 0.5}, Each: 30 * time.Second, Can: "seal"})
	t.to("torque plate", tue("10:20"))
	t.again("mix g1", tue("10:16")).Mix = "g2"
	t.task("mix g1 again").Who = []string{"Tech 2"}
	l := t.again("lay plate b", tue("10:24"))
	l.Mix, l.Layer, l.Units, l.End = "g2", 1, 4, tue("10:26")
	t.line("plate", cure.TackFree).At = tue("12:26")
	t.line("plate", cure.Cured).At = tue("14:26")
}
