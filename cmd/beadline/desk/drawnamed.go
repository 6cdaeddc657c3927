package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
)

// The batches that the job names: is each good, of the class, and enough?

// named says it of every joint that names a batch. What is wrong joins the reasons why
// the plan is not feasible as asked, and what is drawn instead joins what would help.
func (d *drawer) named() {
	for _, j := range d.p.Job.Joints {
		if j.Batch == "" {
			continue
		}
		x, needs := d.namedBy(j)
		d.out.Named = append(d.out.Named, x)
		if x.Verdict != shelf.Use {
			d.refuse(x, needs)
		}
	}
}

// namedBy judges the batch that a joint names for each of the pots that it is for.
func (d *drawer) namedBy(j job.Joint) (Named, []*need) {
	lots := d.ofBatch(j.Batch)
	needs := d.needsOfJoint(j)
	x := Named{Joint: j.ID, Batch: j.Batch, On: d.p.Job.Start}
	var why []string
	x.Verdict, why = d.listed(j, lots)
	if len(needs) == 0 && len(lots) > 0 && why == nil {
		x.Verdict, why = shelf.Hold, []string{fmt.Sprintf("It is %s, and no mix of the joint is.", lots[0].row.Item.Class)}
	}
	judged := needs
	if len(needs) == 0 {
		judged = []*need{{at: d.p.Job.Start, until: d.p.Job.Start}}
	}
	v, n := d.worst(j.Batch, lots, judged)
	if n != nil {
		x.On = n.at
		switch {
		case v.Verdict != shelf.Use:
			x.Verdict, why = max(x.Verdict, v.Verdict), append(why, d.onDayOf(n, judged)+v.Governing.Reason)
		case why == nil:
			why = []string{v.Governing.Reason}
		}
	}
	if x.Verdict == shelf.Use {
		if say := d.tooLittle(j, needs, lots); say != "" {
			x.Verdict, why = shelf.Hold, []string{say}
		}
	}
	x.Reason = strings.Join(why, " ")
	return x, needs
}

// needsOfJoint are the pots that the batch a joint names is for.
func (d *drawer) needsOfJoint(j job.Joint) []*need {
	var out []*need
	for _, n := range d.needs {
		if d.sealsWith(j, n.class) && slices.Contains(n.joints, j.ID) {
			out = append(out, n)
		}
	}
	return out
}

// listed says what is wrong with how the list has a batch, whatever its dates.
func (d *drawer) listed(j job.Joint, lots []*lot) (shelf.Verdict, []string) {
	var why []string
	bad := d.badOf(j.Batch)
	switch {
	case len(lots)+len(bad) == 0:
		why = append(why, fmt.Sprintf("It is not in %s.", d.out.List))
	case len(lots) > 0 && d.makers(lots) > 1:
		why = append(why, fmt.Sprintf("%d makers have a batch of this number in %s, and the job cannot say which.", d.makers(lots), d.out.List))
	case len(lots) > 0 && lots[0].doubt != "":
		why = append(why, upperFirst(lots[0].doubt)+".")
	}
	for _, b := range bad {
		why = append(why, fmt.Sprintf("Its row cannot be read (%s:%d): %s.", b.File, b.Line, strings.TrimSuffix(b.Reason, ".")))
	}
	for _, l := range lots {
		if c := l.row.Item.Class; !d.sealsWith(j, c) {
			why = append(why, fmt.Sprintf("It is %s, and the plan seals with %s.", c, d.sealants(j)))
			break
		}
	}
	if why == nil {
		return shelf.Use, nil
	}
	return shelf.Hold, why
}

// makers is how many makers the rows of one batch number are of.
func (d *drawer) makers(lots []*lot) int {
	seen := map[batchOf]bool{}
	for _, l := range lots {
		seen[l.batch()] = true
	}
	return len(seen)
}

