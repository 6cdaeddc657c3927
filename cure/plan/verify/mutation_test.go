package verify

import (
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"
)

// mutation is one way to spoil the good plan, and the one fault it makes.
type mutation struct {
	what  string
	rule  string
	spoil func(*trial)
}

var mutations = slices.Concat(nothingToCheck, notWhole, wrongHands, wrongPot, wrongOrder, wrongClosing, wrongLines, wrongAir, wrongRows)

var nothingToCheck = []mutation{
	{"no job", "job", func(t *trial) { t.Job = nil }},
	{"no zone", "job", func(t *trial) { t.Job.Zone = nil }},
	{"no air", "air", func(t *trial) { t.Plan.Air = nil }},
	{"air ends too early", "air", func(t *trial) {
		t.Plan.Air = cure.Constant(cure.Air{TempC: 25, RH: 50}, mon("07:00"), tue("15:14"))
	}},
}

var notWhole = []mutation{
	{"a step not prepared", "prepared once", func(t *trial) { t.drop("strip") }},
	{"a step prepared twice", "prepared once", func(t *trial) { t.again("clean studs", mon("09:40")).End = mon("10:40") }},
	{"half a gasket", "laid whole", func(t *trial) { t.drop("lay plate b") }},
	{"fractions that do not add up", "laid whole", func(t *trial) { t.task("lay plate b").Units = 0.4999 }},
	{"one overcoat too few", "laid whole", func(t *trial) { t.task("overcoat studs").Units = 15 }},
	{"a fastener divided", "laid whole", func(t *trial) {
		t.task("overcoat studs").Units = 15.5
		t.again("overcoat studs", mon("14:10")).Units = 0.5
		t.task("overcoat studs again").End = mon("14:10:08")
		t.line("studs", cure.TackFree).At = mon("20:10:08")
	}},
	{"one torque too few", "torqued whole", func(t *trial) { t.task("torque plate").Units = 3; t.task("torque plate").End = tue("13:03") }},
	{"a torque divided", "torqued whole", func(t *trial) {
		t.task("torque plate").Units = 3.5
		k := t.again("torque plate", tue("13:04"))
		k.Units, k.End = 0.5, tue("13:05")
		t.to("covers", tue("13:05"))
	}},
	{"torque on a layer over the fasteners", "torqued whole", func(t *trial) { t.task("torque door").Layer = 1; t.task("torque door").Mix = "d2" }},
	{"torque from a pot the layer is not laid from", "torqued whole", func(t *trial) { t.task("torque s2").Mix = "c1" }},
	{"more torqued from a pot than laid", "torqued whole", func(t *trial) {
		t.task("torque s1").Mix = "s2"
		t.to("torque s1", mon("13:40"))
		t.task("torque s1").Who = []string{"Tech 1"}
	}},
	{"not inspected", "inspected once", func(t *trial) { t.drop("inspect plate") }},
	{"a panel left off", "back on once", func(t *trial) { t.drop("side panel") }},
	{"covers forgotten", "covers once", func(t *trial) { t.drop("covers") }},
	{"check forgotten", "checked once", func(t *trial) { t.drop("leak check") }},
	{"pot not mixed", "mixed once", func(t *trial) { t.drop("mix s1") }},
	{"pot mixed twice", "mixed once", func(t *trial) { t.again("mix c1", mon("13:00")).Who = []string{"Tech 1"} }},
	{"pot mixed for nothing", "mixed once", func(t *trial) { t.again("mix c1", mon("15:00")).Mix = "x9" }},
	{"warmed once for two sittings", "warmed once", func(t *trial) { t.drop("warm again") }},
	{"warmed for no sitting", "warmed once", func(t *trial) {
		t.again("warm again", mon("15:00"))
		t.Job.Joints[0].Layers = append(t.Job.Joints[0].Layers, job.Layer{Seal: cure.Overcoat, Each: 30 * time.Second, Can: "seal"})
		t.again("overcoat door", mon("16:12")).Layer = 2
		t.task("overcoat door again").Mix = "d3"
		t.again("mix d2", mon("16:00")).Mix = "d3"
		t.task("mix d2 again").Who = []string{"Tech 2"}
		t.Lines = nil
		t.task("warm again again").Layer = 2
	}},
	{"heat set up twice", "heated once", func(t *trial) { t.again("heat", tue("07:15")) }},
	{"a joint that is not there", "unknown task", func(t *trial) { k := t.again("warm", mon("15:00")); k.Joint = "hatch" }},
	{"a panel that stays off", "unknown task", func(t *trial) { t.again("side panel", tue("15:00")).Ref = "drip tray" }},
	{"a check that is not there", "unknown task", func(t *trial) { t.again("leak check", tue("14:30")).Ref = "run-up" }},
	{"a kind that is not there", "unknown task", func(t *trial) { t.again("leak check", tue("14:30")).Kind = "polish" }},
	{"a step that is not there", "unknown task", func(t *trial) { t.again("strip", mon("07:00")).Index = 7 }},
	{"a layer that is not there", "unknown task", func(t *trial) { t.again("fillet", mon("13:56")).Layer = -1 }},
	{"no amount of work", "unknown task", func(t *trial) { t.again("fillet", mon("13:56")).Units = math.NaN() }},
	{"a mix without a name", "unknown task", func(t *trial) { t.again("mix d1", mon("13:56")).Mix = "" }},
	{"heat where none is asked for", "unknown task", func(t *trial) { t.again("heat", tue("07:15")).Joint = "studs" }},
	{"warming where none is asked for", "unknown task", func(t *trial) { t.again("warm", mon("07:15")).Joint = "studs" }},
	{"covers where there are none", "unknown task", func(t *trial) { t.Job.Covers = nil; t.Job.Gates[1].Needs = t.Job.Gates[1].Needs[:1] }},
	{"a task that ends before it starts", "unknown task", func(t *trial) { k := t.again("strip", mon("15:00")); k.End = mon("14:00") }},
}

