package main

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/tag"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// describing are the flags of label that say what a batch is, where no list does.
var describing = []string{"expiry", "dom", "inspect", "best-before", "code", "opened", "out-used", "hot", "held", "condition"}

func (f *labelFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	f.set, f.names = fl.Changed, describing
	fl.StringVar(&f.class, "class", "", "sealant class, such as polysulfide-b-2")
	fl.StringVar(&f.batch, "batch", "", "batch or lot number as on the container")
	fl.StringVar(&f.stock, "stock", "", "stock list with the batch, a CSV file; - is standard input")
	f.list.add(cmd)
	fl.StringVar(&f.state, "state", "", "what was done: opened, thawed or mixed")
	fl.StringVar(&f.when, "when", "", "when that was, such as 2027-03-05T02:00 (default: now)")
	fl.StringVar(&f.by, "by", "", "who did it (default: a line to write it on)")
	fl.StringArrayVar(&f.containers, "container", nil, "number of the container; repeat it for more")
	fl.IntVar(&f.count, "count", 0, "so many containers, numbered from 1")
	fl.StringVar(&f.expiry, "expiry", "", "expiry printed on the container")
	fl.StringVar(&f.dom, "dom", "", "date of manufacture")
	fl.StringVar(&f.inspect, "inspect", "", "inspect/test date printed on the container")
	fl.StringVar(&f.best, "best-before", "", "best-before date printed on the container")
	fl.StringVar(&f.code, "code", "", "US DoD shelf-life code on the container, such as 4 or J")
	fl.StringVar(&f.opened, "opened", "", "when it was opened, if it is thawed or mixed now")
	fl.StringVar(&f.outUsed, "out-used", "", "time out of the freezer before this, such as 30h")
	fl.StringVar(&f.hot, "hot", "", "when it was first too warm in store")
	fl.StringVar(&f.held, "held", "", "why a person set it aside, if one did")
	fl.StringArrayVar(&f.conditions, "condition", nil, "what is wrong: damaged, cloudy, skinned, separated or label-gone; repeat it")
	fl.StringVar(&f.pot, "pot", "", "temperature of what is mixed, such as 25C (default: 23C)")
	fl.StringVar(&f.potMass, "pot-mass", "", "how much is mixed in the pot, such as 150g or 5oz")
	fl.StringVar(&f.gtin, "gtin", "", "trade item number of the container: makes the codes GS1")
	fl.StringVar(&f.out, "out", "", "file to write: a .pdf or .png")
	fl.BoolVar(&f.force, "force", false, "let --out replace a file")
	fl.StringVar(&f.page, "page", "A4", "sheet to print on: A4 or Letter")
	fl.StringVar(&f.label, "label", "70x37mm", "size of one label, width first")
	fl.StringVar(&f.gap, "gap", "", "space between labels, across and down, such as 2.5x0mm")
	fl.IntVar(&f.start, "start", 1, "first free position of a part-used sheet, along the rows")
	fl.StringVar(&f.roll, "roll", "", "one label a page, for a roll printer: its size, such as 62x40mm")
	fl.IntVar(&f.dpi, "dpi", 300, "dots per inch of the printer")
	fl.BoolVar(&f.holdTag, "hold-tag", false, "if it may not be used, make a tag DO NOT USE")
	fl.BoolVar(&f.noBars, "no-bars", false, "leave the Code 128 out")
}

// labelQuestion turns the words of the command line into a question.
func (a *app) labelQuestion(f *labelFlags) (q desk.LabelQuestion, err error) {
	if err := f.conflicts(); err != nil {
		return q, err
	}
	o, err := f.list.options()
	if err != nil {
		return q, err
	}
	c, err := a.classes()
	if err != nil {
		return q, err
	}
	if q.State, err = tag.ParseState(f.state); err != nil {
		return q, usagef("--state %w", err)
	}
	if err := a.moments(f, &q); err != nil {
		return q, err
	}
	if f.stock != "" {
		err = a.readListed(f, o, c, &q)
	} else {
		err = f.readItem(o, c, &q)
	}
	if err != nil {
		return q, err
	}
	if _, unfit := q.Unfit(); unfit {
		return q, nil
	}
	if err := desk.Labelled(q.Class, q.State); err != nil {
		return q, usagef("--state %s: %w", f.state, err)
	}
	return q, f.readPot(&q)
}

