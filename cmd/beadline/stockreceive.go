package main

import (
	"context"
	"slices"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

// receiveFlags are the words of one `stock receive`, as written.
type receiveFlags struct {
	act             actFlags
	label           batchFlags
	dates           listFlags
	gtins, receipt  string
	receiptPapers   register.Receipt
	base, activator string
}

func (a *app) stockReceiveCmd() *cobra.Command {
	var f receiveFlags
	cmd := &cobra.Command{
		Use: "receive {SCAN | --batch NUMBER} --class CLASS --quantity N ...",

		DisableFlagsInUseLine: true,

		Short: "What came in: its label, its papers, and may it go into stock?",
		Long: `Receive records what came in: what its label says, how much, where it is put, and
with which papers; and proposes the verdict on it. What comes without a certificate is
held, and so is what has too little of its life left, by what the class says of
receipt or by --receipt.

The label is typed (--batch, --class, --dom, --expiry ...) or scanned: SCAN is the text
of a GS1 or ISO/IEC 15434 barcode, in quotes; the class then comes from --class or
from --gtins. A scan that may not say all that the label does is refused: type it then.
Dates are written as printed, see beadline check --help; one that leaves its century or
decade open is refused. --received (or --at) is the day or moment it came in, now unless
said. What the class says of its whole life, and what was done with it before, is kept.

The same batch may come in again: it adds to what is there, and its label must say the
same. --corrects ID writes a receipt anew, such as once its certificate has come; it
stays a receipt of the day of the old one unless --received or --at is given.

Exit codes: 0 use; 1 failure, nothing is recorded; 2 wrong usage; 3 it is recorded,
and on hold; 4 it is recorded, and not to be used.`,
		Example: `  beadline stock receive --batch S-2207 --class polysulfide-b-2 \
      --dom 2026-09-01 --expiry 2027-06-30 --quantity 5 --place "cold store" \
      --certificate C-118 --supplier "Nordlys Supply" --order PO-5512
  beadline stock receive '(01)09520000000134(17)270630(10)S-2207' \
      --gtins gtins.csv --quantity 5 --certificate C-118`,
		Annotations: map[string]string{"formats": "json"},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("%s takes one scan, not also %q; write it in quotes", cmd.CommandPath(), args[1])
			}
			return readableTexts(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockReceive(cmd.Context(), args, &f)
		},
	}
	fl := cmd.Flags()
	f.label.add(fl)
	fl.Lookup("batch").Usage = "batch number on the label"
	fl.Lookup("container").Usage = "container of the batch, if it has a number of its own"
	fl.Lookup("no-papers").Usage = "it came without its certificate (so it does where none is named)"
	f.act.add(cmd, withQuantity)
	fl.StringVar(&f.act.place, "place", "", `where it is put: "cold store", or with its site "North / cold store"`)
	fl.StringVar(&f.receiptPapers.Certificate, "certificate", "", "number of its certificate")
	fl.StringVar(&f.receiptPapers.Supplier, "supplier", "", "who sent it")
	fl.StringVar(&f.receiptPapers.Order, "order", "", "our order")
	fl.StringVar(&f.receiptPapers.MakerBatch, "maker-batch", "", "the maker's batch, where the number is the supplier's")
	fl.StringVar(&f.receiptPapers.Pack, "pack", "", `what one pack is: "130 ml cartridge"`)
	fl.StringVar(&f.base, "base-lot", "", "lot of the base in the kit, as on the part")
	fl.StringVar(&f.activator, "accelerator-lot", "", "lot of the accelerator in the kit, as on the part")
	fl.StringVar(&f.gtins, "gtins", "", "which class a GTIN is, a CSV file gtin,class")
	fl.StringVar(&f.receipt, "receipt", "", `share of its life that must be left: 85%, or "75% or 1 year over 4 years"`)
	fl.StringVar(&f.dates.order, "date-order", "", "order of dates in numbers alone: dmy, mdy, ymd or yearday")
	return cmd
}