var wrongHands = []mutation{
	{"a task cut short", "hands-on time", func(t *trial) { t.task("strip").End = mon("07:29:59") }},
	{"a task drawn out", "hands-on time", func(t *trial) { t.task("inspect studs").End = tue("07:36") }},
	{"torque by two people needs half the rounds", "hands-on time", func(t *trial) { t.task("torque door").End = mon("09:33") }},
	{"a fillet drawn out", "hands-on time", func(t *trial) {
		t.task("overcoat studs").End = mon("14:12")
		t.line("studs", cure.TackFree).At = mon("20:12")
	}},
	{"a splittable task without its pause", "hands-on time", func(t *trial) { t.task("clean studs").End = mon("12:50") }},
	{"covers in a hurry", "hands-on time", func(t *trial) { t.task("covers").End = tue("13:07") }},
	{"warming cut short", "hands-on time", func(t *trial) { t.task("warm").Start = mon("07:55") }},
	{"mixing cut short", "hands-on time", func(t *trial) { t.task("mix g1").Start = tue("08:02") }},
	{"heat set up in a hurry", "hands-on time", func(t *trial) { t.task("heat").Start = tue("07:02") }},
	{"one person on a job for two", "head count", func(t *trial) { t.task("outer fairing").Who = []string{"Tech 1"} }},
	{"two people on a job for one", "head count", func(t *trial) { t.task("side panel").Who = []string{"Tech 1", "Trainee"} }},
	{"nobody", "head count", func(t *trial) { t.task("covers").Who = nil }},
	{"somebody at the warming", "head count", func(t *trial) { t.task("warm").Who = []string{"Tech 2"} }},
	{"somebody unknown", "crew", func(t *trial) { t.task("covers").Who = []string{"Nobody"} }},
	{"somebody twice", "crew", func(t *trial) { t.task("outer fairing").Who = []string{"Tech 1", "Tech 1"} }},
	{"a trainee sealing", "skill", func(t *trial) { t.task("fillet").Who = []string{"Trainee"} }},
	{"a trainee torquing", "skill", func(t *trial) { t.task("torque s1").Who = []string{"Trainee"} }},
	{"a technician inspecting", "skill", func(t *trial) { t.task("leak check").Who = []string{"Tech 2"} }},
	{"two places", "two places", func(t *trial) { t.task("lay plate b").Who = []string{"Tech 1"} }},
	{"over the break", "shift", func(t *trial) { t.to("torque plate", tue("12:28")) }},
	{"at night", "shift", func(t *trial) { t.to("inspect studs", mon("20:10")) }},
	{"while away", "shift", func(t *trial) {
		t.to("side panel", tue("15:11"))
		t.Job.Access[1].After = []job.Ref{}
		t.Job.Access[0].After = []job.Ref{}
		t.Ready = tue("15:21")
	}},
	{"the worker inspects", "independence", func(t *trial) {
		t.Job.Crew[1].Can = append(t.Job.Crew[1].Can, "inspect")
		t.task("inspect studs").Who = []string{"Tech 2"}
	}},
	{"the mixer inspects", "independence", func(t *trial) { t.task("mix g1").Who = []string{"Inspector"} }},
	{"who set up the heat inspects", "independence", func(t *trial) {
		t.task("heat").Who = []string{"Inspector"}
		t.task("inspect door").Who = []string{"Second inspector"}
	}},
	{"before the job starts", "before start", func(t *trial) {
		t.Plan.Air = cure.Constant(cure.Air{TempC: 25, RH: 50}, mon("06:00"), mon("07:00").AddDate(0, 0, 20))
		t.Job.Shifts[0].From = hm("06:30")
		t.to("strip", mon("06:59"))
	}},
}

