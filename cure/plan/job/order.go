package job

import "slices"

// JointByID finds a joint, or nil.
func (j *Job) JointByID(id string) *Joint {
	for i := range j.Joints {
		if j.Joints[i].ID == id {
			return &j.Joints[i]
		}
	}
	return nil
}

// CheckByID finds a check, or nil.
func (j *Job) CheckByID(id string) *Check {
	for i := range j.Checks {
		if j.Checks[i].ID == id {
			return &j.Checks[i]
		}
	}
	return nil
}

// AccessByName finds an access item by the name under which it came off, or nil.
func (j *Job) AccessByName(off string) *Access {
	for i := range j.Access {
		if j.Access[i].Off == off {
			return &j.Access[i]
		}
	}
	return nil
}

// Gate finds a gate, or nil.
func (j *Job) Gate(id string) *Gate {
	for i := range j.Gates {
		if j.Gates[i].ID == id {
			return &j.Gates[i]
		}
	}
	return nil
}

// SkillHolders lists who has a skill and is in a shift, in the order of the crew.
func (j *Job) SkillHolders(skill string) []string {
	var who []string
	for _, p := range j.Crew {
		if p.Has(skill) && j.onShift(p) {
			who = append(who, p.Who)
		}
	}
	return who
}

// BackOnFirst lists the access items, as indexes into Access, that must be back on
// before item i goes back by the reverse order of removal: what came off last goes
// on first (common practice, no source).
//
// An item with After of its own (even an empty one) goes back by that alone, and
// the list is empty. Another waits for everything that came off after it and goes
// back, save an item that was told, directly or through others, to wait for it.
// Joints that the item hides, and After itself, are not in the list.
func (j *Job) BackOnFirst(i int) []int {
	if j.Access[i].StaysOff || j.Access[i].After != nil {
		return nil
	}
	said := j.saidOrder()
	var first []int
	for k := i + 1; k < len(j.Access); k++ {
		later := &j.Access[k]
		if later.StaysOff {
			continue
		}
		if later.After != nil && said.reaches(later.Off, j.Access[i].Off) {
			continue
		}
		first = append(first, k)
	}
	return first
}

// graph is who waits for whom, by id.
type graph struct {
	nodes []string
	waits map[string][]string
}

func (g *graph) add(id string, for_ ...string) {
	if _, known := g.waits[id]; !known {
		g.nodes = append(g.nodes, id)
	}
	g.waits[id] = append(g.waits[id], for_...)
}

// saidOrder is the order the file states: after, gates, what hides what, and the
// reverse order of removal among the items that state none.
func (j *Job) saidOrder() *graph {
	g := &graph{waits: map[string][]string{}}
	for _, jt := range j.Joints {
		g.add(jt.ID, ids(jt.After)...)
	}
	for _, c := range j.Checks {
		g.add(c.ID, ids(c.After)...)
	}
	for i, a := range j.Access {
		g.add(a.Off, ids(a.After)...)
		g.add(a.Off, a.Hides...)
		if a.StaysOff || a.After != nil {
			continue
		}
		for _, later := range j.Access[i+1:] {
			if !later.StaysOff && later.After == nil {
				g.add(a.Off, later.Off) // the next is enough: it waits for the one after
				break
			}
		}
	}
	for _, t := range j.Gates {
		g.add(t.ID, ids(t.Needs)...)
	}
	return g
}

func ids(refs []Ref) []string {
	var out []string
	for _, r := range refs {
		if r.Kind != RefCovers {
			out = append(out, r.ID)
		}
	}
	return out
}

// reaches reports whether from waits for to, directly or through others.
func (g *graph) reaches(from, to string) bool {
	seen := map[string]bool{from: true}
	open := []string{from}
	for len(open) > 0 {
		n := open[len(open)-1]
		open = open[:len(open)-1]
		for _, w := range g.waits[n] {
			if w == to {
				return true
			}
			if !seen[w] {
				seen[w] = true
				open = append(open, w)
			}
		}
	}
	return false
}

// cycle finds things that wait for each other, as a list whose last entry is its
// first again; nil where there is none.
func (g *graph) cycle() []string {
	const inPath, done = 1, 2
	state := map[string]int{}
	var path []string
	var visit func(string) []string
	visit = func(n string) []string {
		state[n] = inPath
		path = append(path, n)
		for _, w := range g.waits[n] {
			if state[w] == inPath {
				return append(slices.Clone(path[slices.Index(path, w):]), w)
			}
			if state[w] == 0 {
				if c := visit(w); c != nil {
					return c
				}
			}
		}
		state[n] = done
		path = path[:len(path)-1]
		return nil
	}
	for _, n := range g.nodes {
		if state[n] == 0 {
			if c := visit(n); c != nil {
				return c
			}
		}
	}
	return nil
}
