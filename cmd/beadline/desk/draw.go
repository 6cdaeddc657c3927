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

// Batches checks the batches that a job names against a stock list, each on every day
// that one of its pots is mixed: is it good that day, is it of the class, is there
// enough.
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
	class, days, kits, ml := d.asked(j)
	use := plan.Batch{Joint: j.ID, Batch: j.Batch, On: days[0]}
	verdict, why := d.listed(j.Batch, class)
	rows := d.sheet.Find(j.Batch)
	if v, ok := d.worst(j.Batch, rows, days); ok {
		use.On = v.day
		if v.Verdict != shelf.Use {
			verdict, why = max(verdict, v.Verdict), append(why, d.said(v, days))
		} else if why == nil {
			why = []string{v.Governing.Reason}
		}
	}
	if verdict == shelf.Use {
		short, need := d.short(rows[0], kits, ml)
		d.need[j.Batch] = need
		if short != "" {
			verdict, why = shelf.Hold, []string{short}
		}
	}
	use.Verdict, use.Reason = verdict.String(), strings.Join(why, " ")
	d.p.Batches = append(d.p.Batches, use)
	if verdict != shelf.Use {
		d.refuse(use, class, days, kits, ml)
	}
}

// listed says what is wrong with how the list has a batch, whatever its dates.
func (d *drawer) listed(batch, class string) (shelf.Verdict, []string) {
	rows, bad := d.sheet.Find(batch), d.bad(batch)
	var why []string
	if n := len(rows) + len(bad); n > 1 {
		why = append(why, fmt.Sprintf("%s lists it on %d rows: give each container a batch name of its own.", d.sheet.Name, n))
	} else if n == 0 {
		why = append(why, fmt.Sprintf("It is not in %s.", d.sheet.Name))
	}
	for _, b := range bad {
		why = append(why, fmt.Sprintf("Its row cannot be read (%s:%d): %s.", b.File, b.Line, strings.TrimSuffix(b.Reason, ".")))
	}
	for _, r := range rows {
		if r.Item.Class != class {
			why = append(why, fmt.Sprintf("It is %s, and the plan seals with %s.", r.Item.Class, class))
			break
		}
	}
	if why == nil {
		return shelf.Use, nil
	}
	return shelf.Hold, why
}

// bad are the rows of a batch that cannot be read.
func (d *drawer) bad(batch string) []stock.Bad {
	var found []stock.Bad
	for _, b := range d.sheet.Bad {
		if b.Batch == batch {
			found = append(found, b)
		}
	}
	return found
}

// judgedOn is what a batch deserves on a day that one of its pots is mixed.
type judgedOn struct {
	shelf.Judgement
	day time.Time
}

// worst judges every row of a batch on every day and gives the severest: of equals the
// earliest, but of good ones the last, which has the fewest days left. ok is false
// where there is nothing to judge.
func (d *drawer) worst(batch string, rows []stock.Row, days []time.Time) (w judgedOn, ok bool) {
	var all []judgedOn
	for _, day := range days {
		j := NewJudge(d.c, date.NewAt(day))
		for _, r := range rows {
			all = append(all, judgedOn{j.Full(r.Item), day})
		}
		for _, b := range d.bad(batch) {
			if v := j.Faulty(b); v.Verdict == shelf.Reject {
				all = append(all, judgedOn{v, day})
			}
		}
	}
	for i, v := range all {
		if i == 0 || v.Verdict > w.Verdict || v.Verdict == shelf.Use && w.Verdict == shelf.Use {
			w = v
		}
	}
	return w, len(all) > 0
}

// said is the reason of a verdict, with its day where the pots are mixed on several.
func (d *drawer) said(v judgedOn, days []time.Time) string {
	if len(days) == 1 {
		return v.Governing.Reason
	}
	return fmt.Sprintf("On %s: %s", v.day.Format("Mon 2 Jan"), v.Governing.Reason)
}

// asked is the class and amount that a joint's own pots ask of its batch, and the
// days on which they are mixed, at least one, each by its first pot.
func (d *drawer) asked(j job.Joint) (class string, days []time.Time, kits, ml float64) {
	class = d.p.Chosen[j.ID]
	for _, m := range d.p.Mixes {
		if m.Class != class || !slices.Contains(m.Joints, j.ID) {
			continue
		}
		days = append(days, m.At.In(d.p.Job.Zone))
		ml += m.ML
		kits++
		if cl, err := d.c.Find(class); err == nil && cl.KitML > 0 && m.ML > cl.KitML {
			kits += math.Ceil(m.ML/cl.KitML) - 1
		}
	}
	if days == nil {
		days = []time.Time{d.p.Job.Start.In(d.p.Job.Zone)}
	}
	slices.SortFunc(days, time.Time.Compare)
	days = slices.CompactFunc(days, func(a, b time.Time) bool { return date.NewAt(a) == date.NewAt(b) })
	return class, days, kits, ml
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
func (d *drawer) refuse(b plan.Batch, class string, days []time.Time, kits, ml float64) {
	if d.p.Infeasible == nil {
		d.p.Infeasible = &plan.Infeasible{Proven: true, Earliest: d.p.Ready}
	}
	x := d.p.Infeasible
	say := "Batch %s, named for the %s, is on hold. %s"
	if b.Verdict == shelf.Reject.String() {
		say = "Do not use batch %s, named for the %s. %s"
	}
	x.Because = append(x.Because, fmt.Sprintf(say, b.Batch, b.Joint, b.Reason))
	for _, r := range d.sheet.List {
		if r.Item.Class != class || r.Item.Batch == b.Batch {
			continue
		}
		short, _ := d.short(r, kits, ml)
		once := len(d.sheet.Find(r.Item.Batch)) == 1 && d.bad(r.Item.Batch) == nil
		if v, _ := d.worst(r.Item.Batch, []stock.Row{r}, days); once && v.Verdict == shelf.Use && short == "" {
			x.Fixes = append(x.Fixes, plan.Fix{What: fmt.Sprintf("draw batch %s for the %s instead of %s", r.Item.Batch, b.Joint, b.Batch), Ready: d.p.Ready,
				Meets: d.p.Job.ReadyBy.IsZero() || !d.p.Ready.After(d.p.Job.ReadyBy)})
		}
	}
}
