package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockScrapCmd() *cobra.Command {
	var f actFlags
	cmd := &cobra.Command{
		Use: "scrap BATCH --why REASON",

		DisableFlagsInUseLine: true,

		Short: "Out of stock for good",
		Long: `Scrap takes a batch out of stock for good: all of the part, or --quantity of it. The
answer says which jobs lose what was reserved for them.

` + recordedHelp + `

Exit codes: 0 recorded; 1 failure, nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock scrap S-2207 --container 1 --why "opened life is over"
  beadline stock scrap S-2207 --quantity 2 --why "left on the ramp at 41 C"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Scrap(ctx, act)
			})
		},
	}
	f.add(cmd, withPart|withQuantity)
	return cmd
}