// conflicts refuses a question that does not say which batch, or says it twice.
func (f *labelFlags) conflicts() error {
	f.batch = strings.TrimSpace(f.batch)
	given, listed := f.given(), f.stock != ""
	switch {
	case !listed && f.set("map"), !listed && f.set("encoding"):
		return usagef("--map and --encoding are for reading a stock list: name it with --stock")
	case f.class == "" && !listed:
		return usagef("label needs the class of what is in the container: --class polysulfide-b-2, or the list that it stands on: --stock FILE.csv")
	case f.batch == "":
		return usagef("label needs the batch on the container: --batch S-2207")
	case f.state == "":
		return usagef("label needs what was done: --state opened, thawed or mixed")
	case listed && len(given) > 0:
		return usagef("--stock %s: the list says what the batch is, so leave out %s", f.stock, flagNames(given))
	}
	return nil
}

// moments reads when it was done, and when it is asked.
func (a *app) moments(f *labelFlags, q *desk.LabelQuestion) (err error) {
	if q.Now, err = a.now(); err != nil {
		return err
	}
	q.When = q.Now
	if f.when == "" || f.when == "now" {
		return nil
	}
	if q.When, err = a.moment("when", f.when); err != nil {
		return err
	}
	if q.When.After(q.Now.Add(farthestWhen)) {
		return usagef("--when %s lies more than %s ahead of now, %s: is the day right? Make the label when it is done", f.when, quantity.FormatSpan(farthestWhen),
			q.Now.In(q.When.Location()).Format("Mon 2 Jan 2006 15:04 MST"))
	}
	return nil
}

// readItem reads what the container's own label and records say.
func (f *labelFlags) readItem(o stock.Options, c *catalog.Catalog, q *desk.LabelQuestion) error {
	cl, err := c.Find(f.class)
	if err != nil {
		return err
	}
	q.Class = &cl
	switch {
	case f.opened != "" && q.State == tag.Opened:
		return usagef("--opened %s: with --state opened that is --when: leave it out", f.opened)
	case f.outUsed != "" && q.State != tag.Thawed:
		return usagef("--out-used %s: only what is thawed has a time out of the freezer: leave it out", f.outUsed)
	}
	return f.item(&q.Item, label.How{Today: date.NewAt(q.Now), Order: o.Order}, q.Now.Location())
}

// readListed takes what a stock list knows of the batch. What the list has of it and
// cannot be judged as a whole is held, as check holds it.
func (a *app) readListed(f *labelFlags, o stock.Options, c *catalog.Catalog, q *desk.LabelQuestion) error {
	list, err := desk.OpenList(a.in, f.stock, o.Encoding)
	if err != nil {
		return err
	}
	defer list.Close()
	asked := q.Asked()
	j := desk.NewJudge(c, asked.On)
	j.Ask(asked)
	rows, warnings, err := j.BatchOn(list, o, f.batch)
	a.note(warnings...)
	if err != nil {
		return err
	}
	row, err := desk.LabelRow(rows, f.containers, q.State)
	if err != nil {
		return usagef("%s: batch %s: %w", list.Name, f.batch, err)
	}
	switch it := row.Item; {
	case f.class != "" && it.Class != "" && f.class != it.Class:
		return usagef("--class %s: %s says %s: leave it out, or correct the list", f.class, row.Place, it.Class)
	case f.gtin != "" && row.Row.GTIN != "" && f.gtin != row.Row.GTIN:
		return usagef("--gtin %s: %s says %s: leave it out, or correct the list", f.gtin, row.Place, row.Row.GTIN)
	case f.set("count") && it.Container != "" && q.State != tag.Mixed:
		return usagef("--count %d: %s is one container, %s: leave it out", f.count, row.Place, it.Container)
	}
	q.From(row, c)
	return nil
}

