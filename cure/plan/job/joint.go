package job

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/quantity"

	"github.com/goccy/go-yaml/ast"
)

func (d *decoder) joints(top *section) {
	if !top.has("joints") {
		top.missing("joints", "joints: [{id: fuel-bay door, class: …, layers: […]}]")
	}
	nodes := top.list("joints", "[{id: fuel-bay door, class: …, layers: […]}]")
	if n, ok := top.entries["joints"]; ok && len(nodes) == 0 && !isNull(n.node) {
		d.wrong(n.at, "joints is empty; add the joint to be sealed")
	}
	for i, n := range nodes {
		s, ok := d.open(n, called(n, "id", fmt.Sprintf("joint %d", i+1)), "id", "class", "classes", "layers", "fasteners", "prepare",
			"warm", "heat", "part", "inspect", "after", "hidden-by", "near-fuel", "batch")
		if ok {
			d.joint(s)
		}
	}
}

func (d *decoder) joint(s *section) {
	j := Joint{Line: s.at.line}
	j.ID = need(s, "id", "id: fuel-bay door", readName)
	d.classes(s, &j)
	// Fasteners come first: layers that are laid by the fastener need them.
	if n, ok := s.value("fasteners"); ok {
		j.Fasteners = d.fasteners(n, s.what)
	}
	d.layers(s, &j)
	d.torque(s, &j)
	d.prepare(s, &j)
	if yes, ok := get(s, "near-fuel", readYes); ok {
		j.NearFuel = &yes
	}
	if n, ok := s.value("warm"); ok {
		if w, ok := d.open(n, "warm of "+s.what, "to", "takes"); ok {
			j.Warm = &Warm{need(w, "to", "to: 20C", readTemp), need(w, "takes", "takes: 2h", readTask), w.at.line}
		}
	}
	if n, ok := s.value("heat"); ok {
		j.Heat = d.heat(n, &j, s)
	}
	if n, ok := s.value("part"); ok {
		p := d.part(n, "part of "+s.what)
		j.Part = &p
	}
	d.inspection(s, &j)
	j.Batch = orElse(s, "batch", "", readName)

	i := len(d.job.Joints)
	d.job.Joints = append(d.job.Joints, j)
	d.name(j.ID, RefMilestone, i, s.place("id"))
	d.wait(s, "after", func(refs []Ref) { d.job.Joints[i].After = refs })
	d.hide(s, i)
}

// classes reads class or classes, which may only be missing where every layer
// names a class of its own.
func (d *decoder) classes(s *section, j *Joint) {
	if s.has("class") && s.has("classes") {
		d.wrong(s.place("classes"), "%s: class and classes are both given; keep classes if the plan shall choose, else class", s.what)
		return
	}
	if c, ok := get(s, "class", readName); ok {
		j.Classes = []string{c}
	}
	for _, w := range s.words("classes") {
		if slices.Contains(j.Classes, w.text) {
			d.wrong(w.place, "%s: classes: %q is there twice; take one out", s.what, w.text)
		}
		j.Classes = append(j.Classes, w.text)
	}
	if n, ok := s.entries["classes"]; ok && !isNull(n.node) && len(j.Classes) == 0 {
		d.wrong(n.at, "%s: classes is empty; name a sealant class", s.what)
	}
}

func (d *decoder) layers(s *section, j *Joint) {
	if !s.has("layers") {
		s.missing("layers", "layers: [{seal: fillet, spread: 12min}]")
	}
	nodes := s.list("layers", "[{seal: fillet, spread: 12min}]")
	if n, ok := s.entries["layers"]; ok && len(nodes) == 0 && !isNull(n.node) {
		d.wrong(n.at, "%s: layers is empty; add one, like {seal: fillet, spread: 12min}", s.what)
	}
	var places []place
	for i, n := range nodes {
		l, ok := d.open(n, fmt.Sprintf("layer %d of %s", i+1, s.what), "seal", "class", "mix", "bead", "spread", "each", "after", "within", "can")
		if !ok {
			continue
		}
		j.Layers = append(j.Layers, d.layer(l, i == 0, j, s))
		places = append(places, l.at)
	}
	d.sharedPots(s, j, places)
}

