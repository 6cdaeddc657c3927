package job

import (
	"slices"
	"strings"

	"beadline/cure/nearest"
)

// skillUse is one demand for people with a skill.
type skillUse struct {
	placed        // what needs them
	skill  string // at least one word
	people int
}

// use notes that something needs people with a skill.
func (d *decoder) use(skill string, people int, what string, at place) {
	d.skills = append(d.skills, skillUse{placed{at, what}, skill, people})
}

// potUse is a layer that names its mix.
type potUse struct {
	mix     string
	classes []string
	what    string
	place
}

// check looks at the job as a whole, once each part is sound.
func (d *decoder) check() {
	if d.checkWork() {
		d.checkSkills()
	}
	d.checkPots()
	d.checkOrder()
}

// size refuses what no plan could hold, before its references are followed.
func (d *decoder) size() {
	j := d.job
	n := len(j.Access) + len(j.Covers) + len(j.Checks)
	for _, jt := range j.Joints {
		n += len(jt.Prepare) + 2*len(jt.Layers) + 2 // a layer is mixed and laid; fasteners and inspection
	}
	if n > maxTasks {
		d.wrong(place{1, 1}, "the job has %d tasks, more than %d; split it into several jobs", n, maxTasks)
	}
	if n := len(j.Crew); n > maxPeople {
		d.wrong(place{1, 1}, "the crew has %d people, more than %d; name those of this job alone", n, maxPeople)
	}
	days := len(j.Shifts)
	for _, s := range j.Shifts {
		days += len(s.Dates)
	}
	if days > maxShifts {
		d.wrong(d.shiftsAt, "the shifts and their dates are %d, more than %d; use weekdays, as in days: Mon-Fri", days, maxShifts)
	}
}

// checkSkills asks that enough people who are on shift have each skill.
func (d *decoder) checkSkills() {
	j := d.job
	var all []string         // skills, on shift or not
	have := map[string]int{} // people on shift by skill
	for _, p := range j.Crew {
		on := d.atWork[p.Who]
		switch {
		case on:
		case !j.onShift(p):
			d.assume("%s is in no shift and is not counted on.", p.Who)
		default:
			d.assume("%s is never at work in the %d days from the start and is not counted on.", p.Who, lookAheadDays)
		}
		for i, c := range p.Can {
			if slices.Contains(p.Can[:i], c) {
				continue
			}
			if on {
				have[c]++
			}
			if !slices.Contains(all, c) {
				all = append(all, c)
			}
		}
	}
	told := map[string]int{} // skill, to the people already said to be missing
	for _, u := range d.skills {
		have := have[u.skill]
		if have >= u.people || told[u.skill] >= u.people {
			continue
		}
		told[u.skill] = u.people
		if have > 0 {
			d.wrong(u.place, "%s: it needs %d people who can %s and there %s %d on shift; add %s to someone's can:, or a person to the crew",
				u.text, u.people, u.skill, isAre(have), have, u.skill)
			continue
		}
		if near := nearest.Names(u.skill, all, 1); len(near) > 0 && near[0] != u.skill {
			d.wrong(u.place, "%s: nobody can %s, the nearest in the crew is %s; correct one of them, or add %s to someone's can:", u.text, u.skill, near[0], u.skill)
			continue
		}
		if who := d.idle(u.skill); who != "" {
			d.wrong(u.place, "%s: nobody at work can %s: %s, who can, is never at work in the %d days from the start; shorten away:, or add %s to someone's can:",
				u.text, u.skill, who, lookAheadDays, u.skill)
			continue
		}
		if slices.Contains(all, u.skill) {
			d.wrong(u.place, "%s: nobody on shift can %s; put a person who can into a shift's who:", u.text, u.skill)
			continue
		}
		d.wrong(u.place, "%s: nobody can %s; add it to someone's can:", u.text, u.skill)
	}
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// checkPots refuses layers that share a pot and have no sealant class in common.
func (d *decoder) checkPots() {
	first := map[string]potUse{}
	for _, u := range d.pots {
		o, shared := first[u.mix]
		if !shared {
			first[u.mix] = u
			continue
		}
		var common []string
		for _, c := range u.classes {
			if slices.Contains(o.classes, c) {
				common = append(common, c)
			}
		}
		if len(common) == 0 {
			d.wrong(u.place, "%s: mix %q is %s in %s and %s here; one pot holds one class: give it a mix of its own",
				u.what, u.mix, strings.Join(o.classes, " or "), o.what, strings.Join(u.classes, " or "))
			continue
		}
		o.classes = common
		first[u.mix] = o
	}
}

// checkOrder refuses a job in which something waits for itself.
func (d *decoder) checkOrder() {
	c := d.job.saidOrder().cycle()
	if c == nil {
		return
	}
	// The message stands at the earliest of them in the file.
	at := d.taken[c[0]].place
	for _, id := range c {
		if p := d.taken[id].place; p.line < at.line || p.line == at.line && p.col < at.col {
			at = p
		}
	}
	if len(c) == 2 {
		d.wrong(at, "%s waits for itself; take it out of its own after:", c[0])
		return
	}
	d.wrong(at, "these wait for each other: %s; take one of them out of after:, hides: or gates:", strings.Join(c, " → "))
}
