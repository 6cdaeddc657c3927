package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

// labelFlags are the words of one `label`, as written.
type labelFlags struct {
	batchFlags             // those of them that label has
	list                   listFlags
	stock                  string
	state, when, by        string
	containers             []string
	count                  int
	pot, potMass           string
	gtin, out              string
	page, label, gap, roll string
	start, dpi             int
	holdTag, noBars, force bool
}

// usualPotC stands for the temperature of a pot that nobody measured.
const usualPotC = 23

// farthestWhen is how far ahead a label may be made out, as clocks differ (own decision).
// Its use-by counts from then, so a slip of one day would print it a day too late.
const farthestWhen = 10 * time.Minute

// mostLabels is how many labels one command makes.
const mostLabels = 500

func (a *app) labelCmd() *cobra.Command {
	var f labelFlags
	cmd := &cobra.Command{
		Use: "label --batch BATCH --state STATE --out FILE {--stock LIST | ...}",

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

--stock FILE.csv finds the batch on its stock list, and all that the list knows
counts: its class and dates, what it was thawed before, who set it aside, that it
was too warm. It is the surer way: without a list nobody knows what the flags
leave out. If the list has the batch on several rows, --container picks one.

With --gtin the Data Matrix is GS1: (01) item, (10) batch, (17) or (7003)
use-by, (21) state and container, such as MIXED/2, and the Code 128 has (01),
(10) and (21) if the label is wide enough. Without it the Data Matrix is an
ISO/IEC 15434 envelope with 1T, 14D and S, and the Code 128 has batch and state,
such as S-2207/MIXED. check knows these codes again, and goes by the use-by.

Labels lie in the middle of the page, as many as fit; --start goes on with a
sheet part-used. Print at 100 %, without fitting to the page.

Exit codes: 0 labels made; 1 failure; 2 wrong usage; 3 hold, no use-by can be
given; 4 do not use.`,
		Example: `  beadline label --batch S-2207 --state opened --stock stock.csv --out l.pdf
  beadline label --class polysulfide-b-2 --batch S-2207 --state opened \
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
	f.add(cmd)
	return cmd
}

// label answers one question and writes the labels; the exit code is the verdict.
func (a *app) label(f labelFlags) error {
	form, sheet, err := f.paper()
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
	q, err := a.labelQuestion(&f)
	if err != nil {
		return err
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
		if p.Drawing, err = a.drawTags(l, containers, &f, sheet); err != nil {
			return err
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

// drawTags draws the labels. A GTIN that the list has, and nobody asked for, gives way
// where the codes cannot be GS1.
func (a *app) drawTags(l *desk.Label, containers []string, f *labelFlags, sheet tag.Sheet) (*tag.Drawing, error) {
	draw := func(gtin string) (*tag.Drawing, error) {
		return tag.Draw(l.Tags(containers, strings.TrimSpace(f.by), gtin, a.inUnits().Text), sheet)
	}
	gtin := f.gtin
	if gtin == "" && l.Row != nil {
		gtin = l.Row.Row.GTIN
	}
	d, err := draw(gtin)
	if err != nil && gtin != f.gtin {
		if plain, err := draw(""); err == nil {
			a.note(fmt.Sprintf("the GTIN %s of the list is left out: the codes of this label cannot be GS1", gtin))
			return plain, nil
		}
	}
	if err != nil {
		return nil, f.blame(err)
	}
	return d, nil
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