func (d *decoder) layer(s *section, first bool, j *Joint, joint *section) Layer {
	l := Layer{Line: s.at.line, Can: orElse(s, "can", "seal", readName)}
	l.Seal = need(s, "seal", "seal: fillet", readSeal)
	l.Class = orElse(s, "class", "", readName)
	if !s.has("class") && !s.meant["class"] && !joint.has("class") && !joint.has("classes") && !joint.meant["class"] && !joint.meant["classes"] {
		d.wrong(s.at, "%s: no sealant class is named; add class: here or to the joint", s.what)
		joint.meant["class"] = true // said once, though every layer lacks it
	}
	l.Mix = orElse(s, "mix", "", readName)
	if n, ok := s.value("bead"); ok {
		l.Bead = d.bead(n, s.what)
	}
	l.Spread = orElse(s, "spread", 0, readTask)
	l.Each = orElse(s, "each", 0, readTask)
	switch spread, each := s.has("spread"), s.has("each"); {
	case spread && l.Seal == cure.WetInstall && joint.has("fasteners"): // without them it has that trouble already
		d.wrong(s.place("spread"), "%s: wet-install is laid fastener by fastener, not as a whole; write each: 40s, the time for one, instead of spread", s.what)
	case spread && each:
		d.wrong(s.place("each"), "%s: spread and each are both given; keep spread for the whole layer or each for one fastener", s.what)
	case !spread && !each && !s.meant["spread"] && !s.meant["each"]:
		d.wrong(s.at, "%s: how long the laying takes is missing; add spread: 12min for the whole layer, or each: 40s for one fastener", s.what)
	}
	d.needFasteners(s, l, joint)
	if m, ok := get(s, "after", readMilestone); ok {
		l.After, l.AfterSet = m, true
	}
	if first && s.has("after") {
		d.wrong(s.place("after"), "%s: the first layer has no layer before it to wait for; take after out, or use after: of the joint", s.what)
	}
	l.Within = orElse(s, "within", 0, readWait)
	if s.has("within") && !s.has("after") && !s.meant["after"] {
		d.wrong(s.place("within"), "%s: within needs the milestone it counts from; add after: tack-free", s.what)
	}
	if lay, people := d.laying(l, j); l.Within > 0 && lay > l.Within*time.Duration(people) {
		d.wrong(s.place("within"), "%s: within %s is shorter than the laying takes, %s by %d who can %s; allow longer, or take within out",
			s.what, quantity.FormatSpan(l.Within), quantity.FormatSpan(lay), people, l.Can)
	}
	d.use(l.Can, 1, s.what, s.at)
	return l
}

// laying is how long a layer takes to lay by one person, and how many there are for it: no
// more than these can share it.
func (d *decoder) laying(l Layer, j *Joint) (takes time.Duration, people int) {
	takes = l.Spread
	if takes == 0 && j.Fasteners != nil {
		takes = l.Each * time.Duration(j.Fasteners.Count)
	}
	for _, p := range d.job.Crew {
		if p.Has(l.Can) {
			people++
		}
	}
	return takes, max(1, people)
}

// needFasteners refuses a layer that is nothing without fasteners in a joint that
// has none.
func (d *decoder) needFasteners(s *section, l Layer, joint *section) {
	if joint.has("fasteners") || joint.meant["fasteners"] {
		return
	}
	const add = "add fasteners: {count: 24, each: 90s, torque: wet} to the joint"
	before := len(d.problems)
	switch {
	case l.Seal == cure.Faying:
		d.wrong(s.at, "%s: a faying film is closed by fasteners and the joint has none; %s", s.what, add)
	case l.Seal == cure.WetInstall:
		d.wrong(s.at, "%s: wet-install is done fastener by fastener and the joint has none; %s", s.what, add)
	case s.has("each"):
		d.wrong(s.place("each"), "%s: each is the time for one fastener and the joint has none; give spread: for the whole layer, or %s", s.what, add)
	case l.Bead.PerFastenerML > 0:
		d.wrong(s.place("bead"), "%s: per-fastener is sealant for one fastener and the joint has none; %s", s.what, add)
	}
	if len(d.problems) > before {
		joint.meant["fasteners"] = true // said once
	}
}

func (d *decoder) bead(n ast.Node, what string) (b Bead) {
	s, ok := d.open(n, "bead of "+what, "area", "thickness", "length", "leg", "per-fastener", "faces")
	if !ok {
		return b
	}
	b.AreaMM2 = orElse(s, "area", 0, readArea)
	b.ThicknessMM = orElse(s, "thickness", 0, readThickness)
	b.LengthMM = orElse(s, "length", 0, readLength)
	b.LegMM = orElse(s, "leg", 0, readThickness)
	b.PerFastenerML = orElse(s, "per-fastener", 0, readDrop)
	b.Faces = orElse(s, "faces", 0, readCount(2))
	return b
}