var wrongPot = []mutation{
	{"a class that is not meant for the seal", "class", func(t *trial) { t.Classes["sealant"].Seals = []cure.Seal{cure.Faying, cure.WetInstall, cure.Overcoat} }},
	{"a class nobody allowed", "class", func(t *trial) { t.Chosen["studs"] = "slow" }},
	{"no class chosen", "class", func(t *trial) { delete(t.Classes, "gasket") }},
	{"a gap too wide for the class", "class", func(t *trial) { t.Classes["sealant"].MaxGapMM = 0.2 }},
	{"one pot, two classes", "pot of one class", func(t *trial) { t.Job.Joints[1].Layers[2].Class = "slow" }},
	{"one pot for layers that do not share one", "pot shared", func(t *trial) { t.Job.Joints[1].Layers[2].Mix = "" }},
	{"two pots for layers that share one", "pot shared", func(t *trial) {
		t.task("overcoat studs").Mix = "c2"
		k := t.again("mix c1", mon("13:48"))
		k.Mix, k.Who = "c2", []string{"Tech 1"}
	}},
	{"a pot too big to mix", "pot size", func(t *trial) { t.Job.Mixing.MaxML = 17 }},
	{"a pot heavier than its pot life is given for", "pot mass", func(t *trial) {
		t.Classes["sealant"].Density = 1.5 // 17 ml
		t.Classes["sealant"].Curves[cure.Application].Mass = &cure.MassFactor{RefG: 25.5, MaxG: 25.5}
	}},
	{"a heavy pot that lasts less", "application line", func(t *trial) {
		t.Classes["sealant"].Density = 1.5
		t.Classes["sealant"].Curves[cure.Application].Mass = &cure.MassFactor{RefG: 5, Power: 3, MaxG: 500}
	}},
	{"a faying face from two pots", "one pot", func(t *trial) {
		t.task("lay door").Units = 0.5
		t.task("lay door").End = mon("09:04")
		k := t.again("lay door", mon("08:58"))
		k.Mix, k.Who = "d1b", []string{"Tech 2"}
		m := t.again("mix d1", mon("08:50"))
		m.Mix, m.Who = "d1b", []string{"Tech 2"}
	}},
	{"laid after the application line", "application line", func(t *trial) {
		// 2 h from 13:48 at 25 °C is 15:48.
		t.to("overcoat studs", mon("15:45"))
		t.line("studs", cure.TackFree).At = mon("21:49")
	}},
	{"a pot in a warm room", "application line", func(t *trial) {
		// At 35 °C the pot lasts half as long: 60 min from 08:00 instead of 2 h; the
		// gasket's hour becomes 30 min and would be enough.
		t.Job.Mixing.RoomC = 37
		t.to("overcoat studs", mon("14:41"))
		t.line("studs", cure.TackFree).At = mon("20:45")
	}},
	{"torqued after the assembly line", "assembly line", func(t *trial) {
		// 4 h from 08:50 is 12:50, in the afternoon; the film is tack-free later too.
		t.to("torque door", mon("12:30"))
		t.to("clean studs", mon("10:00"))
		t.task("clean studs").End = mon("11:00")
		t.to("warm again", mon("17:30"))
		t.to("mix d2", mon("18:36"))
		t.to("overcoat door", mon("18:54"))
		t.task("overcoat door").Start, t.task("overcoat door").End = mon("18:54"), mon("19:06")
		t.Job.Shifts[0].To = hm("20:00")
		t.Lines, t.task("leak check").Start = t.Lines[3:], t.task("leak check").Start
	}},
	{"the film's own pot, under fasteners of another", "film line", func(t *trial) {
		// The film's class gives 50 min from 08:50; the last fastener is in at 09:46.
		t.filmThenWet()
		t.slowFilm(0, 50*time.Minute)
	}},
	{"the fasteners' own pot, under a film of another", "film line", func(t *trial) {
		// The fasteners' class gives 50 min from 08:50; the last one is in at 09:46.
		t.wetThenFilm()
		t.slowFilm(0, 50*time.Minute)
	}},
	{"one of the fasteners' two pots, under a film of another", "film line", func(t *trial) {
		t.wetThenFilm()
		t.task("lay wet").Units, t.task("lay wet").End = 12, mon("09:04")
		l := t.again("lay wet", mon("09:04"))
		l.Mix = "d4"
		m := t.again("mix d3", mon("08:56")) // 50 min from then is 09:46
		m.Mix, m.Who = "d4", []string{"Inspector"}
		t.task("examine").Who, t.task("inspect door").Who = []string{"Second inspector"}, []string{"Second inspector"}
		t.slowFilm(0, 50*time.Minute)
	}},
	{"assembly falls back to application", "assembly line", func(t *trial) {
		t.Classes["sealant"].Curves[cure.Assembly] = nil
		t.Job.Joints[0].Fasteners.Each = 5 * time.Minute
		t.task("torque door").End = mon("11:10")
		t.to("warm again", mon("16:40"))
		t.to("mix d2", mon("17:32"))
		t.to("overcoat door", mon("17:40"))
		t.Lines = t.Lines[3:]
	}},
	{"a pot over the end of the shift", "mix in shift", func(t *trial) {
		t.to("outer fairing", tue("14:08"))
		t.Job.Shifts[0].To = hm("14:07")
		t.Job.Shifts = append(t.Job.Shifts, job.Shift{Days: t.Job.Shifts[0].Days, From: hm("14:08"), To: hm("19:00")})
		t.to("overcoat studs", mon("14:08"))
		t.line("studs", cure.TackFree).At = mon("20:12")
	}},
}

