package main

import (
	"context"

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
from --gtins. Dates are written as printed, see beadline check --help. --received
is the day or moment it came in, now unless said.

Exit codes: 0 use; 1 failure, nothing is recorded; 2 wrong usage; 3 it is recorded,
and on hold; 4 it is recorded, and not to be used.`,
		Example: `  beadline stock receive --batch S-2207 --class polysulfide-b-2 \
      --dom 2026-09-01 --expiry 2027-06-30 --quantity 5 --place "cold store" \
      --certificate C-118 --supplier "Nordlys Supply" --order PO-5512
  beadline stock receive '(01)09520000000134(17)270630(10)S-2207' \
      --gtins gtins.csv --quantity 5 --certificate C-118`,
		Annotations: map[string]string{"formats": "json"},
		Args:        cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.stockReceive(cmd.Context(), args, &f)
		},
	}
	fl := cmd.Flags()
	f.label.add(fl)
	fl.Lookup("batch").Usage = "batch number on the label"
	fl.Lookup("container").Usage = "container of the batch, if it has a number of its own"
	fl.Lookup("no-papers").Usage = "it came without its certificate (so it does where none is named)"
	f.act.add(cmd, withQuantity)
	fl.StringVar(&f.act.place, "place", "", `where it is put: "cold store", or with its site "Vagar / cold store"`)
	fl.StringVar(&f.receiptPapers.Certificate, "certificate", "", "number of its certificate")
	fl.StringVar(&f.receiptPapers.Supplier, "supplier", "", "who sent it")
	fl.StringVar(&f.receiptPapers.Order, "order", "", "our order")
	fl.StringVar(&f.receiptPapers.MakerBatch, "maker-batch", "", "the maker's batch, where the number is the supplier's")
	fl.StringVar(&f.receiptPapers.Pack, "pack", "", `what one pack is: "130 ml cartridge"`)
	fl.StringVar(&f.base, "base-lot", "", "lot of the base on the part")
	fl.StringVar(&f.activator, "accelerator-lot", "", "lot of the accelerator on the part")
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
	r, err := a.room(ctx, storeroom.Options{Create: true})
	if err != nil {
		return err
	}
	defer r.Close()
	if err := a.receiving(f, r.Judge); err != nil {
		return err
	}
	arrival := storeroom.Arrival{Act: act, Item: shelf.Item{Class: f.label.class}, Receipt: f.receiptPapers}
	if len(args) > 0 {
		_, _, code, err := a.batchArg(args[0], r.Judge.On)
		switch {
		case err != nil:
			return err
		case code == nil:
			return usagef("%q is no scan: give the batch number with --batch", args[0])
		}
		if arrival.Item, err = desk.FromScan(code, f.label.class, r.Judge.GTINs); err != nil {
			return usagef("%w", err)
		}
		arrival.Scan, arrival.Receipt.GTIN = code, code.GTIN
	}
	how, err := f.dates.how(r.Judge.On)
	if err != nil {
		return err
	}
	if err := f.label.item(&arrival.Item, how, r.Judge.Zone()); err != nil {
		return err
	}
	for _, p := range []shelf.Part{{Name: "base", Lot: f.base}, {Name: "accelerator", Lot: f.activator}} {
		if p.Lot != "" {
			arrival.Item.Parts = append(arrival.Item.Parts, p)
		}
	}
	switch {
	case arrival.Item.Batch == "":
		return usagef("which batch came in? give --batch with the number on the label, or a scan")
	case arrival.Item.Class == "":
		return usagef("which sealant class is it? give --class, such as polysulfide-b-2, or --gtins for a scan")
	}
	if err := a.storeLogs(r.Judge, &arrival.Item, f.label.logs); err != nil {
		return err
	}
	arrival.Number, arrival.Which.Container = arrival.Item.Batch, arrival.Item.Container
	o, err := r.Receive(ctx, &arrival)
	if err != nil {
		return err
	}
	return a.recorded(o)
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
