package plan

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// assume lists what the planner itself takes for granted on this job. What holds for
// several joints or classes alike is said once.
func (b *built) assume() []string {
	var said []string
	about := map[string][]string{}
	add := func(who, text string) {
		if about[text] == nil {
			said = append(said, text)
		}
		if !slices.Contains(about[text], who) {
			about[text] = append(about[text], who)
		}
	}
	for k := range b.j.Joints {
		b.assumeFor(b.only(b.j.Joints[k].ID), add)
	}
	var out []string
	for _, text := range said {
		out = append(out, strings.Join(about[text], ", ")+": "+text)
	}
	return out
}

func (b *built) assumeFor(n *jointNodes, add func(who, text string)) {
	if w := n.j.Warm; w != nil {
		add(n.j.ID, fmt.Sprintf("the structure is kept at %g C from the end of warming until the last sealant or fastener is in.", w.ToC))
		if n.feels[0].site.Part.Tau == 0 {
			add(n.j.ID, "without a time constant for the structure it is at air temperature again at once after that.")
		}
	}
	for i, f := range n.feels {
		l := &n.j.Layers[i]
		if _, note, err := f.class.Curve(cure.Assembly); err == nil && note != "" && b.wetAt(n, i) {
			add(f.class.ID, "no assembly time is published; the application time stands for it.")
		}
		if l.Within > 0 {
			add(n.j.ID, fmt.Sprintf("the %s within %s counts from when %s is likely, not from its line.", l.Seal, words(l.Within), l.After))
		}
		if volume(n.j, l) == 0 {
			most := ""
			if c := f.class.Curves[cure.Application]; c != nil && c.Mass != nil {
				most = fmt.Sprintf(", and to hold no more than %.0f g, which its application time is of", c.Mass.RefG)
			}
			add(n.j.ID, fmt.Sprintf("no amount is stated for the %s; one pot is taken to be large enough%s.", l.Seal, most))
		}
	}
	if n.j.Heat != nil && n.heat < 0 {
		why := b.whyNoHeat(n)
		if why == "" && b.answer.Schedule != nil {
			why = fmt.Sprintf(" It would not make the %s gate earlier.", b.j.Ready)
		}
		add(n.j.ID, "the heat that the job offers is not used."+why)
	}
	if n.heat >= 0 {
		add(n.j.ID, "cure before the heat is switched on is not counted.")
	}
}

// whyNoHeat says what keeps heat from helping, where that can be told.
func (b *built) whyNoHeat(n *jointNodes) string {
	for _, f := range n.feels {
		switch c := f.class.Curves[cure.Cured]; {
		case f.class.Heat == nil:
			return fmt.Sprintf(" Class %s states no accelerated cure.", f.class.ID)
		case n.j.Heat.ToC > f.class.Heat.MaxC:
			return fmt.Sprintf(" Class %s may be heated to %g C at most.", f.class.ID, f.class.Heat.MaxC)
		case c != nil && c.Credit == nil:
			return fmt.Sprintf(" Class %s gives no source by which warmth may shorten its cure.", f.class.ID)
		case f.dryShare(n.j.Heat.ToC) == 1:
			return fmt.Sprintf(" At %g C the air at the part is under the %g %% RH that %s needs at all times: damp it.", n.j.Heat.ToC, f.class.Moisture.MinRH, f.class.ID)
		case f.dryShare(n.j.Heat.ToC) > 0:
			return fmt.Sprintf(" At %g C the air at the part is under the %g %% RH that %s needs for part of the time: damp it.", n.j.Heat.ToC, f.class.Moisture.MinRH, f.class.ID)
		}
	}
	return ""
}

func (b *built) wetAt(n *jointNodes, i int) bool {
	return n.torqueLyr == i && n.j.Fasteners.Torque == job.TorqueWet
}