var wrongOrder = []mutation{
	{"cleaned before it is stripped", "prepare order", func(t *trial) {
		t.to("examine", mon("07:35")) // ends at 07:45, in the cleaning
	}},
	{"laid before it is prepared", "prepared before laid", func(t *trial) {
		t.to("clean studs", mon("12:40"))
		t.task("clean studs").End = mon("13:40")
		t.task("clean studs").Who = []string{"Tech 1"}
	}},
	{"promoter still wet", "promoter dry", func(t *trial) { t.Job.Joints[0].Prepare[3].Dry = 34 * time.Minute }},
	{"cleaned too long ago", "seal within", func(t *trial) { t.Job.Joints[0].Prepare[2].Within = 49 * time.Minute }},
	{"promoter too long ago", "seal within", func(t *trial) { t.Job.Joints[0].Prepare[3].Within = 44 * time.Minute }},
	{"wet work before what it waits for", "joint after", func(t *trial) {
		t.Job.Joints[2].After = []job.Ref{{ID: "door", Milestone: cure.Handling, Text: "door handling"}, {Kind: job.RefCheck, ID: "leak check", Text: "leak check"}}
	}},
	{"laid while it is warming", "warm before laid", func(t *trial) { t.move("warm", 10*time.Minute) }},
	{"warmed in one shift, laid in the next", "warm in shift", func(t *trial) {
		t.Job.Shifts[0].To = hm("15:30")
		t.Job.Shifts = append(t.Job.Shifts, job.Shift{Days: t.Job.Shifts[0].Days, From: hm("15:45"), To: hm("19:00")})
	}},
	{"laid while it is mixed", "mixed before laid", func(t *trial) { t.move("mix s1", time.Minute); t.task("mix s1").Who = []string{"Tech 1"} }},
	{"torqued before it is laid", "laid before torqued", func(t *trial) { t.to("torque s1", mon("13:10")); t.task("torque s1").Who = []string{"Tech 1"} }},
	{"film torqued before it is laid", "laid before torqued", func(t *trial) {
		t.task("torque door").Start, t.task("torque door").End = mon("09:09"), mon("09:33")
		t.task("lay door").Who = []string{"Inspector"}
		t.task("examine").Who = []string{"Second inspector"}
		t.task("inspect door").Who = []string{"Second inspector"}
	}},
	{"layers out of order", "layer order", func(t *trial) {
		t.to("overcoat studs", mon("13:58"))
		t.task("overcoat studs").Who = []string{"Tech 1"}
	}},
	{"fillet before the torque", "over fasteners", func(t *trial) {
		t.to("torque s2", mon("13:50"))
		t.task("torque s2").Who = []string{"Tech 1"}
	}},
	{"overcoat before the late torque", "over fasteners", func(t *trial) {
		t.coated()
		t.to("torque plate", tue("10:30"))
	}},
	{"overcoat while the last fastener is torqued late", "over fasteners", func(t *trial) {
		t.coated()
		t.move("torque plate", time.Minute)
	}},
	{"overcoat before tack-free", "layer after", func(t *trial) {
		t.to("mix d2", mon("15:20"))
		t.to("overcoat door", mon("15:33"))
		t.to("warm again", mon("14:00"))
	}},
	{"overcoat too long after tack-free", "layer within", func(t *trial) { t.Job.Joints[0].Layers[1].Within = 30 * time.Minute }},
	{"gasket torqued before its cure", "torque time", func(t *trial) { t.to("torque plate", tue("11:50")) }},
	{"gasket torqued before it is tack-free", "torque time", func(t *trial) {
		t.Job.Joints[2].Fasteners.Torque = job.TorqueTackFree
		t.to("torque plate", tue("10:10"))
	}},
	{"film torqued late", "torque time", func(t *trial) {
		t.Job.Joints[2].Layers[0].Seal = cure.WetInstall
		t.Classes["gasket"].Seals = []cure.Seal{cure.WetInstall}
	}},
	{"inspected before tack-free", "inspected tack-free", func(t *trial) { t.to("inspect studs", mon("18:00")) }},
	{"inspected before the gasket's fasteners are torqued", "inspected torqued", func(t *trial) { t.to("inspect plate", tue("12:50")) }},
}