// sharedPots refuses a pot that would have to outlive a wait between its layers.
func (d *decoder) sharedPots(s *section, j *Joint, places []place) {
	last := map[string]int{} // mix, to the layer that used it last
	for i, l := range j.Layers {
		if l.Mix == "" {
			continue
		}
		classes := j.Classes
		if l.Class != "" {
			classes = []string{l.Class}
		}
		d.pots = append(d.pots, potUse{l.Mix, classes, fmt.Sprintf("layer %d of %s", i+1, s.what), places[i]})
		if before, shared := last[l.Mix]; shared {
			for k := before + 1; k <= i; k++ {
				if j.Layers[k].AfterSet {
					d.wrong(places[i], "layer %d of %s: it shares mix %q with layer %d, but layer %d waits for %s and the pot would be dead; give it a mix of its own",
						i+1, s.what, l.Mix, before+1, k+1, j.Layers[k].After)
				}
			}
		}
		last[l.Mix] = i
	}
}

func (d *decoder) fasteners(n ast.Node, joint string) *Fasteners {
	s, ok := d.open(n, "fasteners of "+joint, "count", "studs", "bolts", "each", "passes", "people", "torque", "value", "reference", "nut", "can")
	if !ok {
		return nil
	}
	f := &Fasteners{Can: orElse(s, "can", "torque", readName)}
	f.Studs = orElse(s, "studs", 0, readCount(maxCount))
	f.Bolts = orElse(s, "bolts", 0, readCount(maxCount))
	sum := f.Studs + f.Bolts
	if n, ok := get(s, "count", readCount(maxCount)); ok {
		f.Count = n
		if (s.has("studs") || s.has("bolts")) && sum != n {
			d.wrong(s.place("count"), "%s: %d studs and %d bolts make %d, not %d; correct one of them", s.what, f.Studs, f.Bolts, sum, n)
		}
	} else if !s.has("count") {
		if f.Count = sum; sum == 0 {
			s.missing("count", "count: 24")
		} else if sum > maxCount {
			d.wrong(s.place("studs"), "%s: %d studs and bolts are more than %d; check the figures", s.what, sum, maxCount)
		}
	}
	f.Each = need(s, "each", "each: 90s", readTask)
	f.Torque = need(s, "torque", "torque: wet", readTorque)
	f.Passes = orElse(s, "passes", 1, readCount(20))
	if !s.has("passes") {
		d.assumeFor(joint, "Fasteners are taken to be torqued in one pass (not said)")
	}
	f.People = orElse(s, "people", 1, readCount(maxCrew))
	f.Value = orElse(s, "value", "", readValue)
	f.Reference = orElse(s, "reference", "", readName)
	f.Nut = orElse(s, "nut", "", readName)
	d.use(f.Can, f.People, s.what, s.at)
	return f
}

// torque refuses a late torque where it would break a film that has set, and a wet one
// where nothing wet lies under the fasteners (common practice, no source).
func (d *decoder) torque(s *section, j *Joint) {
	if j.Fasteners == nil || j.Fasteners.Torque == "" || len(j.Layers) == 0 {
		return
	}
	if j.Fasteners.Torque == TorqueWet {
		if !wetUnder(j.Layers) {
			d.wrong(s.place("fasteners"), "fasteners of %s: torque wet needs sealant under the fasteners, and no faying or wet-install layer is laid in the first sitting; "+
				"put such a layer first, before any after:, or take the fasteners out and give spread: to the layers", s.what)
		}
		return
	}
	gasket := false
	for i, l := range j.Layers {
		if l.Seal == cure.Faying || l.Seal == cure.WetInstall {
			d.wrong(s.place("fasteners"), "fasteners of %s: torque %s breaks the film of layer %d (%s); write torque: wet, later torque belongs to formed-in-place gaskets",
				s.what, j.Fasteners.Torque, i+1, l.Seal)
			return
		}
		gasket = gasket || l.Seal == cure.FormedGasket || l.Seal == ""
	}
	if !gasket && len(j.Layers) > 0 {
		d.wrong(s.place("fasteners"), "fasteners of %s: torque %s belongs to formed-in-place gaskets and the joint has none; write torque: wet", s.what, j.Fasteners.Torque)
	}
}

var prepKinds = []string{string(Strip), string(Examine), string(Clean), string(Promoter), string(Mask)}

// wetUnder reports whether the layers laid in one go at the start, before any that
// waits for a milestone, have one that fasteners are torqued into. A layer whose seal
// could not be read has its own trouble.
func wetUnder(layers []Layer) bool {
	for i, l := range layers {
		if i > 0 && l.AfterSet {
			return false
		}
		if l.Seal == cure.Faying || l.Seal == cure.WetInstall || l.Seal == "" {
			return true
		}
	}
	return false
}

