package job

import (
	"fmt"
	"slices"
	"strings"

	"beadline/cure"
)

// coversWord is the reference to all covers, and so no id.
const coversWord = "covers"

// named is what an id stands for: the kind of thing, its place in the file and its
// index among its kind.
type named struct {
	place
	kind  RefKind // RefMilestone for a joint
	index int
}

var kindWords = map[RefKind]string{RefMilestone: "joint", RefAccess: "access item", RefCheck: "check", RefGate: "gate"}

// name takes an id for a joint, an access item, a check or a gate. They share one
// space of names, since a reference may point at any of them.
func (d *decoder) name(id string, kind RefKind, index int, at place) {
	if id == "" {
		return
	}
	if id == coversWord {
		d.wrong(at, "%s: %q stands for all covers together; choose another name", kindWords[kind], id)
		return
	}
	if o, twice := d.taken[id]; twice {
		d.wrong(at, "%s: the name %q is used already by the %s in line %d; give each a name of its own", kindWords[kind], id, kindWords[o.kind], o.line)
		return
	}
	d.taken[id] = named{at, kind, index}
}

// wait reads references now and resolves them once every id is known.
func (d *decoder) wait(s *section, key string, set func([]Ref)) {
	if !s.has(key) {
		return
	}
	words, what := s.words(key), s.what+": "+key
	d.later = append(d.later, func() {
		refs := make([]Ref, 0, len(words))
		for _, w := range words {
			if d.full() {
				return
			}
			r, problem := d.ref(w.text)
			if problem != "" {
				d.wrong(w.place, "%s: %s", what, problem)
				continue
			}
			refs = append(refs, r)
		}
		set(refs)
	})
}

// hide notes hidden-by of joint i.
func (d *decoder) hide(s *section, i int) {
	words := s.words("hidden-by")
	d.later = append(d.later, func() {
		for _, w := range words {
			if d.full() {
				return
			}
			a, ok := d.taken[w.text]
			if !ok || a.kind != RefAccess {
				var names []string
				for _, a := range d.job.Access {
					names = append(names, a.Off)
				}
				d.wrong(w.place, "%s: hidden-by: no access item is called %q; %s", s.what, w.text, instead(w.text, names))
				continue
			}
			d.hidden(i, a.index, w.place)
		}
	})
}

// hides notes hides of access item k.
func (d *decoder) hides(s *section, k int) {
	words := s.words("hides")
	d.later = append(d.later, func() {
		for _, w := range words {
			if d.full() {
				return
			}
			j, ok := d.taken[w.text]
			if !ok || j.kind != RefMilestone {
				var names []string
				for _, j := range d.job.Joints {
					names = append(names, j.ID)
				}
				d.wrong(w.place, "%s: hides: there is no joint %q; %s", s.what, w.text, instead(w.text, names))
				continue
			}
			d.hidden(j.index, k, w.place)
		}
	})
}

// hidden records on both sides that access item k hides joint i.
func (d *decoder) hidden(i, k int, at place) {
	j, a := &d.job.Joints[i], &d.job.Access[k]
	if a.StaysOff {
		d.wrong(at, "%s is hidden by %s, which is never put back; take stays-off out of %s, or do not let it hide the joint", j.ID, a.Off, a.Off)
		return
	}
	if !slices.Contains(j.HiddenBy, a.Off) {
		j.HiddenBy = append(j.HiddenBy, a.Off)
	}
	if !slices.Contains(a.Hides, j.ID) {
		a.Hides = append(a.Hides, j.ID)
	}
}

// ref finds what a reference means, or says what is wrong with it. The exact name
// of a check, access item or gate comes first, then a joint with its milestone.
func (d *decoder) ref(text string) (r Ref, problem string) {
	r.Text = text
	if text == coversWord {
		if len(d.job.Covers) == 0 {
			return r, `the job has no covers; list them under covers:, or take "covers" out`
		}
		r.Kind = RefCovers
		return r, ""
	}
	milestones, _ := waitable()
	if o, ok := d.taken[text]; ok {
		switch {
		case o.kind == RefMilestone:
			return r, fmt.Sprintf("%q is a joint; say what of it is waited for: %s %s", text, text, orList(milestones))
		case o.kind == RefAccess && d.job.Access[o.index].StaysOff:
			return r, text + " stays off, so nothing can wait until it is back; take it out, or its stays-off"
		}
		r.Kind, r.ID = o.kind, text
		return r, ""
	}
	if cut := strings.LastIndexByte(text, ' '); cut > 0 {
		id, last := strings.TrimSpace(text[:cut]), text[cut+1:]
		if o, ok := d.taken[id]; ok && o.kind == RefMilestone {
			m, ok := cure.ParseMilestone(last)
			switch {
			case !ok:
				return r, fmt.Sprintf("%q is no milestone of %s; %s", last, id, instead(last, milestones))
			case m.Line() == cure.NotAfter:
				return r, fmt.Sprintf("nothing can wait for %q, which is a line to be done by; wait for %s", text, orList(milestones))
			}
			r.Kind, r.ID, r.Milestone = RefMilestone, id, m
			return r, ""
		}
	}
	return r, fmt.Sprintf("%q is neither a joint's milestone, a check, an access item nor a gate; %s", text, instead(text, d.job.refNames()))
}

// refNames lists everything a reference could be, for the nearest one.
func (j *Job) refNames() []string {
	var out []string
	milestones, _ := waitable()
	for _, jt := range j.Joints {
		for _, m := range milestones {
			out = append(out, jt.ID+" "+m)
		}
	}
	for _, c := range j.Checks {
		out = append(out, c.ID)
	}
	for _, a := range j.Access {
		if !a.StaysOff {
			out = append(out, a.Off)
		}
	}
	for _, g := range j.Gates {
		out = append(out, g.ID)
	}
	if len(j.Covers) > 0 {
		out = append(out, coversWord)
	}
	return out
}

// resolve runs what had to wait for all ids, then looks for names that could be
// read in two ways.
func (d *decoder) resolve() {
	for _, jt := range d.job.Joints {
		for m := range cure.NumMilestones {
			if o, ok := d.taken[jt.ID+" "+m.String()]; ok {
				d.wrong(o.place, "%s: the name %q reads as a milestone of the joint %s; choose another", kindWords[o.kind], jt.ID+" "+m.String(), jt.ID)
			}
		}
	}
	named := len(d.problems) == 0
	for _, f := range d.later {
		if d.full() || !named {
			return
		}
		f()
	}
}
