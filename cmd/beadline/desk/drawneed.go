package desk

import (
	"slices"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"
)

// need is one pot, one use of a promoter or one item, that something is drawn for.
type need struct {
	mix       string
	what      string    // in words
	class     string    // "": any that fits
	at, until time.Time // when it is mixed or used, and when the work made from it is done
	first     time.Time // when the first of its kind is: what is opened then is open at all later ones
	ml, grams float64   // 0: not known
	packs     int
	joints    []string
	named     string // the batch that the job names for it

	short int // packs that are missing
}

// pots lists what the plan mixes, and counts the packs by class.
func (d *drawer) pots() {
	first := map[string]time.Time{}
	for _, m := range d.p.Mixes {
		if at, ok := first[m.Class]; !ok || m.At.Before(at) {
			first[m.Class] = m.At
		}
	}
	for _, m := range d.p.Mixes {
		cl, err := d.c.Find(m.Class)
		if err != nil {
			continue // a plan is made of classes that are known
		}
		n := &need{mix: m.ID, what: m.ID, class: m.Class, at: m.At, until: workEnd(d.p, m), first: first[m.Class],
			ml: m.ML, grams: m.Grams, packs: packsFor(m.ML, cl.KitML), joints: m.Joints, named: d.namedFor(m)}
		d.needs = append(d.needs, n)
		k := d.out.Packs[m.Class]
		k.Count, k.SizeML, k.Keeps = k.Count+n.packs, cl.KitML, cl.Kind == catalog.OnePartMoisture
		switch {
		case cl.KitML == 0:
			d.assume("%s: how much a kit holds is not known; one is taken for each mix.", m.Class)
		case m.ML == 0:
			d.assume("%s: one kit of %g ml is taken for each mix whose amount is not stated.", m.Class, cl.KitML)
		case !k.Keeps:
			k.ScrapML += float64(n.packs)*cl.KitML - m.ML
		}
		d.out.Packs[m.Class] = k
	}
	slices.SortStableFunc(d.needs, func(a, b *need) int { return a.at.Compare(b.at) })
}

// workEnd is when the last of what a pot serves is laid, and torqued where that is done
// while it is wet: also fasteners that sit in a film of this pot and are counted with
// another.
func workEnd(p *plan.Plan, m plan.Mix) time.Time {
	end := m.At
	films := map[string]int{} // joint, to the first of its films that is of this pot
	for _, t := range p.Tasks {
		if t.Mix != m.ID {
			continue
		}
		if t.End.After(end) {
			end = t.End
		}
		j := p.Job.JointByID(t.Joint)
		if j == nil || t.Kind != plan.TaskKind(verify.Lay) || t.Layer >= len(j.Layers) {
			continue
		}
		if s := j.Layers[t.Layer].Seal; s == cure.Faying || s == cure.WetInstall {
			if k, ok := films[t.Joint]; !ok || t.Layer < k {
				films[t.Joint] = t.Layer
			}
		}
	}
	for _, t := range p.Tasks {
		k, sits := films[t.Joint]
		j := p.Job.JointByID(t.Joint)
		if sits && t.Kind == plan.TaskKind(verify.Torque) && j.Fasteners.Torque == job.TorqueWet && t.Layer > k && t.End.After(end) {
			end = t.End
		}
	}
	return end
}

// namedFor is the batch that the job names for a pot: that of the first joint it serves
// which names one and is sealed with this class.
func (d *drawer) namedFor(m plan.Mix) string {
	for _, j := range d.p.Job.Joints {
		if j.Batch != "" && d.sealsWith(j, m.Class) && slices.Contains(m.Joints, j.ID) {
			return j.Batch
		}
	}
	return ""
}

// sealsWith reports whether a joint's own batch is to be of a class: the class chosen for
// the joint or, where its layers name theirs alone, any of them.
func (d *drawer) sealsWith(j job.Joint, class string) bool {
	if chosen := d.p.Chosen[j.ID]; chosen != "" {
		return chosen == class
	}
	return slices.ContainsFunc(j.Layers, func(l job.Layer) bool { return l.Class == class })
}

// promoterNeeds are the times at which promoter is put on, in order.
func (d *drawer) promoterNeeds() []*need {
	var out []*need
	for _, t := range d.p.Tasks {
		j := d.p.Job.JointByID(t.Joint)
		if t.Kind != plan.TaskKind(verify.Prepare) || j == nil || t.Index >= len(j.Prepare) || j.Prepare[t.Index].Kind != job.Promoter {
			continue
		}
		out = append(out, &need{what: "promoter, " + t.Joint, at: t.Start, until: t.End, packs: 1, joints: []string{t.Joint}})
	}
	slices.SortStableFunc(out, func(a, b *need) int { return a.at.Compare(b.at) })
	for _, n := range out {
		n.first = out[0].at
	}
	return out
}

// onlyPromoter is the class of promoter where there is one alone, or else its kind.
func (d *drawer) onlyPromoter() string {
	if all := d.c.ByKind(catalog.Promoter); len(all) == 1 {
		return all[0].ID
	}
	return "promoter"
}
