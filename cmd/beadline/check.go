package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// checkFlags are the words of one `check`, as written.
type checkFlags struct {
	batchFlags
	list           listFlags
	stock, gtins   string
	maker          string // of a batch in the register
	until, receipt string
}

func (a *app) checkCmd() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use: "check {BATCH | SCAN | - | --class CLASS ...}",

		DisableFlagsInUseLine: true,

		Short: "May this batch be used? use, hold or do not use",
		Long: `Check says in its first line whether a batch may be used, and below it every
limit with its date, its reason and its source; the one that decides comes
first. Hold means that a person with authority must decide; the answer says who,
on what, and which evidence would settle it.

A batch is in the register (BATCH; --maker and --container say which, where there
are several), stands on a stock list (BATCH --stock FILE.csv), is scanned (SCAN is
the text of a GS1 or ISO/IEC 15434 barcode, in quotes), or is described by flags
from its label. - reads what a hand scanner types, scans or batch numbers, and
answers each with a line. A scan is looked up in the register or on the list, and
held against what that says; without either it is judged by itself, and so it is
with --class, or where --gtins FILE.csv, with the columns gtin and class, says what
it is and the register does not have it. If a list has a batch on several rows, or
the register several parts of it, all are shown and the severest verdict counts.
Of a batch in the register it is also said how much is left and where, what is
reserved, who corrected the record and who lifted a hold; one that is used up is
held, as what is in your hand is then not what the register has.

Dates are written as printed: 2027-06-30, 30 JUN 2027, 06/2027 (a month: an
expiry lasts to its last day, a life counts from its first), 2Q26, 2026-W53.
Forms that do not tell day from month are refused, unless --date-order says how
they are meant. What was done to it may carry an hour: 2027-03-05T08:00. --at is
the day or moment to judge for, now unless said.

--test, --part and --freed take several words: key=value, with semicolons between
them. Of --test: on, result (pass or fail), and for more life by it by, authority,
reference, results, and to (the day it is given to) or adds (a span). Of --part:
name, lot (on the part), named (the lot that the kit's label names for it), kit
(the kit it is from), dom and expiry.

Exit codes: 0 use; 1 failure; 2 wrong usage; 3 hold; 4 do not use.`,
		Example: `  beadline check S-2207
  beadline check S-2207 --stock stock.csv
  beadline check --class polysulfide-b-2 --dom 2026-09-01 --expiry 06/2027
  beadline check '(01)09520000000134(17)270630(10)S-2207' --gtins gtins.csv
  beadline check --class polysulfide-b-2-premixed --dom 2027-03-04 \
      --thawed 2027-03-05T08:00 --at 2027-03-05T09:10 --until 09:40
  beadline check - --gtins gtins.csv`,
		Annotations: map[string]string{"formats": "json csv"},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("%s takes one batch number or scan, not also %q; write one with spaces in quotes", cmd.CommandPath(), args[1])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.check(cmd.Context(), args, &f)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.stock, "stock", "", "stock list, a CSV file; - is standard input (default: the register)")
	fl.StringVar(&f.gtins, "gtins", "", "which class a GTIN is, a CSV file gtin,class")
	fl.StringVar(&f.maker, "maker", "", "maker of a batch in the register, where two have one number")
	f.batchFlags.add(fl)
	f.list.add(cmd)
	fl.StringVar(&f.until, "until", "", "it must outlast this: 14:00, or a moment of its own")
	fl.StringVar(&f.receipt, "receipt", "", `share of its life that must be left when it comes in: 85%, or "75% or 1 year over 4 years"`)
	return cmd
}

