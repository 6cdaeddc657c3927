package main

import (
	"context"
	"io"

	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

func (a *app) stockListCmd() *cobra.Command {
	var q storeroom.ListQuestion
	cmd := &cobra.Command{
		Use: "list",

		DisableFlagsInUseLine: true,

		Short: "What is in stock now, where, and how long it is good",
		Long: `List shows what is in stock: each part of each batch with its place, how much is
left, what is reserved, and the verdict with the last day of use. It goes by class;
within a class what is drawn first stands first (opened, then what ends first), then
what is on hold, then what is not to be used. Totals follow. The verdict is for the
whole of the day that --at names, today unless said.

CSV is a stock list, in order of its batches, that beadline flag, check and plan
read; of --at it knows nothing.

Exit codes: 0 listed; 1 failure; 2 wrong usage. Whether something must be set aside
is what beadline flag answers.`,
		Example: `  beadline stock list
  beadline stock list --class polysulfide-b-2 --place "cold store"
  beadline stock list --place North --gone
  beadline stock list --format csv > stock.csv`,
		Annotations: map[string]string{"formats": "json csv"},
		Args:        noArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := readableTexts(cmd, args); err != nil {
				return err
			}
			return a.stockList(cmd.Context(), q)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&q.Class, "class", "", "only this sealant class")
	fl.StringVar(&q.Place, "place", "", `only what is at this place, or at this site: "North"`)
	fl.StringVar(&q.Maker, "maker", "", "only batches of this maker")
	fl.BoolVar(&q.Gone, "gone", false, "also what is used up or scrapped")
	return cmd
}

func (a *app) stockList(ctx context.Context, q storeroom.ListQuestion) error {
	r, err := a.room(ctx, storeroom.Options{Read: true})
	if err != nil {
		return err
	}
	defer r.Close()
	if a.format == "csv" {
		return a.write(forms{csv: func(w io.Writer) error { return r.WriteRows(ctx, q, w) }})
	}
	l, err := r.StockList(ctx, q)
	if err != nil {
		return err
	}
	defer l.Close()
	return a.write(forms{
		text: func(w io.Writer) error { return show.StockList(w, l, a.inUnits()) },
		json: func(w io.Writer) error { return show.StockListJSON(w, l) },
	})
}
