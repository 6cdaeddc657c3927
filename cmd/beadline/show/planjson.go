package show

import (
	"encoding/json"
	"io"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
)

// planJSON is the shape of `plan --format json`: kebab-case keys, RFC 3339 instants
// with the job's offset, spans in whole seconds.
type planJSON struct {
	Job         string          `json:"job"`
	Title       string          `json:"title,omitempty"`
	Passed      *string         `json:"start-passed"`
	Ready       *time.Time      `json:"ready"`
	Proven      bool            `json:"proven"`
	Bound       *time.Time      `json:"bound"`
	ProvenGoals []string        `json:"proven-goals"`
	Stopped     bool            `json:"stopped"`
	BeginBy     *time.Time      `json:"begin-by"`
	Until       *time.Time      `json:"until"`
	Joints      []jointJSON     `json:"joints"`
	Gates       []gateJSON      `json:"gates"`
	Mixes       []mixJSON       `json:"mixes"`
	Tasks       []taskJSON      `json:"tasks"`
	Materials   []materialJSON  `json:"materials"`
	Batches     []batchJSON     `json:"batches"`
	Draw        []pickJSON      `json:"draw"`
	Reserved    *keptJSON       `json:"reserved,omitempty"`
	Short       []shortJSON     `json:"short"`
	Renew       []renewJSON     `json:"renew"`
	HeldBy      []heldJSON      `json:"held-by"`
	HeldInWords []string        `json:"held-in-words"`
	Labour      int64           `json:"labour-seconds"`
	Infeasible  *infeasibleJSON `json:"infeasible,omitempty"`
	Spread      *spreadJSON     `json:"spread,omitempty"`
	Assumptions []string        `json:"assumptions"`
	Cautions    []string        `json:"cautions"`
}

type jointJSON struct {
	ID        string      `json:"id"`
	Class     string      `json:"class"`
	MixBy     *time.Time  `json:"mix-by"`
	Torque    *torqueJSON `json:"torque"`
	CloseFrom *time.Time  `json:"close-from"`
	FlyFrom   *time.Time  `json:"fly-from"`
	FlyNeeds  string      `json:"fly-needs"`
	ByWitness bool        `json:"by-witness"`
	Lines     []lineJSON  `json:"lines"`
}

// torqueJSON is when the fasteners are torqued as planned: close-from and fly-from count
// from its end. Each pot has a line of its own, in mixes.
type torqueJSON struct {
	From  time.Time    `json:"from"`
	To    time.Time    `json:"to"`
	Mixes []windowJSON `json:"mixes"`
}

type windowJSON struct {
	Mix       string     `json:"mix"`
	From      time.Time  `json:"from"`
	To        time.Time  `json:"to"`
	Line      *time.Time `json:"line"`
	Fasteners int        `json:"fasteners"`
}

type lineJSON struct {
	Milestone string     `json:"name"`
	At        *time.Time `json:"at"`
	LikelyAt  *time.Time `json:"likely-at"`
	ByWitness bool       `json:"by-witness"`
	Source    string     `json:"source"`
}

type gateJSON struct {
	ID        string     `json:"id"`
	From      *time.Time `json:"from"`
	Needs     []string   `json:"needs"`
	ByWitness bool       `json:"by-witness"`
}

type mixJSON struct {
	ID     string     `json:"id"`
	Class  string     `json:"class"`
	At     *time.Time `json:"at"`
	By     *time.Time `json:"by"`
	DoneBy *time.Time `json:"done-by"`
	Lasts  int64      `json:"lasts-seconds"`
	Serves []string   `json:"serves"`
	ML     *float64   `json:"ml"`
	Grams  *float64   `json:"grams"`
}

type taskJSON struct {
	ID     string    `json:"id"`
	Kind   string    `json:"kind"`
	Joint  string    `json:"joint,omitempty"`
	Mix    string    `json:"mix,omitempty"`
	Who    []string  `json:"who"`
	Start  time.Time `json:"start"`
	End    time.Time `json:"end"`
	Labour int64     `json:"labour-seconds"`
	Slack  int64     `json:"slack-seconds"`
	Over   int64     `json:"overtime-seconds"` // of each of its people
	Torque string    `json:"torque,omitempty"` // as the job records it, with its reference
}

type materialJSON struct {
	Class string   `json:"class"`
	Mixes int      `json:"mixes"`
	ML    *float64 `json:"ml"`
	Whole bool     `json:"complete"`
	Kits  int      `json:"kits"`
	KitML *float64 `json:"kit-ml"`
	Scrap *float64 `json:"scrapped-ml"`
}

type batchJSON struct {
	Joint   string `json:"joint"`
	Batch   string `json:"batch"`
	Verdict string `json:"verdict"`
	Reason  string `json:"reason"`
}

type renewJSON struct {
	Item  string `json:"item"`
	Count int    `json:"count"`
}

type heldJSON struct {
	What    string `json:"what"`
	Seconds int64  `json:"seconds"`
}

