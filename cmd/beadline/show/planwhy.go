package show

import (
	"strings"
	"time"

	"beadline/cure/plan"
)

// changes writes the smallest change of each demand that would make the job feasible.
func (s *sheet) changes(x *plan.Infeasible) {
	if len(x.Changes) == 0 {
		return
	}
	s.line("")
	s.line("THE SMALLEST CHANGES THAT DO (each alone, each planned in full)")
	starred, unsure := false, false
	for _, c := range x.Changes {
		mark := ""
		if !c.Smallest {
			mark, unsure = " (?)", true
		}
		ready := ": ready " + s.full(c.Ready)
		if c.Kind == plan.ReadyByDemand {
			ready = ""
		}
		s.block("  - ", c.What+ready+mark)
		starred = starred || strings.Contains(c.What, "*")
	}
	if starred {
		s.line("  * only if the approved data for this joint allow such a class")
	}
	if unsure {
		s.line("  (?) it does; that no smaller one does is not proven")
	}
}

type demandJSON struct {
	Kind string `json:"kind"`
	What string `json:"what"`
}

type changeJSON struct {
	Kind     string    `json:"kind"`
	What     string    `json:"what"`
	Size     int       `json:"size"`
	Ready    time.Time `json:"ready"`
	Smallest bool      `json:"smallest"`
}

func demandsJSON(ds []plan.Demand) []demandJSON {
	out := []demandJSON{}
	for _, d := range ds {
		out = append(out, demandJSON{string(d.Kind), d.What})
	}
	return out
}

func changesJSON(cs []plan.Change, z *time.Location) []changeJSON {
	out := []changeJSON{}
	for _, c := range cs {
		out = append(out, changeJSON{string(c.Kind), c.What, c.Size, c.Ready.In(z), c.Smallest})
	}
	return out
}
