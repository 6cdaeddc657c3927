package desk

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/nearest"
)

// What is missing, and why what else is on the list does not count.

// mostWhys is how many reasons one shortage gives; a list may have thousands of rows.
const mostWhys = 8

// short says what the pots of a class are short of.
func (d *drawer) short(class string, pots []*need, k *picker) {
	s := Short{Class: class, Unit: "kit"}
	if cl, err := d.c.Find(class); err == nil && cl.Kind != catalog.TwoPart {
		s.Unit = "cartridge"
	}
	var without []*need
	for _, n := range pots {
		s.Needed += n.packs
		s.Missing += n.short
		if n.short > 0 {
			without = append(without, n)
		}
	}
	d.missing(&s, without, d.ofClass(class))
}

// missing fills in a shortage: who goes without, and why nothing more is drawn of the
// rows that might do.
func (d *drawer) missing(s *Short, without []*need, lots []*lot) {
	s.Good = s.Needed - s.Missing
	s.By, s.Until = without[0].at, without[0].until
	for _, n := range without {
		s.Gaps = append(s.Gaps, Unserved{n.what, n.at, max(1, n.short)})
		if n.until.After(s.Until) {
			s.Until = n.until
		}
	}
	class := s.Class + s.Item
	var why []string
	for _, l := range lots {
		say, free := d.whyNot(l, without)
		if say != "" {
			why = append(why, rowWords(l, d.out.Register)+": "+say)
		}
		s.Freeable += free
	}
	for _, b := range d.bad {
		switch b.Row.Item.Class {
		case class:
			why = append(why, b.String())
		case "":
			why = append(why, b.String()+"; it may be this class")
		}
	}
	if lots == nil && why == nil {
		say := "%s lists none."
		if d.out.Register {
			say = "There is none in the register %s."
		}
		why = append(why, fmt.Sprintf(say, d.out.List))
	}
	why = append(why, d.misspelt(class)...)
	if more := d.hidden[class] + max(0, len(why)-mostWhys); more > 0 {
		why = append(why[:min(mostWhys, len(why))], fmt.Sprintf("and %d more rows that do not count.", more))
	}
	s.Why = why
	d.out.Shorts = append(d.out.Shorts, *s)
}

// rowWords is a row as people find it: "S-2190, 2 kits (quarantine shelf, line 3)"; in a
// register it has no line.
func rowWords(l *lot, register bool) string {
	r := l.row
	say := r.Item.Batch
	if r.Item.Container != "" {
		say += "/" + r.Item.Container
	}
	if r.Counted {
		say += ", " + stock.Amount(r.Quantity, r.Unit)
	}
	where := fmt.Sprintf("line %d", r.Line)
	switch {
	case register && r.Location == "":
		return say
	case register:
		where = r.Location
	case r.Location != "":
		where = r.Location + ", " + where
	}
	return say + " (" + where + ")"
}

// whyNot is why nothing more of a row serves those that go without; "" where all of it is
// promised. free is how many packs would do if the hold on them were lifted.
func (d *drawer) whyNot(l *lot, without []*need) (say string, free int) {
	switch {
	case l.doubt != "":
		return l.doubt + ".", 0
	case l.whole <= 0 && l.kept != "":
		return l.kept + ".", 0
	case l.whole <= 0:
		return "none is left.", 0
	case l.left <= 0 && l.kept != "":
		return l.kept + ", the rest is drawn.", 0
	case l.left <= 0:
		return "", 0
	}
	for _, n := range without {
		f := d.fit(l, n)
		if !f.good {
			g := f.judged.Governing
			if f.judged.Verdict == shelf.Reject {
				return "DO NOT USE" + d.onDay(l, n) + ". " + g.Reason, 0
			}
			if g.Name == shelf.LimitOutlast {
				return "not for long enough" + d.onDay(l, n) + ". " + g.Reason, 0
			}
			say = "HOLD" + d.onDay(l, n) + ". " + g.Reason
			if l.by == stock.ByPack {
				free = int(l.left)
			}
			return strings.TrimSpace(say + " " + g.Who), free
		}
	}
	n := without[0]
	amount, known := n.amount(l)
	switch {
	case !known:
		return fmt.Sprintf("good, but it is measured out and the amount of %s is not stated.", n.what), 0
	case l.left < amount:
		return fmt.Sprintf("good, but %s is left and %s takes %s, and one pot is not made of two batches.",
			stock.Amount(l.left, unitOf(l)), n.what, stock.Amount(amount, unitOf(l))), 0
	}
	return "good, and promised to others.", 0
}

// onDay says which moment a verdict is of, where the row is good at another.
func (d *drawer) onDay(l *lot, n *need) string {
	if slices.ContainsFunc(d.needsOf(n.class), func(o *need) bool { return d.fit(l, o).good }) {
		return n.at.In(d.p.Job.Zone).Format(" on Mon 2 Jan")
	}
	return ""
}

func (d *drawer) needsOf(class string) []*need {
	var out []*need
	for _, n := range d.needs {
		if n.class == class {
			out = append(out, n)
		}
	}
	return out
}

// unitOf is what the left of a row is counted in.
func unitOf(l *lot) string {
	switch l.by {
	case stock.ByML:
		return "ml"
	case stock.ByGram:
		return "g"
	}
	return l.row.Unit
}

// misspelt are rows of a class that nobody knows and that may be meant for this one.
func (d *drawer) misspelt(class string) []string {
	var out []string
	for alien, line := range d.alien {
		if _, err := d.c.Find(alien); err != nil && slices.Contains(nearest.Names(alien, d.c.IDs(), 3), class) {
			out = append(out, fmt.Sprintf("%s is listed as %q, which is no class: if it is this one, correct the list.", d.at(line), alien))
		}
	}
	slices.Sort(out)
	return out
}

// Who are the gaps in words: "mix 6 (Tue 30 Mar 07:52)".
func (s *Short) Who(z *time.Location) []string {
	var out []string
	for _, g := range s.Gaps {
		out = append(out, g.What+g.At.In(z).Format(" (Mon 2 Jan 15:04)"))
	}
	return out
}

// Order is what to do about a shortage: "Order 1 kit, here by Tue 30 Mar 07:52 WEST and
// good through 30 March 2027."
func (s *Short) Order(z *time.Location) string {
	return fmt.Sprintf("Order %s, here by %s and good until the work is done, %s.", stock.Amount(float64(s.Missing), s.Unit),
		s.By.In(z).Format("Mon 2 Jan 15:04 MST"), s.Until.In(z).Format("Mon 2 Jan 15:04"))
}