var wrongClosing = []mutation{
	{"access in the order of removal", "access order", func(t *trial) { t.to("inner panel", tue("14:25")) }},
	{"access before its own order", "access order", func(t *trial) {
		t.Job.Access[2].Hides = nil
		t.to("side panel", tue("10:00"))
	}},
	{"hidden before it is inspected", "hidden", func(t *trial) {
		t.Job.Access[2].Takes = 5 * time.Minute
		t.to("side panel", tue("13:15"))
		t.task("side panel").End = tue("13:20")
	}},
	{"covers before the last torque", "covers after wet work", func(t *trial) { t.to("covers", tue("13:02")) }},
	{"covers after closing", "covers before closing", func(t *trial) {
		t.task("covers").Who = []string{"Trainee"}
		t.to("covers", tue("14:05"))
		t.gate("close").At, t.gate("refuel").At = tue("14:10"), tue("14:10")
	}},
	{"the gate close before the covers", "covers before closing", func(t *trial) { t.gate("close").At = tue("13:00") }},
	{"check before what it waits for", "check after", func(t *trial) { t.to("leak check", tue("09:30")) }},
	{"gate before its line", "gate", func(t *trial) { t.gate("refuel").At = tue("10:00"); t.Job.Gates[1].Needs = t.Job.Gates[1].Needs[:1] }},
	{"gate before its check", "gate", func(t *trial) { t.gate("fly").At = tue("15:14") }},
	{"gate before the covers", "gate", func(t *trial) { t.gate("refuel").At = tue("13:07") }},
	{"gate before another", "gate", func(t *trial) { t.gate("close").At = tue("15:16"); t.Ready = tue("15:16") }},
	{"gate missing", "gate", func(t *trial) { t.Gates = t.Gates[1:]; t.Job.Gates[2].Needs = t.Job.Gates[2].Needs[:2] }},
	{"gate that is not in the job", "gate", func(t *trial) { t.Gates = append(t.Gates, Gate{ID: "tow", At: tue("15:00")}) }},
	{"ready before the last task", "ready", func(t *trial) { t.Ready = tue("15:14"); t.Job.Ready = "close" }},
	{"ready before its gate", "ready", func(t *trial) {
		t.Job.Gates[2].Needs = append(t.Job.Gates[2].Needs, job.Ref{ID: "studs", Milestone: cure.Cured, Text: "studs cure"})
		t.Classes["sealant"].Curves[cure.Cured].Form = cure.Doubling{RefC: 25, Time: 30 * 3600, StepC: 10}
		t.Classes["sealant"].Curves[cure.Cured].Credit = nil
		t.gate("fly").At = onDay(10, "00:00")
		t.Job.Checks[0].After, t.Job.Gates[1].Needs, t.Lines = nil, nil, nil
	}},
	{"ready too late", "ready by", func(t *trial) { t.Ready = tue("18:01") }},
}

