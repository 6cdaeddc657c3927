package desk

import (
	"fmt"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/shelf/storage"
	"beadline/cure"
)

// The limits that the desk adds for what a scanner read.
const (
	LimitScan shelf.Name = "scan"         // the code may not say all that the label does
	LimitList shelf.Name = "list-differs" // label and stock list differ
)

// FromScan is the batch that a bar code describes, as far as it does. class is what a
// person says it is, or ""; then the file of GTINs, which may be nil, is asked. The
// error is of a class that contradicts that file.
func FromScan(s *scan.Scan, class string, g *GTINs) (shelf.Item, error) {
	it := shelf.Item{
		Batch: s.Lot, Container: s.Serial, Class: class,
		DOM: s.DOM, Expiry: s.Expiry, Inspect: s.TestBy, BestBefore: s.BestBefore,
	}
	if p, ok := StickerOf(s); ok { // its end is of one container, not the batch's expiry
		it.Container, it.Expiry = p.Container, label.Date{}
	}
	switch known := g.Class(s.GTIN); {
	case class == "":
		it.Class = known
	case known != "" && known != class:
		return it, fmt.Errorf("%s says that GTIN %s is %s, not %s: which is it?", g.Name, s.GTIN, known, class)
	}
	return it, nil
}

// Scanned judges a batch whose label was scanned. A code by which a date may be missing,
// or may mean another than it was read as, holds it, whatever else is known.
func (j *Judge) Scanned(it shelf.Item, s *scan.Scan) Checked {
	c := j.Item(it)
	c.Scan = s
	p, own := StickerOf(s)
	if own {
		c = j.Stuck(c, p)
	}
	if it.Class == "" && s.GTIN != "" && j.GTINs != nil {
		c.Judgement.Assumed = append(c.Judgement.Assumed, fmt.Sprintf("%s does not have the GTIN %s.", j.GTINs.Name, s.GTIN))
	}
	for _, w := range s.Warnings {
		switch {
		case w.Trouble == scan.Swallowed:
			c.Judgement = byScan(c.Judgement, sentence(w.Text))
		case w.Trouble == scan.NoMeaning && endless(&it):
			c.Judgement = byScan(c.Judgement, sentence(w.Text)+" The expiry may be there, and nothing else printed is known to end it.")
		case w.Trouble == scan.Odd:
			c.Judgement = byScan(c.Judgement, sentence(w.Text))
		default:
			c.Judgement.Assumed = append(c.Judgement.Assumed, sentence(w.Text))
		}
	}
	if d := s.SellBy; !d.IsZero() && d.Last().Before(j.On) && endless(&it) {
		c.Judgement = byScan(c.Judgement, fmt.Sprintf("Its sell-by date, %s, is past, and nothing else printed is known to end it.", d))
	}
	dates := []label.Date{it.Expiry, it.Inspect, it.BestBefore}
	if own {
		dates = append(dates, p.End)
	}
	for _, d := range dates {
		if farCentury(d, j.On) {
			c.Judgement = byScan(c.Judgement, fmt.Sprintf("%q reads as %s by the century rule of GS1, and nothing keeps so long.", d.Printed(), d))
		}
	}
	return c
}

// endless reports whether nothing that is printed ends a batch.
func endless(it *shelf.Item) bool {
	return it.Expiry.IsZero() && it.Inspect.IsZero() && it.BestBefore.IsZero()
}

// byScan holds a batch because of what its code says.
func byScan(v shelf.Judgement, reason string) shelf.Judgement {
	l := held(LimitScan, reason, "the scan")
	l.Who = "Read the label with your own eyes."
	l.Evidence = "Lot and dates typed from the label in place of the scan, by --batch, --dom, --expiry and --class, settle it."
	return holdFirst(v, l)
}

