package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// labelFlags are the words of one `label`, as written.
type labelFlags struct {
	class, batch, state, when, by string
	containers                    []string
	count                         int
	expiry, dom, inspect, opened  string
	outUsed, pot, potMass         string
	gtin, out                     string
	page, label, gap, roll        string
	start, dpi                    int
	holdTag, noBars, force        bool
	changed                       func(flag string) bool
}

// usualPotC stands for the temperature of a pot that nobody measured.
const usualPotC = 23

// farthestWhen is how far ahead a label may be made out (own decision): its use-by counts
// from then, and nobody sees that the container was opened sooner.
const farthestWhen = 24 * time.Hour

// mostLabels is how many labels one command makes.
const mostLabels = 500

func (a *app) labelCmd() *cobra.Command {
	var f labelFlags
	cmd := &cobra.Command{
		Use: "label --class CLASS --batch BATCH --state STATE --out FILE ...",

		DisableFlagsInUseLine: true,

		Short: "Labels with a use-by for opened, thawed and mixed containers",
		Long: `Label makes a PDF or PNG of labels to stick on what was opened, thawed or
mixed: what it is, since when, by whom, and in large type until when it may be
used. A Data Matrix and a Code 128 say the same to a scanner.

The use-by is the earliest of what ends it: the expiry on the container, the
life of the class from manufacture and once opened, the time out of the
freezer, and for what is mixed the application time at the temperature of the
pot. It is judged as check does. Where that says hold or do not use, no label is
made; --hold-tag makes a tag DO NOT USE in its place.

With --gtin the Data Matrix is GS1: (01) item, (10) batch, (17) or (7003)
use-by, (21) state and container, such as MIXED/2, and the Code 128 has (01),
(10) and (21) if the label is wide enough. Without it the Data Matrix is an
ISO/IEC 15434 envelope with 1T, 14D and S, and the Code 128 has batch and state,
such as S-2207/MIXED. check knows these codes again, and goes by the use-by.

Labels lie in the middle of the page, as many as fit; --start goes on with a
sheet part-used. Print at 100 %, without fitting to the page.

Exit codes: 0 labels made; 1 failure; 2 wrong usage; 3 hold, no use-by can be
given; 4 do not use.`,
		Example: `  beadline label --class polysulfide-b-2 --batch S-2207 --state opened \
      --expiry 2027-06-30 --by "Tech 1" --count 3 --out labels.pdf
  beadline label --class polysulfide-b-2 --batch S-2207 --state mixed \
      --expiry 2027-06-30 --pot 25C --roll 62x40mm --out pot.png
  beadline label --class polysulfide-b-2-premixed --batch P-11 --state thawed \
      --dom 2027-03-01 --when 2027-03-05T02:00 --out thawed.pdf --start 5`,
		Annotations: map[string]string{"formats": "json"},
		Args:        noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.label(f)
		},
	}
	fl := cmd.Flags()
	f.changed = fl.Changed
	fl.StringVar(&f.class, "class", "", "sealant class, such as polysulfide-b-2")
	fl.StringVar(&f.batch, "batch", "", "batch or lot number as on the container")
	fl.StringVar(&f.state, "state", "", "what was done: opened, thawed or mixed")
	fl.StringVar(&f.when, "when", "", "when that was, such as 2027-03-05T02:00 (default: now)")
	fl.StringVar(&f.by, "by", "", "who did it (default: a line to write it on)")
	fl.StringArrayVar(&f.containers, "container", nil, "number of the container; repeat it for more")
	fl.IntVar(&f.count, "count", 0, "so many containers, numbered from 1")
	fl.StringVar(&f.expiry, "expiry", "", "expiry printed on the container")
	fl.StringVar(&f.dom, "dom", "", "date of manufacture")
	fl.StringVar(&f.inspect, "inspect", "", "inspect/test date printed on the container")
	fl.StringVar(&f.opened, "opened", "", "when it was opened, if it is thawed or mixed now")
	fl.StringVar(&f.outUsed, "out-used", "", "time out of the freezer before this, such as 30h")
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
	return cmd
}

// label answers one question and writes the labels; the exit code is the verdict.
func (a *app) label(f labelFlags) error {
	form, sheet, err := f.paper()
	if err != nil {
		return err
	}
	q, err := a.labelQuestion(&f)
	if err != nil {
		return err
	}
	containers, err := f.numbered()
	if err != nil {
		return err
	}
	if f.gtin != "" {
		if f.gtin, err = tag.GTIN(f.gtin); err != nil {
			return usagef("--%w", err)
		}
	}
	l, err := desk.AskLabel(q)
	if err != nil {
		return err
	}
	if l.Verdict == shelf.Use || f.holdTag {
		if err := f.replaces(); err != nil {
			return err
		}
	}
	p := &show.Printed{Label: l}
	if l.Verdict == shelf.Use || f.holdTag {
		tags := l.Tags(containers, strings.TrimSpace(f.by), f.gtin, a.inUnits().Text)
		if p.Drawing, err = tag.Draw(tags, sheet); err != nil {
			return f.blame(err)
		}
		if err := f.write(form, p); err != nil {
			return err
		}
	} else if _, err := os.Stat(f.out); err == nil {
		a.note(f.out + " is there from before: it is not for this container")
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Label(w, p, a.inUnits()) },
		json: func(w io.Writer) error { return show.LabelJSON(w, p, a.inUnits()) },
	})
	if err != nil {
		return err
	}
	return verdictExit(l.Verdict)
}