var wrongLines = []mutation{
	{"line a minute early", "line", func(t *trial) { t.line("studs", cure.TackFree).At = mon("20:09") }},
	{"heated line early", "line", func(t *trial) { t.line("door", cure.Cured).At = tue("10:11") }},
	{"heat counted that is not planned", "line", func(t *trial) { t.drop("heat") }},
	{"line of no joint", "line", func(t *trial) { t.line("plate", cure.TackFree).Joint = "hatch" }},
	{"line that nothing waits for", "line", func(t *trial) { t.line("plate", cure.TackFree).Milestone = cure.Assembly }},
	{"line absurdly late", "loose line", func(t *trial) { t.line("studs", cure.TackFree).At = mon("20:41") }},
	{"no curve for a line", "no curve", func(t *trial) { t.line("plate", cure.TackFree).Milestone = cure.Handling }},
	{"cure printed before handling", "line order", func(t *trial) { t.line("door", cure.Handling).At = tue("10:13") }},
	{"bead deeper than its curve", "no curve", func(t *trial) { t.Classes["gasket"].Curves[cure.Cured].MaxDepth = 1.9 }},
	{"closed film printed as calculated", "witness", func(t *trial) {
		t.Classes["sealant"].Moisture = &cure.Moisture{MinRH: 30, ClosedWitness: true}
		for i := range t.Gates {
			t.Gates[i].ByWitness = true
		}
		t.Lines = t.Lines[3:]
		t.Lines = append(t.Lines, Line{Joint: "door", Milestone: cure.TackFree, At: mon("22:12")},
			Line{Joint: "door", Milestone: cure.Cured, At: tue("12:12"), ByWitness: true})
		t.Job.Joints[0].Heat = nil
		t.drop("heat")
	}},
	{"too dry and printed as calculated", "witness", func(t *trial) {
		t.Classes["gasket"].Moisture.MinRH = 55
		t.line("plate", cure.TackFree).ByWitness = true
		t.line("plate", cure.Cured).ByWitness = false
	}},
	{"too dry and not printed", "witness", func(t *trial) {
		t.Classes["gasket"].Moisture.MinRH = 55
		t.line("plate", cure.Cured).ByWitness = true
		t.Lines = slices.DeleteFunc(t.Lines, func(l Line) bool { return l.Joint == "plate" && l.Milestone == cure.TackFree })
	}},
	{"class that may not be heated", "heat class", func(t *trial) {
		// The credit of the cure keeps its own ceiling, so the line stays.
		s := *t.Classes["sealant"]
		s.ID, s.Heat = "no heat", nil
		t.Classes["no heat"] = &s
		t.Job.Joints[0].Layers[1].Class = "no heat"
	}},
	{"hotter than the class bears", "heat ceiling", func(t *trial) { t.Job.Joints[0].Heat.ToC = 44 }},
	{"heat near fuel", "gas-free", func(t *trial) { t.Job.Joints[0].Heat.GasFree = false }},
	{"heat before tack-free", "heat start", func(t *trial) { t.to("heat", mon("18:30")); t.line("door", cure.Cured).At = tue("10:12") }},
	{"heat before flash-off", "heat start", func(t *trial) {
		t.Job.Joints[0].Heat.From = job.HeatAfterFlashOff
		t.to("heat", mon("16:20"))
	}},
}