type infeasibleJSON struct {
	Because  []string     `json:"because"`
	Set      []demandJSON `json:"set"`
	Minimal  bool         `json:"minimal"`
	Changes  []changeJSON `json:"changes"`
	Fixes    []fixJSON    `json:"fixes"`
	Proven   bool         `json:"proven"`
	Earliest *time.Time   `json:"earliest"`
}

type fixJSON struct {
	What  string    `json:"what"`
	Ready time.Time `json:"ready"`
	Meets bool      `json:"meets"`
}

// PlanJSON writes a plan for programs.
func PlanJSON(w io.Writer, planned *desk.Planned) error {
	p, supply := planned.Plan, planned.Supply
	z := p.Job.Zone
	at := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		u := t.In(z)
		return &u
	}
	o := planJSON{Job: p.Job.ID, Title: p.Job.Title, Ready: at(p.Ready), Proven: p.Proven, Bound: at(p.Bound),
		ProvenGoals: list(p.ProvenGoals), Stopped: p.Stopped, BeginBy: at(p.BeginBy), Until: at(p.Until), HeldInWords: list(p.HeldInWords), Labour: int64(p.Labour().Seconds()), Assumptions: list(p.Assumptions), Passed: said(planned.Passed), Cautions: list(planned.Cautions), Spread: spreadShape(p, z),
		Joints: []jointJSON{}, Gates: []gateJSON{}, Mixes: []mixJSON{}, Tasks: []taskJSON{}, Materials: []materialJSON{}, Batches: []batchJSON{}, Draw: []pickJSON{}, Short: []shortJSON{}, Renew: []renewJSON{}, HeldBy: []heldJSON{}}
	for _, j := range p.Joints {
		r := jointJSON{ID: j.ID, Class: j.Class, MixBy: at(j.MixBy), CloseFrom: at(j.CloseFrom), FlyFrom: at(j.FlyFrom),
			FlyNeeds: j.FlyNeeds.String(), ByWitness: j.ByWitness, Lines: []lineJSON{}}
		if !j.TorqueFrom.IsZero() {
			r.Torque = &torqueJSON{j.TorqueFrom.In(z), j.TorqueTo.In(z), []windowJSON{}}
			for _, w := range j.Windows {
				r.Torque.Mixes = append(r.Torque.Mixes, windowJSON{w.Mix, w.From.In(z), w.To.In(z), at(w.Line), w.Fasteners})
			}
		}
		for _, l := range j.Lines {
			r.Lines = append(r.Lines, lineJSON{l.Milestone.String(), at(l.At), at(l.LikelyAt), l.ByWitness, l.From})
		}
		o.Joints = append(o.Joints, r)
	}
	for _, g := range p.Gates {
		o.Gates = append(o.Gates, gateJSON{g.ID, at(g.From), list(g.Needs), g.ByWitness})
	}
	for _, m := range p.Mixes {
		o.Mixes = append(o.Mixes, mixJSON{m.ID, m.Class, at(m.At), at(m.By), at(m.DoneBy), int64(m.Lasts.Seconds()), list(m.Serves), known(m.ML), known(m.Grams)})
	}
	for _, t := range p.Tasks {
		o.Tasks = append(o.Tasks, taskJSON{t.ID, string(t.Kind), t.Joint, t.Mix, list(t.Who), t.Start.In(z), t.End.In(z), int64(t.Labour.Seconds()), int64(t.Slack.Seconds()), int64(t.Overtime.Seconds()), strings.TrimPrefix(torqueValue(p, t), ": ")})
	}
	for _, m := range p.Materials {
		k := supply.Packs[m.Class]
		o.Materials = append(o.Materials, materialJSON{m.Class, m.Pots, known(m.ML), !m.Part, k.Count, known(k.SizeML), scrapped(k)})
	}
	for _, b := range supply.Named {
		o.Batches = append(o.Batches, batchJSON{b.Joint, b.Batch, b.Verdict.String(), b.Reason})
	}
	for i := range supply.Draws {
		o.Draw = append(o.Draw, pickOf(&supply.Draws[i], supply.Register, z))
	}
	o.Reserved = keptShape(supply)
	for _, x := range supply.Shorts {
		o.Short = append(o.Short, shortOf(x, z))
	}
	for _, r := range p.Renew {
		o.Renew = append(o.Renew, renewJSON{r.Item, r.Count})
	}
	for _, h := range p.HeldBy {
		o.HeldBy = append(o.HeldBy, heldJSON{h.What, int64(h.For.Seconds())})
	}
	if x := p.Infeasible; x != nil {
		o.Infeasible = &infeasibleJSON{Because: list(x.Because), Fixes: []fixJSON{}, Proven: x.Proven, Earliest: at(x.Earliest)}
		o.Infeasible.Set, o.Infeasible.Minimal, o.Infeasible.Changes = demandsJSON(x.Set), x.Minimal, changesJSON(x.Changes, z)
		for _, f := range x.Fixes {
			o.Infeasible.Fixes = append(o.Infeasible.Fixes, fixJSON{f.What, f.Ready.In(z), f.Meets})
		}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(o)
}

// list makes an empty list of none, so that programs find [] and not null.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

// known is a number, or null where there is none.
func known(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}