// sealants are the classes that a joint is sealed with.
func (d *drawer) sealants(j job.Joint) string {
	if c := d.p.Chosen[j.ID]; c != "" {
		return c
	}
	var all []string
	for _, l := range j.Layers {
		if !slices.Contains(all, l.Class) {
			all = append(all, l.Class)
		}
	}
	return strings.Join(all, " and ")
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// worst judges every row of a batch for every pot and gives the severest verdict: of
// equals the earliest pot's, but of good ones the last pot's, which has the fewest days
// left. Rows that cannot be read count where they reject all the same. Of containers that
// can be told apart it is enough that some are good.
func (d *drawer) worst(batch string, lots []*lot, needs []*need) (w shelf.Judgement, at *need) {
	for _, n := range needs {
		var v shelf.Judgement
		some := false
		for _, l := range lots {
			f := d.fit(l, n)
			apart := l.doubt == ""
			if !some || apart && f.judged.Verdict < v.Verdict || !apart && f.judged.Verdict > v.Verdict {
				v, some = f.judged, true
			}
		}
		for _, b := range d.badOf(batch) {
			d.judge.Ask(d.question(n))
			if f := d.judge.Faulty(b); f.Verdict == shelf.Reject {
				v, some = f, true
			}
		}
		if some && (at == nil || v.Verdict > w.Verdict || v.Verdict == shelf.Use && w.Verdict == shelf.Use) {
			w, at = v, n
		}
	}
	return w, at
}

// onDayOf says which pot's day decides, where the pots are mixed on several.
func (d *drawer) onDayOf(n *need, needs []*need) string {
	day := func(n *need) string { return n.at.In(d.p.Job.Zone).Format("Mon 2 Jan") }
	if day(needs[0]) == day(needs[len(needs)-1]) {
		return ""
	}
	return "On " + day(n) + ": "
}

// badOf are the rows of a batch that cannot be read.
func (d *drawer) badOf(batch string) (found []stock.Bad) {
	for _, b := range d.bad {
		if b.Batch == batch {
			found = append(found, b)
		}
	}
	return found
}

// tooLittle says that a batch does not hold enough for the pots that it is named for; ""
// if it serves them all.
func (d *drawer) tooLittle(j job.Joint, needs []*need, lots []*lot) string {
	all := true
	for _, n := range needs {
		all = all && slices.ContainsFunc(d.out.Draws, func(x Drawn) bool { return x.Mix == n.mix && x.Item.Batch == j.Batch }) && n.short == 0
	}
	if all {
		return ""
	}
	if n := slices.IndexFunc(needs, func(n *need) bool { return n.named != j.Batch }); n >= 0 {
		return fmt.Sprintf("It is good, but %s serves another joint too and is drawn from %s, which that one names.", needs[n].what, needs[n].named)
	}
	have, ask, least := 0.0, 0.0, ""
	for _, l := range lots {
		have += l.whole
	}
	for _, n := range d.needs {
		if n.named == j.Batch {
			a, ok := n.amount(lots[0])
			if ask += a; !ok {
				least = "more than "
			}
		}
	}
	switch unit := unitOf(lots[0]); {
	case lots[0].by == stock.ByPack && lots[0].kept != "":
		return fmt.Sprintf("It is good but too little: %s, so %s left, and the mixes need %g, at least one for each mix.", lots[0].kept, stock.Amount(have, packUnit(unit)), ask)
	case lots[0].by == stock.ByPack:
		return fmt.Sprintf("It is good but too little: %s on the shelf, and the mixes need %g, at least one for each mix.", stock.Amount(have, packUnit(unit)), ask)
	case have < ask:
		return fmt.Sprintf("It is good but too little: %s on the shelf, and the mixes need %s%s.", stock.Amount(have, unit), least, stock.Amount(math.Ceil(ask), unit))
	default:
		return "It is good, but it is measured out and not every amount of the mixes is stated."
	}
}

// packUnit is the word for packs of a row that has no unit.
func packUnit(unit string) string {
	if strings.TrimSpace(unit) == "" {
		return "kit"
	}
	return unit
}

// refuse adds the trouble to the plan, and what is drawn instead.
func (d *drawer) refuse(x Named, needs []*need) {
	say := "Batch %s, named for the %s, is on hold. %s"
	rest, good := strings.CutPrefix(x.Reason, "It is good")
	where, absent := strings.CutPrefix(x.Reason, "It is not in")
	switch {
	case absent:
		say, x.Reason = "Batch %s, named for the %s, is not in%s", where
	case x.Verdict == shelf.Reject:
		say = "Do not use batch %s, named for the %s. %s"
	case good:
		say, x.Reason = "Batch %s, named for the %s, is good%s", rest
	}
	d.refused = append(d.refused, fmt.Sprintf(say, x.Batch, x.Joint, x.Reason))
	if fix := d.replaced(x, needs); fix != "" {
		d.instead = append(d.instead, plan.Fix{What: fix, Ready: d.p.Ready, Meets: d.p.Job.ReadyBy.IsZero() || !d.p.Ready.After(d.p.Job.ReadyBy)})
	}
}

// replaced says what is drawn in place of a batch that the job names; "" where that is not
// enough.
func (d *drawer) replaced(x Named, needs []*need) string {
	var batches []string
	mixes := map[string][]string{}
	for _, n := range needs {
		if n.short > 0 {
			return ""
		}
		for _, dr := range d.out.Draws {
			if b := dr.Item.Batch; dr.Mix == n.mix && b != x.Batch && !slices.Contains(mixes[b], n.what) {
				if mixes[b] == nil {
					batches = append(batches, b)
				}
				mixes[b] = append(mixes[b], n.what)
			}
		}
	}
	switch {
	case batches == nil:
		return ""
	case len(batches) == 1 && len(mixes[batches[0]]) == len(needs):
		return fmt.Sprintf("draw batch %s for the %s instead of %s", batches[0], x.Joint, x.Batch)
	}
	var parts []string
	for _, b := range batches {
		parts = append(parts, b+" for "+listed(mixes[b]))
	}
	return fmt.Sprintf("draw batch %s of the %s instead of %s", listed(parts), x.Joint, x.Batch)
}

// listed writes names in a row: "a", "a and b", "a, b and c".
func listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
