package job

import (
	"fmt"
	"slices"
	"time"

	"github.com/goccy/go-yaml/ast"
)

func (d *decoder) access(top *section) {
	for i, n := range top.list("access", "[{off: door fairing, takes: 25min, hides: [fuel-bay door]}]") {
		s, ok := d.open(n, called(n, "off", fmt.Sprintf("access item %d", i+1)), "off", "takes", "crew", "hides", "after", "stays-off", "can", "splittable")
		if !ok {
			continue
		}
		a := Access{Line: s.at.line}
		a.Off = need(s, "off", "off: door fairing", readName)
		a.StaysOff = orElse(s, "stays-off", false, readYes)
		if a.StaysOff {
			a.Takes = orElse(s, "takes", 0, readTask)
			if s.has("after") {
				d.wrong(s.place("after"), "%s: it stays off, so it is never put back after anything; take after or stays-off out", s.what)
			}
		} else {
			a.Takes = need(s, "takes", "takes: 25min", readTask)
		}
		a.Crew = orElse(s, "crew", 1, readCount(maxCrew))
		a.Can = orElse(s, "can", "panel", readName)
		a.Splittable = orElse(s, "splittable", false, readYes)
		if !a.StaysOff {
			d.use(a.Can, a.Crew, s.what, s.at)
		}
		d.job.Access = append(d.job.Access, a)
		k := len(d.job.Access) - 1
		d.name(a.Off, RefAccess, k, s.place("off"))
		d.wait(s, "after", func(refs []Ref) { d.job.Access[k].After = refs })
		d.hides(s, k)
	}
}

func (d *decoder) covers(top *section) {
	for i, n := range top.list("covers", "[intake blank, tank vent plug]") {
		c := Cover{Takes: 2 * time.Minute}
		timed := false
		if _, name := scalar(n); name {
			for _, w := range d.names([]ast.Node{n}, "covers") {
				c.What = w.text
			}
		} else if s, ok := d.open(n, fmt.Sprintf("cover %d", i+1), "what", "takes"); ok {
			c.What = need(s, "what", "what: intake blank", readName)
			c.Takes = orElse(s, "takes", c.Takes, readTask)
			timed = s.has("takes")
		}
		if c.What == "" {
			continue
		}
		if slices.ContainsFunc(d.job.Covers, func(o Cover) bool { return o.What == c.What }) {
			d.wrong(at(n), "covers: %q is there twice; give each cover a name of its own, since each must be accounted for", c.What)
			continue
		}
		if !timed {
			d.assumeFor(c.What, "Taking off a cover and accounting for it is taken as 2 min (not said)")
		}
		d.job.Covers = append(d.job.Covers, c)
	}
}

func (d *decoder) renew(top *section) {
	nodes := top.list("renew", "[{item: self-locking nut M5, count: 24}]")
	explicit := map[string]place{}
	for i, n := range nodes {
		s, ok := d.open(n, fmt.Sprintf("renewal %d", i+1), "item", "count")
		if !ok {
			continue
		}
		it := Item{need(s, "item", "item: self-locking nut M5", readName), need(s, "count", "count: 24", readCount(maxCount))}
		if first, twice := explicit[it.Item]; twice {
			d.wrong(s.place("item"), "renew: %q is there twice, first in line %d; add the counts up in one line", it.Item, first.line)
			continue
		}
		explicit[it.Item] = s.place("count")
		d.job.Renew = append(d.job.Renew, it)
	}
	d.later = append(d.later, func() { d.oneForOne(explicit) })
}

// oneForOne adds the self-locking nuts that come off with the joints: each is
// replaced by a new one (common practice, no source).
func (d *decoder) oneForOne(explicit map[string]place) {
	j := d.job
	need := map[string]int{}
	var order []string
	for _, jt := range j.Joints {
		if f := jt.Fasteners; f != nil && f.Nut != "" {
			if need[f.Nut] == 0 {
				order = append(order, f.Nut)
			}
			need[f.Nut] += f.Count
		}
	}
	for _, nut := range order {
		i := slices.IndexFunc(j.Renew, func(it Item) bool { return it.Item == nut })
		switch {
		case i < 0:
			j.Renew = append(j.Renew, Item{nut, need[nut]})
			d.assume("%d of %s are renewed, one for each taken off (common practice).", need[nut], nut)
		case j.Renew[i].Count < need[nut]:
			d.wrong(explicit[nut], "renew: %d of %s come off with the joints and only %d are renewed; each is replaced by a new one: write count: %d or more",
				need[nut], nut, j.Renew[i].Count, need[nut])
		}
	}
}

