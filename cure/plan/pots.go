package plan

import (
	"fmt"
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/plan/verify"
)

// group is the pots that serve one layer, or one named pot.
type group struct {
	id     string
	whole  bool // one wet face: never divided
	choice int  // of the model: how many pots; −1: none
}

// morePots is how many pots beyond the fewest a layer may be divided into, where that
// makes the job ready sooner: each costs a kit and its waste.
const morePots = 1

// divide works out, for each layer of a joint, how many pots it may take and what each
// does, and notes what no pot can do.
func (b *built) divide(n *jointNodes) {
	j := n.j
	n.groups, n.parts = make([]*group, len(j.Layers)), make([][][]portion, len(j.Layers))
	for k := range j.Layers {
		l, f := &j.Layers[k], n.feels[k]
		room := b.room(f)
		g := &group{id: fmt.Sprintf("%s/%d", j.ID, k), whole: l.Seal == cure.Faying || l.Mix != ""}
		count, fewest, most := units(j, l), 1, 1
		if !g.whole {
			fewest = b.fewest(n, k, count, room)
			most = min(count, fewest+morePots)
		}
		for pots := fewest; pots <= most; pots++ {
			n.parts[k] = append(n.parts[k], split(j, l, n.wet(k), count, pots, b.j.Mixing.Waste))
		}
		n.groups[k], g.choice = g, -1
		if b.w.extra == nil {
			g.choice = b.choose(len(n.parts[k]), question{group: g.id}, g.id)
		}
		b.eachDivision(n, k, func(parts []portion) error {
			b.fits(n, k, parts, room)
			return nil
		})
	}
}

// eachDivision lays out each number of pots that a layer may be divided into.
func (b *built) eachDivision(n *jointNodes, k int, f func([]portion) error) error {
	g := n.groups[k]
	if g.choice < 0 {
		return f(n.parts[k][b.w.extra[g.id]])
	}
	for i, parts := range n.parts[k] {
		if err := b.under(g.choice, i, func() error { return f(parts) }); err != nil {
			return err
		}
	}
	return nil
}

// fits notes what the pots of a layer cannot do.
func (b *built) fits(n *jointNodes, k int, parts []portion, room time.Duration) {
	j, l, f := n.j, &n.j.Layers[k], n.feels[k]
	for _, p := range parts {
		if need := b.mixing(f) + p.lay + p.torque; need > room {
			b.hinder(j.ID, tooLong(j, l, f, p, b.mixing(f), room, n.wet(k)), true)
		}
		if most, why := b.largest(f); p.ml > most+1e-9 {
			b.hinder(j.ID, fmt.Sprintf("%s: the %s needs %.0f ml in one pot, waste included, and %s.", j.ID, l.Seal, p.ml, why), false)
		}
	}
}

// wet reports whether the joint's fasteners are torqued in this layer while it is wet.
func (n *jointNodes) wet(k int) bool {
	return n.torqueLyr == k && n.j.Fasteners.Torque == job.TorqueWet
}

// mixing is how long a pot of the class takes to make: nothing, where it comes ready.
func (b *built) mixing(f *feel) time.Duration {
	if !f.class.MixByHand {
		return 0
	}
	return b.j.Mixing.Takes
}