// readPot reads the temperature and the mass of what is mixed.
func (f *labelFlags) readPot(q *desk.LabelQuestion) (err error) {
	q.PotC = usualPotC
	if f.pot != "" {
		if q.State == tag.Opened {
			return usagef("--pot %s: nothing is mixed yet: leave it out", f.pot)
		}
		q.PotSaid = true
		if q.PotC, err = readTemp("pot", f.pot); err != nil {
			return err
		}
	}
	if f.potMass == "" {
		return nil
	}
	if q.State != tag.Mixed {
		return usagef("--pot-mass %s: nothing is mixed: leave it out", f.potMass)
	}
	if q.PotG, err = quantity.Mass(f.potMass); err != nil {
		return usagef("--pot-mass %w", err)
	}
	if q.PotG == 0 {
		return usagef("--pot-mass %s: a pot has something in it: write it like 150g", f.potMass)
	}
	return nil
}

// numbered are the containers to be labelled, each without the spaces around it.
func (f *labelFlags) numbered() ([]string, error) {
	switch {
	case f.set("count") && f.containers != nil:
		return nil, usagef("--count %d: --container says which they are: leave one out", f.count)
	case f.set("count") && (f.count < 1 || f.count > mostLabels), len(f.containers) > mostLabels:
		return nil, usagef("--count %d: say 1 to %d containers", max(f.count, len(f.containers)), mostLabels)
	}
	var all []string
	for i := range f.count {
		all = append(all, strconv.Itoa(i+1))
	}
	for i, c := range f.containers {
		c = strings.TrimSpace(c)
		f.containers[i] = c
		switch {
		case c == "":
			return nil, usagef("--container is empty: say its number, or leave it out")
		case slices.Contains(all, c):
			return nil, usagef("--container %s stands there twice: each has a number of its own", c)
		}
		all = append(all, c)
	}
	return all, nil
}

// paper reads where the labels go: the form of the file, and the sheet.
func (f *labelFlags) paper() (form string, s tag.Sheet, err error) {
	form = strings.ToLower(strings.TrimPrefix(filepath.Ext(f.out), "."))
	switch {
	case f.out == "":
		return "", s, usagef("label needs a file to write: --out labels.pdf")
	case form != "pdf" && form != "png":
		return "", s, usagef("--out %s: end its name in .pdf or .png: that says what to write", f.out)
	}
	s = tag.Sheet{DPI: f.dpi, NoBars: f.noBars}
	if f.roll != "" {
		for _, other := range []string{"page", "label", "gap", "start"} {
			if f.set(other) {
				return "", s, usagef("--%s: a roll has one label a page: leave it or --roll out", other)
			}
		}
		if s.Label, err = desk.PaperSize(f.roll); err != nil {
			err = usagef("--roll %w", err)
		}
		return form, s, err
	}
	switch {
	case strings.EqualFold(f.page, "A4"):
		s.Page = tag.A4
	case strings.EqualFold(f.page, "Letter"):
		s.Page = tag.Letter
	default:
		return "", s, usagef("--page %s: say A4 or Letter, or --roll 62x40mm for a roll printer", f.page)
	}
	if s.Start = f.start; f.start < 1 {
		return "", s, usagef("--start %d: positions count from 1", f.start)
	}
	if s.Label, err = desk.PaperSize(f.label); err != nil {
		return "", s, usagef("--label %w", err)
	}
	if f.gap != "" {
		if s.Gap, err = desk.PaperSize(f.gap); err != nil {
			return "", s, usagef("--gap %w", err)
		}
	}
	return form, s, nil
}