// check judges one batch, or all that a scanner types; the exit code is the verdict.
func (a *app) check(ctx context.Context, args []string, f *checkFlags) error {
	if err := f.conflicts(args); err != nil {
		return err
	}
	o, err := f.list.options()
	if err != nil {
		return err
	}
	j, err := a.judge(f)
	if err != nil {
		return err
	}
	var rows []desk.Checked
	switch {
	case len(args) > 0 && args[0] == "-":
		return a.checkAll(ctx, j, f, o)
	case f.stock != "":
		rows, err = a.checkListed(j, f, o, args[0])
	case f.asksRegister(args):
		rows, err = a.checkRegister(ctx, j, f, args[0])
	}
	if rows == nil && err == nil {
		rows, err = a.checkDescribed(j, f, o, args)
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

// question is the moment that --at and --until name, by the clock as it is now.
func (a *app) question(f *checkFlags) (shelf.Question, error) {
	now, err := a.now()
	if err != nil {
		return shelf.Question{}, err
	}
	q := shelf.Question{On: date.NewAt(now), At: now.Hour()*60 + now.Minute(), Timed: !desk.IsDay(a.at), Zone: now.Location()}
	return q, a.until(f.until, &q)
}

// judge makes the judge for that moment.
func (a *app) judge(f *checkFlags) (*desk.Judge, error) {
	q, err := a.question(f)
	if err != nil {
		return nil, err
	}
	c, err := a.classes()
	if err != nil {
		return nil, err
	}
	if until := q.Until; !until.IsZero() && len(f.until) <= len("14:00") && until.First() != q.On {
		a.note("--until " + f.until + " is the next day, " + label.FormatDay(until.First()))
	}
	j := desk.NewJudge(c, q.On)
	j.Ask(q)
	if f.receipt != "" {
		if j.Receipt, err = receiptRule(f.receipt); err != nil {
			return nil, err
		}
	}
	return j, readGTINs(j, f.gtins)
}

// readGTINs reads the file that says which class a GTIN is, if one is named.
func readGTINs(j *desk.Judge, name string) error {
	if name == "" {
		return nil
	}
	r, err := desk.OpenFile(name)
	if err != nil {
		return err
	}
	defer r.Close()
	j.GTINs, err = desk.ReadGTINs(r, name)
	return err
}

// receiptRule reads how much of its life must be left when a batch comes in: "85%", or
// "75% or 1 year over 4 years", which a batch made within the year meets too, if its
// whole life is longer than the four.
func receiptRule(text string) (shelf.ReceiptRule, error) {
	refuse := usagef("--receipt %q: say which share of its life, such as 85%%, or \"75%% or 1 year over 4 years\"", text)
	share, rest, or := strings.Cut(text, " or ")
	percent, err := quantity.Percent(strings.TrimSpace(share))
	if err != nil || percent <= 0 || percent > 100 {
		return shelf.ReceiptRule{}, refuse
	}
	rule := shelf.ReceiptRule{Share: percent / 100, From: "--receipt " + text}
	if !or {
		return rule, nil
	}
	within, over, ok := strings.Cut(rest, " over ")
	if rule.Within, err = quantity.Life(strings.TrimSpace(within)); err != nil || !ok {
		return shelf.ReceiptRule{}, refuse
	}
	if rule.Over, err = quantity.Life(strings.TrimSpace(over)); err != nil {
		return shelf.ReceiptRule{}, refuse
	}
	return rule, nil
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

// checkListed judges a batch on a stock list, named by its number or by a scan.
func (a *app) checkListed(j *desk.Judge, f *checkFlags, o stock.Options, arg string) ([]desk.Checked, error) {
	list, err := desk.OpenList(a.in, f.stock, o.Encoding)
	if err != nil {
		return nil, err
	}
	defer list.Close()
	name := list.Name
	batch, code := strings.TrimSpace(arg), (*scan.Scan)(nil)
	if scan.Looks(arg) {
		s, err := scan.Parse(arg, j.On)
		plain, alone := scan.Plain(arg)
		switch {
		case err != nil && alone: // the batch in a symbol of its own
			batch = plain
		case err != nil:
			return nil, usagef("%w", err)
		case s.Lot == "":
			return nil, usagef("the scan names no lot, so it cannot be found on %s: check it by itself", name)
		default:
			batch, code = s.Lot, &s
		}
	}
	find := j.BatchOn
	if code == nil { // a batch number, or the plain code of a label printed for a container
		find = j.LabelOn
	}
	rows, warnings, err := find(list, o, batch)
	a.note(warnings...)
	if code != nil {
		for i := range rows {
			rows[i] = j.Against(rows[i], code)
		}
	}
	return rows, err
}

// checkDescribed judges a batch that a scan or flags describe.
func (a *app) checkDescribed(j *desk.Judge, f *checkFlags, o stock.Options, args []string) ([]desk.Checked, error) {
	it := shelf.Item{Class: f.class}
	if f.class != "" {
		if err := j.Known(f.class); err != nil {
			return nil, err
		}
	}
	var code *scan.Scan
	if len(args) > 0 {
		s, err := scan.Parse(args[0], j.On)
		if err != nil {
			return nil, usagef("%w", err)
		}
		if it, err = desk.FromScan(&s, f.class, j.GTINs); err != nil {
			return nil, usagef("%w", err)
		}
		code = &s
	}
	if err := f.item(&it, label.How{Today: j.On, Order: o.Order}, j.Zone()); err != nil {
		return nil, err
	}
	switch {
	case f.receipt != "" && it.Received.On.IsZero():
		return nil, usagef("--receipt %s: say the day it came in too, such as --received %s", f.receipt, j.On)
	}
	if err := a.storeLogs(j, &it, f.logs); err != nil {
		return nil, err
	}
	if code == nil {
		return []desk.Checked{j.Item(it)}, nil
	}
	return []desk.Checked{j.Scanned(it, code)}, nil
}

// storeLogs adds up the loggers of its store.
func (a *app) storeLogs(j *desk.Judge, it *shelf.Item, files []string) error {
	for _, name := range files {
		s, err := j.StoreLog(name, it.Class)
		if err != nil {
			return err
		}
		if to := s.To.First(); to != j.On {
			s.Notes = append(s.Notes, fmt.Sprintf("%s ends %s: nothing is known of its store after that.", name, label.FormatDay(to)))
		}
		it.Storage = append(it.Storage, s)
	}
	return nil
}

// conflicts refuses a question that does not say which batch, or says it twice.
func (f *checkFlags) conflicts(args []string) error {
	given := f.given()
	stdin := len(args) > 0 && args[0] == "-"
	isScan := len(args) > 0 && scan.Looks(args[0])
	switch listed := f.stock != ""; {
	case f.maker != "" && (listed || stdin || !f.asksRegister(args)):
		return usagef("--maker is for a batch in the register: beadline check BATCH --maker %s", f.maker)
	case !listed && f.set("map"), !listed && f.set("encoding"):
		return usagef("--map and --encoding are for reading a stock list: name it with --stock")
	case stdin && f.stock == "-":
		return usagef("--stock -: standard input is the scanner's already: name the list's file")
	case stdin && slices.ContainsFunc(given, func(n string) bool { return n != "class" }):
		return usagef("-: each scan is a batch of its own, so leave out %s", flagNames(slices.DeleteFunc(given, func(n string) bool { return n == "class" })))
	case stdin && !listed && f.receipt != "":
		return usagef("-: a scan does not say when the batch came in, so leave out --receipt")
	case stdin:
		return nil
	case listed && len(args) == 0:
		return usagef("--stock %s: say which batch: beadline check BATCH --stock %s", f.stock, f.stock)
	case listed && len(given) > 0:
		return usagef("--stock %s: the list says what the batch is, so leave out %s", f.stock, flagNames(given))
	case listed && strings.TrimSpace(args[0]) == "":
		return usagef("the batch number is empty: copy it from the label")
	case listed || isScan:
		return nil
	case len(args) > 0 && strings.TrimSpace(args[0]) == "":
		return usagef("the batch or scan is empty: copy it from the label")
	case len(args) > 0 && strings.HasSuffix(strings.ToLower(args[0]), ".csv"):
		return usagef("%s looks like a stock list: beadline check BATCH --stock %s, or beadline flag %s for all of it", args[0], args[0], args[0])
	case f.asksRegister(args):
		return nil
	case len(args) > 0:
		return usagef("batch %s: say where it is listed: --stock FILE.csv, or describe it: --class CLASS --expiry DATE --batch %s", args[0], args[0])
	case f.class == "" && (f.polymer != "" || f.standard != ""):
		return usagef("a seal needs its class too, such as --class elastomer-iso-2230-b: see beadline class list")
	case f.class == "":
		return usagef("check needs a batch: BATCH --stock FILE.csv, a scan, or --class CLASS with the dates on its label")
	}
	return nil
}
