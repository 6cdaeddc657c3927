package desk

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
)

// Batches checks the batches that a job names against a stock list, each on the day
// its first pot is mixed: is it good that day, is it of the class, is there enough.
// What is wrong joins the reasons why the plan is not feasible as asked; batches that
// would do join what would help. Without a stock list it notes that nothing was
// checked.
func Batches(p *plan.Plan, stockFile string, c *catalog.Catalog) error {
	names := slices.ContainsFunc(p.Job.Joints, func(j job.Joint) bool { return j.Batch != "" })
	switch {
	case stockFile == "" && !names:
		return nil
	case stockFile == "":
		p.Assumptions = append(p.Assumptions, "The batches that the job names are taken to be good and enough: give --stock FILE to check them.")
		return nil
	}
	data, err := ReadFile(stockFile)
	if err != nil {
		return err
	}
	sheet, err := stock.ReadCSV(bytes.NewReader(data), stockFile, date.NewAt(p.Job.Start.In(p.Job.Zone)))
	if err != nil {
		return err
	}
	if !names {
		p.Assumptions = append(p.Assumptions, "The job names no batches (batch: under a joint), so "+stockFile+" was not needed.")
	}
	if !p.Found {
		return nil
	}
	d := drawer{p: p, sheet: &sheet, c: c, need: map[string]float64{}}
	for _, j := range p.Job.Joints {
		if j.Batch != "" {
			d.draw(j)
		}
	}
	return nil
}

// drawer checks one job's batches. need adds up what each batch is asked for by all
// joints that draw from it: kits where the class has a kit, else ml.
type drawer struct {
	p     *plan.Plan
	sheet *stock.Sheet
	c     *catalog.Catalog
	need  map[string]float64
}

func (d *drawer) draw(j job.Joint) {
	use := plan.Batch{Joint: j.ID, Batch: j.Batch, Verdict: shelf.Hold.String()}
	class, day, kits, ml := d.asked(j)
	use.On = day
	rows := d.sheet.Find(j.Batch)
	switch {
	case len(rows) == 0:
		use.Reason = fmt.Sprintf("It is not in %s.", d.sheet.Name)
	case len(rows) > 1:
		use.Reason = fmt.Sprintf("%s lists it on %d rows: give each container a batch name of its own.", d.sheet.Name, len(rows))
	case rows[0].Item.Class != class:
		use.Reason = fmt.Sprintf("It is %s, and the plan seals with %s.", rows[0].Item.Class, class)
	default:
		v := NewJudge(d.c, date.NewAt(day)).Full(rows[0].Item)
		use.Verdict, use.Reason = v.Verdict.String(), v.Governing.Reason
		if v.Verdict == shelf.Use {
			short, need := d.short(rows[0], kits, ml)
			d.need[j.Batch] = need
			if short != "" {
				use.Verdict, use.Reason = shelf.Hold.String(), short
			}
		}
	}
	d.p.Batches = append(d.p.Batches, use)
	if use.Verdict != shelf.Use.String() {
		d.refuse(use, class, kits, ml)
	}
}

// asked is the class and amount that a joint's own pots ask of its batch, and the
// day of the first.
func (d *drawer) asked(j job.Joint) (class string, day time.Time, kits, ml float64) {
	class = d.p.Chosen[j.ID]
	for _, m := range d.p.Mixes {
		if m.Class != class || !slices.Contains(m.Joints, j.ID) {
			continue
		}
		if day.IsZero() || m.At.Before(day) {
			day = m.At.In(d.p.Job.Zone)
		}
		ml += m.ML
		kits++
		if cl, err := d.c.Find(class); err == nil && cl.KitML > 0 && m.ML > cl.KitML {
			kits += math.Ceil(m.ML/cl.KitML) - 1
		}
	}
	if day.IsZero() {
		day = d.p.Job.Start.In(d.p.Job.Zone)
	}
	return class, day, kits, ml
}

// short says that a batch does not hold enough for these mixes on top of what other
// joints draw from it, and how much that is in all; "" if it does, or if it cannot be
// told. A kit is for one mix unless it is weighed: what is left of it is scrapped.
func (d *drawer) short(r stock.Row, kits, ml float64) (say string, need float64) {
	need = d.need[r.Item.Batch]
	unit := r.Unit
	switch strings.ToLower(strings.TrimSuffix(r.Unit, "s")) {
	case "kit", "cartridge", "can", "tin", "ea", "":
		unit, need = cmp.Or(strings.TrimSuffix(r.Unit, "s"), "kit"), need+kits
	case "ml":
		need += ml
	default:
		return "", need
	}
	if !r.Counted || r.Quantity >= need {
		return "", need
	}
	if unit == "ml" {
		return fmt.Sprintf("It is good but too little: %g ml on the shelf, and the mixes need %g ml.", r.Quantity, math.Ceil(need)), need
	}
	return fmt.Sprintf("It is good but too little: %s on the shelf, and the mixes need %g, at least one for each mix.", count(r.Quantity, unit), need), need
}

// count writes "1 kit" and "3 kits".
func count(n float64, unit string) string {
	if n != 1 && unit != "ea" {
		unit += "s"
	}
	return fmt.Sprintf("%g %s", n, unit)
}

// refuse adds the trouble to the plan, and the batches that would do instead.
func (d *drawer) refuse(b plan.Batch, class string, kits, ml float64) {
	if d.p.Infeasible == nil {
		d.p.Infeasible = &plan.Infeasible{Proven: true, Earliest: d.p.Ready}
	}
	x := d.p.Infeasible
	say := "Batch %s, named for the %s, is on hold. %s"
	if b.Verdict == shelf.Reject.String() {
		say = "Do not use batch %s, named for the %s. %s"
	}
	x.Because = append(x.Because, fmt.Sprintf(say, b.Batch, b.Joint, b.Reason))
	judge := NewJudge(d.c, date.NewAt(b.On))
	for _, r := range d.sheet.List {
		if r.Item.Class != class || r.Item.Batch == b.Batch {
			continue
		}
		short, _ := d.short(r, kits, ml)
		if v, _, _ := judge.Glance(&r.Item); v == shelf.Use && short == "" {
			x.Fixes = append(x.Fixes, plan.Fix{What: fmt.Sprintf("draw batch %s for the %s instead of %s", r.Item.Batch, b.Joint, b.Batch), Ready: d.p.Ready,
				Meets: d.p.Job.ReadyBy.IsZero() || !d.p.Ready.After(d.p.Job.ReadyBy)})
		}
	}
}
