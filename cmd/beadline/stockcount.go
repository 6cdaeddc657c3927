package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockCountCmd() *cobra.Command {
	var f actFlags
	cmd := &cobra.Command{
		Use: "count BATCH --quantity N",

		DisableFlagsInUseLine: true,

		Short: "What was seen in the store: the count stands",
		Long: `Count records how much of a batch was seen in the store, 0 if none. From then on that
is what there is; the answer says by how much it differs from what the register had,
and which jobs lose what was reserved for them. --unit is the unit of the count: ml and
l, g and kg go into each other, and nothing else does.

` + recordedHelp + `

Exit codes: 0 recorded; 1 failure, nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock count S-2207 --quantity 4
  beadline stock count S-2207 --place "line store" --quantity 0`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			if f.quantity == "" {
				return usagef("say how much was seen: --quantity 4, or --quantity 0")
			}
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Count(ctx, act)
			})
		},
	}
	f.add(cmd, withPart|withQuantity)
	return cmd
}