func (a *app) stockReceive(ctx context.Context, args []string, f *receiveFlags) error {
	act, err := a.act(&f.act, f.label.batch)
	if err != nil {
		return err
	}
	if act.Said.Amount == nil || *act.Said.Amount == 0 {
		return usagef("say how much came in: --quantity 5, with --unit if it is not kits or cartridges")
	}
	j, at, err := a.recording()
	if err != nil {
		return err
	}
	if err := a.receiving(f, j); err != nil {
		return err
	}
	arrival := storeroom.Arrival{Act: act, Item: shelf.Item{Class: f.label.class}, Receipt: f.receiptPapers}
	if err := a.arrival(args, f, j, &arrival); err != nil {
		return err
	}
	if err := arrival.Readable(j); err != nil {
		return err
	}
	r, err := a.roomFor(ctx, storeroom.Options{Create: true}, j, at)
	if err != nil {
		return err
	}
	defer r.Close()
	o, err := r.Receive(ctx, &arrival)
	if err != nil {
		return err
	}
	return a.recorded(o)
}

// arrival reads what came in, from a scan and from the flags.
func (a *app) arrival(args []string, f *receiveFlags, j *desk.Judge, to *storeroom.Arrival) error {
	if len(args) > 0 {
		_, _, code, err := a.batchArg(args[0], j.On)
		switch {
		case err != nil:
			return err
		case code == nil:
			return usagef("%q is no scan: give the batch number with --batch", args[0])
		}
		if to.Item, err = desk.FromScan(code, f.label.class, j.GTINs); err != nil {
			return usagef("%w", err)
		}
		to.Scan, to.Receipt.GTIN = code, code.GTIN
	}
	how, err := f.dates.how(j.On)
	if err != nil {
		return err
	}
	came := f.label.received
	f.label.received = "" // it is the time of the event
	if err := f.label.item(&to.Item, how, j.Zone()); err != nil {
		return err
	}
	if to.At, err = a.cameIn(came, &to.Item, how, j); err != nil {
		return err
	}
	if err := f.lots(&to.Item); err != nil {
		return err
	}
	switch {
	case to.Item.Batch == "":
		return usagef("which batch came in? give --batch with the number on the label, or a scan")
	case to.Item.Class == "":
		return usagef("which sealant class is it? give --class, such as polysulfide-b-2, or --gtins for a scan")
	}
	if err := j.Known(to.Item.Class); err != nil {
		return err
	}
	to.Number, to.Which.Container = to.Item.Batch, to.Item.Container
	return a.storeLogs(j, &to.Item, f.label.logs)
}

// cameIn is when it came in: --received, or a mark on the label that says so; zero where
// neither does.
func (a *app) cameIn(text string, it *shelf.Item, how label.How, j *desk.Judge) (register.When, error) {
	if desk.HasOffset(text) {
		t, err := desk.Instant(text, j.Zone())
		if err != nil {
			return register.When{}, usagef("--received %w", err)
		}
		return register.AtInstant(t), nil
	}
	how.Clock = true
	r := &reading{how: how, zone: j.Zone(), it: it}
	if err := r.date("received", text, &it.Received.On); err != nil {
		return register.When{}, err
	}
	d := it.Received.On
	it.Received.On = label.Date{}
	switch d.Precision() {
	case label.None:
		return register.When{}, nil
	case label.Minute:
		t, err := desk.Instant(d.Canonical(), j.Zone())
		if err != nil {
			return register.When{}, usagef("--received %w", err)
		}
		return register.AtInstant(t), nil
	case label.Day:
		return register.OnDay(d.First()), nil
	}
	return register.When{}, usagef("--received %q: say the day it came in, such as %s", d.Printed(), j.On)
}

// lots adds the lots of the two parts that came in this kit; --part may say them too.
func (f *receiveFlags) lots(it *shelf.Item) error {
	for _, p := range []shelf.Part{{Name: "base", Lot: f.base, From: it.Batch}, {Name: "accelerator", Lot: f.activator, From: it.Batch}} {
		if p.Lot == "" {
			continue
		}
		if slices.ContainsFunc(it.Parts, func(o shelf.Part) bool { return strings.EqualFold(o.Name, p.Name) }) {
			return usagef("--%s-lot %s: --part says which lot the %s is: leave one out", p.Name, p.Lot, p.Name)
		}
		it.Parts = append(it.Parts, p)
	}
	return nil
}

// receiving tells the judge what the flags say of receipt and of GTINs.
func (a *app) receiving(f *receiveFlags, j *desk.Judge) (err error) {
	if f.receipt != "" {
		if j.Receipt, err = receiptRule(f.receipt); err != nil {
			return err
		}
	}
	return readGTINs(j, f.gtins)
}