func (d *decoder) checks(top *section) {
	for i, n := range top.list("checks", "[{id: leak check, after: fuel-bay door cure, takes: 45min}]") {
		s, ok := d.open(n, called(n, "id", fmt.Sprintf("check %d", i+1)), "id", "after", "takes", "crew", "can", "splittable")
		if !ok {
			continue
		}
		c := Check{Line: s.at.line}
		c.ID = need(s, "id", "id: leak check", readName)
		c.Takes = need(s, "takes", "takes: 45min", readTask)
		c.Crew = orElse(s, "crew", 1, readCount(maxCrew))
		c.Can = orElse(s, "can", "inspect", readName)
		c.Splittable = orElse(s, "splittable", false, readYes)
		if !s.has("after") {
			s.missing("after", "after: fuel-bay door cure")
		}
		d.use(c.Can, c.Crew, s.what, s.at)
		d.job.Checks = append(d.job.Checks, c)
		k := len(d.job.Checks) - 1
		d.name(c.ID, RefCheck, k, s.place("id"))
		d.wait(s, "after", func(refs []Ref) { d.job.Checks[k].After = refs })
		d.filled(s, "after")
	}
}

func (d *decoder) gates(top *section) {
	if !top.has("gates") {
		top.missing("gates", "gates: {fly: [fuel-bay door cure]}")
	}
	n, ok := top.value("gates")
	if !ok {
		return
	}
	var values []*ast.MappingValueNode
	switch v := n.(type) {
	case *ast.MappingNode:
		values = v.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{v}
	default:
		d.wrong(at(n), "gates: each gate needs what it waits for; write it like {close: [fuel-bay door tack-free], fly: [fuel-bay door cure]}")
		return
	}
	if len(values) == 0 {
		d.wrong(at(n), "gates is empty; add one, like fly: [fuel-bay door cure]")
	}
	s := &section{r: &d.report, what: "gates", at: at(n), entries: map[string]entry{}}
	for _, kv := range values {
		d.gate(s, kv)
	}
}

// gate reads one gate. Its key is its name, so any key is known.
func (d *decoder) gate(s *section, kv *ast.MappingValueNode) {
	text, _ := scalar(kv.Key)
	id, err := readName(text)
	if err != nil {
		d.wrong(at(kv.Key), "gates: a gate's name: %v", err)
		return
	}
	s.add(id, entry{at(kv.Key), kv.Value}, []string{id})
	if s.entries[id].node != kv.Value {
		return // given twice
	}
	k := len(d.job.Gates)
	d.job.Gates = append(d.job.Gates, Gate{ID: id, Line: at(kv.Key).line})
	d.name(id, RefGate, k, at(kv.Key))
	d.wait(s, id, func(refs []Ref) { d.job.Gates[k].Needs = refs })
	d.filled(s, id)
}

// filled refuses an empty list where something must be waited for.
func (d *decoder) filled(s *section, key string) {
	if seq, ok := s.entries[key].node.(*ast.SequenceNode); ok && len(seq.Values) == 0 {
		d.wrong(s.place(key), "%s: %s waits for nothing; name what must be done first, like [fuel-bay door cure]", s.what, key)
	}
}

func (d *decoder) ready(top *section) {
	d.job.Ready = need(top, "ready", "ready: fly", readName)
	if d.job.Ready == "" {
		return
	}
	d.later = append(d.later, func() {
		if d.job.Gate(d.job.Ready) == nil {
			var ids []string
			for _, g := range d.job.Gates {
				ids = append(ids, g.ID)
			}
			d.wrong(top.place("ready"), "ready: there is no gate %q; %s", d.job.Ready, instead(d.job.Ready, ids))
		}
	})
}