var wrongAir = []mutation{
	{"part too cold", "part window", func(t *trial) { t.Classes["sealant"].Apply.Part = quantity.Range{Lo: 25.5, Hi: 32} }},
	{"part too cold by the margin", "part window", func(t *trial) {
		t.Classes["sealant"].Apply.Part = quantity.Range{Lo: 23.5, Hi: 32}
		t.airMargin()
	}},
	{"part too warm by the margin", "part window", func(t *trial) {
		t.Classes["sealant"].Apply.Part = quantity.Range{Lo: 16, Hi: 26.5}
		t.airMargin()
	}},
	{"cold part of the job", "part window", func(t *trial) {
		t.Job.Joints[2].Part = &job.Part{Set: true, AtC: 17.5, Tau: 1000 * time.Hour}
		t.Classes["gasket"].Apply.Part = quantity.Range{Lo: 18, Hi: 32}
		t.Lines = t.Lines[:4]
		t.Job.Joints[2].Fasteners.Torque = job.TorqueTackFree
	}},
	{"dew on the part", "dew point", func(t *trial) {
		// At 25 °C and 90 % RH the dew point is 23.2 °C.
		for _, c := range t.Classes {
			c.Apply.RH = quantity.Range{}
		}
		t.air(25, 90, 0)
	}},
	{"air too dry to apply", "air humidity", func(t *trial) { t.Classes["sealant"].Apply.RH = quantity.Range{Lo: 51, Hi: 85} }},
	{"air too damp to apply", "air humidity", func(t *trial) { t.Classes["gasket"].Apply.RH = quantity.Range{Lo: 40, Hi: 49} }},
}

// airMargin puts a doubt of 2 °C on the air and takes away what else would come
// of it.
func (t *trial) airMargin() {
	t.air(25, 50, 2)
	t.Job.Joints[0].Warm = nil
	t.drop("warm")
	t.drop("warm again")
	for _, c := range t.Classes {
		for _, k := range c.Curves {
			if k != nil {
				k.Form = cure.Doubling{RefC: 25, Time: k.Form.(cure.Doubling).Time, StepC: 60}
				k.ColdExtends = "for the test"
			}
		}
	}
	t.Lines = nil
	t.Job.Joints[0].Layers[1].After = cure.Handling
	t.Classes["sealant"].Curves[cure.Handling].Form = cure.Doubling{RefC: 25, Time: 3600, StepC: 60}
}