// Against compares a row of a stock list with the label that was scanned to find it. A
// date that differs holds the batch: one of the two is wrong, or it is another tin. The
// end on the label of an opened, thawed or mixed container is one of its own.
func (j *Judge) Against(c Checked, s *scan.Scan) Checked {
	c.Scan = s
	list, on := "list", "on the list"
	if c.Stock != nil {
		list, on = "register", "in the register"
	}
	expiry := s.Expiry
	p, own := StickerOf(s)
	if own {
		c, expiry = j.Stuck(c, p), label.Date{}
	}
	var differ []string
	for _, d := range []struct {
		what          string
		label, listed label.Date
	}{
		{"expiry", expiry, c.Item.Expiry}, {"made", s.DOM, c.Item.DOM},
		{"inspect/test", s.TestBy, c.Item.Inspect}, {"best before", s.BestBefore, c.Item.BestBefore},
	} {
		if !d.label.IsZero() && !d.listed.IsZero() && !sameDate(d.label, d.listed) {
			differ = append(differ, fmt.Sprintf("%s %s on the label, %s %s", d.what, d.label, d.listed, on))
		} else if !d.label.IsZero() && d.listed.IsZero() {
			differ = append(differ, fmt.Sprintf("%s %s on the label, and not %s", d.what, d.label, on))
		}
		if d.what != "made" && farCentury(d.label, j.On) {
			differ = append(differ, farWords(d.what, d.label))
		}
	}
	if own && farCentury(p.End, j.On) {
		differ = append(differ, farWords("use-by", p.End))
	}
	if known := j.GTINs.Class(s.GTIN); known != "" && known != c.Item.Class {
		differ = append(differ, fmt.Sprintf("%s by its GTIN, %s %s", known, c.Item.Class, on))
	}
	if s.Doubt {
		differ = append(differ, "the code may lack a date: "+texts(s.Warnings, scan.Swallowed))
	}
	if endless(&c.Item) && s.Expiry.IsZero() && s.TestBy.IsZero() && s.BestBefore.IsZero() {
		if said := texts(s.Warnings, scan.NoMeaning); said != "" {
			differ = append(differ, "the "+list+" has no date that ends it, and the code may: "+said)
		}
	}
	for _, w := range s.Warnings {
		if w.Trouble != scan.Swallowed {
			c.Judgement.Assumed = append(c.Judgement.Assumed, sentence(w.Text))
		}
	}
	if differ != nil {
		l := held(LimitList, "Label and "+list+" differ: "+strings.TrimSuffix(strings.Join(differ, "; "), ".")+".", "the scan and the stock list")
		l.Who = "Whoever keeps the list must compare it with the tin."
		l.Evidence = "The label read again and the list corrected settle it."
		if c.Stock != nil {
			l.Source = "the scan and the register"
			l.Who = "Whoever keeps the register must compare it with the tin."
			l.Evidence = "The label read again and the record corrected settle it."
		}
		c.Judgement = holdFirst(c.Judgement, l)
	}
	return c
}

func farWords(what string, d label.Date) string {
	return fmt.Sprintf("%s %q reads as %s by the century rule of GS1, and nothing keeps so long", what, d.Printed(), d)
}

// sameDate reports whether two dates are the same to the minute. What the list has only
// by its day is another than a moment of that day.
func sameDate(a, b label.Date) bool {
	m, timed := a.Clock()
	n, timedToo := b.Clock()
	return a.First() == b.First() && a.Last() == b.Last() && timed == timedToo && m == n
}

func texts(warnings []scan.Warning, kind scan.Trouble) string {
	var all []string
	for _, w := range warnings {
		if w.Trouble == kind {
			all = append(all, w.Text)
		}
	}
	return strings.Join(all, "; ")
}

// StoreLog adds up the logger of the store in which a batch of a class lay. The error
// names the file.
func (j *Judge) StoreLog(name, class string) (shelf.Storage, error) {
	air, err := ReadAir(name, j.Zone())
	if err != nil {
		return shelf.Storage{}, err
	}
	return j.Stored(air, air.Samples, class, name)
}

// Stored adds up readings of a log, some of it or all, for a batch of a class that lay
// there meanwhile; where is what the place is called.
func (j *Judge) Stored(air *Air, samples []cure.Sample, class, where string) (shelf.Storage, error) {
	st, err := storage.FromLog(samples, j.class(class).rules, j.Zone())
	if err != nil {
		return shelf.Storage{}, fmt.Errorf("%s: %w", air.Name, err)
	}
	st.Where = where
	for _, n := range air.Notes {
		if !strings.HasPrefix(n, "no reading from") && !strings.Contains(n, "more such gaps") { // the sum says at what they were taken
			st.Notes = append(st.Notes, sentence(n))
		}
	}
	return st, nil
}

// farCentury reports whether a code's two digits of a year may as well be of the century
// before.
func farCentury(d label.Date, today date.Date) bool {
	return d.YearDigits() == 2 && d.Unsure(today) != ""
}