// layer adds a layer's pots, lays and wet torques. before are the tasks of the layer
// in front of it. It returns the tasks its cure counts from and its lays.
func (b *built) layer(n *jointNodes, k int, before []int) (ends, lays []int, err error) {
	j, l, f := n.j, &n.j.Layers[k], n.feels[k]
	open, why := f.windows()
	if open == nil {
		b.hinder(j.ID, noWindow(j, l, f, why), true)
	}
	err = b.eachDivision(n, k, func(parts []portion) error {
		someLays, someEnds, err := b.portions(n, k, parts, before, open)
		lays, ends = append(lays, someLays...), append(ends, someEnds...)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	wet := n.wet(k)
	if n.torqueLyr == k && !wet {
		err = b.addLateTorque(n, k, ends)
	}
	if wet {
		err = b.holdFilms(n, k, ends)
	}
	n.finals[k] = ends
	return ends, lays, err
}

// largest is the largest pot of a sealant, in ml, and what sets it; +Inf where nothing
// does. A bulk epoxy is never mixed in a larger pot than its pot life is of: what that
// life is holds for every pot of the plan then.
func (b *built) largest(f *feel) (ml float64, why string) {
	ml = math.Inf(1)
	if most := b.j.Mixing.MaxML; most > 0 {
		ml, why = most, fmt.Sprintf("the largest pot is %.0f ml (mixing: max)", most)
	}
	for _, m := range []cure.Milestone{cure.Application, cure.Assembly} {
		c, _, err := f.class.Curve(m)
		if err != nil || c.Mass == nil || f.class.Density == 0 {
			continue
		}
		if most := c.Mass.RefG / f.class.Density; most < ml {
			ml, why = most, fmt.Sprintf("the %s time of %s is that of a pot of %.0f g, which is %.0f ml", m, f.class.ID, c.Mass.RefG, most)
		}
	}
	return ml, why
}

// room is the longest that a pot of this sealant lasts in working time over the next
// week.
func (b *built) room(f *feel) (longest time.Duration) {
	app, err := f.notAfter(cure.Application)
	if err != nil || len(b.spans) == 0 {
		return time.Duration(math.MaxInt64) // a consumable without a pot life, or nobody is ever there to mix
	}
	for _, w := range b.spans {
		if w.From > 7*24*60 && longest > 0 {
			break
		}
		for t := w.From; t < w.To; t += 60 {
			v := app.At(t)
			if v >= solve.Never {
				continue // it outlasts the air that is known
			}
			longest = max(longest, time.Duration(v-t)*tick)
		}
	}
	if _, note, _ := f.class.Curve(cure.Assembly); note == "" {
		asm, err := f.notAfter(cure.Assembly)
		if err == nil && len(b.spans) > 0 {
			t := b.spans[0].From
			if v := asm.At(t); v < solve.Never {
				longest = max(longest, time.Duration(v-t)*tick)
			}
		}
	}
	return longest
}

// fewest is the smallest number of pots whose work fits the pot life and the pot
// size.
func (b *built) fewest(n *jointNodes, k, count int, room time.Duration) int {
	j, l, f, wet := n.j, &n.j.Layers[k], n.feels[k], n.wet(k)
	for pots := 1; pots < count; pots++ {
		fits := true
		for _, p := range split(j, l, wet, count, pots, b.j.Mixing.Waste) {
			if most, _ := b.largest(f); b.mixing(f)+p.lay+p.torque > room || p.ml > most+1e-9 {
				fits = false
			}
		}
		if fits {
			return pots
		}
	}
	return max(1, count)
}

// portions adds the tasks of each pot's share.
func (b *built) portions(n *jointNodes, k int, parts []portion, before []int, open []solve.Window) (lays, ends []int, err error) {
	j, l, f, wet := n.j, &n.j.Layers[k], n.feels[k], n.wet(k)
	for _, p := range parts {
		pt := b.pot(n, l, f)
		pt.ml += p.ml
		pt.serves = append(pt.serves, p.words)
		lay := b.add(Task{ID: taskWords(j, l, p.words), Kind: TaskKind(verify.Lay), Joint: j.ID, Layer: k, Mix: pt.id, Units: p.units}, p.lay, 1, l.Can)
		b.m.Tasks[lay].With = pt.task + 1
		b.m.Tasks[lay].Within = open
		b.m.Tasks[lay].Late = true
		b.after(pt.task, lay)
		if err := b.potLine(pt, f, lay, cure.Application, p.words); err != nil {
			return nil, nil, err
		}
		for _, t := range before {
			b.after(t, lay)
		}
		end := lay
		pt.ends = append(pt.ends, lay)
		if wet {
			end = b.wetTorque(n, k, p, lay)
			if err := b.potLine(pt, f, end, cure.Assembly, p.words); err != nil {
				return nil, nil, err
			}
			pt.ends = append(pt.ends, end)
			n.laid = append(n.laid, end)
		}
		n.work = append(n.work, lay)
		n.laid = append(n.laid, lay)
		if n.firstSitting(k) {
			n.first = append(n.first, pt.task, lay)
		}
		lays, ends = append(lays, lay), append(ends, end)
	}
	return lays, ends, nil
}

func (n *jointNodes) firstSitting(k int) bool {
	for i := 1; i <= k; i++ {
		if n.j.Layers[i].AfterSet {
			return false
		}
	}
	return true
}

// pot makes the next pot for a layer, or finds the one it shares by name.
func (b *built) pot(n *jointNodes, l *job.Layer, f *feel) *pot {
	if l.Mix != "" {
		for _, p := range b.pots {
			if p.id == l.Mix && b.within(p) {
				b.workOn(n, p.task)
				return p
			}
		}
	}
	id := l.Mix
	if id == "" {
		id = fmt.Sprintf("pot %d", len(b.pots)+1)
	}
	p := &pot{id: id, auto: l.Mix == "", class: f.class.ID, feel: f}
	verb := "mix "
	if !f.class.MixByHand {
		verb = "open "
	}
	p.task = b.add(Task{ID: verb + f.class.ID, Kind: TaskKind(verify.Mix), Joint: n.j.ID, Mix: id}, b.mixing(f), 1, b.j.Mixing.Can)
	b.m.Tasks[p.task].Late, b.m.Tasks[p.task].Cost = true, 1
	b.pots = append(b.pots, p)
	b.workOn(n, p.task)
	return p
}

// within reports whether a pot is made in the ways that are being laid out.
func (b *built) within(p *pot) bool {
	return !slices.ContainsFunc(b.m.Tasks[p.task].If, func(k solve.Pick) bool { return !slices.Contains(b.with, k) })
}

func (b *built) workOn(n *jointNodes, task int) { n.work = append(n.work, task) }

// sharePots refuses a pot shared by layers of different classes; where the job leaves
// the class open, only the ways that would have it are ruled out. A shared pot that is
// too big for one mixing rules its ways out too.
func (b *built) sharePots() error {
	for _, p := range b.pots {
		if most, why := b.largest(p.feel); !p.auto && p.ml > most+1e-9 {
			b.obstacles = append(b.obstacles, obstacle{text: fmt.Sprintf("Mix %s needs %.1f ml for all that it serves, waste included, and %s: give its layers mixes of their own.", p.id, p.ml, why), with: b.m.Tasks[p.task].If})
		}
		if p.auto {
			continue
		}
		for k := range b.j.Joints {
			for _, n := range b.joints[b.j.Joints[k].ID] {
				if err := b.oneClass(p, n); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// oneClass holds the layers of a joint that share a pot to the class of the pot.
func (b *built) oneClass(p *pot, n *jointNodes) error {
	for i := range n.j.Layers {
		mine := b.m.Tasks[p.task].If
		if n.j.Layers[i].Mix != p.id || n.feels[i].class.ID == p.class || len(n.with) > 0 && len(mine) > 0 && !slices.Equal(n.with, mine) {
			continue
		}
		text := fmt.Sprintf("mix %s is %s here and %s elsewhere: one pot holds one class", p.id, n.feels[i].class.ID, p.class)
		if !b.chosen() {
			return fmt.Errorf("%s:%d: %s", b.j.File, n.j.Layers[i].Line, text)
		}
		with := n.with
		if with == nil {
			with = mine
		}
		b.obstacles = append(b.obstacles, obstacle{joint: n.j.ID, text: n.j.ID + ": " + text + ".", with: with})
	}
	return nil
}

// chosen reports whether the job leaves a choice of classes.
func (b *built) chosen() bool {
	return slices.ContainsFunc(b.j.Joints, func(j job.Joint) bool { return len(j.Classes) > 1 })
}

// potLine holds a task to its pot's line, and to the shift the pot was mixed in: no
// mix is started whose last fastener falls after the shift.
func (b *built) potLine(p *pot, f *feel, task int, m cure.Milestone, words string) error {
	if f.class.Has(m) {
		fn, err := f.notAfter(m)
		if err != nil {
			return err
		}
		b.notLater(p.task, solve.AtStart, task, fn, fmt.Sprintf("%s: %s time of %s", words, m, p.id))
	}
	b.notLater(p.task, solve.AtStart, task, solve.NewCalls(b.shiftEnd), words+": done within the shift it is mixed in")
	b.m.Lags[len(b.m.Lags)-1].Shift = true
	return nil
}

// wetTorque adds the torque of a portion's fasteners while the sealant is wet.
func (b *built) wetTorque(n *jointNodes, k int, p portion, lay int) int {
	fs := n.j.Fasteners
	count := fs.Count
	if byCount(n.j, &n.j.Layers[k]) {
		count = int(p.units)
	}
	t := b.add(Task{ID: fmt.Sprintf("torque %d fasteners wet, %s", count, n.j.ID), Kind: TaskKind(verify.Torque), Joint: n.j.ID, Layer: k,
		Mix: b.tasks[lay].Mix, Units: float64(count)}, p.torque, fs.People, fs.Can)
	b.m.Tasks[t].With = lay + 1
	b.after(lay, t)
	n.work = append(n.work, t)
	n.torque = append(n.torque, t)
	return t
}

// holdFilms holds every fastener to the pots of all films that it sits in: the faying
// and wet-install layers before the one that its torque is planned with.
func (b *built) holdFilms(n *jointNodes, k int, ends []int) error {
	for i := 0; i < k; i++ {
		if s := n.j.Layers[i].Seal; s != cure.Faying && s != cure.WetInstall {
			continue
		}
		for _, p := range b.pots {
			for _, t := range n.finals[i] {
				if b.tasks[t].Mix != p.id {
					continue
				}
				for _, e := range ends {
					if err := b.potLine(p, n.feels[i], e, cure.Assembly, n.j.ID+", "+string(n.j.Layers[i].Seal)); err != nil {
						return err
					}
				}
			}
		}
		n.finals[i] = append(n.finals[i], ends...)
	}
	return nil
}

// lateTorque are the torques of the joint that wait for its sealant.
func (n *jointNodes) lateTorque() []int {
	if f := n.j.Fasteners; f == nil || f.Torque == job.TorqueWet {
		return nil
	}
	return n.torque
}

// addLateTorque adds the torque of a formed-in-place gasket, which waits for its cure.
func (b *built) addLateTorque(n *jointNodes, k int, ends []int) error {
	fs := n.j.Fasteners
	m := cure.TackFree
	if fs.Torque == job.TorqueCured {
		m = cure.Cured
	}
	fn, err := b.notBefore(n, k, m)
	if err != nil {
		return fmt.Errorf("%s:%d: joint %s: %w", b.j.File, n.j.Layers[k].Line, n.j.ID, err)
	}
	t := b.add(Task{ID: fmt.Sprintf("torque %d fasteners, %s", fs.Count, n.j.ID), Kind: TaskKind(verify.Torque), Joint: n.j.ID, Layer: k,
		Units: float64(fs.Count)}, torqueTime(fs, fs.Count), fs.People, fs.Can)
	for _, e := range ends {
		b.lag(e, solve.AtEnd, t, solve.AtStart, fn, fmt.Sprintf("%s: gasket to %s", n.j.ID, m))
	}
	n.work, n.torque, n.laid = append(n.work, t), append(n.torque, t), append(n.laid, t)
	return nil
}
