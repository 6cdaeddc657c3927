package main

import (
	"io"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// checkFlags are the words of one `check`, as written.
type checkFlags struct {
	stock, batch, class          string
	dom, expiry, inspect, opened string
	thawed                       []string
	held                         string
}

func (a *app) checkCmd() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use: "check {BATCH --stock FILE.csv | --class CLASS --expiry DATE ...}",

		DisableFlagsInUseLine: true,

		Short: "May this batch be used? use, hold or do not use",
		Long: `Check says in its first line whether a batch may be used on a day, and below it
every limit with its date, its reason and its source; the one that decides
comes first.

A batch stands on a stock list (BATCH --stock FILE.csv, or - for standard
input), or is described by flags from its label. A stock list is a CSV file
with the columns batch, class, dom, expiry, inspect, opened, thawed, location,
quantity, unit and held in any order; only the first two are needed, and others
are left alone. If the list has the batch on several rows, all are shown and
the severest verdict counts.

Dates are written as printed: 2027-06-30, 30 JUN 2027, 06/2027 (a month: an
expiry lasts to its last day, a life counts from its first), 2Q26, 2026-W53.
Forms that do not tell day from month are refused. --at is the day to judge
for, today unless said.

Hold means that a person with authority must decide; the answer says about
what.

Exit codes: 0 use; 1 failure; 2 wrong usage; 3 hold; 4 do not use.`,
		Example: `  beadline check S-2207 --stock stock.csv
  beadline check --class polysulfide-b-2 --dom 2026-09-01 --expiry 2027-06-30
  beadline check --class polysulfide-b-2 --expiry 06/2027 --opened 2027-03-14
  beadline check --class polysulfide-b-2-premixed --dom 2027-03-01 \
      --thawed 2027-03-05 --thawed 2027-03-08 --at 2027-03-09 --format json`,
		Annotations: map[string]string{"formats": "json csv"},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("%s takes one batch number, not also %q; write one with spaces in quotes", cmd.CommandPath(), args[1])
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.check(args, f) },
	}
	fl := cmd.Flags()
	fl.StringVar(&f.stock, "stock", "", "stock list, a CSV file; - is standard input")
	fl.StringVar(&f.batch, "batch", "", "batch number, to name it in the answer")
	fl.StringVar(&f.class, "class", "", "sealant class, such as polysulfide-b-2")
	fl.StringVar(&f.dom, "dom", "", "date of manufacture, assembly or cure")
	fl.StringVar(&f.expiry, "expiry", "", "expiry printed on the label")
	fl.StringVar(&f.inspect, "inspect", "", "inspect/test date printed on the label")
	fl.StringVar(&f.opened, "opened", "", "date it was opened")
	fl.StringArrayVar(&f.thawed, "thawed", nil, "date it left the freezer; repeat it for each time")
	fl.StringVar(&f.held, "held", "", "why a person set it aside, if one did")
	return cmd
}

// check judges one batch; the exit code is the verdict.
func (a *app) check(args []string, f checkFlags) error {
	if err := f.conflicts(args); err != nil {
		return err
	}
	now, err := a.now()
	if err != nil {
		return err
	}
	c, err := a.classes()
	if err != nil {
		return err
	}
	j := desk.NewJudge(c, date.NewAt(now))
	var rows []desk.Checked
	if f.stock != "" {
		rows, err = a.checkListed(j, f.stock, args[0])
	} else {
		rows, err = checkDescribed(j, f, func() error { _, err := c.Find(f.class); return err })
	}
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Check(w, rows, a.inUnits()) },
		json: func(w io.Writer) error { return show.CheckJSON(w, rows) },
		csv:  func(w io.Writer) error { return show.CheckCSV(w, rows) },
	})
	if err != nil {
		return err
	}
	return verdictExit(rows[desk.Worst(rows)].Judgement.Verdict)
}

// verdictExit is the exit code of a verdict.
func verdictExit(v shelf.Verdict) error {
	switch v {
	case shelf.Hold:
		return answer(exitHold)
	case shelf.Reject:
		return answer(exitReject)
	}
	return nil
}

func (a *app) checkListed(j *desk.Judge, file, batch string) ([]desk.Checked, error) {
	r, name, err := a.openList(file)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	rows, warnings, err := j.Batch(r, name, strings.TrimSpace(batch))
	a.note(warnings...)
	return rows, err
}

// described are the flags that describe a batch, in the order of the help.
func (f checkFlags) described() []string {
	var set []string
	for _, x := range []struct {
		name string
		set  bool
	}{
		{"batch", f.batch != ""}, {"class", f.class != ""}, {"dom", f.dom != ""}, {"expiry", f.expiry != ""}, {"inspect", f.inspect != ""},
		{"opened", f.opened != ""}, {"thawed", f.thawed != nil}, {"held", f.held != ""},
	} {
		if x.set {
			set = append(set, x.name)
		}
	}
	return set
}

// conflicts refuses a question that does not say which batch, or says it twice.
func (f checkFlags) conflicts(args []string) error {
	described := f.described()
	switch listed := f.stock != ""; {
	case listed && len(args) == 0:
		return usagef("--stock %s: say which batch: beadline check BATCH --stock %s", f.stock, f.stock)
	case listed && described != nil:
		return usagef("--stock %s: the list says what the batch is, so leave out %s", f.stock, flagNames(described))
	case listed && strings.TrimSpace(args[0]) == "":
		return usagef("the batch number is empty: copy it from the label")
	case listed:
		return nil
	case len(args) > 0 && strings.HasSuffix(strings.ToLower(args[0]), ".csv"):
		return usagef("%s looks like a stock list: beadline check BATCH --stock %s, or beadline flag %s for all of it", args[0], args[0], args[0])
	case len(args) > 0:
		return usagef("batch %s: say where it is listed: --stock FILE.csv, or describe it: --class CLASS --expiry DATE --batch %s", args[0], args[0])
	case f.class == "":
		return usagef("check needs a batch: BATCH --stock FILE.csv, or --class CLASS with the dates on its label")
	}
	return nil
}

// checkDescribed judges a batch that is described by flags.
func checkDescribed(j *desk.Judge, f checkFlags, known func() error) ([]desk.Checked, error) {
	if err := known(); err != nil {
		return nil, err
	}
	it := shelf.Item{Batch: f.batch, Class: f.class, Held: strings.TrimSpace(f.held)}
	for _, x := range []struct {
		flag, text string
		to         *label.Date
	}{{"dom", f.dom, &it.DOM}, {"expiry", f.expiry, &it.Expiry}, {"inspect", f.inspect, &it.Inspect}, {"opened", f.opened, &it.Opened}} {
		if x.text == "" {
			continue
		}
		d, err := label.Parse(x.text, j.On)
		if err != nil {
			return nil, usagef("--%s %w", x.flag, err)
		}
		*x.to = d
	}
	for _, text := range f.thawed {
		d, err := label.Parse(text, j.On)
		if err != nil {
			return nil, usagef("--thawed %w", err)
		}
		it.Thawed = append(it.Thawed, d)
	}
	return []desk.Checked{j.Item(it)}, nil
}