// replaces refuses to write over a file, unless that was asked for.
func (f *labelFlags) replaces() error {
	info, err := os.Stat(f.out)
	if err != nil || f.force || !info.Mode().IsRegular() { // what is no file is refused as it is written
		return nil
	}
	return usagef("--out %s: there is a file already: name another, or say --force to replace it", f.out)
}

// write puts the drawing into the file, whole or not at all.
func (f *labelFlags) write(form string, p *show.Printed) error {
	var b bytes.Buffer
	var err error
	if form == "pdf" {
		err = p.Drawing.PDF(&b, p.When)
	} else {
		err = p.Drawing.PNG(&b)
	}
	if err != nil {
		return f.blame(err)
	}
	if err := writeWhole(f.out, b.Bytes()); err != nil {
		return fmt.Errorf("--out %w", err)
	}
	p.File = f.out
	return nil
}

// blame names the flag that a fault of a label stands in.
func (f *labelFlags) blame(err error) error {
	var fault *tag.Error
	if !errors.As(err, &fault) {
		return err
	}
	named := *fault
	if named.Field == "label" && f.roll != "" {
		named.Field = "roll"
	}
	if !slices.Contains([]string{"batch", "container", "class", "by", "gtin", "label", "roll", "gap", "start", "dpi", "out"}, named.Field) {
		return &named
	}
	return usagef("--%w", &named)
}

// labelQuestion turns the words of the command line into a question.
func (a *app) labelQuestion(f *labelFlags) (q desk.LabelQuestion, err error) {
	f.batch = strings.TrimSpace(f.batch)
	switch {
	case f.class == "":
		return q, usagef("label needs the class of what is in the container: --class polysulfide-b-2")
	case f.batch == "":
		return q, usagef("label needs the batch on the container: --batch S-2207")
	case f.state == "":
		return q, usagef("label needs what was done: --state opened, thawed or mixed")
	}
	c, err := a.classes()
	if err != nil {
		return q, err
	}
	cl, err := c.Find(f.class)
	if err != nil {
		return q, err
	}
	q.Class = &cl
	if q.State, err = tag.ParseState(f.state); err != nil {
		return q, usagef("--state %w", err)
	}
	if err := desk.Labelled(&cl, q.State); err != nil {
		return q, usagef("--state %s: %w", f.state, err)
	}
	if q.Now, err = a.now(); err != nil {
		return q, err
	}
	q.When = q.Now
	if f.when != "" && f.when != "now" {
		if q.When, err = a.moment("when", f.when); err != nil {
			return q, err
		}
		if q.When.After(q.Now.Add(farthestWhen)) {
			return q, usagef("--when %s lies more than %s ahead of now: make the label when it is done, or say by --at when it is made out", f.when, quantity.FormatSpan(farthestWhen))
		}
	}
	if err := f.readPot(&q); err != nil {
		return q, err
	}
	return q, f.readItem(&q)
}

// readItem reads what the container's own label and records say.
func (f *labelFlags) readItem(q *desk.LabelQuestion) error {
	q.Item.Batch = f.batch
	if f.opened != "" && q.State == tag.Opened {
		return usagef("--opened %s: with --state opened that is --when: leave it out", f.opened)
	}
	for _, x := range []struct {
		flag, text string
		to         *label.Date
	}{{"dom", f.dom, &q.Item.DOM}, {"expiry", f.expiry, &q.Item.Expiry}, {"inspect", f.inspect, &q.Item.Inspect}, {"opened", f.opened, &q.Item.Opened}} {
		if x.text == "" {
			continue
		}
		d, err := label.Parse(x.text, date.NewAt(q.Now))
		if err == nil {
			err = desk.Certain(d, date.NewAt(q.Now), q.Now.Location())
		}
		if err != nil {
			return usagef("--%s %w", x.flag, err)
		}
		*x.to = d
	}
	if f.outUsed == "" {
		return nil
	}
	if q.State != tag.Thawed {
		return usagef("--out-used %s: only what is thawed has a time out of the freezer: leave it out", f.outUsed)
	}
	d, err := quantity.Span(f.outUsed)
	if err != nil {
		return usagef("--out-used %w", err)
	}
	q.Item.OutUsed = d
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

// numbered are the containers to be labelled.
func (f *labelFlags) numbered() ([]string, error) {
	switch {
	case f.changed("count") && f.containers != nil:
		return nil, usagef("--count %d: --container says which they are: leave one out", f.count)
	case f.changed("count") && (f.count < 1 || f.count > mostLabels), len(f.containers) > mostLabels:
		return nil, usagef("--count %d: say 1 to %d containers", max(f.count, len(f.containers)), mostLabels)
	}
	var all []string
	for i := range f.count {
		all = append(all, strconv.Itoa(i+1))
	}
	for _, c := range f.containers {
		c = strings.TrimSpace(c)
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
			if f.changed(other) {
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