func (d *decoder) prepare(s *section, j *Joint) {
	for i, n := range s.list("prepare", "[{strip: 30min}, {clean: 40min, seal-within: 4h}]") {
		p, ok := d.open(n, fmt.Sprintf("preparation step %d of %s", i+1, s.what), append(slices.Clone(prepKinds), "seal-within", "can", "splittable")...)
		if !ok {
			continue
		}
		var kinds []string
		for _, k := range prepKinds {
			if p.has(k) {
				kinds = append(kinds, k)
			}
		}
		if len(kinds) != 1 {
			if len(p.meant) == 0 || len(kinds) > 1 {
				d.wrong(p.at, "%s: exactly one of %s is wanted in each step; start a new step for the next", p.what, strings.Join(prepKinds, ", "))
			}
			continue
		}
		j.Prepare = append(j.Prepare, d.prep(p, PrepKind(kinds[0]), s.what))
	}
}

func (d *decoder) prep(s *section, kind PrepKind, joint string) Prep {
	p := Prep{Kind: kind, Line: s.at.line, Can: "seal"}
	if kind == Examine {
		p.Can = "inspect"
	}
	p.Can = orElse(s, "can", p.Can, readName)
	p.Splittable = orElse(s, "splittable", false, readYes)
	d.use(p.Can, 1, s.what, s.at)
	if s.has("seal-within") && kind != Clean {
		d.wrong(s.place("seal-within"), "%s: seal-within goes with clean; for a promoter write {promoter: {dry: 30min, within: 8h}}", s.what)
	}
	p.Within = orElse(s, "seal-within", 0, readWait)
	if kind != Promoter {
		p.Takes = need(s, string(kind), "", readTask)
		return p
	}
	n, ok := s.value("promoter")
	if !ok {
		return p
	}
	pr, ok := d.open(n, "promoter of "+joint, "dry", "within", "takes")
	if !ok {
		return p
	}
	p.Dry = need(pr, "dry", "dry: 30min", readWait)
	p.Within = orElse(pr, "within", 0, readWait)
	switch {
	case !pr.has("within"):
		d.assumeFor(joint, "No time is said within which to seal after the promoter, so none is kept")
	case p.Within > 0 && p.Within <= p.Dry:
		d.wrong(pr.place("within"), "%s: within is not longer than dry, so there is no time to seal; check both", pr.what)
	}
	p.Takes = orElse(pr, "takes", 5*time.Minute, readTask)
	if !pr.has("takes") {
		d.assumeFor(joint, "Putting on promoter is taken as 5 min (not said)")
	}
	return p
}

// heat reads accelerated cure. Beside fuel it is refused until somebody has
// recorded that the space is gas-free (common practice, no source).
func (d *decoder) heat(n ast.Node, j *Joint, joint *section) *Heat {
	s, ok := d.open(n, "heat of "+joint.what, "to", "from", "gas-free", "set-up", "can")
	if !ok {
		return nil
	}
	h := &Heat{Line: s.at.line, ToC: need(s, "to", "to: 40C", readTemp)}
	h.From = orElse(s, "from", HeatAfterTackFree, readHeat)
	if !s.has("from") {
		d.assumeFor(joint.what, "Heat is taken to start after tack-free (not said)")
	}
	h.SetUp = orElse(s, "set-up", 15*time.Minute, readTask)
	if !s.has("set-up") {
		d.assumeFor(joint.what, "Setting up heat is taken as 15 min (not said)")
	}
	_, h.GasFree = get(s, "gas-free", readOne([]string{"recorded"}, []bool{true}))
	near := j.NearFuel == nil || *j.NearFuel
	if near && !s.has("gas-free") && !s.meant["gas-free"] && !joint.meant["near-fuel"] {
		d.wrong(s.at, "%s: no heat near fuel without a recorded gas-free state; add gas-free: recorded to heat once it is, or near-fuel: false to the joint if there is no fuel near", s.what)
	}
	h.Can = orElse(s, "can", "seal", readName)
	d.use(h.Can, 1, s.what, s.at)
	return h
}

func (d *decoder) inspection(joint *section, j *Joint) {
	j.Inspect = Inspect{10 * time.Minute, "inspect"}
	s := &section{r: &d.report, at: joint.at}
	if n, ok := joint.value("inspect"); ok {
		if open, ok := d.open(n, "inspect of "+joint.what, "takes", "can"); ok {
			s = open
		}
	}
	j.Inspect.Takes = orElse(s, "takes", j.Inspect.Takes, readTask)
	j.Inspect.Can = orElse(s, "can", j.Inspect.Can, readName)
	if !s.has("takes") {
		d.assumeFor(joint.what, "Inspecting a sealed joint is taken as 10 min (not said)")
	}
	d.use(j.Inspect.Can, 1, "inspection of "+joint.what, s.at)
}
